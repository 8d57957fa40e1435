"""The one form of a refusal by an engineering function: a fact and the one thing to do."""

from __future__ import annotations


class Problem(ValueError):
    """Inputs that no answer exists for; subclasses say of what.

    Attributes
    ----------
    reason : str
        The fact, lower case, without full stop.
    help : str
        The one thing to do.
    """

    def __init__(self, reason: str, help: str) -> None:
        super().__init__(f"{reason}; {help}")
        self.reason = reason
        self.help = help
