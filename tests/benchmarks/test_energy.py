"""How long a year takes, as ratios to pvlib's own chain in the same process, how it grows, and what memory it takes.

Processor time, not the clock: other work on the machine must not decide. Nothing here runs on more than one core.

Run with ``pytest tests/benchmarks/test_energy.py --benchmark-enable --benchmark-only``.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from pvlib import location, modelchain, pvsystem

from reportgen.engineering.energy.inputs import (
    InputSpec,
    InverterSpec,
    MemoryCache,
    Orientation,
    Site,
    StringSpec,
    Wire,
)
from reportgen.engineering.energy.module import SheetModule, fit_sheet
from reportgen.engineering.energy.weather import SHIPPED, WeatherYear, parse_weather, shipped_weather
from reportgen.engineering.energy.year import run_year

SHEET = SheetModule(
    400.0, 49.2, 10.47, 41.0, 9.76, 0.0052, -0.133, 72, gamma_pmp=-0.35, noct_c=45.0, area_m2=1.95
)
SITE = Site(36.1, -79.95, 0.2)
PLANES = [Orientation("south", 20, 180), Orientation("east", 30, 140), Orientation("west", 30, 225)]
FIVE = [("south", 10), ("east", 12), ("east", 12), ("west", 7), ("west", 7)]


@pytest.fixture(scope="module")
def year() -> WeatherYear:
    return parse_weather("year", shipped_weather(SHIPPED[0]))


def best_of(function: Callable[[], object], times: int = 3) -> float:
    taken = []
    for _ in range(times):
        begin = time.process_time()
        function()
        taken.append(time.process_time() - begin)
    return min(taken)


def pvlib_chain(year: WeatherYear) -> Callable[[], object]:
    model = fit_sheet(SHEET)
    index = pd.DatetimeIndex(year.mid).tz_localize("Etc/GMT+5")
    frame = pd.DataFrame(
        {
            "ghi": year.ghi,
            "dni": year.dni,
            "dhi": year.dhi,
            "temp_air": year.temp_air,
            "wind_speed": year.wind,
        },
        index=index,
    )
    planes = {plane.id: plane for plane in PLANES}
    arrays = [
        pvsystem.Array(
            pvsystem.FixedMount(planes[plane].tilt_deg, planes[plane].azimuth_deg),
            albedo=0.2,
            module_parameters={
                "alpha_sc": model.alpha, "a_ref": model.thermal, "I_L_ref": model.photocurrent, "I_o_ref": model.saturation,
                "R_sh_ref": model.shunt, "R_s": model.series, "Adjust": 0.0,
            },
            temperature_model_parameters={"noct": 45.0, "module_efficiency": 0.4 / 1.95},
            modules_per_string=count,
        )
        for plane, count in FIVE
    ]  # fmt: skip
    system = pvsystem.PVSystem(arrays, inverter_parameters={"pdc0": 15000.0, "eta_inv_nom": 0.96})
    place = location.Location(year.latitude, year.longitude, "Etc/GMT+5", year.elevation)

    def run() -> object:
        chain = modelchain.ModelChain(
            system, place, transposition_model="perez-driesse", solar_position_method="nrel_numpy", dc_model="cec",
            ac_model="pvwatts", aoi_model="physical", spectral_model="no_loss", temperature_model="noct_sam",
            losses_model="no_loss",
        )  # fmt: skip
        return chain.run_model(frame)

    return run


def plant(strings: int, planes: int, alike: int) -> tuple[list, list, list, list]:
    """Pairs of strings on inputs, four inputs an inverter; so many different lengths of wire."""
    orientations = [Orientation(f"o{k}", 10 + k % 30, 120 + 120 * k / planes) for k in range(planes)]
    specs = [
        StringSpec(
            f"s{k}",
            f"i{k // 2}",
            f"o{(k // 2) % planes}",
            "M",
            10,
            (Wire(f"w{k}", 0.3 + 0.005 * (k % alike), 0.00323),),
        )
        for k in range(strings)
    ]
    inputs = [
        InputSpec(f"i{k}", f"v{k // 4}", 150.0, 600.0, current_limit=25.0) for k in range((strings + 1) // 2)
    ]
    inverters = [InverterSpec(f"v{k}", 50_000.0, 0.96) for k in range((len(inputs) + 3) // 4)]
    return orientations, specs, inputs, inverters


@pytest.mark.filterwarnings(
    "ignore:DatetimeIndex.dayofyear", "ignore:invalid value encountered:RuntimeWarning"
)
@pytest.mark.parametrize(("cached", "most"), [(False, 0.6), (True, 0.2)])
def test_five_strings_against_the_library_chain(benchmark, year, cached, most):
    strings = [
        StringSpec(f"s{k}", f"i{k}", plane, "M", count, (Wire("w", 0.5 + 0.1 * k, 0.00323),))
        for k, (plane, count) in enumerate(FIVE)
    ]
    inputs = [InputSpec(f"i{k}", "v", 100.0, 600.0) for k in range(5)]
    inverters = [InverterSpec("v", 14_400.0, 0.96)]
    cache = MemoryCache() if cached else None

    def run() -> object:
        return run_year(year, SITE, PLANES, {"M": SHEET}, strings, inputs, inverters, cache=cache)

    theirs = pvlib_chain(year)
    run(), theirs()
    ratio = best_of(run, 5) / best_of(theirs, 5)
    benchmark.extra_info["ratio to ModelChain"] = ratio
    benchmark.pedantic(run, rounds=5)
    assert ratio <= most


@pytest.mark.parametrize(
    ("strings", "planes", "alike", "most_s"),
    [(100, 8, 4, 0.15), (100, 8, 10_000, 0.25), (10_000, 40, 2, 0.5)],
    ids=["100 strings in 8 planes", "the same, every wire different", "10 000 strings in 40 planes"],
)
def test_large_plants_with_the_sun_at_hand(benchmark, year, strings, planes, alike, most_s):
    """Budgets hold for two ordinary cores; the one for a hundred different wires is ours, the others are the design's."""
    parts = plant(strings, planes, alike)
    cache = MemoryCache()

    def run() -> object:
        return run_year(year, SITE, parts[0], {"M": SHEET}, *parts[1:], cache=cache)

    run()
    taken = best_of(run, 5)
    benchmark.extra_info["processor time [s]"] = taken
    benchmark.pedantic(run, rounds=3)
    assert taken <= most_s


