"""Rules of overcurrent protection and grounding that are commonly misstated: each is caught by a finding or a note."""

from __future__ import annotations

import pytest
from protection_folder import folder, found, fuse, outcome

from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

POLE = ", fuse: F, fused_pole: positive"


def made(files, edition: str = "nec2023"):
    return assemble(load_project(files), load(edition), "test")


def test_myth_two_tests_of_a_conductor_are_enough() -> None:
    # 10 AWG among sixteen passes both ampacity tests with 12.8 A of I_sc (16 A, 20 A) and is worth 20 A: 25 A fails.
    done = made(folder("A" * 8, isc="12.8 A", string=POLE, more=fuse("25 A"), riser="30 degC"))
    assert outcome(done, "ampacity-terminal:C1") == "meets"
    assert outcome(done, "ampacity-use:C1:R1/trench") == "meets"
    assert outcome(done, "device-conductor:S1:F") == "fails"


def test_myth_string_fuse_is_one_and_a_quarter_times_isc() -> None:
    # 1.25 · 9.9 = 12.375 A would let 15 A pass; 1.25 · 1.25 · 9.9 = 15.47 A does not, and 16 A is a fuse to be had.
    for rating, then in (("15 A", "fails"), ("16 A", "meets"), ("20 A", "meets")):
        assert (
            outcome(made(folder("AAA", isc="9.9 A", string=POLE, more=fuse(rating))), "fuse-floor:S1:F")
            == then
        )


def test_myth_only_standard_ratings_exist() -> None:
    # Floor 1.5625 · 7.5 = 11.72 A, module 12 A: no standard rating lies between, and a 12 A fuse does.
    module = ", maximum_series_fuse: 12 A"
    done = made(folder("AAA", isc="7.5 A", module=module, string=POLE, more=fuse("12 A")))
    for code in ("fuse-floor", "fuse-module", "device-conductor"):
        assert outcome(done, f"{code}:S1:F") == "meets"
    bare = found(made(folder("AAA", isc="7.5 A", module=module)), "string-fuse:S1")
    assert "a rating that is sold between them" in bare.cure


def test_myth_always_round_up() -> None:
    # 20 A is a standard rating: no step up to 25 A. The module's 25 A is never passed by a step up either.
    done = made(folder("A" * 8, isc="12.8 A", string=POLE, more=fuse("25 A"), riser="30 degC"))
    assert found(done, "device-conductor:S1:F").limit.value == 20
    assert outcome(made(folder("AAA", string=POLE, more=fuse("30 A"))), "fuse-module:S1:F") == "fails"


@pytest.mark.parametrize(("size", "cap"), [("14 AWG", 15), ("12 AWG", 20), ("10 AWG", 30)])
def test_myth_a_cool_small_wire_takes_a_larger_fuse(size: str, cap: int) -> None:
    # Two carrying at 30 °C: 25, 30 and 40 A in the 90 °C column, and still the caps hold.
    for rating, then in ((f"{cap} A", "meets"), (f"{cap + 1} A", "fails")):
        done = made(folder("A", size=size, isc="5 A", string=POLE, more=fuse(rating), riser="30 degC"))
        assert outcome(done, "device-conductor:S1:F") == then


def test_myth_every_string_needs_a_fuse_and_its_twin_none_does() -> None:
    assert outcome(made(folder("AA")), "string-fuse:S1") == "meets"
    assert outcome(made(folder("AAA")), "string-fuse:S1") == "fails"
    # The inverter counts: unknown where nobody says what it feeds back.
    assert outcome(made(folder("AA", inverter="{pv_legs: floating}")), "string-fuse:S1") == "unknown"


def test_myth_fuse_both_poles() -> None:
    for edition in ("nec2017", "nec2020", "nec2023"):
        done = made(folder("AAA", string=POLE, more=fuse(), edition=edition), edition)
        assert outcome(done, "fuse-poles:S1") == "meets"
    # One leg rests on ground-fault protection: without the inverter's word it is unknown.
    silent = made(folder("AAA", inverter="{backfeed_current: 0 A}", string=POLE, more=fuse()))
    assert outcome(silent, "fuse-poles:S1") == "unknown"


def test_myth_any_breaker_works_on_direct_current() -> None:
    # Amperes alone are no answer: neither voltage nor listing is known of a device told by its rating.
    done = made(folder("AAA", circuit=", device: 25 A"))
    assert outcome(done, "fuse-floor:S1:device of C1") == "meets"
    assert outcome(done, "fuse-voltage:S1:device of C1") == "unknown"
    assert outcome(done, "fuse-listing:device of C1") == "unknown"


def test_myth_the_ground_is_sized_to_the_wire() -> None:
    # Strings in 4 AWG for their drop: the ground stays 10 AWG, and 4 AWG is told as larger than needed.
    assert outcome(made(folder("A", size="4 AWG", ground="10 AWG")), "ground-size:R1/trench") == "meets"
    grown = found(made(folder("A", size="4 AWG", ground="4 AWG")), "ground-size:R1/trench")
    assert "larger than needed: 10 AWG would do" in grown.notes[0]


@pytest.mark.parametrize("edition", ["nec2017", "nec2020", "nec2023"])
def test_myth_a_ground_mount_must_have_its_own_rod_or_needs_none(edition: str) -> None:
    done = made(folder("A", array=", electrode: none", edition=edition), edition)
    told = found(done, "array-electrode:T")
    assert str(told.outcome) == "ask"
    assert "permitted" in told.headline
    assert "electrode system" in told.question
    rod = made(folder("A", array=", electrode: rod", ground=None, edition=edition), edition)
    assert outcome(rod, "array-electrode:T") == "fails"


def test_myth_an_electrode_conductor_is_always_needed() -> None:
    assert "not solidly grounded" in found(made(folder("A")), "floating-poles:H").notes[0]


def test_myth_ten_amperes_is_no_standard_rating() -> None:
    # Floor 1.5625 · 5 = 7.8 A, module 10 A: the cure names 10 A.
    done = made(folder("AAAA", isc="5 A", module=", maximum_series_fuse: 10 A"))
    assert "fit a fuse of 10 A" in found(done, "string-fuse:S1").cure
