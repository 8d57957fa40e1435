"""Pages told and lent while their PDF is laid out: before it, once, and never published without it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from service_fakes import Running, contents

from reportgen.service.ahead import Ahead, listen
from reportgen.service.build import BuildOptions, build
from reportgen.service.events import EventKind
from reportgen.service.folder_reader import take

Start = Callable[..., Running]
EXAMPLE = Path(__file__).parents[2] / "reportgen" / "examples" / "two-strings"


def test_findings_are_told_before_the_pdf_and_not_again_with_it(start: Start, project: Path) -> None:
    (project / "a.yaml").write_text("finding: drop meets\n")
    running = start()
    running.wait_published()
    before = contents(running.target)
    (project / "a.yaml").write_text("ahead: yes\nfinding: drop fails\ndo: slow 2\n")
    running.wait_kind(EventKind.PAGES)
    told = running.last(EventKind.PAGES)
    assert [(item.id, item.after) for item in told.gained] == [("drop", "fails")]
    assert told.message == "pages built; the PDF follows"
    assert told.changes.changed == ("a.yaml",)
    assert told.stale
    # lent, and not published
    assert running.lent.pages is not None
    assert b"drop fails" in running.lent.pages[1].outputs["binder.html"]
    assert contents(running.target) == before
    running.wait(lambda: running.ended >= 2)
    published = running.last(EventKind.PUBLISHED)
    assert published.gained == published.lost == ()
    assert running.lent.pages is None
    assert contents(running.target) != before


def test_a_pdf_that_fails_publishes_nothing_and_takes_the_pages_back(start: Start, project: Path) -> None:
    (project / "a.yaml").write_text("finding: drop meets\n")
    running = start()
    running.wait_published()
    before = contents(running.target)
    (project / "a.yaml").write_text("ahead: yes\nfinding: drop fails\ndo: raise\n")
    running.wait_kind(EventKind.DEFECT)
    assert running.lent.pages is None
    assert contents(running.target) == before
    (project / "a.yaml").write_text("finding: drop fails\n")
    running.wait(lambda: running.ended >= 3)
    # told once more, because what was told ahead was never published
    assert [item.id for item in running.last(EventKind.PUBLISHED).gained] == ["drop"]


def test_a_newer_change_is_told_against_what_was_told_last(start: Start, project: Path) -> None:
    (project / "a.yaml").write_text("finding: drop meets\n")
    running = start()
    running.wait_published()
    (project / "a.yaml").write_text("ahead: yes\nfinding: drop fails\ndo: slow 20\n")
    running.wait_kind(EventKind.PAGES)
    (project / "a.yaml").write_text("finding: drop thin\n")
    running.wait(lambda: running.ended >= 2)
    gained = running.last(EventKind.PUBLISHED).gained
    assert [(item.before, item.after) for item in gained] == [("fails", "thin")]
    assert running.lent.pages is None


def test_a_change_that_is_taken_back_is_told_as_lost(start: Start, project: Path) -> None:
    (project / "a.yaml").write_text("finding: drop meets\n")
    running = start()
    running.wait_published()
    (project / "a.yaml").write_text("ahead: yes\nfinding: drop fails\ndo: slow 20\n")
    running.wait_kind(EventKind.PAGES)
    (project / "a.yaml").write_text("finding: drop meets\n")
    running.wait_kind(EventKind.UP_TO_DATE)
    assert [item.id for item in running.last(EventKind.UP_TO_DATE).lost] == ["drop"]
    assert running.lent.pages is None


def test_what_a_real_build_sends_ahead_is_what_comes_with_the_pdf(monkeypatch) -> None:
    sent: list[Ahead] = []
    monkeypatch.setattr("reportgen.binder.pdf.write_pdfs", lambda html, **options: (b"%PDF",))
    listen(sent.append)
    try:
        built = build(take(EXAMPLE), BuildOptions())
        without = build(take(EXAMPLE), BuildOptions(pdf=False))
    finally:
        listen(lambda ahead: None)
    (ahead,) = sent  # the build without a PDF had nothing to send ahead
    assert set(built.outputs) - set(ahead.outputs) == {"binder.pdf", "manifest.json"}
    assert all(built.outputs[path] == data == without.outputs[path] for path, data in ahead.outputs.items())
    assert ahead.findings == {item["id"]: item["outcome"] for item in built.findings}
