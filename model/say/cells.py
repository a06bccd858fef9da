"""What are the cells of a table: chances with their ranges, amounts with theirs?"""

from __future__ import annotations

from collections.abc import Callable

from model.outlook.chances import Estimate, Spread
from model.say.numbers import (
    in_100_range,
    number,
    of_100,
    with_range,
)
from model.say.outlook import REACHED_TITLES

Form = Callable[[float], str]


def chance_cells(estimate: Estimate) -> dict[str, str]:
    """Return a chance with both its ranges, for a row of a table."""
    return {
        "Times in 100": of_100(estimate.value),
        "Range the record supports": record_range(estimate),
        "Range of the draws": in_100_range(estimate.draws_low, estimate.draws_high),
    }


def record_range(estimate: Estimate) -> str:
    """Return the range of a chance that the record supports, in 100."""
    return in_100_range(*estimate.headline)


def reached_cells(amount: Spread, form: Form | None = None) -> dict[str, str]:
    """Return what is reached 90, 50 and 10 times in 100, each with the record's range."""
    return {
        title: with_range(amount.reached_in(years), form or two_digits)
        for years, title in REACHED_TITLES.items()
    }


def amount_range(estimate: Estimate, form: Form = number) -> str:
    """Return the range of an amount that the record supports."""
    low, high = estimate.headline
    return f"{form(low)} to {form(high)}"


def two_digits(value: float) -> str:
    """Return a number to two places."""
    return number(value, 2)
