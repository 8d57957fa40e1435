"""Text on its way to a page: cleaned, escaped, and its symbols typeset."""

from __future__ import annotations

import re
from functools import lru_cache

from markupsafe import Markup, escape

from reportgen.binder.elements import anchor
from reportgen.working.units import UNITS

_GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "Delta": "Δ", "eta": "η", "theta": "θ", "kappa": "κ",
    "lambda": "λ", "mu": "μ", "pi": "π", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "φ", "omega": "ω",
}  # fmt: skip
#: Raised and lowered figures of the font: lifted by the page they would read as part of the number before them.
_RAISED = str.maketrans("0123456789-−", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁻")
_LOWERED = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
_UPRIGHT = frozenset({"min", "max", "sqrt", "exp", "ceil", "floor", "abs"})
_TOKEN = re.compile(
    r"(?P<number>\d+(?:\.\d+)?(?:e[+\-−]?\d+)?)|(?P<name>[^\W\d_]\w*)|\^(?P<power>\d+)(?![.\d])"
)
_SYMBOL = re.compile(r"(?<![\w.])(?P<base>[^\W\d_])_(?P<below>[A-Za-z0-9,]{1,12})(?!\w)")
_PLAIN_ID = re.compile(r"[A-Za-z][A-Za-z0-9._-]*")
#: Controls, and the marks that turn the direction of text round: a number must never print backwards.
_CONTROLS = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufffe\uffff\ud800-\udfff]"
)
#: Where an input stands: file and line, as messages name it.
PLACE = r"[\w./-]+\.ya?ml:\d+(?!\w)"
_LONG_WORD = re.compile(r"\S{28}")
_UNITS = "|".join(re.escape(unit.printed) for unit in UNITS.values() if unit.printed)
_NUMBER = rf"\d[\d.,]{{0,14}} (?:{_UNITS}|AWG|kcmil)(?![\w/])"
#: What is not broken at the end of a line: a number and its unit, with its tolerance; so many of a thing; a table and
#: its number; a line of a file; a name with dashes or strokes in it, the sign of its polarity included.
_TIED = re.compile(
    rf"(?<![\w.])[−-]?{_NUMBER}(?: ± {_NUMBER})?[,;:)]?"
    rf"|(?<![\w.])\d+ × (?:{_NUMBER}|[\w.-]{{1,12}}(?!\S))[,;:)]?"
    r"|(?<!\w)(?:Table|Chapter|chapter|page|line|step) \d[\w.]{0,6}(?![\w(]|\.\d)[,;:)]?"
    rf"|(?<![\w.])(?=\S{{3,28}}(?!\S)){PLACE}[,;:)]*"
    r"|(?<!\S)(?=\S{3,20}(?!\S))[\w.+]+(?:[/+−-][\w.+−]+)+[+−-]?[,;:)]?"
)


#: Texts kept as they are set, the latest first: an edit leaves most of a binder as it was.
KEPT = 1 << 13


def clean(value: object) -> object:
    """Text without control characters; a sign in their place shows that there was one."""
    if isinstance(value, Markup) or not isinstance(value, str):
        return value
    return _CONTROLS.sub("□", value)


@lru_cache(maxsize=KEPT)
def symbols(text: str) -> Markup:
    """A formula as it is typeset: letters slanted, indices below the line, powers above it.

    Examples
    --------
    >>> symbols("N * V_oc")
    Markup('<var>N</var> * <var>V</var><sub>oc</sub>')
    >>> symbols("12.2^2 * 3e-07")
    Markup('12.2² * 3 × 10⁻⁷')
    """
    parts: list[str] = []
    end = 0
    for match in _TOKEN.finditer(text):
        parts.append(escape(clean(text[end : match.start()])))
        parts.append(_token(match))
        end = match.end()
    return Markup("".join([*parts, escape(clean(text[end:]))]))


def _token(match: re.Match[str]) -> Markup:
    if power := match["power"]:
        return escape(power.translate(_RAISED))
    if number := match["number"]:
        mantissa, _, exponent = number.partition("e")
        if not exponent:
            return escape(number)
        return escape(f"{mantissa} × 10{str(int(exponent.replace('−', '-'))).translate(_RAISED)}")
    name = match["name"]
    if name in _UPRIGHT:
        return escape("√" if name == "sqrt" else name)
    base, _, below = name.partition("_")
    shown = f"<var>{escape(_GREEK.get(base, base))}</var>"
    if below.isdecimal():
        return Markup(f"{shown}{escape(below.translate(_LOWERED))}")
    return Markup(f"{shown}<sub>{escape(below.replace('_', ','))}</sub>" if below else shown)


@lru_cache(maxsize=KEPT)
def symbolic(text: str) -> Markup:
    """Words in which a symbol such as ``V_oc`` prints with its index below the line; all else stays as it is.

    Examples
    --------
    >>> symbolic("V_oc at record low")
    Markup('<var>V</var><sub>oc</sub> at record low')
    """
    parts: list[str] = []
    end = 0
    for match in _SYMBOL.finditer(text):
        parts.append(escape(clean(text[end : match.start()])))
        parts.append(f"<var>{escape(match['base'])}</var><sub>{escape(match['below'])}</sub>")
        end = match.end()
    return Markup("".join([*parts, escape(clean(text[end:]))]))


@lru_cache(maxsize=KEPT)
def tied(text: str) -> Markup:
    """A text in which no line ends between a number and its unit, or within a short name such as ``INV-2/A``.

    Examples
    --------
    >>> tied("limit 40.0 % in 3 boxes")
    Markup('limit <span class="one">40.0 %</span> in 3 boxes')
    >>> tied("from INV-1/A- on")
    Markup('from <span class="one">INV-1/A-</span> on')
    >>> tied("a (circuits.yaml:9)")
    Markup('a (<span class="one">circuits.yaml:9)</span>')
    """
    parts: list[str] = []
    end = 0
    for match in _TIED.finditer(text):
        parts.append(escape(clean(text[end : match.start()])))
        parts.append(f'<span class="one">{escape(clean(match[0]))}</span>')
        end = match.end()
    return Markup("".join([*parts, escape(clean(text[end:]))]))


@lru_cache(maxsize=KEPT)
def unbroken(text: str) -> tuple[str, ...]:
    """The parts of a text between which a line may end.

    Examples
    --------
    >>> unbroken("fill 40.0 % of R1/riser-press")
    ('fill', '40.0 %', 'of', 'R1/riser-press')
    >>> unbroken("106.0 m ± 0.9 m to INV-1/A-, 2 × 8 AWG")
    ('106.0 m ± 0.9 m', 'to', 'INV-1/A-,', '2 × 8 AWG')
    """
    parts: list[str] = []
    end = 0
    for match in _TIED.finditer(text):
        parts += [*text[end : match.start()].split(), match[0]]
        end = match.end()
    return (*parts, *text[end:].split())


def css_string(text: str) -> Markup:
    """A text as a string of a style sheet; everything but plain letters and digits is escaped."""
    # The space after an escape belongs to it, so that a letter or a space that follows is not taken in.
    safe = "".join(
        c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):x} " for c in str(clean(text))
    )
    return Markup('"{}"').format(safe)


def identifier(text: str) -> str:
    """A text as an id: itself where it is one, else with everything else escaped."""
    return text if _PLAIN_ID.fullmatch(text) else anchor("x", text)


def long(text: str) -> bool:
    """Whether a word is so long that it may be broken anywhere."""
    return _LONG_WORD.search(text) is not None
