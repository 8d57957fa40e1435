"""Results of overcurrent protection: what can feed a fault in each string, and which device stands against it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from reportgen.design.array_wiring import ArrayWiringDesign
from reportgen.design.circuits import by_string, size_key
from reportgen.design.graph import Graph
from reportgen.design.missing import Known, Missing, derive, first_missing, known, lowest
from reportgen.design.parallel_strings import ParallelStrings
from reportgen.design.protection import ArrayWire, Device, OvercurrentDesign, StringProtection
from reportgen.design.results import CircuitDesign, StringDesign
from reportgen.engineering import overcurrent
from reportgen.engineering.currents import mixed_current
from reportgen.project.equipment import Fuse, Inverter
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Quantity, work


def design_overcurrent(
    graph: Graph,
    rulebook: Rulebook,
    strings: Mapping[str, StringDesign],
    circuits: Sequence[CircuitDesign],
    array_wiring: Sequence[ArrayWiringDesign],
) -> OvercurrentDesign:
    """Protection of every string, in the order of the folder."""
    designer = _Designer(graph, rulebook, strings, circuits, array_wiring)
    made = tuple(designer.string(string) for string in strings.values())
    used = {device.id for item in made for device in item.devices}
    idle = tuple(key for key in graph.project.fuses if key not in used)
    return OvercurrentDesign(made, idle, rulebook.ruling("ocpd-omission-conditions"), designer.one_pole)


class _Designer:
    """Works out every string; a class only because all of them share the same inputs."""

    def __init__(
        self,
        graph: Graph,
        rulebook: Rulebook,
        strings: Mapping[str, StringDesign],
        circuits: Sequence[CircuitDesign],
        array_wiring: Sequence[ArrayWiringDesign],
    ) -> None:
        self.project, self.rulebook, self.all = graph.project, rulebook, strings
        self.circuits = by_string(circuits)
        self.passing = graph.passing
        self.groups = ParallelStrings(graph, strings)
        self.one_pole = rulebook.ruling("one-pole-overcurrent")
        self.factor = quantity_of(rulebook.number("ocpd-factor"), "factor for devices")
        self.next_size = quantity_of(rulebook.number("next-size-up-limit"), "end of the next-size rule")
        self.standard = [quantity_of(cell, "standard rating") for cell in rulebook.standard_ratings("fuse")]
        self.types = {
            str(unit): key
            for key, fuse in self.project.fuses.items()
            for unit, installed in fuse.units.items()
            if installed.status != "removed"
        }
        self.wiring = {item.id: item for item in array_wiring}
        self._behind: dict[tuple[str, ...], ArrayWire] = {}
        self._fitting: dict[tuple[float, float], tuple[Quantity, ...]] = {}

    def string(self, string: StringDesign) -> StringProtection:
        beside = self.groups.beside(string.id)
        inverters = self._inverters((string.id, *beside))
        backfeed = self._backfeed(string, inverters)
        doubt = self.groups.doubts.get(string.id)
        others = [self.all[name].maximum for name in beside]
        alone = _alone(string, others)
        fed_back: Known = doubt or _fed_back(string, others, backfeed)
        module_limit = self._module_limit(string)
        ampacity = self._ampacity(string)
        limit = derive(overcurrent.unfused_limit, module_limit, ampacity)
        behind = self._wire_behind(string)
        needed = _needed(alone, fed_back, (module_limit, ampacity))
        doubtful = needed is False and not _behind_bears(fed_back, behind)
        if doubtful:
            needed = None
        floor = derive(lambda one: overcurrent.least_rating(one, self.factor), string.maximum)
        devices = tuple(self._devices(string))
        conductor = self._conductor_limit(string) if devices or needed else None
        found = self.project.input_of(string.input) if string.input else None
        protected = found[1].ground_fault_protection if found else None
        return StringProtection(
            string=string,
            inverter=" and ".join(inverters) or "the inverter",
            beside=beside,
            boxes=self.groups.boxes(string.id),
            alone=alone,
            backfeed=backfeed,
            fed_back=fed_back,
            module_limit=module_limit,
            ampacity=ampacity,
            limit=limit,
            floor=floor,
            conductor_limit=conductor,
            fitting=self._ratings(floor, module_limit, conductor, behind.ceiling),
            needed=needed,
            devices=devices,
            poles=overcurrent.fused_poles(self.one_pole.answer, protected),
            pole=str(self.project.strings[string.id].fused_pole or ""),
            behind=behind,
            behind_decides=doubtful and isinstance(behind.ampacity, Quantity),
        )

    def _inverters(self, names: Sequence[str]) -> dict[str, Inverter]:
        """Inverter units that the strings of a group end at."""
        ends = (self.project.input_of(self.all[name].input) for name in names if self.all[name].input)
        return {end[0]: end[1] for end in ends if end}

    def _backfeed(self, string: StringDesign, inverters: Mapping[str, Inverter]) -> Known:
        if not string.input:
            return Missing(f"input of string {string.id}", self.project.strings[string.id].span)
        stated = []
        for unit, inverter in inverters.items():
            if inverter.backfeed_current is None:
                key = next(name for name, kind in self.project.inverters.items() if kind is inverter)
                return Missing(f"backfeed_current of inverter type {key}", inverter.span)
            stated.append(inverter.backfeed_current.named(f"current that {unit} feeds back"))
        if len(stated) == 1:
            return stated[0]
        return mixed_current(stated, "current that the inverters feed back")

    def _module_limit(self, string: StringDesign) -> Known:
        if string.module is None:
            what = "one module type" if string.mixed else "the module type"
            return Missing(f"{what} of string {string.id}", self.project.strings[string.id].span)
        value = string.module.maximum_series_fuse
        what = f"maximum_series_fuse of module type {string.module_id}"
        if value is not None and value.value <= 0:
            return Missing(f"{what} above zero", string.module.where("maximum_series_fuse"))
        return known(value, what, string.module.span)

    def _ampacity(self, string: StringDesign) -> Known:
        made = [_circuit_ampacity(circuit) for circuit in self.circuits.get(string.id, ())]
        if not made:
            return Missing(f"circuit of string {string.id}", self.project.strings[string.id].span)
        return lowest(made)

    def _conductor_limit(self, string: StringDesign) -> Known:
        """Lowest among the greatest ratings that protect the conductors of each circuit of a string."""
        made = [self._ceiling(circuit) for circuit in self.circuits.get(string.id, ())]
        if not made:
            return Missing(f"circuit of string {string.id}", self.project.strings[string.id].span)
        return lowest(made)

    def _ceiling(self, circuit: CircuitDesign) -> Known:
        ampacity = _circuit_ampacity(circuit)
        if isinstance(ampacity, Missing):
            return ampacity
        try:
            cell = self.rulebook.small_conductor_cap(circuit.material, size_key(str(circuit.circuit.size)))
        except OutsideTable as outside:
            return Missing(f"a table value: {outside}", circuit.circuit.where("size"))
        cap = None if cell is None else quantity_of(cell, "cap for small conductors")
        return overcurrent.conductor_ceiling(ampacity, self.standard, self.next_size, cap)

    def _wire_behind(self, string: StringDesign) -> ArrayWire:
        """Wire behind the modules of a string where it carries least, by the array that it lies in."""
        if string.arrays not in self._behind:
            self._behind[string.arrays] = self._least_behind(string)
        return self._behind[string.arrays]

    def _least_behind(self, string: StringDesign) -> ArrayWire:
        if not string.arrays:
            absent = Missing(f"array of string {string.id}", self.project.strings[string.id].span)
            return ArrayWire("", "", absent, absent, True)
        made = [self._behind_in(key) for key in string.arrays]
        for one in made:
            if isinstance(one.ampacity, Missing) or isinstance(one.ceiling, Missing):
                return one
        return min(made, key=_carries)

    def _behind_in(self, key: str) -> ArrayWire:
        item = self.wiring.get(key)
        if item is None:
            absent = Missing(f"wiring of array {key}", self.project.arrays[key].span)
            return ArrayWire(key, "", absent, absent, True)
        size = str(item.wiring.size)
        amounts = [one for one in (item.corrected, item.table) if isinstance(one, Quantity)]
        missing = first_missing(item.corrected, item.table)
        if missing is not None:
            return ArrayWire(key, size, missing, missing, not item.metric)
        ampacity = min(amounts, key=lambda one: one.value)
        cap = None
        if not item.metric:
            try:
                cell = self.rulebook.small_conductor_cap(str(item.cable.material), size_key(size))
            except OutsideTable as outside:
                beyond = Missing(f"a table value: {outside}", item.wiring.where("size"))
                return ArrayWire(key, size, ampacity, beyond, True)
            cap = None if cell is None else quantity_of(cell, "cap for small conductors")
        ceiling = overcurrent.conductor_ceiling(ampacity, self.standard, self.next_size, cap)
        return ArrayWire(key, size, ampacity, ceiling, not item.metric)

    def _devices(self, string: StringDesign) -> Iterator[Device]:
        stated = self.project.strings[string.id].fuse
        types = [str(stated)] if stated else []
        circuits = self.circuits.get(string.id, ())
        types += [
            self.types[unit]
            for one in circuits
            for unit in self.passing.enclosures[one.id]
            if unit in self.types
        ]
        for key in dict.fromkeys(types):
            yield _fuse(key, self.project.fuses[key])
        for circuit in self.circuits.get(string.id, ()):
            if circuit.circuit.device is None:
                continue
            rating = circuit.circuit.device
            if any(self.project.fuses[key].rating.value == rating.value for key in types):
                continue  # the same device, told twice
            what = f"fuse of string {string.id}, a type under fuses with its rated voltage"
            absent = Missing(what, circuit.circuit.where("device"))
            place = circuit.circuit.where("device")
            yield Device(f"device of {circuit.id}", rating, absent, None, None, place)

    def _ratings(
        self, floor: Known, module: Known, conductor: Known | None, behind: Known
    ) -> tuple[Quantity, ...]:
        """Standard ratings, and those of the folder's own fuses, between floor and ceilings, as far as these are known."""
        if conductor is None or first_missing(floor, module, conductor) is not None:
            return ()
        assert (
            isinstance(floor, Quantity) and isinstance(module, Quantity) and isinstance(conductor, Quantity)
        )
        ceilings = (module, conductor, *([behind] if isinstance(behind, Quantity) else []))
        window = overcurrent.RatingWindow(floor, ceilings)
        key = (floor.value, window.ceiling.value)
        if key not in self._fitting:
            own = [fuse.rating for fuse in self.project.fuses.values()]
            every = {rating.value: rating for rating in (*own, *self.standard)}
            self._fitting[key] = window.fitting(list(every.values()))
        return self._fitting[key]


