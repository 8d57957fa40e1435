"""Site and basis: where, which edition, which temperatures, what stands there, is every module accounted for."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Facts, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.missing import Known, known
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
                ("Address", str(info.address or "not stated")),
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
