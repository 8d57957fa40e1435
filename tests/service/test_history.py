"""Earlier states out of real repositories, friendly and hostile. Numbers are those of the fault list."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

from reportgen.service.folder_reader import take
from reportgen.service.history import History, NoHistory, Revision, revision_of

PERSON = {
    f"GIT_{who}_{what}": value
    for who in ("AUTHOR", "COMMITTER")
    for what, value in (("NAME", "N"), ("EMAIL", "n@example.org"), ("DATE", "2026-04-18T00:00:00Z"))
}


def git(folder: Path, *words: str, **environment: str) -> str:
    done = subprocess.run(
        ["git", "-c", "init.defaultBranch=main", "-c", "core.autocrlf=false", *words],
        cwd=folder,
        env={
            **os.environ,
            **PERSON,
            "GIT_CONFIG_GLOBAL": os.devnull,
            "GIT_CONFIG_NOSYSTEM": "1",
            **environment,
        },
        check=True,
        capture_output=True,
        text=True,
    )
    return done.stdout.strip()


@pytest.fixture
def works(tmp_path: Path) -> Path:
    """A project in a folder of a larger repository, with one commit."""
    top = tmp_path / "repository"
    folder = top / "barns" / "north"
    (folder / "sub").mkdir(parents=True)
    (folder / "a.yaml").write_text("say: one\n")
    (folder / "sub" / "b.yml").write_text("say: two\n")
    (folder / "weather.csv").write_text("1,2\n")
    (folder / "notes.txt").write_text("no input\n")
    (top / "other.yaml").write_text("say: elsewhere\n")
    git(top, "init")
    git(top, "add", ".")
    git(top, "commit", "-m", "first")
    return folder


def test_a_clean_folder_is_at_its_commit(works: Path) -> None:
    found = revision_of(works, take(works))
    assert found == Revision(git(works, "rev-parse", "HEAD"))
    git(works, "tag", "issued-b")
    assert revision_of(works, take(works)).text == f"commit {found.commit[:12]} (issued-b)"


def test_changed_added_and_missing_inputs_are_told_and_others_are_not(works: Path) -> None:
    (works / "a.yaml").write_text("say: other\n")
    (works / "new.yaml").write_text("say: new\n")
    (works / "sub" / "b.yml").unlink()
    (works / "notes.txt").write_text("changed\n")
    (works.parents[1] / "other.yaml").write_text("changed\n")
    (works / "binder").mkdir()
    (works / "binder" / "x.csv").write_text("output\n")
    found = revision_of(works, take(works))
    assert found.modified == ("a.yaml", "new.yaml", "sub/b.yml")
    assert found.only_line_ends == ()
    assert found.text.endswith(", with changes to 3 files")


def test_fault_67_line_ends_alone_are_told_as_such(works: Path) -> None:
    (works / "a.yaml").write_bytes(b"say: one\r\n")
    found = revision_of(works, take(works))
    assert found.modified == found.only_line_ends == ("a.yaml",)


def test_a_revision_is_read_as_bytes_and_touches_nothing(works: Path) -> None:
    before = dict(take(works).files)
    (works / "a.yaml").write_text("say: later\n")
    git(works, "add", ".")
    git(works, "commit", "-m", "second")
    state = sorted((path, path.stat().st_mtime_ns) for path in works.parents[1].rglob("*"))
    history = History(works)
    assert dict(history.snapshot("HEAD~1").files) == before
    assert history.snapshot("HEAD").files["a.yaml"] == b"say: later\n"
    assert history.snapshot("HEAD").digest == take(works).digest
    assert [history.commit(name) for name in ("HEAD", "HEAD~1")] == list(history.commits(10))
    assert state == sorted((path, path.stat().st_mtime_ns) for path in works.parents[1].rglob("*"))


def test_the_index_is_read_for_a_check_before_the_commit(works: Path) -> None:
    (works / "a.yaml").write_text("say: staged\n")
    git(works, "add", ".")
    (works / "a.yaml").write_text("say: not staged\n")
    assert History(works).staged().files["a.yaml"] == b"say: staged\n"


def test_sha256_repositories_are_read_as_well(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("say: one\n")
    git(tmp_path, "init", "--object-format=sha256")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-m", "first")
    found = revision_of(tmp_path, take(tmp_path))
    assert len(found.commit) == 64
    assert found.modified == ()


# fault 65: what a hostile repository would run


def hostile(works: Path, marker: Path) -> None:
    trap = works.parents[1] / "trap.sh"
    trap.write_text(f"#!/bin/sh\necho ran >> {marker}\ncat\n")
    trap.chmod(0o755)
    top = works.parents[1]
    for key in (
        "core.fsmonitor",
        "core.pager",
        "core.editor",
        "core.sshCommand",
        "diff.external",
        "filter.trap.clean",
        "filter.trap.smudge",
        "filter.trap.process",
        "diff.trap.textconv",
        "diff.trap.command",
        "gpg.program",
        "alias.rev-parse",
        "credential.helper",
    ):
        git(top, "config", key, f"!{trap}" if key.startswith("alias") else str(trap))
    git(top, "config", "log.showSignature", "true")
    (top / ".gitattributes").write_text("*.yaml filter=trap diff=trap\n")
    hooks = top / ".git" / "hooks"
    hooks.mkdir(exist_ok=True)
    for name in (
        "post-index-change",
        "pre-commit",
        "post-checkout",
        "reference-transaction",
        "fsmonitor-watchman",
    ):
        (hooks / name).write_text(trap.read_text())
        (hooks / name).chmod(0o755)


def test_fault_65_nothing_of_a_hostile_repository_runs(works: Path, tmp_path: Path) -> None:
    marker = tmp_path / "marker"
    hostile(works, marker)
    subprocess.run(["git", "status"], cwd=works, check=False, capture_output=True)
    assert marker.exists()  # the trap is one: an ordinary command springs it
    marker.unlink()
    (works / "a.yaml").write_text("say: other\n")
    history = History(works)
    assert history.head(take(works)).modified == ("a.yaml",)
    history.snapshot("HEAD")
    history.staged()
    list(history.commits(3))
    assert not marker.exists()


@pytest.mark.parametrize(
    "variable", ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_EXTERNAL_DIFF", "GIT_ASKPASS"]
)
def test_fault_66_variables_of_the_caller_steer_nothing(
    works: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, variable: str
) -> None:
    monkeypatch.setenv(variable, str(tmp_path / "elsewhere"))
    assert revision_of(works, take(works)).commit


# fault 66: repositories that cannot be read


def test_fault_66_no_git_no_repository_no_commit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.yaml").write_text("say: one\n")
    snapshot = take(tmp_path)
    assert "no repository" in revision_of(tmp_path, snapshot).reason
    git(tmp_path, "init")
    assert revision_of(tmp_path, snapshot).reason == "the repository has no commit yet"
    monkeypatch.setenv("PATH", str(tmp_path / "nothing"))
    assert revision_of(tmp_path, snapshot).reason == "git is not installed"
    assert revision_of(tmp_path, snapshot).text == "unversioned"


@pytest.mark.parametrize(
    "name", ["-x", "--output=/tmp/x", "", "nowhere", "HEAD^{tree}", "HEAD:a.yaml", "a\0b", "HEAD~99"]
)
def test_fault_66_names_that_are_no_revision(works: Path, name: str) -> None:
    with pytest.raises(NoHistory, match=r"no (revision|name)"):
        History(works).snapshot(name)


def test_fault_66_a_damaged_object_is_told(works: Path) -> None:
    blob = git(works, "rev-parse", "HEAD:./a.yaml")
    path = works.parents[1] / ".git" / "objects" / blob[:2] / blob[2:]
    path.chmod(0o644)
    path.write_bytes(b"damaged")
    with pytest.raises(NoHistory, match="object"):
        History(works).snapshot("HEAD")
    assert revision_of(works, take(works)).commit  # ids alone are compared


def test_fault_66_a_foreign_owner_is_not_trusted(
    works: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stand-in for git, because a test cannot give files to another user."""
    fake = tmp_path / "bin" / "git"
    fake.parent.mkdir()
    fake.write_text(
        "#!/bin/sh\necho \"fatal: detected dubious ownership in repository at '/x'\" >&2\nexit 128\n"
    )
    fake.chmod(0o755)
    monkeypatch.setenv("PATH", f"{fake.parent}:{os.environ['PATH']}")
    found = revision_of(works, take(works))
    assert found.text == "unversioned"
    assert "dubious ownership" in found.reason


