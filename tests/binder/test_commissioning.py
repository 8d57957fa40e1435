"""The commissioning sheet and the judged readings as pages and files: what is to be filled in, and what is told."""

from __future__ import annotations

import csv
import io
import math
from itertools import groupby
from pathlib import Path

import pytest

from reportgen.binder.elements import Blank, Caution, FormTable, Table, TaskCard
from reportgen.binder.html import faults, render
from reportgen.binder.write import lay_out
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take
from reportgen.working.text import fixed

SAMPLE = Path(__file__).parents[2] / "sample_project"


def pages_of(files):
    project = load_project(files)
    design = assemble(project, load(str(project.project.rulebook)), "test")
    return design, lay_out(design, files)


@pytest.fixture(scope="module")
def sample():
    return dict(take(SAMPLE).everything)


@pytest.fixture(scope="module")
def laid(sample):
    return pages_of(sample)


@pytest.fixture(scope="module")
def wrong(sample):
    """The sample with a crossed switch landed straight across, a reversed reading and a string that lacks a module."""
    equipment = (
        sample["equipment.yaml"].decode().replace("      SW-E1: {place: outbuilding, inside: yes}\n", "")
    )
    crossed = (
        "switches:\n  X2: {units: {SW-E1: }, line: [L1, L2], load: [T2, T1], joined: [[L1, T1], [L2, T2]]}\n"
    )
    landing = sample["landing.yaml"].decode()
    for old, new in (
        ("  SW-E1: &links [[T1, T2], [T3, T4]]\n  SW-E2: *links", "  SW-E2: &links [[T1, T2], [T3, T4]]"),
        ("L2: INV-1/A+, L3: PV-E1-, L4: INV-1/A-", "L2: PV-E1-, T2: INV-1/A+, T1: INV-1/A-"),
    ):
        assert old in landing
        landing = landing.replace(old, new)
    readings = sample["readings.yaml"].decode()
    readings = readings.replace("E1: {open_circuit_voltage: 508.8 V", "E1: {open_circuit_voltage: -508.8 V")
    readings = readings.replace("W2: {open_circuit_voltage: 429.8 V", "W2: {open_circuit_voltage: 383.0 V")
    files = {
        **sample,
        "equipment.yaml": equipment.encode(),
        "landing.yaml": landing.encode(),
        "readings.yaml": readings.encode(),
        "crossed.yaml": crossed.encode(),
    }
    return pages_of(files)


def rows(pages, name):
    text = pages.schedules[f"schedules/{name}.csv"].decode().split("\n", 1)[1]
    return list(csv.DictReader(io.StringIO(text)))


def chapter(pages, id):
    return next(one for one in pages.chapters if one.id == id)


def test_an_insulation_test_above_the_system_voltage_of_the_modules_is_told(sample, laid) -> None:
    """529.2 V and 441.0 V ask for 1000 V, 396.9 V for 500 V: modules for 600 V have to stand the first."""
    text = sample["equipment.yaml"].decode()
    assert "maximum_system_voltage: 1000 V" in text
    poor = text.replace("maximum_system_voltage: 1000 V", "maximum_system_voltage: 600 V")
    design, pages = pages_of({**sample, "equipment.yaml": poor.encode()})
    told = "above the system voltage of the modules of E1, E2, W1, W2: ask their maker first"
    assert told in render(pages.frame, pages.chapters, design.findings)
    design, pages = laid
    assert "the system voltage of the modules" not in render(pages.frame, pages.chapters, design.findings)


def test_polarity_comes_before_anything_is_closed(laid) -> None:
    _, pages = laid
    card = next(one for one in chapter(pages, "cards").elements if one.id == "card-order-of-tests")
    order = next(one for one in card.elements if isinstance(one, FormTable))
    told = [str(row[1]) for row in order.rows]
    first = {
        word: next(i for i, text in enumerate(told) if word in text)
        for word in ("Polarity", "closed", "Inverter on", "Short-circuit")
    }
    assert first["Polarity"] < first["closed"] < first["Short-circuit"] < first["Inverter on"]
    assert all(any(isinstance(cell, Blank) and cell.tick for cell in row) for row in order.rows)


def test_every_expected_reading_stands_on_the_page_in_the_file_and_beside_the_fields(laid) -> None:
    design, pages = laid
    groups = design.commissioning.groups
    (table,) = [
        one
        for one in chapter(pages, "commissioning").elements
        if isinstance(one, Table) and one.id == "expected-readings"
    ]
    assert [(name, len(list(run))) for name, run in groupby(row.group for row in table.rows)] == [
        (f"{', '.join(group.strings)}: {fixed(group.count.value, 0)} × {group.module}", len(group.rows))
        for group in groups
    ]
    # Who fills in the card sees what it should be and where it is good.
    told = [
        one
        for card in chapter(pages, "cards").elements
        if isinstance(card, TaskCard) and card.id.startswith("card-commissioning")
        for one in card.elements
        if isinstance(one, Table)
    ]
    bands = {row.cells[0].text: row.cells[1:] for one in told for row in one.rows}
    assert list(bands) == [", ".join(group.strings) for group in groups]
    for group in groups:
        for cell, row in zip(bands[", ".join(group.strings)], group.rows, strict=True):
            assert cell.text == fixed(row.voltage.value, 1)
            assert cell.note == (
                f"{math.ceil(row.low.value)}–{math.floor(row.high.value)}" if row.judged else "not judged"
            )
    found = rows(pages, "expected-readings")
    assert len(found) == sum(len(group.rows) for group in groups)
    # One row by hand: 12 · (44.1 + 1.1 · 66 · 0.025693 · ln 0.7) = 521.2 V, 12.95 · 0.7 = 9.065 A, 12.2 · 0.7 = 8.54 A.
    row = next(
        one
        for one in found
        if (one["strings"], one["cell [°C]"], one["irradiance [W/m²]"]) == ("E1, E2", "25", "700")
    )
    assert float(row["voc [V]"]) == pytest.approx(521.2, abs=0.05)
    assert float(row["isc [A]"]) == pytest.approx(9.065)
    assert float(row["imp [A]"]) == pytest.approx(8.54)


