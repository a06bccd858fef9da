"""Whether the measures of persistence are the published ones.

Row ids name lines of the project's list of check values. Real flows: the Nile at Aswan, 1871 to
1970, as given with statsmodels. The reference library for block lengths is `arch`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from arch.bootstrap import optimal_block_length
from scipy.signal import lfilter
from scipy.stats import skew
from statsmodels.datasets import nile
from statsmodels.tsa.stattools import acf

from model.record.memory import (
    adjusted_range,
    hurst_k,
    lag_correlation,
    one_shift,
    optimal_block_years,
    shift_explains_persistence,
)

FIRST_YEAR = 1871


@pytest.fixture(scope="module")
def flows() -> np.ndarray:
    """Yearly flows of the Nile, 1871 to 1970."""
    return nile.load_pandas().data["volume"].to_numpy(dtype=float)


def ar1(years: int, rho: float, seed: int) -> np.ndarray:
    """Draw a series of unit spread that remembers the year before."""
    series = np.random.default_rng(seed).standard_normal(years)
    for year in range(1, years):
        series[year] = rho * series[year - 1] + math.sqrt(1 - rho**2) * series[year]
    return series


def slow_shift(values: np.ndarray) -> int:
    """Try every split and keep the one with the least sum of squares."""

    def squares(at: int) -> float:
        """Sum the squares of both parts about their means."""
        return sum(float(np.sum((part - part.mean()) ** 2)) for part in (values[:at], values[at:]))

    return min(range(1, values.size), key=squares)


def test_nile_series_is_the_one_the_published_values_belong_to(flows: np.ndarray) -> None:
    """N1: count, sum, mean, spread, least, most, median and skew, recomputed from the data."""
    got = (
        flows.size,
        flows.sum(),
        flows.mean(),
        flows.std(ddof=1),
        flows.min(),
        flows.max(),
        np.median(flows),
        skew(flows),
    )
    expected = (100, 91935, 919.35, 169.227501, 456, 1370, 893.5, 0.3223697)
    assert got == pytest.approx(expected, abs=1e-6)


def test_lag_correlations_of_the_nile_are_the_usual_ones(flows: np.ndarray) -> None:
    """N2: divisor n, lags 1 to 3; statsmodels' acf is the reference."""
    got = [lag_correlation(flows, lag) for lag in (1, 2, 3)]
    assert got == pytest.approx([0.4984082, 0.3845769, 0.3278604], abs=1e-6)
    assert got == pytest.approx(acf(flows, nlags=3)[1:], abs=1e-12)


def test_adjusted_range_of_the_nile_is_hursts(flows: np.ndarray) -> None:
    """N3: the running sum tops in 1898; R/S with S over n, and over n - 1 for the twin."""
    assert adjusted_range(flows) == pytest.approx(4995.2, abs=1e-5)
    assert adjusted_range(flows) / flows.std() == pytest.approx(29.6663655, abs=1e-5)
    assert adjusted_range(flows) / flows.std(ddof=1) == pytest.approx(29.517661, abs=1e-5)
    top = FIRST_YEAR + int(np.argmax(np.cumsum(flows - flows.mean())))
    assert top == 1898
    assert one_shift(flows).years_before == top - FIRST_YEAR + 1


def test_hurst_k_of_the_nile_is_the_one_with_n_over_two(flows: np.ndarray) -> None:
    """N4: ln(R/S) / ln(n/2), S over n (Hurst 1951; Hipel and McLeod 1994).

    The other common form, ln(R/S) / ln(n) with S over n - 1, gives 0.735041: it is not that.
    """
    assert hurst_k(flows) == pytest.approx(0.8665629, abs=1e-6)
    other = math.log(adjusted_range(flows) / flows.std(ddof=1)) / math.log(flows.size)
    assert other == pytest.approx(0.735041, abs=1e-6)


