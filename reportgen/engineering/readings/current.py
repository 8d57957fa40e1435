"""Currents of strings judged against each other, each over what its modules should give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.engineering.readings.outcome import (
    Bands,
    Judgement,
    Verdict,
    common_bands,
    measure_among,
    no_verdict,
    not_a_number,
)
from reportgen.working.quantity import Quantity, work


@dataclass(frozen=True, slots=True)
class CurrentRead:
    """A current with what it should be at the light of its own minute.

    Parameters
    ----------
    reading, expected : Quantity
        Read, and expected for its light and temperature [A].
    """

    reading: Quantity
    expected: Quantity

    @property
    def ratio(self) -> Quantity:
        """Reading over expectation [-]."""
        return work(
            "reading over expectation", "", "I / I_expected", I=self.reading, I_expected=self.expected
        )


def judge_current(key: str, series: Mapping[str, CurrentRead], bands: Bands | None = None) -> Judgement:
    """A string's short-circuit or operating current against the other strings, light taken out.

    Parameters
    ----------
    key : str
        The string judged.
    series : mapping of str to CurrentRead
        All strings, itself among them.
    bands : Bands, optional
        The common practice stands in.

    Raises
    ------
    KeyError
        If the string is not in the series.
    """
    bands, own = bands or common_bands(), series[key]
    if bad := not_a_number(*(number for one in series.values() for number in (one.reading, one.expected))):
        return bad
    others = {
        name: one
        for name, one in series.items()
        if name != key and one.reading.value > 0 < one.expected.value
    }
    if not others or not own.expected.value > 0:
        return no_verdict(
            "nothing to compare the current with", "read a second string and the light of each minute"
        )
    middle = measure_among(key, {name: one.ratio.value for name, one in {**others, key: own}.items()})
    usual = others[middle].ratio
    deviation = work("deviation from the others", "%", "100 * (r / r_other - 1)", r=own.ratio, r_other=usual)
    numbers = (own.ratio, usual, deviation)
    told = f"{own.reading.show(2)}, {deviation.show(1)} off {middle}"
    if own.reading.value < 0:
        return Judgement(
            Verdict.STOP,
            f"{own.reading.show(2)}: the current flows back",
            numbers,
            (),
            "open no switch; wait for dark",
        )
    if abs(deviation.value) <= bands.current_good.value:
        return Judgement(Verdict.ACCEPT, told, numbers)
    if abs(deviation.value) <= bands.current_stop.value:
        return Judgement(
            Verdict.QUESTION,
            told,
            numbers,
            (),
            "read both once more under a clear sky, with the light of each",
        )
    return Judgement(Verdict.STOP, told, numbers, (), "look for shade, dirt, a broken module or an open part")
