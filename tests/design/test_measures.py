"""Before and after in figures: conductor, voltage class and loss of low-voltage strings in parallel against long ones."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.design.measures import measures_of
from reportgen.design.missing import Missing
from reportgen.service.build import check, with_energy
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

TWO = Path(__file__).parents[2] / "reportgen" / "examples" / "two-strings"


def two_strings() -> str:
    return dict(take(TWO).files)["design.yaml"].decode()


def four_short_strings() -> str:
    """The same twenty modules as four strings of five, two to an input, each with a home run of its own."""
    text = two_strings()
    strings = "".join(
        f"  S{k}: {{array: TABLE, count: 5, input: INV-1/{'AB'[k > 2]}}}\n" for k in (1, 2, 3, 4)
    )
    circuits = "".join(
        f"  PV-S{k}: {{string: S{k}, cable: WIRE, size: 10 AWG, path: [R1], tails: {{start: 6 m, end: 2 m}}}}\n"
        for k in (1, 2, 3, 4)
    )
    head, rest = text.split("\nstrings:\n", 1)
    rest = rest[rest.index("\n\n") :]
    first = rest.index("  PV-S1:")
    rest = rest[:first] + circuits + rest[rest.index("  EG-1:") :]
    rest = rest[: rest.index("\n# Without a switch")] + "\n"
    head = head.replace("usable_current: 16 A", "usable_current: 40 A")
    head = head.replace("short_circuit_limit: 20 A", "short_circuit_limit: 50 A")
    return f"{head}\nstrings:\n{strings}{rest}"


def figures(text: str) -> dict[str, object]:
    snapshot = Snapshot.of({"design.yaml": text.encode()})
    design, _ = with_energy(check(snapshot), snapshot, cached=False, sun=False)
    return {measure.key: measure.value for measure in measures_of(design)}


@pytest.fixture(scope="module")
def both() -> tuple[dict[str, object], dict[str, object]]:
    return figures(four_short_strings()), figures(two_strings())


def test_twice_the_current_paths_carry_twice_the_conductor(both) -> None:
    before, after = both
    # 1.2 + 16 + 1.4 m of pipe and 8 m (4 strings) or 8 and 6 m (2 strings) of tails, times two legs
    assert before["legs"].value == pytest.approx(2 * 4 * (18.6 + 8))
    assert after["legs"].value == pytest.approx(2 * (2 * 18.6 + 8 + 6))


def test_half_the_voltage_loses_the_larger_share(both) -> None:
    before, after = both
    assert before["cold"].value == pytest.approx(after["cold"].value / 2)
    # Four home runs instead of two, each with the same current: twice the loss of the same energy, but for the tails.
    expected = 4 * (18.6 + 8) / (2 * 18.6 + 8 + 6)
    assert before["lost share"].value / after["lost share"].value == pytest.approx(expected, rel=0.01)
    assert before["lost"].value / after["lost"].value == pytest.approx(expected, rel=0.01)


def test_the_class_is_the_lowest_rating_and_unknown_where_one_is(both) -> None:
    _, after = both
    assert after["wire class"].value == 600.0
    assert after["input class"].value == 600.0
    blind = figures(two_strings().replace("    maximum_dc_voltage: 600 V\n", ""))
    assert isinstance(blind["input class"], Missing)
