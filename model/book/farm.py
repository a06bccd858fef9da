"""What does one farm bring to a book of many?

It is played as ever, under each of its strategies, through the months of a valley that was run for
all farms on it. What every season of every sequence brought is reduced at once: to a row for each
strategy, and to what can be added up over farms.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import numpy as np

from model.book.drawn import PlayedValley
from model.decide.amounts import Amount, amount_of
from model.decide.compare import Comparison, StrategyOutcome, comparison_of, run_amounts
from model.decide.strategy import strategies_of
from model.farm.measures import EVENTS, measures_of
from model.farm.river import river_of_legs
from model.farm.rules import FarmRules
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting, farm_setting_on
from model.outlook.ahead import Drawn
from model.outlook.chances import Estimate
from model.plan.plan import Plan
from model.record.record import FloatArray

CHANCES: Final = ("no_planting", "payment_missed", "past_overdraft_limit", "cover_below_1")
"""Of a farm, at some time in the run."""

CHANCES_BY_SEASON: Final = ("payment_missed", "past_overdraft_limit")

AMOUNTS: Final = ("standing_aud", "margin_aud", "peak_overdraft_aud")
"""Of a farm, over the whole run; beside them what is owed beyond the terms."""

OWED: Final = "owed_beyond_terms_aud"

Row = Mapping[str, str | float | None]


@dataclass(frozen=True, slots=True)
class FarmPlayed:
    """A farm on its valley: a row for each strategy, and what can be added up over farms."""

    rows: tuple[Row, ...]  # by strategy
    sums: Mapping[str, FloatArray]  # (strategy, season, different sequence); a run's: one season


def owed_beyond_terms_aud(r: FarmResults, rules: FarmRules) -> FloatArray:
    """Return what lenders are owed beyond what was agreed, as a season ends.

    Arrears, and what of the overdraft stands past its limit; (strategy, sequence, season).
    """
    past_aud = -r["closing_cash_aud"] - rules.cash.overdraft_limit_aud
    owed: FloatArray = r["arrears_aud"] + np.maximum(0.0, past_aud)
    return owed


def play_farm(valley: PlayedValley, plan: Plan, file: str) -> FarmPlayed:
    """Play a farm under its strategies on a valley that was run before.

    Parameters
    ----------
    valley
        That the plan stands on.
    plan, file
        The farm's; where the plan lies in its folder.

    Raises
    ------
    PlanError
        The plan has no farm, or its parts do not fit together.
    """
    setting = replace(valley.setting, plan=plan)
    farm = farm_setting_on(setting, valley.training, strategies_of(plan))
    found = results_on(valley, farm)
    owed_aud = owed_beyond_terms_aud(found, farm.rules)
    compared = comparison_of(farm, found, valley.drawn)
    return FarmPlayed(
        rows=tuple(
            row_of(compared, at, owed_aud[at, :, -1], valley.drawn, file)
            for at in range(len(compared.outcomes))
        ),
        sums=_sums(found, farm.rules, owed_aud),
    )


def results_on(valley: PlayedValley, farm: FarmSetting) -> FarmResults:
    """Return what the seasons of the different sequences bring a farm."""
    parts = [
        farm.results(list(river_of_legs(farm.valley, farm.farm, farm.rules, legs, months)))
        for legs, months in zip(valley.drawn.batches, valley.months, strict=True)
    ]
    return measures_of(FarmResults.joined(parts), farm.rules, farm.valley.calendar)


def _sums(found: FarmResults, rules: FarmRules, owed_aud: FloatArray) -> dict[str, FloatArray]:
    """Arrange what can be added up over farms, (strategy, season, different sequence)."""
    whole = run_amounts(found)
    by_season = {
        "farms_missing": EVENTS["payment_missed"](found, rules),
        "farms_past_limit": EVENTS["past_overdraft_limit"](found, rules),
        OWED: owed_aud,
    }
    return {
        name: np.moveaxis(values.astype(np.float64), -1, 1) for name, values in by_season.items()
    } | {name: whole[name][:, None] for name in ("standing_aud", "margin_aud")}


def row_of(
    compared: Comparison, at: int, owed_aud: FloatArray, drawn: Drawn, file: str
) -> dict[str, str | float | None]:
    """Return a farm's row under one of its strategies.

    Parameters
    ----------
    compared
        The farm's strategies side by side.
    at
        Which of them.
    owed_aud
        (different sequence,) beyond the terms as the run ends.
    drawn
        What may come.
    file
        Where the plan lies in its folder.
    """
    outcome, setting = compared.outcomes[at], compared.setting
    owed = amount_of(OWED, lambda: (owed_aud[drawn.drawn], owed_aud[drawn.resampled]), drawn.how)
    amounts = {name: outcome.whole_run[name] for name in AMOUNTS} | {OWED: owed}
    row: dict[str, str | float | None] = {
        "file": file,
        "farm": setting.farm.name,
        "valley": setting.valley.plan.valley.name,
        "strategy": outcome.strategy.name,
        "strategy_number": at + 1,
        "sequences": compared.count,
        "general_security_shares_ml": setting.farm.licence.general_security_shares_ml,
        "loan_payments_due": outcome.payments_due,
    }
    row |= _chances(outcome)
    for name, amount in amounts.items():
        row |= _amount(name, amount)
    return row


def _chances(outcome: StrategyOutcome) -> dict[str, float | None]:
    """Return the chances of a row, with the range that the record supports."""
    found: dict[str, float | None] = {}
    for name in CHANCES:
        found |= _with_range(name, outcome.chances[name])
    for name in CHANCES_BY_SEASON:
        for number, season in enumerate(outcome.seasons, start=1):
            found[f"{name}_season_{number}"] = season.chances[name].value
    return found


def _amount(name: str, amount: Amount | None) -> dict[str, float | None]:
    """Return mean and worst tenth of an amount, with the range that the record supports."""
    assert amount is not None  # every sequence has a number
    amount = replace(amount, known=cache(amount.known))  # both are of the same numbers
    mean = _with_range(f"{name}_mean", amount.mean)
    return mean | _with_range(f"{name}_worst_tenth", amount.worst_tenth)


def _with_range(name: str, estimate: Estimate) -> dict[str, float | None]:
    """Return a value, and the range that the record supports beside it."""
    return {
        name: estimate.value + 0.0,  # no minus before a 0
        f"{name}_record_low": estimate.record_low,
        f"{name}_record_high": estimate.record_high,
    }
