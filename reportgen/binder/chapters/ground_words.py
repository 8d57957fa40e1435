"""Words of the grounding drawing: what the folder states of frames, electrodes and ground wires, and what it does not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.stated_words import NOT, length_words, size_words, within
from reportgen.binder.drawings.grounding import Frames, GroundWay, Step
from reportgen.design.bonding import ArrayBond
from reportgen.design.graph import SegmentId
from reportgen.design.ground_ways import GroundEnd
from reportgen.design.missing import Missing
from reportgen.design.one_line import Passed, Stretches, way_of
from reportgen.design.results import GroundDesign

_NONE = "none"


def grounds(desk: Desk) -> list[GroundWay]:
    """Each ground with its arrays and its way, then the arrays that are tied to no ground."""
    facts = desk.design.facts
    tied: dict[str, list[ArrayBond]] = defaultdict(list)
    for bond in facts.bonding.arrays:
        tied[bond.ground].append(bond)
    needs = {ground.segment: ground for ground in facts.grounds}
    made = []
    for key, circuit in facts.project.circuits.items():
        if circuit.kind != "ground" or circuit.status == "removed":
            continue
        arrays = tied.pop(str(key), [])
        told = f"{size_words(desk, str(key))}, {length_words(desk, str(key))}, {circuit.status}."
        if not arrays:
            told += " No array is said to be tied to it."
        steps = tuple(_steps(desk, str(key), needs))
        made.append(GroundWay(str(key), told, tuple(map(_frames, arrays)), steps))
    loose = [bond for bonds in tied.values() for bond in bonds]
    if loose:
        told = "No ground is stated for the frames of these arrays, whatever lies beside their circuits."
        made.append(GroundWay("", told, tuple(map(_frames, loose))))
    return made


def ground_notes(desk: Desk) -> tuple[str, ...]:
    """Poles on ground, which are never drawn as a ground wire, and what the folder does not hold."""
    facts = desk.design.facts
    poles = [
        f"{', '.join(map(str, kind.units))}: {kind.pv_legs or NOT}"
        for kind in facts.project.inverters.values()
    ]
    made = [f"PV poles at {'; '.join(poles)}."] if poles else []
    made += [
        f"{leg.name} is joined with {leg.ground} in {leg.unit}: see the findings."
        for leg in facts.bonding.legs
    ]
    return (*made, f"Electrode of the service and what joins it to the grounds above: {NOT}.")


def _frames(bond: ArrayBond) -> Frames:
    array = bond.array
    bonded = {True: "yes", False: "NO", None: NOT}[array.frames_bonded]
    electrode = str(array.electrode or "")
    lines = [f"frames bonded: {bonded}", f"bonded by: {array.bonded_by or NOT}"]
    if not bond.ground and bond.present:
        lines.append(f"beside its circuits: {', '.join(bond.present)}")
    if not electrode or electrode == _NONE:
        lines.append(f"electrode: {electrode or NOT}")
        if array.electrode_conductor:
            lines.append(f"wire to an electrode: {array.electrode_conductor}")
        electrode = ""
    return Frames(bond.id, tuple(lines), electrode, str(array.electrode_conductor or ""))


def _steps(desk: Desk, key: str, needs: Mapping[SegmentId, GroundDesign]) -> Iterator[Step]:
    facts = desk.design.facts
    project = facts.project
    way = way_of(facts.graph, key, {})
    own = {wire.id for wire in facts.graph.conductors if wire.circuit == key}
    landed = {
        str(unit): [str(terminal) for terminal, wire in wires.items() if str(wire) in own]
        for unit, wires in project.landing.items()
        if any(str(wire) in own for wire in wires.values())
    }
    last = ""
    for step in way.steps:
        if isinstance(step, Stretches):
            if step.segments:
                yield Step("", "", (within(desk, step.segments), _needed(step, needs)))
            elif not project.circuits[key].path:
                yield Step("", "", (f"path {NOT}",))
            continue
        yield _unit(desk, step, landed.pop(step.unit, []), facts.bonding.ends[key])
        last = step.unit
    end = way.end if way.end and way.end != last else ""
    if end:
        terminals = landed.pop(end, [])
        stated = "its ground terminal, as stated" if facts.project.circuits[key].bonded_to == end else ""
        told = stated or f"end of its raceway; terminal {', '.join(terminals) or NOT}"
        yield Step("unit", end, (told,))
    for unit, terminals in landed.items():
        yield Step("unit", unit, (f"landed on {', '.join(terminals)}",))
    if end or landed:
        return
    goes = facts.bonding.ends[key]
    if goes.missing is not None:
        yield Step("open", "", (f"where it goes from here: {NOT}",))
    elif goes.electrode:
        yield Step("open", "", (f"ends at {goes.electrode}",))
    elif goes.joints:
        yield Step("", "", (f"goes on as {goes.joints[0][0]}",))
    else:
        yield Step("unit", goes.told.rpartition(" ")[2], ("its ground terminal, as stated",))


def _unit(desk: Desk, step: Passed, terminals: list[str], goes: GroundEnd) -> Step:
    box = desk.design.facts.project.box_of(step.unit)
    kind = str(box[1].kind) if box else "device"
    place = "" if step.placed else f"; place on the way {NOT}"
    joined = [other for other, place in goes.joints if place == step.unit]
    parts = [f"landed on {', '.join(terminals)}"] if terminals else []
    parts += [f"joined with {other}" for other in joined]
    told = "; ".join(parts) or f"what is bonded to it here: {NOT}"
    return Step("spliced" if parts else "box", step.unit, (f"{kind}; {told}{place}",))


def _needed(step: Stretches, needs: Mapping[SegmentId, GroundDesign]) -> str:
    """Size asked for in some stretches, as the schedule of grounds has it."""
    asked: dict[str, list[str]] = defaultdict(list)
    for segment in step.segments:
        ground = needs.get(segment)
        if ground is None:
            continue
        size = "not worked out" if isinstance(ground.required, Missing) else f"{ground.required} AWG"
        asked[size].append(segment.segment)
    if len(asked) == 1:
        return f"needed: {next(iter(asked))}"
    parts = [f"{size} in {', '.join(names)}" for size, names in asked.items()]
    return f"needed: {'; '.join(parts)}" if parts else "no circuit beside it"
