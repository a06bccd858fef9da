"""What is the best that could be decided, season by season, knowing only what is known by then?

A stochastic dynamic programme over a few seasons, worked backwards: the worth of a state is the
best, over the decisions open in it, of what the season is expected to bring and the worth of the
state it leads to. Between the points of a grid worth runs straight: a state that falls between
points counts as each of them with its weight.

Perfect foresight is the same recursion with each sequence known in advance, and so an upper bound;
a rule is the same with its own decisions. On the same sequences, rule <= programme <= foresight,
within the error of the draws.

Rewards are in whatever is to be made most of; a cost is a reward below 0. Axis order: state,
decision, outcome, and for what lies between grid points, corner.

References
----------
Bellman 1957, Dynamic Programming; Stedinger, Sule and Loucks 1984 (Water Resour. Res. 20:1499).
From memory.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.record.record import FloatArray

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


class Corners(NamedTuple):
    """Where points lie on a grid, each (..., corner); the weights of a point add up to 1."""

    state: IntArray
    weight: FloatArray


def locate(points: Sequence[FloatArray], axes: Sequence[FloatArray]) -> Corners:
    """Find the grid points round each point, and how near it is to each (multilinear).

    Parameters
    ----------
    points
        One array of coordinates for each axis, of one shape. Held within the grid.
    axes
        The rising coordinates of each axis. States are numbered with the last axis fastest.
    """
    sizes = [axis.size for axis in axes]
    shape = np.broadcast_shapes(*(point.shape for point in points))
    lower, upper_part = [], []
    for point, axis in zip(points, axes, strict=True):
        held = np.clip(np.broadcast_to(point, shape), axis[0], axis[-1])
        left = np.clip(np.searchsorted(axis, held, side="right") - 1, 0, max(axis.size - 2, 0))
        width = np.append(np.diff(axis), 1.0)[left]
        lower.append(left)
        upper_part.append((held - axis[left]) / width)
    state, weight = [], []
    for sides in itertools.product(*((0, 1) if size > 1 else (0,) for size in sizes)):
        index = np.zeros(shape, dtype=np.int64)
        part = np.ones(shape)
        for side, left, above, size in zip(sides, lower, upper_part, sizes, strict=True):
            index = index * size + left + side
            part = part * (above if side else 1.0 - above)
        state.append(index)
        weight.append(part)
    return Corners(np.stack(state, axis=-1), np.stack(weight, axis=-1))


@dataclass(frozen=True, slots=True)
class Season:
    """What each decision in each state brings and leads to, for each outcome of the season."""

    reward: FloatArray  # (state, decision, outcome)
    allowed: BoolArray  # (state, decision) at least one in each state
    ahead: Corners  # each (state, decision, outcome, corner), in the states of the season after


@dataclass(frozen=True, slots=True)
class Programme:
    """The best decision in each state of each season, and what it is worth from there on."""

    worth: tuple[FloatArray, ...]  # each season (state,)
    decision: tuple[IntArray, ...]  # each season (state,)


def solve(
    seasons: Sequence[Season], chances: Sequence[ArrayLike], final_worth: FloatArray
) -> Programme:
    """Work the programme backwards.

    Parameters
    ----------
    seasons
        In order.
    chances
        Of each season's outcomes: (outcome,), or (state, outcome) where they go with the state.
    final_worth
        (state,) of what the last season leads to.
    """
    worth = final_worth
    worths: list[FloatArray] = []
    decisions: list[IntArray] = []
    for season, chance in zip(reversed(seasons), reversed(chances), strict=True):
        total = season.reward + (season.ahead.weight * worth[season.ahead.state]).sum(axis=-1)
        likely = np.broadcast_to(np.asarray(chance), (total.shape[0], total.shape[2]))
        expected = np.where(season.allowed, np.einsum("sdo,so->sd", total, likely), -np.inf)
        decision = expected.argmax(axis=1)
        worth = np.take_along_axis(expected, decision[:, None], axis=1)[:, 0]
        worths.append(worth)
        decisions.append(decision)
    return Programme(tuple(reversed(worths)), tuple(reversed(decisions)))


def foresight(seasons: Sequence[Season], final_worth: FloatArray) -> FloatArray:
    """Return what each sequence is worth when all of it is known in advance, (state, sequence).

    Parameters
    ----------
    seasons
        In order, each laid out along the sequences: its outcomes are theirs.
    final_worth
        (state,) of what the last season leads to.
    """
    worth = _for_each_sequence(final_worth, seasons)
    for season in reversed(seasons):
        total = _total_along(season, worth)
        worth = np.where(season.allowed[:, :, None], total, -np.inf).max(axis=1)
    return worth


def _for_each_sequence(worth: FloatArray, seasons: Sequence[Season]) -> FloatArray:
    sequences = seasons[-1].reward.shape[2]
    return np.broadcast_to(worth[:, None], (worth.size, sequences))


def _total_along(season: Season, worth: FloatArray) -> FloatArray:
    """Add what a season brings and what it leads to, each sequence by its own worth."""
    own = np.arange(worth.shape[1])[:, None]
    total: FloatArray = season.reward + (season.ahead.weight * worth[season.ahead.state, own]).sum(
        axis=-1
    )
    return total