def _carries(wire: ArrayWire) -> float:
    assert isinstance(wire.ampacity, Quantity)
    return wire.ampacity.value


def _behind_bears(fed_back: Known, behind: ArrayWire) -> bool:
    """Whether the wire behind the modules surely bears what is fed into a fault."""
    if not isinstance(fed_back, Quantity) or fed_back.value == 0:
        return True
    return behind.proves and isinstance(behind.ampacity, Quantity) and fed_back.value <= behind.ampacity.value


def _fuse(key: str, fuse: Fuse) -> Device:
    voltage = known(fuse.voltage, f"voltage of fuse type {key}", fuse.span)
    return Device(str(key), fuse.rating, voltage, fuse.listed_for_pv, fuse.breaking_capacity, fuse.span)


def _circuit_ampacity(circuit: CircuitDesign) -> Known:
    """Least ampacity of a circuit: at its terminals, and in the worst stretch [A]."""
    if circuit.governing is None:
        missing = first_missing(*(stretch.ampacity for stretch in circuit.stretches))
        return missing or Missing(f"path of circuit {circuit.id}", circuit.circuit.span)
    return derive(_least, circuit.terminal, circuit.governing.ampacity)


def _least(terminal: Quantity, in_use: Quantity) -> Quantity:
    return work(
        "least ampacity of the conductor", "A", "min(I_terminal, I_use)", I_terminal=terminal, I_use=in_use
    )


