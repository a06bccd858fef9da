"""Which strategy does how well, season by season, on the same sequences?

The valley is run once through every sequence, and the farm under each strategy through what came of
it. Each amount and chance carries the error of the draws and the larger, more honest error of the
record: its years are resampled in blocks, and valley and farm run again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import Final

import numpy as np

from model.decide.amounts import Amount, amount_of, by_record_of, some
from model.decide.steps_taken import StepsOutcome, ladder_setting, steps_outcome
from model.decide.strategy import strategies_of
from model.errors import Fault, PlanError
from model.farm.measures import EVENTS, measures_of, of_layout
from model.farm.run import AT_FINISH, AT_PLANTING, FarmResults
from model.farm.run_cover import RUN_EVENTS, left_aud, run_cover_of
from model.farm.setting import FarmSetting, decision_seasons, farm_setting_of
from model.farm.state import BoolArray
from model.farm.survival import Survived, dry_seasons_survived
from model.outlook.ahead import Drawn, draw_ahead
from model.outlook.chances import Estimate, chance
from model.outlook.lazy import LazyResults
from model.outlook.outlook import NOTHING_ML_PER_SHARE, RecordResampling
from model.outlook.setting import Progress
from model.plan.plan import Plan
from model.plan.strategy import Strategy
from model.record.record import FloatArray, Record
from model.sequences.slices import IntArray, Sequences
from model.sequences.unique import Leg, unique_sequences
from model.sequences.years import years_of

MOST_SEQUENCES: Final = 100_000
"""Three strategies' results of so many fill about half a gigabyte."""

AMOUNTS: Final = (
    "announced_ml_per_share",
    "water_credited_ml",
    *AT_PLANTING,
    *AT_FINISH,
    "announced_to_date_ml_per_share",
    "account_ml_per_share",
    "usable_ml_per_share",
    "area_prepared_ha",
    "area_planted_ha",
    "area_finished_ha",
    "yield_bales_per_ha",
    "water_used_ml",
    "water_carried_ml",
    "water_lost_ml",
    "water_spilled_ml",
    "water_bought_ml",
    "water_sold_ml",
    "supplementary_taken_ml",
    "bore_used_ml",
    "income_aud",
    "costs_aud",
    "margin_aud",
    "margin_aud_per_ha",
    "margin_aud_per_ml",
    "receivable_aud",
    "closing_cash_aud",
    "peak_overdraft_aud",
    "past_limit_aud",
    "arrears_aud",
    "debt_service_aud",
    "cover",
    "interest_cover",
    "term_debt_cover",
    "debt_aud",
    "equity_frac",
    "loan_to_value_frac",
)
"""The amounts published for each season."""

DISTRICT_AMOUNTS: Final = ("district_aud", "district_aud_per_ml")
"""Published beside them where the plan states which part of its costs is spent in the district."""

RUN_AMOUNTS: Final = (
    "margin_aud",
    "closing_cash_aud",
    "arrears_aud",
    "water_left_aud",
    "land_ready_aud",
    "crops_in_ground_aud",
    "crop_unpaid_aud",
    "tax_owing_aud",
    "standing_aud",
    "peak_overdraft_aud",
    "past_limit_aud",
    "water_used_ml",
    "water_lost_ml",
)
"""The amounts published for the whole run; `standing_aud` is cash less arrears and what is left."""

RUN_COVERS: Final = ("run_term_debt_cover", "run_replacement_cover")
"""Published for the whole run beside them; blank where nothing is due to a lender."""

STEP_AMOUNTS: Final = ("principal_put_off_aud", "steps_aud")
"""Published beside them where a strategy has drought steps; `steps_aud` is in `standing_aud`."""


CROP_AMOUNTS: Final = (
    "area_sown_ha",
    "yield_units_per_ha",
    "water_used_ml",
    "margin_aud",
    "margin_aud_per_ml",
)
"""The amounts published for each season and each crop in each row layout."""


@dataclass(frozen=True, slots=True)
class CropOutcome:
    """What a crop in a row layout brings in a season."""

    crop: str
    layout: str
    unit: str  # of its yield
    amounts: Mapping[str, Amount | None]  # the names of CROP_AMOUNTS; None where there never is one


