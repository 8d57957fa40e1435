"""Bytes of a file to text that YAML may see: encoding, size, characters that do harm, places.

Everything refused here is named with its line and column before any parser meets it, so that both YAML
parsers are given text on which they agree.
"""

from __future__ import annotations

import bisect
import re
import unicodedata
from collections.abc import Iterator

from reportgen.diagnostics.model import Sink, Span
from reportgen.working.units import comma

#: Largest file that is read, in bytes.
MAX_BYTES = 2_000_000
#: Places of one kind that are reported in one file; more say nothing new.
MAX_PLACES = 50

_BREAK = re.compile(r"\r\n|\n|\r")
#: What YAML forbids, and what would make its lines differ from an editor's lines.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufeff\ufffe\uffff]")
_DIRECTIVE = re.compile(r"(?:[ ]*(?:#[^\r\n]*)?[\r\n])*%")
#: Blanks and invisible characters that look like nothing or like a space.
ODD_BLANKS = "\u00a0\u00ad\u1680\u180e\u2000-\u200f\u202a-\u202f\u205f-\u2064\u2066-\u206f\u3000"
_ODD_BLANK = re.compile(f"[{ODD_BLANKS}]")
_ODD_INDENT = re.compile(f"(?:^|(?<=[\r\n]))[ ]*([{ODD_BLANKS}])")
#: Quotation marks that do not quote in YAML.
CURLY = "\u2018\u2019\u201a\u201b\u201c\u201d\u201e\u201f\u00ab\u00bb\u2032\u2033"
#: Dashes that look like a minus sign.
DASHES = "\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d"
_SIGNATURES = (
    (b"\xff\xfe\x00\x00", "UTF-32"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)
_SAVE_AS = "save the file as UTF-8"


class Text:
    """The text of one file, which turns offsets into places.

    Attributes
    ----------
    file : str
        Path relative to the project folder.
    text : str
        Decoded, without a byte order mark, ending with a line break.
    """

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.text = text if text.endswith(("\n", "\r")) else text + "\n"
        self._starts: list[int] | None = None
        #: Offset just past the last written character.
        self.written = len(self.text.rstrip(" \r\n"))

    @property
    def starts(self) -> list[int]:
        """Offset at which each line starts, found when first asked for."""
        if self._starts is None:
            self._starts = [0, *(match.end() for match in _BREAK.finditer(self.text))]
        return self._starts

    def line(self, number: int) -> str:
        """Line ``number`` (from 1) without its line break; empty past the end."""
        starts = self.starts
        if not 1 <= number <= len(starts):
            return ""
        end = starts[number] if number < len(starts) else len(self.text)
        return self.text[starts[number - 1] : end].rstrip("\r\n")

    def span(self, start: int, length: int = 1) -> Span:
        """Place of ``length`` characters from an offset."""
        row = bisect.bisect_right(self.starts, start)
        column = start - self.starts[row - 1] + 1
        return Span(self.file, row, column, row, column + length)

    def offset(self, span: Span) -> int:
        """Offset at which a place starts."""
        return self.starts[span.line - 1] + span.column - 1

    def at(self, line: int, column: int, length: int = 1) -> Span:
        """Place of ``length`` characters from a line and column, moved back onto the last written character."""
        offset = self.starts[line - 1] + column - 1 if line <= len(self.starts) else self.written
        if offset >= self.written:
            return self.span(max(self.written - 1, 0))
        return Span(self.file, line, column, line, column + length)


def named(character: str) -> str:
    """A character as a message names it: what it is and its code point."""
    name = unicodedata.name(character, "control character").lower()
    return f"{name} (U+{ord(character):04X})"


def odd_characters(text: str) -> Iterator[tuple[int, str]]:
    """Index and character of every blank, quotation mark or dash that only looks like a plain one."""
    if not text.isascii():
        for index, character in enumerate(text):
            if character in CURLY or character in DASHES or _ODD_BLANK.match(character):
                yield index, character


def first_odd_blank(text: str) -> int | None:
    """Index of the first blank or invisible character that is no plain space, or None."""
    if text.isascii():
        return None
    match = _ODD_BLANK.search(text)
    return match.start() if match else None


def forbidden(text: str) -> str | None:
    """Return the first control character or half of a surrogate pair that no text may hold, or None."""
    match = _FORBIDDEN.search(text)
    return match.group() if match else None


def decode(file: str, data: bytes, sink: Sink) -> Text | None:
    """Text of a file, or None with a located diagnostic for each reason that YAML must not see it."""
    top = Span(file, 1, 1, 1, 2)
    if len(data) > MAX_BYTES:
        message = f"`{file}` has {len(data)} bytes, more than {MAX_BYTES}"
        sink.error("too-large", message, top, help="split the file, or keep measured series as CSV")
        return None
    signature = next((name for mark, name in _SIGNATURES if data.startswith(mark)), None)
    if signature is None and data[:400].count(0) * 4 >= len(data[:400]) > 1:
        signature = "UTF-16"
    if signature is not None:
        sink.error("bad-encoding", f"`{file}` is written in {signature}, not in UTF-8", top, help=_SAVE_AS)
        return None
    try:
        data = data.removeprefix(b"\xef\xbb\xbf")
        text = Text(file, data.decode("utf-8"))
    except UnicodeDecodeError as error:
        _not_utf8(file, data, error.start, sink)
        return None
    before = len(sink.items)
    _refuse_characters(text, sink)
    return text if len(sink.items) == before else None


def _not_utf8(file: str, data: bytes, start: int, sink: Sink) -> None:
    # An older encoding usually spoils several places; the first one is enough to know the cure.
    head = data[:start].decode("utf-8", "replace")
    starts = [0, *(match.end() for match in _BREAK.finditer(head))]
    column = len(head) - starts[-1] + 1
    span = Span(file, len(starts), column, len(starts), column + 1)
    byte = data[start]
    notes = []
    if byte >= 0xA0:
        notes.append(f"in Latin-1 this byte is `{bytes([byte]).decode('latin-1')}`")
    sink.error("bad-encoding", f"byte 0x{byte:02X} is not UTF-8", span, help=_SAVE_AS, notes=notes)


def _refuse_characters(text: Text, sink: Sink) -> None:
    raw = text.text
    for match, _ in zip(_FORBIDDEN.finditer(raw), range(MAX_PLACES), strict=False):
        character = match.group()
        what = "byte order mark in the middle of the file" if character == "\ufeff" else named(character)
        sink.error("control-character", f"{what} is not allowed", text.span(match.start()), help="delete it")
    if "\t" in raw:
        _refuse_tabs(text, sink)
    if not raw.isascii():
        for match, _ in zip(_ODD_INDENT.finditer(raw), range(MAX_PLACES), strict=False):
            message = f"the indentation holds a {named(match.group(1))}"
            sink.error(
                "odd-character", message, text.span(match.start(1)), help="replace it by a plain space"
            )
    if raw[:1] in {"%", "#", " ", "\r", "\n"} and (match_ := _DIRECTIVE.match(raw)):
        message = "a `%` directive is not part of this format"
        sink.error("yaml-syntax", message, text.span(match_.end() - 1), help="delete the line")


def _refuse_tabs(text: Text, sink: Sink) -> None:
    # The two parsers disagree on tabs; a rule that needs no parser is refusing them outside comments.
    found = 0
    for number, start in enumerate(text.starts, start=1):
        line = text.line(number)
        tab = line.find("\t")
        if tab < 0 or re.search(r"(?:^|[ ])#", line[:tab]):
            continue
        where = "in the indentation" if not line[:tab].strip() else "between words"
        message = f"a tab stands {where}"
        sink.error("tab-character", message, text.span(start + tab), help="replace the tab by spaces")
        found += 1
        if found == MAX_PLACES:
            return


def decimal_comma(whole: str, rest: str) -> tuple[str, str]:
    """Message and cure for a number whose decimal comma ended it inside brackets.

    Examples
    --------
    >>> decimal_comma("37", "1 V")[1]
    'write the number with a point: `37.1 V`'
    """
    text = f"{whole},{rest[:20]}"
    reason, cure = comma(text)
    return f"`{text}` {reason}, and inside brackets a comma ends the value", cure
