"""Designs that passed and must not: what is removed, what is nobody's, what a sentence leaves out."""

from __future__ import annotations

import pytest
from pipe_folder import folder as pipes
from protection_folder import folder as parallel
from wire_folder import Run, found

from reportgen.design.findings import Outcome
from reportgen.design.wire_options import OF_CURRENT, wire_options
from reportgen.diagnostics.model import InputRefused
from reportgen.project.load import load_project

FAILS, UNKNOWN, ASK, THIN, MEETS = (
    Outcome.FAILS,
    Outcome.UNKNOWN,
    Outcome.ASK,
    Outcome.THIN,
    Outcome.MEETS,
)


def test_a_stretch_that_is_removed_by_itself_is_no_way(sample, edit, design) -> None:
    made = design(edit(sample, "raceways.yaml", "riser-yard: {kind", "riser-yard: {status: removed, kind"))
    path = found(made, "circuit-path:PV-W1")
    assert path.outcome is FAILS
    assert "R2/riser-yard, which is removed" in path.headline


def test_a_box_that_is_removed_is_neither_passed_nor_a_pull_point(sample, edit, design) -> None:
    old = "on_building: yes, status: existing, openings_closed"
    made = design(edit(sample, "equipment.yaml", old, old.replace("existing", "removed")))
    assert found(made, "circuit-path:PV-W1").outcome is FAILS
    for section in ("R1:EAST-PB-1", "R2:PB-1-TR-1"):
        bends = found(made, f"raceway-bends:{section}")
        assert bends.outcome is UNKNOWN
        assert "PB-1, which is removed" in bends.missing[0]


@pytest.mark.parametrize(
    ("wet", "inside", "outcome"),
    [
        ("yes", "no", MEETS),
        ("no", "no", FAILS),
        (None, "no", UNKNOWN),
        ("no", None, UNKNOWN),
        ("no", "yes", None),
    ],
)
def test_a_new_box_outside_is_listed_for_the_wet(sample, edit, design, wet, inside, outcome) -> None:
    unit = 'PB-1: {place: "press house, south wall", inside: no, on_building: yes, status: existing'
    new = unit.replace("existing", "new")
    new = new.replace("inside: no", f"inside: {inside}") if inside else new.replace(" inside: no,", "")
    files = edit(sample, "equipment.yaml", unit, new)
    line = f"    wet_location: {wet}\n" if wet else ""
    made = design(edit(files, "equipment.yaml", "    wet_location: yes\n", line))
    judged = [one.outcome for one in made.findings if one.id == "box-wet:PB-1"]
    assert judged == ([outcome] if outcome else [])


def test_the_record_low_is_held_against_the_inverter_whatever_the_policy(sample, edit, design) -> None:
    files = edit(
        sample, "project.yaml", "cold_temperature: record low", "cold_temperature: mean annual minimum"
    )
    files = edit(files, "site.yaml", "record_low: -22 degC", "record_low: -30 degC")
    made = design(files)
    # 12 × 44.1 V × (1 + 0.26 % × 55) = 604.9 V at −30 °C; 582.9 V at −14 °C.
    hard = found(made, "cold-voltage-inverter:E1")
    assert hard.outcome is THIN
    assert "at the record low of −30.0 °C (−22.0 °F) it comes to 604.9 V" in hard.headline
    assert found(made, "cold-voltage-inverter:W1").outcome is MEETS
    # By the table, where the data sheet has no coefficient: 11 × 44.1 × 1.21 = 587.0 V at −30 °C, × 1.25 = 606.4 V at −38 °C.
    tabled = edit(files, "equipment.yaml", "    voltage_coefficient: -0.26 %/degC\n", "")
    assert found(design(tabled), "cold-voltage-inverter:W1").outcome is MEETS
    colder = design(edit(tabled, "site.yaml", "record_low: -30 degC", "record_low: -38 degC"))
    assert found(colder, "cold-voltage-inverter:W1").outcome is THIN


@pytest.mark.parametrize(
    ("file", "old", "new", "words"),
    [
        (
            "circuits.yaml",
            "    string: W1\n",
            "    string: W1\n    conductors: 4\n",
            "`4` conductors, and not 2",
        ),
        ("circuits.yaml", "  EG-1:\n", "  EG-1:\n    parallel: 2\n", "has `parallel: 2`, and no legs"),
        (
            "arrays.yaml",
            "rows: 3, columns: 7",
            "count: 22, rows: 3, columns: 7",
            "more than its 3 rows and 7",
        ),
    ],
)
def test_a_count_that_nothing_would_read_is_refused(sample, edit, file, old, new, words) -> None:
    with pytest.raises(InputRefused) as caught:
        load_project(edit(sample, file, old, new, 1))
    (told,) = caught.value.diagnostics
    assert told.code == "impossible-value"
    assert words in told.message
    assert told.span.file == file


