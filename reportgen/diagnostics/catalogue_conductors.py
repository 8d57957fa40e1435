"""Codes of findings on conductors beyond their two ampacity tests."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry, finding

ENTRIES: tuple[Entry, ...] = (
    finding(
        "parallel-size",
        "smallest conductor in parallel",
        "parallel-conductors",
        "Compares conductors that run in parallel a leg with the smallest size that may.",
        "Thin wires do not share a current evenly, and the one that takes more burns unseen.",
        "Use one larger conductor a leg.",
    ),
    finding(
        "aluminum-terminals",
        "aluminum on terminals",
        "terminal-metal",
        "Checks that every terminal on the way of aluminum conductors is marked for aluminum.",
        "Aluminum creeps under a clamp made for copper, and the joint loosens and heats.",
        "State `aluminum` of the terminals as the maker marks them, or use copper.",
        "inverters:\n  H10: {terminals: {aluminum: yes}}",
    ),
    finding(
        "output-device",
        "device of an output circuit",
        "conductor-protection",
        "Holds the device ahead of an output circuit against its current for continuous duty, and against the largest one that protects its conductors in their worst stretch; its rated voltage and poles against those of the circuit.",
        "A device that is too small trips on every good day; one that is too large lets the conductor burn.",
        "State `device`, `device_voltage` and `device_poles` of the output circuit, and choose device and conductor together.",
        "circuits:\n  AC-1: {kind: output, inverter: INV-1, device: 60 A, current: 41.7 A}",
    ),
    finding(
        "output-wire-voltage",
        "voltage mark of output conductors",
        "insulation-voltage",
        "Compares the voltage printed on the wire of an output circuit with its own voltage and with the cold voltage of every string in the same pipe.",
        "Of wires that lie together, each has to stand the highest voltage of all.",
        "Use wire marked for the highest voltage in its pipes, or give the output a pipe of its own.",
    ),
    finding(
        "output-beside-strings",
        "output conductors in one pipe with strings",
        "wiring-identification",
        "Tells where an output circuit lies in one raceway with strings.",
        "Grouping and separation of the two sides depend on the edition and on what the authority accepts.",
        "Give the output a pipe of its own, or put the question to the authority.",
    ),
    finding(
        "stated-ambient",
        "ambient stated below that of the site",
        "ambient-correction",
        "Compares the hottest temperature stated for a stretch outdoors or in earth, or for wire behind modules, with the design high or the ground temperature of the site.",
        "Every ampacity there rests on it: a pipe is never cooler than the air around it in the hottest hour.",
        "State the hottest temperature of the place, or leave it out to take that of the site.",
    ),
    finding(
        "short-stretch",
        "exception for short stretches",
        "short-segment",
        "Tells what the exception comes to that the folder claims for short stretches of lower ampacity.",
        "It holds for the total length of all that is lower, up to the lesser of a length and a share of the circuit, and is never taken without a claim.",
        "Claim it only for stretches that are short in total, with `short_segment_claimed: yes`.",
    ),
    finding(
        "indoor-marking",
        "marking for the inside of a building",
        "insulation-table",
        "Looks for wire inside a building that is marked for service entrances alone.",
        "USE-2 without a second marking burns too well for the inside of a house.",
        "Use wire that is also marked RHW-2, or change over before the building.",
    ),
    finding(
        "engineered-current",
        "maximum current by an engineered method",
        "max-current",
        "Tells whether a maximum current that an engineer found is used, and asks for the proof.",
        "The method is for large systems and for licensed engineers; a floor holds all the same.",
        "Keep the calculation with the documents, or remove `engineered_current`.",
    ),
)
