"""What the page of money says: findings, and the tables behind them, of one strategy."""

from __future__ import annotations

from typing import Final, NamedTuple

import pandas as pd

from dashboard.findings import water_ahead, wording
from dashboard.findings.strategies import EVENT_TITLES, reached
from dashboard.findings.wording import aud, in_ten
from model.decide.amounts import Amount
from model.decide.cash_months import CashMonths
from model.decide.compare import Comparison, StrategyOutcome
from model.farm.measures import NO_LAND_HA
from model.outlook.ahead import BAND_FRACS
from model.outlook.chances import Estimate
from model.outlook.outlook import NOTHING_ML_PER_SHARE
from model.say import measures
from model.say.bank import of_payments
from model.water_year import month_name, months_from

IN_THE_RUN: Final = "Some time in the run"
OF_COVER_EVENTS: Final = ("cover_below_1", "cover_below_1_25")
EVENTS: Final = {
    name: EVENT_TITLES.get(name, "Debt-service cover below 1.25")
    for name in ("past_overdraft_limit", "payment_missed", *OF_COVER_EVENTS)
}


class Measure(NamedTuple):
    """How a measure of a season is shown."""

    title: str
    unit: str
    factor: float = 1.0
    formula: str = ""  # its name among the brief's formulas
    by_mean: bool = False  # rare: its middle would be 0


MEASURES: Final = {
    "cover": Measure("Debt-service cover", "times what is due", formula="Cover"),
    "interest_cover": Measure("Interest cover", "times the interest", formula="Interest cover"),
    "term_debt_cover": Measure("Term-debt cover", "times what is due", formula="Term-debt cover"),
    "loan_to_value_frac": Measure("Loan to value", "%", 100.0, "Loan to value"),
    "equity_frac": Measure("Equity", "% of assets", 100.0, "Equity"),
    "debt_aud": Measure("Debt in June", "thousand AUD", 1e-3),
    "arrears_aud": Measure("Arrears in June", "thousand AUD", 1e-3, by_mean=True),
    "receivable_aud": Measure("Crop money still to come in June", "thousand AUD", 1e-3),
    "closing_cash_aud": Measure("Bank in June", "thousand AUD", 1e-3),
    "peak_overdraft_aud": Measure("Deepest overdraft of the season", "thousand AUD", 1e-3),
}
"""The measures of a season; those of debt first, as on paper."""
OF_COVER: Final = ("cover", "interest_cover", "term_debt_cover")
"""Measures that are left away where nothing is due to a lender."""
OF_DEBT: Final = ("loan_to_value_frac", "debt_aud", "arrears_aud")
"""Measures that are left away too where nothing is owed."""
COVER_LINES: Final = (1.0, 1.25)
"""Levels of cover that are drawn; chances to be below them are the comparison's."""


def notes(found: Comparison, outcome: StrategyOutcome) -> list[str]:
    """Say what a reader must know before the figures: nothing announced, no crop, no debt."""
    said = []
    if found.count == 1:
        said.append("One possible run only: no chance can be read from it. Draw more of them.")
    if _never_more(outcome, "announced_ml_per_share", NOTHING_ML_PER_SHARE):
        said.append("Nothing is announced in 9 runs of 10: the farm lives on what it holds today.")
    if _never_more(outcome, "area_planted_ha", NO_LAND_HA):
        said.append("No cotton is planted in 9 runs of 10: the money is that of the other land.")
    if outcome.has_no_debt:
        said.append(
            "No debt: there is no loan, and the bank is never overdrawn. Nothing is due to a "
            "lender, and covers are left away."
        )
    elif outcome.nothing_due:
        said.append("Nothing is due to a lender in these seasons, and covers are left away.")
    elif any(_part_due(season.amounts["cover"]) < 1.0 for season in outcome.seasons):
        said.append(
            "In some runs nothing is due to a lender: their cover is blank, and they count as not "
            "below any level. In others so little is due that cover is very large, up or down."
        )
    return said


def _never_more(outcome: StrategyOutcome, name: str, least: float) -> bool:
    """Tell whether 9 runs of 10 never have more than next to nothing, in any season."""
    amounts = [season.amounts[name] for season in outcome.seasons]
    return all(each is None or each.spread.reached_in(1).value <= least for each in amounts)


def _part_due(amount: Amount | None) -> float:
    """Give the part of the runs in which there is such an amount."""
    return 0.0 if amount is None else amount.sequences_frac


def run_chances(outcome: StrategyOutcome) -> dict[str, Estimate]:
    """List what may go wrong in any month of the run."""
    return {
        "Overdraft past its limit in any month of the run": outcome.chances["past_overdraft_limit"],
        f"A loan payment missed, {of_payments(outcome.payments_due)}": outcome.chances[
            "payment_missed"
        ],
    }


def cover_chances(outcome: StrategyOutcome) -> list[str]:
    """Say how likely cover is below the levels a lender looks at; none where nothing is due."""
    if outcome.nothing_due:
        return []
    return [
        f"**{EVENTS[name]}**: "
        + "; ".join(
            f"{season.water_year} {wording.chance_words(season.chances[name])}"
            for season in outcome.seasons
        )
        + "."
        for name in OF_COVER_EVENTS
    ]


def season_chances(outcome: StrategyOutcome) -> dict[str, dict[str, Estimate]]:
    """Gather what may go wrong, by event and season, and in the whole run."""
    return {
        title: {season.water_year: season.chances[name] for season in outcome.seasons}
        | {IN_THE_RUN: outcome.chances[name]}
        for name, title in EVENTS.items()
        if name not in OF_COVER_EVENTS or not outcome.nothing_due
    }


