"""Ways to cut the arrays into strings and place them on the inverters of the folder, worked out for the pages alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from reportgen.design.checks.base import Facts
from reportgen.design.circuits import by_string
from reportgen.design.findings import Finding
from reportgen.design.missing import Missing
from reportgen.design.results import CircuitDesign, StringDesign
from reportgen.design.stringing_years import ArrayYear, CutYear
from reportgen.engineering.stringing import Cut, Placing, Slot, balanced, cuts, place
from reportgen.engineering.strings import fewest_modules, most_modules
from reportgen.project.equipment import Inverter, InverterInput
from reportgen.project.layout import String
from reportgen.project.model import Project
from reportgen.working.quantity import Assumed, Quantity

if TYPE_CHECKING:
    from reportgen.engineering.energy.inputs import ArrayCache

#: Ways shown for the whole site, and cuts of one array that the search looks at.
SHOWN, LOOKED_AT = 5, 12
#: Lengths of arrays times inputs up to which a build searches; 60 inputs and ten arrays stay well below.
MOST_PAIRS = 6000
#: Strings side by side on one input without fuses: with three, two can feed a fault in the third.
_ABREAST = 2
#: Share of an array that may be left over; the page says so. [%]
MOST_SPARES = Quantity(5.0, "%", None, "modules of an array that may be left over")
_CEILINGS = ("cold-voltage-module", "cold-voltage-place", "cold-voltage-wire", "cold-voltage-switch")


@dataclass(frozen=True, slots=True)
class RankedCut:
    """A cut of one array with what it is ranked by.

    Attributes
    ----------
    cold : float
        Open-circuit voltage of the longest string at the cold temperature in force. [V]
    margin : float
        Room to the lowest limit of inverters that take it, as a share of that. [-]
    thin : bool
        Less room than the policy asks for.
    wire_m : float or None
        Conductor for all strings, out and back, each as long as those of the array today on average. [m]
    loss_w : float or None
        Loss in it at standard conditions with the wire of today. [W]
    year : CutYear or None
        What it yields in a year; None where no year is at hand.
    """

    cut: Cut
    cold: float
    margin: float
    thin: bool
    wire_m: float | None
    loss_w: float | None
    year: CutYear | None = None


@dataclass(frozen=True, slots=True)
class ArrayChoice:
    """Cuts of one array, best first, and why lengths and cuts fall out; ``missing`` where it is not searched."""

    array: str
    modules: int
    ranked: tuple[RankedCut, ...]
    out: tuple[tuple[str, str], ...]
    missing: tuple[Missing, ...] = ()


@dataclass(frozen=True, slots=True)
class StringingDesign:
    """Arrays, and the best ways for all of them together, best first.

    Attributes
    ----------
    asked : tuple of str
        Inputs whose hard limit holds a string at standard conditions alone, while the maker does not say what is meant.
    too_large : bool
        The site has more arrays and inputs than are searched within a build.
    untried : tuple of str
        Arrays without a string of their own: no wire or switch of theirs limits the voltage yet.
    """

    arrays: tuple[ArrayChoice, ...]
    ways: tuple[Placing, ...]
    left_out: tuple[Missing, ...]
    asked: tuple[str, ...] = ()
    too_large: bool = False
    untried: tuple[str, ...] = ()

    @property
    def assumptions(self) -> tuple[Assumed, ...]:
        """What the wire, loss and year of ways that are not built rest on; none where no way has them."""
        items = [item for choice in self.arrays for item in choice.ranked]
        wired = any(item.wire_m is not None or item.loss_w is not None for item in items)
        yearly = any(item.year is not None for item in items)
        return (*((_WIRE,) if wired or yearly else ()), *((_MODULES,) if yearly else ()))


_WIRE = Assumed(
    "stringing.wire",
    "wire of each string in a way that is not built: as long and thick as that of the array's strings today on average, and losing as much in the year",
    "our own simplification",
)
_MODULES = Assumed(
    "stringing.modules",
    "year of each module in a way that is not built: that of the array's modules today on average",
    "our own simplification",
)
#: Behind the id of an array, the id of its trial string; no id of a folder holds a slash.
_TRIAL = "/trial"


def with_trials(project: Project) -> Project | None:
    """The project with a string of one module in each array that has none; None where all have one.

    What one module does in the cold is asked of a string; an owner who has none yet shall get an answer too.
    """
    taken = {str(part.array) for string in project.strings.values() for part in project.parts_of(string)}
    added = {
        f"{key}{_TRIAL}": String.model_validate({"array": key, "count": "1"})
        for key, array in project.arrays.items()
        if key not in taken and array.status != "removed"
    }
    return project.model_copy(update={"strings": {**project.strings, **added}}) if added else None


@dataclass(frozen=True, slots=True)
class _One:
    """One module of an array cold and hot [V], its currents [A], and the lowest ceiling beside the inverter's [V]."""

    cold: float
    hot: float
    short: float
    maximum: float
    operating: float
    ceiling: float


