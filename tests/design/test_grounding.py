"""Grounds, frames, electrodes and bonded legs through the whole design.

Own hand calculations unless a comment says otherwise: without a device a ground goes by 1.25 · 17.2375 = 21.55 A, the row
up to 60 A, 10 AWG copper; with a device of 20 A by 12 AWG.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from protection_folder import folder, found, fuse, outcome

from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

TRENCH = "ground-size:R1/trench"


def made(files, edition: str = "nec2023"):
    return assemble(load_project(files), load(edition), "test")


def output(size: str, device: str, more: str = "", cable: str = "W") -> str:
    return (
        f"  OUT: {{kind: output, inverter: I1, cable: {cable}, size: {size}, conductors: 3, path: [R1],"
        f" device: {device}{more}}}"
    )


# --- size ---


@pytest.mark.parametrize(("ground", "then"), [("10 AWG", "meets"), ("12 AWG", "fails"), ("8 AWG", "meets")])
def test_without_a_device_the_ground_goes_by_the_rating_one_would_have(ground: str, then: str) -> None:
    assert outcome(made(folder("A", ground=ground)), TRENCH) == then


def test_a_larger_ground_is_told_and_is_no_fault() -> None:
    assert "larger than needed: 10 AWG would do" in found(made(folder("A", ground="6 AWG")), TRENCH).notes[0]
    assert found(made(folder("A")), TRENCH).notes == ()


def test_a_ground_goes_by_the_fuse_that_is_fitted() -> None:
    # 9 A at standard conditions; a 20 A fuse asks for 12 AWG, a 25 A one for 10 AWG.
    for rating, then in (("20 A", "meets"), ("25 A", "fails")):
        files = folder(
            "AAA", isc="9 A", string=", fuse: F, fused_pole: both", more=fuse(rating), ground="12 AWG"
        )
        assert outcome(made(files), TRENCH) == then


def test_the_larger_of_two_devices_counts() -> None:
    files = folder(
        "AAA", isc="9 A", string=", fuse: F", circuit=", device: 30 A", more=fuse("20 A"), ground="12 AWG"
    )
    assert outcome(made(files), TRENCH) == "fails"


def test_never_larger_than_its_circuit_conductors() -> None:
    # The table asks for 10 AWG; the conductors are 12 AWG, and so is the ground.
    done = found(made(folder("A", size="12 AWG", ground="12 AWG")), TRENCH)
    assert str(done.outcome) == "meets"
    assert "never larger than its circuit conductors, here those of C1" in done.notes[0]
    assert outcome(made(folder("A", size="12 AWG", ground="14 AWG")), TRENCH) == "fails"


def test_the_largest_circuit_conductor_bounds_a_shared_ground() -> None:
    more = "circuits: {C9: {kind: spare, cable: W, size: 14 AWG, path: [R1]}}"
    text = folder("AB", size="12 AWG", ground="12 AWG")["all.yaml"].decode()
    mixed = text.replace("C2: {string: S2, cable: W, size: 12 AWG", "C2: {string: S2, cable: W, size: 10 AWG")
    done = made({"all.yaml": mixed.encode(), "more.yaml": more.encode()})
    assert outcome(done, TRENCH) == "fails"


def test_conductors_of_another_metal_bound_nothing() -> None:
    text = folder("A", size="12 AWG", ground="12 AWG")["all.yaml"].decode()
    done = made({"all.yaml": text.replace("string: S1, cable: W", "string: S1, cable: ALU").encode()})
    # Aluminum 12 AWG beside a copper ground of 12 AWG: the table's 10 AWG stands.
    assert outcome(done, TRENCH) == "fails"


def test_an_output_circuit_sizes_the_ground_by_its_device() -> None:
    files = folder("A", circuits=output("8 AWG", "40 A"), ground="10 AWG")
    assert outcome(made(files), TRENCH) == "meets"
    unknown = folder("A", circuits=output("8 AWG", "40 A").replace(", device: 40 A", ""))
    assert outcome(made(unknown), TRENCH) == "unknown"


def test_a_ground_grows_with_its_output_conductors_alone() -> None:
    # Needed 8 AWG (16 510 cmil), installed 4 AWG (41 740): 10 380 · 2.528 = 26 243 cmil, a touch over 6 AWG's 26 240.
    files = folder("A", circuits=output("4 AWG", "40 A", ", least_size: 8 AWG"), ground="6 AWG")
    assert outcome(made(files), TRENCH) == "fails"
    files = folder("A", circuits=output("4 AWG", "40 A", ", least_size: 8 AWG"), ground="4 AWG")
    assert outcome(made(files), TRENCH) == "meets"
    # Nobody says what would have done: by the table the ground does, and more cannot be told.
    files = folder("A", circuits=output("4 AWG", "40 A"), ground="6 AWG")
    assert outcome(made(files), TRENCH) == "unknown"
    assert "least_size of circuit OUT" in found(made(files), TRENCH).missing
    # String conductors grown for their voltage drop ask for nothing.
    assert outcome(made(folder("A", size="4 AWG", ground="10 AWG")), TRENCH) == "meets"


def test_what_an_output_needed_at_least_is_taken_from_the_hottest_column() -> None:
    # 60 A: 8 AWG does at 90 °C (55 A, next rating 60 A), 6 AWG at 75 °C. 10 380 · 26 240 / 16 510 = 16 497 cmil: 8 AWG.
    assert outcome(made(folder("A", circuits=output("6 AWG", "60 A"), ground="10 AWG")), TRENCH) == "unknown"
    assert outcome(made(folder("A", circuits=output("6 AWG", "60 A"), ground="8 AWG")), TRENCH) == "meets"
    stated = output("6 AWG", "60 A", ", least_size: 6 AWG")
    assert outcome(made(folder("A", circuits=stated, ground="10 AWG")), TRENCH) == "meets"


def test_device_of_an_output_is_not_judged_while_a_string_beside_it_has_no_path() -> None:
    files = folder("AB", size="8 AWG", circuits=output("8 AWG", "40 A"))
    assert outcome(made(files), "output-device:OUT:conductor") == "meets"
    (text,) = files.values()
    lost = {
        "all.yaml": text.replace(
            b"string: S2, cable: W, size: 8 AWG, path: [R1], ", b"string: S2, cable: W, size: 8 AWG, "
        )
    }
    assert lost != files
    assert found(made(lost), "output-device:OUT:conductor").missing == ("path of circuit C2",)


@pytest.mark.parametrize("edition", ["nec2017", "nec2020", "nec2023"])
def test_string_conductors_never_grow_the_ground(edition: str) -> None:
    assert (
        outcome(made(folder("A", size="2 AWG", ground="10 AWG", edition=edition), edition), TRENCH) == "meets"
    )


@settings(max_examples=10)
@given(
    pair=st.lists(st.sampled_from([14, 12, 10, 8, 6]), min_size=2, max_size=2).map(sorted),
    inputs=st.integers(1, 3),
)
def test_a_larger_ground_never_does_worse(pair: list[int], inputs: int) -> None:
    larger, smaller = pair
    letters = "ABC"[:inputs]
    if outcome(made(folder(letters, ground=f"{smaller} AWG")), TRENCH) == "meets":
        assert outcome(made(folder(letters, ground=f"{larger} AWG")), TRENCH) == "meets"


# --- frames and electrodes ---

BONDED = ", frames_bonded: yes, grounded_by: G1"


@pytest.mark.parametrize(
    ("array", "then"),
    [
        (BONDED, "meets"),
        ("", "unknown"),
        (", frames_bonded: no, grounded_by: G1", "fails"),
        (", frames_bonded: yes", "unknown"),
        (", frames_bonded: yes, grounded_by: C1", "fails"),
    ],
)
def test_frames(array: str, then: str) -> None:
    assert outcome(made(folder("A", array=array)), "array-bonding:T") == then


def test_a_ground_that_does_not_run_with_the_array_is_none() -> None:
    text = folder("A", array=BONDED)["all.yaml"].decode()
    text = text.replace(
        "kind: ground, cable: W, size: 10 AWG, path: [R1]",
        "kind: ground, cable: W, size: 10 AWG, path: [R1/riser]",
    )
    assert outcome(made({"all.yaml": text.encode()}), "array-bonding:T") == "fails"
    removed = (
        folder("A", array=BONDED)["all.yaml"]
        .decode()
        .replace("kind: ground,", "kind: ground, status: removed,")
    )
    assert outcome(made({"all.yaml": removed.encode()}), "array-bonding:T") == "fails"


def test_a_circuit_without_a_path_says_nothing_of_its_ground() -> None:
    assert outcome(made(folder("A", array=BONDED, path="")), "array-bonding:T") == "unknown"


@pytest.mark.parametrize("edition", ["nec2017", "nec2020", "nec2023"])
@pytest.mark.parametrize(
    ("array", "then"),
    [("", "ask"), (", electrode: none", "ask"), (", grounded_by: G1, electrode: two rods", "meets")],
)
def test_electrodes(edition: str, array: str, then: str) -> None:
    assert outcome(made(folder("A", array=array, edition=edition), edition), "array-electrode:T") == then


def test_an_electrode_in_place_of_the_ground_fails() -> None:
    done = made(folder("A", array=", electrode: 8 ft rod", ground=None))
    assert outcome(done, "array-electrode:T") == "fails"
    assert "never replaces" in found(done, "array-electrode:T").headline


# --- legs on ground ---

SWITCH = """
switches:
  K: {units: {SW-1: {}}, line: [L1, L2, L3], load: [T1, T2, T3], joined: [[L1, T1], [L2, T2], [L3, T3]],
      ground_terminals: [E]}
