"""Lookups of raceways and boxes: values read elsewhere, edges of rows."""

from __future__ import annotations

import pytest

from reportgen.rulebook.rulebook import Rulebook, load

BOOK = load("nec2023")
ALL = [load(name) for name in ("nec2017", "nec2020", "nec2023")]


@pytest.mark.source(
    "NFPA 70 (2020), Chapter 9, Table 1 and Note 4, copies at thenecwiki.com and up.codes",
    locator="53, 31, 40 and 60 percent",
)
@pytest.mark.parametrize(
    ("n", "nipple", "share"),
    [(1, False, 0.53), (2, False, 0.31), (3, False, 0.4), (40, False, 0.4), (2, True, 0.6), (9, True, 0.6)],
)
def test_fill_limit(n: int, nipple: bool, share: float) -> None:
    assert BOOK.fill_limit(n, nipple=nipple).number == share


@pytest.mark.source("2011 handbook copy at vdocument.in, Chapter 9, Table 4", locator="EMT 1/2 to 2 in")
@pytest.mark.parametrize(
    ("size", "bore", "area"), [("1/2", 0.622, 0.304), ("1", 1.049, 0.864), ("2", 2.067, 3.356)]
)
def test_bore_of_emt(size: str, bore: float, area: float) -> None:
    found = BOOK.bore("EMT", size)
    assert (found.id_in.number, found.area.number, found.id_in.recalled) == (bore, area, False)


@pytest.mark.source("afvsafetytraining.com and ge-spark.com", locator="bore of 1 in rigid metal conduit")
def test_bore_of_rigid_metal_conduit() -> None:
    assert BOOK.bore("RMC", "1").id_in.number == 1.063


@pytest.mark.source("NFPA 70, Chapter 9, Table 4", locator="PVC rows", read="memory")
@pytest.mark.parametrize(
    ("kind", "size", "area", "forty"),
    [
        ("PVC-40", "1-1/2", 1.986, 0.794),
        ("PVC-80", "1-1/2", 1.711, 0.684),
        ("PVC-40", "1", 0.832, 0.333),
        ("PVC-80", "1", 0.688, 0.275),
        ("PVC-80", "2-1/2", 4.119, 1.647),
    ],
)
def test_bore_of_pvc(kind: str, size: str, area: float, forty: float) -> None:
    found = BOOK.bore(kind, size)
    assert (found.area.number, found.over_two.number) == (area, forty)
    assert found.area.recalled


