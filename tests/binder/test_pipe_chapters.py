"""Raceways and boxes on the page: rows recomputed from what is printed, drawings to scale, nothing printed as a pass."""

from __future__ import annotations

import csv
import io
import math
import re
from pathlib import Path

import pytest

from reportgen.binder.chapters import boxes, raceways
from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Figure, Paragraph, WorkingView
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


def desk_of(change=lambda text: text) -> Desk:
    files = {
        name: change(data.decode()).encode() if name.endswith(".yaml") else data
        for name, data in take(SAMPLE).everything.items()
    }
    project = load_project(files)
    return Desk(assemble(project, load("nec2023"), "d" * 64), files)


@pytest.fixture(scope="module")
def desk() -> Desk:
    made = desk_of()
    made.elements = (*raceways.chapter(made).elements, *boxes.chapter(made).elements)
    return made


def rows(desk: Desk, schedule: str) -> dict[str, dict[str, str]]:
    text = desk.schedules[schedule].csv("digest").decode()
    found = csv.DictReader(io.StringIO(text.partition("\n")[2]))
    return {next(iter(row.values())): row for row in found}


def test_fill_of_a_printed_row(desk) -> None:
    row = rows(desk, "raceways")["R2/riser-yard"]
    assert 100 * float(row["occupied [mm²]"]) / float(row["bore [mm²]"]) == pytest.approx(
        float(row["fill [%]"]), rel=1e-5
    )
    # Of the stretches of R2 the thick-walled riser is nearest to its limit.
    assert [key for key, row in rows(desk, "raceways").items() if row["governs"]] == [
        "R1/riser-orchard",
        "R2/riser-yard",
    ]


def test_cover_of_a_printed_row(desk) -> None:
    # 700 mm of trench less 50 mm of sand and 48.3 mm of pipe are 601.7 mm; 18 in are 457.2 mm and need 555.5 mm.
    row = rows(desk, "cover")["R2/trench-yard"]
    assert float(row["cover [mm]"]) == pytest.approx(601.7, rel=1e-5)
    assert float(row["trench [mm]"]) == pytest.approx(18 * 25.4 + 50 + 48.3, rel=1e-5)


def test_setting_of_a_fitting_by_the_printed_row(desk) -> None:
    row = rows(desk, "expansion")["R1/riser-press, at most"]
    # 30 °F of sun are 16.667 K, so that the pipe reaches 58.667 °C.
    opening = float(row["travel [mm]"]) * (42 + 30 / 1.8 - 20) / float(row["swing [K]"])
    assert float(row["at_20 [mm]"]) == pytest.approx(opening, rel=1e-4)


def test_swing_and_settings_of_a_fitting_are_worked_as_printed(desk) -> None:
    """Every printed line with its numbers put in comes to its result, the hottest pipe and the swing included."""
    steps = [
        step
        for view in desk.elements
        if isinstance(view, WorkingView) and "riser-press" in view.subject
        for step in view.steps
    ]
    shown: dict[str, list[tuple[float, str]]] = {}
    for step in steps:
        numbers = step.numbers.replace("−", "-").replace("×", "*").replace("°F", "")
        value, unit = step.results[0].replace("−", "-").split(" ", 1)
        assert eval(numbers) == pytest.approx(float(value), rel=2e-5), step.name
        shown.setdefault(step.name, []).append((float(value), unit))
    # 42 °C and 30 °F of sun are 137.6 °F, 145.2 °F above −22 °C.
    assert shown["hottest pipe"] == [(137.6, "°F")]
    assert shown["swing of temperature"] == [(145.2, "°F difference")]
    inches = [value for value, _ in shown["opening of the fitting when it is put in"]]
    row = rows(desk, "expansion")["R1/riser-press, at most"]
    assert [value * 25.4 for value in inches] == pytest.approx(
        [float(cell) for key, cell in row.items() if key.startswith("at_")], rel=1e-5
    )


def test_volume_of_a_printed_row(desk) -> None:
    # Loops count twice: 4 · 2 · 3.0 + 6 · 2 · 2.5 + 2.5 = 56.5 in³, and 3.0 in³ for clamps that nobody denied.
    row = rows(desk, "boxes")["PB-1"]
    assert float(row["least [cm³]"]) == pytest.approx(56.5 * 2.54**3, rel=1e-5)
    assert float(row["most [cm³]"]) == pytest.approx(59.5 * 2.54**3, rel=1e-5)
    assert row["open"] == "internal_clamps"
    assert float(row["volume [cm³]"]) == pytest.approx(40 * 30 * 15, rel=1e-5)


