"""What stands already: kept, replaced or unknown; connector halves; array wiring; seals, drains, openings."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome


@pytest.fixture
def with_old(sample, edit, design):
    def make(marking="THWN-2", volts="600 V", age="10 years", policy=True):
        files = (
            edit(
                sample,
                "project.yaml",
                "    drop_target: 2.5 %",
                "    drop_target: 2.5 %\n    reuse_age: 25 years",
            )
            if policy
            else sample
        )
        cable = f"  OLDW: {{markings: [{marking}]{f', voltage: {volts}' if volts else ''}{f', age: {age}' if age else ''}}}\n"
        circuit = "  OLD-G: {kind: ground, cable: OLDW, size: 10 AWG, path: [R1], status: existing}\n"
        files = {
            **files,
            "old.yaml": f"cables:\n{cable}circuits:\n{circuit}".encode(),
        }
        return design(files)

    return make


def finding(made, key):
    return next(found for found in made.findings if found.id == key)


def test_an_old_wire_with_all_in_its_favour_is_kept(with_old) -> None:
    found = finding(with_old(), "reuse-conductor:OLD-G")
    assert found.outcome is Outcome.MEETS
    # The working shows every reason, also for what is kept.
    assert {note.split(",")[0] for note in found.notes} == {"wet", "age", "voltage", "temperature"}


@pytest.mark.parametrize(
    ("change", "outcome", "told"),
    [
        # A ground beside a string of 593.9 V is insulated for it as well.
        ({"volts": "300 V"}, Outcome.FAILS, "marked 300 V, highest cold voltage beside it 593.9 V"),
        ({"volts": None}, Outcome.UNKNOWN, "voltage mark not judged"),
        ({"marking": "THHN"}, Outcome.FAILS, "THHN is not rated for the wet stretches"),
        ({"marking": ""}, Outcome.UNKNOWN, "no marking is known"),
        ({"age": "26 years"}, Outcome.FAILS, "26 years old"),
        ({"age": "25 years"}, Outcome.MEETS, "25 years old"),
        ({"age": None}, Outcome.UNKNOWN, "age not judged"),
        ({"policy": False}, Outcome.UNKNOWN, "age not judged"),
    ],
)
def test_one_reason_decides(with_old, change, outcome, told) -> None:
    found = finding(with_old(**change), "reuse-conductor:OLD-G")
    assert found.outcome is outcome
    assert told in found.headline


def test_a_reason_against_goes_before_one_that_is_open(with_old) -> None:
    found = finding(with_old(volts="300 V", age=None), "reuse-conductor:OLD-G")
    assert found.outcome is Outcome.FAILS
    assert any("age, unknown" in note for note in found.notes)


def test_a_stretch_hotter_than_the_insulation_is_no_place_to_keep_it(sample, edit, with_old, design) -> None:
    made = with_old(marking="TW", volts="600 V")
    assert finding(made, "reuse-conductor:OLD-G").outcome is Outcome.MEETS
    hot = edit(sample, "raceways.yaml", "ambient: 45 degC", "ambient: 60 degC")
    hot = edit(
        hot, "project.yaml", "    drop_target: 2.5 %", "    drop_target: 2.5 %\n    reuse_age: 25 years"
    )
    old = "cables:\n  OLDW: {markings: [TW], voltage: 600 V, age: 1 years}\ncircuits:\n  OLD-G: {kind: ground, cable: OLDW, size: 10 AWG, path: [R1], status: existing}\n"
    found = finding(design({**hot, "old.yaml": old.encode()}), "reuse-conductor:OLD-G")
    assert found.outcome is Outcome.FAILS
    assert "rated 60" in found.headline


def test_an_existing_string_circuit_is_judged_by_its_current_too(sample, edit, design) -> None:
    files = edit(sample, "circuits.yaml", "    string: E1\n", "    string: E1\n    status: existing\n")
    files = edit(
        files, "project.yaml", "    drop_target: 2.5 %", "    drop_target: 2.5 %\n    reuse_age: 25 years"
    )
    files = edit(
        files,
        "equipment.yaml",
        "    voltage: 600 V\n    stranding: stranded\n",
        "    voltage: 600 V\n    age: 5 years\n    stranding: stranded\n",
        1,
    )
    assert finding(design(files), "reuse-conductor:PV-E1").outcome is Outcome.MEETS
    weak = edit(files, "circuits.yaml", "    size: 8 AWG\n", "    size: 14 AWG\n", 1)
    found = finding(design(weak), "reuse-conductor:PV-E1")
    assert found.outcome is Outcome.FAILS
    assert "current" in found.headline


def test_a_pipe_that_nobody_proved_is_unknown(sample, edit, design) -> None:
    assert finding(design(sample), "reuse-raceway:R1").outcome is Outcome.MEETS
    made = design(edit(sample, "raceways.yaml", "    proved: mandrel drawn through on 2026-03-21, dry\n", ""))
    found = finding(made, "reuse-raceway:R1")
    assert found.outcome is Outcome.UNKNOWN
    assert "mandrel" in found.cure
    assert "before wire is bought" in found.cure


def test_a_pipe_too_full_is_not_kept_although_it_was_proved(sample, edit, design) -> None:
    files = edit(sample, "raceways.yaml", "size: 1-1/2, length: 46 m", "size: 3/4, length: 46 m")
    assert finding(design(files), "reuse-raceway:R1").outcome is Outcome.FAILS


@pytest.mark.parametrize(
    ("old", "new", "outcome"),
    [
        ("wet_location: yes", "wet_location: no", Outcome.UNKNOWN),
        ("    wet_location: yes\n", "", Outcome.UNKNOWN),
        ("status: existing, openings_closed", "status: existing, inside: no, openings_closed", Outcome.MEETS),
    ],
)
def test_an_old_box(sample, edit, design, old, new, outcome) -> None:
    unsaid = edit(
        sample, "equipment.yaml", "inside: no, on_building: yes, status: existing", "status: existing"
    )
    assert finding(design(edit(unsaid, "equipment.yaml", old, new)), "reuse-box:PB-1").outcome is outcome


def test_an_old_box_outside_without_a_listing_goes(sample, edit, design) -> None:
    # The sample has it outside.
    files = edit(sample, "equipment.yaml", "wet_location: yes", "wet_location: no")
    assert finding(design(files), "reuse-box:PB-1").outcome is Outcome.FAILS


@pytest.mark.parametrize(
    ("new", "outcome"),
    [
        ("    connector: Larkspur LC4\n", Outcome.MEETS),
        ("    connector: larkspur lc-4\n", Outcome.MEETS),
        ("    connector: Larkspur LC3\n", Outcome.FAILS),
        ("    connector: Larkspur LC3\n    connectors_listed: file 123 of the test house\n", Outcome.MEETS),
        ("", Outcome.UNKNOWN),
    ],
)
def test_connector_halves(sample, edit, design, new, outcome) -> None:
    files = edit(sample, "circuits.yaml", "    connector: Larkspur LC4\n", new, 1)
    assert finding(design(files), "connector-halves:PV-E1").outcome is outcome


@pytest.mark.parametrize(
    ("file", "old", "new", "key", "outcome"),
    [
        ("raceways.yaml", "    sealed: yes\n", "", "raceway-seal:R2", Outcome.UNKNOWN),
        ("raceways.yaml", "    sealed: yes\n", "    sealed: no\n", "raceway-seal:R2", Outcome.FAILS),
        (
            "raceways.yaml",
            "    sealed: yes\n    drained: yes\n",
            "    sealed: yes\n",
            "raceway-drain:R2",
            Outcome.UNKNOWN,
        ),
        (
            "raceways.yaml",
            "    sealed: yes\n    drained: yes\n",
            "    drained: no\n",
            "raceway-drain:R2",
            Outcome.ASK,
        ),
        ("equipment.yaml", ", openings_closed: yes", "", "unused-openings:PB-1", Outcome.UNKNOWN),
        (
            "equipment.yaml",
            "openings_closed: yes",
            "openings_closed: no",
            "unused-openings:PB-1",
            Outcome.FAILS,
        ),
    ],
)
def test_seals_drains_and_openings(sample, edit, design, file, old, new, key, outcome) -> None:
    assert finding(design(sample), key).outcome is Outcome.MEETS
    assert finding(design(edit(sample, file, old, new)), key).outcome is outcome


# Wire behind the modules


def test_wire_behind_the_modules_by_hand(design, sample) -> None:
    item = next(item for item in design(sample).facts.array_wiring if item.id == "EAST")
    # Own hand calculation: 36 + (44 − 20) · 1000 / 800 = 66 °C; 40 A · 0.58 · 0.80 = 18.56 A; 1.25 · 12.95 = 16.19 A.
    assert item.temperature.value == pytest.approx(66)
    assert item.corrected.value == pytest.approx(18.56)
    assert item.maximum.value == pytest.approx(16.1875)


@pytest.mark.parametrize(
    ("old", "new", "key", "outcome"),
    [
        (", together: 4}", "}", "array-wire-ampacity:EAST:at module temperature", Outcome.UNKNOWN),
        # 40 · 0.58 · 0.70 = 16.24 A: thin; with ten in a bundle 40 · 0.58 · 0.50 = 11.6 A: the table not held decides.
        ("together: 4}", "together: 7}", "array-wire-ampacity:EAST:at module temperature", Outcome.THIN),
        ("together: 4}", "together: 10}", "array-wire-ampacity:EAST:at module temperature", Outcome.ASK),
        (
            "together: 4}",
            "together: 4, temperature: 95 degC}",
            "array-wire-ampacity:EAST:at module temperature",
            Outcome.UNKNOWN,
        ),
        (
            "wiring: {cable: PVW10, size: 10 AWG, together: 4}, ",
            "",
            "array-wire-ampacity:EAST",
            Outcome.UNKNOWN,
        ),
        (
            "cable: PVW10, size: 10 AWG, together: 4",
            "cable: THWN10, size: 10 AWG, together: 4",
            "array-wire-marking:EAST",
            Outcome.FAILS,
        ),
        (
            "size: 10 AWG, together: 4",
            "size: 6 mm2, together: 4",
            "array-wire-ampacity:EAST:at module temperature",
            Outcome.ASK,
        ),
        (
            "size: 10 AWG, together: 4",
            "size: 7 mm2, together: 4",
            "array-wire-ampacity:EAST:at module temperature",
            Outcome.UNKNOWN,
        ),
    ],
)
def test_wire_behind_the_modules(sample, edit, design, old, new, key, outcome) -> None:
    assert finding(design(edit(sample, "arrays.yaml", old, new, 1)), key).outcome is outcome


@pytest.mark.parametrize(
    ("marking", "outcome"),
    [
        ("PV wire", Outcome.MEETS),
        ("RHW-2/USE-2", Outcome.MEETS),
        ("RHW-2", Outcome.FAILS),
        ("H1Z2Z2-K", Outcome.ASK),
        ("", Outcome.UNKNOWN),
    ],
)
def test_markings_that_may_lie_exposed(sample, edit, design, marking, outcome) -> None:
    files = edit(sample, "equipment.yaml", "markings: [PV wire]", f"markings: [{marking}]")
    assert finding(design(files), "array-wire-marking:EAST").outcome is outcome


def test_the_mark_of_the_wire_behind_the_modules(sample, edit, design) -> None:
    files = edit(sample, "equipment.yaml", "voltage: 2000 V", "voltage: 300 V")
    assert finding(design(files), "array-wire-voltage:EAST").outcome is Outcome.FAILS
    files = edit(sample, "equipment.yaml", "    voltage: 2000 V\n", "")
    assert finding(design(files), "array-wire-voltage:EAST").outcome is Outcome.UNKNOWN


@pytest.mark.parametrize(
    ("new", "outcome"), [("", Outcome.UNKNOWN), ("    tail_enclosed: no\n", Outcome.FAILS)]
)
def test_a_tail_of_building_wire_at_the_array(sample, edit, design, new, outcome) -> None:
    files = edit(sample, "circuits.yaml", "    tail_enclosed: yes\n", new, 1)
    assert finding(design(files), "array-wire-marking:PV-E1").outcome is outcome


def test_the_binder_shows_what_is_kept(sample, design) -> None:
    from reportgen.binder.write import lay_out

    pages = lay_out(design(sample), sample)
    kept = pages.schedules["schedules/kept.csv"].decode()
    assert "R1,raceway," in kept
    assert "proof: proved free: mandrel drawn through" in kept
    wiring = pages.schedules["schedules/array-wiring.csv"].decode()
    assert 'EAST,"E1, E2",PVW10,10 AWG,4,66,16.1875,40,18.56,593.868' in wiring
