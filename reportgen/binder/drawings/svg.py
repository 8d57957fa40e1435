"""A small writer of SVG: shapes with named pens, escaped text, and the box of every text for tests.

Drawings are black lines and text on paper; tone and hatching tell parts apart, never colour alone. Each
shape carries its print colours as attributes (a PDF writer reads those) and a class (the style sheet of the
HTML page overrides the colours in the dark).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from markupsafe import Markup, escape

from reportgen.binder.assets import text_width
from reportgen.binder.typeset import clean

INK, QUIET, FAINT, ACCENT = "#16181a", "#5a6068", "#c3c8ce", "#8c3a12"
TONE, BAND, PAPER = "#d9dde1", "#eef0f2", "#ffffff"

#: Steps of grey from little to much; far enough apart for a photocopy.
GREYS = ("#dcdfe2", "#b3b8bd", "#858b91", "#555b61", INK)

#: Grounds that tell things of one kind apart, light and darker in turn so that neighbours differ on a photocopy too;
#: a letter stands on each.
HUES = ("#fbe7c6", "#b7cee6", "#dff0d8", "#e3b9b0", "#e9e0f3", "#bfc9a8")

#: pen: attributes of a shape as printed; the class of the same name carries them to the screen
PENS: Mapping[str, Mapping[str, str]] = {
    "axis": {"fill": "none", "stroke": INK, "stroke-width": "0.8"},
    "line": {"fill": "none", "stroke": INK, "stroke-width": "1.2"},
    "heavy": {"fill": "none", "stroke": INK, "stroke-width": "2.2"},
    "dashed": {"fill": "none", "stroke": INK, "stroke-width": "1.1", "stroke-dasharray": "6 3"},
    "dotted": {"fill": "none", "stroke": INK, "stroke-width": "1.1", "stroke-dasharray": "1.5 2.5"},
    "grid": {"fill": "none", "stroke": FAINT, "stroke-width": "0.5"},
    "leader": {"fill": "none", "stroke": QUIET, "stroke-width": "0.5"},
    "accent": {"fill": "none", "stroke": ACCENT, "stroke-width": "1.6"},
    "outline": {"fill": PAPER, "stroke": INK, "stroke-width": "1"},
    "solid": {"fill": INK, "stroke": INK, "stroke-width": "0.8"},
    "tone": {"fill": TONE, "stroke": INK, "stroke-width": "0.8"},
    "band": {"fill": BAND, "stroke": "none"},
    "mark": {"fill": ACCENT, "stroke": ACCENT, "stroke-width": "0.8"},
    **{f"hue{n}": {"fill": hue, "stroke": INK, "stroke-width": "0.8"} for n, hue in enumerate(HUES, 1)},
    # days of a heat map, one apart and a little wider so that no paper shines through, and patches of its key
    **{
        f"heat{n}": {"fill": "none", "stroke": grey, "stroke-width": "1.1"} for n, grey in enumerate(GREYS, 1)
    },
    **{
        f"patch{n}": {"fill": "none", "stroke": grey, "stroke-width": "18"} for n, grey in enumerate(GREYS, 1)
    },
}
#: text style: (face, fill)
INKS: Mapping[str, tuple[str, str]] = {
    "label": ("regular", INK),
    "strong": ("semibold", INK),
    "quiet": ("regular", QUIET),
    "symbol": ("italic", INK),
    "accent": ("semibold", ACCENT),
    "reversed": ("semibold", PAPER),
}
_ANCHOR_SHARE = {"start": 0.0, "middle": 0.5, "end": 1.0}


@dataclass(frozen=True, slots=True)
class TextBox:
    """Place that a text takes up in a drawing [drawing units]."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: TextBox) -> bool:
        """Whether two texts would print over each other."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


def in_black(drawing: Markup | str) -> Markup | str:
    """A drawing for a sheet that prints in black: inks black, tones white; a plain string passes."""
    if not isinstance(drawing, Markup):
        return drawing
    text = str(drawing)
    for colours, instead in (((INK, QUIET, FAINT, ACCENT), "#000000"), ((TONE, BAND, *HUES), PAPER)):
        for colour in colours:
            text = text.replace(f'"{colour}"', f'"{instead}"')
    return Markup(text)


def number(value: float) -> str:
    """Coordinate with at most two decimals, no exponent, no minus zero.

    Examples
    --------
    >>> number(12.0), number(-0.001), number(3.14159)
    ('12', '0', '3.14')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@dataclass(slots=True)
