"""Messages for people: with the line of the file and a caret under it, or one line each.

Pure strings; the text of a user's file is shown as it is but for tabs, which are widened, and control
characters, which are made visible so that a file cannot steer the terminal.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from reportgen.diagnostics.model import Diagnostic, Label, Severity, Span

#: Messages of one code that are printed; the rest is counted.
CAP = 20
#: Further places of one message that are shown with their line.
_MOST_RELATED = 2
_TAB = 4
_BREAK = re.compile(r"\r\n|\n|\r")
_STYLE = {Severity.ERROR: "1;31", Severity.WARNING: "1;33", Severity.NOTE: "1;36"}
_CONTROL = {code: 0x2400 + code for code in range(0x20)} | {0x7F: 0x2421}
_CONTROL |= dict.fromkeys(
    (
        *range(0x80, 0xA0),
        0x61C,
        0x200E,
        0x200F,
        0x2028,
        0x2029,
        *range(0x202A, 0x202F),
        *range(0x2066, 0x206A),
    ),
    0xFFFD,
)


class Excerpts:
    """Lines of the input files, split when first asked for."""

    def __init__(self, files: Mapping[str, bytes]) -> None:
        self._files = files
        self._lines: dict[str, list[str]] = {}

    def line(self, span: Span) -> str | None:
        """Line a place starts in, or None where the file has none or is no text."""
        lines = self._lines.get(span.file)
        if lines is None:
            data = self._files.get(span.file)
            text = "" if data is None or _is_binary(data) else data.decode("utf-8-sig", "replace")
            lines = self._lines[span.file] = _BREAK.split(text) if text else []
        return lines[span.line - 1] if 0 < span.line <= len(lines) else None


def _is_binary(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return b"\0" in data
    return False


def excerpts(files: Mapping[str, bytes]) -> Excerpts:
    """Lines of input files, from their bytes by path relative to the folder."""
    return Excerpts(files)


def use_color(choice: str, env: Mapping[str, str], is_tty: bool) -> bool:
    """Whether to colour what goes to a stream.

    Parameters
    ----------
    choice : {"auto", "always", "never"}
        The option of the command line, which wins over everything.
    env : mapping
        Environment; ``NO_COLOR`` set and not empty wins over ``FORCE_COLOR``, that over ``TERM=dumb``.
    is_tty : bool
        Whether this very stream is a terminal.

    Examples
    --------
    >>> use_color("auto", {"NO_COLOR": "1", "FORCE_COLOR": "1"}, True)
    False
    """
    if choice != "auto":
        return choice == "always"
    if env.get("NO_COLOR"):
        return False
    if env.get("FORCE_COLOR"):
        return True
    return is_tty and env.get("TERM") != "dumb"


def render(
    diagnostics: Sequence[Diagnostic],
    excerpts: Excerpts,
    *,
    form: str = "full",
    color: bool = False,
    prefix: str = "",
    width: int = 100,
    cap: int = CAP,
) -> str:
    """Messages as text, without a line break at the end.

    Parameters
    ----------
    diagnostics : sequence of Diagnostic
        In the order of printing.
    excerpts : Excerpts
        Lines of the files.
    form : {"full", "concise"}
        With excerpts, or one line each.
    color : bool
        Colour the severity and the caret.
    prefix : str
        The folder as the user typed it, with a slash at its end; put before each path.
    width : int
        Columns that an excerpt may fill.
    cap : int
        Messages of one code that are printed; how many were held back is said.
    """
    seen: Counter[str] = Counter()
    parts = []
    page = _Page(excerpts, color, prefix, width)
    for diagnostic in diagnostics:
        seen[diagnostic.code] += 1
        if seen[diagnostic.code] <= cap:
            parts.append(page.concise(diagnostic) if form == "concise" else page.full(diagnostic))
    for code, count in sorted(seen.items()):
        if count > cap:
            rest = count - cap
            parts.append(f"{rest} further message{'s' if rest > 1 else ''} `{code}` held back")
    return ("\n" if form == "concise" else "\n\n").join(parts)


def summary(diagnostics: Iterable[Diagnostic], files: int | None = None) -> str:
    """How many messages of each weight there are, for instance ``2 errors, 1 warning in 5 files``.

    Examples
    --------
    >>> summary([Diagnostic("a", "b"), Diagnostic("a", "c")], files=1)
    '2 errors in 1 file'
    """
    counts = Counter(item.severity for item in diagnostics)
    told = ", ".join(counted(counts[severity], str(severity)) for severity in Severity if counts[severity])
    where = "" if files is None else f" in {counted(files, 'file')}"
    return f"{told or 'no messages'}{where}"


def counted(number: int, word: str) -> str:
    """Return a number with its word in singular or plural."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def visible(text: str) -> str:
    r"""Text with control characters made visible.

    Examples
    --------
    >>> visible("a\x1b[31m")
    'a␛[31m'
    """
    return text.translate(_CONTROL)


