"""A folder's bytes to one typed project, or every mistake of every file at once."""

from __future__ import annotations

import posixpath
import typing
from collections.abc import Mapping

from pydantic import ValidationError

from reportgen.diagnostics.model import InputRefused, Sink, Span
from reportgen.diagnostics.nearest import listing, nearest
from reportgen.project.characters import MAX_PLACES, Text
from reportgen.project.mistakes import Telling, core_type
from reportgen.project.model import Project
from reportgen.project.money import check_money
from reportgen.project.nodes import Map, Scalar, Seq
from reportgen.project.possible import check_possible
from reportgen.project.reader import read_yaml
from reportgen.project.records import Prices
from reportgen.project.references import check_files, check_ids, check_references, values_at

_YAML = (".yaml", ".yml")
#: Overlays are no base input; they are read when a variant is compared.
_VARIANTS = "variants/"
#: Mistakes that leave a part of a file out of what is read.
_DROPPED = {"bad-key", "yaml-merge"}


def load_project(
    files: Mapping[str, bytes], instead: Mapping[str, Map] | None = None, overlay: str | None = None
) -> Project:
    r"""Project that the files of a folder describe; quantities in base units, each with its place.

    Parameters
    ----------
    files : mapping of str to bytes
        Content by path relative to the folder, with forward slashes. YAML files are read, wherever they lie
        but under `variants/` and under the folder that `before` names; other files are looked up by name.
    instead : mapping of str to Map, optional
        Sections that take the place of the folder's own, read from a table for instance.
    overlay : str, optional
        A file under `variants/` that is laid over the folder: its mappings go into those of the folder, its values
        take their place, and `~` takes a key out.

    Raises
    ------
    InputRefused
        With every diagnostic of every file, in the order of printing.

    Examples
    --------
    >>> load_project({"a.yaml": b"project: {title: Barn}\nsite: {place: Hill}"}).project.title
    'Barn'
    """
    sink = Sink()
    tree, complete, hidden = _read_folder(files, sink)
    if tree is None:
        raise InputRefused(sink.sorted())
    for section, body in (instead or {}).items():
        tree.pop(Scalar(section, body.span), None)
        tree[Scalar(section, body.span)] = body
    if overlay is not None:
        top = read_yaml(overlay, files[overlay], sink)
        complete = complete and top is not None
        if top is not None:
            _lay_over(tree, top)
    project: Project | None = None
    try:
        project = Project.model_validate(tree)
    except ValidationError as error:
        telling = Telling(tree, Project, _Lines(files), sink)
        if not complete:
            # What is missing may stand in the file that could not be read.
            telling.excuse(section for section in Project.model_fields if section not in tree)
        telling.excuse(hidden)
        telling.tell(error)
        hidden |= telling.hidden
    check_ids(tree, sink)
    if complete:
        check_references(tree, sink, hidden)
    check_files(tree, files, sink)
    _check_library(tree, sink)
    check_money(tree, str(Prices.model_fields["currency"].default), sink)
    if project is not None:
        check_possible(project, sink)
    if project is None or sink.has_errors:
        raise InputRefused(sink.sorted())
    return project


def read_tree(files: Mapping[str, bytes], sink: Sink) -> Map | None:
    """Sections of all files as nodes, before any model sees them; None where nothing could be read."""
    return _read_folder(files, sink)[0]


def section_keys(name: str) -> str:
    """How a section of the model merges over files: ``"ids"`` (a mapping by id) or ``"keys"`` (one mapping)."""
    core = core_type(Project.model_fields[name].annotation)
    return "ids" if typing.get_origin(core) is dict else "keys"


def _check_library(tree: Map, sink: Sink) -> None:
    """Refuse equipment whose values still have to be copied: a design does not depend on what is installed."""
    for section, kind in (("modules", "module"), ("inverters", "inverter")):
        for trail, name in values_at(tree, (section, "*", "library")):
            message = (
                f"the values of {kind} type `{trail[1]}` are still in the library, and not in this folder"
            )
            help = "run `reportgen find --fill DIR`, which copies them to this place with their source"
            sink.error("library-not-copied", message, name.span, help=help)


