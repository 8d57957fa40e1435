"""Fuzzing with coverage as a guide, from the sample's files and the heads of weather files; not collected by the tests.

Run by hand, and by ``.ci/long`` where atheris can be installed::

    python tests/fuzz/guided.py alone -max_total_time=60 -rss_limit_mb=1500
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import atheris

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "engineering" / "energy")]

with atheris.instrument_imports(include=["reportgen"]):
    import targets
    import weather_files

    import reportgen.engineering.energy.weather_checks
    import reportgen.engineering.energy.weather_formats  # noqa: F401 - lazily imported else, and then without a guide

SAMPLE = {
    path.name: path.read_bytes()
    for path in (HERE.parents[1] / "sample_project").iterdir()
    if path.suffix in {".yaml", ".pdf"}
}
_LINES = 30  # of a weather file: its head and some hours


def folder(data: bytes) -> None:
    """The input as a file beside the sample's, which hold whatever it refers to."""
    targets.folder({**SAMPLE, "extra.yaml": data})


def alone(data: bytes) -> None:
    """The input as the only file."""
    targets.folder({"a.yaml": data})


def seeds(target: str) -> list[bytes]:
    """What the fuzzer begins with."""
    if target != "weather":
        return [data for name, data in SAMPLE.items() if name.endswith(".yaml")]
    from reportgen.engineering.energy.weather import SHIPPED, parse_weather, shipped_weather

    year = parse_weather("year", shipped_weather(SHIPPED[0]))
    whole = [shipped_weather(name) for name in SHIPPED]
    whole += [str(write(year)).encode() for write in (weather_files.epw, weather_files.nsrdb)]
    return [b"\n".join(data.split(b"\n")[:_LINES]) for data in whole]


if __name__ == "__main__":
    name = sys.argv.pop(1)
    corpus = Path(tempfile.mkdtemp())
    for number, data in enumerate(seeds(name)):
        (corpus / str(number)).write_bytes(data)
    atheris.Setup(
        [*sys.argv, str(corpus)], {"folder": folder, "alone": alone, "weather": targets.weather}[name]
    )
    atheris.Fuzz()
