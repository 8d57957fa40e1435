"""Data sheets in a folder: what is still to look up, what is unusual, and nothing judged by what cannot be."""

from __future__ import annotations

import pytest

from reportgen.design.data_sheets import CABLE, INPUT, INVERTER, MODULE, SWITCH
from reportgen.design.findings import Outcome
from reportgen.diagnostics.model import InputRefused
from reportgen.project.equipment import Cable, Inverter, InverterInput, Module, Switch


@pytest.mark.parametrize(
    ("model", "needs"),
    [(Module, MODULE), (Inverter, INVERTER), (InverterInput, INPUT), (Switch, SWITCH), (Cable, CABLE)],
)
def test_each_need_is_a_key_of_its_model(model, needs) -> None:
    for need in needs:
        assert need.key in model.model_fields
        assert need.line
        assert need.used_for


def found(design, code):
    return {finding.id: finding for finding in design.findings if finding.code == code}


def test_what_is_missing_is_listed_once_with_the_line_to_look_for(sample, design) -> None:
    listed = found(design(sample), "data-sheet-complete")
    outcomes = {key.partition(":")[2]: str(item.outcome) for key, item in listed.items()}
    wanted = {"M450": "meets", "H10": "meets", "V8": "unknown", "K4": "meets", "THWN10": "meets"}
    assert wanted.items() <= outcomes.items()
    missing = listed["data-sheet-complete:V8"].missing
    assert any(
        "start_voltage of inputs A, B, C of inverter type V8 (“Start-up voltage”)" in item for item in missing
    )


def test_a_type_that_nothing_uses_is_not_asked_for(sample, edit, design) -> None:
    more = edit(
        sample,
        "equipment.yaml",
        "modules:\n",
        "modules:\n  OLD: {power: 200 W, open_circuit_voltage: 32 V, operating_voltage: 26 V, short_circuit_current: 8.3 A, operating_current: 7.7 A}\n",
    )
    assert not [key for key in found(design(more), "data-sheet-complete") if "OLD" in key]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("voltage_coefficient: -0.26 %/degC", "voltage_coefficient: 0 %/degC"),
    ],
)
def test_nothing_meets_by_a_voltage_that_cannot_be(sample, edit, design, old, new) -> None:
    made = design(edit(sample, "equipment.yaml", old, new, 1))
    told = [item for item in found(made, "data-sheet-values").values() if item.subject == "M450"]
    assert told
    assert all(item.outcome is Outcome.UNKNOWN and item.cure_span is not None for item in told)
    cold = [item for item in made.findings if item.code.startswith("cold-voltage")]
    assert cold
    assert {item.outcome for item in cold} == {Outcome.UNKNOWN}


@pytest.mark.parametrize(
    ("old", "new", "usual"),
    [
        ("voltage_coefficient: -0.26 %/degC", "voltage_coefficient: 0.26 %/degC", "near -0.3 %/degC"),
        ("power_coefficient: -0.34 %/degC", "power_coefficient: 0.34 %/degC", "near -0.35 %/degC"),
        (
            "open_circuit_voltage: 44.1 V\n    operating_voltage: 36.9 V",
            "open_circuit_voltage: 36.9 V\n    operating_voltage: 44.1 V",
            "near 80 % of Voc",
        ),
        ("operating_current: 12.2 A", "operating_current: 13.2 A", "near 95 % of Isc"),
    ],
)
def test_a_data_sheet_that_contradicts_itself_is_refused_with_what_is_usual(
    sample, edit, design, old, new, usual
) -> None:
    with pytest.raises(InputRefused) as refused:
        design(edit(sample, "equipment.yaml", old, new, 1))
    (item,) = refused.value.diagnostics
    assert item.code == "impossible-value"
    assert usual in (item.help or "")
    assert item.span is not None and item.span.file == "equipment.yaml"


def test_an_unusual_value_is_thin_and_still_used(sample, edit, design) -> None:
    made = design(
        edit(sample, "equipment.yaml", "operating_temperature: 44 degC", "operating_temperature: 70 degC")
    )
    (finding,) = [item for item in found(made, "data-sheet-values").values() if item.subject == "M450"]
    assert finding.outcome is Outcome.THIN
    assert "70 °C lies outside 40 to 55 °C" in finding.headline
    hot = [item for item in made.findings if item.code == "hot-voltage-window"]
    assert Outcome.UNKNOWN not in {item.outcome for item in hot}


def test_limits_of_an_input_out_of_order_are_refused_at_their_line(sample, edit, design) -> None:
    with pytest.raises(InputRefused) as caught:
        design(edit(sample, "equipment.yaml", "tracking_from: 150 V", "tracking_from: 560 V", 1))
    # The three inputs share one mapping: told once.
    (item,) = caught.value.diagnostics
    assert "`560 V` of input `A` of inverter type `H10` is not below its tracking to `550 V`" in item.message


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("equipment.yaml", "short_circuit_current: 12.95 A", "short_circuit_current: 0 A"),
        ("equipment.yaml", "open_circuit_voltage: 44.1 V", "open_circuit_voltage: 0 V"),
        ("equipment.yaml", "operating_current: 12.2 A", "operating_current: -12.2 A"),
        ("raceways.yaml", "length: 46 m", "length: 0 m"),
    ],
)
def test_a_rating_or_run_of_nothing_is_refused(sample, edit, design, file, old, new) -> None:
    with pytest.raises(InputRefused) as refused:
        design(edit(sample, file, old, new))
    (item,) = refused.value.diagnostics
    assert item.code == "bad-quantity"
    assert item.span is not None
    assert item.span.file == file


def test_a_current_coefficient_in_amperes_serves_as_well_as_in_percent(sample, edit, design) -> None:
    """0.045 % of 12.95 A is 5.8275 mA."""
    made = design(
        edit(
            sample,
            "equipment.yaml",
            "current_coefficient: 0.045 %/degC",
            "current_coefficient: 5.8275 mA/degC",
        )
    )
    for one, other in zip(design(sample).facts.strings, made.facts.strings, strict=True):
        assert other.hot_operating.value == pytest.approx(one.hot_operating.value, rel=1e-12)


def test_with_nothing_stated_nothing_fits_together(barn, design) -> None:
    """The barn's inverter states its maximum alone, which there is nothing to hold against."""
    made = design(barn({"S1": 11}))
    assert not [item for item in found(made, "data-sheet-values").values() if item.subject == "H6K"]