@dataclass(frozen=True, slots=True)
class SeasonOutcome:
    """What one season brings under one strategy."""

    water_year: str
    amounts: Mapping[str, Amount | None]  # the names of AMOUNTS, and of DISTRICT_AMOUNTS
    chances: Mapping[str, Estimate]  # the names of EVENTS
    lowest_cash_months: Mapping[int, float]  # month number: part of the sequences
    crops: tuple[CropOutcome, ...]  # in the plan's order


@dataclass(frozen=True, slots=True)
class StrategyOutcome:
    """What a strategy brings."""

    strategy: Strategy
    seasons: tuple[SeasonOutcome, ...]
    whole_run: Mapping[str, Amount]  # the names of RUN_AMOUNTS; with steps STEP_AMOUNTS too
    covers: Mapping[str, Amount | None]  # over the run; the names of RUN_COVERS
    chances: Mapping[str, Estimate]  # of EVENTS at some time in the run; of RUN_EVENTS
    payments_due: int  # loan payments in the run
    survival: Callable[[], Survived]  # without allocation, from today; worked out when asked for
    drought_steps: Callable[[], StepsOutcome | None]  # likewise; None: it has none

    @property
    def nothing_due(self) -> bool:
        """Whether nothing is due to a lender in any season of any sequence."""
        return all(season.amounts["cover"] is None for season in self.seasons)

    @property
    def has_no_debt(self) -> bool:
        """Whether nothing is due, and nothing owed when a season ends, in any sequence."""
        owed = [season.amounts["debt_aud"] for season in self.seasons]
        return self.nothing_due and all(
            amount is None or amount.mean.value == 0.0 for amount in owed
        )

    @property
    def dry_seasons_survived(self) -> int:
        """Seasons running with no allocation, from today, to whose end it holds out."""
        return self.survival().seasons

    @property
    def dry_seasons_tried(self) -> int:
        """So many were tried."""
        return self.survival().tried


@dataclass(frozen=True, slots=True)
class Comparison:
    """Strategies side by side."""

    setting: FarmSetting
    count: int
    outcomes: tuple[StrategyOutcome, ...]
    nothing_running: tuple[Estimate, ...]  # nothing announced in season 1; 1 and 2; and so on
    record_error: RecordResampling


def compare(
    plan: Plan, record: Record, progress: Progress | None = None
) -> tuple[Comparison, FarmResults]:
    """Compare a plan's strategies on the same sequences.

    Parameters
    ----------
    plan, record
        What the user gave. A plan without strategies is compared under the three shipped.
    progress
        Called with the sequences done and the sequences in all.

    Returns
    -------
    Comparison
        The odds of each strategy: amounts (AUD, ML, ha by their names' endings) and chances (0 to
        1), each with the error of the draws and of the record.
    FarmResults
        What every season brought, (strategy, sequence, season), by the names of `run` and
        `measures`.

    Raises
    ------
    PlanError
        The plan has no farm, its parts do not fit together, or it asks for too many sequences.

    Notes
    -----
    Wilson's interval for the draws; for the record, its years resampled in blocks and played again.

    Examples
    --------
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> plan = plan.with_drawing(count=20)
    >>> found, results = compare(plan, record)
    >>> [outcome.strategy.name for outcome in found.outcomes]
    ['A season in hand', 'Some on trust', 'Plant on the odds', 'Some on trust with drought steps']
    >>> bool((results["area_finished_ha"] <= results["area_planted_ha"]).all())
    True
    """
    found, results, _ = compare_with_again(plan, record, progress)
    return found, results


def compare_with_again(
    plan: Plan, record: Record, progress: Progress | None = None
) -> tuple[Comparison, FarmResults, FarmResults]:
    """Compare a plan's strategies; return also what sequences of resampled records brought.

    Raises
    ------
    PlanError
        As `compare`.
    """
    _check_count(plan)
    drawn = draw_ahead(plan, record, decision_seasons(plan))
    setting = farm_setting_of(plan, record, strategies_of(plan), drawn.method)
    return compare_drawn(setting, drawn, progress)