def test_memory_of_ten_thousand_strings(benchmark):
    """At most 300 MiB for the whole process, libraries and weather included."""
    code = (
        "import resource, sys; sys.path.insert(0, sys.argv[1]); import test_energy as t;"
        "from reportgen.engineering.energy.weather import SHIPPED, parse_weather, shipped_weather;"
        "year = parse_weather('year', shipped_weather(SHIPPED[0])); parts = t.plant(10_000, 40, 2);"
        "t.run_year(year, t.SITE, parts[0], {'M': t.SHEET}, *parts[1:], cache=t.MemoryCache());"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
    )
    command = [sys.executable, "-c", code, str(Path(__file__).parent)]

    def run() -> float:
        return float(subprocess.run(command, capture_output=True, text=True, check=True, timeout=120).stdout)

    mebibytes = benchmark.pedantic(run, rounds=1)
    benchmark.extra_info["peak [MiB]"] = mebibytes
    assert mebibytes < 300.0


def test_time_grows_with_what_is_different(benchmark, year):
    """A hundred times as many equal strings take less than five times as long."""
    cache = MemoryCache()
    few, many = plant(96, 8, 2), plant(9600, 8, 2)

    def run(parts) -> object:
        return run_year(year, SITE, parts[0], {"M": SHEET}, *parts[1:], cache=cache)

    run(few)
    ratio = best_of(lambda: run(many), 3) / best_of(lambda: run(few), 3)
    benchmark.extra_info["ratio"] = ratio
    benchmark.pedantic(run, args=(many,), rounds=3)
    assert ratio < 5.0


def test_one_sheet(benchmark):
    """Less than 20 ms a module."""
    benchmark.pedantic(lambda: fit_sheet.__wrapped__(SHEET), rounds=20)
    assert benchmark.stats.stats.median < 0.020


def test_one_weather_file(benchmark):
    data = shipped_weather(SHIPPED[0])
    benchmark.pedantic(lambda: parse_weather("year", data), rounds=5)
