"""What does the page of many farms say?"""

from __future__ import annotations

import pandas as pd

from model.book.book import Drivers
from model.book.pool import Pool, Scope, reached_by
from model.say.book import OWED, WORST_TENTH, missing_in_words
from model.say.numbers import chance_cell, number, thousands, thousands_heading, with_range


def at_once_finding(pool: Pool, farms: int) -> str:
    """Return how many farms miss a payment at once, in one sentence."""
    said = missing_in_words(pool.missing, farms, short=True)
    return f"In any one season, {said}"


def reached_lines(pool: Pool, farms: int) -> dict[str, list[tuple[float, float]]]:
    """Return by season how many times in 100 so many farms or more miss a payment."""
    return {
        season.water_year: [
            (number_of, 100.0 * chance) for number_of, chance in reached_by(season.missing, farms)
        ]
        for season in pool.seasons
    }


def seasons_frame(pool: Pool) -> pd.DataFrame:
    """Arrange how many farms are in trouble at once, a row a season."""
    named = [(s.water_year, s.missing, s.past_limit) for s in pool.seasons]
    rows = [*named, ("the worst season of the run", pool.missing, pool.past_limit)]
    return pd.DataFrame(
        [
            {
                "Season": name,
                "Farms that miss a payment, on average": number(missing.farms.mean.value, 1),
                WORST_TENTH: number(missing.farms.worst_tenth.value, 1),
                "one or more, times in 100": chance_cell(missing.chance_any),
                "a tenth or more": chance_cell(missing.chance_of_part[0.1]),
                "half or more": chance_cell(missing.chance_of_part[0.5]),
                "Farms past the overdraft limit, on average": number(past.farms.mean.value, 1),
            }
            for name, missing, past in rows
        ]
    )


def lost_frame(scope: Scope, titles: list[str]) -> pd.DataFrame:
    """Arrange what is owed beyond the terms, a row a strategy."""
    unit = thousands_heading()
    return pd.DataFrame(
        [
            {
                "Strategy": title,
                f"{OWED}, on average, {unit}": with_range(pool.owed_aud.mean, thousands),
                f"{WORST_TENTH}, {unit}": with_range(pool.owed_aud.worst_tenth, thousands),
                f"Standing of all farms, on average, {unit}": with_range(
                    pool.standing_aud.mean, thousands
                ),
            }
            for title, pool in zip(titles, scope.pools, strict=True)
        ]
    )


def drivers_frame(drivers: Drivers) -> pd.DataFrame:
    """Arrange which farms add most to the worst tenth."""
    return pd.DataFrame(
        [
            {
                "Farm": driver.farm,
                "Plan file": driver.file,
                f"Adds, {thousands_heading()}": thousands(driver.aud),
            }
            for driver in drivers.most
        ]
    )
