"""Materials: every line a count of ids, nothing estimated, no total over what is missing."""

from __future__ import annotations

import pytest
from field_folder import folder

from reportgen.binder.elements import FormTable, TaskCard
from reportgen.binder.write import lay_out
from reportgen.design.assemble import assemble
from reportgen.design.material_lines import KEPT
from reportgen.design.missing import Missing
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.working.quantity import Quantity

STOCK = "stock: {head: 4 ft, trim: 4 ft, friction_dry: 0.5, friction_lubricated: 0.35}\n"


def made(files):
    return assemble(load_project(files), load("nec2023"), "test")


def lines_of(files):
    return {line.item: line for line in made(files).facts.materials.lines}


def value(line) -> float:
    assert isinstance(line.quantity, Quantity)
    return line.quantity.value


def changed(*pairs: tuple[str, str], strings: int = 1, more: str = STOCK) -> dict[str, bytes]:
    text = folder(strings, 1, more=more)["meadow.yaml"].decode()
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return {"meadow.yaml": text.encode()}


@pytest.mark.parametrize(("strings", "inverters"), [(1, 1), (24, 3)])
def test_wire_is_the_sum_of_its_cut_lengths(strings: int, inverters: int) -> None:
    it = made(folder(strings, inverters, more=STOCK))
    lines = {line.item: line for line in it.facts.materials.lines}
    for group in it.facts.cuts:
        line = lines[f"wire {group.name}"]
        total = sum(item.length.value for item in group.wires)  # type: ignore[union-attr]
        assert value(line) == pytest.approx(total)
        assert set(line.ids) == {item.wire.id for item in group.wires}
    red = lines["wire W 10 AWG red"]
    assert len(red.ids) == strings


def test_sticks_couplings_and_elbows_by_hand() -> None:
    """180 ft are 18 sticks, not 19 for the last digit; 18 sticks and one elbow have 18 joints between them."""
    lines = lines_of(changed())
    assert value(lines["pipe PVC-40 3"]) == pytest.approx(54.864)
    assert value(lines["sticks of PVC-40 3"]) == 18
    assert value(lines["couplings PVC-40 3"]) == 18
    assert value(lines["elbows PVC-40 3 90°"]) == 1
    # One stick of 8 ft and one elbow.
    assert value(lines["sticks of PVC-80 3"]) == 1
    assert value(lines["couplings PVC-80 3"]) == 1
    assert value(lines["joints PVC-80 3 to PVC-40 3"]) == 1
    assert lines["end fittings PVC-40 3"].ids == ("R/trench at BOX",)


@pytest.mark.parametrize(
    ("length", "sticks"), [("10 ft", 1), ("3.048 m", 1), ("10.1 ft", 2), ("30 ft", 3), ("9.144 m", 3)]
)
def test_a_whole_number_of_sticks_needs_no_further_one(length: str, sticks: int) -> None:
    lines = lines_of(changed(("length: 180 ft", f"length: {length}")))
    assert value(lines["sticks of PVC-40 3"]) == sticks


def test_existing_pipe_is_kept_and_not_bought() -> None:
    files = changed(("    starts_at: T\n", "    status: existing\n    starts_at: T\n"))
    lines = [line for line in made(files).facts.materials.lines if "PVC-40" in line.item]
    assert [(line.group, line.item) for line in lines] == [(KEPT, "pipe PVC-40 3")]


def test_existing_wire_is_not_bought() -> None:
    files = changed(("positive_colour: red", "status: existing, positive_colour: red"))
    lines = lines_of(files)
    assert not any(item.startswith("wire W 10 AWG red") for item in lines)
    assert not any(item.startswith("connector") for item in lines)


#: Two switches of one type in series, a leg on each pole, and a fuse type; statuses are put in.
DEVICES = """
switches: {{Q: {{units: {{Q-1: {{status: {one}}}, Q-2: {{status: {two}}}}}, line: [L1, L2], load: [T1, T2], joined: [[L1, T1], [L2, T2]]}}}}
fuses: {{F: {{rating: 20 A, units: {{F-1: {{status: {fuse}}}}}}}}}
jumpers: {{Q-1: [[T1, T2]], Q-2: [[T1, T2], [L1, L2]]}}
landing: {{Q-1: {{L2: Q-2/L1}}, Q-2: {{L1: Q-1/L2}}}}
"""


def grouped(one: str, two: str, fuse: str = "new") -> dict[str, tuple[bool, float]]:
    files = {**changed(), "devices.yaml": DEVICES.format(one=one, two=two, fuse=fuse).encode()}
    lines = [line for line in made(files).facts.materials.lines if "Q" in str(line.ids) or "F-1" in line.ids]
    found: dict[str, tuple[bool, float]] = {}
    for line in lines:
        assert line.item not in found or line.item.startswith("links")
        bought = line.group != KEPT
        found[f"{line.item}{'' if bought else ', kept'}"] = (bought, value(line))
    return found


def test_links_between_poles_and_wires_between_devices_are_counted() -> None:
    found = grouped("new", "new")
    assert found["links of Q"] == (True, 3)
    assert found["wires from device to device"] == (True, 1)
    assert found["switch Q"] == (True, 2)


