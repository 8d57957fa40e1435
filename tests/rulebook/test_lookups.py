"""Lookups: values read elsewhere, edges of bands, what lies outside a table."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.rulebook.rulebook import OutsideTable, Rulebook, load
from reportgen.working.units import UNITS, convert

BOOK = load("nec2023")
ALL = [load(name) for name in ("nec2017", "nec2020", "nec2023")]


@pytest.mark.source(
    "Table 310.15(B)(16), copy of the 2011 to 2017 editions (scribd.com/document/602627451)",
    locator="all columns",
)
@pytest.mark.parametrize(
    ("material", "size", "printed"),
    [
        ("copper", "14", (15, 20, 25)),
        ("copper", "12", (20, 25, 30)),
        ("copper", "10", (30, 35, 40)),
        ("copper", "8", (40, 50, 55)),
        ("copper", "6", (55, 65, 75)),
        ("copper", "1", (110, 130, 145)),
        ("copper", "4/0", (195, 230, 260)),
        ("copper", "500", (320, 380, 430)),
        ("aluminum", "10", (25, 30, 35)),
        ("aluminum", "6", (40, 50, 55)),
        ("aluminum", "4/0", (150, 180, 205)),
        ("aluminum", "300", (195, 230, 260)),
    ],
)
def test_ampacity(material: str, size: str, printed: tuple[int, int, int]) -> None:
    for book in ALL:
        assert tuple(book.ampacity(material, size, column).number for column in (60, 75, 90)) == printed


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


@pytest.mark.source("brunsengineering.com, NEC table 250.122", locator="all rows")
@pytest.mark.parametrize(
    ("rating", "copper", "aluminum"),
    [
        (15, "14", "12"),
        (15.1, "12", "10"),
        (20, "12", "10"),
        (21, "10", "8"),
        (60, "10", "8"),
        (61, "8", "6"),
        (100, "8", "6"),
        (200, "6", "4"),
        (800, "1/0", "3/0"),
        (6000, "800", "1250"),
        (0.5, "14", "12"),
    ],
)
def test_egc_size(rating: float, copper: str, aluminum: str) -> None:
    assert (BOOK.egc_size(rating, "copper").value, BOOK.egc_size(rating, "aluminum").value) == (
        copper,
        aluminum,
    )


def test_egc_size_has_the_unit_of_its_size() -> None:
    assert (BOOK.egc_size(60, "copper").unit, BOOK.egc_size(2000, "copper").unit) == ("AWG", "kcmil")


@pytest.mark.source("cooper-electric.com, buckworks.net, sparky-hq.com: Table 250.66", locator="all rows")
def test_ac_grounding_electrode_conductor() -> None:
    assert BOOK.gec_ac_size("2", "copper", "copper").value == "8"
    assert BOOK.gec_ac_size("1/0", "aluminum", "copper").value == "8"
    assert BOOK.gec_ac_size("4/0", "copper", "copper").value == "2"
    assert BOOK.gec_ac_size("250", "aluminum", "aluminum").value == "2"
    assert BOOK.gec_ac_size("1250", "copper", "copper").value == "3/0"


@pytest.mark.source("NFPA 70, 250.166", locator="(B) and (C)", read="memory")
def test_dc_grounding_electrode_conductor() -> None:
    rule = BOOK.gec_dc("rod-pipe-plate")
    assert rule.bound == "at most"
    assert rule.copper is not None
    assert (rule.copper.value, rule.copper.recalled) == ("6", True)
    assert BOOK.gec_dc("ground-ring").copper is None


@pytest.mark.source("ecmweb.com, code Q&A, fuse and breaker ratings (2017 edition)", locator="240.6(A)")
@pytest.mark.parametrize(
    ("current", "fuse", "breaker"),
    [
        (15, 15, 15),
        (15.01, 20, 20),
        (25 * 1.0, 25, 25),
        (550, 600, 600),
        (600.5, 601, 700),
        (6000, 6000, 6000),
    ],
)
def test_next_standard_rating(current: float, fuse: float, breaker: float) -> None:
    assert BOOK.next_standard_rating(current).number == fuse
    assert BOOK.next_standard_rating(current, "breaker").number == breaker


@pytest.mark.source("expertce.com on the 2023 edition", locator="10 A breaker")
def test_ten_ampere_breaker_is_standard_since_2023() -> None:
    assert [book.next_standard_rating(9, "breaker").number for book in ALL] == [15, 15, 10]
    assert [book.next_standard_rating(9, "fuse").number for book in ALL] == [10, 10, 10]


def test_noise_of_a_product_does_not_skip_a_rating() -> None:
    assert BOOK.next_standard_rating(1.25 * 1.25 * 9.6).number == 15
    assert BOOK.egc_size(15 + 1e-12, "copper").value == "14"


@pytest.mark.source("encorewire.com wire size table; alanwire.com allowable ampacities", locator="240.4(D)")
@pytest.mark.parametrize(
    ("material", "size", "cap"),
    [
        ("copper", "14", 15),
        ("copper", "12", 20),
        ("copper", "10", 30),
        ("aluminum", "12", 15),
        ("aluminum", "10", 25),
    ],
)
def test_small_conductor_cap(material: str, size: str, cap: float) -> None:
    found = BOOK.small_conductor_cap(material, size)
    assert found is not None
    assert found.number == cap


def test_no_cap_above_10_awg_but_unknown_below_the_table() -> None:
    assert BOOK.small_conductor_cap("copper", "8") is None
    assert BOOK.small_conductor_condition("copper", "16") == "conditional"
    assert BOOK.small_conductor_condition("copper", "10") == ""
    newest = BOOK.small_conductor_cap("copper-clad aluminum", "14")
    assert newest is not None
    assert newest.number == 10
    with pytest.raises(OutsideTable):
        load("nec2020").small_conductor_cap("copper-clad aluminum", "14")


@pytest.mark.source(
    "course text on 690.7(A), publisher not known", locator="1.18 for -16 to -20 °C, 1.02 for 20 to 24 °C"
)
@pytest.mark.parametrize(("celsius", "factor"), [(-16, 1.18), (-20, 1.18), (20, 1.02), (24, 1.02)])
def test_voltage_factors_that_were_read(celsius: float, factor: float) -> None:
    assert BOOK.voltage_table_factor(celsius).number == factor


@pytest.mark.source("NFPA 70, Table 690.7(A)", locator="bands and their edges", read="memory")
@pytest.mark.parametrize(
    ("celsius", "factor"),
    [
        *(
            (25, 1.00),
            (40, 1.00),
            (24.999, 1.02),
            (24.5, 1.02),
            (19.5, 1.04),
            (0, 1.10),
            (-0.5, 1.12),
            (-1, 1.12),
        ),
        *(
            (-5, 1.12),
            (-5.5, 1.14),
            (-10, 1.14),
            (-10.1, 1.16),
            (-25, 1.20),
            (-26, 1.21),
            (-35.2, 1.25),
            (-40, 1.25),
        ),
    ],
)
def test_voltage_table_factor_at_the_edges(celsius: float, factor: float) -> None:
    assert BOOK.voltage_table_factor(celsius).number == factor


def test_voltage_factor_in_fahrenheit_bands() -> None:
    # The table prints 14 to 22 °F beside -10 to -6 °C, and -40 °F beside -40 °C.
    assert BOOK.voltage_table_factor(convert(14, "degF", "degC")).number == 1.14
    assert BOOK.voltage_table_factor(convert(-40, "degF", "degC")).number == 1.25


@pytest.mark.source("electricallicenserenewal.com, 690.7 by edition", locator="sections 377 and 961")
def test_voltage_limits() -> None:
    assert [book.voltage_limit("dwelling").number for book in ALL] == [600, 600, 600]
    assert [book.voltage_limit("other").number for book in ALL] == [1000, 1000, 1000]
    assert [book.voltage_limit("ground").number for book in ALL] == [1500, 1500, 1000]
    assert {book.beyond_voltage_limit("dwelling").value for book in ALL} == {"fails"}
    assert {book.beyond_voltage_limit("ground").value for book in ALL} == {"ask"}
    assert [book.beyond_voltage_limit("other").value for book in ALL] == ["fails", "fails", "ask"]


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


def test_labels_of_an_edition() -> None:
    labels = {label.key: label for label in BOOK.labels()}
    spacing = labels["raceway"].spacing
    assert spacing is not None
    assert (spacing.number, spacing.unit, labels["raceway"].clause.text) == (10, "ft", "690.31(D)(2)")
    assert labels["max-voltage"].letters is None
    assert ALL[0].labels()[0].wording == "WARNING: PHOTOVOLTAIC POWER SOURCE"


@pytest.mark.source(
    "ecmweb.com, Article 690 part 3; homepower.com, circuit sizing", locator="690.8: 125 percent twice"
)
def test_numbers_of_currents() -> None:
    product = BOOK.number("irradiance-factor").number * BOOK.number("continuous-factor").number
    assert product == 1.5625
    assert BOOK.number("irradiance-factor").table == "690.8(A)(1)(a)"
    assert ALL[0].number("irradiance-factor").table == "690.8(A)(1)(1)"


def test_numbers_by_edition() -> None:
    assert [book.number("indoor-metal-voltage").number for book in ALL] == [0, 30, 30]
    size = BOOK.number("egc-smallest")
    assert (size.value, size.unit) == ("14", "AWG")
    for row in BOOK.table("numbers").rows:
        assert row["unit"] in {*UNITS, "size", "count", "in/in/degF"}


@pytest.mark.source(
    "electricallicenserenewal.com, section 1550; re-wrenches messages 34914 and 35664",
    locator="exceptions of 690.12",
)
def test_rulings_by_edition() -> None:
    def answers(key: str) -> list[str]:
        return [book.ruling(key).answer for book in ALL]

    assert answers("rapid-shutdown-exterior-termination") == ["ask", "ask", "excepted"]
    assert answers("rapid-shutdown-inside-building") == ["applies"] * 3
    assert answers("arc-fault-ground-string") == ["applies", "applies", "ask"]
    assert answers("spare-conductors") == ["count"] * 3
    assert BOOK.ruling("riser-schedule-40").answer == "ask"
    assert BOOK.ruling("spare-conductors").recalled


OUTSIDE: list[Callable[[Rulebook], object]] = [
    lambda b: b.ampacity("copper", "18", 60),
    lambda b: b.ampacity("aluminum", "14", 90),
    lambda b: b.ampacity("copper", "1000", 90),
    lambda b: b.ampacity("copper", "10", 105),
    lambda b: b.ampacity("silver", "10", 90),
    lambda b: b.ampacity("copper", "6 mm2", 90),
    lambda b: b.ambient_factor(60, 56),
    lambda b: b.ambient_factor(75, 70.1),
    lambda b: b.ambient_factor(90, 85.5),
    lambda b: b.ambient_factor(105, 40),
    lambda b: b.ambient_factor(90, math.nan),
    lambda b: b.ambient_factor(90, -math.inf),
    lambda b: b.count_factor(0),
    lambda b: b.count_factor(-3),
    lambda b: b.roof_adder(-0.1),
    lambda b: b.roof_adder(math.nan),
    lambda b: b.fill_limit(0),
    lambda b: b.fill_limit(0, nipple=True),
    lambda b: b.bore("EMT", "5"),
    lambda b: b.bore("EMT", "3/8"),
    lambda b: b.bore("RTRC", "1"),
    lambda b: b.bore("EMT", "27 mm"),
    lambda b: b.conductor_size("THHN", "600"),
    lambda b: b.conductor_size("THHN", "9.5"),
    lambda b: b.compact_conductor_size("THHN", "8"),
    lambda b: b.compact_conductor_size("THHN/XHHW-2", "4"),
    lambda b: b.insulation("NM-B"),
    lambda b: b.resistance("copper", "6", stranded=False),
    lambda b: b.resistance("aluminum", "6", coated=True),
    lambda b: b.resistance("copper", "900"),
    lambda b: b.bare_conductor("6", stranded=False),
    lambda b: b.circular_mils("1000"),
    lambda b: b.resistance_temperature_coefficient("iron"),
    lambda b: b.ac_resistance("aluminum", "14", "pvc"),
    lambda b: b.ac_resistance("copper", "14", "wood"),
    lambda b: b.ac_reactance("14", "wood"),
    lambda b: b.bend_radius("3/8"),
    lambda b: b.bend_limit("tray"),
    lambda b: b.support("HDPE", "1"),
    lambda b: b.support("EMT", "1", straight=True),
    lambda b: b.cover("moon", "raceway"),
    lambda b: b.cover("other", "remark"),
    lambda b: b.pvc_expansion(-1),
    lambda b: b.pvc_expansion(200.1),
    lambda b: b.pvc_expansion(math.nan),
    lambda b: b.box_volume("5x5"),
    lambda b: b.box_conductor_volume("4"),
    lambda b: b.box_allowance("lamp"),
    lambda b: b.standard_ratings("relay"),
    lambda b: b.next_standard_rating(6000.1),
    lambda b: b.next_standard_rating(0),
    lambda b: b.next_standard_rating(math.nan),
    lambda b: b.small_conductor_cap("aluminum", "14"),
    lambda b: b.small_conductor_cap("copper", "20"),
    lambda b: b.small_conductor_cap("silver", "8"),
    lambda b: b.egc_size(6001, "copper"),
    lambda b: b.egc_size(0, "copper"),
    lambda b: b.egc_size(math.nan, "copper"),
    lambda b: b.egc_size(20, "steel"),
    lambda b: b.gec_ac_size("2", "steel", "copper"),
    lambda b: b.gec_ac_size("2", "copper", "steel"),
    lambda b: b.gec_dc("tree"),
    lambda b: b.voltage_table_factor(-40.1),
    lambda b: b.voltage_table_factor(math.nan),
    lambda b: b.voltage_table_factor(math.inf),
    lambda b: b.voltage_limit("boat"),
    lambda b: b.beyond_voltage_limit("boat"),
]


@pytest.mark.parametrize("lookup", OUTSIDE)
@pytest.mark.parametrize("book", ALL, ids=lambda book: book.edition.name)
def test_outside_a_table_there_is_no_value(lookup: Callable[[Rulebook], object], book: Rulebook) -> None:
    with pytest.raises(OutsideTable) as caught:
        lookup(book)
    error = caught.value
    assert error.table
    assert error.key
    assert str(error) == f"{error.table} has no value for {error.key}; it covers {error.valid}"


temperatures = st.floats(-60, 85)


@given(st.sampled_from([60, 75, 90]), temperatures, temperatures)
def test_hotter_never_carries_more(insulation: int, one: float, other: float) -> None:
    def factor(ambient: float) -> float:
        try:
            return BOOK.ambient_factor(insulation, ambient).number
        except OutsideTable:
            return 0.0

    cool, hot = sorted((one, other))
    assert factor(hot) <= factor(cool)


@given(st.integers(1, 200), st.integers(1, 200))
def test_more_conductors_never_carry_more(one: int, other: int) -> None:
    few, many = sorted((one, other))
    assert BOOK.count_factor(many).number <= BOOK.count_factor(few).number


@given(st.floats(-40, 60), st.floats(-40, 60))
def test_colder_never_has_the_smaller_voltage(one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert BOOK.voltage_table_factor(cold).number >= BOOK.voltage_table_factor(warm).number


@given(st.floats(0.01, 6000), st.sampled_from(["fuse", "breaker"]))
def test_next_rating_is_the_nearest_one_above(current: float, device: str) -> None:
    chosen = BOOK.next_standard_rating(current, device).number
    assert chosen >= current - 1e-9
    assert not [cell for cell in BOOK.standard_ratings(device) if current <= cell.number < chosen]


@given(st.floats(0.01, 6000), st.floats(0.01, 6000))
def test_a_larger_device_never_has_the_smaller_grounding_conductor(one: float, other: float) -> None:
    from reportgen.rulebook.sizes import size_index

    small, large = sorted((one, other))
    assert size_index(BOOK.egc_size(large, "copper").value) >= size_index(
        BOOK.egc_size(small, "copper").value
    )
