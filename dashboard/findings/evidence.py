"""What the page of trust says of the odds as tried on the observed years."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import pandas as pd

from dashboard.charts.past_years import PastYear
from model.evidence.calibration import Coverage, in_band
from model.evidence.counted import counted
from model.evidence.judge import PIT_BINS, AmountJudged, Evidence, MethodJudged, SeasonJudged
from model.evidence.reliability import ReliabilityBin, Scored
from model.evidence.stand import QUANTILES
from model.evidence.verdict import HEADLINE_BAND, UNLIKELY
from model.outlook.outlook import Outlook
from model.say.numbers import number, percent, percent_range
from model.say.outlook import REACHED_TITLES

if TYPE_CHECKING:
    from model.evidence.reliability import ReliabilityBin

AMOUNTS: Final = {"announced": ("Water announced", "ML a share"), "storage": ("The dam", "ML")}
SKILL_NOTE: Final = (
    "The error is the mean CRPS: how far the odds lay from what came, 0 where they were sure and "
    "right. The long-run record gives every year the same odds, whatever the dam holds. In "
    "brackets the 95 % range that so few years leave; where it reaches below 0 the odds may be no "
    "better."
)
SPREAD: Final = "Over the whole spread of amounts"
EVENNESS_NOTE: Final = (
    "If the odds are right, as many years fall in each tenth of them as in any other. This looks "
    "at the whole spread, from the driest to the wettest; the chance of none is its dry end alone, "
    "is judged by itself, and may be said too low or too high even where the whole is even."
)


NOT_TRIED: Final = "Not tried yet on the observed years: would these odds have held?"


def past_years(found: Evidence, method: str) -> list[PastYear]:
    """Return what was said of the first season of every past year, and what came."""
    told, walk = found.hindcast, found.hindcast.walk
    cases = next(each for each in told.methods if each.method == method)
    said = cases.quantiles["announced"][:, :, 0]
    wanted = [QUANTILES.index(frac) for frac in (0.1, 0.5, 0.9)]
    years = walk.water_years[:, 0].tolist()
    came = told.observed["announced"][:, 0].tolist()
    held = in_band(cases.pit["announced"][:, 0], HEADLINE_BAND).tolist()
    return [
        PastYear(year, (low, middle, high), each, within)
        for year, each, within, low, middle, high in zip(
            years, came, held, *said[wanted].tolist(), strict=True
        )
    ]


def past_years_finding(years: Sequence[PastYear]) -> str:
    """Describe in how many years what came lies within what was said."""
    within = sum(year.held for year in years)
    return f"What came lies within 80 times in 100 in {within} of {len(years)} years."


def past_years_frame(years: Sequence[PastYear]) -> pd.DataFrame:
    """Arrange what was said, and what came, ML a share."""
    return pd.DataFrame(
        {
            "Water year from July": str(year.year),
            **dict(
                zip(REACHED_TITLES.values(), (number(each, 2) for each in year.said), strict=True)
            ),
            "Came": number(year.came, 2),
        }
        for year in years
    )


def coverage_finding(of_seasons: Sequence[AmountJudged]) -> str:
    """Describe how often the band of 80 times in 100 held, and whether that is as promised."""
    bands = [
        next(band for band in each.bands if band.level == HEADLINE_BAND) for each in of_seasons
    ]
    shares = ", ".join(percent(band.share) for band in bands)
    said = f"The {percent(HEADLINE_BAND)} band held in {shares} of years, season by season"
    out = [at for at, band in enumerate(bands, start=1) if not band.as_promised]
    if not out:
        return f"{said}: luck explains the rest"
    return f"{said}: more than luck explains in season {' and '.join(map(str, out))}"


def coverage_frame(of_seasons: Sequence[AmountJudged]) -> pd.DataFrame:
    """Arrange how often each band held, with the share's range and the range of right odds."""
    return pd.DataFrame(
        {
            "Season": at,
            "Band": percent(band.level),
            "Years": band.cases,
            "Held": percent(band.share),
            "95 % range of that": percent_range(band.share_low, band.share_high),
            "Right odds would hold": percent_range(band.accepted_low, band.accepted_high),
            "As promised": "yes" if band.as_promised else "no",
            "Independent years they are worth": round(band.effective_cases),
        }
        for at, band in _bands(of_seasons)
    )


