"""What is still to be stated in a folder, each thing once, with its place and what hangs on it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from reportgen.design.findings import Finding, Outcome
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.diagnostics.model import Span

_SHEET = "data-sheet-complete"
_OF_EQUIPMENT = re.compile(
    r"(?P<key>[a-z_]+) of (?:the )?(?:inputs? |inverter type |module type |switch type |cable )"
)


@dataclass(slots=True)
class Open:
    """One thing to state."""

    what: str
    place: Span | None = None
    findings: list[str] = field(default_factory=list)

    @property
    def line(self) -> str:
        """The thing as one line of a list."""
        count = len(self.findings)
        where = self.place.short if self.place is not None and self.place.file else "-"
        return f"{where}  {self.what}  ({count} finding{'s' if count != 1 else ''})"


#: What a build works out and a check leaves out, and so does not miss anything of.
_BUILT = ("the simulated year", "ways to string", "what the next size of wire buys")


def left_to_a_build(findings: Sequence[Finding]) -> str:
    """What no check looks at, in one line: a build says on its pages what is still to be stated for it."""
    not_run = dict.fromkeys(CATALOGUE[item.code].title for item in findings if item.needs_run)
    return f"not looked at here: {', '.join((*_BUILT, *not_run))}; `reportgen build DIR` says on its pages what they lack"


def still_open(findings: Sequence[Finding]) -> list[Open]:
    """Everything that findings miss, in the order of the files; what has no place comes last.

    What a data sheet has to give is listed once, by its type; findings that rest on it are not counted there.
    """
    sheets = {what.partition(" of ")[0] for item in findings if item.code == _SHEET for what in item.missing}
    found: dict[str, Open] = {}
    for finding in findings:
        if finding.outcome is not Outcome.UNKNOWN or finding.needs_run:
            # What this run left out is for another command, and nothing to state.
            continue
        for number, what in enumerate(finding.missing):
            match = _OF_EQUIPMENT.match(what)
            if finding.code != _SHEET and match is not None and match["key"] in sheets:
                # The list of the data sheet names the same value, with the line to look for.
                continue
            item = found.setdefault(what, Open(what))
            item.findings.append(finding.id)
            if item.place is None:
                own = finding.missing_at[number] if number < len(finding.missing_at) else None
                first = number == 0 or finding.code == _SHEET
                item.place = own or (finding.cure_span if first else None)
    return sorted(found.values(), key=lambda item: (item.place is None, item.place or Span(""), item.what))
