"""How is a comparison written down, so that anyone can make it again?

`compare.json` carries the odds with everything they were made from; `outcomes.csv` has one row for
each strategy, sequence and season, `crops.csv` one for each crop and row layout of it.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from importlib.metadata import version
from typing import Any, Final, NamedTuple

import numpy as np

from model.decide.amounts import Amount
from model.decide.compare import Comparison, CropOutcome, SeasonOutcome, StrategyOutcome
from model.decide.last_megalitre import LastMegalitre
from model.decide.optimum import Reached, Yardstick
from model.decide.steps_taken import StepsOutcome
from model.evidence.announced import Held
from model.farm.measures import of_layout
from model.farm.price import PriceMet
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting
from model.files import defused, plain
from model.outlook.chances import Estimate
from model.outlook.setting import Progress
from model.record.record import FloatArray
from model.sequences.drying import drying_of
from model.sequences.slices import IntArray
from model.water_year import MONTH_NAMES, format_month

OUTCOME_COLUMNS: Final = (
    "area_planted_ha",
    "area_finished_ha",
    "yield_bales_per_ha",
    "water_used_ml",
    "water_carried_ml",
    "water_lost_ml",
    "water_bought_ml",
    "water_sold_ml",
    "income_aud",
    "costs_aud",
    "margin_aud",
    "closing_cash_aud",
    "peak_overdraft_aud",
    "debt_service_aud",
    "cover",
    "area_prepared_ha",
    "margin_aud_per_ha",
    "margin_aud_per_ml",
    "water_credited_ml",
    "water_spilled_ml",
    "receivable_aud",
    "arrears_aud",
    "interest_cover",
    "term_debt_cover",
    "debt_aud",
    "equity_frac",
    "loan_to_value_frac",
    "worth_left_aud",
)


def compare_json(
    found: Comparison,
    yardstick: Yardstick | None,
    last: Sequence[LastMegalitre] = (),
    held: Held | None = None,
    notes: Mapping[str, object] | None = None,
) -> str:
    """Return a comparison as JSON text; the program's version is on a line of its own.

    Parameters
    ----------
    found
        The comparison.
    yardstick
        The strategies against the best; None where the run opens after planting.
    last
        What one more megalitre is worth under each strategy.
    held
        The replay against what was announced, where the user has it.
    notes
        What a reader needs beside the numbers.
    """
    method = found.setting.valley.method.settings()
    document = {
        **made_from(found.setting, found.count),
        "loan_payments_due": found.setting.rules.cash.payments_due,
        "yearly_water_price": price_json(found.setting.prices_met()),
        "errors": {
            "record_resamples": found.record_error.resamples,
            "record_draws_each": found.record_error.draws_each,
            "record_block_years": found.record_error.block_years,
            "draws_independent": method["method"] != "historical",
        },
        "nothing_announced_running": [
            {"seasons": number, **chance_json(estimate)}
            for number, estimate in enumerate(found.nothing_running, start=1)
        ],
        "strategies": [_strategy(outcome) for outcome in found.outcomes],
        "last_megalitre": [_last_megalitre(one) for one in last],
        "how_good": how_good_table(yardstick),
        "announced": plain(held),
        "notes": notes or {},
    }
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def made_from(setting: FarmSetting, count: int) -> dict[str, Any]:
    """Return what a file's numbers were made from; the program's version is on its own line."""
    valley = setting.valley
    plan, record, method = valley.plan, valley.record, valley.method.settings()
    return {
        "title": plan.title,
        "invented": plan.invented,
        "farm": setting.farm.name,
        "method": method["method"],
        "settings": {key: value for key, value in method.items() if key != "method"},
        "flow_factor": plan.sequences.flow_factor,
        "flow_elasticity": plan.sequences.flow_elasticity,
        "drying": plain(drying_of(record, plan.sequences)),
        "seed": plan.sequences.seed,
        "count": count,
        "opening": plan.opening.model_dump(),
        "farm_opening": setting.farm.opening.model_dump(),
        "record": {
            "name": record.name,
            "months": record.months,
            "span": list(record.span),
            "sha256": record.sha256,
            "filled": dict(record.filled),
            "notes": list(record.notes),
        },
        "version": version("seasons-in-hand"),
    }


SEQUENCES_AT_ONCE: Final = 10_000
"""Written at once: the text of a table is never in memory whole."""


def outcomes_csv(
    found: Comparison, results: FarmResults, progress: Progress | None = None
) -> Iterator[str]:
    """Yield one row for each strategy, sequence and season as CSV text, piece by piece.

    No number is blank.

    Parameters
    ----------
    found
        The comparison.
    results
        What every season of every sequence brought, (strategy, sequence, season).
    progress
        Told after each piece how many sequences of all strategies are written.
    """
    columns = (*OUTCOME_COLUMNS, "lowest_cash_month")
    yield _csv([["strategy", "sequence", "season", "water_year", *columns]])
    for piece in _pieces(found, results, progress):
        count, seasons = piece.sequences.size, len(piece.labels)
        lowest = piece.results["lowest_cash_month"].ravel().tolist()
        yield _csv(
            zip(
                [piece.strategy] * (count * seasons),
                np.repeat(piece.sequences, seasons).tolist(),
                np.tile(np.arange(1, seasons + 1), count).tolist(),
                piece.labels * count,
                *(_column(piece.results[name]) for name in OUTCOME_COLUMNS),
                [format_month(int(month)) for month in lowest],
                strict=True,
            )
        )


CROP_COLUMNS: Final = (
    "area_sown_ha",
    "area_harvested_ha",
    "production_units",
    "yield_units_per_ha",
    "water_used_ml",
    "income_aud",
    "costs_aud",
    "margin_aud",
    "margin_aud_per_ml",
    "harvest_water_ml",
)
"""Margin a megalitre is of the last column's water: a winter crop drinks in two water years."""


