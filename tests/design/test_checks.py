"""Checks that pass, fail and sit exactly at the limit; graph mistakes that a table of cells would not see."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome


def outcomes(made) -> dict[str, Outcome]:
    return {finding.id: finding.outcome for finding in made.findings}


def test_one_module_more_fails_with_volts_over(sample, edit, design) -> None:
    files = edit(sample, "arrays.yaml", "E1: {array: EAST, count: 12", "E1: {array: EAST, count: 13")
    made = design(files)
    cold = next(finding for finding in made.findings if finding.id == "cold-voltage-inverter:E1")
    # Own hand calculation: 13 · 44.1 · 1.1222 = 643.36 V.
    assert cold.outcome is Outcome.FAILS
    assert "643.4" in cold.headline
    assert cold.cure == "12 modules in series is the most this input allows"
    assert cold.cure_span.file == "arrays.yaml"
    assert outcomes(made)["module-balance:EAST"] is Outcome.FAILS


def test_exactly_at_the_limit_meets(sample, edit, design) -> None:
    # 12 · 44.1 · (1 − 0.0026 · 0) at 25 °C is 529.2 V; an input that stands 529.2 V has no margin left but is not passed.
    files = edit(sample, "site.yaml", "record_low: -22 degC", "record_low: 25 degC")
    files = edit(files, "site.yaml", "mean_annual_minimum: -14 degC", "mean_annual_minimum: 25 degC")
    files = edit(files, "equipment.yaml", "tracking_to: 550 V", "tracking_to: 500 V", 1)
    files = edit(files, "equipment.yaml", "maximum_dc_voltage: 600 V", "maximum_dc_voltage: 529.2 V", 1)
    files = edit(
        files, "project.yaml", "    drop_target: 2.5 %", "    drop_target: 2.5 %\n    voltage_margin: 0 %"
    )
    assert outcomes(design(files))["cold-voltage-inverter:E1"] is Outcome.MEETS
    files = edit(files, "equipment.yaml", "maximum_dc_voltage: 529.2 V", "maximum_dc_voltage: 529.19 V", 1)
    assert outcomes(design(files))["cold-voltage-inverter:E1"] is Outcome.FAILS


def test_policy_picks_the_cold_temperature(sample, edit, design) -> None:
    files = edit(
        sample, "project.yaml", "cold_temperature: record low", "cold_temperature: mean annual minimum"
    )
    made = design(files)
    # Own hand calculation: 529.2 · (1 + 0.0026 · 39) = 582.86 V, 2.9 % below 600 V.
    assert outcomes(made)["cold-voltage-inverter:E1"] is Outcome.MEETS


def test_hard_limit_and_usable_limit_stay_apart(sample, edit, design) -> None:
    files = edit(sample, "arrays.yaml", "input: INV-1/B", "input: INV-1/A")
    made = outcomes(design(files))
    # 2 · 12.95 = 25.9 A above the hard 20 A; 2 · 12.2 = 24.4 A above the usable 16 A.
    assert made["input-short-circuit:INV-1/A"] is Outcome.FAILS
    assert made["input-usable-current:INV-1/A"] is Outcome.THIN
    assert made["input-connectors:INV-1/A"] is Outcome.ASK


def test_unequal_strings_on_one_input_fail(sample, edit, design) -> None:
    files = edit(sample, "arrays.yaml", "input: INV-1/C", "input: INV-1/A")
    assert outcomes(design(files))["input-like-strings:INV-1/A"] is Outcome.FAILS


@pytest.mark.parametrize(
    ("limit", "basis", "outcome"),
    [
        ("20 A", "standard conditions", Outcome.MEETS),
        ("15.5 A", "standard conditions", Outcome.MEETS),
        ("15.5 A", "with 1.25", Outcome.FAILS),
        ("15.5 A", None, Outcome.ASK),
        ("20 A", None, Outcome.MEETS),
        ("12 A", None, Outcome.FAILS),
    ],
)
def test_basis_of_the_short_circuit_limit(sample, edit, design, limit, basis, outcome) -> None:
    line = f"        short_circuit_basis: {basis}\n" if basis else ""
    files = edit(
        sample,
        "equipment.yaml",
        "        short_circuit_limit: 20 A\n        short_circuit_basis: standard conditions\n",
        f"        short_circuit_limit: {limit}\n{line}",
    )
    files = edit(files, "equipment.yaml", "usable_current: 16 A", "usable_current: 12 A")
    assert outcomes(design(files))["input-short-circuit:INV-1/A"] is outcome


def test_thhn_alone_is_refused_in_wet_places(sample, edit, design) -> None:
    made = outcomes(design(edit(sample, "equipment.yaml", "markings: [THWN-2]", "markings: [THHN]")))
    assert made["wet-marking:PV-E1"] is Outcome.FAILS
    assert made["ampacity-use:PV-E1"] is Outcome.UNKNOWN


def test_dual_marking_takes_the_wet_column(sample, edit, design) -> None:
    # THHN/THWN without the -2 is worth 75 °C when wet: 35 · 0.82 · 0.5 = 14.35 A < 16.19 A.
    made = design(edit(sample, "equipment.yaml", "markings: [THWN-2]", "markings: [THHN, THWN]"))
    use = next(finding for finding in made.findings if finding.id.startswith("ampacity-use:PV-W1"))
    assert use.outcome is Outcome.FAILS
    assert use.limit.value == pytest.approx(14.35)


def test_a_crossed_switch_is_seen(sample, edit, design) -> None:
    files = edit(
        sample,
        "equipment.yaml",
        "joined: [[L1, T1], [L2, T2], [L3, T3], [L4, T4]]",
        "joined: [[L1, T3], [L2, T4], [L3, T1], [L4, T2]]",
    )
    made = outcomes(design(files))
    # Crossed poles with straight links: L1 → T3–T4 → L2, so each leg still arrives, over the other poles.
    assert made["landing:PV-E1+"] is Outcome.MEETS
    files = edit(
        sample,
        "equipment.yaml",
        "joined: [[L1, T1], [L2, T2], [L3, T3], [L4, T4]]",
        "joined: [[L1, T1], [L2, T3], [L3, T2], [L4, T4]]",
    )
    made = design(files)
    assert outcomes(made)["landing:PV-E1+"] is Outcome.FAILS
    told = next(finding for finding in made.findings if finding.id == "landing:PV-E1+")
    assert "PV-E1-" in told.headline


def test_swapped_legs_are_seen(sample, edit, design) -> None:
    files = edit(
        sample,
        "landing.yaml",
        "L1: PV-E1+, L2: INV-1/A+, L3: PV-E1-, L4: INV-1/A-",
        "L1: PV-E1-, L2: INV-1/A+, L3: PV-E1+, L4: INV-1/A-",
    )
    made = outcomes(design(files))
    assert made["landing:PV-E1+"] is Outcome.FAILS
    assert made["landing:PV-E1-"] is Outcome.FAILS


def test_too_many_bends_fail_at_the_section(sample, edit, design) -> None:
    files = edit(sample, "raceways.yaml", "bends: [30 deg, 30 deg]", "bends: [90 deg, 90 deg, 1 deg]")
    assert outcomes(design(files))["raceway-bends:R1:EAST-PB-1"] is Outcome.FAILS
    files = edit(sample, "raceways.yaml", "bends: [30 deg, 30 deg]", "bends: [90 deg, 90 deg]")
    assert outcomes(design(files))["raceway-bends:R1:EAST-PB-1"] is not Outcome.FAILS


def test_spare_wires_count_as_carrying(sample, design) -> None:
    spare = b"circuits:\n  SPARE:\n    kind: spare\n    cable: THWN10\n    size: 10 AWG\n    conductors: 11\n    path: [R2/trench-yard]\n"
    made = design({**sample, "spare.yaml": spare})
    stretch = next(item for item in made.facts.circuits[0].stretches if str(item.segment) == "R2/trench-yard")
    assert stretch.carrying.value == 21
    assert stretch.count_factor.value == pytest.approx(0.45)


def test_pv_wire_without_a_diameter_is_unknown(sample, edit, design) -> None:
    files = edit(sample, "equipment.yaml", "markings: [THWN-2]", "markings: [PV wire]")
    assert outcomes(design(files))["raceway-fill:R1/trench-orchard"] is Outcome.UNKNOWN
    files = edit(files, "equipment.yaml", "{size: 8 AWG, mass", "{size: 8 AWG, diameter: 7.5 mm, mass")
    files = edit(files, "equipment.yaml", "{size: 10 AWG, mass", "{size: 10 AWG, diameter: 6 mm, mass")
    assert outcomes(design(files))["raceway-fill:R1/trench-orchard"] is Outcome.MEETS


def test_ground_too_small_fails(sample, edit, design) -> None:
    text = (
        sample["circuits.yaml"]
        .decode()
        .replace(
            "  EG-1:\n    kind: ground\n    cable: THWN10\n    size: 10 AWG",
            "  EG-1:\n    kind: ground\n    cable: THWN10\n    size: 12 AWG",
        )
    )
    made = outcomes(design({**sample, "circuits.yaml": text.encode()}))
    # No device: 1.25 · 16.19 = 20.2 A falls into the row up to 60 A, which asks for 10 AWG copper.
    assert made["ground-size:R1/trench-orchard"] is Outcome.FAILS


def test_sizes_outside_a_table_are_unknown(sample, edit, design) -> None:
    files = edit(sample, "circuits.yaml", "    size: 8 AWG\n", "    size: 9 AWG\n")
    made = outcomes(design(files))
    assert made["ampacity-terminal:PV-E1"] is Outcome.UNKNOWN
    assert made["voltage-drop:PV-E1"] is Outcome.UNKNOWN
    assert made["raceway-fill:R1/trench-orchard"] is Outcome.UNKNOWN


def test_ambient_beyond_the_insulation_is_unknown(sample, edit, design) -> None:
    files = edit(sample, "raceways.yaml", "ambient: 45 degC", "ambient: 91 degC")
    assert outcomes(design(files))["ampacity-use:PV-E1"] is Outcome.UNKNOWN


def test_imperial_twin_gives_the_same_findings(sample, edit, design) -> None:
    files = edit(sample, "raceways.yaml", "length: 38 m", "length: 3800 cm")
    files = edit(files, "site.yaml", "record_low: -22 degC", "record_low: -7.6 degF")
    assert outcomes(design(files)) == outcomes(design(sample))


def test_a_short_piece_of_a_long_run_is_no_nipple(sample, edit, design) -> None:
    # A stub of 0.5 m is shorter than 24 in, but the run between its enclosures is 49 m: 40 % and the count factor hold.
    files = edit(sample, "raceways.yaml", "length: 1.5 m, place: outdoors", "length: 0.5 m, place: outdoors")
    stretch = next(item for item in design(files).facts.stretches if str(item.id) == "R1/riser-orchard")
    assert stretch.limit.value == 40
    ampacity = next(
        item for item in design(files).facts.circuits[0].stretches if str(item.segment) == "R1/riser-orchard"
    )
    assert ampacity.count_factor.value == pytest.approx(0.7)


NIPPLE = b"""raceways:
  R3:
    starts_at: PB-1
    ends_at: INV-1
    segments:
      stub: {kind: EMT, size: 1/2, length: 0.5 m, place: indoors, ambient: 30 degC}
