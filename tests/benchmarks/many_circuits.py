"""A folder of a thousand strings, each with its own circuit, that come home in forty raceways."""

from __future__ import annotations

_HEAD = """project: {title: Many, building: no building}
site: {record_low: -22 degC, mean_annual_minimum: -14 degC, design_high: 36 degC, ground_temperature: 28 degC}
modules:
  M450: {power: 450 W, open_circuit_voltage: 44.1 V, operating_voltage: 36.9 V, short_circuit_current: 12.95 A,
         operating_current: 12.2 A, voltage_coefficient: -0.26 %/degC, current_coefficient: 0.045 %/degC,
         power_coefficient: -0.34 %/degC, cells_in_series: 66, maximum_system_voltage: 1000 V,
         maximum_series_fuse: 25 A}
cables: {W: {markings: [THWN-2], voltage: 600 V}}
"""
_INVERTER = """inverters:
  H:
    maximum_dc_voltage: 600 V
    pv_legs: floating
    backfeed_current: 0 A
    terminals: {temperature: 75 degC}
"""
_INPUT = (
    "{tracking_from: 150 V, tracking_to: 550 V, start_voltage: 180 V, usable_current: 16 A,"
    " short_circuit_limit: 20 A, short_circuit_basis: standard conditions, connectors: 1}"
)
_SEGMENTS = """    segments:
      riser-a: {kind: PVC-80, size: "3", length: 1.5 m, place: outdoors, ambient: 45 degC, bends: [90 deg]}
      trench: {kind: PVC-40, size: "3", length: 46 m, place: underground, cover: 550 mm, bends: [30 deg, 30 deg]}
      riser-b: {kind: PVC-80, size: "3", length: 1.8 m, place: outdoors, ambient: 42 degC, bends: [90 deg]}
      hall: {kind: EMT, size: "3", length: 3.5 m, place: indoors, ambient: 38 degC, bends: [90 deg]}
"""


def many_circuits(circuits: int = 1000, raceways: int = 40) -> dict[str, bytes]:
    """Files of the folder; every raceway has a ground and as many circuits as the others."""
    per = circuits // raceways
    pairs = [(raceway, number) for raceway in range(raceways) for number in range(per)]
    inputs = "".join(f"      A{number}: {_INPUT}\n" for number in range(per))
    units = "".join(f"      INV-{raceway}: {{}}\n" for raceway in range(raceways))
    arrays = "".join(
        f"  T{raceway}: {{module: M450, count: {12 * per}, tilt: 30 deg, azimuth: 180 deg}}\n"
        for raceway in range(raceways)
    )
    strings = "".join(f"  S{r}-{n}: {{array: T{r}, count: 12, input: INV-{r}/A{n}}}\n" for r, n in pairs)
    wires = "".join(
        f"  PV-{r}-{n}: {{string: S{r}-{n}, cable: W, size: 8 AWG, path: [R{r}], tails: {{start: {4 + n} m, end: 3 m}}}}\n"
        for r, n in pairs
    ) + "".join(
        f"  EG-{r}: {{kind: ground, cable: W, size: 10 AWG, path: [R{r}]}}\n" for r in range(raceways)
    )
    pipes = "".join(
        f"  R{r}:\n    starts_at: T{r}\n    ends_at: INV-{r}\n{_SEGMENTS}" for r in range(raceways)
    )
    text = (
        f"{_HEAD}{_INVERTER}    inputs:\n{inputs}    units:\n{units}arrays:\n{arrays}strings:\n{strings}"
        f"circuits:\n{wires}raceways:\n{pipes}"
    )
    return {"many.yaml": text.encode()}
