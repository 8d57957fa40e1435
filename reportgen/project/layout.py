"""What stands and runs where: site, arrays, strings, raceways, circuits, landing."""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import Field

from reportgen.project.equipment import Status, Terminals
from reportgen.project.plan import Point, SitePlan
from reportgen.project.values import (
    Age,
    Angle,
    ConductorSize,
    Current,
    Flag,
    Force,
    Ident,
    Irradiation,
    Length,
    Money,
    OneOf,
    Plain,
    RealLength,
    Ref,
    Section,
    Share,
    SignedLength,
    Temperature,
    Text,
    Voltage,
    Whole,
)

RacewayKind = Annotated[
    str, OneOf("EMT", "IMC", "RMC", "PVC-40", "PVC-80", "ENT", "FMC", "LFMC", "LFNC-A", "LFNC-B", "HDPE")
]


class Weather(Section):
    """Where the hourly year comes from."""

    file: Text | None = Field(None, description="Weather file in this folder")
    files: list[Text] = Field(
        default_factory=list,
        description="Weather files of single years in this folder, for what half and what nine of ten years exceed",
    )
    shipped: Text | None = Field(None, description="Name of a typical year that ships inside pvlib")
    monthly_irradiation: list[Irradiation] = Field(
        default_factory=list, description="Twelve monthly means of daily global horizontal irradiation"
    )
    monthly_temperature: list[Temperature] = Field(
        default_factory=list, description="Twelve monthly mean air temperatures"
    )


class HorizonPoint(Section):
    """One point of the skyline."""

    azimuth: Angle = Field(description="Compass direction, north 0°, east 90°")
    elevation: Angle = Field(description="Height of the skyline in that direction")


class Site(Section):
    """The place, its temperatures and its weather."""

    place: Text | None = Field(None, description="Name of the place")
    latitude: Angle | None = Field(None, description="North positive")
    longitude: Angle | None = Field(None, description="East positive")
    elevation: SignedLength | None = Field(None, description="Height above sea level")
    utc_offset: Plain | None = Field(None, description="Hours ahead of UTC in standard time, west negative")
    record_low: Temperature | None = Field(None, description="Lowest air temperature on record")
    mean_annual_minimum: Temperature | None = Field(None, description="Mean of the yearly minima")
    design_high: Temperature | None = Field(None, description="Hot design air temperature")
    ground_temperature: Temperature | None = Field(
        None, description="Soil temperature at raceway depth in summer"
    )
    temperatures_from: Text | None = Field(None, description="Station and record the temperatures come from")
    albedo: Plain | None = Field(None, description="Share of light the ground reflects")
    soiling: list[Share] = Field(default_factory=list, description="Twelve monthly losses by dirt")
    snow: list[Share] = Field(default_factory=list, description="Twelve monthly losses by snow cover")
    horizon: list[HorizonPoint] = Field(default_factory=list, description="Skyline")
    sky_model: Annotated[str, OneOf("perez", "hay-davies")] | None = Field(
        None, description="How sky light is brought onto the arrays; Perez where none is named"
    )
    weather: Weather | None = Field(None, description="Source of the hourly year")
    plan: SitePlan | None = Field(None, description="Plan of the site that places are stated on")


class ArrayWiring(Section):
    """Wire in free air behind the modules of an array."""

    cable: Ref = Field(description="Make of wire; the leads of the modules are taken to be no smaller")
    size: ConductorSize = Field(description="Conductor size")
    together: Whole | None = Field(
        None,
        description="Most current-carrying conductors that lie in one bundle, for the factor of their number",
    )
    temperature: Temperature | None = Field(
        None, description="Hottest air around the wire, where it was measured; else the hot module's own"
    )
    length: RealLength | None = Field(
        None,
        description="Longest way of one leg from its string to the box in which home runs begin at a joint, ends and all; "
        "counted in drop, cut list and materials",
    )


class LowerRows(Section):
    """Rows along the lower edge of an array that snow, plants or shade take light from."""

    rows: Whole = Field(description="How many rows, counted from the lower edge")
    light_lost: list[Share] = Field(description="Share of light they lose in each of the twelve months")