class _Lines:
    """Lines of the files, decoded when first asked for."""

    def __init__(self, files: Mapping[str, bytes]) -> None:
        self._files = files
        self._texts: dict[str, Text] = {}

    def __call__(self, span: Span) -> str:
        if span.file not in self._texts:
            data = self._files.get(span.file, b"")
            self._texts[span.file] = Text(span.file, data.decode("utf-8-sig", "replace"))
        return self._texts[span.file].line(span.line)


def _read_folder(files: Mapping[str, bytes], sink: Sink) -> tuple[Map | None, bool, set[str]]:
    names = sorted(name for name in files if name.lower().endswith(_YAML) and not name.startswith(_VARIANTS))
    read: dict[str, tuple[Map | None, Sink]] = {}
    for name in names:
        own = Sink()
        read[name] = (read_yaml(name, files[name], own), own)
    for folder in {_folder_of_before(tree) for tree, _ in read.values()} - {None}:
        read = {name: kept for name, kept in read.items() if not name.startswith(f"{folder}/")}
    if not read:
        help = "run `reportgen init` for a first file, or name the folder that holds the files"
        sink.error("empty-folder", "the folder holds no `*.yaml` file", help=help)
        return None, False, set()
    tree = Map({}, Span(next(iter(read))))
    complete = True
    hidden: set[str] = set()
    for top, own in read.values():
        sink.items.extend(own.items)
        complete = complete and top is not None and not any(item.code in _DROPPED for item in own.items)
        if top is not None:
            hidden |= _merge(tree, top, sink)
    return tree, complete, hidden


def _lay_over(base: Map, top: Map) -> None:
    for key, value in top.items():
        below = base.get(key)
        if isinstance(value, Scalar) and value.is_null:
            base.pop(key, None)
        elif isinstance(below, Map) and isinstance(value, Map):
            copy = Map(dict(below), below.span)  # an alias may stand in several places
            _lay_over(copy, value)
            base[key] = copy
        else:
            base.pop(key, None)  # with its place
            base[key] = value


def _folder_of_before(top: Map | None) -> str | None:
    before = top.get(Scalar("before", Span(""))) if top is not None else None
    folder = before.get(Scalar("folder", Span(""))) if isinstance(before, Map) else None
    if not isinstance(folder, Scalar) or folder.is_null:
        return None
    path = posixpath.normpath(str(folder).replace("\\", "/"))
    return None if path in {".", "/"} or path.startswith("..") else path


def _merge(tree: Map, top: Map, sink: Sink) -> set[str]:
    """Add one file's sections to the folder's; sections that cannot be seen come back."""
    hidden: set[str] = set()
    unknown = 0
    for section, body in top.items():
        if section not in Project.model_fields:
            unknown += 1
            if unknown > MAX_PLACES:
                continue
            meant = nearest(section, Project.model_fields)
            help = f"did you mean `{meant}`?" if meant else f"sections: {listing(Project.model_fields, 40)}"
            sink.error("unknown-section", f"{section.shown} is not a section", section.span, help=help)
            hidden |= {meant} if meant else set()
            continue
        if isinstance(body, Scalar) and body.is_null:
            tree.setdefault(section, Map({}, body.span))
            continue
        if not isinstance(body, Map):
            found = "a list" if isinstance(body, Seq) else "a single value"
            ids = section_keys(section) == "ids"
            inner = (
                "write each id as a key and its values below it"
                if ids
                else "write `key: value` lines below it"
            )
            message = f"{found} stands where the mapping of `{section}` is wanted"
            sink.error("wrong-shape", message, section.span, help=inner)
            hidden.add(str(section))
            continue
        known = tree.get(section)
        if not isinstance(known, Map) or not known:
            tree.pop(section, None)
            tree[section] = Map(dict(body), body.span)
            continue
        _merge_section(section, known, body, sink)
    return hidden


def _merge_section(section: Scalar, known: Map, body: Map, sink: Sink) -> None:
    ids = section_keys(section) == "ids"
    written = {str(key): key.span for key in known}
    for key, value in body.items():
        first = written.get(str(key))
        if first is None:
            known[key] = value
            continue
        what = f"{key.shown} in `{section}`" if ids else f"`{section}: {key}`"
        sink.error(
            "duplicate-id" if ids else "duplicate-key",
            f"{what} stands in `{first.file}` line {first.line} and again in `{key.span.file}`"
            f" line {key.span.line}",
            key.span,
            help="keep one of the two" + (", or give one of them another id" if ids else ""),
            related=[(first, "the first time")],
        )
