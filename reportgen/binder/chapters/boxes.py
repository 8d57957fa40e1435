"""Boxes and terminals: what passes each box and the room it needs, openings, what lands under which clamp."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Heading, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.boxes import BoxDesign, wire_names
from reportgen.design.graph import Conductor
from reportgen.design.pieces import begins_in, passage

#: Columns that rows alike in all else share, by schedule.
_ALIKE = {"box-contents": ("conductor",)}


def chapter(desk: Desk) -> Chapter | None:
    """Boxes, their contents and openings, terminals, and the working of each volume."""
    facts = desk.design.facts
    if not facts.boxes and not facts.terminals:
        return None
    workings: list[Element] = []
    for box in facts.boxes:
        workings += [
            *desk.working(box.most, "box", box.unit, "most", rule="box-fill"),
            *desk.working(box.volume, "box", box.unit, "volume"),
        ]
    for need in facts.pull_needs:
        workings += desk.working(need.needed, "box", need.unit, need.part, rule="pull-box")
    made = (_boxes(desk), _passing(desk), _entries(desk), _pulls(desk), _terminals(desk))
    elements: list[Element] = [
        Caution(
            "A box stays live",
            "What passes a box is live in light, whatever switch is open. Measure before a hand goes in, and put the cover "
            "back before you leave.",
            "common practice, no source",
        ),
        *(desk.keep(schedule).table(*_ALIKE.get(schedule.id, ())) for schedule in made if schedule.lines),
    ]
    if facts.boxes and not facts.pull_needs:
        elements.append(
            Paragraph(
                "No box is passed by conductors large enough for the lengths that a pull box asks for; volume decides alone."
            )
        )
    if workings:
        elements += [Heading("Working"), *workings]
    return Chapter(
        "boxes",
        "Boxes and terminals",
        "Whether what passes a box has room in it, and whether each clamp takes what lands on it.",
        tuple(elements),
    )


def _boxes(desk: Desk) -> Schedule:
    lines = tuple(
        Line(
            {
                "box": box.unit,
                "kind": str(box.box.kind),
                "place": str(box.box.units[box.unit].place or ""),
                "holds": wire_names(box.passages),
                "splices": _splices(desk, box),
                "least": box.least,
                "most": desk.judged(box.most, "box-volume", subject=box.unit),
                "volume": box.volume,
                "open": ", ".join(box.open),
            }
        )
        for box in desk.design.facts.boxes
    )
    volume, places = desk.units.volume, desk.units.places(1, 0)
    fields = (
        Field("box", "Box"),
        Field("kind", "Kind"),
        Field("place", "Place"),
        Field("holds", "Conductors in it"),
        Field("splices", "Splices"),
        Field("least", "needed by what is stated", volume, places, "Volume", at_most=False),
        Field("most", "and by what is not", volume, places, "Volume", at_most=False),
        Field("volume", "of the box", volume, places, "Volume", both=True, at_most=True),
        Field("open", "Not stated"),
    )
    notes = (
        "A conductor that is cut in the box counts as it comes in and as it goes out; one with a loop in it counts twice. "
        "Grounds count together as the edition says. The working is in in³, the unit of the table that it rests on.",
    )
    return Schedule("boxes", "Boxes", fields, lines, notes, wide=True)


def _splices(desk: Desk, box: BoxDesign) -> str:
    """What the box says of joints in it, and what circuits say that begin there."""
    graph, circuits = desk.design.facts.graph, desk.design.project.circuits
    begin = [
        key
        for key in dict.fromkeys(passage.wire.circuit for passage in box.passages)
        if begins_in(graph, circuits[key]) == box.unit
    ]
    told = {True: "yes", False: "no", None: "not stated"}[box.box.splices]
    if not begin:
        return told
    joints = f"joints of {', '.join(begin)} to their arrays"
    return joints if box.box.splices is None else f"{told}: {joints}"


def _beside(desk: Desk, unit: str, wire: Conductor) -> tuple[str, str]:
    """What stands before and behind a box on the way of a wire, where no raceway does."""
    graph = desk.design.facts.graph
    begins = begins_in(graph, graph.project.circuits[wire.circuit]) == unit
    way = [item for item in passage(graph, wire.circuit) if item not in {wire.start, wire.end}]
    order = [wire.start, *way, wire.end]
    if unit in {wire.start, wire.end}:
        return ("begins here", "") if unit == wire.start else ("", "ends here")
    place = order.index(unit) if unit in order else 0
    if not place:
        return "", ""
    before = f"joint to {wire.start}" if begins else order[place - 1]
    return before, order[place + 1]


def _passing(desk: Desk) -> Schedule:
    lines = tuple(
        Line(
            {
                "box": box.unit,
                "conductor": passage.wire.id,
                "size": passage.wire.size,
                "enters": str(passage.enters or before),
                "leaves": str(passage.leaves or _goes(desk, passage.wire, box.unit) or after),
            }
        )
        for box in desk.design.facts.boxes
        for passage in box.passages
        for before, after in (_beside(desk, box.unit, passage.wire),)
    )
    fields = (
        Field("box", "Box"),
        Field("conductor", "Conductor"),
        Field("size", "Size"),
        Field("enters", "Comes from"),
        Field("leaves", "Goes to"),
    )
    return Schedule("box-contents", "Conductors in each box", fields, lines)


def _goes(desk: Desk, wire: Conductor, unit: str) -> str:
    """What becomes of a ground that leaves a box by no raceway."""
    end = desk.design.facts.bonding.ends.get(wire.circuit)
    if end is None:
        return ""
    if joined := [other for other, place in end.joints if place == unit]:
        return f"joined with {', '.join(joined)}"
    return "not stated" if end.missing is not None else end.told


def _entries(desk: Desk) -> Schedule:
    worst = {
        (f.subject, f.part.partition(",")[0]): f.outcome
        for f in sorted(desk.findings("box-gland"), key=lambda f: -f.outcome.rank)
    }
    lines = []
    for box in desk.design.facts.boxes:
        for number, entry in enumerate(box.box.entries, start=1):
            if entry not in box.entries:
                continue
            segments = desk.design.facts.graph.segments
            size = entry.size or next(
                (str(pair[1].size) for key, pair in segments.items() if str(key) == entry.raceway), ""
            )
            lines.append(
                Line(
                    {
                        "box": box.unit,
                        "entry": Marked(str(number), worst.get((box.unit, f"entry {number}"))),
                        "wall": str(entry.wall),
                        "row": str(entry.row or 1),
                        "by": str(entry.raceway or ", ".join(map(str, entry.conductors))),
                        "size": str(size),
                        "from": entry.clamps_from if entry.clamps_from is not None else "",
                        "to": entry.clamps_to if entry.clamps_to is not None else "",
                        "other": entry.to_other_entry if entry.to_other_entry is not None else "",
                    }
                )
            )
    small = desk.units.small
    fields = (
        Field("box", "Box"),
        Field("entry", "Entry", align="right"),
        Field("wall", "Wall"),
        Field("row", "Row", align="right"),
        Field("by", "What comes in"),
        Field("size", "Trade size"),
        Field("from", "from", small, desk.units.places(2, 1), "Gland clamps", at_most=False),
        Field("to", "to", small, desk.units.places(2, 1), "Gland clamps", at_most=True),
        Field("other", "To the other entry", small, desk.units.fine),
    )
    return Schedule("box-entries", "Openings of boxes", fields, tuple(lines))


def _pulls(desk: Desk) -> Schedule:
    worst = {(f.subject, f.part): f.outcome for f in desk.findings("box-pull")}
    lines = tuple(
        Line(
            {
                "box": need.unit,
                "what": need.what,
                "actual": Marked(need.actual, worst.get((need.unit, need.part))),
                "needed": need.needed,
            }
        )
        for need in desk.design.facts.pull_needs
    )
    fields = (
        Field("box", "Box"),
        Field("what", "Distance"),
        Field("actual", "there", desk.units.small, desk.units.fine, both=True),
        Field("needed", "least", desk.units.small, desk.units.fine, both=True, at_most=False),
    )
    return Schedule("pull-boxes", "Distances for large conductors", fields, lines)


def _terminals(desk: Desk) -> Schedule:
    lines = []
    for device in desk.design.facts.terminals:
        told = device.terminals
        allowed = told.conductors_per_terminal if told else None
        lines.append(
            Line(
                {
                    "device": device.unit,
                    "lands": str(len(device.wires)),
                    "sizes": Marked(
                        ", ".join(dict.fromkeys(size for _, size in device.wires)),
                        desk.worst("terminal-size", subject=device.unit),
                    ),
                    "smallest": str((told.smallest if told else None) or "not stated"),
                    "largest": str((told.largest if told else None) or "not stated"),
                    "most": Marked(
                        str(device.most or "not stated"), desk.worst("terminal-count", subject=device.unit)
                    ),
                    "fullest": device.fullest,
                    "allowed": str(allowed) if allowed is not None else "not stated",
                }
            )
        )
    fields = (
        Field("device", "Device"),
        Field("lands", "Conductors landed", align="right"),
        Field("sizes", "Sizes landed"),
        Field("smallest", "smallest", group="Terminals take"),
        Field("largest", "largest", group="Terminals take"),
        Field("most", "most", group="Under one clamp", align="right"),
        Field("fullest", "at", group="Under one clamp"),
        Field("allowed", "allowed", group="Under one clamp", align="right"),
    )
    notes = ("Links count as conductors under their clamps; their own size is not judged.",)
    return Schedule("terminals", "Terminals", fields, tuple(lines), notes, wide=True)
