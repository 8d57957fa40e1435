"""Years of weather and modules that the energy tests share."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from reportgen.engineering.energy.inputs import (
    InputSpec,
    InverterSpec,
    Options,
    Orientation,
    Site,
    StringSpec,
    Wire,
)
from reportgen.engineering.energy.module import SheetModule
from reportgen.engineering.energy.weather import SHIPPED, WeatherYear, parse_weather, shipped_weather

ALPHA = 0.00323

# pytest imports each test file on its own; the writers of weather files beside them are a plain module
sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session")
def shipped() -> dict[str, WeatherYear]:
    """The three typical years that ship with pvlib."""
    return {name: parse_weather(name, shipped_weather(name)) for name in SHIPPED}


@pytest.fixture(scope="session")
def greensboro(shipped: dict[str, WeatherYear]) -> WeatherYear:
    return shipped["723170TYA.CSV"]


@pytest.fixture(scope="session")
def sheet() -> SheetModule:
    """An invented module of 400 W."""
    return SheetModule(
        400.0, 49.2, 10.47, 41.0, 9.76, 0.0052, -0.133, 72, gamma_pmp=-0.35, noct_c=45.0, area_m2=1.95
    )


class Plant:
    """A small plant whose parts a test exchanges one by one."""

    def __init__(self, weather: WeatherYear, sheet: SheetModule) -> None:
        self.weather = weather
        self.site = Site(36.1, -79.95)
        self.modules = {"M": sheet}
        self.orientations = [
            Orientation("south", 20.0, 180.0),
            Orientation("east", 30.0, 140.0),
            Orientation("west", 30.0, 225.0),
        ]
        self.strings = [
            StringSpec("1", "a", "south", "M", 10, (Wire("home run 1", 0.9, ALPHA),)),
            StringSpec("2", "b", "east", "M", 12, (Wire("home run 2", 0.7, ALPHA),)),
            StringSpec("3", "b", "east", "M", 12, (Wire("home run 3", 0.8, ALPHA),)),
            StringSpec("4", "c", "west", "M", 7, (Wire("home run 4", 0.5, ALPHA),)),
            StringSpec("5", "c", "west", "M", 7, (Wire("home run 5", 0.5, ALPHA),)),
        ]
        self.inputs = [InputSpec(name, "inverter", 150.0, 520.0, 120.0, 25.0) for name in "abc"]
        self.inverters = [InverterSpec("inverter", 14000.0, 0.965, 2.0)]
        self.options = Options()

    def run(self):
        from reportgen.engineering.energy.year import run_year

        return run_year(
            self.weather,
            self.site,
            self.orientations,
            self.modules,
            self.strings,
            self.inputs,
            self.inverters,
            self.options,
        )

    def one_string(self, ohm: float, count: int = 7, strings: int = 1):
        """The plant reduced to equal strings on one input, nothing limiting them."""
        self.strings = [
            StringSpec(f"s{k}", "a", "south", "M", count, (Wire(f"w{k}", ohm, ALPHA),))
            for k in range(strings)
        ]
        self.inputs = [InputSpec("a", "inverter")]
        self.inverters = [InverterSpec("inverter", efficiency=1.0)]
        return self


@pytest.fixture
def plant(greensboro: WeatherYear, sheet: SheetModule) -> Plant:
    return Plant(greensboro, sheet)


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20)
