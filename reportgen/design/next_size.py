"""What a wire one size up or down saves or costs in a year, and what it is to be bought for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.design.missing import Known, Missing
from reportgen.design.pieces import JOINT
from reportgen.design.results import CircuitDesign
from reportgen.design.wire_options import SizeOption
from reportgen.working.quantity import Assumed, Quantity, work

if TYPE_CHECKING:
    from reportgen.design.checks.base import Facts
    from reportgen.design.energy import EnergyDesign

#: Years over which a wire saves, for the price of a kWh saved.
LIFE = Quantity(
    25.0,
    "",
    Assumed("next-size.life", "years over which a wire saves energy", "common practice, no source"),
    "years",
)


@dataclass(frozen=True, slots=True)
class Step:
    """One size up or down from the one chosen, for one string circuit.

    Attributes
    ----------
    lost, saved : Quantity
        Lost in a year with the size chosen, and the part of it that the other saves; negative for a thinner wire. [kWh]
    worth : Quantity or Missing
        Saved in a year, in money.
    extra : Quantity or Missing
        Price of the wires in the other size less that in the size chosen, in money.
    payback : Quantity or None
        Extra over worth; None unless both are known and above zero. [years]
    each : Quantity or None
        Extra for each kWh saved over :data:`LIFE`, in money, interest left out; None as for ``payback``.
    stands : bool
        Whether the wire stands already: the other size is bought as a whole, and no difference of prices is its extra.
    """

    option: SizeOption
    chosen: str
    lost: Quantity
    saved: Quantity
    worth: Known
    extra: Known
    payback: Quantity | None
    each: Quantity | None
    stands: bool = False


def year_loss(facts: Facts, energy: EnergyDesign | None, option: SizeOption) -> Quantity | None:
    """Loss of a circuit in the simulated year with a size, in proportion to its resistance [kWh]; None where no year ran."""
    wired = option.wired
    if energy is None or energy.year is None or not isinstance(wired, CircuitDesign):
        return None
    ohms = [one.resistance for one in facts.circuits if one.string.id == wired.string.id]
    known = [one for one in ohms if isinstance(one, Quantity)]
    if len(known) < len(ohms) or not isinstance(wired.resistance, Quantity):
        return None
    total = sum(one.value for one in known)
    lost = next((sum(one.figures.wire) for one in energy.year.strings if one.id == wired.string.id), None)
    if lost is None or not total:
        return None
    return work(
        "loss in a year",
        "kWh",
        "E * R / R_sum",
        E=Quantity(lost, "kWh", None, f"loss of string {wired.string.id} in the simulated year"),
        R=wired.resistance,
        R_sum=Quantity(total, "ohm", None, f"all circuits of string {wired.string.id}"),
    )


def steps(facts: Facts, energy: EnergyDesign | None, options: Sequence[SizeOption]) -> Iterator[Step]:
    """The size below and the size above the one chosen, for each circuit with a simulated year."""
    for place, option in enumerate(options):
        if not option.chosen or (lost := year_loss(facts, energy, option)) is None:
            continue
        for other in options[max(place - 1, 0) : place + 2]:
            if other.circuit != option.circuit or other is option:
                continue
            if (then := year_loss(facts, energy, other)) is not None:
                yield _step(facts, option, other, lost, then)


def _step(facts: Facts, option: SizeOption, other: SizeOption, lost: Quantity, then: Quantity) -> Step:
    saved = work("saved in a year", "kWh", "E_chosen - E_other", E_chosen=lost, E_other=then)
    prices = facts.project.prices
    price = prices.energy if prices else None
    worth: Known = Missing("price of energy", prices.span if prices else None)
    if price is not None:
        bare = Quantity(saved.value, "", saved.origin, saved.name)
        worth = work("worth of a year", "", "E * p", E=bare, p=price.named("value of one kWh"))
    stands = option.wired.circuit.status != "new"
    if stands:
        extra: Known = Missing(
            f"price of a new wire for circuit {option.circuit}, which stands already",
            option.wired.circuit.span,
        )
    else:
        extra = _extra(facts, option, other)
    payback = each = None
    if isinstance(extra, Quantity) and extra.value > 0 and saved.value > 0:
        each = work("price of a kWh saved", "", "C / (E * n)", C=extra, E=Quantity(saved.value, ""), n=LIFE)
        if isinstance(worth, Quantity) and worth.value > 0:
            payback = work("payback", "", "C / W", C=extra, W=worth)
    return Step(other, option.size, lost, saved, worth, extra, payback, each, stands)


def _extra(facts: Facts, option: SizeOption, other: SizeOption) -> Known:
    """Price of the wires of a circuit in the other size less that in the one chosen."""
    prices = facts.project.prices
    given = {str(one.item): one.price for one in prices.items} if prices else {}
    wanted = {wire.id for wire in facts.graph.conductors if wire.circuit == option.circuit}
    terms: dict[str, Quantity] = {}
    formula: list[str] = []
    for group in facts.cuts:
        for item in group.wires:
            # Wire of the array up to the box keeps its size.
            if item.wire.circuit != option.circuit or item.piece.end.terminal == JOINT:
                continue
            wanted.discard(item.wire.id)
            if isinstance(item.length, Missing):
                return item.length
            names = [f"wire {group.name.replace(group.size, size)}" for size in (other.size, option.size)]
            for name in names:
                if name not in given:
                    return Missing(f"price of {name}", prices.span if prices else None)
            n = len(formula) + 1
            formula.append(f"L_{n} * (p_{n} - q_{n})")
            terms[f"L_{n}"] = Quantity(item.length.value, "", item.length.origin, f"wire {item.id}")
            terms[f"p_{n}"], terms[f"q_{n}"] = (given[name].named(name) for name in names)
    if wanted or not formula:
        return Missing(f"length to buy of circuit {option.circuit}", option.wired.circuit.span)
    return work("extra price of the wires", "", " + ".join(formula), **terms)
