"""Cut lists of whole folders: scenarios by hand, lengths that are not all there, spools that do not do."""

from __future__ import annotations

import subprocess
import sys

import pytest
from pull_folders import MASSES, RIDGE, folder

from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.engineering.cutting.spools import CutPlan
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.build import exit_code

SPOOLS = "spools: {S500: {cable: W, size: 10 AWG, length: 500 ft}, S1000: {cable: W, size: 10 AWG, length: 1000 ft}}"
HEAD = "head: 4 ft, trim: 4 ft"
TOLERANCE = "length_tolerance: 1 %"


def built(files):
    project = load_project(files)
    return assemble(project, load("nec2023"), "test", choose_spools=True)


def cuts_of(made) -> dict[str, object]:
    return {f.id: f for f in made.findings if f.code.startswith("cut-")}


class TestThreeStringsAndAGround:
    """Ridge: 180 ft, risers of 8 ft, two elbow arcs of 1.08 ft, tails of 14 and 12 ft; head 4 ft, trim 4 ft."""

    @pytest.fixture
    def made(self):
        return built(folder(RIDGE, stock=f"{HEAD}, {SPOOLS}", raceway=TOLERANCE))

    def test_installed_and_cut(self, made) -> None:
        # 180 + 16 + 2.16 + 26 = 224.16 ft; + 8 = 232.16: 233 ft.
        group = next(group for group in made.facts.cuts if group.colour == "red")
        (item, *_) = group.wires
        assert item.installed.value == pytest.approx(224.16, abs=0.005)
        assert item.elbows.value == pytest.approx(2.16, abs=0.005)
        assert item.own.value == pytest.approx(232.16, abs=0.005)
        assert {wire.length.value for wire in group.wires} == {233}
        # 1 % of 198.16 ft.
        assert item.tolerance.value == pytest.approx(1.98, abs=0.005)

    def test_spools(self, made) -> None:
        # 3 · 233 = 699 ft a colour: one of 1000 or two of 500, 1000 ft either way; one is fewer. The ground is a seventh piece.
        plans = {group.colour: group.plan for group in made.facts.cuts}
        assert {key: dict(plan.shopping) for key, plan in plans.items()} == {
            "red": {"S1000": 1},
            "black": {"S1000": 1},
            "ground": {"S500": 1},
        }
        assert all(plan.proved for plan in plans.values())
        assert plans["red"].scrap.value == pytest.approx(301)
        found = cuts_of(made)
        assert found["cut-spare:W 10 AWG red"].outcome is Outcome.MEETS
        assert (
            "buy 1 × S1000, 301.0 ft left over; no plan does better"
            in found["cut-spools:W 10 AWG red"].headline
        )

    def test_a_spool_of_one_colour_serves_no_other(self) -> None:
        stock = f"{HEAD}, {SPOOLS.replace('length: 1000 ft', 'length: 1000 ft, colour: Red')}"
        plans = {g.colour: g.plan for g in built(folder(RIDGE, stock=stock, raceway=TOLERANCE)).facts.cuts}
        assert plans["red"].shopping == {"S1000": 1}
        assert plans["black"].shopping == {"S500": 2}

    def test_cost_decides_where_every_price_is_stated(self) -> None:
        spools = SPOOLS.replace("length: 500 ft", "length: 500 ft, price: 100").replace(
            "length: 1000 ft", "length: 1000 ft, price: 250"
        )
        made = built(
            folder(RIDGE, stock=f"{HEAD}, {spools}", raceway=TOLERANCE, extra="prices: {currency: USD}")
        )
        plan = next(g.plan for g in made.facts.cuts if g.colour == "red")
        assert (dict(plan.shopping), plan.cost) == ({"S500": 2}, 200)


