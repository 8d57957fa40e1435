"""Boxes and terminals through the folder: passing, failing, exactly at the limit, and never met by silence."""

from __future__ import annotations

import pytest
from pipe_folder import folder, found, outcome

from reportgen.design.findings import Outcome

TWO = """a: {kind: PVC-40, size: %s, length: 9 m, place: underground, ends_at: PB}
b: {kind: PVC-40, size: %s, length: 9 m, place: underground}"""


def boxed(box: str, sizes=("1-1/2", "1-1/2"), **changes) -> dict[str, bytes]:
    """Two pipes with a box between them; ``box`` holds its keys beside kind and units."""
    kind = "" if "kind:" in box else "kind: pull box, "
    return folder(TWO % sizes, more=f"boxes:\n  B: {{{kind}units: {{PB: {{}}}}, {box}}}", **changes)


STATED = "splices: no, internal_clamps: no"


@pytest.mark.parametrize(
    ("box", "volume", "verdict"),
    [
        # Own hand calculation: four 10 AWG at 2.5 in³ and grounds of one 2.5 in³ are 12.5 in³.
        (STATED, "14 in3", "meets"),
        (STATED, "12.5 in3", "thin"),
        (STATED, "12.4 in3", "fails"),
        # Cut in the box each counts twice: 8 · 2.5 + 2.5 = 22.5 in³.
        ("splices: yes, internal_clamps: no", "22.5 in3", "thin"),
        ("splices: yes, internal_clamps: no", "22.4 in3", "fails"),
        # Not said: enough for the worst meets, not enough for the best fails, between them nobody knows.
        ("internal_clamps: no", "24 in3", "meets"),
        ("internal_clamps: no", "20 in3", "unknown"),
        ("internal_clamps: no", "12 in3", "fails"),
        ("splices: no", "14 in3", "unknown"),
        ("splices: no, internal_clamps: yes", "15 in3", "thin"),
        ("splices: no, internal_clamps: yes", "14.9 in3", "fails"),
        # A device on a yoke takes two volumes: 12.5 + 5 = 17.5 in³.
        (f"{STATED}, yokes: 1", "17.4 in3", "fails"),
        (f"{STATED}, yokes: 1", "17.5 in3", "thin"),
    ],
)
@pytest.mark.source("NFPA 70, National Electrical Code, 2023 edition", locator="314.16(B)")
def test_volume_of_a_box(design, box, volume, verdict) -> None:
    made = design(boxed(f"{box}, volume: {volume}", strings=2))
    assert outcome(made, "box-volume:PB") == verdict


def test_grounds_that_are_cut_count_as_they_come_and_as_they_go(design) -> None:
    grounds = "  G1: {kind: ground, conductors: 3, cable: EARTH, size: 10 AWG, path: [R1]}"
    changes = {"strings": 0, "ground": None, "circuits": grounds}
    # Six ends: one volume for four and two quarters, 1.5 · 2.5 in³; uncut three count as one.
    cut = design(boxed("splices: yes, internal_clamps: no, volume: 30 in3", **changes))
    assert found(cut, "box-volume:PB").value.value == pytest.approx(3.75)
    whole = design(boxed(f"{STATED}, volume: 30 in3", **changes))
    assert found(whole, "box-volume:PB").value.value == pytest.approx(2.5)


def test_a_box_that_fails_at_best_is_told_by_its_best_case(design) -> None:
    made = found(design(boxed("internal_clamps: no, volume: 12 in3", strings=2)), "box-volume:PB")
    assert made.value.value == pytest.approx(12.5)


def test_a_loop_in_the_box_counts_twice(design) -> None:
    files = boxed(f"{STATED}, volume: 30 in3", strings=2)
    looped = {name: data.replace(b"extra: 0 m", b"extra: 1.5 m") for name, data in files.items()}
    # 4 · 2 · 2.5 + 2.5 = 22.5 in³; a foot of slack is a loop, less is none.
    assert found(design(looped), "box-volume:PB").value.value == pytest.approx(22.5)
    short = {name: data.replace(b"extra: 0 m", b"extra: 11 in") for name, data in files.items()}
    assert found(design(short), "box-volume:PB").value.value == pytest.approx(12.5)


