"""The chapter on isolation: voltages at each step, waits, and switches that are not opened under load."""

from __future__ import annotations

from pathlib import Path

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.operation import _switches_told
from reportgen.binder.chapters.work_order import chapter
from reportgen.binder.elements import TaskCard
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


def made(**changes: tuple[str, str] | tuple[tuple[str, str], ...]):
    files = dict(take(SAMPLE).everything)
    for name, pairs in changes.items():
        text = files[f"{name}.yaml"].decode()
        for old, new in (pairs,) if isinstance(pairs[0], str) else pairs:
            assert old in text
            text = text.replace(old, new)
        files[f"{name}.yaml"] = text.encode()
    project = load_project(files)
    desk = Desk(assemble(project, load(str(project.project.rulebook)), "test"), files)
    return desk, chapter(desk)


def rows(desk: Desk, key: str) -> list[str]:
    return desk.schedules[key].csv("x").decode().splitlines()[2:]


def test_steps_carry_the_voltages() -> None:
    desk, page = made()
    steps = rows(desk, "work-order")
    # 593.868 V whole and 296.934 V in the middle; the longest wait of the two makers is ten minutes.
    assert steps[0].endswith("593.868,E1")
    assert "296.934" in next(step for step in steps if "middle connector; cap" in step)
    assert any("wait 10 min" in step for step in steps)
    card = next(item for item in page.elements if isinstance(item, TaskCard))
    assert any("minus sign" in stop for stop in card.stop)


def test_unstated_wait_and_load_break_are_told() -> None:
    desk, _ = made(equipment=("    discharge_wait: 10 min\n", ""))
    assert any("INV-2: wait not stated" in step for step in rows(desk, "work-order"))
    desk, _ = made(equipment=("load_break: yes", "load_break: no"))
    assert any("Not under load: SW-E1, SW-E2" in step for step in rows(desk, "work-order"))


def test_one_unknown_string_makes_the_highest_unknown() -> None:
    desk, _ = made(site=("  record_low: -22 degC\n", ""))
    assert all("unknown" in step for step in rows(desk, "work-order"))


ONE_INPUT = ("input: INV-2/B}", "input: INV-2/A}")


def test_an_opened_string_is_not_dead_beside_a_whole_one_in_parallel() -> None:
    ways = (
        ("  SW-W1: *links\n", "  SW-W1: [[L1, L2], [L3, L4]]\n"),
        (
            "SW-W1: {L1: PV-W1+, L2: INV-2/A+, L3: PV-W1-, L4: INV-2/A-}",
            "SW-W1: {L1: PV-W1+, L2: PV-W2+, L3: PV-W1-, L4: PV-W2-, T1: INV-2/A+, T3: INV-2/A-}",
        ),
        ("SW-W2: {L1: PV-W2+, L2: INV-2/B+, L3: PV-W2-, L4: INV-2/B-}", "SW-W2: {}"),
    )
    desk, _ = made(landing=ways, arrays=ONE_INPUT)
    assert desk.design.isolation.together == (("W1", "W2"),)
    step = next(step for step in rows(desk, "work-order") if "middle connector; cap" in step)
    assert "the legs of W1 and W2 stay whole until the last of them is open" in step
    # Strings that an open pole parts do not meet.
    assert made()[0].design.isolation.together == ()


def test_an_input_that_a_string_reaches_without_a_switch_stays_live() -> None:
    way = (
        "SW-W2: {L1: PV-W2+, L2: INV-2/B+, L3: PV-W2-, L4: INV-2/B-}",
        "INV-2: {B+: PV-W2+, B-: PV-W2-}",
    )
    desk, _ = made(landing=way)
    step = next(step for step in rows(desk, "work-order") if "wait 10 min" in step)
    assert "live with every switch open: INV-2/B" in step
    assert "INV-2/A" not in step
    assert "; no switch parts the strings from INV-2/B" in _switches_told(desk)
    assert not any("live with every switch open" in step for step in rows(made()[0], "work-order"))


def test_no_wire_is_landed_while_its_string_is_whole() -> None:
    desk, _ = made()
    step = next(step for step in rows(desk, "work-order") if "then land it" in step)
    # 6 of 12 modules: half of 593.868 V.
    assert "296.934" in step


def test_a_switch_below_the_voltage_is_not_opened_under_load() -> None:
    desk, _ = made(equipment=("{poles_in_series: 2, voltage: 800 V}", "{poles_in_series: 2, voltage: 500 V}"))
    assert any("Not under load: SW-E1, SW-E2" in step for step in rows(desk, "work-order"))