#: Inverter type and letter of the input.
_Kind = tuple[str, str]
#: Input, its inverter, and by array the lengths it takes and how many strings side by side.
_SlotKey = tuple[str, str, tuple[tuple[str, frozenset[int], int], ...]]
_Inputs = dict[_Kind, tuple[Inverter, InverterInput]]
_Watts = tuple[tuple[str, float], ...]
#: What a search is told: cuts by array, the inputs, and powers of modules and inverters. [W]
_Told = tuple[tuple[tuple[str, tuple[Cut, ...]], ...], tuple[_SlotKey, ...], _Watts, _Watts, _Watts]


def design_stringing(
    facts: Facts,
    findings: tuple[Finding, ...],
    years: Mapping[str, ArrayYear] | None = None,
    cache: ArrayCache | None = None,
) -> StringingDesign:
    """Best ways to string the site: all arrays whose modules are known, on the inputs whose limits are stated.

    ``years`` tells what an array yields, where a year was simulated; ``cache`` keeps what the search found.
    """
    kinds, left_out = _inputs(facts)
    inputs = {
        f"{unit}/{letter}": (str(unit), (name, letter))
        for name, letter in kinds
        for unit in facts.project.inverters[name].units
    }
    wired = by_string(facts.circuits)
    choices: list[ArrayChoice] = []
    takes: dict[_Kind, dict[str, frozenset[int]]] = defaultdict(dict)
    abreast: dict[_Kind, dict[str, int]] = defaultdict(dict)
    power: dict[str, float] = {}
    asked: dict[str, None] = {}
    of_array: dict[str, list[StringDesign]] = defaultdict(list)
    for string in facts.strings:
        if len(set(string.arrays)) == 1:
            of_array[string.arrays[0]].append(string)
    ceilings = _ceilings(findings)
    for balance in facts.graph.balances:
        array, standing = balance.array, balance.standing
        # One string of one module type and this array alone tells what a module of it does in the cold and the heat.
        strings = of_array[array]
        one = _one(strings, wired, ceilings) if strings else Missing(f"a string of array {array}")
        if standing is None:
            one = Missing(f"count, or rows and columns, of array {array}")
        if isinstance(one, Missing) or standing is None:
            choices.append(
                ArrayChoice(array, standing or 0, (), (), (one,) if isinstance(one, Missing) else ())
            )
            continue
        power[array] = facts.project.modules[balance.module].power.to("W").value
        for name, (kind, data) in kinds.items():
            takes[name][array] = _lengths(kind, data, one, standing)
            many = abreast[name][array] = _side_by_side(data, one)
            assert data.short_circuit_limit is not None
            if data.short_circuit_basis is None and many * one.maximum > data.short_circuit_limit.value:
                asked |= dict.fromkeys(key for key, (_, of) in inputs.items() if of == name)
        year = (years or {}).get(array)
        choices.append(_choice(facts, array, standing, one, kinds, takes, strings, wired, year))
    searched = {
        choice.array: tuple(item.cut for item in choice.ranked) for choice in choices if not choice.missing
    }
    slots = tuple(
        (key, unit, tuple((array, takes[of][array], abreast[of][array]) for array in searched))
        for key, (unit, of) in inputs.items()
    )
    limits = {
        unit: kind.maximum_pv_power.to("W").value
        for unit, of in inputs.values()
        if (kind := kinds[of][0]).maximum_pv_power is not None
    }
    outputs = {
        unit: kind.ac_power.to("W").value
        for unit, of in inputs.values()
        if (kind := kinds[of][0]).ac_power is not None and kind.ac_power.value > 0
    }
    lengths = len({(array, n) for array, found in searched.items() for cut in found for n, _ in cut.lengths})
    too_large = lengths * len(slots) > MOST_PAIRS
    told = (
        tuple(searched.items()),
        slots,
        tuple(sorted(power.items())),
        tuple(sorted(limits.items())),
        tuple(sorted(outputs.items())),
    )
    ways = () if too_large else _kept_ways(cache, *told)
    untried = tuple(string.id.removesuffix(_TRIAL) for string in facts.strings if string.id.endswith(_TRIAL))
    shown = [choice if choice.missing else _left_behind(choice, ways, slots) for choice in choices]
    return StringingDesign(tuple(shown), ways, left_out, tuple(asked), too_large, untried)


