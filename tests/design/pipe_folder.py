"""A small invented folder with one pipe, written so that a test changes what it is about and nothing else."""

from __future__ import annotations

HEAD = """
project:
  title: Pipe trial
  rulebook: {edition}
  building: no building
site: {{record_low: {low}, design_high: 38 degC, ground_temperature: 20 degC}}
modules:
  A400: {{power: 400 W, open_circuit_voltage: 37.1 V, operating_voltage: 31.0 V, short_circuit_current: 13.79 A,
         operating_current: 12.90 A, voltage_coefficient: -0.27 %/degC, maximum_system_voltage: 1500 V}}
inverters:
  H6K:
    units: {{I1: {{}}}}
    maximum_dc_voltage: 500 V
    inputs: {{{inputs}}}
    terminals: {terminals}
cables:
  WIRE: {wire}
  EARTH: {{markings: [THWN-2], voltage: 600 V}}
arrays:
  T1: {{module: A400, count: {count}}}
strings:
{strings}
raceways:
  R1:
    starts_at: T1
    ends_at: I1
    {raceway}
    segments:
{segments}
circuits:
{circuits}
{more}
"""


def folder(
    segments: str,
    strings: int = 1,
    size: str = "10 AWG",
    ground: str | None = "10 AWG",
    wire: str = "{markings: [THWN-2], voltage: 600 V}",
    edition: str = "nec2023",
    raceway: str = "status: new",
    modules: int = 10,
    enclosures: str = "",
    more: str = "",
    terminals: str = "{temperature: 75 degC}",
    low: str = "-24 degC",
    path: str = "R1",
    circuits: str | None = None,
) -> dict[str, bytes]:
    """Files of a folder: ``strings`` strings of one wire in pipe ``R1``, with a ground beside them."""
    ids = range(1, strings + 1)
    lines = [
        f"  C{n}: {{string: S{n}, cable: WIRE, size: {size}, path: [{path}], enclosures: [{enclosures}], extra: 0 m, tails: {{start: 1 m, end: 1 m}}}}"
        for n in ids
    ]
    if circuits is not None:
        lines = [circuits]
    if ground:
        lines.append(f"  G1: {{kind: ground, cable: EARTH, size: {ground}, path: [{path}]}}")
    text = HEAD.format(
        edition=edition,
        low=low,
        inputs=", ".join(f"{n}: {{}}" for n in ids),
        terminals=terminals,
        wire=wire,
        count=modules * max(strings, 1),
        strings="\n".join(f"  S{n}: {{array: T1, count: {modules}, input: I1/{n}}}" for n in ids) or "  {}",
        raceway=raceway,
        segments="\n".join(f"      {line}" for line in segments.strip().splitlines()),
        circuits="\n".join(lines) or "  {}",
        more=more,
    )
    return {"all.yaml": text.encode()}


def found(made, identity):
    """The one finding of an id."""
    return next(item for item in made.findings if item.id == identity)


def outcome(made, identity) -> str:
    """How the finding of an id ended."""
    return str(found(made, identity).outcome)
