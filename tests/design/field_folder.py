"""An invented folder with any number of strings: each with a switch and a pull box on its way, on some inverters."""

from __future__ import annotations

LETTERS = "ABCDEFGHIJ"

BASE = """
project: {title: Meadow, building: no building}
site: {record_low: -29 degC, mean_annual_minimum: -24 degC, design_high: 33 degC, ground_temperature: 25 degC}
modules:
  A400: {power: 400 W, open_circuit_voltage: 37.1 V, operating_voltage: 31 V, short_circuit_current: 13.79 A,
         operating_current: 12.9 A, voltage_coefficient: -0.27 %/degC, current_coefficient: 0.05 %/degC,
         power_coefficient: -0.35 %/degC, cells_in_series: 54, connector: Larkspur LC4}
cables: {W: {markings: [THWN-2], voltage: 600 V}}
arrays: {T: {module: A400, count: 300, tilt: 35 deg, azimuth: 180 deg}}
raceways:
  R:
    starts_at: T
    ends_at: BOX
    segments:
      riser: {kind: PVC-80, size: 3, length: 8 ft, place: outdoors, bends: [90 deg], bends_made: factory elbows}
      trench: {kind: PVC-40, size: 3, length: 180 ft, place: underground, bends: [90 deg], bends_made: factory elbows}
boxes: {PULL: {kind: pull box, units: {BOX: }}}
"""


def folder(strings: int, inverters: int, *, switches: bool = True, more: str = "") -> dict[str, bytes]:
    """Strings dealt out over the inverters in turn, each to an input of its own; a ground for all."""
    units = [f"INV-{number}" for number in range(1, inverters + 1)]
    names = [f"S{number}" for number in range(1, strings + 1)]
    at = {name: (units[i % inverters], LETTERS[i // inverters]) for i, name in enumerate(names)}
    lines = [BASE, "inverters:", "  H:"]
    lines.append(f"    units: {{{', '.join(f'{unit}: {{}}' for unit in units)}}}")
    lines += ["    maximum_dc_voltage: 500 V", "    pv_legs: floating"]
    lines.append("    terminals: {torque: 1.2 N·m, strip_length: 12 mm, ferrule: allowed}")
    lines.append(f"    inputs: {{{', '.join(f'{letter}: {{}}' for letter in LETTERS)}}}")
    lines.append("strings:")
    lines += [
        f"  {name}: {{array: T, count: 11, input: {unit}/{letter}}}" for name, (unit, letter) in at.items()
    ]
    lines.append("circuits:")
    for name in names:
        passed = f"[BOX, SW-{name}]" if switches else "[]"
        inside = f" in_devices: [{{device: SW-{name}, arrives: 2 ft, leaves: 3 ft}}]," if switches else ""
        end = 7 if switches else 12
        lines.append(
            f"  PV-{name}: {{string: {name}, cable: W, size: 10 AWG, path: [R], enclosures: {passed},{inside}"
            f" tails: {{start: 14 ft, end: {end} ft}}, positive_colour: red, negative_colour: black}}"
        )
    lines.append("  EG: {kind: ground, cable: W, size: 10 AWG, path: [R], tails: {start: 14 ft, end: 12 ft}}")
    if switches:
        lines += ["switches:", "  K:", f"    units: {{{', '.join(f'SW-{name}: {{}}' for name in names)}}}"]
        lines += ["    line: [L1, L2]", "    load: [T1, T2]", "    joined: [[L1, T1], [L2, T2]]"]
        lines += ["    terminals: {strip_length: 11 mm}", "landing:"]
        lines += [
            f"  SW-{name}: {{L1: PV-{name}+, T1: {unit}/{letter}+, L2: PV-{name}-, T2: {unit}/{letter}-}}"
            for name, (unit, letter) in at.items()
        ]
    return {"meadow.yaml": ("\n".join(lines) + "\n" + more).encode()}