"""
LANDED = "landing: {SW-1: {L1: C1+, L2: C1-, T1: I1/A+, T2: I1/A-%s}}\n"
THROUGH = ", enclosures: [SW-1]"


def bonded(more: str, landed: str = "", legs: str = "pv_legs: floating") -> object:
    inverter = f"{{{legs}, backfeed_current: 0 A}}" if legs else "{backfeed_current: 0 A}"
    return made(folder("A", circuit=THROUGH, inverter=inverter, more=SWITCH + LANDED % landed + more))


def bonds(done) -> dict[str, str]:
    return {item.id: str(item.outcome) for item in done.findings if item.code == "leg-bonded"}


def test_legs_off_the_ground_meet() -> None:
    assert bonds(bonded("")) == {"leg-bonded:S1": "meets"}
    assert bonds(bonded("", ", E: G1")) == {"leg-bonded:S1": "meets"}


@pytest.mark.parametrize(
    ("more", "landed"),
    [
        ("jumpers: {SW-1: [[L2, E]]}\n", ""),
        ("jumpers: {SW-1: [[T2, E]]}\n", ""),  # over the closed pole
        ("jumpers: {SW-1: [[L2, L3]]}\n", ", T3: G1"),  # over a link, a pole and a landed ground
    ],
)
def test_a_leg_linked_to_ground_fails(more: str, landed: str) -> None:
    made_bonds = bonds(bonded(more, landed))
    assert made_bonds["leg-bonded:C1-:SW-1"] == "fails"
    assert "leg-bonded:S1" not in made_bonds
    assert "leg-bonded:C1+:SW-1" not in made_bonds


def test_a_leg_landed_on_a_ground_terminal_fails() -> None:
    more = SWITCH + "landing: {SW-1: {L1: C1+, E: C1-}}\n"
    assert bonds(made(folder("A", circuit=THROUGH, more=more)))["leg-bonded:C1-:SW-1"] == "fails"


def test_a_link_inside_the_inverter_fails_without_any_landing() -> None:
    assert bonds(made(folder("A", more="jumpers: {I1: [[A-, PE]]}\n"))) == {"leg-bonded:I1/A-:I1": "fails"}


@pytest.mark.parametrize(
    ("legs", "then"),
    [("", "unknown"), ("pv_legs: negative grounded", "ask"), ("pv_legs: positive grounded", "fails")],
)
def test_a_bond_is_judged_by_what_the_inverter_says(legs: str, then: str) -> None:
    assert bonds(bonded("jumpers: {SW-1: [[L2, E]]}\n", legs=legs))["leg-bonded:C1-:SW-1"] == then


def test_without_a_landing_nothing_is_said_of_bonds() -> None:
    assert bonds(made(folder("A"))) == {}


def test_floating_poles_need_no_conductor_to_an_electrode() -> None:
    assert (
        "no grounding electrode conductor is asked" in found(made(folder("A")), "floating-poles:H").notes[0]
    )


# --- where a ground goes ---

RESTING = ("ground-way:G1", "ground-present:R1/trench", TRENCH, "circuit-path:G1", "array-bonding:T")
FRAMES = ", frames_bonded: yes, grounded_by: G1, electrode: a rod"
BOX = "boxes: {{B: {{kind: pull box, units: {{B1: {{}}}}{}}}}}"


def boxed(g1: str = "", box: str = "", more: str = "", first: str = "trench", array: str = FRAMES):
    """Two grounds: G1 from the array to box B1 alone, G2 on from there to the inverter."""
    circuits = f"  G2: {{kind: ground, cable: W, size: 10 AWG, path: [R1/riser]{more}}}"
    files = folder("A", ground="10 AWG", array=array, circuits=circuits, more=BOX.format(box))
    text = files["all.yaml"].decode()
    text = text.replace("place: underground,", "place: underground, ends_at: B1,")
    text = text.replace("size: 10 AWG, path: [R1]}", f"size: 10 AWG, path: [R1/{first}]{g1}}}")
    return {"all.yaml": text.encode()}


def test_a_ground_that_ends_in_a_box_serves_nothing() -> None:
    done = made(boxed())
    for identity in (*RESTING, "array-electrode:T"):
        assert outcome(done, identity) == "unknown", identity
        assert found(done, identity).cure.startswith("state where G1 goes from B1"), identity
    # The other one does reach the inverter.
    assert outcome(done, "ground-way:G2") == "meets"
    assert outcome(done, "ground-present:R1/riser") == "meets"


@pytest.mark.parametrize("stated", ["one way", "the other way", "landed on one bar", "landed and linked"])
def test_a_ground_is_followed_over_a_stated_joint(stated: str) -> None:
    bar, two = ", ground_terminals: [E1, E2]", ", terminal_ids: [X1, X2]"
    files = {
        "one way": boxed(", bonded_to: G2", bar),
        "the other way": boxed("", bar, ", bonded_to: G1"),
        "landed on one bar": boxed("", bar),
        "landed and linked": boxed("", two),
    }[stated]
    if stated == "landed on one bar":
        files["landing.yaml"] = b"landing: {B1: {E1: G1, E2: G2}}"
    if stated == "landed and linked":
        files["landing.yaml"] = b"landing: {B1: {X1: G1, X2: G2}}"
        assert outcome(made(files), "ground-way:G1") == "unknown"
        files["landing.yaml"] = b"landing: {B1: {X1: G1, X2: G2}}\njumpers: {B1: [[X1, X2]]}"
    done = made(files)
    for identity in (*RESTING, "array-electrode:T"):
        assert outcome(done, identity) == "meets", identity
    assert found(done, "ground-way:G1").headline == "G1 is joined with G2 in B1, G2 ends at I1"


@pytest.mark.parametrize(
    ("g1", "box", "more", "wanted"),
    [
        (", bonded_to: G1", "", "", "a ground in use that G1 is bonded to"),
        (", bonded_to: C1", "", "", "a ground in use that G1 is bonded to"),
        (", bonded_to: G2", "", ", status: removed", "a ground in use that G1 is bonded to"),
        (", bonded_to: G2", ", splices: no", "", "what joins G1 with G2 in B1"),
    ],
)
def test_a_joint_that_cannot_be_is_none(g1: str, box: str, more: str, wanted: str) -> None:
    done = found(made(boxed(g1, box, more)), "ground-way:G1")
    assert (str(done.outcome), done.missing[0].startswith(wanted)) == ("unknown", True)


def test_two_grounds_joined_with_each_other_alone_lead_nowhere() -> None:
    text = boxed(", bonded_to: G2", "", ", bonded_to: G1")["all.yaml"].decode()
    done = made({"all.yaml": text.replace("    ends_at: I1\n", "    ends_at: B1\n").encode()})
    assert {outcome(done, f"ground-way:{key}") for key in ("G1", "G2")} == {"unknown"}


def test_a_closed_pole_is_no_joint_of_grounds() -> None:
    files = boxed()
    text = files["all.yaml"].decode().replace("ends_at: B1", "ends_at: S9")
    switch = "switches: {K: {units: {S9: {}}, line: [L1], load: [T1], joined: [[L1, T1]]}}"
    landing = "landing: {S9: {L1: G1, T1: G2}}"
    done = made({"all.yaml": text.encode(), "k.yaml": f"{switch}\n{landing}".encode()})
    assert outcome(done, "ground-way:G1") == "unknown"


def test_an_electrode_system_at_its_end_is_a_question() -> None:
    done = made(boxed(", electrode_system: rod ring of the barn"))
    for identity in ("ground-way:G1", "ground-present:R1/trench", "array-bonding:T", "array-electrode:T"):
        assert outcome(done, identity) == "ask", identity
        assert "rod ring of the barn" in found(done, identity).question


def test_a_ground_with_a_gap_is_not_followed_over_it() -> None:
    done = made(folder("A", array=FRAMES, path="R1/trench"))
    assert outcome(done, "ground-way:G1") == "unknown"
    assert outcome(done, "array-bonding:T") == "unknown"


def test_an_array_with_its_electrode_and_no_ground_named_is_unknown() -> None:
    done = found(made(folder("A", array=", frames_bonded: yes, electrode: a rod")), "array-electrode:T")
    assert (str(done.outcome), done.missing) == (
        "unknown",
        ("grounded_by of array T, a circuit of kind ground",),
    )


def test_a_ground_that_begins_at_another_array_needs_a_tie() -> None:
    other = "arrays: {OFF: {module: M, count: 1, spares: 1, frames_bonded: yes, grounded_by: G1%s}}"
    for tie, then in (("", "unknown"), (", ground_tie: 8 AWG in the row", "meets")):
        done = made(folder("A", array=FRAMES) | {"more.yaml": (other % tie).encode()})
        assert outcome(done, "array-bonding:OFF") == then
        assert outcome(done, "array-bonding:T") == "meets"
    assert "begins at T and not at OFF" in found(made(folder("A", array=FRAMES) | {"more.yaml": (other % "").encode()}), "array-bonding:OFF").headline  # fmt: skip


def test_a_ground_that_comes_to_the_inverter_with_its_raceway_says_so() -> None:
    (note,) = found(made(folder("A")), "ground-way:G1").notes
    assert "the terminal that it is put on is not stated" in note
    text = folder("A")["all.yaml"].decode().replace("kind: ground,", "kind: ground, bonded_to: I1,")
    assert found(made({"all.yaml": text.encode()}), "ground-way:G1").notes == ()


# --- a ground and the strings beside it, at two inverters ---


def apart(g1: str = "", more: str = "", circuits: str = "") -> dict[str, bytes]:
    """Two strings, of which the second ends at I2; their ground ends at I1."""
    text = folder("AB", array=FRAMES, more=more, circuits=circuits)["all.yaml"].decode()
    text = text.replace("input: I1/B", "input: I2/B")
    return {"all.yaml": text.replace("size: 10 AWG, path: [R1]}", f"size: 10 AWG, path: [R1]{g1}}}").encode()}


def test_a_ground_that_ends_at_another_inverter_than_a_string_beside_it_is_asked_about() -> None:
    done = found(made(apart(", bonded_to: I1")), "ground-way:G1")
    assert str(done.outcome) == "ask"
    assert done.headline == "G1 ends at I1, while C2 beside it ends at I2"
    assert done.question.startswith("Which wire joins the ground terminals of I1 and I2")
    assert done.cure == "state a circuit of kind ground from I1, or from a joint with G1, to I2"
    # Where it ends by its raceway alone the question is the same.
    assert outcome(made(apart()), "ground-way:G1") == "ask"
    assert outcome(made(folder("AB", array=FRAMES)), "ground-way:G1") == "meets"


TIE = "raceways: {R2: {starts_at: %s, ends_at: I2, segments: {s: {kind: EMT, size: 1/2, length: 1 m, place: indoors, bends: []}}}}"


@pytest.mark.parametrize(
    ("tie", "landing", "then"),
    [
        # From inverter to inverter, by its raceway or landed on both.
        ("path: [R2]", "", "meets"),
        ("path: [R2]", "landing: {I1: {PE: G9}, I2: {PE: G9}}", "meets"),
        # A wire without a path may well be cut.
        ("bonded_to: I2", "landing: {I1: {PE: G9}}", "ask"),
        # One that is removed joins nothing.
        ("path: [R2], status: removed", "", "ask"),
    ],
)
def test_two_inverters_that_a_stated_ground_joins_are_one(tie: str, landing: str, then: str) -> None:
    files = apart(circuits=f"  G9: {{kind: ground, cable: W, size: 10 AWG, {tie}}}")
    files |= {"tie.yaml": f"{TIE % 'I1'}\n{landing}".encode()}
    assert outcome(made(files), "ground-way:G1") == then


def test_a_string_whose_ground_cannot_be_followed_is_not_asked_about_twice() -> None:
    text = boxed()["all.yaml"].decode().replace("input: I1/A", "input: I2/A")
    done = made({"all.yaml": text.encode()})
    assert outcome(done, "ground-way:G1") == "unknown"
    # In the stretch of the other one it can be said.
    assert outcome(done, "ground-way:G2") == "ask"
