"""The programme against cases solved exactly apart from it, and what is published of carrying."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import gamma

from model.decide.programme import (
    Corners,
    Programme,
    Season,
    foresight,
    locate,
    solve,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


def along_sequences(season: Season, outcomes: IntArray) -> Season:
    """Lay a season out along sequences, (sequence,) outcomes, in the place of outcomes."""
    ahead = Corners(season.ahead.state[:, :, outcomes], season.ahead.weight[:, :, outcomes])
    return Season(season.reward[:, :, outcomes], season.allowed, ahead)


def follow(seasons: list[Season], decisions: Sequence[IntArray], final: FloatArray) -> FloatArray:
    """Play a rule through each sequence, sequence by sequence; what each is worth, by state."""
    worth = np.repeat(final[:, None], seasons[-1].reward.shape[2], axis=1)
    for season, decision in zip(reversed(seasons), reversed(decisions), strict=True):
        worth = np.array(
            [
                [
                    season.reward[state, chosen, sequence]
                    + season.ahead.weight[state, chosen, sequence]
                    @ worth[season.ahead.state[state, chosen, sequence], sequence]
                    for sequence in range(worth.shape[1])
                ]
                for state, chosen in enumerate(decision)
            ]
        )
    return worth


# --- D7: a small store, three seasons, whole units ------------------------------------------------

D7_CHANCES = np.array([0.3, 0.4, 0.3])
D7_INFLOW = np.array([0, 2, 4])


def _d7_season() -> Season:
    """Release 0 to 3 of a store of 5 before the inflow is known; cost (3 - release) squared."""
    store, release = np.arange(6)[:, None, None], np.arange(4)[None, :, None]
    shape = (6, 4, 3)
    after = np.clip(store - release + D7_INFLOW, 0, 5)
    return Season(
        reward=np.broadcast_to(-((3.0 - release) ** 2), shape),
        allowed=(release <= store)[:, :, 0],
        ahead=Corners(after[..., None], np.ones((*shape, 1))),
    )


def _d7() -> tuple[list[Season], Programme]:
    seasons = [_d7_season()] * 3
    return seasons, solve(seasons, [D7_CHANCES] * 3, np.zeros(6))


def test_solve_when_small_store_then_least_costs_and_releases_exactly() -> None:
    """D7 and D7b: least expected cost and best release of each store (exact fractions)."""
    _, found = _d7()
    assert -found.worth[0] == pytest.approx([14.63, 9.63, 6.63, 4.1, 2.8, 1.8], abs=1e-9)
    assert [one.tolist() for one in found.decision] == [
        [0, 1, 2, 2, 2, 3],
        [0, 1, 2, 2, 3, 3],
        [0, 1, 2, 3, 3, 3],
    ]


def test_solve_when_small_store_then_as_a_tree_of_all_sequences() -> None:
    """A slow recursion over the tree of inflows gives the same costs."""

    def least_cost(store: int, left: int) -> float:
        if left == 0:
            return 0.0
        return min(
            (3 - q) ** 2
            + sum(
                float(p) * least_cost(min(5, store - q + int(x)), left - 1)
                for p, x in zip(D7_CHANCES, D7_INFLOW, strict=True)
            )
            for q in range(min(3, store) + 1)
        )

    _, found = _d7()
    assert -found.worth[0] == pytest.approx([least_cost(s, 3) for s in range(6)], abs=1e-9)


def test_rule_programme_and_foresight_when_every_sequence_is_played_then_in_order() -> None:
    """Over all 27 sequences, weighted: every rule <= programme <= foresight, exactly."""
    seasons, best = _d7()
    outcomes = np.array(list(itertools.product(range(3), repeat=3)))
    likely = D7_CHANCES[outcomes].prod(axis=1)
    along = [along_sequences(season, outcomes[:, t]) for t, season in enumerate(seasons)]
    known = foresight(along, np.zeros(6)) @ likely
    played = follow(along, best.decision, np.zeros(6)) @ likely
    assert played == pytest.approx(best.worth[0], abs=1e-12)
    assert (known >= played).all()
    assert (known > played + 0.1).any()
    rng = np.random.default_rng(7)
    for _ in range(200):
        rule = [rng.integers(0, np.minimum(np.arange(6), 3) + 1) for _ in range(3)]
        assert (follow(along, rule, np.zeros(6)) @ likely <= played + 1e-12).all()


def test_order_when_the_programme_has_wrong_chances_then_broken() -> None:
    """The order can fail: a programme made for other chances loses to the right one."""
    seasons, best = _d7()
    wrong = solve(seasons, [np.array([0.9, 0.1, 0.0])] * 3, np.zeros(6))
    outcomes = np.array(list(itertools.product(range(3), repeat=3)))
    likely = D7_CHANCES[outcomes].prod(axis=1)
    along = [along_sequences(season, outcomes[:, t]) for t, season in enumerate(seasons)]
    played = follow(along, wrong.decision, np.zeros(6)) @ likely
    assert (best.worth[0] > played + 0.01).any()


# --- D5: log benefit, two seasons, any carry-over -------------------------------------------------


def _d5(carry: FloatArray) -> tuple[list[Season], FloatArray]:
    """Carry part of a store of 8; season 2 releases it with an inflow of 0 or 6.

    The states after the first season are the stores its decisions can lead to, and no others.
    """
    inflow = np.array([0.0, 6.0])
    leads_to = np.arange(carry.size * 2).reshape(1, carry.size, 2, 1)
    first = Season(
        reward=np.broadcast_to(np.log(8.0 - carry)[None, :, None], (1, carry.size, 2)),
        allowed=np.ones((1, carry.size), dtype=bool),
        ahead=Corners(leads_to, np.ones(leads_to.shape)),
    )
    return [first], np.log(carry[:, None] + inflow).ravel()


def _d5_drawn_closer() -> tuple[float, float]:
    """Draw the decisions closer round the best, and give carry-over and worth."""
    low, high = 0.01, 7.99
    for _ in range(4):
        carry = np.linspace(low, high, 401)
        seasons, final = _d5(carry)
        found = solve(seasons, [np.array([0.5, 0.5])], final)
        best = float(carry[found.decision[0][0]])
        width = (high - low) / 400.0
        low, high = max(0.01, best - width), min(7.99, best + width)
    return best, float(found.worth[0][0])


def test_solve_when_log_benefit_then_the_closed_form() -> None:
    """D5: carry-over (sqrt(193) - 1) / 4, first release and worth (derived here)."""
    carry, worth = _d5_drawn_closer()
    assert carry == pytest.approx((math.sqrt(193.0) - 1.0) / 4.0, abs=1e-6)
    assert 8.0 - carry == pytest.approx(4.776889, abs=1e-6)
    assert worth == pytest.approx(3.259819, abs=1e-6)


def test_foresight_when_log_benefit_then_the_bound_and_its_worth() -> None:
    """D5b: the perfect-foresight bound, the plan for the mean inflow, the worth of foresight."""
    carry = np.linspace(0.0, 7.5, 7501)  # holds 1 and 4, what foresight carries, and 2.5
    seasons, final = _d5(np.maximum(carry, 1e-9))
    along = [along_sequences(seasons[0], np.array([0, 1]))]
    bound = foresight(along, final)[0].mean()
    assert bound == pytest.approx(math.log(4.0) + math.log(7.0), abs=1e-6)
    assert bound == pytest.approx(3.332205, abs=1e-6)
    at_mean = np.array([2_500])
    assert follow(along, [at_mean], final)[0].mean() == pytest.approx(3.232927, abs=1e-6)
    assert bound - _d5_drawn_closer()[1] == pytest.approx(0.072385, abs=1e-6)


# --- Between grid points --------------------------------------------------------------------------


def test_locate_when_worth_is_straight_then_read_exactly() -> None:
    """A worth that is straight along each axis is read without error between points."""
    axes = [np.array([0.0, 1.0, 4.0]), np.array([0.0, 1.0]), np.linspace(0.0, 2.0, 5)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    worth = 2.0 * grid[:, 0] - grid[:, 1] + 0.5 * grid[:, 0] * grid[:, 2]
    rng = np.random.default_rng(5)
    points = [rng.uniform(axis[0], axis[-1], 50) for axis in axes]
    found = locate(points, axes)
    assert found.weight.sum(axis=-1) == pytest.approx(np.ones(50))
    read = (worth[found.state] * found.weight).sum(axis=-1)
    assert read == pytest.approx(2.0 * points[0] - points[1] + 0.5 * points[0] * points[2])


def test_locate_when_outside_or_a_single_point_then_held_at_the_edge() -> None:
    """Points beyond the grid count as its edge; an axis of one point has no other side."""
    found = locate([np.array([-1.0, 9.0])], [np.array([0.0, 1.0, 2.0])])
    assert (found.state * found.weight).sum(axis=-1) == pytest.approx([0.0, 2.0])
    assert locate([np.array([3.0])], [np.array([7.0])]).state.tolist() == [[0]]


# --- Published conclusions, in kind ---------------------------------------------------------------
# What studies of carryover agree on, checked in kind, not in number: a store of 1, yearly inflow of
# gamma law, demand that falls in a straight line to nothing at 1, ten seasons. From memory.

STORE = np.linspace(0.0, 1.0, 41)
USE = np.linspace(0.0, 1.0, 41)
SEASONS = 10
HALF_FULL = 20


def _inflow(mean: float, variation: float) -> FloatArray:
    """Return twenty equally likely inflows of a gamma law."""
    shape = variation**-2
    law = gamma(shape, scale=mean / shape)
    return np.asarray(law.ppf((np.arange(20) + 0.5) / 20.0))


def _store(inflow: FloatArray, kept_frac: float = 1.0, demand_falls: float = 1.0) -> Season:
    """Use part of the store, then carry the rest, of which a part is kept, into the next inflow."""
    store, use = STORE[:, None, None], USE[None, :, None]
    carried = np.maximum(0.0, store - use) * kept_frac
    return Season(
        reward=np.broadcast_to(use - demand_falls * use**2 / 2.0, (41, 41, inflow.size)),
        allowed=USE[None, :] <= STORE[:, None] + 1e-12,
        ahead=locate([np.minimum(1.0, carried + inflow)], [STORE]),
    )


def _worths(season: Season) -> tuple[float, float]:
    """Return what the programme and what using all each year are worth from a half-full store."""
    chances = np.full(season.reward.shape[2], 1.0 / season.reward.shape[2])
    best = solve([season] * SEASONS, [chances] * SEASONS, np.zeros(41))
    only = Season(season.reward, np.eye(41, dtype=bool), season.ahead)
    use_all = solve([only] * SEASONS, [chances] * SEASONS, np.zeros(41))
    return float(best.worth[0][HALF_FULL]), float(use_all.worth[0][HALF_FULL])


def _gain(mean: float, variation: float) -> float:
    """Return what carrying adds to using all each year, as a fraction."""
    best, use_all = _worths(_store(_inflow(mean, variation)))
    return best / use_all - 1.0


def _mean_carried(season: Season) -> float:
    """Return what the programme carries out of its first season, over all stores."""
    chances = np.full(season.reward.shape[2], 1.0 / season.reward.shape[2])
    best = solve([season] * SEASONS, [chances] * SEASONS, np.zeros(41))
    return float((STORE - USE[best.decision[0]]).mean())


def test_carrying_when_inflow_always_fills_the_store_then_nothing_is_best() -> None:
    """Published in kind: carrying nothing is sometimes best; here every inflow fills the store."""
    assert _mean_carried(_store(_inflow(4.0, 0.3))) == 0.0
    assert _mean_carried(_store(_inflow(0.3, 0.8))) > 0.1


def test_carrying_when_each_unit_earns_alike_and_some_is_lost_then_nothing_is_best() -> None:
    """Published in kind: where water earns the same any year and carried water is lost, use it."""
    assert _mean_carried(_store(_inflow(0.3, 0.8), kept_frac=0.85, demand_falls=0.0)) == 0.0


def test_value_of_carrying_when_mean_inflow_over_capacity_rises_then_falls() -> None:
    """Published in kind: the fuller the store comes by itself, the less carrying adds."""
    gains = [_gain(mean, 0.7) for mean in (0.4, 0.7, 1.0, 1.5, 2.0)]
    assert (np.diff(gains) < 0.0).all()


def test_value_of_carrying_when_inflow_varies_more_then_rises() -> None:
    """Published in kind: the more inflow varies, the more carrying adds."""
    gains = [_gain(0.5, variation) for variation in (0.2, 0.4, 0.6, 0.8)]
    assert (np.diff(gains) > 0.0).all()


def test_policy_search_when_against_using_all_then_a_few_per_cent() -> None:
    """Published in kind: a searched rule beats the myopic one by a few per cent, not tens."""
    season = _store(_inflow(0.5, 0.7))
    best, use_all = _worths(season)
    searched = max(_rule_worth(season, part) for part in np.linspace(0.4, 1.0, 13))
    assert searched <= best
    assert 0.01 < searched / use_all - 1.0 < 0.10


def _rule_worth(season: Season, part: float) -> float:
    """Return the worth of using the same part of the store each year, all of it in the last."""
    chances = np.full(season.reward.shape[2], 1.0 / season.reward.shape[2])
    of_part = np.abs(USE[None, :] - part * STORE[:, None]).argmin(axis=1)
    rule = Season(season.reward, np.arange(41)[None, :] == of_part[:, None], season.ahead)
    last = Season(season.reward, np.eye(41, dtype=bool), season.ahead)
    seasons = [rule] * (SEASONS - 1) + [last]
    return float(solve(seasons, [chances] * SEASONS, np.zeros(41)).worth[0][HALF_FULL])


def test_carrying_when_evaporation_is_socialised_then_more_is_carried() -> None:
    """Published in kind: who does not bear the evaporation of what is held holds more of it."""
    inflow = _inflow(0.5, 0.6)
    own = _mean_carried(_store(inflow, kept_frac=0.85))
    shared = _mean_carried(_store(inflow - 0.15 * own))  # the same loss, borne by all alike
    assert shared > own + 0.01
