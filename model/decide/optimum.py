"""How good is good: what share of the best that could be done does a way of planting reach?

The yardstick is the yearly farm (see `yearly`), for which the best decisions can be worked out: a
programme over the dam, the own account and whether it has been dry, which is what may be known at
planting. What a year brings, given these, is taken from training sequences: of those in the same
regime, the ones whose dam was nearest. Perfect foresight, each sequence known in advance, bounds it
from above. On the same sequences, rule <= programme <= foresight, within the error of the draws.

The yardstick's own error: worth runs straight between the points of its grid, and the programme
knows no more than dam, account and regime. A rule that knows more may pass it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.decide.programme import BoolArray, Corners, IntArray, Season, foresight, locate, solve
from model.decide.yearly import Rule, YearlyCases, YearlyFarm, YearWater, play
from model.record.record import FloatArray

DAM_POINTS: Final = 9
ACCOUNT_POINTS: Final = 21
AREAS: Final = 31
NEIGHBOURS: Final = 60
"""Cases that stand for a year, given dam and regime: enough for a mean, few enough to be near."""

FORESIGHT_SEQUENCES: Final = 500
"""Worked at once, for memory."""

_REGIMES: Final = np.array([0.0, 1.0])  # not dry, dry


@dataclass(frozen=True, slots=True)
class FarmProgramme:
    """The best area by season, dam, regime and account, as far as the grid shows it."""

    axes: tuple[tuple[FloatArray, FloatArray, FloatArray], ...]  # of each season
    area_ha: tuple[FloatArray, ...]  # of each season (state,)

    def rule(self, cases: YearlyCases) -> Rule:
        """Return the programme as a rule, for sequences of which it sees what is known by then."""

        def area_ha(season: int, account: FloatArray) -> FloatArray:
            known = [cases.dam_frac[:, season], cases.dry[:, season].astype(np.float64), account]
            at = locate(known, self.axes[season])
            area: FloatArray = (self.area_ha[season][at.state] * at.weight).sum(axis=-1)
            return area

        return area_ha


def fit_programme(farm: YearlyFarm, training: YearlyCases) -> FarmProgramme:
    """Work out the programme from training sequences, which are not the ones played.

    Parameters
    ----------
    farm
        The yearly farm.
    training
        As many seasons as will be played.
    """
    account = np.linspace(0.0, _most_held(farm, training), ACCOUNT_POINTS)
    areas_ha = np.linspace(0.0, farm.land_ha, AREAS)
    axes = [
        (_dam_points(training.dam_frac[:, season]), _REGIMES, account)
        for season in range(training.seasons)
    ]
    seasons, chances = [], []
    for season in range(training.seasons):
        nearest, chance = _nearest(training, season, axes[season][0])
        seasons.append(_season(farm, training, season, nearest, axes, areas_ha))
        chances.append(np.repeat(chance, ACCOUNT_POINTS, axis=0))
    best = solve(seasons, chances, farm.end_worth_aud(account))
    return FarmProgramme(tuple(axes), tuple(areas_ha[decision] for decision in best.decision))


def _most_held(farm: YearlyFarm, cases: YearlyCases) -> float:
    """Return the top of the account's axis, ML per share."""
    reached = float(cases.opening_ml_per_share.max()) + float(
        (cases.water.early_ml_per_share + cases.water.late_ml_per_share).sum(axis=1).max()
    )
    return min(farm.account_limit_ml_per_share, max(reached, 0.1))


def _dam_points(dam_frac: FloatArray) -> FloatArray:
    """Place the dam's points where sequences are: at its quantiles."""
    return np.unique(np.quantile(dam_frac, np.linspace(0.0, 1.0, DAM_POINTS)).round(6))


def _nearest(
    cases: YearlyCases, season: int, dam_points: FloatArray
) -> tuple[IntArray, FloatArray]:
    """Find the cases that stand for each dam point and regime, each (point and regime, case).

    Where a regime has too few cases its own count for more; where it has none, all cases stand in.
    """
    dam_frac, dry = cases.dam_frac[:, season], cases.dry[:, season]
    count = min(NEIGHBOURS, dam_frac.size)
    nearest, chances = [], []
    for point in dam_points:
        for regime in (False, True):
            own = np.flatnonzero(dry == regime)
            pool = own if own.size else np.arange(dry.size)
            order = pool[np.argsort(np.abs(dam_frac[pool] - point), kind="stable")][:count]
            nearest.append(np.resize(order, count))
            chances.append(np.where(np.arange(count) < order.size, 1.0 / order.size, 0.0))
    return np.array(nearest), np.array(chances)