class Drawing:
    """A drawing being made; :meth:`markup` is what a page takes.

    Parameters
    ----------
    key : str
        Unique within the binder; names the ids inside the drawing.
    width, height : float
        Size. [CSS px at full print width; the text area of a portrait sheet is 640 wide]
    title : str
        What the drawing shows, for readers who cannot see it.
    description : str
        What it says, in a sentence with its numbers.
    """

    key: str
    width: float
    height: float
    title: str
    description: str = ""
    texts: list[TextBox] = field(default_factory=list)
    _parts: list[str] = field(default_factory=list)
    _hatched: bool = False

    def _shape(self, name: str, pen: str, attributes: Mapping[str, str | float]) -> None:
        style = dict(self._hatching() if pen == "hatch" else PENS[pen])
        written = {key: number(v) if isinstance(v, int | float) else v for key, v in attributes.items()}
        pairs = " ".join(f'{key}="{escape(value)}"' for key, value in {**written, **style}.items())
        self._parts.append(f'<{name} class="pen-{pen}" {pairs}/>')

    def _hatching(self) -> dict[str, str]:
        self._hatched = True
        return {"fill": f"url(#{self.key}-hatch)", "stroke": INK, "stroke-width": "0.8"}

    def line(self, x1: float, y1: float, x2: float, y2: float, pen: str = "line") -> None:
        """Straight line."""
        self._shape("line", pen, {"x1": x1, "y1": y1, "x2": x2, "y2": y2})

    def rect(
        self, x: float, y: float, width: float, height: float, pen: str = "outline", radius: float = 0
    ) -> None:
        """Rectangle from its top left corner."""
        box: dict[str, str | float] = {"x": x, "y": y, "width": width, "height": height}
        self._shape("rect", pen, {**box, "rx": radius} if radius else box)

    def circle(self, x: float, y: float, radius: float, pen: str = "outline") -> None:
        """Circle around its centre."""
        self._shape("circle", pen, {"cx": x, "cy": y, "r": radius})

    def polyline(self, points: Iterable[tuple[float, float]], pen: str = "line") -> None:
        """Line through points."""
        self._shape("polyline", pen, {"points": _points(points)})

    def polygon(self, points: Iterable[tuple[float, float]], pen: str = "outline") -> None:
        """Closed shape through points."""
        self._shape("polygon", pen, {"points": _points(points)})

    def path(self, commands: str, pen: str = "line", transform: str = "") -> None:
        """Path in SVG's own commands, in coordinates of its own where it is transformed; program text, never input."""
        self._shape("path", pen, {"d": commands, **({"transform": transform} if transform else {})})

    def text(
        self,
        x: float,
        y: float,
        text: str,
        ink: str = "label",
        size: float = 10.5,
        anchor: str = "start",
        turned: bool = False,
    ) -> None:
        """One line of text on its base line; ``turned`` reads upwards.

        Its box is kept in :attr:`texts`, so that a test can tell whether texts overlap.
        """
        face, fill = INKS[ink]
        text = str(clean(text))
        wide = text_width(text, size, face)
        before = wide * _ANCHOR_SHARE[anchor]
        if turned:
            box = TextBox(text, x - 0.75 * size, y - (wide - before), x + 0.22 * size, y + before)
        else:
            box = TextBox(text, x - before, y - 0.75 * size, x - before + wide, y + 0.22 * size)
        self.texts.append(box)
        extra = f' transform="rotate(-90 {number(x)} {number(y)})"' if turned else ""
        extra += {"semibold": ' font-weight="600"', "italic": ' font-style="italic"'}.get(face, "")
        self._parts.append(
            f'<text class="ink-{ink}" x="{number(x)}" y="{number(y)}" font-size="{number(size)}" '
            f'text-anchor="{anchor}" fill="{fill}"{extra}>{escape(text)}</text>'
        )

    def markup(self) -> Markup:
        """The drawing as an SVG element to put into a page."""
        names = f"{self.key}-title" + (f" {self.key}-description" if self.description else "")
        about = f'<title id="{self.key}-title">{escape(clean(self.title))}</title>'
        if self.description:
            about += f'<desc id="{self.key}-description">{escape(clean(self.description))}</desc>'
        hatch = (
            f'<defs><pattern id="{self.key}-hatch" width="5" height="5" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate(45)"><rect class="pen-outline" width="5" height="5" fill="{PAPER}"/>'
            f'<line class="pen-line" x1="0" y1="0" x2="0" y2="5" stroke="{INK}" stroke-width="2"/>'
            "</pattern></defs>"
        )
        return Markup(
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="{names}" '
            f'width="{number(self.width)}" height="{number(self.height)}" '
            f'viewBox="0 0 {number(self.width)} {number(self.height)}" '
            f'font-family="Inter Binder, sans-serif">{about}{hatch if self._hatched else ""}'
            f"{''.join(self._parts)}</svg>"
        )


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in points)
