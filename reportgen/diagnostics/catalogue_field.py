"""Codes of findings on labels, placards, terminations and materials: what the installer carries outside."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry, finding

ENTRIES: tuple[Entry, ...] = (
    finding(
        "wire-labels",
        "labels of every wire",
        "wiring-identification",
        "Follows each wire from end to end and lists a label for either end, for every box passed, and for both sides of every device it lands on. A leg in white, grey or green fails.",
        "Wires that look alike get mixed up in a pull. A colour fades or is missing, so polarity stands in words. A live leg in the colour of a ground is taken for one.",
        "State what the finding names: an end, the path, or what the highest voltage needs.",
    ),
    finding(
        "placard-max-voltage",
        "placard of the highest voltage",
        "labels-max-voltage",
        "Works out the voltage, and the current where the edition asks for it, that the placard at each place prints.",
        "Who opens the device later has only the placard to tell what is inside.",
        "State what the cold voltage of the strings needs.",
    ),
    finding(
        "placard-disconnect",
        "placard of what stays live",
        "labels-disconnect",
        "Names the terminals of each switch that stay live with the switch open, by the landing and the links.",
        "An open switch cuts only one side; the array side is live in any light.",
        "State the landing of every leg on the switch.",
    ),
    finding(
        "termination-torque",
        "torque of terminals",
        "terminal-torque",
        "Looks for the maker's torque of each device on which a conductor lands.",
        "Loose terminals are among the most common faults found, and they burn. A guessed torque is no torque.",
        "Write `torque` of the terminals with the document and page that state it.",
    ),
    finding(
        "termination-ferrule",
        "ferrules on fine strands",
        "terminal-range",
        "Holds what the maker says of ferrules against the strands of the wire that lands on the device.",
        "Fine strands spread under a screw that is made for coarse ones; a ferrule in a clamp that is not made for it works loose.",
        "State `ferrule` of the terminals, or use a wire or a terminal that goes with the other.",
    ),
)
