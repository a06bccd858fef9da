"""What water is there, by the season?"""

from __future__ import annotations

from typing import Any

from model.brief.layout import Block, note, page, table, text
from model.decide.findings import Findings
from model.outlook.outlook import PointOutlook, SeasonOutlook
from model.say.method import short_in_words
from model.say.numbers import chance, number, two_figures, with_range
from model.say.outlook import (
    REACHED_TITLES,
    nothing_announced,
    nothing_in_a_row,
    water_headline,
)
from model.water_year import month_name


def water_page(found: Findings) -> dict[str, Any]:
    """Return the odds of water: what is usable at planting and at the finish first."""
    seasons = found.odds.seasons
    blocks = [
        water_table(found),
        nothing_table(found),
        note(
            "Ranges in brackets are 95 %: what the record supports. Its years were drawn again in "
            f"runs, {found.odds.record_error.resamples} times, and everything was run again; where "
            "that leaves nothing open, the range is that of the number of sequences. A share is a "
            "licence for 1 ML in a year of full allocation."
        ),
        *map(text, short_in_words(found.odds.record_error.widening)),
    ]
    shares_ml = found.setting.farm.licence.general_security_shares_ml
    return page("2  Water", water_headline(seasons[0], shares_ml), blocks)


def water_table(found: Findings) -> Block:
    """Return the odds of water as a table."""
    rows = []
    for season in found.odds.seasons:
        amounts = [
            (f"usable {what}, {_short(point.month)}", point.amounts["usable_ml_per_share"], _two)
            for what, point in usable_points(season)
        ]
        announced = season.amounts["announced_to_date_ml_per_share"]
        amounts.append(("announced by June", announced, _two))
        dam = season.amounts["storage_end_ml"]
        amounts.append(("dam at the end of June, ML", dam, two_figures))
        rows += [
            [
                season.water_year,
                what,
                *(with_range(amount.reached_in(years), form) for years in REACHED_TITLES),
            ]
            for what, amount, form in amounts
        ]
    return table(
        "Water reached or passed so many times in 100, ML a share; in brackets the range that the "
        "record supports.",
        ["Season", "Water", *REACHED_TITLES.values()],
        rows,
        widths=[0.85, 2.7, 1.9, 2.1, 2.3],
        text_columns=(0, 1),
    )


def usable_points(season: SeasonOutlook) -> list[tuple[str, PointOutlook]]:
    """Return when in a season usable water grows a crop: at planting, and at the finish."""
    points = (("at planting", season.planting), ("to finish with", season.finish))
    return [(what, point) for what, point in points if point is not None]


def _two(value: float) -> str:
    return number(value, 2)


def _short(month: int) -> str:
    """Return a month and its year in few letters."""
    name, year = month_name(month).split()
    return f"{name[:3]} {year}"


def nothing_table(found: Findings) -> Block:
    """Return the chances of nothing as a table."""
    seasons = found.odds.seasons
    rows = [[nothing_announced(season), chance(season.chance_none)] for season in seasons]
    rows += [
        [nothing_in_a_row(many), chance(season.chance_none_so_far)]
        for many, season in enumerate(seasons[1:], start=2)
    ]
    return table(
        "The chance of nothing.",
        ["What", "Chance"],
        rows,
        widths=[1.2, 2],
        text_columns=(0, 1),
    )
