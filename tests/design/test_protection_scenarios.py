"""Two invented arrays worked through by hand: overcurrent protection and grounding of three and of eight home runs."""

from __future__ import annotations

import pytest
from protection_folder import folder, found, outcome

from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load


def made(files):
    return assemble(load_project(files), load("nec2023"), "test")


def test_three_home_runs_in_a_new_pipe() -> None:
    # 17.2375 A maximum; six carrying at 33 °C: 40 · 0.80 · 0.96 = 30.72 A; the ground of 10 AWG is the one asked for.
    array = ", frames_bonded: yes, grounded_by: G1, electrode: footings"
    done = made(folder("ABC", modules=11, array=array))
    for key in ("S1", "S2", "S3"):
        assert outcome(done, f"string-fuse:{key}") == "meets"
        item = done.facts.overcurrent.by_string[key]
        assert item.ampacity.value == pytest.approx(30.72)
        assert item.limit.value == 25
    for part in ("trench", "riser"):
        told = found(done, f"ground-size:R1/{part}")
        assert str(told.outcome) == "meets"
        assert told.margin == 0
        assert not told.notes
    for key in (
        "array-bonding:T",
        "array-electrode:T",
        "ground-fault:H",
        "surge-protection:H",
        "floating-poles:H",
    ):
        assert outcome(done, key) == "meets"


def test_taking_the_ground_out_of_the_folder_fails() -> None:
    assert outcome(made(folder("ABC", ground=None)), "ground-present:R1/trench") == "fails"


def test_eight_home_runs_in_an_old_pipe() -> None:
    # Sixteen carrying, riser at 45 °C: 40 · 0.50 · 0.87 = 17.4 A. One string an input, so nothing is fed into a fault;
    # two on one input would feed 17.2375 A, 0.9 % below what the conductors stand. The ground of 8 AWG is one more than asked.
    text = folder("ABCDABCD", riser="45 degC", ground="8 AWG")["all.yaml"].decode()
    for n in range(5, 9):
        text = text.replace(
            f"S{n}: {{array: T, count: 10, input: I1/", f"S{n}: {{array: T, count: 10, input: I2/"
        )
    done = made({"all.yaml": text.encode()})
    for n in range(1, 9):
        item = done.facts.overcurrent.by_string[f"S{n}"]
        assert item.limit.value == pytest.approx(17.4)
        assert outcome(done, f"string-fuse:S{n}") == "meets"
    assert "10 AWG would do" in found(done, "ground-size:R1/trench").notes[0]
    pairs = made(folder("AABBCCDD", riser="45 degC", ground="8 AWG"))
    assert outcome(pairs, "string-fuse:S1") == "thin"
    assert found(pairs, "string-fuse:S1").margin == pytest.approx(0.0093, abs=5e-5)
    hotter = made(folder("AABBCCDD", riser="46 degC", ground="8 AWG"))
    assert outcome(hotter, "string-fuse:S1") == "fails"
