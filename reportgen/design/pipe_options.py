"""What else would fit: the smallest pipe that does, the largest conductor, the greatest number of further strings.

Worked out for the pages alone; no check reads it. What fits is not what is permitted: more conductors in a pipe lower
the ampacity of all of them, and a full pipe may be impossible to pull.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reportgen.design.graph import Graph
from reportgen.design.missing import Known, Missing
from reportgen.design.raceways import area_groups, conductor_area, fill_shares
from reportgen.design.results import StretchDesign
from reportgen.engineering import fitting
from reportgen.engineering.candidates import Candidate
from reportgen.engineering.fitting import FillShares
from reportgen.engineering.raceway import fill, occupied_area
from reportgen.rulebook.rulebook import Rulebook, quantity_of
from reportgen.rulebook.sizes import size_index, size_text
from reportgen.working.quantity import Quantity

Kinds = Mapping[tuple[str, str], int]


@dataclass(frozen=True, slots=True)
class PipeOption:
    """What would fit into a stretch, or would do in its place.

    Attributes
    ----------
    smallest : str or Missing
        Smallest trade size of the same kind that holds what is in it; empty where none is large enough.
    smallest_fill : Quantity or Missing
        Fill of that size. [%]
    largest : str or Missing
        Largest size that all string conductors could have in the same make; empty where none fits.
    further : int or Missing
        Further strings beside what is in it. [-]
    pair : str
        Make and size that a further string is taken to have.
    """

    stretch: StretchDesign
    smallest: str | Missing
    smallest_fill: Known
    largest: str | Missing
    further: int | Missing
    pair: str


@dataclass(frozen=True, slots=True)
class RacewayOption:
    """The same for a whole raceway: its tightest stretch decides.

    Attributes
    ----------
    largest : str or Missing
        Largest size in which all makes of its strings are to be had and that every stretch holds; empty where none does.
    largest_in : str
        Stretch that does not hold the next size; empty where there is none to be had.
    further : int or Missing
        Further strings from end to end, each of the thickest pair that runs in the raceway. [-]
    pair : str
        Make and size of that pair.
    """

    raceway: str
    largest: str | Missing
    largest_in: str
    further: int | Missing
    further_in: str
    pair: str


def pipe_options(
    graph: Graph, rulebook: Rulebook, stretches: Sequence[StretchDesign]
) -> tuple[PipeOption, ...]:
    """Options of every stretch that holds conductors, in the order of the folder."""
    offers: dict[tuple[str, ...], list[str]] = {}
    return tuple(_option(graph, rulebook, stretch, offers) for stretch in stretches if stretch.conductors)


def raceway_options(
    graph: Graph, rulebook: Rulebook, options: Sequence[PipeOption]
) -> tuple[RacewayOption, ...]:
    """Options of every raceway by its stretches with strings; missing where one of them is missing.

    One wire runs from end to end: a size has to be had in the makes of all stretches, and a further string is the same
    in each of them. Of stretches that come to the same the fullest one decides.
    """
    of: dict[str, list[PipeOption]] = defaultdict(list)
    for option in options:
        if option.pair:
            of[option.stretch.id.raceway].append(option)
    return tuple(_end_to_end(graph, rulebook, raceway, found) for raceway, found in of.items())


def _end_to_end(graph: Graph, rulebook: Rulebook, raceway: str, found: Sequence[PipeOption]) -> RacewayOption:
    for option in found:
        for missing in (option.largest, option.further):
            if isinstance(missing, Missing):
                place = option.stretch.id.segment
                return RacewayOption(raceway, missing, place, missing, place, option.pair)
    several = [_Filling.of(graph, rulebook, option.stretch) for option in found]
    makes = tuple(dict.fromkeys(cable for one in several for cable, _ in one.strings))
    offered = sizes_on_offer(graph, rulebook, makes)
    largest, largest_in = "", ""
    for size in offered:
        fullest = max(several, key=lambda one: one.taken(one.with_size(size)))
        if not fitting.fits(fullest.with_size(size), fullest.bore, fullest.shares):
            largest_in = fullest.segment
            break
        largest = size
    pair = max(
        (kind for one in several for kind in one.strings), key=lambda kind: _area(graph, rulebook, kind)
    )
    string = (2, Quantity(_area(graph, rulebook, pair), "in2"))
    further = min(fitting.most_strings(one.bore, one.shares, [string], one.now) for one in several)
    more = (string[0] * (further + 1), string[1])
    decides = max(several, key=lambda one: one.taken([*one.now, more]))
    return RacewayOption(raceway, largest, largest_in, further, decides.segment, " ".join(pair))


@dataclass(frozen=True, slots=True)
class _Filling:
    """What is in a stretch, its areas being known: strings by make and size, all else, and the area for them."""

    graph: Graph
    rulebook: Rulebook
    segment: str
    bore: Quantity
    shares: FillShares
    strings: Kinds
    others: Kinds

    @classmethod
    def of(cls, graph: Graph, rulebook: Rulebook, stretch: StretchDesign) -> _Filling:
        assert isinstance(stretch.bore, Quantity)
        strings, others = _kinds(graph, stretch)
        shares = fill_shares(graph, rulebook, stretch.id)
        return cls(graph, rulebook, stretch.id.segment, stretch.bore, shares, strings, others)

    @property
    def now(self) -> list[tuple[int, Quantity]]:
        """Groups of conductors as they are."""
        return self._groups(Counter(self.strings) + Counter(self.others))

    def with_size(self, size: str) -> list[tuple[int, Quantity]]:
        """Groups of conductors with every string in one size, each in its own make."""
        kinds: Counter[tuple[str, str]] = Counter(self.others)
        for (cable, _), count in self.strings.items():
            kinds[cable, size] += count
        return self._groups(kinds)

    def _groups(self, kinds: Kinds) -> list[tuple[int, Quantity]]:
        groups = area_groups(self.graph, self.rulebook, kinds.items())
        assert not isinstance(groups, Missing)
        return groups

    def taken(self, groups: Sequence[tuple[int, Quantity]]) -> float:
        """Share that groups of conductors take of the area that they may [-]."""
        share = self.shares.of(sum(count for count, _ in groups))
        return occupied_area(groups).value / fitting.allowed_area(self.bore, share).value


def _kinds(graph: Graph, stretch: StretchDesign) -> tuple[Counter[tuple[str, str]], Counter[tuple[str, str]]]:
    """Conductors of strings in a stretch by make and size, and all others."""
    circuits = graph.project.circuits
    strings: Counter[tuple[str, str]] = Counter()
    others: Counter[tuple[str, str]] = Counter()
    for wire in stretch.conductors:
        (strings if circuits[wire.circuit].kind == "string" else others)[wire.cable, wire.size] += 1
    return strings, others


def _option(
    graph: Graph, rulebook: Rulebook, stretch: StretchDesign, offers: dict[tuple[str, ...], list[str]]
) -> PipeOption:
    strings, others = _kinds(graph, stretch)
    groups = area_groups(graph, rulebook, [*strings.items(), *others.items()])
    beside = area_groups(graph, rulebook, others.items())
    shares = fill_shares(graph, rulebook, stretch.id)
    if isinstance(groups, Missing) or isinstance(beside, Missing):
        missing = groups if isinstance(groups, Missing) else Missing("an area")
        return PipeOption(stretch, missing, missing, missing, missing, _pair_name(strings))
    smallest, filled = _smallest(rulebook, stretch, groups, shares)
    if not strings:
        none = Missing("a string in the stretch")
        return PipeOption(stretch, smallest, filled, none, none, "")
    if isinstance(stretch.bore, Missing):
        return PipeOption(stretch, smallest, filled, stretch.bore, stretch.bore, _pair_name(strings))
    pair = max(strings, key=lambda kind: _area(graph, rulebook, kind))
    further = fitting.most_strings(
        stretch.bore, shares, [(2, Quantity(_area(graph, rulebook, pair), "in2"))], groups
    )
    makes = tuple(dict.fromkeys(cable for cable, _ in strings))
    if makes not in offers:
        offers[makes] = sizes_on_offer(graph, rulebook, makes)
    largest = _largest(graph, rulebook, stretch.bore, shares, strings, beside, offers[makes])
    return PipeOption(stretch, smallest, filled, largest, further, " ".join(pair))


def _pair_name(strings: Kinds) -> str:
    return " ".join(next(iter(strings), ()))


def _area(graph: Graph, rulebook: Rulebook, kind: tuple[str, str]) -> float:
    area = conductor_area(graph, rulebook, *kind)
    return area.to("in2").value if isinstance(area, Quantity) else 0.0


def _smallest(
    rulebook: Rulebook, stretch: StretchDesign, groups: list[tuple[int, Quantity]], shares: FillShares
) -> tuple[str, Known]:
    kind = str(stretch.segment.kind)
    bores = [
        Candidate(size, quantity_of(rulebook.bore(kind, size).area, f"bore of {kind} {size}"))
        for size in rulebook.trade_sizes(kind)
    ]
    found = fitting.smallest_raceway(bores, groups, shares)
    if found is None:
        return "", Missing("a size that is large enough")
    return found.name, fill(occupied_area(groups), found.value)


def _largest(
    graph: Graph,
    rulebook: Rulebook,
    bore: Quantity,
    shares: FillShares,
    strings: Kinds,
    beside: list[tuple[int, Quantity]],
    offered: Sequence[str],
) -> str:
    """Largest size that every string conductor of a stretch could have, each in its own make; empty where none fits."""
    counts: Counter[str] = Counter()
    for (cable, _), count in strings.items():
        counts[cable] += count
    best = ""
    for size in offered:
        groups = area_groups(graph, rulebook, [((cable, size), count) for cable, count in counts.items()])
        if isinstance(groups, list) and fitting.fits([*groups, *beside], bore, shares):
            best = size
    return best


def sizes_on_offer(graph: Graph, rulebook: Rulebook, cables: Sequence[str]) -> list[str]:
    """Sizes in which all makes are to be had, by their data sheets or the dimension table, smallest first."""
    offered: set[str] | None = None
    for cable in cables:
        sheet = {str(row.size) for row in graph.project.cables[cable].sizes if row.diameter is not None}
        own = sheet or {size_text(size) for size in rulebook.conductor_sizes()}
        own = {size for size in own if isinstance(conductor_area(graph, rulebook, cable, size), Quantity)}
        offered = own if offered is None else offered & own
    return sorted((size for size in offered or () if _is_gauge(size)), key=size_index)


def _is_gauge(size: str) -> bool:
    try:
        size_index(size)
    except ValueError:
        return False
    return True
