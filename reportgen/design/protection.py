"""Overcurrent protection as records: the devices in each string, what feeds a fault in it, what it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from reportgen.design.missing import Known, Missing
from reportgen.design.results import StringDesign
from reportgen.diagnostics.model import Span
from reportgen.engineering import overcurrent
from reportgen.rulebook.book import Ruling
from reportgen.working.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Device:
    """An overcurrent device in a string: a fuse type, or the device that a circuit states by its rating alone.

    Attributes
    ----------
    voltage : Quantity or Missing
        Rated direct voltage. [V]
    listed : bool or None
        Listed for photovoltaic use; None where nobody says.
    breaking : Quantity or None
        Rated breaking capacity where it is stated. [A]
    """

    id: str
    rating: Quantity
    voltage: Known
    listed: bool | None
    breaking: Quantity | None
    span: Span


@dataclass(frozen=True, slots=True)
class ArrayWire:
    """Wire behind the modules of a string, where it carries least.

    Attributes
    ----------
    array : str
        Array in which it does; empty where it is not known.
    ampacity : Quantity or Missing
        Least ampacity at the temperature behind the modules; of AWG sizes a lower bound. [A]
    ceiling : Quantity or Missing
        Greatest rating that protects a wire of that ampacity. [A]
    proves : bool
        Whether keeping below is proof: not for photovoltaic cable by its own table.
    """

    array: str
    size: str
    ampacity: Known
    ceiling: Known
    proves: bool


@dataclass(frozen=True, slots=True)
class StringProtection:
    """One string: what feeds a fault in it, what it stands, and the devices in it.

    Attributes
    ----------
    beside : tuple of str
        The other strings in parallel with it.
    boxes : tuple of str
        Units before the input in which the strings are joined.
    alone : Quantity or Missing
        Current of the other strings alone, without what the inverter feeds back. [A]
    fed_back : Quantity or Missing
        Current that other strings and the inverter can drive into a fault of this one. [A]
    module_limit : Quantity or Missing
        Maximum series fuse of its modules. [A]
    ampacity : Quantity or Missing
        Least ampacity of its home run, terminals and every stretch counted. [A]
    limit : Quantity or Missing
        The lower of the two. [A]
    floor : Quantity or Missing
        Least rating of a device. [A]
    conductor_limit : Quantity, Missing or None
        Greatest rating that protects its home run; None where no device is fitted or needed. [A]
    behind : ArrayWire
        What the wire behind its modules carries, and the greatest rating that protects it.
    behind_decides : bool
        Whether a device is needed rests on the ampacity of that wire alone, by a table that is not held.
    fitting : tuple of Quantity
        Ratings to be had between floor and ceilings; empty too where no device is needed. [A]
    needed : bool or None
        Whether a device is needed; None where it cannot be told.
    """

    string: StringDesign
    inverter: str
    beside: tuple[str, ...]
    boxes: tuple[str, ...]
    alone: Known
    backfeed: Known
    fed_back: Known
    module_limit: Known
    ampacity: Known
    limit: Known
    floor: Known
    conductor_limit: Known | None
    fitting: tuple[Quantity, ...]
    needed: bool | None
    devices: tuple[Device, ...]
    poles: overcurrent.Poles
    pole: str
    behind: ArrayWire
    behind_decides: bool

    @property
    def strings(self) -> int:
        """Strings in parallel, this one counted."""
        return len(self.beside) + 1

    @property
    def fed(self) -> Known:
        """What is known to feed a fault: all of it, else the other strings alone, which it is at least [A]."""
        return self.alone if isinstance(self.fed_back, Missing) else self.fed_back

    def why_no_fuse(self) -> str:
        """The inequality that lets a device be left out, in words and numbers; only where it holds."""
        assert self.needed is False and isinstance(self.fed_back, Quantity)
        back = f"{_shown(self.backfeed)} fed back by {self.inverter}"
        if self.beside:
            others = " and ".join(self.beside)
            sources = f"{_shown(self.alone)} from {others} and {back}, {self.fed_back.show(2)} in all"
        else:
            sources = f"{_shown(self.fed_back)}: no other string, and {back}"
        bounds = [
            f"{value.show(2, at_most=True)} that its {what}"
            for value, what in (
                (self.module_limit, "modules allow as series fuse"),
                (self.ampacity, "home run carries in its worst stretch or at a terminal"),
                (self.behind.ampacity, f"wire behind the modules of {self.behind.array} carries at least"),
            )
            if isinstance(value, Quantity)
        ]
        against = " nor the ".join(bounds)
        above = f", not above the {against}" if bounds else ""
        return f"no fuse is needed in {self.string.id}: a fault in it is fed by {sources}{above}"


@dataclass(frozen=True)
class OvercurrentDesign:
    """Protection of every string, and fuse types that no string names.

    Attributes
    ----------
    omission, one_pole : Ruling
        What the edition says of leaving a device out, and of a device in one leg alone.
    """

    strings: tuple[StringProtection, ...]
    idle: tuple[str, ...]
    omission: Ruling
    one_pole: Ruling

    @property
    def omission_known(self) -> bool:
        """Whether the edition lets a device be left out where modules and conductors both bear all sources."""
        return self.omission.answer == "both"

    @cached_property
    def by_string(self) -> Mapping[str, StringProtection]:
        """Protection by string id."""
        return {item.string.id: item for item in self.strings}

    def ratings(self, string: str) -> tuple[Quantity, ...]:
        """Ratings of the devices in a string [A]."""
        item = self.by_string.get(string)
        return tuple(device.rating for device in item.devices) if item else ()


def _shown(value: Known) -> str:
    return value.show(2) if isinstance(value, Quantity) else "unknown"
