"""What the page of money says: findings, and the tables behind them, of one strategy."""

from __future__ import annotations

from typing import Final

import pandas as pd

from dashboard.findings import water
from dashboard.findings.ways_compared import reached
from model.decide.amounts import Amount
from model.decide.cash_months import CashMonths
from model.decide.compare import Comparison, StrategyOutcome
from model.decide.desk import LimitAndBales
from model.farm.measures import NO_LAND_HA
from model.outlook.ahead import BAND_FRACS
from model.outlook.chances import Estimate
from model.outlook.outlook import NOTHING_ML_PER_SHARE
from model.say.bank import of_payments
from model.say.cells import chance_cells, reached_cells
from model.say.measures import MEASURES, Measure, shown, title_of
from model.say.numbers import chance, money, of_100, times_in_100, with_range
from model.water_year import JULY, MONTHS_IN_YEAR, month_name, months_from

IN_THE_RUN: Final = "Some time in the run"
OF_COVER_EVENTS: Final = ("cover_below_1", "cover_below_1_25")
EVENTS_SHOWN: Final = ("past_overdraft_limit", "payment_missed", *OF_COVER_EVENTS)
MEASURES_SHOWN: Final = (
    "cover",
    "interest_cover",
    "term_debt_cover",
    "loan_to_value_frac",
    "equity_frac",
    "debt_aud",
    "arrears_aud",
    "receivable_aud",
    "closing_cash_aud",
    "peak_overdraft_aud",
)
"""The measures of a season; those of debt first, as on paper."""

COVER_LINES: Final = (1.0, 1.25)
"""Levels of cover that are drawn; chances to be below them are the comparison's."""


def notes(found: Comparison, outcome: StrategyOutcome) -> list[str]:
    """Describe what a reader must know before the figures: nothing announced, no crop, no debt."""
    said = []
    if found.count == 1:
        said.append("One possible run only: no chance can be read from it. Draw more of them.")
    if _never_more(outcome, "announced_ml_per_share", NOTHING_ML_PER_SHARE):
        said.append("Nothing is announced 90 times in 100: the farm lives on what it holds today.")
    if _never_more(outcome, "area_planted_ha", NO_LAND_HA):
        said.append("No cotton is planted 90 times in 100: the money is that of the other land.")
    if outcome.has_no_debt:
        said.append(
            "No debt: there is no loan, and the bank is never overdrawn. Nothing is due to a "
            "lender, and cover ratios are left out."
        )
    elif outcome.nothing_due:
        said.append("Nothing is due to a lender in these seasons, and cover ratios are left out.")
    elif any(_part_due(season.amounts["cover"]) < 1.0 for season in outcome.seasons):
        said.append(
            "In some sequences nothing is due to a lender: their cover is blank, and they count as "
            "not below any level. In others so little is due that cover is very large, up or down."
        )
    return said


def _never_more(outcome: StrategyOutcome, name: str, least: float) -> bool:
    """Return whether 9 runs of 10 never have more than next to nothing, in any season."""
    amounts = [season.amounts[name] for season in outcome.seasons]
    return all(each is None or each.spread.reached_in(1).value <= least for each in amounts)


def _part_due(amount: Amount | None) -> float:
    """Return the part of the runs in which there is such an amount."""
    return 0.0 if amount is None else amount.sequences_frac


def run_chances(outcome: StrategyOutcome) -> dict[str, Estimate]:
    """List what may go wrong in any month of the run."""
    return {
        "Overdraft past its limit in any month of the run": outcome.chances["past_overdraft_limit"],
        f"{title_of('payment_missed')}, {of_payments(outcome.payments_due)}": outcome.chances[
            "payment_missed"
        ],
    }


def cover_chances(outcome: StrategyOutcome) -> list[str]:
    """Describe how likely cover is below the levels a lender looks at; none with nothing due."""
    if outcome.nothing_due:
        return []
    return [
        f"**{title_of(name)}**: "
        + "; ".join(
            f"{season.water_year} {chance(season.chances[name])}" for season in outcome.seasons
        )
        + "."
        for name in OF_COVER_EVENTS
    ]


