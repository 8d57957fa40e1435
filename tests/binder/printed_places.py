"""Where the binder prints each number of ``results.json``, and what it does not print, by path."""

from __future__ import annotations

from dataclasses import dataclass

#: A number as it is printed.
NUMBER = r"−?\d+(?:\.\d+)?"

#: What is by choice not printed, by path, and why.
NOT_PRINTED = {
    "format": "version of the file's own form",
    "energy/strings/*/*/#": "single months of single strings: 240 numbers; the sum of each stands in `The year by "
    "string`, the months of their inputs in `The year by month, input and inverter`, and all in `energy-months.csv`",
    "findings/reading-ends/value": "the difference of two voltages that are printed",
    "findings/reading-ends/limit": "what two ends may differ by: the margin tells it",
    "findings/reading-insulation/limit": "least insulation of a reading that meets: the margin tells it",
    "findings/reading-legs/value": "share of the voltage to one digit only, because the legs themselves are printed",
    "findings/reading-trend/value": "modules lost since, to the second digit behind the point only",
    "findings/reading-trend/limit": "what a string may lose over the years: the margin tells it",
    "readings/#/judged/*/mistakes/#/predicted": "what a reading would be by a mistake that was not made",
}


@dataclass(frozen=True)
class Place:
    """One cell: of the table with a caption, the row that begins with some cells, under a head."""

    caption: str
    row: tuple[str, ...]
    column: str
    places: int
    #: Which number of the cell, where several stand in it.
    pattern: str = rf"^({NUMBER})"
    #: Unit that the number has there, where the head does not say it.
    unit: str | None = None
    #: A limit, rounded to its safe side: not to be exceeded, or to be reached.
    at_most: bool | None = None