circuits:
  N-1: {kind: spare, cable: THWN10, size: 10 AWG, conductors: 7, path: [R3]}
"""


def test_a_nipple_between_enclosures_may_be_fuller(sample, design) -> None:
    # 7 * 0.0211 = 0.1477 in2 of 0.304 in2 is 48.6 %: above 40 %, below the 60 % of a nipple (NEC chapter 9, note 4).
    made = outcomes(design({**sample, "nipple.yaml": NIPPLE}))
    assert made["raceway-fill:R3/stub"] is Outcome.MEETS
    made = outcomes(design({**sample, "nipple.yaml": NIPPLE.replace(b"    ends_at: INV-1\n", b"")}))
    assert made["raceway-fill:R3/stub"] is Outcome.FAILS
    assert made["raceway-bends:R3:PB-1-end"] is Outcome.UNKNOWN


def test_bifacial_modules_need_their_rear_gain(sample, edit, design) -> None:
    files = edit(
        sample,
        "equipment.yaml",
        "    cells_in_series: 66\n",
        "    cells_in_series: 66\n    bifaciality: 70 %\n",
    )
    made = outcomes(design(files))
    assert made["ampacity-terminal:PV-E1"] is Outcome.UNKNOWN
    assert made["ampacity-use:PV-E1:R2/riser-yard"] is Outcome.UNKNOWN
    files = edit(
        files,
        "arrays.yaml",
        "mounting: ground table,",
        "mounting: ground table, rear_gain: 8 %,",
    )
    made = design(files)
    # 1.25 * 12.95 * 1.08 = 17.4825 A in the riser's 17.4 A.
    use = next(finding for finding in made.findings if finding.id.startswith("ampacity-use:PV-W1"))
    assert use.outcome is Outcome.FAILS
    assert use.value.value == pytest.approx(17.4825)


@pytest.mark.parametrize(
    ("gain", "limit", "outcome", "value"),
    [
        # Own hand calculation: 12.95 A · 1.08 = 13.986 A, with the rear lit and at standard conditions in front.
        ("8 %", "13.5 A", Outcome.FAILS, 13.986),
        ("8 %", "14.5 A", Outcome.MEETS, 13.986),
        ("0 %", "13.5 A", Outcome.MEETS, 12.95),
        ("", "20 A", Outcome.UNKNOWN, None),
    ],
)
def test_the_rear_counts_at_the_hard_limit_of_an_input(
    sample, edit, design, gain, limit, outcome, value
) -> None:
    files = edit(
        sample,
        "equipment.yaml",
        "    cells_in_series: 66\n",
        "    cells_in_series: 66\n    bifaciality: 70 %\n",
    )
    files = edit(files, "equipment.yaml", "short_circuit_limit: 20 A", f"short_circuit_limit: {limit}")
    files = edit(files, "equipment.yaml", "usable_current: 16 A", "usable_current: 13 A")
    if gain:
        files = edit(files, "arrays.yaml", "{module: M450,", f"{{module: M450, rear_gain: {gain},")
    found = next(f for f in design(files).findings if f.id == "input-short-circuit:INV-1/A")
    assert found.outcome is outcome
    if value is not None:
        assert found.value.value == pytest.approx(value)


def test_modules_of_no_bifaciality_need_no_rear_gain(sample, edit, design) -> None:
    files = edit(
        sample,
        "equipment.yaml",
        "    cells_in_series: 66\n",
        "    cells_in_series: 66\n    bifaciality: 0 %\n",
    )
    assert outcomes(design(files)) == outcomes(design(sample))


def test_a_string_that_may_end_at_an_input_leaves_its_hard_limit_open(sample, edit, design) -> None:
    # E1 has no input; B has one pair of connectors and is full, until its data sheet says two.
    files = edit(sample, "arrays.yaml", ", input: INV-1/A", "")
    assert outcomes(design(files))["input-short-circuit:INV-1/B"] is Outcome.MEETS
    files = edit(
        files, "equipment.yaml", "connectors: 1\n      B: *tp_input", "connectors: 2\n      B: *tp_input"
    )
    assert outcomes(design(files))["input-short-circuit:INV-1/B"] is Outcome.UNKNOWN
    files = edit(files, "equipment.yaml", "short_circuit_limit: 20 A", "short_circuit_limit: 30 A")
    assert outcomes(design(files))["input-short-circuit:INV-1/B"] is Outcome.MEETS


def test_an_ambient_taken_from_the_site_is_an_assumption(sample, design) -> None:
    keys = {assumed.key for assumed, _ in design(sample).assumptions}
    assert {"ambient of stretches underground", "ambient of stretches outdoors"} <= keys


def test_a_rating_of_zero_judges_nothing(sample, edit, design) -> None:
    files = edit(sample, "equipment.yaml", "maximum_dc_voltage: 600 V", "maximum_dc_voltage: 0 V", 1)
    assert outcomes(design(files))["cold-voltage-inverter:E1"] is Outcome.UNKNOWN


def rated(sample, design, links: str, landing: str) -> object:
    """Finding on the switch of string E1, with other links and another landing on it."""
    text = sample["landing.yaml"].decode()
    text = text.replace(
        "SW-E1: &links [[T1, T2], [T3, T4]]\n  SW-E2: *links",
        f"SW-E1: {links}\n  SW-E2: &links [[T1, T2], [T3, T4]]",
        1,
    )
    text = text.replace("SW-E1: {L1: PV-E1+, L2: INV-1/A+, L3: PV-E1-, L4: INV-1/A-}", f"SW-E1: {landing}", 1)
    made = design({**sample, "landing.yaml": text.encode()})
    return next(finding for finding in made.findings if finding.id == "cold-voltage-switch:PV-E1:SW-E1")


def test_poles_side_by_side_are_not_poles_in_series(sample, design) -> None:
    # L1 and L2 linked, T1 and T2 linked: two ways through one pole each, so one pole breaks the leg: 400 V, not 800 V.
    finding = rated(
        sample, design, "[[L1, L2], [T1, T2]]", "{L1: PV-E1+, T1: INV-1/A+, L3: PV-E1-, T3: INV-1/A-}"
    )
    assert finding.limit.value == 400
    assert finding.outcome is Outcome.FAILS


def test_the_weaker_leg_decides_the_rating_of_the_switch(sample, design) -> None:
    # Two poles in the positive leg, one in the negative: the negative one has to stand the voltage alone.
    finding = rated(sample, design, "[[T1, T2]]", "{L1: PV-E1+, L2: INV-1/A+, L3: PV-E1-, T3: INV-1/A-}")
    assert finding.limit.value == 400
    assert finding.outcome is Outcome.FAILS


def test_a_pole_beyond_the_way_out_does_not_count(sample, design) -> None:
    # The leg leaves at T1; the pole behind the link to T2 breaks nothing of it.
    finding = rated(sample, design, "[[T1, T2]]", "{L1: PV-E1+, T1: INV-1/A+, L3: PV-E1-, T3: INV-1/A-}")
    assert finding.limit.value == 400


def test_the_terminal_column_is_never_hotter_than_the_conductor(sample, edit, design) -> None:
    # TW is worth 60 °C: 30 A for 10 AWG at terminals marked 75 °C, not the 35 A of their column.
    made = design(edit(sample, "equipment.yaml", "markings: [THWN-2]", "markings: [TW]"))
    terminal = next(finding for finding in made.findings if finding.id == "ampacity-terminal:PV-R1S")
    assert terminal.limit.value == 30


OUTPUT = """circuits:
  AC-1: {kind: output, inverter: INV-1, cable: THWN10, size: 8 AWG, conductors: 3, path: [R2/hall]%s}