def test_hurst_k_of_series_without_memory_is_far_below_the_niles(flows: np.ndarray) -> None:
    """The twin: the Nile's own years in random order, 400 times; none keeps its K."""
    rng = np.random.default_rng(4)
    shuffled = np.array([hurst_k(rng.permutation(flows)) for _ in range(400)])
    # E R/S of independent years is near sqrt(n pi / 2), so K near ln(12.5) / ln(50) = 0.646, and
    # less in short series (Hurst 1951, from memory)
    assert 0.58 < shuffled.mean() < 0.65
    assert shuffled.max() < hurst_k(flows)


def test_one_shift_of_the_nile_is_1898(flows: np.ndarray) -> None:
    """N7: the flows drop after 1898 (published: Cobb 1978, Biometrika 65); means recomputed."""
    shift = one_shift(flows)
    assert FIRST_YEAR + shift.years_before - 1 == 1898
    got = (shift.years_before, shift.mean_before, shift.mean_after)
    assert got == pytest.approx((28, 1097.75, 849.972222), abs=1e-6)
    assert shift.years_before == slow_shift(flows)


def test_one_shift_is_the_split_of_least_squares() -> None:
    """Every split tried, on thirty short series."""
    rng = np.random.default_rng(7)
    for years in range(2, 32):
        values = rng.gamma(2.0, 1.0, years)
        assert one_shift(values).years_before == slow_shift(values)


def test_shift_takes_the_memory_of_the_nile_away(flows: np.ndarray) -> None:
    """N7c: lag-1 correlation 0.498 falls to 0.160, within the band of independent years."""
    assert one_shift(flows).lag_1_without == pytest.approx(0.1598562, abs=1e-6)
    assert shift_explains_persistence(flows)


def test_shift_does_not_explain_a_memory_that_lasts_nor_a_lack_of_one() -> None:
    """The twins: AR(1) of rho 0.7 keeps its memory without the shift, white noise has none."""
    explained = [shift_explains_persistence(ar1(300, 0.7, seed)) for seed in range(40)]
    assert not any(explained)
    assert sum(shift_explains_persistence(ar1(100, 0.0, seed)) for seed in range(40)) <= 4


def published_ar1() -> np.ndarray:
    """Make the series of the published block lengths: AR(1) of 0.3, first hundred dropped."""
    shocks = np.random.RandomState(0).standard_normal(10_100)  # the published seed
    values = np.zeros(10_100)
    values[0] = shocks[0]
    for at in range(1, values.size):
        values[at] = 0.3 * values[at - 1] + shocks[at]
    return values[100:]


def test_block_years_of_a_long_ar1_are_the_published_ones() -> None:
    """B11: published with `arch` (Politis and White 2004; Patton, Politis and White 2009)."""
    got = optimal_block_years(published_ar1())
    assert (got.stationary, got.circular) == pytest.approx((13.635665, 15.60894), abs=1e-4)


def test_block_years_of_the_nile_are_those_of_the_reference_library(flows: np.ndarray) -> None:
    """B12: `arch` 8.0, optimal_block_length."""
    got = optimal_block_years(flows)
    assert (got.stationary, got.circular) == pytest.approx((12.333494, 14.118327), abs=1e-5)
    assert got.circular / got.stationary == pytest.approx(1.144714, abs=1e-6)  # B13: 1.5^(1/3)


def slow_block_years(values: np.ndarray, correlation: Callable[[np.ndarray, int], float]) -> float:
    """Stationary block length of Politis and White, loop by loop, given a way to correlate."""
    n = values.size
    deviations = values - values.mean()
    in_a_row = max(5, int(math.log10(n)))
    largest = math.ceil(math.sqrt(n)) + in_a_row
    band = 2 * math.sqrt(math.log10(n) / n)
    width = largest
    for first in range(1, largest - in_a_row + 1):
        lags = range(first, first + in_a_row)
        if all(abs(correlation(deviations, lag)) < band for lag in lags):
            width = min(2 * first, largest)
            break
    big_g, small_g = 0.0, deviations @ deviations / n
    for lag in range(1, width + 1):
        covariance = deviations[lag:] @ deviations[:-lag] / n
        window = 1.0 if lag <= width / 2 else 2 * (1 - lag / width)
        big_g += 2 * window * lag * covariance
        small_g += 2 * window * covariance
    return min(math.ceil(min(3 * math.sqrt(n), n / 3)), (big_g**2 / small_g**2 * n) ** (1 / 3))


