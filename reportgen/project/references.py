"""References between sections, resolved when every file is read.

Works on the nodes, not on the models, so that a dangling reference is told in the same run as any other
mistake. A new reference is one row of `REFERENCES`; a test holds the rows against the models.
"""

from __future__ import annotations

import posixpath
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass

from reportgen.diagnostics.model import Sink, Span
from reportgen.diagnostics.nearest import listing, nearest
from reportgen.project.nodes import Map, Scalar, Seq

#: Key of a mapping, as the last step of a pattern: the key itself is the reference.
KEYS = "@keys"
#: Near names are looked for this often in one run; a folder with more dangling references has one cause.
_MOST_SEARCHES = 50
#: Dangling references that are told in one run.
_MOST_TOLD = 300


@dataclass(frozen=True, slots=True)
class Reference:
    """One kind of reference: where it is written, and which ids it may name.

    Parameters
    ----------
    path : tuple of str
        Steps from the top; ``*`` is any key of a mapping or any item of a list.
    to : tuple of str
        Names of id sets, keys of `_ID_SETS`.
    """

    path: tuple[str, ...]
    to: tuple[str, ...]


_DEVICES = ("inverter unit", "switch unit", "box unit", "fuse unit")

REFERENCES: tuple[Reference, ...] = (
    Reference(("boxes", "*", "entries", "*", "unit"), ("box unit",)),
    Reference(("boxes", "*", "entries", "*", "raceway"), ("raceway segment",)),
    Reference(("boxes", "*", "entries", "*", "conductors", "*"), ("conductor",)),
    Reference(("arrays", "*", "module"), ("module",)),
    Reference(("arrays", "*", "wiring", "cable"), ("cable",)),
    Reference(("arrays", "*", "grounded_by"), ("circuit",)),
    Reference(("strings", "*", "array"), ("array",)),
    Reference(("strings", "*", "parts", "*", "array"), ("array",)),
    Reference(("strings", "*", "input"), ("inverter input",)),
    Reference(("strings", "*", "fuse"), ("fuse",)),
    Reference(("raceways", "*", "starts_at"), ("array", *_DEVICES)),
    Reference(("raceways", "*", "ends_at"), ("array", *_DEVICES)),
    Reference(("raceways", "*", "segments", "*", "ends_at"), ("array", *_DEVICES)),
    Reference(("circuits", "*", "string"), ("string",)),
    Reference(("circuits", "*", "inverter"), ("inverter unit",)),
    Reference(("circuits", "*", "cable"), ("cable",)),
    Reference(("circuits", "*", "path", "*"), ("raceway", "raceway segment")),
    Reference(("circuits", "*", "enclosures", "*"), _DEVICES),
    Reference(("circuits", "*", "bonded_to"), ("circuit", "inverter unit")),
    Reference(("circuits", "*", "in_devices", "*", "device"), _DEVICES),
    Reference(("landing", KEYS), _DEVICES),
    Reference(("landing", "*", "*"), ("conductor", "inverter lead", "device terminal")),
    Reference(("jumpers", KEYS), _DEVICES),
    Reference(("readings", "*", "strings", KEYS), ("string",)),
    Reference(("stock", "spools", "*", "cable"), ("cable",)),
    Reference(("asbuilt", "*", "photo"), ("document",)),
    Reference(("handover", "structures", KEYS), ("array",)),
    Reference(("handover", "structures", "*", "document"), ("document",)),
    Reference(("handover", "dig", "*", "document"), ("document",)),
    Reference(("handover", "dig", "*", "raceways", "*"), ("raceway",)),
    Reference(
        ("documents", "*", "of"),
        ("module", "fuse", "cable", "array", "string", "raceway", "circuit", "equipment type", *_DEVICES),
    ),
)

#: Terminals are named within one device; these places name them, by unit or by type.
_TERMINALS_BY_UNIT = (("landing", "*", KEYS), ("jumpers", "*", "*", "*"))
_TERMINALS_BY_TYPE = (("switches", "*", "joined", "*", "*"),)

#: Lists of terminals, by section.
_TERMINAL_ROWS = (
    ("switches", ("line", "load", "ground_terminals")),
    ("boxes", ("terminal_ids", "ground_terminals")),
)

#: Id sets whose members share one namespace: a place in the project is an array or a unit, never both.
_UNIQUE = ("array", *_DEVICES)

#: Keys that name a file of the folder.
FILES: tuple[tuple[str, ...], ...] = (
    ("site", "weather", "file"),
    ("site", "weather", "files", "*"),
    ("documents", "*", "file"),
    ("variants", "*", "file"),
)

_SINGULAR = {"switches": "switch", "boxes": "box", "landing": "landing", "stock": "stock"}

Ids = dict[str, Span]


