"""Most and fewest modules in series by each limit, every cold temperature and both methods side by side."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Element
from reportgen.binder.schedules import UNKNOWN, Field, Line, Marked, Schedule
from reportgen.design.checks.strings import COLDEST_ON_EARTH_C
from reportgen.design.results import MEAN_MINIMUM, PRESCRIBED, RECORD_LOW
from reportgen.design.series_limits import SeriesLimit, design_series_limits
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import both

_KEYS = {RECORD_LOW: "low", MEAN_MINIMUM: "mean", PRESCRIBED: "prescribed"}


def series_limits(desk: Desk) -> Iterator[Element]:
    """Part of the chapter on strings; nothing where no limit is known."""
    found = design_series_limits(desk.design.facts, desk.design.findings)
    if found:
        yield desk.keep(_schedule(desk, found)).table()


def _schedule(desk: Desk, found: tuple[SeriesLimit, ...]) -> Schedule:
    lines = []
    for item in found:
        row: dict[str, object] = {
            "strings": ", ".join(item.strings),
            "what": item.what,
            "limit": Marked(item.limit, at_most=item.at_most)
            if isinstance(item.limit, Quantity)
            else UNKNOWN,
            "hot": "",
            "reached": "; ".join(
                _reached(count, value, desk.units.temperature) for count, value in item.reached
            ),
        }
        for label, by_coefficient, by_table in item.allowed:
            if not item.at_most:
                row["hot"] = _number(by_coefficient)
                continue
            row[f"{_KEYS[label]}_coefficient"] = _number(by_coefficient)
            row[f"{_KEYS[label]}_table"] = _number(by_table)
        lines.append(Line(row))
    pairs = [("low", "Most at record low"), ("mean", "Most at mean minimum")]
    if desk.design.facts.policies.prescribed_cold:
        pairs.append(("prescribed", "Most by the local rule"))
    fields = (
        Field("strings", "Strings"),
        Field("what", "Limit"),
        Field("limit", "", "V", 0),
        *(
            field
            for key, group in pairs
            for field in (
                Field(f"{key}_coefficient", "coefficient", "", 0, group, align="right"),
                Field(f"{key}_table", "table", "", 0, group, align="right"),
            )
        ),
        Field("hot", "Fewest, hot", align="right"),
        Field("reached", "Comes to the limit at a cell temperature of"),
    )
    never = any(_reached_never(value) for item in found for _, value in item.reached)
    notes = (
        "Strings of one module type at one inverter type share a line, with the strictest limit among them. Table: the factor of the "
        "code for that temperature. The last column goes by the coefficient, for the longest string and for one module more.",
        *(
            (
                f"Never: not above {both(Quantity(COLDEST_ON_EARTH_C, 'degC'), 0)}, which is colder than any place on earth.",
            )
            if never
            else ()
        ),
    )
    return Schedule("series-limits", "Modules in series by each limit", fields, tuple(lines), notes)


def _number(value: int | None) -> str:
    return UNKNOWN if value is None else str(value)


def _reached(count: int, value: object, unit: str) -> str:
    if not isinstance(value, Quantity):
        return f"{count}: {UNKNOWN}"
    if _reached_never(value):
        return f"{count}: never"
    return f"{count}: {value.to(unit).show(1, at_most=False)}"


def _reached_never(value: object) -> bool:
    return isinstance(value, Quantity) and value.value <= COLDEST_ON_EARTH_C
