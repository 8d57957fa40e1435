"""An invented yard: any number of strings on inverters of six inputs, one raceway, a pull box, a switch a string."""

from __future__ import annotations

from reportgen.design.assemble import Design, assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

_HEAD = """
project: {title: Yard, building: no building}
site: {record_low: -12 degC, mean_annual_minimum: -8 degC, design_high: 30 degC}
modules:
  A400: {power: 400 W, open_circuit_voltage: 37.1 V, operating_voltage: 31 V, short_circuit_current: 13.79 A,
         operating_current: 12.9 A, voltage_coefficient: -0.27 %/degC, power_coefficient: -0.35 %/degC, cells_in_series: 54}
cables: {W: {markings: [THWN-2], voltage: 600 V}}
boxes: {PB: {kind: pull box, units: {PB-1: }}}
"""


def folder(count: int, *, alike: bool = False, long: str = "", landed: bool = True) -> dict[str, bytes]:
    """Files with so many strings; unlike ones have tails of their own; ``long`` stands in every id."""
    inverters = -(-count // 6)
    units = ", ".join(f"INV{long}-{n}: " for n in range(1, inverters + 1))
    switches = ", ".join(f"SW{long}-{n}: " for n in range(1, count + 1))
    parts = [
        _HEAD,
        f"inverters: {{H: {{maximum_dc_voltage: 600 V, ac_power: 12 kW, units: {{{units}}}, "
        f"inputs: {{{', '.join(f'{one}: {{usable_current: 16 A}}' for one in 'ABCDEF')}}}}}}}",
        f"arrays: {{T{long}: {{module: A400, rows: {count}, columns: 10}}}}",
        f"switches: {{K: {{units: {{{switches}}}, line: [L1, L2], load: [T1, T2], joined: [[L1, T1], [L2, T2]], "
        "ratings: [{poles_in_series: 1, voltage: 600 V}], rated_current: 25 A, load_break: yes}}",
        f"raceways: {{R1: {{starts_at: T{long}, ends_at: INV{long}-1, segments: {{riser: {{kind: PVC-80, size: '4', "
        "length: 2 m, place: outdoors}, trench: {kind: PVC-40, size: '4', length: 60 m, place: underground, ends_at: PB-1}, "
        "wall: {kind: EMT, size: '4', length: 4 m, place: outdoors}}}}",
        "strings:",
    ]
    numbers = range(1, count + 1)
    inputs = {n: f"INV{long}-{(n - 1) // 6 + 1}/{'ABCDEF'[(n - 1) % 6]}" for n in numbers}
    parts += [
        f"  S{long}-{n}: {{array: T{long}, count: 10, positions: 'row {n}, columns 1-10', input: {inputs[n]}}}"
        for n in numbers
    ]
    parts.append("circuits:")
    parts += [
        f"  PV{long}-{n}: {{string: S{long}-{n}, cable: W, size: 10 AWG, path: [R1], enclosures: [PB-1, SW{long}-{n}], "
        f"tails: {{start: {5 if alike else 5 + n} m, end: 3 m}}, connector: Larkspur LC4}}"
        for n in numbers
    ]
    parts.append("  EG-1: {kind: ground, cable: W, size: 10 AWG, path: [R1], tails: {start: 2 m, end: 1 m}}")
    if landed:
        parts.append("landing:")
        parts += [
            f"  SW{long}-{n}: {{L1: PV{long}-{n}+, T1: {inputs[n]}+, L2: PV{long}-{n}-, T2: {inputs[n]}-}}"
            for n in numbers
        ]
    return {"yard.yaml": "\n".join(parts).encode()}


def designed(files: dict[str, bytes]) -> Design:
    """Design of a folder."""
    project = load_project(files)
    return assemble(project, load(str(project.project.rulebook)), "t" * 64)
