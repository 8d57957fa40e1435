"""One-line diagram: everything stated is on it, nothing else is joined, texts apart at every number of strings."""

from __future__ import annotations

import json
import re

import pytest
from drawn_folder import designed, folder
from test_charts import boxes, check_texts, root_of

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.one_line_words import blocks, idle
from reportgen.binder.chapters.stated_words import raceway_words
from reportgen.binder.drawings.one_line import HEIGHT, WIDTH, one_lines
from reportgen.binder.elements import Figure

COUNTS = (3, 5, 8, 12, 24)
#: Smallest size of a text as printed [pt], where 96 px are 72 pt.
LEAST = 6.6


def sheets(files: dict[str, bytes]) -> list[Figure]:
    desk = Desk(designed(files), files)
    return one_lines(blocks(desk), raceway_words(desk), "told")


def words(made: list[Figure]) -> str:
    return " ".join(box.text for sheet in made for box in boxes(sheet))


def check_sheet(sheet: Figure) -> None:
    check_texts(sheet)
    assert float(root_of(sheet).get("width", "")) == WIDTH
    assert float(root_of(sheet).get("height", "")) <= HEIGHT
    sizes = [float(one) for one in re.findall(r'font-size="([\d.]+)"', str(sheet.svg))]
    assert min(sizes) * 72 / 96 >= LEAST


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize("long", ["", "-upper-terrace-behind-the-barn"])
def test_every_part_is_there_and_texts_stand_apart(count: int, long: str) -> None:
    made = sheets(folder(count, long=long))
    for sheet in made:
        check_sheet(sheet)
    if not long:
        told = words(made).split()
        for n in range(1, count + 1):
            assert told.count(f"S-{n}") == told.count(f"SW-{n}") == 1
            assert told.count(f"PV-{n}") == 2  # before and behind the pull box
            assert f"{5 + n + 66 + 3}.0 m" in words(made)
        assert told.count("PB-1") == count


@pytest.mark.parametrize("count", COUNTS)
def test_alike_circuits_are_drawn_as_one_with_all_their_ids(count: int) -> None:
    made = sheets(folder(count, alike=True))
    for sheet in made:
        check_sheet(sheet)
    told = re.sub(r",", " ", words(made)).split()
    for n in range(1, count + 1):
        # In the chain, and at its input where others are drawn with it.
        alone = (count % 6 or 6) % 4 == 1 and n == count
        assert told.count(f"S-{n}") == (1 if alone else 2)
        assert told.count(f"SW-{n}") == 1
    assert f"{min(count, 4)} alike" in words(made)


def test_a_circuit_with_another_length_is_not_drawn_with_the_others() -> None:
    files = folder(3, alike=True)
    text = files["yard.yaml"].decode()
    one = (
        "PV-3: {string: S-3, cable: W, size: 10 AWG, path: [R1], enclosures: [PB-1, SW-3], tails: {start: 5 m"
    )
    assert one in text
    made = sheets(files | {"yard.yaml": text.replace(one, one.replace("5 m", "6 m")).encode()})
    assert "2 alike" in words(made)
    assert "74.0 m" in words(made)
    assert "75.0 m" in words(made)


def ends(made: list[Figure]) -> int:
    """Lines that touch the box of an inverter."""
    return sum(str(sheet.svg).count('cx="713" ') for sheet in made)


def test_without_a_landing_the_end_is_meant_and_dashed() -> None:
    made = sheets(folder(3, landed=False))
    assert ends(made) == 3
    assert words(made).count("poles passed not stated") == 3
    assert "a dashed end is meant" in words(made)
    assert sum(str(sheet.svg).count('class="pen-dashed" x1') for sheet in made) >= 2 * 3


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("T1: INV-1/A+", "T1: INV-1/B+", "PV-1+ reaches INV-1/B+"),
        ("L1: PV-1+, T1: INV-1/A+, L2: PV-1-, T2: INV-1/A-", "L1: PV-1-, T1: INV-1/A+, L2: PV-1+, T2: INV-1/A-", "PV-1+ reaches INV-1/A-"),
        ("T2: INV-1/A-}", "}", "PV-1- goes no further than SW-1"),
    ],
    ids=["another input", "legs exchanged", "nothing behind the pole"],
)  # fmt: skip
def test_what_the_landing_says_otherwise_is_told_and_not_joined(old: str, new: str, told: str) -> None:
    files = folder(3)
    text = files["yard.yaml"].decode()
    assert text.count(old) == 1
    made = sheets(files | {"yard.yaml": text.replace(old, new).replace(", }", "}").encode()})
    assert ends(made) == 2
    assert "NOT DRAWN:" in words(made)
    assert told in words(made)
    for sheet in made:
        check_sheet(sheet)


