"""Two designs of one project beside each other, by id: findings first, then the input lines behind them, then results.

Positions in lists of ids, line ends, comments and the spelling of a unit make no difference; what flips a verdict is told
however small the number behind it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from math import isclose
from typing import Any

from reportgen.design.findings import Finding, Outcome
from reportgen.diagnostics.model import Span
from reportgen.project.model import Project
from reportgen.project.values import Count, Section
from reportgen.working.quantity import Given, Quantity

#: Part of the results that another part of a comparison tells.
_LEFT_OUT = frozenset({"rulebook"})
#: Results in the order of telling; what is not named here comes after, by name.
_ORDER = ("circuits", "raceways", "grounds", "strings", "inputs_of_inverters", "landing")


class Turn(StrEnum):
    """What became of a finding, in the order of telling."""

    GAINED = "gained or worse"
    TURNED = "turned"
    CURED = "cured"
    NEARER = "nearer its limit"
    APPEARED = "appeared"
    VANISHED = "vanished"
    FARTHER = "farther from its limit"


@dataclass(frozen=True, slots=True)
class FindingTurn:
    """One finding that is not as it was; None where it does not exist."""

    turn: Turn
    id: str
    before: Finding | None
    after: Finding | None


@dataclass(frozen=True, slots=True)
class InputTurn:
    """One input value that is not as it was.

    Parameters
    ----------
    path : str
        Section, id and key, joined by points.
    before, after : str or None
        As written; None where it does not stand.
    span_before, span_after : Span or None
        Where it stands.
    respelled : bool
        The same value written in another way.
    """

    path: str
    before: str | None
    after: str | None
    span_before: Span | None = None
    span_after: Span | None = None
    respelled: bool = False


@dataclass(frozen=True, slots=True)
class ResultTurn:
    """One result that is not as it was; ``change`` is the difference over the earlier value [-] where both are numbers."""

    path: str
    before: str
    after: str
    change: float | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """Everything that differs between two designs.

    Parameters
    ----------
    findings : tuple of FindingTurn
        In the order of :class:`Turn`, then by id.
    inputs : tuple of InputTurn
        Values that differ, by path.
    respelled : tuple of InputTurn
        Values that are written in another way and are the same.
    renamed : tuple of (str, str, str)
        Section, earlier id and later id of things that are alike but for the id: perhaps renamed.
    results : tuple of ResultTurn
        Results that differ.
    rules : tuple of (str, str) or None
        Editions, where they differ.
    """

    findings: tuple[FindingTurn, ...] = ()
    inputs: tuple[InputTurn, ...] = ()
    respelled: tuple[InputTurn, ...] = ()
    renamed: tuple[tuple[str, str, str], ...] = ()
    results: tuple[ResultTurn, ...] = ()
    rules: tuple[str, str] | None = None

    @property
    def empty(self) -> bool:
        """Whether nothing that a design consists of differs."""
        return not (self.findings or self.inputs or self.results or self.rules)

    def turned(self, *turns: Turn) -> tuple[FindingTurn, ...]:
        """Findings that took one of the turns."""
        return tuple(item for item in self.findings if item.turn in turns)


@dataclass(frozen=True, slots=True)
class State:
    """One side of a comparison: the project, its findings and the document of its results."""

    project: Project
    findings: tuple[Finding, ...]
    results: Mapping[str, Any] = field(default_factory=dict)


def compare_states(before: State, after: State) -> Comparison:
    """What differs between two designs.

    Parameters
    ----------
    before, after : State
        The two sides; results are documents as ``results.json`` holds them.
    """
    inputs = tuple(_inputs(before.project, after.project))
    editions = (str(before.project.project.rulebook), str(after.project.project.rulebook))
    return Comparison(
        tuple(_findings(before.findings, after.findings)),
        tuple(item for item in inputs if not item.respelled),
        tuple(item for item in inputs if item.respelled),
        tuple(_renamed(before.project, after.project)),
        tuple(_results(before.results, after.results)),
        editions if editions[0] != editions[1] else None,
    )


def _findings(before: tuple[Finding, ...], after: tuple[Finding, ...]) -> list[FindingTurn]:
    old = {finding.id: finding for finding in before}
    new = {finding.id: finding for finding in after}
    turns = [
        FindingTurn(turn, key, old.get(key), new.get(key))
        for key in old.keys() | new.keys()
        if (turn := _turn(old.get(key), new.get(key))) is not None
    ]
    order = list(Turn)
    return sorted(turns, key=lambda item: (order.index(item.turn), _rank(item), item.id))


def _rank(item: FindingTurn) -> int:
    shown = item.after or item.before
    return shown.outcome.rank if shown is not None else 0


def _turn(before: Finding | None, after: Finding | None) -> Turn | None:
    if before is None or after is None:
        finding = after or before
        assert finding is not None
        if finding.outcome is Outcome.MEETS:
            return Turn.APPEARED if after is not None else Turn.VANISHED
        # what did not meet and is gone with its subject is not cured
        return Turn.GAINED if after is not None else Turn.VANISHED
    if before.outcome is not after.outcome:
        if after.outcome is Outcome.MEETS:
            return Turn.CURED
        return Turn.GAINED if after.outcome.rank < before.outcome.rank else Turn.TURNED
    if (
        before.margin is None
        or after.margin is None
        or isclose(before.margin, after.margin, rel_tol=1e-9, abs_tol=1e-12)
    ):
        return None
    return Turn.NEARER if after.margin < before.margin else Turn.FARTHER


@dataclass(frozen=True, slots=True)
class _Leaf:
    text: str
    key: object
    span: Span | None


def _inputs(before: Project, after: Project) -> Iterator[InputTurn]:
    old: dict[str, _Leaf] = {}
    new: dict[str, _Leaf] = {}
    for name in Project.model_fields:
        one, other = getattr(before, name), getattr(after, name)
        # What stands in the same words at the same places needs no look at its values.
        if one != other:
            old.update(_leaves(one, name, before.where(name)))
            new.update(_leaves(other, name, after.where(name)))
    for path in sorted(old.keys() | new.keys()):
        one, other = old.get(path), new.get(path)
        if one is not None and other is not None and (one.text, one.key) == (other.text, other.key):
            continue
        yield InputTurn(
            path,
            one.text if one else None,
            other.text if other else None,
            one.span if one else None,
            other.span if other else None,
            one is not None and other is not None and one.key == other.key,
        )


def _leaves(thing: object, path: str, span: Span | None = None) -> Iterator[tuple[str, _Leaf]]:
    """Every value that stands in a project, by path; lists of plain values count as one."""
    if isinstance(thing, Section):
        for name in type(thing).model_fields:
            below = f"{path}.{name}" if path else name
            yield from _leaves(getattr(thing, name), below, thing.where(name))
    elif isinstance(thing, dict):
        for key, value in thing.items():
            yield from _leaves(value, f"{path}.{key}", getattr(key, "span", None) or span)
    elif isinstance(thing, list | tuple) and any(isinstance(item, Section | dict | list) for item in thing):
        for number, value in enumerate(thing, 1):
            yield from _leaves(value, f"{path}[{number}]", span)
    elif isinstance(thing, list | tuple):
        if thing:
            parts = [_leaf(item, span) for item in thing]
            yield path, _Leaf(", ".join(part.text for part in parts), tuple(part.key for part in parts), span)
    elif thing is not None:
        yield path, _leaf(thing, span)


def _leaf(value: object, span: Span | None) -> _Leaf:
    if isinstance(value, Quantity):
        if isinstance(value.origin, Given):
            return _Leaf(value.origin.text, (value.value, value.unit), value.origin.span)
        return _Leaf(value.show(2), (value.value, value.unit), span)
    if isinstance(value, Count):
        return _Leaf(str(int(value)), int(value), value.span)
    if isinstance(value, bool):
        return _Leaf("yes" if value else "no", value, span)
    return _Leaf(str(value), str(value), getattr(value, "span", None) or span)


def _renamed(before: Project, after: Project) -> Iterator[tuple[str, str, str]]:
    """Ids that went and ids that came in one section whose content is the same."""
    for name in Project.model_fields:
        old, new = getattr(before, name), getattr(after, name)
        if not (isinstance(old, dict) and isinstance(new, dict)):
            continue
        came = {key: _content(new[key]) for key in new.keys() - old.keys()}
        for gone in sorted(old.keys() - new.keys(), key=str):
            content = _content(old[gone])
            for key in sorted((key for key, other in came.items() if other == content), key=str):
                yield name, str(gone), str(key)


def _content(thing: object) -> dict[str, object]:
    return {path: leaf.key for path, leaf in _leaves(thing, "")}


def _results(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[ResultTurn]:
    old, new = dict(_figures(before)), dict(_figures(after))
    first = {name: number for number, name in enumerate(_ORDER)}

    def place(path: str) -> tuple[int, str, str]:
        section = path.partition(".")[0]
        return first.get(section, len(first)), section, path

    for path in sorted(old.keys() | new.keys(), key=place):
        one, other = old.get(path), new.get(path)
        if one == other:
            continue
        yield ResultTurn(path, _shown(one), _shown(other), _change(one, other))


def _figures(document: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for name, part in document.items():
        if name not in _LEFT_OUT:
            yield from _below(part, name)


def _below(part: Any, path: str) -> Iterator[tuple[str, Any]]:
    if isinstance(part, dict) and part.keys() not in ({"value", "unit"}, {"unknown"}):
        for key, value in part.items():
            yield from _below(value, f"{path}.{key}")
    elif isinstance(part, list) and any(isinstance(item, dict) for item in part):
        for number, value in enumerate(part, 1):
            yield from _below(value, f"{path}[{_named(value, number)}]")
    else:
        yield path, part


def _named(item: Any, number: int) -> str:
    """Name of an item of a list: what it is about, else its number."""
    words = [str(item[key]) for key in ("series", "id", "string") if isinstance(item, dict) and key in item]
    return " ".join(words) or str(number)


def _shown(figure: Any) -> str:
    if figure is None:
        return "none"
    if isinstance(figure, dict):
        if "unknown" in figure:
            return "unknown"
        number = figure["value"]
        return f"{number:.6g} {figure['unit']}".rstrip() if number is not None else "none"
    if isinstance(figure, list):
        return ", ".join(_shown(item) for item in figure) or "none"
    return f"{figure:.6g}" if isinstance(figure, float) else str(figure)


def _change(before: Any, after: Any) -> float | None:
    numbers = [item.get("value") if isinstance(item, dict) else item for item in (before, after)]
    if (
        any(not isinstance(number, int | float) or isinstance(number, bool) for number in numbers)
        or not numbers[0]
        or _scaled(before)
    ):
        return None
    return float((numbers[1] - numbers[0]) / abs(numbers[0]))


def _scaled(figure: Any) -> bool:
    """Whether a figure is read on a scale whose zero is arbitrary: a share of a temperature says nothing."""
    return isinstance(figure, dict) and figure.get("unit") in {"degC", "degF"}
