"""Lookups in the tables of international standards."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.rulebook import standard_cables, standard_equipment, standards
from reportgen.rulebook.rulebook import OutsideTable, UnknownRule


@pytest.mark.parametrize("name", standards.names())
def test_every_table_is_sound(name: str) -> None:
    table = standards.table(name)
    assert table.rows
    assert "NFPA" not in table.header.source


@pytest.mark.source(
    "IEC 60228:2004, copies at uecables.com, kabelmetal-indonesia.com, etechnik-synergie.com",
    locator="class 2 and class 5 at 20 °C",
)
@pytest.mark.parametrize(
    ("area", "class2", "class5_tinned"),
    [(1.5, 12.1, 13.7), (4, 4.61, 5.09), (6, 3.08, 3.39), (10, 1.83, 1.95), (240, 0.0754, 0.0817)],
)
def test_conductor_resistance(area: float, class2: float, class5_tinned: float) -> None:
    plain = standard_cables.conductor_resistance(area, flexible=False, tinned=False)
    assert (plain.number, plain.unit, plain.recalled) == (class2, "ohm/km", False)
    assert standard_cables.conductor_resistance(area, flexible=True, tinned=True).number == class5_tinned


@pytest.mark.source(
    "IEC 60028, resistance of annealed copper", locator="17.241 Ω·mm²/km at 20 °C", read="memory"
)
def test_resistance_is_near_that_of_the_metal() -> None:
    for row in standards.table("conductor-resistance").rows:
        # The limit is the nominal area plus make-up: up to a fifth above the metal itself.
        for column in ("class 2 plain", "class 5 plain"):
            assert 17.241 < row.number(column) * row.number("area") < 17.241 * 1.2, row.line
        assert row.number("class 2 tinned") > row.number("class 2 plain")
        assert row.number("class 5 tinned") > row.number("class 5 plain")


@pytest.mark.source(
    "IEC 60364-5-52:2009, Tables B.52.2 to B.52.12, two copies", locator="copper, two loaded conductors"
)
@pytest.mark.parametrize(
    ("insulation", "loaded", "method", "area", "capacity", "recalled"),
    [
        ("PVC70", 2, "C", 2.5, 27, False),
        ("PVC70", 2, "D1", 6, 46, False),
        ("PVC70", 3, "B1", 10, 50, False),
        ("XLPE90", 2, "F", 25, 161, True),
    ],
)
def test_ampacity(
    insulation: str, loaded: int, method: str, area: float, capacity: float, recalled: bool
) -> None:
    cell = standard_cables.ampacity(insulation, loaded, method, area)
    assert (cell.number, cell.recalled) == (capacity, recalled)
    assert cell.table.startswith("B.52.")


@pytest.mark.source(
    "IEC 60364-5-52:2009, Tables B.52.14 and B.52.15", locator="square-root law on the printed factors"
)
def test_temperature_factors_follow_the_square_root_law() -> None:
    for row in standards.table("temperature-factors").rows:
        reference = 30 if row["medium"] == "air" else 20
        for column, rating in (("PVC70", 70), ("XLPE90", 90)):
            if row[column]:
                law = math.sqrt((rating - row.number("temperature")) / (rating - reference))
                assert row.number(column) == pytest.approx(law, abs=0.012), row.line


def test_between_rows_the_worse_one_holds() -> None:
    assert standard_cables.temperature_factor("air", "PVC70", 30.5).number == 0.94
    assert standard_cables.temperature_factor("air", "PVC70", 30).number == 1
    assert standard_cables.temperature_factor("air", "XLPE90", 5).number == 1.15
    assert standard_cables.grouping_factor("bunched-or-enclosed", "touching", 9).number == 0.50
    assert standard_cables.grouping_factor("bunched-or-enclosed", "touching", 10).number == 0.45
    assert standard_cables.soil_factor("D1", 1.2).number == 1.10
    assert standard_cables.pv_cable_temperature_factor(60.5).number == 0.91
    assert standard_cables.pv_cable_temperature_factor(-20).number == 1.0


@pytest.mark.source("IEC 62446-1:2016, Table 1", locator="test voltages and least resistances", read="memory")
@pytest.mark.parametrize(
    ("volts", "test", "least"),
    [
        (1, 250, 0.5),
        (119.9, 250, 0.5),
        (120, 500, 1),
        (500, 500, 1),
        (500.1, 1000, 1),
        (510, 1000, 1),
        (1000, 1000, 1),
        (1001, 1500, 1),
        (1500, 1500, 1),
    ],
)
def test_insulation_test(volts: float, test: float, least: float) -> None:
    found = standard_equipment.insulation_test(volts)
    assert (found.test.number, found.least.number) == (test, least)


@pytest.mark.source("IEC 62548:2016", locator="least insulation resistance by array power", read="memory")
@pytest.mark.parametrize(("kilowatts", "least"), [(5, 30), (20, 30), (20.1, 20), (450, 2), (5000, 1)])
def test_inverter_insulation(kilowatts: float, least: float) -> None:
    assert standard_equipment.inverter_insulation(kilowatts).number == least


@pytest.mark.source("EN 50618:2014, Table A.3", locator="6 mm²", read="memory")
def test_photovoltaic_cable() -> None:
    assert standard_cables.pv_cable_ampacity(6, "free-air").number == 70
    assert standard_cables.pv_cable_ampacity(6, "two-adjacent").recalled


@pytest.mark.source("odeskabel.com, data page of an H1Z2Z2-K cable", locator="nominal diameters")
def test_diameter_of_photovoltaic_cable() -> None:
    assert [standard_cables.pv_cable_diameter(area).number for area in (4, 6, 10)] == [5.6, 6.1, 7.1]


def test_estimated_wire_is_bare_strand_plus_insulation_and_marked() -> None:
    from reportgen.rulebook.rulebook import load

    for row in standards.table("pv-wire-typical").rows:
        bare = load("nec2023").bare_conductor(row["size"]).diameter.number
        assert row.number("diameter") == pytest.approx(bare + 2 * row.number("insulation"), abs=0.0011)
        assert row.recalled
    assert (
        standard_cables.pv_wire_diameter("10 AWG", 600).number
        < standard_cables.pv_wire_diameter("10", 1000).number
    )


@pytest.mark.source(
    "solarsaarthi.com p. 4, quoting IEC 62548", locator="string fuse between 1.5 and 2.4 times the current"
)
def test_numbers() -> None:
    assert standards.number("string-fuse-lower").number * 12.28 == pytest.approx(18.42, abs=0.005)
    assert standards.number("string-fuse-upper").number * 12.28 == pytest.approx(29.47, abs=0.005)
    assert standards.number("burial-raceway-canada").recalled
    with pytest.raises(UnknownRule):
        standards.number("nonsense")
    with pytest.raises(UnknownRule):
        standards.table("nonsense")


def test_labels_and_torques() -> None:
    labels = {label.key: label for label in standard_equipment.labels()}
    assert labels["AU-HAZ"].recalled is False
    spacing = labels["IEC-CABLE"].spacing
    assert spacing is not None
    assert (spacing.number, spacing.unit) == (5, "m")
    headless, screwdriver, other = standard_equipment.terminal_test_torque("M6")
    assert headless is not None
    assert screwdriver is not None
    assert (headless.number, screwdriver.number, other.number, other.unit) == (1.2, 2.5, 3.0, "N·m")
    assert standard_equipment.terminal_test_torque("M12")[0] is None


OUTSIDE: list[Callable[[], object]] = [
    lambda: standard_cables.conductor_resistance(5, flexible=True, tinned=True),
    lambda: standard_cables.ampacity("PVC70", 2, "F", 16),
    lambda: standard_cables.ampacity("PVC70", 2, "A1", 16),
    lambda: standard_cables.temperature_factor("air", "PVC70", 60.1),
    lambda: standard_cables.temperature_factor("water", "PVC70", 20),
    lambda: standard_cables.temperature_factor("air", "EPR", 20),
    lambda: standard_cables.temperature_factor("air", "XLPE90", math.nan),
    lambda: standard_cables.grouping_factor("bunched-or-enclosed", "touching", 21),
    lambda: standard_cables.grouping_factor("bunched-or-enclosed", "touching", 0),
    lambda: standard_cables.soil_factor("D1", 3.1),
    lambda: standard_cables.soil_factor("B1", 2),
    lambda: standard_cables.pv_cable_ampacity(3, "surface"),
    lambda: standard_cables.pv_cable_ampacity(6, "buried"),
    lambda: standard_cables.pv_cable_temperature_factor(90.1),
    lambda: standard_cables.pv_cable_diameter(16),
    lambda: standard_cables.pv_wire_diameter("4", 1000),
    lambda: standard_cables.pv_wire_diameter("10", 2001),
    lambda: standard_cables.pv_wire_diameter("6 mm2", 1000),
    lambda: standard_equipment.insulation_test(0),
    lambda: standard_equipment.insulation_test(1500.1),
    lambda: standard_equipment.insulation_test(math.nan),
    lambda: standard_equipment.inverter_insulation(0),
    lambda: standard_equipment.voltage_factor(25),
    lambda: standard_equipment.voltage_factor(-41),
    lambda: standard_equipment.terminal_test_torque("M99"),
]


@pytest.mark.parametrize("lookup", OUTSIDE)
def test_outside_a_table_there_is_no_value(lookup: Callable[[], object]) -> None:
    with pytest.raises(OutsideTable):
        lookup()


@given(st.floats(0.1, 1500), st.floats(0.1, 1500))
def test_a_higher_voltage_never_has_the_weaker_test(one: float, other: float) -> None:
    low, high = (standard_equipment.insulation_test(volts) for volts in sorted((one, other)))
    assert low.test.number <= high.test.number
    assert low.least.number <= high.least.number


@given(st.integers(1, 20), st.integers(1, 20))
def test_more_circuits_never_carry_more(one: int, other: int) -> None:
    few, many = sorted((one, other))
    factors = [
        standard_cables.grouping_factor("bunched-or-enclosed", "touching", n).number for n in (few, many)
    ]
    assert factors[1] <= factors[0]
