"""Ways to string a site as lines for a terminal, or as one document for machines."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator

from reportgen.design.array_cuts import RankedCut, dimmed_words, words_of
from reportgen.design.graph import Graph
from reportgen.design.row_orders import RowOrdersDesign, of_ways
from reportgen.design.stringing import StringingDesign
from reportgen.engineering.stringing import Placing
from reportgen.working.quantity import Quantity
from reportgen.working.text import fixed


def ways_text(design: StringingDesign, graph: Graph, width: int, rows: RowOrdersDesign | None = None) -> str:
    """The best few ways, best first, and why the rest falls out; no line wider than ``width`` where words allow it."""
    unit = graph.units.length
    lines: list[str] = []
    for number, way in enumerate(design.ways, start=1):
        proved = "" if way.proved else ", not proved to be the best that is left"
        lines += _wrapped(f"way {number}{proved}", width)
        for choice in design.arrays:
            if choice.array in way.chosen:
                item = choice.ranked[way.chosen[choice.array]]
                lines += _wrapped(f"{choice.array}: {_told(item, unit)}", width, "  ")
                lines += _wrapped(f"on {_on(way, choice.array)}", width, "    ")
        lines.append("")
    if not design.ways:
        reason = (
            "the site has too many arrays and inputs for a search"
            if design.too_large
            else "no way places all arrays on the inputs whose limits are stated"
        )
        lines += [*_wrapped(reason, width), ""]
    out = [(choice.array, what, why) for choice in design.arrays for what, why in choice.out]
    if out:
        lines.append("falls out:")
        for array, what, why in out:
            lines += _wrapped(f"{array}: {what}: {why}", width, "  ")
        lines.append("")
    for words in (*_orders(rows, design), *_notes(design)):
        lines += _wrapped(words, width)
    return "\n".join(lines).rstrip() + "\n"


def _orders(rows: RowOrdersDesign | None, design: StringingDesign) -> Iterator[str]:
    if rows is None:
        return
    for item in of_ways(rows, design):
        better = "row by row" if item.by_row.kwh >= item.by_column.kwh else "column by column"
        yield (
            f"{item.array}, {words_of(item.cut)}: row by row {fixed(item.by_row.kwh, 0)} kWh a year (dimmed:"
            f" {dimmed_words(item.by_row.strings)}), column by column {fixed(item.by_column.kwh, 0)} kWh"
            f" ({dimmed_words(item.by_column.strings)}): {better} gives more; undimmed {fixed(item.undimmed, 0)} kWh"
        )
    for need in rows.missing:
        yield f"row by row is not compared with column by column until stated: {need.what}"
    for assumed in rows.assumptions:
        yield f"assumed: {assumed.reason}"


def _told(item: RankedCut, unit: str) -> str:
    parts = [
        words_of(item.cut),
        f"longest {fixed(item.cold, 1)} V cold, {fixed(100 * item.margin, 1)} % room{' (thin)' if item.thin else ''}",
        f"{2 * item.cut.strings} conductors",
    ]
    if item.wire_m is not None:
        parts.append(f"{fixed(Quantity(item.wire_m, 'm').to(unit).value, 0)} {unit} of wire")
    if item.loss_w is not None:
        parts.append(f"{fixed(item.loss_w, 0)} W lost in it")
    return "; ".join(parts)


def _on(way: Placing, array: str) -> str:
    return ", ".join(
        f"{slot}: {f'{count} × ' if count > 1 else ''}{length}"
        for group, length, slot, count in way.strings
        if group == array
    )


def _notes(design: StringingDesign) -> Iterator[str]:
    if design.ways:
        yield (
            "ranked by: room to the voltage limit as the policy asks, strings alike (or a module apart), few conductors in the pipe"
            " (and so least wire and loss), few spares, more room; unlike strings stand on separate inputs and lose nothing by being"
            " unlike, but cannot be measured against each other; inputs that take the same may be exchanged"
        )
    for assumed in design.assumptions:
        yield f"assumed: {assumed.reason}"
    if design.asked:
        yield (
            "ask the maker whether the hard limit of current is meant at standard conditions; only then may these be used"
            f" so: {', '.join(design.asked)}"
        )
    if design.untried:
        yield (
            f"no string stands in {', '.join(design.untried)} yet: limits of its wire and switches are not held, and its wire is"
            " not counted"
        )
    needs = [item.what for choice in design.arrays for item in choice.missing]
    needs += [item.what for item in design.left_out]
    if needs:
        yield f"left out until stated: {'; '.join(dict.fromkeys(needs))}"


def _wrapped(words: str, width: int, indent: str = "") -> list[str]:
    return textwrap.wrap(
        words,
        max(width, 20),
        initial_indent=indent,
        subsequent_indent=f"{indent}  ",
        break_long_words=False,
        break_on_hyphens=False,
    )


def ways_document(design: StringingDesign, rows: RowOrdersDesign | None = None) -> str:
    """The same as JSON; voltages in volts, lengths in metres, losses in watts."""
    made = {
        "ways": [
            {
                "proved": way.proved,
                "arrays": {
                    choice.array: _cut(choice.ranked[way.chosen[choice.array]])
                    for choice in design.arrays
                    if choice.array in way.chosen
                },
                "inputs": [
                    {"input": slot, "array": array, "modules": length, "strings": count}
                    for array, length, slot, count in way.strings
                ],
            }
            for way in design.ways
        ],
        "out": [
            {"array": choice.array, "what": what, "why": why}
            for choice in design.arrays
            for what, why in choice.out
        ],
        "missing": list(
            dict.fromkeys(
                item.what
                for items in (*(choice.missing for choice in design.arrays), design.left_out)
                for item in items
            )
        ),
        "ask": list(design.asked),
        "without_strings": list(design.untried),
        "too_large": design.too_large,
        "row_orders": [
            {
                "array": item.array,
                "strings": [{"modules": length, "count": count} for length, count in item.cut.lengths],
                "undimmed_kwh": item.undimmed,
                "by_row_kwh": item.by_row.kwh,
                "by_column_kwh": item.by_column.kwh,
            }
            for item in (rows.orders if rows is not None else ())
        ],
        "row_orders_missing": [item.what for item in (rows.missing if rows is not None else ())],
    }
    return json.dumps(made, indent=2, ensure_ascii=False) + "\n"


def _cut(item: RankedCut) -> dict[str, object]:
    return {
        "strings": [{"modules": length, "count": count} for length, count in item.cut.lengths],
        "spares": item.cut.spares,
        "cold_v": item.cold,
        "margin": item.margin,
        "thin": item.thin,
        "conductors": 2 * item.cut.strings,
        "wire_m": item.wire_m,
        "loss_w": item.loss_w,
        "year_kwh": item.year.kwh if item.year is not None else None,
        "order": item.year.order if item.year is not None else None,
    }
