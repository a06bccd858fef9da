"""What does a case bring, with the farm played through every sequence at hand?

A lender tests a plan by changing it. Each case is the farm changed in what it names, played through
the same sequences as the odds, so that the plan as it stands is one of the cases and its figures
are those of every other page.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.farm.expected import Expectation
from model.farm.measures import EVENTS, measures_of
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.run import FarmResults, gather_farm, run_farm
from model.farm.run_cover import run_cover_of
from model.farm.state import FarmState, Settings
from model.outlook.lazy import LazyResults
from model.record.record import FloatArray
from model.sequences.draw import Calendar

MIDDLE: Final = 0.5
NINE_OF_TEN: Final = 0.1
BY_SEASON: Final = (
    "area_planted_ha",
    "announced_ml_per_share",
    "water_bought_ml",
    "water_sold_ml",
    "term_debt_cover",
    "receivable_aud",
)
"""Of these a case keeps the middle, season by season."""


@dataclass(frozen=True, slots=True)
class CaseResult:
    """What a case brings, over the sequences."""

    run_cover: float  # after drawings and tax, on average; not a number: nothing is due
    run_cover_after_machinery: float
    cover_below_1_frac: float  # part of the sequences; not a number: nothing is due
    lowest_cash_aud: float  # of the run, in the middle sequence
    lowest_cash_9_of_10_aud: float  # that the bank stays above 90 times in 100
    lowest_cash_month: int  # month number in which it is lowest most often
    closing_cash_aud: float  # in the middle sequence
    arrears_aud: float  # at the end, on average
    past_limit_frac: float  # part of the sequences past the overdraft limit at some time
    payment_missed_frac: float  # likewise with a loan payment missed
    income_aud: float  # over the run, on average
    costs_aud: float
    planted_ha: float
    middles: Mapping[str, tuple[float, ...]]  # of BY_SEASON; not a number where there is none

    def by_season(self, name: str) -> list[float]:
        """Return a result's middle, season by season."""
        return list(self.middles[name])


def case_of(found: FarmResults, rules: FarmRules, calendar: Calendar) -> CaseResult:
    """Return what a case brings.

    Parameters
    ----------
    found
        What every season brought, (1, sequence, season).
    rules, calendar
        Of the farm and the run.
    """
    debts, lowest_aud = run_cover_of(found, rules, calendar), found["lowest_cash_aud"][0]
    cover, lowest_run_aud = debts.cover[0], lowest_aud.min(axis=-1)
    deepest = lowest_aud.argmin(axis=-1)
    months = found["lowest_cash_month"][0][np.arange(deepest.size), deepest].astype(np.int64)
    nothing_due = bool(np.isnan(cover).all())
    return CaseResult(
        run_cover=debts.on_average(debts.available_aud),
        run_cover_after_machinery=debts.on_average(debts.after_machinery_aud),
        cover_below_1_frac=np.nan if nothing_due else float((cover < 1.0).mean()),
        lowest_cash_aud=float(np.quantile(lowest_run_aud, MIDDLE)),
        lowest_cash_9_of_10_aud=float(np.quantile(lowest_run_aud, NINE_OF_TEN)),
        lowest_cash_month=int(np.bincount(months).argmax()),
        closing_cash_aud=float(np.quantile(found["closing_cash_aud"][0, :, -1], MIDDLE)),
        arrears_aud=float(found["arrears_aud"][0, :, -1].mean()),
        past_limit_frac=_chance(found, rules, "past_overdraft_limit"),
        payment_missed_frac=_chance(found, rules, "payment_missed"),
        income_aud=_mean_of_runs(found["income_aud"]),
        costs_aud=_mean_of_runs(found["costs_aud"]),
        planted_ha=_mean_of_runs(found["area_planted_ha"]),
        middles={name: _middles(found[name][0]) for name in BY_SEASON},
    )


def _mean_of_runs(by_season: FloatArray) -> float:
    """Return a sum over the run, on average."""
    return float(np.nan_to_num(by_season[0]).sum(axis=-1).mean())


def _chance(found: FarmResults, rules: FarmRules, event: str) -> float:
    """Return in what part of the sequences an event happens at some time in the run."""
    return float(EVENTS[event](found, rules)[0].any(axis=-1).mean())


def _middles(values: FloatArray) -> tuple[float, ...]:
    """Return the middle of each season's; not a number where no sequence has one."""
    known = [season[~np.isnan(season)] for season in values.T]
    return tuple(float(np.quantile(each, MIDDLE)) if each.size else np.nan for each in known)


def play_case(
    river: Sequence[RiverMonth],
    opening: FarmState,
    settings: Settings,
    expectation: Expectation,
    rules: FarmRules,
    calendar: Calendar,
) -> FarmResults:
    """Play the farm through a case.

    Parameters
    ----------
    river, opening, settings, expectation
        The months of the sequences, the farm before them, one strategy and what it may expect.
    rules, calendar
        Of the farm and the run.

    Returns
    -------
    FarmResults
        What every season brought, (1, sequence, season); the names of `measures`.
    """
    months = run_farm(opening, settings, river, expectation, rules)
    return measures_of(gather_farm(opening, months, calendar, rules), rules, calendar)


def scaled_water(
    river: Sequence[RiverMonth], expectation: Expectation, factor: float
) -> tuple[tuple[RiverMonth, ...], Expectation]:
    """Return a case in which so much of the announcements comes, and is expected."""
    months = tuple(
        replace(
            month,
            announced_ml_per_share=month.announced_ml_per_share * factor,
            shared=None if month.shared is None else month.shared.scaled(factor),
        )
        for month in river
    )
    fitted = expectation.lines
    return months, replace(expectation, lines=LazyResults(fitted, lambda of: fitted[of] * factor))