def check_ids(tree: Map, sink: Sink) -> None:
    """Refuse an id that two arrays or units of the folder share."""
    seen: dict[str, tuple[str, Span, str]] = {}
    for name in _UNIQUE:
        for trail, _ in _walk(tree, _ID_PATHS[name], ()):
            key, way = trail[-1], "/".join(trail)
            first = seen.setdefault(str(key), (name, key.span, f"{name}/{way}"))
            if first[2] != f"{name}/{way}":
                sink.error(
                    "duplicate-id",
                    f"{key.shown} is the id of {_two(first[0], name)}",
                    key.span,
                    help="give one of them another id",
                    related=[(first[1], "the first one is defined here")],
                )


def check_references(tree: Map, sink: Sink, hidden: Collection[str] = ()) -> None:
    """Refuse every reference to an id that is not defined, with the id that was probably meant.

    Parameters
    ----------
    tree : Map
        The sections of all files.
    sink : Sink
        Gets the diagnostics; a place that has one already gets no second.
    hidden : collection of str
        Sections whose ids cannot be seen for another mistake; references to them are not judged.
    """
    sets = id_sets(tree)
    taken = {item.span for item in sink.items}
    searches = 0
    for row in REFERENCES:
        if any(section in hidden for name in row.to for section in _SECTIONS[name]):
            continue
        known: Ids = {}
        for name in row.to:
            known |= sets[name]
        for trail, value in values_at(tree, row.path):
            if value.is_null or str(value) in known or value.span in taken:
                continue
            taken.add(value.span)
            searches += 1
            if searches > _MOST_TOLD:
                return
            _dangling(trail, value, row.to, known if searches <= _MOST_SEARCHES else {}, sink)
    _check_terminals(tree, taken, sink)


def check_files(tree: Map, files: Iterable[str], sink: Sink) -> None:
    """Refuse the name of a file that the folder does not hold."""
    names = [*files]
    for path in FILES:
        for _, value in values_at(tree, path):
            wanted = posixpath.normpath(str(value).replace("\\", "/"))
            if value.is_null or wanted in names:
                continue
            # The folder part of a name is seldom the misspelt one.
            by_base = {posixpath.basename(name): name for name in names}
            meant = nearest(wanted, names) or by_base.get(nearest(posixpath.basename(wanted), by_base) or "")
            help = (
                f"did you mean `{meant}`?" if meant else "put the file into the folder, or correct its name"
            )
            sink.error("missing-file", f"the folder holds no file {value.shown}", value.span, help=help)


def id_sets(tree: Map) -> dict[str, Ids]:
    """Every set of ids that a reference may name, each id with its place."""
    sets = {name: {str(key): key.span for key, _ in _at(tree, path)} for name, path in _ID_PATHS.items()}
    sets["equipment type"] = {
        str(key): key.span
        for section in ("inverters", "switches", "boxes")
        for key, _ in _at(tree, (section, "*"))
    }
    sets["inverter input"] = {
        f"{unit}/{letter}": letter.span
        for _, kind in _at(tree, ("inverters", "*"))
        for unit, _ in _at(kind, ("units", "*"))
        for letter, _ in _at(kind, ("inputs", "*"))
    }
    sets["inverter lead"] = {
        f"{address}{sign}": span for address, span in sets["inverter input"].items() for sign in "+-"
    }
    sets["device terminal"] = {
        f"{unit}/{terminal}": terminal.span
        for section, rows in _TERMINAL_ROWS
        for _, kind in _at(tree, (section, "*"))
        for unit, _ in _at(kind, ("units", "*"))
        for row in rows
        for _, terminal in _values_of(kind, (row, "*"))
    }
    sets["raceway segment"] = {
        f"{raceway}/{segment}": segment.span
        for raceway, body in _at(tree, ("raceways", "*"))
        for segment, _ in _at(body, ("segments", "*"))
    }
    sets["conductor"] = {
        wire: key.span for key, body in _at(tree, ("circuits", "*")) for wire in _wires(str(key), body)
    }
    return sets


_ID_PATHS: Mapping[str, tuple[str, ...]] = {
    "module": ("modules", "*"),
    "fuse": ("fuses", "*"),
    "cable": ("cables", "*"),
    "array": ("arrays", "*"),
    "string": ("strings", "*"),
    "raceway": ("raceways", "*"),
    "circuit": ("circuits", "*"),
    "inverter unit": ("inverters", "*", "units", "*"),
    "switch unit": ("switches", "*", "units", "*"),
    "box unit": ("boxes", "*", "units", "*"),
    "fuse unit": ("fuses", "*", "units", "*"),
    "document": ("documents", "*"),
}

#: Sections that an id set is read from.
_SECTIONS: Mapping[str, tuple[str, ...]] = {name: (path[0],) for name, path in _ID_PATHS.items()} | {
    "equipment type": ("inverters", "switches", "boxes"),
    "inverter input": ("inverters",),
    "inverter lead": ("inverters",),
    "device terminal": ("switches", "boxes"),
    "raceway segment": ("raceways",),
    "conductor": ("circuits",),
}


