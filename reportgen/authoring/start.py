"""First files of a project folder: from a few answers, or one of the worked examples.

What is not known is not made up: it is left out, with the line to write as a comment beside it, and the findings of
the new folder say what is still to fill in. The values of the module hold a place and are marked so; nothing is
judged by them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files as package_files
from itertools import cycle

from reportgen.authoring.schema import modeline
from reportgen.design.data_sheets import INPUT, INVERTER, MODULE, SWITCH, Need

#: Folders shipped with the package, simplest first, each with what it shows.
EXAMPLES: Mapping[str, str] = {
    "two-strings": "two strings of one table in a short new pipe; nothing fails",
    "crowded-pipe": "eight strings in an old pipe that is too small for them; the fill fails, and says by how much",
    "long-run": "four strings far from the house, in feet; the drop is over the target, two pull points",
}
GITIGNORE = "binder/\nstatus.json\n.reportgen/\n"
#: Text with line feeds everywhere, so that the same folder has the same digest on every machine.
GITATTRIBUTES = (
    "* text=auto\n*.yaml text eol=lf\n*.csv text eol=lf\n*.pdf binary\n*.jpg binary\n*.png binary\n"
)

_KINDS = "EMT|IMC|RMC|PVC-40|PVC-80|ENT|FMC|LFMC|LFNC-A|LFNC-B|HDPE"
_PIPE = re.compile(
    rf"(?P<kind>{_KINDS})\s+(?P<size>\d(?:-\d/\d)?|\d/\d)\s+(?P<length>\d+(?:\.\d+)?\s*(?:m|ft))"
)
_ARRAY = re.compile(r"(?P<id>[A-Za-z][A-Za-z0-9_-]{0,20})=(?P<rows>[1-9]\d{0,2})x(?P<columns>[1-9]\d{0,2})")
_INVERTER = re.compile(r"(?P<id>[A-Za-z][A-Za-z0-9_-]{0,20})=(?P<inputs>[1-9])")


class BadAnswer(ValueError):
    """An answer that cannot be used; its text says what is wanted."""


@dataclass(frozen=True, slots=True)
class ArrayAnswer:
    """One array: id, rows, columns."""

    id: str
    rows: int
    columns: int


@dataclass(frozen=True, slots=True)
class Answers:
    """What a new folder is made from.

    Parameters
    ----------
    place : str
        Name of the place.
    latitude, longitude : float or None
        Degrees, north and east positive; None where not known yet.
    arrays : tuple of ArrayAnswer
        One string a row is proposed.
    inverters : tuple of (str, int)
        Unit id and number of inputs.
    pipe : tuple of str
        Kind, trade size and length of the shared pipe, as typed.
    imperial : bool
        Whether comments and printed units are in feet and Fahrenheit.
    """

    place: str
    latitude: float | None
    longitude: float | None
    arrays: tuple[ArrayAnswer, ...]
    inverters: tuple[tuple[str, int], ...]
    pipe: tuple[str, str, str]
    imperial: bool = False


def arrays_of(text: str) -> tuple[ArrayAnswer, ...]:
    """Arrays as answered, for instance ``EAST=2x12, WEST=1x10``.

    Raises
    ------
    BadAnswer
        If a part is not of that form, or an id stands twice.
    """
    found = []
    for part in _parts(text):
        match = _ARRAY.fullmatch(part)
        if match is None:
            msg = f"`{part}` is no array; write NAME=ROWSxCOLUMNS, for instance EAST=2x12"
            raise BadAnswer(msg)
        found.append(ArrayAnswer(match["id"], int(match["rows"]), int(match["columns"])))
    _apart([item.id for item in found])
    return tuple(found)


def inverters_of(text: str) -> tuple[tuple[str, int], ...]:
    """Inverters as answered, for instance ``INV-1=2, INV-2=3``.

    Raises
    ------
    BadAnswer
        If a part is not of that form, or an id stands twice.
    """
    found = []
    for part in _parts(text):
        match = _INVERTER.fullmatch(part)
        if match is None:
            msg = f"`{part}` is no inverter; write NAME=INPUTS, for instance INV-1=2"
            raise BadAnswer(msg)
        found.append((match["id"], int(match["inputs"])))
    _apart([item[0] for item in found])
    return tuple(found)


def pipe_of(text: str) -> tuple[str, str, str]:
    """Pipe as answered, for instance ``PVC-40 1-1/2 64 m``.

    Raises
    ------
    BadAnswer
        If the text is not of that form.
    """
    match = _PIPE.fullmatch(text.strip())
    if match is None:
        msg = f"`{text}` is no pipe; write kind, trade size and length, for instance PVC-40 1-1/2 64 m"
        raise BadAnswer(msg)
    return match["kind"], match["size"], match["length"]


def degrees_of(text: str) -> float | None:
    """Latitude or longitude as answered; None where left empty.

    Raises
    ------
    BadAnswer
        If the text is no number of degrees.
    """
    word = text.strip().removesuffix("deg").removesuffix("°").strip()
    if not word:
        return None
    if not re.fullmatch(r"-?\d{1,3}(\.\d+)?", word) or abs(float(word)) > 180:
        msg = f"`{text}` is no number of degrees; write for instance 36.1, or -79.9 for west"
        raise BadAnswer(msg)
    return float(word)


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _apart(ids: list[str]) -> None:
    for name in ids:
        if ids.count(name) > 1:
            msg = f"`{name}` stands twice; give each an id of its own"
            raise BadAnswer(msg)


def new_folder(answers: Answers) -> dict[str, str]:
    """Files of a new folder by name."""
    made = {
        "project.yaml": _project(answers),
        "site.yaml": _site(answers),
        "equipment.yaml": _equipment(answers),
        "arrays.yaml": _arrays(answers),
        "raceways.yaml": _raceways(answers),
        "circuits.yaml": _circuits(answers),
    }
    return {name: f"{modeline()}\n{text}" for name, text in made.items()} | _beside()


def example(name: str) -> dict[str, str]:
    """Files of a worked example by name."""
    folder = package_files("reportgen") / "examples" / name
    texts = {
        item.name: item.read_text(encoding="utf-8")
        for item in folder.iterdir()
        if item.name.endswith(".yaml")
    }
    return dict(sorted(texts.items())) | _beside()


def _beside() -> dict[str, str]:
    return {".gitignore": GITIGNORE, ".gitattributes": GITATTRIBUTES}


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _project(answers: Answers) -> str:
    units = "imperial" if answers.imperial else "metric"
    return f"""\
