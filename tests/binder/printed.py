"""Where the binder prints each number of ``results.json``, and whether what is printed there is that number.

Each path has one place: a table by its caption, a row by its first cells, a column by its head, and how many digits
stand behind the point. A number counts as printed only if exactly that cell holds it, rounded and with its unit.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from printed_places import NOT_PRINTED, NUMBER, PLACES, Place
from tagged import Fragment

#: Months in print.
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
#: Exact by definition: what one of the first unit is in the second.
IN_OTHER = {
    ("in", "mm"): Fraction("25.4"),
    ("in3", "cm³"): Fraction("25.4") ** 3 / 1000,
    ("ft", "m"): Fraction("0.3048"),
    ("lbf", "N"): Fraction("4.4482216152605"),
    ("lbf/ft", "N/m"): Fraction("4.4482216152605") / Fraction("0.3048"),
    ("gal", "L"): Fraction("3.785411784"),
}
#: How a unit of the file is printed.
PRINTED = {
    "ohm": "Ω",
    "degC": "°C",
    "in3": "in³",
    "lbf": "lb",
    "lbf/ft": "lb/ft",
    "W/m2": "W/m²",
    "deg": "°",
}
PRINTED |= {"Mohm": "MΩ", "delta_degF": "°F difference"}
OUTCOME = re.compile(r"^[■○◇△✓] ?(?:fails|unknown|ask|thin|meets) ?")


@dataclass(frozen=True)
class Number:
    """A number of the file: where it stands there, its parts that name things, its value and unit."""

    path: str
    names: tuple[str, ...]
    pattern: str
    value: float
    unit: str


def numbers_of(results: Mapping[str, object]) -> list[Number]:
    """Every number of ``results.json`` but those of the findings, lists told by what their items are about."""
    found: list[Number] = []

    def walk(node: object, trail: tuple[str, ...]) -> None:
        if (
            isinstance(node, dict)
            and set(node) == {"value", "unit"}
            and isinstance(node["value"], float | int)
        ):
            found.append(_number(trail, node["value"], node["unit"]))
        elif isinstance(node, dict):
            for key, inner in node.items():
                walk(inner, (*trail, str(key)))
        elif isinstance(node, list):
            months = len(node) == 12
            for number, inner in enumerate(node):
                walk(inner, (*trail, _about(inner) or (_MONTHS[number] if months else str(number))))
        elif isinstance(node, int | float) and not isinstance(node, bool):
            found.append(_number(trail, node, ""))

    walk({key: value for key, value in results.items() if key != "findings"}, ())
    return found


def _about(item: object) -> str:
    """What an item of a list is about: a reading, an assumption, a step of the year."""
    if not isinstance(item, dict):
        return ""
    if "series" in item:
        return ", ".join(str(item[key]) for key in ("series", "date", "at", "string"))
    return str(item.get("key") or _STEPS.get(str(item.get("step")), ""))


#: Steps of the year as the file and as the page name them.
_STEPS = {
    "irradiation": "light on the modules, at their rated efficiency",
    "horizon": "behind the horizon",
    "row shading": "behind the table in front",
    "reflection": "reflected at the glass",
    "soiling": "dirt",
    "snow": "snow",
    "rear light": "gained on the rear",
    "mismatch": "modules of a string differ",
    "weak light": "modules work worse in weak light",
    "temperature": "cells warmer than 25 °C",
    "off peak": "strings held away from their best voltage",
    "clipping": "more than an input or inverter can use",
    "wire": "wires of the strings",
    "feeder": "wires that strings share",
    "conversion": "conversion to alternating current",
    "night": "drawn by the inverters at night",
    "ac": "alternating current",
}


def _number(trail: tuple[str, ...], value: float, unit: str) -> Number:
    for pattern in (*PLACES, *NOT_PRINTED):
        steps = pattern.replace("/#", "/*").split("/")
        if len(steps) == len(trail) and all(s in ("*", t) for s, t in zip(steps, trail, strict=True)):
            names = tuple(t for s, t in zip(steps, trail, strict=True) if s == "*")
            return Number("/".join(trail), names, pattern, value, unit)
    return Number("/".join(trail), (), "", value, unit)


class Sheets:
    """The tables of a binder, asked for a cell at a time."""

    def __init__(self, fragments: list[Fragment]) -> None:
        self.cells: dict[tuple[str, tuple[str, ...], str], list[str]] = {}
        caption = section = group = ""
        for part in fragments:
            if part.caption is not None or not part.rows:
                caption, section, group = part.caption or "", part.section, ""
            heads = _told_apart(part.head[-1] if part.head else [])
            for row in part.rows:
                group = row.cells[0] if row.group else group
                keys = _keys(caption, f"{section}{group}", row.cells)
                for number, cell in enumerate(row.cells):
                    head = heads[number] if heads else f"#{number}"
                    for key in keys:
                        self.cells.setdefault((caption, key, head), []).append(cell)

    def of(self, place: Place, names: tuple[str, ...]) -> tuple[tuple[str, tuple[str, ...], str], list[str]]:
        """Address and texts of the cells at a place, the head first without and then with its unit."""
        row = tuple(part.format(*names) for part in place.row)
        column = place.column.format(*names)
        for head in (column, *sorted({h for c, r, h in self.cells if c == place.caption and r == row})):
            if head == column or head.rpartition(" ")[0] == column:
                address = (place.caption, row, head)
                if address in self.cells:
                    return address, self.cells[address]
        return (place.caption, row, column), []


def _told_apart(heads: list[str]) -> list[str]:
    """Heads of columns; the second of two alike carries ``#2``."""
    return [head if heads.index(head) == k else f"{head}#2" for k, head in enumerate(heads)]


