"""Ways to string the site: the best few for all arrays together, and why the others fall out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Column, Element, Heading, Listing, Paragraph, Table, row
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.design.array_cuts import MOST_SPARES, dimmed_words, words_of
from reportgen.design.stringing import StringingDesign
from reportgen.working.quantity import quantity

if TYPE_CHECKING:
    from reportgen.design.row_orders import RowOrder


def stringing(desk: Desk) -> Iterator[Element]:
    """Part of the chapter on strings; nothing where no array can be searched."""
    design = desk.design.stringing
    if not any(choice.ranked or choice.out for choice in design.arrays):
        return
    yield Heading("Ways to string the modules")
    yield Paragraph(
        "Each array is cut into strings of its own; each input takes strings of one array and one length. Ways are ranked by, in "
        "turn: room to the voltage limit as the policy asks, strings alike (or a module apart), few conductors in the pipe (and so least wire and loss), few modules over, "
        "most kWh where rows lose light, more room. "
        f"At most {MOST_SPARES.show()} of an array, or one module, may be left over, and two strings at most share an input. "
        "Unlike strings stand on separate inputs and lose nothing by being unlike; they rank behind like ones, which can be measured against each other. Voltages, "
        "the hard limit of current, connectors and PV power are held as far as they are stated; prices are not "
        "weighed in the rank. Strings are spread over the inverters by their output; inputs that take the same may be exchanged. A way counts only once it is entered and checked."
    )
    if design.ways:
        yield desk.keep(_ways(design, desk.units.length)).table()
        if design.asked:
            yield Paragraph(
                "The maker does not say whether the hard limit of these inputs is meant at standard conditions; only then may "
                f"they be used so: {', '.join(design.asked)}. Ask before anything is bought."
            )
    elif design.too_large:
        yield Paragraph(
            "The site has too many arrays and inputs to be searched within a build; only what falls out is told."
        )
    else:
        yield Paragraph("No way places all arrays on the inputs whose limits are stated.")
    yield from _row_orders(desk)
    if design.untried:
        yield Paragraph(
            f"No string stands in {', '.join(design.untried)} yet: limits of its wire and switches are not held, and its wire is "
            "not counted."
        )
    if any(choice.out for choice in design.arrays):
        yield _told(desk.keep(_out(design)))
    needs = [item.what for choice in design.arrays for item in choice.missing]
    needs += [item.what for item in design.left_out]
    if needs:
        yield Paragraph("Left out of the search until stated:")
        yield Listing(tuple(dict.fromkeys(needs)))


def _ways(design: StringingDesign, length: str) -> Schedule:
    lines = []
    for number, way in enumerate(design.ways, start=1):
        for choice in design.arrays:
            if choice.array not in way.chosen:
                continue
            item = choice.ranked[way.chosen[choice.array]]
            on = ", ".join(
                f"{slot}: {f'{count} × ' if count > 1 else ''}{length}"
                for group, length, slot, count in way.strings
                if group == choice.array
            )
            lines.append(
                Line(
                    {
                        "way": f"{number}" if way.proved else f"{number}, not proved best",
                        "array": choice.array,
                        "cut": words_of(item.cut),
                        "cold": item.cold,
                        "margin": 100 * item.margin,
                        "conductors": float(2 * item.cut.strings),
                        "wire": quantity(item.wire_m, "m") if item.wire_m is not None else "unknown",
                        "loss": item.loss_w if item.loss_w is not None else "unknown",
                        "year": item.year.kwh if item.year is not None else "unknown",
                        "order": item.year.order if item.year is not None else "",
                        "inputs": on,
                    }
                )
            )
    fields = (
        Field("way", "Way"),
        Field("array", "Array"),
        Field("cut", "Strings × modules"),
        Field("cold", "cold", "V", 1, "Longest string"),
        Field("margin", "room", "%", 1, "Longest string"),
        Field("conductors", "Conductors", "", 0, align="right"),
        Field("wire", "length", length, 0, "All its wire"),
        Field("loss", "loss", "W", 0, "All its wire"),
        Field("year", "year", "kWh", 0),
        Field("order", "Better order"),
        Field("inputs", "Modules on each input"),
    )
    notes = (
        "Year: from the modules as they yield in the simulated year, in the better order where rows lose light, less what the wires lose; "
        "before the inverter, limits of its inputs as today.",
        "Assumed: wire of each string as long, thick and warm as that of the array's strings today on average, with the mean of their losses in "
        "the year; every module yields as the array's do on average. Loss at standard conditions, as in the conductor schedule.",
    )
    return Schedule("stringing-ways", "Best ways for the whole site", fields, tuple(lines), notes, wide=True)


def _row_orders(desk: Desk) -> Iterator[Element]:
    rows = desk.design.rows
    if rows is None:
        return
    # Loads numpy, so only once there are rows that were compared in a year.
    from reportgen.design.row_orders import of_ways  # noqa: PLC0415

    shown = of_ways(rows, desk.design.stringing) if rows.orders else ()
    if shown:
        yield desk.keep(_order_table(shown)).table()
    if rows.missing:
        yield Paragraph("Row by row is not compared with column by column until stated:")
        yield Listing(tuple(item.what for item in rows.missing))


def _order_table(orders: tuple[RowOrder, ...]) -> Schedule:
    lines = tuple(
        Line(
            {
                "array": item.array,
                "cut": words_of(item.cut),
                "undimmed": item.undimmed,
                "row": item.by_row.kwh,
                "row_dim": dimmed_words(item.by_row.strings),
                "column": item.by_column.kwh,
                "column_dim": dimmed_words(item.by_column.strings),
                "gain": item.by_row.kwh - item.by_column.kwh,
            }
        )
        for item in orders
    )
    fields = (
        Field("array", "Array"),
        Field("cut", "Strings × modules"),
        Field("undimmed", "No row dimmed", "kWh/year", 0),
        Field("row", "year", "kWh", 0, "Row by row"),
        Field("row_dim", "dimmed in each string", "", 0, "Row by row"),
        Field("column", "year", "kWh", 0, "Column by column"),
        Field("column_dim", "dimmed in each string", "", 0, "Column by column"),
        Field("gain", "Row by row gains", "kWh/year", 0),
    )
    notes = (
        "From the hours of the weather file; modules of the lower rows lose the light that `lower_rows` states, and are bypassed where "
        "that gives more. Each string stands at its own best point: a tracker that stays at a lesser peak gets less. Wires left out.",
    )
    return Schedule("stringing-rows", "Row by row or column by column", fields, lines, notes, wide=True)


def _told(schedule: Schedule) -> Table:
    """What falls out, an array in a row."""
    found: dict[str, list[str]] = {}
    for k, line in enumerate(schedule.lines):
        told = schedule.marked(k, f"{line.values['what']}: {line.values['why']}")
        found.setdefault(str(line.values["array"]), []).append(told)
    columns = (Column("Array"), Column("Falls out, and because"))
    rows = tuple(row(array, "; ".join(told)) for array, told in found.items())
    return Table(schedule.id, schedule.caption, columns, rows, schedule.changed_notes)


def _out(design: StringingDesign) -> Schedule:
    lines = tuple(
        Line({"array": choice.array, "what": what, "why": why})
        for choice in design.arrays
        for what, why in choice.out
    )
    fields = (Field("array", "Array"), Field("what", "Falls out"), Field("why", "Because"))
    return Schedule("stringing-out", "Why the rest falls out", fields, lines)
