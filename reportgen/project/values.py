"""Field types of the models: each takes a scalar as written and keeps its place.

A validator raises :class:`ValueMistake`, which the reader turns into a located diagnostic; the message is
a fact about the value, the hint the one thing to do.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, TypeAlias

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    GetCoreSchemaHandler,
    PrivateAttr,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import PydanticCustomError, core_schema

from reportgen.diagnostics.model import Span
from reportgen.diagnostics.nearest import nearest
from reportgen.project.nodes import Map, Scalar
from reportgen.working.quantity import Given, Quantity
from reportgen.working.units import DIMENSIONS, SAMPLES, UnitError, examples, measure
from reportgen.working.wire_sizes import LEAST_KCMIL, metric_size, normal_size, size_text

NOWHERE = Span("")


def mistake(kind: str, message: str, hint: str) -> PydanticCustomError:
    """Error of a validator: ``kind`` is the catalogue code, ``hint`` the one thing to do."""
    return PydanticCustomError(kind, "{message}", {"message": message, "hint": hint})


def _scalar(value: object, wanted: str) -> Scalar:
    if isinstance(value, Scalar):
        if value.is_null:
            raise mistake("value-missing", f"{wanted} is missing", f"write {wanted}, or remove the key")
        return value
    if isinstance(value, str):
        return Scalar(value, NOWHERE, quoted=True)
    kind = (
        "a mapping"
        if isinstance(value, dict)
        else "a list"
        if isinstance(value, list)
        else type(value).__name__
    )
    raise mistake("wrong-shape", f"{kind} stands where {wanted} is wanted", f"write {wanted}")


def _quantity_validator(
    dimensions: tuple[str, ...], *, signed: bool, zero: bool
) -> Callable[[object], Quantity]:
    words = dimensions[0].replace("_", " ")
    article = "an" if words[0] in "aeiou" else "a"

    def validate(written: object) -> Quantity:
        if isinstance(written, Quantity):
            return written
        text = _scalar(written, f"{article} {words} such as {examples(dimensions)}")
        try:
            value, unit = measure(text, dimensions)
        except UnitError as error:
            raise mistake("bad-quantity", f"{words} {text.shown} {error.reason}", error.hint) from error
        if unit == "degC" and value < -273.15:
            raise mistake(
                "bad-quantity",
                f"temperature {text.shown} is below absolute zero",
                "check the sign and the unit",
            )
        if value < 0 and not signed:
            raise mistake("bad-quantity", f"{words} {text.shown} is negative", "check the sign")
        if value == 0 and not zero:
            hint = "write the value of the data sheet or the tape, or leave the thing out"
            raise mistake(
                "bad-quantity", f"{words} {text.shown} is zero, and what is meant here is not", hint
            )
        # A coefficient or limit may be given in either of two dimensions; each keeps the base unit of its own.
        return Quantity(value, unit, Given(str(text), text.span))

    return validate


def _quantity_type(*dimensions: str, signed: bool = True, zero: bool = True) -> Any:
    units = [spelling for d in dimensions for u in DIMENSIONS[d] for spelling in u.accepted if spelling]
    # The longest spelling first, so that none is cut short by another.
    listed = "|".join(map(re.escape, sorted(units, key=len, reverse=True)))
    sign = "[+-]?" if signed else "[+]?"
    pattern = rf"^\s*{sign}(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?\s*({listed})\s*$"
    if "length" in dimensions:
        pattern = rf"{pattern}|^\s*\d+\s*ft\s+\d+(\.\d+)?\s*in\s*$"
    schema = {
        "type": "string",
        "pattern": pattern,
        "examples": [text for d in dimensions for text in SAMPLES[d]],
        "x-quantity": list(dimensions),
    }
    validator = BeforeValidator(_quantity_validator(dimensions, signed=signed, zero=zero))
    return Annotated[Quantity, validator, WithJsonSchema(schema)]


if TYPE_CHECKING:
    Length: TypeAlias = Quantity
    SignedLength: TypeAlias = Quantity
    RealLength: TypeAlias = Quantity
    RatedVoltage: TypeAlias = Quantity
    RatedCurrent: TypeAlias = Quantity
    RatedPower: TypeAlias = Quantity
    Temperature: TypeAlias = Quantity
    TemperatureDifference: TypeAlias = Quantity
    Voltage: TypeAlias = Quantity
    Current: TypeAlias = Quantity
    Power: TypeAlias = Quantity
    Resistance: TypeAlias = Quantity
    VoltageCoefficient: TypeAlias = Quantity
    CurrentCoefficient: TypeAlias = Quantity
    PowerCoefficient: TypeAlias = Quantity
    Area: TypeAlias = Quantity
    Volume: TypeAlias = Quantity
    Angle: TypeAlias = Quantity
    Force: TypeAlias = Quantity
    LinearMass: TypeAlias = Quantity
    LinearForce: TypeAlias = Quantity
    Torque: TypeAlias = Quantity
    Duration: TypeAlias = Quantity
    Age: TypeAlias = Quantity
    Irradiance: TypeAlias = Quantity
    Irradiation: TypeAlias = Quantity
    Speed: TypeAlias = Quantity
    Share: TypeAlias = Quantity
else:
    Length = _quantity_type("length", signed=False)
    SignedLength = _quantity_type("length")
    # Above zero: a rating or a run of nothing would let every check pass that rests on it.
    RealLength = _quantity_type("length", signed=False, zero=False)
    RatedVoltage = _quantity_type("voltage", signed=False, zero=False)
    RatedCurrent = _quantity_type("current", signed=False, zero=False)
    RatedPower = _quantity_type("power", signed=False, zero=False)
    Temperature = _quantity_type("temperature")
    TemperatureDifference = _quantity_type("temperature_difference")
    Voltage = _quantity_type("voltage")
    Current = _quantity_type("current")
    Power = _quantity_type("power")
    Resistance = _quantity_type("resistance")
    VoltageCoefficient = _quantity_type("relative_coefficient", "voltage_coefficient")
    CurrentCoefficient = _quantity_type("relative_coefficient", "current_coefficient")
    PowerCoefficient = _quantity_type("relative_coefficient")
    Area = _quantity_type("area")
    Volume = _quantity_type("volume")
    Angle = _quantity_type("angle")
    Force = _quantity_type("force")
    LinearMass = _quantity_type("linear_mass")
    LinearForce = _quantity_type("linear_force")
    Torque = _quantity_type("torque")
    Duration = _quantity_type("duration")
    Age = _quantity_type("age")
    Irradiance = _quantity_type("irradiance")
    Irradiation = _quantity_type("irradiation")
    Speed = _quantity_type("speed")
    Share = _quantity_type("share")

_WHOLE = re.compile(r"0|[1-9]\d{0,8}")
_PLAIN = re.compile(r"[+-]?(?:0|[1-9]\d*)(?:\.\d+)?|[+-]?\.\d+")
_DATE = re.compile(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])")
_REF = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._+/-]{0,80}")
_IDENT = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._+-]{0,39}")


class Count(int):
    """A whole number as written, with its place."""

    span: Span = NOWHERE

    def quantity(self, name: str = "") -> Quantity:
        """Return the count as a quantity that knows its input line."""
        return Quantity(float(self), "", Given(str(int(self)), self.span), name)


def _count(value: object) -> Count:
    if isinstance(value, Count):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        return Count(value)
    text = _scalar(value, "a whole number such as `12`")
    if not _WHOLE.fullmatch(text):
        raise mistake(
            "bad-number", f"{text.shown} is not a whole number", "write digits only, for instance `12`"
        )
    count = Count(text)
    count.span = text.span
    return count


def _plain_number(value: object) -> Quantity:
    if isinstance(value, Quantity):
        return value
    text = _scalar(value, "a plain number such as `0.2`")
    if not _PLAIN.fullmatch(text):
        hint = "write it with a point and without a unit, for instance `0.2`"
        raise mistake("bad-number", f"{text.shown} is not a plain number", hint)
    return Quantity(float(text), "", Given(str(text), text.span))


def _flag(value: object) -> bool:
    if isinstance(value, bool):
        return value
    text = _scalar(value, "`yes` or `no`")
    if text in {"yes", "true"}:
        return True
    if text in {"no", "false"}:
        return False
    raise mistake("bad-flag", f"{text.shown} is neither `yes` nor `no`", "write `yes` or `no`")


def _text(value: object) -> Scalar:
    return _scalar(value, "a text")


def _ident(value: object) -> Scalar:
    text = _scalar(value, "an id")
    if not _IDENT.fullmatch(text):
        hint = "use letters, digits, `-`, `_`, `.`, `+` and single spaces, 40 characters at most"
        raise mistake("bad-id", f"{text.shown} cannot be an id", hint)
    return text


def _ref(value: object) -> Scalar:
    text = _scalar(value, "the id of something defined elsewhere")
    if not _REF.fullmatch(text):
        raise mistake(
            "bad-id", f"{text.shown} cannot be an id", "write an id as it is defined, for instance `R1`"
        )
    return text


def _date(value: object) -> Scalar:
    text = _scalar(value, "a date such as `2026-04-18`")
    if not _DATE.fullmatch(text):
        raise mistake(
            "bad-date", f"{text.shown} is not a date", "write year-month-day, for instance `2026-04-18`"
        )
    return text


def _conductor_size(value: object) -> Scalar:
    text = _scalar(value, "a conductor size such as `10 AWG`")
    if (metric := metric_size(text)) is not None:
        return Scalar(metric, text.span, text.quoted)
    # On wire and in the trade `#10` is a gauge and nothing else.
    gauge = text.strip().startswith("#")
    try:
        normal = normal_size(text.strip().removeprefix("#"))
        if gauge and not normal.endswith("/0") and int(normal) >= LEAST_KCMIL:
            raise ValueError
    except ValueError:
        number = re.search(r"\d+(?:/0)?", text, re.ASCII)
        meant = f"{number[0]} AWG" if number and int(number[0].removesuffix("/0")) <= 40 else "10 AWG"
        hint = f"write for instance `{meant}`, `1/0 AWG`, `250 kcmil` or `6 mm2`"
        raise mistake("bad-quantity", f"{text.shown} is no conductor size", hint) from None
    if not gauge and text.strip().isdigit() and int(normal) < LEAST_KCMIL:
        # Of a bare 10, 16 or 25 nobody can say whether it is a gauge or square millimetres.
        hint = f"write `{normal} AWG`, or `{normal} mm2` for a metric cable"
        raise mistake("bad-quantity", f"conductor size {text.shown} has no unit", hint)
    return Scalar(size_text(normal), text.span, text.quoted)


def _money(value: object) -> Quantity:
    if isinstance(value, Quantity):
        return value
    text = _scalar(value, "an amount such as `0.14`")
    number, _, code = text.strip().partition(" ")
    if not _PLAIN.fullmatch(number) or not re.fullmatch(r"(?:[A-Z]{3})?", code.strip()):
        hint = "write the number with a point, alone or before the currency: `0.14` or `0.14 USD`"
        raise mistake("bad-number", f"{text.shown} is not an amount of money", hint)
    return Quantity(float(number), "", Given(str(text), text.span))


class OneOf(WithJsonSchema):
    """Mark of a field that takes a word out of a short list and refuses others with the list."""

    def __init__(self, *words: str) -> None:
        super().__init__({"type": "string", "enum": list(words)})

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        assert self.json_schema is not None
        words = self.json_schema["enum"]
        listed = ", ".join(f"`{word}`" for word in words)

        def validate(value: object) -> Scalar:
            text = _scalar(value, f"one of {listed}")
            if text not in words:
                meant = nearest(text, words)
                help = f"did you mean `{meant}`? possible: {listed}" if meant else f"write one of {listed}"
                raise mistake("bad-choice", f"{text.shown} is not possible here", help)
            return text

        return core_schema.no_info_plain_validator_function(validate)


# An editor reads `12` as a number and `"12"` as a text; here both are the same word, so each schema takes both.
Whole = Annotated[
    Count,
    BeforeValidator(_count),
    WithJsonSchema({"type": ["integer", "string"], "minimum": 0, "pattern": rf"^(?:{_WHOLE.pattern})$"}),
]
Plain = Annotated[
    Quantity,
    BeforeValidator(_plain_number),
    WithJsonSchema({"type": ["number", "string"], "pattern": rf"^(?:{_PLAIN.pattern})$"}),
]
#: An amount in the currency of `prices`; its code may stand behind it, and then has to be that one.
Money = Annotated[
    Quantity,
    BeforeValidator(_money),
    WithJsonSchema(
        {
            "type": ["number", "string"],
            "pattern": rf"^(?:{_PLAIN.pattern})( [A-Z]{{3}})?$",
            "examples": [0.14, "0.14 USD"],
            "x-quantity": ["money"],
        }
    ),
]
#: Conductor sizes as printed on wire: ``10 AWG``, ``1/0 AWG``, ``250 kcmil``; ``6 mm2`` for metric cables.
ConductorSize = Annotated[
    str,
    BeforeValidator(_conductor_size),
    WithJsonSchema(
        {
            "type": "string",
            "pattern": r"^\s*(\d{1,2}\s*[Aa][Ww][Gg]|#\d{1,2}(\s*[Aa][Ww][Gg])?|#?[1-4]/0(\s*[Aa][Ww][Gg])?|[2-9]\d\d|[12]\d{3}"
            r"|([2-9]\d\d|[12]\d{3})\s*([Kk][Cc][Mm][Ii][Ll]|MCM)|\d{1,4}(\.\d{1,2})?\s*mm(2|²|\^2))\s*$",
            "examples": ["10 AWG", "1/0 AWG", "250 kcmil", "6 mm2"],
            "x-quantity": ["conductor size"],
        }
    ),
]
Flag = Annotated[bool, BeforeValidator(_flag), WithJsonSchema({"enum": ["yes", "no", True, False]})]
Text = Annotated[str, BeforeValidator(_text), WithJsonSchema({"type": ["string", "number", "boolean"]})]
Ident = Annotated[
    str,
    BeforeValidator(_ident),
    WithJsonSchema({"type": ["string", "integer"], "pattern": f"^{_IDENT.pattern}$"}),
]
#: A reference to an id of another section; resolved after every file is read.
Ref = Annotated[
    str,
    BeforeValidator(_ref),
    WithJsonSchema({"type": ["string", "integer"], "pattern": f"^{_REF.pattern}$"}),
]
Date = Annotated[
    str, BeforeValidator(_date), WithJsonSchema({"type": "string", "pattern": f"^{_DATE.pattern}$"})
]


#: Between the ids of a trail; no key can hold it.
_SEP = "\n"


def _places_below(trail: str, value: object) -> Iterator[tuple[str, Span]]:
    """Places of ids below a field: of a mapping by id, and of one by id and id where its values are no sections."""
    if isinstance(value, Map):
        for key, below in value.items():
            name = f"{trail}{_SEP}{key}"
            yield name, key.span
            if trail == "landing" and isinstance(below, Map):
                yield from ((f"{name}{_SEP}{terminal}", terminal.span) for terminal in below)


class Section(BaseModel):
    """Base of every model: unknown keys refused, places kept.

    Attributes
    ----------
    span : Span
        Where the mapping stands.
    """

    # Validators are built when first used: the project builds its own with all sections inside, and building each
    # section apart as well would double the start of every command.
    model_config = ConfigDict(extra="forbid", arbitrary_types_allowed=True, frozen=True, defer_build=True)

    # A factory, because a default would be copied deeply for every section.
    _span: Span = PrivateAttr(default_factory=lambda: NOWHERE)
    _keys: dict[str, Span] = PrivateAttr(default_factory=dict)
    #: Field whose text may stand alone in place of the whole mapping, where a model allows that.
    alone: ClassVar[str | None] = None
    #: Fields whose keys are ids: these become plain text, so their places are kept here.
    by_id: ClassVar[tuple[str, ...]] = ()

    @model_validator(mode="wrap")
    @classmethod
    def _remember_places(cls, data: Any, handler: Any) -> Any:
        given = data
        if cls.alone is not None and isinstance(data, Scalar):
            data = Map({Scalar(cls.alone, data.span): data}, data.span)
        if isinstance(data, Scalar) and data.is_null:
            data = Map({}, data.span)
        made = handler(data)
        if isinstance(data, Map) and made is not given:
            made._span = data.span
            made._keys = {str(key): key.span for key in data}
            for field in cls.by_id:
                made._keys.update(_places_below(field, data.get(Scalar(field, NOWHERE))))
        return made

    @property
    def span(self) -> Span:
        """Where the mapping stands."""
        return self._places()[0]

    def where(self, *trail: str) -> Span:
        """Place of a key of this mapping, or of the mapping itself where the key was not written.

        Ids below a field of `by_id` follow it: ``where("landing", "SW-1", "L1")``; one that was not written gives the
        place of what it would stand below.
        """
        span, keys = self._places()
        for end in range(len(trail), 0, -1):
            found = keys.get(_SEP.join(trail[:end]))
            if found is not None:
                return found
        return span

    def _places(self) -> tuple[Span, dict[str, Span]]:
        # Straight from pydantic's store: every result carries places, and the detour over its attribute lookup costs
        # a tenth of a check.
        private = self.__pydantic_private__ or {}
        return private.get("_span", NOWHERE), private.get("_keys", {})
