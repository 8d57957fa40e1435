"""Unlike strings on one input, as the string-to-input map shows them."""

from __future__ import annotations

from pathlib import Path

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.inputs import chapter
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


def desk(change) -> Desk:
    files = dict(take(SAMPLE).everything)
    files["arrays.yaml"] = change(files["arrays.yaml"].decode()).encode()
    project = load_project(files)
    return Desk(assemble(project, load(str(project.project.rulebook)), "test"), files)


def test_loss_of_nine_beside_eleven_and_power_by_hand() -> None:
    made = desk(
        lambda text: (
            text.replace("count: 9, ", "count: 11, ")
            .replace("INV-1/C", "INV-1/A")
            .replace('count: 12, positions: "row 1, columns 1-12"', "count: 9")
        )
    )
    page = chapter(made)
    shared = made.schedules["shared-inputs"]
    row = shared.csv("x").decode().splitlines()[2].split(",")
    assert row[:2] == ["INV-1/A", "E1 (9) + R1S (11)"]
    apart, together, loss = float(row[2]), float(row[3]), float(row[5])
    assert abs(loss - 100 * (1 - together / apart)) < 0.01
    assert 5.5 < loss < 7.5
    # 20 modules of 36.9 V times 12.2 A apart.
    assert abs(apart / (20 * 36.9 * 12.2) - 1) < 2e-3
    assert any("Current over voltage" in getattr(item, "title", "") for item in page.elements)
    # (9 + 12 + 11) · 0.45 kW over 10 kW.
    power = made.schedules["pv-power"].csv("x").decode().splitlines()[2].split(",")
    assert float(power[power.index("14.4")]) == 14.4
    assert power[-1] == "1.44"


def test_sample_shares_nothing() -> None:
    made = desk(lambda text: text)
    chapter(made)
    assert "shared-inputs" not in made.schedules