def _left_behind(choice: ArrayChoice, ways: tuple[Placing, ...], slots: tuple[_SlotKey, ...]) -> ArrayChoice:
    """The choice with why cuts that were looked at stand in no way that is shown."""
    taken = {way.chosen[choice.array] for way in ways if choice.array in way.chosen}
    places = [
        (lengths, many)
        for _, _, found in slots
        for array, lengths, many in found
        if array == choice.array and many
    ]
    out, behind = [], []
    for number, item in enumerate(choice.ranked):
        if number in taken:
            continue
        lengths = {length for length, _ in item.cut.lengths}
        room = sum(many for allowed, many in places if lengths & allowed)
        if item.cut.strings > room:
            out.append((words_of(item.cut), f"{item.cut.strings} strings, and the inputs take {room} such"))
        else:
            behind.append(words_of(item.cut))
    if behind and ways:
        out.append(("; ".join(behind), "rank behind the ways shown, or leave another array no input"))
    return replace(choice, out=(*choice.out, *out))


def _kept_ways(cache: ArrayCache | None, *told: *_Told) -> tuple[Placing, ...]:
    """Best ways, from the cache where one is given: a build asks again for the same after each saved file."""
    if cache is None:
        return _ways(*told)
    from reportgen.design.energy_store import kept_plain  # noqa: PLC0415 - numpy

    ranked, slots, *powers = told
    # The text of a set depends on how it came about.
    ordered = [(key, unit, [(a, sorted(n), many) for a, n, many in taken]) for key, unit, taken in slots]
    key = (ranked, ordered, powers)
    return kept_plain(cache, "stringing", tuple[Placing, ...], key, lambda: _ways(*told))


@lru_cache(maxsize=8)
def _ways(
    ranked: tuple[tuple[str, tuple[Cut, ...]], ...],
    slots: tuple[_SlotKey, ...],
    module_w: tuple[tuple[str, float], ...],
    unit_w: tuple[tuple[str, float], ...],
    output_w: tuple[tuple[str, float], ...],
) -> tuple[Placing, ...]:
    """Best ways, best first; remembered, because two states compared mostly ask for the same."""
    cuts_of = dict(ranked)
    places = [
        Slot(key, unit, {a: lengths for a, lengths, _ in taken}, {a: many for a, _, many in taken})
        for key, unit, taken in slots
    ]
    ways: list[Placing] = []
    while cuts_of and len(ways) < SHOWN:
        found = place(cuts_of, places, dict(module_w), dict(unit_w), [way.chosen for way in ways])
        if found is None:
            break
        ways.append(found)
    told = (places, dict(module_w), dict(unit_w), dict(output_w))
    return tuple(balanced(way, *told) for way in ways)


