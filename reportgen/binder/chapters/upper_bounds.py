"""Schedules of a year under a sky without a cloud: every energy in them is named as the upper bound that it is."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.binder.schedules import Field, Line, Schedule

if TYPE_CHECKING:
    from reportgen.design.energy import EnergyDesign

#: Columns without kWh that follow from energies: money is at most what is shown, what divides by it at least.
_AT_MOST = frozenset({("wire-next-size", "worth")})
_AT_LEAST = frozenset({("wire-next-size", "payback"), ("wire-next-size", "each")})
_NOTE = "Under a clear sky all year, no cloud counted: no expectation. Each kWh is an upper bound, of yield and of loss alike."


def is_bound(energy: EnergyDesign | None) -> bool:
    """Whether the year is one of a clear sky, so that its energies are no expectation."""
    return energy is not None and energy.year is not None and energy.year.upper_bound


def named(schedule: Schedule) -> Schedule:
    """The schedule with its energies named as upper bounds, on the page and in the head of its file.

    A schedule without energies comes back as it is.

    Examples
    --------
    >>> year = Schedule("year", "The year", (Field("ac", "Output", "kWh"),), (Line({"ac": 3.0}),))
    >>> named(year).fields[0].title
    'at most: Output'
    >>> named(year).csv("0").decode().splitlines()[1]
    'ac_at_most [kWh]'
    """
    keys = {field.key: _bound(schedule.id, field) for field in schedule.fields}
    if not any(field.unit.startswith("kWh") for field in schedule.fields):
        return schedule
    fields = tuple(
        replace(field, key=f"{field.key}_{word.replace(' ', '_')}", title=f"{word}: {field.title}")
        if (word := keys[field.key])
        else field
        for field in schedule.fields
    )
    renamed = {old.key: new.key for old, new in zip(schedule.fields, fields, strict=True)}
    lines = tuple(
        Line(
            {renamed.get(key, key): value for key, value in line.values.items()},
            line.anchor,
            line.group,
        )
        for line in schedule.lines
    )
    return replace(
        schedule,
        caption=f"{schedule.caption}: upper bounds",
        fields=fields,
        lines=lines,
        notes=(_NOTE, *schedule.notes),
    )


def _bound(schedule: str, field: Field) -> str:
    if field.unit.startswith("kWh") or (schedule, field.key) in _AT_MOST:
        return "at most"
    return "at least" if (schedule, field.key) in _AT_LEAST else ""
