"""Wires that lie together stand the highest voltage of all, and the wet: strings, grounds and spares."""

from __future__ import annotations

import pytest
from wire_folder import Run, found

from reportgen.design.findings import Outcome


def unlike(marks: str = "300 V") -> Run:
    """Twelve modules in one string and five in another, whose wire has another mark."""
    run = Run(strings=2)
    text = run.files["run.yaml"].decode()
    for old, new in (
        ("count: 22}", "count: 17}"),
        ("S1: {array: T, count: 11", "S1: {array: T, count: 5"),
        ("S2: {array: T, count: 11", "S2: {array: T, count: 12"),
        ("C1: {string: S1, cable: W", "C1: {string: S1, cable: LOW"),
        ("cables:\n", f"cables:\n  LOW: {{markings: [THWN-2], voltage: {marks}}}\n"),
    ):
        assert old in text, old
        text = text.replace(old, new)
    return {"run.yaml": text.encode()}


def test_a_short_string_beside_a_long_one_has_wire_for_the_long_one(design) -> None:
    made = found(design(unlike()), "cold-voltage-wire:C1")
    # 12 × 37.1 V × (1 − 0.27 % × (−20 − 25)) = 499.3 V; its own five modules come to 208.0 V.
    assert made.outcome is Outcome.FAILS
    assert made.value.value == pytest.approx(499.3, abs=0.05)
    assert made.headline.startswith("voltage of C2, which lies with C1 in R/trench, 499.3 V")


def test_the_own_voltage_stays_where_it_is_the_highest(design) -> None:
    made = design(unlike("600 V"))
    assert found(made, "cold-voltage-wire:C1").outcome is Outcome.MEETS
    assert found(made, "cold-voltage-wire:C2").headline.startswith("cold voltage of string S2 499.3 V")


def test_a_margin_that_is_small_by_itself_stays_so_beside_a_higher_voltage(design) -> None:
    text = unlike("500 V")["run.yaml"].decode()
    # 493.9 V of its own is less than 2 % below 500 V, and 499.3 V beside it still less.
    for old, new in (("count: 17}", "count: 24}"), ("S1: {array: T, count: 5", "S1: {array: T, count: 12")):
        assert old in text
        text = text.replace(old, new)
    text = text.replace(
        "modules: {M:",
        "modules: {L: {power: 400 W, open_circuit_voltage: 36.7 V, operating_voltage: 31 V,"
        " short_circuit_current: 13.79 A, operating_current: 12.9 A, voltage_coefficient: -0.27 %/degC}, M:",
    )
    text = text.replace("arrays: {T:", "arrays: {K: {module: L, count: 12}, T:").replace(
        "count: 24}", "count: 12}"
    )
    text = text.replace("S1: {array: T,", "S1: {array: K,")
    made = found(design({"run.yaml": text.encode()}), "cold-voltage-wire:C1")
    assert made.outcome is Outcome.THIN
    assert "voltage of C2" in made.headline


def test_a_voltage_beside_that_nobody_knows_leaves_the_wire_unknown() -> None:
    output = (
        "  AC: {kind: output, inverter: INV, cable: W, size: 8 AWG, conductors: 3, path: [R], phases: single phase,"
        " current: 20 A, tails: {start: 1 ft, end: 1 ft}}\n"
    )
    made = found(Run(more=output).design, "cold-voltage-wire:C1")
    assert made.outcome is Outcome.UNKNOWN
    assert made.missing == ("voltage of circuit AC",)


@pytest.mark.parametrize(
    ("wire", "voltage", "wet"),
    [
        ("{markings: [THHN], voltage: 300 V}", Outcome.FAILS, Outcome.FAILS),
        ("{markings: [THWN-2], voltage: 600 V}", Outcome.MEETS, Outcome.MEETS),
        ("{markings: [THWN-2]}", Outcome.UNKNOWN, Outcome.MEETS),
        ("{markings: [XYZ], voltage: 600 V}", Outcome.MEETS, Outcome.UNKNOWN),
    ],
)
@pytest.mark.parametrize("kind", ["ground", "spare"])
def test_grounds_and_spares_are_judged_like_the_wires_they_lie_with(kind, wire, voltage, wet) -> None:
    trench = "trench: {kind: PVC-40, size: 2, length: 100 ft, place: underground, ambient: 30 degC}"
    more = f"  X: {{kind: {kind}, conductors: 1, cable: E, size: 10 AWG, path: [R]}}\n"
    run = Run(segments=trench, more=more)
    text = run.files["run.yaml"].decode().replace("cables:\n", f"cables:\n  E: {wire}\n")
    made = run_of(text)
    assert found(made, "cold-voltage-wire:X").outcome is voltage
    assert found(made, "wet-marking:X").outcome is wet


def test_a_bare_ground_has_no_mark_to_judge() -> None:
    more = "  X: {kind: ground, cable: E, size: 10 AWG, path: [R]}\n"
    text = (
        Run(more=more).files["run.yaml"].decode().replace("cables:\n", "cables:\n  E: {markings: [bare]}\n")
    )
    assert not [one for one in run_of(text).findings if one.id in {"cold-voltage-wire:X", "wet-marking:X"}]


def run_of(text: str):
    from reportgen.design.assemble import assemble
    from reportgen.project.load import load_project
    from reportgen.rulebook.rulebook import load

    project = load_project({"run.yaml": text.encode()})
    return assemble(project, load(str(project.project.rulebook)), "test")


def test_a_box_is_shared_like_a_pipe(sample, edit, design) -> None:
    files = edit(
        sample,
        "circuits.yaml",
        "kind: ground\n    cable: THWN10\n    size: 10 AWG\n    path: [R2/roof",
        "kind: ground\n    cable: LOW\n    size: 10 AWG\n    path: [R2/roof",
    )
    files = edit(
        files, "equipment.yaml", "  PVW10:\n", "  LOW: {markings: [THWN-2], voltage: 500 V}\n  PVW10:\n"
    )
    made = found(design(files), "cold-voltage-wire:EG-2")
    # On the roof it lies with 450.6 V at most; in the pull box the strings of the orchard pass it.
    assert made.outcome is Outcome.FAILS
    assert "which lies with EG-2 in PB-1" in made.headline


def test_bare_wire_is_no_leg_of_a_string() -> None:
    made = Run(cable="{markings: [bare], voltage: 600 V}").design
    assert {found(made, f"cold-voltage-wire:C{number}").outcome for number in (1, 2)} == {Outcome.FAILS}
