"""How long a large folder takes to read and to validate; run with ``--benchmark-only``."""

from __future__ import annotations

from pytest_benchmark.fixture import BenchmarkFixture

from reportgen.project.load import load_project

MODULES = 1000
LINES = "project: {title: Barn}\nsite: {}\nmodules:\n" + "".join(
    f"""\
  M{number}:
    power: 410 W
    open_circuit_voltage: 49.4 V
    operating_voltage: 40.4 V
    short_circuit_current: 10.6 A
    operating_current: 10.1 A
    voltage_coefficient: -0.27 %/degC
"""
    for number in range(MODULES)
)


def test_seven_thousand_lines(benchmark: BenchmarkFixture) -> None:
    assert LINES.count("\n") == 7 * MODULES + 3
    project = benchmark(load_project, {"a.yaml": LINES.encode()})
    assert len(project.modules) == MODULES
