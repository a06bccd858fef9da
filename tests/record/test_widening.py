"""Do widened intervals of a short record hold the truth as often as they say?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from statsmodels.datasets import nile

from model.outlook.chances import widened_amount, widened_chance
from model.outlook.outlook import RecordResampling
from model.record.memory import lag_correlation
from model.record.widening import (
    block_variance,
    effective_years,
    unbiased_lag_1,
    variance_of_mean,
    widening,
)
from model.say.method import ranges_in_words, short_in_words
from model.sequences.blocks import Blocks
from model.sequences.draw import asked_block_years
from model.sequences.slices import Slices

CHANCE, SERIES, RESAMPLES = 0.2, 600, 200
BELOW = -0.8416212335729143
"""Normal quantile at 0.20."""


def test_lag_1_and_effective_years_are_those_derived() -> None:
    """I1: 100 years that remember the one before by 0.6; derived here."""
    assert unbiased_lag_1(0.6, 100) == pytest.approx(0.628, abs=1e-12)
    assert effective_years(100, 0.628) == pytest.approx(22.850123, abs=1e-6)


def test_variances_of_a_mean_are_those_derived() -> None:
    """B10: true variance of a mean, and the average estimate by stationary blocks of ten."""
    assert variance_of_mean(100, 0.5) == pytest.approx(0.0296, abs=1e-9)
    assert block_variance(100, 0.5, 10.0) == pytest.approx(0.020685239, abs=1e-9)
    assert block_variance(100, 0.5, 1.0) == pytest.approx(0.009704, abs=1e-9)


def test_block_variance_when_resampled_then_it_is_found() -> None:
    """The closed form against blocks drawn from many series, at another memory and length.

    Band: four standard errors of the mean over 400 series.
    """
    rng = np.random.default_rng(11)
    found = []
    for values in autoregressions(400, 60, 0.7, rng):
        orders = Blocks("stationary", 4.0).draw(years_of(values), 60, 100, rng=rng)
        found.append(values[orders].mean(axis=1).var())
    error = np.std(found) / np.sqrt(len(found))
    assert np.mean(found) == pytest.approx(block_variance(60, 0.7, 4.0), abs=4.0 * error)


@pytest.mark.parametrize("years", [60, 100])
@pytest.mark.parametrize(("memory", "least", "most"), [(0.6, 90, 98), (0.0, 92, 98)])
def test_interval_when_widened_then_it_holds_the_chance_as_often_as_it_says(
    years: int, memory: float, least: int, most: int
) -> None:
    """I2, I3: intervals of 95 % of a chance of 0.20, of 600 series; unwidened about 83 hold."""
    plain, wide = held_of_100(years, memory)
    assert least <= wide <= most
    if memory:
        assert plain < 88  # so the widening is what does it


def held_of_100(years: int, memory: float) -> tuple[float, float]:
    """Count how many of 100 intervals hold the chance, as resampled and as widened."""
    rng = np.random.default_rng(years)
    plain = wide = 0
    for values in autoregressions(SERIES, years, memory, rng):
        block_years = asked_block_years(years_of(values), "stationary")
        orders = Blocks("stationary", block_years).draw(years_of(values), years, RESAMPLES, rng=rng)
        dry = values < BELOW
        ends = np.quantile(dry[orders].mean(axis=1), (0.025, 0.975))
        by = widening(values, block_years).factor
        low, high = widened_chance(float(dry.mean()), ends, by)
        plain += bool(ends[0] <= CHANCE <= ends[1])
        wide += bool(low <= CHANCE <= high)
    return 100.0 * plain / SERIES, 100.0 * wide / SERIES


def test_widening_when_years_are_independent_then_hardly_any() -> None:
    """Without memory by a few per cent, with it by far more, never by less than nothing."""
    rng = np.random.default_rng(2)
    none, much = (
        np.mean([widening(v, 3.0).factor for v in autoregressions(50, 100, memory, rng)])
        for memory in (0.0, 0.7)
    )
    assert 1.0 <= none < 1.15
    assert much > 1.3
    against = autoregressions(1, 100, -0.5, rng)[0]
    assert lag_correlation(against) < -0.2
    assert widening(against, 1.0).factor == 1.0


def test_widened_when_ends_are_bounds_then_they_stay() -> None:
    """A chance of nothing stays one; an amount stays within what the sequences reach."""
    assert widened_chance(0.0, np.array([0.0, 0.0]), 2.0).tolist() == [0.0, 0.0]
    assert widened_chance(0.9, np.array([0.7, 1.0]), 1.5)[1] == 1.0
    assert widened_amount(0.0, np.array([0.0, 0.2]), 9.0, (0.0, 1.0)).tolist() == [0.0, 1.0]
    assert widened_amount(1.0, np.array([0.5, 1.4]), 2.0, (0.9, 1.1)).tolist() == [0.5, 1.4]


def autoregressions(series: int, years: int, memory: float, rng: np.random.Generator) -> np.ndarray:
    """Make series of unit variance that remember the year before."""
    noise = rng.normal(size=(series, years + 50)) * np.sqrt(1.0 - memory**2)
    values = np.zeros_like(noise)
    for year in range(1, noise.shape[1]):
        values[:, year] = memory * values[:, year - 1] + noise[:, year]
    return values[:, 50:]


def years_of(values: np.ndarray) -> Slices:
    """Make slices of a series."""
    return Slices(np.arange(values.size), values)


def test_ranges_when_memory_fades_slowly_then_said_where_they_stand() -> None:
    """The Nile, K 0.87: page and paper say that ranges stay short; years without memory do not."""
    flows = nile.load_pandas().data["volume"].to_numpy()
    long, short = widening(flows, 12.3), widening(np.random.default_rng(3).permuted(flows), 1.0)
    assert long.hurst_k == pytest.approx(0.8665629, abs=1e-6)
    assert long.stays_short
    assert not short.stays_short
    how = RecordResampling(200, 125, 12.3, long)
    assert "only 61 to 66 in 100 did so" in ranges_in_words(how)
    assert "did so" not in ranges_in_words(replace(how, widening=short))
    assert short_in_words(short) == []
