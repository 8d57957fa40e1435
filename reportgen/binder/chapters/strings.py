"""String design: voltages cold and hot by every method, currents, and the working of each."""

from __future__ import annotations

from reportgen.binder.chapters.array_plans import plans
from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.figures import windows
from reportgen.binder.chapters.series_limits import series_limits
from reportgen.binder.chapters.stringing import stringing
from reportgen.binder.elements import Caution, Chapter, Element, Heading, Paragraph
from reportgen.binder.schedules import UNKNOWN, Field, Line, Marked, Schedule
from reportgen.design.missing import Known
from reportgen.design.results import StringDesign

_COLD = ("cold-voltage-inverter", "cold-voltage-module", "cold-voltage-place")
_HOT = ("hot-voltage-window", "hot-voltage-start")


def chapter(desk: Desk) -> Chapter:
    """Voltages and currents of every string."""
    workings: list[Element] = []
    for string in desk.design.facts.strings:
        workings += [
            *desk.working(string.governing, "string", string.id, "cold", rule="max-voltage"),
            *desk.working(string.hot_operating, "string", string.id, "hot"),
            *desk.working(string.cold_operating, "string", string.id, "cold operating"),
            *desk.working(string.maximum, "string", string.id, "maximum current", rule="max-current"),
            *desk.working(
                string.continuous,
                "string",
                string.id,
                "continuous current",
                rule="conductor-ampacity-continuous",
            ),
        ]
    elements: list[Element] = [
        Caution(
            "High direct voltage",
            "Above 120 V direct current contact can kill. Open the string at a middle connector before handling its ends, "
            "so that no more than about half its voltage can be touched. Never part a connector while current flows.",
            "IEC 61140 limit of 120 V DC, recalled; half-string practice: common practice, no source",
        ),
        desk.keep(_voltages(desk)).table(),
        Paragraph(
            "Both cold temperatures and both methods stand side by side. The verdict uses the coefficient of the data "
            "sheet at the temperature chosen in the policies; the table of the code is shown for comparison and judged "
            "only where a data sheet gives no coefficient."
        ),
        *series_limits(desk),
        *windows(desk),
        desk.keep(_currents(desk)).table(),
        *plans(desk),
        *stringing(desk),
        Heading("Working"),
        *workings,
    ]
    return Chapter(
        "strings",
        "String design",
        "Safe on the coldest morning, awake on the hottest afternoon.",
        tuple(elements),
    )


def _voltages(desk: Desk) -> Schedule:
    lines = []
    for string in desk.design.facts.strings:
        low, mean, *prescribed = string.cold
        window = dict(string.windows)[string.governing_label]
        lines.append(
            Line(
                {
                    "string": string.id,
                    "modules": string.count,
                    "low_coefficient": _judged(desk, string, low.label, low.by_coefficient),
                    "low_table": low.by_table,
                    "mean_coefficient": _judged(desk, string, mean.label, mean.by_coefficient),
                    "mean_table": mean.by_table,
                    "prescribed": _judged(desk, string, prescribed[0].label, prescribed[0].by_coefficient)
                    if prescribed
                    else "",
                    "hot_cell": string.hot_cell,
                    "hot": desk.judged(string.hot_operating, *_HOT, subject=string.id),
                    "cold_operating": desk.judged(
                        string.cold_operating, "cold-operating-window", subject=string.id
                    ),
                    "allowed": f"{window.fewest or UNKNOWN} to {window.most or UNKNOWN}",
                }
            )
        )
    fields = (
        Field("string", "String"),
        Field("modules", "N", "", 0, align="right"),
        Field("low_coefficient", "coefficient", "V", 1, "V_oc at record low"),
        Field("low_table", "code table", "V", 1, "V_oc at record low"),
        Field("mean_coefficient", "coefficient", "V", 1, "V_oc at mean minimum"),
        Field("mean_table", "code table", "V", 1, "V_oc at mean minimum"),
        *(
            [Field("prescribed", "coefficient", "V", 1, "V_oc by the local rule")]
            if desk.design.facts.policies.prescribed_cold
            else []
        ),
        Field("hot_cell", "cell", desk.units.temperature, 1, "Hot"),
        Field("hot", "V_mp", "V", 1, "Hot"),
        Field("cold_operating", "V_mp cold", "V", 1),
        Field("allowed", "Modules allowed", align="right"),
    )
    notes = (
        "Modules allowed: from the start voltage and tracking window in the heat to the hard limit in the cold.",
    )
    return Schedule("strings", "String voltages", fields, tuple(lines), notes, wide=True)


def _judged(desk: Desk, string: StringDesign, label: str, value: Known) -> Known | Marked:
    """Mark the voltage that governs with its outcome; the other temperature stands beside it unjudged."""
    if label != string.governing_label or value != string.governing:
        return value
    return desk.judged(value, *_COLD, subject=string.id)


def _currents(desk: Desk) -> Schedule:
    lines = tuple(
        Line(
            {
                "string": string.id,
                "module": string.module_id,
                "input": string.input,
                "voc": string.stc_open,
                "vmp": string.stc_operating,
                "isc": string.short_circuit,
                "imp": string.operating,
                "imax": desk.judged(string.maximum, subject=string.id),
                "continuous": desk.judged(string.continuous, subject=string.id),
                "positions": string.positions,
            }
        )
        for string in desk.design.facts.strings
    )
    fields = (
        Field("string", "String"),
        Field("module", "Module"),
        Field("input", "Input"),
        Field("voc", "V_oc", "V", 1, "Standard conditions"),
        Field("vmp", "V_mp", "V", 1, "Standard conditions"),
        Field("isc", "I_sc", "A", 2, "Standard conditions"),
        Field("imp", "I_mp", "A", 2, "Standard conditions"),
        Field("imax", "I_max", "A", 2),
        Field("continuous", "continuous", "A", 2),
        Field("positions", "Modules"),
    )
    return Schedule("string-currents", "String currents", fields, lines, wide=True)