class Array(Section):
    """Modules that stand together, of one type, facing one way."""

    module: Ref = Field(description="Module type")
    count: Whole | None = Field(None, description="Modules standing")
    rows: Whole | None = Field(None, description="Rows of modules, top to bottom")
    columns: Whole | None = Field(None, description="Columns of modules, left to right seen from the front")
    spares: Whole | None = Field(None, description="Modules that belong to no string on purpose")
    lower_rows: LowerRows | None = Field(
        None, description="Rows along the lower edge that lose light; both orders of stringing are compared"
    )
    tilt: Angle | None = Field(None, description="Tilt from horizontal")
    azimuth: Angle | None = Field(None, description="Direction faced, north 0°, east 90°")
    mounting: Annotated[str, OneOf("ground table", "roof raised", "roof flush", "pole")] = Field(
        "ground table", description="Decides the cell temperature"
    )
    on_building: Flag | None = Field(None, description="Stands on a building")
    guarding: Annotated[str, OneOf("out of reach", "screen", "fence", "raceway", "none")] | None = Field(
        None, description="What keeps people from its wiring"
    )
    place: Text | None = Field(None, description="Where it stands")
    outline: list[Point] = Field(
        default_factory=list, description="Its corners on the plan of the site, in order around it"
    )
    wiring: ArrayWiring | None = Field(
        None,
        description="Wire between its modules and to the first enclosure, in free air behind the modules",
    )
    row_pitch: Length | None = Field(
        None,
        description="Level distance from the lower edge of a table to that of the next, for the shade of one on another",
    )
    slope_length: Length | None = Field(
        None, description="Length of a table along its slope, from lower to upper edge"
    )
    rear_gain: Share | None = Field(
        None,
        description="Light gained on the rear of bifacial modules over that on the front, the lesser yield of the rear "
        "counted in; the year takes it only where `row_pitch` or `slope_length` is not stated",
    )
    home_runs_leave: Annotated[str, OneOf("left", "right")] | None = Field(
        None, description="Side on which its home runs leave, seen from the front"
    )
    status: Status = Field("existing", description="new, existing or removed")
    frames_bonded: Flag | None = Field(
        None, description="Every frame and rail is joined by means that are listed for these modules"
    )
    bonded_by: Text | None = Field(None, description="What joins frames and rails: clamps, lugs, jumpers")
    grounded_by: Ref | None = Field(
        None, description="Circuit of kind `ground` that its frames and rails are tied to"
    )
    ground_tie: Text | None = Field(
        None,
        description="Wire from its frames to that ground, where the ground does not begin at this array",
    )
    electrode: Text | None = Field(
        None, description="Grounding electrode at the array or its structure; `none` where there is none"
    )
    electrode_conductor: Text | None = Field(
        None, description="Wire from the array or its structure to that electrode"
    )

    @property
    def plane(self) -> tuple[float, float] | None:
        """Tilt and azimuth of its modules; None where one of them is not stated [°]."""
        if self.tilt is None or self.azimuth is None:
            return None
        return self.tilt.value, self.azimuth.value


class StringPart(Section):
    """Modules that one array gives to a string."""

    array: Ref = Field(description="Array the modules stand in")
    count: Whole = Field(description="Modules in series from this array")
    positions: Text | None = Field(None, description="Which of them, for instance `row 1, columns 1-12`")
    positive_at: Text | None = Field(
        None, description="Module at its positive end, for instance `row 1, column 12`"
    )
    negative_at: Text | None = Field(
        None, description="Module at its negative end, for instance `row 1, column 1`"
    )


class String(Section):
    """Modules in series and the inverter input they end at."""

    array: Ref | None = Field(None, description="Array its modules stand in")
    count: Whole | None = Field(None, description="Modules in series")
    positions: Text | None = Field(None, description="Which of them, for instance `row 1, columns 1-12`")
    positive_at: Text | None = Field(
        None, description="Module at its positive end, for instance `row 1, column 12`"
    )
    negative_at: Text | None = Field(
        None, description="Module at its negative end, for instance `row 1, column 1`"
    )
    parts: list[StringPart] = Field(
        default_factory=list, description="Used instead where modules come from several arrays"
    )
    input: Ref | None = Field(None, description="Inverter input, written unit/input, for instance `INV-1/A`")
    fuse: Ref | None = Field(None, description="Fuse type in this string, where there is one")
    engineered_current: Current | None = Field(
        None, description="Maximum current found by an engineered method, which large systems alone may use"
    )
    fused_pole: Annotated[str, OneOf("positive", "negative", "both")] | None = Field(
        None, description="Leg or legs that its fuse or breaker stands in"
    )


