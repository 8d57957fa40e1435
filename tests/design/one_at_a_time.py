"""The sample as parsed sheets, changed in one place at a time and judged again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from reportgen.design.findings import Outcome
from reportgen.diagnostics.model import InputRefused
from reportgen.service.build import check
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

SAMPLE = Path(__file__).parents[2] / "sample_project"
Trail = tuple[str | int, ...]


def documents() -> dict[str, Any]:
    return {
        path: yaml.load(data, Loader=yaml.BaseLoader)
        for path, data in take(SAMPLE).everything.items()
        if path.endswith(".yaml")
    }


def trails(node: Any, above: Trail = ()) -> Iterator[Trail]:
    steps = node if isinstance(node, dict) else range(len(node)) if isinstance(node, list) else ()
    for step in steps:
        yield (*above, step)
        yield from trails(node[step], (*above, step))


def written(document: Any) -> bytes:
    return yaml.safe_dump(document, sort_keys=False, allow_unicode=True, width=1000).encode()


def outcomes(files: dict[str, bytes]) -> dict[str, Outcome] | None:
    """What each check came to; papers that the sheets name are at hand."""
    papers = {path: data for path, data in take(SAMPLE).everything.items() if not path.endswith(".yaml")}
    try:
        return {finding.id: finding.outcome for finding in check(Snapshot.of({**papers, **files})).findings}
    except InputRefused:
        return None