#: Place of each path; ``{0}``, ``{1}`` are the parts of the path that ``*`` stands for.
PLACES: dict[str, tuple[Place, ...]] = {
    "strings/*/modules": (Place("String voltages", ("{0}",), "N", 0, unit=""),),
    "strings/*/cold/record low/by_coefficient": (Place("String voltages", ("{0}",), "coefficient V", 1),),
    "strings/*/cold/record low/by_table": (Place("String voltages", ("{0}",), "code table V", 1),),
    "strings/*/cold/record low/temperature": (
        Place("Basis of the design", ("Record low",), "#1", 0, rf"^({NUMBER}) °C ", "°C"),
    ),
    "strings/*/cold/mean annual minimum/by_coefficient": (
        Place("String voltages", ("{0}",), "coefficient V#2", 1),
    ),
    "strings/*/cold/mean annual minimum/by_table": (Place("String voltages", ("{0}",), "code table V#2", 1),),
    "strings/*/cold/mean annual minimum/temperature": (
        Place("Basis of the design", ("Mean annual minimum",), "#1", 0, rf"^({NUMBER}) °C ", "°C"),
    ),
    "strings/*/governing": (Place("String voltages", ("{0}",), "coefficient V", 1),),
    "strings/*/hot_operating": (Place("String voltages", ("{0}",), "V mp V", 1),),
    "strings/*/cold_operating": (Place("String voltages", ("{0}",), "V mp cold V", 1),),
    "strings/*/maximum_current": (Place("String currents", ("{0}",), "I max A", 2),),
    "strings/*/continuous_current": (Place("String currents", ("{0}",), "continuous A", 2),),
    "inputs_of_inverters/*/operating": (Place("Inverter inputs and what ends there", ("{0}",), "I mp A", 2),),
    "inputs_of_inverters/*/short_circuit": (
        Place("Inverter inputs and what ends there", ("{0}",), "I sc A", 2),
    ),
    **{
        f"circuits/*/{key}": (Place("Circuits: both ampacity tests", ("{0}",), column, 2, at_most=True),)
        for key, column in (("terminal_ampacity", "ampacity A"), ("ampacity", "ampacity A#2"))
    },
    **{
        f"circuits/*/{key}": (Place("Circuits: voltage drop and loss", ("{0}",), column, places),)
        for key, column, places in (
            ("length", "one way m", 1),
            ("conductor_temperature", "conductor °C", 0),
            ("resistance", "loop Ω", 3),
            ("drop", "drop V", 2),
            ("drop_share", "drop %", 2),
            ("loss", "loss W", 1),
            ("hottest_hour/drop_share", "drop %#2", 2),
            ("hottest_hour/loss", "loss W#2", 1),
        )
    },
    "circuits/*/stretches/*": (
        Place(
            "Ampacity of each circuit in each stretch of raceway",
            ("{0}", "{1}"),
            "Ampacity A",
            2,
            at_most=True,
        ),
    ),
    "circuits/*/terminals/*": (
        Place("Ampacity at every terminal of each circuit", ("{0}", "{1}"), "Ampacity A", 2, at_most=True),
    ),
    "raceways/*/carry_current": (Place("Raceways by stretch", ("{0}",), "carry current", 0),),
    "raceways/*/take_space": (Place("Raceways by stretch", ("{0}",), "take space", 0),),
    "raceways/*/fill": (Place("Raceways by stretch", ("{0}",), "Fill %", 1),),
    "raceways/*/limit": (Place("Raceways by stretch", ("{0}",), "Limit %", 0, at_most=True),),
    **{
        f"covers/*/{key}": (
            Place("Cover of buried stretches", ("{0}",), column, 0, unit="mm", at_most=side),
            Place("Cover of buried stretches", ("{0}",), column, 1, rf"\(({NUMBER})\)$", "in", side),
        )
        for key, column, side in (("cover", "Cover mm (in)", None), ("least", "Least mm (in)", False))
    },
    "movement/*/length": (Place("Thermal movement above ground", ("{0}",), "Length m", 2),),
    "movement/*/change": (
        Place("Thermal movement above ground", ("{0}",), "Change mm (in)", 1, unit="mm"),
        Place("Thermal movement above ground", ("{0}",), "Change mm (in)", 2, rf"\(({NUMBER})\)$", "in"),
    ),
    "movement/*/travel": (Place("Thermal movement above ground", ("{0}",), "Travel mm", 0),),
    "boxes/*/conductors": (Place("Boxes", ("{0}",), "Conductors in it", 0, r"(\d+) ×", ""),),
    "boxes/*/least_volume": (Place("Boxes", ("{0}",), "needed by what is stated cm³", 0, at_most=False),),
    "boxes/*/most_volume": (Place("Boxes", ("{0}",), "and by what is not cm³", 0, at_most=False),),
    "boxes/*/volume": (
        Place("Boxes", ("{0}",), "of the box cm³ (in³)", 0, unit="cm³", at_most=True),
        Place("Boxes", ("{0}",), "of the box cm³ (in³)", 1, rf"\(({NUMBER})\)$", "in³", True),
    ),
    "terminals/*/landed": (Place("Terminals", ("{0}",), "Conductors landed", 0),),
    "terminals/*/under_one_clamp": (Place("Terminals", ("{0}",), "most", 0),),
    "pulls/*/stop": (Place("Pulls by section", ("{0}",), "Stop at N", 0, at_most=True),),
    "cuts/*/pieces/*": (Place("Lengths to cut", ("{1}",), "Cut m", 1),),
    "cuts/*/buy/*": (Place("Spools to buy", ("{0}", "{1}"), "Buy", 0),),
    "landing/*/poles": (
        Place("Landing of every leg, with all switches closed", ("{0}",), "Poles in series", 0),
    ),
    "pulls/*/greatest/*/*": (
        Place("Tension behind every straight and bend, both ways", ("{0}", "{1}"), "{2} N", 1),
    ),
    "pulls/*/line": (Place("Line, head and wires", ("Pull line",), "{0}", 1, rf"^({NUMBER}) m", "m"),),
    "pulls/*/lubricant": (Place("Line, head and wires", ("Lubricant",), "{0}", 2, rf"^({NUMBER}) L", "L"),),
    "readings/*/open_circuit_voltage": (Place("Voltages judged", ("{0}",), "read V", 1),),
    "readings/*/expected": (Place("Voltages judged", ("{0}",), "expected V", 1),),
    "readings/*/uncertainty": (Place("Voltages judged", ("{0}",), "± V", 1),),
    "readings/*/judged/alike/modules_by_others": (Place("Voltages judged", ("{0}",), "by others", 0),),
    "materials/*": (Place("Materials", ("{0}",), "Number", 1, unit="as in its row"),),
    "assumptions/*/value": (Place("Assumptions", ("{0}",), "Value", -1, rf"^({NUMBER}) "),),
    **{
        f"energy/{key}/*": (Place("The year by month, input and inverter", ("site", said), "{0} kWh", 0),)
        for key, said in (
            ("dc", "modules"),
            ("wire", "lost in wires"),
            ("clipped", "left in modules"),
            ("ac", "AC output"),
        )
    },
    "energy/chain/*/kwh": (Place("Where the energy goes", ("{0}",), "Amount kWh", 1),),
    "predicted_readings/*/voltage": (
        Place("Reading predicted at every input for the landing as drawn", ("{0}",), "Voltmeter shows V", 1),
    ),
    "energy/year/ac": (Place("The year", ("AC output of the year",), "#1", 0, r"^(\d+) kWh", "kWh"),),
    "energy/year/half_width_share": (
        Place("The year", ("AC output of the year",), "#1", 0, r"±(\d+) %", "share"),
    ),
    "energy/year/low": (Place("The year", ("AC output of the year",), "#1", 0, r": (\d+) to", "kWh"),),
    "energy/year/high": (Place("The year", ("AC output of the year",), "#1", 0, r"to (\d+) kWh", "kWh"),),
}
