"""Equipment as its data sheets state it: modules, inverters, switches, boxes, cables, fuses."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from reportgen.project.plan import Point
from reportgen.project.values import (
    Age,
    Area,
    ConductorSize,
    Current,
    CurrentCoefficient,
    Duration,
    Flag,
    Ident,
    Length,
    LinearMass,
    OneOf,
    Power,
    PowerCoefficient,
    RatedCurrent,
    RatedPower,
    RatedVoltage,
    Ref,
    Section,
    Share,
    Temperature,
    Text,
    Torque,
    Voltage,
    VoltageCoefficient,
    Volume,
    Whole,
)

Status = Annotated[str, OneOf("new", "existing", "removed")]


class Terminals(Section):
    """What the maker says of a device's terminals."""

    temperature: Temperature | None = Field(None, description="Temperature marking of the terminals")
    smallest: ConductorSize | None = Field(None, description="Smallest conductor that the terminal takes")
    largest: ConductorSize | None = Field(None, description="Largest conductor that the terminal takes")
    conductors_per_terminal: Whole | None = Field(None, description="Conductors allowed under one clamp")
    aluminum: Flag | None = Field(None, description="Marked for aluminum conductors")
    torque: Torque | None = Field(None, description="Tightening torque stated by the maker")
    strip_length: Length | None = Field(None, description="Insulation to strip")
    ferrule: Annotated[str, OneOf("required", "allowed", "forbidden")] | None = Field(
        None, description="Ferrule on fine strands"
    )
    source: Text | None = Field(None, description="Document and page that state these values")


class Module(Section):
    """A photovoltaic module, values at standard test conditions (1000 W/m², 25 °C, AM 1.5)."""

    library: Text | None = Field(
        None,
        description="Name in the library files inside pvlib; `reportgen find --fill DIR` puts the values in its place",
    )
    maker: Text | None = Field(None, description="Maker as on the nameplate")
    model: Text | None = Field(None, description="Model as on the nameplate")
    technology: Annotated[str, OneOf("crystalline silicon", "thin film")] = Field(
        "crystalline silicon",
        description="Cell technology; the voltage table of the code holds for crystalline silicon alone",
    )
    power: RatedPower = Field(description="Maximum power")
    open_circuit_voltage: RatedVoltage = Field(description="Open-circuit voltage Voc")
    operating_voltage: RatedVoltage = Field(description="Voltage at maximum power Vmp")
    short_circuit_current: RatedCurrent = Field(description="Short-circuit current Isc")
    operating_current: RatedCurrent = Field(description="Current at maximum power Imp")
    voltage_coefficient: VoltageCoefficient | None = Field(None, description="Temperature coefficient of Voc")
    operating_voltage_coefficient: VoltageCoefficient | None = Field(
        None, description="Temperature coefficient of Vmp; data sheets often leave it out"
    )
    current_coefficient: CurrentCoefficient | None = Field(None, description="Temperature coefficient of Isc")
    power_coefficient: PowerCoefficient | None = Field(
        None, description="Temperature coefficient of maximum power"
    )
    operating_temperature: Temperature | None = Field(
        None, description="Nominal operating cell temperature NOCT or NMOT"
    )
    cells_in_series: Whole | None = Field(
        None, description="Cells in series (72 for a module of 144 half cells)"
    )
    maximum_system_voltage: Voltage | None = Field(None, description="Maximum system voltage of the module")
    maximum_series_fuse: Current | None = Field(None, description="Maximum series fuse rating")
    bifaciality: Share | None = Field(
        None, description="Power of the rear over that of the front under the same light"
    )
    placeholder: Flag = Field(
        False,
        description="The values only hold the place until the data sheet is typed; nothing is judged by them",
    )
    length: Length | None = Field(None, description="Long side")
    width: Length | None = Field(None, description="Short side")
    connector: Text | None = Field(None, description="Make and type of the connectors on its leads")
    listing: Text | None = Field(None, description="Listing mark or certificate, with its number")
    source: Text | None = Field(None, description="Data sheet these values come from")


class InverterInput(Section):
    """One input (tracker) of an inverter, with its usable and its hard limit kept apart."""

    tracking_from: Voltage | None = Field(None, description="Lowest voltage of the tracking window")
    tracking_to: Voltage | None = Field(None, description="Highest voltage of the tracking window")
    start_voltage: Voltage | None = Field(None, description="Voltage at which the input wakes")
    usable_current: Current | None = Field(
        None, description="Current above which the input clips (no hazard)"
    )
    short_circuit_limit: Current | None = Field(
        None, description="Short-circuit current the input withstands (hard limit)"
    )
    short_circuit_basis: Annotated[str, OneOf("standard conditions", "with 1.25")] | None = Field(
        None,
        description="Whether the maker compares that limit with Isc at standard conditions or with 1.25 times it",
    )
    connectors: Whole | None = Field(None, description="Pairs of connectors or terminals of this input")
    maximum_power: Power | None = Field(None, description="PV power limit of this input")


