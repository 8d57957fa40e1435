"""The PDF: every number can be found, it is tagged, it reads nothing, and it is the same everywhere."""

from __future__ import annotations

import gc
import re
import socket
import subprocess
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import ModuleType

import invented
import pytest
from page_readers import IMPORTS, NUMBER, Page, text_of

from reportgen.binder.assets import font_uri, template_dir
from reportgen.binder.elements import Chapter, Column, Paragraph, SourceText, Table, row
from reportgen.binder.frame import DISCLAIMER
from reportgen.binder.html import render
from reportgen.binder.pdf import FetchRefused, PangoMissing, fetcher, template_file, write_pdf


def run(*words: str, given: bytes) -> str:
    return subprocess.run(words, input=given, capture_output=True, check=True).stdout.decode()


def test_every_number_of_the_page_is_found_in_the_pdf(page: str, pdf_text: str) -> None:
    """Forms and tags together once lost figures and hyphens that fonts swap in; nothing may be lost."""
    shown = " ".join(Page(page).shown)
    wanted, found = Counter(NUMBER.findall(shown)), Counter(NUMBER.findall(pdf_text))
    assert wanted.total() > 600
    assert not wanted - found


def test_every_sign_is_found_in_the_pdf(page: str, pdf_text: str) -> None:
    shown = "".join(Page(page).shown)
    for sign in "−-×°²Ω%■○◇△✓":
        assert pdf_text.count(sign) >= shown.count(sign), sign


def test_the_same_holds_for_text_beside_fields() -> None:
    """A page with one field: the font is then embedded whole and mapped back by its character map."""
    table = Table("t", "Numbers", (Column("x"),), tuple(row(f"-{i}.{i % 7}-{i}") for i in range(900)))
    chapters = [Chapter("c", "t", "", (table, *invented.sheet()))]
    text = text_of(write_pdf(render(invented.FRAME, chapters, ())))
    assert all(f"-{i}.{i % 7}-{i}\n" in text for i in range(900))


