"""Modules accounted for; string voltage cold against everything that must stand it, hot against the window."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.checks.base import Facts, Words, check, compare, no_worse_than_thin, unknown
from reportgen.design.circuits import by_string
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Known, Missing, known
from reportgen.design.results import StringDesign
from reportgen.diagnostics.model import Span
from reportgen.engineering.strings import temperature_at
from reportgen.rulebook.rulebook import quantity_of
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import both

#: Row of the voltage limits for each word of the key `building`.
_KINDS = {"dwelling": "dwelling", "other building": "other", "no building": "ground"}
#: Below any air temperature measured at the surface (World Meteorological Organization archive: −89.2 °C).
COLDEST_ON_EARTH_C = -90.0


@check
def module_balance(facts: Facts) -> Iterator[Finding]:
    """Modules standing are the modules in strings plus the spares; none stand in an array that is removed."""
    code = "module-balance"
    for key, array in facts.project.arrays.items():
        users = [string.id for string in facts.strings if key in string.arrays]
        if array.status == "removed" and users:
            yield Finding(
                code,
                str(key),
                Outcome.FAILS,
                f"array {key} is removed, and {', '.join(users)} still counts on its modules",
                cure="remove the string too, or give the array another status",
                cure_span=array.where("status"),
            )
    for balance in facts.graph.balances:
        array = facts.project.arrays[balance.array]
        if balance.standing is None:
            missing = Missing(f"count, or rows and columns, of array {balance.array}", array.span)
            yield unknown(code, balance.array, f"modules of array {balance.array} are not counted", [missing])
            continue
        left = balance.unassigned or 0
        sums = f"{balance.standing} standing, {balance.in_strings} in strings, {balance.spares} spare"
        if left == 0:
            yield Finding(code, balance.array, Outcome.MEETS, f"array {balance.array}: {sums}")
            continue
        what = f"{left} in no string" if left > 0 else f"{-left} more used than stand there"
        yield Finding(
            code,
            balance.array,
            Outcome.FAILS,
            f"array {balance.array}: {sums}, {what}",
            cure="assign every module to a string or count it under spares",
            cure_span=array.where("count" if array.count is not None else "rows"),
        )


@check
def strings_end_at_an_input(facts: Facts) -> Iterator[Finding]:
    """Every string names the inverter input it ends at."""
    for string in facts.strings:
        place = facts.project.where("strings", string.id)
        if not string.input:
            yield unknown(
                "string-input",
                string.id,
                f"string {string.id} ends nowhere",
                [Missing(f"input of string {string.id}", place)],
            )
        elif (unit := string.input.partition("/")[0]) in facts.graph.removed:
            yield Finding(
                "string-input",
                string.id,
                Outcome.FAILS,
                f"string {string.id} ends at {unit}, which is removed",
                cure="name the input it ends at now, or give the inverter another status",
                cure_span=facts.project.strings[string.id].where("input"),
            )


@check
def cold_voltage(facts: Facts) -> Iterator[Finding]:
    """Cold open-circuit voltage against inverter, module, wire and the voltage limit of the place."""
    thin = facts.policies.share("voltage_margin")
    wired = by_string(facts.circuits)
    for string in facts.strings:
        value = string.governing
        what = f"cold voltage of string {string.id}"
        for code, limit, words in _ceilings(facts, string):
            made = compare(
                code,
                string.id,
                value,
                limit,
                Words(what, words),
                thin,
                break_even=_break_even(string, limit),
                cure=_fewer(string, code),
                cure_span=_count_span(facts, string),
                notes=_other_methods(string),
            )
            yield _beyond(facts, made) if code == "cold-voltage-place" else made
        for circuit in wired[string.id]:
            yield compare(
                "cold-voltage-wire",
                circuit.id,
                value,
                circuit.insulation_voltage,
                Words(what, f"mark on the wire of {circuit.id}"),
                thin,
                break_even=_break_even(string, circuit.insulation_voltage),
                cure="use wire marked for a higher voltage, or fewer modules in the string",
                cure_span=circuit.circuit.where("cable"),
            )


def _ceilings(facts: Facts, string: StringDesign) -> Iterator[tuple[str, Known, str]]:
    found = facts.project.input_of(string.input) if string.input else None
    if found is not None:
        unit, inverter, _ = found
        limit = known(
            inverter.maximum_dc_voltage, f"maximum_dc_voltage of the inverter type of {unit}", inverter.span
        )
        yield "cold-voltage-inverter", limit, f"never to be exceeded at {unit}"
    if string.module is not None:
        limit = known(
            string.module.maximum_system_voltage,
            f"maximum_system_voltage of module type {string.module_id}",
            string.module.span,
        )
        yield "cold-voltage-module", limit, f"system voltage of module {string.module_id}"
    building = facts.project.project.building
    if building is None:
        yield (
            "cold-voltage-place",
            Missing("building, under project", facts.project.project.span),
            "limit of the place",
        )
    elif building == "no building" and facts.graph.inside:
        what = f"building, under project: it says no building, but {facts.graph.inside}"
        yield (
            "cold-voltage-place",
            Missing(what, facts.project.project.where("building")),
            "limit of the place",
        )
    else:
        cell = facts.rulebook.voltage_limit(_KINDS[str(building)])
        yield "cold-voltage-place", quantity_of(cell, "voltage limit of the place"), f"limit for {building}"


def _beyond(facts: Facts, made: Finding) -> Finding:
    """Above the limit of the place a further rule may hold, where the edition has one; then it is a question."""
    building = facts.project.project.building
    if made.outcome is not Outcome.FAILS or building is None:
        return made
    if facts.rulebook.beyond_voltage_limit(_KINDS[str(building)]).value != "ask":
        return made
    question = f"By which rule may {made.subject} exceed the voltage limit here, and what does it ask of wiring and guarding?"
    return replace(made, outcome=Outcome.ASK, question=question)


def _break_even(string: StringDesign, limit: Known) -> str:
    module = string.module
    if module is None or module.voltage_coefficient is None or isinstance(limit, Missing):
        return ""
    if module.voltage_coefficient.value >= 0 or limit.value <= 0:
        return ""
    turn = temperature_at(string.count, module.open_circuit_voltage, module.voltage_coefficient, limit)
    # Colder than any place on earth is no news to anyone.
    return f"reaches {limit.show()} at {both(turn, 1)}" if turn.value > COLDEST_ON_EARTH_C else ""


def _fewer(string: StringDesign, code: str) -> str:
    if code == "cold-voltage-inverter":
        most = next(
            (window.most for label, window in string.windows if label == string.governing_label), None
        )
        if most:
            return f"{most} modules in series is the most this input allows"
    return "put fewer modules in series"


def _count_span(facts: Facts, string: StringDesign) -> Span:
    data = facts.project.strings[string.id]
    return data.where("count") if data.count is not None else data.where("parts")


def _other_methods(string: StringDesign) -> tuple[str, ...]:
    """All methods side by side, so that none is silently mixed with another."""
    lines = []
    for case in string.cold:
        for method, value in (("coefficient", case.by_coefficient), ("code table", case.by_table)):
            shown = value.show(1) if isinstance(value, Quantity) else f"unknown ({value.what})"
            lines.append(f"{case.label}, by {method}: {shown}")
    return tuple(lines)


@check
def hot_voltage(facts: Facts) -> Iterator[Finding]:
    """Operating voltage on the hottest afternoon against tracking window and start voltage."""
    thin = facts.policies.share("voltage_margin")
    for string in facts.strings:
        found = facts.project.input_of(string.input) if string.input else None
        if found is None:
            continue
        _, _, data = found
        floor = known(data.tracking_from, f"tracking_from of input {string.input}", data.span)
        start = known(data.start_voltage, f"start_voltage of input {string.input}", data.span)
        what = f"hot operating voltage of string {string.id}"
        for code, limit, words in (
            ("hot-voltage-window", floor, f"start of the tracking window of {string.input}"),
            ("hot-voltage-start", start, f"start voltage of {string.input}"),
        ):
            yield compare(
                code,
                string.id,
                string.hot_operating,
                limit,
                Words(what, words),
                thin,
                at_most=False,
                cure=_more(string),
                cure_span=_count_span(facts, string),
            )
        yield _window_top(
            facts, string, known(data.tracking_to, f"tracking_to of input {string.input}", data.span)
        )


def _more(string: StringDesign) -> str:
    fewest = next(
        (window.fewest for label, window in string.windows if label == string.governing_label), None
    )
    return (
        f"{fewest} modules in series is the least this input needs"
        if fewest
        else "put more modules in series"
    )


def _window_top(facts: Facts, string: StringDesign, top: Known) -> Finding:
    """Above the window the input only yields less, so the worst outcome is thin."""
    code = "cold-operating-window"
    words = Words(
        f"cold operating voltage of string {string.id}", f"top of the tracking window of {string.input}"
    )
    return no_worse_than_thin(
        compare(code, string.id, string.cold_operating, top, words, 0.0),
        "on the coldest clear day the input leaves its window and yields less",
        "no hazard; put fewer modules in series if the loss matters",
        _count_span(facts, string),
    )
