"""Cutting modules into strings and placing them on inputs."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.engineering.stringing import Cut, Slot, cuts, place


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
