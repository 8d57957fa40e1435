"""Codes of the data sheets: values still to be looked up, values that do not fit together."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "data-sheet-complete",
        "values of a data sheet still to be looked up",
        "Lists, for each type of equipment in use, the values that the design needs and that nobody stated, each with"
        " the line of the data sheet to look for and with what rests on it.",
        "Each of them leaves other findings unknown; this one is the list to take to the data sheet.",
        "Write the values into the type. Where the maker does not state one, ask, and leave it out until then.",
        "inverters:\n  H10:\n    maximum_dc_voltage: 600 V\n    arc_fault_protection: yes",
        "finding",
    ),
    Entry(
        "data-sheet-values",
        "values of a data sheet that do not fit together",
        "Holds the values of a module against each other (fill factor, power against voltage times current, signs and"
        " sizes of the coefficients, nominal temperature, voltage a cell, efficiency) and puts the limits of an"
        " inverter input in order. What no device can do is unknown, and nothing is judged by it; what few devices do"
        " is thin.",
        "A value typed into the wrong line gives sums that look right, of another module.",
        "Compare the value with the data sheet. An unusual value that stands there so may stay.",
        "modules:\n  M450:\n    open_circuit_voltage: 44.1 V\n    operating_voltage: 36.9 V\n    voltage_coefficient: -0.26 %/degC",
        "finding",
    ),
)
