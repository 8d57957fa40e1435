"""Labels of wires and placards: every end and enclosure once, values computed, nothing complete that lacks something."""

from __future__ import annotations

from collections import Counter

import pytest
from field_folder import folder

from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import adopted
from reportgen.working.quantity import Quantity


def made(files, edition="nec2023"):
    return assemble(load_project(files), adopted(edition), "test")


def outcomes(design, code):
    return {f.subject: f for f in design.findings if f.code == code}


def test_seven_wires_without_an_enclosure_have_fourteen_labels() -> None:
    files = folder(3, 2, switches=False)
    # The raceway ends at the inverter, and nothing is passed on the way.
    files = {"m.yaml": files["meadow.yaml"].replace(b"ends_at: BOX", b"ends_at: INV-1")}
    labels = made(files).facts.labels.labels
    assert len(labels) == 14
    assert {label.side for label in labels} == {"end"}


@pytest.mark.parametrize(("strings", "inverters"), [(1, 1), (24, 3)])
def test_one_label_an_end_an_enclosure_and_a_side_of_a_switch(strings: int, inverters: int) -> None:
    labels = made(folder(strings, inverters)).facts.labels.labels
    # A leg: array end, box, both sides of its switch, input; the ground: array, and the box where it ends.
    assert len(labels) == strings * 2 * 5 + 2
    assert len({label.id for label in labels}) == len(labels)
    each = Counter(label.conductor for label in labels)
    assert set(each.values()) == {5, 2}


def test_a_box_that_only_the_raceway_names_is_labelled(sample, design) -> None:
    places = [label.place for label in design(sample).facts.labels.labels if label.conductor == "EG-1"]
    assert places == ["EAST", "PB-1", "TR-1"]


def test_polarity_stands_in_words_and_voltage_is_that_of_the_string() -> None:
    it = made(folder(1, 1))
    label = next(one for one in it.facts.labels.labels if one.conductor == "PV-S1-")
    assert (label.says, label.string, label.start, label.end) == ("NEGATIVE", "S1", "T", "INV-1/A")
    assert isinstance(label.voltage, Quantity)
    assert label.voltage.value == it.facts.strings[0].governing.value  # type: ignore[union-attr]
    # 11 × 37.1 V × (1 + 0.0027 × 54) by hand.
    assert label.voltage.value == pytest.approx(467.6, abs=0.05)
    ground = next(one for one in it.facts.labels.labels if one.conductor == "EG")
    assert (ground.says, ground.voltage) == ("GROUND", None)


@pytest.mark.parametrize(
    ("old", "new", "missing"),
    [
        ("record_low: -29 degC, ", "", "record_low"),
        (", input: INV-1/A}", "}", "end of circuit PV-S1"),
        (
            "path: [R], enclosures: [BOX, SW-S1]",
            "path: [], enclosures: [BOX, SW-S1]",
            "path of circuit PV-S1",
        ),
    ],
)
def test_a_list_that_lacks_something_does_not_meet(old: str, new: str, missing: str) -> None:
    text = folder(1, 1)["meadow.yaml"].decode()
    assert old in text
    files = {
        "m.yaml": text.replace(old, new, 1)
        .replace("T1: INV-1/A+, ", "")
        .replace(", T2: INV-1/A-", "")
        .encode()
    }
    found = outcomes(made(files), "wire-labels")["PV-S1"]
    assert found.outcome is Outcome.UNKNOWN
    assert missing in " ".join(found.missing)


def test_terminals_that_stay_live_are_those_of_the_legs_and_their_links(sample, design) -> None:
    graph = design(sample).facts.graph
    assert graph.net.live("SW-E1") == ("L1", "L3")
    linked = folder(1, 1, more="jumpers:\n  SW-S1: [[L1, T2]]\n")
    assert made(linked).facts.graph.net.live("SW-S1") == ("L1", "L2", "T2")


def test_a_switch_without_a_leg_landed_does_not_say_what_stays_live() -> None:
    text = folder(1, 1)["meadow.yaml"].decode().replace("L1: PV-S1+, ", "").replace("L2: PV-S1-, ", "")
    it = made({"m.yaml": text.encode()})
    assert outcomes(it, "placard-disconnect")["SW-S1"].outcome is Outcome.UNKNOWN
    placard = next(one for one in it.facts.labels.placards if one.key == "disconnect")
    assert placard.live == ()


