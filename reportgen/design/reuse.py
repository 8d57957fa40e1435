"""What stands already and whether it may stay: each existing conductor, connector, box and raceway with its reasons.

A thing is kept when every reason speaks for it, replaced when one speaks against it, and unknown otherwise. Age is
physics and user, not code: insulation grows brittle, and how old is too old only the user can say.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from reportgen.design.circuits import WET_PLACES, segment_ambient
from reportgen.design.graph import Conductor, Graph, SegmentId
from reportgen.design.missing import Known, Missing, first_missing, highest, known
from reportgen.design.policies import Policies
from reportgen.design.results import CircuitDesign, StretchDesign, StringDesign
from reportgen.diagnostics.model import Span
from reportgen.project.equipment import Box, Cable, Installed
from reportgen.project.layout import Circuit, Raceway
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Quantity


class Word(StrEnum):
    """What becomes of a thing that stands already, worst first."""

    REPLACE = "replace"
    UNKNOWN = "unknown"
    KEEP = "keep"


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason to keep a thing, to replace it, or what is missing to say so.

    Attributes
    ----------
    what : str
        What was looked at, in a word: voltage, wet, temperature, current, age, make, proof, room.
    text : str
        The reason with its numbers.
    missing : Missing or None
        What to state, or to find out on site.
    """

    what: str
    word: Word
    text: str
    missing: Missing | None = None
    value: Quantity | None = None
    limit: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Reused:
    """One thing that stands already, judged."""

    kind: str
    id: str
    what: str
    reasons: tuple[Reason, ...]
    span: Span

    @property
    def word(self) -> Word:
        """Replace where one reason says so, else unknown where one is open, else keep."""
        words = [reason.word for reason in self.reasons]
        return next((word for word in Word if word in words), Word.UNKNOWN)


def design_reuse(
    graph: Graph,
    rulebook: Rulebook,
    policies: Policies,
    strings: Sequence[StringDesign],
    circuits: Sequence[CircuitDesign],
    stretches: Sequence[StretchDesign],
) -> tuple[Reused, ...]:
    """Every existing conductor, connector, raceway and box with its word and reasons."""
    judge = _Judge(graph, rulebook, policies, strings, circuits, stretches)
    return (*judge.conductors(), *judge.connectors(), *judge.raceways(), *judge.boxes())


