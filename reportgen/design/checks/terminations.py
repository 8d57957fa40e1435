"""Terminations: the maker's torque of every device that a conductor lands on, and ferrules on fine strands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import missing_of
from reportgen.design.terminations import Termination
from reportgen.working.quantity import Quantity


def _by_device(facts: Facts) -> dict[str, list[Termination]]:
    """Terminals by device; the output terminals of an inverter are another set of screws than its inputs."""
    found: dict[str, list[Termination]] = {}
    for one in facts.terminations:
        name = f"{one.unit} AC" if one.terminal == "AC" else one.unit
        found.setdefault(name, []).append(one)
    return found


@check
def torque(facts: Facts) -> Iterator[Finding]:
    """Every terminal that is tightened has a torque that its maker states."""
    for unit, terminals in _by_device(facts).items():
        absent = missing_of(*(one.torque for one in terminals))
        if absent:
            told = f"torque of the {len(terminals)} terminals of {unit} is not stated by the maker"
            yield unknown("termination-torque", unit, told, absent)
            continue
        stated = [one.torque for one in terminals if isinstance(one.torque, Quantity)]
        first = stated[0]
        told = (
            f"{len(terminals)} terminals of {unit} at {first.to('N·m').show(2)} ({first.to('lb·in').show(1)}), "
            "as the maker states"
        )
        yield Finding("termination-torque", unit, Outcome.MEETS, told, value=first)


@check
def ferrules(facts: Facts) -> Iterator[Finding]:
    """What the maker says of ferrules goes with the strands of the wires that land."""
    for unit, terminals in _by_device(facts).items():
        wired = [one for one in terminals if one.cable]
        if not wired:
            continue
        absent = missing_of(*(one.ferrule for one in wired))
        fine = [one for one in wired if one.fine]
        if absent:
            told = f"whether fine strands need a ferrule at {unit} is not known"
            yield unknown("termination-ferrule", unit, told, absent)
        elif fine and fine[0].rule == "forbidden":
            yield _asked(unit, fine)
        else:
            sizes = dict.fromkeys(one.ferrule.show() for one in wired if isinstance(one.ferrule, Quantity))
            told = f"ferrules of {', '.join(sizes)}" if sizes else "no ferrule"
            strands = "fine strands" if fine else "no fine strands"
            yield Finding("termination-ferrule", unit, Outcome.MEETS, f"{strands} land on {unit}: {told}")


def _asked(unit: str, fine: Sequence[Termination]) -> Finding:
    wires = ", ".join(dict.fromkeys(one.wire for one in fine[:3]))
    return Finding(
        "termination-ferrule",
        unit,
        Outcome.ASK,
        f"fine strands of {wires} land on {unit}, whose maker forbids ferrules",
        cure="use a wire with coarse strands, or a terminal made for fine ones",
        cure_span=fine[0].span,
        question=f"Are the terminals of {unit} made for fine strands without a ferrule?",
    )
