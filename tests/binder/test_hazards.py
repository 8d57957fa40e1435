"""Each hazard has its caution on the page where it is met, with what it rests on."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from reportgen.binder.chapters import inputs, site
from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Listing, Pointers, TaskCard
from reportgen.binder.write import lay_out
from reportgen.service.build import check
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

SAMPLE = Path(__file__).parents[2] / "sample_project"
FILES = dict(take(SAMPLE).everything)

#: Chapter, and words of the caution that has to stand in it.
HAZARDS = (
    ("site", "whenever light falls"),
    ("site", "two people"),
    ("site", "Fall protection"),
    ("site", "Metal in the sun burns"),
    ("site", "thunder"),
    ("strings", "Above 120 V"),
    ("inputs", "array side stay live"),
    ("inputs", "reversed string must not be switched"),
    ("conductors", "mislabelled or shared"),
    ("raceways", "buried services marked"),
    ("pull-plan", "rope under tension"),
    ("boxes", "live in light"),
    ("grounding", "first fault to ground makes the second one dangerous"),
    ("reuse", "two makes"),
    ("reuse", "Trace and prove"),
    ("overcurrent", "clears no fault"),
    ("overcurrent", "little more than working current"),
    ("overcurrent", "no zero crossing"),
    ("work-order", "part a connector while current flows"),
    ("work-order", "Each worker hangs a lock"),
    ("work-order", "More than one source"),
    ("terminations", "stay charged"),
    ("ring-out", "discharge each wire"),
    ("commissioning", "test voltage is put on the array"),
    ("readings", "rated for the cold open-circuit voltage"),
    ("operation", "cracked or flooded module"),
    ("operation", "No array cable is cut"),
    ("record", "looks at it daily and after rain"),
    ("record", "0.6 m (2 ft) from its edge"),
    ("record", "private lines"),
    ("assumptions", "rests on the inputs"),
)


@pytest.fixture(scope="module")
def chapters() -> dict[str, Chapter]:
    design = check(Snapshot.of(FILES), whole=True)
    return {chapter.id: chapter for chapter in lay_out(design, FILES).chapters}


def words(chapter: Chapter) -> str:
    """Cautions of a chapter and of its cards, and what the cards list."""
    told = []
    for element in chapter.elements:
        for one in element.elements if isinstance(element, TaskCard) else (element,):
            if isinstance(one, Caution):
                told.append(f"{one.title}. {one.text}")
            elif isinstance(one, Listing):
                told += one.items
    return " ".join(told)


@pytest.mark.parametrize(("chapter", "said"), HAZARDS)
def test_a_hazard_is_told_on_its_page(chapters: dict[str, Chapter], chapter: str, said: str) -> None:
    """On the page, or on a card that the page leads to."""
    led = {place for e in chapters[chapter].elements if isinstance(e, Pointers) for _, place in e.links}
    cards = tuple(e for e in chapters["cards"].elements if isinstance(e, TaskCard) and e.id in led)
    told = words(chapters[chapter]) + words(replace(chapters["cards"], elements=cards))
    assert said.lower() in told.lower()


def test_height_is_told_only_where_modules_stand_on_a_building() -> None:
    text = FILES["arrays.yaml"].decode().replace("on_building: yes", "on_building: no")
    files = {**FILES, "arrays.yaml": text.encode()}
    assert "Fall protection" not in words(site.chapter(Desk(check(Snapshot.of(files)), files)))


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("polarised: no", ""),
        ("polarised: yes", "Polarised: SW-E1"),
        ("", "Not stated, read the device: SW-E1"),
    ],
)
def test_a_polarised_switch_and_one_of_which_nobody_knows_are_told(said: str, told: str) -> None:
    text = FILES["equipment.yaml"].decode()
    assert "    polarised: no\n" in text
    files = {
        **FILES,
        "equipment.yaml": text.replace("    polarised: no\n", f"    {said}\n" if said else "").encode(),
    }
    found = words(inputs.chapter(Desk(check(Snapshot.of(files)), files)))
    assert ("A polarised switch" in found) is bool(told)
    assert told in found
