"""The HTML page: one file, sound structure, and text that stays text."""

from __future__ import annotations

import re
import subprocess
import sys
from base64 import b64decode
from collections import Counter
from dataclasses import replace
from io import BytesIO
from itertools import pairwise
from pathlib import Path

import invented
import pytest
from fontTools.ttLib import TTFont
from hypothesis import example, given, settings
from hypothesis import strategies as st
from page_readers import IMPORTS, Page, words

from reportgen.binder.assets import font_uri, template_dir, text_width
from reportgen.binder.cells import SHAPES
from reportgen.binder.charts import loss_bars
from reportgen.binder.cover import cover
from reportgen.binder.elements import (
    Caution,
    Chapter,
    Column,
    Element,
    Facts,
    Figure,
    FormTable,
    Heading,
    Listing,
    Paragraph,
    Row,
    SourceText,
    Table,
    TableCell,
    TaskCard,
    finding_view,
    row,
)
from reportgen.binder.fitting import SIZES, UPRIGHT, fit
from reportgen.binder.frame import DISCLAIMER, Frame
from reportgen.binder.html import faults, render
from reportgen.binder.typeset import css_string, tied, unbroken
from reportgen.binder.workings import step_anchors, working_view
from reportgen.design.findings import Finding, Outcome
from reportgen.working.quantity import work

HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{ 7 * 7 }}{% raw %}${x}",
    "</style></title></svg><h1>x",
    "&lt;b&gt; &amp; 'x'",
    "javascript:alert(1) http://host.invalid/?q=1",
    "\\00003c/style",
    "عربي שלום",
)


@pytest.fixture(scope="module")
def parsed(page: str) -> Page:
    return Page(page)


def test_one_file_that_asks_for_nothing(page: str, parsed: Page) -> None:
    assert not parsed.all("link", "img", "iframe", "object", "base")
    (script,) = parsed.all("script")
    assert "".join(script.text) == (template_dir() / "binder.js").read_text()
    assert not script.attributes
    addresses = set(re.findall(r"""(?:url\(|src=|href=)["']?([^"')#]{1,12})""", page))
    assert addresses <= {"data:font/wo"}
    assert set(re.findall(r"https?://[^\"\s]+", page)) == {"http://www.w3.org/2000/svg"}


def test_language_landmarks_and_skip_link(parsed: Page) -> None:
    assert parsed.all("html")[0].attributes["lang"] == "en"
    for landmark in ("header", "nav", "main", "footer"):
        assert len(parsed.all(landmark)) == 1, landmark
    first = next(
        e
        for e in parsed.elements
        if e.tag in {"a", "input", "button", "textarea"} or "tabindex" in e.attributes
    )
    assert first.attributes["href"] == "#main"
    assert parsed.all("main")[0].attributes["id"] == "main"


def test_headings_descend_one_level_at_a_time(parsed: Page) -> None:
    levels = [int(heading.tag[1]) for heading in parsed.all("h1", "h2", "h3", "h4")]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_ids_are_unique_and_links_lead_somewhere(parsed: Page) -> None:
    ids = Counter(e.attributes["id"] for e in parsed.elements if "id" in e.attributes)
    assert not [name for name, count in ids.items() if count > 1]
    targets = [(e.attributes["href"] or "")[1:] for e in parsed.all("a")]
    assert len(targets) > 40
    assert set(targets) <= set(ids)
    named = " ".join(e.attributes.get("aria-labelledby") or "" for e in parsed.elements).split()
    assert set(named) <= set(ids)
    assert faults(invented.chapters(), invented.findings()) == ()


def test_faults_are_found() -> None:
    table = Table("t", "", (Column("a"),), (row(TableCell("x", link="nowhere")),))
    found = faults([Chapter("one", "", "", (table, table))])
    assert found == ("`t` is given 2 times", "`nowhere` is linked to and does not exist")
    assert 'href="#nowhere"' not in render(invented.FRAME, [Chapter("one", "", "", (table,))], ())


def test_every_header_cell_has_its_scope(parsed: Page) -> None:
    heads = parsed.all("th")
    assert len(heads) > 100
    assert {head.attributes.get("scope") for head in heads} == {"col", "row", "colgroup", "rowgroup"}
    assert all(head.attributes["scope"] in {"col", "colgroup"} for head in heads if "thead" in head.parents)


def test_fields_have_names_of_their_own(parsed: Page) -> None:
    fields = parsed.all("input", "textarea")
    assert len(fields) == 6 * 4 + 4
    assert len({field.attributes["name"] for field in fields}) == len(fields)
    assert all(field.attributes["aria-label"] for field in fields)
    assert "Measured, V: S3" in {field.attributes["aria-label"] for field in fields}