def test_what_is_not_stated_says_so() -> None:
    files = folder(3)
    text = files["yard.yaml"].decode()
    for old, new in (
        (", connector: Larkspur LC4", ""),
        (", voltage: 600 V}}\nboxes", "}}\nboxes"),
        (", rated_current: 25 A, load_break: yes", ""),
        ("ratings: [{poles_in_series: 1, voltage: 600 V}]", "ratings: []"),
        (", ac_power: 12 kW", ""),
    ):
        assert old in text
        text = text.replace(old, new)
    told = words(sheets(files | {"yard.yaml": text.encode()}))
    for one in ("connector not stated", "voltage not stated", "current not stated", "1 pole a leg: not stated", "a.c. not stated", "a.c. output circuit not stated", "switch, load breaking not stated"):  # fmt: skip
        assert one in told, one
    assert "switch-disconnector" not in told


def test_a_string_without_circuit_or_input_is_not_joined() -> None:
    files = folder(3)
    text = files["yard.yaml"].decode()
    text = re.sub(r"  PV-1: .*\n", "", text)
    text = re.sub(r"  SW-1: .*\n", "", text).replace(", input: INV-1/B}", "}")
    made = sheets(files | {"yard.yaml": text.encode()})
    assert "no circuit is stated" in words(made)
    assert "no input is stated" in words(made)
    assert ends(made) == 1


def test_fuses_outputs_and_units_whose_place_nobody_states() -> None:
    more = """
fuses: {F25: {rating: 25 A}}
switches:
  ISO: {units: {ISO-1: }, line: [1], load: [2], joined: [[1, 2]], load_break: no}
"""
    text = folder(3)["yard.yaml"].decode()
    switches = more.split("switches:\n")[1]
    text = text.replace("switches: {K: {", "switches:\n" + switches + "  K: {").replace(
        "load_break: yes}}", "load_break: yes}"
    )
    text = text.replace("input: INV-1/A}", "input: INV-1/A, fuse: F25}").replace(
        "[PB-1, SW-1]", "[PB-1, ISO-1, SW-1]"
    )
    text = text.replace(
        "  EG-1:",
        "  AC-1: {kind: output, inverter: INV-1, cable: W, size: 8 AWG, conductors: 3, phases: single phase, "
        "voltage: 240 V, device: 60 A, device_poles: 2}\n  EG-1:",
    )
    made = sheets({"yard.yaml": text.encode(), "more.yaml": b"fuses: {F25: {rating: 25 A}}\n"})
    told = words(made)
    for one in ("F25", "leg not stated, place", "ISO-1", "disconnector, not for load", "place on the way not", "AC-1", "a.c. output: AC-1, drawn by itself", "3 × 8 AWG", "60 A poles 2 a.c. not stated kind and place", "service or panel", "path not stated"):  # fmt: skip
        assert one in told, one
    assert "a.c. output circuit not stated" not in told
    for sheet in made:
        check_sheet(sheet)


def test_a_chain_too_long_for_a_line_goes_on_at_a_named_mark() -> None:
    text = folder(3)["yard.yaml"].decode()
    units = ", ".join(f"JB-{n}: " for n in range(1, 7))
    text = text.replace("units: {PB-1: }", f"units: {{PB-1: , {units}}}").replace(
        "[PB-1, SW-1]", "[PB-1, JB-1, JB-2, JB-3, JB-4, JB-5, JB-6, SW-1]"
    )
    made = sheets({"yard.yaml": text.encode()})
    told = words(made).split()
    assert told.count("A1") == 2
    assert "goes on at the same letter" in words(made)
    assert ends(made) == 3
    for sheet in made:
        check_sheet(sheet)


def test_switches_one_after_the_other_stand_in_the_order_that_the_wire_between_them_says() -> None:
    text = folder(3)["yard.yaml"].decode()
    text = text.replace("switches: {K: {units: {", "switches: {K: {units: {ISO: , ")
    text = text.replace(
        "  SW-1: {L1: PV-1+, T1: INV-1/A+, L2: PV-1-, T2: INV-1/A-}",
        "  ISO: {L1: PV-1+, T1: SW-1/L1, L2: PV-1-, T2: SW-1/L2}\n"
        "  SW-1: {L1: ISO/T1, T1: INV-1/A+, L2: ISO/T2, T2: INV-1/A-}",
    )
    made = sheets({"yard.yaml": text.encode()})
    told = words(made)
    assert ends(made) == 3
    assert told.index("ISO") < told.index("SW-1")
    assert "wire between not stated" in told
    assert "NOT DRAWN" not in told
    for sheet in made:
        check_sheet(sheet)


