"""How far ahead are commitments set aside, and what do twelve months add up to over it?

The horizon runs from month `k` of the water year (0 = July) to June of the water year `years_ahead`
after this one, so it is `12 - k + 12 years_ahead` months long.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from model.water_year import MONTHS_IN_YEAR

ByMonth = tuple[float, ...]
"""Twelve numbers by month of the water year, July first."""


def months_of_horizon(years_ahead: int) -> list[int]:
    """Return the months from each month of the water year to the end of the horizon."""
    return [MONTHS_IN_YEAR * (1 + years_ahead) - k for k in range(MONTHS_IN_YEAR)]


def sums_ahead(by_month: Sequence[float], months: Sequence[int]) -> ByMonth:
    """Return, for each month of the water year, the sum over so many months from it on."""
    return tuple(
        math.fsum(by_month[(k + ahead) % MONTHS_IN_YEAR] for ahead in range(months[k]))
        for k in range(MONTHS_IN_YEAR)
    )


def or_infinite(limit: float | None) -> float:
    """Return a limit, infinite where it is left out."""
    return math.inf if limit is None else limit
