"""Marks and bonding that an inspector looks for, labels of what passes a switch, and what stays live on either side of it."""

from __future__ import annotations

import pytest
from field_folder import folder

from reportgen.binder.chapters.pull_cards import _expected
from reportgen.binder.elements import TaskCard
from reportgen.binder.write import lay_out
from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

METAL = ("kind: PVC-80", "kind: EMT")


def made(text: str, edition: str = "nec2023"):
    return assemble(load_project({"m.yaml": text.encode()}), load(edition), "test")


def text_of(*pairs: tuple[str, str], strings: int = 1) -> str:
    text = folder(strings, 1)["meadow.yaml"].decode()
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text


def bonding(design):
    return [f for f in design.findings if f.code == "raceway-bonding"]


class TestMetalRaceways:
    def test_floating_circuits_are_asked_for_nothing_more(self) -> None:
        (found,) = bonding(made(text_of(METAL)))
        assert (found.subject, found.outcome) == ("R", Outcome.MEETS)
        assert found.clause_recalled

    def test_the_edition_of_2017_asks_it_of_every_circuit(self) -> None:
        (found,) = bonding(made(text_of(METAL), "nec2017"))
        assert found.outcome is Outcome.ASK

    def test_a_grounded_leg_is_a_question_and_an_unstated_one_unknown(self) -> None:
        (found,) = bonding(made(text_of(METAL, ("pv_legs: floating", "pv_legs: negative grounded"))))
        assert found.outcome is Outcome.ASK
        (found,) = bonding(made(text_of(METAL, ("    pv_legs: floating\n", ""))))
        assert (found.outcome, found.missing) == (Outcome.UNKNOWN, ("pv_legs of inverter type H",))

    def test_up_to_the_limit_nothing_is_asked_in_any_edition(self) -> None:
        """By the table of factors: nothing at 5 modules, and an unknown voltage is no pass."""
        (found,) = bonding(made(text_of(METAL, ("count: 11", "count: 5")), "nec2017"))
        assert found.outcome is Outcome.MEETS
        assert found.value.value < 250
        (found,) = bonding(made(text_of(METAL, ("count: 11, ", "")), "nec2017"))
        assert found.outcome is Outcome.UNKNOWN

    def test_plastic_and_grounds_alone_are_left_out(self) -> None:
        assert not bonding(made(text_of()))


def test_the_longest_string_decides() -> None:
    text = text_of(METAL, strings=2).replace("S1: {array: T, count: 11", "S1: {array: T, count: 5")
    (found,) = bonding(made(text, "nec2017"))
    assert found.outcome is Outcome.ASK


def test_marks_stand_at_every_switch() -> None:
    placards = made(text_of()).facts.labels.placards
    at = {key: [one.place for one in placards if one.key == key] for key in ("system-disconnect", "raceway")}
    assert at["system-disconnect"] == ["SW-S1"]
    assert {"BOX", "SW-S1"} <= set(at["raceway"])
    assert made(text_of(), "nec2017").facts.labels.placards


def test_a_ground_that_passes_a_switch_has_no_sides_there() -> None:
    text = text_of(("length: 8 ft,", "length: 8 ft, ends_at: SW-S1,"))
    labels = [one for one in made(text).facts.labels.labels if one.conductor == "EG"]
    assert [(one.place, one.side) for one in labels] == [("T", "end"), ("SW-S1", "passes"), ("BOX", "end")]


def emergency(text: str) -> list[str]:
    files = {"m.yaml": text.encode()}
    rows = lay_out(made(text), files).schedules["schedules/emergency-live.csv"].decode().splitlines()
    return rows[2].split(",", 4)


THROUGH = (
    ("ends_at: BOX", "ends_at: INV-1"),
    ("length: 8 ft,", "length: 8 ft, ends_at: SW-S1,"),
)


def test_what_lies_behind_a_switch_is_live_until_it_is_open_and_measured() -> None:
    assert emergency(text_of(*THROUGH))[4] == '"BOX, R, SW-S1","inverter side of SW-S1, R"'


def test_without_a_landing_everything_stays_live() -> None:
    text = text_of(*THROUGH)
    head, _, _ = text.partition("landing:")
    assert emergency(head)[4].endswith(",")
    assert "inverter side" not in emergency(head)[4]


def test_a_leg_that_feeds_the_far_side_over_a_link_keeps_it_live() -> None:
    text = text_of(*THROUGH) + "jumpers:\n  SW-S1: [[L1, T1], [L2, T2]]\n"
    assert "inverter side" not in emergency(text)[4]


@pytest.mark.parametrize(("newton", "told"), [(1.0, "less than a gauge shows"), (200.0, "200")])
def test_a_reading_below_that_of_any_gauge_is_no_sign(newton: float, told: str) -> None:
    from reportgen.working.quantity import Quantity
    from reportgen.working.unit_system import UnitSystem

    assert told in _expected(Quantity(newton, "N"), UnitSystem(imperial=False))


def test_the_card_of_a_nipple_names_no_reading_of_a_newton() -> None:
    text = text_of(
        ("length: 180 ft", "length: 1 ft"),
        ("length: 8 ft, place: outdoors, bends: [90 deg]", "length: 1 ft, place: outdoors, bends: []"),
        ("length: 1 ft, place: underground, bends: [90 deg]", "length: 1 ft, place: underground, bends: []"),
        ("voltage: 600 V}", "voltage: 600 V, sizes: [{size: 10 AWG, mass: 58 kg/km}]}"),
    )
    text += "stock: {friction_dry: 0.5, friction_lubricated: 0.2, sidewall_limit: 4400 N/m, line_rating: 2500 N}\n"
    files = {"m.yaml": text.encode()}
    chapter = next(one for one in lay_out(made(text), files).chapters if one.id == "cards")
    (card,) = (one for one in chapter.elements if isinstance(one, TaskCard) and one.title.startswith("Pull"))
    told = " ".join(map(str, (*card.stop, *card.elements)))
    assert "any reading: the pull is lighter than a gauge shows" in told
    assert "less than a gauge shows: by hand" in told
