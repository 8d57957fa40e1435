"""A small invented folder: like strings that come home in one raceway of a trench and a riser."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from reportgen.design.assemble import Design, assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

A400 = (
    "{power: 400 W, open_circuit_voltage: 37.1 V, operating_voltage: 31 V, short_circuit_current: 13.79 A,"
    " operating_current: 12.9 A, voltage_coefficient: -0.27 %/degC, current_coefficient: 0.05 %/degC,"
    " power_coefficient: -0.29 %/degC, cells_in_series: 54}"
)
B325 = (
    "{power: 325 W, open_circuit_voltage: 40.9 V, operating_voltage: 33.9 V, short_circuit_current: 10.25 A,"
    " operating_current: 9.59 A, voltage_coefficient: -0.29 %/degC, current_coefficient: 0.05 %/degC,"
    " power_coefficient: -0.32 %/degC, cells_in_series: 60}"
)


@dataclass(frozen=True)
class Run:
    """What the tests vary; the defaults are two strings of eleven modules in a dry, short pipe."""

    strings: int = 2
    count: int = 11
    module: str = A400
    size: str = "10 AWG"
    cable: str = "{markings: [THWN-2], voltage: 600 V}"
    segments: str = "trench: {kind: PVC-40, size: 2, length: 100 ft, place: indoors, ambient: 30 degC}"
    tails: str = "{start: 0 ft, end: 0 ft}"
    circuit: str = "joint: {temperature: 75 degC, aluminum: yes}, conductor_temperature: 75 degC"
    terminals: str = "{temperature: 75 degC, aluminum: yes}"
    string: str = ""
    more: str = ""
    policies: str = ""
    edition: str = "nec2023"
    site: str = "record_low: -20 degC, mean_annual_minimum: -15 degC, design_high: 33 degC"

    @property
    def files(self) -> Mapping[str, bytes]:
        """The folder as bytes."""
        ids = range(1, self.strings + 1)
        inputs = ", ".join(f"I{number}: {{}}" for number in ids)
        strings = "".join(
            f"  S{number}: {{array: T, count: {self.count}, input: INV/I{number}{self.string}}}\n"
            for number in ids
        )
        circuits = "".join(
            f"  C{number}: {{string: S{number}, cable: W, size: {self.size}, path: [R], tails: {self.tails},"
            f" {self.circuit}}}\n"
            for number in ids
        )
        segments = "\n      ".join(self.segments.strip().split("\n"))
        policies = f", policies: {{{self.policies}}}" if self.policies else ""
        text = f"""
project: {{title: Test, building: no building, rulebook: {self.edition}{policies}}}
site: {{{self.site}}}
modules: {{M: {self.module}}}
inverters:
  H: {{units: {{INV: }}, maximum_dc_voltage: 600 V, terminals: {self.terminals}, ac_terminals: {self.terminals},
      inputs: {{{inputs}}}}}
cables:
  W: {self.cable}
arrays: {{T: {{module: M, count: {self.strings * self.count}}}}}
strings:
{strings}circuits:
{circuits}{self.more}
raceways:
  R:
    starts_at: T
    ends_at: INV
    segments:
      {segments}
"""
        return {"run.yaml": text.encode()}

    def but(self, **changes: object) -> Run:
        """The same with some of it changed."""
        return replace(self, **changes)  # type: ignore[arg-type]

    @property
    def design(self) -> Design:
        """Everything worked out."""
        project = load_project(self.files)
        return assemble(project, load(str(project.project.rulebook)), "test")


def found(design: Design, identity: str):
    """The finding whose id is, or begins with, the one given."""
    return next(
        finding
        for finding in design.findings
        if finding.id == identity or finding.id.startswith(f"{identity}:")
    )
