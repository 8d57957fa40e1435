"""A code edition is a folder of CSV tables; this module finds the folders and their bases.

To add an edition, make the folder ``editions/<name>`` with an ``edition.toml``::

    title = "NFPA 70, National Electrical Code, 2026 edition"
    short = "NEC 2026"
    publisher = "National Fire Protection Association"
    year = 2026
    base = "nec2023"

and in it only the CSVs that differ from the base. A CSV with ``# mode: rows`` replaces and adds rows by key, and
names those to drop in ``# remove:``; one with ``# mode: whole`` stands in for the table. ``clauses.csv`` maps the
rule keys of the tool to the edition's clauses, ``numbers.csv`` holds the rules that are a number, ``rulings.csv``
those that are a word. A value read somewhere new needs a code in ``editions/sources.csv``. Then read what
:func:`reportgen.rulebook.differences.differences` prints against the book.

The base of an edition shipped here is always the next newer one: 2023 is whole, 2020 rests on 2023 and 2017 on
2020. What a newer edition changed is then the difference, each change stands in one folder, and dropping an old
edition touches no other. An edition newer than all takes the newest as its base, so nothing has to move.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from reportgen.rulebook.errors import TableError, UnknownEdition
from reportgen.rulebook.loader import Source, read_sources

FOLDER = Path(__file__).parent / "editions"
_TEXTS = ("title", "short", "publisher")


@dataclass(frozen=True, slots=True)
class Edition:
    """What ``edition.toml`` says, and the folder it stands in."""

    name: str
    title: str
    short: str
    publisher: str
    year: int
    base: str
    folder: Path


def editions() -> tuple[str, ...]:
    """Names of the editions that can be loaded, sorted."""
    return tuple(sorted(path.parent.name for path in FOLDER.glob("*/edition.toml")))


def read_edition(folder: Path) -> Edition:
    """Read ``edition.toml`` of a folder.

    Raises
    ------
    TableError
        If a key is missing, unknown or of the wrong kind.
    """
    file = f"{folder.name}/edition.toml"
    try:
        found = tomllib.loads((folder / "edition.toml").read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise TableError(file, 1, f"cannot be read: {error}") from error
    year, base = found.pop("year", None), found.pop("base", "")
    texts = {key: found.pop(key, None) for key in _TEXTS}
    if found:
        raise TableError(file, 1, f"unknown key `{next(iter(found))}`")
    for key, value in {**texts, "base": base}.items():
        if not isinstance(value, str) or (not value and key in _TEXTS):
            raise TableError(file, 1, f"`{key}` must be a text")
    if type(year) is not int:
        raise TableError(file, 1, "`year` must be a whole number")
    return Edition(
        folder.name,
        str(texts["title"]),
        str(texts["short"]),
        str(texts["publisher"]),
        year,
        str(base),
        folder,
    )


def chain(name: str, root: Path = FOLDER) -> tuple[Edition, ...]:
    """Return an edition and the bases it rests on, itself first.

    Raises
    ------
    UnknownEdition
        If there is no folder of that name.
    TableError
        If a base is missing or rests on itself.
    """
    # A name is compared and never made a path: it may be anything, also ten thousand letters long.
    held = tuple(sorted(path.parent.name for path in root.glob("*/edition.toml")))
    if name not in held:
        raise UnknownEdition(name, held)
    links = [read_edition(root / name)]
    while base := links[-1].base:
        file = f"{links[-1].name}/edition.toml"
        if base in {link.name for link in links}:
            raise TableError(file, 1, f"base `{base}` rests on this edition")
        if Path(base).name != base or not (root / base / "edition.toml").is_file():
            raise TableError(file, 1, f"base `{base}` has no folder")
        links.append(read_edition(root / base))
    return tuple(links)


@cache
def sources(root: Path = FOLDER) -> Mapping[str, Source]:
    """Codes of the publications that values were read in, shared by all editions."""
    return read_sources(root / "sources.csv")