def test_fewer_modules_than_places_and_two_wires_of_a_string_are_no_mistake(sample, edit) -> None:
    files = edit(sample, "arrays.yaml", "rows: 3, columns: 7", "count: 21, rows: 3, columns: 8")
    load_project(edit(files, "circuits.yaml", "    string: W1\n", "    string: W1\n    conductors: 2\n"))


TRENCH = "a: {{kind: PVC-40, size: 2, length: 5 m, place: underground, cover: 6 in, bends: []{}}}"


@pytest.mark.parametrize(
    ("raceway", "surface", "outcome"),
    [
        ("traffic: none", ", surface: slab", MEETS),
        # Nothing else of the pipe lies under what drives over it.
        ("traffic: driveway", ", surface: slab", UNKNOWN),
        ("traffic: none", ", surface: rock", ASK),
    ],
)
def test_what_drives_over_a_pipe_and_what_covers_it_are_held_together(
    design, raceway, surface, outcome
) -> None:
    made = found(design(pipes(TRENCH.format(surface), raceway=raceway)), "raceway-cover:R1/a")
    assert made.outcome is outcome


def test_a_driveway_over_another_stretch_leaves_the_slab_alone(design) -> None:
    both = f"{TRENCH.format(', surface: slab')}\n" + TRENCH.format(", surface: road or parking").replace(
        "a:", "b:"
    )
    made = design(pipes(both, raceway="traffic: driveway"))
    assert found(made, "raceway-cover:R1/a").outcome is MEETS
    assert found(made, "raceway-cover:R1/b").outcome is FAILS


@pytest.mark.parametrize(
    ("kind", "place", "outcome"),
    [
        ("FMC", "outdoors", FAILS),
        ("FMC", "indoors", None),
        ("HDPE", "outdoors", FAILS),
        ("HDPE", "indoors", FAILS),
        ("ENT", "roof", ASK),
        ("LFNC-B", "outdoors", ASK),
        ("LFMC", "outdoors", None),
        ("PVC-40", "outdoors", None),
        ("HDPE", "underground", None),
    ],
)
def test_a_kind_of_pipe_above_ground_is_made_for_its_place(design, kind, place, outcome) -> None:
    made = design(pipes(f"a: {{kind: {kind}, size: 2, length: 5 m, place: {place}, bends: []}}"))
    judged = [one for one in made.findings if one.code == "raceway-place"]
    assert [one.outcome for one in judged] == ([outcome] if outcome else [])
    assert all(one.clause and one.subject == "R1/a" for one in judged)


@pytest.mark.parametrize(("isc", "outcome"), [("13.79 A", UNKNOWN), ("9 A", MEETS)])
def test_a_string_without_an_input_may_be_the_third_beside_two(design, isc, outcome) -> None:
    text = parallel("AAA", isc=isc)["all.yaml"].decode()
    third = "S3: {array: T, count: 10, input: I1/A}"
    assert third in text
    made = design({"all.yaml": text.replace(third, "S3: {array: T, count: 10}").encode()})
    # Two others of 17.24 A come to 34.48 A, above 25 A; two of 11.25 A to 22.5 A.
    for string in ("S1", "S2"):
        assert found(made, f"string-fuse:{string}").outcome is outcome


def test_no_string_comes_in_where_every_connector_is_taken(design) -> None:
    text = parallel("AAB", isc="13.79 A")["all.yaml"].decode()
    text = text.replace("S3: {array: T, count: 10, input: I1/B}", "S3: {array: T, count: 10}")
    made = design({"all.yaml": text.replace("A: {}, B", "A: {connectors: 2}, B").encode()})
    assert found(made, "string-fuse:S1").outcome is MEETS


