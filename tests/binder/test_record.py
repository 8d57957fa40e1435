"""Where to look first, the record and the emergency sheet: from the folder or `not stated`, nothing invented."""

from __future__ import annotations

import hashlib
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from page_readers import text_of

from reportgen import __version__
from reportgen.binder.chapters import operation, record, site
from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.energy import output_of
from reportgen.binder.elements import Caution, Chapter, Facts, FormTable, Table, TaskCard
from reportgen.binder.frame import Frame
from reportgen.binder.html import anchors, faults, numbered, render
from reportgen.binder.pdf import write_pdf
from reportgen.binder.write import lay_out
from reportgen.design.missing import Missing
from reportgen.project.load import load_project
from reportgen.service.build import BuildOptions, check, run
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

sys.path.insert(0, str(Path(__file__).parents[1] / "design"))
from field_folder import folder

SAMPLE = Path(__file__).parents[2] / "sample_project"
FILES = dict(take(SAMPLE).everything)


def without(*files: str, **texts: tuple[str, str]):
    """Desk over the sample without some files and with texts replaced in others."""
    kept = {name: data for name, data in FILES.items() if name not in files}
    for name, (old, new) in texts.items():
        text = kept[f"{name}.yaml"].decode()
        assert old in text
        kept[f"{name}.yaml"] = text.replace(old, new).encode()
    return Desk(check(Snapshot.of(kept)), kept)


@pytest.fixture(scope="module")
def desk() -> Desk:
    return without()


@pytest.fixture(scope="module")
def pages(desk):
    return lay_out(desk.design, FILES)


def rows(chapter: Chapter, id: str) -> list[dict[str, str]]:
    """Rows of a table, also of one on a card, by the titles of its columns."""
    flat = [
        one
        for element in chapter.elements
        for one in (element.elements if isinstance(element, TaskCard) else (element,))
    ]
    table = next(one for one in flat if isinstance(one, Table) and one.id == id)
    return [
        {column.title: cell.text for column, cell in zip(table.columns, row.cells, strict=True)}
        for row in table.rows
    ]


def facts(chapter: Chapter) -> dict[str, str]:
    found: dict[str, str] = {}
    for element in chapter.elements:
        for one in element.elements if isinstance(element, TaskCard) else (element,):
            if isinstance(one, Facts):
                found |= dict(one.pairs)
    return found


def test_papers_carry_the_hash_of_their_file() -> None:
    papers = {row["Paper"]: row for row in rows(record.chapter(without()), "documents")}
    digest = hashlib.sha256((SAMPLE / "LK-66H.pdf").read_bytes()).hexdigest()
    assert papers["sheet-M450"]["File"] == "LK-66H.pdf"
    assert papers["sheet-M450"]["SHA-256, first 16"] == digest[:16]
    assert papers["marks-yard"]["File"] == "not in the folder"
    assert papers["marks-yard"]["SHA-256, first 16"] == ""


def test_the_data_sheet_of_the_sample_states_what_its_folder_does() -> None:
    """The paper that proves the values of the module holds each of them."""
    words = " ".join(text_of((SAMPLE / "LK-66H.pdf").read_bytes()).split())
    module = load_project(FILES).modules["M450"]
    for name, label in (
        ("power", "Maximum power"),
        ("open_circuit_voltage", "Open-circuit voltage"),
        ("operating_voltage", "Voltage at maximum power"),
        ("short_circuit_current", "Short-circuit current"),
        ("operating_current", "Current at maximum power"),
        ("voltage_coefficient", "Coefficient of open-circuit voltage"),
        ("current_coefficient", "Coefficient of short-circuit current"),
        ("power_coefficient", "Coefficient of maximum power"),
        ("operating_temperature", "Nominal operating cell temperature"),
        ("maximum_system_voltage", "Maximum system voltage"),
        ("maximum_series_fuse", "Maximum series fuse"),
        ("length", "Length"),
        ("width", "Width"),
    ):
        assert f"{label} {getattr(module, name).origin.text}" in words
    assert f"Cells in series {module.cells_in_series}" in words
    assert f"Connectors {module.connector}" in words


