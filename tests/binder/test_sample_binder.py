"""The binder of the sample: every chapter, every number twice, the same bytes twice."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from page_readers import NUMBER, Page, text_of, words

from reportgen.binder.chapters.base import Desk
from reportgen.binder.frame import DISCLAIMER
from reportgen.binder.html import faults
from reportgen.binder.pdf import write_pdf
from reportgen.binder.write import ORDER, lay_out
from reportgen.design.measures import measures_of
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


def test_every_chapter_is_there(built) -> None:
    pages = lay_out(built.design, take(SAMPLE).files)
    # nothing to compare with, and nobody has reviewed it yet
    left_out = {"changes", "alternatives", "reviews"}
    assert {
        module.__name__.rpartition(".")[2]
        for module in ORDER
        if module.chapter(Desk(built.design, {})) is None
    } == left_out
    # the drawings, where to look first, the findings, and the cards of all chapters
    assert len(pages.chapters) == len(ORDER) - len(left_out) + 4
    assert not faults(pages.chapters, built.design.findings)


def test_cautions_stand_where_the_hazard_is(built) -> None:
    pages = {chapter.id: chapter for chapter in lay_out(built.design, take(SAMPLE).files).chapters}
    for chapter in (
        "site",
        "strings",
        "inputs",
        "conductors",
        "raceways",
        "grounding",
        "commissioning",
        "labels",
        "readings",
        "assumptions",
    ):
        kinds = {type(element).__name__ for element in pages[chapter].elements}
        assert "Caution" in kinds, chapter


def test_disclaimer_and_open_findings_are_on_the_cover(built, html) -> None:
    assert DISCLAIMER in html
    cover = "".join(Page(html[: html.index("<nav")] + "</body></html>").shown)
    for finding in built.design.findings:
        if finding.outcome != "meets":
            # Where the page is full, like findings of one check are told once, with the ids or the number of the others.
            alike = [
                f for f in built.design.findings if (f.code, f.outcome) == (finding.code, finding.outcome)
            ]
            told = [f for f in alike if f.headline[:30] in cover or f.subject in cover]
            assert finding in told or (told and re.search(r"more of this check|… and \d+ more", cover)), (
                finding.id
            )


def test_what_is_not_covered_is_listed(html) -> None:
    told_in_words = re.sub("<[^>]*>", "", html)
    for told in ("battery circuits", "structure, footings", "module-level electronics"):
        assert told in told_in_words


def test_every_table_group_and_drawing_has_a_name(html) -> None:
    """What a reader that speaks announces: an empty name is a thing without one."""
    page = Page(html)
    by_id = {e.attributes["id"]: e for e in page.elements if "id" in e.attributes}
    for element in page.elements:
        for name in (element.attributes.get("aria-labelledby") or "").split():
            assert words(by_id[name]), name
        assert element.attributes.get("aria-label") != "", element
    assert all(words(caption) for caption in page.all("caption"))


def test_recalled_values_are_marked(html) -> None:
    assert html.count("value recalled, check the adopted code") > 3


def test_schedules_carry_digest_units_and_the_numbers_of_the_results(built) -> None:
    results = json.loads(built.outputs["results.json"])
    text = built.outputs["schedules/circuits.csv"].decode()
    first, rest = text.split("\n", 1)
    assert results["inputs"][:12] in first
    rows = {row["circuit"]: row for row in csv.DictReader(io.StringIO(rest))}
    assert set(rows) == set(results["circuits"])
    for key, row in rows.items():
        drop = results["circuits"][key]["drop_share"]["value"]
        assert float(row["share [%]"]) == pytest.approx(drop, rel=1e-5)


def test_results_follow_their_order_and_hold_no_clock_or_path(built) -> None:
    data = built.outputs["results.json"].decode()
    assert str(Path.cwd()) not in data
    assert os.uname().nodename not in data
    assert json.dumps(json.loads(data), sort_keys=True, indent=1, ensure_ascii=False) + "\n" == data


def test_energy_adds_up(built) -> None:
    year = json.loads(built.outputs["results.json"])["energy"]
    assert sum(year["ac"]) == pytest.approx(built.design.energy.year.ac_kwh, rel=1e-6)
    strings = year["strings"].values()
    for month in range(12):
        assert sum(string["wire"][month] for string in strings) == pytest.approx(
            year["wire"][month], rel=1e-6
        )


def test_fault_64_same_bytes_in_another_process_folder_and_time_zone(built, tmp_path) -> None:
    code = (
        "import sys, hashlib\n"
        "from pathlib import Path\n"
        "from reportgen.service.build import BuildOptions, run\n"
        "from reportgen.service.folder_reader import take\n"
        "made = run(take(Path(sys.argv[1])), BuildOptions(pdf=False)).outputs\n"
        "for name in sorted(made): print(name, hashlib.sha256(made[name]).hexdigest())\n"
    )
    import hashlib
    import shutil

    shutil.copytree(SAMPLE, tmp_path / "elsewhere", ignore=shutil.ignore_patterns("binder", "status.json"))
    environment = {**os.environ, "TZ": "Pacific/Auckland", "LANG": "C", "PYTHONHASHSEED": "7"}
    told = subprocess.run(
        [sys.executable, "-c", code, "elsewhere"],
        cwd=tmp_path,
        env=environment,
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    here = "".join(
        f"{name} {hashlib.sha256(data).hexdigest()}\n" for name, data in sorted(built.outputs.items())
    )
    assert told == here


@pytest.mark.slow
def test_the_whole_sample_as_a_pdf(built, html, tmp_path) -> None:
    """Every number can be found, the foot is on every page, and the file is sound."""
    pdf = write_pdf(html)
    file = tmp_path / "binder.pdf"
    file.write_bytes(pdf)
    assert subprocess.run(["qpdf", "--check", str(file)], capture_output=True, check=False).returncode == 0
    # in the order of the file: by places on the sheet, `0 K` alone in a cell reads as one spaced-out word
    text = text_of(pdf, "-raw")
    wanted = Counter(NUMBER.findall(" ".join(Page(html).shown)))
    assert wanted.total() > 3000
    assert not wanted - Counter(NUMBER.findall(text))
    pages = text.split("\f")[:-1]
    assert len(pages) > 20
    wires = {wire.id for wire in built.design.facts.graph.conductors}
    for number, page in enumerate(pages, 1):
        if page.partition("\n")[0] in wires:
            # A sheet of labels, which begins with the wire of its first label, carries nothing but its labels.
            continue
        assert DISCLAIMER in " ".join(page.split())
        assert f"page {number} of {len(pages)}" in page


def test_the_output_of_the_year_stands_with_its_band(built, html) -> None:
    year = built.design.energy.year
    low, high = (f"{year.ac_kwh * (1 + sign * year.band.share):.0f}" for sign in (-1, 1))
    cover = "".join(Page(html[: html.index("<nav")] + "</body></html>").shown)
    assert f"{year.ac_kwh:.0f} kWh ±8 %: {low} to {high} kWh" in cover
    told = json.loads(built.outputs["results.json"])["energy"]["year"]
    assert told["low"] < told["ac"] < told["high"]
    assert told["half_width_share"] == pytest.approx((0.05**2 + 0.05**2 + 0.04**2) ** 0.5)
    (measure,) = [item for item in measures_of(built.design) if item.key == "ac"]
    assert measure.band == "±8 %"


def test_what_ways_not_built_rest_on_stands_among_the_assumptions(built, html) -> None:
    assumed = {item.key: item.reason for item, _ in built.design.assumptions}
    shown = " ".join(Page(html).shown)
    for key in ("stringing.wire", "stringing.modules"):
        assert assumed[key] in shown
    assert "wire of each string as long, thick and warm as that of the array" in shown
