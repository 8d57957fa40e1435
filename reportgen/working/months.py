"""Months of a year without leap day: the year that typical weather and monthly means are told in."""

from __future__ import annotations

from typing import Final

DAYS: Final = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
"""Days of each month."""
MONTHS: Final = len(DAYS)
"""Figures that a list with one for each month has."""
