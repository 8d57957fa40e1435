"""The whole project: every section of the folder, typed.

Any file of the folder may hold any of these sections; ids are unique across files. A missing optional value
is unknown, never zero.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from pydantic import Field

from reportgen.project.equipment import Box, Cable, Fuse, Installed, Inverter, InverterInput, Module, Switch
from reportgen.project.handover import Handover
from reportgen.project.layout import Array, Circuit, Info, Raceway, RacewaySegment, Site, String, StringPart
from reportgen.project.records import (
    AsBuilt,
    Before,
    Commissioning,
    Document,
    LocalRule,
    Prices,
    Reading,
    Review,
    Stock,
    Variant,
)
from reportgen.project.values import Ident, Ref, Section


class Project(Section):
    """A project folder, read and typed; quantities are in the base unit of their dimension."""

    by_id: ClassVar[tuple[str, ...]] = ("strings", "landing", "jumpers")

    project: Info = Field(description="Title block and basis of the design")
    site: Site = Field(description="The place, its temperatures and its weather")
    modules: dict[Ident, Module] = Field(default_factory=dict, description="Module types")
    inverters: dict[Ident, Inverter] = Field(default_factory=dict, description="Inverter types and units")
    switches: dict[Ident, Switch] = Field(default_factory=dict, description="Switch types and units")
    boxes: dict[Ident, Box] = Field(default_factory=dict, description="Box types and units")
    cables: dict[Ident, Cable] = Field(default_factory=dict, description="Makes of wire")
    fuses: dict[Ident, Fuse] = Field(default_factory=dict, description="Fuse types")
    arrays: dict[Ident, Array] = Field(default_factory=dict, description="What stands where")
    strings: dict[Ident, String] = Field(default_factory=dict, description="Modules in series")
    raceways: dict[Ident, Raceway] = Field(default_factory=dict, description="Raceways by segments")
    circuits: dict[Ident, Circuit] = Field(default_factory=dict, description="Conductors and their path")
    landing: dict[Ref, dict[Ident, Ref]] = Field(
        default_factory=dict,
        description="Device unit, terminal, what lands there: a conductor (`PV-E1+`), a lead (`INV-1/A+`), or the terminal of the next device (`SW-2/L1`)",
    )
    jumpers: dict[Ref, list[list[Ident]]] = Field(
        default_factory=dict, description="Device unit, pairs of terminals joined by a link"
    )
    readings: dict[Ident, Reading] = Field(default_factory=dict, description="What was measured")
    commissioning: Commissioning | None = Field(
        None, description="Dates and conditions of the commissioning sheet"
    )
    prices: Prices | None = Field(None, description="Money")
    stock: Stock | None = Field(None, description="What can be bought, and pull data")
    local: dict[Ident, LocalRule] = Field(default_factory=dict, description="Rules of the authority at hand")
    documents: dict[Ident, Document] = Field(default_factory=dict, description="Data sheets, photos, permits")
    asbuilt: dict[Ident, AsBuilt] = Field(default_factory=dict, description="What was built otherwise")
    handover: Handover | None = Field(None, description="What is handed over beside the design")
    reviews: dict[Ident, Review] = Field(default_factory=dict, description="Who reviewed which digest")
    before: Before | None = Field(None, description="An earlier design to compare with")
    variants: dict[Ident, Variant] = Field(default_factory=dict, description="Overlays to compare with")

    def inverter_of(self, unit: str) -> tuple[str, Inverter] | None:
        """Type id and type of an inverter unit, or None where no type installs it."""
        return next(((key, kind) for key, kind in self.inverters.items() if unit in kind.units), None)

    def switch_of(self, unit: str) -> tuple[str, Switch] | None:
        """Type id and type of a switch unit."""
        return next(((key, kind) for key, kind in self.switches.items() if unit in kind.units), None)

    def box_of(self, unit: str) -> tuple[str, Box] | None:
        """Type id and type of a box unit."""
        return next(((key, kind) for key, kind in self.boxes.items() if unit in kind.units), None)

    def installed(self) -> Iterator[tuple[str, Installed]]:
        """Every box, switch and inverter unit with what is stated of it."""
        for kinds in (self.boxes, self.switches, self.inverters):
            for kind in kinds.values():
                yield from ((str(unit), data) for unit, data in kind.units.items())

    def input_of(self, address: str) -> tuple[str, Inverter, InverterInput] | None:
        """Unit id, inverter type and input of an address such as ``INV-1/A``."""
        unit, _, letter = address.partition("/")
        found = self.inverter_of(unit)
        if found is None or letter not in found[1].inputs:
            return None
        return unit, found[1], found[1].inputs[letter]

    def parts_of(self, string: String) -> list[StringPart]:
        """Parts of a string, also where it was written with ``array`` and ``count`` alone."""
        if string.parts or string.array is None or string.count is None:
            return list(string.parts)
        # the fields were validated where they stood
        return [
            StringPart.model_construct(
                array=string.array,
                count=string.count,
                positions=string.positions,
                positive_at=string.positive_at,
                negative_at=string.negative_at,
            )
        ]

    def hops_of(self, circuit: Circuit) -> Iterator[tuple[str, str, RacewaySegment]]:
        """Raceway id, segment id and segment along a circuit's path, in order."""
        for hop in circuit.path:
            raceway_id, _, segment_id = hop.partition("/")
            raceway = self.raceways[raceway_id]
            for key, segment in raceway.segments.items():
                if segment_id in {"", key}:
                    yield raceway_id, key, segment
