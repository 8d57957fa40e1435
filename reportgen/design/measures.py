"""What a design comes to in a dozen figures, so that whole designs can stand side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial

from reportgen.design.assemble import Design
from reportgen.design.findings import Outcome
from reportgen.design.missing import Known, Missing, derive, known
from reportgen.rulebook.rulebook import OutsideTable, quantity_of
from reportgen.working.quantity import Assumed, Quantity, work

#: Density of annealed copper [g/cm³].
_DENSITY = Quantity(
    8.89,
    "",
    Assumed("copper.density", "density of annealed copper in g/cm³", "IEC 60028, recalled"),
    "density of copper",
)


@dataclass(frozen=True, slots=True)
class Measure:
    """One figure of a whole design.

    Parameters
    ----------
    key, title : str
        Stable name, and the words of a page.
    value : Quantity, Missing or None
        None where the figure does not apply.
    unit : str
        Unit to print in; "" for counts.
    places : int
        Decimal places on a page.
    band : str
        How far the figure may lie from what will be, where that is known; "" elsewhere.
    """

    key: str
    title: str
    value: Known | None
    unit: str = ""
    places: int = 0
    band: str = ""


def measures_of(design: Design) -> tuple[Measure, ...]:
    """Figures of a design in a fixed order.

    A sum or a worst value is known only where every part of it is.
    """
    facts = design.facts
    wires = facts.circuits
    return (
        Measure("strings", "Strings", _count(len(facts.strings))),
        Measure("modules", "Most modules in series", _most([item.count for item in facts.strings])),
        Measure(
            "cold", "Highest voltage in the cold", _most([item.governing for item in facts.strings]), "V", 1
        ),
        Measure(
            "current", "Highest current of a string", _most([item.maximum for item in facts.strings]), "A", 2
        ),
        Measure("carrying", "Current-carrying conductors in the fullest stretch", _most_carrying(design)),
        Measure("fill", "Highest fill of a stretch", _most([item.fill for item in facts.stretches]), "%", 1),
        Measure("wire", "One-way length of all home runs", _sum([item.length for item in wires]), "m", 0),
        Measure("legs", "Conductor in the home runs, both legs", _legs(design), "m", 0),
        Measure(
            "wire class",
            "Lowest voltage rating of a home run's wire",
            _least([item.insulation_voltage for item in wires]),
            "V",
            0,
        ),
        Measure(
            "input class",
            "Lowest voltage limit of an inverter in use",
            _least(_inverter_limits(design)),
            "V",
            0,
        ),
        Measure("drop", "Worst voltage drop", _most([item.drop_share for item in wires]), "%", 2),
        Measure("loss", "Loss in the wires in full sun", _sum([item.loss for item in wires]), "W", 0),
        Measure("copper", "Copper in the home runs", _copper(design), "kg", 1),
        Measure("cost", f"Materials [{facts.materials.currency}]", facts.materials.total, "", 0),
        *_energy(design),
        *(
            Measure(str(outcome), f"Findings: {outcome}", _count(len(design.of(outcome))))
            for outcome in (Outcome.FAILS, Outcome.UNKNOWN, Outcome.ASK, Outcome.THIN)
        ),
    )


def _copper(design: Design) -> Known | None:
    """Mass of the copper in both legs of every home run; unknown where a length or a size is, none without copper."""
    masses: list[Known] = []
    for item in design.facts.circuits:
        if item.material != "copper":
            continue
        try:
            mils = quantity_of(design.rulebook.circular_mils(str(item.circuit.size)), "cross-section")
        except OutsideTable as outside:
            masses.append(
                Missing(f"cross-section of {item.circuit.size}: {outside}", item.circuit.where("size"))
            )
            continue
        legs = Quantity(2.0 * int(item.circuit.parallel or 1), "")
        masses.append(derive(partial(_mass, item.id, legs, mils), item.length))
    return _sum(masses)


def _legs(design: Design) -> Known | None:
    """Length of all conductors of the home runs; unknown where one length is."""
    return _sum(
        [
            derive(partial(_both, item.id, Quantity(2.0 * int(item.circuit.parallel or 1), "")), item.length)
            for item in design.facts.circuits
        ]
    )


def _both(circuit: str, legs: Quantity, length: Quantity) -> Quantity:
    return work(f"conductor of {circuit}", "m", "n * L", n=legs, L=length.to("m"))


def _inverter_limits(design: Design) -> list[Known]:
    """Highest voltage that each inverter with a string withstands."""
    kinds = {item.unit: item.inverter for item in design.facts.inputs if item.strings}
    return [
        known(
            kind.maximum_dc_voltage if kind is not None else None,
            f"maximum_dc_voltage of the inverter type of {unit}",
            kind.span if kind is not None else None,
        )
        for unit, kind in kinds.items()
    ]


def _mass(circuit: str, legs: Quantity, section: Quantity, length: Quantity) -> Quantity:
    # square millimetres times metres are cubic centimetres
    terms = {"n": legs, "A": section.to("mm2"), "L": length.to("m"), "rho": _DENSITY}
    return work(f"copper of {circuit}", "kg", "n * A * L * rho / 1000", **terms)


def _energy(design: Design) -> Iterable[Measure]:
    titles = (("ac", "Output in a typical year"), ("lost", "Lost in the wires in a typical year"))
    share = ("lost share", "Lost in the wires, of the energy of the modules")
    energy = design.energy
    if energy is None or energy.year is None:
        missing = energy.missing[0] if energy is not None and energy.missing else None
        yield from (Measure(key, title, missing, "kWh") for key, title in titles)
        yield Measure(*share, missing, "%", 2)
        return
    year = energy.year
    if year.upper_bound:
        source = design.project.site.weather
        bound = Missing(
            "monthly_irradiation of the weather of site, or a weather file: of a clear sky alone only an upper bound is known",
            source.span if source is not None else None,
        )
        yield from (Measure(key, title, bound, "kWh") for key, title in titles)
        yield Measure(*share, bound, "%", 2)
        return
    assert energy.output_kwh is not None
    output, wasted = titles
    yield Measure(*output, Quantity(energy.output_kwh, "kWh"), "kWh", 0, year.band.around)
    yield Measure(*wasted, Quantity(year.wire_kwh, "kWh"), "kWh")
    lost = Quantity(100 * year.wire_kwh / year.dc_kwh, "%") if year.dc_kwh > 0 else None
    yield Measure(*share, lost, "%", 2)


def _count(number: int) -> Quantity:
    return Quantity(float(number), "")


def _most_carrying(design: Design) -> Known | None:
    numbers = [item.carrying for item in design.facts.stretches]
    return _count(max(numbers)) if numbers else None


def _most(values: list[Known]) -> Known | None:
    return _folded(values, lambda numbers: max(numbers))


def _least(values: list[Known]) -> Known | None:
    return _folded(values, lambda numbers: min(numbers))


def _sum(values: list[Known]) -> Known | None:
    return _folded(values, sum)


def _folded(values: list[Known], fold: Callable[[list[float]], float]) -> Known | None:
    """A figure over all values; the first that is missing where one is, None where there are none."""
    known = [value for value in values if isinstance(value, Quantity)]
    if len(known) < len(values):
        return next(value for value in values if isinstance(value, Missing))
    return Quantity(fold([value.value for value in known]), known[0].unit) if known else None
