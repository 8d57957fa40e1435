"""Readers of the weather formats in use, each recognised by its first lines.

The readers keep what the file says: stamps, numbers, holes as not-a-number. Each row knows its line, so that what is
found wrong later can be named. Judging is left to `weather_checks`.
"""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from reportgen.engineering.energy.weather import Array, SourceKind, Stamps, WeatherProblem

MOST_LINES = 400_000
"""A file with more lines is refused before it is taken apart: a year of five-minute rows has 105 120."""
MOST_JSON = 16 * 1024 * 1024
"""Longest JSON that is parsed [byte]; a typical year has about 2 MiB."""
HELP_DOWNLOAD = "download the file again"


@dataclass(frozen=True, slots=True)
class RawWeather:
    """A weather file as written.

    Parameters
    ----------
    stamps : ndarray of datetime64[s], (n,)
        Time stamps in the file's own clock.
    label_min : float
        Minutes from a stamp to the middle of its interval, by the format's convention.
    columns : dict of str to ndarray (n,)
        ``ghi dni dhi`` [W/m²], ``temp_air`` [°C], ``wind`` [m/s], ``snow_depth`` [cm]; absent where the file has none.
    lines : ndarray of intp, (n,)
        Line of the file each row came from, counted from 1.
    latitude, longitude, elevation : float
        [°], [°], [m]
    utc_offset_h : float
        The file's clock less universal time. [h]
    local_offset_h : float
        Local standard time less universal time; differs where the file is in universal time. [h]
    source : str
        For a reader.
    kind : str
        Whether the year is typical or one that happened.
    """

    stamps: Stamps
    label_min: float
    columns: dict[str, Array]
    lines: np.ndarray[tuple[int], np.dtype[np.intp]]
    latitude: float
    longitude: float
    elevation: float
    utc_offset_h: float
    local_offset_h: float
    source: str
    kind: SourceKind


