"""Modules and inverters of the library files that ship inside pvlib, copied into a folder with their source.

The files are the California Energy Commission's lists of 2019-03-05 as prepared for the System Advisor Model. They
hold neither the maximum system voltage nor the series fuse of a module, and one tracking window an inverter: what the
design needs beyond them is listed with the line of the data sheet to look for. Nothing is looked up while a design is
checked: the values stand in the folder, or the folder says that they do not.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

from reportgen.design.data_sheets import INPUT, INVERTER, MODULE, Need, module_data
from reportgen.diagnostics.model import Sink
from reportgen.engineering.plausible import module_oddities
from reportgen.project.equipment import Module
from reportgen.project.load import read_tree
from reportgen.project.nodes import Map, Scalar
from reportgen.project.reader import read_yaml

FILES = {
    "module": "sam-library-cec-modules-2019-03-05.csv",
    "inverter": "sam-library-cec-inverters-2019-03-05.csv",
}
SECTIONS = {"module": "modules", "inverter": "inverters"}
#: Key here, column there, unit of the column.
_MODULE_COLUMNS = (
    ("power", "STC", "W"),
    ("open_circuit_voltage", "V_oc_ref", "V"),
    ("operating_voltage", "V_mp_ref", "V"),
    ("short_circuit_current", "I_sc_ref", "A"),
    ("operating_current", "I_mp_ref", "A"),
    ("voltage_coefficient", "beta_oc", "V/degC"),
    ("current_coefficient", "alpha_sc", "A/degC"),
    ("power_coefficient", "gamma_r", "%/degC"),
    ("operating_temperature", "T_NOCT", "degC"),
    ("cells_in_series", "N_s", ""),
    ("length", "Length", "m"),
    ("width", "Width", "m"),
)
_INVERTER_COLUMNS = (
    ("maximum_dc_voltage", "Vdcmax", "V"),
    ("ac_power", "Paco", "W"),
    ("night_power", "Pnt", "W"),
)
_INPUT_COLUMNS = (("tracking_from", "Mppt_low", "V"), ("tracking_to", "Mppt_high", "V"))
_HEAD_ROWS = 3


class LibraryMissing(LookupError):
    """The installed pvlib does not hold the file."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of a library: its kind, its name there, its columns."""

    kind: str
    name: str
    row: Mapping[str, str]

    @property
    def pairs(self) -> dict[str, str]:
        """Keys and values of a project file, in order; nested ones in braces."""
        pairs = {"model": _quoted(self.name.replace("_", " "))}
        if self.kind == "module":
            thin = not self.row["Technology"].endswith("c-Si")
            pairs["technology"] = "thin film" if thin else "crystalline silicon"
            pairs |= _values(self.row, _MODULE_COLUMNS)
        else:
            pairs |= _values(self.row, _INVERTER_COLUMNS)
            # At rated output and the voltage the list was measured at.
            efficiency = 100 * float(self.row["Paco"]) / float(self.row["Pdco"])
            pairs["efficiency"] = f"{efficiency:.2f} %"
            window = ", ".join(f"{key}: {value}" for key, value in _values(self.row, _INPUT_COLUMNS).items())
            pairs["inputs"] = f"{{A: {{{window}}}}}"
            # Which devices hang on the wall is not the library's to say.
            pairs["units"] = "{}"
        pairs["source"] = _quoted(self.source)
        return pairs

    @property
    def source(self) -> str:
        """Where the values come from."""
        return f"{FILES[self.kind]} in pvlib {version('pvlib')}, entry {self.name}"

    @property
    def line(self) -> str:
        """One line of a list of matches."""
        keys = ("power", "open_circuit_voltage", "short_circuit_current")
        if self.kind == "inverter":
            keys = ("ac_power", "maximum_dc_voltage", "night_power")
        pairs = self.pairs
        return f"{self.name}  ({', '.join(pairs.get(key, '-') for key in keys)})"

    @property
    def needed(self) -> tuple[Need, ...]:
        """What the design needs and the library does not hold."""
        pairs = self.pairs
        lists = (MODULE,) if self.kind == "module" else (INVERTER, INPUT)
        held = {*pairs, *(key for key, _, _ in _INPUT_COLUMNS)}
        return tuple(need for listed in lists for need in listed if need.key not in held)

    @property
    def oddities(self) -> tuple[str, ...]:
        """What of the values is unusual; the library holds slips of the pen too."""
        if self.kind != "module":
            return ()
        module = Module.model_validate({key: _plain(value) for key, value in self.pairs.items()})
        return tuple(item.what for item in module_oddities(module_data(module)))


