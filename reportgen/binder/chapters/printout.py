"""The inputs as they were read, with the hash of each file."""

from __future__ import annotations

import hashlib

from reportgen import __version__
from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import PRINTED, Chapter, Element, Paragraph, SourceText
from reportgen.binder.schedules import Field, Line, Schedule


def chapter(desk: Desk) -> Chapter:
    """Hashes of every file, then the text of the YAML files."""
    elements: list[Element] = [
        Paragraph(
            f"Digest of all inputs together: {desk.design.digest}. Made by reportgen {__version__} with the rulebook "
            f"{desk.design.rulebook.edition.short}; the same inputs and version make the same binder, byte for byte. "
            "Behind a line stands what rests on it: the worst of the open findings that name it, and the workings that "
            "its value goes into (5.12 is line 12 of chapter 5, +3 are three more)."
        ),
        desk.keep(_files(desk)).table(),
    ]
    for name, data in sorted(desk.inputs.items()):
        if name.lower().endswith(PRINTED):
            elements.append(SourceText(name, data.decode("utf-8-sig", "replace"), id=f"input-{name}"))
    return Chapter("inputs-printed", "Inputs", "Every file this binder was made from.", tuple(elements))


def _files(desk: Desk) -> Schedule:
    lines = tuple(
        Line({"file": name, "bytes": str(len(data)), "sha256": hashlib.sha256(data).hexdigest()})
        for name, data in sorted(desk.inputs.items())
    )
    fields = (Field("file", "File"), Field("bytes", "Bytes", align="right"), Field("sha256", "SHA-256"))
    return Schedule("input-files", "Files read", fields, lines)