def test_what_stands_in_a_device_that_is_kept_is_not_bought() -> None:
    found = grouped("existing", "new", "existing")
    assert (found["links of Q, kept"], found["links of Q"]) == ((False, 1), (True, 2))
    # It joins an old device with a new one.
    assert found["wires from device to device"] == (True, 1)
    assert found["F, kept"] == (False, 1)
    assert "fuse F" not in found
    found = grouped("existing", "existing")
    assert found["wires from device to device, kept"] == (False, 1)
    assert "links of Q" not in found
    assert found["fuse F"] == (True, 1)


def test_what_is_removed_is_neither_kept_nor_bought() -> None:
    found = grouped("removed", "new")
    assert "wires from device to device" not in found
    assert found["links of Q"] == (True, 2)


def test_a_fuse_that_the_sample_kept_and_its_connectors_on_the_modules_are_not_bought(sample, design) -> None:
    facts = design(sample).facts
    lines = {line.item: line for line in facts.materials.lines}
    assert "fuse GPV25" not in lines
    assert lines["GPV25"].group == KEPT
    # Ten links: two in each of five switches.
    assert value(lines["links of K4"]) == 10
    bought = next(line for line in facts.materials.lines if line.item.startswith("connector pairs"))
    for circuit in bought.ids:
        kept = next(item for item in facts.reuse if item.kind == "connector" and item.id == circuit)
        assert kept.what.endswith(f"those on {circuit} are new")


def test_bends_that_nobody_says_how_they_are_made_are_missing_and_not_zero() -> None:
    files = changed((", bends: [90 deg], bends_made: factory elbows", ", bends: [90 deg]"))
    line = lines_of(files)["further elbows PVC-40 3"]
    assert isinstance(line.quantity, Missing)
    assert "bends_made of R/trench" in line.quantity.what


def test_counts_go_by_the_design() -> None:
    files = folder(24, 3, more=STOCK)
    it = made(files)
    lines = {line.item: line for line in it.facts.materials.lines}
    assert value(lines["switch K"]) == 24
    assert value(lines["connector pairs Larkspur LC4"]) == 24
    assert value(lines["wire labels"]) == len(it.facts.labels.labels) == 242
    assert value(lines["inverter H"]) == 3
    assert isinstance(lines["glands of PULL"].quantity, Missing)


def test_ferrules_go_by_the_terminals() -> None:
    fine = ("voltage: 600 V}", "voltage: 600 V, stranding: fine stranded}")
    lines = lines_of(changed(fine))
    # Two poles of the inverter; the switch does not say whether it takes ferrules.
    assert value(lines["ferrules 6 mm²"]) == 2
    assert isinstance(lines["further ferrules"].quantity, Missing)


PRICES = "prices:\n  currency: EUR\n  items:\n"


def priced(files, skip: str = "", wrong: str = ""):
    lines = [line for line in made(files).facts.materials.lines if line.group != KEPT]
    text = PRICES + "".join(
        f"    - {{item: '{line.item}', price: 0.5}}\n" for line in lines if line.item != skip
    )
    if wrong:
        text += f"    - {{item: '{wrong}', price: 1}}\n"
    return made({**files, "prices.yaml": text.encode()}).facts.materials


def known_folder() -> dict[str, bytes]:
    entry = "kind: pull box, entries: [{raceway: R/trench, wall: left}]"
    return changed(("kind: pull box", entry))


def test_money_only_where_every_price_and_number_is_known() -> None:
    materials = priced(known_folder())
    numbers = [value(line) for line in materials.lines if line.group != KEPT]
    assert materials.lacking == ()
    assert materials.total is not None
    assert materials.total.value == pytest.approx(0.5 * sum(numbers))


def test_one_missing_price_leaves_no_total() -> None:
    materials = priced(known_folder(), skip="wire labels")
    assert materials.total is None
    assert materials.lacking == ("wire labels",)


def test_a_priced_line_without_a_number_leaves_no_total() -> None:
    materials = priced(changed())
    assert materials.total is None
    assert materials.lacking == ("glands of PULL",)


def test_a_price_for_a_line_that_is_not_there_is_told() -> None:
    assert priced(known_folder(), wrong="wire labls").unused == ("wire labls",)


def test_without_prices_there_is_neither_a_total_nor_a_complaint() -> None:
    materials = made(changed()).facts.materials
    assert (materials.total, materials.lacking) == (None, ())


@pytest.mark.parametrize(("strings", "inverters"), [(1, 1), (24, 3)])
def test_page_file_and_card_hold_the_same_lines(strings: int, inverters: int) -> None:
    files = folder(strings, inverters, more=STOCK)
    it = made(files)
    pages = lay_out(it, files)
    chapter = next(one for one in pages.chapters if one.id == "cards")
    bought = [line.item for line in it.facts.materials.lines if line.group != KEPT]
    on_cards = [
        str(row[0])
        for card in chapter.elements
        if isinstance(card, TaskCard) and card.id.startswith("card-materials")
        for form in card.elements
        if isinstance(form, FormTable)
        for row in form.entries
    ]
    assert on_cards == bought
    text = pages.schedules["schedules/materials.csv"].decode()
    assert len(text.splitlines()) == len(it.facts.materials.lines) + 2
    assert "pipe PVC-40 3,54.864,m," in text
    assert all(f"PV-S{i}+" in text for i in range(1, strings + 1))