def test_every_verdict_on_volume_and_movement_has_its_working(desk) -> None:
    shown = {view.id.lower() for view in desk.elements if isinstance(view, WorkingView)}
    assert any("movement" in place for place in shown)
    assert any("box" in place and "most" in place for place in shown)


def test_cross_sections_are_drawn_to_one_scale(desk) -> None:
    drawings = [
        item for item in desk.elements if isinstance(item, Figure) and item.title.startswith("Cross-section")
    ]
    assert drawings
    for figure in drawings:
        radii = [float(r) for r in re.findall(r'<circle[^>]* r="([\d.]+)"', str(figure.svg))]
        bore = float(re.search(r"bore ([\d.]+) mm", str(figure.svg)).group(1))
        wall = radii[1]
        diameters = {float(d) for d in re.findall(r", (\d+\.\d+) mm", str(figure.svg))}
        drawn = {round(r / wall * bore, 1) for r in radii[2:]} | {0.0}
        for diameter in diameters:
            assert any(math.isclose(diameter, one, abs_tol=0.15) for one in drawn), (diameter, drawn)


def test_every_filled_stretch_is_named_by_one_cross_section_with_all_its_wires(desk) -> None:
    drawings = [
        item for item in desk.elements if isinstance(item, Figure) and item.title.startswith("Cross-section")
    ]
    for stretch in desk.design.facts.stretches:
        name = str(stretch.id)
        found = [
            item
            for item in drawings
            if re.search(rf"{re.escape(name)}(?![\w/-])", f"{item.title} {item.description}")
        ]
        assert len(found) == (1 if stretch.conductors else 0), name
        for item in found:
            svg = str(item.svg)
            assert item.description.startswith(f"{len(stretch.conductors)} conductors")
            assert "no room" not in svg
            grounds = sum(
                desk.design.project.circuits[wire.circuit].kind == "ground" for wire in stretch.conductors
            )
            # Wall and bore are circles too, and each ground has a second one in the key.
            assert svg.count("<circle") == 2 + len(stretch.conductors) + grounds


def test_cross_sections_are_in_the_printed_units_with_the_other_bore_beside(desk) -> None:
    inches = raceways.chapter(desk_of(lambda text: text.replace("units: metric", "units: imperial")))
    pairs = [
        [item for item in elements if isinstance(item, Figure) and item.title.startswith("Cross-section")]
        for elements in (desk.elements, inches.elements)
    ]
    assert len(pairs[0]) == len(pairs[1]) > 0
    for metric, imperial in zip(*pairs, strict=True):
        mm, beside_in = re.search(r"bore ([\d.]+) mm \(([\d.]+) in\)", str(metric.svg)).groups()
        inch, beside_mm = re.search(r"bore ([\d.]+) in \(([\d.]+) mm\)", str(imperial.svg)).groups()
        assert float(mm) == pytest.approx(25.4 * float(inch), rel=1e-3)
        assert float(beside_in) == pytest.approx(float(inch), abs=0.006)
        assert float(beside_mm) == pytest.approx(float(mm), abs=0.06)
        # Sizes on paper don't depend on the unit.
        assert len({tuple(re.findall(r' r="([\d.]+)"', str(item.svg))) for item in (metric, imperial)}) == 1


def test_an_unknown_diameter_is_told_and_not_drawn() -> None:
    made = desk_of(lambda text: text.replace("markings: [THWN-2]", "markings: [PV wire]"))
    chapter = raceways.chapter(made)
    assert not [
        item
        for item in chapter.elements
        if isinstance(item, Figure) and item.title.startswith("Cross-section")
    ]
    told = [item.text for item in chapter.elements if isinstance(item, Paragraph)]
    assert any(text.startswith("Not drawn") and "R1/trench-orchard" in text for text in told)
    row = rows(made, "pipe-options")["R1/trench-orchard"]
    assert (row["smallest"], row["largest"], row["further"]) == ("unknown", "unknown", "unknown")
    assert not [key for key, row in rows(made, "raceways").items() if row["governs"]]