def _inputs(facts: Facts) -> tuple[_Inputs, tuple[Missing, ...]]:
    """Inputs of inverter types whose limits are all stated, and what is missing of the others."""
    found: _Inputs = {}
    missing: list[Missing] = []
    for key, kind in facts.project.inverters.items():
        for letter, data in kind.inputs.items():
            needs = [
                Missing(f"{field} of {where}", part.span)
                for part, where, fields in (
                    (kind, f"inverter type {key}", ("maximum_dc_voltage",)),
                    (
                        data,
                        f"input {letter} of inverter type {key}",
                        ("tracking_from", "short_circuit_limit"),
                    ),
                )
                for field in fields
                if getattr(part, field) is None
            ]
            missing += needs
            if not needs:
                found[key, letter] = (kind, data)
    return found, tuple(dict.fromkeys(missing))


def _ceilings(findings: tuple[Finding, ...]) -> dict[str, float]:
    """Lowest limit of the cold voltage beside the inverter's, by string and circuit [V]."""
    found: dict[str, float] = {}
    for finding in findings:
        if finding.code in _CEILINGS and finding.limit is not None:
            value = finding.limit.to("V").value
            found[finding.subject] = min(value, found.get(finding.subject, value))
    return found


def _one(
    strings: list[StringDesign], wired: Mapping[str, list[CircuitDesign]], ceilings: Mapping[str, float]
) -> _One | Missing:
    string = strings[0]
    values = (
        string.governing,
        string.hot_operating,
        string.lit_short_circuit,
        string.maximum,
        string.operating,
    )
    for value in values:
        if isinstance(value, Missing):
            return value
    count = string.count.value
    if count < 1:
        return Missing(f"a count of string {string.id}")
    cold, hot, short, maximum, operating = (v.value for v in values if isinstance(v, Quantity))
    subjects = [item.id for item in strings]
    subjects += [circuit.id for item in strings for circuit in wired[item.id]]
    ceiling = min((ceilings[key] for key in subjects if key in ceilings), default=float("inf"))
    return _One(cold / count, hot / count, short, maximum, operating, ceiling)


def _limit(kind: Inverter, one: _One) -> float:
    assert kind.maximum_dc_voltage is not None
    return min(kind.maximum_dc_voltage.value, one.ceiling)


def _floor(data: InverterInput) -> float:
    stated = (data.tracking_from, data.start_voltage)
    return max(item.value for item in stated if item is not None)


def _lengths(kind: Inverter, data: InverterInput, one: _One, modules: int) -> frozenset[int]:
    most = most_modules(_limit(kind, one), one.cold)
    fewest = fewest_modules(_floor(data), one.hot) if _floor(data) > 0 else 1
    return frozenset(range(max(1, fewest), min(most, modules) + 1))


def _side_by_side(data: InverterInput, one: _One) -> int:
    """Strings that one input takes: by its connectors, and by its hard limit as the maker means it.

    Where the maker is silent the milder reading is taken, and the input is listed to be asked about.
    """
    assert data.short_circuit_limit is not None
    each = one.maximum if data.short_circuit_basis == "with 1.25" else one.short
    by_limit = int(data.short_circuit_limit.value / each * (1 + 1e-12))
    return max(0, min(int(data.connectors or 1), by_limit, _ABREAST))