def _keys(caption: str, section: str, cells: list[str]) -> set[tuple[str, ...]]:
    """The names that a row goes by: its first cell, its first two, and what some tables have to be asked by."""
    plain = [OUTCOME.sub("", cell) for cell in cells]
    keys = {(plain[0],), tuple(plain[:2])}
    # A row may hold for several circuits and stretches, which it lists.
    keys |= set(product(*(cell.split(", ") for cell in plain[:2])))
    if caption == "Materials":
        keys |= {(f"{section}: {plain[0]}",)}
    elif caption == "Voltages judged":
        keys |= {(", ".join(plain[:4]),)}
    return keys


def lost(numbers: list[Number], sheets: Sheets) -> list[str]:
    """Paths of numbers that are not printed where and as they should be."""
    return [n.path for n in numbers if n.pattern not in NOT_PRINTED and not printed(n, sheets)]


def printed(number: Number, sheets: Sheets) -> bool:
    """Whether every place of a number holds it."""
    places = PLACES.get(number.pattern, ())
    return bool(places) and all(_holds(number, place, sheets) for place in places)


def _holds(number: Number, place: Place, sheets: Sheets) -> bool:
    (_, row, head), cells = _cells(number, place, sheets)
    unit = _unit(head) if place.unit is None else place.unit
    if place.unit == "as in its row":
        unit = sheets.of(Place(place.caption, row, "Unit", 0), ())[1][0]
    # Every element of a pull has its row, and the greatest tension is that of one of them.
    enough = any if place.caption.startswith("Tension behind") else all
    return bool(cells) and enough(_same(number, place, cell, unit) for cell in cells)


def _cells(
    number: Number, place: Place, sheets: Sheets
) -> tuple[tuple[str, tuple[str, ...], str], list[str]]:
    names = number.names
    if place.caption == "Thermal movement above ground":
        raceway, _, part = number.names[0].partition(", ")
        names = (f"{raceway}/{part.rpartition(', ')[2]}",)
        names = tuple(n if sheets.of(place, (n,))[1] else f"{n}, at most" for n in names)
    return sheets.of(place, names)


def _unit(head: str) -> str:
    last = head.removesuffix("#2").rpartition(" ")[2]
    return last if last in _KNOWN else ""


_KNOWN = {"V", "A", "W", "m", "mm", "cm³", "°C", "Ω", "%", "N", "kWh", "N/m", "L"}


def _same(number: Number, place: Place, cell: str, unit: str) -> bool:
    """Whether a cell holds the number: digit for digit at its digits behind the point, in the unit that it names."""
    found = re.search(place.pattern, OUTCOME.sub("", cell))
    if found is None:
        return False
    if number.pattern == "boxes/*/conductors":
        return sum(map(int, re.findall(place.pattern, cell))) == number.value
    value = Fraction(str(number.value))
    if place.places < 0:
        # As short as it can be written, its unit behind it.
        told = PRINTED.get(number.unit, number.unit)
        return re.fullmatch(rf"{NUMBER} {re.escape(told)}", cell) is not None and exactly(found[1], value)
    own = PRINTED.get(number.unit, number.unit)
    if unit == "share":
        value *= 100
    elif (number.unit, unit) in IN_OTHER:
        value *= IN_OTHER[number.unit, unit]
    elif unit not in {own, "kWh" if number.path.startswith("energy") else own, own or "pieces"}:
        return False
    return rounds_to(found[1], value, {"pieces": 0, "L": 2}.get(unit, place.places), place.at_most)


def exactly(text: str, value: Fraction) -> bool:
    """Whether a printed number is the value itself."""
    return Fraction(text.replace("−", "-")) == value


def rounds_to(text: str, value: Fraction, places: int, at_most: bool | None = None) -> bool:
    """Whether a printed number is the value, rounded to just so many digits behind the point; a limit to its safe side."""
    whole, _, behind = text.partition(".")
    off, step, least = Fraction(text.replace("−", "-")) - value, Fraction(1) / 10**places, Fraction(1, 10**7)
    if at_most is None:
        near = abs(off) <= step / 2 + Fraction(1, 10**9)
    else:
        near = -step < (off if at_most else -off) <= least
    return (
        len(behind) == places and near and (whole.lstrip("−") == "0" or not whole.lstrip("−").startswith("0"))
    )


def survives(number: Number, sheets: Sheets) -> list[str]:
    """Texts that would still pass for the number with one of its digits changed or its sign lost: none may."""
    passed = []
    for place in PLACES[number.pattern]:
        address, cells = _cells(number, place, sheets)
        whole = list(cells)
        for text in sorted({wrong for cell in whole for wrong in _wrong(place, cell)}):
            sheets.cells[address] = [text]
            if printed(number, sheets):
                passed.append(text)
        sheets.cells[address] = whole
    return passed


def _wrong(place: Place, cell: str) -> Iterator[str]:
    plain = OUTCOME.sub("", cell)
    found = re.search(place.pattern, plain)
    if found is None:
        return
    start, end = found.span(1)
    for k in range(start, end):
        if plain[k].isdigit():
            yield f"{plain[:k]}{(int(plain[k]) + 3) % 10}{plain[k + 1 :]}"
        elif plain[k] == "−":
            yield plain[:k] + plain[k + 1 :]
            yield f"{plain[:k]}-{plain[k + 1 :]}"
