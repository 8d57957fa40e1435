"""Make the four static subsets of Inter in this folder; run by hand when the font or the range changes.

Every glyph of a subset is reached by exactly one way, its code point: tabular figures and all else that
OpenType would swap in are put into the character map, and all substitutions are dropped. A PDF writer that
embeds a font whole (it does so for form fields) builds the map back to text from the character map alone;
glyphs reached by substitution would print and yet be lost to searching and to reading aloud.

    pip install fontpkg-inter fonttools brotli && python templates/fonts/make_subsets.py
"""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont

HERE = Path(__file__).parent
FAMILY = "Inter Binder"
#: name of the subset: (file of the package, weight, optical size, style name)
SUBSETS = {
    "regular": ("Inter[opsz,wght].ttf", 400, 14, "Regular"),
    "semibold": ("Inter[opsz,wght].ttf", 600, 14, "SemiBold"),
    "italic": ("Inter-Italic[opsz,wght].ttf", 400, 14, "Italic"),
    "display": ("Inter[opsz,wght].ttf", 600, 32, "Display"),
}
LATIN = [*range(0x20, 0x7F), *range(0xA0, 0x180), 0x192, 0x218, 0x219, 0x21A, 0x21B, 0x1E9E]
GREEK = [*range(0x391, 0x3A2), *range(0x3A3, 0x3AA), *range(0x3B1, 0x3CA)]
SIGNS = [ord(sign) for sign in "\u2126‐‑–—‘’‚“”„†‡•…‰′″‹›⁄€№™←↑→↓↔↳−∂∅∆∏∑√∞≈≠≤≥■□▲△▼▽●○◆◇✓✗⚠"]
RAISED = [*range(0x2070, 0x2072), *range(0x2074, 0x207F), *range(0x2080, 0x208F)]
DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def make(key: str) -> TTFont:
    """One static subset with tabular figures in its character map."""
    name, weight, size, style = SUBSETS[key]
    source = files("fontpkg_inter") / "files" / name
    font = TTFont(str(source))
    font = instantiateVariableFont(font, {"wght": weight, "opsz": size})
    for table in font["cmap"].tables:
        for i, digit in enumerate(DIGITS):
            if 0x30 + i in table.cmap:
                table.cmap[0x30 + i] = f"{digit}.tf"
    options = subset.Options(
        layout_features=["kern"], hinting=False, name_IDs=[0, 1, 2, 3, 4, 5, 6, 13, 14], notdef_outline=True
    )
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=LATIN + GREEK + SIGNS + RAISED)
    subsetter.subset(font)
    for table in ("GSUB", "STAT"):
        if table in font:
            del font[table]
    for record in list(font["name"].names):
        if record.nameID in {1, 2, 4, 6}:
            full = f"{FAMILY} {style}"
            text = {1: full, 2: "Regular", 4: full, 6: full.replace(" ", "")}[record.nameID]
            font["name"].setName(text, record.nameID, record.platformID, record.platEncID, record.langID)
    font["head"].modified = font["head"].created
    font.recalcTimestamp = False
    return font


def main() -> None:
    """Write the subsets as WOFF2 and, for drawings that must know how wide a text is, the advance widths."""
    widths: dict[str, dict[str, int]] = {}
    for key in SUBSETS:
        font = make(key)
        font.flavor = "woff2"
        font.save(HERE / f"{key}.woff2")
        scale = 1000 / font["head"].unitsPerEm
        widths[key] = {
            chr(code): round(font["hmtx"][glyph][0] * scale)
            for code, glyph in sorted(font.getBestCmap().items())
        }
    text = json.dumps(widths, ensure_ascii=True, separators=(",", ":"), sort_keys=True)
    (HERE / "widths.json").write_text(text + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
