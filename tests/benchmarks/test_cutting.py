"""How long the choice of spools takes: 500 pieces of 20 lengths, with the optimum proved or the gap stated."""

from __future__ import annotations

import random

from reportgen.engineering.cutting.solver import plan
from reportgen.engineering.cutting.spools import Offer, Piece
from reportgen.working.quantity import Quantity


def test_five_hundred_pieces_of_twenty_lengths(benchmark) -> None:
    chance = random.Random(500)
    lengths = chance.sample(range(60, 480), 20)
    pieces = [Piece(f"W{n}", Quantity(float(lengths[n % 20]), "ft")) for n in range(500)]
    offers = [
        Offer("S500", Quantity(500, "ft")),
        Offer("S1000", Quantity(1000, "ft")),
        Offer("S2500", Quantity(2500, "ft")),
    ]
    found = benchmark.pedantic(plan, args=(pieces, offers), rounds=3, iterations=1)
    assert sum(len(spool.pieces) for spool in found.spools) == 500
    assert found.proved or found.gap > 0
    benchmark.extra_info["proved"] = found.proved
    benchmark.extra_info["gap [%]"] = round(100 * found.gap, 3)
