"""A design to the files of a binder: pages, schedules, results."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.binder.chapters import (
    alternatives,
    assumptions,
    boxes,
    cards,
    changes,
    commissioning,
    conductors,
    cut_list,
    drawings,
    energy,
    findings,
    grounding,
    inputs,
    labels,
    local,
    materials,
    operation,
    overcurrent,
    printout,
    pull_plan,
    raceways,
    readings,
    record,
    references,
    reuse,
    reviews,
    ring_out,
    site,
    start,
    strings,
    terminations,
    work_order,
)
from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.elsewhere import foreign
from reportgen.binder.elements import Chapter
from reportgen.binder.frame import Frame
from reportgen.binder.schedules import Schedule
from reportgen.design.assemble import Design
from reportgen.design.compare import Comparison
from reportgen.working.collector import uncollected

#: Chapters in the order of the binder; a newcomer adds a name here. The findings come first on paper and last
#: in the making, because each links to the working that another chapter shows; before them stand the drawings and where to look.
ORDER = (
    changes,
    alternatives,
    site,
    strings,
    inputs,
    conductors,
    raceways,
    pull_plan,
    cut_list,
    boxes,
    grounding,
    reuse,
    overcurrent,
    energy,
    materials,
    labels,
    work_order,
    ring_out,
    terminations,
    commissioning,
    readings,
    operation,
    record,
    local,
    reviews,
    assumptions,
    references,
    printout,
)


@dataclass(frozen=True)
class Earlier:
    """An earlier state to compare with: its name, what differs from it, its design and its inputs."""

    name: str
    comparison: Comparison
    design: Design
    files: Mapping[str, bytes]


@dataclass(frozen=True)
class Pages:
    """Chapters in order, the frame around them, and the schedules as files."""

    frame: Frame
    chapters: tuple[Chapter, ...]
    schedules: Mapping[str, bytes]


def lay_out(
    design: Design,
    files: Mapping[str, bytes],
    revision: str = "",
    since: Earlier | None = None,
    before: tuple[str, Design] | None = None,
    variants: tuple[tuple[str, Design], ...] = (),
) -> Pages:
    """Chapters and schedules of a design.

    Parameters
    ----------
    design : Design
        What is printed.
    files : mapping of str to bytes
        The inputs read, printed at the end.
    revision : str
        State of the folder's history, for the title block.
    since : Earlier, optional
        An earlier state: a chapter tells what differs, and rows that do are marked.
    before : (str, Design), optional
        What stood there before.
    variants : tuple of (str, Design)
        Variants of the design.
    """
    with uncollected():
        return _laid_out(design, files, revision, since, before, variants)


def _laid_out(
    design: Design,
    files: Mapping[str, bytes],
    revision: str,
    since: Earlier | None,
    before: tuple[str, Design] | None,
    variants: tuple[tuple[str, Design], ...],
) -> Pages:
    desk = Desk(design, files, before=before, variants=variants)
    if since is not None:
        desk.since = (since.name, since.comparison)
        desk.earlier = _schedules(since.design, since.files)
    made = {module: module.chapter(desk) for module in ORDER if module is not references}
    found = findings.chapter(desk)
    # It leads back to the workings, also to those that only the findings show.
    made[references] = references.chapter(desk)
    following = [chapter for module in ORDER if (chapter := made[module]) is not None]
    told = cards.collected(
        (found, *(foreign(desk, chapter) for chapter in following)), before="local", tall=desk.tall
    )
    # The one-line diagram lies on its sheet before all upright ones; the index is known when every drawing is made.
    drawn = foreign(desk, drawings.chapter(desk))
    chapters = drawings.indexed((drawn, start.chapter(desk, (drawn, *told)), *told))
    digest = design.digest
    csvs = {
        f"schedules/{key}.csv": schedule.csv(digest[:12]) for key, schedule in sorted(desk.schedules.items())
    }
    return Pages(_frame(desk, revision), chapters, csvs)


def _schedules(design: Design, files: Mapping[str, bytes]) -> Mapping[str, Schedule]:
    """Every schedule of a design, by id."""
    desk = Desk(design, files)
    for module in ORDER:
        module.chapter(desk)
    return desk.schedules


def _frame(desk: Desk, revision: str) -> Frame:
    design = desk.design
    info = design.project.project
    facts = [
        (str(person.role), ", ".join(filter(None, (str(person.name), str(person.licence or "")))))
        for person in info.people
    ]
    if info.address:
        facts.insert(0, ("address", str(info.address)))
    if info.parcel:
        facts.insert(1 if info.address else 0, ("parcel", str(info.parcel)))
    if design.energy is not None and design.energy.year is not None:
        facts.append(("output in a year", energy.output_words(design)))
    if reviewed := reviews.cover_fact(desk):
        facts.append(("reviewed", reviewed))
    return Frame(
        title=str(info.title),
        number=str(info.number or ""),
        revision=str(info.revision or ""),
        date=str(info.date or ""),
        digest=design.digest,
        revision_text=revision,
        edition=design.rulebook.in_force_short,
        imperial=desk.units.imperial,
        facts=tuple(facts),
    )
