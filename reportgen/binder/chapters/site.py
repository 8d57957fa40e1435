"""Site and basis: where, which edition, which temperatures, what stands there, is every module accounted for."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Facts, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.missing import Known, known
from reportgen.design.power import power_of_strings
from reportgen.working.quantity import Quantity


def chapter(desk: Desk) -> Chapter:
    """Basis of the design, both cold temperatures side by side."""
    project = desk.design.project
    info, site = project.project, project.site

    def stated(value: Quantity | None, what: str) -> str:
        return "not stated" if value is None else desk.units.told(value, what)

    elements: list[Element] = []
    if info.scope:
        elements.append(Paragraph(str(info.scope)))
    elements.append(
        Facts(
            (
                ("Address; parcel", f"{info.address or 'not stated'}; {info.parcel or 'not stated'}"),
                ("Rated power", _rated(desk)),
                ("Commissioned", _started(desk)),
                ("Code edition", desk.design.rulebook.in_force),
                ("Circuits stand on or enter", str(info.building or "not stated")),
                ("Latitude, longitude", f"{_shown(site.latitude)}, {_shown(site.longitude)}"),
                ("Elevation", stated(site.elevation, "length")),
                ("Record low", stated(site.record_low, "temperature")),
                ("Mean annual minimum", stated(site.mean_annual_minimum, "temperature")),
                ("Cold temperature that governs", desk.design.facts.policies.cold_temperature),
                ("Design high", stated(site.design_high, "temperature")),
                ("Ground temperature", stated(site.ground_temperature, "temperature")),
                ("Temperatures from", str(site.temperatures_from or "not stated")),
            ),
            "Basis of the design",
        )
    )
    elements.append(
        Caution(
            "The array is live in light",
            "Modules make voltage whenever light falls on them. Opening a switch or losing the mains does not stop it. "
            "Treat both poles as live until measured dead.",
            "IEC 60364-7-712 and OSHA 1910.333, recalled",
        )
    )
    raised = any(array.on_building for array in project.arrays.values())
    height = (
        "Fall protection from the legal height on (6 ft in construction in the United States). "
        if raised
        else ""
    )
    elements.append(
        Caution(
            "Work at the modules",
            f"{height}Modules are sails: two people, none lifted by its cable or box, none in gusts. Metal in the sun burns; "
            "plan water, shade and rest. When thunder is heard stay off modules, rails and long cables: surge protection does "
            "not make work safe.",
            f"{'OSHA 1926.501; ' if raised else ''}ISO 11228 and IEC 62305, recalled; common practice",
        )
    )
    elements.append(desk.keep(_arrays(desk)).table())
    return Chapter(
        "site",
        "Site and basis",
        "What is designed, by which edition, for which temperatures.",
        tuple(elements),
        page_break=False,
    )


def _rated(desk: Desk) -> str:
    """Power of all strings at standard conditions and of all inverters, with their numbers; in words where unknown."""
    project, balances = desk.design.project, desk.design.facts.graph.balances
    power = power_of_strings(project, project.strings, "power of all strings") if project.strings else None
    direct = power.show() if isinstance(power, Quantity) else "unknown"
    strung = sum(balance.in_strings for balance in balances)
    standing = [balance.standing for balance in balances]
    of = str(sum(n for n in standing if n is not None)) if None not in standing else "an unknown number"
    kinds = [kind for kind in project.inverters.values() if kind.units]
    units = sum(len(kind.units) for kind in kinds)
    silent = [str(key) for key, kind in project.inverters.items() if kind.units and kind.ac_power is None]
    rated = sum(kind.ac_power.to("kW").value * len(kind.units) for kind in kinds if kind.ac_power is not None)
    alternating = f"unknown, `ac_power` of {', '.join(silent)}" if silent else Quantity(rated, "kW").show()
    return f"DC {direct} in {strung} of {of} modules; AC {alternating} of {units} inverter{'s' if units != 1 else ''}"


def _started(desk: Desk) -> str:
    handover = desk.design.project.handover
    started = handover.operation.started if handover and handover.operation else None
    return str(started or "not stated: `handover`, `operation`, `started`")


def _shown(value: Quantity | None) -> str:
    return value.show() if value is not None else "not stated"


def _arrays(desk: Desk) -> Schedule:
    project = desk.design.project
    lines = []
    for balance in desk.design.facts.graph.balances:
        array = project.arrays[balance.array]
        tilt: Known = known(array.tilt, f"tilt of array {balance.array}")
        azimuth: Known = known(array.azimuth, f"azimuth of array {balance.array}")
        lines.append(
            Line(
                {
                    "array": balance.array,
                    "place": str(array.place or ""),
                    "module": balance.module,
                    "mounting": str(array.mounting),
                    "tilt": tilt,
                    "azimuth": azimuth,
                    "standing": "unknown" if balance.standing is None else str(balance.standing),
                    "in_strings": str(balance.in_strings),
                    "spare": str(balance.spares),
                    "balance": Marked(
                        "" if balance.unassigned is None else str(balance.unassigned),
                        desk.worst("module-balance", subject=balance.array),
                    ),
                }
            )
        )
    fields = (
        Field("array", "Array"),
        Field("place", "Place"),
        Field("module", "Module"),
        Field("mounting", "Mounting"),
        Field("tilt", "Tilt", "deg", 0),
        Field("azimuth", "Azimuth", "deg", 0),
        Field("standing", "Standing", group="Modules", align="right"),
        Field("in_strings", "In strings", group="Modules", align="right"),
        Field("spare", "Spare", group="Modules", align="right"),
        Field("balance", "Left over", group="Modules", align="right"),
    )
    return Schedule("arrays", "Arrays and their module balance", fields, tuple(lines))