def read(name: str, data: bytes) -> RawWeather:
    """A weather file as written, in whichever known format it is.

    Raises
    ------
    WeatherProblem
        If the format is unknown or a line cannot be read.
    """
    if data.count(b"\n") > MOST_LINES:
        raise WeatherProblem(
            f"`{name}` has more than {MOST_LINES} lines", "give one year in steps of five minutes or more"
        )
    if data.lstrip()[:1] == b"{" and len(data) > MOST_JSON:
        raise WeatherProblem(
            f"`{name}` has more than {MOST_JSON // 1048576} MiB of JSON", "give one typical year"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    lines = text.splitlines()
    while lines and not lines[-1].strip():
        lines.pop()
    if len(lines) < 3 and not _is_satellite_json(lines):
        raise WeatherProblem(f"`{name}` holds no weather", "give a weather file of 8760 hours")
    for matches, reader in _FORMATS:
        if matches(lines):
            try:
                return reader(name, lines)
            except (IndexError, KeyError, ValueError, StopIteration) as error:
                raise WeatherProblem(
                    f"the head of `{name}` cannot be read ({error})", HELP_DOWNLOAD
                ) from error
    raise WeatherProblem(
        f"`{name}` is in no known weather format",
        "give TMY2, TMY3, EPW, a national solar radiation database CSV, or a satellite typical year as CSV or JSON",
    )


def _number(text: str, line: int, what: str) -> float:
    """A field as a number; empty and 'nan' are holes."""
    stripped = text.strip()
    if stripped.lower() in ("", "nan", "na", "null", "none"):
        return float("nan")
    try:
        return float(stripped)
    except ValueError:
        raise WeatherProblem(f"{what} `{stripped[:20]}` is not a number", HELP_DOWNLOAD, line) from None


def _fields(lines: Sequence[str], k: int) -> list[str]:
    """Fields of a line; an open quote ends with its line and swallows no others."""
    try:
        return next(csv.reader([lines[k]]), [])
    except csv.Error:
        raise WeatherProblem("the line is no line of a table", HELP_DOWNLOAD, k + 1) from None


def _rows(lines: Sequence[str], first: int) -> Iterable[list[str]]:
    """Fields of every line from the one numbered ``first``."""
    return (_fields(lines, k) for k in range(first - 1, len(lines)))


def _table(
    rows: Iterable[Sequence[str]], first: int, places: dict[str, int]
) -> tuple[dict[str, Array], Array]:
    """Columns of a table that begins in a line, as numbers, and the line of each row; a row that is too short is refused by line.

    The rows are taken one by one: only the columns in use are ever held.
    """
    width = max(places.values()) + 1
    columns: dict[str, list[float]] = {name: [] for name in places}
    number = first - 1
    for number, row in enumerate(rows, start=first):
        if len(row) < width:
            raise WeatherProblem(f"the line has {len(row)} fields, {width} are needed", HELP_DOWNLOAD, number)
        for name, place in places.items():
            columns[name].append(_number(row[place], number, name.replace("_", " ")))
    numbers = np.arange(first, number + 1, dtype=np.float64)
    return {name: np.array(values, dtype=np.float64) for name, values in columns.items()}, numbers


def _stamps(columns: dict[str, Array], lines: Array, year: Array | None = None) -> Stamps:
    """Time stamps from year, month, day, hour and minute columns; hour 24 is the next day's 0."""
    stamps = np.empty(len(lines), dtype="datetime64[s]")
    years = columns["year"] if year is None else year
    minutes = columns.get("minute", np.zeros(len(lines)))
    for k, (y, m, d, h, n) in enumerate(
        zip(years, columns["month"], columns["day"], columns["hour"], minutes, strict=True)
    ):
        try:
            day = np.datetime64(f"{int(y):04d}-{int(m):02d}-{int(d):02d}", "s")
        except (ValueError, OverflowError):
            raise WeatherProblem("the line has no valid date", HELP_DOWNLOAD, int(lines[k])) from None
        if not (0 <= h <= 24 and 0 <= n <= 60):
            raise WeatherProblem("the line has no valid time of day", HELP_DOWNLOAD, int(lines[k]))
        stamps[k] = day + np.timedelta64(int(h) * 3600 + int(n) * 60, "s")
    return stamps


def _without(values: Array, code: float) -> Array:
    """Values with a format's code for 'missing' turned into holes."""
    return np.where(values >= code, np.nan, values)


# TMY3 ------------------------------------------------------------------------------------------------------------


_TMY3_TIME = re.compile(r"\s*(\d{1,2})/(\d{1,2})/(\d{4})\s*,\s*(\d{1,2}):(\d{2})\s*,")


def _is_tmy3(lines: list[str]) -> bool:
    return lines[1].startswith("Date (MM/DD/YYYY)")


def _read_tmy3(name: str, lines: list[str]) -> RawWeather:
    head = _fields(lines, 0)
    titles = [title.strip() for title in _fields(lines, 1)]
    wanted = {
        "ghi": "GHI (W/m^2)",
        "dni": "DNI (W/m^2)",
        "dhi": "DHI (W/m^2)",
        "temp_air": "Dry-bulb (C)",
        "wind": "Wspd (m/s)",
    }
    for what, title in wanted.items():
        if title not in titles:
            like = [other for other in titles if other.split(" (")[0] == title.split(" (")[0]]
            found = f", found `{like[0]}`" if like else ""
            raise WeatherProblem(
                f"column `{title}` is missing{found}", "give a file in the units of its format", 2
            )
        wanted[what] = title
    places = {what: titles.index(title) for what, title in wanted.items()}
    columns, number = _table(_rows(lines, 3), 3, places)
    stamps = np.empty(len(number), dtype="datetime64[s]")
    for k, line in enumerate(lines[2:]):
        match = _TMY3_TIME.match(line)
        if match is None:
            raise WeatherProblem("the line has no valid date and time", HELP_DOWNLOAD, k + 3)
        month, day, year, hour, minute = (int(part) for part in match.groups())
        try:
            midnight = np.datetime64(f"{year:04d}-{month:02d}-{day:02d}", "s")
        except ValueError:
            raise WeatherProblem("the line has no valid date", HELP_DOWNLOAD, k + 3) from None
        stamps[k] = midnight + np.timedelta64(hour * 3600 + minute * 60, "s")
    zone = float(head[3])
    return RawWeather(
        stamps, -30.0, columns, number.astype(np.intp), float(head[4]), float(head[5]), float(head[6]), zone, zone,
        f"{name}: TMY3, station {head[0]} {head[1].title()} {head[2]}", "typical year",
    )  # fmt: skip


# TMY2 ------------------------------------------------------------------------------------------------------------

_TMY2_HEAD = re.compile(
    r"\s*(\d+)\s+(.+?)\s+(\S+)\s+(-?\d+)\s+([NS])\s+(\d+)\s+(\d+)\s+([EW])\s+(\d+)\s+(\d+)\s+(-?\d+)\s*"
)
_TMY2_FIELDS = {
    "year": (1, 3), "month": (3, 5), "day": (5, 7), "hour": (7, 9), "ghi": (17, 21), "dni": (23, 27), "dhi": (29, 33),
    "temp_air": (67, 71), "wind": (95, 98), "snow_depth": (133, 136),
}  # fmt: skip


def _is_tmy2(lines: list[str]) -> bool:
    return _TMY2_HEAD.fullmatch(lines[0]) is not None and len(lines[1]) > 130 and "," not in lines[1]


def _read_tmy2(name: str, lines: list[str]) -> RawWeather:
    match = _TMY2_HEAD.fullmatch(lines[0])
    assert match is not None
    station, city, state, zone, ns, lat, lat_min, ew, lon, lon_min, elevation = match.groups()
    width = max(end for _, end in _TMY2_FIELDS.values())
    for k, line in enumerate(lines[1:], start=2):
        if len(line) < width:
            raise WeatherProblem(f"the line has {len(line)} characters, {width} are needed", HELP_DOWNLOAD, k)
    rows = ([line[start:end] for start, end in _TMY2_FIELDS.values()] for line in lines[1:])
    columns, number = _table(rows, 2, {field: k for k, field in enumerate(_TMY2_FIELDS)})
    for field, code in (
        ("ghi", 9999),
        ("dni", 9999),
        ("dhi", 9999),
        ("temp_air", 9999),
        ("wind", 999),
        ("snow_depth", 999),
    ):
        columns[field] = _without(columns[field], code)
    columns["temp_air"] = columns["temp_air"] / 10.0
    columns["wind"] = columns["wind"] / 10.0
    return RawWeather(
        _stamps(columns, number, 1900 + columns["year"]), -30.0, columns, number.astype(np.intp),
        (1 if ns == "N" else -1) * (float(lat) + float(lat_min) / 60),
        (1 if ew == "E" else -1) * (float(lon) + float(lon_min) / 60),
        float(elevation), float(zone), float(zone), f"{name}: TMY2, station {station} {city.title()} {state}", "typical year",
    )  # fmt: skip


# EPW -------------------------------------------------------------------------------------------------------------

_EPW_FIELDS = {
    "year": 0, "month": 1, "day": 2, "hour": 3, "minute": 4, "temp_air": 6, "ghi": 13, "dni": 14, "dhi": 15, "wind": 21,
    "snow_depth": 30,
}  # fmt: skip


_RECORDS_AN_HOUR = (1, 2, 3, 4, 6, 12, 60)  # what divides an hour evenly


def _is_epw(lines: list[str]) -> bool:
    return lines[0].upper().startswith("LOCATION,")


def _read_epw(name: str, lines: list[str]) -> RawWeather:
    head = _fields(lines, 0)
    period = _fields(lines, 7)
    per_hour = int(period[2])
    if per_hour not in _RECORDS_AN_HOUR:
        raise WeatherProblem(f"the file says it has {per_hour} records an hour", HELP_DOWNLOAD, 8)
    columns, number = _table(_rows(lines, 9), 9, _EPW_FIELDS)
    # hour 1 is the hour that ends at 1:00; the minute counts only in files with several records an hour
    minute = columns["minute"] if per_hour > 1 else np.full(len(number), 60.0)
    columns["minute"] = np.where(minute == 0, 60.0, minute)
    columns["hour"] = columns["hour"] - 1.0
    for field, code in (
        ("ghi", 9999),
        ("dni", 9999),
        ("dhi", 9999),
        ("temp_air", 99.9),
        ("wind", 999),
        ("snow_depth", 999),
    ):
        columns[field] = _without(columns[field], code)
    zone = float(head[8])
    mixed = len(np.unique(columns["year"])) > 1 or "TMY" in head[4].upper()
    return RawWeather(
        _stamps(columns, number), -30.0 / per_hour, columns, number.astype(np.intp), float(head[6]), float(head[7]),
        float(head[9]), zone, zone, f"{name}: EPW, {head[1]} {head[3]}, {head[4]}", "typical year" if mixed else "one year",
    )  # fmt: skip


# National solar radiation database ---------------------------------------------------------------------------------


def _is_nsrdb(lines: list[str]) -> bool:
    return lines[0].startswith("Source,") and lines[2].startswith("Year,Month,Day,Hour")


def _read_nsrdb(name: str, lines: list[str]) -> RawWeather:
    head = dict(zip(_fields(lines, 0), _fields(lines, 1), strict=False))
    titles = [title.strip() for title in _fields(lines, 2)]
    wanted = {
        "year": "Year", "month": "Month", "day": "Day", "hour": "Hour", "minute": "Minute", "ghi": "GHI", "dni": "DNI",
        "dhi": "DHI", "temp_air": "Temperature", "wind": "Wind Speed",
    }  # fmt: skip
    for title in ("GHI", "DNI", "DHI"):
        unit = head.get(f"{title} Units", "w/m2").strip()
        if unit.lower() not in ("w/m2", "w/m^2", "w/m²"):
            raise WeatherProblem(f"{title} is in `{unit}`", "download the file in W/m²", 2)
    places = {what: titles.index(title) for what, title in wanted.items() if title in titles}
    for what in ("year", "month", "day", "hour", "minute", "ghi", "temp_air"):
        if what not in places:
            raise WeatherProblem(
                f"column `{wanted[what]}` is missing", "download the file with this column", 3
            )
    columns, number = _table(_rows(lines, 4), 4, places)
    zone = float(head["Time Zone"])
    typical = len(np.unique(columns["year"])) > 1
    return RawWeather(
        _stamps(columns, number), 0.0, columns, number.astype(np.intp), float(head["Latitude"]), float(head["Longitude"]),
        float(head["Elevation"]), zone, float(head.get("Local Time Zone") or zone),
        f"{name}: {head['Source']} {head.get('Location ID', '')}".strip(), "typical year" if typical else "one year",
    )  # fmt: skip


# Typical years of public satellite data sets -------------------------------------------------------------------------


def _is_satellite_csv(lines: list[str]) -> bool:
    return lines[0].startswith("Latitude (decimal degrees):")


def _read_satellite_csv(name: str, lines: list[str]) -> RawWeather:
    start = next(k for k, line in enumerate(lines) if line.startswith("time(UTC)"))
    parts = [line.partition(":") for line in lines[:start]]
    head = {key.strip(): value.strip() for key, _, value in parts}
    titles = [title.strip() for title in lines[start].split(",")]
    rows: list[list[str]] = []
    for line in lines[start + 1 :]:
        if not re.match(r"\d{8}:\d{4},", line):
            break
        rows.append(line.split(","))
    table = [dict(zip(titles, row, strict=False)) for row in rows]
    offset = float(head.get("Irradiance Time Offset (h)", 0.0))
    place = (
        float(head["Latitude (decimal degrees)"]),
        float(head["Longitude (decimal degrees)"]),
        float(head["Elevation (m)"]),
    )
    return _satellite(name, table, start + 2, place, offset)


def _is_satellite_json(lines: list[str]) -> bool:
    return bool(lines) and lines[0].lstrip().startswith("{") and any("tmy_hourly" in line for line in lines)


def _read_satellite_json(name: str, lines: list[str]) -> RawWeather:
    try:
        content = json.loads("\n".join(lines))
    except json.JSONDecodeError as error:
        raise WeatherProblem(f"`{name}` is cut short or damaged", HELP_DOWNLOAD, error.lineno) from None
    place = content["inputs"]["location"]
    table = [{key: str(value) for key, value in row.items()} for row in content["outputs"]["tmy_hourly"]]
    where = (float(place["latitude"]), float(place["longitude"]), float(place["elevation"]))
    return _satellite(name, table, 0, where, float(place.get("irradiance_time_offset", 0.0)))


def _satellite(
    name: str, table: list[dict[str, str]], first: int, place: tuple[float, float, float], offset_h: float
) -> RawWeather:
    wanted = {"ghi": "G(h)", "dni": "Gb(n)", "dhi": "Gd(h)", "temp_air": "T2m", "wind": "WS10m"}
    lines = np.arange(first, first + len(table)) if first else np.zeros(len(table), dtype=np.intp)
    stamps = np.empty(len(table), dtype="datetime64[s]")
    columns = {what: np.empty(len(table)) for what in wanted}
    for k, row in enumerate(table):
        line = int(lines[k])
        for what, title in wanted.items():
            if title not in row:
                raise WeatherProblem(f"`{title}` is missing in row {k + 1}", HELP_DOWNLOAD, line or None)
            columns[what][k] = _number(row[title], line, title)
        t = row["time(UTC)"]
        stamps[k] = np.datetime64(f"{t[0:4]}-{t[4:6]}-{t[6:8]}T{t[9:11]}:{t[11:13]}", "s")
    # the file knows no time zone: the whole hour nearest to the place's meridian keeps days together
    return RawWeather(
        stamps, 60.0 * offset_h, columns, lines.astype(np.intp), *place, 0.0, float(round(place[1] / 15.0)),
        f"{name}: typical year of a public satellite data set", "typical year",
    )  # fmt: skip


_FORMATS: tuple[tuple[Callable[[list[str]], bool], Callable[[str, list[str]], RawWeather]], ...] = (
    (_is_satellite_json, _read_satellite_json),
    (_is_satellite_csv, _read_satellite_csv),
    (_is_epw, _read_epw),
    (_is_nsrdb, _read_nsrdb),
    (_is_tmy3, _read_tmy3),
    (_is_tmy2, _read_tmy2),
)
