"""Published examples of raceways and boxes, told as a folder."""

from __future__ import annotations

import pytest
from pipe_folder import folder, found

from reportgen.design.pipe_options import pipe_options
from reportgen.design.raceways import rounded_count

WIRE = "  W{n}: {{kind: {kind}, conductors: {count}, cable: WIRE, size: {size}, path: [R1], extra: 0 m}}"


def wires(*groups: tuple[int, str], kind: str = "spare") -> str:
    return "\n".join(
        WIRE.format(n=n, kind=kind, count=count, size=size) for n, (count, size) in enumerate(groups)
    )


def pipe(size: str, kind: str = "EMT") -> str:
    return f'a: {{kind: {kind}, size: "{size}", length: 9 m, place: indoors}}'


def options(made):
    return pipe_options(made.facts.graph, made.facts.rulebook, made.facts.stretches)


@pytest.mark.source(
    "Steel Tube Institute, NEC conduit and EMT fill tables Q&A, no date", locator="resources/post-4"
)
def test_mixed_conductors_in_the_smallest_tubing(design) -> None:
    text = wires((3, "12 AWG"), (4, "10 AWG"), (8, "8 AWG"))
    made = design(folder(pipe("2"), strings=0, ground=None, circuits=text))
    assert made.facts.stretches[0].occupied.value == pytest.approx(0.4171, abs=5e-5)
    assert options(made)[0].smallest == "1-1/4"


@pytest.mark.source("examzify.com, Fundamental code calculations question, no date", locator="9 x 12 THW")
def test_nine_equal_conductors_in_the_smallest_tubing(design) -> None:
    text = wires((9, "12 AWG"))
    made = design(
        folder(pipe("2"), strings=0, ground=None, circuits=text, wire="{markings: [THW], voltage: 600 V}")
    )
    assert options(made)[0].smallest == "3/4"


@pytest.mark.source("Mike Holt forum, thread 40079, 2008", locator="14 AWG EMT fill")
def test_twelve_of_the_thinnest_in_half_inch_tubing(design) -> None:
    made = design(folder(pipe("1/2"), strings=0, ground=None, circuits=wires((12, "14 AWG"))))
    alike = rounded_count(made.facts.graph, made.facts.rulebook, made.facts.stretches[0])
    assert alike.whole == alike.rounded == 12


@pytest.mark.source("Thomas & Betts (Carlon), expansion joints manual, no date", locator="page 4")
def test_ninety_feet_of_plastic_pipe(design) -> None:
    # The example leaves out what the sun adds, so the pipe lies in the shade; it sets the fitting at 65 °F.
    text = "a: {kind: PVC-40, size: '2', length: 90 ft, place: outdoors, ambient: 110 degF, sun: no, expansion_travel: 6 in}"
    made = design(folder(text, strings=0, circuits="", low="-10 degF"))
    movement = made.facts.movement[0]
    assert movement.swing.value == pytest.approx(120)
    assert movement.change.value == pytest.approx(4.38, abs=0.005)
    # The opening falls evenly with temperature: 3 in between 50 and 110 °F, 2.25 in at 65 °F.
    by_temperature = {celsius * 1.8 + 32: opening.value for celsius, opening in movement.settings}
    slope = (by_temperature[50.0] - by_temperature[86.0]) / 36
    assert by_temperature[50.0] - slope * 15 == pytest.approx(2.25, abs=0.005)


BOX = "boxes:\n  B: {kind: junction box, units: {PB: {}}, splices: no, %s}"


def box_volume(design, circuits: str, edition: str = "nec2023", keys: str = "internal_clamps: no") -> float:
    text = pipe("2", "PVC-40").replace("place: indoors", "place: indoors, ends_at: PB")
    made = design(
        folder(
            text,
            strings=0,
            ground=None,
            circuits=circuits,
            edition=edition,
            more=BOX % f"{keys}, volume: 90 in3",
        )
    )
    return found(made, "box-volume:PB").value.value


@pytest.mark.source(
    "passetra.com, code standards practice question, no date", locator="four 12-2 cables and a switch"
)
def test_four_cables_and_a_device(design) -> None:
    text = wires((8, "12 AWG")) + "\n" + wires((4, "12 AWG"), kind="ground").replace("W0", "G")
    assert box_volume(design, text, keys="internal_clamps: no, yokes: 1") == pytest.approx(24.75)


@pytest.mark.source(
    "diychatroom.com, thread 102858, box fill calculations", locator="three 14-2 cables and a switch"
)
def test_three_cables_and_a_device(design) -> None:
    text = wires((6, "14 AWG")) + "\n" + wires((3, "14 AWG"), kind="ground").replace("W0", "G")
    assert box_volume(design, text, keys="internal_clamps: no, yokes: 1") == pytest.approx(18)


@pytest.mark.source("usenet post of 2005-08-07, replace small outlet boxes", locator="sum 18.0 in³")
def test_clamps_and_two_grounds(design) -> None:
    text = wires((4, "12 AWG")) + "\n" + wires((2, "12 AWG"), kind="ground").replace("W0", "G")
    assert box_volume(design, text, keys="internal_clamps: yes, yokes: 1") == pytest.approx(18)


@pytest.mark.parametrize(("edition", "volume"), [("nec2023", 5.625), ("nec2020", 5.625), ("nec2017", 2.25)])
@pytest.mark.source("Mike Holt forum, EGC fill, thread 2566828, about 2021", locator="ten grounds")
def test_ten_grounds_by_edition(design, edition, volume) -> None:
    text = wires((5, "14 AWG"), (5, "12 AWG"), kind="ground")
    assert box_volume(design, text, edition=edition) == pytest.approx(volume)


def pulled(design, sizes, walls):
    pipes = f"""a: {{kind: RMC, size: "{sizes[0]}", length: 9 m, place: indoors, ends_at: PB}}
b: {{kind: RMC, size: "{sizes[1]}", length: 9 m, place: indoors}}"""
    entries = ", ".join(
        f"{{raceway: R1/{name}, wall: {wall}}}" for name, wall in zip("ab", walls, strict=True)
    )
    box = f"boxes:\n  B: {{kind: pull box, units: {{PB: {{}}}}, splices: no, entries: [{entries}]}}"
    made = design(folder(pipes, strings=1, size="4/0 AWG", ground="4 AWG", more=box))
    return {need.part: need.needed.value for need in made.facts.pull_needs}


@pytest.mark.source(
    "ehow.com, How to size pull boxes, no date", locator="straight 24 in, angle 20 in, spacing 18 in"
)
def test_three_inch_pull_boxes(design) -> None:
    assert pulled(design, ("3", "3"), ("left", "right")) == {"straight R1/a to R1/b": 24}
    angle = pulled(design, ("3", "2"), ("left", "left"))
    assert angle == {"wall left": 20, "spacing R1/a to R1/b": 18}


@pytest.mark.source("jeopardylabs.com, Honors end of year final, no date", locator="4 in and 6 in: 36 in")
def test_distance_between_two_entries_of_one_conductor(design) -> None:
    assert pulled(design, ("4", "6"), ("left", "bottom"))["spacing R1/a to R1/b"] == 36
