"""Open-circuit voltages judged: against expectation, string against string, and one end of a wire against the other.

A likely mistake is found by predicting what the meter would show if it had been made; the nearest predictions are
named. What the reading cannot tell apart is not named.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.engineering.readings.expectation import Expectation, implied_modules
from reportgen.engineering.readings.outcome import (
    Bands,
    Judgement,
    Mistake,
    Verdict,
    common_bands,
    measure_among,
    no_verdict,
    not_a_number,
)
from reportgen.working.quantity import Number, Quantity, quantity, work

#: Mistakes named at most.
MOST = 3
REVERSED = "reversed: do not operate the switch; wait until no current flows and let the pair be landed anew"


def good_band(expected: Expectation, bands: Bands) -> Quantity:
    """Deviation from expectation that is good: a share of it, or part of a module where that is less [V].

    Examples
    --------
    >>> from reportgen.working.quantity import Quantity
    >>> one = Expectation(20, Quantity(740.0, "V"), Quantity(5.0, "V"), Quantity(800.0, "W/m2"))
    >>> good_band(one, common_bands()).value
    12.95
    """
    return work(
        "good deviation",
        "V",
        "min(p / 100 * V, k * V_module)",
        p=bands.voltage_share,
        V=expected.voltage,
        k=bands.voltage_good,
        V_module=expected.per_module,
    )


def judge_voltage(
    reading: Number,
    expected: Expectation | None,
    others: Mapping[str, Expectation] | None = None,
    bands: Bands | None = None,
    parts: int = 3,
) -> Judgement:
    """An open-circuit voltage against expectation.

    Parameters
    ----------
    reading : float or Quantity
        With the red lead on the leg labelled +. [V]
    expected : Expectation or None
        None where temperature, light or a figure of the data sheet is not known.
    others : mapping of str to Expectation, optional
        The other strings of the plant, for exchanged wires.
    bands : Bands, optional
        The common practice stands in.
    parts : int
        Parts of a module with a bypass diode each [-].
    """
    volts, bands = quantity(reading, "V").named("reading"), bands or common_bands()
    if bad := not_a_number(volts):
        return bad
    if expected is None:
        return no_verdict(
            "no expectation: a figure of it is not known",
            "measure cell temperature and irradiance in the plane of the modules together with the voltage",
        )
    implied = implied_modules(volts, expected.per_module)
    good = good_band(expected, bands)
    stop = work("stopping deviation", "V", "k * V_module", k=bands.voltage_stop, V_module=expected.per_module)
    numbers: tuple[Quantity, ...] = (expected.voltage, expected.uncertainty, implied, good, stop)
    # The sign needs no expectation, only a voltage that is no stray one.
    if volts.value <= -stop.value:
        found = _mistakes(volts, expected, others or {}, good, parts)
        return Judgement(Verdict.STOP, f"{volts.show(1)}: the sign is negative", numbers, found, REVERSED)
    unsure = (
        f"at {expected.irradiance.show(0)} the expectation is uncertain by {expected.uncertainty.show(1)}"
    )
    if expected.irradiance.value < bands.irradiance_least.value:
        return no_verdict(
            f"too little light: {unsure}", "compare strings with each other, wait for light", *numbers
        )
    if expected.uncertainty.value > good.value:
        return no_verdict(
            f"{unsure}, more than the good deviation of {good.show(1)}",
            "compare strings with each other, read with a better meter or in more light",
            *numbers,
        )
    deviation = work("deviation", "V", "V - V_expected", V=volts, V_expected=expected.voltage)
    numbers = (*numbers, deviation)
    told = f"{volts.show(1)} against {expected.voltage.show(1)} expected: {implied.show(2)} of {expected.count} modules"
    if abs(deviation.value) <= good.value:
        return Judgement(Verdict.ACCEPT, told, numbers)
    found = _mistakes(volts, expected, others or {}, good, parts)
    if abs(deviation.value) <= stop.value:
        return Judgement(
            Verdict.QUESTION, told, numbers, found, "measure temperature and light again at the modules"
        )
    return Judgement(Verdict.STOP, told, numbers, found, "find the cause before any switch is closed")


def _mistakes(
    reading: Quantity, expected: Expectation, others: Mapping[str, Expectation], near: Quantity, parts: int
) -> tuple[Mistake, ...]:
    """Causes whose predicted reading is near the one found, the nearest first."""
    own, count = expected.voltage, expected.count
    foreseen: list[tuple[str, Quantity]] = [("the pair is reversed", _flipped(own))]
    for key, other in others.items():
        foreseen += [
            (f"exchanged with {key}", other.voltage),
            (f"exchanged with {key}, and reversed", _flipped(other.voltage)),
        ]
    for says, missing in (
        ("one module is missing", 1.0),
        ("one module too many", -1.0),
        ("one part of a module is bypassed", 1.0 / parts),
        ("one module is missing and the pair is reversed", 1.0),
    ):
        short = work("predicted", "V", "V * (N - m) / N", V=own, N=count, m=missing)
        foreseen.append((says, _flipped(short) if says.endswith("reversed") else short))
    nothing = Quantity(0.0, "V", None, "predicted")
    foreseen += [("two legs of one sign on this input", nothing), ("a connector or leg is open", nothing)]
    found = []
    for says, predicted in foreseen:
        off = work("off the prediction", "V", "abs(V - V_predicted)", V=reading, V_predicted=predicted)
        # What explains the reading no better than the right string does is no explanation.
        if off.value <= near.value and off.value < abs(reading.value - own.value):
            found.append(Mistake(says, predicted, off))
    return tuple(sorted(found, key=lambda mistake: mistake.off.value)[:MOST])


def _flipped(voltage: Quantity) -> Quantity:
    return work("predicted", "V", "-V", V=voltage)


@dataclass(frozen=True, slots=True)
class Read:
    """One string's reading among those of the same minutes.

    Parameters
    ----------
    reading : Quantity
        Open-circuit voltage. [V]
    count : int
        Modules in series [-].
    """

    reading: Quantity
    count: int

    @property
    def per_module(self) -> Quantity:
        """Voltage of one module [V]."""
        return work("voltage of one module", "V", "V / N", V=self.reading.to("V"), N=self.count)


def judge_alike(key: str, series: Mapping[str, Read], bands: Bands | None = None) -> Judgement:
    """A string against the others of like modules read in the same minutes, module for module.

    Needs no expectation, so it holds in any light.

    Parameters
    ----------
    key : str
        The string judged.
    series : mapping of str to Read
        All strings of one kind of module, itself among them.
    bands : Bands, optional
        The common practice stands in.

    Raises
    ------
    KeyError
        If the string is not in the series.
    """
    bands, own = bands or common_bands(), series[key]
    if bad := not_a_number(*(one.reading for one in series.values())):
        return bad
    others = {name: one for name, one in series.items() if name != key and one.reading.value > 0}
    if not others:
        return no_verdict(
            "no other string to compare with", "read a second string of like modules in the same minutes"
        )
    middle = measure_among(key, {name: one.per_module.value for name, one in {**others, key: own}.items()})
    usual = others[middle].per_module
    deviation = work(
        "deviation from the others", "%", "100 * (v / v_other - 1)", v=own.per_module, v_other=usual
    )
    implied = implied_modules(own.reading, usual)
    stop = work("question up to", "%", "100 * k / N", k=bands.voltage_good, N=own.count)
    good = work("good up to", "%", "min(p, s)", p=bands.alike_share, s=stop)
    numbers = (own.per_module, usual, deviation, implied, good, stop)
    told = f"{implied.show(2)} of {own.count} modules by {middle}"
    if own.reading.value < 0:
        return Judgement(Verdict.STOP, f"{own.reading.show(1)}: the sign is negative", numbers, (), REVERSED)
    if abs(deviation.value) <= good.value:
        return Judgement(Verdict.ACCEPT, told, numbers)
    likely = Expectation(
        own.count,
        work("expected by the others", "V", "N * v_other", N=own.count, v_other=usual),
        Quantity(0.0, "V"),
        Quantity(0.0, "W/m2"),
    )
    found = _mistakes(own.reading.to("V"), likely, {}, good_band(likely, bands), parts=3)
    if abs(deviation.value) <= stop.value:
        return Judgement(Verdict.QUESTION, told, numbers, found, "read both once more in the same minute")
    # Below half a module nothing is left to count.
    dead = abs(implied.value) < bands.voltage_stop.value
    to_do = "look for an open connector, leg or fuse" if dead else "count the modules of the string"
    return Judgement(Verdict.STOP, told, numbers, found, to_do)


def judge_ends(
    key: str,
    array_end: Mapping[str, Quantity],
    input_end: Number,
    count: int,
    bands: Bands | None = None,
) -> Judgement:
    """The two ends of one string's wires, without load.

    Parameters
    ----------
    key : str
        The string judged.
    array_end : mapping of str to Quantity
        Readings at the arrays by string, itself among them. [V]
    input_end : float or Quantity
        Reading at the input that the string is meant for. [V]
    count : int
        Modules in series. [-]
    bands : Bands, optional
        The common practice stands in.
    """
    bands, there = bands or common_bands(), quantity(input_end, "V").named("reading at the input")
    if bad := not_a_number(there, *array_end.values()):
        return bad
    if key not in array_end or not array_end[key].value:
        return no_verdict("no reading at the array end", "read both ends in the same minutes, without load")
    here = array_end[key].to("V").named("reading at the array")
    good = work("good difference", "V", "p / 100 * abs(V)", p=bands.ends_share, V=here)
    stop = work("stopping difference", "V", "k * abs(V) / N", k=bands.voltage_stop, V=here, N=count)
    difference = work("difference of the ends", "V", "V_input - V_array", V_input=there, V_array=here)
    numbers = (difference, good, stop)
    told = f"{there.show(1)} at the input against {here.show(1)} at the array"
    if abs(difference.value) <= good.value:
        return Judgement(Verdict.ACCEPT, told, numbers)
    found = _wires(key, array_end, there, bands)
    if there.value * here.value < 0 and abs(there.value) > stop.value:
        return Judgement(Verdict.STOP, f"{told}: the sign differs", numbers, found, REVERSED)
    if abs(difference.value) > stop.value:
        return Judgement(Verdict.STOP, told, numbers, found, "follow the wires of the pair before landing")
    if any(mistake.off.value <= good.value for mistake in found):
        return Judgement(
            Verdict.STOP,
            f"{told}: it is the value of another string",
            numbers,
            found,
            "follow the wires of the pair before landing",
        )
    return Judgement(Verdict.QUESTION, told, numbers, found, "read both ends once more in the same minute")


def _wires(key: str, array_end: Mapping[str, Quantity], there: Quantity, bands: Bands) -> tuple[Mistake, ...]:
    foreseen: list[tuple[str, Quantity]] = []
    for name, reading in array_end.items():
        volts = reading.to("V").named("predicted")
        own = name == key
        if not own:
            foreseen.append((f"exchanged with {name}", volts))
        foreseen.append(
            ("the pair is reversed" if own else f"exchanged with {name}, and reversed", _flipped(volts))
        )
    nothing = Quantity(0.0, "V", None, "predicted")
    foreseen += [("two legs of one sign on this input", nothing), ("a connector or leg is open", nothing)]
    slack = bands.ends_share.value / 100 * max(abs(one.to("V").value) for one in array_end.values())
    found = []
    for says, predicted in foreseen:
        off = work("off the prediction", "V", "abs(V - V_predicted)", V=there, V_predicted=predicted)
        if off.value <= slack:
            found.append(Mistake(says, predicted, off))
    return tuple(sorted(found, key=lambda mistake: mistake.off.value)[:MOST])
