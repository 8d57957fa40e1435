"""How a finding reads, shown on the worked examples that ship with the package: never typed, so never out of date."""

from __future__ import annotations

from functools import cache

from reportgen.authoring.start import EXAMPLES, example
from reportgen.design.findings import Finding
from reportgen.diagnostics.text import excerpts, render
from reportgen.service.build import check
from reportgen.service.snapshot import Snapshot


@cache
def _checked() -> tuple[tuple[str, dict[str, bytes], tuple[Finding, ...]], ...]:
    """Every example with its files and findings."""
    made = []
    for name in EXAMPLES:
        files = {file: text.encode() for file, text in example(name).items() if file.endswith(".yaml")}
        made.append((name, files, check(Snapshot.of(files)).findings))
    return tuple(made)


def shown_in_example(code: str) -> str | None:
    """Text of the worst finding of a code among the examples, with where it comes from; None where none has it."""
    best: tuple[Finding, str, dict[str, bytes]] | None = None
    for name, files, findings in _checked():
        for finding in findings:
            if finding.code == code and (best is None or finding.outcome.rank < best[0].outcome.rank):
                best = finding, name, files
    if best is None:
        return None
    finding, name, files = best
    told = render([finding.diagnostic()], excerpts(files), prefix=f"{name}/", width=76)
    return f"In the worked example `{name}` it reads:\n" + "\n".join(
        f"    {line}".rstrip() for line in told.splitlines()
    )
