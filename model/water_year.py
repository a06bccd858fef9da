"""Which water year does a month belong to, and which month of it is it?

A water year runs July to June and is named by both calendar years: 2025-26. Inside the model a
month is one whole number, `12 x year + month - 1`, so that the next month is always plus one. The
month of the water year, `k`, counts from 0 (July) to 11 (June): every list of twelve in a plan is
read with it.
"""

from __future__ import annotations

import re

MONTHS_IN_YEAR = 12
MONTH_NAMES = (
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
)
"""In the order of the water year, so that `MONTH_NAMES[k]` names month `k`."""

JULY = 6
"""The July of year 0: any July is this plus a multiple of twelve."""

_MONTH_TEXT = re.compile(r"(\d{4})-(\d{2})")


def parse_month(text: str) -> int:
    """Turn a month written YYYY-MM into a month number.

    Raises
    ------
    ValueError
        The text is no month of that form.

    Examples
    --------
    >>> parse_month("2025-09") - parse_month("2025-07")
    2
    """
    match = _MONTH_TEXT.fullmatch(text.strip())
    if match is None or not 1 <= int(match[2]) <= MONTHS_IN_YEAR:
        raise ValueError(f"{text!r} is not a month written YYYY-MM, such as 2025-09")
    return int(match[1]) * MONTHS_IN_YEAR + int(match[2]) - 1


def format_month(month: int) -> str:
    """Write a month number as YYYY-MM.

    Examples
    --------
    >>> format_month(parse_month("1900-06"))
    '1900-06'
    """
    return f"{month // MONTHS_IN_YEAR:04d}-{month % MONTHS_IN_YEAR + 1:02d}"


def months_from(first_month: int, count: int) -> list[str]:
    """Write so many months from one on, each as YYYY-MM.

    Examples
    --------
    >>> months_from(parse_month("2025-12"), 2)
    ['2025-12', '2026-01']
    """
    return [format_month(month) for month in range(first_month, first_month + count)]


def month_of_water_year(month: int) -> int:
    """Count the month from July, 0 to 11.

    Examples
    --------
    >>> [month_of_water_year(parse_month(m)) for m in ("2025-07", "2026-06")]
    [0, 11]
    """
    return (month - JULY) % MONTHS_IN_YEAR


def is_july(month: int) -> bool:
    """Return whether a month opens its water year."""
    return month_of_water_year(month) == 0


def first_month_of_water_year(month: int) -> int:
    """Return the July that opens the water year of a month."""
    return month - month_of_water_year(month)


def water_year_label(month: int) -> str:
    """Name the water year of a month by both its calendar years.

    Examples
    --------
    >>> water_year_label(parse_month("1999-07")), water_year_label(parse_month("2000-06"))
    ('1999-00', '1999-00')
    """
    year = first_month_of_water_year(month) // MONTHS_IN_YEAR
    return f"{year:04d}-{(year + 1) % 100:02d}"


def month_name(month: int) -> str:
    """Name a month as a person says it, such as September 2025."""
    return f"{MONTH_NAMES[month_of_water_year(month)]} {month // MONTHS_IN_YEAR}"
