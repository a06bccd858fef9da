"""Measures of risk and the one-season decision, against closed forms and published cases."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.stats import binom, expon, norm

from model.decide.risk import (
    Degree,
    dominated,
    worst_mean,
    worst_mean_error,
    worst_value,
)
from model.outlook.chances import quantile_ranks, wilson_interval

FloatArray = NDArray[np.float64]

LEVELS = (0.90, 0.95, 0.99)


@dataclass(frozen=True)
class Law:
    """A law of losses cut into cells, each with its chance and its own mean."""

    chances: FloatArray
    means: FloatArray


def _edges() -> FloatArray:
    """Cut chances finely, with a very narrow cell just above each level."""
    return np.unique(
        np.concatenate([np.linspace(0.0, 1.0, 201), [level + 1e-8 for level in LEVELS]])
    )


def _standard_normal() -> Law:
    edges = _edges()
    density = norm.pdf(norm.ppf(edges))
    return Law(np.diff(edges), -np.diff(density) / np.diff(edges))


def _uniform(top: float) -> Law:
    edges = _edges()
    return Law(np.diff(edges), top * (edges[1:] + edges[:-1]) / 2.0)


def _exponential(mean: float) -> Law:
    edges = _edges()
    left = 1.0 - edges
    ends = -mean * np.log(left, where=left > 0.0, out=np.full_like(left, -np.inf))
    tail = np.where(left > 0.0, (np.where(left > 0.0, ends, 0.0) + mean) * left, 0.0)
    return Law(np.diff(edges), -np.diff(tail) / np.diff(edges))


def _value_at_risk(law: Law, level: float) -> float:
    """Read the loss at a level: `risk` measures outcomes, a loss is an outcome below 0."""
    return -worst_value(-law.means, 1.0 - level, law.chances)


def _conditional(law: Law, level: float) -> float:
    return float(-worst_mean(-law.means, 1.0 - level, law.chances))


def test_worst_mean_when_normal_losses_then_the_closed_form() -> None:
    """K1: value at risk and its tail mean of a normal loss (Rockafellar and Uryasev 2000)."""
    law = _standard_normal()
    found = [_value_at_risk(law, level) for level in LEVELS]
    assert found == pytest.approx([1.2815516, 1.6448536, 2.3263479], abs=1e-6)
    tail = [_conditional(law, level) for level in LEVELS]
    assert tail == pytest.approx([1.7549833, 2.0627128, 2.6652142], abs=1e-6)


def test_worst_mean_when_uniform_and_exponential_losses_then_the_closed_forms() -> None:
    """K3: uniform to 100 at 90 %, exponential of mean 10 at 95 % (closed form)."""
    assert _value_at_risk(_uniform(100.0), 0.90) == pytest.approx(90.0, abs=1.1e-6)
    assert _conditional(_uniform(100.0), 0.90) == pytest.approx(95.0, abs=1e-6)
    assert _value_at_risk(_exponential(10.0), 0.95) == pytest.approx(29.957323, abs=2e-6)
    assert _conditional(_exponential(10.0), 0.95) == pytest.approx(39.957323, abs=1e-6)


def test_worst_mean_when_the_level_falls_inside_an_outcome_then_it_counts_in_part() -> None:
    """K4: losses 1 to 10 at 80, 85 and 90 % (by hand; Rockafellar and Uryasev 2002, atoms)."""
    losses = np.arange(1.0, 11.0)
    found = [float(-worst_mean(-losses, 1.0 - level)) for level in (0.80, 0.85, 0.90)]
    assert found == pytest.approx([9.5, 29.0 / 3.0, 10.0], abs=1e-9)
    weighted = [float(-worst_mean(-losses, f, np.full(10, 0.1))) for f in (0.20, 0.15, 0.10)]
    assert weighted == pytest.approx(found, abs=1e-9)


def test_worst_mean_when_minimised_over_weights_then_the_published_portfolio() -> None:
    """K5: Rockafellar and Uryasev 2000, Tables 1 to 3 (inputs and result from memory)."""
    means = np.array([0.0101110, 0.0043532, 0.0137058])
    covariance = np.array(
        [
            [0.00324625, 0.00022983, 0.00420395],
            [0.00022983, 0.00049937, 0.00019247],
            [0.00420395, 0.00019247, 0.00764097],
        ]
    )
    law = _standard_normal()

    def tail_loss(weights: FloatArray) -> float:
        spread = math.sqrt(weights @ covariance @ weights)
        return float(-worst_mean(weights @ means + spread * law.means, 0.10, law.chances))

    best = minimize(
        tail_loss,
        np.full(3, 1.0 / 3.0),
        bounds=[(0.0, 1.0)] * 3,
        constraints=[
            {"type": "eq", "fun": lambda weights: weights.sum() - 1.0},
            {"type": "ineq", "fun": lambda weights: (weights @ means - 0.011) * 1e3},
        ],
        options={"ftol": 1e-15, "maxiter": 500},
    )
    assert best.x == pytest.approx([0.452013, 0.115573, 0.432414], abs=2e-5)


@pytest.mark.parametrize(
    ("hits", "draws", "expected"),
    [
        (81, 263, (0.2553, 0.3662)),
        (15, 148, (0.0624, 0.1605)),
        (0, 20, (0.0, 0.1611)),
        (1, 29, (0.0061, 0.1718)),
        (100, 1_000, (0.0829, 0.1202)),
        (20, 1_000, (0.0130, 0.0307)),
        (0, 1_000, (0.0, 0.0038)),
    ],
)
def test_wilson_interval_when_published_counts_then_printed_ends(
    hits: int, draws: int, expected: tuple[float, float]
) -> None:
    """K9 and K10: Newcombe 1998 Table I (from memory) and three counts in 1,000."""
    assert wilson_interval(hits, draws) == pytest.approx(expected, abs=5.1e-5)


@pytest.mark.parametrize(("draws", "expected"), [(1_000, (37, 65)), (200, (4, 17))])
def test_quantile_ranks_when_five_per_cent_then_binomial_ranks(
    draws: int, expected: tuple[int, int]
) -> None:
    """K13: the order statistics that hold the 5 % quantile, and how often they do."""
    low, high = quantile_ranks(0.05, draws)
    assert (low, high) == expected
    assert binom.cdf(high - 1, draws, 0.05) - binom.cdf(low - 1, draws, 0.05) >= 0.95


PAIRS = [
    ((1, 4, 6, 8), (1, 3, 5, 8), (True, True)),
    ((2, 4, 6, 8), (1, 5, 5, 9), (False, True)),
    ((3, 4, 6, 7), (1, 3, 7, 9), (False, True)),
    ((0, 6, 6, 8), (1, 4, 5, 7), (False, False)),
]


@pytest.mark.parametrize(("a", "b", "expected"), PAIRS)
def test_dominated_when_four_pairs_then_as_by_hand_and_never_the_reverse(
    a: tuple[int, ...], b: tuple[int, ...], expected: tuple[bool, bool]
) -> None:
    """K14 and K14b: first and second degree of four pairs of equally likely incomes."""
    both = np.array([a, b])
    assert tuple(dominated(both, degree)[1] for degree in (1, 2)) == expected
    assert not dominated(both, 1)[0]
    assert not dominated(both, 2)[0]


def test_dominated_when_alike_then_neither() -> None:
    """A way of running the farm does not dominate itself."""
    assert not dominated(np.array([[1.0, 2.0], [2.0, 1.0]]), 1).any()
    assert not dominated(np.array([[1.0, 2.0], [2.0, 1.0]]), 2).any()


def beats(a: FloatArray, b: FloatArray, degree: Degree) -> bool:
    """Return whether a way never does worse than another, rank by rank, and somewhere better."""
    ranks = np.sort(a), np.sort(b)
    better, worse = ranks if degree == 1 else map(np.cumsum, ranks)
    return bool((better >= worse).all() and (better > worse).any())


@pytest.mark.parametrize("degree", [1, 2])
def test_dominated_when_many_ways_then_as_every_pair(degree: Degree) -> None:
    """Marking many ways at once gives what comparing every pair gives."""
    ways = np.random.default_rng(3).integers(0, 6, size=(30, 7)).astype(float)
    pairs = [any(beats(a, b, degree) for a in ways) for b in ways]
    assert dominated(ways, degree).tolist() == pairs
    assert any(pairs)
    assert not all(pairs)


@given(st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=40), st.floats(0.01, 1.0))
def test_worst_mean_when_any_outcomes_then_between_least_and_mean(
    outcomes: list[float], worst_frac: float
) -> None:
    """The mean of the worst part lies between the least and the mean of all."""
    found = float(worst_mean(outcomes, worst_frac))
    assert min(outcomes) - 1e-6 <= found <= np.mean(outcomes) + 1e-6
    n = len(outcomes)
    weighted = float(worst_mean(outcomes, worst_frac, np.full(n, 1.0 / n)))
    assert found == pytest.approx(weighted, rel=1e-9, abs=1e-5)


def test_worst_mean_when_normal_draws_then_within_four_standard_errors() -> None:
    """The mean of the worst tenth of normal draws lies within its band; a wrong law does not."""
    rng = np.random.default_rng(20)
    right, wrong = rng.normal(size=40_000), 1.05 * rng.normal(size=40_000)
    error = worst_mean_error(right)
    assert abs(worst_mean(right) + 1.7549833) <= 4.0 * error
    assert abs(worst_mean(wrong) + 1.7549833) > 4.0 * error


def test_worst_mean_error_when_repeated_then_as_the_spread_of_repetitions() -> None:
    """The stated error of the mean of the worst tenth is what repetition shows."""
    draws = np.random.default_rng(21).normal(size=(2_000, 1_000))
    stated = np.mean([worst_mean_error(one) for one in draws[:200]])
    assert worst_mean(draws).std() == pytest.approx(stated, rel=0.08)


def test_risk_when_called_then_its_inputs_are_unchanged() -> None:
    """No measure changes what it is given."""
    outcomes = np.array([3.0, 1.0, 2.0])
    worst_mean(outcomes)
    worst_value(outcomes)
    dominated(np.array([outcomes, outcomes]))
    assert outcomes.tolist() == [3.0, 1.0, 2.0]


def test_exponential_cells_when_summed_then_the_law_they_cut() -> None:
    """The cells used above keep the whole law: chances add to 1, means to the mean."""
    law = _exponential(10.0)
    assert law.chances.sum() == pytest.approx(1.0)
    assert law.chances @ law.means == pytest.approx(float(expon.mean(scale=10.0)))
