"""Which method do the past years recommend, and what is it worth once choosing earns no praise?

Of `historical`, `blocks` and `present`, the one whose odds of the water announced erred least: the
mean, over this season and the next, of its mean CRPS as a part of the long-run record's. Of equal
ones the simplest; `historical` until ten stands are over. The other methods are shown and never
recommended: they were tried on rivers kept back, and choosing among more methods chose worse.

The skill printed for it is nested: at each stand, of the method that was best on the stands before
it, as far as their seasons were over. So a method that is best by luck earns nothing by it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np

from model.evidence.reliability import Scored, scored
from model.evidence.scores import skill
from model.record.record import FloatArray
from model.sequences.slices import IntArray

CANDIDATES: Final = ("historical", "blocks", "present")
"""The simplest first."""

SEASONS_COUNTED: Final = 2
"""Seasons by which a method is chosen: this one and the next."""

Score = Callable[[IntArray], float]
"""Scores some years, by their numbers."""

FEWEST_OVER: Final = 10
"""Stands that must be over before a method is chosen by them."""


@dataclass(frozen=True, slots=True)
class Recommendation:
    """The method that the past years recommend."""

    method: str
    error_frac: Mapping[str, float]  # by candidate: its CRPS as a part of the long-run record's
    stands_over: int
    chosen_at: Mapping[str, int]  # by candidate: at how many stands it was the best so far
    nested_skill: tuple[Scored, ...]  # by season, against the long-run record
    nested_gain: tuple[Scored, ...]  # by season, less the skill of `historical`


def error_fracs(
    crps: Sequence[FloatArray], reference: FloatArray, stands: int | None = None
) -> FloatArray:
    """Return the error of each method as a part of the reference's, as known at a stand.

    Parameters
    ----------
    crps
        By method, (stand, season); not a number where the season is not over.
    reference
        (stand, season)
    stands
        At which stand, from 0: a season counts from the stands where it was over by then; all that
        are over, if left out.

    Returns
    -------
    ndarray
        (method,) the mean over the seasons counted; a season whose reference made no error counts
        nothing, and without any the methods are equal.
    """
    total = np.zeros(len(crps))
    counted = 0
    for season in range(min(SEASONS_COUNTED, reference.shape[1])):
        over = np.isfinite(reference[:, season])
        if stands is not None:
            over[max(0, stands - season) :] = False
        if not over.any() or float(reference[over, season].mean()) <= 0.0:
            continue
        mean = float(reference[over, season].mean())
        total += np.array([float(each[over, season].mean()) / mean for each in crps])
        counted += 1
    return total / max(1, counted)


def best_at_each_stand(crps: Sequence[FloatArray], reference: FloatArray) -> IntArray:
    """Return the number of the method that was best on earlier stands, (stand,)."""
    best = np.zeros(len(reference), dtype=np.intp)
    for stand in range(FEWEST_OVER, len(reference)):
        best[stand] = int(np.argmin(error_fracs(crps, reference, stand)))
    return best


def recommend(
    crps: Mapping[str, FloatArray],
    reference: FloatArray,
    came: Callable[[int], IntArray],
    orders: Sequence[IntArray],
) -> Recommendation:
    """Choose a method by its hindcast.

    Parameters
    ----------
    crps
        By method, (stand, season), of the water announced.
    reference
        (stand, season) of the long-run record.
    came
        Gives the numbers of the stands of which a season (from 0) is over.
    orders
        By season, (resample, stand) as `resampled_years` gives them.
    """
    names = [name for name in CANDIDATES if name in crps] or list(crps)
    tried = [crps[name] for name in names]
    errors = error_fracs(tried, reference)
    over = came(0).size
    best = int(np.argmin(errors)) if over >= FEWEST_OVER else 0
    chosen = best_at_each_stand(tried, reference)
    nested = np.stack(tried)[chosen, np.arange(len(reference))]
    skills, gains = [], []
    for season, years in enumerate(orders):
        of = came(season)
        own, plain = nested[of, season], tried[0][of, season]
        skill_of = partial(_skill_on, own, reference[of, season])
        plain_of = partial(_skill_on, plain, reference[of, season])
        skills.append(scored(skill_of, years))
        gains.append(scored(partial(_less, skill_of, plain_of), years))
    return Recommendation(
        method=names[best],
        error_frac=dict(zip(names, errors.tolist(), strict=True)),
        stands_over=over,
        chosen_at={name: int(np.count_nonzero(chosen == at)) for at, name in enumerate(names)},
        nested_skill=tuple(skills),
        nested_gain=tuple(gains),
    )


def _skill_on(crps: FloatArray, reference: FloatArray, years: IntArray) -> float:
    """Return the skill over some years."""
    return skill(crps[years], reference[years])


def _less(one: Score, other: Score, years: IntArray) -> float:
    """Return how much more skill the one has over some years."""
    return one(years) - other(years)
