"""What else would fit, by hand, and the laws that hold for any choice."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pipe_folder import folder

from reportgen.design.assemble import assemble
from reportgen.design.missing import Missing
from reportgen.design.pipe_options import PipeOption, RacewayOption, pipe_options, raceway_options
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load


def options_of(files) -> tuple[tuple[PipeOption, ...], tuple[RacewayOption, ...]]:
    project = load_project(files)
    facts = assemble(project, load(str(project.project.rulebook)), "options").facts
    found = pipe_options(facts.graph, facts.rulebook, facts.stretches)
    return found, raceway_options(facts.graph, facts.rulebook, found)


ORCHARD = """t: {kind: PVC-40, size: 1-1/4, length: 222 ft, place: underground}
r: {kind: PVC-80, size: 1-1/4, length: 4 ft, place: outdoors}"""


def test_orchard_bank_cannot_take_a_larger_wire() -> None:
    """Own hand calculation: sixteen 8 AWG and the 8 AWG ground are 0.6222 in², more than 40 % of 1.453 and of 1.237 in²."""
    each, whole = options_of(folder(ORCHARD, strings=8, ground="8 AWG"))
    assert [option.largest for option in each] == ["10 AWG", "10 AWG"]
    # Trench: 0.5812 − 0.3742 = 0.2070 in², a pair of 10 AWG takes 0.0422: four; riser: 0.4948 − 0.3742 = 0.1206: two.
    assert [option.further for option in each] == [4, 2]
    # 0.3742 in² at 40 % need 0.9355 in²: PVC-40 1 in has 0.832, 1-1/4 in 1.453; PVC-80 1 in 0.688, 1-1/4 in 1.237.
    assert [option.smallest for option in each] == ["1-1/4", "1-1/4"]
    (only,) = whole
    assert (only.largest, only.further, only.further_in) == ("10 AWG", 2, "r")


def test_the_same_wires_in_the_next_pipe_can() -> None:
    each, _ = options_of(folder(ORCHARD.replace("1-1/4", "1-1/2"), strings=8, ground="6 AWG"))
    # 8 AWG: 0.6363 in² of 1.986 and 1.711 in² (32.0 and 37.2 %); 6 AWG: 0.8619 in², 43.4 and 50.4 %.
    assert [option.largest for option in each] == ["8 AWG", "8 AWG"]


def test_the_tightest_stretch_decides_for_the_raceway() -> None:
    # 0.6363 in² of 8 AWG and the ground: within 40 % of 1.986 in², not of 1.237 in².
    _, whole = options_of(folder(ORCHARD.replace("1-1/4", "1-1/2", 1), strings=8, ground="6 AWG"))
    assert (whole[0].largest, whole[0].largest_in) == ("10 AWG", "r")


def test_of_two_stretches_that_take_one_size_the_fuller_one_decides() -> None:
    """8 AWG, 0.6222 in² with the ground, is too much for both; of 1.237 in² it takes more than of 1.453 in²."""
    _, (only,) = options_of(folder(ORCHARD, strings=8, ground="8 AWG"))
    assert (only.largest, only.largest_in) == ("10 AWG", "r")


def test_a_wire_from_end_to_end_is_to_be_had_in_the_make_of_every_stretch() -> None:
    """Two strings in each stretch: of the one's make 8 AWG is the largest there is, the other's does not come in it."""
    makes = "\n".join(
        f"  {name}: {{markings: [PV wire], voltage: 600 V, sizes: [{sizes}]}}"
        for name, sizes in (
            ("ONE", "{size: 10 AWG, diameter: 6 mm}, {size: 8 AWG, diameter: 7 mm}"),
            ("TWO", "{size: 10 AWG, diameter: 6 mm}, {size: 6 AWG, diameter: 8 mm}"),
        )
    )
    circuits = "\n".join(
        f"  C{n}: {{string: S{n}, cable: {cable}, size: 10 AWG, path: [R1/{part}], tails: {{start: 1 m, end: 1 m}}}}"
        for n, cable, part in ((1, "ONE", "t"), (2, "TWO", "r"))
    )
    files = folder(ORCHARD, strings=2, ground=None, circuits=circuits, more=f"cables:\n{makes}")
    text = files["all.yaml"].decode()
    head, _, tail = text.rpartition("cables:\n")
    each, whole = options_of({"all.yaml": head.encode(), "makes.yaml": b"cables:\n" + tail.encode()})
    assert [option.largest for option in each] == ["8 AWG", "6 AWG"]
    assert (whole[0].largest, whole[0].largest_in) == ("10 AWG", "")


def test_a_further_string_is_the_same_in_every_stretch() -> None:
    """One string in 10 AWG through the trench, one in 6 AWG through the riser: a further one of 6 AWG passes both.

    Trench: 0.5812 in² less 2 · 0.0211; a pair of 6 AWG takes 0.1014 in²: five, while of 10 AWG twelve would go in.
    Riser: 0.4948 in² less 2 · 0.0507: three.
    """
    circuits = "\n".join(
        f"  C{n}: {{string: S{n}, cable: WIRE, size: {size}, path: [R1/{part}], tails: {{start: 1 m, end: 1 m}}}}"
        for n, size, part in ((1, "10 AWG", "t"), (2, "6 AWG", "r"))
    )
    each, (only,) = options_of(folder(ORCHARD, strings=2, ground=None, circuits=circuits))
    assert [option.further for option in each] == [12, 3]
    assert (only.further, only.further_in, only.pair) == (3, "r", "WIRE 6 AWG")
    each, (only,) = options_of(
        folder(ORCHARD.replace("1-1/4", "3/4", 1), strings=2, ground=None, circuits=circuits)
    )
    # 40 % of 0.508 in² are 0.2032 in²; less 0.0422: one pair of 6 AWG, and three of 10 AWG as the riser takes of 6 AWG.
    assert [option.further for option in each] == [3, 3]
    assert (only.further, only.further_in) == (1, "t")


def test_the_ground_stays_in_the_pipe_beside_the_larger_wire() -> None:
    # 40 % of 0.508 in² is 0.2032 in²: four 6 AWG alone are 0.2028, with the 6 AWG ground 0.2535; four 8 AWG 0.1971.
    pipe = "t: {kind: PVC-40, size: 3/4, length: 9 m, place: underground}"
    (option,), _ = options_of(folder(pipe, strings=2, ground="6 AWG"))
    assert option.largest == "8 AWG"


def test_the_make_decides_by_its_data_sheet() -> None:
    wire = "{markings: [PV wire], voltage: 600 V, sizes: [{size: 10 AWG, diameter: 6 mm}, {size: 8 AWG, diameter: 7 mm}]}"
    each, _ = options_of(folder(ORCHARD, strings=2, wire=wire))
    # Four of 7 mm (0.05965 in² each) and the ground: 0.2597 in² of 1.237 in², 21 %: no larger size is to be had.
    assert [option.largest for option in each] == ["8 AWG", "8 AWG"]


def test_without_a_diameter_nothing_is_offered() -> None:
    each, whole = options_of(folder(ORCHARD, strings=2, wire="{markings: [PV wire], voltage: 600 V}"))
    assert all(isinstance(option.largest, Missing) and isinstance(option.further, Missing) for option in each)
    assert isinstance(whole[0].largest, Missing)
    assert isinstance(whole[0].further, Missing)


def test_nothing_fits_a_pipe_that_is_too_small() -> None:
    # Sixteen of the thinnest row, 14 AWG, are 0.1552 in², and a ground: more than 40 % of 0.304 in².
    each, _ = options_of(folder(ORCHARD.replace("PVC-40, size: 1-1/4", "EMT, size: 1/2"), strings=8))
    assert (each[0].largest, each[0].further) == ("", 0)


@settings(max_examples=10, deadline=None)
@given(strings=st.integers(1, 6), size=st.sampled_from(["12 AWG", "10 AWG", "8 AWG"]))
def test_what_is_said_to_fit_fits_and_one_more_does_not(strings, size) -> None:
    pipe = "t: {kind: PVC-40, size: 1-1/4, length: 60 m, place: underground}"
    (option,), _ = options_of(folder(pipe, strings=strings, size=size))
    assert isinstance(option.further, int)
    fuller = folder(pipe, strings=strings + option.further, size=size)
    over = folder(pipe, strings=strings + option.further + 1, size=size)
    limit = option.stretch.limit.value
    assert options_of(fuller)[0][0].stretch.fill.value <= limit
    assert options_of(over)[0][0].stretch.fill.value > limit
    wider = options_of(folder(pipe, strings=strings, size=option.largest))[0][0]
    assert wider.stretch.fill.value <= limit
    smaller = options_of(folder(pipe.replace("1-1/4", str(option.smallest)), strings=strings, size=size))[0][
        0
    ]
    assert smaller.stretch.fill.value == pytest.approx(option.smallest_fill.value)
    assert smaller.stretch.fill.value <= limit
