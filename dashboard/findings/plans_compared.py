"""What do two plans bring, side by side?"""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from dashboard.findings.water import none_chances
from model.decide.compare import SeasonOutcome, StrategyOutcome
from model.outlook.outlook import SeasonOutlook
from model.say import measures
from model.say.comparison import WORST_TENTH
from model.say.measures import MEASURES
from model.say.numbers import NO_NUMBER, chance

AMOUNTS = ("area_planted_ha", "area_finished_ha", "closing_cash_aud", "peak_overdraft_aud")
RUN_AMOUNTS = ("closing_cash_aud", "standing_aud", "past_limit_aud")
EVENTS = ("payment_missed", "past_overdraft_limit", "ran_short", "no_planting")


def water_rows(seasons: Sequence[SeasonOutlook]) -> dict[str, str]:
    """Return a plan's odds of water, in words by what they are of."""
    return {name: chance(estimate) for name, estimate in none_chances(seasons).items()}


def farm_rows(outcome: StrategyOutcome) -> dict[str, str]:
    """Return what a plan's strategy brings, in words by what it is."""
    rows = {"Strategy": outcome.strategy.name}
    for season in outcome.seasons:
        rows |= _season_rows(season)
    for name in RUN_AMOUNTS:
        amount, measure = outcome.whole_run[name], MEASURES[name]
        rows[f"{measure.title}, end of the run, mean"] = measure.said(amount.mean.value)
        rows[f"{measure.title}, {WORST_TENTH}"] = measure.said(amount.worst_tenth.value)
    return rows | {
        f"{measures.EVENTS[name].title}, some time in the run": chance(outcome.chances[name])
        for name in EVENTS
    }


def _season_rows(season: SeasonOutcome) -> dict[str, str]:
    """Return the amounts of a season, on average."""
    rows = {}
    for name in AMOUNTS:
        amount, measure = season.amounts[name], MEASURES[name]
        said = NO_NUMBER if amount is None else measure.said(amount.mean.value)
        rows[f"{measure.title}, {season.water_year}, mean"] = said
    return rows


def outcomes_frame(
    first: dict[str, str], second: dict[str, str], names: Sequence[str]
) -> pd.DataFrame:
    """Arrange what two plans bring side by side; what one has not is a dash.

    Parameters
    ----------
    first, second
        In words, by what it is.
    names
        Of the two plans.
    """
    rows = dict.fromkeys([*first, *second])
    return pd.DataFrame(
        [(row, first.get(row, NO_NUMBER), second.get(row, NO_NUMBER)) for row in rows],
        columns=["What", *names],
    )
