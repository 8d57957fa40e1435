"""Rapid shutdown by edition and by where circuits end, and wiring within reach: three outcomes, and never one from silence."""

from __future__ import annotations

import pytest

from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

FARM = """
project: {title: Farm, building: dwelling%s}
site: {record_low: -12 degC, mean_annual_minimum: -8 degC, design_high: 30 degC}
modules:
  A400: {power: 400 W, open_circuit_voltage: 37.1 V, operating_voltage: 31 V, short_circuit_current: 13.79 A,
         operating_current: 12.9 A, voltage_coefficient: -0.27 %%/degC}
inverters: {H: {units: {I1: {%s}}, maximum_dc_voltage: 600 V, inputs: {A: {}}}}
cables: {W: {markings: [THWN-2]}}
arrays: {T: {module: A400, count: %s%s}}
strings: {S1: {array: T, count: %s, input: I1/A}}
raceways: {R: {segments: {a: {kind: EMT, size: 1 in, length: 9 m, place: %s, bends: []}}}}
circuits: {C1: {string: S1, cable: W, size: 10 AWG, path: [R], tails: {start: 1 m, end: 1 m}%s}}
"""
TABLE = ", mounting: ground table"


def farm(project="", unit="", array=TABLE, count=10, place="outdoors", circuit="", edition="nec2023"):
    text = FARM % (project, unit, count, array, count, place, circuit)
    return assemble(load_project({"farm.yaml": text.encode()}), load(edition), "test")


def outcome(made, code: str) -> Outcome:
    (found,) = (finding for finding in made.findings if finding.code == code)
    return found.outcome


@pytest.mark.parametrize(
    ("edition", "on_wall"), [("nec2023", Outcome.MEETS), ("nec2020", Outcome.ASK), ("nec2017", Outcome.ASK)]
)
@pytest.mark.source(
    "NFPA 70, National Electrical Code, 2017 to 2023 editions", locator="690.12, exceptions", read="memory"
)
def test_where_the_circuit_ends_decides_by_edition(edition, on_wall) -> None:
    def at(unit: str, **more) -> Outcome:
        return outcome(farm(unit=unit, edition=edition, **more), "rapid-shutdown")

    assert at("inside: no, on_building: yes") is on_wall
    assert at("inside: no, on_building: no") is Outcome.MEETS
    # The garage: it applies, and what provides it is not stated, stated to be nothing, or stated.
    garage = ", building_use: other use"
    assert at("inside: yes", project=garage) is Outcome.UNKNOWN
    assert at("inside: yes", project=f"{garage}, rapid_shutdown: none") is Outcome.FAILS
    assert at("inside: yes", project=f"{garage}, rapid_shutdown: receivers at the modules") is Outcome.ASK
    # A shed for the inverters and nothing else is excepted for a ground mount.
    shed = ", building_use: PV equipment only"
    assert at("inside: yes", project=shed) is Outcome.MEETS
    # Of an array on a roof nothing is excepted, wherever it ends.
    for unit in ("inside: no, on_building: yes", "inside: no, on_building: no", "inside: yes"):
        roof = ", mounting: roof raised"
        assert at(unit, array=roof, project=f"{shed}, rapid_shutdown: none") is Outcome.FAILS


@pytest.mark.parametrize(
    ("unit", "more", "missing"),
    [
        ("", {}, "inside of I1"),
        ("inside: no", {}, "on_building of I1"),
        ("inside: yes", {}, "building_use"),
        ("inside: no, on_building: no", {"array": ""}, "on_building of array T"),
        # It ends off buildings, but a stretch of it runs inside one whose use nobody states.
        ("inside: no, on_building: no", {"place": "indoors"}, "building_use"),
    ],
)
def test_what_is_not_stated_never_excepts(unit, more, missing) -> None:
    made = farm(unit=unit, **more)
    assert outcome(made, "rapid-shutdown") is Outcome.UNKNOWN
    (found,) = (finding for finding in made.findings if finding.code == "rapid-shutdown")
    assert missing in found.missing[0]
    assert found.cure_span is not None


def test_a_stretch_on_a_roof_counts_though_the_array_stands_on_the_ground() -> None:
    made = farm(unit="inside: no, on_building: no", place="roof", project=", rapid_shutdown: none")
    assert outcome(made, "rapid-shutdown") is Outcome.FAILS


def test_question_holds_the_limits_of_the_edition() -> None:
    made = farm(project=", building_use: other use, rapid_shutdown: receivers", unit="inside: yes")
    (found,) = (finding for finding in made.findings if finding.code == "rapid-shutdown")
    assert (
        "at most 30 V outside and 80 V inside a boundary 0.3 m (1 ft) from the array, within 30 s"
        in found.question
    )
    assert found.clause == "690.12(A) to (D)"


@pytest.mark.parametrize(
    ("guarding", "then"),
    [
        ("", Outcome.UNKNOWN),
        (", guarding: none", Outcome.FAILS),
        (", guarding: fence", Outcome.ASK),
        (", guarding: screen", Outcome.MEETS),
        (", guarding: raceway", Outcome.MEETS),
        (", guarding: out of reach", Outcome.MEETS),
    ],
)
@pytest.mark.source("NFPA 70, National Electrical Code, 2023 edition", locator="690.31(A)", read="memory")
def test_wiring_within_reach(guarding, then) -> None:
    assert outcome(farm(array=TABLE + guarding), "array-guarding") is then


def test_no_more_than_the_voltage_of_the_edition_needs_no_guard() -> None:
    # One module of 20 V: 20 · 1.0999 = 22.0 V; the one of 37.1 V lies above 30 V.
    low = FARM % ("", "", 1, f"{TABLE}, guarding: none", 1, "outdoors", "")
    low = (
        low.replace("37.1 V", "20 V")
        .replace("operating_voltage: 31 V", "operating_voltage: 17 V")
        .replace("400 W", "219.3 W")
    )
    made = assemble(load_project({"farm.yaml": low.encode()}), load("nec2023"), "test")
    assert outcome(made, "array-guarding") is Outcome.MEETS
    assert outcome(farm(array=f"{TABLE}, guarding: none", count=1), "array-guarding") is Outcome.FAILS
