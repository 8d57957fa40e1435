"""Pages and findings of a build that still lays out its PDF: told and shown at once, published only with the PDF.

A PDF takes half a minute where the pages take less than a second, and a folder never holds pages and a PDF of two
states. So a build in a child sends the pages ahead, and the watcher tells the findings and lends the pages to the preview.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Ahead:
    """What a build has before its PDF.

    Parameters
    ----------
    outputs : mapping of str to bytes
        Files of the binder that are there, by relative path.
    summary : str
        Counts of the outcomes in one line.
    findings : mapping of str to str
        Outcome by id of the finding.
    """

    outputs: Mapping[str, bytes]
    summary: str
    findings: Mapping[str, str]


@dataclass(slots=True)
class Lent:
    """The pages that the preview shows in place of the published ones; set by the watcher, read by the preview.

    Attributes
    ----------
    pages : (str, Ahead) or None
        Digest of the inputs that they come from, and the pages; None while the published ones are as new.
    """

    pages: tuple[str, Ahead] | None = None


_teller: list[Callable[[Ahead], object]] = []


def listen(teller: Callable[[Ahead], object]) -> None:
    """Have what this process's build sends ahead given to ``teller``; a child calls it once, before its build."""
    _teller[:] = [teller]


def tell(ahead: Ahead) -> None:
    """Send pages ahead; nothing happens where nobody waits for them."""
    for teller in _teller:
        teller(ahead)
