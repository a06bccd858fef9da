"""Which month does an announced figure stand for, and do figures follow one another in time?

A figure is given for a water year (2010-11: announced to date at its end) or for a date
(YYYY-MM-DD or YYYY-MM: announced to date in the water year then). The two are told apart by where
they stand, never by how they look: 2010-11 is also a November.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated

from pydantic import AfterValidator

from model.record.dates import Moment, moments_of
from model.water_year import JULY, MONTHS_IN_YEAR, format_month, parse_month, water_year_label

_WATER_YEAR = re.compile(r"([0-9]{4})[-/]([0-9]{2}|[0-9]{4})")
_MADE_A_MONTH = re.compile(r"[A-Za-z]{3}-[0-9]{2}|[0-9]{4}-[0-9]{2}-01")
_DATE = re.compile(r"(\d{4}-\d{2})(?:-(\d{2}))?")

NO_WATER_YEAR = ("it is not a water year", "YYYY-YY, such as 2010-11")
NO_DATE = ("it is not a date", "YYYY-MM-DD or YYYY-MM")


def water_year_moment(text: str) -> Moment:
    """Return the last month of a water year written 2010-11, 2010/11 or 2010-2011.

    A spreadsheet takes 2010-11 for November 2010 and saves it as Nov-10 or 2010-11-01: in a column
    of water years that has one reading, and it is read so.

    Raises
    ------
    ValueError
        It is no water year.

    Examples
    --------
    >>> water_year_moment("2010-11")[0] == parse_month("2011-06") == water_year_moment("Nov-10")[0]
    True
    """
    text = text.strip()
    match = _WATER_YEAR.fullmatch(text)
    year, ends = (int(match[1]), match[2]) if match else (0, "")
    made = moments_of([text], "month").moments[0] if _MADE_A_MONTH.fullmatch(text) else None
    if made is not None:
        year, ends = made[0] // MONTHS_IN_YEAR, f"{made[0] % MONTHS_IN_YEAR + 1:02d}"
    if ends not in (f"{(year + 1) % 100:02d}", f"{year + 1:04d}"):
        raise ValueError("|".join(NO_WATER_YEAR))
    return year * MONTHS_IN_YEAR + JULY + MONTHS_IN_YEAR - 1, 0


def date_moment(text: str) -> Moment:
    """Return the month, and the day if there is one, of a date written YYYY-MM-DD or YYYY-MM.

    Raises
    ------
    ValueError
        It is no date.
    """
    match = _DATE.fullmatch(text.strip())
    month, day = (match[1], match[2]) if match else ("", None)
    try:
        if day:
            date.fromisoformat(f"{month}-{day}")
        return parse_month(month), int(day or 0)
    except ValueError as error:
        raise ValueError("|".join(NO_DATE)) from error


def date_text(moment: Moment) -> str:
    """Return a date as a plan writes it.

    Examples
    --------
    >>> date_text(date_moment("2010-08-15")), date_text(date_moment("2010-08"))
    ('2010-08-15', '2010-08')
    """
    month, day = moment
    return f"{format_month(month)}-{day:02d}" if day else format_month(month)


def order_problem(before: Moment, after: Moment) -> str:
    """Return why a figure may not follow another; empty where it may."""
    if after == before:
        return "it stands twice"
    return "it comes before the one above" if after < before else ""


def in_order(moments: list[Moment], texts: tuple[str, ...]) -> tuple[str, ...]:
    """Check that a plan's list runs in the order of time.

    Raises
    ------
    ValueError
        With the first text that does not.
    """
    for text, before, after in zip(texts[1:], moments, moments[1:], strict=False):
        problem = order_problem(before, after)
        if problem:
            raise ValueError(f"{text}: {problem}|the order of time, each once")
    return texts


def _water_year(text: str) -> str:
    return water_year_label(water_year_moment(text)[0])


def _date(text: str) -> str:
    date_moment(text)
    return text


WaterYearText = Annotated[str, AfterValidator(_water_year)]
AnnouncedDate = Annotated[str, AfterValidator(_date)]