@pytest.mark.parametrize(("edition", "needed"), [("nec2023", 5.0), ("nec2020", 2.5), ("nec2017", 2.5)])
@pytest.mark.source("NFPA 70, National Electrical Code, 2023 edition", locator="314.16(B)(6)", read="memory")
def test_blocks_of_terminals_count_from_2023_on(design, edition, needed) -> None:
    box = "internal_clamps: no, terminal_ids: [X1, X2], terminal_blocks: 1, volume: 60 in3"
    made = design(boxed(box, edition=edition, strings=1))
    # Two 10 AWG in and out and the ground, 4 · 2.5 + 2.5 = 12.5 in³, and one more volume for the block from 2023 on.
    assert found(made, "box-volume:PB").value.value == pytest.approx(10 + needed)


def test_measures_give_the_volume_and_deny_a_mark_that_is_larger(design) -> None:
    made = design(boxed(f"{STATED}, length: 5 in, width: 4 in, depth: 3 in", strings=2))
    assert found(made, "box-volume:PB").limit.value == pytest.approx(60)
    made = design(boxed(f"{STATED}, length: 2 in, width: 2 in, depth: 2 in, volume: 60 in3", strings=2))
    assert outcome(made, "box-volume:PB") == "fails"
    made = design(boxed(f"{STATED}, standard_box: 4x2-1/8-square", strings=2))
    assert found(made, "box-volume:PB").limit.value == pytest.approx(30.3)


@pytest.mark.parametrize(
    "box", [STATED, f"{STATED}, length: 5 in, width: 4 in", f"{STATED}, standard_box: 9x9"]
)
def test_a_box_of_unknown_volume_is_unknown(design, box) -> None:
    assert outcome(design(boxed(box, strings=2)), "box-volume:PB") == "unknown"


def test_metric_sizes_have_no_row_and_no_verdict(design) -> None:
    wire = "{markings: [PV wire], voltage: 600 V, sizes: [{size: 6 mm2, diameter: 6.5 mm, area: 6 mm2}]}"
    made = design(boxed(f"{STATED}, volume: 900 in3", size="6 mm2", wire=wire))
    assert outcome(made, "box-volume:PB") == "unknown"


def test_a_conductor_counts_in_every_box_it_passes_and_where_it_starts(design) -> None:
    pipes = """a: {kind: EMT, size: "1", length: 9 m, place: indoors, ends_at: P1}
b: {kind: EMT, size: "1", length: 9 m, place: indoors, ends_at: P2}
c: {kind: EMT, size: "1", length: 9 m, place: indoors}"""
    box = f"boxes:\n  B: {{kind: pull box, units: {{P1: {{}}, P2: {{}}}}, {STATED}, volume: 90 in3}}"
    text = """  C1: {string: S1, cable: WIRE, size: 10 AWG, path: [R1], extra: 0 m}
  C2: {string: S2, cable: WIRE, size: 8 AWG, path: [R1/b, R1/c], extra: 0 m}
  C3: {kind: spare, cable: WIRE, size: 6 AWG, path: [R1/c], extra: 0 m}"""
    made = design(folder(pipes, strings=2, circuits=text, more=box))
    held = {box.unit: sorted(p.wire.id for p in box.passages) for box in made.facts.boxes}
    assert held == {"P1": ["C1+", "C1-", "C2+", "C2-", "G1"], "P2": ["C1+", "C1-", "C2+", "C2-", "C3", "G1"]}
    # P2: 2 · 2.5 + 2 · 3 + 5 + 2.5 = 18.5 in³.
    assert found(made, "box-volume:P2").value.value == pytest.approx(18.5)


def test_a_circuit_without_a_path_may_pass_any_box(design) -> None:
    files = boxed(f"{STATED}, volume: 900 in3", strings=2)
    lost = {
        name: data.replace(
            b"string: S2, cable: WIRE, size: 10 AWG, path: [R1]", b"string: S2, cable: WIRE, size: 10 AWG"
        )
        for name, data in files.items()
    }
    assert outcome(design(lost), "box-volume:PB") == "unknown"


