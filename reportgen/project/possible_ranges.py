"""Values that no such thing can have, whatever stands beside them: less than nothing, hotter than any terminal."""

from __future__ import annotations

from collections.abc import Iterable

from reportgen.diagnostics.model import Sink
from reportgen.project.possible_words import place_of, text_of, words_of
from reportgen.project.values import Section
from reportgen.working.quantity import Quantity

_CODE = "impossible-value"
_SHARE = "a share between 0 % and 100 %"
_AMPERES = "data sheets show some amperes, and 0 A where there is none"
#: Least and greatest value of each field, their unit, and how it is written.
_RANGES: dict[str, tuple[tuple[str, float, float, str, str], ...]] = {
    "Module": (
        (
            "operating_temperature",
            25.0,
            90.0,
            "degC",
            "data sheets show 42 to 48 degC, measured in air of 20 degC",
        ),
    ),
    "Inverter": (("backfeed_current", 0.0, 1e4, "A", _AMPERES),),
    "Switch": (("rated_current", 0.0, 1e4, "A", _AMPERES),),
    "Terminals": (("temperature", 40.0, 250.0, "degC", "terminals are marked 60, 75 or 90 degC"),),
    "Site": (
        ("ground_temperature", -20.0, 60.0, "degC", "soil at the depth of a pipe in summer, near 20 degC"),
    ),
    "Bend": (("angle", 0.0, 360.0, "deg", "the change of direction without a sign, for instance 90 deg"),),
    "RacewaySegment": (
        ("ambient", -20.0, 120.0, "degC", "the hottest air or soil around it"),
        ("cover", 0.0, 10.0, "m", "from the top of the pipe to grade, for instance 600 mm"),
    ),
    "Raceway": (("length_tolerance", 0.0, 50.0, "%", "how far a tape is off, for instance 1 %"),),
    "ArrayWiring": (("temperature", -20.0, 120.0, "degC", "the hottest air around the wire"),),
    "Circuit": (
        ("current", 0.0, 1e4, "A", _AMPERES),
        ("device", 0.0, 1e4, "A", _AMPERES),
        ("drop_limit", 0.0, 100.0, "%", _SHARE),
    ),
    "Policies": tuple(
        (field, 0.0, 100.0, "%", _SHARE)
        for field in (
            "voltage_margin",
            "current_margin",
            "fill_margin",
            "pull_margin",
            "drop_target",
            "drop_limit",
            "balance_target",
        )
    ),
}


def check_ranges(sections: Iterable[Section], sink: Sink) -> None:
    """Report values outside what such a thing can have, each with its place.

    Parameters
    ----------
    sections : iterable of Section
        All of a project.
    sink : Sink
        Receives the diagnostics.
    """
    seen: set[int] = set()
    for section in sections:
        # One entry that others name again is one entry of the file.
        if id(section.span) in seen:
            continue
        seen.add(id(section.span))
        for field, least, most, unit, usual in _RANGES.get(type(section).__name__, ()):
            value = getattr(section, field)
            if isinstance(value, Quantity) and not least <= value.to(unit).value <= most:
                message = f"{words_of(field)} `{text_of(value)}` cannot be"
                sink.error(_CODE, message, place_of(section, field, value), help=usual)