def test_equipment_says_what_is_not_stated() -> None:
    told = {row["Type"]: row for row in rows(record.chapter(without()), "equipment")}
    assert told["M450"]["Installed, serial number"] == "55 modules"  # 24 + 21 + 10 standing
    assert told["M450"]["Papers held"] == "sheet-M450"
    assert told["V8"]["Papers held"] == told["V8"]["Listing, certificate"] == "not stated"
    stated = without(
        equipment=(
            'INV-2: {place: "outbuilding, north wall"',
            'INV-2: {serial: A77, place: "outbuilding, north wall"',
        )
    )
    told = {row["Type"]: row for row in rows(record.chapter(stated), "equipment")}
    assert told["V8"]["Installed, serial number"] == "INV-2: no. A77"


def test_a_folder_that_states_nothing_says_so_and_names_the_key() -> None:
    bare = without("handover.yaml")
    chapter = record.chapter(bare)
    assert {row["Wind and snow"] for row in rows(chapter, "structures")} == {"not stated"}
    (dig,) = rows(chapter, "dig")
    assert dig["New pipe in earth"] == "R2 (trench-yard)"
    assert dig["Ticket"] == dig["Last day"] == "not stated"
    assert rows(chapter, "removed")[0]["Taken out or made dead"] == "nothing recorded"
    told = facts(operation.chapter(bare))
    assert told["1. Alternating current off"] == told["Smoke detection"] == told["Next test"] == "not stated"
    assert told["It works when"] == "not stated: `handover`, `operation`, `works`"
    words = render(Frame("Bare"), [chapter, operation.chapter(bare)], ())
    for key in (
        "handover",
        "dig",
        "structures",
        "removed",
        "instruments",
        "emergency",
        "documents",
        "listing",
        "serial",
    ):
        assert f"`{key}`" in words


def test_an_old_pipe_is_not_dug_and_a_new_one_without_a_ticket_is_told() -> None:
    two = without(
        raceways=("  R1:\n    status: existing", "  R1:\n    status: new"),
    )
    told = rows(record.chapter(two), "dig")
    assert [row["New pipe in earth"] for row in told] == ["R2 (trench-yard)", "R1 (trench-orchard)"]
    assert told[1]["Ticket"] == "not stated"


def test_a_ticket_that_ends_before_the_digging_is_told() -> None:
    late = without(handover=("digging_from: 2026-04-15", "digging_from: 2026-05-15"))
    assert rows(record.chapter(late), "dig")[0]["Last day"] == "2026-04-29, over before the digging: ask anew"


def test_a_meter_below_the_strings_or_past_its_day_is_told() -> None:
    """593.868 V at the record low are more than 300 V; readings that name the meter are of 2026-04-11 at the latest."""
    old = "category: CAT III 1000 V, calibrated: 2026-01-12, due: 2027-01-12"
    poor = without(handover=(old, "category: CAT III 300 V, calibrated: 2025-01-12, due: 2026-01-12"))
    meter = next(row for row in rows(record.chapter(poor), "instruments") if row["Serial number"] == "118")
    assert meter["Category"] == "CAT III 300 V, below 593.9 V of the strings: not for them"
    assert meter["Due"] == "2026-01-12, over at the readings of 2026-04-11"
    # Of two categories the higher voltage counts, and another instrument is held against no reading of this one.
    both = without(handover=(old, "category: CAT II 1000 V and CAT III 300 V, due: 2026-04-11"))
    meter = next(row for row in rows(record.chapter(both), "instruments") if row["Serial number"] == "118")
    assert (meter["Category"], meter["Due"]) == ("CAT II 1000 V and CAT III 300 V", "2026-04-11")


def test_a_correction_that_is_not_worked_in_warns_on_its_page() -> None:
    open_one = without(
        handover=(
            "affects_calculation: yes, recalculated: yes, by: Rowan Ashdown, date: 2026-04-02",
            "by: Rowan Ashdown",
        )
    )
    titles = [one.title for one in record.chapter(open_one).elements if isinstance(one, Caution)]
    assert "Not all figures are those of what was built" in titles
    assert "Not all figures are those of what was built" not in [
        one.title for one in record.chapter(without()).elements if isinstance(one, Caution)
    ]


