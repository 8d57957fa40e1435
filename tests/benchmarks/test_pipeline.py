"""How long a check, the pages and the PDF of the sample take; ratios are formed within one run."""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

import pytest

from reportgen.binder.html import render
from reportgen.binder.pdf import write_pdf
from reportgen.binder.write import lay_out
from reportgen.design.assemble import Design, assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.build import BuildOptions, check, run
from reportgen.service.folder_reader import take

sys.path.insert(0, str(Path(__file__).parent))
from many_circuits import many_circuits

SAMPLE = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def snapshot():
    return take(SAMPLE)


@pytest.fixture(scope="module")
def built(snapshot):
    return run(snapshot, BuildOptions(pdf=False))


@pytest.fixture(scope="module")
def html(built) -> str:
    return built.outputs["binder.html"].decode()


def test_check(benchmark, snapshot) -> None:
    design = benchmark(check, snapshot)
    assert design.findings


def test_a_thousand_circuits(benchmark) -> None:
    """1 000 circuits in 40 raceways: read, designed, checked."""
    files = many_circuits()

    def whole() -> Design:
        project = load_project(files)
        return assemble(project, load(str(project.project.rulebook)), "many")

    design = benchmark.pedantic(whole, rounds=5, warmup_rounds=1)
    assert len(design.facts.circuits) == 1000


def test_time_grows_with_the_circuits_and_not_faster(benchmark) -> None:
    """Four times the circuits in four times the raceways: design and checks, as a ratio within one run."""

    def seconds(circuits: int, raceways: int) -> float:
        project, rulebook = load_project(many_circuits(circuits, raceways)), load("nec2023")
        taken = []
        for _ in range(3):
            start = time.perf_counter()
            assemble(project, rulebook, "many")
            taken.append(time.perf_counter() - start)
        return min(taken)

    ratio = benchmark.pedantic(lambda: seconds(1000, 40) / seconds(250, 10), rounds=1)
    benchmark.extra_info["1 000 over 250 circuits"] = ratio
    # Four were exactly linear; a pair of nested loops over circuits would come near sixteen.
    assert ratio < 6


def test_html(benchmark, built, snapshot) -> None:
    def pages() -> str:
        laid = lay_out(built.design, snapshot.files)
        return render(laid.frame, laid.chapters, built.design.findings)

    assert "</html>" in benchmark(pages)


def test_pdf_against_the_renderer_alone(benchmark, html) -> None:
    """Whole PDF over what the renderer takes for the same page without anything of ours; both warm, in turn."""
    import weasyprint

    alone: list[float] = []

    def renderer_alone() -> None:
        begin = time.perf_counter()
        weasyprint.HTML(string=html).write_pdf(pdf_variant="pdf/ua-1", pdf_forms=True)
        alone.append(time.perf_counter() - begin)

    write_pdf(html)
    renderer_alone()
    alone.clear()
    benchmark.pedantic(write_pdf, setup=renderer_alone, args=(html,), rounds=3, iterations=1)
    benchmark.extra_info["renderer alone [s]"] = round(statistics.median(alone), 3)
    benchmark.extra_info["ratio"] = round(benchmark.stats.stats.median / statistics.median(alone), 3)
