"""Modules accounted for; string voltage cold against everything that must stand it, hot against the window."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from reportgen.design.checks.base import Facts, Words, check, compare, no_worse_than_thin, unknown
from reportgen.design.checks.marks import is_bare
from reportgen.design.checks.together import beside_others
from reportgen.design.circuits import by_string
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Known, Missing, known
from reportgen.design.results import RECORD_LOW, CircuitDesign, StringDesign
from reportgen.diagnostics.model import Span
from reportgen.engineering.strings import temperature_at
from reportgen.rulebook.rulebook import quantity_of
from reportgen.working.quantity import Quantity
from reportgen.working.text import fixed
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
        fits = number_of(facts, string, wired[string.id])
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
                cure=fits.fewer(),
                cure_span=_count_span(facts, string),
                notes=_other_methods(string),
            )
            if code == "cold-voltage-inverter":
                made = _at_record(string, made, limit)
            yield _beyond(facts, made) if code == "cold-voltage-place" else made
        for circuit in wired[string.id]:
            if is_bare(facts.project.cables[str(circuit.circuit.cable)]):
                yield _bare_leg(circuit)
                continue
            made = compare(
                "cold-voltage-wire",
                circuit.id,
                value,
                circuit.insulation_voltage,
                Words(what, f"mark on the wire of {circuit.id}"),
                thin,
                break_even=_break_even(string, circuit.insulation_voltage),
                cure=f"use wire marked for a higher voltage; else {fits.fewer()}",
                cure_span=circuit.circuit.where("cable"),
            )
            yield beside_others(facts, made, circuit.insulation_voltage)


def _bare_leg(circuit: CircuitDesign) -> Finding:
    """Whatever voltage stands in its data sheet, a wire without insulation is no leg of a string."""
    return Finding(
        "cold-voltage-wire",
        circuit.id,
        Outcome.FAILS,
        f"wire of {circuit.id} is bare, and bare wire is for grounds alone",
        cure="use insulated wire marked for the voltage of the string",
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


def _at_record(string: StringDesign, made: Finding, limit: Known) -> Finding:
    """What an input never may see it does not see in the coldest night either, whichever cold the policy judges by."""
    record = next(case for case in string.cold if case.label == RECORD_LOW)
    volts = record.by_table if isinstance(record.by_coefficient, Missing) else record.by_coefficient
    if made.outcome is not Outcome.MEETS or not isinstance(volts, Quantity) or isinstance(limit, Missing):
        return made
    if volts.value <= limit.value:
        return made
    assert isinstance(record.temperature, Quantity)
    told = f"judged by the {string.governing_label} as the policy has it; at the record low of {both(record.temperature, 1)} it comes to {volts.show(1)}, above the limit"
    cure = f"{made.cure or 'put fewer modules in series'}, or set `cold_temperature: record low`"
    return replace(made, outcome=Outcome.THIN, headline=f"{made.headline}: {told}", cure=cure)


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
    return (
        f"reaches {limit.show()} at {both(turn, 1, at_most=False)}" if turn.value > COLDEST_ON_EARTH_C else ""
    )


@dataclass(frozen=True, slots=True)
class SeriesNumber:
    """Modules in series by every limit of a string: what a help line may advise without breaking another limit.

    Attributes
    ----------
    most : int or None
        Most that every known limit of the cold voltage allows: inverter, module, place, wire; None where none is known.
    fewest : int or None
        Fewest that the hottest afternoon needs; None where it cannot be told.
    count : int
        Modules in series as designed.
    open : bool
        Some limit of the cold voltage is not known.
    """

    most: int | None
    fewest: int | None
    count: int
    open: bool

    def fewer(self) -> str:
        """What to do about too high a voltage."""
        if self.most is None:
            return "put fewer modules in series"
        if self.most < 1:
            return "not one such module stays below every limit in the cold: choose other equipment"
        if self.fewest is not None and self.fewest > self.most:
            return self._none()
        told = f"{self.most} modules in series is the most this input allows{self._so_far()}"
        return told if self.count > self.most else f"one module fewer leaves more room; {told}"

    def more(self) -> str:
        """What to do about too low a voltage."""
        if self.most is None:
            if self.fewest is None:
                return "put more modules in series, once it is known how many the cold allows"
            return f"{self.fewest} modules in series is the least this input needs; how many the cold allows is not known"
        if self.fewest is not None:
            if self.fewest > self.most:
                return self._none()
            return f"{self.fewest} modules in series is the least this input needs, and {self.most} the most the cold allows{self._so_far()}"
        if self.count >= self.most:
            return f"no more modules fit: the cold allows at most {self.most} in series; choose another input or module"
        return f"put more modules in series; the cold allows at most {self.most}{self._so_far()}"

    def _none(self) -> str:
        return (
            f"no number of modules fits this input: the hottest afternoon needs at least {self.fewest} in series,"
            f" the coldest morning allows at most {self.most}; choose another input or module"
        )

    def _so_far(self) -> str:
        return " by the limits known so far" if self.open else ""


def number_of(facts: Facts, string: StringDesign, circuits: Sequence[CircuitDesign]) -> SeriesNumber:
    """Modules in series that all limits of a string allow."""
    count = int(string.count.value)
    window = next((window for label, window in string.windows if label == string.governing_label), None)
    fewest = window.fewest if window is not None else None
    limits = [limit for code, limit, _ in _ceilings(facts, string) if not _may_exceed(facts, code)]
    limits += [circuit.insulation_voltage for circuit in circuits]
    known_limits = [limit.value for limit in limits if isinstance(limit, Quantity) and limit.value > 0]
    value = string.governing
    most = None
    if isinstance(value, Quantity) and value.value > 0 and count > 0 and known_limits:
        # Rounding may not cost a module that fits exactly; one that is judged too many is never advised.
        most = math.floor(min(known_limits) * count / value.value + 1e-9)
    return SeriesNumber(most, fewest, count, len(known_limits) < len(limits))


def _may_exceed(facts: Facts, code: str) -> bool:
    building = facts.project.project.building
    if code != "cold-voltage-place" or building is None:
        return False
    return facts.rulebook.beyond_voltage_limit(_KINDS[str(building)]).value == "ask"


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
    wired = by_string(facts.circuits)
    for string in facts.strings:
        found = facts.project.input_of(string.input) if string.input else None
        if found is None:
            continue
        _, _, data = found
        floor = known(data.tracking_from, f"tracking_from of input {string.input}", data.span)
        start = known(data.start_voltage, f"start_voltage of input {string.input}", data.span)
        fits = number_of(facts, string, wired[string.id])
        what = f"hot operating voltage of string {string.id}"
        for code, limit, words in (
            ("hot-voltage-window", floor, f"start of the tracking window of {string.input}"),
            ("hot-voltage-start", start, f"start voltage of {string.input}"),
        ):
            made = compare(
                code,
                string.id,
                string.hot_operating,
                limit,
                Words(what, words),
                thin,
                at_most=False,
                cure=fits.more(),
                cure_span=_count_span(facts, string),
            )
            # At the start no current flows yet, and nothing drops.
            window = code == "hot-voltage-window"
            yield _behind_the_wire(made, wired[string.id], fits.more()) if window else made
        yield _window_top(
            facts, string, known(data.tracking_to, f"tracking_to of input {string.input}", data.span), fits
        )


def _behind_the_wire(made: Finding, circuits: Sequence[CircuitDesign], cure: str) -> Finding:
    """Thin where the string alone reaches the limit and no longer does so behind its wire in the hottest hour."""
    shares = [circuit.hot_share for circuit in circuits]
    lost = max((share.value for share in shares if isinstance(share, Quantity)), default=0.0)
    if made.outcome is not Outcome.MEETS or made.value is None or made.limit is None:
        return made
    left = made.value.value * (1 - lost / 100)
    if left >= made.limit.value:
        return made
    told = f"{made.headline}; at the input, behind a drop of {fixed(lost, 2)} % in the hottest hour, {fixed(left, 1)} V are left"
    return replace(made, outcome=Outcome.THIN, headline=told, cure=f"use a larger conductor, or: {cure}")


def _window_top(facts: Facts, string: StringDesign, top: Known, fits: SeriesNumber) -> Finding:
    """Above the window the input only yields less, so the worst outcome is thin."""
    code = "cold-operating-window"
    words = Words(
        f"cold operating voltage of string {string.id}", f"top of the tracking window of {string.input}"
    )
    return no_worse_than_thin(
        compare(code, string.id, string.cold_operating, top, words, 0.0),
        "on the coldest clear day the input leaves its window and yields less",
        "no hazard; fewer modules in series would not start on the hottest afternoon"
        if fits.fewest is not None and fits.count <= fits.fewest
        else "no hazard; put fewer modules in series if the loss matters",
        _count_span(facts, string),
    )
