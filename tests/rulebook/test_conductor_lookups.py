"""Lookups of ampacity, factors, dimensions and resistance: values read elsewhere, edges of bands."""

from __future__ import annotations

import pytest

from reportgen.rulebook.rulebook import OutsideTable, load
from reportgen.working.units import convert

BOOK = load("nec2023")
ALL = [load(name) for name in ("nec2017", "nec2020", "nec2023")]


#: Typed a second time, from the copy named below: size, then the columns 60, 75 and 90 °C.
COPPER = (
    "14 15 20 25; 12 20 25 30; 10 30 35 40; 8 40 50 55; 6 55 65 75; 4 70 85 95; "
    "3 85 100 115; 2 95 115 130; 1 110 130 145; 1/0 125 150 170; 2/0 145 175 195; 3/0 165 200 225; "
    "4/0 195 230 260; 250 215 255 290; 300 240 285 320; 350 260 310 350; 400 280 335 380; 500 320 380 430"
)


ALUMINUM = (
    "12 15 20 25; 10 25 30 35; 8 35 40 45; 6 40 50 55; 4 55 65 75; 3 65 75 85; "
    "2 75 90 100; 1 85 100 115; 1/0 100 120 135; 2/0 115 135 150; 3/0 130 155 175; 4/0 150 180 205; "
    "250 170 205 230; 300 195 230 260; 350 210 250 280; 400 225 270 305; 500 260 310 350"
)


@pytest.mark.source(
    "Table 310.15(B)(16), copy of the 2011 to 2017 editions (scribd.com/document/602627451)",
    locator="all columns to 500 kcmil",
)
@pytest.mark.parametrize(("material", "printed"), [("copper", COPPER), ("aluminum", ALUMINUM)])
def test_ampacity(material: str, printed: str) -> None:
    for line in printed.split("; "):
        size, *values = line.split()
        for book in ALL:
            assert [book.ampacity(material, size, column).value for column in (60, 75, 90)] == values, size


@pytest.mark.source("NFPA 70, Table 310.16", locator="600 to 750 kcmil", read="memory")
@pytest.mark.parametrize(
    ("material", "size", "printed"),
    [
        ("copper", "600", (350, 420, 475)),
        ("copper", "700", (385, 460, 520)),
        ("copper", "750", (400, 475, 535)),
        ("aluminum", "600", (285, 340, 385)),
        ("aluminum", "700", (315, 375, 425)),
        ("aluminum", "750", (320, 385, 435)),
    ],
)
def test_ampacity_of_the_largest_sizes(material: str, size: str, printed: tuple[int, int, int]) -> None:
    assert tuple(BOOK.ampacity(material, size, column).number for column in (60, 75, 90)) == printed


def test_a_cell_cites_the_edition_at_hand() -> None:
    old, new = ALL[0].ampacity("copper", "10 AWG", 90), BOOK.ampacity("copper", "10", 90)
    assert old.citation == "Table 310.15(B)(16) [copper, 10 AWG, 90 °C]"
    assert new.citation == "Table 310.16 [copper, 10 AWG, 90 °C]"
    assert (old.source, new.source, new.unit, new.recalled) == ("NEC 2017 [S1]", "NEC 2023 [S1]", "A", False)


def test_copper_clad_aluminum_shares_the_aluminum_column_where_it_is_printed_so() -> None:
    assert BOOK.ampacity("copper-clad aluminum", "10", 75).number == 30
    assert BOOK.sizes("copper-clad aluminum") == BOOK.sizes("aluminum")
    assert BOOK.egc_size(100, "copper-clad aluminum").value == "6"
    with pytest.raises(OutsideTable):
        BOOK.resistance("copper-clad aluminum", "10")


def test_sizes_in_order() -> None:
    assert BOOK.sizes("copper")[:3] == ("18", "16", "14")
    assert BOOK.sizes("aluminum")[0] == "12"
    assert BOOK.sizes("iron") == ()


