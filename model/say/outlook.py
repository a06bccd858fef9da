"""How are the odds of water told to a person, in a few lines of text?"""

from __future__ import annotations

from typing import Final

from model.outlook.chances import Spread
from model.outlook.outlook import Outlook, SeasonOutlook
from model.plan.plan import Plan
from model.say.method import drying_in_words, method_in_words, ranges_in_words
from model.say.numbers import (
    chance,
    column,
    count,
    lines_of_table,
    ml,
    ml_per_share,
    number,
    own_water,
    percent,
    times_in_100,
)
from model.sequences.drying import drying_of
from model.water_year import is_july, month_name, parse_month

REACHED: Final = {9: 90, 5: 50, 1: 10}
"""Years of ten in which an amount is reached or passed, the sure one first: times in 100."""

REACHED_TITLES: Final = {years: f"{times} times in 100" for years, times in REACHED.items()}
"""Headings of columns of what is reached or passed so often."""


def outlook_in_words(odds: Outlook) -> str:
    """Return the odds as text for a terminal."""
    lines = [
        f"{odds.plan.title}: {odds.plan.valley.name}",
        standing_in_words(odds.plan),
        f"{sequences_in_words(odds)}.",
        "",
    ]
    for season in odds.seasons:
        lines += [*_season_lines(season), ""]
    for number_, season in enumerate(odds.seasons[1:], start=2):
        lines.append(f"{nothing_in_a_row(number_)}: {chance(season.chance_none_so_far)}")
    lines.append(ranges_in_words(odds.record_error))
    return "\n".join(lines)


def standing_in_words(plan: Plan) -> str:
    """Return in a line where things stand."""
    opening, capacity_ml = plan.opening, plan.valley.capacity_ml
    return (
        f"{month_name(parse_month(opening.month))}: dam {ml(opening.storage_ml)} of "
        f"{ml(capacity_ml)} ({percent(opening.storage_ml / capacity_ml)} full), account "
        f"{ml_per_share(opening.account_ml_per_share)}, announced so far "
        f"{ml_per_share(opening.announced_to_date_ml_per_share)}."
    )


def sequences_in_words(odds: Outlook) -> str:
    """Return how many sequences were drawn, how, and from which record."""
    drier = drying_in_words(drying_of(odds.record, odds.plan.sequences))
    first, last = (month_name(parse_month(month)) for month in odds.record.span)
    return (
        f"{count(odds.count, 'sequence')}: {method_in_words(odds.method)}, from "
        f"{odds.record.name}, {first} to {last}{f', {drier}' if drier else ''}"
    )


def nothing_announced(season: SeasonOutlook) -> str:
    """Return what `chance_none` is the chance of."""
    more = "" if is_july(season.first_month) else "more "
    return f"Nothing {more}announced in {season.water_year}"


def nothing_in_a_row(seasons: int) -> str:
    """Return what the chance of seasons with nothing is the chance of.

    Examples
    --------
    >>> nothing_in_a_row(2)
    'Nothing announced 2 seasons in a row'
    """
    return f"Nothing announced {seasons} seasons in a row"


def _season_lines(season: SeasonOutlook) -> list[str]:
    """Return one season: the chance of nothing, and a small table of what is reached."""
    rows = [["ML a share, reached so many times in 100", *map(str, REACHED.values())]]
    points = (("At planting", season.planting), ("At the finish month", season.finish))
    for name, point in (*points, ("At the season's end", season.end)):
        if point is not None:
            where = f"{name}, {month_name(point.month)}"
            rows += [
                [f"{where}: {what}", *_reached(point.amounts[amount])]
                for what, amount in (
                    ("announced", "announced_to_date_ml_per_share"),
                    ("usable", "usable_ml_per_share"),
                )
            ]
    return [f"{nothing_announced(season)}: {chance(season.chance_none)}", *lines_of_table(rows)]


def _reached(amount: Spread) -> list[str]:
    """Return the cells of what is reached 90, 50 and 10 times in 100."""
    return column([amount.reached_in(years).value for years in REACHED], 2)


def reached_in_words(amount: Spread) -> str:
    """Return what is reached 90, 50 and 10 times in 100, in a sentence."""
    sure, middle, lucky = (number(amount.reached_in(years).value, 2) for years in REACHED)
    return f"{sure} ML a share reached 90 times in 100, {middle} 50 times, {lucky} 10 times"


def water_headline(season: SeasonOutlook, shares_ml: float) -> str:
    """Return the finding on the water of a season, in a farm's own megalitres.

    Parameters
    ----------
    season
        The season.
    shares_ml
        General-security shares of the farm.
    """
    announced = season.amounts["announced_to_date_ml_per_share"]
    sure, middle = announced.reached_in(9).value, announced.reached_in(5).value
    june, nothing = month_name(season.last_month), number(0.0, 2)
    none = times_in_100(season.chance_none.value, season.chance_none.draws)
    if number(middle, 2) == nothing:
        return f"Nothing at all is announced by {june} {none}"
    if number(sure, 2) == nothing:
        return (
            f"By {june}, {own_water(middle, shares_ml)} or more is announced 50 times in 100, and "
            f"nothing at all {none}"
        )
    most = f"By {june}, {own_water(sure, shares_ml)} or more is announced 90 times in 100"
    if number(sure, 2) == number(middle, 2):
        return most
    return f"{most}, {own_water(middle, shares_ml)} 50 times"


def few_sequences_in_words(odds: Outlook, fewest: int) -> str:
    """Return that too few sequences were drawn; empty where they are enough."""
    if odds.count >= fewest:
        return ""
    return f"Drawn: {odds.count:,}. These are too few sequences for odds to rest on."
