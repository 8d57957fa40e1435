"""One entry of the catalogue of codes: what a code says, why it matters, how it is cured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Entry:
    """What `reportgen explain CODE` tells of a code.

    Parameters
    ----------
    code : str
        Key, never reused for something else.
    title : str
        A few words.
    what, why, cure : str
        What the message states, why it matters, what to do.
    example : str
        A few lines of YAML or output.
    kind : {"input", "finding"}
        Whether the reader or the design says it.
    rule : str, optional
        Rule key of the rulebook, for findings that rest on the code.
    """

    code: str
    title: str
    what: str
    why: str
    cure: str
    example: str = ""
    kind: Literal["input", "finding"] = "input"
    rule: str | None = None


def finding(
    code: str, title: str, rule: str | None, what: str, why: str, cure: str, example: str = ""
) -> Entry:
    """Entry of a code that the design says; ``rule`` is None where no clause asks for it."""
    return Entry(code, title, what, why, cure, example, "finding", rule)
