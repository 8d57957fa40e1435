"""What the disciplines deliver: one frozen record a string, input, circuit, raceway stretch and array.

A field is a :class:`Quantity` with its working, or a :class:`Missing` that says what to state.
"""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.design.graph import Conductor, SegmentId
from reportgen.design.missing import Known, Missing
from reportgen.project.equipment import Inverter, InverterInput, Module
from reportgen.project.layout import Circuit, Raceway, RacewaySegment
from reportgen.rulebook.raceways import RacewaySize
from reportgen.working.quantity import Quantity

RECORD_LOW, MEAN_MINIMUM = "record low", "mean annual minimum"
#: Cold temperature that an authority at hand prescribes; a third case beside the two, where there is one.
PRESCRIBED = "temperature of the local rule"


@dataclass(frozen=True, slots=True)
class ColdCase:
    """Cold voltage at one of the cold temperatures, by coefficient and by the code's table."""

    label: str
    temperature: Known
    by_coefficient: Known
    by_table: Known


@dataclass(frozen=True, slots=True)
class Window:
    """Modules in series that the input's limits allow, for one cold temperature and the hot cell."""

    most: int | None
    fewest: int | None


@dataclass(frozen=True, slots=True)
class StringDesign:
    """One string: what it reaches in the cold, in the heat, and what it drives.

    Attributes
    ----------
    governing : Quantity or Missing
        Cold voltage by the policy's temperature: by the coefficient, by the table only where there is none. [V]
    """

    id: str
    input: str
    module_id: str
    module: Module | None
    count: Quantity
    arrays: tuple[str, ...]
    positions: str
    cold: tuple[ColdCase, ...]
    governing: Known
    governing_label: str
    hot_cell: Known
    hot_operating: Known
    cold_operating: Known
    stc_open: Known
    stc_operating: Known
    short_circuit: Known
    operating: Known
    maximum: Known
    continuous: Known
    windows: tuple[tuple[str, Window], ...]
    operating_coefficient: Known
    mixed: bool = False


@dataclass(frozen=True, slots=True)
class InputDesign:
    """One inverter input and the strings that end at it."""

    address: str
    unit: str
    inverter: Inverter | None
    input: InverterInput | None
    strings: tuple[str, ...]
    operating: Known
    short_circuit: Known
    maximum: Known


@dataclass(frozen=True, slots=True)
class SegmentAmpacity:
    """Ampacity of a circuit's conductor in one stretch of raceway; ``rating`` is that of its insulation [°C]."""

    segment: SegmentId
    ambient: Known
    carrying: Quantity
    rating: Known
    table: Known
    ambient_factor: Known
    count_factor: Known
    ampacity: Known


@dataclass(frozen=True, slots=True)
class CircuitDesign:
    """The two legs of a string from array to input."""

    id: str
    circuit: Circuit
    string: StringDesign
    material: str
    insulation: str
    terminal_column: Known
    terminal: Known
    stretches: tuple[SegmentAmpacity, ...]
    governing: SegmentAmpacity | None
    length: Known
    resistance_per_length: Known
    resistance: Known
    drop: Known
    drop_share: Known
    loss: Known
    longest: Known
    insulation_voltage: Known
    wet_segments: tuple[SegmentId, ...]
    wet_marking: str | Missing | None


@dataclass(frozen=True, slots=True)
class StretchDesign:
    """One stretch of raceway with everything in it."""

    id: SegmentId
    raceway: Raceway
    segment: RacewaySegment
    conductors: tuple[Conductor, ...]
    carrying: int
    size: RacewaySize | Missing
    occupied: Known
    bore: Known
    fill: Known
    limit: Known


@dataclass(frozen=True, slots=True)
class PullSection:
    """Stretches between two pull points, and the bends in them."""

    raceway: str
    start: str
    end: str
    segments: tuple[SegmentId, ...]
    bends: Quantity
    length: Quantity


@dataclass(frozen=True, slots=True)
class GroundDesign:
    """Equipment grounding in one stretch of raceway."""

    segment: SegmentId
    conductors: tuple[Conductor, ...]
    rating: Known
    required: str | Missing
    required_source: str
    required_recalled: bool
    required_area: Known
    actual: str
    actual_area: Known
    metallic: bool