def season_chances(outcome: StrategyOutcome) -> dict[str, dict[str, Estimate]]:
    """Gather what may go wrong, by event and season, and in the whole run."""
    return {
        one.title: {season.water_year: season.chances[one.name] for season in outcome.seasons}
        | {IN_THE_RUN: outcome.chances[one.name]}
        for one in shown(EVENTS_SHOWN, due=not outcome.nothing_due, owed=True)
    }


def season_chances_finding(outcome: StrategyOutcome) -> str:
    """Describe how likely the overdraft is to pass its limit, season by season."""
    said = "; ".join(
        f"{season.water_year} {chance(season.chances['past_overdraft_limit'])}"
        for season in outcome.seasons
    )
    return f"{title_of('past_overdraft_limit')}, in some month of {said}"


def season_chances_frame(outcome: StrategyOutcome) -> pd.DataFrame:
    """Arrange what may go wrong, with both ranges."""
    return pd.DataFrame(
        {
            "Chance of": event,
            "When": when,
            **chance_cells(estimate),
        }
        for event, by_season in season_chances(outcome).items()
        for when, estimate in by_season.items()
    )


def answer(cash: CashMonths, outcome: StrategyOutcome) -> str:
    """Return whether the money holds, and when it is worst."""
    past = outcome.chances["past_overdraft_limit"]
    often = times_in_100(past.value, past.draws)
    at = int(cash.past_limit_frac.argmax())
    if cash.past_limit_frac[at] == 0.0:
        month, frac = cash.usual_lowest
        return (
            f"Over the limit {often}; the bank is lowest most often in {month_name(month)} "
            f"({times_in_100(frac)})."
        )
    worst, month = cash.past_limit_frac[at], cash.first_month + at
    return (
        f"Over the limit {often}; worst at the end of {month_name(month)} "
        f"({times_in_100(float(worst))})."
    )


