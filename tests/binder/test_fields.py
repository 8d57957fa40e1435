"""Names of fields: no two alike, told by circuit, terminal and reading, and the same however forms are dealt out."""

from __future__ import annotations

import io
import re
from itertools import product

import pytest
from page_readers import Page
from pypdf import PdfReader

from reportgen.binder.elements import Blank, Column, Fields, FormTable
from reportgen.binder.fields import field_names, names, subjects
from reportgen.binder.task_cards import task_cards
from reportgen.design.ring_out import design_ring_out


def fields_of(html: str) -> dict[str, str]:
    """What a reader that speaks says of each field of a page, by name."""
    found = [e.attributes for e in Page(html).all("input", "textarea") if e.attributes.get("name")]
    told = {str(a["name"]): str(a["title"]) for a in found}
    assert len(told) == len(found)
    return told


@pytest.fixture(scope="module")
def fields(html: str) -> dict[str, str]:
    return fields_of(html)


def test_no_two_fields_share_a_name_and_each_says_something(fields) -> None:
    assert len(fields) > 400
    assert all(name.count("/") >= 1 and told.strip() for name, told in fields.items())
    # A stop in the name of a field parts it into names of names: ISO 32000-1, 12.7.3.2.
    assert not any("." in name for name in fields)


def test_what_a_table_asks_is_told_apart_by_ear(fields) -> None:
    """A name and a date stand on every card; a step names itself; all else is told with what it is about."""
    asked = {name: told for name, told in fields.items() if name.count("/") > 1}
    assert len(set(asked.values())) > 0.99 * len(asked) > 250


def test_every_reading_of_every_string_has_its_field(built, fields) -> None:
    strings = [item.id for item in built.design.facts.strings]
    assert len(strings) == 5
    voltages = ("Time", "Cell", "Light", "V_oc array", "V_oc switch", "V_oc input")
    grounds = ("To ground +", "To ground −", "Insulation read", "I_sc", "Initials")
    for string, what in product(strings, voltages):
        assert f"card-commissioning-voltages/{string}/{what}" in fields
    for string, what in product(strings, grounds):
        assert f"card-commissioning-grounds/{string}/{what}" in fields


def test_every_terminal_and_wire_has_its_fields(built, fields) -> None:
    design = built.design
    landed = [(one.unit, one.terminal) for one in design.facts.terminations]
    assert len(landed) > 40
    done = [name.split("/")[1] for name in fields if re.fullmatch("card-terminations/.*/Done", name)]
    for unit, terminal in landed:
        # The two ends of a link are one row.
        assert any(terminal in re.split(", | ", name) for name in done if name.startswith(f"{unit} ")), (
            terminal
        )
    facts = design.facts
    ring = design_ring_out(facts.graph, facts.circuits, design.commissioning.tests, facts.pieces)
    # Ten wires, each cut at its switch.
    assert len(ring.pieces) == 20
    for piece, what in product(ring.pieces, ("+ beeps", "− beeps", "Initials")):
        place = f"{piece.start.place} to {piece.end.place.rstrip('+-')}"
        assert f"card-ring-out/{piece.wire.circuit} {place}/{what}" in fields
    read = ("+ to ground", "− to ground", "+ to −", "Wire", "Discharged")
    for test, what in product(ring.tests, read):
        assert len(test.apart) == 2
        for part in test.apart:
            assert f"card-wire-insulation/{test.circuit} {part}/{what}" in fields


def test_every_role_signs(fields) -> None:
    for role in ("Design", "Construction", "Inspection, test"):
        assert f"signatures/{role}/Signature" in fields


def readings(rows: int) -> FormTable:
    columns = (Column("Box"), Column("Terminal"), Column("Torque", "N·m"), Column("Done"))
    made = tuple((f"B{i // 9}", f"T{i % 9}", Blank(), Blank(tick=True)) for i in range(rows))
    return FormTable("any", "Terminals", columns, made)


def test_names_do_not_depend_on_how_a_form_is_dealt_out() -> None:
    form = readings(60)
    dealt = [
        {
            name
            for card in task_cards("box", "Boxes", purpose="x.", stop=("y",) * stops, form=form)
            for part in card.elements
            if isinstance(part, FormTable)
            for row in names(part)
            for name in row
            if name
        }
        for stops in (1, 12)
    ]
    assert dealt[0] == dealt[1]
    assert len(dealt[0]) == 120
    assert "card-box/B3, T4/Torque" in dealt[0]


def test_rows_that_print_the_same_are_fields_of_their_own() -> None:
    heads = (Column("Wire"), Column("Read", "V"), Column("Read", "A"), Column("x", group="Read"))
    texts = ("same", "same", "same (2)", "a.b", "a%2Eb", "a/b", "W" * 10_000, "W" * 10_001, "", "□")
    form = FormTable("any", "", heads, tuple((text, *(Blank(),) * 3) for text in texts))
    assert len(set(subjects(form))) == len(texts)
    found = [name for row in names(form) for name in row if name]
    assert len(set(found)) == 3 * len(texts)
    assert not any("." in name or len(name) > 120 for name in found)


def test_a_sheet_with_two_fields_of_one_name_has_two_fields() -> None:
    assert field_names(Fields("s", (Blank("Date"), Blank("Date")))) == ("s/Date", "s/Date (2)")


def test_the_pdf_has_the_fields_of_the_page(page: str, pdf: bytes) -> None:
    told = fields_of(page)
    found = PdfReader(io.BytesIO(pdf)).get_fields() or {}
    assert {name: field["/TU"] for name, field in found.items()} == told
    assert len(told) == 28
