"""The chapter on isolation: voltages at each step, waits, and switches that are not opened under load."""

from __future__ import annotations

from pathlib import Path

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.work_order import chapter
from reportgen.binder.elements import TaskCard
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


def made(**changes: tuple[str, str]):
    files = dict(take(SAMPLE).everything)
    for name, (old, new) in changes.items():
        text = files[f"{name}.yaml"].decode()
        assert old in text
        files[f"{name}.yaml"] = text.replace(old, new).encode()
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