def test_the_disclaimer_is_on_the_cover_and_at_the_foot(parsed: Page, page: str) -> None:
    assert words(parsed.of_class("disclaimer")[0]) == DISCLAIMER
    assert words(parsed.all("footer")[0]) == DISCLAIMER
    assert f"@bottom-left {{ content: {css_string(DISCLAIMER)}" in page


def test_the_cover_lists_what_does_not_meet_worst_first(parsed: Page) -> None:
    rows = [e for e in parsed.all("tr") if "header" in e.parents and "tbody" in e.parents]
    outcomes = [words(item).split()[1] for item in rows]
    assert outcomes == ["fails", "unknown", "ask", "thin", "thin", "thin", "thin"]
    assert words(next(e for e in parsed.all("h2"))) == "1 check fails, 1 is unknown"
    assert "40 checks meet: the full list of findings" in words(parsed.all("header")[0])


def test_a_count_of_none_is_set_quietly(parsed: Page) -> None:
    quiet = Page(render(invented.FRAME, [], [Finding("c", "s", Outcome.ASK, "who decides")]))
    assert [words(e)[0] for e in quiet.of_class("none")] == ["0"] * 4
    assert not parsed.of_class("none")


def test_no_attribute_is_written_as_text(parsed: Page) -> None:
    values = [v for e in parsed.elements for v in e.attributes.values() if v is not None]
    assert len(values) > 1000
    assert not [value for value in values if value.startswith(('"', "'"))]


def test_what_is_worked_elsewhere_names_its_line() -> None:
    value = invented.cold_voltage()
    places = step_anchors(value, "first")
    again = work("again", "V", "2 * U", U=value)
    elements = (working_view(value, id="first"), working_view(again, id="second", elsewhere=places))
    page = Page(render(invented.FRAME, [Chapter("c", "t", "", elements)], ()))
    (link,) = [e for e in page.all("a") if "main" in e.parents and e.attributes["href"] == "#first"]
    assert words(link) == "line 1.3"
    assert [words(e) for e in page.of_class("line-number")][2:] == ["1.3", "1.4"]
    assert [e.attributes.get("id") for e in page.of_class("working")][2:] == ["first", "second"]


def many(count: int, outcome: Outcome = Outcome.FAILS) -> list[Finding]:
    """As many findings of one check, the last of them the worst."""
    return [
        Finding(
            "drop", f"C{i}", outcome, f"voltage drop of C{i} {3 + i / 10:.1f} %, target 3.0 %", margin=-i / 30
        )
        for i in range(1, count + 1)
    ]


def test_equal_headlines_share_a_line() -> None:
    same = [Finding("start", f"S{i}", Outcome.UNKNOWN, "the start voltage is not stated") for i in (1, 2, 3)]
    (line,) = cover(invented.FRAME, same).lines
    assert [name for name, _ in line.others] == ["S2", "S3"]
    text = words(Page(render(invented.FRAME, [], same)).all("header")[0])
    assert text.count("the start voltage is not stated") == 1
    assert "and 2 more of this check: S2; S3" in text


@pytest.mark.parametrize("imperial", [False, True])
def test_very_many_findings_share_a_line_under_the_worst(imperial: bool) -> None:
    found = [*many(60), *many(24, Outcome.THIN)]
    made = cover(replace(invented.FRAME, imperial=imperial), found)
    assert [line.headline[:19] for line in made.lines] == ["voltage drop of C60", "voltage drop of C24"]
    told = [{line.link, *(link for _, link in line.others)} for line in made.lines]
    assert [len(anchors) for anchors in told] == [60, 24]
    assert not any(line.unnamed for line in made.lines)


def test_findings_without_room_for_their_names_are_counted() -> None:
    (line,) = cover(invented.FRAME, many(3000)).lines
    assert 1 + len(line.others) + line.unnamed == 3000
    assert line.unnamed > 0


def test_few_findings_each_have_a_line() -> None:
    lines = cover(invented.FRAME, many(9)).lines
    assert [line.headline for line in lines] == [finding.headline for finding in reversed(many(9))]


def test_a_missing_answer_never_reads_as_good() -> None:
    empty = Page(render(invented.FRAME, [], ()))
    assert words(empty.all("h2")[0]) == "Nothing was checked"
    one = Finding("c", "s", Outcome.UNKNOWN, "not stated")
    assert words(Page(render(invented.FRAME, [], [one])).all("h2")[0]) == "Nothing fails, 1 is unknown"