# Who, what, and by which rules. Every value of this folder carries its unit; `reportgen schema --units` lists them.
project:
  title: {_quoted(answers.place + ", restringing")}
  revision: A
  # date: 2026-04-18            # date of this revision, year-month-day
  # address: where the electrician has to drive to
  # scope: what is new, what is reused, what is removed
  people:
    - {{name: to be named, role: owner and installer}}
  rulebook: nec2023
  # building: no building       # or: dwelling, other building; decides the voltage limit of the place
  units: {units}
  # questions:
  #   - A question that only the authority can answer is printed on the first page.
"""


def _site(answers: Answers) -> str:
    low, mean, high, soil = (
        ("-8 degF", "7 degF", "97 degF", "82 degF")
        if answers.imperial
        else (
            "-22 degC",
            "-14 degC",
            "36 degC",
            "28 degC",
        )
    )
    latitude = "# latitude: 36.1 deg" if answers.latitude is None else f"latitude: {answers.latitude:g} deg"
    longitude = (
        "# longitude: -79.9 deg" if answers.longitude is None else f"longitude: {answers.longitude:g} deg"
    )
    elevation = "880 ft" if answers.imperial else "270 m"
    return f"""\
# The coldest morning decides how many modules go in series, the hottest afternoon how large the wire is.
# Take the temperatures from a weather station near you and say which; take a `#` away to fill a line in.
site:
  place: {_quoted(answers.place)}
  {latitude}          # north positive
  {longitude}        # east positive, so the Americas are negative
  # elevation: {elevation}
  # utc_offset: -5              # hours ahead of UTC in standard time
  # record_low: {low}         # lowest air temperature on record
  # mean_annual_minimum: {mean}
  # design_high: {high}
  # ground_temperature: {soil}  # soil at the depth of the pipe, in summer
  # temperatures_from: name of the station and years of its record
  # weather:
  #   shipped: 723170TYA.CSV    # a typical year inside pvlib; better: `file:` with the year of your own place
"""


def _needs(needs: tuple[Need, ...], indent: str) -> str:
    return "\n".join(f"{indent}# {need.key}:   # look for “{need.line}” ({need.used_for})" for need in needs)


def _equipment(answers: Answers) -> str:
    units = "\n".join(_inverter(name, inputs) for name, inputs in answers.inverters)
    return f"""\
# Equipment as its data sheets state it. `reportgen find module WORD…` and `reportgen find inverter WORD…` search a
# library; what you type yourself from the paper is as good.
modules:
  M1:
    # These five hold the place of your module's values. Type yours, then take the line `placeholder` out:
    # until then no verdict rests on them.
    placeholder: yes
    power: 400 W
    open_circuit_voltage: 40 V
    operating_voltage: 33.3 V
    short_circuit_current: 12.8 A
    operating_current: 12 A
{_needs(MODULE, "    ")}
    # source: data sheet and page

inverters:
{units}

