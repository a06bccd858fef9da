"""Whether resampled years vary as the published formulas for each kind of block say.

Formulas: Künsch 1989, Politis and Romano 1992 and 1994, from memory; values derived here where
nothing else is said; row ids name lines of the project's list of check values. The reference
library is `arch`. Real flows: the Nile at Aswan, 1871 to 1970, as given with statsmodels.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from arch.bootstrap import CircularBlockBootstrap
from statsmodels.datasets import nile

from model.errors import PlanError
from model.record.record import Record
from model.sequences.blocks import Blocks, Kind
from model.sequences.historical import Historical
from model.sequences.slices import Slices, cut, rows_of
from model.water_year import parse_month

RESAMPLES = 20_000
YEARS = 100
NILE_MEAN = 919.35
# B6, B7: mean and variance of the mean of 100 resampled years; moving blocks neglect both ends
NILE_MEANS: dict[tuple[Kind, float], tuple[float, float]] = {
    ("independent", 1): (NILE_MEAN, 283.515675),
    ("circular", 5): (NILE_MEAN, 713.857095),
    ("circular", 10): (NILE_MEAN, 1034.37923),
    ("moving", 5): (919.004167, 732.442666),
}


@pytest.fixture(scope="module")
def nile_flows() -> np.ndarray:
    """Yearly flows of the Nile, 1871 to 1970."""
    return nile.load_pandas().data["volume"].to_numpy(dtype=float)


def slices_like(totals: np.ndarray) -> Slices:
    """Make each value the total of one slice."""
    return Slices(12 * np.arange(totals.size), totals.astype(float))


def resample(
    kind: Kind, block_years: float, seasons: int = YEARS, count: int = RESAMPLES, seed: int = 1
) -> np.ndarray:
    """Draw years of a record of a hundred, (resample, season)."""
    drawn = Blocks(kind, block_years).draw(
        slices_like(np.zeros(YEARS)), seasons, count, rng=np.random.default_rng(seed)
    )
    assert drawn.shape == (count, seasons)
    return drawn


def means_agree(means: np.ndarray, mean: float, variance: float) -> bool:
    """Return whether means of resamples have a mean and variance, within four standard errors."""
    four_errors = 4 * math.sqrt(variance / means.size)
    return bool(
        abs(means.mean() - mean) < four_errors
        and abs(means.var() / variance - 1) < 4 * math.sqrt(2 / means.size)
    )


def block_means(flows: np.ndarray, block_years: int, *, wraps: bool) -> np.ndarray:
    """Mean of every block that may be drawn."""
    closed = np.concatenate([flows, flows[: block_years - 1]]) if wraps else flows
    return np.lib.stride_tricks.sliding_window_view(closed, block_years).mean(axis=1)


@pytest.mark.parametrize(("kind", "block_years"), NILE_MEANS)
def test_nile_variance_of_the_mean_is_that_of_all_blocks_counted(
    nile_flows: np.ndarray, kind: Kind, block_years: float
) -> None:
    """B6, B7: the expected values themselves, by listing every block that may be drawn."""
    every = block_means(nile_flows, int(block_years), wraps=kind != "moving")
    expected = every.mean(), every.var() * block_years / YEARS
    assert NILE_MEANS[kind, block_years] == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(("kind", "block_years"), NILE_MEANS)
def test_blocks_resample_the_nile_with_the_variance_of_their_kind(
    nile_flows: np.ndarray, kind: Kind, block_years: float
) -> None:
    """B6, B7: 20,000 resampled centuries; the twins, every other kind, fail the same check."""
    means = nile_flows[resample(kind, block_years)].mean(axis=1)
    assert means_agree(means, *NILE_MEANS[kind, block_years])
    for other, (mean, variance) in NILE_MEANS.items():
        alike = {kind, other[0]} == {"circular", "moving"} and other[1] == block_years
        if other != (kind, block_years) and not alike:
            assert not means_agree(means, mean, variance)


def test_moving_blocks_neglect_the_ends_of_the_record_and_circular_ones_do_not() -> None:
    """B7: the first year is in one of the 96 moving blocks of five, a middle year in five."""
    for kind, first, middle in (("moving", 1 / 480, 5 / 480), ("circular", 0.01, 0.01)):
        counts = np.bincount(resample(kind, 5).ravel(), minlength=YEARS) / (RESAMPLES * YEARS)
        for year, expected in ((0, first), (99, first), (50, middle)):
            blocks = RESAMPLES * YEARS / 5
            four_errors = 4 * math.sqrt(expected / 5 / blocks)  # a year comes once in a block
            assert counts[year] == pytest.approx(expected, abs=four_errors)


def test_reference_library_resamples_the_nile_with_the_same_mean_and_variance(
    nile_flows: np.ndarray,
) -> None:
    """B6s: `arch`, circular blocks of five, and ours lie in one band; single years do not."""
    bootstrap = CircularBlockBootstrap(5, nile_flows, seed=np.random.default_rng(6))
    reference = bootstrap.apply(np.mean, RESAMPLES).ravel()
    expected = NILE_MEANS["circular", 5]
    assert means_agree(reference, *expected)
    assert means_agree(nile_flows[resample("circular", 5, seed=6)].mean(axis=1), *expected)
    assert not means_agree(nile_flows[resample("independent", 1, seed=6)].mean(axis=1), *expected)


def ar1_expectations(rho: float, block_years: int) -> dict[str, float]:
    """Return the true variance of a century's mean, and what each kind is expected to find."""
    n, lags = YEARS, np.arange(YEARS)
    population = rho**lags
    true = (1 + 2 * np.sum((1 - lags[1:] / n) * population[1:])) / n
    wrapped = np.concatenate([[0.0], population[:0:-1]])
    circular = ((n - lags) * population + lags * wrapped) / n - true

    def variance(weight: Callable[[int], float]) -> float:
        """Sum the covariances with the weights that a kind of block gives them."""
        return (circular[0] + 2 * sum(weight(lag) * circular[lag] for lag in range(1, n))) / n

    return {
        "true": float(true),
        "independent": variance(lambda _: 0.0),
        "circular": variance(lambda lag: max(0.0, 1 - lag / block_years)),
        "stationary": variance(lambda lag: (1 - lag / n) * (1 - 1 / block_years) ** lag),
    }


