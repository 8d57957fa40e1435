"""A small invented folder with strings on one or several inputs, for tests of overcurrent protection and grounding."""

from __future__ import annotations

HEAD = """
project: {{title: Hedge trial, building: no building, rulebook: {edition}}}
site: {{record_low: -24 degC, design_high: 33 degC, ground_temperature: 30 degC}}
modules:
  M: {{power: {power} W, open_circuit_voltage: 37.1 V, operating_voltage: 31 V, short_circuit_current: {isc},
      operating_current: {imp} A, voltage_coefficient: -0.27 %/degC{module}}}
inverters:
  H:
    units: {{I1: {{}}, I2: {{}}}}
    maximum_dc_voltage: 600 V
    inputs: {{A: {{}}, B: {{}}, C: {{}}, D: {{}}}}
    terminals: {{temperature: 75 degC}}
    {inverter}
cables:
  W: {{markings: [THWN-2], voltage: 600 V}}
  ALU: {{markings: [THWN-2], voltage: 600 V, material: aluminum}}
  PVX: {{markings: [PV wire], voltage: 1000 V}}
arrays:
  T: {{module: M, count: {count}, wiring: {wiring}{array}}}
strings:
{strings}
raceways:
  R1:
    starts_at: T
    ends_at: I1
    segments:
      trench: {{kind: PVC-40, size: "3", length: 60 m, place: underground, ambient: 30 degC}}
      riser: {{kind: PVC-80, size: "3", length: 2 m, place: outdoors, ambient: {riser}}}
circuits:
{circuits}
{more}
"""


def folder(
    inputs: str = "A",
    isc: str = "13.79 A",
    module: str = ", maximum_series_fuse: 25 A",
    inverter: str = "{pv_legs: floating, backfeed_current: 0 A, ground_fault_protection: yes, surge_protection: yes}",
    string: str = "",
    size: str = "10 AWG",
    circuit: str = "",
    ground: str | None = "10 AWG",
    array: str = "",
    riser: str = "33 degC",
    edition: str = "nec2023",
    modules: int = 10,
    more: str = "",
    circuits: str = "",
    path: str = "R1",
    wiring: str = "{cable: PVX, size: 2 AWG, together: 2, temperature: 30 degC}",
) -> dict[str, bytes]:
    """Files of a folder with one string for each letter of ``inputs``: ``AAB`` puts two of them on input A."""
    keys = inverter.strip("{}")
    strings = "\n".join(
        f"  S{n}: {{array: T, count: {modules}, input: I1/{letter}{string}}}"
        for n, letter in enumerate(inputs, start=1)
    )
    lines = [
        f"  C{n}: {{string: S{n}, cable: W, size: {size}, path: [{path}], tails: {{start: 1 m, end: 1 m}}, joint: {{temperature: 75 degC}}{circuit}}}"
        for n in range(1, len(inputs) + 1)
    ]
    if ground:
        lines.append(f"  G1: {{kind: ground, cable: W, size: {ground}, path: [{path}]}}")
    if circuits:
        lines.append(circuits)
    working = round(0.93 * float(isc.removesuffix(" A")), 3)
    text = HEAD.format(
        edition=edition,
        imp=working,
        power=round(31 * working, 2),
        isc=isc,
        module=module,
        inverter="\n    ".join(part.strip() for part in keys.split(",")) if keys else "",
        count=modules * len(inputs),
        array=array,
        wiring=wiring,
        strings=strings,
        riser=riser,
        circuits="\n".join(lines),
        more=more,
    )
    return {"all.yaml": text.encode()}


def fuse(
    rating: str = "25 A", more: str = "voltage: 1000 V, listed_for_pv: yes, breaking_capacity: 30 kA"
) -> str:
    """Section of one fuse type `F`."""
    return f"fuses: {{F: {{rating: {rating}, {more}}}}}" if more else f"fuses: {{F: {{rating: {rating}}}}}"


def found(made, identity):
    """The one finding of an id."""
    return next(item for item in made.findings if item.id == identity)


def outcome(made, identity) -> str:
    """How the finding of an id ended."""
    return str(found(made, identity).outcome)
