"""Equipment with its papers: what is installed, what proves it, and what holds the modules."""

from __future__ import annotations

import hashlib
from collections import defaultdict

from reportgen.binder.chapters.base import Desk
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.project.equipment import Installed
from reportgen.project.handover import Handover

#: Printed where nobody stated a value; the key to write stands under the table.
NOT_STATED = "not stated"
_HASH = 16  # letters of a digest that tell two files apart at sight


def handover(desk: Desk) -> Handover:
    """What the folder states beside the design; empty where it states nothing."""
    return desk.design.project.handover or Handover.model_construct()


def as_stated(value: object) -> str:
    """A value as text, or that it is not stated."""
    return NOT_STATED if value in {None, ""} else str(value)


def equipment(desk: Desk) -> Schedule:
    """What is installed, how much of it, and the papers that prove it."""
    project = desk.design.project
    papers: dict[str, list[str]] = defaultdict(list)
    for key, paper in project.documents.items():
        papers[str(paper.of or "")].append(str(key))
    standing: dict[str, int] = defaultdict(int)
    for balance in desk.design.facts.graph.balances:
        standing[balance.module] += balance.standing or balance.in_strings
    lines = []

    def line(kind: str, key: str, maker: str, units: str, listing: object, source: object) -> None:
        named = papers.get(key, [])
        lines.append(
            Line(
                {
                    "kind": kind,
                    "type": key,
                    "maker": maker or NOT_STATED,
                    "units": units or "none",
                    "listing": as_stated(listing),
                    "source": as_stated(source),
                    "papers": ", ".join(named) or NOT_STATED,
                }
            )
        )

    for key, module in project.modules.items():
        count = standing[str(key)]
        line(
            "module",
            key,
            _maker(module.maker, module.model),
            f"{count} modules",
            module.listing,
            module.source,
        )
    for kind, section in (("inverter", project.inverters), ("switch", project.switches)):
        for key, device in section.items():
            line(
                kind,
                key,
                _maker(device.maker, device.model),
                _units(device.units),
                device.listing,
                device.source,
            )
    for key, box in project.boxes.items():
        line(str(box.kind), key, "", _units(box.units), box.listing, box.source)
    for key, fuse in project.fuses.items():
        line("fuse", key, "", _units(fuse.units), fuse.listing, fuse.source)
    for key, cable in project.cables.items():
        marks = ", ".join(map(str, cable.markings))
        line("wire", key, _maker(cable.maker, marks), "", cable.listing, cable.source)
    fields = (
        Field("kind", "Kind"),
        Field("type", "Type"),
        Field("maker", "Maker and model"),
        Field("units", "Installed, serial number"),
        Field("listing", "Listing, certificate"),
        Field("source", "Values from"),
        Field("papers", "Papers held"),
    )
    notes = (
        "Not stated: write `listing` of the type, `serial` of the unit, and a paper under `documents` with `of` naming the "
        "type. An inspector holds the nameplate against this row.",
    )
    return Schedule("equipment", "Equipment and its papers", fields, tuple(lines), notes, wide=True)


def _maker(maker: object, model: object) -> str:
    return ", ".join(str(part) for part in (maker, model) if part)


def _units(units: dict[str, Installed]) -> str:
    alike: dict[str, list[str]] = defaultdict(list)
    for key, unit in units.items():
        alike[f"no. {unit.serial}" if unit.serial else "no number stated"].append(str(key))
    return "; ".join(f"{', '.join(names)}: {number}" for number, names in alike.items())


def documents(desk: Desk) -> Schedule:
    """Papers, permits and photographs of the folder, each with the hash of its file."""
    lines = tuple(
        Line(
            {
                "id": str(key),
                "kind": as_stated(paper.kind),
                "proves": str(paper.proves),
                "of": str(paper.of or ""),
                "file": str(paper.file or "not in the folder"),
                "hash": _hash(desk, paper.file),
            }
        )
        for key, paper in desk.design.project.documents.items()
    )
    fields = (
        Field("id", "Paper"),
        Field("kind", "Kind"),
        Field("proves", "What it proves or shows"),
        Field("of", "Of"),
        Field("file", "File"),
        Field("hash", "SHA-256, first 16"),
    )
    photos = sum(paper.kind == "photo" for paper in desk.design.project.documents.values())
    notes = (
        f"Photographs: {photos or 'none stated'}. Worth taking before they are covered: trench open with a rule in it, "
        "terminations, labels, nameplates. Each is a line under `documents` with `kind: photo`.",
    )
    return Schedule("documents", "Papers, permits and photographs", fields, lines, notes)


def _hash(desk: Desk, file: str | None) -> str:
    data = desk.inputs.get(str(file)) if file else None
    return hashlib.sha256(data).hexdigest()[:_HASH] if data is not None else ""


def structures(desk: Desk) -> Schedule:
    """What holds the modules of each array, and who worked it out."""
    stated = handover(desk).structures
    lines = []
    for key, array in desk.design.project.arrays.items():
        found = stated.get(key)
        lines.append(
            Line(
                {
                    "array": str(key),
                    "kind": f"{array.mounting}, {array.status}",
                    **{
                        name: as_stated(getattr(found, name, None))
                        for name in ("mounting", "loads", "footing", "by", "document")
                    },
                }
            )
        )
    fields = (
        Field("array", "Array"),
        Field("kind", "Stands on"),
        Field("mounting", "Rack"),
        Field("loads", "Wind and snow"),
        Field("footing", "Footing"),
        Field("by", "Calculated by"),
        Field("document", "Paper"),
    )
    notes = (
        "Structures are not calculated here. Not stated: write it under `handover`, `structures`, by array; a new structure "
        "needs it, the load of an old one changes with what is hung on it.",
    )
    return Schedule("structures", "What holds the modules", fields, tuple(lines), notes)