def test_qpdf_finds_nothing_to_complain_about(pdf: bytes, tmp_path: Path) -> None:
    file = tmp_path / "binder.pdf"
    file.write_bytes(pdf)
    done = subprocess.run(["qpdf", "--check", str(file)], capture_output=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.fixture(scope="module")
def objects(pdf: bytes, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The objects of the PDF written out one by one."""
    file = tmp_path_factory.mktemp("pdf") / "binder.pdf"
    file.write_bytes(pdf)
    words = ["qpdf", "--qdf", "--object-streams=disable", "--no-original-object-ids", str(file), "-"]
    return subprocess.run(words, capture_output=True, check=True).stdout


def test_tags_bookmarks_dates_and_fields(pdf: bytes, objects: bytes) -> None:
    info = run("pdfinfo", "-", given=pdf)
    assert re.search(r"^Tagged: +yes$", info, re.M)
    assert re.search(r"^Form: +AcroForm$", info, re.M)
    assert "Mon Mar  9" in info
    assert re.search(
        r"^Title: +Lantern Mill paper store, two ground tables, revision C: design binder$", info, re.M
    )
    assert 'pdfuaid:part="1"' in run("pdfinfo", "-meta", "-", given=pdf)
    heads = [item for item in objects.split(b"endobj") if b"/S /TH\n" in item]
    assert len(heads) > 130
    assert {re.search(rb"/Scope /(\w+)", item)[1] for item in heads} == {b"Column", b"Row"}  # type: ignore[index]
    names = re.findall(rb"/T \(((?:tests|signed)/.+)\)\n", objects)
    assert len(names) == len(set(names)) == 28
    titles = re.findall(rb"/Title \((.*?)\)\n", objects)
    assert [title.decode() for title in titles if b"Working" in title] == ["Working"]
    assert b"2 String design" in titles


def test_figures_have_words_for_who_cannot_see_them(objects: bytes) -> None:
    assert objects.count(b"/S /Figure\n") == objects.count(b"/Alt (") == 3


def test_links_say_where_they_lead(objects: bytes) -> None:
    pairs = re.findall(rb"/Contents \(([^\n]*)\)\n  /Dest \((.*?)\)", objects)
    told = {place.decode(): name.decode().replace("\\", "") for name, place in pairs}
    assert told["chapter-strings"] == "2 String design"
    assert told["working-S1"].endswith(" S1")
    assert told["finding-drop_3a_C1"].startswith("voltage drop of C1")
    assert not set(told) & set(told.values())


def test_all_fonts_are_embedded(pdf: bytes, tmp_path: Path) -> None:
    file = tmp_path / "binder.pdf"
    file.write_bytes(pdf)
    rows = run("pdffonts", str(file), given=b"").splitlines()[2:]
    assert len(rows) == 4
    assert all("Inter-Binder" in line and re.search(r"yes yes yes", line) for line in rows)


def pages_of(pdf: bytes) -> list[str]:
    return text_of(pdf).split("\f")[:-1]


def test_every_page_has_its_head_and_foot(pdf: bytes) -> None:
    pages = pages_of(pdf)
    assert len(pages) >= 7
    for number, text in enumerate(pages, 1):
        assert DISCLAIMER in text
        assert f"page {number} of {len(pages)}" in text
        if number > 1:
            assert "LM-12 · Lantern Mill paper store" in text
            assert "revision C · 2026-03-09 · 41c07d2 · inputs 5f3a91c2d4e8" in text


def test_contents_name_the_right_pages(pdf: bytes) -> None:
    pages = pages_of(pdf)
    entries = re.findall(r"^ *(\d) +(\S.*?) {2,}(\d+)$", pages[1], re.M)
    assert [title for _, title, _ in entries] == [c.title for c in invented.chapters()]
    for number, title, place in entries:
        assert re.search(rf"^ *{number} +{title}$", pages[int(place) - 1], re.M), title


def test_all_open_findings_stand_on_the_cover(pdf: bytes) -> None:
    cover = pages_of(pdf)[0]
    assert all(finding.headline in cover for finding in invented.findings()[:7])


@pytest.mark.parametrize("imperial", [False, True])
@pytest.mark.parametrize("thin", [6, 9, 13, 17, 21, 25, 29, 40, 200])
def test_many_open_findings_stand_on_the_cover(thin: int, imperial: bool) -> None:
    found = invented.findings(thin=thin)
    first, *_ = pages_of(write_pdf(render(replace(invented.FRAME, imperial=imperial), [], found)))
    flat = " ".join(first.split())
    assert "40 checks meet" in flat
    for finding in found[: 3 + thin]:
        assert finding.headline in flat or re.search(rf"(: |; ){finding.subject}\b", flat), finding.id


def test_empty_lines_of_a_listing_have_their_height() -> None:
    """A line number without a line once printed over the next."""
    text = "\n".join("x:" if i % 2 else "" for i in range(1, 20))
    pdf = write_pdf(render(invented.FRAME, [Chapter("c", "t", "", (SourceText("f", text),))], ()))
    found = run("pdftotext", "-bbox", "-", "-", given=pdf)
    places = {int(n): float(y) for y, n in re.findall(r'yMin="([\d.]+)"[^>]*>(\d+)\.<', found)}
    assert sorted(places) == list(range(1, 20))
    steps = [places[i + 1] - places[i] for i in range(1, 19)]
    # The second column begins beside the first line; in each column every line has its height.
    down = [step for step in steps if step > 0]
    assert len(down) == 17
    assert min(down) == pytest.approx(max(down), abs=0.05)


def test_cross_sections_stand_abreast() -> None:
    pair = (invented.section("one"), invented.section("two"))
    pdf = write_pdf(render(invented.FRAME, [Chapter("c", "t", "", pair)], ()))
    found = run("pdftotext", "-bbox", "-", "-", given=pdf)
    bores = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)"[^>]*>bore</word>\s*<word [^>]*>35.05<', found)
    (left, top), (right, same) = [(float(x), float(y)) for x, y in bores]
    assert same == pytest.approx(top, abs=0.05)
    assert right - left > 200


def test_the_search_for_garbage_is_on_again(page: str) -> None:
    assert gc.isenabled()
    write_pdf("<html lang=en><title>t</title>")
    assert gc.isenabled()


def test_table_heads_are_repeated_and_rows_keep_company(pdf: bytes) -> None:
    pages = [text for text in pages_of(pdf) if re.search(r"\bPV-\d+ +table", text)]
    assert len(pages) == 2
    for text in pages:
        assert re.search(r"^ *Circuit +From", text, re.M)
        assert len(re.findall(r"^ *PV-\d+ +table", text, re.M)) >= 3


def test_sheets_follow_the_printed_units(pdf: bytes) -> None:
    letter = write_pdf(render(replace(invented.FRAME, imperial=True), [], ()))
    assert "A4" in run("pdfinfo", "-", given=pdf)
    assert "letter" in run("pdfinfo", "-", given=letter)


@pytest.mark.slow
def test_a_word_of_ten_thousand_letters_stays_on_the_sheet() -> None:
    table = Table("t", "", (Column("a"), Column("b")), (row("x", "q" * 10_000),))
    pdf = write_pdf(render(invented.FRAME, [Chapter("c", "t", "", (table, Paragraph("q" * 10_000)))], ()))
    assert text_of(pdf).count("q") == 20_000 + DISCLAIMER.count("q")


@pytest.mark.parametrize(
    "url",
    [
        "http://localhost/x.css",
        "https://host.invalid/",
        "ftp://host.invalid/",
        "file:///etc/hostname",
        "file://host.invalid/etc/hostname",
        f"{template_dir().as_uri()}/../pyproject.toml",
        f"{template_dir().as_uri()}/%2e%2e/pyproject.toml",
        f"{template_dir().as_uri()}-other/base.css",
        template_dir().as_uri(),
        "data:text/css,a{}",
        "data:font/woff2;base64,AAAA",
        "data:image/png;base64,AAAA",
    ],
)
def test_the_fetcher_refuses(url: str) -> None:
    with pytest.raises(FetchRefused):
        fetcher().fetch(url)


def test_the_fetcher_follows_links_before_it_decides(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    outside, inside = tmp_path / "secret", tmp_path / "templates"
    outside.write_text("x")
    inside.mkdir()
    (inside / "link").symlink_to(outside)
    (inside / "own").write_text("y")
    monkeypatch.setattr("reportgen.binder.pdf.template_dir", lambda: inside)
    assert template_file((inside / "own").as_uri()).read_text() == "y"
    with pytest.raises(FetchRefused):
        template_file((inside / "link").as_uri())


def test_the_fetcher_answers_for_what_is_ours() -> None:
    assert fetcher().fetch(f"{template_dir().as_uri()}/style/base.css").read().startswith(b":root")
    assert fetcher().fetch(font_uri("regular")).read()[:4] == b"wOF2"
    image = "data:image/png;base64,AAAA"
    assert fetcher({image}).fetch(image).read() == b"\0\0\0"


def test_a_page_can_make_it_read_nothing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    secret = tmp_path / "secret.svg"
    secret.write_text('<svg xmlns="http://www.w3.org/2000/svg"><text y="20">secretword</text></svg>')
    asked: list[object] = []

    def refuse(*args: object, **_: object) -> None:
        asked.append(args)
        raise OSError

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    uri = secret.as_uri()
    html = (
        f'<html lang="en"><head><title>t</title><link rel="stylesheet" href="http://127.0.0.1:9/x.css">'
        f'<link rel="attachment" href="{uri}"><style>@import url("http://127.0.0.1:9/y.css");'
        f'@font-face{{font-family:q;src:url("{uri}")}}body{{background:url("{uri}")}}</style></head>'
        f'<body><img alt="a" src="{uri}"><img alt="b" src="http://127.0.0.1:9/z.png">'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><title>t</title><image href="{uri}" width="9" '
        f'height="9"/><use href="{uri}#a"/></svg><embed src="{uri}"><object data="{uri}"></object>said</body></html>'
    )
    pdf = write_pdf(html)
    assert asked == []
    assert "said" in text_of(pdf)
    assert "secretword" not in text_of(pdf)
    assert b"EmbeddedFile" not in pdf


def test_the_same_bytes_in_another_process(pdf: bytes, page: str, tmp_path: Path) -> None:
    code = (
        "import sys; from reportgen.binder.pdf import write_pdf\n"
        "sys.stdout.buffer.write(write_pdf(sys.stdin.buffer.read().decode()))"
    )
    env = {
        "PATH": "/usr/bin:/bin",
        "TZ": "Pacific/Auckland",
        "PYTHONHASHSEED": "7",
        "HOME": str(tmp_path),
        **IMPORTS,
    }
    done = subprocess.run(
        [sys.executable, "-c", code],
        input=page.encode(),
        capture_output=True,
        check=True,
        cwd=tmp_path,
        env=env,
    )
    assert done.stdout == pdf


class NoLibrary(MetaPathFinder):
    """Import of the page layout as it ends on a machine without its system libraries."""

    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if name.partition(".")[0] == "weasyprint":
            reason = "cannot load library 'libpango-1.0-0'"
            raise OSError(reason)
        return None


@pytest.fixture
def without_pango(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in [name for name in sys.modules if name.partition(".")[0] == "weasyprint"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(sys, "meta_path", [NoLibrary(), *sys.meta_path])


@pytest.mark.usefixtures("without_pango")
def test_a_missing_library_names_the_packages(page: str) -> None:
    with pytest.raises(PangoMissing, match="libpango") as caught:
        write_pdf(page)
    assert caught.value.help == (
        "install them with `sudo apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0`"
    )


def test_the_page_does_not_load_what_makes_the_pdf() -> None:
    code = "import sys, reportgen.binder.html, reportgen.binder.pdf; sys.exit('weasyprint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
