"""What the disciplines deliver: one frozen record a string, input, circuit, raceway stretch and array.

A field is a :class:`Quantity` with its working, or a :class:`Missing` that says what to state.
"""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.design.graph import Conductor, SegmentId
from reportgen.design.missing import Known, Missing
from reportgen.engineering.ampacity import ShortStretches
from reportgen.project.equipment import Inverter, InverterInput, Module
from reportgen.project.layout import Circuit, Raceway, RacewaySegment
from reportgen.rulebook.raceways import RacewaySize
from reportgen.working.quantity import Cell, Quantity

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
    lit_short_circuit, lit_operating : Quantity or Missing
        Currents at standard conditions with the light on the rear of bifacial modules. [A]
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
    lit_short_circuit: Known
    lit_operating: Known
    maximum: Known
    continuous: Known
    windows: tuple[tuple[str, Window], ...]
    operating_coefficient: Known
    mixed: bool = False


@dataclass(frozen=True, slots=True)
class InputDesign:
    """One inverter input and the strings that end at it; its currents have the light on the rear in them."""

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
class TerminalDesign:
    """Terminals at one end of a circuit or on its way.

    Attributes
    ----------
    column : Quantity
        Temperature by their marking, by the code's rule where none is stated, and never above the insulation's. [°C]
    ampacity : Quantity or Missing
        In that column. [A]
    aluminum : bool or None
        Marked for aluminum; None where nothing is said.
    """

    unit: str
    column: Quantity
    ampacity: Known
    aluminum: bool | None


@dataclass(frozen=True, slots=True)
class WiredDesign:
    """What conductors of a string or an output circuit may carry, how long they are and what they lose.

    Attributes
    ----------
    maximum, continuous : Quantity or Missing
        Currents of the two tests. [A]
    terminal_at : str
        Unit of the terminals that govern.
    governing : SegmentAmpacity or None
        Stretch whose ampacity counts; None where any of them is unknown.
    set_aside : ShortStretches or None
        What the exception for short stretches sets aside, where it is claimed and gives something.
    conductor_temperature : Quantity or Missing
        At which the drop is worked out. [°C]
    drop, drop_share, loss : Quantity or Missing
        At standard conditions, of output circuits at their continuous current. [V, %, W]
    longest : Quantity or Missing
        Length one way at which the drop reaches the target. [ft]
    """

    id: str
    circuit: Circuit
    material: str
    insulation: str
    maximum: Known
    continuous: Known
    terminals: tuple[TerminalDesign, ...]
    terminal_at: str
    terminal_column: Known
    terminal: Known
    stretches: tuple[SegmentAmpacity, ...]
    governing: SegmentAmpacity | None
    set_aside: ShortStretches | None
    length: Known
    conductor_temperature: Known
    drop: Known
    drop_share: Known
    loss: Known
    longest: Known
    wet_segments: tuple[SegmentId, ...]
    wet_marking: str | Missing | None


@dataclass(frozen=True, slots=True)
class CircuitDesign(WiredDesign):
    """The two legs of a string from array to input.

    Attributes
    ----------
    resistance : Quantity or Missing
        Of both legs at the temperature of the table. [Ω]
    loop : Quantity or Missing
        Of both legs at the conductor's temperature. [Ω]
    hot_share, hot_loss : Quantity or Missing
        Drop and loss in the hottest hour at full sun. [%, W]
    """

    string: StringDesign
    resistance: Known
    loop: Known
    hot_share: Known
    hot_loss: Known
    insulation_voltage: Known


@dataclass(frozen=True, slots=True)
class OutputDesign(WiredDesign):
    """An inverter's output circuit; ``ceiling`` is the largest device that protects its conductors [A]."""

    voltage: Known
    impedance: Known
    device: Quantity | None
    ceiling: Known


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
    """Equipment grounding in one stretch of raceway.

    Attributes
    ----------
    rating : Quantity or Missing
        Device that sizes the ground, or the rating that one would have at least. [A]
    required : str or Missing
        Size that the ground must have, never more than its circuit conductors.
    cell : Cell or None
        Cell of the table that sizes it.
    bounded_by : str
        Circuit whose conductors bound it; empty where the table alone sizes it.
    grown : Quantity or Missing or None
        Area in proportion to output conductors chosen larger than they had to be; None where none are. [cmil]
    grown_open : tuple of str
        Output circuits whose smallest size that would have done was not stated, so that ``grown`` is the most it can be.
    """

    segment: SegmentId
    conductors: tuple[Conductor, ...]
    rating: Known
    required: str | Missing
    cell: Cell | None
    required_area: Known
    actual: str
    actual_area: Known
    metallic: bool
    bounded_by: str = ""
    grown: Known | None = None
    grown_open: tuple[str, ...] = ()
