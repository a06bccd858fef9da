"""How are the odds written down, so that anyone can make them again?

`outlook.json` carries the odds with everything they were made from; `sequences.csv` has one row for
each sequence and season.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping
from importlib.metadata import version
from typing import Any

import numpy as np

from model.files import plain
from model.outlook.chances import Estimate, Spread
from model.outlook.outlook import Outlook, PointOutlook, SeasonOutlook
from model.outlook.setting import Progress, Setting
from model.plan.types import Table
from model.sequences.drying import drying_of
from model.water_year import format_month

SEQUENCE_COLUMNS = (
    "inflow_ml",
    "announced_to_date_ml_per_share",
    "credited_ml_per_share",
    "high_security_allocation_frac",
    "high_security_ml",
    "general_security_ml",
    "spill_ml",
    "account_ml_per_share",
    "storage_end_ml",
)


def outlook_json(
    odds: Outlook, held: object = None, notes: Mapping[str, object] | None = None
) -> str:
    """Return the odds as JSON text; the program's version is on a line of its own.

    Parameters
    ----------
    odds
        Of all seasons.
    held
        The replay against what was announced, where the user has it.
    notes
        What a reader needs beside the numbers.
    """
    document = outlook_document(odds, held, notes)
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def outlook_document(
    odds: Outlook, held: object = None, notes: Mapping[str, object] | None = None
) -> dict[str, Any]:
    """Return the odds as what JSON holds; see `outlook_json`."""
    plan = odds.plan
    return {
        "title": plan.title,
        "invented": plan.invented,
        **{key: value for key, value in odds.method.items() if key == "method"},
        "settings": {key: value for key, value in odds.method.items() if key != "method"},
        "flow_factor": plan.sequences.flow_factor,
        "flow_elasticity": plan.sequences.flow_elasticity,
        "drying": plain(drying_of(odds.record, plan.sequences)),
        "drying_by_month": _table(plan.sequences.drying),
        "view": _table(plan.sequences.view),
        "view_runs": plain(odds.view_runs),
        "seed": plan.sequences.seed,
        "count": odds.count,
        "opening": plan.opening.model_dump(exclude={"sources"}),
        "record": {
            "name": odds.record.name,
            "months": odds.record.months,
            "span": list(odds.record.span),
            "sha256": odds.record.sha256,
            "filled": dict(odds.record.filled),
            "notes": list(odds.record.notes),
        },
        "version": version("seasons-in-hand"),
        "errors": {
            "record_resamples": odds.record_error.resamples,
            "record_draws_each": odds.record_error.draws_each,
            "record_block_years": odds.record_error.block_years,
            "record_widened_by": odds.record_error.widening.factor,
            "record_lag_1": odds.record_error.widening.lag_1,
            "record_effective_years": odds.record_error.widening.effective_years,
            "draws_independent": odds.method["method"] != "historical",
        },
        "seasons": [_season(season) for season in odds.seasons],
        "chance_none_running": [
            {"seasons": number, **_chance(season.chance_none_so_far)}
            for number, season in enumerate(odds.seasons, start=1)
        ],
        "announced": plain(held),
        "notes": notes or {},
    }


def sequences_csv(setting: Setting, progress: Progress | None = None) -> Iterator[str]:
    """Yield one row for each sequence and season as CSV text, batch by batch.

    The batches are played again: that is quicker than writing them, and a table of a million
    sequences never stands in memory whole.

    Parameters
    ----------
    setting
        What was run.
    progress
        Told after each batch.
    """
    seasons, first_month = setting.calendar.seasons, setting.record.first_month
    labels = [setting.calendar.water_year(season) for season in range(seasons)]
    month_of_row = [format_month(first_month + row) for row in range(setting.record.months)]
    yield _csv([["sequence", "season", "water_year", "record_start_month", *SEQUENCE_COLUMNS]])
    done = 0
    for number in range(setting.batch_count):
        first_rows, results = setting.played_batch(number)
        count = results.count
        yield _csv(
            zip(
                np.repeat(np.arange(done + 1, done + count + 1), seasons).tolist(),
                np.tile(np.arange(1, seasons + 1), count).tolist(),
                labels * count,
                [month_of_row[row] for row in first_rows.ravel().tolist()],
                *(results[name].ravel().tolist() for name in SEQUENCE_COLUMNS),
                strict=True,
            )
        )
        done += count
        if progress is not None:
            progress(done, setting.count)


def _csv(rows: Iterable[Iterable[object]]) -> str:
    """Return rows as CSV text."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def _table(stated: Table | None) -> dict[str, Any] | None:
    """Arrange a table of the plan; null where it is left out."""
    return None if stated is None else stated.model_dump()


def _season(season: SeasonOutlook) -> dict[str, Any]:
    """Arrange one season."""
    return {
        "water_year": season.water_year,
        "first_month": format_month(season.first_month),
        "last_month": format_month(season.last_month),
        **{name: _spread(amount) for name, amount in season.amounts.items()},
        "chance_none": _chance(season.chance_none),
        "at_planting": _point(season.planting),
        "at_finish": _point(season.finish),
        "at_end": _point(season.end),
    }


def _point(point: PointOutlook | None) -> dict[str, Any] | None:
    """Arrange one month of a season; null where it is past."""
    if point is None:
        return None
    return {
        "month": format_month(point.month),
        **{name: _spread(amount) for name, amount in point.amounts.items()},
    }


def _spread(amount: Spread) -> dict[str, Any]:
    """Arrange the spread of an amount, with the errors of each quantile."""
    return {
        "mean": amount.mean,
        "quantiles": {f"{frac:g}": e.value for frac, e in amount.quantiles.items()},
        "errors": {f"{frac:g}": _errors(e) for frac, e in amount.quantiles.items()},
    }


def _chance(estimate: Estimate) -> dict[str, Any]:
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