def _values(row: Mapping[str, str], columns: Iterable[tuple[str, str, str]]) -> dict[str, str]:
    return {
        key: f"{_number(row[column])} {unit}".rstrip()
        for key, column, unit in columns
        if row.get(column, "").strip()
    }


def _number(text: str) -> str:
    number = text.strip()
    return (number.rstrip("0").rstrip(".") or "0") if "." in number and "e" not in number.lower() else number


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _plain(text: str) -> str:
    return text.strip('"')


def path_of(kind: str) -> Path:
    """Path of a library file.

    Raises
    ------
    LibraryMissing
        If the installed pvlib lacks it.
    """
    spec = find_spec("pvlib")  # finding the package does not import it
    place = Path(spec.origin or "").parent / "data" / FILES[kind] if spec is not None else Path(FILES[kind])
    if not place.is_file():
        msg = f"the installed pvlib holds no file `{FILES[kind]}`"
        raise LibraryMissing(msg)
    return place


def entries(kind: str) -> Iterator[Entry]:
    """Every entry of a library, in its order."""
    with path_of(kind).open(encoding="utf-8", newline="") as file:
        reader = csv.reader(file)
        head = next(reader)
        for number, row in enumerate(reader, start=2):
            if number > _HEAD_ROWS and len(row) == len(head):
                yield Entry(kind, row[0], dict(zip(head, row, strict=True)))


def search(kind: str, words: Iterable[str]) -> list[Entry]:
    """Entries whose name holds every word, upper and lower case alike; the shortest names first."""
    wanted = [_folded(word) for word in words]
    found = [entry for entry in entries(kind) if all(word in _folded(entry.name) for word in wanted)]
    return sorted(found, key=lambda entry: (len(entry.name), entry.name))


def nearly(kind: str, words: Iterable[str], most: int = 5) -> list[Entry]:
    """Entries that hold most of the words, where none holds all of them."""
    wanted = {_folded(part) for word in words for part in word.replace("_", " ").split()}
    scored = [(sum(word in _folded(entry.name) for word in wanted), entry) for entry in entries(kind)]
    best = max((score for score, _ in scored), default=0)
    return [entry for score, entry in scored if score == best][:most] if best else []


def named(kind: str, name: str) -> Entry | None:
    """Entry of exactly this name, blanks and underscores alike."""
    return next((entry for entry in entries(kind) if is_named(entry, name)), None)


def is_named(entry: Entry, name: str) -> bool:
    """Whether an entry has this name, blanks and underscores alike."""
    return _folded(entry.name) == _folded(name)


def _folded(text: str) -> str:
    return "".join(character for character in text.lower() if character.isalnum() or character in ".+")


def block(entry: Entry, key: str) -> str:
    """The entry as a section of a project file, with comments on what is still to be looked up."""
    lines = [f"{SECTIONS[entry.kind]}:", f"  {key}:"]
    lines += [f"    {name}: {value}" for name, value in entry.pairs.items()]
    lines.append("    # Still to be looked up on the data sheet:")
    lines += [f"    #   {need.key}: look for “{need.line}” ({need.used_for})" for need in entry.needed]
    lines += [f"    # Compare with the data sheet: {text}" for text in entry.oddities]
    if entry.kind == "inverter":
        lines.append(
            "    # Write the installed devices under `units`, by their id: units: {INV-1: {place: garage}}"
        )
        lines.append(
            "    # The list gives one window an inverter: write an input for each tracker, with its own limits."
        )
    return "\n".join(lines) + "\n"


