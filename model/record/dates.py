"""Which month or day does each cell of a column stand for?

A month is written in many ways, and most have one reading: 1987-03, Mar-87, 03/1987. A day written
as three numbers, 03/04/1987, has two. The whole column settles which: the order of day, month and
year in which every cell is a date and time runs forward. Where two orders do, it is asked.

A year of two digits is read as spreadsheets do, 30 to 99 as 1930 to 1999 and 00 to 29 as 2000 to
2029 (common practice, no source), and that is said.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from model.water_year import MONTHS_IN_YEAR

Order = Literal["ymd", "dmy", "mdy"]
Wanted = Literal["month", "day", "either"]

Moment = tuple[int, int]
"""Month number, and day of the month; 0 where no day is given."""

FORMS: Final[dict[Wanted, tuple[str, str]]] = {
    "month": ("month", "a month such as 1987-03, 03/1987 or Mar 1987"),
    "day": ("date", "a day such as 1987-03-21 or 21/03/1987"),
    "either": ("date", "YYYY-MM-DD or YYYY-MM"),
}
"""What a cell is, and how it may be written."""

TWO_DIGITS: Final = "years of two digits are read as 1930 to 2029"

_ORDERS: Final[tuple[Order, ...]] = ("ymd", "dmy", "mdy")
_FIRST_OF_2000S: Final = 30
_NAMES: Final = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_FULL_NAMES: Final = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_NAME: Final = r"([A-Za-z]{3,9})\.?"
_TIME_OF_DAY: Final = re.compile(
    r"[ T][0-9]{1,2}:[0-9]{2}(:[0-9]{2}(\.[0-9]+)?)?(Z| ?[AaPp][Mm])?$"
)

_YEAR_MONTH: Final = re.compile(r"([0-9]{4})[-/]([0-9]{1,2})")
_SIX_DIGITS: Final = re.compile(r"([0-9]{4})([0-9]{2})")
_EIGHT_DIGITS: Final = re.compile(r"([0-9]{4})([0-9]{2})([0-9]{2})")
_MONTH_YEAR: Final = re.compile(r"([0-9]{1,2})[-/.]([0-9]{4})")
_NAME_YEAR: Final = re.compile(rf"{_NAME}[-/ ,']+([0-9]{{4}}|[0-9]{{2}})")
_YEAR_NAME: Final = re.compile(rf"([0-9]{{4}})[-/ ]+{_NAME}")
_DAY_NAME_YEAR: Final = re.compile(rf"([0-9]{{1,2}})[-/ ]+{_NAME}[-/ ,]+([0-9]{{4}}|[0-9]{{2}})")
_AMBIGUOUS: Final = re.compile(r"[0-9]{1,2}[-/.][0-9]{1,2}[-/.]")
_THREE: Final = re.compile(r"([0-9]{1,4})([-/.])([0-9]{1,2})\2([0-9]{1,4})")


@dataclass(frozen=True, slots=True)
class Moments:
    """What the cells of a column stand for."""

    moments: tuple[Moment | None, ...]  # None where a cell is no month and no day
    two_digit_years: bool
    unsure: tuple[str, str] | None = None  # what the first cell may be, where two orders fit


def moments_of(texts: Sequence[str], wanted: Wanted) -> Moments:
    """Read a column of months or of days.

    Parameters
    ----------
    texts
        Its cells.
    wanted
        What each stands for: a month (the day of one is passed over), a day, or either.

    Examples
    --------
    >>> moments_of(["31/12/1999", "01/01/2000"], "day").moments == ((23999, 31), (24000, 1))
    True
    >>> moments_of(["Dec-99", "Jan-00"], "month").moments
    ((23999, 0), (24000, 0))
    """
    texts = [_TIME_OF_DAY.sub("", text) for text in texts]
    orders = _ORDERS if any(map(_AMBIGUOUS.match, texts)) else _ORDERS[:1]
    fits = {order: _column(texts, order, wanted) for order in orders}
    fewest = min(found.count(None) for found in fits.values())
    fits = {order: found for order, found in fits.items() if found.count(None) == fewest}
    forward = {order: found for order, found in fits.items() if _runs_forward(found)}
    (order, found), *others = (forward or fits).items()
    two_digits = any(_has_two_digit_year(text, order) for text in texts)
    for _, other in others:
        for one, another in zip(found, other, strict=True):
            if one != another:
                return Moments(found, two_digits, (_said(one), _said(another)))
    return Moments(found, two_digits)


def no_moment(text: str, wanted: Wanted) -> tuple[str, str]:
    """Return why a cell is no month or date, as far as can be told, and what would be."""
    kind, allowed = FORMS[wanted]
    if re.fullmatch(r"[0-9]{5}(\.[0-9]+)?", text):
        count = f"it is a spreadsheet's count of days, not a {kind}"
        return count, f"{allowed}: format the column as dates and save again"
    return (f"it is not a {kind}" if text else f"there is no {kind}"), allowed


def _column(texts: Sequence[str], order: Order, wanted: Wanted) -> tuple[Moment | None, ...]:
    """Read each cell in one order."""
    found = [_moment(text, order) for text in texts]
    if wanted == "day":
        return tuple(moment if moment and moment[1] else None for moment in found)
    if wanted == "month":
        return tuple(moment and (moment[0], 0) for moment in found)
    return tuple(found)


def _moment(text: str, order: Order) -> Moment | None:
    """Read one cell."""
    for pattern, year, month, day in (
        (_YEAR_MONTH, 1, 2, 0),
        (_MONTH_YEAR, 2, 1, 0),
        (_NAME_YEAR, 2, 1, 0),
        (_YEAR_NAME, 1, 2, 0),
        (_DAY_NAME_YEAR, 3, 2, 1),
        (_EIGHT_DIGITS, 1, 2, 3),
        (_SIX_DIGITS, 1, 2, 0),
    ):
        match = pattern.fullmatch(text)
        if match:
            return _checked(match[year], match[month], match[day] if day else "")
    match = _THREE.fullmatch(text)
    if match is None:
        return None
    parts = dict(zip(order, (match[1], match[3], match[4]), strict=True))
    if len(parts["d"]) > 2 or len(parts["m"]) > 2 or len(parts["y"]) not in (2, 4):
        return None
    return _checked(parts["y"], parts["m"], parts["d"])


def _checked(year: str, month: str, day: str) -> Moment | None:
    """Return the moment, None where the calendar has no such one."""
    full_year, number = int(year), month_number(month)
    if len(year) == 2:
        full_year += 2000 if full_year < _FIRST_OF_2000S else 1900
    if not number or full_year < dt.MINYEAR:
        return None
    if day:
        try:
            dt.date(full_year, number, int(day))
        except ValueError:
            return None
    return full_year * MONTHS_IN_YEAR + number - 1, int(day or 0)


def month_number(text: str) -> int:
    """Return the month of the calendar year that a word or number names, 1 to 12; else 0."""
    if text.isdecimal():
        return int(text) if 1 <= int(text) <= MONTHS_IN_YEAR else 0
    name = text.lower()
    if name == "sept" or name in _FULL_NAMES:
        name = name[:3]
    return _NAMES.index(name) + 1 if name in _NAMES else 0


def _has_two_digit_year(text: str, order: Order) -> bool:
    """Return whether a cell names its year by two digits."""
    three = _THREE.fullmatch(text)
    if three:
        return len(three[(1, 3, 4)[order.index("y")]]) == 2
    match = _NAME_YEAR.fullmatch(text) or _DAY_NAME_YEAR.fullmatch(text)
    return match is not None and len(match[match.lastindex or 0]) == 2


def _runs_forward(found: Sequence[Moment | None]) -> bool:
    """Return whether each moment comes after the one before it."""
    known = [moment for moment in found if moment is not None]
    return all(before < after for before, after in pairwise(known))


def _said(moment: Moment | None) -> str:
    """Return a moment in words."""
    if moment is None:
        return "no date"
    month, day = moment
    name = _FULL_NAMES[month % MONTHS_IN_YEAR].capitalize()
    return f"{day or ''} {name} {month // MONTHS_IN_YEAR}".strip()