def test_each_outcome_has_its_word_and_its_own_shape(parsed: Page) -> None:
    assert len(set(SHAPES.values())) == len(Outcome)
    for mark in parsed.of_class("outcome"):
        shape, *rest = words(mark).split()
        assert SHAPES[Outcome(rest[-1])] == shape


def test_a_step_of_nothing_has_no_bar() -> None:
    table = loss_bars("l", "Losses", [("light", 10.0, 1.0), ("snow", 0.0, 0.0)])
    page = Page(render(invented.FRAME, [Chapter("c", "t", "", (table,))], ()))
    assert [e.attributes["style"] for e in page.of_class("bar")] == ["width:100.00%"]


def test_contents_count_what_is_open(parsed: Page) -> None:
    entries = [words(e) for e in parsed.all("li") if "nav" in e.parents]
    assert entries[0] == "1 Findings ■ 1 fails ○ 1 unknown ◇ 1 ask △ 4 thin"


def test_symbols_are_typeset(page: str) -> None:
    assert "<var>V</var><sub>oc</sub>" in page
    assert "V_oc" not in "".join(Page(page).shown)


def one_of_each(text: str) -> Chapter:
    """Elements whose markup does not depend on what they say."""
    finding = Finding("c", text, Outcome.FAILS, text, cure=text, clause=text, break_even=text, question=text)
    elements: tuple[Element, ...] = (
        Paragraph(text),
        Heading(text),
        Caution(text, text, text),
        Listing((text, text)),
        Facts(((text.replace("_", " "), text),), text),
        SourceText(text, f"a{text.replace(chr(10), ' ')}"),
        Table(
            "t",
            text,
            (Column("A", text), Column("B")),
            (Row((TableCell(text, note=text), TableCell(text))),),
            (text,),
        ),
        FormTable("f", text, (Column("A"), Column("B")), ((text, text),)),
        Figure(text, text, text),  # type: ignore[arg-type]
        finding_view(finding),
        TaskCard(
            "k",
            text,
            (
                Paragraph(text),
                Facts(((text.replace("_", " "), text),), text),
                Listing((text,)),
                Caution(text, text),
            ),
        ),
    )
    return Chapter("c", text, text, elements)


def marks(page: Page, within: str = "html") -> list[str]:
    """Tags of a page, those left out that only keep a number and its unit on one line."""
    return [
        e.tag
        for e in page.elements
        if (within in e.parents or e.tag == within) and (e.tag, e.attributes.get("class")) != ("span", "one")
    ]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_shown_as_it_is(text: str) -> None:
    frame = Frame(text, text, text, "2026-01-02", text, text, text, False, ((text, text),))
    html = render(
        frame, [one_of_each(text)], [Finding("c", "s", Outcome.FAILS, text, cure=text, missing=(text,))]
    )
    shown = Page(html)
    calm = Page(render(frame, [one_of_each("calm")], []))
    assert Counter(marks(shown, "main")) == Counter(marks(calm, "main"))
    assert {name for e in shown.elements for name in e.attributes if name.startswith("on")} == set()
    assert "".join(shown.shown).count(text) >= 20
    assert words(shown.all("h1")[0]) == " ".join(text.split())
    assert words(shown.all("title")[0]).startswith(" ".join(text.split()))


@settings(max_examples=40, deadline=None)
@given(st.text(min_size=1, max_size=25).filter(lambda text: text.strip() and "\r" not in text))
@example(".")
def test_no_text_makes_markup(text: str) -> None:
    usual = marks(Page(render(invented.FRAME, [one_of_each("calm")], [])))
    lines = marks(Page(render(invented.FRAME, [one_of_each(text)], [])))
    assert Counter(lines) == Counter(usual)


def test_text_cannot_turn_its_direction_round() -> None:
    """A mark that turns text round would let 12 read as 21."""
    html = render(invented.FRAME, [Chapter("c", "t", "", (Paragraph("limit \u202e12\u202c V\x00\x08"),))], ())
    assert "limit □12□ V□□" in html


@pytest.mark.parametrize(
    "text", ['"; } body { display: none } a { content: "', "</style><b>", "\\", "\n", "…é "]
)
def test_a_text_cannot_leave_a_style_string(text: str) -> None:
    string = str(css_string(text))
    assert re.fullmatch(r'"[A-Za-z0-9 \\]*"', string)
    back = re.sub(r"\\([0-9a-f]+) ", lambda match: chr(int(match[1], 16)), string[1:-1])
    assert back == text


def test_a_number_stays_with_its_unit_and_a_name_in_one_piece() -> None:
    said = "hot voltage of E1 522.9 V, top of INV-1/A 550.0 V, 2 poles, 8 AWG at −40 °C"
    marked = re.findall(r'<span class="one">(.*?)</span>', str(tied(said)))
    assert marked == ["522.9 V,", "INV-1/A", "550.0 V,", "8 AWG", "−40 °C"]
    assert " ".join(unbroken(said)) == said