@pytest.mark.source(
    "up.codes, correction factors for ambient temperatures, 310.15(B)(1)", locator="rows 26 to 85 °C"
)
@pytest.mark.parametrize(
    ("insulation", "ambient", "factor"),
    [
        (90, 30, 1.00),
        (90, 31, 0.96),
        (90, 35, 0.96),
        (90, 36, 0.91),
        (90, 40, 0.91),
        (75, 40, 0.88),
        (60, 40, 0.82),
        (90, 85, 0.29),
        (75, 70, 0.33),
        (60, 55, 0.41),
        (90, 10, 1.15),
        (90, 11, 1.12),
    ],
)
def test_ambient_factor(insulation: int, ambient: float, factor: float) -> None:
    for book in ALL:
        assert book.ambient_factor(insulation, ambient).number == factor


@pytest.mark.parametrize(
    ("ambient", "factor"),
    [
        (30.5, 0.96),
        (30.0001, 0.96),
        (35.4, 0.91),
        (-60.0, 1.15),
        (10.2, 1.12),
        (convert(86, "degF", "degC"), 1.0),
    ],
)
def test_between_bands_the_hotter_one_holds(ambient: float, factor: float) -> None:
    assert BOOK.ambient_factor(90, ambient).number == factor


def test_noise_of_a_conversion_is_no_fraction_of_a_degree() -> None:
    assert BOOK.ambient_factor(90, 30.0 + 5e-15).number == 1.0
    assert BOOK.voltage_table_factor(-5.0 - 1e-15).number == 1.12


@pytest.mark.source(
    "electricallicenserenewal.com, 310.15(B)(2) of the 2023 edition", locator="section 1315, worked example"
)
def test_conduit_close_above_a_roof() -> None:
    ambient_f = 90 + convert(BOOK.roof_adder(0.5).number, "K", "delta_degF")
    factor = BOOK.ambient_factor(75, convert(ambient_f, "degF", "degC"))
    assert factor.number == 0.33
    assert BOOK.ampacity("copper", "8", 75).number * factor.number == pytest.approx(16.5)


@pytest.mark.source(
    "electricallicenserenewal.com, 310.15(B)(3)(c) and 310.15(B)(2)", locator="sections 277, 879 and 1315"
)
@pytest.mark.parametrize(
    ("height", "k2017", "k2020", "k2023"),
    [
        (0, 33, 33, 33),
        (0.74, 33, 33, 33),
        (0.75, 33, 33, 0),
        (0.874, 33, 33, 0),
        (0.875, 0, 0, 0),
        (36, 0, 0, 0),
    ],
)
def test_roof_adder_by_edition(height: float, k2017: float, k2020: float, k2023: float) -> None:
    assert [book.roof_adder(height).number for book in ALL] == [k2017, k2020, k2023]


@pytest.mark.source(
    "secondary copy of 310.15(B)(3)(a), address not given", locator="80, 70, 50, 45, 40 and 35 percent"
)
@pytest.mark.parametrize(
    ("n", "factor"),
    [
        *((1, 1.0), (3, 1.0), (4, 0.8), (6, 0.8), (7, 0.7), (9, 0.7), (10, 0.5), (20, 0.5)),
        *((21, 0.45), (30, 0.45), (31, 0.4), (40, 0.4), (41, 0.35), (500, 0.35)),
    ],
)
def test_count_factor(n: int, factor: float) -> None:
    cell = BOOK.count_factor(n)
    assert (cell.number, cell.unit) == (factor, "")


@pytest.mark.source(
    "NFPA 70 (2008), Chapter 9, Table 5, copy at buildmyowncabin.com", locator="THHN, XHHW, THW"
)
@pytest.mark.parametrize(
    ("marking", "size", "diameter", "area"),
    [
        ("THHN", "10", 0.164, 0.0211),
        ("THWN-2", "10 AWG", 0.164, 0.0211),
        ("thwn", "12", 0.130, 0.0133),
        ("THHN/THWN-2", "4", 0.324, 0.0824),
        ("XHHW-2", "10", 0.176, 0.0243),
        ("XHH", "250", 0.705, 0.3904),
        ("THW", "6", 0.304, 0.0726),
        ("RHW-2*", "6", 0.304, 0.0726),
    ],
)
def test_conductor_size(marking: str, size: str, diameter: float, area: float) -> None:
    found = BOOK.conductor_size(marking, size)
    assert (found.diameter.number, found.area.number, found.proxy) == (diameter, area, False)
    assert found.area.unit == "in2"


