"""What surrounds a raceway: cover, kinds that may be buried, supports, bend radius, thermal movement, risers.

A verdict is given only where every case that the folder leaves open comes to the same; else it is unknown, and the
key that decides is named.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from reportgen.design.checks.base import Facts, Words, by_kind, check, compare, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.graph import SegmentId
from reportgen.design.missing import Missing
from reportgen.design.movement import MovementDesign
from reportgen.design.surroundings import (
    DAMAGE_RULE,
    PLACE_RULE,
    USES_RULE,
    CoverDesign,
    RadiusDesign,
    SupportDesign,
    place_words,
    standing_segments,
    stated_in,
)
from reportgen.engineering.expansion import fitting_needed
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import both


@check
def cover(facts: Facts) -> Iterator[Finding]:
    """Earth above a buried stretch against what its kind and the place above it ask for."""
    for item in facts.surroundings.covers:
        yield _with_voltage(item, _cover(item))


def _cover(item: CoverDesign) -> Finding:
    subject = str(item.id)
    words = Words(f"cover of {subject}", f"least cover, {_place(item.places)}")
    if isinstance(item.actual, Missing):
        return unknown(
            "raceway-cover", subject, f"{words.value} is not judged against {words.limit}", [item.actual]
        )
    needed = item.most
    least = min((limit for _, limit in item.places), key=lambda limit: limit.value)
    if needed.value <= 0:
        return Finding(
            "raceway-cover",
            subject,
            Outcome.MEETS,
            f"{subject} lies under a building, where no cover is asked for",
        )
    if len(item.places) > 1 and least.value <= item.actual.value < needed.value:
        missing = Missing(f"surface of {subject}, or traffic of its raceway", item.segment.span)
        headline = f"cover of {subject} {both(item.actual, 1)} is enough in some places and not in others"
        notes = tuple(f"{place_words(row)}: {both(limit, 0, at_most=False)}" for row, limit in item.places)
        return replace(unknown("raceway-cover", subject, headline, [missing]), notes=notes)
    trench = item.trench
    cure = (
        "lay it deeper"
        if isinstance(trench, Missing)
        else f"lay it in a trench of at least {both(trench, 1, at_most=False)}"
    )
    made = compare(
        "raceway-cover",
        subject,
        item.actual,
        needed,
        words,
        0.0,
        at_most=False,
        cure=f"{cure}, or in another kind of pipe",
        cure_span=item.segment.where("cover"),
    )
    if item.segment.surface == "rock" and made.outcome in {Outcome.MEETS, Outcome.THIN}:
        # In rock the table asks for concrete in place of earth, of which the folder says nothing.
        question = f"Does concrete of at least {both(needed, 0, at_most=False)} cover {subject} and reach down to the rock?"
        return replace(made, outcome=Outcome.ASK, question=question)
    return made


def _with_voltage(item: CoverDesign, made: Finding) -> Finding:
    """The table of cover holds up to a voltage; above it, or where it is not known, nothing meets."""
    if item.voltage is None or made.outcome not in {Outcome.MEETS, Outcome.THIN}:
        return made
    if isinstance(item.voltage, Missing):
        return unknown(
            "raceway-cover", made.subject, f"voltage in {made.subject} is not known", [item.voltage]
        )
    if item.voltage.value <= item.voltage_limit.value:
        return made
    beyond = Missing(
        f"cover for more than {item.voltage_limit.show(0, at_most=True)}, from the authority",
        item.segment.span,
    )
    return unknown("raceway-cover", made.subject, f"{made.subject} holds {item.voltage.show(0)}", [beyond])


def _place(places: Sequence[tuple[str, Quantity]]) -> str:
    return place_words(places[0][0]) if len(places) == 1 else "by the place that asks for most"


@check
def burial(facts: Facts) -> Iterator[Finding]:
    """Kinds of pipe that are not made to lie in earth."""
    for item in facts.surroundings.covers:
        subject, kind = str(item.id), item.segment.kind
        if item.use.burial == "permitted":
            continue
        if item.use.burial == "ask":
            yield Finding(
                "raceway-burial",
                subject,
                Outcome.ASK,
                f"{kind} lies in earth at {subject}",
                rules=by_kind(USES_RULE, [str(kind)]),
                question=f"Is this {kind} listed and marked for direct burial, or protected against corrosion as you ask?",
            )
        else:
            yield Finding(
                "raceway-burial",
                subject,
                Outcome.FAILS,
                f"{kind} lies in earth at {subject}, which it is not made for",
                rules=by_kind(USES_RULE, [str(kind)]),
                cure="use rigid plastic or threaded steel conduit underground",
                cure_span=item.segment.where("kind"),
            )


@check
def above_ground(facts: Facts) -> Iterator[Finding]:
    """Kinds of pipe that are not made for rain and sun, or for the inside of a building."""
    for key, segment in standing_segments(facts.graph):
        use, kind = facts.rulebook.raceway_use(str(segment.kind)), str(segment.kind)
        if segment.place == "underground":
            continue
        inside = segment.place == "indoors"
        answer = use.inside if inside else use.open
        if answer == "permitted":
            continue
        told = f"{kind} {'runs inside a building' if inside else 'lies open in rain and sun'} at {key}"
        rules = by_kind(PLACE_RULE, [kind])
        if answer == "ask":
            question = f"Is this {kind} listed and marked for {'such rooms' if inside else 'the open, sunlight included'}?"
            yield Finding("raceway-place", str(key), Outcome.ASK, told, rules=rules, question=question)
            continue
        yield Finding(
            "raceway-place",
            str(key),
            Outcome.FAILS,
            f"{told}, which it is not made for",
            rules=rules,
            cure="use pipe that is made for the place, for instance threaded steel conduit",
            cure_span=segment.where("kind"),
        )


@check
def damage(facts: Facts) -> Iterator[Finding]:
    """Risers and what is stated to be exposed; whether a riser is exposed to damage is for the authority."""
    for item in facts.surroundings.risers:
        subject, kind, name = str(item.id), str(item.segment.kind), item.name
        rules = by_kind(DAMAGE_RULE, [kind])
        if item.use.damage == "permitted":
            told = f"{name} is {kind}, which stands knocks"
            yield Finding("raceway-damage", subject, Outcome.MEETS, told, item.at, rules=rules)
        elif facts.project.raceways[item.id.raceway].physical_damage and item.use.damage == "not":
            yield Finding(
                "raceway-damage",
                subject,
                Outcome.FAILS,
                f"{name} is {kind} where it is exposed to physical damage",
                item.at,
                rules=rules,
                cure="use thick-walled plastic or threaded steel conduit there",
                cure_span=item.segment.where("kind"),
            )
        else:
            severe = "severe " if item.use.damage == "ask" else ""
            yield Finding(
                "raceway-damage",
                subject,
                Outcome.ASK,
                f"{name} is {kind}, which is not for places exposed to {severe}physical damage",
                item.at,
                rules=rules,
                question=f"Is {name} exposed to {severe}physical damage?",
            )


@check
def settlement(facts: Facts) -> Iterator[Finding]:
    """Risers fixed to a structure while the ground under them moves."""
    open_risers: dict[str, list[str]] = defaultdict(list)
    for item in facts.surroundings.risers:
        if not item.rises:
            continue
        if item.segment.settlement_fitting:
            where = f"{item.id}{f' up to {item.at}' if item.at else ''}"
            told = f"a fitting takes up settlement and frost at {where}"
            part = f"{item.id.segment}{f' {item.at}' if item.at else ''}"
            yield Finding("raceway-settlement", item.id.raceway, Outcome.MEETS, told, part)
        else:
            open_risers[item.id.raceway].append(
                f"{item.id.segment} up to {item.at}" if item.at else item.id.segment
            )
    for raceway, names in open_risers.items():
        yield Finding(
            "raceway-settlement",
            raceway,
            Outcome.ASK,
            f"nothing takes up settlement or frost where {raceway} leaves the ground: {', '.join(names)}",
            question="Does the ground settle or heave here, so that a slip fitting, a loop or a flexible piece is needed?",
        )


@check
def supports(facts: Facts) -> Iterator[Finding]:
    """Spacing of supports above ground and distance of the first one; what is not stated is one line a raceway."""
    silent: dict[str, list[SupportDesign]] = defaultdict(list)
    for item in facts.surroundings.supports:
        segment = item.segment
        if segment.support_spacing is None or segment.first_support is None:
            silent[item.id.raceway].append(item)
        pairs = (
            ("supports", segment.support_spacing, item.spacing, "spacing of supports"),
            ("first", segment.first_support, item.first, "first support from a box or fitting"),
        )
        for part, actual, limit, words in pairs:
            if actual is None:
                continue
            made = compare(
                "raceway-support",
                str(item.id),
                stated_in(actual, "ft", words),
                limit,
                Words(f"{words} of {item.id}", "greatest", 1),
                0.0,
                part=part,
                cure="add supports",
                cure_span=segment.where("support_spacing"),
            )
            made = replace(made, rules=_support_rules([item]))
            yield _straight_run(item, made) if part == "supports" else made
    for raceway, items in silent.items():
        missing = [
            Missing(f"support_spacing and first_support of {item.id}", item.segment.span) for item in items
        ]
        needed = tuple(
            f"{item.id}: at most {both(item.spacing, 1, at_most=True)} apart, the first within {both(item.first, 1, at_most=True)}"
            for item in items
            if isinstance(item.spacing, Quantity) and isinstance(item.first, Quantity)
        )
        made = unknown("raceway-support", raceway, f"supports of {raceway} are not stated", missing)
        yield replace(made, notes=needed, rules=_support_rules(items))


def _support_rules(items: Sequence[SupportDesign]) -> tuple[str, ...]:
    """Rules of the kinds that the edition has one for."""
    return by_kind(
        "support", [str(item.segment.kind) for item in items if isinstance(item.spacing, Quantity)]
    )


def _straight_run(item: SupportDesign, made: Finding) -> Finding:
    """Threaded pipe may be held farther apart on straight runs: a question, because nobody stated the couplings."""
    actual = made.value
    if made.outcome is not Outcome.FAILS or item.straight is None or actual is None:
        return made
    if item.segment.bends or actual.value > item.straight.value:
        return made
    return replace(
        made,
        outcome=Outcome.ASK,
        question=f"Is {item.id} a straight run with threaded couplings, so that {both(item.straight, 0, at_most=True)} are permitted?",
    )


@check
def bend_radius(facts: Facts) -> Iterator[Finding]:
    """Radius of each bend against the least of a field bend and against what the maker of the wire asks for."""
    silent: dict[str, list[SegmentId]] = defaultdict(list)
    for item in facts.surroundings.radii:
        if isinstance(item.radius, Missing):
            silent[item.id.raceway].append(item.id)
            continue
        yield _radius(item)
        if item.wire_limit is not None:
            yield compare(
                "raceway-wire-bend",
                str(item.id),
                item.inside,
                item.wire_limit,
                Words(f"inside of bend {item.number} in {item.id}", f"least bend of {item.wire}"),
                0.0,
                at_most=False,
                part=f"bend {item.number}",
                cure="use a wider bend",
                cure_span=item.segment.where("bend_radius"),
            )
    for raceway, keys in silent.items():
        missing = [
            Missing(f"bend_radius of {key}", facts.graph.segments[key][1].span) for key in dict.fromkeys(keys)
        ]
        yield unknown("raceway-bend-radius", raceway, f"radius of bends in {raceway} is not stated", missing)


def _radius(item: RadiusDesign) -> Finding:
    made = item.segment.bends_made
    subject, part = str(item.id), f"bend {item.number}"
    words = Words(f"radius of bend {item.number} in {subject}", "least radius")
    limit = item.other if made == "other bender" else item.one_shot
    judged = compare(
        "raceway-bend-radius",
        subject,
        item.radius,
        limit,
        words,
        0.0,
        at_most=False,
        part=part,
        cure="bend it wider, or use a factory elbow",
        cure_span=item.segment.where("bend_radius"),
    )
    strict = item.other
    if made is not None or judged.outcome is not Outcome.MEETS or not isinstance(strict, Quantity):
        return judged
    assert isinstance(item.radius, Quantity)
    if item.radius.value >= strict.value:
        return replace(judged, limit=strict, margin=item.radius.value / strict.value - 1)
    missing = Missing(f"bends_made of {subject}", item.segment.span)
    headline = f"{words.value} {both(item.radius, 1)} is enough for a factory elbow or one-shot bender, not for others"
    return unknown("raceway-bend-radius", subject, headline, [missing], part=part)


@check
def thermal_movement(facts: Facts) -> Iterator[Finding]:
    """Change of length of straight plastic runs above ground, and whether fittings take it up."""
    for item in facts.movement:
        yield _movement(facts, item)


def _movement(facts: Facts, item: MovementDesign) -> Finding:
    first, last = item.segments[0], item.segments[-1]
    where = str(first) if first == last else f"{first} to {last.segment}"
    code, subject = "raceway-expansion", item.raceway
    if item.free:
        return Finding(
            code, subject, Outcome.MEETS, f"{where} is stated not to be fixed at both ends", item.part
        )
    if isinstance(item.change, Missing):
        return unknown(code, subject, f"movement of {where} is not known", [item.change], part=item.part)
    told = f"{where} changes by {both(item.change, 2)} over {both(item.length, 1)}"
    notes = (
        ()
        if isinstance(item.longest, Missing)
        else (f"a fitting is needed from {both(item.longest, 1, at_most=True)} on",)
    )
    if not fitting_needed(item.change, item.trigger):
        made = Finding(
            code,
            subject,
            Outcome.MEETS,
            f"{told}, less than {both(item.trigger, 2, at_most=True)}: no fitting needed",
            item.part,
        )
        return replace(made, value=item.change, limit=item.trigger, notes=notes)
    if item.travel is not None and item.travel.value > 0:
        words = Words(f"change of {where}", "travel of its fittings", 2)
        judged = compare(
            code,
            subject,
            item.change,
            item.travel,
            words,
            0.0,
            part=item.part,
            cure="add an expansion fitting",
        )
        return replace(judged, notes=notes)
    key = "expansion_travel" if item.sure else "the place (`at`) of each bend, and expansion_travel,"
    if item.travel is not None and item.sure:
        return Finding(
            code,
            subject,
            Outcome.FAILS,
            f"{told} and has no expansion fitting",
            item.part,
            value=item.change,
            limit=item.trigger,
            cure="put in an expansion fitting, or leave one end free to move",
            notes=notes,
        )
    missing = Missing(f"{key} of {where}", facts.graph.segments[first][1].span)
    sure = "" if item.sure else " at most"
    headline = f"{where} changes by {both(item.change, 2)}{sure}, from {both(item.trigger, 2, at_most=True)} on a fitting is needed"
    return replace(unknown(code, subject, headline, [missing], part=item.part), notes=notes)