class Bend(Section):
    """A bend of a raceway; written as an angle alone, or with its place, radius and direction."""

    alone: ClassVar[str | None] = "angle"

    angle: Angle = Field(description="By which the direction changes")
    at: Length | None = Field(
        None, description="From the start of the segment to the middle of the bend, along the pipe"
    )
    radius: Length | None = Field(None, description="Centreline radius, where it differs from `bend_radius`")
    turn: Annotated[str, OneOf("level", "up", "down")] | None = Field(
        None,
        description="In a level plane, or between level and a slope above or below it, seen from the start",
    )


class RacewaySegment(Section):
    """A stretch of raceway of one kind, size and surroundings."""

    kind: RacewayKind = Field(description="Kind of raceway; PVC-40 and PVC-80 are the two wall thicknesses")
    size: Text = Field(description="Trade size, for instance `1-1/4`")
    length: RealLength = Field(description="Length measured along the pipe, elbows included")
    place: Annotated[str, OneOf("underground", "outdoors", "roof", "indoors")] = Field(
        description="Surroundings"
    )
    ambient: Temperature | None = Field(None, description="Hottest ambient temperature of this stretch")
    sun: Flag | None = Field(None, description="In direct sunlight")
    height_above_roof: Length | None = Field(None, description="Clear height above the roof surface")
    cover: Length | None = Field(None, description="Cover from the top of the pipe to grade")
    bends: list[Bend] = Field(
        default_factory=list,
        description="Every bend, offset and kick in order, each an angle or `{angle: 90 deg, at: 12 m, radius: 250 mm, turn: up}`",
    )
    surface: (
        Annotated[
            str,
            OneOf(
                "open ground",
                "concrete",
                "slab",
                "building",
                "road or parking",
                "dwelling driveway",
                "airport",
                "rock",
            ),
        ]
        | None
    ) = Field(
        None,
        description="What lies above a buried stretch; concrete is 50 mm (2 in) thick, a slab 100 mm (4 in) with no vehicles",
    )
    trench_depth: Length | None = Field(None, description="From grade to the bottom of the trench")
    bedding: Length | None = Field(None, description="Sand or fill under the pipe")
    outside_diameter: Length | None = Field(None, description="Outside diameter of the pipe, from its maker")
    trench: Text | None = Field(
        None, description="Name of its trench; stretches that name the same one lie in it side by side"
    )
    spacing: Length | None = Field(
        None,
        description="Clear distance to the raceway before it in the same trench, in the order of the folder",
    )
    warning_tape: Length | None = Field(None, description="Depth of the warning tape below grade")
    support_spacing: Length | None = Field(None, description="Greatest distance between two supports")
    first_support: Length | None = Field(
        None, description="Greatest distance from a box or fitting to the next support"
    )
    bends_made: Annotated[str, OneOf("factory elbows", "one-shot bender", "other bender")] | None = Field(
        None, description="How its bends are made"
    )
    bend_radius: Length | None = Field(None, description="Centreline radius of its bends")
    rise: SignedLength | None = Field(None, description="Climb from start to end, downhill negative")
    course: list[Point] = Field(
        default_factory=list,
        description="Its course on the plan of the site from start to end, both ends and every corner; one point where it is upright",
    )
    ends_at: Ref | None = Field(None, description="Box at its far end, which makes it a pull point")
    fixed_ends: Flag | None = Field(
        None, description="Fixed at both ends, so that thermal movement has to go somewhere"
    )
    temperature_swing: Plain | None = Field(
        None, description="Yearly swing of pipe temperature in degrees Celsius"
    )
    expansion_travel: Length | None = Field(
        None,
        description="Travel of all expansion fittings in this stretch together; zero where there is none",
    )
    settlement_fitting: Flag | None = Field(
        None, description="A fitting or loop takes up settlement and frost where it leaves the ground"
    )
    status: Status | None = Field(None, description="Where it differs from the raceway's own status")
    short_segment_claimed: Flag = Field(False, description="The exception for a short hot stretch is claimed")


