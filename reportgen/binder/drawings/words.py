"""Words in the narrow columns of a drawing: wrapped by the widths of the font that prints them."""

from __future__ import annotations

import re

from reportgen.binder.assets import text_width
from reportgen.binder.typeset import clean
from reportgen.working.units import UNITS

_UNITS = "|".join(re.escape(unit.printed) for unit in UNITS.values() if unit.printed)
#: Space between a number and its unit.
_WITHIN = re.compile(rf"(?<=\d) (?=(?:{_UNITS}|AWG|kcmil)(?![\w/]))")


def wrapped(text: str, wide: float, size: float, face: str = "regular", most: int = 6) -> list[str]:
    """Lines of a text no wider than ``wide``; a last line that ends in … was cut, an empty text has none.

    Parameters
    ----------
    wide : float
        Room. [CSS px]
    face : str
        As in :func:`reportgen.binder.assets.text_width`.
    most : int
        Lines at most.
    """
    lines: list[str] = []
    # What is longer than all lines together is cut before it is measured; a number keeps its unit.
    for word in _WITHIN.sub("\N{NO-BREAK SPACE}", " ".join(str(clean(text))[:2000].split())).split(" "):
        rest = word[:400].replace("\N{NO-BREAK SPACE}", " ")
        joined = f"{lines[-1]} {rest}" if lines else rest
        if lines and text_width(joined, size, face) <= wide:
            lines[-1] = joined
            continue
        while rest:
            end = len(rest)
            while end > 1 and text_width(rest[:end], size, face) > wide:
                end -= 1
            # After a dash or a stroke, where there is one in the further half, the break is easier to read.
            kept = max(rest.rfind(sign, 0, end) for sign in "-/+") + 1
            if end < len(rest) and kept > end / 2:
                end = kept
            lines.append(rest[:end])
            rest = rest[end:]
            if len(lines) > most:
                break
        if len(lines) > most:
            break
    if len(lines) > most:
        last = lines[most - 1]
        while last and text_width(f"{last}…", size, face) > wide:
            last = last[:-1]
        lines = [*lines[: most - 1], f"{last}…"]
    return lines
