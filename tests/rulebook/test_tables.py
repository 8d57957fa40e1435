"""Self-checks of the tables: what geometry and physics say of the printed numbers.

They catch a digit that was typed wrong. Each tolerance is what rounding of the printed figures allows.
"""

from __future__ import annotations

from math import pi, sqrt

import pytest

from reportgen.rulebook.loader import Row
from reportgen.rulebook.rulebook import load
from reportgen.rulebook.sizes import size_index

BOOK = load("nec2023")


def rows(table: str, **where: str) -> list[Row]:
    return [row for row in BOOK.table(table).rows if all(row[key] == value for key, value in where.items())]


def area_tolerance(diameter: float, unit_of_diameter: float, unit_of_area: float) -> float:
    """Half a unit of the last printed digit of the diameter, carried into the area, and half one of the area."""
    return pi / 2 * diameter * unit_of_diameter / 2 + unit_of_area / 2 + 1e-9


@pytest.mark.parametrize("kind", BOOK.kinds())
def test_raceway_area_is_that_of_its_bore(kind: str) -> None:
    for row in rows("raceways", kind=kind):
        bore, area = row.number("bore"), row.number("area")
        assert area == pytest.approx(pi / 4 * bore**2, abs=area_tolerance(bore, 0.001, 0.001)), row.line


@pytest.mark.parametrize(
    ("column", "case"), [("one", "one"), ("two", "two"), ("over_two", "over-two"), ("nipple", "nipple")]
)
def test_printed_fill_areas_are_shares_of_the_total(column: str, case: str) -> None:
    (limit,) = rows("fill", case=case)
    for row in rows("raceways"):
        # One unit of the last digit: some are printed cut off, not rounded.
        assert row.number(column) == pytest.approx(row.number("area") * limit.number("share"), abs=0.001), (
            row.line
        )


@pytest.mark.parametrize("table", ["conductors", "conductors-compact"])
def test_conductor_area_is_that_of_its_diameter(table: str) -> None:
    for row in rows(table):
        diameter = row.number("diameter")
        expected = pytest.approx(pi / 4 * diameter**2, abs=area_tolerance(diameter, 0.001, 0.0001))
        assert row.number("area") == expected, row.line


def test_insulated_conductors_are_thicker_than_bare_ones() -> None:
    for row in rows("conductors"):
        assert row.number("diameter") > BOOK.bare_conductor(row["size"]).diameter.number


@pytest.mark.source(
    "IEC 60364-5-52:2009", locator="Annex D: square-root law of the ambient factor", read="memory"
)
@pytest.mark.parametrize("rating", [60, 75, 90])
def test_ambient_factors_follow_the_square_root_law(rating: int) -> None:
    for row in rows("ambient-correction"):
        if row[f"{rating} C"]:
            law = sqrt((rating - row.number("hottest")) / (rating - 30))
            assert row.number(f"{rating} C") == pytest.approx(law, abs=0.011), row.line


def test_ambient_factors_end_below_the_rating_of_the_conductor() -> None:
    for rating in (60, 75, 90):
        last = max(row.number("hottest") for row in rows("ambient-correction") if row[f"{rating} C"])
        assert rating - 5 <= last < rating


@pytest.mark.source(
    "NBS Handbook 100, Copper Wire Tables (1966)",
    locator="10.371 ohm-cmil/ft at 20 °C, 100 % IACS",
    read="memory",
)
@pytest.mark.parametrize(
    ("column", "iacs", "alpha20"), [("copper uncoated", 1.0, 0.00393), ("aluminum", 0.61, 0.00403)]
)
def test_resistance_is_that_of_the_metal(column: str, iacs: float, alpha20: float) -> None:
    for row in rows("conductor-properties"):
        solid = 10.371 / iacs * (1 + alpha20 * (75 - 20)) / row.number("cmil") * 1000
        # Strands run round the axis and are longer than it by about a fiftieth.
        expected = solid * (1.02 if row.number("strands") > 1 else 1.0)
        assert row.number(column) == pytest.approx(expected, rel=0.012), row.line


@pytest.mark.source(
    "ASTM B33, tinned soft copper wire", locator="resistivity of coated against uncoated wire", read="memory"
)
def test_coated_copper_resists_more() -> None:
    for row in rows("conductor-properties"):
        assert 1.025 < row.number("copper coated") / row.number("copper uncoated") < 1.07, row.line


def test_temperature_coefficient_belongs_to_75_degrees() -> None:
    (copper,) = rows("temperature-coefficients", material="copper")
    assert copper.number("coefficient") == pytest.approx(0.00393 / (1 + 0.00393 * (75 - 20)), abs=5e-6)


@pytest.mark.source(
    "ASTM B258, American wire gauge", locator="diameter 0.005 in × 92^((36 − n)/39)", read="memory"
)
def test_circular_mils_follow_the_wire_gauge() -> None:
    for row in rows("conductor-properties"):
        rank = size_index(row["size"])
        if rank >= 250:
            assert row.number("cmil") == rank * 1000
        else:
            gauge = -rank if rank < 0 else 1 - rank
            assert row.number("cmil") == pytest.approx((5 * 92 ** ((36 - gauge) / 39)) ** 2, rel=0.006), (
                row.line
            )


