"""Raceways through the folder: fill, cover, supports, bends, movement; each passing, failing and exactly at the limit."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pipe_folder import folder, found, outcome

from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.design.graph import SegmentId
from reportgen.design.missing import Missing
from reportgen.design.raceways import fill_with
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

TRENCH = "t: {kind: PVC-40, size: 1-1/2, length: 50 m, place: underground%s}"
RISER = "r: {kind: PVC-80, size: 1-1/2, length: 1 m, place: outdoors%s}"
LARGE_WIRE = "{markings: [PV wire], voltage: 600 V, sizes: [{size: 10 AWG, diameter: %s}]}"


def trench(text: str = "") -> str:
    return TRENCH % (f", {text}" if text else "")


def riser(text: str = "") -> str:
    return RISER % (f", {text}" if text else "")


# Fill


def test_ridge_meadow_fill_by_hand(design) -> None:
    """Six 10 AWG and a ground: 7 × 0.0211 = 0.1477 in² of 1.986 and of 1.711 in²: 7.44 % and 8.63 %."""
    made = design(folder(trench() + "\n" + riser(), strings=3))
    assert found(made, "raceway-fill:R1/t").value.value == pytest.approx(7.437, abs=1e-3)
    assert found(made, "raceway-fill:R1/r").value.value == pytest.approx(8.632, abs=1e-3)


ORCHARD = "t: {kind: PVC-40, size: %s, length: 222 ft, place: underground}\nr: {kind: PVC-80, size: %s, length: 4 ft, place: outdoors}"


@pytest.mark.parametrize(
    ("pipe", "wire", "size", "ground", "fills", "outcomes"),
    [
        # Own hand calculations: 16 wires and a ground over the bore, by the areas 0.0211, 0.0366, 0.0507 and 0.0437 in².
        ("1-1/4", None, "10 AWG", "8 AWG", (25.75, 30.25), ("meets", "meets")),
        ("1-1/4", "5.9915 mm", "10 AWG", "8 AWG", (50.64, 59.48), ("fails", "fails")),
        ("1-1/4", None, "8 AWG", "6 AWG", (43.79, 51.44), ("fails", "fails")),
        ("1-1/2", "5.9915 mm", "10 AWG", "6 AWG", (37.76, 43.83), ("meets", "fails")),
        ("1-1/2", None, "8 AWG", "6 AWG", (32.04, 37.19), ("meets", "meets")),
    ],
)
def test_orchard_bank_fill_by_hand(design, pipe, wire, size, ground, fills, outcomes) -> None:
    sheet = {"wire": LARGE_WIRE % wire} if wire else {}
    made = design(folder(ORCHARD % (pipe, pipe), strings=8, size=size, ground=ground, **sheet))
    for segment, share, verdict in zip("tr", fills, outcomes, strict=True):
        fill = found(made, f"raceway-fill:R1/{segment}")
        assert fill.value.value == pytest.approx(share, abs=0.02)
        assert str(fill.outcome) == verdict or (verdict == "meets" and fill.outcome is Outcome.THIN)


@pytest.mark.parametrize(
    ("circuits", "limit"),
    [
        ("  A1: {kind: spare, cable: WIRE, size: 10 AWG, path: [R1]}", 53),
        ("  A1: {kind: spare, conductors: 2, cable: WIRE, size: 10 AWG, path: [R1]}", 31),
        ("  A1: {kind: abandoned, conductors: 3, cable: WIRE, size: 10 AWG, path: [R1]}", 40),
        ("  A1: {kind: ground, conductors: 3, cable: WIRE, size: 10 AWG, path: [R1]}", 40),
    ],
)
@pytest.mark.source("NFPA 70, National Electrical Code, 2023 edition", locator="Chapter 9, Table 1")
def test_share_goes_by_the_number_of_all_conductors(design, circuits, limit) -> None:
    made = design(folder(trench(), strings=0, ground=None, circuits=circuits))
    assert found(made, "raceway-fill:R1/t").limit.value == pytest.approx(limit)


@pytest.mark.parametrize(("length", "limit"), [("24 in", 60), ("24.1 in", 40)])
@pytest.mark.source("NFPA 70, National Electrical Code, 2023 edition", locator="Chapter 9, Note 4")
def test_a_nipple_may_be_fuller_up_to_its_length(design, length, limit) -> None:
    made = design(folder(riser().replace("length: 1 m", f"length: {length}"), strings=2))
    assert found(made, "raceway-fill:R1/r").limit.value == pytest.approx(limit)


@pytest.mark.parametrize(("diameter", "verdict"), [("0.6945 in", "thin"), ("0.6946 in", "fails")])
def test_fill_on_both_sides_of_the_limit(design, diameter, verdict) -> None:
    # 40 % of 1.986 in² is 0.7944 in²; less the ground's 0.0366 in² that leaves 0.3789 in² a wire, a diameter of 0.69457 in.
    made = design(folder(trench(), wire=LARGE_WIRE % diameter, ground="8 AWG"))
    assert outcome(made, "raceway-fill:R1/t") == verdict


THREE = "  A1: {kind: spare, conductors: 3, cable: WIRE, size: 10 AWG, path: [R1]}"


@pytest.mark.parametrize(("diameter", "verdict"), [("0.6010 in", "thin"), ("0.6011 in", "fails")])
@pytest.mark.source("NFPA 70, National Electrical Code, 2023 edition", locator="Chapter 9, Note 7")
def test_conductors_of_one_size_round_up_from_eight_tenths(design, diameter, verdict) -> None:
    # 0.7944 in² over 2.8 is 0.28371 in², a diameter of 0.60103 in: three wires by rounding up, 42.9 % of the bore.
    made = design(folder(trench(), strings=0, ground=None, wire=LARGE_WIRE % diameter, circuits=THREE))
    fill = found(made, "raceway-fill:R1/t")
    assert fill.value.value > fill.limit.value
    assert str(fill.outcome) == verdict
    # One conductor of another size ends the permission, even a thin one.
    mixed = folder(trench(), strings=0, ground="10 AWG", wire=LARGE_WIRE % diameter, circuits=THREE)
    assert outcome(design(mixed), "raceway-fill:R1/t") == "fails"


def test_wire_without_a_table_row_needs_its_data_sheet(design) -> None:
    made = design(folder(trench(), wire="{markings: [PV wire], voltage: 600 V}"))
    fill = found(made, "raceway-fill:R1/t")
    assert fill.outcome is Outcome.UNKNOWN
    assert "outside diameter of cable WIRE in 10 AWG" in fill.missing[0]


def test_bare_ground_takes_the_space_of_its_metal(design) -> None:
    # Seven strands of 10 AWG: 0.0116 in over its strands squared by π/4 = 0.0106 in² of 1.986 in² (Table 8, recalled).
    insulated = folder(trench(), strings=0, circuits="")
    assert found(design(insulated), "raceway-fill:R1/t").value.value == pytest.approx(100 * 0.0211 / 1.986)
    bare = {
        name: data.replace(b"EARTH: {markings: [THWN-2], voltage: 600 V}", b"EARTH: {markings: [bare]}")
        for name, data in insulated.items()
    }
    assert found(design(bare), "raceway-fill:R1/t").value.value == pytest.approx(
        100 * 0.011 / 1.986, abs=0.03
    )


def test_fill_with_another_size_by_hand(design) -> None:
    made = design(folder(trench(), strings=3))
    facts = made.facts
    # Two of 8 AWG, four of 10 AWG and a ground: 2 · 0.0366 + 5 · 0.0211 = 0.1787 in² of 1.986 in².
    there = fill_with(facts.graph, facts.rulebook, SegmentId("R1", "t"), "C2", "8 AWG")
    assert there.value == pytest.approx(100 * 0.1787 / 1.986)
    beyond = fill_with(facts.graph, facts.rulebook, SegmentId("R1", "t"), "C2", "2000 kcmil")
    assert isinstance(beyond, Missing)


# Laws


def fill_of(**changes) -> float:
    project = load_project(folder(trench(), **changes))
    made = assemble(project, load("nec2023"), "law")
    return made.facts.stretches[0].fill.value


SIZES = st.lists(st.sampled_from(["14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG"]), min_size=1, max_size=6)


def grounds(sizes) -> str:
    rows = enumerate(sizes, start=1)
    return "\n".join(f"  A{n}: {{kind: ground, cable: WIRE, size: {size}, path: [R1]}}" for n, size in rows)


@settings(max_examples=12, deadline=None)
@given(sizes=SIZES, order=st.randoms(use_true_random=False))
def test_a_further_conductor_never_fills_less_and_order_does_not_matter(sizes, order) -> None:
    whole = fill_of(strings=0, ground=None, circuits=grounds(sizes))
    shuffled = list(sizes)
    order.shuffle(shuffled)
    assert fill_of(strings=0, ground=None, circuits=grounds(shuffled)) == pytest.approx(whole, rel=1e-12)
    assert fill_of(strings=0, ground="14 AWG", circuits=grounds(sizes)) > whole


@pytest.mark.parametrize(
    "kind", ["PVC-40", "PVC-80", "EMT", "RMC", "IMC", "FMC", "LFMC", "ENT", "LFNC-B", "HDPE"]
)
def test_every_kind_has_bores_and_a_larger_pipe_never_fills_more(design, kind) -> None:
    shares = []
    for size in load("nec2023").trade_sizes(kind):
        pipe = f"t: {{kind: {kind}, size: {size}, length: 50 m, place: indoors}}"
        shares.append(found(design(folder(pipe, strings=2)), "raceway-fill:R1/t").value.value)
    assert len(shares) > 3
    assert shares == sorted(shares, reverse=True)


# Cover


@pytest.mark.parametrize(
    ("kind", "surface", "cover", "verdict"),
    [
        # Own reading of the table: rigid plastic 18 in, threaded steel 6 in, anything under a road 24 in.
        ("PVC-40", "open ground", "18 in", "meets"),
        ("PVC-40", "open ground", "17.9 in", "fails"),
        ("HDPE", "open ground", "17.9 in", "fails"),
        ("EMT", "open ground", "17 in", "fails"),
        ("LFMC", "open ground", "17 in", "fails"),
        ("RMC", "open ground", "6 in", "meets"),
        ("IMC", "open ground", "5.9 in", "fails"),
        ("RMC", "road or parking", "23 in", "fails"),
        ("PVC-40", "road or parking", "24 in", "meets"),
        ("PVC-40", "dwelling driveway", "18 in", "meets"),
        ("PVC-40", "concrete", "12 in", "meets"),
        ("PVC-40", "concrete", "11.9 in", "fails"),
        ("PVC-40", "slab", "4 in", "meets"),
        ("PVC-40", "building", "0 in", "meets"),
        ("PVC-40", "rock", "1.9 in", "fails"),
    ],
)
@pytest.mark.parametrize("edition", ["nec2017", "nec2020", "nec2023"])
@pytest.mark.source("NFPA 70, National Electrical Code, 2023 edition", locator="Table 300.5(A)")
def test_cover_by_kind_and_place(design, kind, surface, cover, verdict, edition) -> None:
    pipe = trench(f"surface: {surface}, cover: {cover}").replace("PVC-40", kind)
    assert outcome(design(folder(pipe, edition=edition)), "raceway-cover:R1/t") == verdict


@pytest.mark.parametrize(
    ("raceway", "cover", "verdict"),
    [
        # Nobody says what lies above: only a cover that is enough everywhere meets.
        ("status: new", "24 in", "meets"),
        ("status: new", "23 in", "unknown"),
        ("traffic: none", "18 in", "meets"),
        ("traffic: none", "17 in", "unknown"),
        ("traffic: road", "23 in", "fails"),
        # A driveway that may serve more than a dwelling counts as a road.
        ("traffic: driveway", "20 in", "fails"),
    ],
)
def test_cover_where_the_place_is_open(design, raceway, cover, verdict) -> None:
    made = design(folder(trench(f"cover: {cover}"), raceway=raceway))
    assert outcome(made, "raceway-cover:R1/t") == verdict


def test_cover_is_counted_to_the_top_of_the_pipe(design) -> None:
    # 20 in of trench − 2 in of sand − 1.9 in of pipe = 16.1 in, less than 18; the trench has to be 21.9 in deep.
    pipe = "surface: open ground, trench_depth: 20 in, bedding: 2 in, outside_diameter: 1.9 in"
    made = found(design(folder(trench(pipe))), "raceway-cover:R1/t")
    assert made.value.value == pytest.approx(16.1)
    assert made.outcome is Outcome.FAILS
    assert "21.9 in" in made.cure
    # A cover that is stated and a trench that denies it: the lesser counts.
    both = found(design(folder(trench(f"{pipe}, cover: 20 in"))), "raceway-cover:R1/t")
    assert both.outcome is Outcome.FAILS
    # Sand that nobody measured may be any depth.
    without = trench(pipe.replace("bedding: 2 in, ", "").replace("20 in", "40 in"))
    assert outcome(design(folder(without)), "raceway-cover:R1/t") == "unknown"


def test_cover_above_the_voltage_of_the_table_never_meets(design) -> None:
    # 26 · 37.1 · (1 + 0.0027 · 49) = 1092 V; the table ends at 1000 V.
    made = design(folder(trench("surface: open ground, cover: 40 in"), modules=26))
    assert outcome(made, "raceway-cover:R1/t") == "unknown"


@pytest.mark.parametrize(
    ("kind", "verdict"), [("FMC", "fails"), ("ENT", "fails"), ("LFMC", "ask"), ("PVC-40", None)]
)
@pytest.mark.source(
    "NFPA 70, National Electrical Code, 2023 edition", locator="348.12, 362.12", read="memory"
)
def test_kinds_that_are_not_made_for_earth(design, kind, verdict) -> None:
    made = design(folder(trench("cover: 24 in").replace("PVC-40", kind)))
    ends = {str(item.outcome) for item in made.findings if item.code == "raceway-burial"}
    assert ends == ({verdict} if verdict else set())


@pytest.mark.parametrize(("voltage", "verdict"), [("1000 V", "meets"), ("1001 V", "unknown")])
def test_the_table_of_cover_ends_at_its_voltage(design, voltage, verdict) -> None:
    text = f"  O1: {{kind: output, inverter: I1, cable: WIRE, size: 10 AWG, voltage: {voltage}, path: [R1]}}"
    made = design(folder(trench("surface: open ground, cover: 20 in"), strings=0, circuits=text))
    assert outcome(made, "raceway-cover:R1/t") == verdict


@pytest.mark.parametrize(
    ("cover", "verdict"), [("17.9 in", "fails"), ("18 in", "unknown"), ("24 in", "meets")]
)
def test_a_driveway_at_a_dwelling_may_be_a_shared_one(design, cover, verdict) -> None:
    files = {
        name: data.replace(b"building: no building", b"building: dwelling")
        for name, data in folder(trench(f"cover: {cover}"), raceway="traffic: driveway").items()
    }
    assert outcome(design(files), "raceway-cover:R1/t") == verdict


# Supports


@pytest.mark.parametrize(
    ("kind", "size", "spacing", "verdict"),
    [
        ("PVC-40", "1", "3 ft", "meets"),
        ("PVC-40", "1-1/4", "5 ft", "meets"),
        ("PVC-40", "1-1/4", "5.1 ft", "fails"),
        ("PVC-80", "2-1/2", "6 ft", "meets"),
        ("EMT", "1", "10 ft", "meets"),
        ("EMT", "1", "10.1 ft", "fails"),
        ("LFNC-B", "1", "4 ft", "fails"),
        ("LFMC", "1", "4.5 ft", "meets"),
        # Threaded pipe may reach further on straight runs with threaded couplings, which nobody stated.
        ("RMC", "1", "12 ft", "ask"),
        ("RMC", "1", "12.1 ft", "fails"),
    ],
)
@pytest.mark.source(
    "NFPA 70, National Electrical Code, 2023 edition", locator="342.30 to 362.30", read="memory"
)
def test_spacing_of_supports(design, kind, size, spacing, verdict) -> None:
    pipe = f"r: {{kind: {kind}, size: {size}, length: 9 m, place: indoors, support_spacing: {spacing}, first_support: 1 ft}}"
    made = design(folder(pipe))
    assert outcome(made, "raceway-support:R1/r:supports") == verdict
    assert outcome(made, "raceway-support:R1/r:first") == "meets"


def test_supports_that_are_not_stated_are_one_line_and_no_pass(design) -> None:
    made = found(design(folder(riser() + "\n" + riser().replace("r:", "q:", 1))), "raceway-support:R1")
    assert made.outcome is Outcome.UNKNOWN
    assert made.notes == (
        "R1/r: at most 1.52 m (5.0 ft) apart, the first within 0.91 m (3.0 ft)",
        "R1/q: at most 1.52 m (5.0 ft) apart, the first within 0.91 m (3.0 ft)",
    )


# Bends


@pytest.mark.parametrize(
    ("made_by", "radius", "verdict"),
    [
        # 1-1/2 in: 8.25 in for one-shot and full-shoe benders, 10 in for others.
        ("one-shot bender", "8.25 in", "meets"),
        ("one-shot bender", "8.2 in", "fails"),
        ("other bender", "10 in", "meets"),
        ("other bender", "9.9 in", "fails"),
        ("", "10 in", "meets"),
        ("", "9 in", "unknown"),
        ("", "8.2 in", "fails"),
    ],
)
@pytest.mark.source("NFPA 70, National Electrical Code, 2011 handbook", locator="Chapter 9, Table 2")
def test_radius_of_a_bend(design, made_by, radius, verdict) -> None:
    how = f"bends_made: {made_by}, " if made_by else ""
    made = design(folder(trench(f"{how}bends: [90 deg], bend_radius: {radius}")))
    assert outcome(made, "raceway-bend-radius:R1/t:bend 1") == verdict


def test_each_bend_has_its_own_radius_and_the_tight_one_fails(design) -> None:
    made = design(folder(trench("bends: [90 deg, {angle: 90 deg, radius: 6 in}], bend_radius: 12 in")))
    assert outcome(made, "raceway-bend-radius:R1/t:bend 1") == "meets"
    assert outcome(made, "raceway-bend-radius:R1/t:bend 2") == "fails"


@pytest.mark.parametrize(("limit", "verdict"), [("9.195 in", "meets"), ("9.3 in", "fails")])
def test_bend_against_the_maker_of_the_wire(design, limit, verdict) -> None:
    # The inner wall of a 10 in bend of 1-1/2 in Schedule 40: 10 − 1.590 / 2 = 9.205 in.
    wire = f"{{markings: [THWN-2], voltage: 600 V, sizes: [{{size: 10 AWG, bend_radius: {limit}}}]}}"
    made = design(folder(trench("bends: [90 deg], bend_radius: 10 in"), wire=wire))
    assert outcome(made, "raceway-wire-bend:R1/t:bend 1") == verdict


def test_of_two_makers_the_stricter_counts(design) -> None:
    wire = "{markings: [THWN-2], voltage: 600 V, sizes: [{size: 10 AWG, bend_radius: 2 in}, {size: 8 AWG, bend_radius: 9.5 in}]}"
    text = "\n".join(
        f"  W{n}: {{kind: spare, cable: WIRE, size: {size}, path: [R1]}}"
        for n, size in enumerate(("10 AWG", "8 AWG", "10 AWG"))
    )
    made = design(folder(trench("bends: [90 deg], bend_radius: 10 in"), strings=0, wire=wire, circuits=text))
    assert outcome(made, "raceway-wire-bend:R1/t:bend 1") == "fails"


@pytest.mark.parametrize(
    ("bends", "verdict"),
    [("90 deg, 90 deg, 90 deg, 90 deg", "meets"), ("90 deg, 90 deg, 90 deg, 90 deg, 10 deg", "fails")],
)
def test_bends_between_pull_points(design, bends, verdict) -> None:
    made = design(folder(trench(f"bends: [{bends}]")))
    assert outcome(made, "raceway-bends:R1:T1-I1") == verdict


# Movement


@pytest.mark.parametrize(("length", "verdict"), [("6.15 ft", "meets"), ("6.18 ft", "unknown")])
@pytest.mark.source("NFPA 70, National Electrical Code, 2008 edition", locator="352.44 and its table")
def test_movement_on_both_sides_of_a_quarter_inch(design, length, verdict) -> None:
    # A swing of 100 °F is 4.06 in a hundred feet: a quarter of an inch in 6.158 ft.
    pipe = riser("temperature_swing: 55.55").replace("length: 1 m", f"length: {length}")
    made = design(folder(pipe, low="-17 degC"))
    assert outcome(made, "raceway-expansion:R1:straight 1, r") == verdict


def test_swing_from_the_site_and_the_sun_by_hand(design) -> None:
    # −24 °C to 38 °C is 111.6 °F, and 30 °F in the sun: 141.6 °F, the row of 145 °F: 5.88 in for 100 ft; 20 ft: 1.176 in.
    pipe = riser("sun: yes, expansion_travel: 4 in").replace("length: 1 m", "length: 20 ft")
    made = design(folder(pipe))
    one = found(made, "raceway-expansion:R1:straight 1, r")
    assert one.value.value == pytest.approx(1.176, abs=1e-6)
    assert one.outcome is Outcome.MEETS
    movement = made.facts.movement[0]
    opening = dict(movement.settings)[20]
    # Hottest pipe 100.4 + 30 = 130.4 °F; at 20 °C (68 °F): 4 · 62.4 / 141.6 = 1.763 in.
    assert opening.value == pytest.approx(1.763, abs=1e-3)


def test_shade_takes_the_sun_away_and_silence_does_not(design) -> None:
    swings = []
    for text in ("sun: no", "sun: yes", ""):
        made = design(folder(riser(text)))
        swings.append(made.facts.movement[0].swing.value)
        listed = any(assumed.key == "sun on plastic raceways" for assumed, _ in made.assumptions)
        assert listed == (text == "")
    assert swings == pytest.approx([111.6, 141.6, 141.6])


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("expansion_travel: 4 in", "meets"),
        ("expansion_travel: 1 in", "fails"),
        ("expansion_travel: 0 in", "fails"),
        ("", "unknown"),
        ("fixed_ends: no", "meets"),
        ("fixed_ends: yes", "unknown"),
    ],
)
def test_fittings_of_a_long_straight(design, text, verdict) -> None:
    made = design(folder(riser(text).replace("length: 1 m", "length: 20 ft")))
    assert outcome(made, "raceway-expansion:R1:straight 1, r") == verdict


def test_a_change_of_exactly_a_quarter_inch_needs_a_fitting(design) -> None:
    # A swing of 2.7 K is 4.86 °F, the row of 5 °F: 0.20 in for 100 ft, a quarter of an inch in 125 ft.
    pipe = riser("temperature_swing: 2.7").replace("length: 1 m", "length: 125 ft")
    assert outcome(design(folder(pipe)), "raceway-expansion:R1:straight 1, r") == "unknown"


def test_one_free_part_does_not_free_the_other(design) -> None:
    pieces = riser("fixed_ends: no").replace("1 m", "20 ft") + "\n" + riser().replace("r:", "q:", 1)
    assert outcome(design(folder(pieces)), "raceway-expansion:R1:straight 1, r to q") == "unknown"


def test_one_fitting_serves_one_straight(design) -> None:
    # 20 ft on one side of the bend, 19 ft on the other; the one fitting stands in the longer piece.
    pipe = riser("bends: [{angle: 90 deg, at: 20 ft}], expansion_travel: 4 in").replace("1 m", "39 ft")
    made = design(folder(pipe))
    assert outcome(made, "raceway-expansion:R1:straight 1, r") == "meets"
    assert outcome(made, "raceway-expansion:R1:straight 2, r") == "unknown"


def test_dividing_a_straight_into_short_stretches_does_not_hide_its_movement(design) -> None:
    pieces = "\n".join(riser().replace("r:", f"r{n}:", 1) for n in range(6))
    assert outcome(design(folder(pieces)), "raceway-expansion:R1:straight 1, r0 to r5") == "unknown"
    boxed = pieces.replace("place: outdoors}", "place: outdoors, ends_at: PB}")
    box = "boxes:\n  B: {kind: pull box, units: {PB: {}}}"
    short = design(folder(boxed, more=box))
    ends = [str(item.outcome) for item in short.findings if item.code == "raceway-expansion"]
    assert ends == ["meets"] * 6


def test_bends_with_a_place_end_a_straight(design) -> None:
    # 4 ft to the first bend, 4 ft to the end: 0.235 in each; without the places, 8 ft and 0.47 in at most.
    pipe = riser("bends: [%s]").replace("length: 1 m", "length: 8 ft")
    made = design(folder(pipe % "{angle: 90 deg, at: 4 ft}"))
    ends = [str(item.outcome) for item in made.findings if item.code == "raceway-expansion"]
    assert ends == ["meets", "meets"]
    unplaced = found(design(folder(pipe % "90 deg")), "raceway-expansion:R1:straight 1, r")
    assert unplaced.outcome is Outcome.UNKNOWN
    assert "at most" in unplaced.headline
    # Not even a fitting of no travel fails it, because the bend may lie where it helps.
    assert (
        outcome(
            design(folder(riser("bends: [90 deg], expansion_travel: 0 in").replace("1 m", "8 ft"))),
            "raceway-expansion:R1:straight 1, r",
        )
        == "unknown"
    )


# Risers


@pytest.mark.parametrize(
    ("kind", "raceway", "verdict"),
    [
        ("PVC-80", "physical_damage: yes", "meets"),
        ("PVC-40", "physical_damage: yes", "fails"),
        ("PVC-40", "physical_damage: no", "ask"),
        ("EMT", "physical_damage: yes", "ask"),
        ("RMC", "status: new", "meets"),
    ],
)
def test_riser_and_damage(design, kind, raceway, verdict) -> None:
    pipe = trench() + "\n" + riser().replace("PVC-80", kind)
    assert outcome(design(folder(pipe, raceway=raceway)), "raceway-damage:R1/r") == verdict


def test_a_stretch_that_is_stated_to_be_exposed_need_not_be_a_riser(design) -> None:
    pipe = riser().replace("PVC-80", "PVC-40")
    made = design(folder(pipe, raceway="physical_damage: yes"))
    assert outcome(made, "raceway-damage:R1/r") == "fails"
    codes = {item.code for item in made.findings} | {item.code for item in design(folder(pipe)).findings}
    assert "raceway-settlement" not in codes
    assert not [item for item in design(folder(pipe)).findings if item.code == "raceway-damage"]


def test_settlement_is_asked_until_a_fitting_is_stated(design) -> None:
    made = design(folder(trench() + "\n" + riser()))
    assert outcome(made, "raceway-settlement:R1") == "ask"
    made = design(folder(trench() + "\n" + riser("settlement_fitting: yes")))
    assert outcome(made, "raceway-settlement:R1:r") == "meets"


# --- what leaves the ground ---

DOWN_AND_IN = """
roof: {kind: EMT, size: 2, length: 5 m, place: roof, ends_at: PB}
trench: {kind: PVC-40, size: 2, length: 20 m, place: underground, cover: 600 mm}
riser: {kind: PVC-80, size: 2, length: 1 m, place: outdoors}
"""
PULL_BOX = "boxes: {P: {kind: pull box, units: {PB: {}}}}"


def test_a_pipe_that_comes_down_to_a_box_is_no_riser_and_the_buried_one_is(design) -> None:
    made = design(folder(DOWN_AND_IN, more=PULL_BOX))
    asked = found(made, "raceway-settlement:R1")
    assert asked.headline.endswith("where R1 leaves the ground: trench up to PB, riser")
    # The thin-walled pipe comes up into the box itself.
    assert outcome(made, "raceway-damage:R1/trench:PB") == "ask"
    assert (
        "R1/trench where it comes up to PB is PVC-40" in found(made, "raceway-damage:R1/trench:PB").headline
    )
    # The one that comes down may be knocked all the same, and is called no riser.
    assert found(made, "raceway-damage:R1/roof").headline.startswith("R1/roof is EMT")
    assert outcome(made, "raceway-damage:R1/riser") == "meets"


def test_the_buried_pipe_fails_where_damage_is_stated(design) -> None:
    raceway = "status: new\n    physical_damage: yes"
    made = design(folder(DOWN_AND_IN, more=PULL_BOX, raceway=raceway))
    assert outcome(made, "raceway-damage:R1/trench:PB") == "fails"
    # Only severe damage bars this kind.
    assert outcome(made, "raceway-damage:R1/roof") == "ask"
    assert "severe physical damage" in found(made, "raceway-damage:R1/roof").question


def test_a_fitting_of_the_buried_pipe_takes_up_settlement_at_the_box(design) -> None:
    fitted = DOWN_AND_IN.replace("cover: 600 mm", "cover: 600 mm, settlement_fitting: yes")
    made = design(folder(fitted, more=PULL_BOX))
    assert outcome(made, "raceway-settlement:R1:trench PB") == "meets"
    assert found(made, "raceway-settlement:R1").headline.endswith("leaves the ground: riser")


def test_a_box_between_two_buried_pipes_is_not_taken_to_stand_above_ground(design) -> None:
    pipe = """
