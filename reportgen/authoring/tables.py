"""Strings, circuits and readings as a table for a spreadsheet, and back into the folder without loss.

A column is a key, `tails.start` a key of a mapping below it, `parts.1.array` one of the first item of a list; lists of
words stand in one cell with semicolons. The unit of a column stands in its head, and a cell that was written in
another unit keeps its own. Import checks the table as the reader checks a file, with the place in the table.
"""

from __future__ import annotations

import re
import typing
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from reportgen.authoring.cells import Cell, cell_of, csv_text, read_cells, values_of, yaml_scalar
from reportgen.diagnostics.model import InputRefused, Sink, Span
from reportgen.diagnostics.nearest import listing, nearest
from reportgen.project.load import load_project, read_tree
from reportgen.project.mistakes import core_type, schemas_of
from reportgen.project.model import Project
from reportgen.project.nodes import Map, Scalar, Seq
from reportgen.project.reader import read_yaml
from reportgen.working.text import plain_number
from reportgen.working.units import DIMENSIONS

KINDS = ("strings", "circuits", "readings")
#: Mapping by id inside the rows of a section: each of its entries is a row of its own.
_INNER = {"readings": "strings"}
_HEAD = re.compile(r"(?P<name>[^\[\]]+?)\s*(?:\[(?P<unit>[^\[\]]+)\])?\s*")
_NUMBER_UNIT = re.compile(
    r"(?P<number>[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?) (?P<unit>\D.*)", re.ASCII
)
#: Most items of a list of mappings that columns are looked for.
_MOST_ITEMS = 50

Row = dict[str, list[Scalar]]


@dataclass(frozen=True, slots=True)
class Column:
    """One key of a row: its name, whether it holds a list, and the units it may have."""

    name: str
    listed: bool
    units: tuple[str, ...]


def export(kind: str, files: Mapping[str, bytes]) -> str:
    """Section of a folder as a table.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    files : mapping of str to bytes
        The folder.

    Raises
    ------
    InputRefused
        If the files cannot be read.
    """
    sink = Sink()
    tree = read_tree(files, sink)
    if tree is None or sink.has_errors:
        raise InputRefused(sink.sorted())
    section = next((body for key, body in tree.items() if key == kind), None)
    rows = [*_rows(kind, section)] if isinstance(section, Map) else []
    present = {name for row in rows for name in row}
    columns = [column for column in _columns(kind) if column.name in present] or [*_columns(kind)][:6]
    heads, units = [], {}
    for column in columns:
        units[column.name] = _unit(column, rows)
        heads.append(f"{column.name} [{units[column.name]}]" if units[column.name] else column.name)
    table = [[_shown(row.get(column.name), column, units[column.name]) for column in columns] for row in rows]
    return csv_text([heads, *table])


def _unit(column: Column, rows: list[Row]) -> str:
    """Unit that most cells of a column are written in, or nothing."""
    if not column.units or column.listed:
        return ""
    written = [_NUMBER_UNIT.fullmatch(str(value)) for row in rows for value in row.get(column.name, ())]
    found = Counter(match["unit"] for match in written if match and match["unit"] in column.units)
    return found.most_common(1)[0][0] if found else ""


def _shown(values: list[Scalar] | None, column: Column, unit: str) -> str:
    if values is None:
        return ""
    if unit and (match := _NUMBER_UNIT.fullmatch(str(values[0]))) and match["unit"] == unit:
        return match["number"]
    return cell_of(values, listed=column.listed)


def _rows(kind: str, section: Map) -> Iterator[Row]:
    """Rows of a section: every value by the name of its column."""
    inner = _INNER.get(kind)
    for key, body in section.items():
        flat = {"id": [key], **(dict(_flat(body, "", inner)) if isinstance(body, Map) else {})}
        below = (
            next((item for name, item in body.items() if name == inner), None)
            if isinstance(body, Map)
            else None
        )
        if inner is None or not isinstance(below, Map) or not below:
            yield flat
        else:
            for name, item in below.items():
                own = dict(_flat(item, f"{inner}.", None)) if isinstance(item, Map) else {}
                yield flat | {f"{inner}.id": [name]} | own


