"""The record: equipment with its papers, what was built otherwise, dug and taken out, instruments, signatures, cards."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator

from reportgen.binder.chapters import record_cards
from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.record_equipment import (
    NOT_STATED,
    as_stated,
    documents,
    equipment,
    handover,
    structures,
)
from reportgen.binder.elements import Caution, Chapter, Element, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.findings import Outcome
from reportgen.project.handover import Dig, Instrument
from reportgen.project.records import AsBuilt
from reportgen.working.quantity import Quantity


def chapter(desk: Desk) -> Chapter:
    """Tables of what is recorded, then the cards that are filled in on site."""
    elements: list[Element] = [
        desk.keep(equipment(desk)).table(),
        desk.keep(documents(desk)).table(),
    ]
    elements += [desk.keep(structures(desk)).table()] if desk.design.project.arrays else []
    elements += _built(desk)
    elements += _dug(desk)
    elements.append(desk.keep(_removed(desk)).table())
    elements.append(desk.keep(_instruments(desk)).table())
    if handover(desk).functions:
        elements.append(desk.keep(_functions(desk)).table())
    elements += record_cards.cards(desk, handover(desk))
    return Chapter(
        "record",
        "Equipment, papers and record",
        "What is installed and which paper proves it; what was built otherwise, dug, taken out, and measured with what.",
        tuple(elements),
    )


def _built(desk: Desk) -> Iterator[Element]:
    corrections = desk.design.project.asbuilt
    if not corrections:
        yield Paragraph(
            "As built: no correction is recorded under `asbuilt`. Until somebody has gone through the card of corrections, "
            "these pages show what was designed."
        )
        return
    worst = {finding.subject: finding.outcome for finding in desk.findings("as-built")}
    if any(outcome is not Outcome.MEETS for outcome in worst.values()):
        yield Caution(
            "Not all figures are those of what was built",
            "A correction marked unknown has not been worked into the inputs. What rests on it in this binder is not proved "
            "for what stands there.",
        )
    lines = tuple(
        Line(
            {
                "id": str(key),
                "item": Marked(str(item.item), worst.get(str(key))),
                "designed": str(item.designed),
                "built": Marked(
                    str(item.built),
                    note=f"measured {desk.units.told(item.measured_length, 'length')}"
                    if item.measured_length is not None
                    else "",
                ),
                "reason": as_stated(item.reason),
                "figures": _figures(item),
                "by": ", ".join(str(part) for part in (item.by, item.date) if part) or NOT_STATED,
                "accepted": as_stated(item.accepted_by),
                "photo": as_stated(item.photo),
            }
        )
        for key, item in corrections.items()
    )
    fields = (
        Field("id", "No."),
        Field("item", "Item"),
        Field("designed", "As designed"),
        Field("built", "As built"),
        Field("reason", "Reason"),
        Field("figures", "Figures"),
        Field("by", "By, date"),
        Field("accepted", "Accepted by"),
        Field("photo", "Photograph"),
    )
    yield desk.keep(Schedule("as-built", "Corrections as built", fields, lines)).table()


def _figures(item: AsBuilt) -> str:
    """Whether figures rest on a correction, and whether they were worked out anew."""
    affects = {True: "affected", False: "not affected", None: "effect not stated"}[item.affects_calculation]
    again = {True: ", recalculated", False: ", not recalculated", None: ""}[item.recalculated]
    return affects + again


def _dug(desk: Desk) -> Iterator[Element]:
    """Requests to mark buried services, and new buried stretches that none covers."""
    new: dict[str, list[str]] = defaultdict(list)
    for stretch in desk.design.facts.stretches:
        if stretch.segment.place == "underground" and stretch.raceway.status_of(stretch.segment) == "new":
            new[stretch.id.raceway].append(stretch.id.segment)
    stated = handover(desk).dig
    covered = {str(name) for dig in stated.values() for name in dig.raceways}
    lines = [
        Line(
            {
                "id": str(key),
                "ticket": as_stated(dig.ticket),
                "raceways": ", ".join(
                    f"{name} ({', '.join(new[str(name)])})" if new.get(str(name)) else str(name)
                    for name in dig.raceways
                )
                or NOT_STATED,
                "from": f"{as_stated(dig.requested)}, {as_stated(dig.digging_from)}",
                "expires": _last_day(dig),
                "private": as_stated(dig.private_lines),
                "document": as_stated(dig.document),
            }
        )
        for key, dig in stated.items()
    ]
    lines += [
        Line(
            {
                "id": "none",
                "raceways": f"{name} ({', '.join(parts)})",
                **dict.fromkeys(("ticket", "from", "expires", "private", "document"), NOT_STATED),
            }
        )
        for name, parts in new.items()
        if name not in covered
    ]
    if not lines:
        return
    yield Caution(
        "No ticket, no digging",
        "Ask for marks and wait the legal time; dig by hand near them. The public service does not mark private lines: "
        "wires of one's own are such. After the last day of a ticket ask anew. From 1.5 m (5 ft) on slope or shore the trench, "
        "keep what is dug out 0.6 m (2 ft) from its edge; from 1.2 m (4 ft) a ladder within 7.6 m (25 ft). A competent person looks at "
        "it daily and after rain.",
        "OSHA 1926.651 and 652; local law",
    )
    fields = (
        Field("id", "Request"),
        Field("ticket", "Ticket"),
        Field("raceways", "New pipe in earth"),
        Field("from", "Asked, digging from"),
        Field("expires", "Last day"),
        Field("private", "Private lines"),
        Field("document", "Marks, paper"),
    )
    notes = (
        "Not stated: write it under `handover`, `dig`. Local law sets how long to wait and how long marks hold.",
    )
    yield desk.keep(Schedule("dig", "Digging", fields, tuple(lines), notes)).table()


def _removed(desk: Desk) -> Schedule:
    names = ("what", "place", "amount", "proved_dead", "went_to", "date")
    lines = [
        Line({"id": str(key), **{name: as_stated(getattr(item, name)) for name in names}})
        for key, item in handover(desk).removed.items()
    ]
    project = desk.design.project
    told = {str(item.what) for item in handover(desk).removed.values()} | set(
        map(str, handover(desk).removed)
    )
    for kind, section in (("circuit", project.circuits), ("raceway", project.raceways)):
        lines += [
            Line({"id": str(key), "what": f"{kind} {key}", **dict.fromkeys(names[1:], NOT_STATED)})
            for key, thing in section.items()
            if thing.status == "removed" and str(key) not in told and f"{kind} {key}" not in told
        ]
    if not lines:
        lines = [Line({"id": "none", "what": "nothing recorded", **dict.fromkeys(names[1:], NOT_STATED)})]
    fields = (
        Field("id", "No."),
        Field("what", "Taken out or made dead"),
        Field("place", "Where"),
        Field("amount", "Amount"),
        Field("proved_dead", "Proved dead"),
        Field("went_to", "Went to"),
        Field("date", "Date"),
    )
    notes = (
        "Record it under `handover`, `removed`. A wire that is left in place is labelled as dead at both ends; modules and "
        "electronics go to a collection point. Common practice, no source.",
    )
    return Schedule("removed", "Taken out, or left and made dead", fields, tuple(lines), notes)


def _last_day(dig: Dig) -> str:
    if dig.expires and dig.digging_from and str(dig.expires) < str(dig.digging_from):
        return f"{dig.expires}, over before the digging: ask anew"
    return as_stated(dig.expires)


def _category(desk: Desk, item: Instrument) -> str:
    """Category of an instrument, and whether the strings are above the highest voltage that it names."""
    volts = [float(found) for found in re.findall(r"(\d+(?:\.\d+)?)\s*V\b", str(item.category or ""))]
    wholes = [one.whole for one in desk.design.isolation.opened if isinstance(one.whole, Quantity)]
    highest = max(wholes, key=lambda one: one.value, default=None)
    if volts and highest is not None and max(volts) < highest.value:
        return f"{item.category}, below {highest.show(1, at_most=False)} of the strings: not for them"
    return as_stated(item.category)


def _due(desk: Desk, item: Instrument) -> str:
    """Day on which an instrument is due, and whether readings that name it were taken after that day."""
    taken = [
        str(series.date)
        for series in desk.design.project.readings.values()
        if item.maker and str(item.maker).casefold() in str(series.instrument or "").casefold()
    ]
    if item.due and taken and max(taken) > str(item.due):
        return f"{item.due}, over at the readings of {max(taken)}"
    return as_stated(item.due)


def _instruments(desk: Desk) -> Schedule:
    names = ("what", "maker", "serial", "category", "calibrated", "due")
    lines = [
        Line(
            {name: as_stated(getattr(item, name)) for name in names}
            | {"category": _category(desk, item), "due": _due(desk, item)}
        )
        for item in handover(desk).instruments.values()
    ]
    by_name: dict[str, list[str]] = defaultdict(list)
    for key, series in desk.design.project.readings.items():
        by_name[str(series.instrument or NOT_STATED)].append(str(key))
    for name, series_keys in by_name.items():
        lines.append(
            Line(
                {"what": f"readings {', '.join(series_keys)}", "maker": name, **dict.fromkeys(names[2:], "")}
            )
        )
    if not lines:
        lines = [Line({"what": "none", **dict.fromkeys(names[1:], NOT_STATED)})]
    fields = (
        Field("what", "Instrument, or readings taken"),
        Field("maker", "Maker and type; as the readings name it"),
        Field("serial", "Serial number"),
        Field("category", "Category"),
        Field("calibrated", "Calibrated"),
        Field("due", "Due"),
    )
    notes = (
        "Record them under `handover`, `instruments`. A meter has to be rated for the cold voltage of the strings. Conditions of "
        "each series stand with the readings as entered.",
    )
    return Schedule("instruments", "Instruments", fields, tuple(lines), notes)


def _functions(desk: Desk) -> Schedule:
    lines = tuple(
        Line(
            {
                "id": str(key),
                "test": str(item.test),
                "result": str(item.result),
                "passed": {True: "yes", False: "no", None: NOT_STATED}[item.passed],
                "by": ", ".join(str(part) for part in (item.by, item.date) if part) or NOT_STATED,
            }
        )
        for key, item in handover(desk).functions.items()
    )
    fields = (
        Field("id", "No."),
        Field("test", "Function"),
        Field("result", "What was seen"),
        Field("passed", "As it should"),
        Field("by", "By, date"),
    )
    return Schedule("functions", "Functions tried", fields, lines)
