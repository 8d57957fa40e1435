"""Without Pango everything but the PDF is written, the packages are named, and the exit code is 6."""

from __future__ import annotations

from reportgen.binder import pdf


def test_written_without_the_pdf(folder, run, monkeypatch) -> None:
    def missing(html: str, **options: object) -> bytes:
        raise pdf.PangoMissing("libpango-1.0-0 is not there")

    monkeypatch.setattr(pdf, "write_pdfs", missing)
    result = run("build", folder)
    assert result.exit_code == 6, result.output
    for package in ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0"):
        assert package in result.stderr
    written = {path.name for path in (folder / "binder").iterdir()}
    assert {"binder.html", "results.json", "manifest.json", "schedules"} <= written
    assert "binder.pdf" not in written
    assert run("verify", folder).exit_code == 0
