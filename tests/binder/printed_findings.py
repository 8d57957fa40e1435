"""What is printed of each finding, against its sentence, margin, value and limit in ``results.json``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from printed import IN_OTHER, OUTCOME, PRINTED, exactly, rounds_to
from printed_places import NOT_PRINTED, NUMBER
from tagged import Fragment, Node


@dataclass(frozen=True)
class Told:
    """What is printed of a finding: sentence and margin in words, without spaces."""

    sentence: str
    margin: str


def told_findings(root: Node) -> set[Told]:
    """Every finding of the chapter of findings, those that share words put together again."""
    found = set()
    for block in root.all("Div"):
        first = next((kid for kid in block.kids if isinstance(kid, Node) and kid.kind == "P"), None)
        if first is not None and OUTCOME.match(first.text):
            margin = re.search(r"Margin ?([\d.]+ % (?:to spare|over|short)|exactly at the limit)", block.text)
            found.add(Told(_tight(OUTCOME.sub("", first.text)), _tight(margin[1]) if margin else ""))
    for cell in _met(root):
        items = [""]
        for kid in cell:
            items = [*items, ""] if kid.strip() == ";" else [*items[:-1], f"{items[-1]} {kid}"]
        common, items[0] = (
            ("…", items[0]) if "…" not in cell[0] else (cell[0], " ".join(items[0].split(cell[0], 1)[1:]))
        )
        for item in items:
            parts = re.fullmatch(
                r"(.*?)(?: \(([\d.]+ %|exactly at the limit)\)(?:,.*)?)?", " ".join(item.split())
            )
            assert parts is not None
            found.add(Told(_tight(common.replace("…", parts[1])), _tight(parts[2] or "")))
    return found


def _met(root: Node) -> Iterator[list[str]]:
    """Pieces of what each check that meets says, rows that break over pages joined."""
    pieces: list[str] = []
    inside = False
    for table in root.all("Table"):
        caption = next((node.text for node in table.all("Caption")), None)
        head = [cell.text for part in table.all("THead") for cell in part.all("TH")]
        inside = caption == "Checks that meet" or (inside and caption is None and head[:1] == ["Check"])
        if not inside:
            continue
        for row in (row for part in table.all("TBody") for row in part.all("TR")):
            name, cell = list(row.all("TH", "TD"))
            if name.text and pieces:
                yield pieces
                pieces = []
            pieces += [kid.text if isinstance(kid, Node) else kid[1] for kid in cell.kids]
    yield pieces


def _tight(text: str) -> str:
    return "".join(text.split())


def lost_of_findings(
    findings: list[dict[str, object]], told: set[Told], fragments: list[Fragment]
) -> tuple[list[str], int]:
    """Findings whose sentence, margin, value or limit is not printed as it is, and how many numbers were asked for."""
    workings = {cell for part in fragments for row in part.rows for cell in row.cells}
    missed, asked = [], 0
    for one in findings:
        headline = str(one["headline"])
        own = [item for item in told if item.sentence == _tight(headline)]
        margin = one["margin"]
        asked += isinstance(margin, float)
        if not any(_same_margin(margin, item.margin) for item in own):
            missed.append(f"{one['id']}: sentence or margin")
        for key in ("value", "limit"):
            quantity = one[key]
            if not isinstance(quantity, dict) or "value" not in quantity:
                continue
            asked += 1
            value, unit = Fraction(str(quantity["value"])), str(quantity["unit"])
            whole = f"{_six(quantity['value'])} {PRINTED.get(unit, unit)}"
            told_elsewhere = whole in workings or f"findings/{one['code']}/{key}" in NOT_PRINTED
            if not (told_elsewhere or _in_words(value, unit, headline, limit=key == "limit")):
                missed.append(f"{one['id']}: {key}")
    return missed, asked


def _same_margin(margin: object, text: str) -> bool:
    if not isinstance(margin, float | int):
        return not text
    found = re.fullmatch(r"([\d.]+)%(tospare|over|short|)", text)
    if found is None:
        return text == "exactlyatthelimit" and margin == 0
    share, behind = abs(Fraction(str(margin))) * 100, len(found[1].partition(".")[2])
    # Two digits are printed: of a large share those in front.
    digits = len(found[1].replace(".", "").lstrip("0"))
    step = Fraction(1, 10**behind) if behind or digits <= 2 else Fraction(10 ** (digits - 2))
    # Those that meet are listed without a word behind the share.
    return abs(Fraction(found[1]) - share) <= step / 2 and (found[2] in {"over", "short"}) == (margin < 0)


def _in_words(value: Fraction, unit: str, sentence: str, *, limit: bool) -> bool:
    """Whether a sentence holds a quantity: in its unit or the other system's, to two digits at least or exactly.

    A limit is rounded to its safe side, which the file does not name.
    """
    own = PRINTED.get(unit, unit)
    for to, factor in ((own, Fraction(1)), *((to, k) for (of, to), k in IN_OTHER.items() if of == unit)):
        behind_it = rf" ?{re.escape(to)}(?![\w/²³])" if to else r"(?![\w.])"
        for text in re.findall(rf"(?<![\w.−-])({NUMBER}){behind_it}", sentence):
            behind = len(text.partition(".")[2])
            enough = len(text.replace(".", "").lstrip("−0")) > 1
            sides = (True, False) if limit else (None,)
            near = any(rounds_to(text, value * factor, behind, side) for side in sides)
            if exactly(text, value * factor) or (enough and near):
                return True
    return False


def _six(value: float) -> str:
    """Six significant digits, as workings are printed."""
    return f"{value:.6g}".replace("-", "−")