def cells(character: str) -> int:
    """Columns of a terminal that a character fills."""
    if unicodedata.combining(character) or unicodedata.category(character) in {"Mn", "Me", "Cf"}:
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


class _Page:
    def __init__(self, excerpts: Excerpts, color: bool, prefix: str, width: int) -> None:
        self.excerpts = excerpts
        self.color = color
        self.prefix = prefix
        self.width = max(width, 40)

    def concise(self, diagnostic: Diagnostic) -> str:
        """One line: place, severity, code, message."""
        span = diagnostic.span
        place = f"{self._where(span)}: " if span is not None and span.file else ""
        return f"{place}{self._head(diagnostic)}"

    def full(self, diagnostic: Diagnostic) -> str:
        """Message, places with their lines, notes, clause and cure."""
        lines = [self._head(diagnostic)]
        shown = [label for label in diagnostic.labels if label.span.file]
        first = [label for label in shown if label.primary][:1]
        others = [label for label in shown if not label.primary]
        for label in first + others[:_MOST_RELATED]:
            lines += self._place(label, _STYLE[diagnostic.severity])
        lines += [f"  ::: {self._where(label.span)}" for label in others[_MOST_RELATED:]]
        lines += [f"note: {visible(note)}" for note in diagnostic.notes]
        if diagnostic.clause:
            lines.append(f"note: {visible(diagnostic.clause)}")
        if diagnostic.help:
            lines.append(f"help: {visible(diagnostic.help)}")
        return "\n".join(lines)

    def _head(self, diagnostic: Diagnostic) -> str:
        severity = self._painted(str(diagnostic.severity), _STYLE[diagnostic.severity])
        return f"{severity}[{diagnostic.code}]: {visible(diagnostic.message)}"

    def _painted(self, text: str, style: str) -> str:
        return f"\x1b[{style}m{text}\x1b[0m" if self.color else text

    def _where(self, span: Span) -> str:
        path = visible(f"{self.prefix}{span.file}")
        return path if span.is_whole_file else f"{path}:{span.line}:{span.column}"

    def _place(self, label: Label, style: str) -> list[str]:
        span = label.span
        lines = [f"  {'-->' if label.primary else ':::'} {self._where(span)}"]
        text = None if span.is_whole_file else self.excerpts.line(span)
        if text is None:
            return [f"{lines[0]} ({visible(label.text)})"] if label.text else lines
        gutter = len(str(span.line))
        shown, before, under = _window(text, span, self.width - gutter - 3)
        mark = ("^" if label.primary else "-") * under
        words = f" {visible(label.text)}" if label.text else ""
        caret = self._painted(mark, style) if label.primary else mark
        lines.append(f"{span.line} | {shown}".rstrip())
        lines.append(f"{' ' * gutter} | {' ' * before}{caret}{words}")
        return lines


def _window(line: str, span: Span, room: int) -> tuple[str, int, int]:
    """Part of a line around a place, columns before the place, columns of the place."""
    start = min(span.column - 1, len(line))
    end = min(span.end_column - 1, len(line)) if span.end_line == span.line else len(line.rstrip())
    end = max(end, start)
    # A line may be a megabyte long; only what can be shown is looked at.
    left = max(start - 4 * room, 0)
    pieces = _laid(line[left : max(min(end, start + room), start) + 4 * room])
    at, to = start - left, end - left
    before = sum(size for _, size in pieces[:at])
    under = sum(size for _, size in pieces[at:to])
    whole = sum(size for _, size in pieces)
    if left == 0 and whole <= room:
        return "".join(text for text, _ in pieces).rstrip(), before, max(under, 1)
    # The start of the line stays where the place lies near it; else a third of the room shows what stands before.
    lead = before if left == 0 and before <= room // 2 else room // 3
    first, kept = at, 0
    while first > 0 and kept + pieces[first - 1][1] <= lead:
        first -= 1
        kept += pieces[first][1]
    last, used = first, 0
    while last < len(pieces) and used + pieces[last][1] <= room - 2:
        used += pieces[last][1]
        last += 1
    head = "…" if first > 0 or left > 0 else ""
    tail = "…" if last < len(pieces) else ""
    text = head + "".join(text for text, _ in pieces[first:last]) + tail
    return text, kept + len(head), max(min(under, used - kept), 1)


def _laid(text: str) -> list[tuple[str, int]]:
    """Characters as they are shown, each with its columns."""
    pieces: list[tuple[str, int]] = []
    column = 0
    for character in text:
        if character == "\t":
            shown, size = " " * (_TAB - column % _TAB), _TAB - column % _TAB
        else:
            shown = visible(character)
            size = cells(shown)
        pieces.append((shown, size))
        column += size
    return pieces