def free_id(kind: str, files: Mapping[str, bytes]) -> str:
    """Id for a further type that the folder does not use yet, counted up: M1 or H1 and on."""
    tree = read_tree(files, Sink())
    section = next((body for name, body in (tree or {}).items() if name == SECTIONS[kind]), None)
    used = {str(key) for key in section} if isinstance(section, Map) else set()
    letter = "M" if kind == "module" else "H"
    return next(name for number in range(1, len(used) + 2) if (name := f"{letter}{number}") not in used)


@dataclass(frozen=True, slots=True)
class Filled:
    """A file with library values written in, and what was copied: section id and entry."""

    text: str
    copied: tuple[tuple[str, Entry], ...]


def fill(file: str, data: bytes, sink: Sink) -> Filled | None:
    """File with the values of every `library: NAME` written out in its place, or None where it names none.

    Parameters
    ----------
    file : str
        Its path, for the messages.
    data : bytes
        Its content.
    sink : Sink
        Gets a diagnostic for every name that the library does not hold; keys that are stated already are kept.
    """
    tree = read_yaml(file, data, sink)
    if tree is None or sink.has_errors:
        return None
    text = data.decode("utf-8-sig")
    starts = _line_starts(text)
    changes: list[tuple[int, int, str]] = []
    copied: list[tuple[str, Entry]] = []
    for kind, key, name, body in wanted_entries(tree):
        entry = named(kind, str(name))
        if entry is None:
            near = nearly(kind, [str(name)], 3)
            help = "names like it: " + ", ".join(f"`{item.name}`" for item in near) if near else None
            message = f"the library of {kind}s holds no entry {name.shown}"
            sink.error(
                "library-unknown",
                message,
                name.span,
                help=help or f"search with `reportgen find {kind} WORD`",
            )
            continue
        copied.append((str(key), entry))
        changes.append(_change(text, starts, body, name, entry))
    if not copied:
        return None
    for start, end, new in sorted(changes, reverse=True):
        text = text[:start] + new + text[end:]
    return Filled(text, tuple(copied))


def wanted_entries(tree: Map) -> Iterator[tuple[str, Scalar, Scalar, Map]]:
    """Kind, id, library name and mapping of every entry that still names the library."""
    for kind, section in SECTIONS.items():
        bodies = next((body for name, body in tree.items() if name == section), None)
        for key, body in bodies.items() if isinstance(bodies, Map) else ():
            value = (
                next((item for name, item in body.items() if name == "library"), None)
                if isinstance(body, Map)
                else None
            )
            if isinstance(body, Map) and isinstance(value, Scalar) and not value.is_null:
                yield kind, key, value, body


def _change(text: str, starts: list[int], body: Map, name: Scalar, entry: Entry) -> tuple[int, int, str]:
    where = body.key_span("library")
    assert where is not None
    start = starts[where.line - 1] + where.column - 1
    end = starts[name.span.end_line - 1] + name.span.end_column - 1
    stated = {str(key) for key in body}
    pairs = [f"{key}: {value}" for key, value in entry.pairs.items() if key not in stated]
    in_braces = text[starts[body.span.line - 1] + body.span.column - 1] == "{"
    joint = ", " if in_braces else "\n" + " " * (where.column - 1)
    return start, end, joint.join(pairs)


def _line_starts(text: str) -> list[int]:
    starts = [0]
    for index, character in enumerate(text):
        if character == "\n" or (character == "\r" and text[index + 1 : index + 2] != "\n"):
            starts.append(index + 1)
    return starts