def _choice(
    facts: Facts,
    array: str,
    modules: int,
    one: _One,
    inputs: _Inputs,
    takes: Mapping[_Kind, Mapping[str, frozenset[int]]],
    strings: list[StringDesign],
    wired: Mapping[str, list[CircuitDesign]],
    year: ArrayYear | None,
) -> ArrayChoice:
    allowed = frozenset().union(*(takes[key][array] for key in inputs))
    spares = max(1, int(modules * MOST_SPARES.value / 100))
    length, ohm = _run(strings, wired)

    def ranked(cut: Cut) -> RankedCut:
        longest = cut.lengths[0][0]
        limit = max(_limit(kind, one) for key, (kind, _) in inputs.items() if longest in takes[key][array])
        margin = 1 - longest * one.cold / limit
        return RankedCut(
            cut,
            longest * one.cold,
            margin,
            margin < facts.policies.share("voltage_margin"),
            None if length is None else 2 * cut.strings * length,
            None if ohm is None else cut.strings * one.operating**2 * ohm,
            None if year is None else year.of(cut),
        )

    made = sorted((ranked(cut) for cut in cuts(modules, allowed, spares)), key=_order)
    out = _why_not(modules, one, inputs, allowed, spares, made)
    return ArrayChoice(array, modules, tuple(made[:LOOKED_AT]), out)


def _order(item: RankedCut) -> tuple[bool, bool, int, int, float, float]:
    """Order of the page: enough room, strings alike, few conductors, few spares, many kWh, much room."""
    # Of one array as many strings and spares yield the same, but for rows that lose light.
    kwh = item.year.kwh if item.year is not None and item.year.order else 0.0
    return item.thin, not item.cut.alike, item.cut.strings, item.cut.spares, -kwh, -item.margin


def _run(
    strings: list[StringDesign], wired: Mapping[str, list[CircuitDesign]]
) -> tuple[float | None, float | None]:
    """Length one way [m] and resistance out and back [Ω] of one string of the array today, on average."""
    circuits = [circuit for string in strings for circuit in wired[string.id]]
    lengths = [c.length.to("m").value for c in circuits if isinstance(c.length, Quantity)]
    ohms = [c.resistance.value for c in circuits if isinstance(c.resistance, Quantity)]
    whole = bool(circuits) and len(lengths) == len(ohms) == len(circuits)
    return (sum(lengths) / len(lengths), sum(ohms) / len(ohms)) if whole else (None, None)


def _why_not(
    modules: int,
    one: _One,
    inputs: _Inputs,
    allowed: frozenset[int],
    spares: int,
    made: list[RankedCut],
) -> tuple[tuple[str, str], ...]:
    if not inputs:
        return ()
    limit = max(_limit(kind, one) for kind, _ in inputs.values())
    floor = min(_floor(data) for _, data in inputs.values())
    found = []
    top = max(allowed, default=0)
    for length in (top + 1, top + 2) if top and top < modules else ():
        cold = length * one.cold
        if cold > limit:
            found.append((f"{length} in series", f"{cold:.1f} V cold, above {limit:.0f} V"))
    low = min(allowed, default=1)
    if low > 1:
        found.append(
            (f"{low - 1} in series", f"{(low - 1) * one.hot:.1f} V in the heat, below {floor:.0f} V")
        )
    for length in sorted(allowed, reverse=True):
        whole, left = divmod(modules, length)
        if whole and left > spares:
            found.append((f"{whole} × {length}", f"leaves {left} modules over, more than {spares}"))
    rest = len(made) - LOOKED_AT
    if rest > 0:
        found.append((f"{rest} further cuts", "rank behind those looked at"))
    return tuple(found)


def words_of(cut: Cut) -> str:
    """A cut in words, as ``5 × 11 + 1 spare``."""
    parts = [f"{count} × {length}" for length, count in cut.lengths]
    if cut.spares:
        parts.append(f"{cut.spares} spare")
    return " + ".join(parts)


def dimmed_words(strings: tuple[tuple[int, int], ...]) -> str:
    """Dimmed modules of all modules of each string, as ``0 of 12, 12 of 12``."""
    return ", ".join(f"{dim} of {full + dim}" for full, dim in strings)