def test_blocks_find_most_of_the_variance_of_a_series_with_memory_single_years_a_third() -> None:
    """B10: AR(1) of rho 0.5, blocks of ten, averaged over 2,000 series; closed forms."""
    expected = ar1_expectations(0.5, 10)
    assert expected == pytest.approx(
        {
            "true": 0.0296,
            "independent": 0.009704,
            "circular": 0.0227633984,
            "stationary": 0.020685239,
        },
        abs=1e-9,
    )
    rng = np.random.default_rng(10)
    series = rng.standard_normal((2000, YEARS))
    for year in range(1, YEARS):
        series[:, year] = 0.5 * series[:, year - 1] + math.sqrt(0.75) * series[:, year]
    found, band = {}, {}
    kinds: tuple[Kind, ...] = ("independent", "circular", "stationary")
    for kind in kinds:
        orders = resample(kind, 10, count=10_000)
        shares = np.stack([np.bincount(order, minlength=YEARS) for order in orders]) / YEARS
        each = (shares @ series.T).var(axis=0)
        found[kind] = each.mean()
        # two errors: of the 2,000 series, and of 10,000 resamples
        band[kind] = 4 * math.hypot(
            each.std() / math.sqrt(2000), expected[kind] * math.sqrt(2 / 10_000)
        )
        assert band[kind] < 0.002
    for kind in kinds:
        agrees = [abs(found[kind] - expected[other]) < band[kind] for other in kinds]
        assert agrees == [other == kind for other in kinds]


def test_historical_traces_are_the_index_sequential_ones() -> None:
    """B14: record 1 to 12, a new trace every three values, six long (a public worked example).

    Each value fills four months, so that three values make a slice.
    """
    july = parse_month("2000-07")
    values = np.repeat(np.arange(1.0, 13.0), 4)
    record = Record("twelve values", "", july, values, {}, {}, {})
    slices = cut(record, july)
    drawn = Historical().draw(slices, 2, 999, rng=np.random.default_rng(0))
    traces = values[rows_of(slices, drawn, 24)][:, ::4]
    assert traces.tolist() == [
        [1, 2, 3, 4, 5, 6],
        [4, 5, 6, 7, 8, 9],
        [7, 8, 9, 10, 11, 12],
        [10, 11, 12, 1, 2, 3],
    ]