a: {kind: PVC-40, size: 2, length: 20 m, place: underground, cover: 600 mm, ends_at: PB}
b: {kind: PVC-40, size: 2, length: 20 m, place: underground, cover: 600 mm}
"""
    made = design(folder(pipe, more=PULL_BOX))
    assert {item.id for item in made.findings if item.code == "raceway-damage"} == {
        "raceway-damage:R1/a:T1",
        "raceway-damage:R1/b:I1",
    }


# --- clauses by kind of pipe ---


def test_each_kind_of_pipe_is_named_by_its_own_article(design) -> None:
    made = design(folder(DOWN_AND_IN, more=PULL_BOX))
    clauses = {item.id: item.clause for item in made.findings}
    assert clauses["raceway-damage:R1/roof"] == "300.5(D)(4) with 358.12"
    assert clauses["raceway-damage:R1/trench:PB"] == "300.5(D)(4) with 352.12"
    assert clauses["raceway-damage:R1/riser"] == "300.5(D)(4) with 352.10"
    assert clauses["raceway-support:R1"] == "358.30 and 352.30"
    bends = design(folder(DOWN_AND_IN.replace("length", "bends: [90 deg], length"), more=PULL_BOX))
    assert {item.clause for item in bends.findings if item.code == "raceway-bends"} == {"358.26", "352.26"}


def test_the_article_of_each_kind_is_that_of_its_bend_table() -> None:
    # 11 kinds a folder may name; the sections of the table and of the clauses were recalled apart.
    book = load("nec2023")
    for kind in ("EMT", "IMC", "RMC", "PVC-40", "PVC-80", "ENT", "FMC", "LFMC", "LFNC-A", "LFNC-B", "HDPE"):
        clause = book.clause(f"bends-{kind}")
        assert book.bend_limit(kind).citation.startswith(clause.text)
        assert book.clause(f"physical-damage-{kind}").text.startswith("300.5(D)(4) with " + clause.text[:4])
