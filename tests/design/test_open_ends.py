"""Ways that are not told from end to end, lengths in boxes, and limits beside the one compared: never a verdict from a gap."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome

W1 = "path: [R1, R2/trench-yard, R2/riser-yard, R2/hall]\n    enclosures: [PB-1, TR-1, SW-W1]"


def outcomes(made, code: str) -> dict[str, Outcome]:
    return {finding.subject: finding.outcome for finding in made.findings if finding.code == code}


def test_a_stretch_skipped_is_not_judged_by_what_lies_in_it_without_the_circuit(sample, edit, design) -> None:
    made = design(edit(sample, "circuits.yaml", W1, W1.replace("R2/riser-yard, ", "")))
    fill = outcomes(made, "raceway-fill")
    assert fill["R2/riser-yard"] is Outcome.UNKNOWN
    # Where the circuit is said to lie, and where it cannot be, the fill stands.
    assert {fill[key] for key in ("R2/trench-yard", "R2/hall", "R1/trench-orchard")} == {Outcome.MEETS}
    # Every circuit of the skipped stretch has more wires beside it than are counted; the roof has not.
    use = outcomes(made, "ampacity-use")
    assert {use[f"PV-{key}"] for key in ("E1", "E2", "W1", "W2")} == {Outcome.UNKNOWN}
    # Its own length is too short, so neither drop nor loss is told.
    assert outcomes(made, "voltage-drop")["PV-W1"] is Outcome.UNKNOWN
    assert outcomes(made, "circuit-path")["PV-W1"] is Outcome.UNKNOWN
    assert outcomes(made, "device-conductor") == {"E1": Outcome.UNKNOWN}


@pytest.mark.parametrize(
    ("path", "place"),
    [
        # It leaves the yard's riser into the hall without the hall: the raceway goes on, no box stands there.
        ("[R1, R2/trench-yard, R2/riser-yard]", "R2/hall"),
        # It begins amid the orchard's pipe.
        ("[R1/trench-orchard, R1/riser-press, R2/trench-yard, R2/riser-yard, R2/hall]", "R1/riser-orchard"),
    ],
)
def test_a_path_that_ends_amid_a_raceway_has_a_gap(sample, edit, design, path, place) -> None:
    made = design(edit(sample, "circuits.yaml", W1, f"path: {path}\n    enclosures: [PB-1, TR-1, SW-W1]"))
    assert outcomes(made, "circuit-path")["PV-W1"] is Outcome.UNKNOWN
    assert outcomes(made, "raceway-fill")[place] is Outcome.UNKNOWN
    (found,) = (f for f in made.findings if f.code == "circuit-path" and f.subject == "PV-W1")
    assert "where there is no box" in found.missing[0]
    assert found.cure_span.file == "circuits.yaml"


def test_a_jump_between_raceways_may_lie_anywhere_else(sample, edit, design) -> None:
    jump = W1.replace("[R1, R2/trench-yard, ", "[R1/riser-orchard, ")
    made = design(edit(sample, "circuits.yaml", W1, jump))
    fill = outcomes(made, "raceway-fill")
    assert {fill[key] for key in ("R1/trench-orchard", "R2/trench-yard", "R2/roof")} == {Outcome.UNKNOWN}


OUTPUT = """
circuits:
  AC-1: {kind: output, inverter: INV-1, cable: THWN10, size: 6 AWG, conductors: 3, phases: single phase,
         voltage: 240 V, current: 41.7 A, power_factor: 1, device: 60 A, tails: {start: 1 m, end: 1 m}}
"""


def test_an_output_circuit_without_a_path_may_lie_in_any_pipe(sample, design) -> None:
    made = design({**sample, "output.yaml": OUTPUT.encode()})
    for code in ("raceway-fill", "ampacity-use", "box-volume"):
        assert set(outcomes(made, code).values()) == {Outcome.UNKNOWN}, code


def test_a_ground_without_a_path_heats_nothing(sample, edit, design) -> None:
    made = design(edit(sample, "circuits.yaml", "path: [R2/roof, R2/drop]\n    tails", "tails"))
    assert outcomes(made, "raceway-fill")["R2/hall"] is Outcome.UNKNOWN
    assert outcomes(made, "ampacity-use")["PV-E1"] is Outcome.MEETS


BOX = """
project: {title: Box, building: no building}
site: {record_low: -12 degC, mean_annual_minimum: -8 degC, design_high: 30 degC}
boxes:
  B: {kind: junction box, units: {J1: }, volume: 16 in3, splices: no, internal_clamps: no}
cables: {W: {markings: [THWN-2], voltage: 600 V}}
raceways:
  R: {segments: {a: {kind: PVC-40, size: 1 in, length: 10 m, place: underground, bends: [], ends_at: J1},
      b: {kind: PVC-40, size: 1 in, length: 10 m, place: underground, bends: []}}}
circuits:
  SP: {kind: spare, cable: W, size: 10 AWG, conductors: 4, path: [R], tails: {start: 1 m, end: 1 m}EXTRA}
"""


@pytest.mark.parametrize(
    ("extra", "volume", "outcome"),
    [
        # Four wires of 10 AWG at 2.5 in³: 10 in³ drawn straight through, 20 in³ where each lies in a loop.
        (", extra: 0 m", "16 in3", Outcome.MEETS),
        (", extra: 2 m", "16 in3", Outcome.FAILS),
        ("", "16 in3", Outcome.UNKNOWN),
        ("", "22 in3", Outcome.MEETS),
        ("", "9 in3", Outcome.FAILS),
    ],
)
def test_loops_that_nobody_states_are_counted_both_ways(design, extra, volume, outcome) -> None:
    text = BOX.replace("EXTRA", extra).replace("16 in3", volume)
    made = design({"box.yaml": text.encode()})
    assert outcomes(made, "box-volume") == {"J1": outcome}
    if outcome is Outcome.UNKNOWN:
        (found,) = (f for f in made.findings if f.code == "box-volume")
        assert found.missing == ("extra of circuit SP",)


def test_a_limit_that_is_kept_is_seen_to_rest_on_its_rule(sample, design) -> None:
    made = design(sample)
    resting = [
        f for f in made.findings if any(c.local is not None and c.local.key == "QH-DROP" for c in f.cells)
    ]
    # All five string circuits keep the authority's 5 %, though the owner's own target is what they are compared with.
    assert {f.subject for f in resting} == {"PV-E1", "PV-E2", "PV-W1", "PV-W2", "PV-R1S"}
    assert all("stated limit 5.00 %" in " ".join(f.notes) for f in resting)
