"""Labels and placards: one label a wire and place on sheets of exact size, and placards with their values."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Blank, Caution, Chapter, Column, Element, Facts, FormTable, Heading
from reportgen.binder.elements import Paragraph as Words
from reportgen.binder.label_sheets import USUAL, LabelSheets, LabelText, SheetSize, sheet_sizes
from reportgen.binder.schedules import UNKNOWN, Field, Line, Marked, Schedule
from reportgen.binder.task_cards import task_cards
from reportgen.design.labels import END, LabelsDesign, Placard, WireLabel
from reportgen.design.missing import Missing
from reportgen.rulebook import standard_equipment
from reportgen.working.quantity import Quantity


def sheet_of(desk: Desk) -> SheetSize:
    """Sheet that the folder names, else the usual one for its paper."""
    project = desk.design.project
    stated = project.stock.label_sheet if project.stock else None
    return sheet_sizes()[str(stated or USUAL[project.project.units == "imperial"])]


def chapter(desk: Desk) -> Chapter | None:
    """Labels, placards and the sheets to print; no chapter without a wire."""
    labels = desk.design.facts.labels
    if not labels.labels:
        return None
    sheet = sheet_of(desk)
    printed = LabelSheets("wire-label-sheets", sheet, tuple(_text(label) for label in labels.labels))
    stated = desk.design.project.stock is not None and desk.design.project.stock.label_sheet is not None
    choice = "named by the folder" if stated else "the tool's choice; `label_sheet` of `stock` names another"
    desk.keep(_list(labels))
    elements: list[Element] = [
        Caution(
            "A label is not proof",
            "Label both ends before the pull and ring out every wire before it is landed. The wires of the array side "
            "are live in any light.",
            "common practice, no source",
        ),
        Facts(
            (
                ("Labels needed", str(len(labels.labels))),
                (
                    "Labels printed",
                    f"{len(printed.labels)}, each once, on {_sheets(len(printed.pages))} behind the task cards",
                ),
                ("Sheet", f"{sheet.name} mm, {choice}"),
                (
                    "Printing",
                    "At 100 %, not fitted to the page. Hold a first print on plain paper against a sheet.",
                ),
            ),
            "Labels",
        ),
        desk.keep(_counts(labels)).table(),
        Heading("Placards"),
        *_placards(desk),
        *_cards(desk, labels),
        printed,
    ]
    return Chapter(
        "labels",
        "Labels and placards",
        "Every wire named at both ends and in every enclosure, and what each device has to say.",
        tuple(elements),
    )


def _sheets(count: int) -> str:
    return f"{count} sheet{'s' if count != 1 else ''}"


def _text(label: WireLabel) -> LabelText:
    at = f"at {label.place}" + (f", {label.side}" if label.side not in {END, "passes"} else "")
    volts = ""
    if isinstance(label.voltage, Quantity):
        kind = "AC" if label.says == "AC OUTPUT" else "DC"
        # Whoever goes by a greatest value that is printed has to be on its safe side: it is rounded up.
        volts = f"max {label.voltage.show(1, at_most=False)} {kind}"
    elif isinstance(label.voltage, Missing):
        volts = "max voltage unknown"
    says = f"{label.says} · string {label.string}" if label.string else label.says
    route = (f"from {label.start or UNKNOWN}", f"to {label.end or UNKNOWN}")
    return LabelText(tuple(line for line in (label.conductor, says, volts, *route, at) if line))


def _list(labels: LabelsDesign) -> Schedule:
    lines = tuple(
        Line(
            {
                "label": label.id,
                "conductor": label.conductor,
                "place": label.place,
                "side": label.side,
                "says": label.says,
                "string": label.string,
                "from": label.start,
                "to": label.end,
                "voltage": label.voltage if label.voltage is not None else "",
            }
        )
        for label in labels.labels
    )
    fields = (
        Field("label", "Label"),
        Field("conductor", "Conductor"),
        Field("place", "Place"),
        Field("side", "Where"),
        Field("says", "Says"),
        Field("string", "String"),
        Field("from", "From"),
        Field("to", "To"),
        Field("voltage", "Highest voltage", "V", 1),
    )
    return Schedule("labels", "Labels of wires", fields, lines)


def _counts(labels: LabelsDesign) -> Schedule:
    lines = []
    for one in labels.wires:
        wires = dict.fromkeys(label.conductor for label in one.labels)
        places = dict.fromkeys(
            f"{label.place} ({label.side})" if label.side not in {END, "passes"} else label.place
            for label in one.labels
        )
        lines.append(
            Line(
                {
                    "circuit": one.circuit,
                    "wires": ", ".join(wires),
                    "says": ", ".join(dict.fromkeys(label.says for label in one.labels)),
                    "places": "; ".join(places),
                    "each": str(len(places)),
                    "count": str(len(one.labels)),
                }
            )
        )
    fields = (
        Field("circuit", "Circuit"),
        Field("wires", "Wires"),
        Field("says", "Says"),
        Field("places", "One label at each of"),
        Field("each", "Places", align="right"),
        Field("count", "Labels", align="right"),
    )
    notes = (
        "A wire that lands on a switch is cut there and is labelled on either side. Every label is a line of the file "
        "labels.csv.",
    )
    return Schedule("label-counts", "Labels by circuit", fields, tuple(lines), notes)


_CODES = {"max-voltage": "placard-max-voltage", "disconnect": "placard-disconnect"}


def _placards(desk: Desk) -> Iterator[Element]:
    rulebook = desk.design.rulebook
    if rulebook.wanted:
        yield Words(
            f"There is no rulebook for {rulebook.wanted}. Labels that standards elsewhere ask for are listed; which of "
            "them hold is a question to the authority."
        )
        yield desk.keep(_elsewhere(desk)).table()
        return
    placards = desk.design.facts.labels.placards
    if not placards:
        yield Words("The edition asks for no placard here.")
        return
    yield _by_wording(desk.keep(_placard_schedule(desk, placards))).table("place")


def _placard_schedule(desk: Desk, placards: tuple[Placard, ...]) -> Schedule:
    lines = []
    for item in placards:
        code = _CODES.get(item.key)
        outcome = desk.worst(code, subject=item.place) if code else None
        values = [
            f"{name} {value.show(1, at_most=False) if isinstance(value, Quantity) else UNKNOWN}"
            for name, value in item.values
        ]
        if item.live:
            values.append(f"live when open: {', '.join(item.live)}")
        if item.through:
            values.append(f"live, only passing: {', '.join(item.through)}")
        letters, spacing = item.asked.letters, item.asked.spacing
        clause = item.asked.clause.text
        lines.append(
            Line(
                {
                    "label": item.key,
                    "place": item.place,
                    "text": item.asked.wording,
                    "values": Marked("; ".join(values), outcome),
                    "letters": f"at least {letters.value} in" if letters else "legible",
                    "spacing": f"at most {spacing.value} ft" if spacing else "",
                    "colours": item.asked.colours,
                    "count": str(item.count) if item.count is not None else "ask",
                    "why": item.why,
                    "clause": f"{clause}, recalled" if item.asked.recalled and clause else clause,
                }
            )
        )
    fields = (
        Field("label", "Placard"),
        Field("place", "Place"),
        Field("text", "Wording"),
        Field("values", "Values"),
        Field("letters", "Letters"),
        Field("spacing", "Apart"),
        Field("colours", "Colours"),
        Field("count", "Number", align="right"),
        Field("why", "Remark"),
        Field("clause", "Clause"),
    )
    notes = (
        "Wording in capitals is prescribed, the rest is described. Places as the edition names them: "
        + "; ".join(dict.fromkeys(f"{item.key}: {item.asked.place}" for item in placards))
        + ".",
        "With a switch open its array side is live, and the inverter side until its capacitors are discharged.",
    )
    return Schedule("placards", "Placards", fields, tuple(lines), notes, wide=True)


#: Heads of the columns of placards that hold more on the page than in the file.
_HEADS = {"place": "Number and place", "letters": "Made"}


def _together(line: Line) -> dict[str, object]:
    """What a page tells in one column: the number with the place, letters with their spacing and colours."""
    told = (("letters", "letters {}"), ("spacing", "{} apart"), ("colours", "{}"))
    made = [words.format(line.values[key]) for key, words in told if line.values[key]]
    return {"place": f"{line.values['count']} at {line.values['place']}", "letters": "; ".join(made)}


def _by_wording(schedule: Schedule) -> Schedule:
    """The schedule with its numbers beside the places, so that placards of one wording share a row."""
    lines = tuple(replace(line, values={**line.values, **_together(line)}) for line in schedule.lines)
    fields = tuple(
        replace(field, title=_HEADS.get(field.key, field.title))
        for field in schedule.fields
        if field.key not in {"count", "spacing", "colours"}
    )
    return replace(schedule, lines=lines, fields=fields)


def _elsewhere(desk: Desk) -> Schedule:
    strings = desk.design.facts.strings
    highest = [string.governing for string in strings]
    volts = [value for value in highest if isinstance(value, Quantity)]
    most = max(volts, key=lambda value: value.value) if volts and len(volts) == len(highest) else None
    lines = tuple(
        Line(
            {
                "label": label.key,
                "says": label.says,
                "prints": label.prints,
                "value": (most.show(1, at_most=False) if most else UNKNOWN)
                if "voltage" in label.prints
                else "",
                "spacing": label.spacing.value if label.spacing else "",
                "place": label.place,
                "source": f"{label.clause}, recalled" if label.recalled else label.clause,
            }
        )
        for label in standard_equipment.labels()
    )
    fields = (
        Field("label", "Label"),
        Field("says", "Says"),
        Field("prints", "Prints"),
        Field("value", "Highest voltage here"),
        Field("spacing", "Apart [m]", align="right"),
        Field("place", "Place"),
        Field("source", "Asked by"),
    )
    return Schedule("placards-elsewhere", "Labels that standards ask for", fields, lines, wide=True)


def _cards(desk: Desk, labels: LabelsDesign) -> Iterator[Element]:
    """Where each label goes, place by place, with a box to tick."""
    at: dict[str, list[WireLabel]] = defaultdict(list)
    for label in labels.labels:
        side = f", {label.side}" if label.side not in {END, "passes"} else ""
        at[f"{label.place}{side}"].append(label)
    rows = tuple(
        (place, ", ".join(label.conductor for label in group), str(len(group)), Blank(tick=True))
        for place, group in at.items()
    )
    columns = (Column("Place"), Column("Wires"), Column("Labels", align="right"), Column("Done"))
    yield from task_cards(
        "labels",
        "Label every wire",
        tall=desk.tall,
        purpose=f"Put {len(labels.labels)} labels on, so that every wire can be named wherever a cover is opened.",
        stop=(
            "a wire cannot be told from its neighbour: ring it out first",
            "a label on the wire says something else than the list: find out which is right",
        ),
        cautions=(
            Caution(
                "Old labels and live wires",
                "Old wiring may be mislabelled; drawings are not proof. Covers stay on live devices: isolate, lock and prove dead first.",
                "common practice, no source",
            ),
        ),
        steps=(
            "Print the sheets at 100 %; hold one against a sheet of labels.",
            "Label both ends of each piece when it is cut, before the pull.",
            "After the pull and the ring-out, label in every box and beside every terminal.",
        ),
        form=FormTable("labels", "Labels by place", columns, rows),
        remarks=2,
        twice=True,
    )
