"""What the page of strategies says: findings, and the tables behind them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from dashboard.findings import wording
from dashboard.findings.wording import aud, in_ten
from model.decide.amounts import Amount
from model.decide.compare import Comparison, StrategyOutcome
from model.decide.frontier import Frontier
from model.farm.run import FarmResults
from model.outlook.chances import Estimate
from model.record.record import FloatArray
from model.say.bank import of_payments
from model.say.frontier import ahead_on_average, ahead_when_bad, way_in_words

EVENT_TITLES = {
    "no_planting": "Nothing planted",
    "ran_short": "Crop cut back or short of water",
    "payment_missed": "A loan payment missed",
    "cover_below_1": "Debt-service cover below 1.0",
    "past_overdraft_limit": "Overdraft past its limit",
}
SEASON_AMOUNTS = {
    "area_planted_ha": ("Planted", "ha"),
    "area_finished_ha": ("Finished", "ha"),
    "margin_aud": ("Margin", "AUD"),
    "margin_aud_per_ml": ("Margin per megalitre used", "AUD/ML"),
    "margin_aud_per_ha": ("Margin per hectare planted", "AUD/ha"),
    "water_used_ml": ("Water used", "ML"),
    "water_carried_ml": ("Water carried", "ML"),
    "closing_cash_aud": ("Cash at season's end", "AUD"),
    "peak_overdraft_aud": ("Deepest overdraft", "AUD"),
}
"""The amounts a person may look at season by season, with their units."""


HELD_BACK_ML_PER_SHARE = (0.0, 0.1, 0.2, 0.4)
HELD_ABOVE_ML_PER_SHARE = (0.0, 0.3, 0.6)
AREAS = 10
"""The ways of holding back and planting that the page tries."""


def areas_ha(most_ha: float) -> list[float]:
    """Return the areas that the page tries, evenly up to the most land."""
    return [float(area) for area in np.linspace(most_ha / AREAS, most_ha, AREAS)]


def standings(outcomes: Sequence[StrategyOutcome]) -> dict[str, tuple[Estimate, Estimate]]:
    """Give each strategy's mean and worst tenth at the end of the run."""
    return {
        outcome.strategy.name: (
            outcome.whole_run["standing_aud"].mean,
            outcome.whole_run["standing_aud"].worst_tenth,
        )
        for outcome in outcomes
    }


def standing_finding(outcomes: Sequence[StrategyOutcome]) -> str:
    """Say which strategy is best on average, and which in the worst tenth."""
    stands = standings(outcomes)
    best = max(stands, key=lambda name: stands[name][0].value)
    if len(stands) > 1 and _all_alike(stands):
        return f"All end alike: {aud(stands[best][0].value)} on average"
    safest = max(stands, key=lambda name: stands[name][1].value)
    unsure = "" if _clear_of(stands, best) else ": its range overlaps the others'"
    said = f"{best} ends best on average ({aud(stands[best][0].value)}{unsure})"
    if safest == best:
        return f"{said}, and best in the worst tenth too ({aud(stands[best][1].value)})"
    return f"{said}; in the worst tenth it is {safest} ({aud(stands[safest][1].value)})"


def _all_alike(stands: Mapping[str, tuple[Estimate, Estimate]]) -> bool:
    """Tell whether mean and worst tenth of all are the same to the thousand."""
    said = {tuple(aud(each.value) for each in stand) for stand in stands.values()}
    return len(said) == 1


def _clear_of(stands: Mapping[str, tuple[Estimate, Estimate]], best: str) -> bool:
    """Tell whether the best mean's range lies above those of all others."""
    low, _ = stands[best][0].headline
    return all(stands[name][0].headline[1] < low for name in stands if name != best)


