"""What is taken from a folder, and what is refused. Numbers are those of the fault list."""

from __future__ import annotations

import errno
import os
import pickle
import socket
import unicodedata
from pathlib import Path

import pytest

from reportgen.diagnostics.model import Severity
from reportgen.service import folder_reader
from reportgen.service.folder_reader import FolderReader, take
from reportgen.service.manifest import manifest
from reportgen.service.scope import Scope
from reportgen.service.snapshot import Snapshot


def codes(taken: Snapshot) -> list[str]:
    return [problem.code for problem in taken.problems]


def messages(taken: Snapshot) -> str:
    return "\n".join(problem.message for problem in taken.problems)


def test_inputs_are_yaml_and_data_files_below_the_folder(project: Path) -> None:
    wanted = ["b.yml", "deep/er/c.YAML", "sun.epw", "sheet.PDF", "photo.jpg", "rows.csv", "x.json"]
    others = [
        "notes.txt", ".hidden.yaml", ".git/config.yaml", "binder/in.yaml", "status.json", "variants/v.yaml",
        "out/old.csv", "a.yaml~", "a.yaml.tmp", "#a.yaml#",
    ]  # fmt: skip
    for path in wanted + others:
        (project / path).parent.mkdir(parents=True, exist_ok=True)
        (project / path).write_bytes(b"x")
    taken = take(project, [project / "out"])
    assert list(taken.files) == sorted([*wanted, "a.yaml"])
    assert taken.problems == ()


def test_an_earlier_binder_under_another_name_is_no_input(project: Path) -> None:
    (project / "old").mkdir()
    (project / "old" / "manifest.json").write_bytes(manifest({}, "", "", ""))
    (project / "old" / "results.json").write_bytes(b"{}")
    taken = take(project)
    assert list(taken.files) == ["a.yaml"]
    assert [(problem.code, problem.severity) for problem in taken.problems] == [
        ("output-folder", Severity.NOTE)
    ]
    assert taken.digest == Snapshot.of(taken.files).digest


def test_variants_are_kept_apart_and_left_out_on_request(project: Path) -> None:
    (project / "variants").mkdir()
    (project / "variants" / "v.yaml").write_text("x")
    plain, full = take(project, variants=False), take(project)
    assert plain.files == full.files
    assert plain.variants == {}
    assert full.variants == {"variants/v.yaml": b"x"}
    assert full.digest != plain.digest


def test_digest_follows_names_and_bytes_alone(project: Path, tmp_path: Path) -> None:
    first = take(project).digest
    copy = tmp_path / "copy"
    copy.mkdir()
    (copy / "a.yaml").write_text("say: one\n")
    assert take(copy).digest == first
    (copy / "a.yaml").rename(copy / "b.yaml")
    assert take(copy).digest != first


def test_content_cannot_be_shifted_between_files() -> None:
    digests = {
        Snapshot.of(files).digest
        for files in ({"a": b"xy", "b": b""}, {"a": b"x", "b": b"y"}, {"a": b"", "b": b"xy"}, {"ab": b"xy"})
    }
    assert len(digests) == 4


def test_snapshot_travels_to_another_process(project: Path) -> None:
    taken = take(project)
    assert pickle.loads(pickle.dumps(taken)) == taken


