"""Where the templates are, and the fonts that every page carries with it."""

from __future__ import annotations

import json
from base64 import b64encode
from functools import cache, lru_cache
from pathlib import Path
from typing import cast

#: face: (file without suffix, CSS family, weight, style)
FACES = (
    ("regular", "Inter Binder", 400, "normal"),
    ("semibold", "Inter Binder", 600, "normal"),
    ("italic", "Inter Binder", 400, "italic"),
    ("display", "Inter Binder Display", 600, "normal"),
)


@cache
def template_dir() -> Path:
    """Folder of templates, style sheets and fonts: inside the installed package, or beside it in a checkout.

    Raises
    ------
    FileNotFoundError
        If the installation lacks the folder.
    """
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "templates", package.parent / "templates"):
        if (folder / "binder.html").is_file():
            return folder
    msg = f"no templates in {package} or beside it"
    raise FileNotFoundError(msg)


@cache
def font_uri(name: str) -> str:
    """A font of ``templates/fonts`` as a data URI, so that a page needs nothing but itself."""
    content = (template_dir() / "fonts" / f"{name}.woff2").read_bytes()
    return f"data:font/woff2;base64,{b64encode(content).decode('ascii')}"


@cache
def font_uris() -> frozenset[str]:
    """Every data URI that the style sheet of a page holds."""
    return frozenset(font_uri(name) for name, *_ in FACES)


@cache
def _widths() -> dict[str, dict[str, int]]:
    text = (template_dir() / "fonts" / "widths.json").read_text(encoding="utf-8")
    return cast("dict[str, dict[str, int]]", json.loads(text))


def text_width(text: str, size: float, face: str = "regular") -> float:
    """Advance width of a line of text, kerning left out, in the unit of ``size``.

    Parameters
    ----------
    text : str
        One line; a letter that the font lacks counts as one em.
    size : float
        Font size.
    face : str
        ``regular``, ``semibold``, ``italic`` or ``display``.

    Examples
    --------
    >>> text_width("11", 10) == text_width("90", 10)
    True
    """
    return _advance(text, face) * size / 1000


@lru_cache(maxsize=1 << 14)
def _advance(text: str, face: str) -> int:
    """Width of a text in thousandths of an em; pages say the same words again and again."""
    widths = _widths()[face]
    return sum([widths.get(letter, 1000) for letter in text])
