"""Pieces of wires: their lengths add up to the wire, a head and a trim for each pull, and no length that nobody stated."""

from __future__ import annotations

import pytest
from field_folder import folder

from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.design.missing import Missing
from reportgen.design.pieces import way
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

STOCK = "stock: {head: 3 ft, trim: 2 ft}\n"


def made(text: str):
    return assemble(load_project({"m.yaml": text.encode()}), load("nec2023"), "test")


def text_of(**kind) -> str:
    return folder(1, 1, more=STOCK, **kind)["meadow.yaml"].decode()


def pieces_of(design) -> dict[str, object]:
    return {item.id: item for group in design.facts.cuts for item in group.wires}


def test_a_wire_landed_on_a_switch_is_two_pieces_that_both_have_the_tail() -> None:
    """In feet: 14 + 8 + 180 + 7 + 2 and 3 + 7; the wire has the tail once, 214, as before the cut."""
    design = made(text_of().replace("project: {", "project: {units: imperial, "))
    found = pieces_of(design)
    first, second = found["PV-S1+ T to SW-S1"], found["PV-S1+ SW-S1 to INV-1/A+"]
    assert (first.installed.value, second.installed.value) == (pytest.approx(211), pytest.approx(10))
    # One pull with a head of 3 ft and a trim of 2 ft; what is pulled through nothing takes neither.
    assert (first.pulls, second.pulls) == (1, 0)
    assert (first.length.value, second.length.value) == (pytest.approx(216), pytest.approx(10))
    (circuit,) = design.facts.circuits
    assert circuit.length.to("ft").value == pytest.approx(214)
    assert not any(origin.key == "in_devices of circuits" for origin, _ in design.assumptions)
    assert any(origin.key == "place of devices along a path" for origin, _ in design.assumptions)


def test_the_tail_lies_behind_a_device_that_the_raceway_ends_at() -> None:
    text = text_of().replace("project: {", "project: {units: imperial, ")
    assert "    ends_at: BOX\n" in text
    found = pieces_of(made(text.replace("    ends_at: BOX\n", "    ends_at: SW-S1\n")))
    assert found["PV-S1+ T to SW-S1"].installed.value == pytest.approx(204)


def test_no_piece_is_cut_by_a_length_inside_a_switch_that_nobody_states() -> None:
    text = text_of().replace(" in_devices: [{device: SW-S1, arrives: 2 ft, leaves: 3 ft}],", "")
    design = made(text)
    found = [one for one in design.findings if one.code == "cut-length" and "red" in one.subject]
    assert [one.outcome for one in found] == [Outcome.UNKNOWN]
    assert found[0].missing[0].startswith("in_devices of circuit PV-S1")
    assert all(
        isinstance(item.length, Missing) for name, item in pieces_of(design).items() if name.startswith("PV")
    )
    # The drop goes by the tails, and says so.
    (circuit,) = design.facts.circuits
    assert circuit.length.to("ft").value == pytest.approx(14 + 188 + 7)
    assert any(origin.key == "in_devices of circuits" for origin, _ in design.assumptions)


def test_each_pull_that_a_piece_goes_through_has_a_head_and_a_trim() -> None:
    """Two sections through a box without joints: 14 + 188 + 12 and twice 5 ft."""
    text = text_of(switches=False).replace("ends_at: BOX", "ends_at: INV-1")
    text = text.replace("length: 8 ft,", "length: 8 ft, ends_at: BOX,")
    text = text.replace("project: {", "project: {units: imperial, ")
    whole = pieces_of(made(text))["PV-S1+"]
    assert (whole.pulls, whole.own.value, whole.length.value) == (2, pytest.approx(224), pytest.approx(224))
    cut = text.replace("kind: pull box,", "kind: junction box, splices: yes,").replace(
        "tails: {start: 14 ft, end: 12 ft}, positive",
        "in_devices: [{device: BOX, arrives: 1 ft, leaves: 1 ft}], tails: {start: 14 ft, end: 12 ft}, positive",
    )
    found = pieces_of(made(cut))
    assert [found[f"PV-S1+ {name}"].length.value for name in ("T to BOX", "BOX to INV-1/A+")] == [
        pytest.approx(14 + 8 + 1 + 5),
        pytest.approx(1 + 180 + 12 + 5),
    ]


def test_a_box_of_which_nobody_says_whether_wires_are_joined_there_leaves_the_length_unknown() -> None:
    text = text_of(switches=False).replace("ends_at: BOX", "ends_at: INV-1")
    text = text.replace("length: 8 ft,", "length: 8 ft, ends_at: BOX,").replace(
        "kind: pull box", "kind: junction box"
    )
    length = pieces_of(made(text))["PV-S1+"].length
    assert isinstance(length, Missing)
    assert length.what.startswith("splices of box type PULL")


def test_a_way_is_told_in_the_order_in_which_it_is_passed() -> None:
    text = text_of().replace("length: 8 ft,", "length: 8 ft, ends_at: SW-S1,")
    assert way(made(text).facts.graph, "PV-S1") == ("R", "SW-S1", "R", "BOX")
    assert way(made(text_of()).facts.graph, "PV-S1") == ("R", "BOX", "SW-S1")


def test_loops_in_boxes_belong_to_the_piece_that_passes_one() -> None:
    text = text_of().replace("positive_colour: red", "extra: 6 ft, positive_colour: red")
    found = pieces_of(made(text))
    assert [found[name].extra is not None for name in ("PV-S1+ T to SW-S1", "PV-S1+ SW-S1 to INV-1/A+")] == [
        True,
        False,
    ]
