"""How do the farms of a book stand together: how many in trouble at once, and what is lost?

Farms on one river meet the same dry years. Their sums are taken sequence by sequence, so what is
joint stays joint: how many miss a payment in the same season, what lenders are owed beyond the
terms in the worst tenth of the sequences, and which farms that comes from.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np

from model.book.farm import OWED
from model.book.joint import Together
from model.decide.amounts import Amount, amount_of, by_record_of, some
from model.decide.risk import WORST_FRAC
from model.outlook.chances import Estimate, chance
from model.outlook.outlook import RecordResampling
from model.record.record import FloatArray

PARTS: Final = (0.1, 0.25, 0.5)
"""Of the farms: the chance that as many or more are in trouble in the same season."""

Sums = Mapping[str, FloatArray]
"""(pool, season, different sequence) of a valley's farms, by the names of `farm.FarmPlayed`."""


class Ends(Protocol):
    """Mean and worst tenth of an amount: all that is told of it."""

    @property
    def mean(self) -> Estimate:
        """The mean, with both errors."""

    @property
    def worst_tenth(self) -> Estimate:
        """The mean of the worst tenth, with both errors."""


@dataclass(frozen=True, slots=True)
class Counted:
    """How many farms something happens to in the same season."""

    farms: Ends
    chance_any: Estimate  # that it happens to one farm or more
    chance_of_part: Mapping[float, Estimate]  # to such a part of the farms or more
    distribution: Mapping[int, float]  # number of farms: chance


@dataclass(frozen=True, slots=True)
class PoolSeason:
    """One season of farms together."""

    water_year: str
    missing: Counted  # a payment
    past_limit: Counted
    owed_aud: Ends  # beyond the terms, as the season ends


@dataclass(frozen=True, slots=True)
class Pool:
    """Farms together, each under one strategy."""

    strategy: str | None  # None: each under the first of its plan
    seasons: tuple[PoolSeason, ...]
    missing: Counted  # in that season of the run in which most do
    past_limit: Counted
    owed_aud: Ends  # as the run ends
    standing_aud: Ends
    margin_aud: Ends
    worst: Mapping[str, FloatArray]  # by valley, (different sequence,) its part of the worst tenth


@dataclass(frozen=True, slots=True)
class Scope:
    """Farms that are looked at together: those of a valley, or all."""

    name: str  # of the valley; empty: the whole book
    valleys: tuple[str, ...]  # their keys
    farms: int
    pools: tuple[Pool, ...]


@dataclass(frozen=True, slots=True)
class _Added:
    """Sums over farms, laid out by sequence."""

    sums: Mapping[str, Sums]  # by valley
    together: Mapping[str, Together]
    how: RecordResampling
    farms: int

    def of(self, name: str, pool: int) -> tuple[FloatArray, FloatArray]:
        """(season, sequence) and (season, resample x draws) a sum over all valleys."""
        own = sum(s[name][pool][:, self.together[key].drawn] for key, s in self.sums.items())
        again = sum(s[name][pool][:, self.together[key].resampled] for key, s in self.sums.items())
        return np.asarray(own), np.asarray(again)

    def amount(self, name: str, both: tuple[FloatArray, FloatArray]) -> Amount:
        """Return how an amount is spread, (sequence,) and (resample x draws,)."""
        return some(amount_of(name, lambda: both, self.how))

    def counted(self, name: str, both: tuple[FloatArray, FloatArray]) -> Counted:
        """Return how many farms there are at once."""
        own, again = both
        numbers, times = np.unique(own.astype(np.int64), return_counts=True)

        def at_least(farms: int) -> Estimate:
            by_record = by_record_of((again >= farms).astype(np.float64), self.how).mean(axis=1)
            return chance(own >= farms, by_record, self.how.widening.factor)

        return Counted(
            farms=self.amount(name, both),
            chance_any=at_least(1),
            chance_of_part={
                part: at_least(max(1, math.ceil(part * self.farms - 1e-9))) for part in PARTS
            },
            distribution={int(n): int(t) / own.size for n, t in zip(numbers, times, strict=True)},
        )


