"""Weather, simulated years and searches put into arrays and taken out again, so that nothing is worked out twice."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import fields, is_dataclass, replace
from functools import cache as remembered
from functools import lru_cache
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Any, TypeVar, Union, get_args, get_origin, get_type_hints

import numpy as np

from reportgen.engineering.energy.inputs import ArrayCache
from reportgen.engineering.energy.results import YearResult

if TYPE_CHECKING:
    from reportgen.engineering.energy.weather import WeatherYear

_Kept = TypeVar("_Kept")
_TEXT = "figures"
_HOURLY = "hourly "


@lru_cache(maxsize=2)
def _sum(data: bytes) -> str:
    """Digest of a file, which two states compared and a watcher ask for again and again."""
    return hashlib.sha256(data).hexdigest()


def kept_weather(
    cache: ArrayCache | None, name: str, data: bytes, parse: Callable[[str, bytes], WeatherYear]
) -> WeatherYear:
    """The year of weather in a file from the cache, else parsed and kept.

    Parameters
    ----------
    cache : ArrayCache or None
        Where years are kept; None parses.
    name, data : str, bytes
        The file.
    parse : callable
        Reads it.
    """

    def parsed() -> WeatherYear:
        return parse(name, data)

    if cache is None:
        return parsed()
    return _kept(cache, f"weather {name} {_sum(data)}", _weather_from, _weather_arrays, parsed)[0]


def kept_year(
    cache: ArrayCache | None, weather: WeatherYear, told: object, simulate: Callable[[], YearResult]
) -> tuple[YearResult, bool]:
    """The year from the cache, else simulated and kept; and whether it was in the cache.

    Parameters
    ----------
    cache : ArrayCache or None
        Where years are kept; None simulates.
    weather : WeatherYear
        The year of weather.
    told : object
        Everything else that the simulation is told: frozen dataclasses of plain numbers, whose text is their content.
    simulate : callable
        The simulation.
    """
    if cache is None:
        return simulate(), False
    return _kept(cache, f"year {_told(weather, told)}", _year_from, _year_arrays, simulate)


def kept_figures(
    cache: ArrayCache | None,
    name: str,
    kind: type[_Kept],
    weather: WeatherYear,
    told: object,
    make: Callable[[], _Kept],
) -> _Kept:
    """Figures of a year of weather from the cache, else made and kept.

    Parameters
    ----------
    cache : ArrayCache or None
        Where figures are kept; None makes them.
    name : str
        What they are.
    kind : type
        Their type: frozen dataclasses, tuples and plain numbers.
    weather : WeatherYear
        The year of weather.
    told : object
        Everything else that they depend on: frozen dataclasses of plain numbers, whose text is their content.
    make : callable
        Makes them.
    """
    if cache is None:
        return make()
    return kept_plain(cache, name, kind, (_digest(weather), told), make)


def kept_plain(
    cache: ArrayCache | None, name: str, kind: Any, told: object, make: Callable[[], _Kept]
) -> _Kept:
    """Plain figures from the cache, else made and kept; as :func:`kept_figures`, without a year of weather."""

    def read(arrays: Mapping[str, Any]) -> _Kept:
        figures: _Kept = _made(kind, json.loads(arrays[_TEXT].tobytes()))
        return figures

    if cache is None:
        return make()
    key = f"{name} {hashlib.sha256(repr(told).encode()).hexdigest()}"
    return _kept(cache, key, read, lambda found: {_TEXT: _text(_plain(found))}, make)[0]


def _kept(
    cache: ArrayCache,
    key: str,
    read: Callable[[Mapping[str, Any]], _Kept],
    packed: Callable[[_Kept], Mapping[str, Any]],
    make: Callable[[], _Kept],
) -> tuple[_Kept, bool]:
    """What is kept under a key, and whether it was: made again where nothing is, or it has another layout than today's."""
    arrays = cache.get(key)
    if arrays is not None:
        with suppress(AttributeError, KeyError, TypeError, ValueError):
            return read(arrays), True
    made = make()
    cache.put(key, packed(made))
    return made, False


