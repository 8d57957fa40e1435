"""Sizes that a circuit could have: what each carries, drops, loses and fills, and what governs.

Worked out for the pages alone; no check reads it. Everything else stays as the folder has it: the other wires of each
pipe, the devices and the ground.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from reportgen.design.boxes import is_large
from reportgen.design.checks.base import Facts
from reportgen.design.circuits import design_circuit, worst_share
from reportgen.design.findings import Outcome, judge
from reportgen.design.missing import Known, Missing
from reportgen.design.outputs import design_output
from reportgen.design.pull_boxes import needs_with
from reportgen.design.raceways import fill_with
from reportgen.design.results import CircuitDesign, WiredDesign
from reportgen.design.terminal_sizes import DeviceTerminals, takes
from reportgen.design.wiring import Wiring, size_key, smallest_parallel
from reportgen.project.layout import Circuit
from reportgen.rulebook.sizes import compare_sizes, size_text
from reportgen.working.quantity import Quantity

#: Sizes shown below and above the one chosen.
SMALLER, LARGER = 2, 3
#: Tests of a size that rest on the current of the circuit's own string.
OF_CURRENT = frozenset({"terminals", "in use", "device", "drop limit", "drop target"})


@dataclass(frozen=True, slots=True)
class SizeTest:
    """One test of a size.

    Attributes
    ----------
    name : str
        What is held against what.
    where : str
        Terminals or stretch that govern it.
    value, limit : Quantity, Missing or None
        What is compared; None where it is no amount.
    margin : float or None
        Room left as a share of the limit; None where it is unknown or no amount. [-]
    code : bool
        The code or a stated limit stands behind it; False for the user's drop target.
    """

    name: str
    where: str
    value: Known | None
    limit: Known | None
    outcome: Outcome
    margin: float | None
    code: bool = True


@dataclass(frozen=True, slots=True)
class SizeOption:
    """One size that a circuit could have."""

    circuit: str
    size: str
    chosen: bool
    wired: WiredDesign
    fill: Known
    fill_in: str
    tests: tuple[SizeTest, ...]

    @property
    def outcome(self) -> Outcome:
        """Worst outcome of all tests; the drop target alone cannot fail a size."""
        return min((test.outcome for test in self.tests), key=lambda outcome: outcome.rank)

    @property
    def governs(self) -> SizeTest:
        """Test that decides: the worst outcome, of equal ones the least room, the user's target last."""
        return min(
            self.tests,
            key=lambda test: (
                test.outcome.rank if test.code else Outcome.MEETS.rank,
                not test.code,
                test.margin if test.margin is not None else _room(test),
            ),
        )

    def test(self, name: str) -> SizeTest | None:
        """Test by name; None where it does not apply."""
        return next((test for test in self.tests if test.name == name), None)


def _room(test: SizeTest) -> float:
    """What stands for the room of a test without an amount: none where it is open, any where it passes."""
    return math.inf if test.outcome is Outcome.MEETS else 0.0


def wire_options(facts: Facts) -> tuple[SizeOption, ...]:
    """Sizes around the one chosen, for every string circuit and output circuit, in order."""
    wiring, lands = Wiring(facts.graph, facts.rulebook), _landed_on(facts)
    return tuple(
        option for wired in facts.wired for option in _options(facts, wiring, wired, lands.get(wired.id, ()))
    )


def _landed_on(facts: Facts) -> Mapping[str, Sequence[DeviceTerminals]]:
    """Devices on whose terminals each circuit lands."""
    circuit_of = {wire.id: wire.circuit for wire in facts.graph.conductors}
    found: dict[str, dict[str, DeviceTerminals]] = defaultdict(dict)
    for device in facts.terminals:
        for name, _ in device.wires:
            # A lead from a switch to its input is the string's own wire: `INV-1/A+ (PV-E1)`.
            circuit = circuit_of.get(name) or name.rpartition("(")[2].removesuffix(")")
            found[circuit][device.unit] = device
    return {circuit: tuple(devices.values()) for circuit, devices in found.items()}


def _options(
    facts: Facts, wiring: Wiring, wired: WiredDesign, lands: Sequence[DeviceTerminals]
) -> Iterator[SizeOption]:
    sizes, chosen = facts.rulebook.sizes(wired.material), size_key(str(wired.circuit.size))
    if int(wired.circuit.parallel or 1) > 1:
        least = smallest_parallel(facts.rulebook)
        sizes = tuple(size for size in sizes if size == chosen or compare_sizes(size, least) >= 0)
    if chosen not in sizes:
        return
    place = sizes.index(chosen)
    for name in sizes[max(place - SMALLER, 0) : place + LARGER + 1]:
        circuit = wired.circuit.model_copy(update={"size": size_text(name)})
        made = wired if name == chosen else _with(facts, wiring, wired, circuit)
        fill, limit, where = _fill(facts, wired, size_text(name))
        tests = (
            *(_if_alone(facts, wired.id, test) for test in _tests(facts, wiring, made, fill, limit, where)),
            _clamps(wired, size_text(name), lands),
            *_pull_boxes(facts, wired.id, size_text(name)),
        )
        yield SizeOption(wired.id, size_text(name), name == chosen, made, fill, where, tests)


def _with(facts: Facts, wiring: Wiring, wired: WiredDesign, circuit: Circuit) -> WiredDesign:
    if isinstance(wired, CircuitDesign):
        return design_circuit(wiring, facts.policies, wired.id, circuit, wired.string)
    return design_output(wiring, facts.policies, wired.id, circuit)


