"""Text printed line by line, and what leads to its lines."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from reportgen.binder.elements.anchors import line_anchor
from reportgen.design.findings import Outcome

#: Line breaks as the reader of the inputs counts them; Python would count further characters.
_BREAK = re.compile(r"\r\n|\n|\r")


@dataclass(frozen=True, slots=True)
class LineUse:
    """What rests on a printed line: the worst finding that names it, and workings by number and anchor."""

    outcome: Outcome | None = None
    finding: str = ""
    workings: tuple[tuple[str, str], ...] = ()
    more: int = 0


@dataclass(frozen=True, slots=True)
class SourceText:
    """Text printed line by line with line numbers, for instance an input file.

    ``uses`` holds what leads to a line, by its number; :mod:`reportgen.binder.line_uses` finds it.
    """

    title: str
    text: str
    id: str = ""
    uses: Mapping[int, LineUse] = field(default_factory=dict)

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines by the count that places name."""
        lines = _BREAK.split(self.text)
        return tuple(lines if lines[-1] else lines[:-1])

    def anchor(self, number: int) -> str:
        """Name of a line that ``uses`` holds."""
        return line_anchor(f"{self.title}:{number}")
