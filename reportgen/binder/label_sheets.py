"""Sheets of labels at their exact size: which there are, and how a text is set on one label.

The sizes stand in ``label_sheets.csv`` under names that tell their dimensions. A label holds five short lines; the
print is as large as the widest line and the height of the label allow.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from reportgen.binder.assets import text_width

_FILE = Path(__file__).with_name("label_sheets.csv")
#: Sheets that are taken where the folder names none, by whether it prints on letter paper.
USUAL = {False: "A4 21 of 63.5 x 38.1", True: "letter 30 of 66.7 x 25.4"}
#: Free rim inside a label, because printers feed a little askew. [mm]
RIM = 1.5
#: Line height in type sizes, and the first line against the others. [-]
LEADING, FIRST = 1.22, 1.35
#: Largest print of the lower lines. [mm]
_LARGEST = 3.6


@dataclass(frozen=True, slots=True)
class SheetSize:
    """A sheet of labels [mm]: ``left`` and ``top`` to the first label, pitches from one label to the next."""

    name: str
    paper_width: float
    paper_height: float
    columns: int
    rows: int
    width: float
    height: float
    pitch_x: float
    pitch_y: float
    left: float
    top: float

    @property
    def each(self) -> int:
        """Labels on a sheet."""
        return self.columns * self.rows

    @property
    def page(self) -> str:
        """Name of the page in the style sheet."""
        return "labels-a4" if self.paper_width == 210 else "labels-letter"

    def place(self, number: int) -> tuple[float, float]:
        """Left and top edge of a label on its sheet, counted along the rows from zero [mm]."""
        row, column = divmod(number % self.each, self.columns)
        return self.left + column * self.pitch_x, self.top + row * self.pitch_y


@dataclass(frozen=True, slots=True)
class LabelText:
    """Lines of one label; the first is the id and prints largest."""

    lines: tuple[str, ...]

    def size(self, sheet: SheetSize) -> float:
        """Print size of its lower lines that fits the label, rim left free [mm]."""
        width, height = sheet.width - 2 * RIM, sheet.height - 2 * RIM
        first, *others = self.lines
        widths = [text_width(first, FIRST, "semibold"), *(text_width(line, 1, "semibold") for line in others)]
        high = height / (LEADING * (FIRST + len(others)))
        return min(_LARGEST, high, 0.97 * width / max([0.01, *widths]))


@dataclass(frozen=True, slots=True)
class LabelSheets:
    """Labels on as many sheets as they need, each sheet a page of the exact size of the paper."""

    id: str
    sheet: SheetSize
    labels: tuple[LabelText, ...]

    @property
    def pages(self) -> tuple[tuple[tuple[float, float, float, LabelText], ...], ...]:
        """Left, top, print size [mm] and text of every label, sheet by sheet."""
        each = self.sheet.each
        return tuple(
            tuple(
                (*self.sheet.place(number), label.size(self.sheet), label)
                for number, label in enumerate(self.labels[start : start + each])
            )
            for start in range(0, len(self.labels), each)
        )


@cache
def sheet_sizes() -> dict[str, SheetSize]:
    """Sheets by name."""
    lines = [line for line in _FILE.read_text("utf-8").splitlines() if not line.startswith("#")]
    return {
        row["sheet"]: SheetSize(
            row["sheet"],
            float(row["paper_width"]),
            float(row["paper_height"]),
            int(row["columns"]),
            int(row["rows"]),
            *(float(row[key]) for key in ("width", "height", "pitch_x", "pitch_y", "left", "top")),
        )
        for row in csv.DictReader(lines)
    }
