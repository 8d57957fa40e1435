"""Published figures of grounds and overcurrent devices, put into a folder and judged by the whole design."""

from __future__ import annotations

import pytest
from protection_folder import folder, found, fuse, outcome

from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

STRETCH = "ground-size:R1/trench"
QUIZ = "Electrical Contractor, Conductors and circuit requirements (quiz)"


def made(files):
    return assemble(load_project(files), load("nec2023"), "test")


def grounds(size: str, circuits: str, cable: str = "W"):
    """Design of a folder with output circuits, and a ground of that size beside them."""
    text = folder("A", ground=size, circuits=circuits)["all.yaml"].decode()
    text = text.replace("kind: ground, cable: W", f"kind: ground, cable: {cable}")
    return made({"all.yaml": text.encode()})


def output(name: str, size: str, device: int, cable: str = "W", least: str = "") -> str:
    grown = f", least_size: {least}" if least else ""
    return f"  {name}: {{kind: output, inverter: I1, cable: {cable}, size: {size}, conductors: 3, path: [R1], device: {device} A{grown}}}"


@pytest.mark.source(
    "IN-W Industrial Training, Code Talk episode 32 notes", locator="300 A, 250 kcmil grown to 350 kcmil"
)
def test_ground_grows_with_its_output_circuit() -> None:
    # Printed: 4 AWG grows to 58 436 cmil, so 2 AWG; 3 AWG (52 620 cmil) is too small.
    circuits = output("OUT", "350 kcmil", 300, least="250 kcmil")
    assert found(grounds("2 AWG", circuits), STRETCH).limit.value == pytest.approx(58436, abs=0.5)
    assert outcome(grounds("2 AWG", circuits), STRETCH) == "meets"
    assert outcome(grounds("3 AWG", circuits), STRETCH) == "fails"


@pytest.mark.source(
    "Electrical Contractor, CQD spotlight: equipment grounding controls (2013)",
    locator="20 A, 12 AWG grown to 6 AWG",
)
def test_ground_grows_up_to_its_output_circuit() -> None:
    # Printed: the ground becomes 6 AWG too. The string beside it has no device and asks for 10 AWG, so it is left out
    # of the pipe: the answer is the output circuit's alone.
    text = folder("A", ground="6 AWG", path="", circuits=output("OUT", "6 AWG", 20, least="12 AWG"))[
        "all.yaml"
    ]
    text = text.replace(
        b"kind: ground, cable: W, size: 6 AWG, path: []", b"kind: ground, cable: W, size: 6 AWG, path: [R1]"
    )
    assert outcome(made({"all.yaml": text}), STRETCH) == "meets"
    smaller = text.replace(b"kind: ground, cable: W, size: 6 AWG", b"kind: ground, cable: W, size: 8 AWG")
    assert outcome(made({"all.yaml": smaller}), STRETCH) == "fails"


@pytest.mark.source(QUIZ, locator="feeders of 200, 400 and 600 A share an aluminum ground")
def test_shared_ground_goes_by_the_largest_device() -> None:
    # Printed: aluminum 2/0. No feeder is chosen larger than it had to be.
    circuits = "\n".join(
        output(f"F{amperes}", size, amperes, "ALU", least=size)
        for amperes, size in ((200, "250 kcmil"), (400, "500 kcmil"), (600, "700 kcmil"))
    )
    assert outcome(grounds("2/0 AWG", circuits, "ALU"), STRETCH) == "meets"
    assert outcome(grounds("1/0 AWG", circuits, "ALU"), STRETCH) == "fails"


@pytest.mark.source("quizwizapp.com, PV Tech cards", locator="overcurrent device for I_sc 8.8 A")
def test_device_of_a_quiz_card() -> None:
    # Printed: at least 13.75 A, next standard size 15 A.
    bare = found(made(folder("AAA", isc="8.8 A", module=", maximum_series_fuse: 15 A")), "string-fuse:S1")
    assert "fit a fuse of 15 A" in bare.cure
    for rating, then in (("13.75 A", "meets"), ("13.7 A", "fails"), ("15 A", "meets")):
        done = made(folder("AAA", isc="8.8 A", string=", fuse: F", more=fuse(rating)))
        assert outcome(done, "fuse-floor:S1:F") == then


@pytest.mark.source("EC&M, Code Q&A no. 84", locator="nine current-carrying 12 AWG THHN: 21 A")
def test_device_by_the_corrected_ampacity_of_an_article() -> None:
    # Printed: 30 · 0.70 = 21 A. Four pairs and a spare at 30 °C; the cap of 12 AWG, 20 A, holds the device below that.
    spare = "  SP: {kind: spare, cable: W, size: 12 AWG, conductors: 1, path: [R1]}"
    done = made(
        folder(
            "ABCD",
            isc="8 A",
            size="12 AWG",
            string=", fuse: F",
            more=fuse("20 A"),
            riser="30 degC",
            circuits=spare,
        )
    )
    item = done.facts.overcurrent.by_string["S1"]
    assert item.ampacity.value == pytest.approx(21)
    assert item.conductor_limit.value == 20
    assert outcome(done, "device-conductor:S1:F") == "meets"