def usual_correlation(deviations: np.ndarray, lag: int) -> float:
    """Divide by the whole sum of squares, as the papers do."""
    return float(deviations[lag:] @ deviations[:-lag] / (deviations @ deviations))


def correlation_of_the_library(deviations: np.ndarray, lag: int) -> float:
    """Divide by the sums of squares of two shortened parts, as `arch` 8.0 does."""
    late, early = deviations[lag + 1 :], deviations[: -(lag + 1)]
    return float(deviations[lag:] @ deviations[:-lag] / math.sqrt((late @ late) * (early @ early)))


def test_block_years_are_the_papers_and_differ_from_the_library_by_one_rule_alone() -> None:
    """Ours equals a slow twin with the usual correlations, `arch` the same twin with its own.

    Series of 25 to 150 years, without memory, with it, and swinging against it. The two rules part
    where a correlation lies close to the band: here in fewer than one series in ten.
    """
    parted = 0
    cases = list(itertools.product((25, 60, 100, 150), (-0.4, 0.0, 0.5, 0.9), range(6)))
    for years, rho, seed in cases:
        values = ar1(years, rho, seed)
        ours = optimal_block_years(values).stationary
        library = float(optimal_block_length(values)["stationary"].iloc[0])
        assert ours == pytest.approx(slow_block_years(values, usual_correlation), rel=1e-9)
        twin = slow_block_years(values, correlation_of_the_library)
        assert library == pytest.approx(twin, rel=1e-9)
        parted += abs(library / ours - 1) > 1e-9
    assert 0 < parted < len(cases) / 10


@pytest.mark.parametrize("years", range(2, 10))
def test_block_years_of_a_few_years_ask_for_a_third_of_them_at_most(years: int) -> None:
    """A short series has no later lags to count; a third of its years is the longest block."""
    values = np.arange(float(years)) ** 2
    asked = optimal_block_years(values)
    assert 0.0 <= asked.stationary <= asked.circular <= math.ceil(years / 3.0)


def test_block_years_of_an_ar1_approach_the_closed_form() -> None:
    """B13: (2 rho / (1 - rho^2))^(2/3) n^(1/3), derived here from the papers' formula.

    The median over 40 series of 20,000 years lies within a tenth of it for rho 0.5; the optimum of
    rho 0.3 does not.
    """
    closed = {rho: (2 * rho / (1 - rho**2)) ** (2 / 3) * 100 ** (1 / 3) for rho in (0.3, 0.5, 0.7)}
    assert list(closed.values()) == pytest.approx([3.516197, 5.622884, 9.099941], abs=1e-6)
    years = 20_000
    rng = np.random.default_rng(13)
    found = []
    for _ in range(40):
        shocks = math.sqrt(0.75) * rng.standard_normal(years + 100)
        found.append(optimal_block_years(lfilter([1.0], [1.0, -0.5], shocks)[100:]).stationary)
    middle = np.median(found)
    scale = (years / 100) ** (1 / 3)
    assert middle == pytest.approx(closed[0.5] * scale, rel=0.1)
    assert abs(middle / (closed[0.3] * scale) - 1) > 0.1


def test_measures_of_a_series_without_spread_say_so() -> None:
    """Years that are all alike have no memory to measure."""
    alike = np.full(30, 5.0)
    assert lag_correlation(alike) == 0.0
    assert math.isnan(hurst_k(alike))
    assert optimal_block_years(alike).stationary == 1.0