def test_cards_hold_every_string_once(laid) -> None:
    design, pages = laid
    cards = [
        one
        for one in chapter(pages, "cards").elements
        if isinstance(one, TaskCard) and one.id.startswith("card-commissioning")
    ]
    for kind in ("-voltages", "-grounds"):
        named = [
            row[0]
            for card in cards
            for form in card.elements
            if isinstance(form, FormTable) and form.id.endswith(kind)
            for row in form.rows
        ]
        assert named == [string.id for string in design.facts.strings]
    assert all(any(isinstance(one, Caution) for one in card.elements) for card in cards)


def test_pages_render_with_every_link_in_place(laid, wrong) -> None:
    for design, pages in (laid, wrong):
        assert not faults(pages.chapters, design.findings)
        assert "Commissioning sheet" in render(pages.frame, pages.chapters, design.findings)


def test_a_run_without_the_sun_says_so(laid) -> None:
    _, pages = laid
    assert any(
        getattr(one, "text", "") == "Not worked out in this run."
        for one in chapter(pages, "commissioning").elements
    )


def test_a_straight_across_landing_is_told_with_its_reading(wrong) -> None:
    _, pages = wrong
    row = next(one for one in rows(pages, "predicted-readings") if one["input"] == "INV-1/A")
    # 12 · 44.1 · (1 − 0.0026 · 5) = 522.3 V at 30 °C.
    assert float(row["voltage [V]"]) == pytest.approx(-522.3, abs=0.05)
    across = {one["input"]: one for one in rows(pages, "straight-across")}
    assert float(across["INV-1/A"]["voltage [V]"]) == pytest.approx(-522.3, abs=0.05)
    belongs = {(one["unit"], one["far"]): one["belongs"] for one in rows(pages, "switch-maps")}
    assert belongs["SW-E1", "T2"] == "INV-1/A-"


def test_likely_mistakes_are_ranked_with_what_the_meter_would_show(wrong) -> None:
    _, pages = wrong
    found = {(one["string"], one["code"], one["rank"]): one for one in rows(pages, "reading-mistakes")}
    reversed_pair = found["E1", "reading-voltage", "1"]
    assert reversed_pair["says"] == "the pair is reversed"
    assert float(reversed_pair["predicted [V]"]) == pytest.approx(-505.75, abs=0.01)
    assert found["W2", "reading-voltage", "1"]["says"] == "one module is missing"
    # Beside W1, read in the same minutes, it is a string of nine.
    judged = next(
        one
        for one in rows(pages, "readings-judged")
        if (one["string"], one["series"]) == ("W2", "march-array")
    )
    assert judged["others"] == "9"


def test_readings_are_printed_as_entered_and_judged(laid) -> None:
    design, pages = laid
    tables = {one.id: one for one in chapter(pages, "readings").elements if isinstance(one, Table)}
    assert {"readings-judged", "readings-compared", "readings"} <= set(tables)
    outcomes = {cell.outcome for row in tables["readings-judged"].rows for cell in row.cells if cell.outcome}
    assert {str(one) for one in outcomes} == {"meets", "unknown"}
    assert len(tables["readings"].rows) == len(design.facts.readings.reads)


def test_the_card_of_readings_lists_what_is_open(laid, wrong) -> None:
    for design, pages in (laid, wrong):
        cards = [one for one in chapter(pages, "cards").elements if one.id.startswith("card-readings")]
        forms = [form for card in cards for form in card.elements if isinstance(form, FormTable)]
        wanted = [f for f in design.findings if f.code.startswith("reading") and f.outcome != "meets"]
        assert sum(len(form.rows) for form in forms) == len(wanted) > 3


def test_curves_of_each_string_have_their_expected_points_and_room_for_those_read(laid) -> None:
    """Own calculation: twelve modules of 44.1 V open and 36.9 V at maximum power, 12.2 A and 12.95 A."""
    cards = [
        card
        for chapter in laid[1].chapters
        for card in chapter.elements
        if isinstance(card, TaskCard) and card.id == "card-order-of-tests"
    ]
    rows = {
        row[0]: row
        for card in cards
        for form in card.elements
        if isinstance(form, FormTable) and form.id.endswith("-curves")
        for row in form.rows
    }
    assert list(rows) == ["E1", "E2", "R1S", "W1", "W2"]
    assert rows["E1"][1:5] == ("529.2", "442.8", "12.20", "12.95")
    assert rows["R1S"][1:5] == ("396.9", "332.1", "12.20", "12.95")
    assert all(sum(isinstance(cell, Blank) for cell in row) == 7 for row in rows.values())
