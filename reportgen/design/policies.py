"""What the user asks beyond the code, with the defaults that stand in where nothing is said."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.design.results import PRESCRIBED
from reportgen.project.model import Project
from reportgen.working.quantity import Assumed, Quantity

_DEFAULTS = {
    "voltage_margin": (2.0, "margin under which a voltage that meets is called thin"),
    "current_margin": (2.0, "margin under which a current that meets is called thin"),
    "fill_margin": (5.0, "margin under which a fill that meets is called thin"),
    "pull_margin": (10.0, "margin under which a pull that meets is called thin"),
    "drop_target": (3.0, "voltage drop above which a circuit is called thin; no code limit"),
    "balance_target": (
        20.0,
        "PV power by which inverters of one type may lie apart before it is called thin; no code limit",
    ),
}


@dataclass(frozen=True, slots=True)
class Policies:
    """Margins and targets in force [%]."""

    voltage_margin: Quantity
    current_margin: Quantity
    fill_margin: Quantity
    pull_margin: Quantity
    drop_target: Quantity
    balance_target: Quantity
    drop_limit: Quantity | None
    pull_limit: Quantity | None
    cold_temperature: str
    prescribed_cold: Quantity | None = None

    def share(self, name: str) -> float:
        """A margin as a share of the limit [-]."""
        value: Quantity = getattr(self, name)
        return value.value / 100


def policies_of(project: Project, prescribed_cold: Quantity | None = None) -> Policies:
    """Policies of a project; each default is an assumption that the binder lists.

    A cold temperature that a local rule prescribes goes before the one chosen in the policies.
    """
    given = project.project.policies
    values = {
        name: getattr(given, name)
        or Quantity(default, "%", Assumed(f"policies.{name}", meaning, "our own default"))
        for name, (default, meaning) in _DEFAULTS.items()
    }
    return Policies(
        **values,
        drop_limit=given.drop_limit,
        pull_limit=given.pull_limit,
        cold_temperature=PRESCRIBED if prescribed_cold else str(given.cold_temperature),
        prescribed_cold=prescribed_cold,
    )