def test_a_very_long_word_may_break() -> None:
    word = "q" * 10_000
    html = render(
        invented.FRAME, [Chapter("c", "t", "", (Table("t", "", (Column("a"),), (row(word),)),))], ()
    )
    assert f'<th scope="row" class="long">{word}</th>' in html.replace("\n", "")


def test_the_same_bytes_in_another_process(page: str, tmp_path: Path) -> None:
    code = (
        f"import sys; sys.path.insert(0, {str(Path(invented.__file__).parent)!r}); import invented\n"
        "from reportgen.binder.html import render\n"
        "sys.stdout.buffer.write(render(invented.FRAME, invented.chapters(), invented.findings()).encode())"
    )
    env = {"PATH": "/usr/bin:/bin", "TZ": "Pacific/Auckland", "PYTHONHASHSEED": "7", "LC_ALL": "C", **IMPORTS}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=True, cwd=tmp_path, env=env
    )
    assert done.stdout.decode() == page


def test_a_table_stands_upright_where_it_can() -> None:
    assert fit(invented.wires()).upright
    columns = tuple(Column(f"a rather long column {i}", "kWh", "right") for i in range(16))
    crowded = Table("x", "", columns, (row(*[f"{i}0000000.25" for i in range(16)]),), wide=True)
    assert not fit(crowded).upright
    html = Page(
        render(invented.FRAME, [Chapter("c", "t", "", (Heading("Next"), crowded, Paragraph("x")))], ())
    )
    assert [e.attributes["class"] for e in html.of_class("sheet")] == ["sheet lie", "sheet"]


def test_narrow_columns_keep_to_one_line_and_long_tables_to_few() -> None:
    said = "cold voltage of string E1 593.9 V, never to be exceeded at INV-1 600.0 V"
    table = Table(
        "x",
        "",
        (Column("Finding"), Column("Margin"), Column("Clause")),
        tuple(row(said, "1 % to spare", "690.7(A)(1) to (3)") for _ in range(30)),
    )
    found = fit(table)
    assert found.upright
    assert found.classes == ("one", "one", "one")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.text("abc 019", max_size=40), min_size=3, max_size=3), min_size=1, max_size=6))
def test_columns_share_the_width_and_hold_their_words(texts: list[list[str]]) -> None:
    table = Table("x", "", (Column("a"), Column("b"), Column("c")), tuple(row(*cells) for cells in texts))
    found = fit(table)
    assert sum(found.shares) == pytest.approx(100, abs=0.05)
    sizes = {name: size for size, name in SIZES}
    size = sizes[found.size.removesuffix(" crowded")]
    for i, share in enumerate(found.shares):
        words_of = [word for cells in texts for word in cells[i].split() if len(word) < 28]
        longest = max((text_width(word, size) for word in words_of), default=0)
        assert not found.upright or share / 100 * UPRIGHT >= longest


@pytest.mark.parametrize("name", ["regular", "semibold", "italic", "display"])
def test_fonts_reach_each_glyph_by_its_code_point_alone(name: str) -> None:
    """What a substitution puts in would be lost where a PDF maps glyphs back by the character map."""
    font = TTFont(BytesIO(b64decode(font_uri(name).partition(",")[2])))
    assert "GSUB" not in font
    codes = font.getBestCmap()
    figures = {font["hmtx"][codes[ord(digit)]][0] for digit in "0123456789"}
    assert len(figures) == 1
    assert all(ord(sign) in codes for sign in "−×²°Ωμβθ√≤≥✓■○◇△⚠□")
    assert (template_dir() / "fonts" / f"{name}.woff2").stat().st_size < 90_000
    assert "SIL OPEN FONT LICENSE" in (template_dir() / "fonts" / "OFL.txt").read_text()


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21. [-]."""

    def light(colour: str) -> float:
        long = colour if len(colour) == 7 else "#" + "".join(2 * c for c in colour[1:])
        parts = [int(long[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.source(
    "Web Content Accessibility Guidelines 2.2, W3C", locator="1.4.3 and relative luminance", read="memory"
)
@pytest.mark.parametrize("sheet", ["base.css", "screen.css"])
def test_text_stands_out_in_light_and_dark(sheet: str) -> None:
    assert contrast("#000", "#fff") == pytest.approx(21)
    css = (template_dir() / "style" / sheet).read_text()
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", css))
    for text in ("ink", "quiet", "accent"):
        for ground in ("paper", "band"):
            assert contrast(colours[text], colours[ground]) >= 4.5, (text, ground)