class TestTenWiresOfFourHundredNinetyEight:
    """Far Pasture: 480 ft measured within 1 %, 490 ft installed, 498 ft cut, from spools of 500 ft."""

    RUN = "      a: {kind: PVC-40, size: 2, length: 480 ft, place: underground, bends: []}\n"

    def folder(self, raceway: str = TOLERANCE, spool: str = "500 ft") -> dict[str, bytes]:
        stock = f"{HEAD}, spools: {{S: {{cable: W, size: 10 AWG, length: {spool}}}}}"
        return folder(self.RUN, 5, stock=stock, raceway=raceway, tails="{start: 5 ft, end: 5 ft}")

    def test_two_feet_left_and_four_point_eight_wanted_is_thin(self) -> None:
        found = cuts_of(built(self.folder()))["cut-spare:W 10 AWG red"]
        assert found.outcome is Outcome.THIN
        assert "2 ft left" in found.headline.replace("2.0 ft", "2 ft")
        assert (found.value.value, found.limit.value) == (pytest.approx(2), pytest.approx(4.8))
        assert found.cure.startswith("buy a longer spool")

    def test_exactly_the_tolerance_meets(self) -> None:
        assert (
            cuts_of(built(self.folder(spool="502.8 ft")))["cut-spare:W 10 AWG red"].outcome is Outcome.MEETS
        )
        assert cuts_of(built(self.folder(spool="502.7 ft")))["cut-spare:W 10 AWG red"].outcome is Outcome.THIN

    def test_no_tolerance_no_verdict(self) -> None:
        found = cuts_of(built(self.folder(raceway="")))["cut-spare:W 10 AWG red"]
        assert (found.outcome, found.missing) == (Outcome.UNKNOWN, ("length_tolerance of raceway R1",))

    def test_a_spool_shorter_than_the_piece_fails_at_its_line(self, design) -> None:
        files = self.folder(spool="497 ft")
        for made in (design(files), built(files)):
            found = cuts_of(made)["cut-length:W 10 AWG red"]
            assert found.outcome is Outcome.FAILS
            line = files["a.yaml"].decode().splitlines()[found.cure_span.line - 1]
            assert "497 ft" in line
            assert "cut-spare:W 10 AWG red" not in cuts_of(made)

    def test_a_spool_of_just_the_piece_holds_it(self, design) -> None:
        assert (
            cuts_of(design(self.folder(spool="498 ft")))["cut-length:W 10 AWG red"].outcome is Outcome.MEETS
        )


def test_a_check_leaves_the_spools_out_and_says_which_command_runs_them(design) -> None:
    made = design(folder(RIDGE, stock=f"{HEAD}, {SPOOLS}", raceway=TOLERANCE))
    (found,) = (f for f in made.findings if f.needs_run)
    assert found.id == "cut-spools:stock"
    assert "not run" in found.headline
    assert found.needs_run == "reportgen build DIR"
    assert not any(f.code == "cut-spare" for f in made.findings)


def test_what_was_not_run_never_changes_the_exit_code(design) -> None:
    from dataclasses import replace

    made = design(folder(RIDGE, stock=f"{HEAD}, {SPOOLS}", raceway=TOLERANCE))
    only = replace(made, findings=tuple(f for f in made.findings if f.needs_run))
    assert only.findings
    assert exit_code(only, strict=True) == 0


