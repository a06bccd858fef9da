"""Whether the scores of odds are the published ones.

Sources beside each check; row ids name lines of the project's list of check values. "Derived here"
means worked out for these tests from the definition. The reference library is `scoringrules`.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import scoringrules
from scipy.stats import norm

from model.evidence.scores import (
    crps,
    skill,
)

NORMAL_CASES = [  # V1: what came, mean, sd, CRPS
    (0.0, 0.0, 1.0, 0.23369498),
    (1.0, 0.0, 1.0, 0.60244136),
    (2.0, 0.0, 1.0, 1.45279182),
    (3.0, 1.0, 2.0, 1.20488272),
    (50.0, 80.0, 25.0, 18.700383),
]
TOY_ENSEMBLES = [  # V2: what came, members, CRPS
    (0.0, [0.0, 0.0], 0.0),
    (0.0, [0.0, 1.0], 0.25),
    (0.0, [1.0, 1.0], 1.0),
    (2.0, [0.0, 1.0], 1.25),
    (0.0, [-1.0, 1.0], 0.5),
    (0.0, [0.0, 0.0, 1.0], 1.0 / 9.0),
    (1.0, [0.0, 0.0, 1.0], 4.0 / 9.0),
    (0.0, [-1.0, 0.0, 0.0, 1.0], 0.125),
]
MID_CHANCES = (np.arange(4000) + 0.5) / 4000  # members at these chances stand for a distribution
FINE = 2e-6  # [share of the spread] what so many members leave out, of the order of 1 / m^2


def slow_crps(members: list[float], observed: float) -> float:
    """CRPS by its definition, area between the steps of the forecast and of what came."""
    points = sorted([*members, observed])
    area = 0.0
    for left, right in itertools.pairwise(points):
        below = sum(member <= left for member in members) / len(members)
        area += (right - left) * (below - (left >= observed)) ** 2
    return area


@pytest.fixture
def some_cases() -> tuple[np.ndarray, np.ndarray]:
    """Two hundred cases of 37 members with atoms at 0 and at 1."""
    rng = np.random.default_rng(8)
    members = np.clip(rng.normal(0.4, 0.6, (200, 37)), 0.0, 1.0)
    return members, np.clip(rng.normal(0.4, 0.6, 200), 0.0, 1.0)


@pytest.mark.parametrize(("observed", "mean", "sd", "expected"), NORMAL_CASES)
def test_crps_of_a_fine_normal_ensemble_is_the_closed_form(
    observed: float, mean: float, sd: float, expected: float
) -> None:
    """V1: Gneiting and Raftery 2007, equation 21; the reference library gives the same."""
    z = (observed - mean) / sd
    closed = sd * (z * (2 * norm.cdf(z) - 1) + 2 * norm.pdf(z) - 1 / math.sqrt(math.pi))
    assert closed == pytest.approx(expected, abs=1e-7)
    assert scoringrules.crps_normal(observed, mean, sd) == pytest.approx(expected, abs=1e-7)
    members = norm.ppf(MID_CHANCES, mean, sd)[None]
    # the tails beyond the outermost members are cut off: about sd / m
    assert crps(members, np.array([observed])) == pytest.approx(expected, abs=sd * 1e-4)


@pytest.mark.parametrize(("observed", "members", "expected"), TOY_ENSEMBLES)
def test_crps_of_small_ensembles_is_the_published_one(
    observed: float, members: list[float], expected: float
) -> None:
    """V2: toy examples published with the tests of the `properscoring` library."""
    got = crps(np.array([members]), np.array([observed]))
    assert got == pytest.approx(expected, abs=1e-9)


def test_crps_of_five_members_are_those_by_hand() -> None:
    """V3: mean distance 2.8, pairs sum to 44, by hand."""
    members, observed = np.array([[7.0, 1.0, 10.0, 3.0, 4.0]]), np.array([5.0])
    assert crps(members, observed) == pytest.approx(1.04, abs=1e-12)


def test_crps_of_a_forecast_with_atoms_is_the_integral_by_hand() -> None:
    """V4: 0, 3 and 5 with chances 0.2, 0.3, 0.5, observed 3: 3 x 0.04 + 2 x 0.25."""
    members = np.repeat([0.0, 3.0, 5.0], [2, 3, 5])[None, :]
    assert crps(members, np.array([3.0])) == pytest.approx([0.62], abs=1e-12)


@pytest.mark.parametrize(("observed", "score"), [(3, 0.29), (1, 0.89), (2, 0.29)])
def test_crps_of_three_classes_is_the_ranked_probability_score(observed: int, score: float) -> None:
    """V9: chances 0.2, 0.3, 0.5; the sum of squared differences of cumulative chances, by hand."""
    members = np.repeat([1.0, 2.0, 3.0], [2, 3, 5])[None, :]  # a step of 1 between classes
    assert crps(members, np.array([float(observed)])) == pytest.approx([score], abs=1e-12)


def test_crps_of_uniform_and_exponential_forecasts_is_the_closed_form() -> None:
    """V5: closed forms derived here, confirmed by the reference library."""
    uniform = np.broadcast_to(100 * MID_CHANCES, (4, MID_CHANCES.size))
    observed = np.array([0.0, 50.0, 80.0, 120.0])
    expected = [100 / 3, 25 / 3, 52 / 3, 160 / 3]
    assert crps(uniform, observed) == pytest.approx(expected, abs=100 * FINE)
    assert scoringrules.crps_uniform(observed, 0.0, 100.0) == pytest.approx(expected, abs=1e-6)
    exponential = -np.log(1 - MID_CHANCES)[None]
    assert crps(exponential, np.array([0.5])) == pytest.approx(0.2130613, abs=1e-4)
    assert scoringrules.crps_exponential(0.5, 1.0) == pytest.approx(0.2130613, abs=1e-6)


def test_crps_over_many_cases_is_least_for_the_true_distribution() -> None:
    """V6: truth N(0, 1), forecast N(m, s): E|X - Y| - s / sqrt(pi), derived here."""
    chances = (np.arange(1000) + 0.5) / 1000
    came = norm.ppf(chances)
    expected = {
        (0.0, 1.0): 0.5641896,
        (0.0, 0.5): 0.6099673,
        (0.0, 2.0): 0.6557449,
        (0.5, 1.0): 0.6339877,
        (1.0, 1.0): 0.8350929,
    }
    for (mean, sd), score in expected.items():
        members = np.broadcast_to(norm.ppf(chances, mean, sd), (1000, 1000))
        # both distributions lose their outermost thousandth: about sd / 1000
        assert crps(members, came).mean() == pytest.approx(score, abs=2e-3)
    assert min(expected.values()) == expected[0.0, 1.0]


def test_crps_of_few_members_when_drawn_alike_then_it_pays_for_them() -> None:
    """V7: ten members and what came from one N(0, 1): (1 + 1/m) / sqrt(pi)."""
    rng = np.random.default_rng(7)
    members, observed = rng.standard_normal((40_000, 10)), rng.standard_normal(40_000)
    standard = crps(members, observed)
    four_errors = 4 * standard.std() / math.sqrt(40_000)
    assert four_errors < 0.01
    assert standard.mean() == pytest.approx(0.6206085, abs=four_errors)
    # the twin: endlessly many members would score 1 / sqrt(pi)
    assert abs(standard.mean() - 0.5641896) > four_errors


def test_crps_agrees_with_its_definition_and_with_the_reference_library(
    some_cases: tuple[np.ndarray, np.ndarray],
) -> None:
    """The sorted form equals slow loops and `scoringrules`, ties and atoms included."""
    members, observed = some_cases
    before = members.copy(), observed.copy()
    standard = crps(members, observed)
    reference = scoringrules.crps_ensemble(observed, members, estimator="nrg")
    assert standard == pytest.approx(reference, abs=1e-12)
    for case in range(20):
        row, came = members[case].tolist(), float(observed[case])
        assert standard[case] == pytest.approx(slow_crps(row, came), abs=1e-12)
    assert np.array_equal(members, before[0])
    assert np.array_equal(observed, before[1])


def test_crps_when_unit_and_place_change_scales_and_stays() -> None:
    """Megalitres times a factor give a score times that factor; a shift of all changes nothing."""
    rng = np.random.default_rng(3)
    members, observed = rng.gamma(2.0, 1.0, (50, 20)), rng.gamma(2.0, 1.0, 50)
    one = crps(members, observed)
    assert crps(1000 * members + 5, 1000 * observed + 5) == pytest.approx(1000 * one, rel=1e-9)


def test_skill_is_the_ratio_of_means_and_not_the_mean_of_ratios() -> None:
    """V15: mean scores 10 against 15 give 1/3, by hand; the mean of ratios would give 0.3375."""
    model = np.array([12.0, 8.0, 15.0, 5.0])
    climatology = np.array([20.0, 10.0, 18.0, 12.0])
    assert skill(model, climatology) == pytest.approx(1 / 3, abs=1e-12)
    assert np.mean(1 - model / climatology) == pytest.approx(0.3375, abs=1e-9)


def test_skill_when_the_reference_makes_no_error_is_not_a_number() -> None:
    """Nothing can be said of a share of nothing."""
    assert math.isnan(skill(np.array([1.0]), np.array([0.0])))
