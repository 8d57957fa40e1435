"""Landing: each leg arrives at its own pole of its own input."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from reportgen.design.checks.base import Facts, Words, check, compare, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.landing import Arrival, at_its_pole, only_its_like
from reportgen.design.missing import Missing, known
from reportgen.design.results import CircuitDesign
from reportgen.diagnostics.model import Span


@check
def legs_arrive(facts: Facts) -> Iterator[Finding]:
    """Each leg followed over closed poles and links reaches exactly the pole it is meant for."""
    arrivals = {arrival.conductor: arrival for arrival in facts.arrivals}
    devices = _devices_of(facts)
    for circuit in facts.circuits:
        for leg in ("+", "-"):
            name = f"{circuit.id}{leg}"
            # The one arrival there is: a leg on several devices is not judged by any of them.
            arrival = arrivals.get(name)
            if len(units := devices.get(name, ())) > 1:
                # A leg is followed over one device; a crossing in another one would not be seen.
                missing = Missing(
                    f"where the wire of {name} behind each device goes, by the terminal at its other end, for instance `{units[1]}/L1`",
                    _place(facts, units[0]),
                )
                headline = (
                    f"{name} lands on {' and '.join(units)}, and which wire between them is which is not told"
                )
                yield unknown("landing", name, headline, [missing])
            elif arrival is None:
                yield _not_landed(facts, circuit, leg, arrivals)
            elif gone := [unit for unit in (*arrival.through, *arrival.aside) if unit in facts.graph.removed]:
                yield Finding(
                    "landing",
                    name,
                    Outcome.FAILS,
                    f"{name} goes over {gone[0]}, which is removed",
                    cure="land it on what stands there now, or give the device another status",
                    cure_span=_place(facts, gone[0]),
                )
            elif not circuit.string.input:
                missing = Missing(
                    f"input of string {circuit.string.id}",
                    facts.project.where("strings", circuit.string.id),
                )
                yield unknown("landing", name, f"where {name} shall arrive is not stated", [missing])
            elif at_its_pole(arrival, arrivals):
                passed = [f"{poles} pole{'s' * (poles != 1)} of {unit}" for unit, poles in arrival.passed]
                over = f" over {' and '.join(passed)}" if passed else ""
                yield Finding("landing", name, Outcome.MEETS, f"{name} arrives at {arrival.wanted}{over}")
            elif (
                arrival.linked
                and at_its_pole(replace(arrival, reaches=_before_links(arrival)), arrivals)
                and all(place[-1] == leg for place in arrival.linked)
            ):
                # Of one polarity, so no short: but what two inputs joined may see is judged nowhere.
                others = " and ".join(arrival.linked)
                inverter = arrival.linked[0].partition("/")[0]
                missing = Missing(
                    f"inputs of {inverter} that are not joined: a link at its terminals makes two of them one",
                    facts.project.where("jumpers", inverter),
                )
                headline = f"{name} arrives at {arrival.wanted} and over a link at {others}"
                yield unknown("landing", name, headline, [missing])
            elif absent := _not_told_on(facts, arrival, arrivals):
                headline = f"{name} lands on {arrival.switch}/{arrival.terminal}, and what leads on from there is not told"
                yield unknown("landing", name, headline, [absent])
            else:
                reached = " and ".join(arrival.reaches) or "nothing"
                yield Finding(
                    "landing",
                    name,
                    Outcome.FAILS,
                    f"{name} arrives at {reached} instead of {arrival.wanted}",
                    cure="compare the terminal order of the switch with the landing section",
                    cure_span=facts.project.where("landing", *_landed_at(facts, name)),
                )


def _not_told_on(facts: Facts, arrival: Arrival, arrivals: Mapping[str, Arrival]) -> Missing | None:
    """What is missing of a way that ends nowhere, rather than in a wrong place; None where it is wrong as stated.

    What a box joins inside is told by links alone, so one without a way on may not be told whole. Of a switch all
    poles are known: there it is open only while the lead of the input is landed nowhere.
    """
    if arrival.wanted in arrival.reaches or not only_its_like(arrival, arrivals):
        return None
    boxes = [unit for unit in arrival.through if facts.project.box_of(unit) is not None]
    if not boxes and arrival.wanted in facts.graph.places_of:
        return None
    unit = boxes[-1] if boxes else (arrival.through or (arrival.switch,))[-1]
    what = f"landing of {arrival.wanted} on {unit}, or of the terminal of the next device"
    if boxes:
        what += f"; under jumpers what joins it to {arrival.terminal}"
    return Missing(what, _place(facts, arrival.switch))


def _not_landed(facts: Facts, circuit: CircuitDesign, leg: str, arrivals: Mapping[str, Arrival]) -> Finding:
    """Finding of a leg that lands nowhere; beside one that does, at the line of that one."""
    name, other = f"{circuit.id}{leg}", f"{circuit.id}{'-' if leg == '+' else '+'}"
    if other not in arrivals:
        missing = Missing(f"landing of {name}", circuit.circuit.span)
        return unknown("landing", name, f"landing of {name} is not stated", [missing])
    unit, terminal = _landed_at(facts, other)
    end = "positive" if leg == "+" else "negative"
    headline = (
        f"string {circuit.string.id} has no {end} end: {other} is landed at {unit}/{terminal}, {name} nowhere"
    )
    place = facts.project.where("landing", unit, terminal)
    return unknown("landing", name, headline, [Missing(f"landing of {name}", place)])


def _devices_of(facts: Facts) -> Mapping[str, tuple[str, ...]]:
    """Devices on which each wire lands."""
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for unit, wires in facts.project.landing.items():
        for wire in wires.values():
            found[str(wire)][str(unit)] = None
    return {wire: tuple(units) for wire, units in found.items()}


def _landed_at(facts: Facts, wire: str) -> tuple[str, str]:
    """Unit and terminal of a wire that is landed."""
    return next(
        (str(unit), str(terminal))
        for unit, wires in facts.project.landing.items()
        for terminal, end in wires.items()
        if end == wire
    )


def _before_links(arrival: Arrival) -> tuple[str, ...]:
    return tuple(place for place in arrival.reaches if place not in arrival.linked)


def _place(facts: Facts, unit: str) -> Span | None:
    return facts.project.where("landing", unit) if unit in facts.project.landing else None


@check
def switch_voltage(facts: Facts) -> Iterator[Finding]:
    """Cold voltage against the rated voltage of each switch passed, for the poles in series of its weaker leg."""
    devices = _devices_of(facts)
    signs = {wire.id: wire.leg for wire in facts.graph.conductors if wire.leg}
    for circuit in facts.circuits:
        found = [facts.arrived.get(f"{circuit.id}{leg}", ()) for leg in ("+", "-")]
        # Of a leg on several devices nobody can tell which poles stand in series.
        several = {item.switch for items in found if len(items) > 1 for item in items}
        weakest: dict[str, int] = {}
        for item in (item for items in found for item in items):
            for unit, poles in item.passed:
                # The leg with fewer poles in series stands the voltage with them alone, and each switch may be the one opened.
                if unit not in several:
                    weakest[unit] = min(poles, weakest.get(unit, poles))
        # Strings end to end put their voltages one on the other, and which switch then stands how much is not told.
        if meets := _of_other_sign(signs, found):
            headline = f"voltage at the switches of {circuit.id} is not known while {meets[0]} meets it there"
            missing = Missing(
                f"a landing that keeps {meets[0]} apart from {circuit.id}", _place(facts, meets[1])
            )
            for unit in weakest:
                yield unknown("cold-voltage-switch", circuit.id, headline, [missing], part=unit)
        else:
            for unit, poles in weakest.items():
                yield from _rated(facts, circuit, unit, poles)
        landed = [unit for leg in ("+", "-") for unit in devices.get(f"{circuit.id}{leg}", ())]
        landed += [unit for items in found for item in items for unit in item.aside]
        for unit in dict.fromkeys([*facts.graph.passing.met(circuit.id), *landed]):
            if facts.project.switch_of(unit) and unit not in weakest:
                headline = f"poles of {unit} in series with {circuit.id} are not known"
                missing = Missing(f"landing of {circuit.id} on {unit}", circuit.circuit.where("enclosures"))
                yield unknown("cold-voltage-switch", circuit.id, headline, [missing], part=unit)


def _of_other_sign(signs: Mapping[str, str], found: Sequence[Sequence[Arrival]]) -> tuple[str, str] | None:
    """A leg of another string and of the other sign that one of these legs reaches, and the unit that this one lands on."""
    own = {item.conductor for items in found for item in items}
    for item in (item for items in found for item in items):
        for place in item.reaches:
            if place in signs and place not in own and signs[place] != signs[item.conductor]:
                return place, item.switch
    return None


def _rated(facts: Facts, circuit: CircuitDesign, unit: str, poles: int) -> Iterator[Finding]:
    found = facts.project.switch_of(unit)
    if found is None:
        return
    key, switch = found
    if not poles:
        headline = f"no pole of {unit} is in series with both legs of {circuit.id}"
        missing = Missing(
            f"a landing of {circuit.id} over poles of {unit}, without a link around them", _place(facts, unit)
        )
        yield unknown("cold-voltage-switch", circuit.id, headline, [missing], part=unit)
        return
    rating = next((item.voltage for item in switch.ratings if item.poles_in_series == poles), None)
    limit = known(rating, f"rating of switch type {key} with {poles} poles in series", switch.span)
    words = Words(
        f"cold voltage of string {circuit.string.id}",
        f"rating of {unit} with {poles} pole{'s' * (poles != 1)} in series",
    )
    yield compare(
        "cold-voltage-switch",
        circuit.id,
        circuit.string.governing,
        limit,
        words,
        facts.policies.share("voltage_margin"),
        part=unit,
        cure="use more poles in series as the maker allows, or a switch with a higher rating",
        cure_span=switch.where("ratings"),
    )
