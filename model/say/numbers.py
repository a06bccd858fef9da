"""How is each kind of number written for a person? One function a kind, used everywhere.

A thousands comma, a true minus, an en dash where there is no number. Digits are those that the
errors bear out: money in thousands from 10,000 and in millions from a million, water a share to two
places, hectares and volumes whole, shares in percent. Chances have one base: so many times in 100.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING, Final

from model.water_year import MONTHS_IN_YEAR, month_name

if TYPE_CHECKING:
    import datetime as dt

    from model.outlook.chances import Estimate

NO_NUMBER: Final = "–"
MINUS: Final = "−"

THOUSANDS_FROM: Final = 10_000.0
"""Money from here on is said to the thousand."""

MILLIONS_FROM: Final = 999_500.0
"""Money from here on is said in millions: what would round to a million is one."""

_CURRENCY: ContextVar[str] = ContextVar("currency", default="$")


@contextmanager
def currency(sign: str) -> Iterator[None]:
    """Write money with a plan's own sign of currency inside the block.

    Examples
    --------
    >>> with currency("€"):
    ...     money(186_000.0)
    '€186,000'
    """
    before = _CURRENCY.set(sign)
    try:
        yield
    finally:
        _CURRENCY.reset(before)


def currency_sign() -> str:
    """Return the sign of currency in use.

    Examples
    --------
    >>> currency_sign()
    '$'
    """
    return _CURRENCY.get()


def number(value: float, digits: int = 0) -> str:
    """Return a number with so many digits after the point; below 0, that many places before it.

    Examples
    --------
    >>> number(1_234.4), number(-0.126, 2), number(-0.3), number(1_260.0, -2), number(math.nan)
    ('1,234', '−0.13', '0', '1,300', '–')
    """
    if math.isnan(value):
        return NO_NUMBER
    return f"{round(value, digits) + 0.0:,.{max(0, digits)}f}".replace("-", MINUS)


def signed(value: float, digits: int = 0) -> str:
    """Return a change with its sign; none is 0.

    Examples
    --------
    >>> signed(1.26, 1), signed(-0.3, 1), signed(0.01, 1)
    ('+1.3', '−0.3', '0.0')
    """
    written = number(value, digits)
    return f"+{written}" if round(value, digits) > 0.0 else written


def plain(value: float) -> str:
    """Return a number as it was stated, with no more digits than it needs.

    Examples
    --------
    >>> plain(7.0), plain(0.125), plain(-3.5), plain(12_000.0)
    ('7', '0.125', '−3.5', '12,000')
    """
    return NO_NUMBER if math.isnan(value) else f"{value:,.12g}".replace("-", MINUS)


def two_figures(value: float) -> str:
    """Return a number to two figures, which is all that the errors of a volume bear out.

    Examples
    --------
    >>> two_figures(41_687.0), two_figures(672.4), two_figures(-3.6), two_figures(0.0)
    ('42,000', '670', '−4', '0')
    """
    if math.isnan(value) or value == 0.0:
        return number(value)
    return number(value, min(0, 1 - math.floor(math.log10(abs(value)))))


def count(many: int, what: str, plural: str = "") -> str:
    """Return how many there are of a thing.

    Examples
    --------
    >>> count(1, "year"), count(5_000, "sequence"), count(0, "loss", "losses")
    ('1 year', '5,000 sequences', '0 losses')
    """
    return f"{many:,} {what if many == 1 else plural or f'{what}s'}"


def ml(value: float) -> str:
    """Return a volume.

    Examples
    --------
    >>> ml(1_234.4), ml(math.nan)
    ('1,234 ML', '–')
    """
    return _with_unit(number(value), "ML")


def ml_per_share(value: float) -> str:
    """Return an amount of an account.

    Examples
    --------
    >>> ml_per_share(0.17)
    '0.17 ML a share'
    """
    return _with_unit(number(value, 2), "ML a share")


def own_water(value_ml_per_share: float, shares_ml: float) -> str:
    """Return an amount of an account in a farm's own megalitres first.

    Examples
    --------
    >>> own_water(0.17, 3_000.0)
    '510 ML (0.17 ML a share)'
    """
    if math.isnan(value_ml_per_share):
        return NO_NUMBER
    return f"{ml(value_ml_per_share * shares_ml)} ({ml_per_share(value_ml_per_share)})"


def ha(value: float) -> str:
    """Return an area.

    Examples
    --------
    >>> ha(81.3)
    '81 ha'
    """
    return _with_unit(number(value), "ha")


def money(value_aud: float) -> str:
    """Return a sum of money, to the digits that a person reads.

    Examples
    --------
    >>> money(1_083_000.0), money(1e6), money(186_400.0), money(-9_412.0), money(math.nan)
    ('$1.08 million', '$1 million', '$186,000', '−$9,412', '–')
    """
    if math.isnan(value_aud):
        return NO_NUMBER
    size = abs(value_aud)
    if size >= MILLIONS_FROM:
        digits = f"{number(size / 1e6, 2).rstrip('0').rstrip('.')} million"
    else:
        digits = number(size, -3 if size >= THOUSANDS_FROM else 0)
    minus = MINUS if value_aud < 0.0 and digits != "0" else ""
    return f"{minus}{currency_sign()}{digits}"


def money_for_each(value_aud: float, unit: str) -> str:
    """Return a price or a worth for each of a unit.

    Examples
    --------
    >>> money_for_each(254.6, "ML"), money_for_each(-2.25, "share")
    ('$255 a ML', '−$2 a share')
    """
    return f"{money(value_aud)} a {unit}"


def thousands(value_aud: float) -> str:
    """Return money in thousands, for a column that says so.

    Examples
    --------
    >>> thousands(-1_234_567.0), thousands(-12.0), thousands(math.nan)
    ('−1,235', '0', '–')
    """
    return number(value_aud / 1_000.0)


def thousands_heading() -> str:
    """Return the unit of a column of `thousands`.

    Examples
    --------
    >>> thousands_heading()
    "$'000"
    """
    return f"{currency_sign()}'000"


def percent(frac: float) -> str:
    """Return a share in percent: a small one to one place, none rounded to sure.

    Examples
    --------
    >>> percent(0.258), percent(0.085), percent(0.0), percent(-0.01)
    ('26 %', '8.5 %', '0 %', '−1 %')
    >>> percent(0.0002), percent(0.9996)
    ('under 0.1 %', 'over 99 %')
    """
    if math.isnan(frac):
        return NO_NUMBER
    if 0.0 < frac < 0.0005:
        return "under 0.1 %"
    if 0.995 < frac < 1.0:
        return "over 99 %"
    return f"{number(100.0 * frac, 1 if 0.0 < frac < 0.0995 else 0)} %"


def percent_range(low: float, high: float) -> str:
    """Return the range of a share.

    Examples
    --------
    >>> percent_range(0.15, 0.35)
    '15 % to 35 %'
    """
    return f"{percent(low)} to {percent(high)}"


def rate(frac_per_year: float) -> str:
    """Return a stated rate or share as it was stated.

    Examples
    --------
    >>> rate(0.075), rate(0.1234), rate(1.0)
    ('7.5 %', '12.34 %', '100 %')
    """
    return f"{100.0 * frac_per_year:.6g} %"


def times_in_100(frac: float, drawn: int | None = None) -> str:
    """Return a chance on its one base.

    Parameters
    ----------
    frac
        The chance.
    drawn
        How many sequences it was counted in, where that is known.

    Examples
    --------
    >>> times_in_100(0.258), times_in_100(0.0104), times_in_100(0.004), times_in_100(0.997)
    ('26 times in 100', 'once in 100', 'less than once in 100', 'more than 99 times in 100')
    >>> times_in_100(0.0, 5_000), times_in_100(1.0, 1), times_in_100(math.nan)
    ('in none of the 5,000 drawn', 'in the one drawn', '–')
    """
    if math.isnan(frac):
        return NO_NUMBER
    if frac <= 0.0:
        return f"in none of the {drawn:,} drawn" if drawn and drawn > 1 else "in none drawn"
    if frac >= 1.0:
        every = f"in all of the {drawn:,} drawn" if drawn else "in all drawn"
        return "in the one drawn" if drawn == 1 else every
    if frac < 0.01:
        return "less than once in 100"
    if frac > 0.99:
        return "more than 99 times in 100"
    return "once in 100" if of_100(frac) == "1" else f"{of_100(frac)} times in 100"


def of_100(frac: float) -> str:
    """Return the number alone of a chance in 100, as the ends of its range are written.

    Examples
    --------
    >>> [of_100(frac) for frac in (0.15, 0.0, 0.003, 0.997, 1.0)]
    ['15', '0', 'less than 1', 'more than 99', '100']
    """
    if 0.0 < frac < 0.01:
        return "less than 1"
    if 0.99 < frac < 1.0:
        return "more than 99"
    return number(100.0 * frac)


def in_100_range(low: float, high: float) -> str:
    """Return the range of a chance, in its base.

    Examples
    --------
    >>> in_100_range(0.15, 0.35), in_100_range(0.0, 0.002), in_100_range(0.251, 0.253)
    ('15 to 35', '0 to less than 1', '25')
    """
    ends = of_100(low), of_100(high)
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def chance(estimate: Estimate) -> str:
    """Return a chance with the range that the record supports.

    Where the record leaves nothing open the range is that of the draws; where that shows nothing
    either, none is written.

    Examples
    --------
    >>> from model.outlook.chances import Estimate
    >>> chance(Estimate(0.258, 0.25, 0.27, 0.15, 0.35, draws=5_000))
    '26 times in 100 (15 to 35)'
    >>> chance(Estimate(0.0, 0.0, 0.0008, 0.0, 0.0, draws=5_000))
    'in none of the 5,000 drawn'
    """
    said = times_in_100(estimate.value, estimate.draws)
    return f"{said}{chance_range(estimate)}"


def chance_cell(estimate: Estimate) -> str:
    """Return a chance with its range for a column headed "times in 100".

    Examples
    --------
    >>> from model.outlook.chances import Estimate
    >>> chance_cell(Estimate(0.258, 0.25, 0.27, 0.15, 0.35)), chance_cell(Estimate(0.0, 0.0, 0.0))
    ('26 (15 to 35)', '0')
    """
    return f"{of_100(estimate.value)}{chance_range(estimate)}"


def chance_range(estimate: Estimate) -> str:
    """Return a chance's range in brackets, a space before them; empty where it shows nothing.

    Examples
    --------
    >>> from model.outlook.chances import Estimate
    >>> chance_range(Estimate(0.258, 0.25, 0.27, 0.15, 0.35)), chance_range(Estimate(1.0, 1.0, 1.0))
    (' (15 to 35)', '')
    """
    low, high = estimate.headline
    if low == high and 0.0 < estimate.value < 1.0:
        low, high = estimate.draws_low, estimate.draws_high
    return "" if of_100(low) == of_100(high) else f" ({in_100_range(low, high)})"


def with_range(estimate: Estimate, form: Callable[[float], str]) -> str:
    """Return an amount, and in brackets the record's range where it shows at these digits.

    Examples
    --------
    >>> from model.outlook.chances import Estimate
    >>> with_range(Estimate(0.42, 0.4, 0.44, 0.2, 0.6), lambda value: number(value, 2))
    '0.42 (0.20 to 0.60)'
    """
    value, low, high = (form(each) for each in (estimate.value, *estimate.headline))
    return value if low == high else f"{value} ({low} to {high})"


def column(values: Sequence[float], digits: int = 0) -> list[str]:
    """Return the cells of a table's column: the same digits in each, so that points align.

    Examples
    --------
    >>> column([1_234.5, math.nan, -0.25], 2)
    ['1,234.50', '–', '−0.25']
    """
    return [number(value, digits) for value in values]


def lines_of_table(rows: Sequence[Sequence[str]], indent: str = "  ") -> list[str]:
    """Return a table as lines of text: the first column from the left, all others from the right.

    Examples
    --------
    >>> lines_of_table([["", "90", "10"], ["At planting", "0.17", "1.02"]])
    ['                 90    10', '  At planting  0.17  1.02']
    """
    widths = [max(map(len, cells)) for cells in zip(*rows, strict=True)]
    return [
        (
            indent
            + row[0].ljust(widths[0])
            + "".join(f"  {cell:>{width}}" for cell, width in zip(row[1:], widths[1:], strict=True))
        ).rstrip()
        for row in rows
    ]


def listed(words: Sequence[str], last: str = "and") -> str:
    """Return a list as a sentence has it.

    Examples
    --------
    >>> listed(["one"]), listed(["one", "two"]), listed(["one", "two", "three"])
    ('one', 'one and two', 'one, two and three')
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def capital(words: str) -> str:
    """Return a sentence with a capital letter at its start, the rest as it is.

    Examples
    --------
    >>> capital("this season: ML announced")
    'This season: ML announced'
    """
    return f"{words[:1].upper()}{words[1:]}"


def day_name(day: dt.date) -> str:
    """Return a day as a person says it.

    Examples
    --------
    >>> import datetime
    >>> day_name(datetime.date(2026, 1, 2))
    '2 January 2026'
    """
    return f"{day.day} {month_name(MONTHS_IN_YEAR * day.year + day.month - 1)}"


def _with_unit(digits: str, unit: str) -> str:
    return digits if digits == NO_NUMBER else f"{digits} {unit}"