def test_dc_and_ac_resistance_of_small_conductors_agree() -> None:
    for row in rows("ac-resistance"):
        if size_index(row["size"]) <= -1:
            # Two printed digits; up to 1 AWG there is hardly any skin effect at 60 Hz.
            assert row.number("copper pvc") == pytest.approx(
                BOOK.resistance("copper", row["size"]).number, rel=0.045
            )


def test_effective_impedance_follows_from_resistance_and_reactance() -> None:
    cosine = BOOK.number("ac-table-power-factor").number
    for row, effective in zip(rows("ac-resistance"), rows("ac-impedance"), strict=True):
        for metal in ("copper", "aluminum"):
            for conduit, reactance in (
                ("pvc", "nonmagnetic"),
                ("aluminum conduit", "nonmagnetic"),
                ("steel", "steel"),
            ):
                column = f"{metal} {conduit}"
                if row[column]:
                    z = row.number(column) * cosine + row.number(f"reactance {reactance}") * sqrt(
                        1 - cosine**2
                    )
                    assert effective.number(column) == pytest.approx(z, rel=0.06), (row["size"], column)


def test_expansion_is_the_coefficient_times_the_length() -> None:
    coefficient = BOOK.number("pvc-expansion-coefficient").number
    for row in rows("pvc-expansion"):
        assert row.number("expansion") == pytest.approx(
            coefficient * 1200 * row.number("change"), abs=0.0061
        ), row.line


def test_ampacity_rises_with_the_column_and_is_larger_in_copper() -> None:
    for row in rows("ampacity"):
        printed = [row.number(column) for column in ("60 C", "75 C", "90 C") if row[column]]
        assert printed == sorted(set(printed))
    for row in rows("ampacity", material="aluminum"):
        copper = BOOK.table("ampacity").find("copper", row["size"])
        assert copper is not None
        for column in ("60 C", "75 C", "90 C"):
            assert row.number(column) < copper.number(column)


def test_grounding_conductors_of_aluminum_are_larger() -> None:
    for row in rows("egc"):
        assert size_index(row["aluminum"]) > size_index(row["copper"]), row.line


def test_schedule_80_has_the_smaller_bore() -> None:
    for size in BOOK.trade_sizes("PVC-80"):
        assert BOOK.bore("PVC-80", size).id_in.number < BOOK.bore("PVC-40", size).id_in.number


def test_every_bore_has_a_bend_limit_and_every_bend_limit_a_section() -> None:
    for kind in BOOK.kinds():
        assert BOOK.bend_limit(kind).table.endswith(".26")


def test_voltage_factors_match_the_international_table() -> None:
    from reportgen.rulebook import standard_equipment

    for row in rows("voltage-factors"):
        if row["warmest"]:
            assert standard_equipment.voltage_factor(row.number("coldest")).number == row.number("factor")


RECALLED = [
    ("raceways", {"kind": "PVC-40"}, True),
    ("raceways", {"kind": "PVC-80"}, True),
    ("raceways", {"kind": "RMC"}, True),
    ("raceways", {"kind": "LFMC"}, True),
    ("raceways", {"kind": "HDPE"}, True),
    ("raceways", {"kind": "IMC"}, True),
    ("raceways", {"kind": "EMT", "trade_size": "3"}, True),
    ("raceways", {"kind": "EMT", "trade_size": "2"}, False),
    ("ampacity", {"size": "500"}, False),
    ("ampacity", {"size": "600"}, True),
    ("ampacity", {"size": "10"}, False),
    ("conductors", {"family": "THHN"}, False),
    ("conductors", {"family": "XHHW"}, False),
    ("conductors", {"family": "RHW"}, True),
    ("conductors", {"family": "RHW*", "size": "10"}, True),
    ("conductors", {"family": "RHW*", "size": "6"}, False),
    ("conductors-compact", {}, True),
    ("conductor-properties", {}, True),
    ("ac-resistance", {}, False),
    ("ac-impedance", {}, True),
    ("voltage-factors", {"coldest": "-40"}, True),
    ("voltage-factors", {"coldest": "-5"}, True),
    ("ambient-correction", {}, False),
    ("count-adjustment", {}, False),
    ("egc", {}, False),
    ("gec-dc", {}, True),
    ("cover", {}, False),
    ("bend-radius", {}, False),
    ("small-conductors", {"size": "16"}, True),
    ("small-conductors", {"size": "10"}, False),
    ("box-volumes", {"box": "3x2x1-1/2-device"}, True),
    ("support", {"kind": "PVC-40"}, True),
]


@pytest.mark.parametrize(("table", "where", "recalled"), RECALLED)
def test_recalled_rows_carry_the_mark(table: str, where: dict[str, str], recalled: bool) -> None:
    found = rows(table, **where)
    assert found
    assert {row.recalled for row in found} == {recalled}


def test_poor_copies_alone_never_count_as_read() -> None:
    weak = {code for code, source in BOOK.sources.items() if source.standing == "weak"}
    assert {"S7", "S8", "S9", "S11"} <= weak
    for name in BOOK.names():
        for row in BOOK.table(name).rows:
            if row.codes and set(row.codes) <= weak:
                assert row.recalled
