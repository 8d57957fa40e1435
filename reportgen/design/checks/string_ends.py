"""Modules at the two ends of each string: one each, among its positions, and not the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing
from reportgen.design.positions import named, one_place
from reportgen.diagnostics.model import Span
from reportgen.project.layout import StringPart

_CODE = "string-ends"
_ENDS = ("positive", "negative")


@dataclass(frozen=True, slots=True)
class _End:
    """One end as it is stated: in which part of the string, at which words, and where they stand."""

    pole: str
    part: StringPart
    words: str
    span: Span

    @property
    def at(self) -> tuple[int, int] | None:
        return one_place(self.words)

    @property
    def taken(self) -> tuple[tuple[int, int], ...]:
        """Places of the part; none where they are not stated or cannot be read."""
        return named(str(self.part.positions or ""))


@check
def ends(facts: Facts) -> Iterator[Finding]:
    """Ends against positions; nothing where a string states neither end."""
    for key, string in facts.project.strings.items():
        parts = facts.project.parts_of(string)
        stated = [
            _End(pole, part, str(words), (string.parts[k] if string.parts else string).where(f"{pole}_at"))
            for pole in _ENDS
            for k, part in enumerate(parts)
            if (words := getattr(part, f"{pole}_at"))
        ]
        if stated:
            yield _judged(key, stated, sum(int(part.count) for part in parts))


def _judged(key: str, stated: list[_End], modules: int) -> Finding:
    def fails(headline: str, cure: str, end: _End) -> Finding:
        return Finding(_CODE, key, Outcome.FAILS, headline, cure=cure, cure_span=end.span)

    for pole in _ENDS:
        if len(same := [end for end in stated if end.pole == pole]) > 1:
            told = f"string {key} has {len(same)} {pole} ends"
            return fails(told, f"state `{pole}_at` in one part alone", same[1])
    for end in stated:
        if end.at is not None and end.taken and end.at not in end.taken:
            told = f"{end.pole} end of string {key}, {_told(end)}, is no module of it"
            return fails(told, "correct the end, or the positions", end)
    lacking = [
        *(f"{end.pole}_at of string {key} as one module" for end in stated if end.at is None),
        *(f"{pole}_at of string {key}" for pole in _ENDS if all(end.pole != pole for end in stated)),
        *(f"positions of string {key} in {end.part.array}" for end in stated if not end.taken),
    ]
    if lacking:
        missing = [Missing(what, stated[0].span) for what in dict.fromkeys(lacking)]
        return unknown(_CODE, key, f"at which modules string {key} ends is not known", missing)
    first, last = stated
    if modules > 1 and (first.at, first.part.array) == (last.at, last.part.array):
        return fails(f"both ends of string {key} are at {_told(last)}", "correct one of them", last)
    told = f"positive end of string {key} at {_told(first)}, negative at {_told(last)}: modules of it"
    return Finding(_CODE, key, Outcome.MEETS, told)


def _told(end: _End) -> str:
    row, column = end.at or (0, 0)
    return f"row {row}, column {column} of {end.part.array}"
