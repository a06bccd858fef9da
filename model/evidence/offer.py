"""Would a few other settings come nearer to what was announced? An offer, never made in silence.

Three settings that a user can rarely look up are tried over a bounded grid: how much the river
loses, what inflow the assessment counts on, and what others keep in their accounts. The best is
judged on years that it was not chosen on: the years are split into stretches, and each stretch is
scored with the setting that is best on the others. It is offered only where that error is lower
than the plan's own; the plan itself stays as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from typing import Any, Final

import numpy as np

from model.errors import Fault, InputError
from model.evidence.announced import Held, replayed_ml_per_share
from model.plan.announced import Announcements
from model.plan.plan import Plan
from model.record.record import FloatArray, Record
from model.water_year import parse_month

RIVER_LOSS_FACTORS: Final = (1.0, 0.5, 0.75, 1.25, 1.5)
OTHERS_KEEP_ML_PER_SHARE: Final = (0.0, 0.1, 0.2, 0.3)
ASSURED_PERCENTILES: Final = (0.01, 0.05, 0.1)

FEWEST_YEARS: Final = 10
"""Three settings chosen on fewer years would only be fitted to their accidents."""

STRETCHES: Final = 5

LEAST_GAIN_ML_PER_SHARE: Final = 0.005
"""Announced amounts are written to two digits: a smaller gain is within their rounding."""

Changes = Mapping[str, Any]
"""New values by dotted key of the plan."""


@dataclass(frozen=True, slots=True)
class Offer:
    """The settings that come nearest to what was announced."""

    changes: Changes  # empty where the plan's own are the best
    error_stated_ml_per_share: float  # mean size, with the plan as it is
    error_fitted_ml_per_share: float  # on the years it was chosen on
    error_unseen_ml_per_share: float  # on years it was not chosen on
    tried: int

    @property
    def worth_offering(self) -> bool:
        """Whether it is clearly better on years that it was not chosen on."""
        gain = self.error_stated_ml_per_share - self.error_unseen_ml_per_share
        return bool(self.changes) and gain >= LEAST_GAIN_ML_PER_SHARE


def fit_settings(
    plan: Plan,
    record: Record,
    announcements: Announcements,
    held: Held,
    progress: Callable[[int, int], None] | None = None,
) -> Offer:
    """Try other settings against what was announced.

    Parameters
    ----------
    plan, record, announcements
        As for `hold_against`; the plan's opening state is where the replay begins.
    held
        What `hold_against` gave: the replay begins in the same month.
    progress
        Is told how many settings are done.

    Raises
    ------
    InputError
        Too few years.
    """
    years = len(announcements.months)
    if years < FEWEST_YEARS:
        fault = Fault(
            announcements.name, str(years), "too few years to choose settings by",
            f"{FEWEST_YEARS} years or more",
        )  # fmt: skip
        raise InputError(announcements.name, [fault])
    tried = list(settings_tried(plan))
    errors = np.empty((len(tried), years))
    for at, changes in enumerate(tried):
        replayed = replayed_ml_per_share(
            with_changes(plan, changes), record, announcements, parse_month(held.replayed_from)
        )
        errors[at] = np.abs(replayed - np.array(announcements.ml_per_share))
        if progress is not None:
            progress(at + 1, len(tried))
    best = int(np.argmin(errors.mean(axis=1)))
    return Offer(
        changes=tried[best],
        error_stated_ml_per_share=float(errors[0].mean()),
        error_fitted_ml_per_share=float(errors[best].mean()),
        error_unseen_ml_per_share=unseen_error(errors),
        tried=len(tried),
    )


def unseen_error(errors: FloatArray) -> float:
    """Return the mean error on years left out: each stretch with what is best on the others.

    Parameters
    ----------
    errors
        (setting, year)
    """
    stretches = np.array_split(np.arange(errors.shape[1]), STRETCHES)
    unseen = []
    for stretch in stretches:
        others = np.delete(errors, stretch, axis=1)
        unseen.append(errors[int(np.argmin(others.mean(axis=1))), stretch])
    return float(np.concatenate(unseen).mean())


def settings_tried(plan: Plan) -> Iterator[Changes]:
    """List the settings that are tried, the plan's own first; only what differs is named."""
    valley = plan.valley
    stated_keep = valley.general_security.others_keep_ml_per_share
    keeps = (stated_keep, *(keep for keep in OTHERS_KEEP_ML_PER_SHARE if keep != stated_keep))
    for assured, factor, keep in product(_assured_rules(plan), RIVER_LOSS_FACTORS, keeps):
        changes: dict[str, Any] = dict(assured)
        if factor != 1.0:
            losses = tuple(round(loss * factor, 6) for loss in valley.river_loss_ml)
            changes["valley.river_loss_ml"] = losses
        if keep != stated_keep:
            changes["valley.general_security.others_keep_ml_per_share"] = keep
        yield changes


def with_changes(plan: Plan, changes: Changes) -> Plan:
    """Return the plan with some values replaced.

    Examples
    --------
    >>> from model.plan.shipped import demonstration_plan
    >>> from model.plan.text import read_plan
    >>> plan = with_changes(read_plan(demonstration_plan()), {"opening.storage_ml": 5_000.0})
    >>> plan.opening.storage_ml
    5000.0
    """
    for dotted, value in changes.items():
        plan = _replaced(plan, dotted.split("."), value)
    return plan


def _assured_rules(plan: Plan) -> list[dict[str, Any]]:
    """List what inflow may be counted on, the plan's own rule first."""
    stated = plan.valley.assessment
    rules: list[dict[str, Any]] = [{}]
    if stated.assured_inflow != "worst":
        rules.append(_assured("worst"))
    rules += [
        _assured("percentile", frac)
        for frac in ASSURED_PERCENTILES
        if frac != stated.assured_percentile_frac
    ]
    return rules


def _assured(rule: str, percentile_frac: float | None = None) -> dict[str, Any]:
    prefix = "valley.assessment.assured"
    return {
        f"{prefix}_inflow": rule,
        f"{prefix}_percentile_frac": percentile_frac,
        f"{prefix}_fixed_ml_per_month": None,
    }


def _replaced(table: Any, keys: list[str], value: object) -> Any:
    """Replace one value of nested tables."""
    key, *rest = keys
    new = _replaced(getattr(table, key), rest, value) if rest else value
    return table.model_copy(update={key: new})