def test_an_enclosure_that_a_circuit_names_counts_without_a_pipe(design) -> None:
    pipe = "a: {kind: EMT, size: '1', length: 9 m, place: indoors}"
    box = f"boxes:\n  B: {{kind: junction box, units: {{PB: {{}}}}, {STATED}, volume: 5 in3}}"
    made = design(folder(pipe, strings=2, enclosures="PB", more=box))
    # Four 10 AWG, the ground names no box: 10 in³.
    assert found(made, "box-volume:PB").value.value == pytest.approx(10)
    assert outcome(made, "box-volume:PB") == "fails"


# Pull boxes

LARGE = {"size": "4 AWG", "ground": "4 AWG"}
SIDES = "entries: [{raceway: R1/a, wall: left%s}, {raceway: R1/b, wall: %s%s}]"


@pytest.mark.parametrize(("length", "verdict"), [("16 in", "meets"), ("15.9 in", "fails"), (None, "unknown")])
@pytest.mark.source("NFPA 70, National Electrical Code, 2023 edition", locator="314.28(A)(1)")
def test_straight_pull_is_eight_times_the_larger_pipe(design, length, verdict) -> None:
    box = f"{STATED}, {SIDES % ('', 'right', '')}" + (f", length: {length}" if length else "")
    made = design(boxed(box, sizes=("2", "1-1/2"), **LARGE))
    assert outcome(made, "box-pull:PB:straight R1/a to R1/b") == verdict
    assert not [item for item in made.findings if item.code == "box-volume"]


@pytest.mark.parametrize(
    ("length", "width", "apart", "verdicts"),
    [
        # Angle: 6 · 2 = 12 in from each wall with an entry to the one opposite, and 12 in between the two entries.
        ("12 in", "12 in", "12 in", ("meets", "meets", "meets")),
        ("11.9 in", "12 in", "11.9 in", ("fails", "meets", "fails")),
        ("20 in", "11.9 in", "12 in", ("meets", "fails", "meets")),
    ],
)
@pytest.mark.source("NFPA 70, National Electrical Code, 2023 edition", locator="314.28(A)(2)")
def test_angle_pull_measures_both_walls_and_the_distance(design, length, width, apart, verdicts) -> None:
    entries = SIDES % (f", to_other_entry: {apart}", "bottom", "")
    made = design(boxed(f"{STATED}, {entries}, length: {length}, width: {width}", sizes=("2", "2"), **LARGE))
    parts = ("wall left", "wall bottom", "spacing R1/a to R1/b")
    assert tuple(outcome(made, f"box-pull:PB:{part}") for part in parts) == verdicts


def test_u_pull_adds_the_other_entries_of_the_row(design) -> None:
    # Both in the left wall, one row: 6 · 2 + 2 = 14 in; a distance that nobody measured is unknown.
    entries = SIDES % ("", "left", "")
    made = design(boxed(f"{STATED}, {entries}, length: 13 in, width: 40 in", sizes=("2", "2"), **LARGE))
    wall = found(made, "box-pull:PB:wall left")
    assert wall.limit.value == pytest.approx(14)
    assert wall.outcome is Outcome.FAILS
    assert outcome(made, "box-pull:PB:spacing R1/a to R1/b") == "unknown"


@pytest.mark.parametrize(("depth", "verdict"), [("12 in", "meets"), ("11 in", "ask")])
def test_an_entry_opposite_the_cover_is_asked_where_it_is_near(design, depth, verdict) -> None:
    entries = SIDES % (", to_other_entry: 12 in", "back", "")
    made = design(boxed(f"{STATED}, {entries}, length: 40 in, depth: {depth}", sizes=("2", "2"), **LARGE))
    assert outcome(made, "box-pull:PB:wall back") == verdict


def test_splices_make_a_straight_way_an_angle_as_well(design) -> None:
    entries = SIDES % ("", "right", "")
    made = design(
        boxed(f"splices: yes, internal_clamps: no, {entries}, length: 16 in", sizes=("2", "2"), **LARGE)
    )
    assert outcome(made, "box-pull:PB:straight R1/a to R1/b") == "meets"
    assert found(made, "box-pull:PB:wall left").limit.value == pytest.approx(12)