def season_chances_finding(outcome: StrategyOutcome) -> str:
    """Say how likely the overdraft is to pass its limit, season by season."""
    said = "; ".join(
        f"{season.water_year} {in_ten(season.chances['past_overdraft_limit'].value)}"
        for season in outcome.seasons
    )
    return f"{EVENTS['past_overdraft_limit']}, in some month of {said}"


def season_chances_frame(outcome: StrategyOutcome) -> pd.DataFrame:
    """Lay out what may go wrong, with both ranges."""
    return pd.DataFrame(
        {
            "Chance of": event,
            "When": when,
            **wording.chance_cells(estimate),
        }
        for event, by_season in season_chances(outcome).items()
        for when, estimate in by_season.items()
    )


def bank_finding(cash: CashMonths, outcome: StrategyOutcome) -> str:
    """Say how likely the limit is passed in any month, and when the bank is lowest."""
    month, frac = cash.usual_lowest
    past = in_ten(outcome.chances["past_overdraft_limit"].value)
    return (
        f"Overdraft past its limit in some month of the run: {past}. The bank is lowest most often "
        f"in {month_name(month)} ({in_ten(frac)})"
    )


def one_month_finding(cash: CashMonths, outcome: StrategyOutcome) -> str:
    """Say the bank where the run has one month: no chart is drawn of single points."""
    low, middle, high = (aud(cash.bands_aud[BAND_FRACS.index(frac), 0]) for frac in (0.1, 0.5, 0.9))
    past = in_ten(outcome.chances["past_overdraft_limit"].value)
    stands = f"above {low} in 9 runs of 10, {middle} in 5, {high} in 1"
    if low == high:
        stands = f"at {middle} in 8 runs of 10 or more"
    return (
        f"The run has one month, {month_name(cash.first_month)}. At its end the bank stands "
        f"{stands}. Overdraft past its limit: {past}"
    )


def bank_frame(cash: CashMonths) -> pd.DataFrame:
    """Lay out the bank by month, AUD, and what part of the runs is past the limit in it."""
    months = months_from(cash.first_month, cash.past_limit_frac.size)
    return water_ahead.bands_frame(months, cash.bands_aud.round()).assign(
        **{
            "Past the limit at this month's end, % of runs": (100 * cash.past_limit_frac).round(1),
            "Lowest of the run in this month, % of runs": (100 * cash.lowest_frac).round(1),
        }
    )


def measures_of(outcome: StrategyOutcome) -> dict[str, Measure]:
    """Give the measures that say something: none of cover or debt where there is none."""
    due, owed = not outcome.nothing_due, not outcome.has_no_debt
    left_away = {*(() if due else OF_COVER), *(() if owed else OF_DEBT)}
    return {name: each for name, each in MEASURES.items() if name not in left_away}


def measure_by_year(outcome: StrategyOutcome, name: str) -> dict[str, tuple[float, float, float]]:
    """Give a measure's 9, 5 and 1 years of 10 by season, in its unit."""
    factor = MEASURES[name].factor
    return {
        season.water_year: tuple(factor * value for value in reached(amount))  # type: ignore[misc]
        for season in outcome.seasons
        if (amount := season.amounts[name]) is not None
    }


def measure_finding(outcome: StrategyOutcome, name: str) -> str:
    """Say a measure season by season: its middle, or its mean where it is rare."""
    measure = MEASURES[name]
    said = "; ".join(
        f"{season.water_year} {wording.tidy(measure.factor * _usual(amount, measure).value)}"
        for season in outcome.seasons
        if (amount := season.amounts[name]) is not None
    )
    if not said:
        return f"{measure.title}: blank, as nothing is due"
    which = "mean" if measure.by_mean else "middle"
    return f"{measure.title}, {which} of the runs, {measure.unit}: {said}"


def _usual(amount: Amount, measure: Measure) -> Estimate:
    """Give what is said of a measure in one number."""
    return amount.mean if measure.by_mean else amount.spread.reached_in(5)


def measure_summary(outcome: StrategyOutcome) -> pd.DataFrame:
    """Lay out every measure by season: its middle or its mean, with the record's range."""
    return pd.DataFrame(
        {
            "Middle of the runs": f"{measure.title}, {'mean, ' * measure.by_mean}{measure.unit}",
            **{
                season.water_year: "blank"
                if (amount := season.amounts[name]) is None
                else wording.with_range(_usual(amount, measure), measure.factor)
                for season in outcome.seasons
            },
        }
        for name, measure in measures_of(outcome).items()
    )


def measure_frame(outcome: StrategyOutcome) -> pd.DataFrame:
    """Lay out every measure by season in 9, 5 and 1 years of 10, each with the record's range."""
    return pd.DataFrame(
        {
            "What": measure.title,
            "Unit": measure.unit,
            "Water year": season.water_year,
            **{
                heading: wording.with_range(amount.spread.reached_in(years), measure.factor)
                for years, heading in wording.REACHED_TITLES.items()
            },
            "Middle, range of the draws": _draws(amount.spread.reached_in(5), measure.factor),
            "Mean": wording.with_range(amount.mean, measure.factor),
            "Worst tenth": wording.with_range(amount.worst_tenth, measure.factor),
            "% of runs that have it": round(100 * amount.sequences_frac, 1),
        }
        for name, measure in measures_of(outcome).items()
        for season in outcome.seasons
        if (amount := season.amounts[name]) is not None
    )


def _draws(estimate: Estimate, factor: float) -> str:
    low, high = estimate.draws_low * factor, estimate.draws_high * factor
    return f"{wording.tidy(low)} to {wording.tidy(high)}"


def formulas(outcome: StrategyOutcome) -> str:
    """Return the formulas of the measures on the page."""
    wanted = [measures.MEASURES[name] for name in measures_of(outcome)]
    return " ".join(f"**{one.title}** = {one.formula}." for one in wanted if one.formula)
