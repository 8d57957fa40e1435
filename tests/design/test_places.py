"""Path, enclosures, landing and input against each other: what cannot both be fails, what nobody states is no pass."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome
from reportgen.design.landing import by_conductor
from reportgen.design.one_line import Passed, way_of

FOLDER = """
project: {title: Two inverters, building: no building}
site: {record_low: -20 degC, mean_annual_minimum: -15 degC, design_high: 32 degC}
modules: {M: {power: 400 W, open_circuit_voltage: 37 V, operating_voltage: 31 V, short_circuit_current: 13 A, operating_current: 12 A}}
inverters: {H: {units: {HY-1: {}, HY-2: {}}, maximum_dc_voltage: 600 V, inputs: {A: {}, B: {}}}}
switches:
  SIX: {units: {SW-1: {}, SW-2: {}}, line: [L1, L2, L3, L4], load: [T1, T2, T3, T4],
        joined: [[L1, T1], [L2, T2], [L3, T3], [L4, T4]], ratings: [{poles_in_series: 1, voltage: 600 V}], rated_current: 32 A}
boxes: {P: {kind: pull box, units: {PB-1: {}, PB-2: {}, PB-3: {}}}}
cables: {W: {markings: [THWN-2], voltage: 600 V}}
arrays: {N: {module: M, rows: 1, columns: 9}, S: {module: M, rows: 1, columns: 9}}
strings:
  N1: {array: N, count: 9, input: HY-1/A}
  S1: {array: S, count: 9, input: HY-2/A}
raceways:
  R1: {starts_at: PB-1, ends_at: SW-1, segments: {a: {kind: PVC-40, size: 2, length: 60 m, place: underground}}}
  R2: {starts_at: SW-1, ends_at: HY-1, segments: {a: {kind: EMT, size: 2, length: 3 m, place: indoors}}}
  NIP: {starts_at: SW-1, ends_at: SW-2, segments: {a: {kind: EMT, size: 2, length: 0.3 m, place: indoors}}}
  R3: {starts_at: SW-2, ends_at: HY-2, segments: {a: {kind: EMT, size: 2, length: 3 m, place: indoors}}}
circuits:
  PV-N1: {string: N1, cable: W, size: 8 AWG, path: [R1, R2], enclosures: [PB-1, SW-1], tails: {start: 2 m, end: 1 m}}
  PV-S1: {string: S1, cable: W, size: 8 AWG, path: [R1, NIP, R3], enclosures: [PB-1, SW-2], tails: {start: 2 m, end: 1 m}}
landing:
  SW-1: {L1: PV-N1+, L2: PV-N1-, T1: HY-1/A+, T2: HY-1/A-}
  SW-2: {L1: PV-S1+, L2: PV-S1-, T1: HY-2/A+, T2: HY-2/A-}