def _flat(body: Map, prefix: str, skipped: str | None) -> Iterator[tuple[str, list[Scalar]]]:
    for key, value in body.items():
        if key == skipped:
            continue
        name = f"{prefix}{key}"
        if isinstance(value, Scalar):
            yield name, [value]
        elif isinstance(value, Map):
            yield from _flat(value, f"{name}.", None)
        elif isinstance(value, Seq):
            if any(isinstance(item, Map) for item in value):
                for number, item in enumerate(value, start=1):
                    if isinstance(item, Map):
                        yield from _flat(item, f"{name}.{number}.", None)
                    elif isinstance(item, Scalar):
                        yield f"{name}.{number}", [item]
            else:
                yield name, [item for item in value if isinstance(item, Scalar)]


def model_of(kind: str) -> type[BaseModel]:
    """Model of one entry of a section."""
    return _model(Project.model_fields[kind].annotation)


def _model(annotation: object) -> type[BaseModel]:
    core = core_type(annotation)
    while typing.get_origin(core) in {dict, list}:
        core = core_type(typing.get_args(core)[-1])
    assert isinstance(core, type) and issubclass(core, BaseModel)
    return core


def _columns(kind: str) -> Iterator[Column]:
    """Every column that a section can have, in the order of its model."""
    yield Column("id", False, ())
    model, inner = model_of(kind), _INNER.get(kind)
    for name, field in model.model_fields.items():
        if name != inner:
            yield from _columns_of(name, field.annotation, field)
    if inner is not None:
        yield Column(f"{inner}.id", False, ())
        for name, field in _model(model.model_fields[inner].annotation).model_fields.items():
            yield from _columns_of(f"{inner}.{name}", field.annotation, field)


def _columns_of(name: str, annotation: object, field: FieldInfo | None) -> Iterator[Column]:
    core = core_type(annotation)
    origin = typing.get_origin(core)
    if isinstance(core, type) and issubclass(core, BaseModel):
        for key, below in core.model_fields.items():
            yield from _columns_of(f"{name}.{key}", below.annotation, below)
    elif origin is list:
        inside = core_type(typing.get_args(core)[0])
        if isinstance(inside, type) and issubclass(inside, BaseModel):
            for number in range(1, _MOST_ITEMS + 1):
                yield from _columns_of(f"{name}.{number}", inside, None)
        else:
            yield Column(name, True, ())
    else:
        yield Column(name, False, _units_of(field))