def compare_drawn(
    setting: FarmSetting, drawn: Drawn, progress: Progress | None = None
) -> tuple[Comparison, FarmResults, FarmResults]:
    """Compare strategies on sequences drawn before; see `compare_with_again`.

    Raises
    ------
    PlanError
        The plan asks for too many sequences.
    """
    _check_count(setting.valley.plan)
    found = _played(setting, drawn.batches, drawn.drawn, progress)
    results, again = found.of_sequences(drawn.drawn), found.of_sequences(drawn.resampled)
    return comparison_of(setting, found, drawn), results, again


def play_rows(
    setting: FarmSetting, sequences: Sequences | IntArray, progress: Progress | None = None
) -> FarmResults:
    """Play every strategy through given sequences; bare rows of the record as they were observed.

    Each different one is played once, and those that begin alike are one until they part.

    Returns
    -------
    FarmResults
        (strategy, sequence, season); the names of `run` and of `measures`.
    """
    valley = setting.valley
    years = years_of(valley.plan, valley.record.months, valley.calendar.slices)
    different = unique_sequences(sequences).meeting(years)
    found = _played(setting, different.batches(), different.places, progress)
    return found.of_sequences(different.places)


def _played(
    setting: FarmSetting,
    batches: Iterable[Sequence[Leg]],
    places: IntArray,
    progress: Progress | None,
) -> FarmResults:
    """Play batches of different sequences; `places` tells how many sequences are done by then."""
    parts, done = [], 0
    for legs in batches:
        parts.append(setting.results(setting.river_of_legs(legs)))
        done += len(legs[-1].rows)
        if progress is not None:
            progress(int(np.count_nonzero(places < done)), len(places))
    return measures_of(FarmResults.joined(parts), setting.rules, setting.valley.calendar)


def _check_count(plan: Plan) -> None:
    """Refuse more sequences than results are kept of."""
    if plan.sequences.count > MOST_SEQUENCES:
        allowed = f"{MOST_SEQUENCES:,} or less: every season of every sequence is kept"
        fault = Fault("sequences.count", f"{plan.sequences.count}", "they are too many", allowed)
        raise PlanError("plan", [fault])


def comparison_of(setting: FarmSetting, found: FarmResults, drawn: Drawn) -> Comparison:
    """Turn what the seasons of the different sequences brought into odds, with both errors."""
    survived = cache(partial(dry_seasons_survived, setting))
    odds = partial(_odds, drawn)
    none = np.logical_and.accumulate(
        found["announced_ml_per_share"][0] <= NOTHING_ML_PER_SHARE, axis=1
    )
    return Comparison(
        setting=setting,
        count=len(drawn.drawn),
        outcomes=tuple(
            _strategy_outcome(
                setting,
                at,
                found.of_strategy(at),
                drawn,
                survived,
                cache(partial(_drought_steps, setting, at, drawn)),
            )
            for at in range(len(setting.strategies))
        ),
        nothing_running=tuple(
            odds(none[:, season]) for season in range(setting.valley.calendar.seasons)
        ),
        record_error=drawn.how,
    )


def _odds(drawn: Drawn, happened: BoolArray) -> Estimate:
    """Return the chance of what did or did not happen in each different sequence."""
    again = by_record_of(happened[drawn.resampled].astype(np.float64), drawn.how)
    return chance(happened[drawn.drawn], again.mean(axis=1), drawn.how.widening.factor)


