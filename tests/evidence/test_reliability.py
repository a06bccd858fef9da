"""Whether chances are judged by what happened, and how sure each judgement is.

Sources beside each check; row ids name lines of the project's list of check values. "Derived here"
means worked out for these tests.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import scoringrules
from statsmodels.stats.proportion import proportion_confint

from model.evidence.overlap import effective_cases, window_correlations
from model.evidence.reliability import (
    HELD_OF_100,
    brier,
    brier_scores,
    reliability_table,
    resampled_years,
    score_block_years,
    scored,
)
from model.evidence.scores import skill
from model.outlook.chances import quantile_ranks, wilson_interval
from model.streams import Stream, generator

SAID = np.repeat([0.1, 0.5, 0.9], [5, 4, 3])  # V8
HAPPENED = np.array([1, 0, 0, 0, 0, 1, 1, 0, 0, 1, 1, 1], dtype=bool)
TENTHS = tuple(tenth / 10 for tenth in range(11))


def chances_and_events(
    cases: int, rng: np.random.Generator, sharpen: float = 1.0
) -> tuple[np.ndarray, np.ndarray]:
    """Draw chances and events that come with them; `sharpen` above 1 makes what is said bolder."""
    true = rng.random(cases)
    odds = (true / (1 - true)) ** sharpen
    return odds / (1 + odds), rng.random(cases) < true


def ar1(cases: int, rho: float, rng: np.random.Generator) -> np.ndarray:
    """Draw a year-to-year series of unit spread that remembers the year before."""
    series = rng.standard_normal(cases)
    for year in range(1, cases):
        series[year] = rho * series[year - 1] + math.sqrt(1 - rho**2) * series[year]
    return series


def test_brier_score_and_its_parts_are_those_by_hand() -> None:
    """V8: Murphy 1973, by hand: score = reliability - resolution + uncertainty."""
    got = brier(SAID, HAPPENED)
    assert (got.score, got.reliability, got.resolution, got.uncertainty) == pytest.approx(
        (47 / 300, 1 / 150, 0.1, 0.25), abs=1e-12
    )
    assert got.skill == pytest.approx(28 / 75, abs=1e-12)
    assert got.within_bins == pytest.approx(0.0, abs=1e-12)
    reference = scoringrules.brier_score(HAPPENED, SAID)
    assert brier_scores(SAID, HAPPENED) == pytest.approx(reference, abs=1e-12)


def test_brier_parts_when_bins_mix_chances_say_what_is_left_over() -> None:
    """The within-bin variance and covariance of Stephenson, Coelho and Jolliffe 2008."""
    said, happened = chances_and_events(400, np.random.default_rng(1))
    got = brier(said, happened, TENTHS)
    numbers = np.minimum((said * 10).astype(int), 9)
    left = 0.0
    for number in range(10):
        p, x = said[numbers == number], happened[numbers == number]
        left += np.sum((p - p.mean()) ** 2) - 2 * np.sum((p - p.mean()) * (x - x.mean()))
    assert got.within_bins == pytest.approx(left / 400, abs=1e-12)
    assert got.score == pytest.approx(
        got.reliability - got.resolution + got.uncertainty + got.within_bins, abs=1e-12
    )


def test_brier_when_the_event_never_came_has_no_skill_to_tell() -> None:
    """No uncertainty, nothing to take away."""
    got = brier(np.array([0.0, 0.2]), np.array([False, False]))
    assert got.uncertainty == 0.0
    assert math.isnan(got.skill)


def test_brier_reliability_of_right_chances_is_small_and_of_bold_ones_is_caught() -> None:
    """Ten thousand cases: right chances leave what luck leaves, over-sure ones ten times that."""
    rng = np.random.default_rng(2)
    right = brier(*chances_and_events(10_000, rng), TENTHS)
    bold = brier(*chances_and_events(10_000, rng, sharpen=2.5), TENTHS)
    # by luck: sum over bins of p (1 - p) / n, here 10 bins of mean p (1 - p) = 1/6
    by_luck = 10 / 6 / 10_000
    assert right.reliability < 3 * by_luck
    assert bold.reliability > 30 * by_luck
    # p uniform: uncertainty 1/4, score E p (1 - p) = 1/6 (derived here)
    assert right.uncertainty == pytest.approx(0.25, abs=1e-3)
    assert right.score == pytest.approx(1 / 6, abs=4 * 0.15 / 100)


def test_reliability_table_puts_each_case_into_one_bin() -> None:
    """V8 by hand: 1 of 5, 2 of 4, 3 of 3; empty bins are left out; a chance of 1 has a bin."""
    table = reliability_table(SAID, HAPPENED)
    assert [(row.chance_from, row.chance_to) for row in table] == [(0, 0.2), (0.4, 0.6), (0.8, 1)]
    assert [row.cases for row in table] == [5, 4, 3]
    assert [row.mean_chance for row in table] == pytest.approx([0.1, 0.5, 0.9])
    assert [row.share for row in table] == pytest.approx([0.2, 0.5, 1.0])
    for row, hits in zip(table, (1, 2, 3), strict=True):
        expected = proportion_confint(hits, row.cases, method="wilson")
        assert (row.share_low, row.share_high) == pytest.approx(expected, abs=1e-12)
    edges = reliability_table(np.array([0.0, 0.2, 0.6, 1.0]), np.ones(4, dtype=bool))
    assert [row.chance_from for row in edges] == [0.0, 0.2, 0.6, 0.8]


def test_reliability_table_of_right_chances_holds_the_diagonal_and_of_bold_ones_does_not() -> None:
    """Each interval holds the mean chance said, 19 times in 20; over-sure chances fall outside."""
    rng = np.random.default_rng(3)
    right = reliability_table(*chances_and_events(5000, rng), TENTHS)
    bold = reliability_table(*chances_and_events(5000, rng, sharpen=2.5), TENTHS)
    outside = [
        sum(not row.share_low <= row.mean_chance <= row.share_high for row in table)
        for table in (right, bold)
    ]
    assert outside[0] <= 2  # more than 2 of 10 at 5 % each: about 1 time in 100
    assert outside[1] >= 6


def test_reliability_table_when_windows_overlap_is_less_sure() -> None:
    """Three seasons ahead, a hundred years: about a third of the cases count."""
    said, happened = chances_and_events(100, np.random.default_rng(4))
    apart = reliability_table(said, happened)
    overlapping = reliability_table(said, happened, seasons=3)
    worth = effective_cases(100, window_correlations(3)) / 100
    for one, three in zip(apart, overlapping, strict=True):
        assert (three.cases, three.share) == (one.cases, one.share)
        counted = int(one.cases * worth)
        expected = proportion_confint(one.share * counted, counted, method="wilson")
        assert (three.share_low, three.share_high) == pytest.approx(expected, abs=1e-12)
        assert three.share_high - three.share_low > 1.2 * (one.share_high - one.share_low)


@pytest.mark.parametrize(
    ("hits", "draws", "expected"),
    [
        (81, 263, (0.2553, 0.3662)),
        (15, 148, (0.0624, 0.1605)),
        (0, 20, (0.0, 0.1611)),
        (1, 29, (0.0061, 0.1718)),
        (100, 1000, (0.0829, 0.1202)),
        (20, 1000, (0.0130, 0.0307)),
        (0, 1000, (0.0, 0.0038)),
    ],
)
def test_wilson_interval_is_the_published_one(
    hits: int, draws: int, expected: tuple[float, float]
) -> None:
    """K9: Newcombe 1998, Table I, from memory. K10: formula. statsmodels agrees with all."""
    got = wilson_interval(hits, draws)
    assert got == pytest.approx(expected, abs=5.1e-5)
    assert got == pytest.approx(proportion_confint(hits, draws, method="wilson"), abs=1e-12)


@pytest.mark.parametrize(("draws", "expected"), [(1000, (37, 65)), (200, (4, 17))])
def test_quantile_ranks_are_those_of_the_binomial(draws: int, expected: tuple[int, int]) -> None:
    """K13: ranks that hold the 5 % quantile with 95 % confidence, whatever the distribution."""
    assert quantile_ranks(0.05, draws) == expected


def test_quantile_ranks_hold_the_quantile_as_often_as_they_say() -> None:
    """K13: 4,000 samples of 200 uniform numbers; the twin without the outer ranks fails."""
    ordered = np.sort(np.random.default_rng(13).random((4000, 200)), axis=1)
    low, high = quantile_ranks(0.05, 200)
    four_errors = 4 * math.sqrt(0.95 * 0.05 / 4000)
    held = np.mean((ordered[:, low - 1] < 0.05) & (ordered[:, high - 1] > 0.05))
    assert held > 0.95 - four_errors
    narrow = np.mean((ordered[:, low + 2] < 0.05) & (ordered[:, high - 5] > 0.05))
    assert narrow < 0.95 - four_errors


def scored_mean(values: np.ndarray, block_years: float, rng: np.random.Generator) -> tuple:
    """Return the mean of yearly scores with its interval, 400 resamples."""
    orders = resampled_years(values.size, block_years, rng=rng, resamples=400)
    got = scored(lambda years: float(values[years].mean()), orders)
    return got.value, got.low, got.high


def test_scored_of_a_skill_is_the_skill_with_an_interval_around_it() -> None:
    """A forecast at half the reference's error: skill 1/2, and sure to be above 0."""
    reference = np.random.default_rng(5).gamma(2.0, 1.0, 80)
    ours = 0.5 * reference
    orders = resampled_years(80, 3.0, rng=generator(1, Stream.SCORE_RESAMPLES))
    got = scored(lambda years: skill(ours[years], reference[years]), orders)
    assert (got.value, got.low, got.high) == pytest.approx((0.5, 0.5, 0.5), abs=1e-12)
    mean = scored(lambda years: float(reference[years].mean()), orders)
    assert mean.low < mean.value < mean.high
    again = resampled_years(80, 3.0, rng=generator(1, Stream.SCORE_RESAMPLES))
    assert np.array_equal(orders, again)