def _units_of(field: FieldInfo | None) -> tuple[str, ...]:
    names = [name for schema in (schemas_of(field) if field else ()) for name in schema.get("x-quantity", ())]
    return tuple(
        spelling for name in names for unit in DIMENSIONS.get(name, ()) for spelling in unit.accepted
    )


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import would write: files by name, and a line on each thing that the reader of a message should know."""

    files: Mapping[str, str]
    notes: tuple[str, ...]


def bring_in(kind: str, name: str, text: str, files: Mapping[str, bytes]) -> Imported:
    """Files of a folder with a section taken from a table; nothing is written here.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    name, text : str
        The table: its name for the messages, and its content.
    files : mapping of str to bytes
        The folder.

    Raises
    ------
    InputRefused
        With the places in the table, if it or the folder with it cannot be read.
    """
    sink = Sink()
    section = _section(kind, name, text, sink)
    if sink.has_errors:
        raise InputRefused(sink.sorted())
    load_project({**files, name: text.encode()}, {kind: section})
    written, notes = _into_files(kind, _yaml(kind, section), files)
    after = {**files, **{file: content.encode() for file, content in written.items() if content}}
    load_project({file: data for file, data in after.items() if written.get(file, "x")})
    return Imported(written, tuple(notes))


def _section(kind: str, name: str, text: str, sink: Sink) -> Map:
    rows = read_cells(name, text.removeprefix("\ufeff"))
    made = Map({}, Span(name))
    if not rows:
        sink.error(
            "table-column",
            f"`{name}` holds no table",
            Span(name),
            help="write the heads of the columns first",
        )
        return made
    columns = [_head(kind, cell, sink) for cell in rows[0]]
    if "id" not in {column.name for column, _ in columns}:
        sink.error(
            "table-column", "the table has no column `id`", rows[0][0].span, help="add it as the first column"
        )
    if sink.has_errors:
        return made
    series: dict[str, Map] = {}
    inner = _INNER.get(kind)
    for cells in rows[1:]:
        own: dict[str, tuple[Column, Cell]] = {}
        for (column, unit), cell in zip(columns, cells, strict=False):
            if cell.text.strip():
                with_unit = Cell(f"{cell.text.strip()} {unit}", cell.span) if _is_bare(cell, unit) else cell
                own[column.name] = (column, with_unit)
        _row(made, series, own, cells[0], inner, sink)
    return made


def _is_bare(cell: Cell, unit: str) -> bool:
    return bool(unit) and plain_number(cell.text.strip()) is not None


def _head(kind: str, cell: Cell, sink: Sink) -> tuple[Column, str]:
    known = {column.name: column for column in _columns(kind)}
    match = _HEAD.fullmatch(cell.text.strip())
    name = match["name"] if match else cell.text.strip()
    unit = (match["unit"] or "").strip() if match else ""
    column = known.get(name)
    if column is None:
        meant = nearest(name, known)
        shown = [key for key in known if not re.search(r"\.\d+\.", key)]
        help = f"did you mean `{meant}`?" if meant else f"columns: {listing(shown, 60)}"
        sink.error("table-column", f"`{cell.text.strip()}` is no column of {kind}", cell.span, help=help)
        return Column(name, False, ()), ""
    if unit and unit not in column.units:
        accepted = listing(dict.fromkeys(column.units), 12) if column.units else "no unit"
        sink.error(
            "table-column",
            f"column `{name}` has the unknown unit `{unit}`",
            cell.span,
            help=f"accepted: {accepted}",
        )
    return column, unit


def _row(
    made: Map,
    series: dict[str, Map],
    own: dict[str, tuple[Column, Cell]],
    first: Cell,
    inner: str | None,
    sink: Sink,
) -> None:
    if "id" not in own:
        sink.error("table-row", "this row has no id", first.span, help="write an id into the column `id`")
        return
    cell = own.pop("id")[1]
    key = Scalar(cell.text.strip(), cell.span)
    body = series.get(str(key))
    if body is not None and inner is None:
        sink.error(
            "duplicate-id",
            f"{key.shown} stands in two rows",
            key.span,
            help="keep one of the two, or give one another id",
        )
        return
    if body is None:
        body = series[str(key)] = Map({}, cell.span)
        made[key] = body
    below = {
        name.removeprefix(f"{inner}."): item
        for name, item in own.items()
        if inner and name.startswith(f"{inner}.")
    }
    _put_all(
        body,
        {name: item for name, item in own.items() if not inner or not name.startswith(f"{inner}.")},
        sink,
    )
    if not below or inner is None:
        return
    if "id" not in below:
        sink.error("table-row", f"this row has no `{inner}.id`", first.span, help="write which one was read")
        return
    name = below.pop("id")[1]
    place = _below(body, inner, name.span)
    entry = Map({}, name.span)
    if any(str(known) == name.text.strip() for known in place):
        message = f"`{name.text.strip()}` stands twice under {key.shown}"
        sink.error("duplicate-id", message, name.span, help="keep one of the two rows")
        return
    place[Scalar(name.text.strip(), name.span)] = entry
    _put_all(entry, below, sink)


def _put_all(body: Map, cells: Mapping[str, tuple[Column, Cell]], sink: Sink) -> None:
    for name, (column, cell) in cells.items():
        steps = name.split(".")
        place: Map | Seq = body
        for step, after in pairwise(steps):
            place = _step(place, step, after.isdigit(), cell.span)
        values = values_of(cell, listed=column.listed)
        value: object = Seq([*values], cell.span) if column.listed else values[0]
        if isinstance(place, Map):
            known = next((item for key, item in place.items() if key == steps[-1]), None)
            if known is None:
                place[Scalar(steps[-1], cell.span)] = value
            elif known != value:
                message = f"`{name}` is `{known}` in an earlier row of the same id and `{value}` here"
                sink.error(
                    "table-row",
                    message,
                    cell.span,
                    help="write the same in both rows, or in one of them only",
                )


def _step(place: Map | Seq, step: str, listed: bool, span: Span) -> Map | Seq:
    if isinstance(place, Seq):
        while len(place) < int(step):
            place.append(Map({}, span))
        found = place[int(step) - 1]
        assert isinstance(found, Map)
        return found
    known = next((item for key, item in place.items() if key == step), None)
    if isinstance(known, Map | Seq):
        return known
    made: Map | Seq = Seq([], span) if listed else Map({}, span)
    place[Scalar(step, span)] = made
    return made


def _below(body: Map, name: str, span: Span) -> Map:
    found = _step(body, name, False, span)
    assert isinstance(found, Map)
    return found


def _yaml(kind: str, section: Map) -> str:
    if not section:
        return f"{kind}:\n"
    return f"{kind}:\n" + "".join(_block(key, value, 2) for key, value in section.items())


def _block(key: Scalar, value: object, indent: int) -> str:
    head = f"{' ' * indent}{yaml_scalar(str(key))}:"
    if (
        isinstance(value, Map)
        and value
        and (indent < 4 or any(isinstance(item, Map) for item in value.values()))
    ):
        return f"{head}\n" + "".join(_block(name, item, indent + 2) for name, item in value.items())
    return f"{head} {_flow(value)}\n"


def _flow(value: object) -> str:
    if isinstance(value, Map):
        return "{" + ", ".join(f"{yaml_scalar(str(key))}: {_flow(item)}" for key, item in value.items()) + "}"
    if isinstance(value, Seq):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return yaml_scalar(str(value))


def _into_files(kind: str, section: str, files: Mapping[str, bytes]) -> tuple[dict[str, str], list[str]]:
    """Files that change: the section in the place of the first it stood in, and out of any other."""
    written: dict[str, str] = {}
    notes: list[str] = []
    placed = False
    for name in sorted(file for file in files if file.lower().endswith((".yaml", ".yml"))):
        tree = read_yaml(name, files[name], Sink())
        where = next((key.span for key in tree or () if key == kind), None)
        if tree is None or where is None or name.startswith("variants/"):
            continue
        text = files[name].decode("utf-8-sig")
        before, own, after = _cut(text, where.line, [key.span.line for key in tree])
        lost = sum(line.lstrip().startswith("#") for line in own.splitlines())
        if lost:
            notes.append(f"{name}: {lost} comment line{'s' if lost > 1 else ''} of the old section not kept")
        written[name] = before + ("" if placed else section) + after
        placed = True
    if not placed:
        name = f"{kind}.yaml" if f"{kind}.yaml" not in files else f"{kind}-table.yaml"
        written[name] = section
    return written, notes


def _cut(text: str, line: int, starts: list[int]) -> tuple[str, str, str]:
    """Text before, of and after the section that starts at a line."""
    lines = text.splitlines(keepends=True)
    end = min((start - 1 for start in starts if start > line), default=len(lines))
    # What stands directly above the next section belongs to it.
    while end > line and (not lines[end - 1].strip() or lines[end - 1].startswith("#")):
        end -= 1
    return "".join(lines[: line - 1]), "".join(lines[line - 1 : end]), "".join(lines[end:])
