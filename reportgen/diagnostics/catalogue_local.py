"""Codes of local rules, of other editions, and of what is kept: one entry a check, with the rule it rests on."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry


def _finding(
    code: str, title: str, rule: str | None, what: str, why: str, cure: str, example: str = ""
) -> Entry:
    return Entry(code, title, what, why, cure, example, "finding", rule)


ENTRIES: tuple[Entry, ...] = (
    Entry(
        "local-rule-unreadable",
        "local rule that cannot be read",
        "A rule of the section `local` has a key that no rule has, a value that does not fit it, or words without effect.",
        "A local rule that is passed over in silence is worse than none: everyone believes it was kept.",
        "Write the key as the appendix of the binder prints it, and the value with its unit. A rule that no edition has takes the key `added`.",
        "local:\n  town: {rule: cover/other/raceway, text: two feet, value: 24 in}",
    ),
    _finding(
        "local-rule",
        "rule of the authority at hand",
        None,
        "States each rule of the section `local`: in force, looser than the edition, or a question.",
        "What the authority at hand asks goes before the book, and has to be seen as its rule and not as the book's.",
        "A stricter number is used. A looser one is used where its traces can be followed, and then everything that rests on it is thin; elsewhere the edition's value stays and the rule is a question.",
        "local:\n  town: {rule: fill, text: a third at most, value: 33 %}",
    ),
    _finding(
        "edition",
        "edition without a rulebook",
        None,
        "The project names an edition or country for which the tool holds no rulebook.",
        "The tables and clauses of another code would look like an answer and be none.",
        "Put the printed questions to someone who works by that code. Voltages, currents, drop, energy and fill are worked out all the same.",
        "project:\n  rulebook: iec",
    ),
    _finding(
        "reuse-conductor",
        "wire that stands already",
        "insulation-table",
        "Judges each existing conductor by its voltage mark, wet and temperature rating, current and age.",
        "Old wire carries the mark of an old design: another voltage, a dry pipe, a cooler place, fewer neighbours in the pipe.",
        "Read the jacket, state what it says, and set `reuse_age` under policies. Replace what one reason speaks against.",
    ),
    _finding(
        "reuse-raceway",
        "pipe that stands already",
        "fill",
        "Asks for the proof that an existing raceway is free from end to end, and for the room in it.",
        "A crushed or flooded pipe is found when the wire is already cut.",
        "Draw a mandrel, a rope or a camera through, and write down how and when under `proved`.",
    ),
    _finding(
        "reuse-box",
        "box that stands already",
        "box-wet",
        "Judges each existing box by where it stands and whether it is listed for wet locations.",
        "Water in a box finds the splice.",
        "State `wet_location` of the box and `inside` of the unit.",
    ),
    _finding(
        "connector-halves",
        "two halves of a connector",
        "connectors",
        "Compares the make of the connectors on the modules with those on the home run.",
        "Halves of two makes fit, heat up and burn, because their contacts and plastics differ.",
        "Use one make and type on both sides, or the document by which they are listed for each other.",
    ),
    _finding(
        "circuit-path",
        "path of a circuit",
        None,
        "Follows each circuit from stretch to stretch: none twice, no gap, and not none at all. Where the way begins and ends is judged by `circuit-places`.",
        "Lengths, fill and factors come from the path; a stretch that is passed twice or left out makes them all wrong.",
        "Name each stretch once, in order, and the box between two raceways as an end of both.",
        "circuits:\n  PV-E1: {path: [R1, R2/yard]}",
    ),
    _finding(
        "circuit-places",
        "places of a path against enclosures, landing and input",
        None,
        "Compares where the raceways of a path begin, pass and end with the enclosures, the devices that the circuit is landed on, the array of its string and the inverter of its input.",
        "A path that leads to another inverter or switch than the wire is landed on gives lengths, fill, drop and labels of a wire that nobody pulls.",
        "Change the one that is wrong: the path, the ends of a raceway, the order of `enclosures`, the landing or the input. A pipe that serves two inverters ends at a box before both; `tails` lead on from there.",
        "raceways:\n  R2: {starts_at: PB-1, ends_at: TR-1}\ncircuits:\n  PV-E1: {path: [R1, R2], enclosures: [PB-1, TR-1, SW-E1]}",
    ),
    _finding(
        "string-positions",
        "which modules a string takes",
        None,
        "Reads `positions` of each string: inside its array, as many places as modules, and none that another string takes.",
        "The plan, the commissioning sheet and whoever makes up the string go by it: a module in two strings or in none is found with a meter, live.",
        "Correct the rows and columns, or the count. Rows count from the top and columns from the left, seen from the front.",
        'strings:\n  E1: {array: EAST, count: 12, positions: "row 1, columns 1-12"}',
    ),
    _finding(
        "string-ends",
        "modules at the ends of a string",
        None,
        "Reads `positive_at` and `negative_at` of a string: one module each, both among its positions, and not the same one.",
        "Whoever comes to fetch the home run parts and joins leads at the module that the plan marks; at a wrong one they are live in the middle of a string.",
        "Correct the module, or the positions. The ends are found by following the leads from module to module.",
        'strings:\n  E1:\n    array: EAST\n    count: 12\n    positions: "row 1, columns 1-12"\n    positive_at: "row 1, column 12"\n'
        '    negative_at: "row 1, column 1"',
    ),
    _finding(
        "circuit-string",
        "string of a circuit, circuit of a string",
        None,
        "Sees that every circuit of strings names its string, and that every string has a circuit that carries it home.",
        "Ampacity, drop, voltage mark and device are judged where a string and its wire meet; without either, none of them is.",
        "Name the string of the circuit, or write the circuit that is missing.",
        "circuits:\n  PV-E1: {string: E1}",
    ),
    _finding(
        "indoor-raceway",
        "raceway inside a building",
        "indoor-raceway",
        "Checks that strings run in metal inside a building.",
        "A fault inside a wall burns on as long as the sun shines; metal keeps it in and carries it back.",
        "Use metal raceway inside, or end the circuits on the outside wall. Plastic outside is another matter.",
    ),
    _finding(
        "raceway-seal",
        "seal where a raceway enters a building",
        "raceway-seal",
        "Asks whether a raceway that comes from earth or open air is sealed inside where it enters.",
        "Warm moist air condenses in the cold pipe and drips into the equipment below; gas and vermin take the same way.",
        "Seal it after the pull, and state `sealed: yes`.",
    ),
    _finding(
        "raceway-drain",
        "drains of a raceway outdoors",
        "raceway-drain",
        "Asks whether water finds its way out at the low points of a raceway that runs outdoors.",
        "Every pipe outdoors takes in water; standing water ages insulation and freezes.",
        "Slope it to a drain or weep hole, and state `drained: yes`.",
    ),
    _finding(
        "unused-openings",
        "unused openings of a box",
        "unused-openings",
        "Asks whether the openings of a box that nothing uses are closed.",
        "Through an open knockout come water, wasps and fingers.",
        "Close them with plugs of the box's own rating, and state `openings_closed: yes` of the unit.",
    ),
    _finding(
        "array-wire-marking",
        "wire exposed behind modules",
        "exposed-single-conductor",
        "Checks that wire which lies exposed within an array is made for sun and rain.",
        "Building wire is for raceways: its jacket cracks in the sun within a few summers.",
        "Use wire marked PV wire or USE-2 there, or keep the tail inside a raceway and state `tail_enclosed: yes`.",
    ),
    _finding(
        "array-wire-voltage",
        "voltage mark of the wire behind modules",
        "insulation-voltage",
        "Compares the cold voltage of the strings of an array with the voltage printed on the wire behind its modules.",
        "The wire behind the modules sees the same voltage as the home run.",
        "Use wire marked for a higher voltage.",
    ),
    _finding(
        "array-wire-ampacity",
        "current of the wire behind modules",
        "free-air-ampacity",
        "Compares the current of a string with what its wire carries in the heat behind the modules.",
        "Behind a module it is as hot as the module: a wire rated for a garage loses half of its ampacity there.",
        "State `wiring` of the array with the number of conductors in a bundle; use a larger wire or smaller bundles.",
    ),
)
