"""What a fuzzer may throw anything at: each either gives a result or refuses it in words, and nothing else.

Used by the property tests of the same names and, with coverage as a guide, by ``guided.py``.
"""

from __future__ import annotations

import numpy as np

from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.diagnostics.model import InputRefused
from reportgen.diagnostics.text import excerpts, render
from reportgen.engineering.energy.weather import WeatherProblem, parse_weather
from reportgen.project.load import load_project


def folder(files: dict[str, bytes]) -> None:
    """A folder becomes a project, or is refused with codes that can be explained and messages that can be printed."""
    try:
        load_project(files)
    except InputRefused as error:
        refused = error.diagnostics
    else:
        return
    assert refused
    assert all(item.code in CATALOGUE for item in refused)
    assert render(refused, excerpts(files), form="full", color=False, prefix="", width=80)


def weather(data: bytes) -> None:
    """A file becomes a whole year of finite, plausible hours, or is refused with a reason and one thing to do."""
    year = problem = None
    try:
        year = parse_weather("w", data)
    except WeatherProblem as error:
        problem = error
    if year is None:
        assert problem is not None and problem.reason and problem.help
        return
    for values in (year.ghi, year.dni, year.dhi, year.temp_air, year.wind):
        assert np.isfinite(values).all()
        assert len(values) == len(year.mid)
    assert len(year.mid) * year.hours == 8760
    assert min(year.ghi.min(), year.dni.min(), year.dhi.min(), year.wind.min()) >= 0.0
    assert -90.0 <= year.latitude <= 90.0
    assert -180.0 <= year.longitude <= 180.0
