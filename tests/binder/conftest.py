"""The invented binder as a page and as a PDF, made once."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Error, sync_playwright

# pytest imports each test file on its own; the invented binder beside them is a plain module
sys.path.insert(0, str(Path(__file__).parent))

import invented
from page_readers import text_of
from tagged import Node, document

from reportgen.binder.html import render
from reportgen.binder.pdf import write_pdf
from reportgen.service.build import BuildOptions, Built, run
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"
#: A browser of the machine is taken before the one that Playwright installs.
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


@pytest.fixture(scope="session")
def page() -> str:
    return render(invented.FRAME, invented.chapters(), invented.findings())


@pytest.fixture(scope="session")
def pdf(page: str) -> bytes:
    return write_pdf(page)


@pytest.fixture(scope="session")
def pdf_text(pdf: bytes) -> str:
    return text_of(pdf)


@pytest.fixture(scope="session")
def built() -> Built:
    """The sample, built once without its PDF."""
    return run(take(SAMPLE), BuildOptions(pdf=False))


@pytest.fixture(scope="session")
def html(built: Built) -> str:
    return built.outputs["binder.html"].decode()


@pytest.fixture(scope="session")
def sample_pdf(html: str) -> bytes:
    """The PDF of the sample, laid out once for all slow tests of it."""
    return write_pdf(html)


@pytest.fixture(scope="session")
def sample(sample_pdf: bytes) -> Node:
    """The sample's PDF as a reader that speaks meets it."""
    return document(sample_pdf)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A real browser without a window."""
    found = next(filter(None, map(shutil.which, BROWSERS)), None)
    options = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
    with sync_playwright() as playwright:
        try:
            started = playwright.chromium.launch(executable_path=found, args=options)
        except Error as error:
            pytest.fail(
                "tests of the page need Chromium: `apt-get install chromium`, or "
                f"`playwright install --with-deps --only-shell chromium`; starting it ended with: {error}"
            )
        yield started
        started.close()