def test_the_window_is_reached_at_the_input_and_not_at_the_modules() -> None:
    long = "trench: {kind: PVC-40, size: 2, length: 700 ft, place: indoors, ambient: 30 degC}"
    text = Run(strings=1, count=6, segments=long).files["run.yaml"].decode()
    window = "inputs: {I1: {tracking_from: 150 V, start_voltage: 150 V, tracking_to: 500 V}}"
    text = text.replace("inputs: {I1: {}}", window)
    from reportgen.design.assemble import assemble
    from reportgen.rulebook.rulebook import load

    made = assemble(load_project({"run.yaml": text.encode()}), load("nec2023"), "test")
    judged = found(made, "hot-voltage-window:S1")
    (circuit,) = made.facts.circuits
    left = judged.value.value * (1 - circuit.hot_share.value / 100)
    assert judged.value.value > 150 > left
    assert judged.outcome is THIN
    assert f"{left:.1f} V are left" in judged.headline
    # At the start no current flows, and so nothing drops.
    assert found(made, "hot-voltage-start:S1").outcome is MEETS


def test_a_nipple_has_no_greatest_number_of_conductors() -> None:
    short = "a: {kind: EMT, size: 1, length: 24 in, place: indoors, ambient: 30 degC, bends: []}"
    made = found(Run(strings=6, segments=short).design, "ampacity-use:C1")
    assert made.break_even.endswith("in a nipple their number does not count")


def test_one_pole_is_told_as_one(sample, edit, design) -> None:
    old = "SW-E1: {L1: PV-E1+, L2: INV-1/A+, L3: PV-E1-, L4: INV-1/A-}"
    made = found(
        design(edit(sample, "landing.yaml", old, old.replace("L4", "T3"))), "cold-voltage-switch:PV-E1:SW-E1"
    )
    assert made.outcome is FAILS
    assert "with 1 pole in series 400.0 V" in made.headline


def test_the_wires_of_one_string_that_go_on_with_the_current_of_two_are_a_question(
    sample, edit, design
) -> None:
    edits = (
        (
            "circuits.yaml",
            "string: W2\n    cable: THWN10\n    size: 10 AWG\n    path: [R1, R2/trench-yard, R2/riser-yard, R2/hall]\n    enclosures: [PB-1, TR-1, SW-W2]",
            "string: W2\n    cable: THWN10\n    size: 10 AWG\n    path: [R1]\n    enclosures: [PB-1]",
        ),
        ("arrays.yaml", "input: INV-2/B", "input: INV-2/A"),
        (
            "equipment.yaml",
            "    splices: no\n    ground_terminals: [G1, G2]",
            "    splices: yes\n    terminal_ids: [A1, A2, B1, B2]\n    ground_terminals: [G1, G2]",
        ),
        (
            "landing.yaml",
            "  SW-W2: {L1: PV-W2+, L2: INV-2/B+, L3: PV-W2-, L4: INV-2/B-}\n",
            "  PB-1: {A1: PV-W1+, B1: PV-W2+, A2: PV-W1-, B2: PV-W2-}\n",
        ),
        ("landing.yaml", "  SW-W2: *links\n", "  PB-1: [[A1, B1], [A2, B2]]\n"),
    )
    files = sample
    for file, old, new in edits:
        files = edit(files, file, old, new)
    made = design(files)
    for code in ("ampacity-terminal", "ampacity-use", "voltage-drop"):
        judged = found(made, f"{code}:PV-W1")
        assert judged.outcome is ASK
        assert "from PB-1 on it carries W1 and W2 together" in judged.headline
    # The wire that ends in the box carries its own string alone.
    assert found(made, "ampacity-use:PV-W2").outcome is MEETS
    outcomes = {
        circuit: {
            test.outcome
            for option in wire_options(made.facts)
            for test in option.tests
            if option.circuit == circuit and test.name in OF_CURRENT
        }
        for circuit in ("PV-W1", "PV-W2")
    }
    assert outcomes["PV-W1"] <= {FAILS, ASK}
    assert MEETS in outcomes["PV-W2"]
    end = 'negative_at: "row 1, column 7", input'
    files = edit(files, "arrays.yaml", end, end.replace("input", "fuse: GPV25, fused_pole: both, input"))
    files = edit(
        files, "equipment.yaml", "rating: 25 A\n    voltage: 1000 V", "rating: 15 A\n    voltage: 1000 V"
    )
    guarded = found(design(files), "device-conductor:W1:GPV25")
    assert guarded.outcome is ASK
    assert "from PB-1 on it carries W1 and W2 together" in guarded.headline


@pytest.mark.parametrize(("height", "asked"), [("2000 m", 0), ("6560 ft", 0), ("2001 m", 1), ("10500 ft", 1)])
def test_ratings_of_devices_are_asked_above_their_altitude(sample, edit, design, height, asked) -> None:
    made = design(edit(sample, "site.yaml", "elevation: 270 m", f"elevation: {height}"))
    judged = [one for one in made.findings if one.code == "device-altitude"]
    assert [one.outcome for one in judged] == [ASK] * asked


