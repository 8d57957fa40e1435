"""Exceptions of the rulebook layer, each with its data as attributes.

::

    RulebookError
    ├── TableError       a CSV or TOML of the rulebook is wrong (file and line)
    ├── UnknownEdition   no folder of that name
    ├── UnknownRule      no clause, number or ruling under that key: a mistake in the calling code
    └── OutsideTable     the table prints no value for the key: the answer is "unknown", never a pass
"""

from __future__ import annotations


class RulebookError(Exception):
    """Anything that goes wrong in the rulebook layer."""


class TableError(RulebookError):
    """A file of the rulebook that cannot be trusted; the message names file and line.

    Attributes
    ----------
    file : str
        Edition folder and file name, for instance ``nec2023/egc.csv``.
    line : int
        Counted from 1.
    reason : str
        What is wrong there.
    """

    def __init__(self, file: str, line: int, reason: str) -> None:
        super().__init__(f"{file}:{line}: {reason}")
        self.file = file
        self.line = line
        self.reason = reason


class UnknownEdition(RulebookError):
    """No edition folder of that name.

    Attributes
    ----------
    edition : str
        As asked for.
    known : tuple of str
        What could have been asked for.
    """

    def __init__(self, edition: str, known: tuple[str, ...]) -> None:
        super().__init__(
            f"no rulebook for edition `{edition}`; there is {', '.join(f'`{name}`' for name in known)}"
        )
        self.edition = edition
        self.known = known


class UnknownRule(RulebookError, KeyError):
    """The edition holds nothing under that key.

    Attributes
    ----------
    kind : str
        ``clause``, ``number``, ``ruling`` or ``table``.
    key : str
        As asked for.
    """

    def __init__(self, kind: str, key: str) -> None:
        super().__init__(f"no {kind} `{key}` in the rulebook")
        self.kind = kind
        self.key = key

    def __str__(self) -> str:
        return str(self.args[0])


class OutsideTable(RulebookError, LookupError):
    """The table prints no value for the key; nothing is extrapolated or interpolated.

    Attributes
    ----------
    table : str
        As the edition names it.
    key : str
        What was looked up.
    valid : str
        What the table does cover.
    """

    def __init__(self, table: str, key: str, valid: str) -> None:
        super().__init__(f"{table} has no value for {key}; it covers {valid}")
        self.table = table
        self.key = key
        self.valid = valid
