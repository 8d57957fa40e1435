"""Rules of the authority at hand: they enter the calculation, show themselves, and never loosen in silence."""

from __future__ import annotations

import re

import pytest

from reportgen.design.findings import Outcome
from reportgen.diagnostics.model import InputRefused
from reportgen.project.load import load_project


@pytest.fixture
def sample(sample):
    """The sample without the local rules of its own."""
    text = sample["project.yaml"].decode()
    return {**sample, "project.yaml": text[: text.index("\nlocal:")].encode() + b"\n"}


@pytest.fixture
def ruled(sample, design):
    """Design of the sample with one local rule, written in flow style."""

    def make(rule: str, files=None):
        return design({**(files or sample), "local.yaml": f"local:\n  TOWN: {{{rule}}}\n".encode()})

    return make


def finding(made, key):
    return next(found for found in made.findings if found.id == key)


def test_a_stricter_number_enters_the_calculation_and_names_itself(sample, design, ruled) -> None:
    key = "raceway-fill:R2/hall"
    before = finding(design(sample), key)
    assert before.outcome is Outcome.MEETS
    made = ruled("rule: fill/over-two, text: a quarter at most, authority: the town, value: 25 %")
    after = finding(made, key)
    assert after.limit.value == 25
    assert after.value == before.value
    assert after.outcome is (Outcome.FAILS if before.value.value > 25 else after.outcome)
    assert "local.yaml" in {span.file for span in after.sources}
    assert any("local rule TOWN by the town: 25 % in place of 0.40" in note for note in after.notes)
    assert finding(made, "local-rule:TOWN").outcome is Outcome.MEETS
    assert any(cell.local for cell in after.cells)


def test_a_looser_number_makes_thin_what_rests_on_it(design, sample, ruled) -> None:
    made = ruled("rule: fill/over-two, text: half will do, authority: the town, value: 50 %")
    fills = [found for found in made.findings if found.code == "raceway-fill" and found.limit]
    assert fills
    for found in fills:
        assert found.limit.value == 50
        assert found.outcome is Outcome.THIN
        assert any("asks less than the edition" in note for note in found.notes)
        # With much room to spare the sentence itself says why it is thin.
        assert found.headline.endswith(
            "; thin because it rests on local rule TOWN by the town, which asks less than the edition"
        )
    assert finding(made, "local-rule:TOWN").outcome is Outcome.THIN
    # Findings that do not rest on it stay as they were.
    others = {found.id: found.outcome for found in design(sample).findings if found.code != "raceway-fill"}
    assert others.items() <= {found.id: found.outcome for found in made.findings}.items()


def test_a_rule_for_a_group_never_loosens_a_cell_of_it(ruled) -> None:
    made = ruled("rule: fill, text: no more than half, authority: the town, value: 50 %")
    fills = [found for found in made.findings if found.code == "raceway-fill" and found.limit]
    assert {found.limit.value for found in fills} == {40}
    assert made.rulebook.fill_limit(1).number == 0.5  # 53 % in the edition
    assert made.rulebook.fill_limit(2).number == 0.31
    assert finding(made, "local-rule:TOWN").outcome is Outcome.ASK  # nothing here rests on the cells it set


def test_a_looser_number_without_a_trace_is_not_used(sample, design, ruled) -> None:
    made = ruled("rule: design-high, text: use 30, authority: the town, value: 30 degC")
    assert made.project.site.design_high.value == 36
    assert finding(made, "local-rule:TOWN").outcome is Outcome.ASK
    before = {found.id: found.outcome for found in design(sample).findings}
    assert before == {f.id: f.outcome for f in made.findings if f.code != "local-rule"}


@pytest.mark.parametrize(
    ("rule", "looks", "value"),
    [
        ("rule: design-high, text: hot, value: 41 degC", "ampacity-use:PV-R1S:R2/roof", None),
        ("rule: ground-temperature, text: warm soil, value: 104 degF", "ampacity-use:PV-W1", None),
    ],
)
def test_a_hotter_place_lowers_ampacity(sample, design, ruled, rule, looks, value) -> None:
    made, plain = ruled(rule), design(sample)
    before = {(c.id, s.segment): s.ampacity.value for c in plain.facts.circuits for s in c.stretches}
    after = {(c.id, s.segment): s.ampacity.value for c in made.facts.circuits for s in c.stretches}
    assert all(after[key] <= before[key] for key in before)
    assert any(after[key] < before[key] for key in before)
    assert finding(made, "local-rule:TOWN").outcome is Outcome.MEETS


