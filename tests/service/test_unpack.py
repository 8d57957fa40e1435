"""The folder out of an archive PDF: whole, proved, and never outside of the folder that is named."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from reportgen.binder.pdf import Enclosed, write_pdfs
from reportgen.cli import cli
from reportgen.service.build import BuildOptions, _pdfs
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot
from reportgen.service.unpack import UnpackRefused, inputs_of, unpack

# The renderer leaves its colour profile to the garbage collector to close.
pytestmark = [
    pytest.mark.filterwarnings("ignore:unclosed file:ResourceWarning"),
    pytest.mark.filterwarnings("ignore:Exception ignored in:pytest.PytestUnraisableExceptionWarning"),
]
PAGE = "<!DOCTYPE html><html lang='en'><head><title>t</title></head><body><p>A page.</p></body></html>"
FILES = {"a.yaml": b"say: one\n", "sub/b.csv": b"1,2\r\n", "variants/v.yaml": "größer: 1\n".encode()}


def archive(files: dict[str, bytes], digest: str | None = None) -> bytes:
    snapshot = Snapshot.of(files)
    results = json.dumps({"inputs": digest or snapshot.digest}).encode()
    made, _ = _pdfs(PAGE, snapshot, results, "")
    return made["binder-archive.pdf"]


@pytest.fixture(scope="module")
def whole() -> bytes:
    return archive(FILES)


def test_the_folder_comes_back_byte_for_byte_with_its_digest(whole: bytes, tmp_path: Path) -> None:
    file = tmp_path / "binder-archive.pdf"
    file.write_bytes(whole)
    result = CliRunner().invoke(cli, ["unpack", str(file), str(tmp_path / "out")])
    assert result.exit_code == 0, result.output
    assert take(tmp_path / "out").everything == dict(sorted(FILES.items()))
    assert take(tmp_path / "out").digest in result.stderr


def test_the_same_inputs_give_the_same_archive(whole: bytes) -> None:
    assert archive(FILES) == whole


def test_a_changed_input_is_found_by_the_digest() -> None:
    with pytest.raises(UnpackRefused, match="the binder was made from 0000"):
        inputs_of(archive(FILES, digest="0" * 64))


@pytest.mark.parametrize("name", ["../x.yaml", "/etc/x.yaml", "a/../../x.yaml", "a\\..\\x.yaml"])
def test_names_that_lead_outside_are_refused(name: str, tmp_path: Path) -> None:
    results = json.dumps({"inputs": Snapshot.of({name: b"x"}).digest}).encode()
    enclosed = [Enclosed(f"inputs/{name}", b"x", True), Enclosed("results.json", results, False)]
    made = write_pdfs(PAGE, enclosed=enclosed)[1]
    with pytest.raises(UnpackRefused, match="outside of a folder"):
        unpack(made, tmp_path / "out")
    assert not (tmp_path / "out").exists()
    assert not (tmp_path / "x.yaml").exists()


def test_a_folder_that_holds_something_is_left_alone(whole: bytes, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(UnpackRefused, match="is not empty"):
        unpack(whole, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


@pytest.mark.parametrize("data", [b"", b"no pdf", b"%PDF-1.7\n", write_pdfs(PAGE)[0]])
def test_what_is_no_archive_is_refused(data: bytes) -> None:
    with pytest.raises(UnpackRefused):
        inputs_of(data)


def test_a_damaged_archive_is_refused_or_whole(whole: bytes) -> None:
    for at in range(0, len(whole), max(1, len(whole) // 60)):
        broken = whole[:at] + bytes([whole[at] ^ 0x55]) + whole[at + 1 :]
        try:
            found = inputs_of(broken)
        except UnpackRefused:
            continue
        assert found.everything == dict(sorted(FILES.items()))


def test_the_archive_is_among_the_outputs_that_change_with_the_options() -> None:
    assert BuildOptions(archive=True).text != BuildOptions().text