class Raceway(Section):
    """A raceway as an ordered row of segments."""

    status: Status = Field("new", description="new, existing or removed")
    starts_at: Ref | None = Field(None, description="Box, switch or array at its start")
    ends_at: Ref | None = Field(None, description="Box, switch or inverter at its end")
    segments: dict[Ident, RacewaySegment] = Field(description="Segments in order from start to end")
    length_tolerance: Share | None = Field(None, description="How far the measured lengths may be off")
    drawn_through: Length | None = Field(
        None, description="Length between its two ends as a line or tape drawn through it measured"
    )
    traffic: Annotated[str, OneOf("none", "driveway", "road")] | None = Field(
        None, description="What drives over it"
    )
    proved: Text | None = Field(
        None, description="How an existing raceway was found free: mandrel, rope or camera, and when"
    )
    sealed: Flag | None = Field(None, description="Sealed inside where it enters a building")
    drained: Flag | None = Field(
        None, description="Water drains at the low points of its stretches above ground"
    )
    physical_damage: Flag | None = Field(None, description="Exposed to physical damage above grade")
    note: Text | None = Field(None, description="Remark for the raceway sheet")

    def status_of(self, segment: RacewaySegment) -> str:
        """Whether a segment is new, existing or removed: its own status, else that of the raceway."""
        return str(segment.status or self.status)


class Tails(Section):
    """Conductor length outside the raceway at the two ends."""

    start: Length = Field(description="At the array end")
    end: Length = Field(description="At the inverter end")


class InDevice(Section):
    """Length of one conductor inside a device that it lands on, where it is cut."""

    device: Ref = Field(description="Switch or box that it lands on")
    arrives: Length = Field(description="Of the piece that comes in, from the wall to its terminal")
    leaves: Length = Field(description="Of the piece that goes on, from its terminal to the wall")


class Circuit(Section):
    """Conductors that run together: the two legs of a string, a ground, a spare, an output circuit."""

    kind: Annotated[str, OneOf("string", "ground", "spare", "abandoned", "output")] = Field(
        "string", description="What the conductors are"
    )
    string: Ref | None = Field(None, description="String whose two legs these are")
    inverter: Ref | None = Field(None, description="Inverter unit whose output this is")
    cable: Ref = Field(description="Make of wire")
    size: ConductorSize = Field(description="Conductor size")
    conductors: Whole | None = Field(
        None, description="Number of conductors; two for a string, one for a ground"
    )
    parallel: Whole | None = Field(None, description="Conductors in parallel a leg")
    path: list[Ref] = Field(
        default_factory=list,
        description="Raceways passed in order: `R1` for the whole, `R1/trench` for one segment",
    )
    enclosures: list[Ref] = Field(
        default_factory=list,
        description="Boxes and switches passed, in order, those that it only passes too; what its path begins, passes and ends at, and what it is landed on, is known without",
    )
    tails: Tails | None = Field(None, description="Length outside the raceway at both ends")
    extra: Length | None = Field(
        None, description="Further length in boxes, for instance loops in a pull box"
    )
    in_devices: list[InDevice] = Field(
        default_factory=list,
        description="Length inside each switch or box that it lands on, where it is cut, for instance "
        "`[{device: SW-1, arrives: 0.5 m, leaves: 0.5 m}]`",
    )
    device: Current | None = Field(
        None, description="Rating of the overcurrent device that protects it, where there is one"
    )
    device_poles: Whole | None = Field(None, description="Poles of the device of an output circuit")
    device_voltage: Voltage | None = Field(
        None, description="Rated voltage of the device of an output circuit"
    )
    least_size: ConductorSize | None = Field(
        None,
        description="Of an output circuit chosen larger than it had to be: smallest size whose ampacity does",
    )
    phases: Annotated[str, OneOf("single phase", "three phase")] | None = Field(
        None, description="Of an output circuit"
    )
    voltage: Voltage | None = Field(None, description="Of an output circuit")
    current: Current | None = Field(None, description="Of an output circuit: its continuous current")
    power_factor: Plain | None = Field(None, description="Of an output circuit, 0 to 1")
    joint: Terminals | None = Field(
        None,
        description="Its end at no device of this folder: what joins it to the leads of the array, or takes an output circuit",
    )
    conductor_temperature: Temperature | None = Field(
        None, description="Temperature to take its resistance at; by default worked out from load and ambient"
    )
    colour: Text | None = Field(
        None, description="Insulation colour, where the conductors are no legs of a string"
    )
    positive_colour: Text | None = Field(None, description="Insulation colour of the positive leg")
    negative_colour: Text | None = Field(None, description="Insulation colour of the negative leg")
    status: Status = Field("new", description="new, existing or removed")
    drop_limit: Share | None = Field(None, description="Voltage drop that the user or a maker refuses")
    connector: Text | None = Field(
        None, description="Make and type of the connectors on its ends at the modules"
    )
    tail_enclosed: Flag | None = Field(
        None,
        description="Its tail at the array lies in a raceway or box over its whole length, nowhere exposed",
    )
    connectors_listed: Text | None = Field(
        None, description="Document by which connectors of two makes are listed for each other"
    )
    bonded_to: Ref | None = Field(
        None,
        description="Of a ground: what its far end is joined to, another ground that passes the same box or array, or "
        "the ground terminal of an inverter; not needed where the landing or the end of its raceway says it",
    )
    electrode_system: Text | None = Field(
        None,
        description="Of a ground that ends at no ground and no inverter: grounding electrode system that it ends at",
    )