def test_missing_folder_is_an_error_of_the_system(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        take(tmp_path / "nowhere")


def test_fault_15_links(project: Path, tmp_path: Path) -> None:
    (tmp_path / "outside.yaml").write_text("secret")
    (tmp_path / "outside").mkdir()
    (project / "real").write_text("inside")
    (project / "binder").mkdir()
    (project / "binder" / "x.csv").write_text("1")
    (project / "ok.yaml").symlink_to("real")
    (project / "out.yaml").symlink_to(tmp_path / "outside.yaml")
    (project / "folder").symlink_to(tmp_path / "outside")
    (project / "dead.yaml").symlink_to("nowhere")
    (project / "back.csv").symlink_to("binder/x.csv")
    (project / "other.txt").symlink_to(tmp_path / "outside.yaml")
    taken = take(project)
    assert dict(taken.files) == {"a.yaml": b"say: one\n", "ok.yaml": b"inside"}
    assert {(problem.code, problem.span.file) for problem in taken.problems if problem.span} == {
        ("link-leaves-folder", "out.yaml"),
        ("link-leaves-folder", "folder"),
        ("link-broken", "dead.yaml"),
        ("link-to-output", "back.csv"),
    }
    assert taken.refused


def test_fault_16_link_loops_end(project: Path) -> None:
    (project / "loop").symlink_to(".")
    (project / "x.yaml").symlink_to("y.yaml")
    (project / "y.yaml").symlink_to("x.yaml")
    taken = take(project)
    assert list(taken.files) == ["a.yaml"]
    assert sorted(codes(taken)) == ["link-broken", "link-broken", "link-to-folder"]


@pytest.mark.parametrize("number", [errno.EACCES, errno.EIO])
def test_fault_21_unreadable_file_is_named_and_counts_in_the_digest(
    project: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """A fake: root, as whom tests may run, can read every file."""
    without = take(project).digest
    (project / "b.yaml").write_text("x")
    real = os.open

    def refuse(path: str, *rest: int, **more: int) -> int:
        if str(path).endswith("b.yaml"):
            raise OSError(number, os.strerror(number))
        return real(path, *rest, **more)

    monkeypatch.setattr(folder_reader.os, "open", refuse)
    taken = take(project)
    assert f"`b.yaml` cannot be read: {os.strerror(number).lower()}" in messages(taken)
    assert list(taken.files) == ["a.yaml"]
    assert taken.refused
    assert taken.digest != without


def test_fault_21_file_that_vanishes_between_listing_and_reading(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (project / "b.yaml").write_text("x")
    real = folder_reader._read

    def vanish(path: str, limit: int, seen: object) -> object:
        (project / "b.yaml").unlink(missing_ok=True)
        return real(path, limit, seen)  # type: ignore[arg-type]

    monkeypatch.setattr(folder_reader, "_read", vanish)
    taken = take(project)
    assert list(taken.files) == ["a.yaml"]
    assert taken.problems == ()


def test_fault_22_pipe_socket_and_folder_are_refused_without_blocking(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    os.mkfifo(project / "pipe.yaml")
    (project / "folder.yaml").mkdir()
    (project / "link.yaml").symlink_to("pipe.yaml")
    monkeypatch.chdir(project)  # the path of a socket may have 107 bytes at most
    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind("sock.yaml")
        taken = take(project)
    assert codes(taken) == ["special-file"] * 4
    assert list(taken.files) == ["a.yaml"]


def test_fault_22_file_swapped_for_a_pipe_after_it_was_looked_at(project: Path) -> None:
    os.mkfifo(project / "p")
    with pytest.raises(OSError, match="not a regular file"):
        folder_reader._read(str(project / "p"), 10, None)


def test_fault_23_names_that_differ_in_case_or_form_only(project: Path) -> None:
    (project / "A.yaml").write_text("x")
    for form in ("NFC", "NFD"):
        (project / (unicodedata.normalize(form, "é") + ".yaml")).write_text("x")
    (project / "Sub").mkdir()
    (project / "sub").mkdir()
    (project / "Sub" / "one.yaml").write_text("x")
    (project / "sub" / "two.yaml").write_text("x")
    taken = take(project)
    assert codes(taken) == ["name-collision"] * 3
    assert "`A.yaml` and `a.yaml`" in messages(taken)
    assert "`Sub` and `sub`" in messages(taken)


def test_fault_23_names_that_are_not_utf8_or_hold_control_characters(project: Path) -> None:
    (project / os.fsdecode(b"b\xff.yaml")).write_text("x")
    (project / "c\n\x1b[31m.yaml").write_text("x")
    taken = take(project)
    assert codes(taken) == ["name-not-utf8", "name-control-character"]
    assert messages(taken).isprintable() is False  # the line feed between the two, and nothing else
    assert all(problem.message.isprintable() for problem in taken.problems)
    assert "`b\\xff.yaml`" in messages(taken)


@pytest.mark.parametrize("moment", [0, -3600, 4102444800])
def test_fault_24_time_stamps_do_not_matter(project: Path, moment: int) -> None:
    reader = FolderReader(project)
    first = reader.take()
    os.utime(project / "a.yaml", (moment, moment))
    assert reader.take(trust_stat=True).digest == first.digest
    (project / "a.yaml").write_text("say: two\n")
    os.utime(project / "a.yaml", (moment, moment))
    assert reader.take(trust_stat=True).digest != first.digest


def test_a_change_of_equal_size_within_one_tick_is_seen(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fake: a file system whose time stamps and inode never tell."""
    monkeypatch.setattr(folder_reader, "_signature", lambda status: (1, 2, 3, 4, 5))
    now = 100.0
    monkeypatch.setattr(folder_reader.time, "monotonic", lambda: now)
    reader = FolderReader(project)
    first = reader.take()
    (project / "a.yaml").write_text("say: two\n")
    second = reader.take(trust_stat=True)
    assert second.digest != first.digest
    now += 10
    reader.take()
    (project / "a.yaml").write_text("say: six\n")
    assert reader.take(trust_stat=True).digest == second.digest  # trusted by now, as said
    assert reader.take().files["a.yaml"] == b"say: six\n"


@pytest.mark.parametrize(
    ("name", "limit"), [("b.yaml", folder_reader.LARGEST_YAML), ("b.csv", folder_reader.LARGEST_DATA)]
)
def test_size_of_one_file_is_limited(project: Path, name: str, limit: int) -> None:
    with (project / name).open("wb") as stream:
        stream.truncate(limit + 1)
    assert codes(take(project)) == ["file-too-large"]
    with (project / name).open("wb") as stream:
        stream.truncate(min(limit, 3_000_000))
    assert take(project).problems == ()


def test_size_of_all_yaml_is_limited(project: Path) -> None:
    for number in range(11):
        with (project / f"big{number:02}.yaml").open("wb") as stream:
            stream.truncate(folder_reader.LARGEST_YAML)
    taken = take(project)
    assert codes(taken) == ["folder-too-large"]
    assert sum(len(data) for data in taken.files.values()) <= folder_reader.ALL_YAML


def test_depth_is_limited(project: Path) -> None:
    deep = project.joinpath(*["d"] * (folder_reader.DEEPEST_FOLDER + 5))
    deep.mkdir(parents=True)
    assert codes(take(project)) == ["folder-too-deep"]


@pytest.mark.parametrize(
    ("path", "folder", "answer"),
    [
        ("a.yaml", False, True),
        ("a.txt", False, False),
        (".git/a.yaml", False, False),
        ("binder/a.yaml", False, False),
        ("binder", True, False),
        ("deep/binder/a.yaml", False, True),
        ("out/papers", True, False),
        ("out2", True, True),
        ("variants/a.yaml", False, True),
        ("status.json", False, False),
        (".binder.staging-0123456789abcdef", True, False),
    ],
)
def test_scope_of_file_events(tmp_path: Path, path: str, folder: bool, answer: bool) -> None:
    assert Scope.of(tmp_path, [tmp_path / "out"]).can_hold(path, folder=folder) is answer


def test_root_reached_through_a_link(project: Path, tmp_path: Path) -> None:
    (tmp_path / "alias").symlink_to(project)
    (project / "b.yaml").symlink_to("a.yaml")
    (project / "papers").mkdir()
    (project / "papers" / "x.csv").write_text("1")
    taken = take(tmp_path / "alias", [project / "papers"])
    assert list(taken.files) == ["a.yaml", "b.yaml"]
    assert taken.problems == ()
