"""Ways to cut the arrays into strings and place them on the inverters of the folder, worked out for the pages alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from reportgen.design.array_cuts import (
    ArrayChoice,
    InputKind,
    ceilings_of,
    choice_of,
    lengths_taken,
    one_module,
    side_by_side,
    usable_inputs,
    words_of,
)
from reportgen.design.checks.base import Facts
from reportgen.design.circuits import by_string
from reportgen.design.findings import Finding
from reportgen.design.missing import Missing
from reportgen.design.results import StringDesign
from reportgen.design.stringing_years import ArrayYear
from reportgen.engineering.stringing import Cut, Placing, Slot, balanced, place
from reportgen.project.layout import String
from reportgen.project.model import Project
from reportgen.working.quantity import Assumed

if TYPE_CHECKING:
    from reportgen.engineering.energy.inputs import ArrayCache

#: Ways shown for the whole site.
SHOWN = 5
#: Lengths of arrays times inputs up to which a build searches; 60 inputs and ten arrays stay well below.
MOST_PAIRS = 6000


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
    "wire of each string in a way that is not built: as long, thick and warm as that of the array's strings today on average, and losing as much in the year",
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


#: Input, its inverter, and by array the lengths it takes and how many strings side by side.
_SlotKey = tuple[str, str, tuple[tuple[str, frozenset[int], int], ...]]
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
    kinds, left_out = usable_inputs(facts)
    inputs = {
        f"{unit}/{letter}": (str(unit), (name, letter))
        for name, letter in kinds
        for unit in facts.project.inverters[name].units
    }
    wired = by_string(facts.circuits)
    choices: list[ArrayChoice] = []
    takes: dict[InputKind, dict[str, frozenset[int]]] = defaultdict(dict)
    abreast: dict[InputKind, dict[str, int]] = defaultdict(dict)
    power: dict[str, float] = {}
    asked: dict[str, None] = {}
    of_array: dict[str, list[StringDesign]] = defaultdict(list)
    for string in facts.strings:
        if len(set(string.arrays)) == 1:
            of_array[string.arrays[0]].append(string)
    ceilings = ceilings_of(findings)
    for balance in facts.graph.balances:
        array, standing = balance.array, balance.standing
        # One string of one module type and this array alone tells what a module of it does in the cold and the heat.
        strings = of_array[array]
        one = one_module(strings, wired, ceilings) if strings else Missing(f"a string of array {array}")
        if standing is None:
            one = Missing(f"count, or rows and columns, of array {array}")
        if isinstance(one, Missing) or standing is None:
            choices.append(
                ArrayChoice(array, standing or 0, (), (), (one,) if isinstance(one, Missing) else ())
            )
            continue
        power[array] = facts.project.modules[balance.module].power.to("W").value
        for name, (kind, data) in kinds.items():
            takes[name][array] = lengths_taken(kind, data, one, standing)
            many = abreast[name][array] = side_by_side(data, one)
            assert data.short_circuit_limit is not None
            if data.short_circuit_basis is None and many * one.maximum > data.short_circuit_limit.value:
                asked |= dict.fromkeys(key for key, (_, of) in inputs.items() if of == name)
        year = (years or {}).get(array)
        choices.append(choice_of(facts, array, standing, one, kinds, takes, strings, wired, year))
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