def test_kinds_of_raceway() -> None:
    assert set(BOOK.kinds()) == {
        *("EMT", "IMC", "RMC", "PVC-40", "PVC-80", "ENT", "FMC", "LFMC"),
        "LFNC-A",
        "LFNC-B",
        "HDPE",
    }
    assert BOOK.trade_sizes("EMT") == ("1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "3-1/2", "4")
    assert BOOK.trade_sizes("FMC")[0] == "3/8"
    assert BOOK.trade_sizes("RTRC") == ()


@pytest.mark.source("NFPA 70, Chapter 9, Table 4", locator="metric designators", read="memory")
def test_metric_designators() -> None:
    trade = ("3/8", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "3-1/2", "4")
    metric = dict(
        zip(trade, ("12", "16", "21", "27", "35", "41", "53", "63", "78", "91", "103"), strict=True)
    )
    for row in BOOK.table("raceways").rows:
        assert row["metric"] == metric[row["trade_size"]], row.line


@pytest.mark.source("up.codes, underground installations", locator="Table 300.5")
def test_cover() -> None:
    assert BOOK.cover("other", "raceway").number == 18
    assert BOOK.cover("other", "rmc-imc").number == 6
    assert BOOK.cover("other", "direct-burial").number == 24
    assert BOOK.cover("dwelling-driveway", "raceway").number == 18
    assert {
        BOOK.cover("roads-and-parking", column).number for column in ("raceway", "rmc-imc", "control")
    } == {24}
    assert BOOK.locations()[0] == "other"
    assert [book.cover("other", "raceway").table for book in ALL] == [
        "Table 300.5",
        "Table 300.5",
        "Table 300.5(A)",
    ]


@pytest.mark.source(
    "up.codes, underground installations", locator="Table 300.5, all rows, typed a second time"
)
def test_cover_table() -> None:
    columns = ("direct-burial", "rmc-imc", "raceway", "gfci", "control")
    printed = {
        "other": "24 6 18 12 6",
        "under-2in-concrete": "18 6 12 6 6",
        "under-building": "0 0 0 0 0",
        "under-4in-slab": "18 4 4 6 6",
        "roads-and-parking": "24 24 24 24 24",
        "dwelling-driveway": "18 18 18 12 18",
        "airport-runway": "18 18 18 18 18",
        "solid-rock": "2 2 2 2 2",
    }
    for location in BOOK.locations():
        assert " ".join(BOOK.cover(location, column).value for column in columns) == printed[location]


@pytest.mark.source(
    "g-wonlinetextbooks.com, residential wiring p. 97; electricianexampractice.com",
    locator="supports of RMC, IMC, FMC",
)
def test_support() -> None:
    assert BOOK.support("RMC", "1").spacing.number == 10
    assert BOOK.support("FMC", "1").spacing.number == 4.5
    assert BOOK.support("LFNC-B", "3/4").spacing.number == 3
    assert BOOK.support("LFNC-B", "3/4").first.number == 1


@pytest.mark.source("NFPA 70, 352.30 and 344.30(B)(2)", locator="spacing tables", read="memory")
@pytest.mark.parametrize(
    ("size", "spacing"),
    [("1/2", 3), ("1", 3), ("1-1/4", 5), ("2", 5), ("2-1/2", 6), ("3", 6), ("3-1/2", 7), ("4", 7)],
)
def test_support_of_pvc(size: str, spacing: float) -> None:
    assert BOOK.support("PVC-40", size).spacing.number == spacing
    assert BOOK.support("PVC-80", size).first.number == 3


def test_support_of_straight_runs() -> None:
    assert [
        BOOK.support("RMC", size, straight=True).spacing.number for size in ("3/4", "1", "1-1/2", "2", "4")
    ] == [10, 12, 14, 16, 20]


@pytest.mark.source("2011 handbook copy at vdocument.in, Chapter 9, Table 2", locator="trade sizes 1 and 2")
def test_bend_radius() -> None:
    assert BOOK.bend_radius("1").number == 6
    assert BOOK.bend_radius("2", one_shot=True).number == 9.5
    assert BOOK.bend_limit("PVC-40").citation == "352.26 [PVC-40]"
    assert BOOK.bend_limit("EMT").number == 360


@pytest.mark.source("manualmachine.com, expansion joints; solar365.com, Table 352.44", locator="100 ft rows")
@pytest.mark.parametrize(
    ("change", "expansion"), [(5, 0.2), (10, 0.41), (50, 2.03), (50.1, 2.23), (140, 5.68), (0, 0.2)]
)
def test_pvc_expansion_takes_the_next_larger_row(change: float, expansion: float) -> None:
    assert BOOK.pvc_expansion(change).number == expansion


@pytest.mark.source("electriciansexam.com and necmastery.com, box fill", locator="314.16")
def test_boxes() -> None:
    assert BOOK.box_volume("4x1-1/2-square").number == 21.0
    assert BOOK.box_volume("4-11/16x2-1/8-square").number == 42.0
    assert BOOK.box_conductor_volume("10 AWG").number == 2.5
    assert len(BOOK.boxes()) == 24
    assert BOOK.box_allowance("device").allowances.number == 2


@pytest.mark.source(
    "electriciansexam.com and necmastery.com, box fill", locator="Table 314.16(A), typed a second time"
)
def test_box_volumes() -> None:
    printed = "18.0 21.0 30.3 25.5 29.5 42.0 12.5 15.5 21.5 7.5 10.0 10.5 12.5 14.0 18.0 10.3 13.0 14.5 14.0 21.0 13.5 18.0 18.0 24.0"
    assert " ".join(BOOK.box_volume(box).value for box in BOOK.boxes()) == printed
    sizes = ("18", "16", "14", "12", "10", "8", "6")
    assert [BOOK.box_conductor_volume(size).number for size in sizes] == [1.5, 1.75, 2, 2.25, 2.5, 3, 5]


@pytest.mark.source(
    "mikeholt.com, forum threads 2566828 and 2568132", locator="ten grounding conductors count 2.5"
)
def test_grounding_conductors_in_a_box() -> None:
    def total(book: Rulebook, n: int) -> float:
        first, further = (
            book.box_allowance(f"grounding-{key}").allowances.number for key in ("first-four", "each-further")
        )
        return first + further * max(n - 4, 0)

    assert [total(book, 10) for book in ALL] == [1, 2.5, 2.5]
    assert [total(book, 4) for book in ALL] == [1, 1, 1]
