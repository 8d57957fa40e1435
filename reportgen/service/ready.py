"""Imported by the fork server after the heavy modules: what each build would otherwise do again for itself.

Modules that a build loads only when it needs them, the templates compiled, the rulebooks read. A child inherits all of it.
"""

from __future__ import annotations

import importlib
from typing import Final

from reportgen.binder.html import environment, style
from reportgen.rulebook.rulebook import editions, load
from reportgen.service.build import tables_digest

LAZY: Final = (
    "reportgen.binder.pdf",
    "reportgen.binder.results",
    "reportgen.binder.write",
    "reportgen.design.energy_store",
    "reportgen.engineering.energy.weather_checks",
    "reportgen.engineering.energy.weather_formats",
    "reportgen.engineering.energy.year",
    "reportgen.service.cache",
)
"""Modules that are imported inside functions on the way from bytes to pages."""


def prepare() -> None:
    """Load, compile and read everything that does not depend on a project."""
    for edition in editions():
        load(edition)
    tables_digest()
    style()
    for name in ("binder.html", "elements.html"):
        environment().get_template(name)
    for module in LAZY:
        importlib.import_module(module)


prepare()
