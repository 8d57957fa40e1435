"""Ratings of one data sheet that contradict each other: windows that end before they begin, limits below what is used."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from reportgen.diagnostics.model import Sink, Span
from reportgen.project.equipment import Box, Inverter, InverterInput, Switch, Terminals
from reportgen.project.model import Project
from reportgen.project.possible_words import below, place_of, text_of, words_of
from reportgen.working.quantity import Quantity

_CODE = "impossible-value"
_WINDOW = "data sheets show an MPP range from low to high, for instance 120 V to 500 V"
_START = "data sheets show a start voltage a little above the lower end of the MPP range, for instance 150 V"
_CURRENT = "data sheets show two currents of an input, the short-circuit current above the usable one"


def check_ratings(project: Project, sink: Sink) -> None:
    """Report ratings of inverters, switches, fuses and terminals that cannot be true together, each with its place.

    Parameters
    ----------
    project : Project
        Typed, its references checked.
    sink : Sink
        Receives the diagnostics.
    """
    for key, inverter in project.inverters.items():
        # One input written once and named again by others is refused once.
        for letter, data in {
            id(data.span): (name, data) for name, data in reversed(_inputs(inverter))
        }.values():
            _input(inverter, data, f"input `{letter}` of inverter type `{key}`", sink)
    for key, switch in project.switches.items():
        _poles(switch, f"switch type `{key}`", sink)
    for key, fuse in project.fuses.items():
        usual = "breaking capacities are in kiloamperes, for instance 30 kA"
        below(fuse, "rating", "breaking_capacity", f"fuse type `{key}`", usual, sink)
    for terminals, owner in _terminals(project):
        _sizes(terminals, owner, sink)
    for key, box in project.boxes.items():
        for entry in box.entries:
            usual = "glands clamp from a smaller to a larger diameter"
            below(
                entry, "clamps_from", "clamps_to", f"an entry of box type `{key}`", usual, sink, or_equal=True
            )


def _inputs(inverter: Inverter) -> list[tuple[str, InverterInput]]:
    return [(str(letter), data) for letter, data in inverter.inputs.items()]


def _input(inverter: Inverter, data: InverterInput, owner: str, sink: Sink) -> None:
    below(data, "tracking_from", "tracking_to", owner, _WINDOW, sink)
    below(data, "start_voltage", "tracking_to", owner, _START, sink)
    below(data, "usable_current", "short_circuit_limit", owner, _CURRENT, sink, or_equal=True)
    ceiling = inverter.maximum_dc_voltage
    if ceiling is not None and ceiling.value <= 0:
        # A rating of zero limits nothing; the findings ask for it.
        ceiling = None
    for field in ("tracking_from", "tracking_to", "start_voltage"):
        value = getattr(data, field)
        if isinstance(value, Quantity) and ceiling is not None and value.value > ceiling.value:
            message = (
                f"{words_of(field)} `{text_of(value)}` of {owner} is above the maximum dc voltage"
                f" `{text_of(ceiling)}` of its inverter"
            )
            help = f"{_START if field == 'start_voltage' else _WINDOW}, and a maximum voltage above it, for instance 600 V"
            related: list[tuple[Span, str]] = [
                (place_of(inverter, "maximum_dc_voltage", ceiling), "maximum dc voltage stands here")
            ]
            sink.error(_CODE, message, place_of(data, field, value), help=help, related=related)


def _poles(switch: Switch, owner: str, sink: Sink) -> None:
    """More poles in series never stand less voltage, and one number of poles has one rating."""
    rated = sorted(switch.ratings, key=lambda item: int(item.poles_in_series))
    for one, other in pairwise(rated):
        few, many = int(one.poles_in_series), int(other.poles_in_series)
        same, less = few == many, other.voltage.value < one.voltage.value
        if not less and not (same and other.voltage.value != one.voltage.value):
            continue
        message = (
            f"rating `{text_of(other.voltage)}` of {owner} with {many} poles in series is"
            f" {'another than' if same else 'below'} its rating `{text_of(one.voltage)}` with {few}"
        )
        help = (
            "data sheets show a voltage for each number of poles, the higher the more of them are in series"
        )
        place, first = place_of(other, "voltage", other.voltage), place_of(one, "voltage", one.voltage)
        sink.error(_CODE, message, place, help=help, related=[(first, "the other rating stands here")])


def _terminals(project: Project) -> Iterator[tuple[Terminals, str]]:
    found: list[tuple[Terminals | None, str]] = []
    for key, inverter in project.inverters.items():
        found += [
            (inverter.terminals, f"inverter type `{key}`"),
            (inverter.ac_terminals, f"inverter type `{key}`"),
        ]
    kinds: list[tuple[str, dict[str, Switch] | dict[str, Box]]] = [
        ("switch", {str(key): kind for key, kind in project.switches.items()}),
        ("box", {str(key): kind for key, kind in project.boxes.items()}),
    ]
    for word, section in kinds:
        found += [(kind.terminals, f"{word} type `{key}`") for key, kind in section.items()]
    found += [(circuit.joint, f"the joint of circuit `{key}`") for key, circuit in project.circuits.items()]
    seen: set[int] = set()
    for terminals, owner in found:
        # A joint that many circuits share is one entry of the file.
        if terminals is not None and id(terminals.span) not in seen:
            seen.add(id(terminals.span))
            yield terminals, owner


def _sizes(terminals: Terminals, owner: str, sink: Sink) -> None:
    if terminals.smallest is None or terminals.largest is None:
        return
    small, large = _rank(str(terminals.smallest)), _rank(str(terminals.largest))
    if small[0] == large[0] and small[1] > large[1]:
        message = f"smallest conductor `{terminals.smallest}` of the terminals of {owner} is larger than the largest `{terminals.largest}`"
        help = "data sheets show a range from thin to thick, for instance 14 AWG to 6 AWG; a gauge falls as wire grows"
        sink.error(
            _CODE,
            message,
            terminals.where("smallest"),
            help=help,
            related=[(terminals.where("largest"), "largest stands here")],
        )


def _rank(size: str) -> tuple[str, float]:
    """System of a conductor size, and its place from thin to thick within it."""
    number = re.match(r"[\d./]+", size)
    text = number[0] if number else "0"
    if "mm" in size:
        return "metric", float(text)
    if text.endswith("/0"):
        return "gauge", float(text.removesuffix("/0")) - 1
    return "gauge", -float(text) if "AWG" in size else float(text)