def test_a_check_does_not_load_the_solver(tmp_path) -> None:
    (tmp_path / "a.yaml").write_bytes(folder(RIDGE, stock=f"{HEAD}, {SPOOLS}", raceway=TOLERANCE)["a.yaml"])
    code = (
        "import sys; from pathlib import Path; from reportgen.service.build import check; from reportgen.service.folder_reader import take; "
        f"check(take(Path({str(tmp_path)!r}))); print([m for m in ('scipy', 'numpy') if m in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"


def test_too_few_spools_fail() -> None:
    spools = "spools: {S500: {cable: W, size: 10 AWG, length: 500 ft, available: 1}}"
    found = cuts_of(built(folder(RIDGE, stock=f"{HEAD}, {spools}", raceway=TOLERANCE)))[
        "cut-spools:W 10 AWG red"
    ]
    assert found.outcome is Outcome.FAILS
    assert found.cure_span.file == "a.yaml"


def test_spools_of_any_colour_are_not_counted_twice() -> None:
    # Each colour alone needs two of 500 ft and the ground one: five in all, three are to be had.
    spools = "spools: {S500: {cable: W, size: 10 AWG, length: 500 ft, available: 3}}"
    made = built(folder(RIDGE, stock=f"{HEAD}, {spools}", raceway=TOLERANCE))
    found = cuts_of(made)["cut-spools:S500"]
    assert found.outcome is Outcome.FAILS
    assert found.headline.startswith("5 spools `S500`")
    assert (
        built(folder(RIDGE, stock=f"{HEAD}, {spools.replace('3', '5')}", raceway=TOLERANCE)).of(Outcome.FAILS)
        == ()
    )


TWO = """
      a: {kind: PVC-40, size: 2, length: 100 ft, place: underground, bends: []}
      b: {kind: PVC-40, size: 2, length: 50 ft, place: underground, bends: []}
      c: {kind: PVC-40, size: 2, length: 20 ft, place: underground, bends: []}
"""


@pytest.mark.parametrize(
    ("changes", "old", "new", "told"),
    [
        ({}, "head: 4 ft, ", "", "head of stock"),
        ({}, "trim: 4 ft, ", "", "trim of stock"),
        ({}, "tails: {start: 14 ft, end: 12 ft}, ", "", "tails of circuit P1"),
        ({}, "path: [R1]", "path: [R1/a, R1/c]", "path of circuit P1 without a gap: R1/a and R1/c"),
        (
            {"raceway": f"{TOLERANCE}\n    drawn_through: 175 ft"},
            "T",
            "T",
            "lengths of raceway R1 that add up: its segments make 170.0 ft, drawn through it is 175.0 ft",
        ),
        ({"raceway": "drawn_through: 170 ft"}, "T", "T", "length_tolerance of raceway R1"),
    ],
)
def test_lengths_that_are_not_all_there_are_unknown(design, changes, old, new, told) -> None:
    text = folder(TWO, 1, stock=f"{HEAD}, {SPOOLS}", **changes)["a.yaml"].decode()
    assert old in text
    found = cuts_of(design({"a.yaml": text.replace(old, new).encode()}))["cut-length:W 10 AWG red"]
    assert found.outcome is Outcome.UNKNOWN
    assert any(item.startswith(told) for item in found.missing), found.missing
    assert found.cure_span is not None


def test_a_line_drawn_through_that_agrees_changes_nothing(design) -> None:
    files = folder(TWO, 1, stock=f"{HEAD}, {SPOOLS}", raceway=f"{TOLERANCE}\n    drawn_through: 171.7 ft")
    assert cuts_of(design(files))["cut-length:W 10 AWG red"].outcome is Outcome.MEETS


def test_without_stock_nothing_has_a_length_to_cut(design) -> None:
    text = folder(TWO, 1, stock="")["a.yaml"].decode().replace("stock: {}\n", "")
    found = cuts_of(design({"a.yaml": text.encode()}))
    assert {key: f.outcome for key, f in found.items()} == {"cut-length:stock": Outcome.UNKNOWN}


def test_a_kind_of_wire_that_the_shop_does_not_sell_is_unknown(design) -> None:
    files = folder(TWO, 1, ground="8 AWG", stock=f"{HEAD}, {SPOOLS}", masses=MASSES)
    found = cuts_of(design(files))["cut-length:W 8 AWG ground"]
    assert found.outcome is Outcome.UNKNOWN
    assert found.missing == ("a spool of W 8 AWG ground among the spools of stock",)


def test_existing_wire_is_not_cut(design) -> None:
    text = (
        folder(TWO, 2, stock=f"{HEAD}, {SPOOLS}")["a.yaml"]
        .decode()
        .replace("string: S1,", "string: S1, status: existing,")
    )
    made = design({"a.yaml": text.encode()})
    assert [w.wire.id for g in made.facts.cuts for w in g.wires] == ["P2+", "P2-", "G"]


def test_wires_of_one_pull_and_colour_are_cut_to_the_longest() -> None:
    text = folder(TWO, 2, stock=f"{HEAD}, {SPOOLS}", raceway=TOLERANCE)["a.yaml"].decode()
    text = text.replace("tails: {start: 14 ft, end: 12 ft}", "tails: {start: 30.3 ft, end: 12 ft}", 1)
    groups = {group.colour: group for group in built({"a.yaml": text.encode()}).facts.cuts}
    # 170 + 30.3 + 12 + 8 = 220.3: 221 ft for both reds and both blacks; the ground 170 + 26 + 8 = 204 ft.
    assert [wire.length.value for wire in groups["red"].wires] == [221, 221]
    assert [wire.own.value for wire in groups["red"].wires] == [pytest.approx(220.3), pytest.approx(204)]
    assert [wire.length.value for wire in groups["ground"].wires] == [204]
    assert isinstance(groups["red"].plan, CutPlan)


def test_spare_wires_that_nobody_counted_are_not_bought(design) -> None:
    text = folder(TWO, 1, stock=f"{HEAD}, {SPOOLS}")["a.yaml"].decode()
    text = text.replace(
        "G: {kind: ground,",
        "SPARE: {kind: spare, cable: W, size: 10 AWG, path: [R1], colour: blue}\n  G: {kind: ground,",
    )
    found = cuts_of(design({"a.yaml": text.encode()}))["cut-length:W 10 AWG blue"]
    assert (found.outcome, found.missing) == (Outcome.UNKNOWN, ("conductors of circuit SPARE",))
