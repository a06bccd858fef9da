"""What is one stated run of seasons, such as one in which nothing comes?

A stated case takes from all sequences, month by month, the level reached with one chance: dam,
average account, allocation of high security. The water announced in a season is what is reached
with that chance by the season's end, spread over months as it is on average. Weather is the
sequences' mean, nothing spills, and the price of water follows the account. Every season at 1 in 10
is harsher than one run of seasons in ten.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from model.farm.river import RiverMonth, YearEnd
from model.farm.rules import FarmRules
from model.record.record import FloatArray
from model.valley.access import Access

LEAST: Final = 0.0


def stated_river(
    river: Sequence[RiverMonth], chances: Sequence[float], rules: FarmRules
) -> tuple[RiverMonth, ...]:
    """Make one sequence out of many.

    Parameters
    ----------
    river
        The months of many sequences.
    chances
        (season,) chance of non-exceedance: 0.5 is the middle, 0.1 what is reached in 9 years of 10.
    rules
        For the price of water.
    """
    announced = stated_announcements(river, chances)
    return tuple(
        _stated_month(month, chances[month.season], announced[month.t], rules) for month in river
    )


def stated_announcements(river: Sequence[RiverMonth], chances: Sequence[float]) -> FloatArray:
    """(month,) what is announced: each season's total at its chance, in the sequences' mean shape.

    At the chance 0, which is a season of no allocation, nothing is.
    """
    by_month = np.array([month.announced_ml_per_share for month in river])
    season_of = np.array([month.season for month in river])
    shape = by_month.mean(axis=1)
    announced = np.zeros(len(river))
    for season, chance in enumerate(chances):
        own = season_of == season
        if chance > LEAST and shape[own].sum() > 0.0:
            total = float(np.quantile(by_month[own].sum(axis=0), chance))
            announced[own] = shape[own] * (total / shape[own].sum())
    return announced


def _stated_month(
    month: RiverMonth, chance: float, announced_ml_per_share: float, rules: FarmRules
) -> RiverMonth:
    """Make one month of one sequence."""

    def level(values: FloatArray) -> FloatArray:
        return np.quantile(values, [chance])

    def mean(values: FloatArray) -> FloatArray:
        return np.array([float(np.mean(values))])

    def means(by_growing: tuple[FloatArray | None, ...]) -> tuple[FloatArray | None, ...]:
        return tuple(None if values is None else mean(values) for values in by_growing)

    return replace(
        month,
        storage_frac=level(month.storage_frac),
        average_account_ml_per_share=level(month.average_account_ml_per_share),
        announced_to_date_ml_per_share=level(month.announced_to_date_ml_per_share),
        account_loss_ahead_frac=mean(month.account_loss_ahead_frac),
        announced_ml_per_share=np.array([announced_ml_per_share]),
        high_security_allocation_frac=level(month.high_security_allocation_frac),
        access=Access.whole(),
        high_security_delivered_frac=level(month.high_security_delivered_frac),
        general_security_delivered_frac=level(month.general_security_delivered_frac),
        uncontrolled_ml=level(month.uncontrolled_ml),
        evaporation_share_frac=mean(month.evaporation_share_frac),
        spill=None,
        shared=None,
        high_security_ended_frac=level(month.high_security_ended_frac),
        rain_mm=mean(month.rain_mm),
        eto_mm=mean(month.eto_mm),
        soil_at_sowing_mm=means(month.soil_at_sowing_mm),
        rain_yield_frac=means(month.rain_yield_frac),
        rain_alone=(None,) * len(rules.growings),
        storage_gain_mm=mean(month.storage_gain_mm),
        price_aud_per_ml=np.quantile(month.price_aud_per_ml, [1.0 - chance]),  # dear when dry
        year_met=(),
        year_end=None if month.year_end is None else _stated_end(month.year_end, chance),
    )


def _stated_end(end: YearEnd, chance: float) -> YearEnd:
    """Make the end of a water year of one sequence."""
    dear = np.quantile(end.floor_aud_per_share, [1.0 - chance])
    return YearEnd(np.quantile(end.dam_frac, [chance]), dear)
