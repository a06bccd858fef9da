"""What does a farm earn in a season from the water it begins with?

The middle strategy is played through some training sequences; from each 1 July in them its farm
goes on for a year with an empty account and with ever fuller ones. See `end_value` for what is made
of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from model.farm.end_value import SeasonsTried, WaterWorth, fit_worth
from model.farm.expected import Expectation
from model.farm.money_rules import cash_rules_of
from model.farm.river import RiverMonth, YearEnd, river_months
from model.farm.rules import FarmRules, WaterRules
from model.farm.run import run_farm
from model.farm.standing import dry_standing_aud, left_ml_per_share
from model.farm.state import FarmState, Settings, opening_farm
from model.farm.training import Training
from model.plan.farm import Farm
from model.plan.plan import Plan
from model.record.record import FloatArray
from model.water_year import MONTHS_IN_YEAR

LEVELS: Final = 7
"""Accounts from which the farm goes on: empty, and six steps to the most that may stand."""

MOST_ML_PER_SHARE: Final = 2.0
"""As far as accounts are tried, whatever the rules allow."""


def worth_of_water(
    training: Training,
    plan: Plan,
    farm: Farm,
    rules: FarmRules,
    middle: Settings,
    expectation: Expectation,
) -> WaterWorth:
    """Fit the farm's curve of what water is worth that stands after 1 July.

    Parameters
    ----------
    training
        The valley through its training sequences.
    plan, farm, rules
        The farm, and the plan it stands in.
    middle, expectation
        The strategy played, and what it expects.
    """
    valley, sequences = training.valley_of(plan), training.worth_sequences
    rules = replace(rules, cash=cash_rules_of(farm, valley.calendar))
    river = list(river_months(valley, farm, rules, sequences, training.worth_months))
    julys = _julys(river)
    opening = opening_farm(farm.opening, plan.opening, rules, 1, len(sequences))
    months = run_farm(opening, middle, river[: julys[-1]], expectation, rules)
    states = {month.river.t + 1: month.end for month in months if month.river.t + 1 in julys}
    levels = _levels(rules.water)
    parts = [
        _tried(states[t], river[t - 1 : t + MONTHS_IN_YEAR], levels, middle, expectation, rules)
        for t in julys
    ]
    return fit_worth(_joined(levels, parts))


def _julys(river: Sequence[RiverMonth]) -> list[int]:
    """Return the months of the run that begin a whole year after its first."""
    whole = range(1, len(river) - MONTHS_IN_YEAR + 1)
    return [t for t in whole if river[t].k == 0]


def _levels(water: WaterRules) -> FloatArray:
    """(level,) accounts to try, as they stand on 1 July.

    Where nothing may be carried the curve still values what the farm storage holds.
    """
    carried = water.carryover_limit_ml_per_share * (1.0 - water.carryover_loss_frac)
    limits = [limit for limit in (carried, water.account_limit_ml_per_share) if limit > 0.0]
    return np.linspace(0.0, min([*limits, MOST_ML_PER_SHARE]), LEVELS)


def _carrying_all(rules: FarmRules) -> FarmRules:
    """Return the rules of a farm whose account goes over 1 July whole."""
    water = replace(rules.water, carryover_limit_ml_per_share=np.inf, carryover_loss_frac=0.0)
    return replace(rules, water=water)


def _tried(
    state: FarmState,
    river: Sequence[RiverMonth],
    levels: FloatArray,
    middle: Settings,
    expectation: Expectation,
    rules: FarmRules,
) -> SeasonsTried:
    """Take the farm through a year from each account; `river` begins with the June before it."""
    june, *year = river
    account = np.broadcast_to(levels[:, None], (len(levels), state.bank_aud.shape[1]))
    begun = replace(
        state.under(np.zeros(len(levels), dtype=np.intp)),
        account_ml_per_share=account,
        carried_ml_per_share=account,
    )
    free, ways = _carrying_all(rules), middle.repeated(len(levels))
    for month in run_farm(begun, ways, year, expectation, free):
        end, last = month.end, month.river
    starts, ends = _year_end(june), _year_end(last)
    return SeasonsTried(
        account_ml_per_share=levels,
        dam_frac=starts.dam_frac,
        stands_aud=dry_standing_aud(end, last, rules),
        left_ml_per_share=left_ml_per_share(end, rules.water),
        end_dam_frac=ends.dam_frac,
        end_floor_aud_per_share=ends.floor_aud_per_share,
    )


def _year_end(month: RiverMonth) -> YearEnd:
    """Return how a June leaves the valley."""
    assert month.year_end is not None  # it is a June
    return month.year_end


def _joined(levels: FloatArray, parts: Sequence[SeasonsTried]) -> SeasonsTried:
    """Join the years that were tried."""

    def along(name: str) -> FloatArray:
        return np.concatenate([getattr(part, name) for part in parts], axis=-1)

    return replace(
        parts[0],
        **{
            name: along(name)
            for name in (
                "dam_frac",
                "stands_aud",
                "left_ml_per_share",
                "end_dam_frac",
                "end_floor_aud_per_share",
            )
        },
    )