def _fill(facts: Facts, wired: WiredDesign, size: str) -> tuple[Known, Known, str]:
    """Fill, its limit and the stretch where the least room is left, unknown where any of them is [%]."""
    limits = {stretch.id: stretch.limit for stretch in facts.stretches}
    worst: tuple[Quantity, Quantity, str] | None = None
    for item in wired.stretches:
        fill, limit = (
            fill_with(facts.graph, facts.rulebook, item.segment, wired.id, size),
            limits[item.segment],
        )
        if isinstance(fill, Missing):
            return fill, limit, str(item.segment)
        if isinstance(limit, Missing):
            return fill, limit, str(item.segment)
        if worst is None or fill.value / limit.value > worst[0].value / worst[1].value:
            worst = fill, limit, str(item.segment)
    if worst is None:
        missing = Missing(f"path of circuit {wired.id}", wired.circuit.span)
        return missing, missing, ""
    return worst


def _tests(
    facts: Facts, wiring: Wiring, made: WiredDesign, fill: Known, limit: Known, where: str
) -> Iterator[SizeTest]:
    margin = facts.policies.share("current_margin")
    worst = made.governing
    absent: Known = next(
        (item.ampacity for item in made.stretches if isinstance(item.ampacity, Missing)),
        Missing(f"path of circuit {made.id}", made.circuit.span),
    )
    yield _judged("terminals", made.terminal_at, made.continuous, made.terminal, margin)
    yield _judged(
        "in use",
        str(worst.segment) if worst else "",
        made.maximum,
        worst.ampacity if worst else absent,
        margin,
    )
    if (device := _device(facts, made)) is not None:
        ceiling = wiring.ceiling(made.circuit, made.terminal, worst)
        yield _judged("device", "", device, ceiling, 0.0)
    yield _judged("fill", where, fill, limit, facts.policies.share("fill_margin"))
    limited = made.circuit.drop_limit or facts.policies.drop_limit
    if limited is not None:
        yield _judged("drop limit", "", worst_share(made), limited, 0.0)
    target = _judged("drop target", "", made.drop_share, facts.policies.drop_target, 0.0)
    softened = Outcome.THIN if target.outcome is Outcome.FAILS else target.outcome
    yield SizeTest(target.name, "", target.value, target.limit, softened, target.margin, code=False)


def _if_alone(facts: Facts, circuit: str, test: SizeTest) -> SizeTest:
    """The test, open where it judged a current and the wires carry other strings too behind a box."""
    if test.name not in OF_CURRENT or circuit not in facts.joined_on_the_way:
        return test
    return replace(test, outcome=min(test.outcome, Outcome.ASK, key=lambda outcome: outcome.rank))


def _clamps(wired: WiredDesign, size: str, lands: Sequence[DeviceTerminals]) -> SizeTest:
    """Whether every terminal that the circuit lands on takes the size; its joint too, where that states sizes."""
    asked = [(device.unit, takes(device.terminals, size)) for device in lands]
    joint = wired.circuit.joint
    if joint is not None and (joint.smallest is not None or joint.largest is not None):
        asked.append((f"the joint of {wired.id}", takes(joint, size)))
    wrong = [unit for unit, held in asked if held is False]
    silent = [unit for unit, held in asked if held is None]
    if wrong:
        return SizeTest("clamps", ", ".join(wrong), None, None, Outcome.FAILS, None)
    if silent or not asked:
        return SizeTest("clamps", ", ".join(silent), None, None, Outcome.UNKNOWN, None)
    return SizeTest("clamps", "", None, None, Outcome.MEETS, None)


def _pull_boxes(facts: Facts, circuit: str, size: str) -> Iterator[SizeTest]:
    """Distances in boxes, from the size on that asks for them."""
    if not is_large(facts.rulebook, size):
        return
    for box in facts.boxes:
        if not any(passage.wire.circuit == circuit for passage in box.passages):
            continue
        if box.box.marked_for_conductors:
            # The mark of its maker is for the conductors that are in it now.
            yield SizeTest("pull box", box.unit, None, None, Outcome.UNKNOWN, None)
            continue
        for need in needs_with(facts.graph, facts.rulebook, box, circuit, size):
            yield _far_enough(need.unit, need.needed, need.actual, towards_cover=need.towards_cover)


def _far_enough(unit: str, needed: Known, actual: Known, *, towards_cover: bool) -> SizeTest:
    if isinstance(needed, Missing) or isinstance(actual, Missing) or needed.value <= 0:
        return SizeTest("pull box", unit, actual, needed, Outcome.UNKNOWN, None)
    verdict = judge(actual, needed, 0.0, at_most=False)
    outcome = verdict.outcome
    if towards_cover and outcome is Outcome.FAILS:
        outcome = Outcome.ASK
    return SizeTest("pull box", unit, actual, needed, outcome, verdict.margin)


def _device(facts: Facts, made: WiredDesign) -> Quantity | None:
    """Device that protects the conductors: the circuit's own, else the fuse of its string [A]."""
    if made.circuit.device is not None or not isinstance(made, CircuitDesign):
        return made.circuit.device
    fuse = facts.project.strings[made.string.id].fuse
    return facts.project.fuses[str(fuse)].rating if fuse else None


def _judged(name: str, where: str, value: Known, limit: Known, thin_below: float) -> SizeTest:
    if isinstance(value, Missing) or isinstance(limit, Missing) or limit.value <= 0:
        return SizeTest(name, where, value, limit, Outcome.UNKNOWN, None)
    verdict = judge(value, limit, thin_below)
    return SizeTest(name, where, value, limit, verdict.outcome, verdict.margin)