def test_removed_things_of_the_design_stand_there_also_when_nobody_recorded_them() -> None:
    gone = without(circuits=("  EG-2:\n    kind: ground", "  EG-2:\n    status: removed\n    kind: ground"))
    told = [row["Taken out or made dead"] for row in rows(record.chapter(gone), "removed")]
    assert "circuit EG-2" in told


# The emergency sheet


def test_the_emergency_sheet_names_the_highest_voltage_of_each_array(desk) -> None:
    told = {row["Array"]: row for row in rows(operation.chapter(desk), "emergency-live")}
    assert told["EAST"]["Up to"] == "593.9"  # 12 × 44.1 V × (1 + 0.0026 × 47)
    assert told["WEST"]["Up to"] == "544.4"  # of W1 with 11 modules, not of W2 with 10
    assert told["WEST"]["Live whatever is switched off"] == "R1, PB-1, R2, TR-1, SW-W1, SW-W2"
    behind = "Live until every switch is open, the wait over and it is measured dead"
    assert told["WEST"][behind] == "inverter side of SW-W1, inverter side of SW-W2"


def test_it_tells_the_record_low_also_where_the_design_goes_by_a_milder_day() -> None:
    milder = without(project=("cold_temperature: record low", "cold_temperature: mean annual minimum"))
    told = {row["Array"]: row for row in rows(operation.chapter(milder), "emergency-live")}
    assert told["EAST"]["Up to"] == "593.9"


def test_one_string_without_a_voltage_leaves_its_array_unknown(desk) -> None:
    opened = tuple(
        replace(item, whole=Missing("voltage_coefficient")) if item.string == "W2" else item
        for item in desk.design.isolation.opened
    )
    design = replace(desk.design)
    design.__dict__["isolation"] = replace(desk.design.isolation, opened=opened)
    told = {row["Array"]: row for row in rows(operation.chapter(Desk(design, {})), "emergency-live")}
    assert told["WEST"]["Up to"] == "unknown"
    assert told["EAST"]["Up to"] == "593.9"


def test_it_names_legs_that_no_switch_parts() -> None:
    bare = without("landing.yaml")
    assert (
        "without a switch by the landing: PV-E1+" in facts(operation.chapter(bare))["2. Direct current off"]
    )
    assert (
        "SW-E1, SW-E2, SW-R1, SW-W1, SW-W2: outbuilding"
        in facts(operation.chapter(without()))["2. Direct current off"]
    )


def test_a_number_that_nobody_stated_is_a_blank_to_fill_in() -> None:
    def calls(desk: Desk) -> dict[object, object]:
        card = next(one for one in operation.chapter(desk).elements if isinstance(one, TaskCard))
        form = next(
            one for one in card.elements if isinstance(one, FormTable) and one.id == "emergency-calls"
        )
        return dict(form.rows)

    told = calls(without())
    assert told["Network operator"] == "000-555-0142"
    assert not isinstance(told["Fire brigade"], str)
    assert not any(isinstance(number, str) for number in calls(without("handover.yaml")).values())


# Where to look first


def test_it_stands_behind_the_one_line_diagram_and_every_link_of_it_resolves(pages) -> None:
    drawn, first = pages.chapters[:2]
    assert (drawn.id, first.id) == ("drawings", "start")
    known = set(anchors(pages.chapters))
    links = [
        cell.link
        for one in first.elements
        if isinstance(one, Table)
        for row in one.rows
        for cell in row.cells
        if cell.link
    ]
    assert len(links) > 40
    assert set(links) <= known
    assert not faults(pages.chapters)


def test_it_lists_every_card_and_every_caution(pages) -> None:
    _, first, *others = pages.chapters
    tables = {one.id: one for one in first.elements if isinstance(one, Table)}
    told = {cell.text for row in tables["start-cards"].rows for cell in row.cells}
    cautions = "; ".join(row.cells[1].text for row in tables["start-cautions"].rows)
    for chapter in others:
        for element in chapter.elements:
            if isinstance(element, TaskCard):
                assert element.title.partition(", card ")[0] in told
            if isinstance(element, Caution):
                assert element.title in cautions


def test_the_revision_of_the_binder_is_in_the_table_though_nobody_listed_it() -> None:
    for desk, marks in ((without(), ["A", "B"]), (without("handover.yaml"), ["B"])):
        chapter = lay_out(desk.design, FILES).chapters[1]
        assert [row["Revision"] for row in rows(chapter, "start-revisions")] == marks


