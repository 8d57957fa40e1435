"""Lookups of ratings, grounding, voltage, numbers, rulings and labels: values read elsewhere, edges of bands."""

from __future__ import annotations

import pytest

from reportgen.rulebook.rulebook import OutsideTable, load
from reportgen.working.units import UNITS, convert

BOOK = load("nec2023")
ALL = [load(name) for name in ("nec2017", "nec2020", "nec2023")]


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


@pytest.mark.source("brunsengineering.com, NEC table 250.122", locator="all rows, typed a second time")
def test_egc_table() -> None:
    printed = (
        "15 14 12; 20 12 10; 60 10 8; 100 8 6; 200 6 4; 300 4 2; 400 3 1; 500 2 1/0; 600 1 2/0; 800 1/0 3/0; 1000 2/0 4/0; "
        "1200 3/0 250; 1600 4/0 350; 2000 250 400; 2500 350 600; 3000 400 600; 4000 500 750; 5000 700 1250; 6000 800 1250"
    )
    rows = [" ".join((row["rating"], row["copper"], row["aluminum"])) for row in BOOK.table("egc").rows]
    assert "; ".join(rows) == printed


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


@pytest.mark.source("NFPA 70 (2023)", locator="rules with a number, typed a second time", read="memory")
def test_numbers_typed_a_second_time() -> None:
    printed = (
        "irradiance-factor 1.25, continuous-factor 1.25, ocpd-factor 1.25, ambient-base 30, termination-small-current 100, "
        "termination-small-size 1, termination-unmarked-small 60, termination-marked 75, termination-large 75, start-column 90, "
        "next-size-up-limit 800, egc-smallest 14, insulation-voltage-unmarked 600, arc-fault-voltage 80, "
        "rapid-shutdown-outside-voltage 30, rapid-shutdown-inside-voltage 80, rapid-shutdown-time 30, rapid-shutdown-boundary 1, "
        "indoor-metal-voltage 30, indoor-metal-current 8, nipple-length 24, fill-rounding-decimal 0.8, jam-low 2.8, jam-high 3.2, "
        "bend-limit 360, count-trench-length 10, count-trench-conductors 4, short-segment-length 10, short-segment-share 0.1, "
        "cover-voltage 1000, pvc-expansion-coefficient 0.0000338, expansion-trigger 0.25, box-largest-size 6, "
        "pull-box-smallest-size 4, pull-box-straight 8, pull-box-angle 6, pull-box-same-conductor 6"
    )
    for item in printed.split(", "):
        key, value = item.split()
        assert BOOK.number(key).number == float(value), key


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