def test_a_proxy_row_says_so() -> None:
    assert BOOK.conductor_size("USE-2", "10").proxy
    assert BOOK.conductor_size("USE-2", "10").area.number == BOOK.conductor_size("RHW-2*", "10").area.number


def test_of_a_dual_marking_the_larger_row_holds() -> None:
    dual = BOOK.conductor_size("RHH/RHW-2/USE-2", "10")
    assert (
        dual.area.number
        == BOOK.conductor_size("RHW-2", "10").area.number
        > BOOK.conductor_size("USE-2", "10").area.number
    )
    assert not dual.proxy


@pytest.mark.parametrize("marking", ["PV", "PV wire", "PV WIRE", "THHN/PV", "H1Z2Z2-K", "", "XHHW-3"])
def test_conductors_without_a_row(marking: str) -> None:
    with pytest.raises(OutsideTable):
        BOOK.conductor_size(marking, "10")


@pytest.mark.source("NFPA 70, Table 310.4(A)", locator="temperature ratings dry and wet", read="memory")
@pytest.mark.parametrize(
    ("marking", "dry", "wet"),
    [
        ("THHN", 90, None),
        ("THWN", 75, 75),
        ("THHN/THWN", 90, 75),
        ("THHN/THWN-2", 90, 90),
        ("XHHW", 90, 75),
        ("XHHW-2", 90, 90),
        ("PV wire", 90, 90),
        ("TW", 60, 60),
        ("RHH", 90, None),
    ],
)
def test_temperature_ratings_of_a_marking(marking: str, dry: float, wet: float | None) -> None:
    found = BOOK.insulation(marking)
    assert found.dry is not None
    assert found.dry.number == dry
    assert (None if found.wet is None else found.wet.number) == wet
    assert found.in_table == ("PV" not in marking)


@pytest.mark.source(
    "electrician2.com, low voltage lesson p. 135 (2005 edition)", locator="16 AWG stranded, 4.99 ohm/kft"
)
def test_resistance_that_was_read() -> None:
    assert BOOK.resistance("copper", "16").number == 4.99


@pytest.mark.source("NFPA 70, Chapter 9, Table 8", locator="10 AWG, 75 °C", read="memory")
def test_resistance_by_make_up() -> None:
    assert BOOK.resistance("copper", "10").number == 1.24
    assert BOOK.resistance("copper", "10", coated=True).number == 1.29
    assert BOOK.resistance("copper", "10", stranded=False).number == 1.21
    assert BOOK.resistance("aluminum", "10").number == 2.04
    assert BOOK.resistance("copper", "10").unit == "ohm/kft"


@pytest.mark.source(
    "table-ideas.netlify.app, Chapter 9, Table 8, temperature formula", locator="0.00323 and 0.00330"
)
def test_temperature_coefficients() -> None:
    assert BOOK.resistance_temperature_coefficient("copper").number == 0.00323
    assert BOOK.resistance_temperature_coefficient("aluminum").number == 0.0033
    assert BOOK.resistance_reference_temperature("copper").number == 75


@pytest.mark.source("brunsengineering.com, NEC table 9", locator="14 AWG and 250 kcmil")
def test_ac_values() -> None:
    assert BOOK.ac_resistance("copper", "14", "pvc").number == 3.1
    assert BOOK.ac_reactance("14", "steel").number == 0.073
    assert BOOK.ac_resistance("copper", "250", "steel").number == 0.054
    assert BOOK.ac_impedance("copper", "14", "steel").recalled


@pytest.mark.source(
    "electricalcodeacademy.net, 310.15(B)(3)(c) of the 2017 edition", locator="exception for XHHW-2"
)
def test_exemption_from_the_roof_adder() -> None:
    for book in ALL:
        assert book.exempt_from_roof_adder("XHHW-2")
        assert not book.exempt_from_roof_adder("XHHW")
        assert not book.exempt_from_roof_adder("THWN-2")
