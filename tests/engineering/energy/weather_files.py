"""Small writers of weather formats, so that a test can make a file of any format from known hours."""

from __future__ import annotations

import json
from collections.abc import Iterable

import numpy as np

from reportgen.engineering.energy.weather import WeatherYear


def rows(year: WeatherYear, label_min: float) -> Iterable[tuple[np.datetime64, int]]:
    """Time stamps that lie so many minutes before the middle of each hour, with the hour's index."""
    for k, mid in enumerate(year.mid):
        yield mid - np.timedelta64(round(label_min * 60), "s"), k


def parts(stamp: np.datetime64) -> tuple[int, int, int, int, int]:
    text = str(stamp.astype("datetime64[m]"))
    return int(text[:4]), int(text[5:7]), int(text[8:10]), int(text[11:13]), int(text[14:16])


def epw(year: WeatherYear, zone: float | None = None, per_hour: int = 1) -> str:
    zone = year.utc_offset_h if zone is None else zone
    lines = [
        f"LOCATION,Somewhere,NC,USA,TMY3,000000,{year.latitude},{year.longitude},{zone},{year.elevation}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,made by a test",
        "COMMENTS 2,",
        f"DATA PERIODS,1,{per_hour},Data,Sunday, 1/ 1,12/31",
    ]
    for mid, k in rows(year, 0.0):
        y, m, d, h, _ = parts(mid)
        for piece in range(per_hour):
            field = ["0"] * 35
            minute = 60 * (piece + 1) // per_hour
            field[:5] = [str(y), str(m), str(d), str(h + 1), str(minute)]
            field[5] = "?9?9"
            field[6] = f"{year.temp_air[k]:.2f}"
            field[13], field[14], field[15] = (
                f"{values[k]:.3f}" for values in (year.ghi, year.dni, year.dhi)
            )
            field[21] = f"{year.wind[k]:.2f}"
            field[30] = "999"
            lines.append(",".join(field))
    return "\n".join(lines) + "\n"


def nsrdb(year: WeatherYear, zone: str | None = None, unit: str = "w/m2", leap: bool = False) -> str:
    zone = f"{year.utc_offset_h:g}" if zone is None else zone
    lines = [
        "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation,Local Time Zone,"
        "DHI Units,DNI Units,GHI Units,Temperature Units,Wind Speed Units",
        f"NSRDB,1,-,-,-,{year.latitude},{year.longitude},{zone},{year.elevation:g},{zone},{unit},{unit},{unit},c,m/s",
        "Year,Month,Day,Hour,Minute,GHI,DNI,DHI,Temperature,Wind Speed",
    ]
    for mid, k in rows(year, 0.0):
        _, m, d, h, n = parts(mid)
        values = ",".join(f"{v[k]:.3f}" for v in (year.ghi, year.dni, year.dhi, year.temp_air, year.wind))
        lines.append(f"{2016 if leap else 2017},{m},{d},{h},{n},{values}")
        if leap and (m, d, h) == (2, 28, 23):
            lines += [f"2016,2,29,{hour},30,0,0,0,5,1" for hour in range(24)]
    return "\n".join(lines) + "\n"


def satellite_rows(year: WeatherYear, offset_h: float) -> list[dict[str, object]]:
    found = []
    shift = np.timedelta64(round(year.utc_offset_h * 3600), "s")
    order = []
    for stamp, k in rows(year, 60.0 * offset_h):
        _, m, d, h, n = parts(stamp - shift)
        order.append(((m, d, h), f"20{4 + m:02d}{m:02d}{d:02d}:{h:02d}{n:02d}", k))
    for _, text, k in sorted(order):
        found.append(
            {
                "time(UTC)": text,
                "T2m": round(float(year.temp_air[k]), 2),
                "RH": 50.0,
                "G(h)": round(float(year.ghi[k]), 3),
                "Gb(n)": round(float(year.dni[k]), 3),
                "Gd(h)": round(float(year.dhi[k]), 3),
                "IR(h)": 300.0,
                "WS10m": round(float(year.wind[k]), 2),
                "WD10m": 90.0,
                "SP": 100000.0,
            }
        )
    return found


def satellite_csv(year: WeatherYear, offset_h: float) -> str:
    table = satellite_rows(year, offset_h)
    lines = [
        f"Latitude (decimal degrees): {year.latitude:.3f}",
        f"Longitude (decimal degrees): {year.longitude:.3f}",
        f"Elevation (m): {year.elevation:.1f}",
        f"Irradiance Time Offset (h): {offset_h:.4f}",
        "month,year",
        *[f"{month},{2004 + month}" for month in range(1, 13)],
        ",".join(table[0]),
        *[",".join(str(value) for value in row.values()) for row in table],
        "",
        "T2m: 2-m air temperature (degree Celsius)",
    ]
    return "\r\n".join(lines) + "\r\n"


def satellite_json(year: WeatherYear, offset_h: float) -> str:
    place = {
        "latitude": year.latitude,
        "longitude": year.longitude,
        "elevation": year.elevation,
        "irradiance_time_offset": offset_h,
    }
    months = [{"month": month, "year": 2004 + month} for month in range(1, 13)]
    return json.dumps(
        {
            "inputs": {"location": place},
            "outputs": {"months_selected": months, "tmy_hourly": satellite_rows(year, offset_h)},
            "meta": {"inputs": {}},
        }
    )