def test_highest_voltage_of_an_inverter_is_that_of_its_longest_string() -> None:
    text = folder(2, 1)["meadow.yaml"].decode().replace("S2: {array: T, count: 11", "S2: {array: T, count: 9")
    it = made({"m.yaml": text.encode()})
    placard = next(one for one in it.facts.labels.placards if one.key == "max-voltage")
    ((name, value),) = placard.values
    assert (placard.place, name) == ("INV-1", "maximum voltage")
    assert value.value == pytest.approx(467.6, abs=0.05)  # type: ignore[union-attr]


def test_one_string_without_a_voltage_leaves_the_placard_unknown() -> None:
    text = folder(2, 1)["meadow.yaml"].decode().replace("record_low: -29 degC, ", "")
    assert (
        outcomes(made({"m.yaml": text.encode()}), "placard-max-voltage")["INV-1"].outcome is Outcome.UNKNOWN
    )


def test_the_older_edition_wants_the_current_at_every_switch() -> None:
    it = made(folder(2, 1), "nec2017")
    values = {one.place: dict(one.values) for one in it.facts.labels.placards if one.key == "max-voltage"}
    assert set(values) == {"SW-S1", "SW-S2"}
    # 1.25 × 13.79 A by hand.
    assert values["SW-S1"]["maximum circuit current"].value == pytest.approx(17.2375)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("length", "count"), [("8 ft", 2), ("10 ft", 2), ("10.1 ft", 3), ("20 ft", 3), ("21 ft", 4)]
)
def test_no_gap_between_raceway_labels_is_longer_than_the_spacing(length: str, count: int) -> None:
    text = folder(1, 1)["meadow.yaml"].decode()
    text = text.replace("length: 8 ft, place: outdoors", f"length: {length}, place: outdoors")
    text = text.replace("building: no building", "building: other building")
    placards = made({"m.yaml": text.encode()}).facts.labels.placards
    counts = {one.place: one.count for one in placards if one.key == "raceway"}
    assert counts == {"R/riser": count, "BOX": 1, "SW-S1": 1}


def test_an_edition_that_is_not_held_makes_questions_of_labels(sample) -> None:
    it = made(sample, "iec")
    assert not it.facts.labels.held
    assert outcomes(it, "placard-max-voltage")["INV-1"].outcome is Outcome.ASK
    assert outcomes(it, "wire-labels")["PV-E1"].outcome is Outcome.ASK


@pytest.mark.source(
    "NFPA 70, National Electrical Code, 2023 edition", locator="200.7(A), 250.119", read="memory"
)
@pytest.mark.parametrize(
    ("colour", "then"),
    [
        ("white", Outcome.FAILS),
        ("light grey", Outcome.FAILS),
        ("Green/yellow", Outcome.FAILS),
        # What stands first is the insulation; words behind it are a mark on it.
        ("red with white letters", Outcome.MEETS),
        ("greenish blue", Outcome.MEETS),
    ],
)
def test_a_leg_in_the_colour_of_a_ground_fails(sample, edit, design, colour, then) -> None:
    files = edit(sample, "circuits.yaml", "positive_colour: red", f"positive_colour: {colour}", 1)
    found = outcomes(design(files), "wire-labels")
    assert found["PV-E1"].outcome is then
    assert found["PV-E2"].outcome is Outcome.MEETS
    if then is Outcome.FAILS:
        assert found["PV-E1"].clause == "200.7(A) and 250.119"


def test_a_pole_that_is_grounded_on_purpose_may_be_white(sample, edit, design) -> None:
    files = edit(sample, "circuits.yaml", "negative_colour: black", "negative_colour: white", 1)
    assert outcomes(design(files), "wire-labels")["PV-E1"].outcome is Outcome.FAILS
    files = edit(files, "equipment.yaml", "pv_legs: floating", "pv_legs: negative grounded", 1)
    assert outcomes(design(files), "wire-labels")["PV-E1"].outcome is Outcome.MEETS


def test_a_ground_is_told_no_polarity(sample, design) -> None:
    found = outcomes(design(sample), "wire-labels")
    assert found["EG-1"].headline == "3 labels for 1 wire of EG-1, 3 on each"
    assert found["PV-E1"].headline.endswith("6 on each, polarity in words")