def test_who_cannot_see_it_is_told_the_ways_and_what_is_stated_of_them() -> None:
    (sheet,) = sheets(folder(3))
    title, description = (
        re.search(rf"<{tag} [^>]*>([^<]*)</{tag}>", str(sheet.svg))[1] for tag in ("title", "desc")
    )  # type: ignore[index]
    assert title.startswith(
        "One-line diagram: S-1, PV-1, PB-1, SW-1, INV-1/A; S-2, PV-2, PB-1, SW-2, INV-1/B; "
    )
    assert "PV-2: connector Larkspur LC4, 2 × 10 AWG THWN-2 Cu, 600 V, 76.0 m each in all" in description
    unlanded = sheets(folder(3, landed=False))[0]
    assert "INV-1/A: S-1" in str(unlanded.svg) or "INV-1/A, terminals not stated" in str(unlanded.svg)


def test_removed_and_nameless_things_join_nothing() -> None:
    text = folder(3)["yard.yaml"].decode()
    text = text.replace("units: {INV-1: }", "units: {INV-1: {status: removed}}")
    text = text.replace("{string: S-2, cable", "{cable")
    text = re.sub(r"  SW-2: \{L1.*\n", "", text)
    made = sheets({"yard.yaml": text.encode()})
    told = words(made)
    assert ends(made) == 0
    assert told.count("that inverter is removed or not known") == 2
    assert "string and input not stated" in told
    assert "no circuit is stated" in told
    for sheet in made:
        check_sheet(sheet)


def test_devices_on_no_circuit_are_named() -> None:
    text = folder(3)["yard.yaml"].decode()
    text = text.replace(
        "units: {SW-1: , SW-2: , SW-3: }", "units: {SW-1: , SW-2: , SW-3: , SW-9: , SW-8: {status: removed}}"
    )
    files = {"yard.yaml": text.encode()}
    assert idle(Desk(designed(files), files)) == ("SW-9",)


def test_a_leg_in_a_box_goes_no_further_than_the_box() -> None:
    text = folder(3)["yard.yaml"].decode()
    text = text.replace("units: {PB-1: }", "units: {PB-1: }, terminal_ids: [X1, X2]")
    text = re.sub(r"  SW-1: \{L1.*\n", "  PB-1: {X1: PV-1+, X2: PV-1-}\n", text)
    made = sheets({"yard.yaml": text.encode()})
    assert "PV-1+ goes no further than PB-1" in words(made)
    assert "box, conductors joined" in words(made)
    assert ends(made) == 2


@pytest.mark.parametrize(
    "words_of", ["W" * 10_000, "<script>alert(1)</script> &amp; {{ 7 * 7 }}", "plug \u202e 52 A"]
)
def test_hostile_words_print_as_words(words_of: str) -> None:
    text = (
        folder(3)["yard.yaml"]
        .decode()
        .replace("connector: Larkspur LC4", f"connector: {json.dumps(words_of)}")
    )
    text = text.replace("markings: [THWN-2]", f"markings: [THWN-2, {json.dumps(words_of)}]")
    for sheet in sheets({"yard.yaml": text.encode()}):
        check_sheet(sheet)
        assert "<script" not in str(sheet.svg)
        assert "\u202e" not in str(sheet.svg)


def test_strings_joined_in_a_switch_share_the_one_lead_there_is() -> None:
    text = folder(3)["yard.yaml"].decode()
    text = text.replace("input: INV-1/B}", "input: INV-1/A}").replace("[PB-1, SW-2]", "[PB-1, SW-1]")
    text = text.replace(
        "line: [L1, L2], load: [T1, T2], joined: [[L1, T1], [L2, T2]]",
        "line: [L1, L2, L3, L4], load: [T1, T2], joined: [[L1, T1], [L2, T2]]",
    )
    text = re.sub(r"  SW-2: \{L1.*\n", "", text).replace(
        "L2: PV-1-, T2: INV-1/A-}", "L2: PV-1-, T2: INV-1/A-, L3: PV-2+, L4: PV-2-}"
    )
    text = text.replace("landing:\n", "jumpers: {SW-1: [[L1, L3], [L2, L4]]}\nlanding:\n")
    made = sheets({"yard.yaml": text.encode()})
    told = words(made)
    assert "joined there with PV-2+, PV-2-" in told
    assert "on with PV-1, joined in SW-1: one lead" in told
    assert ends(made) == 2  # of three strings
    for sheet in made:
        check_sheet(sheet)
