"""What a YAML parser found wrong, in our words and at one place whichever parser found it.

The C parser and the pure Python parser word the same fault differently and sometimes point elsewhere; the
table below names the faults they share, and each explanation looks at the text itself.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

import yaml

from reportgen.diagnostics.model import Sink, Span
from reportgen.project.characters import Text, first_odd_blank, named

#: Deepest nesting of lists and mappings.
MAX_DEPTH = 40
TOO_DEEP = f"lists and mappings are nested deeper than {MAX_DEPTH}"
NO_BLANK = "a blank is missing after this colon"
QUESTION = "a `?` after a blank starts a key here"
_ESCAPED = re.compile(r"\\(?:u(?P<short>[0-9A-Fa-f]{4})|U(?P<long>[0-9A-Fa-f]{8}))")


@dataclass(slots=True)
class Fault:
    """One fault as reported by a parser: its words, the place, the place where the context began."""

    text: Text
    words: str
    span: Span
    context: Span
    #: Places of the flow collections (`[`, `{`) open at that moment, outermost first.
    open_flow: list[Span] = field(default_factory=list)
    #: True where the parser ran out of text.
    at_end: bool = False

    @property
    def character(self) -> str:
        """The character at the place."""
        return self.text.line(self.span.line)[self.span.column - 1 : self.span.column]


@dataclass(frozen=True, slots=True)
class _Told:
    message: str
    help: str
    span: Span | None = None
    related: tuple[tuple[Span, str], ...] = ()
    code: str = "yaml-syntax"


def _quote(fault: Fault) -> _Told:
    mark = fault.text.line(fault.context.line)[fault.context.column - 1 : fault.context.column]
    message = f"the quote `{mark}` opened here is never closed"
    return _Told(message, f"close the text with another `{mark}`", fault.context)


def _value(fault: Fault) -> _Told:
    line = fault.text.line(fault.span.line)
    before = line[: fault.span.column - 1]
    key = re.match(r"[ ]*(?:- +)*(?P<key>[^:#]+):[ ]+(?P<rest>[^\s'\"].*)", line)
    if key is not None and ": " in before:
        quoted = key["rest"].split(" #")[0].rstrip().replace('"', "'")
        shown = quoted if len(quoted) <= 40 else quoted[:39] + "…"
        message = "a second `: ` stands in this value"
        return _Told(message, f'put the value in quotes: `{key["key"].strip()}: "{shown}"`')
    above = next(
        (text for text in map(fault.text.line, range(fault.span.line - 1, 0, -1)) if text.strip()), ""
    )
    if above and ":" not in above and not above.lstrip().startswith(("#", "-")):
        message = "this key stands below a line that has no colon"
        return _Told(message, f"write `{above.strip()[:40]}:` in the line above")
    message = "this key stands deeper than the line above allows"
    return _Told(message, "line it up with the keys that it belongs to")


def _start(fault: Fault) -> _Told:
    message = f"a value cannot start with `{fault.character}`"
    return _Told(message, "put the value in quotes")


def _flow(fault: Fault) -> _Told:
    if fault.at_end or _is_outside(fault):
        return _unclosed(fault)
    if fault.character == "?":
        return _question(fault)
    opening = fault.text.line(fault.context.line)[fault.context.column - 1 : fault.context.column]
    closing = "]" if "sequence" in fault.words else "}"
    related = ((fault.context, "opened here"),) if opening in "[{" and opening else ()
    message = f"a `,` or the closing `{closing}` is missing before this"
    return _Told(message, f"close the bracket with `{closing}`, or add the comma", related=related)


def _is_outside(fault: Fault) -> bool:
    """Whether the line is a key of the mapping around the bracket, so that the bracket ended before."""
    line, first = fault.text.line(fault.span.line), fault.text.line(fault.context.line)
    indents = [len(text) - len(text.lstrip()) for text in (line, first)]
    is_key = re.match(r"[ ]*[^\s,\[\]{}\"']+:(?:[ ]|$)", line) is not None
    return fault.span.line > fault.context.line and is_key and indents[0] <= indents[1]


def _unclosed(fault: Fault) -> _Told:
    span = fault.open_flow[-1] if fault.open_flow else fault.context
    opening = fault.text.line(span.line)[span.column - 1 : span.column]
    closing = "]" if opening == "[" else "}"
    return _Told(f"the bracket `{opening}` opened here is never closed", f"close it with `{closing}`", span)


def _content(fault: Fault) -> _Told:
    if fault.at_end and fault.open_flow:
        return _unclosed(fault)
    message = f"a value is missing before `{fault.character}`" if fault.character else "a value is missing"
    return _Told(message, "write the value, or put it in quotes if it starts with this character")


def _colon(fault: Fault) -> _Told:
    line = fault.text.line(fault.context.line)
    key = re.compile(r"[^\s,\[\]{}]+(:)[,\[\]{}]").match(line, fault.context.column - 1)
    if key is not None:
        where = fault.text.at(fault.context.line, key.start(1) + 1)
        return _Told(NO_BLANK, "write a blank after the colon", where)
    message = "this line is neither `key: value` nor an item of a list"
    return _Told(message, "write a colon and a space after the key", fault.context)


def _out_of_step(fault: Fault) -> _Told:
    before = fault.text.line(fault.span.line)[: fault.span.column - 1]
    if before.rstrip().endswith(('"', "'")):
        return _Told("text follows after the closing quote", "put the whole value in one pair of quotes")
    message = "this line does not line up with the lines above it"
    return _Told(message, "give the keys of one mapping, or the `-` of one list, the same indentation")


def _left(fault: Fault) -> _Told:
    message = "this line stands further left than the first line"
    return _Told(message, "give all sections the same indentation, none at all")


def _item(fault: Fault) -> _Told:
    message = "a list cannot start on the line of its key"
    return _Told(message, "start the list on the next line, or write it in brackets")


def _anchor(fault: Fault) -> _Told:
    message = f"`{fault.character or '*'}` starts an anchor or alias without a name here"
    return _Told(message, "put the value in quotes", fault.context)


def _escape(fault: Fault) -> _Told:
    message = "the text in double quotes holds a `\\` sequence that YAML does not know"
    return _Told(message, "use single quotes, in which `\\` is an ordinary character", fault.context)


def impossible_escape(text: Text) -> tuple[str, str, Span, str]:
    """Code, message, place and cure for the first escape that stands for no character."""
    place = text.at(1, 1)
    for match in _ESCAPED.finditer(text.text):
        code = int(match["short"] or match["long"], 16)
        if 0xD800 <= code <= 0xDFFF or code > 0x10FFFF:
            place = text.span(match.start(), len(match.group()))
            break
    return "control-character", "an escape stands for no character", place, "write the character itself"


def _no_character(fault: Fault) -> _Told:
    code, message, span, help = impossible_escape(fault.text)
    return _Told(message, help, span, code=code)


def _block(fault: Fault) -> _Told:
    mark = fault.text.line(fault.context.line)[fault.context.column - 1 : fault.context.column]
    message = f"text follows on the line of `{mark}`"
    return _Told(message, "start the text on the next line, indented", fault.context)


def _tag(fault: Fault) -> _Told:
    message = "a `!` tag is not part of this format"
    return _Told(message, "delete the tag, or put the value in quotes", fault.context, code="yaml-tag")


def _deep(fault: Fault) -> _Told:
    return _Told(TOO_DEEP, "check the brackets", code="too-deep")


def _question(fault: Fault) -> _Told:
    return _Told(QUESTION, "put the text in quotes")


_EXPLANATIONS: tuple[tuple[re.Pattern[str], Callable[[Fault], _Told]], ...] = tuple(
    (re.compile(pattern), tell)
    for pattern, tell in (
        (r"nesting depth|level limit", _deep),
        (r"quoted scalar.*unexpected (end|document)", _quote),
        (r"no character|invalid Unicode character", _no_character),
        (r"quoted scalar", _escape),
        (r"mapping values are not allowed", _value),
        (r"mapping keys are not allowed", _question),
        (r"sequence entries are not allowed", _item),
        (r"cannot start any token", _start),
        (r"flow (sequence|mapping).*expected ','", _flow),
        (r"node content", _content),
        (r"expected ':'", _colon),
        (r"scanning an (alias|anchor)", _anchor),
        (r"\b(tag|directive)\b", _tag),
        (r"block scalar", _block),
        (r"document start|document end", _left),
        (r"block (collection|mapping)", _out_of_step),
    )
)


def report(error: yaml.YAMLError | ValueError, text: Text, open_flow: list[Span], sink: Sink) -> None:
    """Report what a parser refused; exactly one located diagnostic."""
    problem = getattr(error, "problem", None) or ""
    context = getattr(error, "context", None) or ""
    span = _place(text, getattr(error, "problem_mark", None))
    began = _place(text, getattr(error, "context_mark", None) or getattr(error, "problem_mark", None))
    # The pure parser turns an impossible code point of an escape into a bare ValueError.
    words = f"{context} {problem}" if isinstance(error, yaml.YAMLError) else "no character"
    fault = Fault(text, words, span, began, open_flow, _is_end(text, getattr(error, "problem_mark", None)))
    if _odd_blank_instead(fault, sink) or _escape_instead(fault, sink):
        return
    tell = next((tell for pattern, tell in _EXPLANATIONS if pattern.search(words)), None)
    told = (
        _Told("this is not valid YAML", "write `key: value` lines, indented by spaces")
        if tell is None
        else tell(fault)
    )
    sink.error(told.code, told.message, told.span or span, help=told.help, related=told.related)


def _place(text: Text, mark: yaml.Mark | None) -> Span:
    if mark is None:
        return text.at(1, 1)
    return text.at(mark.line + 1, mark.column + 1)


def _is_end(text: Text, mark: yaml.Mark | None) -> bool:
    return mark is not None and (
        mark.line >= len(text.starts) or text.starts[mark.line] + mark.column >= text.written
    )


def _escape_instead(fault: Fault, sink: Sink) -> bool:
    # The C parser stops at an escape that is no character, the pure one at what follows it.
    code, message, span, help = impossible_escape(fault.text)
    line = fault.text.line(span.line)[: span.column - 1]
    if span.end_column - span.column > 1 and '"' in line and span < fault.span:
        sink.error(code, message, span, help=help)
        return True
    return False


def _odd_blank_instead(fault: Fault, sink: Sink) -> bool:
    # A no-break space after a colon or a dash is what broke the line, not what the parser stumbled over later.
    for number in range(fault.context.line, fault.span.line + 1):
        line = fault.text.line(number)
        index = first_odd_blank(line)
        if index is not None:
            where = Span(fault.text.file, number, index + 1, number, index + 2)
            message = f"a {named(line[index])} stands where a plain space is needed"
            sink.error("odd-character", message, where, help="replace it by a plain space")
            return True
        if number - fault.context.line > 200:
            return False
    return False