def _strategy_outcome(
    setting: FarmSetting,
    at: int,
    found: FarmResults,
    drawn: Drawn,
    survived: Callable[[], tuple[Survived, ...]],
    drought_steps: Callable[[], StepsOutcome | None],
) -> StrategyOutcome:
    """Work out the odds of one strategy; `found` is (different sequence, season)."""
    calendar, whole = setting.valley.calendar, run_amounts(found)
    events = LazyResults(EVENTS, lambda name: EVENTS[name](found, setting.rules))
    debts = cache(partial(run_cover_of, found, setting.rules, calendar))

    def cover_over_the_run(name: str) -> Amount | None:
        due_aud = debts().due_aud
        if not due_aud.any():
            return None
        left, how = left_aud(debts())[name], drawn.how

        def laid_out() -> tuple[FloatArray, FloatArray]:
            by_record = by_record_of(due_aud[drawn.resampled], how).mean(axis=1)
            due_again_aud = np.repeat(by_record, how.draws_each)
            own = left[drawn.drawn] / due_aud[drawn.drawn].mean()
            return own, left[drawn.resampled] / due_again_aud

        return amount_of(name, laid_out, how)

    def amount(name: str, values_of: Callable[[], FloatArray]) -> Amount | None:
        def laid_out() -> tuple[FloatArray, FloatArray]:
            values = values_of()
            return values[drawn.drawn], values[drawn.resampled]

        return amount_of(name, laid_out, drawn.how)

    def of_crop(at: int, season: int) -> CropOutcome:
        rules = setting.rules.layouts[at]
        amounts = LazyResults(
            CROP_AMOUNTS,
            lambda name: amount(name, lambda: of_layout(found, name, at)[..., season]),
        )
        return CropOutcome(rules.crop, rules.layout, rules.unit, amounts)

    states_district = setting.rules.district is not None
    published = (*AMOUNTS, *(DISTRICT_AMOUNTS if states_district else ()))

    def of_season(season: int) -> SeasonOutcome:
        lowest_in = found["lowest_cash_month"][drawn.drawn, season]
        return SeasonOutcome(
            water_year=calendar.water_year(season),
            amounts=LazyResults(
                published, lambda name: amount(name, lambda: found[name][..., season])
            ),
            chances=LazyResults(EVENTS, lambda name: _odds(drawn, events[name][..., season])),
            lowest_cash_months=_shares(lowest_in),
            crops=tuple(of_crop(at, season) for at in range(len(setting.rules.layouts))),
        )

    def in_the_run(name: str) -> BoolArray:
        if name in RUN_EVENTS:
            return np.asarray(debts().cover < RUN_EVENTS[name])
        return np.asarray(events[name].any(axis=-1))

    return StrategyOutcome(
        strategy=setting.strategies[at],
        seasons=tuple(of_season(season) for season in range(calendar.seasons)),
        whole_run=LazyResults(whole, lambda name: some(amount(name, lambda: whole[name]))),
        covers=LazyResults(RUN_COVERS, cover_over_the_run),
        chances=LazyResults((*EVENTS, *RUN_EVENTS), lambda name: _odds(drawn, in_the_run(name))),
        payments_due=setting.rules.cash.payments_due,
        survival=lambda: survived()[at],
        drought_steps=drought_steps,
    )


def _drought_steps(setting: FarmSetting, at: int, drawn: Drawn) -> StepsOutcome | None:
    """Play a strategy without its drought steps, with the first, the first two, and so on."""
    strategy = setting.strategies[at]
    if not strategy.steps:
        return None
    found = _played(ladder_setting(setting, at), drawn.batches, drawn.drawn, None)
    return steps_outcome(strategy, found, drawn, setting.rules, partial(_odds, drawn))


def run_amounts(r: FarmResults) -> dict[str, FloatArray]:
    """Return what the whole run comes to, each (..., sequence); the names of RUN_AMOUNTS.

    Where a strategy has drought steps, of STEP_AMOUNTS too.
    """
    of_steps = {name: r[name][..., -1] for name in STEP_AMOUNTS if name in r.values}
    return of_steps | {
        "margin_aud": r["margin_aud"].sum(axis=-1),
        "closing_cash_aud": r["closing_cash_aud"][..., -1],
        "arrears_aud": r["arrears_aud"][..., -1],
        "water_left_aud": r["water_left_aud"][..., -1],
        "land_ready_aud": r["spent_on_land_aud"][..., -1],
        "crops_in_ground_aud": r["spent_on_crops_aud"][..., -1],
        "crop_unpaid_aud": r["receivable_aud"][..., -1],
        "tax_owing_aud": r["tax_owing_aud"][..., -1],
        "standing_aud": r["standing_aud"][..., -1],
        "peak_overdraft_aud": r["peak_overdraft_aud"].max(axis=-1),
        "past_limit_aud": r["past_limit_aud"].max(axis=-1),
        "water_used_ml": r["water_used_ml"].sum(axis=-1),
        "water_lost_ml": r["water_lost_ml"].sum(axis=-1),
    }


def _shares(months: FloatArray) -> dict[int, float]:
    """Return the part of the sequences that has each month."""
    found, counts = np.unique(months.astype(np.int64), return_counts=True)
    return {int(m): float(c) / months.size for m, c in zip(found, counts, strict=True)}