# A switch lists its terminals as the installer sees them; the landing section then says what goes where.
# switches:
#   K1:
#     units: {{SW-1: {{place: beside the inverter}}}}
#     line: [L1, L2]
#     load: [T1, T2]
#     joined: [[L1, T1], [L2, T2]]
{_needs(SWITCH, "#     ")}

cables:
  W1:
    material: copper
    markings: [THWN-2]          # the letters printed on the jacket
    # voltage: 600 V            # printed on the jacket too
    # source: where you read it
"""


def _inverter(name: str, inputs: int) -> str:
    letters = "ABCDEFGHI"[:inputs]
    wanted = _needs(INPUT, "        ")
    listed = "\n".join(f"      {letter}: {{}}" for letter in letters[1:])
    rest = f"\n{listed}" if listed else ""
    return f"""\
  {name}-type:
    units:
      {name}: {{}}                # where it stands: {{place: "garage, north wall", inside: yes}}
{_needs(INVERTER, "    ")}
    inputs:                     # by the letters or numbers printed on the device, each with its own limits
      {letters[0]}: {{}}
{wanted}{rest}"""


def _strings(answers: Answers) -> list[tuple[str, ArrayAnswer, int, str | None]]:
    """Id, array, row and input of each proposed string: one a row, inputs dealt out while they last."""
    free = iter([f"{name}/{letter}" for name, inputs in answers.inverters for letter in "ABCDEFGHI"[:inputs]])
    return [
        (f"{array.id}-{row}", array, row, next(free, None))
        for array in answers.arrays
        for row in range(1, array.rows + 1)
    ]


def _arrays(answers: Answers) -> str:
    stands = "\n".join(
        f"  {array.id}: {{module: M1, rows: {array.rows}, columns: {array.columns}, mounting: ground table}}"
        for array in answers.arrays
    )
    lines = []
    for key, array, row, address in _strings(answers):
        positions = f"row {row}, columns 1-{array.columns}"
        end = f", input: {address}" if address else ""
        comment = "" if address else "   # no input is left: add `input: UNIT/INPUT`"
        lines.append(
            f'  {key}: {{array: {array.id}, count: {array.columns}, positions: "{positions}"{end}}}{comment}'
        )
    strings = "\n".join(lines)
    return f"""\
# What stands where. Add to each: tilt: 30 deg, azimuth: 180 deg (north 0, east 90), place, status.
arrays:
{stands}

# One string a row is a proposal. The findings say how many modules in series the inputs allow; modules that belong to
# no string on purpose are counted as `spares` of their array.
strings:
{strings}
"""


def _raceways(answers: Answers) -> str:
    kind, size, length = answers.pipe
    riser = "5 ft" if answers.imperial else "1.5 m"
    heat, cover = ("113 degF", "22 in") if answers.imperial else ("45 degC", "550 mm")
    # One pipe cannot begin at two arrays or end in two inverters: where there are several, only their owner knows the box.
    start = (
        f"starts_at: {answers.arrays[0].id}"
        if len(answers.arrays) == 1
        else "# starts_at: PB-1            # array or box where all wires enter; boxes are listed under `boxes`"
    )
    end = (
        f"ends_at: {answers.inverters[0][0]}"
        if len(answers.inverters) == 1
        else "# ends_at: PB-2              # box before the inverters; a pipe that ends in one of them serves no other"
    )
    return f"""\
# A pipe is a row of stretches: each of one kind, one size, one surrounding. Every stretch is checked by itself, because
# a riser in the sun is hotter and a thick wall is narrower than the trench between them.
raceways:
  R1:
    status: existing            # or: new
    {start}
    {end}
    segments:
      trench: {{kind: {kind}, size: {size}, length: {length}, place: underground}}
      # riser: {{kind: PVC-80, size: {size}, length: {riser}, place: outdoors, ambient: {heat}, sun: yes, bends: [90 deg]}}
      # add every bend in order, [] where it is straight: bends: [90 deg, 30 deg, 30 deg]; depth of the trench: cover: {cover}
"""


def _circuits(answers: Answers) -> str:
    tail = "{start: 20 ft, end: 10 ft}" if answers.imperial else "{start: 6 m, end: 3 m}"
    colours = cycle([("red", "black")])
    wires = []
    for (key, _, _, _), (plus, minus) in zip(_strings(answers), colours, strict=False):
        wires.append(
            f"""\
  PV-{key}:
    string: {key}
    cable: W1
    size: 10 AWG                # a start; the findings say whether it is enough
    path: [R1]                  # in order; R1/trench names one stretch
    # tails: {tail}  # wire outside the pipe, at the array and at the inverter
    positive_colour: {plus}
    negative_colour: {minus}"""
        )
    body = "\n".join(wires)
    return f"""\
# One circuit a string: its two legs run together. Add the ground that runs with them.
circuits:
{body}
  EG-1:
    kind: ground
    cable: W1
    size: 10 AWG
    path: [R1]
"""
