"""Whether right odds pass the tests of calibration, and wrong ones do not.

Sources beside each check; row ids name lines of the project's list of check values. "Derived here"
means worked out for these tests.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from model.evidence.calibration import (
    acceptance_range,
    coverage,
    in_band,
    pit,
    uniformity,
)
from model.evidence.overlap import (
    effective_cases,
    hit_correlations,
    pit_correlations,
    window_correlations,
)

CAP = 1.0  # [ML per share]
LEVELS = (0.5, 0.8, 0.9)
PIT_VALUES = np.array([0.03, 0.11, 0.22, 0.35, 0.41, 0.58, 0.66, 0.71, 0.89, 0.94])
NOT_BY_LUCK = 0.001  # p-value below which odds are called wrong


def allocations(
    shape: tuple[int, ...], rng: np.random.Generator, spread: float = 0.6
) -> np.ndarray:
    """Draw allocations with atoms: about a quarter nothing, a sixth at the cap."""
    return np.clip(rng.normal(0.4, spread, shape), 0.0, CAP)


def window_sums(records: int, cases: int, seasons: int, rng: np.random.Generator) -> np.ndarray:
    """Sum normal surprises over overlapping windows, scaled to unit spread, (record, case)."""
    surprises = rng.standard_normal((records, cases + seasons - 1))
    windows = np.lib.stride_tricks.sliding_window_view(surprises, seasons, axis=1)
    return windows.sum(axis=2) / math.sqrt(seasons)


def test_pit_when_members_tie_spreads_over_their_ranks() -> None:
    """The third case of V14 may have rank 2, 3 or 4 of 4: PIT from 1/4 to 1 (derived here)."""
    members, observed = np.array([[0.0, 3.0, 3.0 + 1e-12]]), np.array([3.0])
    for uniform, expected in ((0.0, 0.25), (0.5, 0.625), (1.0, 1.0)):
        assert pit(members, observed, np.array([uniform])) == pytest.approx(expected, abs=1e-12)
    assert pit(members, observed, np.array([1.0]), tie=0.0) < 1.0


def test_pit_leaves_its_arguments_alone() -> None:
    """The kernel is pure."""
    rng = np.random.default_rng(1)
    members, observed, uniforms = allocations((9, 5), rng), allocations((9,), rng), rng.random(9)
    before = members.copy(), observed.copy(), uniforms.copy()
    pit(members, observed, uniforms)
    for array, copy in zip((members, observed, uniforms), before, strict=True):
        assert np.array_equal(array, copy)


def test_uniformity_of_ten_values_is_the_exact_one() -> None:
    """V11: D by hand, p from the exact test of scipy.stats.kstest."""
    test = uniformity(PIT_VALUES)
    reference = stats.kstest(PIT_VALUES, "uniform", method="exact")
    assert (test.statistic, test.p_value) == pytest.approx((0.09, 0.999961), abs=1e-6)
    assert (test.statistic, test.p_value) == pytest.approx(
        (reference.statistic, reference.pvalue), abs=1e-12
    )


def test_uniformity_is_the_reference_test_on_many_samples() -> None:
    """scipy.stats.kstest, for values too low, too high and too even."""
    rng = np.random.default_rng(12)
    for power in (0.5, 1.0, 2.0):
        for cases in (1, 7, 60):
            values = rng.random(cases) ** power
            test, reference = uniformity(values), stats.kstest(values, "uniform", method="exact")
            assert (test.statistic, test.p_value) == pytest.approx(
                (reference.statistic, reference.pvalue), abs=1e-12
            )


@pytest.mark.parametrize(("cases", "expected"), [(20, (15, 20)), (50, (41, 49)), (100, (84, 95))])
def test_acceptance_range_is_that_of_the_binomial(cases: int, expected: tuple[int, int]) -> None:
    """V13: 2.5 % and 97.5 % quantiles of the binomial at 0.9, scipy.stats.binom.ppf."""
    assert acceptance_range(0.9, cases) == expected
    for level in LEVELS:
        reference = stats.binom.ppf([0.025, 0.975], cases, level)
        assert acceptance_range(level, cases) == tuple(reference)


def test_pit_of_right_odds_with_atoms_is_uniform_and_bands_hold() -> None:
    """What came is drawn as the members are, nothing and cap included: all tests pass."""
    rng = np.random.default_rng(2026)
    values = pit(allocations((2000, 19), rng), allocations((2000,), rng), rng.random(2000))
    assert uniformity(values).p_value > NOT_BY_LUCK
    counts, _ = np.histogram(values, bins=10, range=(0, 1))
    assert stats.chisquare(counts).pvalue > NOT_BY_LUCK
    for level in LEVELS:
        assert in_band(values, level).mean() == pytest.approx(
            level, abs=4 * math.sqrt(level * (1 - level) / 2000)
        )


@pytest.mark.parametrize("fault", ["over-sure", "over-cautious", "too wet", "atoms not drawn"])
def test_pit_of_wrong_odds_is_caught(fault: str) -> None:
    """The twins: too narrow, too wide or shifted odds fail, and so do atoms left undrawn."""
    rng = np.random.default_rng(2026)
    spread = {"over-sure": 0.3, "over-cautious": 1.2}.get(fault, 0.6)
    members = allocations((500, 19), rng, spread)
    if fault == "too wet":
        members = np.minimum(CAP, members + 0.2)
    uniforms = np.ones(500) if fault == "atoms not drawn" else rng.random(500)
    values = pit(members, allocations((500,), rng), uniforms)
    assert uniformity(values).p_value < NOT_BY_LUCK


def test_coverage_of_over_sure_odds_is_not_as_promised_and_of_right_odds_is() -> None:
    """A hundred years: half the true spread falls outside the binomial range, the truth within."""
    rng = np.random.default_rng(11)
    observed, uniforms = rng.standard_normal(100), rng.random(100)
    right = pit(rng.standard_normal((100, 200)), observed, uniforms)
    over_sure = pit(0.5 * rng.standard_normal((100, 200)), observed, uniforms)
    for level in LEVELS:
        assert coverage(in_band(right, level), level).as_promised
        assert not coverage(in_band(over_sure, level), level).as_promised


def test_coverage_when_cases_are_apart_has_the_binomial_range_and_wilsons_interval() -> None:
    """81 of 263 held (K9: Newcombe 1998, Table I, from memory: 0.2553 to 0.3662)."""
    got = coverage(np.arange(263) < 81, 0.3)
    assert (got.share_low, got.share_high) == pytest.approx((0.2553, 0.3662), abs=5.1e-5)
    assert (got.cases, got.effective_cases) == (263, 263.0)
    assert got.accepted_low == stats.binom.ppf(0.025, 263, 0.3) / 263
    assert got.as_promised


def test_coverage_when_no_case_or_every_case_holds_stays_within_bounds() -> None:
    """Shares of 0 and 1 keep intervals from 0 to 1, overlapping windows or not."""
    for seasons in (1, 3):
        none, every = (coverage(np.full(30, held), 0.8, seasons) for held in (False, True))
        assert (none.share_low, every.share_high) == (0.0, 1.0)
        assert 0.0 < none.share_high < every.share_low < 1.0


@pytest.mark.parametrize("seasons", [2, 3])
def test_effective_cases_when_windows_overlap_give_the_true_spread_of_means(seasons: int) -> None:
    """Variance over 4,000 simulated records of a mean value, a PIT below 1/2, and an 80 % band."""
    cases, records, level = 100, 4000, 0.8
    sums = window_sums(records, cases, seasons, np.random.default_rng(seasons))
    half_band = stats.norm.ppf(0.5 + level / 2)
    of_each = {
        "value": (sums, 1.0, window_correlations(seasons)),
        "below": (sums < 0.0, 0.25, pit_correlations(seasons)),
        "held": (np.abs(sums) < half_band, 0.16, hit_correlations(seasons, level)),
    }
    four_errors = 4 * math.sqrt(2 / records)  # of a variance, as a share of it
    for values, variance, correlations in of_each.values():
        simulated = values.mean(axis=1).var()
        worth = effective_cases(cases, correlations)
        assert simulated == pytest.approx(variance / worth, rel=four_errors)
        # the twin: as many independent cases would be far too sure
        assert simulated > variance / cases * (1 + four_errors)


def test_hit_correlations_are_those_of_the_bivariate_normal() -> None:
    """Windows of three seasons against scipy's bivariate normal distribution."""
    for level in LEVELS:
        c = stats.norm.ppf(0.5 + level / 2)
        for r, got in zip(window_correlations(3), hit_correlations(3, level), strict=True):
            pair = stats.multivariate_normal([0, 0], [[1, r], [r, 1]])
            both = pair.cdf([c, c], lower_limit=[-c, -c])
            assert got == pytest.approx((both - level**2) / (level * (1 - level)), abs=1e-5)


