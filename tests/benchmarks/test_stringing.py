"""How long the ways to string a site take: 600 modules of three arrays on 20 inverters of three inputs, five ways."""

from __future__ import annotations

from reportgen.engineering.stringing import Cut, Placing, Slot, balanced, cuts, place

ARRAYS = {"A": 211, "B": 187, "C": 202}


def _five() -> list[Placing]:
    lengths = frozenset(range(6, 13))

    def order(cut: Cut) -> tuple[bool, int, int]:
        return not cut.alike, cut.strings, cut.spares

    ranked = {key: sorted(cuts(count, lengths, count // 20), key=order)[:12] for key, count in ARRAYS.items()}
    slots = [
        Slot(f"I{u}/{letter}", f"I{u}", dict.fromkeys(ARRAYS, lengths), dict.fromkeys(ARRAYS, 1))
        for u in range(20)
        for letter in "ABC"
    ]
    found: list[Placing] = []
    while len(found) < 5:
        way = place(
            ranked,
            slots,
            dict.fromkeys(ARRAYS, 400.0),
            {f"I{u}": 15_000.0 for u in range(20)},
            [before.chosen for before in found],
        )
        if way is None:
            break
        found.append(way)
    output = {f"I{u}": 12_000.0 for u in range(20)}
    return [balanced(way, slots, dict.fromkeys(ARRAYS, 400.0), {}, output) for way in found]


def test_six_hundred_modules_on_twenty_inverters(benchmark) -> None:
    found = benchmark.pedantic(_five, rounds=3, iterations=1)
    assert len(found) == 5
    assert all(way.proved for way in found)