def _wires(circuit: str, body: object) -> Iterator[str]:
    """Ids of the conductors of a circuit: leg sign for strings, a number where several run in parallel."""
    kind = _text(body, "kind") or "string"
    legs = ("+", "-") if kind == "string" else ("",)
    written = _text(body, "parallel" if kind == "string" else "conductors") or "1"
    many = int(written) if written.isascii() and written.isdigit() and len(written) < 4 else 1
    for leg in legs:
        if many <= 1:
            yield f"{circuit}{leg}"
        else:
            yield from (f"{circuit}{leg}.{number}" for number in range(1, many + 1))


def _text(body: object, name: str) -> str | None:
    value = body.get(Scalar(name, Span(""))) if isinstance(body, Map) else None
    return str(value) if isinstance(value, Scalar) and not value.is_null else None


def _at(node: object, path: tuple[str, ...]) -> Iterator[tuple[Scalar, object]]:
    """Keys and values at a path whose last step is a key."""
    for trail, value in _walk(node, path, ()):
        if trail:
            yield trail[-1], value


def _walk(
    node: object, path: tuple[str, ...], trail: tuple[Scalar, ...]
) -> Iterator[tuple[tuple[Scalar, ...], object]]:
    if not path:
        yield trail, node
        return
    step, rest = path[0], path[1:]
    if isinstance(node, Map):
        if step == KEYS:
            for key in node:
                yield (*trail, key), key
        elif step == "*":
            for key, value in node.items():
                yield from _walk(value, rest, (*trail, key))
        else:
            for key, value in node.items():
                if key == step:
                    yield from _walk(value, rest, (*trail, key))
    elif isinstance(node, Seq) and step == "*":
        for value in node:
            yield from _walk(value, rest, trail)


def values_at(tree: Map, path: tuple[str, ...]) -> Iterator[tuple[tuple[Scalar, ...], Scalar]]:
    """Scalars at a path, each with the keys that lead to it."""
    for trail, value in _walk(tree, path, ()):
        if isinstance(value, Scalar):
            yield trail, value


def _dangling(trail: tuple[Scalar, ...], value: Scalar, to: tuple[str, ...], known: Ids, sink: Sink) -> None:
    section = str(trail[0])
    owner = (
        f"{_SINGULAR.get(section, section.rstrip('s'))} `{trail[1]}`" if len(trail) > 1 else f"`{section}`"
    )
    if trail[-1] is value and len(trail) == 2:
        owner = f"`{section}`"
    meant = nearest(value, known)
    kinds = _kinds(to)
    if meant is not None:
        help = f"did you mean `{meant}`?"
        related = [(known[meant], f"`{meant}` is defined here")]
    else:
        help = f"defined are {listing(known)}" if known else f"define {_article(to[0])} with this id"
        related = []
    sink.error(
        "unknown-reference",
        f"{owner} names {kinds} {value.shown}, which is not defined",
        value.span,
        text=f"no {kinds} has this id" if len(to) == 1 else "nothing has this id",
        help=help,
        related=related,
    )


def _kinds(to: tuple[str, ...]) -> str:
    if len(to) > 3:
        return "an id" if "string" in to else "a device" if "array" not in to else "a place"
    return " or ".join(to)


def _two(first: str, second: str) -> str:
    return f"two {first}s" if first == second else f"{_article(first)} and of {_article(second)}"


def _article(words: str) -> str:
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def _check_terminals(tree: Map, taken: set[Span | None], sink: Sink) -> None:
    by_type: dict[str, Ids] = {}
    by_unit: dict[str, Ids] = {}
    for section, rows in _TERMINAL_ROWS:
        for kind, body in _at(tree, (section, "*")):
            terminals = {str(value): value.span for row in rows for _, value in _values_of(body, (row, "*"))}
            if terminals:
                by_type[str(kind)] = terminals
                by_unit |= {str(unit): terminals for unit, _ in _at(body, ("units", "*"))}
    for paths, owners in ((_TERMINALS_BY_UNIT, by_unit), (_TERMINALS_BY_TYPE, by_type)):
        for path in paths:
            for trail, value in values_at(tree, path):
                known = owners.get(str(trail[1]))
                if known is None or str(value) in known or value.is_null or value.span in taken:
                    continue
                taken.add(value.span)
                meant = nearest(value, known)
                sink.error(
                    "unknown-reference",
                    f"{value.shown} is no terminal of `{trail[1]}`",
                    value.span,
                    help=f"its terminals are {listing(known, 40)}",
                    related=[(known[meant], f"`{meant}` is defined here")] if meant else [],
                )


def _values_of(node: object, path: tuple[str, ...]) -> Iterator[tuple[tuple[Scalar, ...], Scalar]]:
    return values_at(node, path) if isinstance(node, Map) else iter(())