def _season(
    farm: YearlyFarm,
    cases: YearlyCases,
    season: int,
    nearest: IntArray,
    axes: list[tuple[FloatArray, FloatArray, FloatArray]],
    areas_ha: FloatArray,
) -> Season:
    """Work out what each area brings and leads to, from each state, in each case."""
    account = axes[season][2]
    water = YearWater(*(values[:, season][nearest][:, None, None, :] for values in cases.water))
    year = farm.year(account[None, :, None, None], areas_ha[None, None, :, None], water)
    states, outcomes = nearest.shape[0] * account.size, nearest.shape[1]
    if season + 1 < cases.seasons:
        following = [
            values[:, season + 1][nearest][:, None, None, :].astype(np.float64)
            for values in (cases.dam_frac, cases.dry)
        ]
        ahead = locate([*following, year.account_ml_per_share], axes[season + 1])
    else:
        ahead = locate([year.account_ml_per_share], [account])
    shape = (states, areas_ha.size, outcomes)
    corners = ahead.state.shape[-1]
    return Season(
        year.margin_aud.reshape(shape),
        np.ones(shape[:2], dtype=np.bool_),
        Corners(ahead.state.reshape(*shape, corners), ahead.weight.reshape(*shape, corners)),
    )


def foresight_aud(farm: YearlyFarm, cases: YearlyCases) -> FloatArray:
    """Return what each sequence would be worth, were all of it known in advance, (sequence,)."""
    parts = [
        _foresight_of_part(farm, cases.part(first, first + FORESIGHT_SEQUENCES))
        for first in range(0, cases.dam_frac.shape[0], FORESIGHT_SEQUENCES)
    ]
    return np.concatenate(parts)


def _foresight_of_part(farm: YearlyFarm, cases: YearlyCases) -> FloatArray:
    account = np.linspace(0.0, _most_held(farm, cases), 2 * ACCOUNT_POINTS - 1)
    areas_ha = np.linspace(0.0, farm.land_ha, 2 * AREAS - 1)
    seasons = []
    for season in range(cases.seasons):
        year = farm.year(account[:, None, None], areas_ha[None, :, None], cases.season(season))
        ahead = locate([year.account_ml_per_share], [account])
        allowed: BoolArray = np.ones((account.size, areas_ha.size), dtype=np.bool_)
        seasons.append(Season(year.margin_aud, allowed, ahead))
    worth = foresight(seasons, farm.end_worth_aud(account))
    at = locate([cases.opening_ml_per_share], [account])
    own = np.arange(cases.opening_ml_per_share.size)[:, None]
    held: FloatArray = (worth[at.state, own] * at.weight).sum(axis=-1)
    return held


@dataclass(frozen=True, slots=True)
class Reached:
    """What a way of planting is worth on the yearly farm, and what share of the best it reaches."""

    mean_aud: float
    error_aud: float  # standard error over the sequences
    behind_programme_aud: float
    behind_programme_error_aud: float  # of the difference, sequence by sequence
    share_of_programme_frac: float  # of what the programme gains over planting nothing
    share_of_foresight_frac: float


@dataclass(frozen=True, slots=True)
class ConstantArea:
    """The same area in every season: the one that earned most on the training sequences."""

    area_ha: float
    reached: Reached


@dataclass(frozen=True, slots=True)
class Yardstick:
    """Ways of planting against the programme and perfect foresight, on the same sequences."""

    ways: Mapping[str, Reached]
    constant: ConstantArea
    programme: Reached
    foresight: Reached
    nothing_aud: float  # mean worth of never planting


def measure(
    farm: YearlyFarm, training: YearlyCases, played: YearlyCases, ways: Mapping[str, Rule]
) -> Yardstick:
    """Measure ways of planting against the best.

    Parameters
    ----------
    farm
        The yearly farm.
    training, played
        Sequences the programme is fitted on, and other sequences on which all is compared.
    ways
        Rules by name; each sees only what is known at planting.
    """
    best = play(farm, played, fit_programme(farm, training).rule(played))
    known = foresight_aud(farm, played)
    nothing = play(farm, played, lambda season, account: np.zeros_like(account))

    def reached(worth: FloatArray) -> Reached:
        behind = best - worth
        gained = float((worth - nothing).mean())
        return Reached(
            mean_aud=float(worth.mean()),
            error_aud=_error(worth),
            behind_programme_aud=float(behind.mean()),
            behind_programme_error_aud=_error(behind),
            share_of_programme_frac=_share(gained, float((best - nothing).mean())),
            share_of_foresight_frac=_share(gained, float((known - nothing).mean())),
        )

    area_ha = best_constant_ha(farm, training)
    return Yardstick(
        ways={name: reached(play(farm, played, rule)) for name, rule in ways.items()},
        constant=ConstantArea(area_ha, reached(play(farm, played, always(area_ha)))),
        programme=reached(best),
        foresight=reached(known),
        nothing_aud=float(nothing.mean()),
    )


def always(area_ha: float) -> Rule:
    """Return the rule that plants the same area whatever is known."""
    return lambda season, account: np.full_like(account, area_ha)


def best_constant_ha(farm: YearlyFarm, training: YearlyCases) -> float:
    """Return the area that, planted in every season, earns most on average."""
    areas_ha = np.linspace(0.0, farm.land_ha, AREAS)
    worth_aud = [play(farm, training, always(area_ha)).mean() for area_ha in areas_ha.tolist()]
    return float(areas_ha[int(np.argmax(worth_aud))])


def _error(values: FloatArray) -> float:
    return float(values.std(ddof=1)) / math.sqrt(values.size) if values.size > 1 else math.nan


def _share(gained: float, best: float) -> float:
    return gained / best if best > 0.0 else math.nan
