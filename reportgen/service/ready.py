"""Imported by the fork server after the heavy modules: what each build would otherwise do again for itself.

One build of a shipped example loads what is only loaded when needed, reads the rulebooks, compiles the templates and fills
what the modules remember. A child inherits all of it, and nothing of the example: no build keeps anything of a project.
"""

from __future__ import annotations

import gc
from pathlib import Path

from reportgen.rulebook.rulebook import editions, load
from reportgen.service.build import BuildOptions, run, tables_digest
from reportgen.service.folder_reader import take

_EXAMPLE = Path(__file__).parents[1] / "examples" / "two-strings"


def prepare() -> None:
    """Do once whatever does not depend on a project."""
    for edition in editions():
        load(edition)
    tables_digest()
    run(take(_EXAMPLE), BuildOptions(pdf=False))


prepare()
# What is here now lives as long as the server; a child that collects garbage need not touch its pages, and so copy them.
gc.collect()
gc.freeze()
