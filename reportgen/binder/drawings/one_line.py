"""One-line diagram: every circuit from its string over what it passes to an inverter, on landscape sheets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from reportgen.binder.drawings.array_plan import letter
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.drawings.symbols import PITCH, SIZE, SYMBOLS, draw_key, key_height
from reportgen.binder.drawings.words import wrapped
from reportgen.binder.elements import Figure, anchor

#: Size of a sheet that lies: what US letter and A4 both hold under a head and a caption. [CSS px]
WIDTH, HEIGHT = 900.0, 584.0
#: Right edge of the chains; left edge of the box of an inverter and of its right column.
_CHAIN, _BOX, _ABOUT = 700.0, 713.0, 804.0
_MARK = 36.0
#: Room that a part of a chain takes, and the least that it can do with.
_ROOM = {
    "string": (144.0, 132.0),
    "run": (166.0, 136.0),
    "stretch": (112.0, 86.0),
    "fuse": (88.0, 76.0),
    "device": (88.0, 76.0),
    "box": (74.0, 62.0),
    "spliced": (74.0, 62.0),
    "converter": (110.0, 96.0),
    "end": (96.0, 80.0),
}
_SWITCH = (112.0, 98.0)

#: ``with``: joined in its last device with a circuit drawn before, whose lead stands for both.
End = Literal["landed", "meant", "apart", "with"]


@dataclass(frozen=True, slots=True)
class Node:
    """Part of a chain: a symbol, ``run`` for conductors, ``stretch`` where they go on, ``end`` for what is stated of it.

    Attributes
    ----------
    names : str
        Id, or ids of alike parts in the order of the chain's strings.
    lines : tuple of str
        Ratings and the like.
    connector : bool
        A run that begins with a plug and socket.
    """

    symbol: str
    names: str
    lines: tuple[str, ...]
    connector: bool = False


@dataclass(frozen=True, slots=True)
class Chain:
    """One circuit, or several that are alike in everything but their ids.

    Attributes
    ----------
    inputs : tuple of str
        Name of the input and what is stated of it; empty where it ends at none.
    raceways : tuple of str
        Raceways passed.
    """

    nodes: tuple[Node, ...]
    end: End
    inputs: tuple[str, ...] = ()
    raceways: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Block:
    """An inverter with the chains that end at it; without a name the chains that end at none.

    Attributes
    ----------
    outputs : tuple of Chain
        Its output circuits, which begin with its symbol.
    """

    name: str
    lines: tuple[str, ...]
    chains: tuple[Chain, ...]
    outputs: tuple[Chain, ...] = ()


@dataclass(slots=True)
class _Line:
    """A chain, or a part of it between two continuation marks, laid out."""

    chain: Chain
    cells: list[tuple[Node, float, float, list[str], list[str]]]
    above: float
    below: float
    first: bool
    last: bool
    mark: str = ""

    @property
    def height(self) -> float:
        return self.above + self.below


@dataclass(slots=True)
class _Part:
    """What one sheet shows of a block."""

    block: Block
    chains: list[list[_Line]] = field(default_factory=list)
    outputs: list[list[_Line]] = field(default_factory=list)
    further: bool = False

    @property
    def rows(self) -> float:
        return sum(line.height for lines in self.chains for line in lines)

    @property
    def boxed(self) -> float:
        """Height of the box of the inverter, and of the rows that end at it."""
        about = _about_height(self.block) + (2 * PITCH if self.further else 0.0)
        return max(self.rows, about) if self.block.name else self.rows

    @property
    def height(self) -> float:
        return self.boxed + sum(line.height for lines in self.outputs for line in lines) + 7.0


@dataclass(slots=True)
class _Sheet:
    parts: list[_Part] = field(default_factory=list)

    def chains(self) -> Iterable[Chain]:
        return (lines[0].chain for part in self.parts for lines in (*part.chains, *part.outputs))

    def height(self, raceways: Mapping[str, Sequence[str]]) -> float:
        words = sum(len(raceways.get(name, ())) for name in self.raceways())
        return sum(part.height for part in self.parts) + PITCH * words + 20.0 + key_height(self.used(), WIDTH)

    def raceways(self) -> list[str]:
        return list(dict.fromkeys(name for chain in self.chains() for name in chain.raceways))

    def used(self) -> set[str]:
        found = {node.symbol for chain in self.chains() for node in chain.nodes} - {"run", "stretch", "end"}
        found |= {"connector" for chain in self.chains() for node in chain.nodes if node.connector}
        found |= {"open" for chain in self.chains() if chain.end == "apart"}
        if any(part.block.name for part in self.parts):
            found.add("converter")
        if any(len(lines) > 1 for part in self.parts for lines in (*part.chains, *part.outputs)):
            found.add("mark")
        return found


def one_lines(blocks: Sequence[Block], raceways: Mapping[str, str], told: str) -> list[Figure]:
    """Sheets of the one-line diagram.

    Parameters
    ----------
    blocks : sequence of Block
        In the order of drawing.
    raceways : mapping of str to str
        What is stated of each raceway, printed on each sheet that has circuits in it.
    told : str
        Words under the title of the first sheet.
    """
    words = {name: wrapped(text, WIDTH, SIZE, most=12) for name, text in raceways.items()}
    sheets = _filled(blocks, words)
    return [_drawn(sheet, number, len(sheets), words, told) for number, sheet in enumerate(sheets, 1)]


def _filled(blocks: Sequence[Block], raceways: Mapping[str, Sequence[str]]) -> list[_Sheet]:
    """Blocks on sheets; one that no sheet holds whole is cut between chains."""
    marks = iter(letter(number) for number in range(10_000))
    sheets = [_Sheet()]
    for block in blocks:
        whole = _Part(
            block,
            [_laid_out(one, marks) for one in block.chains],
            [_laid_out(one, marks) for one in block.outputs],
        )
        if _Sheet([*sheets[-1].parts, whole]).height(raceways) <= HEIGHT:
            sheets[-1].parts.append(whole)
            continue
        if _Sheet([whole]).height(raceways) <= HEIGHT:
            sheets.append(_Sheet([whole]))
            continue
        part = _Part(block, further=True)
        rows = [("chains", lines) for lines in whole.chains] + [("outputs", lines) for lines in whole.outputs]
        for kind, lines in rows:
            getattr(part, kind).append(lines)
            alone = not sheets[-1].parts and len(part.chains) + len(part.outputs) == 1
            if alone or _Sheet([*sheets[-1].parts, part]).height(raceways) <= HEIGHT:
                continue
            getattr(part, kind).pop()
            if part.chains or part.outputs:
                sheets[-1].parts.append(part)
            part = _Part(block, further=True)
            getattr(part, kind).append(lines)
            sheets.append(_Sheet())
        part.further = False
        sheets[-1].parts.append(part)
    return sheets


def _room(node: Node) -> tuple[float, float]:
    return _ROOM.get(node.symbol, _SWITCH)


def _laid_out(chain: Chain, marks: Iterable[str]) -> list[_Line]:
    """A chain in as many lines as it needs, each cell with its left edge, its room and its wrapped words."""
    groups: list[list[Node]] = [[]]
    room = _CHAIN
    for node in chain.nodes:
        needed = sum(_room(one)[1] for one in (*groups[-1], node))
        if groups[-1] and needed > room - (0 if node is chain.nodes[-1] else _MARK):
            groups.append([])
            room = _CHAIN - _MARK
        groups[-1].append(node)
    made: list[_Line] = []
    mark = next(iter(marks)) if len(groups) > 1 else ""
    for number, nodes in enumerate(groups):
        first, last = number == 0, number == len(groups) - 1
        left = 0.0 if first else _MARK
        free = _CHAIN - left - (0.0 if last else _MARK)
        wanted, least = (sum(_room(node)[i] for node in nodes) for i in (0, 1))
        # What is left over goes to all; what is lacking is taken from those that can do with less.
        grown = (free - wanted) / len(nodes) if wanted <= free else 0.0
        share = 1.0 if wanted <= free else (free - least) / max(wanted - least, 0.1)
        cells = []
        above = below = 0.0
        for node in nodes:
            want, small = _room(node)
            wide = small + (want - small) * share + min(grown, 60.0)
            names = wrapped(node.names, wide - 8.0, SIZE, "semibold", 4)
            lines = [
                line
                for text in node.lines
                for line in wrapped(text, wide - 8.0, SIZE, most=8 if node.symbol == "end" else 4)
            ]
            symbol = SYMBOLS.get(node.symbol)
            high = symbol.above if symbol else 6.0
            low = symbol.below if symbol else _below(chain, node)
            above = max(above, high + PITCH * len(names) + 5.0)
            below = max(below, low + PITCH * len(lines) + 6.0)
            cells.append((node, left, wide, names, lines))
            left += wide
        made.append(
            _Line(
                chain, cells, above, below, first, last, mark if len(groups) == 1 else f"{mark}{number or ''}"
            )
        )
    if chain.inputs:
        made[-1].below = max(made[-1].below, _input_height(chain))
    return made


def _below(chain: Chain, node: Node) -> float:
    """How far a part that is no symbol of its own reaches below the line."""
    if node.symbol == "end" and chain.end == "apart":
        return SYMBOLS["open"].below
    if node.symbol == "end" and chain.end == "with":
        return 3.0
    return SYMBOLS["connector"].below if node.connector else 1.0


def _input_words(chain: Chain) -> list[str]:
    return [line for text in chain.inputs[1:] for line in wrapped(text, _ABOUT - _BOX - 16.0, SIZE, most=3)]


def _input_names(chain: Chain) -> list[str]:
    """Name of the input, or a line for each of the inputs of alike circuits."""
    names = chain.inputs[0].split(", ") if chain.inputs else []
    return [line for one in names for line in wrapped(one, _ABOUT - _BOX - 20.0, SIZE, "semibold", 3)]


def _input_height(chain: Chain) -> float:
    return PITCH * (len(_input_names(chain)) + len(_input_words(chain))) + 6.0


def _about(block: Block) -> tuple[list[str], list[str]]:
    wide = WIDTH - _ABOUT - 8.0
    lines = [line for text in block.lines for line in wrapped(text, wide, SIZE, most=4)]
    return wrapped(block.name, wide, SIZE, "semibold", 3), lines


def _about_height(block: Block) -> float:
    names, lines = _about(block)
    return 42.0 + PITCH * (len(names) + len(lines)) + 6.0


def _drawn(
    sheet: _Sheet, number: int, count: int, raceways: Mapping[str, Sequence[str]], told: str
) -> Figure:
    title = "One-line diagram" + (f", sheet {number} of {count}" if count > 1 else "")
    # A PDF tells the title alone, so that one holds the ways; everything stated of them is in the description.
    ways = "; ".join(
        _way(part.block, lines[0].chain) for part in sheet.parts for lines in (*part.chains, *part.outputs)
    )
    said = " ".join(_said(chain) for chain in sheet.chains())
    drawing = Drawing(
        anchor("one-line", str(number)), WIDTH, sheet.height(raceways), f"{title}: {ways}", said
    )
    y = 2.0
    for part in sheet.parts:
        _block(drawing, part, y, number)
        y += part.height
    for name in sheet.raceways():
        for line in raceways.get(name, ()):
            y += PITCH
            drawing.text(0.0, y, line, "label", SIZE)
    dashed = any(chain.end == "meant" for chain in sheet.chains())
    further = ["a dashed end is meant, its terminals are not stated"] if dashed else []
    draw_key(
        drawing,
        sheet.used(),
        y + 8.0,
        [
            *further,
            "a line stands for all conductors of its circuit",
            "ids of alike parts in one order",
            "grounds: see the grounding drawing",
        ],
    )
    return Figure(
        drawing.markup(), title, told if number == 1 else "As on sheet 1.", id=drawing.key, wide=True
    )


def _way(block: Block, chain: Chain) -> str:
    """A chain by its ids alone."""
    names = list(dict.fromkeys(node.names for node in chain.nodes if node.names))
    if chain.end == "with":
        return f"{', '.join(names)}, {chain.nodes[-1].lines[0]}"
    if chain.end == "apart" or not chain.inputs:
        return f"{', '.join(names)}, end not drawn"
    meant = ", terminals not stated" if chain.end == "meant" else ""
    return f"{', '.join(names)}, {block.name}/{chain.inputs[0]}{meant}"


def _said(chain: Chain) -> str:
    """A chain in words, for readers who cannot see it."""
    parts = [
        f"{node.names}: {', '.join(node.lines)}" if node.names else ", ".join(node.lines)
        for node in chain.nodes
    ]
    if chain.inputs and chain.end != "apart":
        parts.append(f"input {', '.join(chain.inputs)}")
    return "; ".join(parts) + "."


def _block(drawing: Drawing, part: _Part, top: float, sheet: int) -> None:
    block = part.block
    y = top
    if block.name:
        drawing.rect(_BOX, top, WIDTH - _BOX - 1.0, part.boxed)
        names, lines = _about(block)
        middle = (_ABOUT + WIDTH) / 2
        SYMBOLS["converter"].draw(drawing, middle, top + 20.0)
        lines = lines + (
            wrapped(f"further circuits on sheet {sheet + 1}", WIDTH - _ABOUT - 8.0, SIZE, most=3)
            if part.further
            else []
        )
        for number, text in enumerate((*names, *lines)):
            ink = "strong" if number < len(names) else "label"
            drawing.text(_ABOUT, top + 47.0 + PITCH * number, text, ink, SIZE)
    for laid in part.chains:
        for line in laid:
            _line(drawing, line, y, block.name)
            y += line.height
    y = top + part.boxed
    for laid in part.outputs:
        for line in laid:
            _line(drawing, line, y, "")
            y += line.height


def _line(drawing: Drawing, line: _Line, top: float, unit: str) -> None:
    y = top + line.above
    chain = line.chain
    right = 0.0
    if not line.first:
        _goes_on(drawing, 14.0, y, line.mark)
        drawing.line(24.0, y, _MARK, y)
    for node, left, wide, names, words in line.cells:
        right = left + wide
        symbol = SYMBOLS.get(node.symbol)
        if symbol is not None:
            middle = left + symbol.half + 3.0
            symbol.draw(drawing, middle, y)
            if node.symbol not in {"string", "converter"}:
                drawing.line(left, y, middle - symbol.half, y)
            drawing.line(middle + symbol.half, y, right, y)
        elif node.symbol == "end" and chain.end == "apart":
            drawing.line(left, y, left + 6.0, y)
            SYMBOLS["open"].draw(drawing, left + 10.0, y)
        elif node.symbol == "end" and chain.end == "with":
            drawing.line(left, y, left + 8.0, y)
            drawing.circle(left + 8.0, y, 2.6, "solid")
        elif node.connector:
            drawing.line(left, y, left + 5.0, y)
            SYMBOLS["connector"].draw(drawing, left + 14.0, y)
            drawing.line(left + 23.0, y, right, y)
        else:
            drawing.line(
                left, y, right, y, "dashed" if node.symbol == "end" and chain.end == "meant" else "line"
            )
        high, low = (symbol.above, symbol.below) if symbol else (6.0, _below(chain, node))
        for number, text in enumerate(names):
            drawing.text(left + 3.0, y - high - 4.0 - PITCH * (len(names) - 1 - number), text, "strong", SIZE)
        ink = "strong" if node.symbol == "end" and chain.end == "apart" else "label"
        for number, text in enumerate(words):
            drawing.text(left + 3.0, y + low + PITCH * (number + 1), text, ink, SIZE)
    if not line.last:
        drawing.line(right, y, _CHAIN - _MARK + 4.0, y)
        _goes_on(drawing, _CHAIN - _MARK + 14.0, y, _following(line.mark))
        return
    if chain.inputs and unit:
        if chain.end != "apart":
            drawing.line(right, y, _BOX - 3.0, y, "dashed" if chain.end == "meant" else "line")
            drawing.circle(_BOX, y, 3.0)
        shown = _input_names(chain)
        for number, text in enumerate(shown):
            drawing.text(_BOX + 8.0, y + 3.3 + PITCH * number, text, "strong", SIZE)
        for number, text in enumerate(_input_words(chain), start=len(shown)):
            drawing.text(_BOX + 8.0, y + 3.3 + PITCH * number, text, "label", SIZE)


def _goes_on(drawing: Drawing, x: float, y: float, mark: str) -> None:
    SYMBOLS["mark"].draw(drawing, x, y)
    drawing.text(x - 1.5, y + 3.2, mark, "strong", SIZE, "middle")


def _following(mark: str) -> str:
    head = mark.rstrip("0123456789")
    return f"{head}{int(mark[len(head) :] or 0) + 1}"