def test_fault_66_git_that_hangs_is_given_up(
    works: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fake = tmp_path / "bin" / "git"
    fake.parent.mkdir()
    fake.write_text("#!/bin/sh\nexec sleep 60\n")
    fake.chmod(0o755)
    monkeypatch.setenv("PATH", f"{fake.parent}:{os.environ['PATH']}")
    monkeypatch.setattr("reportgen.service.history._TIME_LIMIT_S", 0.3)
    assert "did not answer" in revision_of(works, take(works)).reason


def test_fault_66_shallow_clones_worktrees_and_submodules(works: Path, tmp_path: Path) -> None:
    top = works.parents[1]
    (works / "a.yaml").write_text("say: later\n")
    git(top, "commit", "-am", "second")
    git(tmp_path, "clone", "--depth", "1", f"file://{top}", "shallow")
    shallow = tmp_path / "shallow" / "barns" / "north"
    assert len(list(History(shallow).commits(5))) == 1
    assert revision_of(shallow, take(shallow)).modified == ()
    git(top, "worktree", "add", str(tmp_path / "tree"), "HEAD~1")
    tree = tmp_path / "tree" / "barns" / "north"
    assert revision_of(tree, take(tree)).commit == git(top, "rev-parse", "HEAD~1")
    outer = tmp_path / "outer"
    outer.mkdir()
    (outer / "a.yaml").write_text("say: outer\n")
    git(outer, "init")
    git(outer, "-c", "protocol.file.allow=always", "submodule", "add", f"file://{top}", "inner")
    git(outer, "add", ".")
    git(outer, "commit", "-m", "with a submodule")
    assert sorted(History(outer).snapshot("HEAD").files) == ["a.yaml"]


def test_a_link_of_the_past_is_refused(works: Path) -> None:
    (works / "a.yaml").unlink()
    (works / "a.yaml").symlink_to("/etc/passwd")
    git(works, "add", ".")
    git(works, "commit", "-m", "a link")
    with pytest.raises(NoHistory, match=r"`a\.yaml` is a link"):
        History(works).snapshot("HEAD")
    with pytest.raises(NoHistory, match=r"`a\.yaml` is staged as something else"):
        History(works).staged()
