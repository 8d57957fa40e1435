"""Readings held against each other: string against string, end against end, current against current, year on year.

Only what was read in the same minutes is compared, because light and temperature are then those of both; a few
neighbours in time stand for all, so the work grows with the number of readings alone.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from reportgen.design.missing import Missing
from reportgen.design.readings import (
    TOGETHER,
    Judged,
    ReadingsDesign,
    StringRead,
    number_of,
    size_of,
    superseded,
)
from reportgen.design.results import StringDesign
from reportgen.design.single_readings import judge_reads
from reportgen.engineering.readings.current import CurrentRead, judge_current
from reportgen.engineering.readings.exchanged import exchanged_legs
from reportgen.engineering.readings.expectation import expected_current, named_count
from reportgen.engineering.readings.outcome import (
    Bands,
    Judgement,
    Mistake,
    Verdict,
    common_bands,
    no_verdict,
)
from reportgen.engineering.readings.voltage import MOST, Read, judge_alike, judge_ends
from reportgen.project.equipment import Module
from reportgen.project.model import Project
from reportgen.working.quantity import Quantity, work

#: Neighbours in time that a reading is compared with.
_MOST = 4
#: Wrong inputs up to which two are explained by each other; more have one cause, such as an open switch.
_FEW = 8
_SAME_MINUTES = "read both once more in the same minutes, and note the time of each"


def design_readings(project: Project, strings: Mapping[str, StringDesign]) -> ReadingsDesign:
    """Every reading judged by itself and against the others, in the order of the folder."""
    if not project.readings:
        return ReadingsDesign()
    bands = common_bands()
    reads = judge_reads(project, strings)
    reads = _landed_wrong(reads)
    for step in (_alike, _currents, _ends, _trends):
        found = step(reads, project, bands)
        reads = tuple(replace(read, judged=(*read.judged, *found.get(_key(read), ()))) for read in reads)
    return ReadingsDesign(superseded(reads), TOGETHER)


Found = dict[tuple[str, str], list[Judged]]


def _key(read: StringRead) -> tuple[str, str]:
    return read.series, read.string


class _Clock:
    """Readings in order of time, and those near a minute."""

    def __init__(self, reads: Iterable[StringRead]) -> None:
        timed = [(read.minute, place, read) for place, read in enumerate(reads) if read.minute is not None]
        self.timed = sorted(timed, key=lambda item: item[:2])
        self.minutes = [minute for minute, _, _ in self.timed]

    def near(self, read: StringRead) -> list[StringRead]:
        """Others read in the same minutes, the nearest first, a few at most."""
        minute = read.minute
        if minute is None:
            return []
        place = bisect_left(self.minutes, minute)
        # The reading itself may be among them, and as many on either side may be the nearest.
        around = self.timed[max(0, place - _MOST) : place + _MOST + 1]
        close = [
            (abs(other - minute), order, one)
            for other, order, one in around
            if abs(other - minute) <= TOGETHER.value and one.string != read.string
        ]
        return [one for _, _, one in sorted(close, key=lambda item: item[:2])][:_MOST]


def _landed_wrong(reads: Sequence[StringRead]) -> tuple[StringRead, ...]:
    """Wrong readings at two inputs explained together, where a landing of the two strings' legs explains both."""
    groups: dict[str, list[StringRead]] = defaultdict(list)
    for read in reads:
        if read.point == "input" and read.stops and read.expected is not None:
            groups[read.series].append(read)
    made: dict[tuple[str, str], StringRead] = {}
    for group in groups.values():
        if len(group) > _FEW:
            continue
        clock = _Clock(group)
        for read in group:
            for other in clock.near(read):
                told = _together_explained(read, other)
                if told is not None:
                    made[_key(read)] = told
                    break
    return tuple(made.get(_key(read), read) for read in reads)


