"""Codes of findings about what was measured, and about what a meter will show."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry, finding

ENTRIES: tuple[Entry, ...] = (
    finding(
        "reading-voltage",
        "open-circuit voltage against expectation",
        None,
        "Compares a measured open-circuit voltage with what the string should show at the cell temperature and irradiance of that minute.",
        "A flat band of some percent hides a missing module in a long string, and takes dim light for a fault. The expectation is corrected for both, and without them there is no verdict.",
        "Measure cell temperature and irradiance in the plane of the modules with every voltage. A reading that stops names its likely causes: look at the first one first.",
        'readings:\n  may-array:\n    date: 2026-05-03\n    at: array\n    cell_temperature: 31 degC\n    irradiance: 710 W/m2\n    strings:\n      E1: {open_circuit_voltage: 513.4 V, time: "10:40"}',
    ),
    finding(
        "reading-alike",
        "string against string",
        None,
        "Compares strings of like modules that face one way and were read in the same minutes, module for module.",
        "It needs neither temperature nor irradiance, so it holds in any light. The string that is off speaks of another number of modules than the folder states.",
        "Count the modules of the string that is off. Of two strings alone the comparison cannot tell which is wrong.",
    ),
    finding(
        "reading-ends",
        "array end against inverter end",
        None,
        "Compares the voltage of a string at the array with that at the switch or input, read in the same minutes without load.",
        "Without current no wire drops voltage. A difference is another string, a reversed pair or an open joint.",
        "Follow the wires of the pair before anything is landed or closed.",
    ),
    finding(
        "reading-legs",
        "legs to ground",
        None,
        "Judges the voltage of both legs of a floating string to ground.",
        "On a sound array both settle to nothing. A steady split that adds up to the whole voltage is a fault to ground, and its place follows from the split.",
        "Touch nothing bare, isolate the string and look between the modules named.",
    ),
    finding(
        "reading-insulation",
        "insulation resistance",
        None,
        "Compares the insulation resistance with the least that IEC 62446-1 asks, at the test voltage that belongs to the string.",
        "A cut in the insulation shows on the first wet day. A test below its voltage proves nothing.",
        "Repeat at the test voltage named, in dry weather where water is likely, and find the damage before landing.",
    ),
    finding(
        "reading-current",
        "short-circuit current against the other strings",
        None,
        "Compares the short-circuit currents of strings read in the same minutes, each over what its light should give.",
        "Shade, dirt, a broken module or an open part lower the current of one string and leave its voltage alone.",
        "Read all strings under a clear sky, with the irradiance in the plane of each.",
    ),
    finding(
        "reading-operating",
        "operating current against the other strings",
        None,
        "Compares the operating currents of strings read in the same minutes, each over what its light should give.",
        "A string that delivers less than its neighbours is shaded, dirty or poorly connected; an input that clips does the same without a fault.",
        "See whether the input clips or the output is held back, then read all strings again.",
    ),
    finding(
        "reading-trend",
        "voltage over the years",
        None,
        "Compares the latest voltage of a string at a point with the first one there, both over what their light and temperature call for.",
        "A bypassed part of a module stays within the band of a single reading and shows as a change.",
        "Measure at the same point with the same care; look for a bypassed or exchanged module where the change is real.",
    ),
    finding(
        "landing-reading",
        "reading predicted for the landing as drawn",
        None,
        "Follows every wire over terminals, closed poles and links, and tells what a voltmeter at each input will show.",
        "Crossed poles reverse a pair, exchange two strings, or put two positives on one input, which then reads nothing although both strings are live.",
        "Land each lead as the switch's own poles ask, not straight across; the commissioning chapter has the table.",
    ),
    finding(
        "switch-opens",
        "both legs parted by the open switch",
        "disconnect",
        "Follows the landing with every switch open and names each leg that still reaches the input.",
        "A leg that stays connected keeps the input at the voltage of the array while the handle says off.",
        "Let both legs pass poles of the switch, and put no link around it.",
    ),
)