def test_of_two_stated_distances_the_lesser_counts(design) -> None:
    entries = SIDES % (", to_other_entry: 30 in", "bottom", ", to_other_entry: 11 in")
    made = design(boxed(f"{STATED}, {entries}, length: 40 in, width: 40 in", sizes=("2", "2"), **LARGE))
    assert outcome(made, "box-pull:PB:spacing R1/a to R1/b") == "fails"


def test_splices_that_nobody_denies_are_counted_in_a_pull_box(design) -> None:
    entries = SIDES % ("", "right", "")
    made = design(boxed(f"internal_clamps: no, {entries}, length: 16 in", sizes=("2", "2"), **LARGE))
    assert outcome(made, "box-pull:PB:wall left") == "meets"
    denied = design(boxed(f"{STATED}, {entries}, length: 16 in", sizes=("2", "2"), **LARGE))
    assert [item.part for item in denied.findings if item.code == "box-pull"] == ["straight R1/a to R1/b"]


def test_large_conductors_without_stated_entries_are_unknown(design) -> None:
    made = design(boxed(f"{STATED}, length: 90 in, width: 90 in, depth: 90 in", **LARGE))
    ends = {str(item.outcome) for item in made.findings if item.code == "box-pull"}
    assert ends == {"unknown"}


def test_a_box_marked_for_its_conductors_meets(design) -> None:
    made = design(boxed(f"{STATED}, marked_for_conductors: yes, length: 3 in", **LARGE))
    assert outcome(made, "box-pull:PB") == "meets"


@pytest.mark.parametrize(
    ("size", "code"), [("6 AWG", "box-volume"), ("4 AWG", "box-pull"), ("1/0 AWG", "box-pull")]
)
def test_the_rule_changes_at_4_awg(design, size, code) -> None:
    made = design(boxed(STATED, size=size, ground=size, sizes=("3", "3")))
    rules = {item.code for item in made.findings if item.code.startswith("box-")} - {"box-wet"}
    assert rules == {code}


def test_a_box_of_large_and_small_conductors_is_asked_and_not_passed_over(design) -> None:
    made = design(boxed(STATED, size="4 AWG", ground="8 AWG", sizes=("3", "3")))
    assert outcome(made, "box-volume:PB") == "ask"
    assert "4 AWG" in found(made, "box-volume:PB").question


# Glands and terminals


@pytest.mark.parametrize(
    ("clamps", "verdict"),
    [
        # 10 AWG of this make is 4.1656 mm thick (0.164 in).
        ("clamps_from: 4 mm, clamps_to: 8 mm", "meets"),
        ("clamps_from: 0.164 in, clamps_to: 8 mm", "meets"),
        ("clamps_from: 2 mm, clamps_to: 0.164 in", "meets"),
        ("clamps_from: 4.2 mm, clamps_to: 8 mm", "fails"),
        ("clamps_from: 2 mm, clamps_to: 4.1 mm", "fails"),
        ("clamps_to: 8 mm", "unknown"),
    ],
)
def test_gland_against_the_cable(design, clamps, verdict) -> None:
    entry = f"entries: [{{conductors: [C1+], wall: bottom, {clamps}}}]"
    made = design(boxed(f"{STATED}, volume: 90 in3, {entry}"))
    assert outcome(made, "box-gland:PB:entry 1, C1+") == verdict


RANGE = "{temperature: 75 degC, smallest: 12 AWG, largest: 8 AWG%s}"


@pytest.mark.parametrize(
    ("size", "verdict"),
    [("12 AWG", "meets"), ("8 AWG", "meets"), ("14 AWG", "fails"), ("6 AWG", "fails"), ("1/0 AWG", "fails")],
)
def test_sizes_that_a_terminal_takes(design, size, verdict) -> None:
    made = design(
        folder("t: {kind: EMT, size: '2', length: 9 m, place: indoors}", size=size, terminals=RANGE % "")
    )
    assert outcome(made, "terminal-size:I1") == verdict


@pytest.mark.parametrize(
    ("terminals", "verdict"),
    [
        ("{temperature: 75 degC}", "unknown"),
        ("{smallest: 12 AWG}", "unknown"),
        # What is stated can already fail it.
        ("{smallest: 8 AWG}", "fails"),
        ("{largest: 12 AWG}", "fails"),
        ("{smallest: 4 mm2, largest: 10 mm2}", "unknown"),
    ],
)
def test_a_range_that_is_not_stated_is_no_pass(design, terminals, verdict) -> None:
    made = design(folder("t: {kind: EMT, size: '2', length: 9 m, place: indoors}", terminals=terminals))
    assert outcome(made, "terminal-size:I1") == verdict