def test_a_prescribed_cold_temperature_governs(sample, ruled) -> None:
    made = ruled("rule: cold-temperature, text: design for -25, authority: the town, value: -25 degC")
    cold = finding(made, "cold-voltage-inverter:E1")
    # Own hand calculation: 12 · 44.1 · (1 + 0.0026 · 50) = 597.996 V.
    assert cold.value.value == pytest.approx(597.996)
    assert "local.yaml" in {span.file for span in cold.sources}
    assert any("temperature of the local rule" in note for note in cold.notes)
    string = made.facts.strings[0]
    assert [case.label for case in string.cold] == [
        "record low",
        "mean annual minimum",
        "temperature of the local rule",
    ]


def test_a_milder_cold_temperature_is_not_used(ruled) -> None:
    made = ruled("rule: cold-temperature, text: design for -10, authority: the town, value: -10 degC")
    assert finding(made, "local-rule:TOWN").outcome is Outcome.ASK
    assert made.facts.strings[0].governing_label == "record low"


def test_a_drop_limit_holds_for_circuits_with_a_looser_one_of_their_own(sample, edit, ruled) -> None:
    files = edit(sample, "circuits.yaml", "    string: E1\n", "    string: E1\n    drop_limit: 9 %\n")
    made = ruled("rule: drop-limit, text: one percent, authority: the utility, value: 0.1 %", files)
    drops = [found for found in made.findings if found.code == "voltage-drop"]
    assert drops
    assert all(found.outcome is Outcome.FAILS and found.limit.value == 0.1 for found in drops)


@pytest.mark.parametrize(
    ("rule", "outcome"),
    [
        ("rule: rapid-shutdown, text: a switch at the meter", Outcome.ASK),
        ("rule: rapid-shutdown, text: a switch at the meter, outcome: fails", Outcome.FAILS),
        ("rule: added, text: a sign in two languages, outcome: ask", Outcome.ASK),
        ("rule: fill, text: as the inspector sees fit", Outcome.ASK),
        ("rule: fill/over-two, text: as the book, value: 40 %", Outcome.MEETS),
    ],
)
def test_rules_that_are_not_computed(ruled, rule, outcome) -> None:
    found = finding(ruled(rule), "local-rule:TOWN")
    assert found.outcome is outcome
    assert bool(found.question) is (outcome is Outcome.ASK)


@pytest.mark.parametrize(
    ("rule", "key", "help"),
    [
        ("rule: fil, text: t, value: 30 %", "rule", "did you mean `fill`?"),
        ("rule: fill/over-tow, text: t, value: 30 %", "rule", "did you mean `over-two`?"),
        ("rule: cover, text: t, value: 30", "value", "write the unit that it is in: `30 m` or `30 ft`"),
        ("rule: fill, text: t, value: 3 m", "value", "accepted units: `%`"),
        ("rule: rapid-shutdown, text: t, value: 30 V", "value", "remove `value`, and let `text` say it"),
        ("rule: fill, text: t, value: 30 %, outcome: ask", "outcome", "remove `outcome` or `value`"),
        ("rule: fill, text: t, value: 0 %", "value", None),
    ],
)
def test_a_rule_that_cannot_be_read_is_a_located_error(ruled, rule, key, help) -> None:
    with pytest.raises(InputRefused) as caught:
        ruled(rule)
    (told,) = caught.value.diagnostics
    assert told.code == "local-rule-unreadable"
    assert (told.span.file, told.span.line) == ("local.yaml", 2)
    assert told.span.column == f"  TOWN: {{{rule}".index(f"{key}:") + 1
    if help is not None:
        assert told.help == help


def test_every_key_that_can_be_set_reaches_a_table_or_the_project(sample) -> None:
    from reportgen.diagnostics.model import Span
    from reportgen.rulebook.local import OF_THE_PROJECT, Ordinance, target_of, with_local
    from reportgen.rulebook.rulebook import editions, load
    from reportgen.working.quantity import Given

    samples = {"": "0.2", "in": "90 in", "V": "12 V", "deg": "9 deg", "ft": "1 ft", "K": "99 K"}
    for edition in editions():
        book = load(edition)
        for (key,) in book.table("local-rules").index:
            target = target_of(book, key)
            assert target is not None
            if target.table in OF_THE_PROJECT:
                continue
            table = book.table(target.table)
            units = {
                table.header.units[c] for c in table.header.units if c == target.column or not target.column
            }
            units -= {"text", "size", "count"}
            unit = "" if "number" in units else next(unit for unit in units if unit in samples)
            value = "9" if unit == "" and not target.lower_is_stricter else samples[unit]
            _, changes = with_local(book, [Ordinance("X", key, Given(value, Span("a.yaml")))])
            assert changes["X"], key
            assert not any(change.loosens for change in changes["X"]), key