def reached_by(counted: Counted, farms: int) -> list[tuple[float, float]]:
    """Return with what chance so many farms or more are in trouble, as the corners of a line.

    Parameters
    ----------
    counted
        How many farms there are at once.
    farms
        In all.
    """
    numbers = sorted(n for n in counted.distribution if n > 0)
    chance = sum(counted.distribution[n] for n in numbers)
    corners, before = [], 1.0 if numbers else 0.0
    for n in numbers:
        corners += [(before, chance), (float(n), chance)]
        chance -= counted.distribution[n]
        before = float(n)
    return [*corners, (before, 0.0), (float(farms), 0.0)]


def scope_of(
    name: str,
    sums: Mapping[str, Sums],
    together: Mapping[str, Together],
    how: RecordResampling,
    strategies: tuple[str | None, ...],
    water_years: tuple[str, ...],
    farms: int,
) -> Scope:
    """Look at farms together.

    Parameters
    ----------
    name
        Of the valley; empty: the whole book.
    sums, together
        By key of the valley: sums over its farms; which sequences come together.
    how
        How records were resampled.
    strategies
        Of each pool.
    water_years
        Of each season.
    farms
        How many.
    """
    added = _Added(sums, together, how, farms)
    pools = (_pool(added, at, strategy, water_years) for at, strategy in enumerate(strategies))
    return Scope(name, tuple(sums), farms, tuple(pools))


def _pool(added: _Added, at: int, strategy: str | None, water_years: tuple[str, ...]) -> Pool:
    """Look at farms together, each under one strategy."""
    missing, past, owed = (
        added.of(name, at) for name in ("farms_missing", "farms_past_limit", OWED)
    )
    seasons = tuple(
        PoolSeason(
            water_year=water_year,
            missing=added.counted("farms_missing", _season(missing, number)),
            past_limit=added.counted("farms_past_limit", _season(past, number)),
            owed_aud=added.amount(OWED, _season(owed, number)),
        )
        for number, water_year in enumerate(water_years)
    )
    return Pool(
        strategy=strategy,
        seasons=seasons,
        missing=added.counted("farms_missing", (missing[0].max(axis=0), missing[1].max(axis=0))),
        past_limit=added.counted("farms_past_limit", (past[0].max(axis=0), past[1].max(axis=0))),
        owed_aud=seasons[-1].owed_aud,
        standing_aud=added.amount("standing_aud", _season(added.of("standing_aud", at), 0)),
        margin_aud=added.amount("margin_aud", _season(added.of("margin_aud", at), 0)),
        worst=_worst(added, owed[0][-1]),
    )


def _season(both: tuple[FloatArray, FloatArray], number: int) -> tuple[FloatArray, FloatArray]:
    """Return one season of both."""
    return both[0][number], both[1][number]


def _worst(added: _Added, owed_aud: FloatArray) -> dict[str, FloatArray]:
    """Return by valley how much each different sequence counts in the worst tenth."""
    weights = worst_weights(owed_aud)
    found = {}
    for key, sums in added.sums.items():
        counted = np.zeros(sums[OWED].shape[-1])
        np.add.at(counted, added.together[key].drawn, weights)
        found[key] = counted
    return found


def worst_weights(lost: FloatArray, worst_frac: float = WORST_FRAC) -> FloatArray:
    """Return how much each sequence counts in the mean of the worst part, adding up to 1.

    Those that are equally bad where the worst part ends share what is left of it.

    Parameters
    ----------
    lost
        (sequence,) high is bad.
    worst_frac
        The part that counts.

    Examples
    --------
    >>> worst_weights(np.array([0.0, 5.0, 5.0, 9.0]), 0.5).tolist()
    [0.0, 0.25, 0.25, 0.5]
    """
    counted = worst_frac * lost.size
    ends_at = np.sort(lost)[::-1][min(max(math.ceil(counted - 1e-9), 1), lost.size) - 1]
    beyond, level = lost > ends_at, lost == ends_at
    left = (counted - np.count_nonzero(beyond)) / np.count_nonzero(level)
    weights: FloatArray = np.where(beyond, 1.0, np.where(level, left, 0.0)) / counted
    return weights
