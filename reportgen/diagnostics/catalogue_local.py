"""Codes of local rules, of other editions, and of what is kept: one entry a check, with the rule it rests on."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry


def _finding(
    code: str, title: str, rule: str | None, what: str, why: str, cure: str, example: str = ""
) -> Entry:
    return Entry(code, title, what, why, cure, example, "finding", rule)


ENTRIES: tuple[Entry, ...] = (
    Entry(
        "local-rule-unreadable",
        "local rule that cannot be read",
        "A rule of the section `local` has a key that no rule has, a value that does not fit it, or words without effect.",
        "A local rule that is passed over in silence is worse than none: everyone believes it was kept.",
        "Write the key as the appendix of the binder prints it, and the value with its unit. A rule that no edition has takes the key `added`.",
        "local:\n  town: {rule: cover/other/raceway, text: two feet, value: 24 in}",
    ),
    _finding(
        "local-rule",
        "rule of the authority at hand",
        None,
        "States each rule of the section `local`: in force, looser than the edition, or a question.",
        "What the authority at hand asks goes before the book, and has to be seen as its rule and not as the book's.",
        "A stricter number is used. A looser one is used where its traces can be followed, and then everything that rests on it is thin; elsewhere the edition's value stays and the rule is a question.",
        "local:\n  town: {rule: fill, text: a third at most, value: 33 %}",
    ),
    _finding(
        "edition",
        "edition without a rulebook",
        None,
        "The project names an edition or country for which the tool holds no rulebook.",
        "The tables and clauses of another code would look like an answer and be none.",
        "Put the printed questions to someone who works by that code. Voltages, currents, drop, energy and fill are worked out all the same.",
        "project:\n  rulebook: iec",
    ),
)