def test_a_thin_voltage_is_not_cured_by_the_number_it_has(sample, design) -> None:
    made = design(sample)
    assert found(made, "cold-voltage-inverter:E1").cure.startswith(
        "one module fewer leaves more room; 12 modules"
    )
    assert found(made, "cold-voltage-wire:PV-E1").cure.startswith(
        "use wire marked for a higher voltage; else one"
    )


def test_words_that_stand_in_for_silence_are_listed(sample, edit, design) -> None:
    def listed(files) -> set[str]:
        return {assumed.key for assumed, _ in design(files).assumptions}

    named = {
        "cables.THWN10.material",
        "cables.THWN10.stranding",
        "modules.M450.technology",
        "project.rulebook",
    }
    files = edit(sample, "equipment.yaml", "    technology: crystalline silicon\n", "")
    files = edit(
        files, "equipment.yaml", "    material: copper\n    markings: [THWN-2]", "    markings: [THWN-2]"
    )
    files = edit(files, "equipment.yaml", "    stranding: stranded\n    tinned: no\n", "    tinned: no\n")
    files = edit(files, "project.yaml", "  rulebook: nec2023\n", "")
    files = edit(
        files, "circuits.yaml", "    extra: 1.5 m\n    positive_colour: red", "    positive_colour: red", 1
    )
    assert listed(files) - listed(sample) == named | {"circuits.PV-E1.extra"}


def test_a_wire_in_a_place_hotter_than_the_table_is_no_cooler_than_it(sample, edit, design) -> None:
    made = design(
        edit(sample, "raceways.yaml", "place: indoors, ambient: 38 degC", "place: indoors, ambient: 92 degC")
    )
    # No table has a factor for 92 °C, so the load is not known; the resistance is that of 92 °C and not of 75 °C.
    assert found(made, "ampacity-use:PV-W1").outcome is UNKNOWN
    assert next(one for one in made.facts.circuits if one.id == "PV-W1").conductor_temperature.value == 92


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("raceways.yaml", "bends: [90 deg, 90 deg], bends_made", "bends: [90 deg, -90 deg], bends_made"),
        ("equipment.yaml", "backfeed_current: 0 A", "backfeed_current: -20 A"),
        ("raceways.yaml", "length_tolerance: 1 %", "length_tolerance: -20 %"),
        ("project.yaml", "drop_target: 2.5 %", "drop_target: 2.5 %\n    voltage_margin: -50 %"),
        ("equipment.yaml", "operating_temperature: 44 degC", "operating_temperature: 20 degC"),
        ("equipment.yaml", "rated_current: 25 A", "rated_current: 25 kA"),
        ("circuits.yaml", "{temperature: 90 degC, source", "{temperature: 500 degC, source"),
        ("raceways.yaml", "cover: 550 mm", "cover: 550 m"),
        ("site.yaml", "ground_temperature: 28 degC", "ground_temperature: -28 degC"),
    ],
)
def test_a_value_that_no_such_thing_has_is_refused(sample, edit, file, old, new) -> None:
    with pytest.raises(InputRefused) as caught:
        load_project(edit(sample, file, old, new, 1))
    (told,) = caught.value.diagnostics
    assert (told.code, told.span.file) == ("impossible-value", file)
    assert told.message.endswith("cannot be")


def test_a_wire_is_not_cooler_than_the_place_it_lies_in(sample, edit, design) -> None:
    cool = design(
        edit(
            sample,
            "circuits.yaml",
            "    string: W1\n",
            "    string: W1\n    conductor_temperature: -40 degC\n",
        )
    )
    # The hottest stretch of W1 is the riser of the orchard, 45 °C.
    assert next(one for one in cool.facts.circuits if one.id == "PV-W1").conductor_temperature.value == 45


@pytest.mark.parametrize(
    ("file", "old", "new", "subject", "asked"),
    [
        (
            "raceways.yaml",
            "outdoors, ambient: 45 degC",
            "outdoors, ambient: 35 degC",
            "R1/riser-orchard",
            True,
        ),
        (
            "raceways.yaml",
            "outdoors, ambient: 45 degC",
            "outdoors, ambient: 36 degC",
            "R1/riser-orchard",
            False,
        ),
        ("raceways.yaml", "indoors, ambient: 38 degC", "indoors, ambient: 20 degC", "R2/hall", False),
        (
            "raceways.yaml",
            "underground, cover",
            "underground, ambient: 20 degC, cover",
            "R1/trench-orchard",
            True,
        ),
        (
            "arrays.yaml",
            "size: 10 AWG, together: 2",
            "size: 10 AWG, together: 2, temperature: 30 degC",
            "ROOF",
            True,
        ),
    ],
)
def test_an_ambient_below_that_of_the_site_is_asked(
    sample, edit, design, file, old, new, subject, asked
) -> None:
    made = design(edit(sample, file, old, new))
    judged = [one for one in made.findings if one.code == "stated-ambient"]
    assert [(one.subject, one.outcome) for one in judged] == ([(subject, ASK)] if asked else [])


