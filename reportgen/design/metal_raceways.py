"""What the edition asks of metal raceways whose circuits come to a high voltage to ground."""

from __future__ import annotations

from reportgen.design.grounding import METALLIC
from reportgen.rulebook.rulebook import Rulebook, quantity_of
from reportgen.working.quantity import Quantity

#: Metal raceways, those that may serve as a ground and the flexible ones.
METAL = METALLIC | {"FMC", "LFMC"}


def ordinary_bonding_up_to(rulebook: Rulebook) -> Quantity:
    """Voltage to ground up to which ordinary bonding does [V]."""
    return quantity_of(rulebook.number("bonding-voltage"), "limit of ordinary bonding")


def asked_of_grounded_alone(rulebook: Rulebook) -> bool:
    """Whether circuits with floating legs are left out of what is asked above that voltage."""
    return rulebook.ruling("bonding-over-250").answer == "solidly-grounded"
