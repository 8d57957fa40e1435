"""Codes of findings on switches and on the power at inverters, each with the rule it rests on."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "switch-current",
        "current through a switch",
        "Compares the maximum current of all strings whose legs hang together on a switch with its rated current. "
        "Between the maximum current and that current times the factor for continuous duty the maker is asked.",
        "Sun lasts for hours: contacts that are too small heat up, lose their spring and arc when they are opened.",
        "Choose a switch with a higher rated current, or give each string a switch of its own.",
        "switches:\n  K4:\n    rated_current: 25 A",
        "finding",
        "disconnect-rating",
    ),
    Entry(
        "switch-load-break",
        "switch rated to open under load",
        "Tells whether the maker rates the switch to open direct current under load, and whether the utilisation "
        "category stated says the same. A polarised switch, wired as marked or not, is a question; one of which nobody says is unknown.",
        "A direct-current arc does not go out by itself; a switch that is not made for it burns in the hand.",
        "State `load_break` and `polarised` from the data sheet. A device that may not be opened under load needs a mark that says so, "
        "and another one that stops the current first.",
        "switches:\n  K4:\n    load_break: yes\n    polarised: no\n    utilisation_category: DC-PV2",
        "finding",
        "isolating-device",
    ),
    Entry(
        "array-guarding",
        "reachable array wiring",
        "Holds what keeps people from the wiring of an array against what the edition asks above its voltage.",
        "On a table at ground level children, animals and tools reach the wire behind the modules, at hundreds of volts.",
        "State `guarding` of the array: `out of reach`, `screen`, `fence`, `raceway`, or `none`.",
        "arrays:\n  EAST:\n    guarding: screen",
        "finding",
        "wiring-methods",
    ),
    Entry(
        "inverter-pv-power",
        "PV power of an inverter",
        "Adds up the power at standard conditions of all modules whose strings end at an inverter, and compares it with "
        "the PV power limit of its data sheet. The ratio to the rated output is told with it.",
        "A maker who limits the PV power ties the warranty to it; and power that the output cannot take is lost on bright days.",
        "Move a string to another inverter, or ask the maker whether more modules are allowed.",
        "inverters:\n  H10:\n    maximum_pv_power: 16 kW",
        "finding",
        None,
    ),
    Entry(
        "inverter-balance",
        "balance between inverters of one type",
        "Compares the PV power of the least loaded inverter of a type with that of the most loaded one, as a share of the latter. "
        "Inverters that are stacked to one output are of one type; those of different types are not compared.",
        "No rule asks for it. But the fuller one clips in strong sun while the other has room, and a shared battery or output is "
        "loaded by one side: common practice keeps them alike. The target is your own, 20 % where you name none.",
        "Move a string to the emptier inverter, or accept it and set `balance_target` in the policies.",
        "project:\n  policies: {balance_target: 25 %}",
        "finding",
        None,
    ),
    Entry(
        "input-pv-power",
        "PV power of an input",
        "Compares the power of the strings at one input with the PV power limit that the data sheet states for that input.",
        "The limit of a whole inverter is often more than any one of its inputs may take.",
        "Spread the strings over more inputs.",
        "inverters:\n  H10:\n    inputs:\n      A: {maximum_power: 8 kW}",
        "finding",
        None,
    ),
    Entry(
        "input-shared-loss",
        "loss of unlike strings on one input",
        "Takes from the simulated year what strings of unlike number, type or direction lose because one tracker holds them "
        "all at one voltage. A check leaves the year out and says `not run`; a build judges it.",
        "Eight modules beside six lose about a tenth of what both could give. Equal strings that face 30° east and 30° west lose "
        "next to nothing: their best voltages lie close together.",
        "Give each string an input of its own, or make them equal. It costs energy and is no hazard of itself.",
        "strings:\n  E1: {array: EAST, count: 8, input: INV-1/A}\n  E2: {array: EAST, count: 6, input: INV-1/A}",
        "finding",
        None,
    ),
)