"""


def test_the_largest_device_in_a_raceway_sizes_its_ground(sample, design) -> None:
    # An output circuit without a stated device leaves the ground unknown; 70 A ask for 8 AWG (row up to 100 A).
    made = outcomes(design({**sample, "output.yaml": (OUTPUT % "").encode()}))
    assert made["ground-size:R2/hall"] is Outcome.UNKNOWN
    made = outcomes(design({**sample, "output.yaml": (OUTPUT % ", device: 70 A").encode()}))
    assert made["ground-size:R2/hall"] is Outcome.FAILS
    assert made["ground-size:R2/riser-yard"] is Outcome.MEETS


def test_every_circuit_of_a_string_is_checked(sample, edit, design) -> None:
    files = edit(
        sample, "equipment.yaml", "cables:\n", "cables:\n  OLD: {markings: [THWN-2], voltage: 300 V}\n"
    )
    files["second.yaml"] = (
        b"circuits:\n  A-0: {string: E1, cable: OLD, size: 10 AWG, path: [R1], tails: {start: 1 m, end: 1 m}}\n"
    )
    made = outcomes(design(files))
    assert made["cold-voltage-wire:A-0"] is Outcome.FAILS
    assert made["cold-voltage-wire:PV-E1"] is Outcome.THIN


def test_a_switch_without_a_stated_landing_is_unknown(sample, edit, design) -> None:
    files = edit(
        sample,
        "landing.yaml",
        "L1: PV-E1+, L2: INV-1/A+, L3: PV-E1-, L4: INV-1/A-",
        "L2: INV-1/A+, L4: INV-1/A-",
    )
    assert outcomes(design(files))["cold-voltage-switch:PV-E1:SW-E1"] is Outcome.UNKNOWN
