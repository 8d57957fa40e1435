"""Cut list: lengths that are all there, spools long enough, spools to be had, and what stays in reserve on each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.cutting import CutGroup
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing, missing_of
from reportgen.engineering.cutting.spools import CutPlan, StockProblem
from reportgen.working.quantity import Quantity

#: Command that chooses spools.
RUN = "reportgen build DIR"


@check
def lengths(facts: Facts) -> Iterator[Finding]:
    """Every new wire has a length to cut, and the shop a spool that holds it."""
    if not facts.cuts:
        return
    stock = facts.project.stock
    if stock is None:
        missing = Missing("stock: `head`, `trim` and the spools of the shop", facts.project.project.span)
        yield unknown("cut-length", "stock", "no wire has a length to cut", [missing])
        return
    for group in facts.cuts:
        if group.missing:
            yield unknown(
                "cut-length", group.name, f"wire of {group.name} has no length to cut", group.missing
            )
            continue
        if stock.spools and not group.offers:
            missing = Missing(
                f"a spool of {group.cable} {group.size} {group.colour} among the spools of stock",
                stock.where("spools"),
            )
            yield unknown("cut-length", group.name, f"no spool of {group.name} is on offer", [missing])
            continue
        yield _length(group, facts.units.length)


def _length(group: CutGroup, unit: str) -> Finding:
    longest, offer = group.longest, group.longest_offer
    assert longest is not None and isinstance(longest.length, Quantity)
    pieces = f"{len(group.wires)} {'piece' if len(group.wires) == 1 else 'pieces'} of {group.name}"
    if offer is None:
        headline = f"{pieces}, the longest {longest.length.show(1)}"
        return Finding("cut-length", group.name, Outcome.MEETS, headline, value=longest.length)
    spool = offer.length.to(unit).named("longest spool")
    if longest.length.value > spool.value * (1 + 1e-9):
        return Finding(
            "cut-length",
            group.name,
            Outcome.FAILS,
            f"{longest.id} takes {longest.length.show(1)} of {group.name}, the longest spool on offer holds {spool.show(1, at_most=True)}",
            value=longest.length,
            limit=spool,
            margin=1 - longest.length.value / spool.value,
            cure="offer a longer spool; a splice in a pipe is no way out",
            cure_span=offer.where("length"),
        )
    headline = f"{pieces}, the longest {longest.length.show(1)}, longest spool {spool.show(1, at_most=True)}"
    return Finding(
        "cut-length",
        group.name,
        Outcome.MEETS,
        headline,
        value=longest.length,
        limit=spool,
        margin=1 - longest.length.value / spool.value,
    )


@check
def spools(facts: Facts) -> Iterator[Finding]:
    """Spools chosen, enough of them to be had, and the tolerance of the lengths left on each; in a build alone."""
    groups = [group for group in facts.cuts if group.offers and not group.missing]
    if groups and not facts.cuts_planned:
        kinds = f"{len(groups)} {'kind' if len(groups) == 1 else 'kinds'} of wire"
        yield Finding(
            "cut-spools",
            "stock",
            Outcome.UNKNOWN,
            f"spools for {kinds}: not run",
            missing=("the choice of spools, which a check leaves out",),
            cure=f"run `{RUN}`",
            needs_run=RUN,
        )
        return
    for group in groups:
        longest, offer = group.longest, group.longest_offer
        if isinstance(group.plan, StockProblem):
            assert longest is not None and offer is not None and isinstance(longest.length, Quantity)
            if longest.length.value > offer.length.to(longest.length.unit).value * (1 + 1e-9):
                continue  # told with its place by the lengths
            headline = f"{group.name}: {group.plan.reason}"
            yield Finding(
                "cut-spools", group.name, Outcome.FAILS, headline, cure=group.plan.help, cure_span=offer.span
            )
        elif isinstance(group.plan, CutPlan):
            yield _plan(group, group.plan)
            yield _spare(group, group.plan)
    yield from _shared(facts)


def _plan(group: CutGroup, plan: CutPlan) -> Finding:
    bought = ", ".join(f"{count} × {key}" for key, count in plan.shopping.items())
    proof = "no plan does better" if plan.proved else f"a better plan might save up to {100 * plan.gap:.1f} %"
    headline = f"{group.name}: buy {bought}, {plan.scrap.show(1)} left over; {proof}"
    return Finding("cut-spools", group.name, Outcome.MEETS, headline, value=plan.scrap)


def _spare(group: CutGroup, plan: CutPlan) -> Finding:
    if absent := missing_of(*(item.tolerance for item in group.wires)):
        return unknown(
            "cut-spare", group.name, f"what stays on the spools of {group.name} is not judged", absent
        )
    if plan.thin:
        worst = min(
            plan.thin, key=lambda spool: spool.left.value - (spool.needed.value if spool.needed else 0.0)
        )
        assert worst.needed is not None
        offer = dict(group.offers)[worst.offer.id]
        count = len(plan.thin)
        return Finding(
            "cut-spare",
            group.name,
            Outcome.THIN,
            f"{count} {'spool' if count == 1 else 'spools'} of {group.name}: {worst.left.show(1)} left of {worst.offer.id}, tolerance of its lengths {worst.needed.show(1, at_most=False)}",
            value=worst.left,
            limit=worst.needed,
            at_most=False,
            cure="buy a longer spool, or measure the run again before it is cut",
            cure_span=offer.where("length"),
        )
    return Finding(
        "cut-spare",
        group.name,
        Outcome.MEETS,
        f"every spool of {group.name} keeps the tolerance of its lengths in reserve",
    )


def _shared(facts: Facts) -> Iterator[Finding]:
    """Spools that several colours are planned from, each as if it had them all."""
    wanted: Counter[str] = Counter()
    for group in facts.cuts:
        if isinstance(group.plan, CutPlan):
            wanted.update(group.plan.shopping)
    stock = facts.project.stock
    for key, count in sorted(wanted.items()):
        offer = stock.spools[key] if stock else None
        if offer is not None and offer.available is not None and count > int(offer.available):
            yield Finding(
                "cut-spools",
                key,
                Outcome.FAILS,
                f"{count} spools `{key}` are planned for all colours together, {int(offer.available)} are to be had",
                cure="offer another spool, or one for each colour with its own `available`",
                cure_span=offer.where("available"),
            )
