"""Grounding drawing: what the folder states of frames, electrodes and ground wires, and no line that it does not state."""

from __future__ import annotations

import json
import re

import pytest
from drawn_folder import designed, folder
from test_charts import boxes, check_texts, root_of

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.ground_words import ground_notes, grounds
from reportgen.binder.drawings.grounding import HEIGHT, grounding_drawings
from reportgen.binder.elements import Figure


def sheets(text: str) -> list[Figure]:
    files = {"yard.yaml": text.encode()}
    desk = Desk(designed(files), files)
    made = grounding_drawings(grounds(desk), ground_notes(desk))
    for sheet in made:
        check_texts(sheet)
        assert float(root_of(sheet).get("height", "")) <= HEIGHT
        sizes = [float(one) for one in re.findall(r'font-size="([\d.]+)"', str(sheet.svg))]
        assert min(sizes) * 72 / 96 >= 6.6
    return made


def words(made: list[Figure]) -> str:
    return " ".join(box.text for sheet in made for box in boxes(sheet))


def yard(array: str = "", circuits: str = "", more: str = "") -> str:
    """The yard with more keys of its array, more circuits and more landings."""
    text = folder(3)["yard.yaml"].decode()
    text = text.replace("rows: 3, columns: 10", f"rows: 3, columns: 10{array}")
    return text.replace("landing:\n", f"{circuits}landing:\n{more}")


def earth_wires(made: list[Figure]) -> int:
    """Lines from a frame down to an electrode; the stem of the symbol itself is 8 px long."""
    found = re.findall(
        r'<line[^>]*x1="12" y1="([\d.]+)" x2="12" y2="([\d.]+)"', "".join(str(one.svg) for one in made)
    )
    return sum(abs(float(end) - float(start) - 8.0) > 0.01 for start, end in found)


def test_nothing_stated_of_the_frames_joins_nothing() -> None:
    made = sheets(yard())
    told = words(made)
    assert "No array is said to be tied to it" in told
    assert "Tied to no ground that is stated" in told
    for one in ("frames bonded: not stated", "bonded by: not stated", "electrode: not stated", "beside its circuits: EG-1"):  # fmt: skip
        assert one in told
    # The frames end at the bar of what is not stated, and no line leads from them to the wire.
    assert "nothing stated beyond" in told
    assert not re.search(r'<line[^>]*x1="26" y1="[\d.]+" x2="268"', str(made[0].svg))


def test_frames_ground_and_electrode_are_joined_where_they_are_stated() -> None:
    full = (
        ", frames_bonded: yes, bonded_by: listed lugs, grounded_by: EG-1, electrode: rod 7, "
        "electrode_conductor: '6 AWG bare, rail to rod'"
    )
    made = sheets(yard(full))
    told = words(made)
    for one in ("frames bonded: yes", "bonded by: listed lugs", "6 AWG bare, rail to rod", "electrode: rod 7", "1 × 10 AWG THWN-2 Cu", "69.0 m each", "in R1: riser, trench", "PB-1", "needed: 10 AWG", "end of its raceway; terminal not stated"):  # fmt: skip
        assert one in told, one
    assert re.search(r'<line[^>]*x1="26" y1="[\d.]+" x2="268"', str(made[0].svg))
    assert earth_wires(made) == 1


def test_an_electrode_without_its_wire_stands_alone() -> None:
    made = sheets(yard(", grounded_by: EG-1, electrode: rod 7"))
    assert "wire to it not stated; electrode: rod 7" in words(made)
    assert earth_wires(made) == 0


@pytest.mark.parametrize("electrode", ["none", ""])
def test_no_electrode_has_no_symbol(electrode: str) -> None:
    made = sheets(yard(f", grounded_by: EG-1{f', electrode: {electrode}' if electrode else ''}"))
    assert f"electrode: {electrode or 'not stated'}" in words(made)
    assert "electrode in the soil" not in words(made)


def test_where_a_ground_is_landed_is_told_and_one_without_a_path_says_so() -> None:
    text = yard(circuits="  EG-2: {kind: ground, cable: W, size: 8 AWG}\n", more="  PB-1: {G: EG-1}\n")
    text = text.replace("units: {PB-1: }", "units: {PB-1: }, terminal_ids: [G], ground_terminals: [G]")
    told = words(sheets(text))
    assert "landed on G" in told
    assert "path not stated" in told
    assert "where it goes from here: not stated" in told


@pytest.mark.parametrize("count", [3, 5, 8, 12, 24])
@pytest.mark.parametrize("name", ["T", "T-upper-terrace-behind-the-barn"])
def test_many_arrays_stand_apart_with_named_marks(count: int, name: str) -> None:
    text = yard()
    arrays = "".join(
        f"  {name}-{n}: {{module: A400, count: 1, grounded_by: EG-1, frames_bonded: yes, bonded_by: {'lugs and clamps ' * 9}, "
        f"electrode: rod {n}, electrode_conductor: 6 AWG bare}}\n"
        for n in range(count)
    )
    made = sheets(re.sub(r"arrays: \{(.*)\}\n", lambda match: f"arrays:\n  {match[1]}\n{arrays}", text))
    told = words(made)
    for n in range(count):
        assert told.split().count(f"{name}-{n}") == 1 or len(name) > 10
    assert told.count("electrode: rod") == count
    assert told.split().count("A") == (0 if count <= 6 else -(-count // 6))
    assert ("goes on at the same letter" in told) == (count > 6)


@pytest.mark.parametrize(
    "told", ["W" * 10_000, "<script>alert(1)</script> &amp; {{ 7 * 7 }}", "rod \u202e 52"]
)
def test_hostile_words_print_as_words(told: str) -> None:
    keys = ("bonded_by", "electrode", "electrode_conductor")
    made = sheets(yard(", grounded_by: EG-1" + "".join(f", {key}: {json.dumps(told)}" for key in keys)))
    for sheet in made:
        assert "<script" not in str(sheet.svg)
        assert "\u202e" not in str(sheet.svg)
