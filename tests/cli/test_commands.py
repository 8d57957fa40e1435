"""Commands as a user types them: exit codes, streams, forms, and what they leave on disk."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from reportgen.diagnostics.catalogue import CATALOGUE


def test_build_writes_every_file(folder, run) -> None:
    result = run("build", folder)
    assert result.exit_code == 0, result.output
    binder = folder / "binder"
    for name in ("binder.html", "binder.pdf", "results.json", "manifest.json", "schedules/circuits.csv"):
        assert (binder / name).stat().st_size > 200, name
    results = json.loads((binder / "results.json").read_text())
    outcomes = {finding["outcome"] for finding in results["findings"]}
    assert outcomes == {"meets", "thin", "unknown", "ask"}
    assert json.loads((folder / "status.json").read_text())["stale"] is False
    assert run("verify", folder).exit_code == 0
    (binder / "results.json").write_text("{}")
    assert run("verify", folder).exit_code == 5


def test_a_design_that_fails_is_written_and_says_so(folder, run, change) -> None:
    change("arrays.yaml", "E1: {array: EAST, count: 12", "E1: {array: EAST, count: 14")
    result = run("build", folder, "--no-pdf")
    assert result.exit_code == 1
    assert "fails" in result.stderr
    assert b"fails" in (folder / "binder" / "binder.html").read_bytes()


def test_strict_counts_thin(folder, run) -> None:
    assert run("check", folder).exit_code == 0
    assert run("check", folder, "--strict").exit_code == 1


def test_json_is_one_document_on_stdout(folder, run) -> None:
    result = run("check", folder, "--format", "json")
    document = json.loads(result.stdout)
    assert document["diagnostics"]
    assert result.stderr == ""


def test_check_does_not_import_the_heavy_ones(folder) -> None:
    code = (
        "import sys\n"
        "from reportgen.cli import cli\n"
        f"cli.main(['check', {str(folder)!r}], standalone_mode=False)\n"
        "heavy = [name for name in ('pvlib', 'scipy', 'pandas', 'numpy', 'matplotlib', 'weasyprint') if name in sys.modules]\n"
        "assert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


def test_importing_the_command_line_is_light() -> None:
    code = (
        "import sys, reportgen.cli\n"
        "heavy = [n for n in ('pvlib', 'scipy', 'pandas', 'numpy', 'pydantic', 'yaml', 'rich', 'weasyprint') if n in sys.modules]\n"
        "assert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


@pytest.mark.parametrize("variable", ["NO_COLOR", "TERM"])
def test_no_escapes_where_nobody_wants_them(folder, variable) -> None:
    environment = {**os.environ, variable: "1" if variable == "NO_COLOR" else "dumb"}
    done = subprocess.run(
        [sys.executable, "-m", "reportgen", "check", str(folder)],
        capture_output=True,
        env=environment,
        check=False,
    )
    assert b"\x1b" not in done.stdout + done.stderr


def test_explain_every_code(run) -> None:
    for code in CATALOGUE:
        page = run("explain", code)
        assert page.exit_code == 0, code
        assert len(page.stdout) > 80, code
    listing = run("explain", "--list").stdout
    assert all(code in listing for code in CATALOGUE)


def test_explain_a_misspelt_code(run) -> None:
    result = run("explain", "ampacity-uze")
    assert result.exit_code == 2
    assert "ampacity-use" in result.stderr


def test_no_command_is_usage() -> None:
    assert (
        subprocess.run([sys.executable, "-m", "reportgen"], capture_output=True, check=False).returncode == 2
    )


def test_watch_follows_an_edit(folder: Path) -> None:
    environment = {**os.environ, "XDG_CACHE_HOME": str(folder.parent / "cache")}
    command = [sys.executable, "-m", "reportgen", "watch", str(folder), "--no-pdf", "--stop-after", "2"]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, env=environment, text=True)
    try:
        results = folder / "binder" / "results.json"
        deadline = time.monotonic() + 60
        while not results.exists() and time.monotonic() < deadline:
            time.sleep(0.05)
        before = results.read_bytes()
        path = folder / "arrays.yaml"
        path.write_text(
            path.read_text().replace("E1: {array: EAST, count: 12", "E1: {array: EAST, count: 11")
        )
        _, told = process.communicate(timeout=60)
    finally:
        process.kill()
    assert process.returncode == 0, told
    assert results.read_bytes() != before
    assert "module-balance:EAST" in told


def test_watch_shows_the_line_of_a_mistake(folder: Path, change) -> None:
    change("raceways.yaml", "length: 46 m", "length: 46")
    environment = {**os.environ, "XDG_CACHE_HOME": str(folder.parent / "cache")}
    command = [sys.executable, "-m", "reportgen", "watch", str(folder), "--no-pdf", "--stop-after", "1"]
    done = subprocess.run(command, capture_output=True, env=environment, text=True, check=False, timeout=60)
    assert "raceways.yaml:10:" in done.stderr
    assert "\n10 | " in done.stderr
    assert " ^^" in done.stderr


def test_archive_and_extract_reach_the_build(folder, run, monkeypatch) -> None:
    import reportgen.service.once as once

    asked = []

    def build_once(folder, target, options, stage):
        asked.append(options)
        return once.Once(0, True)

    monkeypatch.setattr(once, "build_once", build_once)
    assert run("build", folder, "--archive", "--extract", "review").exit_code == 0
    assert run("build", folder).exit_code == 0
    assert [(options.archive, options.extract) for options in asked] == [(True, "review"), (False, "")]
    assert run("build", folder, "--extract", "everything").exit_code == 2
