"""Folders of one raceway with what is pulled through it, written out for the tests of pulls and cuts."""

from __future__ import annotations

#: Masses of 10, 8 and 6 AWG as the scenarios give them.
MASSES = (
    "{size: 10 AWG, mass: 0.040 lb/ft}, {size: 8 AWG, mass: 0.065 lb/ft}, {size: 6 AWG, mass: 0.103 lb/ft}"
)
STOCK = "friction_lubricated: 0.35, friction_dry: 0.5, weight_correction: 1.4, sidewall_limit: 300 lbf/ft, line_rating: 600 lbf"


def folder(
    segments: str,
    strings: int = 3,
    size: str = "10 AWG",
    ground: str = "10 AWG",
    stock: str = STOCK,
    masses: str = MASSES,
    tails: str = "{start: 14 ft, end: 12 ft}",
    raceway: str = "",
    extra: str = "",
    units: str = "imperial",
) -> dict[str, bytes]:
    """One raceway from array to inverter with the pairs of some strings and a ground."""
    letters = "ABCDEFGHIJKLMNOPQRSTUVWX"[:strings]
    text = f"""
project: {{title: T, building: no building, units: {units}}}
site: {{place: P, record_low: -29 degC, mean_annual_minimum: -24 degC, design_high: 33 degC, ground_temperature: 25 degC}}
modules:
  A400: {{power: 400 W, open_circuit_voltage: 37.1 V, operating_voltage: 31 V, short_circuit_current: 13.79 A, operating_current: 12.9 A, voltage_coefficient: -0.27 %/degC, operating_voltage_coefficient: -0.34 %/degC}}
inverters:
  H: {{units: {{I1: {{}}}}, inputs: {{{", ".join(f"{a}: {{}}" for a in letters)}}}}}
cables:
  W: {{markings: [THWN-2], voltage: 600 V, sizes: [{masses}]}}
arrays:
  A1: {{module: A400, count: {11 * strings}}}
strings:
{"".join(f"  S{n}: {{array: A1, count: 11, input: I1/{a}}}" + chr(10) for n, a in enumerate(letters, 1))}
raceways:
  R1:
    starts_at: A1
    ends_at: I1
    {raceway}
    segments:
{segments}
circuits:
{"".join(f"  P{n}: {{string: S{n}, cable: W, size: {size}, path: [R1], tails: {tails}, positive_colour: red, negative_colour: black}}" + chr(10) for n in range(1, strings + 1))}
  G: {{kind: ground, cable: W, size: {ground}, path: [R1], tails: {tails}}}
stock: {{{stock}}}
{extra}
"""
    return {"a.yaml": text.encode()}


#: 180 ft of trench, risers of 8 ft, an elbow of 8.25 in (an arc of 12.959 in = 1.0799 ft) at the foot of each.
RIDGE = """
      riser: {kind: PVC-80, size: 1-1/2, length: 9.0799 ft, place: outdoors, bends: [{angle: 90 deg, at: 8.54 ft}], bend_radius: 8.25 in}
      trench: {kind: PVC-40, size: 1-1/2, length: 180 ft, place: underground, bends: []}
      riser-2: {kind: PVC-80, size: 1-1/2, length: 9.0799 ft, place: outdoors, bends: [{angle: 90 deg, at: 0.53995 ft}], bend_radius: 8.25 in}
"""
#: 222 ft with risers of 4 ft, elbows of 7.25 in (an arc of 11.388 in = 0.949 ft).
ORCHARD = """
      riser: {kind: PVC-80, size: 1-1/4, length: 4.949 ft, place: outdoors, bends: [{angle: 90 deg, at: 4.4745 ft}], bend_radius: 7.25 in}
      trench: {kind: PVC-40, size: 1-1/4, length: 222 ft, place: underground, bends: []}
      riser-2: {kind: PVC-80, size: 1-1/4, length: 4.949 ft, place: outdoors, bends: [{angle: 90 deg, at: 0.4745 ft}], bend_radius: 7.25 in}
"""
