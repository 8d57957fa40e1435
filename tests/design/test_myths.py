"""Rules that are often misstated, one test for each: the finding or the figure that catches it."""

from __future__ import annotations

import pytest

from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import OutsideTable, load


@pytest.fixture
def by(edit):
    """Design by an edition."""

    def make(edition, files):
        files = edit(files, "project.yaml", "rulebook: nec2023", f"rulebook: {edition}")
        return assemble(load_project(files), load(edition), "test")

    return make


def found(made, key):
    return next(finding for finding in made.findings if finding.id == key)


def test_the_ground_wire_does_not_count(sample, design) -> None:
    stretch = next(item for item in design(sample).facts.stretches if str(item.id) == "R1/trench-orchard")
    # Four strings: eight conductors carry current, nine take space.
    assert stretch.carrying == 8
    assert len(stretch.conductors) == 9


def test_thhn_in_buried_conduit_is_fine(sample, edit, design) -> None:
    files = edit(sample, "equipment.yaml", "markings: [THWN-2]", "markings: [THHN]")
    assert found(design(files), "wet-marking:PV-E1").outcome is Outcome.FAILS
    dual = design(edit(sample, "equipment.yaml", "markings: [THWN-2]", "markings: [THHN/THWN]"))
    assert found(dual, "wet-marking:PV-E1").outcome is Outcome.MEETS
    # Without the -2 the wet rating is 75 °C, and the column with it.
    assert {s.rating.value for c in dual.facts.circuits for s in c.stretches} == {75.0}


def test_one_factor_of_125_percent_is_enough(sample, design) -> None:
    string = design(sample).facts.strings[0]
    assert string.maximum.value == pytest.approx(1.25 * 12.95)
    assert string.continuous.value == pytest.approx(1.25 * 1.25 * 12.95)


def test_any_switch_works_on_direct_current(sample, edit, design) -> None:
    files = edit(
        sample,
        "equipment.yaml",
        "      - {poles_in_series: 1, voltage: 400 V}\n      - {poles_in_series: 2, voltage: 800 V}\n",
        "",
    )
    files = edit(files, "equipment.yaml", "    ratings:\n", "    ratings: []\n")
    assert found(design(files), "cold-voltage-switch:PV-E1:SW-E1").outcome is Outcome.UNKNOWN


def test_string_voltage_at_standard_conditions_below_600_is_enough(sample, edit, design) -> None:
    # 13 · 44.1 = 573 V at 25 °C, and 643 V at −22 °C.
    files = edit(sample, "arrays.yaml", "E1: {array: EAST, count: 12", "E1: {array: EAST, count: 13")
    made = design(files)
    string = next(item for item in made.facts.strings if item.id == "E1")
    assert string.stc_open.value < 600 < string.governing.value
    assert found(made, "cold-voltage-inverter:E1").outcome is Outcome.FAILS


def test_the_cold_table_ends_at_minus_40(sample, edit, design) -> None:
    files = edit(sample, "equipment.yaml", "    voltage_coefficient: -0.26 %/degC\n", "")
    files = edit(files, "site.yaml", "record_low: -22 degC", "record_low: -40.5 degC")
    assert found(design(files), "cold-voltage-inverter:E1").outcome is Outcome.UNKNOWN


def test_fractions_of_a_degree_take_the_colder_band(sample, edit, design) -> None:
    files = edit(sample, "site.yaml", "record_low: -22 degC", "record_low: -20.5 degC")
    case = design(files).facts.strings[0].cold[0]
    # −20.5 °C lies between −16 to −20 (1.18) and −21 to −25 (1.20).
    assert case.by_table.value == pytest.approx(12 * 44.1 * 1.20)


def test_1000_volts_are_fine_for_a_house(sample, edit, design) -> None:
    files = edit(sample, "project.yaml", "building: other building", "building: dwelling")
    files = edit(files, "arrays.yaml", "E1: {array: EAST, count: 12", "E1: {array: EAST, count: 14")
    assert found(design(files), "cold-voltage-place:E1").outcome is Outcome.FAILS
    other = edit(sample, "arrays.yaml", "E1: {array: EAST, count: 12", "E1: {array: EAST, count: 14")
    assert found(design(other), "cold-voltage-place:E1").outcome is Outcome.MEETS


def test_above_1000_volts_another_rule_may_hold_and_it_is_a_question(sample, edit, design) -> None:
    files = edit(sample, "arrays.yaml", "E1: {array: EAST, count: 12", "E1: {array: EAST, count: 24")
    found_ = found(design(files), "cold-voltage-place:E1")
    assert found_.outcome is Outcome.ASK
    assert found_.question


@pytest.mark.parametrize("edition", ["nec2017", "nec2020", "nec2023"])
def test_rapid_shutdown_applies_to_all_or_a_ground_mount_is_exempt(sample, edit, by, edition) -> None:
    # Ground-mounted circuits that enter a house or press house are in, in every edition, and so is the roof.
    for unit in ("INV-1", "INV-2"):
        assert found(by(edition, sample), f"rapid-shutdown:{unit}").outcome is Outcome.ASK
    # Calling it no building does not take the stretch indoors out of the building.
    called = edit(sample, "project.yaml", "building: other building", "building: no building")
    assert {found(by(edition, called), f"rapid-shutdown:{unit}").outcome for unit in ("INV-1", "INV-2")} <= {
        Outcome.ASK,
        Outcome.UNKNOWN,
    }
    place = found(by(edition, called), "cold-voltage-place:E1")
    assert place.outcome is Outcome.UNKNOWN
    assert "R2/roof" in place.missing[0]


