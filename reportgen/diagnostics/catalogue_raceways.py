"""Codes of findings on raceways, boxes and terminals: one entry a check, with the rule it rests on."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry


def _finding(code: str, title: str, rule: str | None, what: str, why: str, cure: str) -> Entry:
    return Entry(code, title, what, why, cure, "", "finding", rule)


ENTRIES: tuple[Entry, ...] = (
    _finding(
        "raceway-jam",
        "three conductors that can wedge",
        "jam",
        "Compares the bore with the diameter of the wire where a stretch holds three conductors of one size and nothing else.",
        "Three wires that fit side by side across the pipe can wedge at a bend. It is advice, not a limit, and says nothing for any other number or mix.",
        "Use another pipe or wire size, or pull with care and lubricant.",
    ),
    _finding(
        "raceway-cover",
        "earth above a buried raceway",
        "cover",
        "Compares the cover, from the top of the pipe to grade, with what the kind of pipe and the place above it ask for.",
        "A pipe that lies too high meets the next spade, plough or wheel. The depth of a trench is not its cover.",
        "Lay it deeper, or use threaded steel pipe, which needs less. State `surface` of the segment where places differ.",
    ),
    _finding(
        "raceway-burial",
        "kind of raceway in earth",
        "raceway-uses",
        "Names kinds of pipe underground that are not made to lie in earth, or only where listed and marked for it.",
        "Flexible metal rusts through, soft tubing is crushed; what looks whole above ground is open below.",
        "Use rigid plastic or threaded steel conduit underground.",
    ),
    _finding(
        "raceway-place",
        "kind of raceway above ground",
        "raceway-place",
        "Names kinds of pipe outdoors, on roofs and inside buildings that are not made for such places, or only where marked for it.",
        "Flexible steel lets the rain in and rusts; soft tubing and buried kinds of plastic turn brittle in the sun and burn inside.",
        "Use pipe that is listed for the place.",
    ),
    _finding(
        "raceway-damage",
        "riser exposed to physical damage",
        "physical-damage",
        "Looks at each stretch that comes out of the ground: its kind stands knocks, or the authority says whether there are any.",
        "Thin-walled plastic splits when a wheelbarrow or a mower hits it.",
        "Use thick-walled plastic or threaded steel for risers, or get the authority's answer.",
    ),
    _finding(
        "raceway-settlement",
        "settlement and frost at risers",
        "earth-movement",
        "Asks what takes up the movement of the ground where a raceway leaves it and is fixed to a structure.",
        "A trench that settles pulls the pipe out of the box, and with it the wires off their terminals.",
        "Put in a slip fitting, a loop or a flexible piece, and state `settlement_fitting: yes`.",
    ),
    _finding(
        "raceway-support",
        "supports of a raceway",
        "support",
        "Compares the spacing of supports above ground, and the distance of the first one, with those of the kind and size.",
        "A pipe that sags collects water and pulls at its boxes; plastic sags in the sun.",
        "Add supports. The finding of a raceway without stated supports lists what each stretch needs.",
    ),
    _finding(
        "raceway-bend-radius",
        "radius of a bend",
        "bend-radius",
        "Compares the centreline radius of each bend with the least radius of a field bend of that trade size.",
        "A bend that is too tight flattens the pipe and scrapes the wire on its inside.",
        "Bend it wider, use a factory elbow, and state `bends_made`.",
    ),
    _finding(
        "raceway-wire-bend",
        "bend against the maker of the wire",
        None,
        "Compares the inner radius of each bend with the smallest bend that the maker of the wire allows, where it is stated.",
        "Insulation that is bent too far thins on the outside of the bend and fails years later.",
        "Use a wider bend, or a wire that may be bent further.",
    ),
    _finding(
        "raceway-expansion",
        "thermal movement of plastic raceways",
        "expansion",
        "Works out how much each straight run of rigid plastic pipe above ground grows and shrinks, and whether fittings take it up.",
        "Fixed at both ends it buckles in the sun and tears off its box in the cold.",
        "Put in an expansion fitting, set its opening by the temperature of the pipe, and state `expansion_travel`.",
    ),
    _finding(
        "box-volume",
        "room in a box",
        "box-fill",
        "Counts what passes, is cut or is mounted in a box and compares the volume it needs with that of the box.",
        "Wires that are crammed into a box get nicked, run hot and spring off their terminals.",
        "Use a larger box. State `splices`, `internal_clamps` and `terminal_blocks` of the box where they decide.",
    ),
    _finding(
        "box-wet",
        "new box in the wet",
        "box-wet",
        "Checks that a new box outside a building is listed for wet locations.",
        "Water in a box finds the splice.",
        "State `wet_location` of the box and `inside` of the unit, and use a box listed for where it stands.",
    ),
    _finding(
        "box-pull",
        "length of a pull box",
        "pull-box",
        "Compares the inside measures of a box, and the distance between entries, with what large conductors need.",
        "A thick conductor that is bent too short is damaged while it is pulled, and nobody sees it afterwards.",
        "Use a larger box, other walls for the entries, or a box that its maker marks for these conductors. State `entries`.",
    ),
    _finding(
        "box-gland",
        "gland against the cable in it",
        "box-entry",
        "Compares the outside diameter of each cable with the range that its gland clamps.",
        "A gland that is too wide lets water in and holds nothing; one that is too narrow cuts the jacket.",
        "Use a gland whose range holds the cable.",
    ),
    _finding(
        "terminal-size",
        "size of conductors at terminals",
        "terminal-range",
        "Compares every conductor that lands on a device with the smallest and the largest that its terminals take.",
        "A wire too thin slips out of the clamp, one too thick loses strands at it; both end in heat.",
        "Use a size within the range, and state `smallest` and `largest` of the terminals.",
    ),
    _finding(
        "terminal-count",
        "conductors under one clamp",
        "terminal-range",
        "Counts the conductors and links under each clamp and compares them with the number the maker allows.",
        "Two wires under a clamp made for one are held by chance: the thinner one works loose.",
        "Give each conductor a clamp of its own, or state `conductors_per_terminal`.",
    ),
)
