"""Cutting modules into strings and placing them on inputs."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.engineering.stringing import Cut, Placing, Slot, balanced, cuts, place


def slots(units: int, lengths=range(1, 20), letters="AB", abreast: int = 1) -> list[Slot]:
    return [
        Slot(f"I{u}/{letter}", f"I{u}", {"G": frozenset(lengths)}, {"G": abreast})
        for u in range(units)
        for letter in letters
    ]


@settings(max_examples=60)
@given(st.integers(1, 120), st.sets(st.integers(2, 14), min_size=1), st.integers(0, 3))
def test_every_cut_uses_each_module_once(modules, lengths, spares) -> None:
    for cut in cuts(modules, lengths, spares):
        assert sum(n * k for n, k in cut.lengths) + cut.spares == modules
        assert all(n in lengths and k > 0 for n, k in cut.lengths)
        assert 0 <= cut.spares <= spares


def test_alike_cuts_are_complete_by_hand() -> None:
    alike = {cut.lengths[0]: cut.spares for cut in cuts(56, range(7, 13), 2) if cut.alike}
    assert alike == {(11, 5): 1, (9, 6): 2, (8, 7): 0, (7, 8): 0}


@pytest.mark.parametrize(
    ("modules", "lengths", "even"),
    [(28, (9, 10), ((10, 1), (9, 2))), (46, (9, 10), ((10, 1), (9, 4))), (88, (12, 13), ((13, 4), (12, 3)))],
)
def test_strings_a_module_apart_use_every_module(modules, lengths, even) -> None:
    """10 + 9 + 9; 10 + 4 · 9; 4 · 13 + 3 · 12: none over, whatever the number of shorter strings."""
    assert Cut(even, 0) in cuts(modules, lengths, 0)


@given(st.integers(1, 120), st.integers(2, 14))
def test_an_even_cut_is_found_wherever_there_is_one(modules, short) -> None:
    found = {cut.lengths for cut in cuts(modules, {short, short + 1}, 0)}
    for longer in range(1, modules // (short + 1) + 1):
        rest, over = divmod(modules - longer * (short + 1), short)
        if rest and not over:
            assert ((short + 1, longer), (short, rest)) in found


def test_placing_holds_inputs_lengths_and_power() -> None:
    ranked = {"G": [Cut(((10, 4),), 0), Cut(((5, 8),), 0)]}
    found = place(ranked, slots(2), {"G": 400.0}, {})
    assert found is not None
    assert found.proved
    assert found.chosen == {"G": 0}
    assert sum(count for *_, count in found.strings) == 4
    # Eight strings need eight inputs, or two side by side.
    assert place({"G": ranked["G"][1:]}, slots(2), {"G": 400.0}, {}) is None
    assert place({"G": ranked["G"][1:]}, slots(2, abreast=2), {"G": 400.0}, {}) is not None
    # An input that does not take ten leaves too few for four strings.
    assert place(ranked, slots(2, range(1, 10)), {"G": 400.0}, {}) is None
    # 2 · 10 · 400 W = 8 kW on each inverter.
    assert place(ranked, slots(2), {"G": 400.0}, {"I0": 8000.0, "I1": 8000.0}) is not None
    assert place(ranked, slots(2), {"G": 400.0}, {"I0": 7999.0, "I1": 8000.0}) is None


def test_found_choices_are_not_found_again() -> None:
    ranked = {"G": [Cut(((10, 4),), 0), Cut(((20, 2),), 0)]}
    places = slots(2, range(1, 21))
    first = place(ranked, places, {"G": 1.0}, {})
    assert first is not None
    second = place(ranked, places, {"G": 1.0}, {}, [first.chosen])
    assert second is not None
    assert (first.chosen, second.chosen) == ({"G": 0}, {"G": 1})
    assert place(ranked, places, {"G": 1.0}, {}, [first.chosen, second.chosen]) is None


@pytest.mark.parametrize("count", [3, 4])
def test_one_input_takes_one_length(count) -> None:
    ranked = {"G": [Cut(((10, 2), (8, 2)), 0)]}
    places = slots(1, letters="ABCD"[:count], abreast=2)
    found = place(ranked, places, {"G": 1.0}, {})
    assert found is not None
    used = [slot for _, _, slot, _ in found.strings]
    assert len(used) == len(set(used))


def test_strings_are_spread_over_inverters_by_their_output() -> None:
    takes = {"P": frozenset({11})}
    slots = [Slot(f"{unit}/{letter}", unit, takes, {"P": 1}) for unit in ("I1", "I2") for letter in "ABCD"]
    heap = Placing(
        {"P": 0},
        (*(("P", 11, f"I1/{letter}", 1) for letter in "ABCD"), ("P", 11, "I2/A", 1)),
        proved=True,
    )

    def on(made: Placing, unit: str) -> int:
        return sum(count for _, _, slot, count in made.strings if slot.startswith(unit))

    # Five strings on two inverters of one output: three and two; of 12 and 3 kW: four and one.
    even = balanced(heap, slots, {"P": 325.0}, {}, {"I1": 6000.0, "I2": 6000.0})
    assert sorted((on(even, "I1"), on(even, "I2"))) == [2, 3]
    uneven = balanced(heap, slots, {"P": 325.0}, {}, {"I1": 12000.0, "I2": 3000.0})
    assert (on(uneven, "I1"), on(uneven, "I2")) == (4, 1)
    # A limit of PV power holds: 2 · 11 · 325 W is all that the first takes.
    held = balanced(heap, slots, {"P": 325.0}, {"I1": 7150.0}, {"I1": 12000.0, "I2": 3000.0})
    assert (on(held, "I1"), on(held, "I2")) == (2, 3)
    # Where not all fit so, nothing is changed.
    assert balanced(heap, slots, {"P": 325.0}, {"I1": 3575.0, "I2": 3575.0}, {}) == heap


@given(st.integers(1, 8), st.lists(st.sampled_from([1000.0, 6000.0, 12000.0]), min_size=2, max_size=4))
def test_spreading_keeps_every_string_and_every_input(count, outputs) -> None:
    takes = {"P": frozenset({9, 11})}
    slots = [Slot(f"I{n}/{x}", f"I{n}", takes, {"P": 2}) for n in range(len(outputs)) for x in "AB"]
    before = Placing(
        {"P": 0},
        tuple(("P", (9, 11)[n % 2], slots[n % len(slots)].id, 1) for n in range(min(count, len(slots)))),
        proved=True,
    )
    made = balanced(before, slots, {"P": 400.0}, {}, {f"I{n}": w for n, w in enumerate(outputs)})

    def lengths(placing: Placing) -> list[int]:
        return sorted(length for _, length, _, many in placing.strings for _ in range(many))

    assert lengths(made) == lengths(before)
    assert len({slot for _, _, slot, _ in made.strings}) == len(made.strings)
    assert all(many <= 2 for *_, many in made.strings)
