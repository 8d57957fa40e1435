"""What no thing of this world can be: counts of nothing, figures of one data sheet that contradict each other.

These are errors and not findings: a design computed with them would say something about another thing than the one that
stands there. What is merely unusual is left to the findings.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportgen.diagnostics.model import Sink, Span
from reportgen.project.equipment import Switch
from reportgen.project.model import Project
from reportgen.project.nodes import Scalar
from reportgen.project.possible_counts import check_counts
from reportgen.project.possible_plan import check_plan
from reportgen.project.possible_ranges import check_ranges
from reportgen.project.possible_ratings import check_ratings
from reportgen.project.possible_sun import check_sun
from reportgen.project.possible_words import below, place_of, text_of, words_of
from reportgen.project.values import Count, Section
from reportgen.working.quantity import Quantity

_CODE = "impossible-value"
#: Counts of which there is at least one.
_AT_LEAST_ONE = {
    "Module": ("cells_in_series",),
    "Array": ("count", "rows", "columns"),
    "LowerRows": ("rows",),
    "String": ("count",),
    "StringPart": ("count",),
    "VoltageRating": ("poles_in_series",),
    "Circuit": ("parallel", "conductors"),
}
#: Beyond the hottest and coldest air ever measured, +56.7 and -89.2 °C (World Meteorological Organization, recalled). [°C]
_AIR_C = (-90.0, 57.0)
#: Coefficients that fall with temperature, and what a data sheet shows.
_FALLING = {
    "voltage_coefficient": "near -0.3 %/degC",
    "operating_voltage_coefficient": "near -0.35 %/degC",
    "power_coefficient": "near -0.35 %/degC",
}
#: What a coefficient is a share of, the smallest and greatest size that any cell has [%/°C], and where units slip.
_SIZE = {
    "voltage_coefficient": ("open_circuit_voltage", 0.1, 1.0),
    "operating_voltage_coefficient": ("operating_voltage", 0.1, 1.2),
    "power_coefficient": ("", 0.1, 1.2),
}


def check_possible(project: Project, sink: Sink) -> None:
    """Report values that are impossible alone or beside each other, each with its place.

    Parameters
    ----------
    project : Project
        Typed, its references checked.
    sink : Sink
        Receives the diagnostics.
    """
    sections = tuple(_sections(project))
    check_ranges(sections, sink)
    for section in sections:
        for field in _AT_LEAST_ONE.get(type(section).__name__, ()):
            _at_least_one(section, field, sink)
    for key, module in project.modules.items():
        owner = f"module type `{key}`"
        for field, usual in _FALLING.items():
            _falling(module, field, usual, owner, sink)
            _sized(module, field, usual, owner, sink)
        below(
            module,
            "operating_voltage",
            "open_circuit_voltage",
            owner,
            "Vmp is usually near 80 % of Voc",
            sink,
        )
        below(
            module,
            "operating_current",
            "short_circuit_current",
            owner,
            "Imp is usually near 95 % of Isc",
            sink,
        )
    for key, switch in project.switches.items():
        _ordered(switch, f"switch type `{key}`", sink)
        _paired(switch, "joined", f"switch type `{key}`", sink, alone=True)
    check_counts(project, sink)
    check_ratings(project, sink)
    for unit, pairs in project.jumpers.items():
        _pairs(
            pairs,
            f"jumper of `{unit}`",
            project.where("jumpers", str(unit)),
            sink,
        )
    _one_terminal(project, sink)
    _both_ends(project, sink)
    _both_ways(project, sink)
    cold, usual, hot = "record_low", "mean_annual_minimum", "design_high"
    below(project.site, cold, usual, "`site`", "the record is the coldest of all years", sink, or_equal=True)
    for low in (cold, usual):
        below(project.site, low, hot, "`site`", "check the signs", sink)
    for field in (cold, usual, hot):
        _on_earth(project.site, field, sink)
    check_sun(project, sink)
    check_plan(project, sink)


def _on_earth(site: Section, field: str, sink: Sink) -> None:
    value = getattr(site, field)
    if isinstance(value, Quantity) and not _AIR_C[0] <= value.to("degC").value <= _AIR_C[1]:
        sink.error(
            _CODE,
            f"{words_of(field)} `{text_of(value)}` of `site` is an air temperature that was never measured anywhere",
            place_of(site, field, value),
            help="look whether degF and degC are exchanged",
        )


def _sections(thing: object) -> Iterator[Section]:
    """A section and every section below it."""
    if isinstance(thing, Section):
        yield thing
        for field in type(thing).model_fields:
            yield from _sections(getattr(thing, field))
    elif isinstance(thing, dict):
        for value in thing.values():
            yield from _sections(value)
    elif isinstance(thing, list):
        for value in thing:
            yield from _sections(value)


def _at_least_one(section: Section, field: str, sink: Sink) -> None:
    value = getattr(section, field)
    if isinstance(value, Count) and value < 1:
        help = "write how many there are, or remove the entry"
        sink.error(_CODE, f"{words_of(field)} `{int(value)}` is less than one", value.span, help=help)


def _sized(section: Section, field: str, usual: str, owner: str, sink: Sink) -> None:
    """Refuse a coefficient that no cell has: a thousandth of it, written in the wrong unit, makes every frost harmless."""
    of, least, most = _SIZE[field]
    value, whole = getattr(section, field), getattr(section, of) if of else None
    if not isinstance(value, Quantity) or value.value >= 0:
        # A rising one is told apart; one of zero is left to the findings, where nothing is judged by it.
        return
    percent = -value.value
    if value.unit != "%/degC":
        if not isinstance(whole, Quantity) or whole.value <= 0:
            return
        percent = -100 * value.value / whole.value
    if not least <= percent <= most:
        shown = "" if value.unit == "%/degC" else f", {-percent:.2g} %/°C,"
        message = f"{words_of(field)} `{text_of(value)}` of {owner}{shown} is {'less' if percent < least else 'more'} than any cell has"
        sample = f", or {-0.003 * whole.value * 1000:.0f} mV/degC" if isinstance(whole, Quantity) else ""
        help = f"data sheets show {usual}{sample} for this module; check the unit and the point"
        sink.error(_CODE, message, place_of(section, field, value), help=help)


def _ordered(switch: Switch, owner: str, sink: Sink) -> None:
    """Refuse a terminal that stands twice in the order of a device."""
    seen: set[str] = set()
    for field in ("line", "load"):
        for terminal in map(str, getattr(switch, field)):
            if terminal in seen:
                help = "write each terminal once, as the installer sees them; data sheets number them on a front view"
                message = f"terminal `{terminal}` of {owner} stands twice in its order"
                sink.error(_CODE, message, switch.where(field), help=help)
            seen.add(terminal)


def _one_terminal(project: Project, sink: Sink) -> None:
    """Refuse a leg of a string on two terminals of its one switch: a wire has one end there.

    On two of several switches it stands for what comes in and what goes on to the next.
    """
    legs = {f"{key}{sign}" for key, circuit in project.circuits.items() if circuit.string for sign in "+-"}
    switched = {str(unit) for switch in project.switches.values() for unit in switch.units}
    devices: dict[str, set[str]] = {}
    for unit, wires in project.landing.items():
        for end in wires.values():
            devices.setdefault(str(end), set()).add(str(unit))
    for unit, wires in project.landing.items():
        seen: dict[str, str] = {}
        for terminal, end in wires.items() if str(unit) in switched else ():
            wire = str(end)
            if wire in legs and wire in seen and len(devices[wire]) == 1:
                place = project.where("landing", str(unit), str(terminal))
                message = f"wire `{wire}` is landed on `{seen[wire]}` and on `{terminal}` of `{unit}`"
                sink.error(
                    _CODE,
                    message,
                    place,
                    help="a wire has one end at a device; write links between terminals under `jumpers`",
                    related=[(project.where("landing", str(unit), seen[wire]), "landed here first")],
                )
            seen.setdefault(wire, str(terminal))


def _both_ends(project: Project, sink: Sink) -> None:
    """Refuse a string of which one end alone is landed on a switch or an inverter: no current leaves by one wire."""
    landed = {
        str(end): (str(unit), str(terminal))
        for unit, wires in project.landing.items()
        for terminal, end in wires.items()
    }
    boxes = {str(unit) for box in project.boxes.values() for unit in box.units}
    for key, circuit in project.circuits.items():
        if circuit.kind != "string" or circuit.status == "removed":
            continue
        many = int(circuit.parallel or 1)
        suffixes = [""] if many == 1 else [f".{number}" for number in range(1, many + 1)]
        found = {
            sign: [wire for suffix in suffixes if (wire := f"{key}{sign}{suffix}") in landed] for sign in "+-"
        }
        for sign, other, word in (("+", "-", "positive"), ("-", "+", "negative")):
            there = next((wire for wire in found[other] if landed[wire][0] not in boxes), None)
            if found[sign] or there is None:
                continue
            unit, terminal = landed[there]
            wire = f"{key}{sign}{suffixes[0]}"
            what = f"string `{circuit.string}`" if circuit.string else f"circuit `{key}`"
            message = (
                f"{what} has no {word} end: `{there}` is landed on `{unit}/{terminal}`, `{wire}` nowhere"
            )
            help = f"land `{wire}` too; switches and inverters show terminals for both poles of a string"
            sink.error(_CODE, message, project.where("landing", unit, terminal), help=help)


def _both_ways(project: Project, sink: Sink) -> None:
    """Refuse a wire from device to device that is landed at one of its ends alone, or on one device twice."""
    devices = {
        str(unit)
        for kinds in (project.switches, project.boxes)
        for kind in kinds.values()
        for unit in kind.units
    }
    for unit, wires in project.landing.items():
        for terminal, end in wires.items():
            other, stroke, there = str(end).partition("/")
            if not stroke or other not in devices:
                continue
            here, place = f"{unit}/{terminal}", project.where("landing", str(unit), str(terminal))
            if other == str(unit):
                help = "write links between terminals of one device under `jumpers`"
                sink.error(_CODE, f"`{here}` is landed on `{end}` of the same device", place, help=help)
                continue
            back = next((str(e) for t, e in project.landing.get(other, {}).items() if str(t) == there), None)
            if back != here:
                told = f"where `{back}` is landed" if back else "where nothing is landed"
                message = f"the wire from `{here}` goes to `{end}`, {told}"
                help = f"a wire between devices stands at both ends: `{there}: {here}` under `{other}`"
                sink.error(_CODE, message, place, help=help)


def _paired(section: Section, field: str, owner: str, sink: Sink, *, alone: bool) -> None:
    """Pairs of two terminals; ``alone`` where a terminal can be in one pair only."""
    pairs = getattr(section, field)
    _pairs(pairs, f"joined pair of {owner}", section.where(field), sink)
    taken: set[str] = set()
    for pair in pairs:
        for terminal in pair:
            if alone and str(terminal) in taken:
                help = "data sheets draw each pole as one line between two terminals; outside links belong under `jumpers`"
                place = terminal.span if isinstance(terminal, Scalar) else section.where(field)
                sink.error(_CODE, f"terminal `{terminal}` of {owner} is joined twice", place, help=help)
            taken.add(str(terminal))


def _pairs(pairs: Sequence[Sequence[object]], what: str, place: Span, sink: Sink) -> None:
    for pair in pairs:
        if len(pair) != 2 or str(pair[0]) == str(pair[1]):
            shown = ", ".join(map(str, pair)) or "nothing"
            spot = next((item.span for item in pair if isinstance(item, Scalar)), place)
            help = "write two terminals, for instance `[L1, T1]`"
            sink.error(_CODE, f"{what} holds {shown}, not two terminals", spot, help=help)


def _falling(section: Section, field: str, usual: str, owner: str, sink: Sink) -> None:
    value = getattr(section, field)
    if isinstance(value, Quantity) and value.value > 0:
        message = f"{words_of(field)} `{text_of(value)}` of {owner} rises with temperature"
        help = f"data sheets show {usual}; check the sign"
        sink.error(_CODE, message, place_of(section, field, value), help=help)