class EfficiencyPoint(Section):
    """One point of an inverter's efficiency curve."""

    load: Share = Field(description="AC load as a share of the rated AC power")
    efficiency: Share = Field(description="Efficiency at that load")


class Installed(Section):
    """One installed unit of a device type."""

    place: Text | None = Field(None, description="Where it stands")
    at: Point | None = Field(None, description="Where it stands on the plan of the site")
    inside: Flag | None = Field(None, description="Inside a building")
    on_building: Flag | None = Field(None, description="On the outside of a building, where it is not inside")
    status: Status = Field("new", description="new, existing or removed")
    serial: Text | None = Field(None, description="Serial number on its nameplate")
    openings_closed: Flag | None = Field(None, description="Openings of a box that nothing uses are closed")


class Inverter(Section):
    """An inverter type with its inputs, and the units of it that are installed."""

    library: Text | None = Field(
        None,
        description="Name in the library files inside pvlib; `reportgen find --fill DIR` puts the values in its place",
    )
    maker: Text | None = Field(None, description="Maker as on the nameplate")
    model: Text | None = Field(None, description="Model as on the nameplate")
    units: dict[Ident, Installed] = Field(description="Installed units of this type, by id")
    maximum_dc_voltage: Voltage | None = Field(
        None, description="Voltage that must never be exceeded at an input"
    )
    ac_power: Power | None = Field(None, description="Rated AC output")
    maximum_pv_power: Power | None = Field(None, description="PV power limit of the whole inverter")
    pv_legs: Annotated[str, OneOf("floating", "negative grounded", "positive grounded")] | None = Field(
        None, description="How the inverter treats the PV poles"
    )
    backfeed_current: Current | None = Field(
        None, description="Current the inverter can feed back into a faulted string"
    )
    ground_fault_protection: Flag | None = Field(None, description="Ground-fault detection built in")
    arc_fault_protection: Flag | None = Field(None, description="DC arc-fault function built in")
    surge_protection: Flag | None = Field(None, description="Surge protection at the PV inputs built in")
    efficiency: Share | None = Field(None, description="Constant efficiency, where no curve is given")
    efficiency_curve: list[EfficiencyPoint] = Field(
        default_factory=list, description="Efficiency against load"
    )
    night_power: Power | None = Field(None, description="Own consumption at night")
    discharge_wait: Duration | None = Field(None, description="Wait for the input capacitors after isolation")
    reversed_polarity: Text | None = Field(None, description="What the maker says of a reversed input")
    terminals: Terminals | None = Field(None, description="PV terminals")
    ac_terminals: Terminals | None = Field(None, description="AC terminals")
    inputs: dict[Ident, InverterInput] = Field(
        description="Inputs by the letters or numbers printed on the device"
    )
    listing: Text | None = Field(None, description="Listing mark or certificate, with its number")
    source: Text | None = Field(None, description="Data sheet these values come from")


class VoltageRating(Section):
    """Rated DC voltage of a switch for a number of poles in series."""

    poles_in_series: Whole = Field(description="Poles that one conductor passes")
    voltage: RatedVoltage = Field(description="Rated voltage for that number of poles")


class Switch(Section):
    """A DC switch type: poles in physical order, what is joined to what, ratings."""

    maker: Text | None = Field(None, description="Maker as on the nameplate")
    model: Text | None = Field(None, description="Model as on the nameplate")
    units: dict[Ident, Installed] = Field(description="Installed units of this type, by id")
    line: list[Ident] = Field(
        description="Terminals of the line side, left to right as the installer sees them"
    )
    load: list[Ident] = Field(
        description="Terminals of the load side, left to right as the installer sees them"
    )
    joined: list[list[Ident]] = Field(description="Pairs of terminals that closing the switch connects")
    ground_terminals: list[Ident] = Field(
        default_factory=list, description="Terminals tied to the enclosure and its ground"
    )
    ratings: list[VoltageRating] = Field(
        default_factory=list, description="Rated DC voltage by poles in series"
    )
    rated_current: Current | None = Field(None, description="Rated current at that voltage")
    load_break: Flag | None = Field(None, description="Rated to open under load with direct current")
    utilisation_category: Text | None = Field(None, description="For instance DC-PV2 (IEC 60947-3)")
    polarised: Flag | None = Field(None, description="Polarity marked on the device")
    terminals: Terminals | None = Field(None, description="Its terminals")
    listing: Text | None = Field(None, description="Listing mark or certificate, with its number")
    source: Text | None = Field(None, description="Data sheet these values come from")


