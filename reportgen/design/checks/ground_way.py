"""Where each ground goes: to an inverter, over stated joints, and to that of the strings beside it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome

#: What is not said of a ground that runs into an inverter with its raceway.
_TERMINAL = "its raceway ends there; the terminal that it is put on is not stated, `bonded_to` or the landing would say it"


def asked_of_electrode(electrode: str) -> str:
    """Question about a ground that ends at an electrode system."""
    return f"Is {electrode} the grounding electrode system that the source is bonded to by wire, so that a fault comes back over metal and not through soil?"


@check
def grounds_followed(facts: Facts) -> Iterator[Finding]:
    """Every ground leads to an inverter, over joints that are stated, and to those of the strings that it runs with."""
    code = "ground-way"
    elsewhere = _elsewhere(facts)
    for end in facts.bonding.ends.values():
        if end.missing is not None:
            told = f": {end.told}" if end.told else ""
            headline = f"{end.circuit} cannot be followed to an inverter{told}"
            yield unknown(code, end.circuit, headline, [end.missing])
        elif end.electrode:
            yield Finding(
                code, end.circuit, Outcome.ASK, end.told, question=asked_of_electrode(end.electrode)
            )
        else:
            notes = (_TERMINAL,) if end.by_raceway else ()
            made = Finding(code, end.circuit, Outcome.MEETS, end.told, notes=notes)
            yield _with_strings(facts, made, elsewhere[end.circuit])


def _elsewhere(facts: Facts) -> Mapping[str, Mapping[str, Sequence[str]]]:
    """String circuits that no ground beside them follows to their inverter, by the grounds and by that inverter.

    A stretch is looked at where every ground in it is followed: of one whose end is not known it cannot be said.
    """
    inverter_of = {item.id: item.string.input.partition("/")[0] for item in facts.circuits}
    found: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for ground in facts.grounds:
        ends = [end for wire in ground.conductors if (end := facts.bonding.ends.get(wire.circuit))]
        if not ends or not all(end.serves for end in ends):
            continue
        reached = frozenset().union(*(end.reaches for end in ends))
        for name in dict.fromkeys(wire.circuit for wire in facts.graph.in_segment[ground.segment]):
            unit = inverter_of.get(name, "")
            if not unit or unit in reached:
                continue
            for end in ends:
                if name not in found[end.circuit][unit]:
                    found[end.circuit][unit].append(name)
    return found


def _with_strings(facts: Facts, made: Finding, elsewhere: Mapping[str, Sequence[str]]) -> Finding:
    """A question where strings end at another inverter than the ground that runs with them."""
    if not elsewhere:
        return made
    names = [name for circuits in elsewhere.values() for name in circuits]
    units = " and ".join(elsewhere)
    end = facts.bonding.ends[made.subject]
    ended = " and ".join(sorted(end.reaches))
    return replace(
        made,
        outcome=Outcome.ASK,
        headline=f"{made.headline}, while {', '.join(names)} beside it {'ends' if len(names) == 1 else 'end'} at {units}",
        question=f"Which wire joins the ground terminals of {ended} and {units}, so that a fault of {', '.join(names)} gets back to "
        f"{units} over metal: one in the folder, or the grounds of their output circuits on one bar?",
        cure=f"state a circuit of kind ground from {ended}, or from a joint with {made.subject}, to {units}",
        cure_span=facts.project.circuits[made.subject].span,
    )