def _together_explained(read: StringRead, other: StringRead) -> StringRead | None:
    pair = {one.string: one for one in sorted((read, other), key=lambda one: one.string)}
    if any(one.expected is None for one in pair.values()):
        return None
    expected = {key: one.expected.voltage for key, one in pair.items() if one.expected is not None}
    near = {
        key: good
        for key, one in pair.items()
        if (own := one.of("voltage")) is not None
        and (good := number_of(own.judgement, "good deviation")) is not None
    }
    if len(near) < len(pair):
        return None
    found = exchanged_legs({key: _volts(one) for key, one in pair.items()}, expected, near)
    if found is None:
        return None
    predicted = found.predicted[read.string]
    off = work("off the prediction", "V", "abs(V - V_predicted)", V=_volts(read), V_predicted=predicted)
    likely = Mistake(f"{found.says}, which explains {other.string} as well", predicted, off)

    def with_it(item: Judged) -> Judged:
        if item.kind != "voltage":
            return item
        mistakes = (likely, *item.judgement.mistakes)[:MOST]
        return replace(item, judgement=replace(item.judgement, mistakes=mistakes))

    return replace(read, judged=tuple(with_it(item) for item in read.judged))


def _alike(reads: Sequence[StringRead], project: Project, bands: Bands) -> Found:
    """Strings of like modules that face one way, module for module; holds in any light."""
    groups: dict[tuple[object, ...], list[StringRead]] = defaultdict(list)
    for read in reads:
        if read.volts is not None and read.module and read.modules >= 1 and len(read.face) == 1:
            groups[read.series, read.module, read.face].append(read)
    found: Found = defaultdict(list)
    for group in groups.values():
        if len(group) < 2:
            continue
        # A string that is known to be wrong is no measure for others, unless nothing else was read.
        sound = [read for read in group if not read.stops]
        clock, everyone = _Clock(sound or group), _Clock(group)
        for read in group:
            near = clock.near(read)
            if not near:
                if not everyone.near(read):
                    found[_key(read)].append(_not_together("alike", read, group))
                continue
            series = {one.string: Read(_volts(one), one.modules) for one in (read, *near)}
            made = judge_alike(read.string, series, bands)
            off, stop = number_of(made, "deviation from the others"), number_of(made, "question up to")
            implied = number_of(made, "implied modules")
            if off is not None:
                reason = f"{_volts(read).show(1)} speaks of {made.reason}"
                alone = len(near) == 1 and made.verdict is not Verdict.ACCEPT and not near[0].is_right
                reason += "; of two alone it cannot be told which is off" if alone else ""
                made = replace(made, reason=reason)
            if off is None or made.verdict is Verdict.NONE:
                found[_key(read)].append(Judged("alike", made))
                continue
            found[_key(read)].append(
                Judged(
                    "alike",
                    made,
                    size_of(off, "size of the deviation from the others"),
                    stop,
                    against=", ".join(one.string for one in near),
                    named=named_count(implied) if implied is not None else None,
                )
            )
    return found


def _volts(read: StringRead) -> Quantity:
    assert read.volts is not None
    return read.volts


def _not_together(kind: str, read: StringRead, group: Sequence[StringRead]) -> Judged:
    """No comparison, and what it takes: a time where one is not stated, else a reading in the same minutes."""
    others = [one for one in group if one.string != read.string]
    timeless = [one for one in (read, *others) if one.minute is None]
    if timeless:
        names = ", ".join(dict.fromkeys(one.string for one in timeless[:_MOST]))
        absent = Missing(f"time of {names} in series {read.series}, written 10:42", timeless[0].entry.span)
    else:
        absent = Missing(
            f"a reading of a string like {read.string} in the same minutes, series {read.series}",
            read.entry.span,
        )
    return Judged(
        kind,
        no_verdict(
            f"{read.string} is not compared: no like string was read in the same minutes", _SAME_MINUTES
        ),
        missing=(absent,),
    )


