"""Damaged weather files of every format: a year or a refusal, no traceback, no number that is none."""

from __future__ import annotations

from functools import cache

import pytest
import targets
import weather_files
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reportgen.engineering.energy.weather import SHIPPED, parse_weather, shipped_weather

PIECES = st.one_of(
    st.binary(max_size=6),
    st.sampled_from(
        [
            b"nan",
            b"-1",
            b"1e9",
            b"inf",
            b",",
            b"\n",
            b"\r\n",
            b"\0",
            b"-9900",
            b"9999",
            b"\xff",
            b'"',
            b"24:00",
            b"29",
        ]
    ),
)


@cache
def whole(kind: str) -> bytes:
    if kind in SHIPPED:
        return shipped_weather(kind)
    year = parse_weather("year", shipped_weather(SHIPPED[0]))
    return str(getattr(weather_files, kind)(year)).encode()


KINDS = (*SHIPPED, "epw", "nsrdb")


#: Where (half of the damage in the first lines, where places, units and zones stand), how much goes, what comes.
DAMAGE = st.lists(
    st.tuples(
        st.one_of(st.integers(0, 2000), st.integers(0, 2_000_000)), st.sampled_from([0, 1, 3, 40]), PIECES
    ),
    min_size=1,
    max_size=4,
)


def damaged(kind: str, damage: list[tuple[int, int, bytes]]) -> bytes:
    content = bytearray(whole(kind))
    for at, length, piece in damage:
        start = at % len(content)
        content[start : start + length] = piece
    return bytes(content)


@settings(max_examples=25)
@given(kind=st.sampled_from(KINDS), damage=DAMAGE)
@example(kind="703165TY.csv", damage=[(1874, 3, b""), (1875, 3, b"")])  # one field less: a wind of -9900 m/s
def test_a_damaged_file_is_a_year_or_refused(kind: str, damage: list[tuple[int, int, bytes]]) -> None:
    targets.weather(damaged(kind, damage))


@pytest.mark.slow
@settings(max_examples=600)
@given(kind=st.sampled_from(KINDS), damage=DAMAGE)
@example(kind=SHIPPED[0], damage=[(3000, 0, b'"')])
def test_a_damaged_file_is_a_year_or_refused_at_length(
    kind: str, damage: list[tuple[int, int, bytes]]
) -> None:
    targets.weather(damaged(kind, damage))


@given(st.binary(max_size=2000))
@example(b"")
@example(b"{}")
@example(b"[" * 100_000)
@example(b'{"outputs": {"tmy_hourly": [1]}}')
@example(b"LOCATION,,,,,,,,,\n" * 8)
@example(b"time(UTC)\n")
@example(b"\xff\xfe" + "LOCATION".encode("utf-16-le"))
def test_any_bytes_are_refused(data: bytes) -> None:
    targets.weather(data)
