"""What a voltmeter shows at every inverter input for wires landed on the terminals of a switch or box.

With the device closed, two terminals are one node where the maker joins them or a jumper does. A string is a source
between the nodes of its two legs; what an input reads is the voltage between the nodes of its two poles. So a
reversed pair, exchanged strings and two legs of one sign on one input are found by following wires, not by looking at
a drawing. Terminals are plain names; which device they belong to is the caller's.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from reportgen.working.quantity import Quantity, work

#: Share of a voltage by which two ways round may differ and still agree: rounding of a computer alone.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, order=True)
class Pole:
    """One pole of a string or of an input, written ``S1+``.

    Parameters
    ----------
    of : str
        Id of the string or input.
    sign : str
        ``+`` or ``-``.
    """

    of: str
    sign: str

    def __post_init__(self) -> None:
        if self.sign not in {"+", "-"}:
            msg = f"sign {self.sign!r} of a pole of {self.of}"
            raise ValueError(msg)

    def __str__(self) -> str:
        return f"{self.of}{self.sign}"


class Case(StrEnum):
    """What stands behind a predicted reading."""

    RIGHT = "its own string, right way round"
    REVERSED = "its own string, reversed"
    OTHER = "another string"
    OTHER_REVERSED = "another string, reversed"
    SERIES = "strings in series"
    FLOATING = "no closed way between the two poles"
    OPEN = "a pole without any string"
    SHORTED = "a string in short circuit"
    PARALLEL = "unlike strings in parallel"


@dataclass(frozen=True, slots=True)
class InputReading:
    """Predicted reading at one input.

    Parameters
    ----------
    input : str
        Id of the input.
    case : Case
        What it reads.
    voltage : Quantity or None
        Red lead on the pole marked +. Zero and unstable where nothing closes the way; None where it cannot be
        predicted. [V]
    strings : tuple of str
        Strings between the poles, or in the fault.
    legs : tuple of str
        Legs on the input's positive and on its negative pole, for instance ``S1+``.
    """

    input: str
    case: Case
    voltage: Quantity | None
    strings: tuple[str, ...]
    legs: tuple[str, ...]


def connected_sets(
    joined: Iterable[tuple[str, str]], jumpers: Iterable[tuple[str, str]] = (), *, closed: bool = True
) -> tuple[frozenset[str], ...]:
    """Terminals that are one node, each set once, sorted; two of one set beep.

    Parameters
    ----------
    joined : iterable of (str, str)
        Pairs that closing the switch connects.
    jumpers : iterable of (str, str)
        Pairs that a link connects for good.
    closed : bool
        False for the open switch, whose terminals stand alone but for jumpers.

    Examples
    --------
    >>> [sorted(found) for found in connected_sets([("L1", "T1"), ("L2", "T2")], [("T1", "L2")])]
    [['L1', 'L2', 'T1', 'T2']]
    """
    poles = list(joined)
    nodes: dict[str, set[str]] = {}
    for pair in [*poles, *jumpers]:
        for terminal in pair:
            nodes.setdefault(terminal, {terminal})
    for one, two in [*(poles if closed else []), *jumpers]:
        if nodes[one] is not nodes[two]:
            nodes[one] |= nodes[two]
            for terminal in nodes[two]:
                nodes[terminal] = nodes[one]
    return tuple(sorted({frozenset(found) for found in nodes.values()}, key=sorted))


def correct_landing(
    joined: Iterable[tuple[str, str]],
    jumpers: Iterable[tuple[str, str]],
    strings: Mapping[str, Pole],
    wanted: Mapping[Pole, Pole],
    load: Sequence[str],
) -> dict[str, Pole | None]:
    """Input pole that belongs on every load terminal, in the terminals' order.

    None where no leg arrives, or legs that are meant for different poles.

    Parameters
    ----------
    joined, jumpers : iterable of (str, str)
        Of the device.
    strings : mapping of str to Pole
        Leg by line terminal.
    wanted : mapping of Pole to Pole
        Input pole that each leg shall reach.
    load : sequence of str
        Load terminals as the installer sees them, left to right.

    Examples
    --------
    >>> legs = {"L1": Pole("S1", "+"), "L2": Pole("S1", "-")}
    >>> inputs = {Pole("S1", "+"): Pole("A", "+"), Pole("S1", "-"): Pole("A", "-")}
    >>> found = correct_landing([("L1", "T1"), ("L2", "T2")], [], legs, inputs, ["T2", "T1"])
    >>> {terminal: str(pole) for terminal, pole in found.items()}
    {'T2': 'A-', 'T1': 'A+'}
    """
    node = _nodes(connected_sets(joined, jumpers), [*strings, *load])
    arriving: dict[str, list[Pole]] = defaultdict(list)
    for terminal, leg in strings.items():
        arriving[node[terminal]].append(leg)
    found: dict[str, Pole | None] = {}
    for terminal in load:
        meant = {wanted.get(leg) for leg in arriving[node[terminal]]}
        found[terminal] = meant.pop() if len(meant) == 1 else None
    return found


def straight_across(
    line: Sequence[str], load: Sequence[str], strings: Mapping[str, Pole], wanted: Mapping[Pole, Pole]
) -> dict[str, Pole]:
    """Input poles by load terminal for someone who lands each wire right below its leg.

    Parameters
    ----------
    line, load : sequence of str
        Terminals of the two sides as the installer sees them, left to right.
    strings : mapping of str to Pole
        Leg by line terminal.
    wanted : mapping of Pole to Pole
        Input pole that each leg shall reach.

    Raises
    ------
    ValueError
        If the two sides have unlike numbers of terminals.

    Examples
    --------
    >>> legs = {"L1": Pole("S1", "+"), "L2": Pole("S1", "-")}
    >>> inputs = {Pole("S1", "+"): Pole("A", "+"), Pole("S1", "-"): Pole("A", "-")}
    >>> {terminal: str(pole) for terminal, pole in straight_across(["L1", "L2"], ["T2", "T1"], legs, inputs).items()}
    {'T2': 'A+', 'T1': 'A-'}
    """
    if len(line) != len(load):
        msg = f"{len(line)} terminals above and {len(load)} below"
        raise ValueError(msg)
    return {
        below: wanted[strings[above]]
        for above, below in zip(line, load, strict=True)
        if above in strings and strings[above] in wanted
    }


def predicted_readings(
    joined: Iterable[tuple[str, str]],
    jumpers: Iterable[tuple[str, str]],
    strings: Mapping[str, Pole],
    inputs: Mapping[str, Pole],
    voltages: Mapping[str, Quantity],
    own: Mapping[str, tuple[str, ...]],
) -> tuple[InputReading, ...]:
    """What a voltmeter shows at every input with the device closed and the inverter off.

    Parameters
    ----------
    joined, jumpers : iterable of (str, str)
        Of the device; both may be empty where legs land at the input directly.
    strings : mapping of str to Pole
        Leg of a string by terminal.
    inputs : mapping of str to Pole
        Pole of an input by terminal.
    voltages : mapping of str to Quantity
        Open-circuit voltage by string at the time of reading; without that of a string its readings stay None. [V]
    own : mapping of str to tuple of str
        Strings that each input shall get: one, or several in parallel.

    Returns
    -------
    tuple of InputReading
        In the order in which inputs first appear.

    Notes
    -----
    Strings are taken as sources without inner resistance: a reading is predicted only where no current flows. A
    string in short circuit and unlike strings in parallel are named wherever an input touches them.

    Examples
    --------
    >>> legs = {"L1": Pole("S1", "+"), "L2": Pole("S1", "-")}
    >>> ends = {"T1": Pole("A", "-"), "T2": Pole("A", "+")}
    >>> volts = {"S1": Quantity(400.0, "V")}
    >>> found = predicted_readings([("L1", "T1"), ("L2", "T2")], [], legs, ends, volts, {"A": ("S1",)})
    >>> found[0].case.value, found[0].voltage.value
    ('its own string, reversed', -400.0)
    """
    node = _nodes(connected_sets(joined, jumpers), [*strings, *inputs])
    field = _Field({leg: node[terminal] for terminal, leg in strings.items()}, voltages)
    places: dict[str, dict[str, str]] = {}
    for terminal, pole in inputs.items():
        places.setdefault(pole.of, {})[pole.sign] = node[terminal]
    return tuple(_reading(key, ends, field, own.get(key, ())) for key, ends in places.items())


def _nodes(sets: Iterable[frozenset[str]], terminals: Iterable[str]) -> dict[str, str]:
    """Name of the node of every terminal; one that is joined to nothing is its own."""
    node = {terminal: terminal for terminal in terminals}
    for found in sets:
        name = min(found)
        node.update(dict.fromkeys(found, name))
    return node


class _Field:
    """Nodes with the strings between them: what is in series, in parallel, or short-circuited."""

    def __init__(self, place: Mapping[Pole, str], voltages: Mapping[str, Quantity]) -> None:
        self.place, self.voltages = place, voltages
        self.legs: dict[str, list[Pole]] = defaultdict(list)
        for leg, name in place.items():
            self.legs[name].append(leg)
        whole = [pole.of for pole in place if pole.sign == "+" and Pole(pole.of, "-") in place]
        self.ends = {key: (place[Pole(key, "+")], place[Pole(key, "-")]) for key in whole}

    def way(self, start: str, goal: str) -> list[tuple[str, int]] | None:
        """Strings from one node to another with the sign that each is passed in; None where there is no way."""
        came: dict[str, list[tuple[str, int]]] = {start: []}
        queue = [start]
        for name in queue:
            for key, (plus, minus) in self.ends.items():
                for there, beyond, sign in ((plus, minus, 1), (minus, plus, -1)):
                    if there == name and beyond not in came:
                        came[beyond] = [*came[name], (key, sign)]
                        queue.append(beyond)
        return came.get(goal)

    def touched(self, start: str) -> set[str]:
        """Strings that a closed way leads to from a node, at either leg."""
        return {key for key, (plus, _) in self.ends.items() if self.way(start, plus) is not None}

    def sum(self, way: Sequence[tuple[str, int]]) -> float | None:
        """Voltage along a way [V]; None where that of a string on it is not known."""
        if any(key not in self.voltages for key, _ in way):
            return None
        return sum(sign * self.voltages[key].to("V").value for key, sign in way)


def _reading(key: str, ends: Mapping[str, str], field: _Field, own: tuple[str, ...]) -> InputReading:
    plus, minus = ends.get("+"), ends.get("-")
    legs = tuple(
        str(leg) for name in (plus, minus) if name is not None for leg in sorted(field.legs.get(name, []))
    )
    nothing = Quantity(0.0, "V", None, "nothing drives a voltage")
    if plus is None or minus is None or not field.legs.get(plus) or not field.legs.get(minus):
        return InputReading(key, Case.OPEN, nothing, (), legs)
    touched = sorted(field.touched(plus) | field.touched(minus))
    if shorted := tuple(one for one in touched if field.ends[one][0] == field.ends[one][1]):
        return InputReading(key, Case.SHORTED, None, shorted, legs)
    if fighting := _fighting(field, touched):
        return InputReading(key, Case.PARALLEL, None, fighting, legs)
    way = field.way(plus, minus)
    if plus == minus or way is None:
        return InputReading(key, Case.FLOATING, nothing, (), legs)
    strings = tuple(one for one, _ in way)
    case = _case(strings, way[0][1], own)
    if field.sum(way) is None:
        return InputReading(key, case, None, strings, legs)
    terms = {f"V_{index}": field.voltages[one].to("V") for index, (one, _) in enumerate(way, start=1)}
    signs = ["+" if sign > 0 else "-" for _, sign in way]
    text = " ".join(f"{sign} {term}" for sign, term in zip(signs, terms, strict=True)).removeprefix("+ ")
    text = text.replace("- ", "-", 1) if text.startswith("-") else text
    return InputReading(key, case, work(f"reading at {key}", "V", text, **terms), strings, legs)


def _case(strings: tuple[str, ...], sign: int, own: tuple[str, ...]) -> Case:
    if len(strings) > 1:
        return Case.SERIES
    if strings[0] in own:
        return Case.RIGHT if sign > 0 else Case.REVERSED
    return Case.OTHER if sign > 0 else Case.OTHER_REVERSED


def _fighting(field: _Field, touched: Sequence[str]) -> tuple[str, ...]:
    """Strings that close a loop whose voltages do not cancel."""
    for key in touched:
        plus, minus = field.ends[key]
        others = _Field({leg: name for leg, name in field.place.items() if leg.of != key}, field.voltages)
        way = others.way(plus, minus)
        if way is None:
            continue
        here, round_about = field.sum([(key, 1)]), others.sum(way)
        if here is None or round_about is None:
            continue
        if abs(round_about - here) > _ROUNDING * abs(here):
            return tuple(sorted({key, *(one for one, _ in way)}))
    return ()
