"""What were one stand's odds, and how far were they from what came?

At a stand each method draws its sequences from the record known there, the valley is run through
them from where the replay has it, and the odds of the season's end are scored against what the
replay then gave. One stand knows nothing of another, so stands can be tried in any order, and what
is done is not lost when the trial is stopped.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.evidence.calibration import pit
from model.evidence.choosers import Chooser
from model.evidence.long_run import events
from model.evidence.scores import crps
from model.evidence.walk import Stand, repeated
from model.plan.plan import Plan
from model.record.record import FloatArray
from model.sequences.draw import Calendar, draw_sequences, slices_of
from model.sequences.fallback import Because, Fallback
from model.sequences.slices import Method, Sequences
from model.streams import Stream, generator
from model.valley.run import run
from model.valley.state import forcing_of

AMOUNTS: Final = ("announced", "storage")
"""Water announced to date (ML per share) and the dam (ML), both at the season's end."""

QUANTILES: Final = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)

STREAM_OF: Final = {"historical": 0, "blocks": 1, "neighbours": 2, "regimes": 3, "present": 4}
"""Each method's child stream at every stand, whichever others are tried beside it."""


@dataclass(frozen=True, slots=True)
class Came:
    """What came after a stand, each (season,); not a number where it has not yet."""

    observed: Mapping[str, FloatArray]  # by amount
    uniforms: Mapping[str, FloatArray]  # by amount, for places among ties
    low_ml_per_share: float  # event `low`: no more than this is announced


@dataclass(frozen=True, slots=True)
class StandScored:
    """One method's odds at one stand against what came, each (season,)."""

    crps: Mapping[str, tuple[float, ...]]  # by amount
    pit: Mapping[str, tuple[float, ...]]  # by amount
    mean: Mapping[str, tuple[float, ...]]  # by amount
    quantiles: Mapping[str, tuple[tuple[float, ...], ...]]  # by amount, (quantile, season)
    chance: Mapping[str, tuple[float, ...]]  # by event
    stood_in: Because | None  # why another method stood in; None where none did


def look_ahead_from(
    plan: Plan, stand: Stand, year: int, name: str, choose: Chooser, came: Came, draws: int
) -> StandScored:
    """Look ahead from one stand with one method, and score it.

    Parameters
    ----------
    plan
        The valley and its rules.
    stand, year
        Where it stands, and its number.
    name, choose
        The method.
    came
        What came.
    draws
        Sequences drawn.
    """
    calendar = Calendar(stand.month, plan.sequences.seasons)
    slices = slices_of(stand.known, calendar)
    method = choose(slices, stand.known, calendar)
    rng = generator(plan.sequences.seed, Stream.HINDCAST, year, STREAM_OF.get(name, len(STREAM_OF)))
    sequences = draw_sequences(method, slices, calendar, draws, rng=rng)
    members = _play(plan, stand, calendar, sequences)
    more = members["announced"].copy()
    more[0] -= stand.state.water_to_date_ml_per_share
    said = events(members["announced"], more, came.low_ml_per_share)
    return StandScored(
        crps={a: _numbers(crps(members[a], came.observed[a])) for a in AMOUNTS},
        pit={a: _numbers(_places(members[a], came.observed[a], came.uniforms[a])) for a in AMOUNTS},
        mean={a: _numbers(members[a].mean(axis=1)) for a in AMOUNTS},
        quantiles={
            a: tuple(map(_numbers, np.quantile(members[a], QUANTILES, axis=1))) for a in AMOUNTS
        },
        chance={event: _numbers(each.mean(axis=1)) for event, each in said.items()},
        stood_in=_why_another(method),
    )


def _play(
    plan: Plan, stand: Stand, calendar: Calendar, sequences: Sequences
) -> dict[str, FloatArray]:
    """Run the valley from a stand; return amounts at each season's end, (season, member)."""
    forcing = forcing_of(sequences.rows, stand.known, plan.valley, factors=sequences.factors)
    opening = repeated(stand.state, len(sequences))
    months = run(opening, forcing, stand.rules, calendar.opening_month)
    ends_t = {calendar.last_t(season) for season in range(calendar.seasons)}
    ends = [month.end for t, month in enumerate(months) if t in ends_t]
    return {
        "announced": np.stack([end.water_to_date_ml_per_share for end in ends]),
        "storage": np.stack([end.storage_ml for end in ends]),
    }


def _places(members: FloatArray, observed: FloatArray, uniforms: FloatArray) -> FloatArray:
    """Return the place of what came among the members, drawn among ties."""
    return np.where(np.isfinite(observed), pit(members, observed, uniforms), np.nan)


def _why_another(method: Method) -> Because | None:
    """Return why another method stands in for the one asked for; None where none does."""
    return method.because if isinstance(method, Fallback) else None


def _numbers(values: FloatArray) -> tuple[float, ...]:
    return tuple(values.tolist())