SWITCH = """
switches:
  K:
    units: {SW: {}}
    line: [L1, L2, L3, L4]
    load: [T1, T2, T3, T4]
    joined: [[L1, T1], [L2, T2], [L3, T3], [L4, T4]]
    terminals: %s
landing:
  SW: {L1: C1+, L2: I1/1+, L3: C1-, L4: I1/1-}
jumpers:
  SW: [%s]
"""


@pytest.mark.parametrize(
    ("allowed", "links", "verdict"),
    [
        ("", "[T1, T2], [T3, T4]", "meets"),
        (", conductors_per_terminal: 1", "[T1, T2], [T3, T4]", "meets"),
        # A link from a clamp that already holds a wire makes two under it.
        (", conductors_per_terminal: 1", "[T1, L2], [T3, T4]", "fails"),
        (", conductors_per_terminal: 2", "[T1, L2], [T3, T4]", "meets"),
        ("", "[T1, L2], [T3, T4]", "unknown"),
    ],
)
def test_conductors_under_one_clamp(design, allowed, links, verdict) -> None:
    pipe = "t: {kind: EMT, size: '2', length: 9 m, place: indoors}"
    made = design(folder(pipe, enclosures="SW", more=SWITCH % (RANGE % allowed, links)))
    assert outcome(made, "terminal-count:SW") == verdict
    assert outcome(made, "terminal-size:SW") == "meets"


def test_a_switch_without_landing_is_judged_by_what_passes_it(design) -> None:
    text = (SWITCH % (RANGE % "", "[T1, T2]")).replace(
        "landing:\n  SW: {L1: C1+, L2: I1/1+, L3: C1-, L4: I1/1-}\n", ""
    )
    pipe = "t: {kind: EMT, size: '2', length: 9 m, place: indoors}"
    made = design(folder(pipe, enclosures="SW", size="6 AWG", more=text))
    assert outcome(made, "terminal-size:SW") == "fails"
    assert outcome(made, "terminal-count:SW") == "unknown"


def test_what_the_landing_forgets_is_judged_too(design) -> None:
    pipe = "t: {kind: EMT, size: '2', length: 9 m, place: indoors}"
    files = folder(pipe, strings=2, enclosures="SW", more=SWITCH % (RANGE % "", "[T1, T2]"))
    thick = {
        name: data.replace(
            b"{string: S2, cable: WIRE, size: 10 AWG", b"{string: S2, cable: WIRE, size: 6 AWG"
        )
        for name, data in files.items()
    }
    assert outcome(design(files), "terminal-size:SW") == "meets"
    assert outcome(design(thick), "terminal-size:SW") == "fails"


def test_three_strings_on_two_pairs_of_connectors_share_a_clamp(design) -> None:
    files = folder(
        "t: {kind: EMT, size: '2', length: 9 m, place: indoors}",
        strings=3,
        terminals=RANGE % ", conductors_per_terminal: 1",
    )
    joined = {
        name: data.replace(b"input: I1/2", b"input: I1/1")
        .replace(b"input: I1/3", b"input: I1/1")
        .replace(b"inputs: {1: {}", b"inputs: {1: {connectors: 2}")
        for name, data in files.items()
    }
    assert found(design(joined), "terminal-count:I1").value.value == 2


def test_two_strings_on_one_pair_of_connectors_share_a_clamp(design) -> None:
    files = folder(
        "t: {kind: EMT, size: '2', length: 9 m, place: indoors}",
        strings=2,
        terminals=RANGE % ", conductors_per_terminal: 1",
    )
    joined = {
        name: data.replace(b"input: I1/2", b"input: I1/1").replace(
            b"inputs: {1: {}", b"inputs: {1: {connectors: 1}"
        )
        for name, data in files.items()
    }
    assert outcome(design(files), "terminal-count:I1") == "meets"
    assert outcome(design(joined), "terminal-count:I1") == "fails"
