"""Ways to cut one array into strings: the lengths that the inputs take, the cuts of them in order, and why others fall out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.design.checks.base import Facts
from reportgen.design.findings import Finding
from reportgen.design.missing import Missing
from reportgen.design.results import CircuitDesign, StringDesign
from reportgen.design.stringing_years import ArrayYear, CutYear
from reportgen.engineering.stringing import Cut, cuts
from reportgen.engineering.strings import fewest_modules, most_modules
from reportgen.project.equipment import Inverter, InverterInput
from reportgen.working.quantity import Quantity

#: Cuts of one array that the search looks at.
LOOKED_AT = 12
#: Strings side by side on one input without fuses: with three, two can feed a fault in the third.
_ABREAST = 2
#: Share of an array that may be left over; the page says so. [%]
MOST_SPARES = Quantity(5.0, "%", None, "modules of an array that may be left over")
#: Modules by which strings of a cut are apart and count as unlike; one apart still stands before them.
_UNLIKE = 2
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
        Loss in it at standard conditions with the wire of today, as warm as it is. [W]
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
class OneModule:
    """One module of an array cold and hot [V], its currents [A], and the lowest ceiling beside the inverter's [V]."""

    cold: float
    hot: float
    short: float
    maximum: float
    operating: float
    ceiling: float


#: Inverter type and letter of the input.
InputKind = tuple[str, str]
Inputs = dict[InputKind, tuple[Inverter, InverterInput]]


def usable_inputs(facts: Facts) -> tuple[Inputs, tuple[Missing, ...]]:
    """Inputs of inverter types whose limits are all stated, and what is missing of the others."""
    found: Inputs = {}
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


def ceilings_of(findings: tuple[Finding, ...]) -> dict[str, float]:
    """Lowest limit of the cold voltage beside the inverter's, by string and circuit [V]."""
    found: dict[str, float] = {}
    for finding in findings:
        if finding.code in _CEILINGS and finding.limit is not None:
            value = finding.limit.to("V").value
            found[finding.subject] = min(value, found.get(finding.subject, value))
    return found


def one_module(
    strings: list[StringDesign], wired: Mapping[str, list[CircuitDesign]], ceilings: Mapping[str, float]
) -> OneModule | Missing:
    """What one module does, from strings of its array alone; the first figure of them that is missing."""
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
    return OneModule(cold / count, hot / count, short, maximum, operating, ceiling)


def _limit(kind: Inverter, one: OneModule) -> float:
    assert kind.maximum_dc_voltage is not None
    return min(kind.maximum_dc_voltage.value, one.ceiling)


def _floor(data: InverterInput) -> float:
    stated = (data.tracking_from, data.start_voltage)
    return max(item.value for item in stated if item is not None)


def lengths_taken(kind: Inverter, data: InverterInput, one: OneModule, modules: int) -> frozenset[int]:
    """Numbers of modules in series that an input takes, of so many that there are."""
    most = most_modules(_limit(kind, one), one.cold)
    fewest = fewest_modules(_floor(data), one.hot) if _floor(data) > 0 else 1
    return frozenset(range(max(1, fewest), min(most, modules) + 1))


def side_by_side(data: InverterInput, one: OneModule) -> int:
    """Strings that one input takes: by its connectors, and by its hard limit as the maker means it.

    Where the maker is silent the milder reading is taken, and the input is listed to be asked about.
    """
    assert data.short_circuit_limit is not None
    each = one.maximum if data.short_circuit_basis == "with 1.25" else one.short
    by_limit = int(data.short_circuit_limit.value / each * (1 + 1e-12))
    return max(0, min(int(data.connectors or 1), by_limit, _ABREAST))


def choice_of(
    facts: Facts,
    array: str,
    modules: int,
    one: OneModule,
    inputs: Inputs,
    takes: Mapping[InputKind, Mapping[str, frozenset[int]]],
    strings: list[StringDesign],
    wired: Mapping[str, list[CircuitDesign]],
    year: ArrayYear | None,
) -> ArrayChoice:
    """Cuts of one array into lengths that some input takes, best first, and why others fall out."""
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


def _order(item: RankedCut) -> tuple[bool, int, int, int, float, float]:
    """Order of the page: enough room, strings alike or nearly, few conductors, few spares, many kWh, much room."""
    # Of one array as many strings and spares yield the same, but for rows that lose light.
    kwh = item.year.kwh if item.year is not None and item.year.order else 0.0
    return item.thin, min(item.cut.apart, _UNLIKE), item.cut.strings, item.cut.spares, -kwh, -item.margin


def _run(
    strings: list[StringDesign], wired: Mapping[str, list[CircuitDesign]]
) -> tuple[float | None, float | None]:
    """Length one way [m] and resistance out and back [Ω] of one string of the array today, on average.

    The resistance is that of the conductor schedule, at the temperature that the conductors settle at.
    """
    circuits = [circuit for string in strings for circuit in wired[string.id]]
    lengths = [c.length.to("m").value for c in circuits if isinstance(c.length, Quantity)]
    ohms = [c.loop.value for c in circuits if isinstance(c.loop, Quantity)]
    whole = bool(circuits) and len(lengths) == len(ohms) == len(circuits)
    return (sum(lengths) / len(lengths), sum(ohms) / len(ohms)) if whole else (None, None)


def _why_not(
    modules: int,
    one: OneModule,
    inputs: Inputs,
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