def test_a_pipe_outdoors_swings_no_less_than_the_air(sample, edit, design) -> None:
    rise = "rise: 1.5 m, expansion_travel"
    identity = "raceway-expansion:R1:straight 2, riser-press"
    for swing, outcome in (("57", UNKNOWN), ("58", MEETS)):
        # From −22 °C to 36 °C are 58 K.
        new = rise.replace("expansion", f"temperature_swing: {swing}, expansion")
        assert found(design(edit(sample, "raceways.yaml", rise, new)), identity).outcome is outcome


def test_a_wire_is_no_thinner_and_no_lighter_than_its_metal(sample, edit, design) -> None:
    row = "{size: 8 AWG, mass: 97 kg/km}"
    thin = design(edit(sample, "equipment.yaml", row, row.replace("}", ", diameter: 3.2 mm}")))
    # 8 AWG has 8.37 mm² of metal: 3.26 mm as one rod, and 74 kg/km.
    fill = found(thin, "raceway-fill:R2/hall")
    assert fill.outcome is UNKNOWN
    assert "less than its metal alone" in fill.missing[0]
    light = design(edit(sample, "equipment.yaml", row, row.replace("97", "74")))
    pull = found(light, "pull-tension:R1:EAST-PB-1")
    assert pull.outcome is UNKNOWN
    assert "less than its metal alone" in pull.missing[0]
    for change in (row.replace("97", "75"), row.replace("}", ", diameter: 3.3 mm}")):
        made = design(edit(sample, "equipment.yaml", row, change))
        assert found(made, "pull-tension:R1:EAST-PB-1").outcome is not UNKNOWN
        assert found(made, "raceway-fill:R2/hall").outcome is MEETS


def test_an_inverter_without_a_switch_before_it_is_asked(sample, edit, design) -> None:
    assert not [one for one in design(sample).findings if one.code == "string-disconnect"]
    switched = "  SW-W1: {L1: PV-W1+, L2: INV-2/A+, L3: PV-W1-, L4: INV-2/A-}\n"
    direct = edit(sample, "landing.yaml", switched, "  INV-2: {A+: PV-W1+, A-: PV-W1-}\n")
    direct = edit(direct, "landing.yaml", "  SW-W1: *links\n", "")
    circuit = "enclosures: [PB-1, TR-1, SW-W1]"
    direct = edit(direct, "circuits.yaml", circuit, "enclosures: [PB-1, TR-1]")
    made = found(design(direct), "string-disconnect:INV-2")
    assert made.outcome is ASK
    assert "parts W1 from INV-2" in made.headline
    # Not landed at all is unknown by its landing, and not asked here.
    bare = design(
        edit(edit(sample, "landing.yaml", switched, ""), "circuits.yaml", circuit, "enclosures: [PB-1, TR-1]")
    )
    assert not [one for one in bare.findings if one.code == "string-disconnect"]


@pytest.mark.parametrize(
    ("category", "outcome"),
    [("", UNKNOWN), (", utilisation_category: DC-PV1", ASK), (", utilisation_category: DC-PV2", MEETS)],
)
def test_a_switch_of_several_strings_says_that_it_opens_them(design, category, outcome) -> None:
    switch = f"""
switches:
  K: {{units: {{SW: {{}}}}, line: [L1, L2, L3, L4], load: [T1, T2, T3, T4], joined: [[L1, T1], [L2, T2], [L3, T3], [L4, T4]],
      ratings: [{{poles_in_series: 1, voltage: 600 V}}], rated_current: 40 A, load_break: yes, polarised: no{category}}}
jumpers: {{SW: [[T1, T3], [T2, T4]]}}
landing: {{SW: {{L1: C1+, L2: C1-, L3: C2+, L4: C2-, T1: I1/A+, T2: I1/A-}}}}
"""
    made = design(parallel("AA", isc="9 A", more=switch))
    assert found(made, "switch-load-break:SW").outcome is outcome