"""


def changed(*edits: tuple[str, str]) -> dict[str, bytes]:
    text = FOLDER
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new)
    return {"a.yaml": text.encode()}


def of(made, subject: str = "PV-S1"):
    return [f for f in made.findings if f.code == "circuit-places" and f.subject == subject]


def test_a_way_that_all_four_agree_on_meets_and_says_what_the_tails_bridge(design) -> None:
    for key, array in (("PV-N1", "N"), ("PV-S1", "S")):
        (found,) = of(design(changed()), key)
        assert found.outcome is Outcome.MEETS
        assert f"tails taken to lead 2.0 m (7 ft) from {array} to PB-1" in found.headline


@pytest.mark.parametrize(
    ("edits", "words"),
    [
        # The wire comes out at the inverter on the left, and is landed on the switch and the inverter on the right.
        ([("path: [R1, NIP, R3]", "path: [R1, R2]")], ["HY-1", "HY-2/A"]),
        ([("path: [R1, NIP, R3], enclosures: [PB-1, SW-2]", "path: [R1, R2]")], ["HY-1", "HY-2/A"]),
        ([("N, count: 9, input: HY-1/A", "N, count: 9, input: HY-2/B")], ["HY-1", "HY-2/B"]),
        ([("enclosures: [PB-1, SW-2]", "enclosures: [SW-2, PB-1]")], ["SW-2 before PB-1", "PB-1 first"]),
        ([("[PB-1, SW-2]", "[PB-1, SW-2, SW-1]")], ["SW-2 before SW-1", "SW-1 first"]),
        # Landed where neither the path nor the list goes.
        ([("path: [R1, R2], enclosures: [PB-1, SW-1]", "path: [R1, NIP, R3], enclosures: [PB-1]"),
          ("N, count: 9, input: HY-1/A", "N, count: 9, input: HY-2/B"),
          ("SW-1: {L1: PV-N1+, L2: PV-N1-, T1: HY-1/A+, T2: HY-1/A-}", "PB-3: {X: PV-N1+, Y: PV-N1-}"),
          ("PB-1: {}, PB-2: {}, PB-3: {}}", "PB-1: {}, PB-2: {}, PB-3: {}}, terminal_ids: [X, Y]")], ["PB-3", "PB-1"]),
        ([("R3: {starts_at: SW-2, ends_at: HY-2", "R3: {starts_at: SW-2, ends_at: N")], ["array N", "HY-2/A"]),
    ],
)  # fmt: skip
def test_a_way_that_contradicts_itself_fails_and_names_both_places(design, edits, words) -> None:
    made = design(changed(*edits))
    found = [f for f in made.findings if f.code == "circuit-places" and f.outcome is Outcome.FAILS]
    assert found, [f.headline for f in of(made)]
    for word in words:
        assert any(word in f.headline for f in found), (word, [f.headline for f in found])
    assert all(f.cure and f.cure_span for f in found)


def test_a_landing_against_the_order_of_the_path_fails(design) -> None:
    """Switch behind switch: the wire from SW-2 goes on to SW-1, and the pipe comes to SW-1 first."""
    chain = (
        ("  SW-1: {L1: PV-N1+, L2: PV-N1-, T1: HY-1/A+, T2: HY-1/A-}\n",
         "  SW-1: {L1: PV-N1+, L2: PV-N1-, T1: HY-1/A+, T2: HY-1/A-, L3: SW-2/T1, L4: SW-2/T2, T3: HY-2/A+, T4: HY-2/A-}\n"),
        ("T1: HY-2/A+, T2: HY-2/A-}\n", "T1: SW-1/L3, T2: SW-1/L4}\n"),
    )  # fmt: skip
    edits = [(chain[1][0], chain[1][1]), chain[0]]
    text = FOLDER
    text = text.replace(
        "SW-2: {L1: PV-S1+, L2: PV-S1-, " + edits[0][0], "SW-2: {L1: PV-S1+, L2: PV-S1-, " + edits[0][1]
    )
    text = text.replace(*edits[1])
    (found,) = of(design({"a.yaml": text.encode()}))
    assert found.outcome is Outcome.FAILS
    assert "landing leads over SW-2 before SW-1" in found.headline


@pytest.mark.parametrize(
    ("edits", "missing"),
    [
        # One pipe for all, its end left open; a tail without a length; a box that no stretch ends at.
        ([("SW-2, ends_at: HY-2", "SW-2")], "ends_at of raceway R3"),
        ([("R1: {starts_at: PB-1, ", "R1: {")], "starts_at of raceway R1"),
        ([(", tails: {start: 2 m, end: 1 m}", "")], "tails of circuit PV-S1"),
        ([("start: 2 m", "start: 0 m")], "tails of circuit PV-S1"),
        ([("[PB-1, SW-2]", "[PB-1, PB-2, SW-2]")], "ends_at: PB-2"),
        ([("S, count: 9, input: HY-2/A", "S, count: 9")], "input of string S1"),
        # Landed on a switch that the path leaves out, while the path comes to the right inverter all the same.
        ([("path: [R1, NIP, R3], enclosures: [PB-1, SW-2]", "path: [R1, R2]"),
          ("S, count: 9, input: HY-2/A", "S, count: 9, input: HY-1/B"),
          ("T1: HY-2/A+, T2: HY-2/A-", "T1: HY-1/B+, T2: HY-1/B-")], "PV-S1 meets SW-2"),
    ],
)  # fmt: skip
def test_what_is_not_stated_is_no_pass(design, edits, missing) -> None:
    (found,) = of(design(changed(*edits)))
    assert found.outcome is Outcome.UNKNOWN
    assert any(missing in what for what in found.missing), found.missing


def test_a_path_ends_in_a_box_from_which_the_tail_leads_on(design) -> None:
    box = [("R3: {starts_at: SW-2, ends_at: HY-2", "R3: {starts_at: SW-2, ends_at: PB-2")]
    (found,) = of(design(changed(*box)))
    assert found.outcome is Outcome.MEETS
    assert "1.0 m (3 ft) from PB-2 to HY-2" in found.headline
    (found,) = of(design(changed(*box, ("end: 1 m", "end: 0 m"))))
    assert found.outcome is Outcome.UNKNOWN


def test_a_path_written_from_the_inverter_is_turned_round(design) -> None:
    back = [("path: [R1, NIP, R3]", "path: [R3, NIP, R1]"), ("R1: {starts_at: PB-1", "R1: {starts_at: S")]
    (found,) = of(design(changed(*back, (", enclosures: [PB-1, SW-2]", ""))))
    assert found.outcome is Outcome.MEETS
    assert "S, SW-1, SW-2, HY-2" in found.headline


def test_the_switch_of_a_circuit_without_enclosures_is_judged_all_the_same(design) -> None:
    """An empty list of enclosures leaves nothing out: terminals, poles and current of the switch come from the landing."""
    judged = {"ampacity-terminal", "cold-voltage-switch", "switch-current", "terminal-size"}

    def told(made):
        return {(f.code, f.subject, f.part, f.outcome) for f in made.findings if f.code in judged}

    listed = told(design(changed()))
    assert (
        told(design(changed((", enclosures: [PB-1, SW-2]", ""), (", enclosures: [PB-1, SW-1]", ""))))
        == listed
    )


def test_a_switch_on_the_path_that_nobody_lands_on_is_unknown(design) -> None:
    """Not listed, not landed, but the pipe ends there: neither passed nor judged until the landing tells."""
    made = design(changed(("  SW-2: {L1: PV-S1+, L2: PV-S1-, T1: HY-2/A+, T2: HY-2/A-}\n", "")))
    units = {
        f.part: f.outcome for f in made.findings if f.code == "cold-voltage-switch" and f.subject == "PV-S1"
    }
    assert units == {"SW-1": Outcome.UNKNOWN, "SW-2": Outcome.UNKNOWN}


def test_a_switch_only_passed_is_none_of_the_string(design) -> None:
    made = design(changed())
    assert dict(made.facts.graph.passing.only) == {"PV-S1": ("SW-1",)}
    units = {f.part for f in made.findings if f.code == "cold-voltage-switch" and f.subject == "PV-S1"}
    assert units == {"SW-2"}


@pytest.mark.parametrize(
    "edits",
    [
        # One leg is landed on it too; the way behind the other switch is open; it leads to another input.
        [
            ("L2: PV-S1-, T1: HY-2/A+", "T1: HY-2/A+"),
            ("T2: HY-1/A-}", "T2: HY-1/A-, L3: PV-S1-, T3: HY-2/A-}"),
        ],
        [("T1: HY-2/A+, ", "")],
        [("T1: HY-2/A+", "T1: HY-2/B+")],
        # Named or on the path, and nothing at all is stated of its terminals: it may stand in series before the other one.
        [("  SW-1: {L1: PV-N1+, L2: PV-N1-, T1: HY-1/A+, T2: HY-1/A-}\n", "")],
        [
            ("  SW-1: {L1: PV-N1+, L2: PV-N1-, T1: HY-1/A+, T2: HY-1/A-}\n", ""),
            ("[PB-1, SW-2]", "[PB-1, SW-1, SW-2]"),
        ],
    ],
)
def test_a_switch_is_not_passed_without_proof(design, edits) -> None:
    made = design(changed(*edits))
    assert "PV-S1" not in made.facts.graph.passing.only
    (found,) = (f for f in made.findings if f.id == "cold-voltage-switch:PV-S1:SW-1")
    # Of the leg that is landed there its pole is judged; without any landing nothing is.
    assert found.outcome is not Outcome.MEETS or "L3" in edits[-1][1]


def test_an_output_at_another_inverter_fails(design) -> None:
    more = "  AC-2: {kind: output, inverter: HY-2, cable: W, size: 8 AWG, path: [R2]}\nlanding:"
    (found,) = of(design(changed(("landing:", more))), "AC-2")
    assert found.outcome is Outcome.FAILS
    assert "HY-1" in found.headline
    assert "HY-2" in found.headline


def sides(made, wire: str, unit: str) -> set[str]:
    return {
        label.side for label in made.facts.labels.labels if (label.conductor, label.place) == (wire, unit)
    }


def test_a_wire_that_only_passes_a_switch_has_no_labels_of_a_cut_there(design) -> None:
    made = design(changed())
    assert sides(made, "PV-S1+", "SW-1") == {"passes through, live"}
    assert sides(made, "PV-S1+", "SW-2") == {"array side", "inverter side"}
    assert sides(made, "PV-N1+", "SW-1") == {"array side", "inverter side"}
    # Without the landing nothing proves that it only passes: it is labelled as cut, and says so on both sides.
    text = "  SW-2: {L1: PV-S1+, L2: PV-S1-, T1: HY-2/A+, T2: HY-2/A-}\n"
    assert sides(design(changed((text, ""))), "PV-S1+", "SW-1") == {"array side", "inverter side"}


def test_wires_that_only_pass_are_live_while_the_switch_is_open(design) -> None:
    made = design(changed())
    through = {item.unit: item.through for item in made.isolation.switches}
    assert through == {"SW-1": ("PV-S1+", "PV-S1-"), "SW-2": ()}
    placard = {item.place: item.through for item in made.facts.labels.placards if item.key == "disconnect"}
    assert placard == {"SW-1": ("PV-S1+", "PV-S1-"), "SW-2": ()}
    (found,) = (f for f in made.findings if f.code == "placard-disconnect" and f.subject == "SW-1")
    assert "PV-S1+, PV-S1-, which only pass it" in found.headline


def test_a_switch_that_everything_only_passes_is_listed_too(design) -> None:
    made = design(
        changed(
            (
                "  SW-1: {L1: PV-N1+, L2: PV-N1-, T1: HY-1/A+, T2: HY-1/A-}\n",
                "  SW-1: {}\n  HY-1: {A+: PV-N1+, A-: PV-N1-}\n",
            ),
        )
    )
    through = {item.unit: item.through for item in made.isolation.switches}
    assert through["SW-1"] == ("PV-N1+", "PV-N1-", "PV-S1+", "PV-S1-")


def test_the_one_line_way_marks_the_switch_as_only_passed(design) -> None:
    made = design(changed())
    steps = way_of(made.facts.graph, "PV-S1", by_conductor(made.facts.arrivals)).steps
    assert [(s.unit, s.only, s.poles) for s in steps if isinstance(s, Passed)] == [
        ("PB-1", False, ()),
        ("SW-1", True, ()),
        ("SW-2", False, (1,)),
    ]
