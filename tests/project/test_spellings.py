"""How values may be spelt, and the one message that each slip draws."""

from __future__ import annotations

import typing
from collections.abc import Iterator

import pytest
from pydantic import BaseModel

from reportgen.diagnostics.model import Diagnostic, InputRefused, Sink
from reportgen.project.load import load_project
from reportgen.project.mistakes import core_type
from reportgen.project.model import Project
from reportgen.project.money import AMOUNTS
from reportgen.project.reader import PARSERS, read_yaml

HEAD = "project: {title: Barn}\nsite: {place: Hill}\n"


def load(text: str) -> Project:
    return load_project({"a.yaml": (HEAD + text).encode()})


def refused(text: str) -> list[Diagnostic]:
    with pytest.raises(InputRefused) as caught:
        load(text)
    return caught.value.diagnostics


@pytest.mark.parametrize(
    ("text", "place", "cure"),
    [
        ("cables: {C1: {markings: [USE-2], voltage: 600,5 V}}", 43, "`600.5 V`"),
        ("cables: {C1: {voltage: 600,5 V, markings: [USE-2], age: 3,5 years}}", 24, "`600.5 V`"),
        ("stock: {head: 1,2 m,trim: 1,2 m}", 15, "`1.2 m`"),
        ("stock: {head: 1,250 ft}", 15, "`1250 ft` or `1.250 ft`"),
        ("prices: {energy: 0,14}", 18, "`0.14`"),
        ("prices:\n  {energy: -1,4}", 12, "`-1.4`"),
        ("arrays: {E: {module: M, tilt: 22,5°}}\nmodules: {}", 31, "`22.5°`"),
    ],
)
def test_a_decimal_comma_inside_braces_is_one_message(text: str, place: int, cure: str) -> None:
    commas = [item for item in refused(text) if "comma" in item.message]
    assert commas[0].span is not None
    assert commas[0].span.column == place
    assert cure in str(commas[0].help)
    assert len(commas) == text.count(",5 ") + text.count("1,") + text.count("0,1") + text.count("22,5")
    assert {item.code for item in refused(text)} <= {"bad-quantity", "unknown-reference"}


@pytest.mark.parametrize("text", ["bends: [22,5 deg, 45 deg]", "bends: [45 deg, 22,5 deg]"])
def test_a_decimal_comma_in_a_list_is_one_message(text: str) -> None:
    (item,) = refused(
        "raceways: {R1: {segments: {a: {kind: EMT, size: '1', length: 3 m, place: indoors, " + text + "}}}}"
    )
    assert item.code == "bad-quantity"
    assert "`22,5 deg` has a decimal comma" in item.message


@pytest.mark.parametrize("parser", PARSERS)
@pytest.mark.parametrize(
    "text", ["a: {b: 1, 2 V}", "a: {b: 37,c: d}", "a: {b: x,2: }", "a: {b: '1',2 V}", "a: [1,2 V]"]
)
def test_a_comma_that_parts_two_things_is_left_alone(text: str, parser: type) -> None:
    sink = Sink()
    read_yaml("a.yaml", text.encode(), sink, parser)
    assert sink.items == []


@pytest.mark.parametrize(
    ("written", "kept"),
    [
        ("10 AWG", "10 AWG"),
        ("10awg", "10 AWG"),
        ('"#10"', "10 AWG"),
        ('"#2/0 AWG"', "2/0 AWG"),
        ("1/0", "1/0 AWG"),
        ("2/0 AWG", "2/0 AWG"),
        ("250", "250 kcmil"),
        ("250 MCM", "250 kcmil"),
        ("6 mm²", "6 mm2"),
        ("2.5mm^2", "2.5 mm2"),
    ],
)
def test_conductor_sizes_are_kept_in_one_spelling(written: str, kept: str) -> None:
    cable = load(f"cables: {{C1: {{markings: [USE-2], sizes: [{{size: {written}}}]}}}}").cables["C1"]
    assert cable.sizes[0].size == kept
    assert cable.of_size(kept) is cable.sizes[0]


@pytest.mark.parametrize(
    ("written", "cure"),
    [
        ("10", "`10 AWG`, or `10 mm2`"),
        ('"#ten"', "AWG"),
        ('"#300"', "AWG"),
        ("12 agw", "`12 AWG`"),
        ("0 AWG", "AWG"),
        ("5/0", "AWG"),
        ("300 AWG", "AWG"),
        ("ten", "`10 AWG`"),
        ("٣ AWG", "`10 AWG`"),
    ],
)
def test_what_is_no_conductor_size_is_refused_with_its_place(written: str, cure: str) -> None:
    (item,) = refused(f"cables: {{C1: {{markings: [USE-2], sizes: [{{size: {written}}}]}}}}")
    assert (item.code, str(item.span)) == ("bad-quantity", "a.yaml:3:49")
    assert cure in str(item.help)


def test_lengths_are_not_negative_but_a_climb_may_be() -> None:
    segment = "kind: EMT, size: '1', place: indoors"
    good = load(f"raceways: {{R1: {{segments: {{a: {{{segment}, length: 3 m, rise: -2 m}}}}}}}}")
    assert good.raceways["R1"].segments["a"].rise.value == -2  # type: ignore[union-attr]
    (item,) = refused(f"raceways: {{R1: {{segments: {{a: {{{segment}, length: -5 ft}}}}}}}}")
    assert item.message == "length `-5 ft` is negative"


@pytest.mark.parametrize("amount", ["0.14", "0.14 USD", '"0.14"'])
def test_an_amount_may_name_the_currency(amount: str) -> None:
    prices = load(f"prices: {{energy: {amount}}}").prices
    assert prices is not None
    assert prices.energy is not None
    assert prices.energy.value == 0.14


def test_an_amount_in_another_currency_is_refused_with_both_places() -> None:
    files = {
        "a.yaml": (HEAD + "prices: {currency: EUR, energy: 0.3 EUR}\n").encode(),
        "b.yaml": b"stock: {spools: {s: {cable: C1, size: 10 AWG, length: 100 m, price: 90 USD}}}\n",
        "c.yaml": b"cables: {C1: {markings: [USE-2]}}\n",
    }
    with pytest.raises(InputRefused) as caught:
        load_project(files)
    (item,) = caught.value.diagnostics
    assert [str(label.span) for label in item.labels] == ["b.yaml:1:69", "a.yaml:3:20"]
    (odd,) = refused("prices: {energy: 14 cents}")
    assert odd.code == "bad-number"


def amounts(model: type[BaseModel], path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    for name, field in model.model_fields.items():
        core, steps = core_type(field.annotation), (*path, name)
        while typing.get_origin(core) in {dict, list}:
            core, steps = core_type(typing.get_args(core)[-1]), (*steps, "*")
        if isinstance(core, type) and issubclass(core, BaseModel):
            yield from amounts(core, steps)
        elif any("money" in str(getattr(mark, "json_schema", "")) for mark in field.metadata) or (
            "money" in str(field.annotation)
        ):
            yield steps


def test_every_amount_of_the_models_is_compared_with_the_currency() -> None:
    assert set(amounts(Project, ())) == set(AMOUNTS)
