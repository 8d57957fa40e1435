"""String-to-input map: what ends where, usable and hard limit of each input apart, and the landing."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.sharing import sharing
from reportgen.binder.drawings.string_map import string_maps
from reportgen.binder.elements import Caution, Chapter, Column, Element, Heading, Paragraph, Table, row
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.power import power_of_strings
from reportgen.design.string_map import ways
from reportgen.project.model import Project
from reportgen.working.quantity import Quantity, work


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
        desk.keep(_powers(desk)).table(),
        *sharing(desk),
        *_year(desk),
        Heading("Landing"),
        Caution(
            "A switch leaves its array side live",
            "An open switch cuts only its load side. The terminals on the array side stay live as long as there is light. "
            "A switch is not overcurrent protection.",
            "NEC 690.13(B); IEC 60947-3, recalled",
        ),
        *_polarised(desk),
        desk.keep(_landing(desk)).table(),
        *_map(desk),
    ]
    elements += _inverters(project)
    return Chapter(
        "inputs",
        "String-to-input map and landing",
        "Which string ends at which input, and over which terminals.",
        tuple(elements),
    )


def _inverters(project: Project) -> Iterator[Element]:
    """What the maker of each type says that matters at its inputs."""
    rows = tuple(
        row(
            key,
            ", ".join(
                f"{unit} ({data.place})" if data.place else str(unit) for unit, data in kind.units.items()
            ),
            str(kind.pv_legs or "not stated"),
            kind.discharge_wait.to("min").show()
            if kind.discharge_wait
            else "not stated, take it from the manual",
            str(kind.reversed_polarity or "not stated"),
            str(kind.source or "not stated"),
        )
        for key, kind in project.inverters.items()
    )
    heads = (
        "Type",
        "Units",
        "PV poles",
        "Wait after isolation",
        "Reversed input, in the maker's words",
        "Source",
    )
    if rows:
        yield Table("inverter-types", "Inverters", tuple(map(Column, heads)), rows)


def _map(desk: Desk) -> Iterator[Element]:
    """Every leg on its way to its input; a line instead where no landing is stated."""
    project = desk.design.project
    if project.landing:
        yield from string_maps(ways(desk.design.facts.graph))
    else:
        yield Paragraph("The map of strings, poles and inputs is not drawn: no landing is stated.")


def _polarised(desk: Desk) -> list[Element]:
    """Caution where a switch is polarised, or where nobody has said that it is not."""
    marked, silent = (
        [
            str(unit)
            for kind in desk.design.project.switches.values()
            if kind.polarised is says
            for unit in kind.units
        ]
        for says in (True, None)
    )
    if not marked and not silent:
        return []
    told = f"Polarised: {', '.join(marked)}. " if marked else ""
    told += f"Not stated, read the device: {', '.join(silent)}. " if silent else ""
    return [
        Caution(
            "A polarised switch is wired as marked",
            f"{told}Wired the other way round it can fail when it is opened under load.",
            "IEC 60947-3, recalled; makers' manuals",
        )
    ]


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
        Field("usable", "limit", "A", 2, "Usable", at_most=True),
        Field("isc", "I_sc", "A", 2, "Short circuit"),
        Field("imax", "I_max", "A", 2, "Short circuit"),
        Field("hard", "limit", "A", 2, "Short circuit", at_most=True),
        Field("basis", "Basis", group="Short circuit"),
    )
    lit = any(
        string.lit_short_circuit != string.short_circuit
        for string in desk.design.facts.strings
        if isinstance(string.lit_short_circuit, Quantity)
    )
    notes = ("Currents of bifacial modules have the light on the rear in them.",) if lit else ()
    return Schedule("inputs", "Inverter inputs and what ends there", fields, tuple(lines), notes, wide=True)


def _volts(value: Quantity | None) -> str:
    return value.show() if value is not None else "not stated"


def _landing(desk: Desk) -> Schedule:
    lines = tuple(
        Line(
            {
                "conductor": arrival.conductor,
                "polarity": "positive" if arrival.wanted.endswith("+") else "negative",
                "device": ", ".join(arrival.through) or "direct",
                "terminal": arrival.terminal,
                "poles": ", ".join(
                    # A box has no poles.
                    str(dict(arrival.passed).get(unit, "–"))
                    for unit in arrival.through
                )
                or "0",
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


def _powers(desk: Desk) -> Schedule:
    by_unit: dict[str, list[str]] = {}
    for item in desk.design.facts.inputs:
        by_unit.setdefault(item.unit, []).extend(item.strings)
    lines = []
    for kind in desk.design.project.inverters.values():
        for unit in map(str, kind.units):
            power = power_of_strings(desk.design.project, by_unit.get(unit, []), f"PV power at {unit}")
            output = kind.ac_power.to("kW") if kind.ac_power else None
            ratio = (
                work("PV power over rated output", "", "P / P_ac", P=power, P_ac=output)
                if isinstance(power, Quantity) and output is not None and output.value > 0
                else "not stated"
            )
            used = bool(by_unit.get(unit))
            lines.append(
                Line(
                    {
                        "unit": unit,
                        "strings": ", ".join(by_unit.get(unit, [])) or "none",
                        "power": Marked(power, desk.worst("inverter-pv-power", subject=unit)) if used else "",
                        "limit": kind.maximum_pv_power or "not stated",
                        "output": output or "not stated",
                        "ratio": ratio if used else "",
                    }
                )
            )
    fields = (
        Field("unit", "Inverter"),
        Field("strings", "Strings"),
        Field("power", "PV power", "kW", 2),
        Field("limit", "Limit", "kW", 2, at_most=True),
        Field("output", "Rated output", "kW", 2),
        Field("ratio", "PV over output", "", 2, align="right"),
    )
    notes = (
        "PV power at standard conditions, front side alone. Above 1 the output clips in strong sun; no hazard.",
        *(
            f"Balance: {finding.headline} ({finding.outcome})."
            for finding in desk.findings("inverter-balance")
        ),
    )
    return Schedule("pv-power", "PV power of each inverter", fields, tuple(lines), notes)


def _year(desk: Desk) -> Iterator[Element]:
    """What each input leaves in the modules over the year, by its limits and by unlike strings."""
    energy = desk.design.energy
    if energy is None or energy.year is None:
        return
    lines = tuple(
        Line(
            {
                "input": item.id,
                "strings": ", ".join(item.strings),
                "dc": item.dc_kwh,
                "clipped": sum(item.clipped),
                "share": 100 * sum(item.clipped) / (item.dc_kwh + sum(item.clipped)) if item.dc_kwh else 0.0,
                "limited": item.hours_limited,
                "parallel": item.parallel_kwh,
            }
        )
        for item in energy.year.inputs
    )
    fields = (
        Field("input", "Input"),
        Field("strings", "Strings"),
        Field("dc", "Arrives", "kWh", 0),
        Field("clipped", "left in the modules", "kWh", 1, "Limits of the input"),
        Field("share", "share", "%", 2, "Limits of the input"),
        Field("limited", "hours", "h", 0, "Limits of the input"),
        Field("parallel", "Lost by sharing", "kWh", 1),
    )
    notes = (
        "Limits: usable current, tracking window and power of the input, and the rated output. No hazard.",
    )
    yield desk.keep(Schedule("input-year", "The year at each input", fields, lines, notes)).table()
