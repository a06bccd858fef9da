"""What number does a cell hold, and is its decimal mark a point or a comma?

Some countries write 1,234.5 and others 1.234,5, and a spreadsheet writes a file as the country of
its computer does. Which one a file holds is settled by all its cells together: the reading that
fits every one of them. Where both fit and the numbers differ, nobody can know, and it is asked.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Final, Literal

Decimal = Literal["point", "comma"]

MISSING: Final = frozenset({"", "-", "–", "—", "na", "n/a", "#n/a", "nan", "null"})
"""What stands in a cell, in small letters, where there is no value."""

_SPACES: Final = " \u00a0\u2009\u202f'’"
"""Marks of thousands in either reading: spaces that do not break, and apostrophes."""


def _pattern(decimal: str, thousands: str) -> re.Pattern[str]:
    """Return what a number looks like with a decimal mark and a mark of thousands."""
    grouped = "|".join(
        rf"[1-9][0-9]{{0,2}}(?:{re.escape(mark)}[0-9]{{3}})+" for mark in (thousands, *_SPACES)
    )
    whole = rf"(?:{grouped}|[0-9]+)"
    mark = re.escape(decimal)
    return re.compile(rf"[+-]?(?:{whole}(?:{mark}[0-9]*)?|{mark}[0-9]+)(?:[eE][+-]?[0-9]+)?")


_PATTERN: Final[dict[Decimal, re.Pattern[str]]] = {
    "point": _pattern(".", ","),
    "comma": _pattern(",", "."),
}
_MARKS: Final = re.compile(f"[{_SPACES}]")


def number_of(text: str, decimal: Decimal) -> float | None:
    """Return the number that a cell holds in one reading; None where it is none.

    Examples
    --------
    >>> number_of("1,234.5", "point"), number_of("1.234,5", "comma"), number_of("1,2", "point")
    (1234.5, 1234.5, None)
    """
    text = text.replace("−", "-")
    if not _PATTERN[decimal].fullmatch(text):
        return None
    text = _MARKS.sub("", text)
    thousands, mark = (",", ".") if decimal == "point" else (".", ",")
    return float(text.replace(thousands, "").replace(mark, "."))


def is_missing(text: str) -> bool:
    """Return whether a cell says that there is no value."""
    return text.lower() in MISSING


def readings_that_fit(texts: Iterable[str]) -> tuple[tuple[Decimal, ...], str]:
    """Return which decimal marks fit all cells of a file, and a cell that shows why.

    Parameters
    ----------
    texts
        Cells; those that are no number in either reading are passed over.

    Returns
    -------
    decimals, example
        Both marks, with a cell that they read differently; one, with the cell that settled it;
        none, with a cell that those before it speak against. Both and "" where nothing differs.

    Examples
    --------
    >>> readings_that_fit(["12", "1,5"])
    (('comma',), '1,5')
    >>> readings_that_fit(["1,234", "812"])
    (('point', 'comma'), '1,234')
    """
    fits: tuple[Decimal, ...] = ("point", "comma")
    example = settled = ""
    for text in texts:
        if "," not in text and "." not in text:
            continue
        found: tuple[Decimal, ...] = tuple(
            decimal for decimal in ("point", "comma") if number_of(text, decimal) is not None
        )
        if len(found) == 1 and not settled:
            settled = text
        if found:
            fits = tuple(decimal for decimal in fits if decimal in found)
            example = example or text
        if not fits:
            return (), text
    return fits, settled or example


def why_no_number(text: str) -> str:
    """Return why a cell is no number, as far as can be told."""
    if text.startswith("#"):
        return "the spreadsheet could not work it out"
    if text.endswith("%"):
        return "it is in percent"
    if re.fullmatch(r"[+-]?(inf|infinity)", text.lower()):
        return "it is not a finite number"
    return "it is text, not a number"


def is_number_like(text: str) -> bool:
    """Return whether a cell is a number in one reading or the other.

    Examples
    --------
    >>> is_number_like("1.234,5"), is_number_like("gauge 2")
    (True, False)
    """
    return any(number_of(text, decimal) is not None for decimal in _PATTERN)


def shown(number: float) -> str:
    """Return a number as a person types it; empty where there is none.

    Examples
    --------
    >>> shown(1234.0), shown(0.1), shown(math.nan)
    ('1234', '0.1', '')
    """
    if math.isnan(number):
        return ""
    return str(int(number)) if number.is_integer() and abs(number) < 1e15 else repr(number)