@pytest.mark.parametrize("large", [False, True])
def test_each_card_fits_a_letter_sheet(large: bool) -> None:
    """The shorter of the two papers, for the sample and for 24 strings with a switch each."""
    files = folder(24, 3) if large else FILES
    imperial = Desk(check(Snapshot.of(files)), files)
    made = [operation.chapter(imperial), record.chapter(imperial)]
    pdf = write_pdf(render(Frame("Letter", imperial=True), made, ()))
    heads = [text.strip().split("\n")[0] for text in text_of(pdf, "-raw").split("\f") if text.strip()]
    cards = [element for chapter in made for element in chapter.elements if isinstance(element, TaskCard)]
    assert len(cards) == 4
    info = subprocess.run(["pdfinfo", "-"], input=pdf, capture_output=True, check=True).stdout.decode()
    # cover, contents, operation, emergency sheet, record on two or three sheets, and three cards
    assert int(re.search(r"^Pages: +(\d+)$", info, re.M)[1]) <= 10
    assert sum(head.startswith("Task card: ") for head in heads) == 4
    assert not [head for head in heads if head.startswith(("Remarks", "Subjects", "Telephone"))]


def test_the_contents_count_no_failure_where_no_finding_fails(desk, pages) -> None:
    """Sizes and pipes that were only tried do not make the design look as if it failed."""
    assert not [finding for finding in desk.design.findings if finding.outcome == "fails"]
    told = [numbered(1, chapter).counts for chapter in pages.chapters]
    assert not [counts for counts in told if any(outcome == "fails" for outcome in counts)]


# Basis, on the page of the site


def test_rated_power_is_that_of_the_strings_and_unknown_where_an_inverter_is_silent() -> None:
    """54 of 55 modules of 450 W stand in strings: 24.3 kW; 10 kW and 8 kW of alternating current."""
    told = facts(site.chapter(without()))
    assert told["Rated power"] == "DC 24.3 kW in 54 of 55 modules; AC 18 kW of 2 inverters"
    assert told["Commissioned"] == "not stated: `handover`, `operation`, `started`"
    silent = without(equipment=("    ac_power: 8 kW\n", ""))
    assert "AC unknown, `ac_power` of V8" in facts(site.chapter(silent))["Rated power"]


def test_parcel_version_and_edition_are_printed() -> None:
    desk = without(project=("  address: Quince Hollow, Mill Lane", "  address: Mill Lane\n  parcel: 12-7"))
    pages = lay_out(desk.design, desk.inputs)
    assert ("parcel", "12-7") in pages.frame.facts
    assert facts(pages.chapters[3])["Address; parcel"] == "Mill Lane; 12-7"
    words = render(pages.frame, pages.chapters[-1:], ())
    assert f"Made by reportgen {__version__} with the rulebook NEC 2023" in words


def test_the_emergency_sheet_and_the_design_speak_of_one_rapid_shutdown() -> None:
    stated = str(without().design.project.project.rapid_shutdown)
    assert facts(operation.chapter(without()))["Rapid shutdown"] == stated
    bare = without(project=(f"  rapid_shutdown: {stated}\n", ""))
    assert facts(operation.chapter(bare))["Rapid shutdown"] == "not stated: `project`, `rapid_shutdown`"


@pytest.fixture(scope="module")
def simulated():
    return run(take(SAMPLE), BuildOptions(pdf=False)).design


def test_the_owner_is_told_the_year_with_its_band_and_nothing_of_a_clear_sky(simulated) -> None:
    told = facts(operation.chapter(Desk(simulated, FILES)))["Expected in a year"]
    assert told.startswith(f"{output_of(simulated.energy)}; ")
    assert "; by month, January first: " in told
    assert len(re.findall(r"\d+", told.partition("first: ")[2])) == 12
    year = simulated.energy.year
    clear = replace(year, upper_bound=True, band=replace(year.band, low_kwh=None, high_kwh=None))
    design = replace(simulated, energy=replace(simulated.energy, year=clear))
    told = facts(operation.chapter(Desk(design, FILES)))["Expected in a year"]
    assert told == "withheld: the weather is a sky without a cloud, an upper bound and no expectation"
