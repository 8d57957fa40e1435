"""The design beside the one before it, and beside variants of itself, in the same dozen figures."""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Heading, Listing, Paragraph
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.design.assemble import Design
from reportgen.design.findings import Outcome
from reportgen.design.measures import Measure, measures_of
from reportgen.design.missing import Missing
from reportgen.working.quantity import Quantity
from reportgen.working.text import fixed

_MOST_FINDINGS = 12


def chapter(desk: Desk) -> Chapter | None:
    """Before and after, then the variants; None where the folder names neither."""
    elements: list[Element] = []
    own = measures_of(desk.design)
    if desk.before is not None:
        elements += _before(desk, desk.before, own)
    if desk.variants:
        elements += _variants(desk, own)
    if not elements:
        return None
    summary = "Every design was worked out by this version of the tool with the rules its own folder names."
    return Chapter("alternatives", "Before and after, variants", summary, tuple(elements))


def _before(desk: Desk, before: tuple[str, Design], own: Sequence[Measure]) -> list[Element]:
    name, earlier = before
    old = measures_of(earlier)
    lines = tuple(
        Line(
            {
                "figure": new.title,
                "unit": new.unit,
                "before": _shown(one),
                "after": _shown(new),
                "change": _change(one, new),
            }
        )
        for one, new in zip(old, own, strict=True)
    )
    fields = (
        Field("figure", "Figure"),
        Field("unit", "Unit"),
        Field("before", "Before", align="right"),
        Field("after", "After", align="right"),
        Field("change", "Change", align="right"),
    )
    elements: list[Element] = [
        Heading("Before and after"),
        Paragraph(f"Before is {name}; after is this design."),
        desk.keep(Schedule("before-and-after", "Before and after", fields, lines, _notes(own))).table(),
    ]
    cold = {measure.key: measure.value for measure in old}["cold"], {m.key: m.value for m in own}["cold"]
    if all(isinstance(value, Quantity) for value in cold) and cold[1].value > cold[0].value:  # type: ignore[union-attr]
        elements.append(
            Caution(
                "Higher voltage than before",
                f"Conductors that carried up to {_volts(cold[0])} can now carry up to {_volts(cold[1])}. A fault that went"
                " out by itself may hold an arc, and tools, meter leads, gloves, connectors and switches have to be rated"
                " for the new voltage. Read the old habits out of the hands before the first string is closed.",
                "common practice, no source",
            )
        )
    gone = {finding.code for finding in earlier.of(Outcome.FAILS)} - {
        f.code for f in desk.design.of(Outcome.FAILS)
    }
    if gone:
        elements.append(Paragraph(f"Checks that failed before and fail no more: {', '.join(sorted(gone))}."))
    return elements


def _volts(value: object) -> str:
    assert isinstance(value, Quantity)
    return value.show(0)


def _variants(desk: Desk, own: Sequence[Measure]) -> list[Element]:
    variants = desk.design.project.variants
    columns = [("this design", own)]
    columns += [(name, measures_of(design)) for name, design in desk.variants]
    fields = (
        Field("figure", "Figure"),
        Field("unit", "Unit"),
        *(Field(f"v{k}", name, align="right") for k, (name, _) in enumerate(columns)),
    )
    lines = tuple(
        Line(
            {"figure": rows[0].title, "unit": rows[0].unit}
            | {f"v{k}": _shown(measure) for k, measure in enumerate(rows)}
        )
        for rows in zip(*(measures for _, measures in columns), strict=True)
    )
    elements: list[Element] = [
        Heading("Variants"),
        desk.keep(
            Schedule("variants", "Variants side by side", fields, lines, _notes(own), wide=len(columns) > 4)
        ).table(),
    ]
    for name, design in desk.variants:
        variant = variants[name]
        tries = f": {variant.tries}" if variant.tries else ""
        elements.append(Heading(f"{name}{tries}", 3))
        mine = {finding.id: finding for finding in desk.design.findings}
        other = {finding.id: finding for finding in design.findings}
        differ = [
            f"{key}: {mine[key].outcome if key in mine else 'not there'} here, {other[key].outcome if key in other else 'not there'} in the variant"
            for key in sorted(mine.keys() | other.keys())
            if (mine[key].outcome if key in mine else None) != (other[key].outcome if key in other else None)
        ]
        more = (f"and {len(differ) - _MOST_FINDINGS} more",) if len(differ) > _MOST_FINDINGS else ()
        elements.append(
            Listing((*differ[:_MOST_FINDINGS], *more)) if differ else Paragraph("Every finding ends alike.")
        )
    chosen = [key for key, variant in variants.items() if variant.chosen]
    elements.append(
        Paragraph(
            f"Chosen is {', '.join(chosen)}: lay its file over the folder, so that this binder is about what is built."
            if chosen
            else "No variant is marked as chosen: the design of the folder itself is the one to be built."
        )
    )
    return elements


def _notes(own: Sequence[Measure]) -> tuple[str, ...]:
    if not any(measure.band for measure in own):
        return ()
    return (
        "The band is that of one output by itself: weather and models err alike in designs under the same weather, "
        "so the difference between two of them is surer than either.",
    )


def _shown(measure: Measure) -> str:
    if measure.value is None:
        return "–"
    if isinstance(measure.value, Missing):
        return "unknown"
    number = fixed(
        measure.value.to(measure.unit).value if measure.unit else measure.value.value, measure.places
    )
    return f"{number} {measure.band}" if measure.band else number


def _change(before: Measure, after: Measure) -> str:
    one, other = before.value, after.value
    if not (isinstance(one, Quantity) and isinstance(other, Quantity)) or one.value == 0:
        return ""
    return f"{100 * (other.value - one.value) / one.value:+.0f} %"
