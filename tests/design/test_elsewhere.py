"""Another edition or country: code rows ask, physics is worked out as it was, and a slip of the pen is refused."""

from __future__ import annotations

import pytest

from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import UnknownEdition, adopted, load


def by(edition, sample, edit, **more):
    files = edit(sample, "project.yaml", "rulebook: nec2023", f"rulebook: {edition}")
    return assemble(load_project(files), adopted(edition), "test")


@pytest.fixture(params=["iec", "nec2026", "cec2021", "nec2014"])
def elsewhere(request, sample, edit):
    return request.param, by(request.param, sample, edit)


def test_no_row_of_a_code_has_a_verdict(elsewhere) -> None:
    edition, made = elsewhere
    for found in made.findings:
        if CATALOGUE[found.code].rule is None:
            continue
        if found.outcome is Outcome.ASK:
            assert edition in found.question or not found.cells
            assert found.question
        else:
            # What is left with a verdict compares two numbers of the folder.
            assert found.value is not None
            assert found.limit is not None
            assert not found.cells
        assert found.clause == ""


def test_one_question_for_each_code_check_and_subject(elsewhere, sample, design) -> None:
    edition, made = elsewhere
    asked = [(f.code, f.subject) for f in made.findings if f.outcome is Outcome.ASK]
    assert len(asked) == len(set(asked))
    here = {(f.code, f.subject) for f in design(sample).findings}
    assert {(f.code, f.subject) for f in made.findings} == here | {("edition", edition)}


def test_physics_stays_as_it_was(elsewhere, sample, design) -> None:
    _, made = elsewhere
    here = design(sample)
    for mine, theirs in zip(made.facts.strings, here.facts.strings, strict=True):
        assert mine.governing.value == theirs.governing.value
        assert mine.short_circuit.value == theirs.short_circuit.value
    for mine, theirs in zip(made.facts.circuits, here.facts.circuits, strict=True):
        assert mine.drop.value == theirs.drop.value
        assert mine.loss.value == theirs.loss.value
    for mine, theirs in zip(made.facts.stretches, here.facts.stretches, strict=True):
        assert mine.fill.value == theirs.fill.value
    verdicts = {f.id: f.outcome for f in here.findings if CATALOGUE[f.code].rule is None}
    assert verdicts.items() <= {f.id: f.outcome for f in made.findings}.items()


def test_a_string_that_destroys_its_input_fails_in_every_country(sample, edit) -> None:
    files = edit(sample, "arrays.yaml", "E1: {array: EAST, count: 12", "E1: {array: EAST, count: 13")
    made = by("iec", files, edit)
    assert next(f for f in made.findings if f.id == "cold-voltage-inverter:E1").outcome is Outcome.FAILS


def test_what_fails_by_the_rules_held_stands_in_the_note_of_the_question(sample, edit) -> None:
    files = edit(sample, "landing.yaml", "SW-E2: *links", "SW-E2: [[T1, T2], [T3, T4], [L1, L2]]")
    found = next(f for f in by("iec", files, edit).findings if f.id == "switch-opens:INV-1/B")
    assert found.outcome is Outcome.ASK
    assert found.notes == ("by NEC 2023 it fails: with every switch open E2+ stays connected to INV-1/B",)


def test_a_part_that_fails_is_told_though_another_one_was_found_first(sample, edit) -> None:
    files = edit(
        sample,
        "equipment.yaml",
        "largest: 6 AWG, conductors_per_terminal: 1, torque: 2",
        "largest: 10 AWG, conductors_per_terminal: 1, torque: 2",
    )
    here = [f for f in by("nec2023", files, edit).findings if f.code == "terminal-size"]
    assert any(f.outcome is Outcome.FAILS for f in here)
    for found in here:
        if found.outcome is Outcome.FAILS:
            made = next(
                f for f in by("iec", files, edit).findings if f.id == f"terminal-size:{found.subject}"
            )
            assert f"by NEC 2023 it fails: {found.headline}" in made.notes


def test_figures_of_a_question_are_in_the_units_of_the_project(sample, edit) -> None:
    """550 mm of cover as stated, which 21.65 in would hide."""
    found = next(f for f in by("iec", sample, edit).findings if f.id == "raceway-cover:R1/trench-orchard")
    assert found.question.endswith("with 550 mm, cover as stated?")


def test_a_voltage_by_the_table_of_the_code_is_a_question(sample, edit) -> None:
    files = edit(sample, "equipment.yaml", "    voltage_coefficient: -0.26 %/degC\n", "")
    made = by("iec", files, edit)
    found = next(f for f in made.findings if f.id == "cold-voltage-inverter:E1")
    assert found.outcome is Outcome.ASK


def test_a_missing_input_is_named_in_the_question_and_never_a_pass(sample, edit) -> None:
    files = edit(sample, "circuits.yaml", "    tails: {start: 6 m, end: 1.4 m}\n", "")
    made = by("iec", files, edit)
    assert next(f for f in made.findings if f.id == "voltage-drop:PV-E1").outcome is Outcome.UNKNOWN


@pytest.mark.parametrize("name", ["nec2032", "NEC2023", "NEC-2023", "nce2023", "nec 2017"])
def test_a_slip_of_the_pen_is_refused(name) -> None:
    with pytest.raises(UnknownEdition):
        adopted(name)


@pytest.mark.parametrize("name", ["nec2023", "nec2020", "nec2017"])
def test_an_edition_that_is_held_is_the_one_adopted(name) -> None:
    assert adopted(name) is load(name)


def test_no_clause_of_another_edition_is_printed(sample, edit) -> None:
    from reportgen.binder.write import lay_out

    made = by("iec", sample, edit)
    pages = lay_out(made, sample)
    assert pages.frame.edition == "iec, no rulebook"
    rules = pages.schedules["schedules/rules.csv"].decode()
    assert "690." not in rules
    for chapter in pages.chapters:
        if chapter.id in {"conductors", "raceways", "grounding", "references"}:
            assert chapter.elements[0].title == "Not the rules of iec"
    assert "did you mean" not in next(f for f in made.findings if f.code == "edition").cure