def test_the_shared_rulebook_stays_as_it_is(ruled) -> None:
    from reportgen.rulebook.rulebook import load

    ruled("rule: fill/over-two, text: t, value: 10 %")
    assert load("nec2023").fill_limit(3).number == 0.40


def test_the_binder_lists_local_rules(sample, ruled) -> None:
    from reportgen.binder.write import lay_out

    made = ruled("rule: fill/over-two, text: a quarter at most, authority: the town, value: 25 %")
    pages = lay_out(made, sample)
    rules = pages.schedules["schedules/local-rules.csv"].decode()
    assert "TOWN,fill/over-two,the town,a quarter at most,25 %" in rules
    cells = pages.schedules["schedules/cells.csv"].decode()
    assert re.search(r"local rule TOWN by the town, in place of .*25 %", cells)
    assert "0.40" in pages.schedules["schedules/local-cells.csv"].decode()
    assert load_project(sample).local == {}


def test_a_rule_over_several_cells_names_what_stood_in_each(ruled) -> None:
    """Dwellings and other buildings have limits of their own; the first alone would be the wrong one for half of them."""
    made = ruled("rule: voltage-limit, text: t, authority: the town, value: 500 V")
    (one,) = (f for f in made.findings if f.code == "local-rule" and f.subject == "TOWN")
    assert "in place of 600 V or 1000 V" in one.headline


LOOSER = [
    "fill/over-two, value: 90 %",
    "fill/nipple, value: 90 %",
    "cover/other/raceway, value: 1 in",
    "cover/other/rmc-imc, value: 1 in",
    "voltage-limit/other, value: 2000 V",
    "bends/PVC-40, value: 900 deg",
    "bends/EMT, value: 900 deg",
    "support/EMT/general/spacing, value: 90 ft",
    "support/EMT/general/first, value: 90 ft",
    "count-adjustment/7, value: 1",
    "count-adjustment/4, value: 1",
    "count-adjustment/10, value: 1",
    "roof-adder/0, value: 1 K",
    "irradiance-factor, value: 1",
    "continuous-factor, value: 1",
    "cold-temperature, value: 20 degC",
    "design-high, value: 1 degC",
    "ground-temperature, value: 1 degC",
]


@pytest.mark.parametrize("rule", LOOSER)
@pytest.mark.parametrize("troubled", [False, True], ids=["sample", "sample in trouble"])
def test_nothing_meets_by_a_looser_rule(sample, edit, design, ruled, rule, troubled) -> None:
    """What a looser number changes is thin at best; what it does not change stays as it was."""
    files = sample
    if troubled:
        # A shallow trench, a full pipe, many bends, sparse supports and a hot riser: much that a looser rule could save.
        files = edit(
            files,
            "raceways.yaml",
            "cover: 550 mm, bends: [30 deg, 30 deg]",
            "cover: 300 mm, bends: [90 deg, 90 deg, 90 deg]",
        )
        files = edit(files, "raceways.yaml", "size: 1-1/2, length: 38 m", "size: 1, length: 38 m")
        files = edit(files, "raceways.yaml", "support_spacing: 2.4 m", "support_spacing: 4 m")
        files = edit(files, "circuits.yaml", "    size: 10 AWG\n", "    size: 12 AWG\n")
        files = edit(files, "arrays.yaml", "E1: {array: EAST, count: 12", "E1: {array: EAST, count: 23")
    plain = {found.id: found for found in design(files).findings}
    key, value = rule.split(", ")
    made = ruled(f"rule: {key}, text: looser, authority: the town, {value}", files)
    for found in made.findings:
        before = plain.get(found.id)
        if found.code == "local-rule" or found.outcome is not Outcome.MEETS:
            continue
        assert before is not None, found.id
        assert before.outcome is Outcome.MEETS, found.id
        old, new = ([q.value if q else None for q in (f.value, f.limit)] for f in (before, found))
        assert old == new, found.id
    own = finding(made, "local-rule:TOWN")
    assert own.outcome in {Outcome.THIN, Outcome.ASK}


def test_a_deeper_trench_by_a_local_rule(sample, ruled) -> None:
    key = "raceway-cover:R1/trench-orchard"
    # 550 mm is 21.7 in: above the edition's 18 in, below the town's 24 in.
    assert finding(ruled("rule: cover, text: two feet, value: 24 in"), key).outcome is Outcome.FAILS