def _currents(reads: Sequence[StringRead], project: Project, bands: Bands) -> Found:
    """Short-circuit and operating currents, each over what its light should give, against the others."""
    found: Found = defaultdict(list)
    for kind, field in (("current", "short_circuit_current"), ("operating", "operating_current")):
        groups: dict[str, list[StringRead]] = defaultdict(list)
        for read in reads:
            if getattr(read.entry, field) is not None:
                groups[read.series].append(read)
        for group in groups.values():
            lit = {read.string: one for read in group if (one := _current(read, project, kind)) is not None}
            clock = _Clock(read for read in group if read.string in lit)
            for read in group:
                found[_key(read)].append(_one_current(kind, read, lit, clock, group, bands))
    return found


def _one_current(
    kind: str,
    read: StringRead,
    lit: Mapping[str, CurrentRead],
    clock: _Clock,
    group: Sequence[StringRead],
    bands: Bands,
) -> Judged:
    words = "short-circuit current" if kind == "current" else "operating current"
    if read.string not in lit:
        absent = tuple(item for item in read.missing if "count" not in item.what)
        return Judged(
            kind,
            no_verdict(
                f"the {words} is not judged", "measure irradiance and cell temperature in the same minute"
            ),
            missing=absent or (Missing(f"light of {read.string} in series {read.series}", read.entry.span),),
        )
    near = clock.near(read)
    if not near:
        return _not_together(kind, read, group)
    made = judge_current(read.string, {one.string: lit[one.string] for one in (read, *near)}, bands)
    off = number_of(made, "deviation from the others")
    made = replace(made, reason=f"{words} {made.reason}")
    if kind == "operating" and made.verdict is Verdict.STOP and lit[read.string].reading.value >= 0:
        # An input that clips, or a battery that is full, lowers it without any fault.
        made = replace(
            made,
            verdict=Verdict.QUESTION,
            to_do="see whether the input clips or the output is held back, then read all strings again",
        )
    if made.verdict is Verdict.NONE or off is None:
        return Judged(kind, made)
    return Judged(
        kind,
        made,
        size_of(off, "size of the deviation from the others"),
        bands.current_stop,
        against=", ".join(one.string for one in near),
    )


def _current(read: StringRead, project: Project, kind: str) -> CurrentRead | None:
    """A current with what it should be; None where its light or temperature is not known."""
    module: Module | None = project.modules.get(read.module)
    light, cell = read.irradiance, read.cell
    if (
        module is None
        or not isinstance(light, Quantity)
        or not isinstance(cell, Quantity)
        or light.value <= 0
    ):
        return None
    if kind == "operating":
        # The ratio to the others is all that counts, and the operating current follows the light as well.
        expected = expected_current(module.operating_current, light).named("expected operating current")
        return CurrentRead(_given(read.entry.operating_current), expected)
    if module.current_coefficient is None:
        return None
    expected = expected_current(module.short_circuit_current, light, cell, module.current_coefficient)
    return CurrentRead(_given(read.entry.short_circuit_current), expected)


def _given(value: Quantity | None) -> Quantity:
    assert value is not None
    return value


