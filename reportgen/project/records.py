"""What is recorded around a design: readings, stock, prices, local rules, documents, reviews, variants."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from reportgen.project.layout import SpoolOffer
from reportgen.project.values import (
    Current,
    Date,
    Flag,
    Force,
    Ident,
    Irradiance,
    Length,
    LinearForce,
    Money,
    OneOf,
    Plain,
    Ref,
    Resistance,
    Section,
    Temperature,
    Text,
    Voltage,
)


class StringReading(Section):
    """What the meter showed for one string."""

    open_circuit_voltage: Voltage | None = Field(
        None, description="Voc, sign as read with the red lead on the conductor labelled +"
    )
    short_circuit_current: Current | None = Field(None, description="Isc")
    operating_voltage: Voltage | None = Field(None, description="Voltage while running")
    operating_current: Current | None = Field(None, description="Current while running")
    positive_to_ground: Voltage | None = Field(None, description="Positive leg to ground, settled")
    negative_to_ground: Voltage | None = Field(None, description="Negative leg to ground, settled")
    insulation: Resistance | None = Field(None, description="Insulation resistance to ground")
    insulation_test_voltage: Voltage | None = Field(None, description="Test voltage of that measurement")
    cell_temperature: Temperature | None = Field(None, description="Where it differs from the series' own")
    irradiance: Irradiance | None = Field(None, description="Where it differs from the series' own")
    time: Text | None = Field(None, description="Local time, for instance `10:42`")
    remark: Text | None = Field(None, description="Anything odd")


class Reading(Section):
    """One series of readings: same day, same instrument, same point of measurement."""

    date: Date = Field(description="Day of measurement")
    by: Text | None = Field(None, description="Who measured")
    at: Annotated[str, OneOf("array", "switch", "input")] = Field(description="Point of measurement")
    instrument: Text | None = Field(None, description="Maker, type and serial number of the meter")
    voltage_error: Plain | None = Field(None, description="Error of the meter in percent of reading")
    cell_temperature: Temperature | None = Field(None, description="Module back temperature")
    irradiance: Irradiance | None = Field(None, description="In the plane of the modules")
    sky: Text | None = Field(None, description="Clear, hazy, cloudy")
    dry: Flag | None = Field(
        None, description="Modules, wires and ground were dry; decides an insulation reading that is repeated"
    )
    strings: dict[Ref, StringReading] = Field(description="Readings by string id")


class Commissioning(Section):
    """What the commissioning sheet is made for."""

    dates: list[Date] = Field(
        default_factory=list, description="Days to measure on; the sheet gives the hours with enough sun"
    )
    cell_temperatures: list[Temperature] = Field(
        default_factory=list, description="Cell temperatures that expected readings are tabled for"
    )
    irradiances: list[Irradiance] = Field(
        default_factory=list, description="Irradiances that expected readings are tabled for"
    )
    cell_temperature: Temperature | None = Field(
        None, description="Cell temperature, in full sun, that predicted readings are stated for"
    )


class ItemPrice(Section):
    """Price of one line of the materials list."""

    item: Text = Field(description="Name of the line as the materials list prints it")
    price: Money = Field(
        description="Price of one unit of that line as printed: a metre or a foot, a piece, a litre or a gallon"
    )


class Prices(Section):
    """Money, in one currency."""

    items: list[ItemPrice] = Field(default_factory=list, description="Prices of materials by line")

    currency: Text = Field("USD", description="Currency of every price")
    energy: Money | None = Field(None, description="Value of one kWh")
    module: Money | None = Field(None, description="Price of one further module")


#: Sheets of labels, named by their dimensions in millimetres; a test holds them against the sizes.
LabelSheet = Annotated[
    str,
    OneOf(
        "A4 21 of 63.5 x 38.1",
        "A4 24 of 70 x 36",
        "A4 65 of 38.1 x 21.2",
        "letter 30 of 66.7 x 25.4",
        "letter 80 of 44.4 x 12.7",
    ),
]


class Stock(Section):
    """What can be bought, and what is known for the pull."""

    label_sheet: LabelSheet | None = Field(None, description="Sheet that wire labels are printed on")

    spools: dict[Ident, SpoolOffer] = Field(default_factory=dict, description="Lengths the shop sells")
    head: Length | None = Field(None, description="Length that the pulling head takes of each conductor")
    trim: Length | None = Field(None, description="Length cut off at the ends after the pull")
    friction_dry: Plain | None = Field(None, description="Coefficient of friction without lubricant")
    friction_lubricated: Plain | None = Field(None, description="Coefficient of friction with lubricant")
    weight_correction: Plain | None = Field(
        None, description="Weight correction factor from the cable maker's manual"
    )
    sidewall_limit: LinearForce | None = Field(None, description="Sidewall pressure the cable maker allows")
    tension_limit: Force | None = Field(None, description="Tension the cable maker or the grip allows")
    line_ends: Length | None = Field(
        None, description="Pull line that hangs out at both ends of a pull together"
    )
    feed_tension: Force | None = Field(
        None, description="Tension with which the wires are held back at the feed end"
    )
    line_rating: Force | None = Field(None, description="Working load of the pull line")


class LocalRule(Section):
    """What the authority at hand adds or overrides, shown as such."""

    rule: Text = Field(
        description="Key of the rule, as the appendix prints it, with row and column where one cell is meant (`cover/other/raceway`); `added` for a rule that no edition has"
    )
    text: Text = Field(description="What the authority asks, in its words")
    authority: Text | None = Field(None, description="Who says so")
    value: Text | None = Field(None, description="The value that replaces the edition's, with its unit")
    outcome: Annotated[str, OneOf("ask", "fails")] | None = Field(
        None, description="Outcome where the rule is added and cannot be computed"
    )


class Document(Section):
    """A file and what it proves."""

    kind: (
        Annotated[
            str,
            OneOf("data sheet", "manual", "certificate", "letter", "permit", "photo", "red line", "other"),
        ]
        | None
    ) = Field(None, description="What sort of paper it is")
    file: Text | None = Field(None, description="File in this folder")
    proves: Text = Field(description="What it proves")
    of: Ref | None = Field(None, description="Id of the thing it belongs to")


class AsBuilt(Section):
    """One thing built otherwise than designed."""

    item: Text = Field(description="Id or sheet")
    designed: Text = Field(description="As designed")
    built: Text = Field(description="As built")
    reason: Text | None = Field(None, description="Why")
    date: Date | None = Field(None, description="When")
    by: Text | None = Field(None, description="By whom")
    affects_calculation: Flag | None = Field(
        None, description="Whether a figure of the design rests on what was built otherwise"
    )
    recalculated: Flag | None = Field(None, description="Whether the inputs were changed to match")
    measured_length: Length | None = Field(
        None, description="Length as built, where `item` is a stretch such as `R1/trench`"
    )
    photo: Ref | None = Field(None, description="Document with the photograph or the red line")
    accepted_by: Text | None = Field(None, description="Who accepted it")


class Review(Section):
    """Who reviewed which digest."""

    name: Text = Field(description="Reviewer")
    role: Text | None = Field(None, description="Role")
    licence: Text | None = Field(None, description="Licence, as text")
    date: Date | None = Field(None, description="When")
    digest: Text | None = Field(None, description="Input digest reviewed")
    remarks: list[Text] = Field(default_factory=list, description="Remarks")
    accepted: list[Text] = Field(
        default_factory=list, description="Finding ids accepted, each with its reason after a colon"
    )


class Before(Section):
    """An earlier design to compare with."""

    folder: Text | None = Field(None, description="Folder, relative to this one")
    revision: Text | None = Field(None, description="Revision of this folder")


class Variant(Section):
    """An overlay under variants/ and what it tries."""

    file: Text = Field(description="File under variants/")
    tries: Text | None = Field(None, description="What it tries")
    chosen: Flag = Field(False, description="The one that is built")
