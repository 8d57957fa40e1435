"""String-to-input map: what ends where, usable and hard limit of each input apart, and the landing."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Facts, Heading, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.working.quantity import Quantity


def chapter(desk: Desk) -> Chapter:
    """Inputs with their limits, then the landing of every leg."""
    project = desk.design.project
    elements: list[Element] = [
        Caution(
            "Check polarity before anything is closed",
            "Measure polarity and voltage of each string at its landing point before a switch or fuse is closed. "
            "A reversed string must not be switched: an arc under reverse current may not go out. "
            "Correct the leads in darkness or with the string opened.",
            "IEC 62446-1, 6.2, recalled",
        ),
        desk.keep(_inputs(desk)).table(),
        Paragraph(
            "The usable current clips and does no harm; the hard limit protects the input. The two are never mixed."
        ),
        Heading("Landing"),
        Caution(
            "A switch leaves its array side live",
            "An open switch cuts only its load side. The terminals on the array side stay live as long as there is light. "
            "A switch is not overcurrent protection.",
            "NEC 690.13(B); IEC 60947-3, recalled",
        ),
        desk.keep(_landing(desk)).table(),
    ]
    for key, kind in project.inverters.items():
        wait = (
            kind.discharge_wait.to("min").show()
            if kind.discharge_wait
            else "not stated, take it from the manual"
        )
        elements.append(
            Facts(
                (
                    (
                        "Units",
                        ", ".join(
                            f"{unit} ({data.place})" if data.place else str(unit)
                            for unit, data in kind.units.items()
                        ),
                    ),
                    ("PV poles", str(kind.pv_legs or "not stated")),
                    ("Wait after isolation", wait),
                    ("Reversed input, in the maker's words", str(kind.reversed_polarity or "not stated")),
                    ("Source", str(kind.source or "not stated")),
                ),
                f"Inverter type {key}",
            )
        )
    return Chapter(
        "inputs",
        "String-to-input map and landing",
        "Which string ends at which input, and over which terminals.",
        tuple(elements),
    )


def _inputs(desk: Desk) -> Schedule:
    lines = []
    for item in desk.design.facts.inputs:
        data = item.input
        used = bool(item.strings)
        lines.append(
            Line(
                {
                    "input": item.address,
                    "strings": ", ".join(item.strings) or "free",
                    "window": f"{_volts(data.tracking_from)} to {_volts(data.tracking_to)}"
                    if data
                    else "not stated",
                    "start": _volts(data.start_voltage) if data else "not stated",
                    "imp": Marked(item.operating, desk.worst("input-usable-current", subject=item.address))
                    if used
                    else "",
                    "usable": (data and data.usable_current) or "not stated",
                    "isc": Marked(item.short_circuit, desk.worst("input-short-circuit", subject=item.address))
                    if used
                    else "",
                    "imax": item.maximum if used else "",
                    "hard": (data and data.short_circuit_limit) or "not stated",
                    "basis": str((data and data.short_circuit_basis) or "not stated"),
                }
            )
        )
    fields = (
        Field("input", "Input"),
        Field("strings", "Strings"),
        Field("window", "Tracking window"),
        Field("start", "Start"),
        Field("imp", "I_mp", "A", 2, "Usable"),
        Field("usable", "limit", "A", 2, "Usable"),
        Field("isc", "I_sc", "A", 2, "Short circuit"),
        Field("imax", "I_max", "A", 2, "Short circuit"),
        Field("hard", "limit", "A", 2, "Short circuit"),
        Field("basis", "Basis", group="Short circuit"),
    )
    return Schedule("inputs", "Inverter inputs and what ends there", fields, tuple(lines), wide=True)


def _volts(value: Quantity | None) -> str:
    return value.show() if value is not None else "not stated"


def _landing(desk: Desk) -> Schedule:
    lines = tuple(
        Line(
            {
                "conductor": arrival.conductor,
                "polarity": "positive" if arrival.conductor.endswith("+") else "negative",
                "device": arrival.switch or "direct",
                "terminal": arrival.terminal,
                "poles": str(arrival.poles),
                "arrives": Marked(
                    ", ".join(arrival.reaches), desk.worst("landing", subject=arrival.conductor)
                ),
                "wanted": arrival.wanted,
            }
        )
        for arrival in desk.design.facts.arrivals
    )
    fields = (
        Field("conductor", "Conductor"),
        Field("polarity", "Polarity"),
        Field("device", "Lands on"),
        Field("terminal", "Terminal"),
        Field("poles", "Poles in series", align="right"),
        Field("arrives", "Arrives at"),
        Field("wanted", "Meant for"),
    )
    return Schedule("landing", "Landing of every leg, with all switches closed", fields, lines)
