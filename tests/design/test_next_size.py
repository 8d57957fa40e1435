"""What the next size buys: saved, worth, price and payback by hand, and nothing where a number is missing."""

from __future__ import annotations

import csv
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest

from reportgen.binder.chapters import wire_sizes
from reportgen.binder.chapters.base import Desk
from reportgen.binder.schedules import Schedule
from reportgen.design.assemble import assemble
from reportgen.design.checks.base import Facts
from reportgen.design.energy import EnergyDesign
from reportgen.design.missing import Missing
from reportgen.design.next_size import Step, steps
from reportgen.design.wire_options import wire_options
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


def designed(edit: tuple[str, str] | None = None, file: str = "stock.yaml") -> tuple[Facts, EnergyDesign]:
    files = dict(take(SAMPLE).everything)
    if edit:
        changed = files[file].replace(edit[0].encode(), edit[1].encode())
        assert changed != files[file]
        files[file] = changed
    project = load_project(files)
    facts = assemble(project, load(str(project.project.rulebook)), "test").facts
    lost = SimpleNamespace(id="E1", figures=SimpleNamespace(wire=(10.0,) * 12))
    energy = cast("EnergyDesign", SimpleNamespace(year=SimpleNamespace(strings=(lost,), upper_bound=False)))
    return facts, energy


def found(edit: tuple[str, str] | None = None) -> dict[tuple[str, str], Step]:
    facts, energy = designed(edit)
    options = wire_options(facts)
    assert not list(steps(facts, None, options))
    return {(step.option.circuit, step.option.size): step for step in steps(facts, energy, options)}


@pytest.fixture(scope="module")
def sample() -> dict[tuple[str, str], Step]:
    return found()


def test_one_size_up_by_hand(sample: dict[tuple[str, str], Step]) -> None:
    assert set(sample) == {("PV-E1", "6 AWG"), ("PV-E1", "10 AWG")}
    step = sample["PV-E1", "6 AWG"]
    chosen = float(step.lost.value)
    assert chosen == pytest.approx(120.0)
    # By the definition of the gauge two numbers bigger is 92^(-4/39) of the resistance; the tables round, and the wire runs cooler.
    assert step.saved.value == pytest.approx(120.0 * (1 - 92 ** (-4 / 39)), rel=0.02)
    assert not isinstance(step.worth, Missing)
    assert not isinstance(step.extra, Missing)
    assert step.payback is not None
    assert step.each is not None
    assert step.worth.value == pytest.approx(step.saved.value * 0.14)
    assert step.payback.value == pytest.approx(step.extra.value / (step.saved.value * 0.14))
    assert step.each.value == pytest.approx(step.extra.value / (step.saved.value * 25))


def test_a_thinner_wire_saves_less_than_nothing_and_pays_nothing_back(
    sample: dict[tuple[str, str], Step],
) -> None:
    step = sample["PV-E1", "10 AWG"]
    assert step.saved.value < 0
    assert step.payback is None
    assert step.each is None


@pytest.mark.parametrize(
    "line",
    [
        "    - {item: wire THWN10 6 AWG red, price: 3.2}\n",
        "    - {item: wire THWN10 8 AWG black, price: 2.1}\n",
    ],
)
def test_one_leg_without_a_price_is_no_price(line: str) -> None:
    step = found((line, ""))["PV-E1", "6 AWG"]
    assert isinstance(step.extra, Missing)
    assert step.payback is None
    assert step.each is None


def test_without_a_price_of_energy_there_is_no_payback() -> None:
    step = found(("  energy: 0.14\n", ""))["PV-E1", "6 AWG"]
    assert isinstance(step.worth, Missing)
    assert step.payback is None
    assert step.each is not None


def test_the_page_says_that_no_price_is_stated_and_that_a_size_fails_elsewhere() -> None:
    facts, energy = designed(("  energy: 0.14\n", ""))
    design = SimpleNamespace(facts=facts, energy=energy, project=facts.project)
    kept: list[Schedule] = []
    desk = SimpleNamespace(design=design, keep=lambda schedule: kept.append(schedule) or schedule)
    wire_sizes.section(cast("Desk", desk))
    rows = list(csv.DictReader(kept[-1].csv("test").decode().splitlines()[1:]))
    by_size = {row["size"]: row for row in rows}
    assert by_size["6 AWG"]["worth"] == "no price stated"
    assert by_size["6 AWG"]["payback"] == ""
    # 10 AWG goes into the pipe, but the fuse is too large for it: that it fits must not read as a pass.
    assert (by_size["10 AWG"]["fits"], by_size["10 AWG"]["does"]) == ("meets", "fails")


def test_prices_of_the_next_size_belong_to_the_list_and_misspelt_wire_does_not() -> None:
    facts, _ = designed(("wire THWN10 6 AWG red", "wire THWN01 6 AWG red"))
    assert facts.materials.unused == ("wire THWN01 6 AWG red",)


def test_a_wire_that_stands_has_no_difference_of_prices() -> None:
    facts, energy = designed(("  PV-E1:\n", "  PV-E1:\n    status: existing\n"), "circuits.yaml")
    options = wire_options(facts)
    for step in steps(facts, energy, options):
        assert step.stands
        assert isinstance(step.extra, Missing)
        assert step.payback is step.each is None
    design = SimpleNamespace(facts=facts, energy=energy, project=facts.project)
    kept: list[Schedule] = []
    desk = SimpleNamespace(design=design, keep=lambda schedule: kept.append(schedule) or schedule)
    wire_sizes.section(cast("Desk", desk))
    rows = list(csv.DictReader(kept[-1].csv("test").decode().splitlines()[1:]))
    assert {row["extra"] for row in rows} == {"stands already"}
    assert {row["payback"] for row in rows} == {""}