def crops_csv(
    found: Comparison, results: FarmResults, progress: Progress | None = None
) -> Iterator[str]:
    """Yield one row for each strategy, sequence, season, crop and row layout, piece by piece.

    Parameters
    ----------
    found, results, progress
        As in `outcomes_csv`.
    """
    head = ("strategy", "sequence", "season", "water_year", "crop", "layout", "unit")
    yield _csv([[*head, *CROP_COLUMNS]])
    layouts = found.setting.rules.layouts
    for piece in _pieces(found, results, progress):
        count, seasons = piece.sequences.size, len(piece.labels)
        rows = count * seasons
        yield _csv(
            zip(
                [piece.strategy] * (rows * len(layouts)),
                np.repeat(piece.sequences, seasons * len(layouts)).tolist(),
                np.tile(np.repeat(np.arange(1, seasons + 1), len(layouts)), count).tolist(),
                [label for label in piece.labels for _ in layouts] * count,
                [defused(layout.crop) for layout in layouts] * rows,
                [defused(layout.layout) for layout in layouts] * rows,
                [defused(layout.unit) for layout in layouts] * rows,
                *(_column(_by_layout(piece, name, len(layouts))) for name in CROP_COLUMNS),
                strict=True,
            )
        )


class _Piece(NamedTuple):
    """Some sequences of one strategy."""

    strategy: str  # as a table may hold it
    sequences: IntArray  # numbered from 1
    labels: list[str]  # the water year of each season
    results: FarmResults  # (sequence, season)


def _pieces(found: Comparison, results: FarmResults, progress: Progress | None) -> Iterator[_Piece]:
    """Yield the sequences of one strategy after the other, some at once."""
    strategies, sequences, seasons = results["margin_aud"].shape
    labels = [found.setting.valley.calendar.water_year(season) for season in range(seasons)]
    for at, strategy in enumerate(found.setting.strategies):
        of_strategy = results.of_strategy(at)
        for first in range(0, sequences, SEQUENCES_AT_ONCE):
            some = np.arange(first, min(sequences, first + SEQUENCES_AT_ONCE))
            part = of_strategy.of_some(slice(some[0], some[-1] + 1))
            yield _Piece(defused(strategy.name), some + 1, labels, part)
            if progress is not None:
                progress(at * sequences + int(some[-1]) + 1, strategies * sequences)


