"""Codes of findings on overcurrent protection, bonding, ground faults and surges, each with the rule it rests on."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry


def _finding(
    code: str, title: str, rule: str | None, what: str, why: str, cure: str, example: str = ""
) -> Entry:
    return Entry(code, title, what, why, cure, example, "finding", rule)


ENTRIES: tuple[Entry, ...] = (
    _finding(
        "string-fuse",
        "whether a string needs a fuse",
        "ocpd-needed",
        "Adds up what the other strings in parallel and the inverter can drive into a fault of one string, and compares it with the maximum series fuse of its modules and with the least ampacity of its conductors.",
        "Without a fuse a faulted string is fed by all the others. One string alone, or two small ones, need none; three nearly always do.",
        "Fit a fuse of a rating that the finding names, or give the string an input of its own.",
        "strings:\n  E1: {array: EAST, count: 12, input: INV-1/A, fuse: GPV25}",
    ),
    _finding(
        "fuse-floor",
        "fuse not too small",
        "ocpd-rating",
        "Compares the rating of a fuse or breaker with the maximum current of its string times the factor for devices.",
        "Bright clouds drive a string above its nameplate current for minutes. A fuse sized too tight ages and opens on the best day of the year.",
        "Use a larger rating, within the ceilings of module and conductor.",
    ),
    _finding(
        "fuse-module",
        "fuse not above the module's greatest",
        "module-series-fuse",
        "Compares the rating of a fuse or breaker with the maximum series fuse on the module's label. This bound never rounds up.",
        "Cells and connectors are tested with that current flowing backwards, and with no more.",
        "Use a smaller rating. Where no rating fits between floor and ceiling, put fewer strings in parallel.",
    ),
    _finding(
        "device-conductor",
        "device protects its conductor",
        "conductor-protection",
        "Compares the rating of a fuse or breaker with the greatest one that protects the conductor at its ampacity after factors, in its worst stretch and at its terminals. The next standard size up is taken only where the ampacity is no standard rating, and caps for small conductors hold.",
        "A conductor among sixteen in a hot pipe is worth half of what its table column says.",
        "Use a larger conductor or a smaller rating.",
    ),
    _finding(
        "device-array-wire",
        "device protects the wire behind the modules",
        "conductor-protection",
        "Compares the rating of a fuse or breaker with the greatest one that protects the wire behind the modules of its string, at the temperature there. Its ampacity is a lower bound by the table for raceways: above it the finding asks.",
        "Behind a hot module a wire carries half of what its table column says, and the fuse of its string is all that protects it.",
        "Use a larger wire or smaller bundles behind the modules, or a smaller rating. State `wiring` of the array.",
    ),
    _finding(
        "fuse-voltage",
        "cold voltage against the fuse",
        "ocpd-listed",
        "Compares the cold voltage of a string with the rated direct voltage of its fuse.",
        "A fuse that opens above its rated direct voltage goes on burning.",
        "Use a fuse and a holder for a higher direct voltage. A rating for alternating current says nothing here.",
    ),
    _finding(
        "fuse-listing",
        "fuse listed for photovoltaic use",
        "ocpd-listed",
        "States whether a fuse or breaker is listed for photovoltaic direct current.",
        "Fault currents of strings are small, and ordinary fuses do not open on them in time.",
        "State `listed_for_pv` of the fuse type, and use one that is.",
    ),
    _finding(
        "fuse-breaking",
        "breaking capacity of a fuse",
        "ocpd-listed",
        "Compares the current that can be fed into a fault with the breaking capacity of the fuse, where that is stated.",
        "A battery behind the input can feed far more than strings do.",
        "Use a fuse of a higher breaking capacity, and state what the inverter feeds back.",
    ),
    _finding(
        "fuse-poles",
        "fuse in one leg or both",
        "ocpd-one-pole",
        "Checks that a device in one leg alone stands in the same leg throughout and rests on ground-fault protection, which the inverter declares.",
        "With one leg fused, a fault to ground in the other is left to ground-fault protection. Switches open both legs all the same.",
        "State `fused_pole` of the string and `ground_fault_protection` of the inverter type.",
    ),
    _finding(
        "fuse-idle",
        "fuse in the folder and in no string",
        None,
        "Names fuse types that no string and no path of a circuit uses.",
        "A fuse that hangs somewhere without a known string is neither too large nor too small, it is unknown.",
        "Write `fuse:` in the string that it protects, or take the type out of the folder.",
    ),
    _finding(
        "combined-circuit",
        "strings joined before the input",
        "conductor-protection",
        "Names strings that are joined in a box, and the current that their common conductor carries.",
        "What runs from a combiner box to the input carries the sum; its conductor and its device are not described here.",
        "Get conductor and device judged, and keep the answer with the design.",
    ),
    _finding(
        "backfeed",
        "current fed back by the inverter",
        "ocpd-needed",
        "The current that the inverter can feed back into a faulted string is not stated.",
        "It decides, together with the other strings of the input, whether a string needs a fuse.",
        "Look for it in the manual, often under short-circuit or back-feed current, and state `backfeed_current`.",
    ),
    _finding(
        "ground-fault",
        "ground-fault detection",
        "ground-fault",
        "States whether the inverter declares ground-fault detection.",
        "In a floating array the first fault to ground shows nowhere else, and the second one burns.",
        "State `ground_fault_protection` of the inverter type.",
    ),
    _finding(
        "surge-protection",
        "surge protection",
        None,
        "States whether the inverter declares surge protection at its PV inputs.",
        "Long runs from an array in the open carry surges of near lightning into the inverter. No protection makes work in a thunderstorm safe.",
        "State `surge_protection` of the inverter type.",
    ),
    _finding(
        "string-disconnect",
        "means to part strings from their inverter",
        "isolating-device",
        "Names strings whose legs are landed on an inverter without a switch of the folder between.",
        "Without a switch nobody can work on the inverter while there is light, and in a fire nobody can part it from the array.",
        "Put a switch for direct current between, or state the one that is built into the inverter as a switch with its own landing.",
    ),
    _finding(
        "array-bonding",
        "frames bonded",
        "bonding",
        "Checks that the frames and rails of an array are joined by listed means and tied to an equipment grounding conductor that runs with its circuits.",
        "A frame that is not tied to the ground stays live after a fault, and nothing detects it.",
        "State `frames_bonded` and `grounded_by` of the array.",
        "arrays:\n  EAST: {module: M450, frames_bonded: yes, grounded_by: EG-1}",
    ),
    _finding(
        "ground-way",
        "ground followed to its end",
        "ground-fault-path",
        "Follows each ground from joint to joint to an inverter: over terminals tied to an enclosure, links, grounds that are said to be joined, and the end of its raceway. It asks where the strings that a ground runs with end at an inverter that no stated ground comes to.",
        "A ground that ends in a box carries no fault current back, and nothing opens. What rests on such a ground is unknown with it.",
        "State `bonded_to` of the ground, or land it in `landing` on a ground terminal where another ground is landed.",
        "circuits:\n  EG-2:\n    kind: ground\n    cable: THWN10\n    size: 10 AWG\n    path: [R2/roof, R2/drop]\n    bonded_to: EG-1",
    ),
    _finding(
        "raceway-bonding",
        "bonding of metal raceways",
        "bonding-over-250",
        "Names metal raceways whose circuits come to more than 250 V to ground, and whether the edition asks more than ordinary bonding of them.",
        "A locknut on a painted box or a loose ring of a knockout does not carry the fault current of such a circuit for certain.",
        "State `pv_legs` of the inverter type; else bond the raceway with fittings made for it and show them to the inspector.",
    ),
    _finding(
        "array-electrode",
        "electrode at the array",
        "grounding-electrode",
        "States whether the edition requires, permits or leaves open an electrode at the array, and that it stands beside an equipment grounding conductor.",
        "Soil conducts far too badly to open a fuse or to trip a detector: a rod never replaces the wire.",
        "State `electrode` of the array, `none` where there is none, and put the question to the authority.",
    ),
    _finding(
        "leg-bonded",
        "leg on a ground terminal",
        None,
        "Looks for legs of strings and leads of inputs that a landing, a link or a closed pole makes one with a ground.",
        "Bonding a leg of an input that floats destroys the inverter or trips it for ever, and makes the other leg dangerous against every frame.",
        "Take the link or the wire off the ground terminal. Name such terminals under `ground_terminals` of the switch or box.",
    ),
)