def _told(weather: WeatherYear, told: object) -> str:
    return f"{_digest(weather)} {hashlib.sha256(repr(told).encode()).hexdigest()}"


def _digest(weather: WeatherYear) -> str:
    """Of every series and word of a year of weather."""
    total = hashlib.sha256()
    for field in fields(weather):
        value = getattr(weather, field.name)
        total.update(field.name.encode())
        if isinstance(value, np.ndarray):
            total.update(str(value.dtype).encode() + np.ascontiguousarray(value).tobytes())
        else:
            total.update(repr(value).encode())
    return total.hexdigest()


def _weather_arrays(weather: WeatherYear) -> dict[str, Any]:
    values = {field.name: getattr(weather, field.name) for field in fields(weather)}
    arrays = {name: value for name, value in values.items() if isinstance(value, np.ndarray)}
    return arrays | {_TEXT: _text({name: values[name] for name in values if name not in arrays})}


def _weather_from(arrays: Mapping[str, Any]) -> WeatherYear:
    from reportgen.engineering.energy.weather import WeatherYear  # noqa: PLC0415 - pandas

    plain = json.loads(arrays[_TEXT].tobytes())
    plain["warnings"] = tuple(tuple(pair) for pair in plain["warnings"])
    return WeatherYear(**plain, **{name: values for name, values in arrays.items() if name != _TEXT})


def _year_arrays(result: YearResult) -> dict[str, Any]:
    arrays: dict[str, Any] = {_TEXT: _text(_plain(replace(result, hourly=None)))}
    return arrays | {f"{_HOURLY}{name}": values for name, values in (result.hourly or {}).items()}


def _year_from(arrays: Mapping[str, Any]) -> YearResult:
    result: YearResult = _made(YearResult, json.loads(arrays[_TEXT].tobytes()))
    hourly = {name.removeprefix(_HOURLY): values for name, values in arrays.items() if name != _TEXT}
    return replace(result, hourly=hourly or None)


def _text(plain: object) -> Any:
    """JSON as an array of bytes; it keeps every bit of a float, and not-a-number as such."""
    return np.frombuffer(json.dumps(plain).encode(), dtype=np.uint8)


def _plain(thing: object) -> object:
    """A dataclass as lists of its fields' values."""
    if is_dataclass(thing) and not isinstance(thing, type):
        return [_plain(getattr(thing, field.name)) for field in fields(thing)]
    if isinstance(thing, tuple | list):
        return [_plain(item) for item in thing]
    if isinstance(thing, Mapping):
        return {key: _plain(value) for key, value in thing.items()}
    return thing


def _made(kind: Any, plain: Any) -> Any:
    """A value of an annotated type from its plain form."""
    return _maker(kind)(plain)


@remembered
def _maker(kind: Any) -> Callable[[Any], Any]:
    """What makes a value of an annotated type from its plain form; looked up once for a type, used for all its values."""
    origin, arguments = get_origin(kind), get_args(kind)
    if isinstance(kind, type) and is_dataclass(kind):
        hints = get_type_hints(kind)
        makers = tuple(_maker(hints[field.name]) for field in fields(kind))

        def dataclass(plain: Any) -> Any:
            if len(makers) != len(plain):
                raise ValueError(f"{kind} has other fields")
            return kind(*(make(value) for make, value in zip(makers, plain, strict=True)))

        return dataclass
    if origin in (Union, UnionType):
        some = _maker(next(item for item in arguments if item is not NoneType))
        return lambda plain: None if plain is None and NoneType in arguments else some(plain)
    if origin is tuple and arguments[-1] is Ellipsis:
        each = _maker(arguments[0])
        return lambda plain: tuple(map(each, plain))
    if origin is tuple:
        parts = tuple(map(_maker, arguments))
        return lambda plain: tuple(make(value) for make, value in zip(parts, plain, strict=True))
    if len(arguments) == 2:
        below = _maker(arguments[1])
        return lambda plain: {key: below(value) for key, value in plain.items()}
    return lambda plain: plain
