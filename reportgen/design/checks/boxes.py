"""Boxes and terminals: room for what passes, openings that fit, sizes and numbers that a clamp takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.boxes import BoxDesign, wire_names
from reportgen.design.checks.base import Facts, Words, check, compare, unknown
from reportgen.design.circuits import size_key
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing
from reportgen.design.raceways import conductor_diameter
from reportgen.design.surroundings import stated_in
from reportgen.design.terminal_sizes import DeviceTerminals
from reportgen.project.equipment import BoxEntry
from reportgen.rulebook.sizes import compare_sizes
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import both
from reportgen.working.wire_sizes import metric_size


@check
def volume(facts: Facts) -> Iterator[Finding]:
    """Volume of a box against what its conductors need, where all of them are small."""
    nowhere = facts.pathless()
    for box in facts.boxes:
        if nowhere:
            # A circuit whose way nobody states may pass any box.
            yield unknown("box-volume", box.unit, f"not all that passes {box.unit} is known", nowhere)
        elif not box.passages:
            yield Finding("box-volume", box.unit, Outcome.MEETS, f"no conductor passes {box.unit}")
        elif box.large:
            # The table of volumes ends below these sizes; the distances of pull boxes hold instead.
            if any(passage.wire.size not in box.large for passage in box.passages):
                yield _mixed(box)
        elif box.box.kind == "conduit body":
            yield _conduit_body(box)
        else:
            yield _volume(facts, box, facts.policies.share("fill_margin"))


def _mixed(box: BoxDesign) -> Finding:
    return Finding(
        "box-volume",
        box.unit,
        Outcome.ASK,
        f"{box.unit} holds large and small conductors ({wire_names(box.passages)}), and its volume is not judged",
        question=f"Is {box.unit} large enough for its small conductors beside those of {', '.join(box.large)}?",
    )


def _volume(facts: Facts, box: BoxDesign, thin: float) -> Finding:
    words = Words(f"volume needed in {box.unit}", "volume of the box")
    cure = "use a larger box, or fewer conductors in it"
    told = {"cure": cure, "cure_span": box.box.where("volume")}
    least = compare("box-volume", box.unit, box.least, box.volume, words, thin, **told)  # type: ignore[arg-type]
    most = compare("box-volume", box.unit, box.most, box.volume, words, thin, **told)  # type: ignore[arg-type]
    notes = [wire_names(box.passages)]
    if box.open:
        notes.append(f"not stated, and counted where it takes more: {', '.join(box.open)}")
    if box.loops_open:
        notes.append(
            f"`extra` not stated, and loops counted where they take more: {', '.join(box.loops_open)}"
        )
    if not box.box.yokes:
        notes.append("no device on a yoke is counted")
    if least.outcome is Outcome.FAILS or most.outcome is not Outcome.FAILS:
        made = least if least.outcome is Outcome.FAILS else most
        return replace(made, notes=tuple(notes))
    missing = [Missing(f"{name} of box {box.unit}", box.box.span) for name in box.open]
    circuits = facts.project.circuits
    missing += [Missing(f"extra of circuit {key}", circuits[key].span) for key in box.loops_open]
    headline = f"{box.unit} is large enough or not, depending on what is not stated"
    return replace(unknown("box-volume", box.unit, headline, missing), notes=tuple(notes))


def _conduit_body(box: BoxDesign) -> Finding:
    if box.box.splices:
        words = Words(f"volume needed in {box.unit}", "volume marked on it")
        marked = (
            Missing(f"volume marked on {box.unit}; without a mark no splice may be in it", box.box.span)
            if box.box.volume is None
            else box.volume
        )
        return compare("box-volume", box.unit, box.most, marked, words, 0.0, cure="splice elsewhere")
    return Finding(
        "box-volume",
        box.unit,
        Outcome.ASK,
        f"conduit body {box.unit} holds {wire_names(box.passages)}",
        question=f"Is the inside of {box.unit} at least twice as large as the largest raceway that enters, and is it marked for so many conductors?",
    )


@check
def in_the_wet(facts: Facts) -> Iterator[Finding]:
    """New boxes that stand outside are listed for wet locations; existing ones are judged for reuse."""
    code = "box-wet"
    for box in facts.boxes:
        unit, kind, installed = box.unit, box.box, box.box.units[box.unit]
        if installed.status != "new" or installed.inside:
            continue
        if kind.wet_location:
            yield Finding(code, unit, Outcome.MEETS, f"{unit} is listed for wet locations")
        elif kind.wet_location is None or installed.inside is None:
            keys = [
                Missing(f"{key} of {of}", kind.span)
                for key, of, value in (
                    ("wet_location", f"box type {box.type}", kind.wet_location),
                    ("inside", unit, installed.inside),
                )
                if value is None
            ]
            yield unknown(code, unit, f"whether {unit} stands in the wet and may is not known", keys)
        else:
            yield Finding(
                code,
                unit,
                Outcome.FAILS,
                f"{unit} stands outside and is not listed for wet locations",
                cure="use a box listed for wet locations",
                cure_span=kind.where("wet_location"),
            )


@check
def pulls(facts: Facts) -> Iterator[Finding]:
    """Distances in boxes that large conductors pass."""
    marked = {box.unit for box in facts.boxes if box.box.marked_for_conductors}
    for unit in sorted(marked & {need.unit for need in facts.pull_needs}):
        yield Finding("box-pull", unit, Outcome.MEETS, f"{unit} is marked by its maker for these conductors")
    for need in facts.pull_needs:
        if need.unit in marked:
            continue
        made = compare(
            "box-pull",
            need.unit,
            need.actual,
            need.needed,
            Words(f"{need.what} of {need.unit}", "least"),
            0.0,
            at_most=False,
            part=need.part,
            cure="use a larger box, or other walls for the entries",
        )
        if need.towards_cover and made.outcome is Outcome.FAILS:
            # A cover may be nearer by a table of bending space that this tool does not hold.
            question = (
                f"Is the bending space between the back wall and the removable cover of {need.unit} enough?"
            )
            made = replace(made, outcome=Outcome.ASK, question=question)
        yield made


@check
def glands(facts: Facts) -> Iterator[Finding]:
    """Cable diameters against the range that the gland of their entry clamps."""
    for box in facts.boxes:
        for number, entry in enumerate(box.entries, start=1):
            if entry.conductors:
                yield from _gland(facts, box.unit, number, entry)


def _gland(facts: Facts, unit: str, number: int, entry: BoxEntry) -> Iterator[Finding]:
    wires = {wire.id: wire for wire in facts.graph.conductors}
    for name in map(str, entry.conductors):
        part = f"entry {number}, {name}"
        wire = wires.get(name)
        if wire is None:  # of a circuit that is removed
            continue
        diameter = conductor_diameter(facts.graph, facts.rulebook, wire.cable, wire.size)
        absent = [
            Missing(f"{key} of entry {number} of {unit}", entry.span)
            for key in ("clamps_from", "clamps_to")
            if getattr(entry, key) is None
        ]
        absent += [diameter] if isinstance(diameter, Missing) else []
        if absent or entry.clamps_from is None or entry.clamps_to is None or isinstance(diameter, Missing):
            yield unknown(
                "box-gland", unit, f"whether the gland of {name} clamps it is not known", absent, part=part
            )
            continue
        low = stated_in(entry.clamps_from, "in", "thinnest")
        high = stated_in(entry.clamps_to, "in", "thickest")
        words = f"{name} is {both(diameter.to('mm'), 1)} thick, its gland clamps {both(low.to('mm'), 1, at_most=False)} to {both(high.to('mm'), 1, at_most=True)}"
        fits = low.value <= diameter.value <= high.value
        yield Finding(
            "box-gland",
            unit,
            Outcome.MEETS if fits else Outcome.FAILS,
            words,
            part,
            value=diameter,
            cure="" if fits else "use a gland whose range holds the cable",
            cure_span=entry.span,
        )


@check
def terminal_sizes(facts: Facts) -> Iterator[Finding]:
    """Every conductor that lands on a device against the smallest and largest that its terminals take."""
    for device in facts.terminals:
        yield _range(device)


def _beside(size: str, other: str) -> float:
    """Below, at or above zero as one size is smaller than, like or larger than another one of its system."""
    if metric_size(size) and metric_size(other):
        return float(size.split()[0]) - float(other.split()[0])
    return compare_sizes(size_key(size), size_key(other))


def _range(device: DeviceTerminals) -> Finding:
    code, unit = "terminal-size", device.unit
    smallest = device.terminals.smallest if device.terminals else None
    largest = device.terminals.largest if device.terminals else None
    try:
        wrong = [
            f"{name} in {size}"
            for name, size in device.wires
            if (smallest is not None and _beside(size, str(smallest)) < 0)
            or (largest is not None and _beside(size, str(largest)) > 0)
        ]
    except ValueError:
        missing = Missing(f"sizes at the terminals of {unit} in one system of sizes", device.span)
        return unknown(code, unit, f"sizes at {unit} cannot be compared", [missing])
    told = f"{smallest or 'unknown'} to {largest or 'unknown'}"
    if wrong:
        return Finding(
            code,
            unit,
            Outcome.FAILS,
            f"terminals of {unit} take {told}, not {', '.join(wrong[:4])}{' and more' if len(wrong) > 4 else ''}",
            cure="use a size within the range, or a lug or splice that is listed for it",
            cure_span=device.span,
        )
    absent = [
        Missing(f"{key} conductor of the terminals of {unit}", device.span)
        for key, value in (("smallest", smallest), ("largest", largest))
        if value is None
    ]
    if absent:
        return unknown(code, unit, f"sizes that the terminals of {unit} take are not stated", absent)
    sizes = ", ".join(dict.fromkeys(size for _, size in device.wires))
    return Finding(code, unit, Outcome.MEETS, f"terminals of {unit} take {told}: {sizes}")


@check
def per_clamp(facts: Facts) -> Iterator[Finding]:
    """Conductors under one clamp, links counted, against the number that the maker allows."""
    for device in facts.terminals:
        if device.most is None:
            continue
        code, unit = "terminal-count", device.unit
        allowed = device.terminals.conductors_per_terminal if device.terminals else None
        if device.most == 0:
            missing = Missing(f"landing of {unit}", device.span)
            yield unknown(code, unit, f"conductors under each clamp of {unit} are not stated", [missing])
        elif device.most == 1 and allowed is None:
            yield Finding(code, unit, Outcome.MEETS, f"one conductor under each clamp of {unit}")
        elif not allowed:
            missing = Missing(f"conductors_per_terminal of {unit}", device.span)
            headline = f"{device.most} conductors share clamp {device.fullest} of {unit}"
            yield unknown(code, unit, headline, [missing])
        else:
            yield compare(
                code,
                unit,
                Quantity(float(device.most), "", None, "conductors under one clamp"),
                allowed.quantity("conductors allowed under one clamp"),
                Words(f"conductors under the fullest clamp of {unit}", "allowed", 0),
                0.0,
                cure="give each conductor a clamp of its own, or use a terminal block made for it",
                cure_span=device.span,
            )
