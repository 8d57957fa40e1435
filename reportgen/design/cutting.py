"""Lengths to cut, and which spools they are cut from.

Installed length is what stays: pipe with its elbows, tails, loops in boxes. Cut length adds what the head takes and
what is trimmed; the tolerance of the measurement is not added but has to stay in reserve on the spool. Wires of one
pull and one colour are cut alike, to the longest of them. Lengths are worked out in every check; spools are chosen
by :func:`planned`, which loads a solver and is left to a build.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import cast

from reportgen.design.circuits import conductor_length
from reportgen.design.graph import COUNTED, Conductor, Graph, SegmentId
from reportgen.design.missing import Known, Missing, first_missing, known, missing_of
from reportgen.engineering.cutting.lengths import longest_of, rounded_up, stack_up, tolerance
from reportgen.engineering.cutting.spools import Aim, CutPlan, Offer, Piece, StockProblem
from reportgen.engineering.raceway import arc_length
from reportgen.project.layout import Circuit, SpoolOffer
from reportgen.project.records import Stock
from reportgen.working.quantity import Quantity, work


@dataclass(frozen=True, slots=True)
class CutWire:
    """One wire: what stays of it, what is cut, and how far that may be off; all in the unit of the project's tapes.

    Attributes
    ----------
    pipe, elbows, installed : Quantity or Missing
        Raceway passed, arcs within it, and everything that stays.
    own, length : Quantity or Missing
        With head and trim, and the length to cut: alike in its pull, rounded up.
    tolerance : Quantity or Missing
        Of the measured raceway.
    """

    wire: Conductor
    pipe: Known
    elbows: Known
    installed: Known
    own: Known
    length: Known
    tolerance: Known


@dataclass(frozen=True)
class CutGroup:
    """Wire of one make, size and colour, that can come from the same spools.

    Attributes
    ----------
    offers : tuple of (str, SpoolOffer)
        Spools of the shop that hold it.
    plan : CutPlan, StockProblem or None
        None where the spools were not chosen in this run, or a length is missing.
    """

    name: str
    cable: str
    size: str
    colour: str
    wires: tuple[CutWire, ...]
    offers: tuple[tuple[str, SpoolOffer], ...]
    plan: CutPlan | StockProblem | None = None

    @property
    def missing(self) -> tuple[Missing, ...]:
        """Lengths that are not known."""
        return missing_of(*(wire.length for wire in self.wires))

    @property
    def total(self) -> Known:
        """Wire to cut, all pieces together."""
        if self.missing:
            return self.missing[0]
        terms = {f"L_{n}": cast("Quantity", wire.length) for n, wire in enumerate(self.wires, start=1)}
        return work(f"wire of {self.name}", next(iter(terms.values())).unit, " + ".join(terms), **terms)

    @property
    def longest(self) -> CutWire | None:
        """Wire with the longest piece; None where a length is missing."""
        if self.missing:
            return None
        return max(self.wires, key=lambda wire: cast("Quantity", wire.length).value)

    @property
    def longest_offer(self) -> SpoolOffer | None:
        """Longest spool on offer."""
        return max((offer for _, offer in self.offers), key=lambda offer: offer.length.value, default=None)


def design_cuts(graph: Graph) -> tuple[CutGroup, ...]:
    """Every new wire by make, size and colour, with its length to cut; spools not yet chosen."""
    stock = graph.project.stock or Stock()
    measured = _Measured(graph, stock)
    groups: dict[tuple[str, str, str], list[CutWire]] = defaultdict(list)
    alike: dict[tuple[str, str, str, tuple[SegmentId, ...]], list[CutWire]] = defaultdict(list)
    for wire in graph.conductors:
        circuit = graph.project.circuits[wire.circuit]
        if circuit.status == "new":
            colour = wire.colour or ("ground" if circuit.kind == "ground" else "no colour stated")
            made = measured.wire(wire, circuit)
            alike[wire.cable, wire.size, colour, wire.through].append(made)
    for (cable, size, colour, _), wires in alike.items():
        groups[cable, size, colour] += _alike(wires, measured.unit)
    return tuple(
        CutGroup(
            f"{cable} {size} {colour}",
            cable,
            size,
            colour,
            tuple(wires),
            tuple(_offers(stock, cable, size, colour)),
        )
        for (cable, size, colour), wires in groups.items()
    )


def planned(groups: Sequence[CutGroup], unit: str) -> tuple[CutGroup, ...]:
    """The groups with their spools chosen; loads the solver."""
    from reportgen.engineering.cutting.solver import plan  # noqa: PLC0415 - scipy, only where spools are chosen

    found = []
    for group in groups:
        if group.missing or not group.offers:
            found.append(group)
            continue
        pieces = [
            Piece(
                item.wire.id,
                cast("Quantity", item.length),
                item.tolerance if isinstance(item.tolerance, Quantity) else None,
            )
            for item in group.wires
        ]
        offers = [
            Offer(
                key,
                offer.length.to(unit),
                offer.price.value if offer.price is not None else None,
                int(offer.available) if offer.available is not None else None,
            )
            for key, offer in group.offers
        ]
        priced = all(offer.price is not None and offer.price > 0 for offer in offers)
        try:
            found.append(replace(group, plan=plan(pieces, offers, Aim.COST if priced else Aim.LENGTH, unit)))
        except StockProblem as problem:
            found.append(replace(group, plan=problem))
    return tuple(found)


def _offers(stock: Stock, cable: str, size: str, colour: str) -> Iterator[tuple[str, SpoolOffer]]:
    for key, offer in stock.spools.items():
        fits = offer.colour is None or str(offer.colour).casefold() == colour.casefold()
        if str(offer.cable) == cable and str(offer.size) == size and fits:
            yield str(key), offer


def _alike(wires: Sequence[CutWire], unit: str) -> list[CutWire]:
    """Wires of one pull, all cut to the longest of them; unknown where one of them is."""
    if missing := first_missing(*(wire.own for wire in wires)):
        return [replace(wire, length=missing) for wire in wires]
    lengths = list(dict.fromkeys(cast("Quantity", wire.own).value for wire in wires))
    each = [
        next(cast("Quantity", w.own) for w in wires if cast("Quantity", w.own).value == one)
        for one in lengths
    ]
    step = Quantity(1.0 if unit == "ft" else 0.1, unit, None, "step of the tape")
    cut = rounded_up(longest_of(each, unit), step, unit)
    return [replace(wire, length=cut) for wire in wires]


class _Measured:
    """Lengths of circuits, each worked out once; a class only because every circuit shares the same raceways."""

    def __init__(self, graph: Graph, stock: Stock) -> None:
        self.graph, self.stock, self.unit = graph, stock, graph.units.length
        self.place = stock.span if graph.project.stock else graph.project.project.span
        self.raceways: dict[str, Missing | None] = {}
        self.circuits: dict[str, CutWire] = {}
        # Circuits of one path share its lengths.
        self.paths: dict[tuple[SegmentId, ...], tuple[Known, Known, Known]] = {}

    def wire(self, wire: Conductor, circuit: Circuit) -> CutWire:
        """Lengths of a wire; those of its circuit, for the wires of a circuit run together."""
        if wire.circuit not in self.circuits:
            self.circuits[wire.circuit] = self._circuit(wire, circuit)
        return replace(self.circuits[wire.circuit], wire=wire)

    def _circuit(self, wire: Conductor, circuit: Circuit) -> CutWire:
        gap = self._uncounted(wire, circuit) or self._gap(wire, circuit)
        raceways = dict.fromkeys(key.raceway for key in wire.through)
        disagree = first_missing(*(self._drawn(raceway) for raceway in raceways))
        installed: Known = gap or disagree or conductor_length(self.graph, wire.circuit, circuit)
        if isinstance(installed, Quantity):
            installed = installed.to(self.unit).named("installed")
        if wire.through not in self.paths:
            self.paths[wire.through] = (self._pipe(wire), self._elbows(wire), self._tolerance(wire))
        pipe, elbows, slack = self.paths[wire.through]
        own: Known
        head = known(self.stock.head, "head of stock: what the pulling head takes of each wire", self.place)
        trim = known(self.stock.trim, "trim of stock: what is cut off after the pull", self.place)
        if missing := first_missing(installed, head, trim):
            own = missing
        else:
            parts = [("installed", installed), ("head", head), ("trim", trim)]
            own = stack_up(cast("list[tuple[str, Quantity]]", parts), f"wire of {wire.circuit}", self.unit)
        return CutWire(wire, pipe, elbows, installed, own, own, slack)

    def _pipe(self, wire: Conductor) -> Known:
        if not wire.through:
            return Missing(f"path of circuit {wire.circuit}", self.graph.project.circuits[wire.circuit].span)
        return stack_up(
            [(str(key), self.graph.segments[key][1].length) for key in wire.through], "pipe", self.unit
        )

    def _elbows(self, wire: Conductor) -> Known:
        arcs = []
        for key in wire.through:
            segment = self.graph.segments[key][1]
            for bend in segment.bends:
                radius = bend.radius or segment.bend_radius
                if radius is None:
                    return Missing(f"bend_radius of {key}", segment.span)
                arcs.append((f"elbow of {key}", arc_length(radius.to("in"), bend.angle)))
        return stack_up(arcs, "elbows", self.unit) if arcs else Quantity(0.0, self.unit, None, "elbows")

    def _tolerance(self, wire: Conductor) -> Known:
        parts: dict[str, Quantity] = {}
        for raceway in dict.fromkeys(key.raceway for key in wire.through):
            kind = self.graph.project.raceways[raceway]
            if kind.length_tolerance is None:
                return Missing(f"length_tolerance of raceway {raceway}", kind.span)
            lengths = [
                (str(key), self.graph.segments[key][1].length)
                for key in wire.through
                if key.raceway == raceway
            ]
            measured = stack_up(lengths, f"measured in {raceway}", self.unit)
            parts[f"t_{len(parts) + 1}"] = tolerance(measured, kind.length_tolerance, self.unit)
        if not parts:
            return Missing(f"path of circuit {wire.circuit}", self.graph.project.circuits[wire.circuit].span)
        return work("tolerance", self.unit, " + ".join(parts), **parts) if len(parts) > 1 else parts["t_1"]

    def _uncounted(self, wire: Conductor, circuit: Circuit) -> Missing | None:
        if circuit.kind in COUNTED and circuit.conductors is None:
            return Missing(f"conductors of circuit {wire.circuit}", circuit.span)
        return None

    def _gap(self, wire: Conductor, circuit: Circuit) -> Missing | None:
        """Place where a path breaks off: two stretches in a row that do not meet."""
        for one, two in pairwise(wire.through):
            if not self._meet(one, two):
                what = f"path of circuit {wire.circuit} without a gap: {one} and {two} do not meet, so its length is not all there"
                return Missing(what, circuit.where("path"))
        return None

    def _meet(self, one: SegmentId, two: SegmentId) -> bool:
        if one.raceway == two.raceway:
            names = list(self.graph.segments[one][0].segments)
            if abs(names.index(one.segment) - names.index(two.segment)) == 1:
                return True
        ends = {self.graph.enclosure_before(one), self.graph.enclosure_after(one)} - {""}
        return bool(ends & {self.graph.enclosure_before(two), self.graph.enclosure_after(two)})

    def _drawn(self, raceway: str) -> Missing | None:
        """Note that the segments of a raceway do not add up to what a line drawn through it measured."""
        if raceway not in self.raceways:
            self.raceways[raceway] = self._compared(raceway)
        return self.raceways[raceway]

    def _compared(self, raceway: str) -> Missing | None:
        kind = self.graph.project.raceways[raceway]
        if kind.drawn_through is None:
            return None
        if kind.length_tolerance is None:
            return Missing(f"length_tolerance of raceway {raceway}", kind.span)
        told = kind.drawn_through.to(self.unit)
        whole = stack_up([(name, s.length) for name, s in kind.segments.items()], "segments", self.unit)
        if abs(told.value - whole.value) <= kind.length_tolerance.value / 100 * max(told.value, whole.value):
            return None
        return Missing(
            f"lengths of raceway {raceway} that add up: its segments make {whole.show(1)}, drawn through it is {told.show(1)}; measure both again",
            kind.where("drawn_through"),
        )
