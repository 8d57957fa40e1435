"""What is still to be stated in a folder, each thing once, with its place and what hangs on it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from reportgen.design.findings import Finding, Outcome
from reportgen.diagnostics.model import Span


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


def still_open(findings: Iterable[Finding]) -> list[Open]:
    """Everything that findings miss, in the order of the files; what has no place comes last.

    A finding that lists a whole data sheet names each of its lines; so does every finding that rests on one of them.
    """
    found: dict[str, Open] = {}
    for finding in findings:
        if finding.outcome is not Outcome.UNKNOWN:
            continue
        for number, what in enumerate(finding.missing):
            item = found.setdefault(what, Open(what))
            item.findings.append(finding.id)
            if item.place is None and number == 0:
                item.place = finding.cure_span
    return sorted(found.values(), key=lambda item: (item.place is None, item.place or Span(""), item.what))