def worst_months(cash: CashMonths) -> dict[str, str]:
    """Return what is written at the worst month of each season: how often it is past the limit."""
    months = months_from(cash.first_month, cash.past_limit_frac.size)
    seasons: dict[int, list[int]] = {}
    for at in range(len(months)):
        seasons.setdefault((cash.first_month + at - JULY) // MONTHS_IN_YEAR, []).append(at)
    worst = [max(ats, key=lambda at: float(cash.past_limit_frac[at])) for ats in seasons.values()]
    return {
        months[at]: of_100(float(cash.past_limit_frac[at]))
        for at in worst
        if cash.past_limit_frac[at] > 0.0
    }


def limit_in_words(found: LimitAndBales, limit_aud: float) -> str:
    """Return the limit that holds, beside the limit there is."""
    needed = with_range(found.limit_needed_aud, money)
    return f"**The limit that holds 90 times in 100:** {needed}; ours is {money(limit_aud)}."


def put_off_in_words(outcome: StrategyOutcome) -> list[str]:
    """Return what interest only puts off, beside the missed payments that it spares."""
    put_off = outcome.whole_run.get("principal_put_off_aud")
    if put_off is None or put_off.mean.value == 0.0:
        return []
    debts = [amount for each in outcome.seasons if (amount := each.amounts["debt_aud"]) is not None]
    owed = f"; debt at the end {money(debts[-1].mean.value)}" if debts else ""
    return [
        f"Interest only is among the steps of {outcome.strategy.name}, with the bank's consent: "
        f"principal put off {money(put_off.mean.value)} on average{owed}. Payments that are put "
        "off are not missed, and are still owed."
    ]


def bank_finding(cash: CashMonths, outcome: StrategyOutcome) -> str:
    """Describe how deep the bank goes where it is lowest, and in which month that is."""
    month, frac = cash.usual_lowest
    return (
        f"{outcome.strategy.name}: the bank is lowest most often in {month_name(month)} "
        f"({times_in_100(frac)})"
    )


def one_month_finding(cash: CashMonths, outcome: StrategyOutcome) -> str:
    """Describe the bank where the run has one month: no chart is drawn of single points."""
    low, middle, high = (
        money(cash.bands_aud[BAND_FRACS.index(frac), 0]) for frac in (0.1, 0.5, 0.9)
    )
    past = chance(outcome.chances["past_overdraft_limit"])
    stands = f"above {low} 90 times in 100, {middle} 50 times, {high} 10 times"
    if low == high:
        stands = f"at {middle} 80 times in 100 or more"
    return (
        f"The run has one month, {month_name(cash.first_month)}. At its end the bank is "
        f"{stands}. Overdraft past its limit: {past}"
    )


def bank_frame(cash: CashMonths) -> pd.DataFrame:
    """Return the bank by month, and how often it is past the limit in it."""
    months = months_from(cash.first_month, cash.past_limit_frac.size)
    return water.bands_frame(months, cash.bands_aud.round()).assign(
        **{
            "Past the limit at this month's end, times in 100": (100 * cash.past_limit_frac).round(
                1
            ),
            "Lowest of the run in it, times in 100": (100 * cash.lowest_frac).round(1),
        }
    )


def measures_of(outcome: StrategyOutcome) -> dict[str, Measure]:
    """Return the measures that say something: none of cover or debt where there is none."""
    due, owed = not outcome.nothing_due, not outcome.has_no_debt
    return {one.name: one for one in shown(MEASURES_SHOWN, due=due, owed=owed)}


def measure_by_year(outcome: StrategyOutcome, name: str) -> dict[str, tuple[float, float, float]]:
    """Return what is reached 90, 50 and 10 times in 100 by season, as a chart draws it."""
    measure = MEASURES[name]
    return {
        season.water_year: tuple(measure.factor * value for value in reached(amount))  # type: ignore[misc]
        for season in outcome.seasons
        if (amount := season.amounts[name]) is not None
    }


def measure_finding(outcome: StrategyOutcome, name: str) -> str:
    """Describe a measure season by season: its middle, or its mean where it is rare."""
    measure = MEASURES[name]
    said = "; ".join(
        f"{season.water_year} {measure.said(_usual(amount, measure).value)}"
        for season in outcome.seasons
        if (amount := season.amounts[name]) is not None
    )
    if not said:
        return f"{measure.title}: blank, as nothing is due"
    return f"{measure.title}, {_which(measure)}: {said}"


def _which(measure: Measure) -> str:
    return "mean" if measure.rare else "middle"


def _usual(amount: Amount, measure: Measure) -> Estimate:
    """Return what is said of a measure in one number."""
    return amount.mean if measure.rare else amount.spread.reached_in(5)


def measure_summary(outcome: StrategyOutcome) -> pd.DataFrame:
    """Arrange every measure by season: its middle or its mean, with the record's range."""
    return pd.DataFrame(
        {
            "Middle": f"{measure.heading}{', mean' * measure.rare}",
            **{
                season.water_year: "blank"
                if (amount := season.amounts[name]) is None
                else with_range(_usual(amount, measure), measure.cell)
                for season in outcome.seasons
            },
        }
        for name, measure in measures_of(outcome).items()
    )


def measure_frame(outcome: StrategyOutcome) -> pd.DataFrame:
    """Return every measure by season, reached 90, 50 and 10 times in 100, with ranges."""
    return pd.DataFrame(
        {
            "What": measure.title,
            "Unit": measure.axis_unit,
            "Water year": season.water_year,
            **reached_cells(amount.spread, measure.cell),
            "Middle, range of the draws": _draws(amount.spread.reached_in(5), measure),
            "Mean": with_range(amount.mean, measure.cell),
            "Average of the worst 10 in 100": with_range(amount.worst_tenth, measure.cell),
            "Times in 100 that there is one": round(100 * amount.sequences_frac, 1),
        }
        for name, measure in measures_of(outcome).items()
        for season in outcome.seasons
        if (amount := season.amounts[name]) is not None
    )


def _draws(estimate: Estimate, measure: Measure) -> str:
    return f"{measure.cell(estimate.draws_low)} to {measure.cell(estimate.draws_high)}"


def formulas(outcome: StrategyOutcome) -> str:
    """Return the formulas of the measures on the page."""
    wanted = measures_of(outcome).values()
    return " ".join(f"**{one.title}** = {one.formula}." for one in wanted if one.formula)