class _Judge:
    """Judges one kind after the other; a class only because all share the same inputs."""

    def __init__(
        self,
        graph: Graph,
        rulebook: Rulebook,
        policies: Policies,
        strings: Sequence[StringDesign],
        circuits: Sequence[CircuitDesign],
        stretches: Sequence[StretchDesign],
    ) -> None:
        self.graph, self.rulebook, self.policies = graph, rulebook, policies
        self.project = graph.project
        self.strings = {string.id: string for string in strings}
        self.circuits = {circuit.id: circuit for circuit in circuits}
        self.stretches = stretches
        self.voltage_in = self._voltages()

    def _voltages(self) -> dict[SegmentId, Known]:
        """Highest cold voltage among the string circuits of each stretch [V]."""
        of_circuit = {key: circuit.string.governing for key, circuit in self.circuits.items()}
        found: dict[SegmentId, Known] = {}
        for key, wires in self.graph.in_segment.items():
            inside = [
                of_circuit[name]
                for name in dict.fromkeys(wire.circuit for wire in wires)
                if name in of_circuit
            ]
            if inside:
                found[key] = highest(inside)
        return found

    def conductors(self) -> Iterator[Reused]:
        wires: dict[str, Conductor] = {}
        for wire in self.graph.conductors:
            wires.setdefault(wire.circuit, wire)
        for key, circuit in self.project.circuits.items():
            if circuit.status != "existing":
                continue
            cable = self.project.cables[str(circuit.cable)]
            through = wires[key].through
            if circuit.kind == "abandoned":
                told = "carries nothing; it takes space and counts among the others, so draw it out where it comes free"
                yield Reused(
                    "conductor", key, "abandoned wire", (Reason("use", Word.KEEP, told),), circuit.span
                )
                continue
            design = self.circuits.get(key)
            reasons = [self._wet(cable, through, key, circuit), self._age(cable, str(circuit.cable))]
            if [str(item).lower() for item in cable.markings] != ["bare"]:
                reasons += [self._voltage(key, cable, through), *self._temperature(cable, through, circuit)]
            if design is not None:
                reasons += self._current(design)
            elif circuit.kind == "output":
                missing = Missing(
                    f"the checks of output circuit {key}: judge its current there", circuit.span
                )
                reasons.append(Reason("current", Word.UNKNOWN, "its current is not judged here", missing))
            what = f"{circuit.kind} circuit, {circuit.size} {' '.join(map(str, cable.markings))}".rstrip()
            yield Reused("conductor", key, what, tuple(reasons), circuit.span)

    def _voltage(self, key: str, cable: Cable, through: tuple[SegmentId, ...]) -> Reason:
        own = [self.circuits[key].string.governing] if key in self.circuits else []
        beside = [self.voltage_in[name] for name in through if name in self.voltage_in]
        if not (own or beside):
            missing = Missing(f"path of circuit {key}, to know the voltage beside it")
            return Reason("voltage", Word.UNKNOWN, "the voltage beside it is not known", missing)
        # All conductors of one raceway are insulated for the highest voltage in it, grounds that are not bare included.
        most = highest([*own, *beside])
        limit = known(cable.voltage, f"voltage printed on cable {key}", cable.span)
        missing_one = first_missing(most, limit)
        if missing_one is not None:
            return Reason("voltage", Word.UNKNOWN, "voltage mark not judged", missing_one)
        assert isinstance(most, Quantity) and isinstance(limit, Quantity)
        text = f"marked {limit.show()}, highest cold voltage beside it {most.show(1)}"
        word = Word.KEEP if most.value <= limit.value else Word.REPLACE
        return Reason("voltage", word, text, None, most, limit)

    def _wet(self, cable: Cable, through: tuple[SegmentId, ...], key: str, circuit: Circuit) -> Reason:
        if not through:
            missing = Missing(f"path of circuit {key}", circuit.span)
            return Reason("wet", Word.UNKNOWN, "not known where it runs", missing)
        wet = [name for name in through if self.graph.segments[name][1].place in WET_PLACES]
        if not wet:
            return Reason("wet", Word.KEEP, "no stretch of its path is wet")
        if [str(item).lower() for item in cable.markings] == ["bare"]:
            return Reason("wet", Word.KEEP, "bare")
        if not cable.markings:
            missing = Missing(f"markings printed on cable {circuit.cable}", cable.span)
            return Reason("wet", Word.UNKNOWN, "no marking is known", missing)
        for marking in map(str, cable.markings):
            try:
                if self.rulebook.insulation(marking).wet is not None:
                    return Reason("wet", Word.KEEP, f"{marking} is rated for the wet stretches")
            except OutsideTable:
                continue
        marked = " ".join(map(str, cable.markings))
        return Reason(
            "wet", Word.REPLACE, f"{marked} is not rated for the wet stretches {', '.join(map(str, wet))}"
        )

    def _temperature(self, cable: Cable, through: tuple[SegmentId, ...], circuit: Circuit) -> list[Reason]:
        wet = any(self.graph.segments[name][1].place in WET_PLACES for name in through)
        ratings = []
        for marking in map(str, cable.markings):
            try:
                insulation = self.rulebook.insulation(marking)
            except OutsideTable:
                continue
            cell = insulation.wet if wet else insulation.dry
            if cell is not None:
                ratings.append(quantity_of(cell, f"temperature rating of {marking}"))
        if not ratings:
            return []  # Told under wet already: no marking that serves.
        rating = max(ratings, key=lambda one: one.value)
        ambients = [segment_ambient(self.graph, self.graph.segments[name][1]) for name in through]
        missing = first_missing(*ambients)
        if missing is not None:
            return [Reason("temperature", Word.UNKNOWN, "ambient not known in every stretch", missing)]
        hottest = highest(ambients)
        assert isinstance(hottest, Quantity)
        text = f"rated {rating.show()}, hottest stretch {hottest.show(0)}"
        word = Word.KEEP if hottest.value < rating.value else Word.REPLACE
        return [Reason("temperature", word, text, None, hottest, rating)]

    def _current(self, design: CircuitDesign) -> list[Reason]:
        found = []
        ampacity: Known = (
            design.governing.ampacity if design.governing else Missing(f"ampacity of {design.id}")
        )
        for text, value, limit in (
            ("maximum current against the ampacity of its worst stretch", design.string.maximum, ampacity),
            ("continuous current against its terminals", design.string.continuous, design.terminal),
        ):
            missing = first_missing(value, limit)
            if missing is not None:
                found.append(Reason("current", Word.UNKNOWN, f"{text}: not known", missing))
                continue
            assert isinstance(value, Quantity) and isinstance(limit, Quantity)
            word = Word.KEEP if value.value <= limit.value else Word.REPLACE
            found.append(
                Reason(
                    "current",
                    word,
                    f"{text}: {value.show(2)}, {limit.show(2, at_most=True)}",
                    None,
                    value,
                    limit,
                )
            )
        return found

    def _age(self, cable: Cable, key: str) -> Reason:
        policy = self.project.project.policies
        limit = known(
            policy.reuse_age, "reuse_age, under policies: the age up to which you keep wire", policy.span
        )
        age = known(cable.age, f"age of cable {key}", cable.span)
        missing = first_missing(age, limit)
        if missing is not None:
            return Reason("age", Word.UNKNOWN, "age not judged", missing)
        assert isinstance(age, Quantity) and isinstance(limit, Quantity)
        word = Word.KEEP if age.value <= limit.value else Word.REPLACE
        return Reason(
            "age",
            word,
            f"{age.keyed} years old, kept up to {limit.keyed} years by your policy",
            None,
            age,
            limit,
        )

    def connectors(self) -> Iterator[Reused]:
        """Both halves of the connection between the modules of a string and its home run."""
        for key, circuit in self.project.circuits.items():
            if circuit.kind != "string" or circuit.status == "removed":
                continue
            string = self.strings.get(str(circuit.string))
            if string is None:
                continue
            yield Reused(
                "connector",
                key,
                self._halves(key, circuit),
                (self._make(key, circuit, string),),
                circuit.span,
            )

    def _halves(self, key: str, circuit: Circuit) -> str:
        if circuit.status == "new":
            return f"halves on the modules of {circuit.string}; those on {key} are new"
        return f"connectors of {circuit.string} to its home run"

    def _make(self, key: str, circuit: Circuit, string: StringDesign) -> Reason:
        makes: dict[str, str] = {}
        for array in string.arrays:
            module_id = str(self.project.arrays[array].module)
            module = self.project.modules[module_id]
            if module.connector is None:
                missing = Missing(f"connector of module type {module_id}", module.span)
                return Reason("make", Word.UNKNOWN, "make of the module's connector not known", missing)
            makes[_plain(str(module.connector))] = str(module.connector)
        if circuit.connector is None:
            missing = Missing(f"connector of circuit {key}", circuit.span)
            return Reason("make", Word.UNKNOWN, "make of the connector on the home run not known", missing)
        makes[_plain(str(circuit.connector))] = str(circuit.connector)
        if len(makes) == 1:
            return Reason("make", Word.KEEP, f"both halves are {circuit.connector}")
        names = " and ".join(makes.values())
        if circuit.connectors_listed is not None:
            return Reason("make", Word.KEEP, f"{names}, listed for each other by {circuit.connectors_listed}")
        return Reason("make", Word.REPLACE, f"{names} are not of one make")

    def raceways(self) -> Iterator[Reused]:
        for key, raceway in self.project.raceways.items():
            if raceway.status == "removed":
                continue
            old = [
                stretch
                for stretch in self.stretches
                if stretch.id.raceway == key and raceway.status_of(stretch.segment) == "existing"
            ]
            if old:
                what = ", ".join(dict.fromkeys(f"{item.segment.kind} {item.segment.size}" for item in old))
                reasons = (self._proof(key, raceway), *(self._room(item) for item in old if item.conductors))
                yield Reused("raceway", key, what, reasons, raceway.span)

    def _proof(self, key: str, raceway: Raceway) -> Reason:
        if raceway.proved is not None:
            return Reason("proof", Word.KEEP, f"proved free: {raceway.proved}")
        missing = Missing(
            f"proved of raceway {key}: draw a mandrel, a rope or a camera through before wire is bought",
            raceway.span,
        )
        return Reason("proof", Word.UNKNOWN, "nobody knows whether it is free from end to end", missing)

    def _room(self, stretch: StretchDesign) -> Reason:
        missing = first_missing(stretch.fill, stretch.limit)
        if missing is not None:
            return Reason("room", Word.UNKNOWN, f"fill of {stretch.id} not known", missing)
        assert isinstance(stretch.fill, Quantity) and isinstance(stretch.limit, Quantity)
        word = Word.KEEP if stretch.fill.value <= stretch.limit.value else Word.REPLACE
        text = f"{stretch.id} is {stretch.fill.show(1)} full, limit {stretch.limit.show(1, at_most=True)}"
        return Reason("room", word, text, None, stretch.fill, stretch.limit)

    def boxes(self) -> Iterator[Reused]:
        for key, box in self.project.boxes.items():
            for unit, installed in box.units.items():
                if installed.status == "existing":
                    reasons = (self._box_wet(key, box, installed, str(unit)),)
                    yield Reused("box", str(unit), f"{box.kind} {key}", reasons, box.span)

    def _box_wet(self, key: str, box: Box, installed: Installed, unit: str) -> Reason:
        if installed.inside:
            return Reason("wet", Word.KEEP, "stands inside a building")
        if box.wet_location is None:
            missing = Missing(f"wet_location of box type {key}, or inside of {unit}", box.span)
            return Reason("wet", Word.UNKNOWN, "not known whether it stands the rain", missing)
        if box.wet_location:
            return Reason("wet", Word.KEEP, "listed for wet locations")
        if installed.inside is None:
            missing = Missing(f"inside of {unit}: the box is not listed for wet locations", box.span)
            return Reason("wet", Word.UNKNOWN, "not known whether it stands in the wet", missing)
        return Reason("wet", Word.REPLACE, "stands outside and is not listed for wet locations")


def _plain(text: str) -> str:
    return "".join(character for character in text.lower() if character.isalnum())