def chances_by_strategy(outcomes: Sequence[StrategyOutcome]) -> dict[str, dict[str, Estimate]]:
    """Give the chances of what may go wrong at some time in the run, by strategy.

    Where nothing is due to a lender under any of them, none is given of a low cover.
    """
    no_cover = all(season.amounts["cover"] is None for each in outcomes for season in each.seasons)
    return {
        outcome.strategy.name: {
            title: outcome.chances[name]
            for name, title in EVENT_TITLES.items()
            if name != "cover_below_1" or not no_cover
        }
        for outcome in outcomes
    }


def missed_finding(outcomes: Sequence[StrategyOutcome]) -> str:
    """Say how likely each strategy is to miss a payment."""
    said = "; ".join(
        f"{outcome.strategy.name} {in_ten(outcome.chances['payment_missed'].value)}"
        for outcome in outcomes
    )
    return f"A loan payment missed, {of_payments(outcomes[0].payments_due)}: {said}"


def by_season(
    outcomes: Sequence[StrategyOutcome], name: str
) -> dict[str, dict[str, tuple[float, float, float]]]:
    """Gather what is reached in 9, 5 and 1 years of 10, by strategy and season."""
    gathered: dict[str, dict[str, tuple[float, float, float]]] = {}
    for outcome in outcomes:
        for season in outcome.seasons:
            amount = season.amounts[name]
            if amount is not None:
                sure, middle, lucky = reached(amount)
                place = gathered.setdefault(outcome.strategy.name, {})
                place[season.water_year] = (sure, middle, lucky)
    return gathered


def season_finding(outcomes: Sequence[StrategyOutcome], name: str) -> str:
    """Say the middle of an amount in the first season that has one, strategy by strategy."""
    title, unit = SEASON_AMOUNTS[name]
    gathered = by_season(outcomes, name)
    if not gathered:
        return f"{title}: none in these seasons"
    year = next(iter(next(iter(gathered.values()))))
    said = "; ".join(
        f"{strategy} {years[year][1]:,.0f}" for strategy, years in gathered.items() if year in years
    )
    return f"{title} in {year}, in 5 years of 10, {unit}: {said}"


def season_frame(outcomes: Sequence[StrategyOutcome], name: str) -> pd.DataFrame:
    """Lay out an amount by strategy and season."""
    unit = SEASON_AMOUNTS[name][1]
    return pd.DataFrame(
        {
            "Strategy": outcome.strategy.name,
            "Water year": season.water_year,
            **{
                title: round(value, 1)
                for title, value in zip(
                    wording.REACHED_TITLES.values(), reached(amount), strict=True
                )
            },
            "Mean": round(amount.mean.value, 1),
            "Mean, range of the record": wording.amount_range(amount.mean),
            "Worst tenth": round(amount.worst_tenth.value, 1),
            "Unit": unit,
        }
        for outcome in outcomes
        for season in outcome.seasons
        if (amount := season.amounts[name]) is not None
    )


def standing_frame(outcomes: Sequence[StrategyOutcome]) -> pd.DataFrame:
    """Lay out how each strategy ends, AUD, and the dry seasons it survives."""
    return pd.DataFrame(
        {
            "Strategy": outcome.strategy.name,
            "Mean, AUD": round(outcome.whole_run["standing_aud"].mean.value),
            "Range of the record": wording.amount_range(outcome.whole_run["standing_aud"].mean),
            "Worst tenth, AUD": round(outcome.whole_run["standing_aud"].worst_tenth.value),
            "Of it cash, AUD": round(outcome.whole_run["closing_cash_aud"].mean.value),
            "Water left, AUD": round(outcome.whole_run["water_left_aud"].mean.value),
            "Land ready, AUD": round(outcome.whole_run["land_ready_aud"].mean.value),
            "Crop unpaid, AUD": round(outcome.whole_run["crop_unpaid_aud"].mean.value),
            "Seasons without allocation survived": _survived(outcome),
        }
        for outcome in outcomes
    )


