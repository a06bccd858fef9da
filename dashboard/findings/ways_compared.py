"""What the page of strategies says: findings, and the tables behind them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np
import pandas as pd

from dashboard.charts.side_by_side import Axis, Dots, Panel
from model.decide.amounts import Amount
from model.decide.compare import Comparison, StrategyOutcome
from model.decide.frontier import Frontier
from model.decide.steps_taken import StepsOutcome
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting
from model.outlook.chances import Estimate
from model.outlook.dots import dots_of
from model.record.record import FloatArray
from model.say.bank import of_payments
from model.say.cells import amount_range, chance_cells
from model.say.comparison import WORST_TENTH, survived
from model.say.farm import strategy_in_words
from model.say.frontier import ahead_on_average, ahead_when_bad, way_in_words
from model.say.measures import MEASURES, shown, title_of
from model.say.numbers import (
    capital,
    chance,
    chance_cell,
    currency_sign,
    ha,
    money,
    number,
    of_100,
    thousands,
    thousands_heading,
    times_in_100,
    with_range,
)
from model.say.outlook import REACHED_TITLES
from model.say.steps import ladder_head, rung_cells, rung_name

EVENTS_SHOWN = (
    "no_planting",
    "ran_short",
    "payment_missed",
    "cover_below_1",
    "past_overdraft_limit",
)
"""What may go wrong, as the page shows it."""

SEASON_AMOUNTS = (
    "area_planted_ha",
    "area_finished_ha",
    "margin_aud",
    "margin_aud_per_ml",
    "margin_aud_per_ha",
    "water_used_ml",
    "water_carried_ml",
    "closing_cash_aud",
    "peak_overdraft_aud",
)
"""The amounts a person may look at season by season."""


HELD_BACK_ML_PER_SHARE = (0.0, 0.1, 0.2, 0.4)
HELD_ABOVE_ML_PER_SHARE = (0.0, 0.3, 0.6)
AREAS = 10
"""The ways of holding back and planting that the page tries."""


def areas_ha(most_ha: float) -> list[float]:
    """Return the areas that the page tries, evenly up to the most land."""
    return [float(area) for area in np.linspace(most_ha / AREAS, most_ha, AREAS)]


FINISHED: Final = "Finished by season, ha"
BANK: Final = title_of("closing_cash_aud")
END: Final = "Worth at the end"
"""What each column shows."""


def columns_of(
    outcomes: Sequence[StrategyOutcome], results: FarmResults, names: Sequence[str]
) -> dict[str, tuple[list[Panel], Dots]]:
    """Return what stands in the column of each strategy."""
    standing_aud = results["standing_aud"][..., -1]
    return {
        outcome.strategy.name: (
            [
                Panel(title, form, _by_season(outcome, amount))
                for title, form, amount in (
                    (FINISHED, number, "area_finished_ha"),
                    (BANK, money, "closing_cash_aud"),
                )
            ],
            Dots(END, money, dots_of(standing_aud[names.index(outcome.strategy.name)]).tolist()),
        )
        for outcome in outcomes
    }


def _by_season(outcome: StrategyOutcome, name: str) -> dict[str, tuple[float, float, float]]:
    return {
        season.water_year: reached(amount)
        for season in outcome.seasons
        if (amount := season.amounts[name]) is not None
    }


def axes_of(columns: Iterable[tuple[Sequence[Panel], Dots]], limit_aud: float) -> dict[str, Axis]:
    """Return the axes that all columns stand on."""
    gathered: dict[str, list[float]] = {FINISHED: [0.0], BANK: [0.0, -limit_aud], END: [0.0]}
    for panels, end in columns:
        for panel in panels:
            gathered[panel.title] += [each for of in panel.by_season.values() for each in of]
        gathered[END] += end.values[1:-1]  # one dot at each end may stand at the axis' end
    limits = {BANK: -limit_aud, END: 0.0}
    return {
        title: Axis(min(values), max(values), limits.get(title))
        for title, values in gathered.items()
    }


def column_alt(outcome: StrategyOutcome) -> str:
    """Return what a column shows, for who cannot see it."""
    end = outcome.whole_run["standing_aud"]
    said = "; ".join(
        f"{year} {ha(middle)} or more finished 50 times in 100"
        for year, (_, middle, _) in _by_season(outcome, "area_finished_ha").items()
    )
    return f"{outcome.strategy.name}: {said}; worth at the end {money(end.mean.value)} on average"


def columns_frame(outcomes: Sequence[StrategyOutcome]) -> pd.DataFrame:
    """Arrange what the columns show, reached 90, 50 and 10 times in 100."""
    return pd.DataFrame(
        {
            "Strategy": outcome.strategy.name,
            "What": title,
            "Water year": year,
            **dict(zip(REACHED_TITLES.values(), map(form, values), strict=True)),
        }
        for outcome in outcomes
        for title, form, name in (
            (FINISHED, number, "area_finished_ha"),
            (BANK, money, "closing_cash_aud"),
        )
        for year, values in _by_season(outcome, name).items()
    )


def rule_in_words(setting: FarmSetting, name: str) -> str:
    """Return what a strategy does, in a sentence."""
    at = [each.name for each in setting.strategies].index(name)
    planned = float(setting.settings.one(at).planned_water_ml_per_ha(setting.rules)[0, 0])
    return f"{capital(strategy_in_words(setting.strategies[at], planned))}."


def standings(outcomes: Sequence[StrategyOutcome]) -> dict[str, tuple[Estimate, Estimate]]:
    """Return each strategy's mean and worst tenth at the end of the run."""
    return {
        outcome.strategy.name: (
            outcome.whole_run["standing_aud"].mean,
            outcome.whole_run["standing_aud"].worst_tenth,
        )
        for outcome in outcomes
    }


