"""Grounding drawing: frames and electrodes of the arrays, and each ground wire on its way, grouped by ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from reportgen.binder.drawings.array_plan import letter
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.drawings.symbols import PITCH, SIZE, SYMBOLS, draw_key, key_height
from reportgen.binder.drawings.words import wrapped
from reportgen.binder.elements import Figure, anchor

#: Size of a sheet that stands, under a head and a caption. [CSS px]
WIDTH, HEIGHT = 640.0, 780.0
#: Where arrays are, what ties them together, and the ground wire; words behind the latter two.
_FRAME, _WORDS, _BUS, _WIRE, _STEPS = 16.0, 36.0, 268.0, 292.0, 312.0
#: Arrays of one ground on a sheet at most.
_ARRAYS = 6
_GAP = 8.0


@dataclass(frozen=True, slots=True)
class Frames:
    """Frames and rails of an array.

    Attributes
    ----------
    electrode : str
        Its electrode; empty where none is stated or there is none, which ``lines`` then say.
    wire : str
        Conductor to that electrode; empty where it is not stated, and then nothing joins the two.
    """

    name: str
    lines: tuple[str, ...]
    electrode: str = ""
    wire: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """What a ground wire passes: a stretch without a symbol, or a unit with one; ``open`` ends it."""

    symbol: str
    name: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GroundWay:
    """A ground with the arrays that are tied to it; without a name the arrays that are tied to none."""

    name: str
    told: str
    arrays: tuple[Frames, ...]
    steps: tuple[Step, ...] = ()


@dataclass(slots=True)
class _Part:
    """A ground, or some of its arrays, laid out: words of each array and step with the height they take."""

    way: GroundWay
    arrays: tuple[Frames, ...]
    first: bool
    mark: str
    head: list[str] = field(init=False)
    left: list[tuple[Frames, list[str], list[str], float]] = field(init=False)
    right: list[tuple[Step, list[str], float]] = field(init=False)

    def __post_init__(self) -> None:
        told = self.way.told if self.first else f"{self.way.told} Goes on."
        self.head = wrapped(told, WIDTH - 4.0, SIZE, most=4)
        self.left = [(one, *_frame_words(one)) for one in self.arrays]
        self.right = [(one, *_step_words(one)) for one in self.way.steps] if self.first else []

    @property
    def top(self) -> float:
        """Height of its heading."""
        return PITCH * (1 + len(self.head)) + 20.0

    @property
    def height(self) -> float:
        left = sum(item[3] for item in self.left) + (20.0 if self.mark else 0.0)
        right = sum(item[2] for item in self.right)
        return self.top + max(left, right) + _GAP - 6.0


def _frame_words(frames: Frames) -> tuple[list[str], list[str], float]:
    wide = _BUS - _WORDS - 10.0
    lines = [line for text in frames.lines for line in wrapped(text, wide, SIZE, most=5)]
    below: list[str] = []
    for told in _electrode(frames):
        below = wrapped(told, wide, SIZE, most=5)
    return lines, below, 14.0 + PITCH * (len(lines) + len(below)) + (22.0 if below else 6.0)


def _electrode(frames: Frames) -> tuple[str, ...]:
    if not frames.electrode:
        return ()
    return (f"{frames.wire or 'wire to it not stated'}; electrode: {frames.electrode}",)


def _step_words(step: Step) -> tuple[list[str], float]:
    lines = [line for text in step.lines for line in wrapped(text, WIDTH - _STEPS - 4.0, SIZE, most=6)]
    return lines, max(PITCH * (len(lines) + bool(step.name)) + 8.0, 30.0 if step.symbol else 0.0)


def grounding_drawings(ways: Sequence[GroundWay], notes: Sequence[str]) -> list[Figure]:
    """Sheets of the grounding drawing.

    Parameters
    ----------
    ways : sequence of GroundWay
        In the order of drawing.
    notes : sequence of str
        Sentences under the last sheet's drawing.
    """
    words = [line for note in notes for line in wrapped(note, WIDTH - 2.0, SIZE, most=4)]
    marks = iter(letter(number) for number in range(10_000))
    sheets: list[list[_Part]] = [[]]
    for way in ways:
        groups = [way.arrays[start : start + _ARRAYS] for start in range(0, len(way.arrays), _ARRAYS)] or [()]
        mark = next(marks) if len(groups) > 1 else ""
        for number, arrays in enumerate(groups):
            part = _Part(way, arrays, number == 0, mark if way.name else "")
            if sheets[-1] and _height([*sheets[-1], part], words) > HEIGHT:
                sheets.append([])
            sheets[-1].append(part)
    return [
        _drawn(parts, number, len(sheets), words if number == len(sheets) else [])
        for number, parts in enumerate(sheets, 1)
        if parts
    ]


def _used(parts: Sequence[_Part]) -> set[str]:
    found = {step.symbol for part in parts for step, *_ in part.right if step.symbol}
    if any(part.arrays for part in parts):
        found.add("frame")
    if any(frames.electrode for part in parts for frames in part.arrays):
        found.add("earth")
    if any(part.mark for part in parts):
        found.add("mark")
    if any(part.arrays and not part.way.name for part in parts):
        found.add("open")
    return found


def _height(parts: Sequence[_Part], words: Sequence[str]) -> float:
    return sum(part.height for part in parts) + PITCH * len(words) + 16.0 + key_height(_used(parts), WIDTH)


def _drawn(parts: Sequence[_Part], number: int, count: int, words: Sequence[str]) -> Figure:
    title = "Grounding drawing" + (f", sheet {number} of {count}" if count > 1 else "")
    # A PDF tells the title alone, so that one holds the ways; everything stated of them is in the description.
    ways = "; ".join(_by_ids(part) for part in parts)
    said = " ".join((*(_said(part) for part in parts), *words))
    drawing = Drawing(
        anchor("grounding", str(number)), WIDTH, _height(parts, words), f"{title}: {ways}", said
    )
    y = 4.0
    for part in parts:
        _part(drawing, part, y)
        y += part.height
    for line in words:
        y += PITCH
        drawing.text(0.0, y, line, "label", SIZE)
    draw_key(drawing, _used(parts), y + 8.0)
    told = "Arrays by the ground that they are tied to. What the folder does not state is said to be so and not joined."
    return Figure(drawing.markup(), title, told, id=drawing.key)


def _by_ids(part: _Part) -> str:
    arrays = ", ".join(one.name for one in part.arrays) or "no array stated"
    if not part.way.name:
        return f"{arrays} tied to no ground that is stated"
    steps = ", ".join(step.name for step, *_ in part.right if step.name)
    return f"{part.way.name} from {arrays}{f' over {steps}' if steps else ''}"


def _said(part: _Part) -> str:
    arrays = "; ".join(f"{one.name}: {', '.join((*one.lines, *_electrode(one)))}" for one in part.arrays)
    steps = "; ".join(f"{step.name} {', '.join(step.lines)}".strip() for step, *_ in part.right)
    return f"{part.way.name or 'No ground'}, {part.way.told} {arrays}. {f'Way: {steps}.' if steps else ''}"


def _part(drawing: Drawing, part: _Part, top: float) -> None:
    way = part.way
    drawing.line(0.0, top, WIDTH, top, "axis")
    drawing.text(0.0, top + PITCH + 2.0, way.name or "Tied to no ground that is stated", "strong", 10.5)
    for number, line in enumerate(part.head):
        drawing.text(0.0, top + PITCH * (number + 2) + 2.0, line, "label", SIZE)
    y = top + part.top
    joins = []
    for frames, lines, below, high in part.left:
        _frames(drawing, frames, lines, below, y)
        if way.name:
            drawing.line(_FRAME + 10.0, y, _BUS, y)
            joins.append(y)
        else:
            drawing.line(_FRAME + 10.0, y, _BUS - 4.0, y)
            SYMBOLS["open"].draw(drawing, _BUS, y)
        y += high
    start = top + part.top
    if joins and part.mark:
        drawing.line(_BUS, joins[0], _BUS, y + 4.0)
        SYMBOLS["mark"].draw(drawing, _BUS, y + 4.0)
        drawing.text(_BUS - 1.5, y + 7.2, part.mark, "strong", SIZE, "middle")
    elif len(joins) > 1:
        drawing.line(_BUS, joins[0], _BUS, joins[-1])
    if not part.right:
        return
    if joins:
        drawing.line(_BUS, start, _WIRE, start)
        for join in joins[1:]:
            drawing.circle(_BUS, join, 2.2, "solid")
    _steps(drawing, part, start)


def _frames(drawing: Drawing, frames: Frames, lines: Sequence[str], below: Sequence[str], y: float) -> None:
    SYMBOLS["frame"].draw(drawing, _FRAME, y)
    drawing.text(_WORDS, y - 3.5, frames.name, "strong", SIZE)
    for number, line in enumerate(lines):
        drawing.text(_WORDS, y + PITCH * (number + 1), line, "label", SIZE)
    if not below:
        return
    first = y + PITCH * (len(lines) + 1)
    earth = first + PITCH * (len(below) - 1) + 2.0
    # Beside the words, from under the symbol of the frame; joined only where the wire is stated.
    if frames.wire:
        drawing.line(_FRAME - 4.0, y, _FRAME - 4.0, earth - 8.0)
    SYMBOLS["earth"].draw(drawing, _FRAME - 4.0, earth)
    for number, line in enumerate(below):
        drawing.text(_WORDS, first + PITCH * number, line, "label", SIZE)


def _steps(drawing: Drawing, part: _Part, top: float) -> None:
    y = top
    for step, lines, high in part.right:
        if step.symbol == "open":
            drawing.line(_WIRE, y, _WIRE, y + 6.0)
            drawing.line(_WIRE - 7.0, y + 6.0, _WIRE + 7.0, y + 6.0, "heavy")
        elif step.symbol in {"box", "spliced"}:
            drawing.line(_WIRE, y, _WIRE, y + high)
            drawing.rect(_WIRE - 14.0, y + 2.0, 28.0, 22.0, "dashed")
            if step.symbol == "spliced":
                drawing.circle(_WIRE, y + 13.0, 2.6, "solid")
        elif step.symbol == "unit":
            drawing.line(_WIRE, y, _WIRE, y + 5.0)
            drawing.rect(_WIRE - 14.0, y + 5.0, 28.0, 18.0)
        else:
            drawing.line(_WIRE, y, _WIRE, y + high)
            if part.way.name:
                drawing.line(_WIRE - 4.0, y + high / 2 + 3.0, _WIRE + 4.0, y + high / 2 - 3.0)
        texts = [*((step.name, "strong") for _ in [0] if step.name), *((line, "label") for line in lines)]
        for number, (line, ink) in enumerate(texts):
            drawing.text(_STEPS, y + PITCH * (number + 1), line, ink, SIZE)
        y += high
