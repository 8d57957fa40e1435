"""The cache of arrays: what it hands out is what was put in, or nothing; and it never changes an output."""

from __future__ import annotations

import multiprocessing
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from service_fakes import put_often

from reportgen.service import cache as module
from reportgen.service.build import BuildOptions, build, run
from reportgen.service.cache import FolderCache, user_cache
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

SAMPLE = Path(__file__).parents[2] / "sample_project"
ARRAYS = {"a": np.array([1.5, -0.0, np.nan, np.inf]), "empty": np.zeros(0)}


@pytest.fixture
def store(tmp_path: Path) -> FolderCache:
    folder = tmp_path / "store"
    folder.mkdir()
    return FolderCache(folder)


def entries(tmp_path: Path) -> list[Path]:
    return sorted((tmp_path / "store").iterdir())


def test_what_is_put_comes_back_bit_for_bit_and_read_only(store: FolderCache, tmp_path: Path) -> None:
    store.put("k", ARRAYS)
    found = store.get("k")
    assert found is not None
    assert {name: values.tobytes() for name, values in found.items()} == {
        name: values.tobytes() for name, values in ARRAYS.items()
    }
    with pytest.raises(ValueError, match="read-only"):
        found["a"][0] = 2.0
    assert store.get("other") is None
    assert oct(entries(tmp_path)[0].stat().st_mode & 0o777) == "0o600"


@given(where=st.integers(0, 10_000), bit=st.integers(0, 7))
def test_fault_61_any_flipped_bit_is_a_miss(
    tmp_path_factory: pytest.TempPathFactory, where: int, bit: int
) -> None:
    folder = tmp_path_factory.mktemp("store")
    store = FolderCache(folder)
    store.put("k", ARRAYS)
    path = next(folder.iterdir())
    data = bytearray(path.read_bytes())
    data[where % len(data)] ^= 1 << bit
    path.write_bytes(data)
    assert store.get("k") is None
    assert not path.exists()  # and it is gone for good


@pytest.mark.parametrize("size", [0, 1, 31, 32, 33, 200])
def test_fault_61_a_truncated_entry_is_a_miss(store: FolderCache, tmp_path: Path, size: int) -> None:
    store.put("k", ARRAYS)
    path = entries(tmp_path)[0]
    path.write_bytes(path.read_bytes()[:size])
    assert store.get("k") is None


def test_an_entry_with_a_pickle_in_it_is_never_opened(store: FolderCache, tmp_path: Path) -> None:
    ran = tmp_path / "ran"

    class Trap:
        def __reduce__(self) -> tuple[Callable[[str], None], tuple[str]]:
            return os.mkdir, (str(ran),)

    store.put("k", {"a": np.array([Trap()], dtype=object)})  # type: ignore[dict-item]
    assert store.get("k") is None
    assert not ran.exists()


def test_a_link_in_the_place_of_an_entry_is_not_followed(store: FolderCache, tmp_path: Path) -> None:
    store.put("k", ARRAYS)
    path = entries(tmp_path)[0]
    path.rename(tmp_path / "elsewhere")
    path.symlink_to(tmp_path / "elsewhere")
    assert store.get("k") is None


def test_fault_61_a_full_disk_keeps_nothing_and_says_nothing(
    store: FolderCache, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    store.put("k", ARRAYS)
    assert entries(tmp_path) == []
    assert store.get("k") is None


def test_fault_61_no_private_folder_means_no_cache(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "file"))
    assert user_cache() is None


def test_fault_62_two_writers_of_one_key_never_mix(tmp_path: Path) -> None:
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=put_often, args=(tmp_path,)) for _ in range(2)]
    for writer in writers:
        writer.start()
    seen = 0
    while any(writer.is_alive() for writer in writers):
        found = FolderCache(tmp_path).get("k")
        if found is not None:
            seen += 1
            assert len(set(found["a"].tolist())) == 1
    assert seen
    assert all(writer.exitcode == 0 for writer in writers)


def test_fault_62_another_version_of_the_code_finds_nothing(
    store: FolderCache, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.put("k", ARRAYS)
    salt = module._salt()
    monkeypatch.setattr(module, "_salt", lambda: salt + "x")
    assert store.get("k") is None


def test_the_longest_unused_entries_make_room(tmp_path: Path) -> None:
    folder = tmp_path / "store"
    folder.mkdir()
    store = FolderCache(folder, most_bytes=30_000)
    for number in range(3):
        store.put(f"k{number}", {"a": np.zeros(1000)})
        for path in folder.iterdir():
            os.utime(path, ns=(path.stat().st_atime_ns, path.stat().st_mtime_ns - 10**9))
    assert store.get("k0") is not None  # used now
    store.put("k3", {"a": np.zeros(1000)})
    assert [store.get(f"k{number}") is not None for number in range(4)] == [True, False, True, True]


@pytest.fixture
def snapshot(tmp_path: Path) -> Callable[[str, str], Snapshot]:
    def edited(old: str, new: str) -> Snapshot:
        folder = tmp_path / "sample"
        shutil.copytree(
            SAMPLE, folder, ignore=shutil.ignore_patterns("binder", "status.json"), dirs_exist_ok=True
        )
        for path in folder.glob("*.yaml"):
            path.write_text(path.read_text().replace(old, new, 1))
        return take(folder)

    return edited


def _simulations(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    from reportgen.engineering.energy import year

    real, count = year.run_year, [0]

    def counting(*arguments: object, **named: object) -> object:
        count[0] += 1
        return real(*arguments, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(year, "run_year", counting)
    return count


@pytest.mark.parametrize(
    ("old", "new", "again"),
    [
        ("# An invented scenario", "# Another comment", 0),
        ("positive_colour: red", "positive_colour: brown", 0),
        ("size: 1-1/4", "size: 2", 0),
        ("tilt: 30 deg", "tilt: 31 deg", 1),
        ("length: 46 m", "length: 47 m", 1),
    ],
)
def test_fault_63_only_what_the_year_depends_on_simulates_it_again(
    snapshot: Callable[[str, str], Snapshot], monkeypatch: pytest.MonkeyPatch, old: str, new: str, again: int
) -> None:
    options = BuildOptions(pdf=False, cache=True)
    run(snapshot("\x00", ""), options)
    count = _simulations(monkeypatch)
    edited = snapshot(old, new)
    warm = run(edited, options)
    assert count == [again]
    # fault 64: the cache changes no byte
    assert warm.outputs == run(edited, BuildOptions(pdf=False)).outputs


def test_the_line_of_a_rebuild_says_whether_the_year_was_simulated(
    snapshot: Callable[[str, str], Snapshot],
) -> None:
    options = BuildOptions(pdf=False, cache=True)
    said = [
        build(snapshot(*edit), options).summary
        for edit in [("\x00", ""), ("positive_colour: red", "positive_colour: brown")]
    ]
    assert said[0].endswith("; year simulated")
    assert said[1].endswith("; year as before, nothing it depends on has changed")