def standing_finding(outcomes: Sequence[StrategyOutcome]) -> str:
    """Describe which strategy is best on average, and which in the worst tenth."""
    stands = standings(outcomes)
    best = max(stands, key=lambda name: stands[name][0].value)
    if len(stands) > 1 and _all_alike(stands):
        return f"All end alike: {money(stands[best][0].value)} on average"
    safest = max(stands, key=lambda name: stands[name][1].value)
    unsure = "" if _clear_of(stands, best) else ": its range overlaps the others'"
    said = f"{best} ends best on average ({money(stands[best][0].value)}{unsure})"
    if safest == best:
        return f"{said}, and best in the {WORST_TENTH} too ({money(stands[best][1].value)})"
    return f"{said}; in the {WORST_TENTH} it is {safest} ({money(stands[safest][1].value)})"


def _all_alike(stands: Mapping[str, tuple[Estimate, Estimate]]) -> bool:
    """Return whether mean and worst tenth of all are the same to the thousand."""
    said = {tuple(money(each.value) for each in stand) for stand in stands.values()}
    return len(said) == 1


def _clear_of(stands: Mapping[str, tuple[Estimate, Estimate]], best: str) -> bool:
    """Return whether the best mean's range lies above those of all others."""
    low, _ = stands[best][0].headline
    return all(stands[name][0].headline[1] < low for name in stands if name != best)


def chances_by_strategy(outcomes: Sequence[StrategyOutcome]) -> dict[str, dict[str, Estimate]]:
    """Return the chances of what may go wrong at some time in the run, by strategy.

    Where nothing is due to a lender under any of them, none is given of a low cover.
    """
    no_cover = all(season.amounts["cover"] is None for each in outcomes for season in each.seasons)
    return {
        outcome.strategy.name: {
            one.title: outcome.chances[one.name]
            for one in shown(EVENTS_SHOWN, due=not no_cover, owed=True)
        }
        for outcome in outcomes
    }


def missed_finding(outcomes: Sequence[StrategyOutcome]) -> str:
    """Describe how likely each strategy is to miss a payment."""
    said = "; ".join(
        f"{outcome.strategy.name} {chance(outcome.chances['payment_missed'])}"
        for outcome in outcomes
    )
    return f"{title_of('payment_missed')}, {of_payments(outcomes[0].payments_due)}: {said}"


def by_season(
    outcomes: Sequence[StrategyOutcome], name: str
) -> dict[str, dict[str, tuple[float, float, float]]]:
    """Gather what is reached 90, 50 and 10 times in 100, by strategy and season."""
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
    """Describe the middle of an amount in the first season that has one, strategy by strategy."""
    measure = MEASURES[name]
    gathered = by_season(outcomes, name)
    if not gathered:
        return f"{measure.title}: none in these seasons"
    year = next(iter(next(iter(gathered.values()))))
    said = "; ".join(
        f"{strategy} {measure.said(years[year][1])}"
        for strategy, years in gathered.items()
        if year in years
    )
    return f"{measure.title} in {year}, or more, 50 times in 100: {said}"


def season_frame(outcomes: Sequence[StrategyOutcome], name: str) -> pd.DataFrame:
    """Arrange an amount by strategy and season."""
    unit = MEASURES[name].unit.name
    return pd.DataFrame(
        {
            "Strategy": outcome.strategy.name,
            "Water year": season.water_year,
            **{
                title: round(value, 1)
                for title, value in zip(REACHED_TITLES.values(), reached(amount), strict=True)
            },
            "Mean": round(amount.mean.value, 1),
            "Mean, range of the record": amount_range(amount.mean),
            WORST_TENTH.capitalize(): round(amount.worst_tenth.value, 1),
            "Unit": unit,
        }
        for outcome in outcomes
        for season in outcome.seasons
        if (amount := season.amounts[name]) is not None
    )


