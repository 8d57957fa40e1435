"""Readings as records: what the meter showed, what it should have shown, what was made of it, and what replaced that."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from reportgen.design.missing import Known, Missing
from reportgen.engineering.readings.expectation import Expectation
from reportgen.engineering.readings.outcome import Judgement, Verdict
from reportgen.project.records import StringReading
from reportgen.working.quantity import Assumed, Quantity, work

#: Minutes from one reading to another that still count as the same.
TOGETHER = Quantity(
    10.0,
    "min",
    Assumed(
        "readings.together",
        "readings this far apart still count as taken in the same minutes",
        "common practice, no source",
    ),
    "same minutes",
)
Face = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Judged:
    """One thing made of a reading.

    Attributes
    ----------
    kind : str
        ``voltage``, ``alike``, ``ends``, ``legs``, ``insulation``, ``current``, ``operating`` or ``trend``.
    value, limit : Quantity, optional
        What decided, and the value from which on it stops.
    missing : tuple of Missing
        What has to be measured or stated before there is a verdict.
    against : str
        String or series compared with.
    superseded : str
        Later series whose verdict on the same thing replaces this one; empty where there is none.
    named : int or None
        Modules that the comparison speaks of.
    """

    kind: str
    judgement: Judgement
    value: Quantity | None = None
    limit: Quantity | None = None
    at_most: bool = True
    missing: tuple[Missing, ...] = ()
    against: str = ""
    superseded: str = ""
    named: int | None = None


@dataclass(frozen=True, slots=True)
class StringRead:
    """What the meter showed for one string in one series, and what it should have shown.

    Attributes
    ----------
    minute : int or None
        Minute of the day; None where no time is stated.
    expected : Expectation or None
        None where something of it is missing, told in ``missing``.
    """

    series: str
    date: str
    point: str
    minute: int | None
    string: str
    module: str
    face: Face
    count: Quantity
    entry: StringReading
    cell: Known
    irradiance: Known
    expected: Expectation | None
    missing: tuple[Missing, ...]
    judged: tuple[Judged, ...] = ()

    @property
    def volts(self) -> Quantity | None:
        """Open-circuit voltage as read [V]."""
        return self.entry.open_circuit_voltage

    @property
    def modules(self) -> int:
        """Modules in series [-]."""
        return int(self.count.value)

    def of(self, kind: str) -> Judged | None:
        """What was made of the reading in one respect."""
        return next((item for item in self.judged if item.kind == kind), None)

    @property
    def is_right(self) -> bool:
        """True where its own voltage is already found right."""
        own = self.of("voltage")
        return own is not None and own.judgement.verdict is Verdict.ACCEPT

    @property
    def stops(self) -> bool:
        """True where its own voltage is already found wrong."""
        own = self.of("voltage")
        return own is not None and own.judgement.verdict is Verdict.STOP


@dataclass(frozen=True, slots=True)
class ReadingsDesign:
    """Every reading of the folder, judged; ``together`` is the length of "the same minutes"."""

    reads: tuple[StringRead, ...] = ()
    together: Quantity | None = None


def number_of(judgement: Judgement, name: str) -> Quantity | None:
    """A number that a judgement worked out, by its name."""
    return next((item for item in judgement.numbers if item.name == name), None)


def size_of(value: Quantity, name: str) -> Quantity:
    """The size of a deviation, whichever sign it has."""
    return work(name, value.unit, "abs(d)", d=value)


def superseded(reads: Iterable[StringRead]) -> tuple[StringRead, ...]:
    """The readings, each told which later series has replaced what was made of it.

    A later one replaces an earlier of the same string, point and kind, and only where it came to a verdict itself.
    """
    all_reads = tuple(reads)
    latest: dict[tuple[str, str, str], tuple[str, str]] = {}
    for read in all_reads:
        for item in read.judged:
            if item.judgement.verdict is Verdict.NONE:
                continue
            place = (read.string, read.point, item.kind)
            latest[place] = max(latest.get(place, ("", "")), (read.date, read.series))
    made = []
    for read in all_reads:
        judged = []
        for item in read.judged:
            date, series = latest.get((read.string, read.point, item.kind), ("", ""))
            judged.append(replace(item, superseded=series if date > read.date else ""))
        made.append(replace(read, judged=tuple(judged)))
    return tuple(made)