class Policies(Section):
    """What the user asks beyond the code."""

    cold_temperature: Annotated[str, OneOf("record low", "mean annual minimum")] = Field(
        "record low", description="Which cold temperature governs the verdict"
    )
    voltage_margin: Share | None = Field(None, description="Less margin than this is thin")
    current_margin: Share | None = Field(None, description="Less margin than this is thin")
    fill_margin: Share | None = Field(None, description="Less margin than this is thin")
    pull_margin: Share | None = Field(None, description="Less margin than this is thin")
    pull_limit: Force | None = Field(None, description="Tension above which the user refuses a pull")
    drop_target: Share | None = Field(None, description="Voltage drop above this is thin")
    drop_limit: Share | None = Field(None, description="Voltage drop above this fails")
    balance_target: Share | None = Field(
        None, description="PV power between inverters of one type apart by more than this is thin"
    )
    reuse_age: Age | None = Field(None, description="Existing wire older than this is replaced")


class Person(Section):
    """A person and what they answer for."""

    name: Text = Field(description="Name")
    role: Text = Field(description="For instance designer, installer, reviewer")
    licence: Text | None = Field(None, description="Licence number, as text")


class Info(Section):
    """Title block and basis of the design."""

    title: Text = Field(description="Title of the binder")
    number: Text | None = Field(None, description="Project number")
    revision: Text | None = Field(None, description="Revision letter or number")
    date: Text | None = Field(None, description="Date of this revision, year-month-day")
    address: Text | None = Field(None, description="Address of the site")
    parcel: Text | None = Field(None, description="Number of the parcel or plot")
    scope: Text | None = Field(None, description="What is new, reused and removed")
    people: list[Person] = Field(default_factory=list, description="Who answers for what")
    rulebook: Text = Field("nec2023", description="Code edition, for instance nec2023")
    building: Annotated[str, OneOf("dwelling", "other building", "no building")] | None = Field(
        None, description="What the DC circuits stand on or enter; decides voltage limits"
    )
    building_use: Annotated[str, OneOf("PV equipment only", "other use")] | None = Field(
        None, description="What buildings that DC circuits enter are used for"
    )
    rapid_shutdown: Text | None = Field(
        None, description="What provides rapid shutdown and what starts it; `none` where nothing does"
    )
    units: Annotated[str, OneOf("metric", "imperial")] = Field("metric", description="Units to print first")
    policies: Policies = Field(
        default_factory=lambda: Policies.model_validate({}), description="What the user asks beyond the code"
    )
    questions: list[Text] = Field(default_factory=list, description="Open questions to the authority")


class SpoolOffer(Section):
    """A length of wire as the shop sells it."""

    cable: Ref = Field(description="Make of wire")
    size: ConductorSize = Field(description="Conductor size")
    length: RealLength = Field(description="Length on the spool")
    price: Money | None = Field(None, description="Price of the spool")
    available: Whole | None = Field(None, description="How many are to be had")
    colour: Text | None = Field(None, description="Colour of the wire, where it comes in this one alone")
