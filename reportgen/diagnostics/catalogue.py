"""Every code of a message or finding, with its page for `reportgen explain`.

Entries live in one module a layer; this one joins them and refuses a code that two of them claim.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from reportgen.diagnostics import (
    catalogue_conductors,
    catalogue_design,
    catalogue_equipment,
    catalogue_field,
    catalogue_field_pull,
    catalogue_input,
    catalogue_local,
    catalogue_protection,
    catalogue_raceways,
    catalogue_readings,
    catalogue_record,
    catalogue_service,
    catalogue_site,
    catalogue_strings,
)
from reportgen.diagnostics.entry import Entry
from reportgen.diagnostics.nearest import nearest

_WIDTH = 80
#: How a check can end, as the page of every finding tells it.
_OUTCOMES = (
    "The check ends as `meets`, as `thin` (it meets with less margin than you asked for), as `fails`, as"
    " `unknown` (an input is missing, which is never a pass) or as `ask` (the authority decides)."
)


class UnknownCode(LookupError):
    """Raised for a code that the catalogue lacks.

    Attributes
    ----------
    code : str
        As asked for.
    meant : str or None
        The code that was probably meant.
    """

    def __init__(self, code: str, meant: str | None) -> None:
        cure = f"did you mean `{meant}`?" if meant else "`reportgen explain --list` lists every code"
        super().__init__(f"`{code}` is not a code of this tool; {cure}")
        self.code = code
        self.meant = meant


def joined(*parts: Iterable[Entry]) -> Mapping[str, Entry]:
    """Entries of several modules by code.

    Raises
    ------
    ValueError
        If a code stands twice.
    """
    entries: dict[str, Entry] = {}
    for part in parts:
        for entry in part:
            if entry.code in entries:
                msg = f"the code {entry.code!r} has two entries"
                raise ValueError(msg)
            entries[entry.code] = entry
    return MappingProxyType(dict(sorted(entries.items())))


CATALOGUE: Mapping[str, Entry] = joined(
    catalogue_input.ENTRIES,
    catalogue_service.ENTRIES,
    catalogue_conductors.ENTRIES,
    catalogue_design.ENTRIES,
    catalogue_equipment.ENTRIES,
    catalogue_protection.ENTRIES,
    catalogue_field.ENTRIES,
    catalogue_raceways.ENTRIES,
    catalogue_local.ENTRIES,
    catalogue_readings.ENTRIES,
    catalogue_record.ENTRIES,
    catalogue_field_pull.ENTRIES,
    catalogue_strings.ENTRIES,
    catalogue_site.ENTRIES,
)


def explain(code: str) -> str:
    """Page of a code as plain text, 80 columns wide; never the words of a clause, which the edition holds.

    Raises
    ------
    UnknownCode
        With the code that was probably meant.

    Examples
    --------
    >>> print(explain("unknown-section").splitlines()[0])
    unknown-section: section that does not exist
    """
    entry = CATALOGUE.get(code)
    if entry is None:
        raise UnknownCode(code, nearest(code, CATALOGUE))
    texts = [entry.what, entry.why, f"To cure it: {entry.cure}"]
    if entry.kind == "finding":
        texts.insert(1, _OUTCOMES)
    parts = [f"{entry.code}: {entry.title}", *(_filled(text) for text in texts)]
    if example := example_of(entry):
        parts.append("Example:\n" + textwrap.indent(example, "    "))
    if entry.rule is not None:
        parts.append(_filled(f"Rule: {entry.rule} (the binder names the clause of the edition in force)"))
    return "\n\n".join(parts)


def example_of(entry: Entry) -> str:
    """Example of a code: the entry's own, else the one kept beside the catalogue, else nothing."""
    return (entry.example or _examples().get(entry.code, "")).strip("\n")


@cache
def _examples() -> Mapping[str, str]:
    import tomllib  # noqa: PLC0415 - only where a page is shown

    return tomllib.loads((Path(__file__).parent / "examples.toml").read_text(encoding="utf-8"))


def _filled(text: str) -> str:
    # Ids, options and file names stay whole, so that they can be copied.
    return textwrap.fill(text, _WIDTH, break_long_words=False, break_on_hyphens=False)