def _bands(of_seasons: Sequence[AmountJudged]) -> list[tuple[int, Coverage]]:
    return [(at, band) for at, each in enumerate(of_seasons, start=1) for band in each.bands]


def evenness_finding(of_seasons: Sequence[AmountJudged]) -> str:
    """Describe in which seasons what came fell evenly over the odds."""
    uneven = [
        str(at) for at, each in enumerate(of_seasons, start=1) if each.uniformity.p_value < UNLIKELY
    ]
    if not uneven:
        return f"{SPREAD}, what came fell evenly enough over the odds in every season"
    return f"{SPREAD}, what came fell unevenly over the odds in season {' and '.join(uneven)}"


def evenness_words(of_seasons: Sequence[AmountJudged]) -> list[str]:
    """Put each season's test of evenness in words."""
    return [
        f"Season {at}: {_verdict(each.uniformity.p_value)}. Right odds would look as uneven, "
        f"or more so, in {percent(each.uniformity.p_value)} of such records."
        for at, each in enumerate(of_seasons, start=1)
    ]


def _verdict(p_value: float) -> str:
    return "uneven beyond luck" if p_value < UNLIKELY else "as even as luck lets right odds be"


def evenness_frame(of_seasons: Sequence[AmountJudged]) -> pd.DataFrame:
    """Arrange the years in which what came fell in each tenth of the odds."""
    seasons = {
        f"Season {at}, years": each.pit_counts for at, each in enumerate(of_seasons, start=1)
    }
    return pd.DataFrame({"Tenth of the odds, the driest first": range(1, PIT_BINS + 1), **seasons})


def skill_frame(judged: MethodJudged, amount: str) -> pd.DataFrame:
    """Arrange the errors, season by season, beside the long-run record's."""
    name, unit = AMOUNTS[amount]
    digits = 0 if unit == "ML" else 2
    return pd.DataFrame(
        {
            f"{name}": f"Season {at}",
            "Years": f"{season.cases}",
            f"Error of the odds, {unit}": number(season.amounts[amount].crps.value, digits),
            f"Of the long-run record, {unit}": number(season.amounts[amount].long_run_crps, digits),
            "Error taken away": _taken(season.amounts[amount].skill),
        }
        for at, season in enumerate(judged.seasons, start=1)
    )


def _taken(skill: Scored) -> str:
    if not math.isfinite(skill.value):
        return "none to take"
    value, low, high = (
        f"{number(100.0 * part)} %" for part in (skill.value, skill.low, skill.high)
    )
    return f"{value} ({low} to {high})"


def reliability_finding(season: SeasonJudged, at: int) -> str:
    """Describe how often nothing was announced, and how often it was to be expected."""
    found = counted(season.events["none"].table, at)
    return (
        f"Season {at}: nothing announced in {found.happened} of {found.cases} years, against "
        f"{number(found.expected)} expected"
    )


def missed_chances(judged: MethodJudged, odds: Outlook) -> list[str]:
    """Describe where nothing came far more or less often than said, and if today is there."""
    return [
        _missed(at, row, season.chance_none.value)
        for at, (season, of_season) in enumerate(
            zip(odds.seasons, judged.seasons, strict=True), start=1
        )
        for row in of_season.events["none"].table
        if not row.share_low <= row.mean_chance <= row.share_high
    ]


def _missed(at: int, row: ReliabilityBin, today: float) -> str:
    group = percent_range(row.chance_from, row.chance_to)
    happened = percent_range(row.share_low, row.share_high)
    said = (
        f"Season {at}: where a chance of none of {group} was said, {percent(row.mean_chance)} "
        f"on average, nothing was announced in {percent(row.share)} of {row.cases} years (range "
        f"{happened}): said too {'low' if row.share > row.mean_chance else 'high'}."
    )
    there = row.chance_from <= today < row.chance_to
    return f"{said} Today's chance, {percent(today)}, lies there." if there else said


def reliability_frame(rows: Sequence[ReliabilityBin]) -> pd.DataFrame:
    """Arrange what was said against what happened."""
    return pd.DataFrame(
        {
            "Chance said, from": percent(row.chance_from),
            "to": percent(row.chance_to),
            "Years": row.cases,
            "Mean chance said": percent(row.mean_chance),
            "Happened": percent(row.share),
            "Range, 95 %": percent_range(row.share_low, row.share_high),
        }
        for row in rows
    )