def _ends(reads: Sequence[StringRead], project: Project, bands: Bands) -> Found:
    """The two ends of each string's wires, read on one day in the same minutes."""
    arrays: dict[str, list[StringRead]] = defaultdict(list)
    has_array_end: set[str] = set()
    for read in reads:
        if read.point == "array" and read.volts is not None:
            arrays[read.date].append(read)
            has_array_end.add(read.string)
    clocks = {date: _Clock(group) for date, group in arrays.items()}
    at_array = {(read.date, read.string): read for group in arrays.values() for read in group}
    # Once both ends were read together, a later reading of one end alone leaves no gap.
    both_ends = {
        (read.string, read.point)
        for read in reads
        if read.point != "array"
        and read.volts is not None
        and (here := at_array.get((read.date, read.string))) is not None
        and _together(here, read)
    }
    found: Found = defaultdict(list)
    for read in reads:
        if read.point == "array" or read.volts is None or read.string not in has_array_end:
            continue
        here = at_array.get((read.date, read.string))
        if here is None or not _together(here, read):
            if (read.string, read.point) in both_ends:
                continue
            absent = Missing(
                f"readings of {read.string} at the array and at the {read.point} in the same minutes, "
                "with the time of each",
                read.entry.span,
            )
            made = no_verdict("the ends of the wires were not read in the same minutes", _SAME_MINUTES)
            found[_key(read)].append(
                Judged("ends", made, missing=(absent,), against=here.series if here else "")
            )
            continue
        if read.modules < 1:
            continue
        near = clocks[read.date].near(read)
        ends = {one.string: _volts(one) for one in (here, *near)}
        made = judge_ends(read.string, ends, _volts(read), read.modules, bands)
        off, stop = number_of(made, "difference of the ends"), number_of(made, "stopping difference")
        if made.verdict is Verdict.NONE or off is None:
            found[_key(read)].append(Judged("ends", made, against=here.series))
            continue
        made = replace(made, reason=made.reason.replace("at the input", f"at the {read.point}"))
        found[_key(read)].append(
            Judged("ends", made, size_of(off, "size of the difference"), stop, against=here.series)
        )
    return found


def _together(one: StringRead, other: StringRead) -> bool:
    return (
        one.minute is not None
        and other.minute is not None
        and abs(one.minute - other.minute) <= TOGETHER.value
    )


def _trends(reads: Sequence[StringRead], project: Project, bands: Bands) -> Found:
    """The latest reading of a string at a point against the first that can be compared, both over expectation."""
    history: dict[tuple[str, str], list[StringRead]] = defaultdict(list)
    for read in reads:
        if read.volts is not None:
            history[read.string, read.point].append(read)
    found: Found = defaultdict(list)
    for times in history.values():
        times.sort(key=lambda read: (read.date, read.series))
        sure = [read for read in times if _sure(read)]
        if sure and sure[0].date < sure[-1].date:
            found[_key(sure[-1])].append(_trend(sure[0], sure[-1], bands))
    return found


def _sure(read: StringRead) -> bool:
    own = read.of("voltage")
    return read.expected is not None and own is not None and own.value is not None


def _trend(first: StringRead, last: StringRead, bands: Bands) -> Judged:
    assert first.expected is not None and last.expected is not None
    then, now = (
        work(
            f"modules implied {words}", "", "V / V_module", V=_volts(read), V_module=read.expected.per_module
        )
        for words, read in (("then", first), ("now", last))
        if read.expected is not None
    )
    change = work("change in modules", "", "N_now - N_then", N_now=now, N_then=then)
    unsure = work(
        "uncertainty of the change",
        "",
        "sqrt((u_now / v_now) ** 2 + (u_then / v_then) ** 2)",
        u_now=last.expected.uncertainty,
        v_now=last.expected.per_module,
        u_then=first.expected.uncertainty,
        v_then=first.expected.per_module,
    )
    numbers = (then, now, change, unsure)
    told = (
        f"{change.show(2)} modules since {first.date}, ± {unsure.show(2)}: "
        f"{then.show(2)} then, {now.show(2)} now of {last.modules}"
    )
    size = size_of(change, "size of the change")
    if unsure.value > bands.voltage_good.value:
        made = no_verdict(
            f"{told}; too uncertain to tell", "read in clear light with a better temperature", *numbers
        )
        return Judged("trend", made, against=first.series)
    if size.value <= bands.voltage_good.value:
        made = Judgement(Verdict.ACCEPT, told, numbers)
    else:
        # What the reading itself amounts to is judged on its own; a change alone asks for a reason.
        made = Judgement(
            Verdict.QUESTION, told, numbers, (), "look for a bypassed or exchanged module, then read again"
        )
    return Judged("trend", made, size, bands.voltage_good, against=first.series)