def standing_summary(outcomes: Sequence[StrategyOutcome]) -> pd.DataFrame:
    """Lay out in few columns how each strategy ends, thousand AUD, and what it survives."""
    return pd.DataFrame(
        {
            "Strategy": outcome.strategy.name,
            "Mean": wording.with_range(outcome.whole_run["standing_aud"].mean, 1e-3),
            "Worst tenth": wording.with_range(outcome.whole_run["standing_aud"].worst_tenth, 1e-3),
            "Seasons survived": _survived(outcome),
        }
        for outcome in outcomes
    )


def chances_frame(chances: Mapping[str, Mapping[str, Estimate]]) -> pd.DataFrame:
    """Lay out chances by strategy with both ranges."""
    return pd.DataFrame(
        {
            "Strategy": strategy,
            "Chance of, some time in the run": event,
            **wording.chance_cells(estimate),
        }
        for strategy, by_event in chances.items()
        for event, estimate in by_event.items()
    )


def differences_aud(found: Comparison, results: FarmResults, first: str, second: str) -> FloatArray:
    """(sequence,) how far the first strategy ends ahead of the second, in rising order."""
    names = [outcome.strategy.name for outcome in found.outcomes]
    standing = results["standing_aud"][..., -1]
    return np.sort(standing[names.index(first)] - standing[names.index(second)])


def difference_finding(ahead_aud: FloatArray, first: str, second: str) -> str:
    """Say in how many runs the first is ahead, and by how much on average."""
    share = float(np.mean(ahead_aud > 0.0))
    mean = float(ahead_aud.mean())
    error = 1.96 * float(ahead_aud.std()) / np.sqrt(ahead_aud.size)
    return (
        f"{first} ends ahead of {second}: {in_ten(share)}; "
        f"by {aud(mean)} on average (give or take {aud(error)} for the draws, more for the "
        "record)"
    )


def reached(amount: Amount) -> tuple[float, float, float]:
    """Give what is reached in 9, 5 and 1 years of 10."""
    sure, middle, lucky = (amount.spread.reached_in(n).value for n in wording.REACHED_TITLES)
    return sure, middle, lucky


def _survived(outcome: StrategyOutcome) -> str:
    more = " or more" if outcome.dry_seasons_survived == outcome.dry_seasons_tried else ""
    return f"{outcome.dry_seasons_survived}{more}"


def neighbours_frame(found: Frontier) -> pd.DataFrame:
    """Lay out the frontier from the best on average down, each way against the next, AUD."""
    return pd.DataFrame(
        {
            "Way": way_in_words(pair.better),
            "Next on the frontier": way_in_words(pair.other),
            "Ahead on average": ahead_on_average(pair),
            "Ahead in the worst tenth": ahead_when_bad(pair),
        }
        for pair in found.neighbours
    )


def frontier_frame(found: Frontier) -> pd.DataFrame:
    """Lay out every way of the grid, AUD, with standard errors."""
    return pd.DataFrame(
        {
            "Held back, ML/share": point.hold_back_ml_per_share,
            "of what is in sight above, ML/share": point.hold_above_ml_per_share,
            "Most area, ha": round(point.most_area_ha),
            "Mean, AUD": round(point.mean_aud),
            "Standard error": round(point.mean_error_aud),
            "Worst tenth, AUD": round(point.worst_tenth_aud),
            "Its standard error": round(point.worst_tenth_error_aud),
            "A payment missed": in_ten(point.payment_missed.value),
            "A payment missed, %": round(100.0 * point.payment_missed.value, 1),
            "Dominated": "yes" if point.dominated else "no",
        }
        for point in found.points
    )


def ordered_frame(values: FloatArray, name: str) -> pd.DataFrame:
    """Lay out amounts in rising order at every hundredth of the runs."""
    share = np.linspace(0, 1, 101)
    at = np.round(share * (values.size - 1)).astype(int)
    return pd.DataFrame({"% of possible runs": 100 * share, name: values[at].round(0)})
