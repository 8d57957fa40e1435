"""Lengths to cut, and which spools they are cut from.

What is cut is a piece: a wire ends where it lands on a device, and begins anew behind it. Installed length is what stays:
pipe with its elbows, tails, loops in boxes, and what lies inside devices. Cut length adds what the head takes and what is
trimmed, for each pull that a piece goes through; the tolerance of the measurement is not added but has to stay in reserve
on the spool. Pieces of one pull and one colour are cut alike, to the longest of them. Lengths are worked out in every
check; spools are chosen by :func:`planned`, which loads a solver and is left to a build.
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
from reportgen.design.pieces import JOINT, PieceEnd, WirePieces
from reportgen.design.pieces import Piece as WirePiece
from reportgen.engineering.cutting.lengths import longest_of, rounded_up, stack_up, tolerance
from reportgen.engineering.cutting.spools import Aim, CutPlan, Offer, Piece, StockProblem
from reportgen.engineering.raceway import arc_length
from reportgen.project.layout import Circuit, SpoolOffer
from reportgen.project.records import Stock
from reportgen.working.quantity import Assumed, Quantity, work

#: Pipe behind a device of which nobody says where it stands.
_NO_PIPE = work(
    "pipe behind a switch",
    "m",
    "L",
    L=Quantity(
        0.0,
        "m",
        Assumed(
            "place of devices along a path",
            "a switch that no raceway of a circuit's path ends at is taken to stand behind the last of them; the tail at that end may "
            "lead up to it or on from it, and the pieces on both sides are cut long enough for all of it",
            "our own choice",
        ),
        "pipe behind a switch",
    ),
)


@dataclass(frozen=True, slots=True)
class CutWire:
    """One piece of wire: what stays, what is cut, how far that may be off; all in the unit of the project's tapes.

    Attributes
    ----------
    start, end : Quantity or Missing
        Outside the raceway at its two ends: a tail, or what lies inside the device it lands on.
    extra : Quantity or None
        Further length in boxes; None where none is stated, or another piece of the wire has it.
    pipe, elbows, installed : Quantity or Missing
        Raceway passed, arcs within it, and everything that stays.
    pulls : int
        Pulls that it goes through, each with a head and a trim.
    own, length : Quantity or Missing
        With heads and trims, and the length to cut: alike in its pull, rounded up.
    tolerance : Quantity or Missing
        Of the measured raceway.
    """

    piece: WirePiece
    start: Known
    end: Known
    extra: Quantity | None
    pipe: Known
    elbows: Known
    installed: Known
    pulls: int
    own: Known
    length: Known
    tolerance: Known

    @property
    def id(self) -> str:
        """Id of the piece."""
        return self.piece.id

    @property
    def wire(self) -> Conductor:
        """Wire that it is a piece of."""
        return self.piece.wire


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


def design_cuts(graph: Graph, pieces: Sequence[WirePieces]) -> tuple[CutGroup, ...]:
    """Every piece of new wire by make, size and colour, with its length to cut; spools not yet chosen."""
    stock = graph.project.stock or Stock()
    measured = _Measured(graph, stock)
    groups: dict[tuple[str, str, str], list[CutWire]] = defaultdict(list)
    alike: dict[tuple[str, str, str, tuple[SegmentId, ...] | str], list[CutWire]] = defaultdict(list)
    for one in pieces:
        wire, circuit = one.wire, graph.project.circuits[one.wire.circuit]
        if circuit.status == "new":
            colour = wire.colour or ("ground" if circuit.kind == "ground" else "no colour stated")
            for made in measured.wire(one, circuit):
                # What is pulled through nothing is cut to its own length.
                together = made.piece.through or wire.circuit
                alike[wire.cable, wire.size, colour, together].append(made)
            for made in measured.of_array(one):
                sort = made.wire
                alike[sort.cable, sort.size, "no colour stated", f"array of {wire.circuit}"].append(made)
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
                item.id,
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
        self.circuits: dict[str, tuple[CutWire, ...]] = {}
        # Pieces of one path share its lengths.
        self.paths: dict[tuple[SegmentId, ...], tuple[Known, Known, Known]] = {}

    def wire(self, one: WirePieces, circuit: Circuit) -> tuple[CutWire, ...]:
        """Lengths of the pieces of a wire; those of its circuit, for the wires of a circuit run together."""
        key = one.wire.circuit
        if key not in self.circuits:
            self.circuits[key] = self._circuit(one, circuit)
        return tuple(
            replace(made, piece=piece) for made, piece in zip(self.circuits[key], one.pieces, strict=True)
        )

    def _circuit(self, one: WirePieces, circuit: Circuit) -> tuple[CutWire, ...]:
        wire = one.wire
        raceways = dict.fromkeys(key.raceway for key in wire.through)
        untold = first_missing(
            self._uncounted(wire, circuit),
            self._gap(wire, circuit),
            *(self._drawn(raceway) for raceway in raceways),
            conductor_length(self.graph, wire.circuit, circuit),
            *one.missing,
        )
        # Loops lie in the boxes that a wire goes through uncut.
        looped = next((n for n, piece in enumerate(one.pieces) if piece.passed), 0)
        return tuple(
            self._piece(piece, circuit, untold, circuit.extra if number == looped else None)
            for number, piece in enumerate(one.pieces)
        )

    def _piece(
        self, piece: WirePiece, circuit: Circuit, untold: Missing | None, extra: Quantity | None
    ) -> CutWire:
        if piece.through not in self.paths:
            self.paths[piece.through] = (self._pipe(piece), self._elbows(piece), self._tolerance(piece))
        pipe, elbows, slack = self.paths[piece.through]
        start, end = self._end(piece, circuit, first=True), self._end(piece, circuit, first=False)
        installed: Known = untold or self._installed(piece, start, end, extra)
        pulls = len({self.graph.run_of[key] for key in piece.through})
        own = self._own(piece, installed, pulls)
        return CutWire(piece, start, end, extra, pipe, elbows, installed, pulls, own, own, slack)

    def of_array(self, one: WirePieces) -> Iterator[CutWire]:
        """Wire from the array to the box where a home run begins, pulled through nothing; nothing where it begins elsewhere."""
        box = one.begins_in
        if not box:
            return
        wire, project = one.wire, self.graph.project
        wiring = project.arrays[wire.start].wiring if wire.start in project.arrays else None
        if wiring is None:
            return
        length = known(wiring.length, f"length of the wiring of array {wire.start}, to {box}", wiring.span)
        if isinstance(length, Quantity):
            length = length.to(self.unit).named("installed")
        made = replace(wire, cable=str(wiring.cable), size=str(wiring.size), colour="", through=())
        ends = PieceEnd(wire.start), PieceEnd(box, JOINT)
        name = f"{wire.id} {wire.start} to {box}"
        piece = WirePiece(name, made, *ends, (), (), first=True, last=False)
        nothing = Quantity(0.0, self.unit)
        yield CutWire(piece, length, nothing, None, nothing, nothing, length, 0, length, length, nothing)

    def _end(self, piece: WirePiece, circuit: Circuit, *, first: bool) -> Known:
        """What a piece has outside the raceway at its start or end: a tail, or what lies inside a device."""
        key = piece.wire.circuit
        if piece.first if first else piece.last:
            tails = circuit.tails
            stated = (tails.start if first else tails.end) if tails is not None else None
            return known(stated, f"tails of circuit {key}", circuit.span)
        unit, word = (piece.start.place, "leaves") if first else (piece.end.place, "arrives")
        inside = next((one for one in circuit.in_devices if str(one.device) == unit), None)
        if inside is None:
            what = f"in_devices of circuit {key}: what of each wire `arrives` and `leaves` inside {unit}"
            return Missing(what, circuit.span)
        if word == "leaves":
            return inside.leaves
        if not piece.up_to or circuit.tails is None:
            return inside.arrives
        # On which side of the device the tail lies nobody says: each of the two pieces is long enough for all of it.
        parts = [(f"inside {unit}", inside.arrives), (f"tail up to {unit}", circuit.tails.end)]
        return stack_up(parts, f"at {unit}", self.unit)

    def _installed(self, piece: WirePiece, start: Known, end: Known, extra: Quantity | None) -> Known:
        if missing := first_missing(start, end):
            return missing
        assert isinstance(start, Quantity) and isinstance(end, Quantity)
        parts = [(f"at {piece.start.place or 'its start'}", start)]
        parts += [(str(key), self.graph.segments[key][1].length) for key in piece.through]
        if extra is not None:
            parts.append(("in boxes", extra))
        if piece.supposed:
            parts.append((f"pipe behind {piece.supposed}", _NO_PIPE))
        parts.append((f"at {piece.end.place or 'its end'}", end))
        return stack_up(parts, "installed", self.unit)

    def _own(self, piece: WirePiece, installed: Known, pulls: int) -> Known:
        if not pulls or isinstance(installed, Missing):
            return installed
        head = known(self.stock.head, "head of stock: what the pulling head takes of each wire", self.place)
        trim = known(self.stock.trim, "trim of stock: what is cut off after the pull", self.place)
        if missing := first_missing(head, trim):
            return missing
        parts = [("installed", installed)]
        for word, each in (("head", head), ("trim", trim)):
            assert isinstance(each, Quantity)
            every = each if pulls == 1 else work(f"{word}s", each.unit, "n * L", n=float(pulls), L=each)
            parts.append((word if pulls == 1 else f"{word}s", every))
        return stack_up(parts, f"wire of {piece.wire.circuit}", self.unit)

    def _pipe(self, piece: WirePiece) -> Known:
        if not piece.through:
            # Without a path at all the length of its wire is missing already.
            return Quantity(0.0, self.unit, None, "pipe")
        return stack_up(
            [(str(key), self.graph.segments[key][1].length) for key in piece.through], "pipe", self.unit
        )

    def _elbows(self, piece: WirePiece) -> Known:
        arcs = []
        for key in piece.through:
            segment = self.graph.segments[key][1]
            for bend in segment.bends:
                radius = bend.radius or segment.bend_radius
                if radius is None:
                    return Missing(f"bend_radius of {key}", segment.span)
                arcs.append((f"elbow of {key}", arc_length(radius.to("in"), bend.angle)))
        return stack_up(arcs, "elbows", self.unit) if arcs else Quantity(0.0, self.unit, None, "elbows")

    def _tolerance(self, piece: WirePiece) -> Known:
        parts: dict[str, Quantity] = {}
        for raceway in dict.fromkeys(key.raceway for key in piece.through):
            kind = self.graph.project.raceways[raceway]
            if kind.length_tolerance is None:
                return Missing(f"length_tolerance of raceway {raceway}", kind.span)
            lengths = [
                (str(key), self.graph.segments[key][1].length)
                for key in piece.through
                if key.raceway == raceway
            ]
            measured = stack_up(lengths, f"measured in {raceway}", self.unit)
            parts[f"t_{len(parts) + 1}"] = tolerance(measured, kind.length_tolerance, self.unit)
        if not parts:
            # Cut by hand beside its two ends: nothing was measured along a pipe.
            return Quantity(0.0, self.unit, None, "tolerance")
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