class BoxEntry(Section):
    """One opening of a box: a raceway, or conductors through a gland."""

    unit: Ref | None = Field(None, description="Unit it belongs to, where the type has several")
    raceway: Ref | None = Field(None, description="Raceway segment that ends here, for instance `R1/trench`")
    conductors: list[Ref] = Field(
        default_factory=list, description="Conductors that come in by a gland, by id"
    )
    wall: Annotated[str, OneOf("left", "right", "top", "bottom", "back")] = Field(
        description="Wall seen from the front; left to right is the length, top to bottom the width"
    )
    row: Whole | None = Field(None, description="Row of entries in that wall; one row where left out")
    size: Text | None = Field(None, description="Trade size of the opening, where no raceway says it")
    clamps_from: Length | None = Field(None, description="Thinnest cable that the gland clamps")
    clamps_to: Length | None = Field(None, description="Thickest cable that the gland clamps")
    to_other_entry: Length | None = Field(
        None, description="Nearest edge to edge to the entry by which the same conductors leave"
    )


class Box(Section):
    """A box type (pull box, junction box, combiner) and its installed units."""

    kind: Annotated[str, OneOf("pull box", "junction box", "combiner box", "conduit body")] = Field(
        description="What it is for"
    )
    units: dict[Ident, Installed] = Field(description="Installed units of this type, by id")
    volume: Volume | None = Field(None, description="Volume marked on the box")
    standard_box: Text | None = Field(
        None, description="Standard metal box as the volume table lists it, for instance `4x2-1/8-square`"
    )
    length: Length | None = Field(None, description="Inside length, in the direction of a straight pull")
    width: Length | None = Field(None, description="Inside width")
    depth: Length | None = Field(None, description="Inside depth")
    wet_location: Flag | None = Field(None, description="Listed for wet locations")
    splices: Flag | None = Field(None, description="Conductors are spliced in it")
    terminals: Terminals | None = Field(None, description="Terminal blocks, where there are any")
    terminal_ids: list[Ident] = Field(default_factory=list, description="Terminals by id, in order")
    ground_terminals: list[Ident] = Field(
        default_factory=list, description="Terminals tied to the enclosure and its ground"
    )
    terminal_blocks: Whole | None = Field(None, description="Assemblies of terminal blocks in it")
    internal_clamps: Flag | None = Field(None, description="Cable clamps inside the box")
    yokes: Whole | None = Field(None, description="Devices on yokes in it, each up to 50 mm (2 in) wide")
    marked_for_conductors: Flag | None = Field(
        None, description="Listed and marked by its maker for the number and size of these conductors"
    )
    entries: list[BoxEntry] = Field(default_factory=list, description="Openings and what comes in by them")
    listing: Text | None = Field(None, description="Listing mark or certificate, with its number")
    source: Text | None = Field(None, description="Data sheet these values come from")


class CableSize(Section):
    """What a cable's data sheet gives for one size."""

    size: ConductorSize = Field(description="Conductor size")
    diameter: Length | None = Field(None, description="Outside diameter")
    bend_radius: Length | None = Field(None, description="Smallest bend that the maker allows, at its inside")
    area: Area | None = Field(None, description="Conductor cross-section, for metric sizes")
    mass: LinearMass | None = Field(None, description="Mass per length")


class Cable(Section):
    """A make of wire: marking, ratings, and diameters where no table has them."""

    maker: Text | None = Field(None, description="Maker as printed on the jacket")
    material: Annotated[str, OneOf("copper", "aluminum")] = Field("copper", description="Conductor")
    markings: list[Text] = Field(description="Type letters printed on the jacket, for instance THWN-2")
    voltage: Voltage | None = Field(None, description="Voltage printed on the jacket")
    stranding: Annotated[str, OneOf("solid", "stranded", "fine stranded")] = Field(
        "stranded", description="Conductor make-up"
    )
    tinned: Flag | None = Field(
        None, description="Coated strands, as in PV wire; taken as uncoated where not stated"
    )
    age: Age | None = Field(None, description="Age of existing wire")
    sizes: list[CableSize] = Field(default_factory=list, description="Data sheet values by size")
    listing: Text | None = Field(None, description="Listing mark or certificate, with its number")
    source: Text | None = Field(None, description="Data sheet these values come from")

    def of_size(self, size: str) -> CableSize | None:
        """Return the data sheet's row of a size, or None where it has none."""
        return next((row for row in self.sizes if row.size == size), None)


class Fuse(Section):
    """A fuse type."""

    rating: RatedCurrent = Field(description="Rated current")
    voltage: Voltage | None = Field(None, description="Rated DC voltage")
    listed_for_pv: Flag | None = Field(None, description="Listed for photovoltaic use (gPV, UL 248-19)")
    breaking_capacity: Current | None = Field(None, description="Rated breaking capacity")
    units: dict[Ident, Installed] = Field(default_factory=dict, description="Installed units, by id")
    listing: Text | None = Field(None, description="Listing mark or certificate, with its number")
    source: Text | None = Field(None, description="Data sheet these values come from")