def standing_frame(outcomes: Sequence[StrategyOutcome]) -> pd.DataFrame:
    """Arrange how each strategy ends, and the dry seasons it survives."""
    return pd.DataFrame(
        {
            "Strategy": outcome.strategy.name,
            f"Mean, {currency_sign()}": round(outcome.whole_run["standing_aud"].mean.value),
            "Range of the record": amount_range(outcome.whole_run["standing_aud"].mean),
            WORST_TENTH.capitalize(): round(outcome.whole_run["standing_aud"].worst_tenth.value),
            "Of it bank": round(outcome.whole_run["closing_cash_aud"].mean.value),
            title_of("water_left_aud"): round(outcome.whole_run["water_left_aud"].mean.value),
            title_of("land_ready_aud"): round(outcome.whole_run["land_ready_aud"].mean.value),
            title_of("crop_unpaid_aud"): round(outcome.whole_run["crop_unpaid_aud"].mean.value),
            "Seasons without allocation survived": survived(outcome),
        }
        for outcome in outcomes
    )


def standing_summary(outcomes: Sequence[StrategyOutcome]) -> pd.DataFrame:
    """Arrange in few columns how each strategy ends, in thousands, and what it survives."""
    return pd.DataFrame(
        {
            "Strategy": outcome.strategy.name,
            f"Mean, {thousands_heading()}": with_range(
                outcome.whole_run["standing_aud"].mean, thousands
            ),
            "Worst 10 in 100": with_range(outcome.whole_run["standing_aud"].worst_tenth, thousands),
            "Seasons survived": survived(outcome),
        }
        for outcome in outcomes
    )


def chances_frame(chances: Mapping[str, Mapping[str, Estimate]]) -> pd.DataFrame:
    """Arrange chances by strategy with both ranges."""
    return pd.DataFrame(
        {
            "Strategy": strategy,
            "Chance of, some time in the run": event,
            **chance_cells(estimate),
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
    """Describe in how many runs the first is ahead, and by how much on average."""
    share = float(np.mean(ahead_aud > 0.0))
    mean = float(ahead_aud.mean())
    error = 1.96 * float(ahead_aud.std()) / np.sqrt(ahead_aud.size)
    return (
        f"{first} ends ahead of {second}: {times_in_100(share)}; "
        f"by {money(mean)} on average (give or take {money(error)} for the draws, more for the "
        "record)"
    )


def reached(amount: Amount) -> tuple[float, float, float]:
    """Return what is reached 90, 50 and 10 times in 100."""
    sure, middle, lucky = (amount.spread.reached_in(n).value for n in REACHED_TITLES)
    return sure, middle, lucky


def with_steps(outcomes: Sequence[StrategyOutcome]) -> list[str]:
    """Return the names of the strategies that have drought steps."""
    return [outcome.strategy.name for outcome in outcomes if outcome.strategy.steps]


def steps_taken_frame(found: StepsOutcome, years: Sequence[str]) -> pd.DataFrame:
    """Arrange how often each step is taken: in the run, and in each season, times in 100."""
    return pd.DataFrame(
        {
            "Step": taken.step.name,
            "Decided": f"1 {taken.step.when.month}",
            "Taken, times in 100": chance_cell(taken.some_time),
            **{year: of_100(each.value) for year, each in zip(years, taken.by_season, strict=True)},
        }
        for taken in found.taken
    )


def ladder_frame(found: StepsOutcome) -> pd.DataFrame:
    """Arrange what each step changes beside those before it."""
    return pd.DataFrame(
        {
            "With": rung_name(rung, found),
            **dict(zip(ladder_head(), rung_cells(rung), strict=True)),
        }
        for rung in found.ladder
    )


def neighbours_frame(found: Frontier) -> pd.DataFrame:
    """Arrange the frontier from the best on average down, each way against the next, AUD."""
    return pd.DataFrame(
        {
            "Way": way_in_words(pair.better),
            "Next on the frontier": way_in_words(pair.other),
            "Ahead on average": ahead_on_average(pair),
            "Ahead in the worst 10 in 100": ahead_when_bad(pair),
        }
        for pair in found.neighbours
    )


def frontier_frame(found: Frontier) -> pd.DataFrame:
    """Arrange every way of the grid, AUD, with standard errors."""
    return pd.DataFrame(
        {
            "Held back, ML a share": point.hold_back_ml_per_share,
            "of what is in sight above, ML a share": point.hold_above_ml_per_share,
            "Most area, ha": round(point.most_area_ha),
            f"Mean, {currency_sign()}": round(point.mean_aud),
            "Standard error": round(point.mean_error_aud),
            WORST_TENTH.capitalize(): round(point.worst_tenth_aud),
            "Its standard error": round(point.worst_tenth_error_aud),
            "A payment missed, times in 100": round(100.0 * point.payment_missed.value, 1),
            "Dominated": "yes" if point.dominated else "no",
        }
        for point in found.points
    )


def ordered_frame(values: FloatArray, name: str) -> pd.DataFrame:
    """Arrange amounts in rising order at every hundredth of the runs."""
    share = np.linspace(0, 1, 101)
    at = np.round(share * (values.size - 1)).astype(int)
    return pd.DataFrame({"Times in 100": 100 * share, name: values[at].round(0)})
