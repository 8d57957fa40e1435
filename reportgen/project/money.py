"""One currency in a folder: an amount that names another one is refused, never converted."""

from __future__ import annotations

from reportgen.diagnostics.model import Sink
from reportgen.project.nodes import Map, Scalar
from reportgen.project.references import values_at

_CURRENCY = ("prices", "currency")
#: Where amounts of money stand; a test holds the rows against the models.
AMOUNTS: tuple[tuple[str, ...], ...] = (
    ("prices", "energy"),
    ("prices", "module"),
    ("prices", "items", "*", "price"),
    ("stock", "spools", "*", "price"),
)


def check_money(tree: Map, default: str, sink: Sink) -> None:
    """Refuse an amount in another currency than the folder's.

    Parameters
    ----------
    tree : Map
        The sections of all files.
    default : str
        Currency where `prices` names none.
    sink : Sink
        Gets the diagnostics.
    """
    stated = next((value for _, value in values_at(tree, _CURRENCY) if not value.is_null), None)
    currency = str(stated) if stated is not None else default
    for path in AMOUNTS:
        for _, value in values_at(tree, path):
            code = value.strip().partition(" ")[2].strip()
            if len(code) == 3 and code.isupper() and code != currency:
                _refuse(value, code, currency, stated, sink)


def _refuse(value: Scalar, code: str, currency: str, stated: Scalar | None, sink: Sink) -> None:
    sink.error(
        "bad-number",
        f"`{value}` is in {code}, and the prices of this folder are in {currency}",
        value.span,
        help=f"write the amount in {currency}, or set `currency` under `prices` and every amount in {code}",
        related=[(stated.span, "the currency of the folder")] if stated is not None else [],
    )