def test_scored_interval_when_no_resample_reaches_the_score_still_holds_it() -> None:
    """No resample of thirty years holds thirty different ones: the interval ends at the score."""
    orders = resampled_years(30, 1.0, rng=np.random.default_rng(8), resamples=200)
    most = scored(lambda years: float(np.unique(years).size), orders)
    least = scored(lambda years: -float(np.unique(years).size), orders)
    assert (most.value, most.high) == (30.0, 30.0)
    assert (least.value, least.low) == (-30.0, -30.0)
    assert most.low < 25.0


def test_scored_when_a_score_cannot_be_told_says_so() -> None:
    """No number in, no number out; a few untold resamples are left out."""
    orders = resampled_years(12, 2.0, rng=np.random.default_rng(6), resamples=50)
    assert math.isnan(scored(lambda _: math.nan, orders).high)
    partly = scored(lambda years: 1.0 if years[0] else math.nan, np.array([[1, 0], [0, 1]]))
    assert math.isnan(partly.value)
    mostly = scored(lambda years: math.nan if years[0] else 1.0, np.array([[1, 0], [0, 1]]))
    assert (mostly.value, mostly.low, mostly.high) == (1.0, 1.0, 1.0)


def test_score_block_years_is_at_least_the_seasons_looked_ahead() -> None:
    """Scores without memory still share seasons; scores with memory ask for more."""
    apart = np.random.default_rng(7).standard_normal(400)
    assert score_block_years(apart, 3) == 3.0
    assert score_block_years(ar1(400, 0.8, np.random.default_rng(7)), 3) > 6.0


def test_scored_interval_when_years_remember_needs_blocks() -> None:
    """AR(1) scores of rho 0.6: blocks hold the true mean far more often than single years do.

    Var(mean) of single years falls short by (1 + rho) / (1 - rho) = 4 (closed form), so their
    interval covers about 67 %; 300 hindcasts of 100 years. Blocks come nearer to 95 %, not to it.
    """
    rng = np.random.default_rng(9)
    held = {1.0: 0, 12.0: 0}
    for _ in range(300):
        values = ar1(100, 0.6, rng)
        for block_years in held:
            _, low, high = scored_mean(values, block_years, rng)
            held[block_years] += low <= 0.0 <= high
    assert held[1.0] / 300 == pytest.approx(0.67, abs=4 * math.sqrt(0.67 * 0.33 / 300))
    assert held[12.0] / 300 > 0.80 > held[1.0] / 300
    assert held[12.0] / 3 == pytest.approx(HELD_OF_100["blocks"], abs=1.0)
    assert held[1.0] / 3 == pytest.approx(HELD_OF_100["single years"], abs=1.0)
