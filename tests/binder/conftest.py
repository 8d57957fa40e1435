"""The invented binder as a page and as a PDF, made once."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

# pytest imports each test file on its own; the invented binder beside them is a plain module
sys.path.insert(0, str(Path(__file__).parent))

import invented
from page_readers import text_of

from reportgen.binder.html import render
from reportgen.binder.pdf import write_pdf


@pytest.fixture(scope="session")
def page() -> str:
    return render(invented.FRAME, invented.chapters(), invented.findings())


@pytest.fixture(scope="session")
def pdf(page: str) -> bytes:
    return write_pdf(page)


@pytest.fixture(scope="session")
def pdf_text(pdf: bytes) -> str:
    return text_of(pdf)
