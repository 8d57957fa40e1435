"""Messages as workflow commands, which GitHub Actions turns into annotations on the changed lines."""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.diagnostics.model import Diagnostic, Severity

_COMMAND = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "notice"}


def github(diagnostics: Sequence[Diagnostic], prefix: str = "") -> str:
    """One command a message, without a line break at the end.

    Parameters
    ----------
    diagnostics : sequence of Diagnostic
        In the order of printing.
    prefix : str
        Folder put before each path, with a slash at its end, so that paths count from the root of the repository.

    Examples
    --------
    >>> github([Diagnostic("unknown-key", "`a` is not a known key", help="100 % sure?")])
    '::error title=unknown-key::`a` is not a known key%0Ahelp: 100 %25 sure?'
    """
    return "\n".join(_command(item, prefix) for item in diagnostics)


def _command(item: Diagnostic, prefix: str) -> str:
    properties = {"title": item.code}
    span = item.span
    if span is not None and span.file:
        properties["file"] = prefix + span.file
        if not span.is_whole_file:
            properties |= {"line": str(span.line), "endLine": str(span.end_line)}
            if span.line == span.end_line:
                properties |= {"col": str(span.column), "endColumn": str(span.end_column)}
    notes = [f"note: {note}" for note in (*item.notes, *((item.clause,) if item.clause else ()))]
    cure = [f"help: {item.help}"] if item.help else []
    message = _escaped("\n".join([item.message, *notes, *cure]))
    listed = ",".join(f"{name}={_property(value)}" for name, value in sorted(properties.items()))
    return f"::{_COMMAND[item.severity]} {listed}::{message}"


def _escaped(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _escaped(text).replace(":", "%3A").replace(",", "%2C")