def test_historical_is_circular_blocks_as_long_as_the_run_each_start_once() -> None:
    """An identity: the same traces, and no others."""
    slices, rng = slices_like(np.arange(12)), np.random.default_rng(2)
    historical = {tuple(trace) for trace in Historical().draw(slices, 3, 1, rng=rng).tolist()}
    circular = {
        tuple(trace) for trace in Blocks("circular", 3).draw(slices, 3, 2000, rng=rng).tolist()
    }
    assert historical == circular
    assert len(historical) == 12


def test_chance_that_a_trace_holds_a_given_year_is_larger_in_blocks() -> None:
    """B16: three-year traces of a century: 1 - 0.99^3 = 0.029701 singly, 3/100 in a block.

    Counted over all years at once: how many distinct years a trace holds, a hundredth of it.
    """
    singly, in_a_block = 0.029701, 0.03
    traces = {
        "independent": resample("independent", 1, seasons=3, count=100_000),
        "circular": resample("circular", 3, seasons=3, count=100_000),
    }
    distinct = {kind: 1 + np.sum(np.diff(np.sort(t)) > 0, axis=1) for kind, t in traces.items()}
    assert np.all(distinct["circular"] == 3)
    share = distinct["independent"].mean() / YEARS
    four_errors = 4 * distinct["independent"].std() / math.sqrt(100_000) / YEARS
    assert share == pytest.approx(singly, abs=four_errors)
    assert share + four_errors < in_a_block
    for trace in traces.values():
        holds_worst = np.any(trace == 41, axis=1).mean()
        assert holds_worst == pytest.approx(
            in_a_block, abs=4 * math.sqrt(in_a_block * (1 - in_a_block) / 100_000)
        )


def test_share_of_distinct_years_in_an_independent_resample_is_the_closed_form() -> None:
    """B17: 1 - (1 - 1/n)^n; the twin in blocks of five keeps 1 - (1 - 5/n)^(n/5), more of them."""

    def share_of_distinct(kind: Kind, block_years: float) -> np.ndarray:
        """Count the distinct years of each resample."""
        ordered = np.sort(resample(kind, block_years, count=10_000), axis=1)
        return (1 + np.sum(np.diff(ordered, axis=1) > 0, axis=1)) / YEARS

    expected = 1 - 0.99**100
    assert expected == pytest.approx(0.6339677, abs=1e-7)
    singly, in_blocks = share_of_distinct("independent", 1), share_of_distinct("circular", 5)
    four_errors = 4 * singly.std() / math.sqrt(10_000)
    assert four_errors < 0.002
    assert singly.mean() == pytest.approx(expected, abs=four_errors)
    assert in_blocks.mean() == pytest.approx(
        1 - 0.95**20, abs=4 * in_blocks.std() / math.sqrt(10_000)
    )
    assert in_blocks.mean() > expected + four_errors


@pytest.mark.parametrize("block_years", [2.5, 10.0])
def test_stationary_blocks_have_geometric_lengths(block_years: float) -> None:
    """Politis and Romano 1994: goes on with chance 1 - p, and by luck in 1 of n new starts."""
    drawn = resample("stationary", block_years, count=10_000)
    goes_on = np.mean((drawn[:, 1:] - drawn[:, :-1]) % YEARS == 1)
    p = 1 / block_years
    expected = 1 - p + p / YEARS
    steps = 10_000 * (YEARS - 1)
    four_errors = 4 * math.sqrt(expected * (1 - expected) / steps)
    assert goes_on == pytest.approx(expected, abs=four_errors)
    # blocks end in any season alike; the twin, blocks of one fixed length, end all at once
    spread = math.sqrt(expected * (1 - expected) / 10_000)
    fixed = resample("circular", 10, count=10_000)
    for years, alike in ((drawn, True), (fixed, False)):
        ends = ((years[:, 1:] - years[:, :-1]) % YEARS != 1).mean(axis=0)
        assert (np.abs(ends - (1 - expected)).max() < 5 * spread) == alike


def test_moving_blocks_longer_than_the_record_are_refused() -> None:
    """The message names the setting and what would be accepted."""
    rng = np.random.default_rng(0)
    with pytest.raises(PlanError, match=r"block_years.*100 or less"):
        Blocks("moving", 101).draw(slices_like(np.zeros(YEARS)), 3, 10, rng=rng)