def test_effective_cases_of_four_windows_of_two_seasons_are_those_by_hand() -> None:
    """By hand: three pairs of neighbours share half, 4 / (1 + 2 x 3/4 x 1/2)."""
    assert effective_cases(4, window_correlations(2)) == pytest.approx(4 / 1.75, abs=1e-12)
    assert window_correlations(3) == pytest.approx([2 / 3, 1 / 3], abs=1e-12)


def test_effective_cases_when_nothing_overlaps_are_the_cases() -> None:
    """One season ahead: neighbouring years share nothing; one case is one case."""
    for correlations in (window_correlations(1), pit_correlations(1), hit_correlations(1, 0.8)):
        assert effective_cases(40, correlations) == 40.0
    assert effective_cases(1, window_correlations(3)) == 1.0


def test_uniformity_when_windows_overlap_rejects_right_odds_too_often_unless_counted_fewer() -> (
    None
):
    """At the 5 % level, 1,000 records of 100 right three-season cases each."""
    sums = window_sums(1000, 100, 3, np.random.default_rng(4))
    values = stats.norm.cdf(sums)
    worth = effective_cases(100, pit_correlations(3))
    naive = np.mean([uniformity(row).p_value < 0.05 for row in values])
    cautious = np.mean([uniformity(row, worth).p_value < 0.05 for row in values])
    four_errors = 4 * math.sqrt(0.05 * 0.95 / 1000)
    assert cautious < 0.05 + four_errors
    assert naive > 0.05 + four_errors