def test_circuits_that_never_touch_a_building_raise_no_rapid_shutdown(sample, edit, design) -> None:
    files = edit(sample, "project.yaml", "building: other building", "building: no building")
    files = edit(files, "raceways.yaml", "place: indoors", "place: outdoors")
    files = edit(files, "raceways.yaml", "place: roof", "place: outdoors")
    files = edit(files, "equipment.yaml", ", inside: yes", "")
    files = edit(files, "arrays.yaml", "on_building: yes, ", "")
    made = design(files)
    assert {f.outcome for f in made.findings if f.code == "rapid-shutdown"} == {Outcome.MEETS}
    assert found(made, "cold-voltage-place:E1").limit.value == 1000


@pytest.mark.parametrize(
    ("kind", "outcome"), [("EMT", Outcome.MEETS), ("PVC-80", Outcome.FAILS), ("LFNC-B", Outcome.FAILS)]
)
def test_wire_may_run_in_plastic_inside_a_house(sample, edit, design, kind, outcome) -> None:
    files = edit(sample, "raceways.yaml", "hall: {kind: EMT", f"hall: {{kind: {kind}")
    assert found(design(files), "indoor-raceway:R2/hall").outcome is outcome


def test_plastic_up_the_outside_wall_is_no_finding_of_that_rule(sample, design) -> None:
    codes = {f.subject for f in design(sample).findings if f.code == "indoor-raceway"}
    assert codes == {"R2/hall"}


def test_use_2_may_run_free_inside_a_house(sample, edit, design) -> None:
    files = edit(sample, "equipment.yaml", "markings: [THWN-2]", "markings: [USE-2]")
    assert found(design(files), "indoor-marking:PV-E1").outcome is Outcome.FAILS
    files = edit(sample, "equipment.yaml", "markings: [THWN-2]", "markings: [USE-2, RHW-2]")
    assert not [f for f in design(files).findings if f.code == "indoor-marking"]


def test_connectors_of_the_same_shape_mate(sample, edit, design) -> None:
    files = edit(sample, "circuits.yaml", "connector: Larkspur LC4", "connector: Bergamot LC4", 1)
    assert found(design(files), "connector-halves:PV-E1").outcome is Outcome.FAILS


@pytest.mark.parametrize("edition", ["nec2017", "nec2020", "nec2023"])
def test_round_a_fraction_of_an_ampere_down(sample, by, edition) -> None:
    made = by(edition, sample)
    assert made.facts.strings[0].maximum.value == 16.1875
    assert made.rulebook.ruling("fraction-rounding").answer == "none"


@pytest.mark.parametrize(
    ("edition", "on_ground", "outcome"),
    [
        ("nec2017", True, Outcome.FAILS),
        ("nec2020", True, Outcome.FAILS),
        ("nec2023", True, Outcome.ASK),
        ("nec2023", False, Outcome.FAILS),
    ],
)
def test_arc_fault_protection_is_for_buildings_only(sample, edit, by, edition, on_ground, outcome) -> None:
    files = edit(
        sample, "equipment.yaml", "    arc_fault_protection: yes\n", "    arc_fault_protection: no\n", 1
    )
    if on_ground:
        files = edit(files, "project.yaml", "building: other building", "building: no building")
        files = edit(files, "raceways.yaml", "place: indoors", "place: outdoors")
        files = edit(files, "raceways.yaml", "place: roof", "place: outdoors")
        files = edit(files, "equipment.yaml", ", inside: yes", "")
        files = edit(files, "arrays.yaml", "on_building: yes, ", "")
    assert found(by(edition, files), "arc-fault:H10").outcome is outcome
    silent = edit(files, "equipment.yaml", "    arc_fault_protection: no\n", "", 1)
    assert found(by(edition, silent), "arc-fault:H10").outcome is Outcome.UNKNOWN


@pytest.mark.parametrize(
    ("mark", "outcome"),
    [("600 V", {Outcome.FAILS}), (None, {Outcome.UNKNOWN, Outcome.FAILS}), ("1000 V", {Outcome.MEETS})],
)
def test_600_volt_wire_is_rated_for_my_array(sample, edit, design, mark, outcome) -> None:
    files = edit(sample, "arrays.yaml", "E1: {array: EAST, count: 12", "E1: {array: EAST, count: 13")
    files = edit(files, "equipment.yaml", "    voltage: 600 V\n", f"    voltage: {mark}\n" if mark else "")
    assert found(design(files), "cold-voltage-wire:PV-E1").outcome in outcome


def test_pv_wire_can_run_from_table_to_house_along_the_fence(sample, edit, design) -> None:
    files = edit(sample, "equipment.yaml", "markings: [THWN-2]", "markings: [PV wire]")
    files = edit(files, "circuits.yaml", "    path: [R1, R2/trench-yard, R2/riser-yard, R2/hall]\n", "", 1)
    made = design(files)
    assert found(made, "circuit-path:PV-E1").outcome is Outcome.UNKNOWN
    assert not [
        f
        for f in made.findings
        if f.subject == "PV-E1" and f.code == "ampacity-use" and f.outcome is Outcome.MEETS
    ]


def test_no_table_value_interpolate() -> None:
    book = load("nec2023")
    # Between two bands the hotter one, between two counts the larger group.
    assert book.ambient_factor(90, 40.4).number == book.ambient_factor(90, 45).number
    assert book.count_factor(9).number == 0.70
    assert book.count_factor(10).number == 0.50
    for ask in (
        lambda: book.ambient_factor(60, 56),
        lambda: book.ampacity("copper", "7", 90),
        lambda: book.voltage_table_factor(-41),
    ):
        with pytest.raises(OutsideTable):
            ask()
