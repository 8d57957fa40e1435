"""What is handed over beside the design: revisions, emergency, structures, instruments, digging, removals, signatures."""

from __future__ import annotations

from pydantic import Field

from reportgen.project.values import Date, Flag, Ident, Ref, Section, Text


class Revision(Section):
    """One issue of the binder."""

    mark: Text = Field(description="Letter or number of the revision")
    what: Text = Field(description="What changed")
    date: Date | None = Field(None, description="When")
    by: Text | None = Field(None, description="By whom")


class Contact(Section):
    """Somebody to call."""

    who: Text = Field(description="Fire brigade, network operator, electrician, owner")
    number: Text | None = Field(None, description="Telephone number; a blank to fill in where it is left out")


class Emergency(Section):
    """How the system is shut down by somebody in a hurry, and whom to call."""

    ac_isolation: Text | None = Field(
        None, description="Device that parts the inverters from the grid, and where it stands"
    )
    fire_link: Text | None = Field(None, description="Link to a fire alarm system, or that there is none")
    smoke_system: Text | None = Field(
        None, description="Smoke detection near the inverters, or that there is none"
    )
    contacts: list[Contact] = Field(default_factory=list, description="Telephone numbers")


class Structure(Section):
    """What holds the modules of an array, and who calculated it."""

    mounting: Text | None = Field(None, description="Maker and type of the rack or table")
    loads: Text | None = Field(None, description="Statement on wind and snow, with the loads it is made for")
    footing: Text | None = Field(None, description="Footings and the ground they stand in")
    by: Text | None = Field(None, description="Who calculated it, or the maker's letter")
    document: Ref | None = Field(None, description="Document that states it")


class Instrument(Section):
    """A meter or tester that readings are taken with."""

    what: Text = Field(description="Multimeter, clamp meter, insulation tester, torque driver")
    maker: Text | None = Field(None, description="Maker and type")
    serial: Text | None = Field(None, description="Serial number")
    category: Text | None = Field(None, description="Measurement category and voltage, as CAT III 1000 V")
    calibrated: Date | None = Field(None, description="Last calibration")
    due: Date | None = Field(None, description="Calibration due")


class Dig(Section):
    """One request to have buried services marked."""

    ticket: Text | None = Field(None, description="Number of the ticket")
    raceways: list[Ref] = Field(default_factory=list, description="Raceways that it covers")
    requested: Date | None = Field(None, description="Day of the request")
    digging_from: Date | None = Field(None, description="First day on which ground may be broken")
    expires: Date | None = Field(None, description="Last day of the ticket")
    private_lines: Text | None = Field(
        None, description="Own lines that the service does not mark, and who traced them"
    )
    document: Ref | None = Field(None, description="Photograph of the marks, or the ticket")


class Removed(Section):
    """Something taken out, or left and made dead."""

    what: Text = Field(description="Circuit, wire or device")
    place: Text | None = Field(None, description="Where it was, or where it still lies")
    amount: Text | None = Field(None, description="Length, mass or number")
    proved_dead: Text | None = Field(None, description="How, by whom and when it was proved dead")
    went_to: Text | None = Field(None, description="Where it went: reused, recycled, left in place")
    date: Date | None = Field(None, description="When")


class FunctionTest(Section):
    """A function that was tried."""

    test: Text = Field(description="What was tried, on which unit")
    result: Text = Field(description="What was seen, with its numbers")
    passed: Flag | None = Field(None, description="Whether it did as it should")
    date: Date | None = Field(None, description="When")
    by: Text | None = Field(None, description="By whom")


class Signature(Section):
    """Who answers for a part of the work."""

    name: Text = Field(description="Name")
    licence: Text | None = Field(None, description="Licence, as text")
    date: Date | None = Field(None, description="When it was signed")


class Operation(Section):
    """What the owner has to know."""

    works: Text | None = Field(None, description="How one sees that it works")
    failure: Text | None = Field(None, description="What to do when it does not")
    cleaning: Text | None = Field(None, description="Whether, how and how often modules are cleaned")
    warranties: list[Text] = Field(default_factory=list, description="What is warranted by whom until when")
    started: Date | None = Field(None, description="Day of commissioning")
    next_test: Date | None = Field(None, description="Day of the next test")


class Handover(Section):
    """What is handed over beside the design."""

    revisions: list[Revision] = Field(
        default_factory=list, description="Issues of the binder, the first one first"
    )
    emergency: Emergency | None = Field(None, description="Shutting down in a hurry")
    structures: dict[Ref, Structure] = Field(
        default_factory=dict, description="By array: what holds the modules"
    )
    instruments: dict[Ident, Instrument] = Field(default_factory=dict, description="Meters and testers")
    dig: dict[Ident, Dig] = Field(default_factory=dict, description="Requests to have buried services marked")
    removed: dict[Ident, Removed] = Field(default_factory=dict, description="What was taken out or made dead")
    functions: dict[Ident, FunctionTest] = Field(
        default_factory=dict, description="Functions that were tried"
    )
    design: Signature | None = Field(None, description="Who answers for the design")
    construction: Signature | None = Field(None, description="Who answers for the construction")
    inspection: Signature | None = Field(None, description="Who answers for inspection and test")
    operation: Operation | None = Field(None, description="What the owner has to know")