def _csv(rows: Iterable[Iterable[object]]) -> str:
    """Return rows as CSV text."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def _by_layout(piece: _Piece, name: str, layouts: int) -> FloatArray:
    """(row,) a column: sequences, within them seasons, within them row layouts."""
    of_each = [of_layout(piece.results, name, place) for place in range(layouts)]
    return np.stack(of_each, axis=-1).ravel()


def _blank(number: float) -> float | str:
    """Return a number, or nothing where there is none."""
    return "" if math.isnan(number) else number


def _column(values: FloatArray) -> list[float | str]:
    """Arrange a column; blank where there is no number."""
    return [_blank(number) for number in values.ravel().tolist()]


def _strategy(outcome: StrategyOutcome) -> dict[str, Any]:
    """Arrange one strategy."""
    return {
        "name": outcome.strategy.name,
        "rules": outcome.strategy.model_dump(),
        "whole_run": {
            **{name: amount_json(amount) for name, amount in outcome.whole_run.items()},
            "chances": {name: chance_json(estimate) for name, estimate in outcome.chances.items()},
        },
        "dry_seasons_survived": {
            "seasons": outcome.dry_seasons_survived,
            "of_at_most": outcome.dry_seasons_tried,
        },
        "drought_steps": _drought_steps(outcome.drought_steps()),
        "seasons": [_season(season) for season in outcome.seasons],
    }


def _drought_steps(found: StepsOutcome | None) -> dict[str, Any] | None:
    """Arrange what drought steps brought: how often, when, and the ladder; None: there are none."""
    if found is None:
        return None
    return {
        "taken": [
            {
                "name": taken.step.name,
                "month": taken.step.when.month,
                "some_time": chance_json(taken.some_time),
                "by_season": [chance_json(each) for each in taken.by_season],
            }
            for taken in found.taken
        ],
        "ladder": [
            {
                "steps": rung.steps,
                "payment_missed": chance_json(rung.payment_missed),
                "past_overdraft_limit": chance_json(rung.past_overdraft_limit),
                **{name: amount_json(amount) for name, amount in rung.amounts.items()},
                "changed_from_without": {
                    name: chance_json(change) for name, change in rung.changed.items()
                },
            }
            for rung in found.ladder
        ],
    }


def _season(season: SeasonOutcome) -> dict[str, Any]:
    """Arrange one season of one strategy."""
    return {
        "water_year": season.water_year,
        **{
            name: None if amount is None else amount_json(amount)
            for name, amount in season.amounts.items()
        },
        "chances": {name: chance_json(estimate) for name, estimate in season.chances.items()},
        "lowest_cash_month": {
            format_month(month): frac for month, frac in season.lowest_cash_months.items()
        },
        "crops": [_crop(crop) for crop in season.crops],
    }


def _crop(crop: CropOutcome) -> dict[str, Any]:
    """Arrange what a crop in a row layout brings in a season."""
    return {
        "crop": crop.crop,
        "layout": crop.layout,
        "unit": crop.unit,
        **{
            name: None if amount is None else amount_json(amount)
            for name, amount in crop.amounts.items()
        },
    }


def amount_json(amount: Amount) -> dict[str, Any]:
    """Arrange an amount with its errors."""
    return {
        "mean": amount.mean.value,
        "mean_errors": _errors(amount.mean),
        "worst_tenth": amount.worst_tenth.value,
        "worst_tenth_errors": _errors(amount.worst_tenth),
        "quantiles": {f"{frac:g}": e.value for frac, e in amount.spread.quantiles.items()},
        "errors": {f"{frac:g}": _errors(e) for frac, e in amount.spread.quantiles.items()},
        "sequences_frac": amount.sequences_frac,
    }


def chance_json(estimate: Estimate) -> dict[str, Any]:
    """Arrange a chance."""
    return {"value": estimate.value, **_errors(estimate)}


def _errors(estimate: Estimate) -> dict[str, float | None]:
    """Arrange both errors."""
    return {
        "low": estimate.draws_low,
        "high": estimate.draws_high,
        "record_low": estimate.record_low,
        "record_high": estimate.record_high,
    }


def price_json(met: PriceMet | None) -> dict[str, Any] | None:
    """Return what yearly water costs in the run, beside the plan's reference; None: no market."""
    if met is None:
        return None
    by_month = zip(MONTH_NAMES, met.by_month_aud_per_ml.tolist(), strict=True)
    return {
        "median_aud_per_ml": met.median_aud_per_ml,
        "reference_aud_per_ml": met.reference_aud_per_ml,
        "within_a_third": met.is_near,
        "median_before_month_factor_aud_per_ml": {
            name: None if math.isnan(price) else price for name, price in by_month
        },
    }


def how_good_table(found: Yardstick | None) -> dict[str, Any] | None:
    """Return what share of the best the strategies reach; None where it cannot be measured."""
    if found is None:
        return None
    return {
        "no_cotton_aud": found.nothing_aud,
        "best_rule": _way(found.programme),
        "best_constant_area": {"area_ha": found.constant.area_ha, **_way(found.constant.reached)},
        "perfect_foresight": _way(found.foresight),
        "strategies": [{"name": name, **_way(way)} for name, way in found.ways.items()],
    }


def _way(way: Reached) -> dict[str, float | None]:
    """Arrange one way, with standard errors of the draws; None where there is no such number."""
    numbers = {
        "mean_aud": way.mean_aud,
        "error_aud": way.error_aud,
        "behind_best_rule_aud": way.behind_programme_aud,
        "behind_best_rule_error_aud": way.behind_programme_error_aud,
        "share_of_best_rule_frac": way.share_of_programme_frac,
        "share_of_foresight_frac": way.share_of_foresight_frac,
    }
    return {name: None if math.isnan(number) else number for name, number in numbers.items()}


def _last_megalitre(one: LastMegalitre) -> dict[str, Any]:
    """Arrange what one more megalitre is worth under one strategy."""
    return {
        "name": one.strategy,
        "area_ha": one.area_ha,
        "sequences": one.sequences,
        "best_use": one.best_use(),
        "told_apart": one.told_apart,
        "best_by_step": list(one.lead),
        "uses": plain(one.curves),
        "crossings": plain(one.crossings),
    }