def _alone(string: StringDesign, others: Sequence[Known]) -> Known:
    missing = first_missing(*others)
    if missing is not None:
        return missing
    amounts = [other for other in others if isinstance(other, Quantity)]
    if not amounts:
        return Quantity(0.0, "A", None, "current of other strings: there are none")
    name = f"current of the strings beside {string.id}"
    if _alike(amounts):
        return work(name, "A", "(n - 1) * I_max", n=_count(amounts), I_max=amounts[0])
    return mixed_current(amounts, name)


def _fed_back(string: StringDesign, others: Sequence[Known], backfeed: Known) -> Known:
    missing = first_missing(*others, backfeed)
    if missing is not None:
        return missing
    assert isinstance(backfeed, Quantity)
    amounts = [other for other in others if isinstance(other, Quantity)]
    # A string that is alone multiplies its own current by nothing.
    one: Known = amounts[0] if amounts else string.maximum
    if _alike(amounts) and isinstance(one, Quantity):
        return overcurrent.feedback_current(_count(amounts), one, backfeed)
    return overcurrent.feedback_of_unlike(amounts, backfeed)


def _alike(amounts: Sequence[Quantity]) -> bool:
    return len({amount.value for amount in amounts}) <= 1


def _count(others: Sequence[Quantity]) -> Quantity:
    return Quantity(float(len(others) + 1), "", None, "strings in parallel")


def _needed(alone: Known, fed_back: Known, bounds: Sequence[Known]) -> bool | None:
    """Whether a device is needed: a bound that is passed for certain is enough, leaving it out needs them all."""
    fed = alone if isinstance(fed_back, Missing) else fed_back
    if isinstance(fed, Missing):
        return None
    if any(isinstance(bound, Quantity) and fed.value > bound.value for bound in bounds):
        return True
    if isinstance(fed_back, Missing):
        return None
    if fed_back.value == 0 or all(isinstance(bound, Quantity) for bound in bounds):
        return False
    return None
