"""Is the next slice drawn as Lall and Sharma say, and does a wrong draw show?"""

import numpy as np
import pytest
from statsmodels.datasets import nile

from model.errors import PlanError
from model.plan.plan import Drawing
from model.record.record import Record
from model.sequences.draw import calendar_of, method_of, slices_of
from model.sequences.neighbours import (
    Neighbours,
    kernel_weights,
    nearest,
    neighbours_of,
    past_of,
)
from model.sequences.slices import Slices
from model.water_year import MONTHS_IN_YEAR, parse_month

NILE = nile.load_pandas().data["volume"].to_numpy()


def yearly_slices(totals, present):
    """Return a series of years as slices of twelve equal months, with what came before each."""
    first_rows = MONTHS_IN_YEAR * np.arange(totals.size)
    past = np.full((MONTHS_IN_YEAR * totals.size + 1, 1), np.nan)
    past[MONTHS_IN_YEAR::MONTHS_IN_YEAR, 0] = totals
    return Neighbours(past, np.array([present])), Slices(first_rows, totals)


def record_of(inflow_ml, first="1900-07", **indices):
    """Make a record of an inflow and its indices."""
    return Record("made.csv", "0" * 64, parse_month(first), inflow_ml, {}, indices, {})


@pytest.mark.parametrize(
    ("k", "expected"),
    [
        (5, (0.437956, 0.218978, 0.145985, 0.109489, 0.087591)),
        (10, (0.341417, 0.170709, 0.113806, 0.085354, 0.068283, 0.056903, 0.048774, 0.042677,
              0.037935, 0.034142)),
    ],
)  # fmt: skip
def test_kernel_weights_when_five_or_ten_neighbours_then_as_published(k, expected):
    """B1, B2: Lall and Sharma 1996 (Water Resour. Res. 32:679); values derived here."""
    np.testing.assert_allclose(kernel_weights(k), expected, atol=5.1e-7)


@pytest.mark.parametrize(("k", "expected"), [(5, 3.562156), (10, 5.535575), (141, 18.667916)])
def test_kernel_weights_when_squared_then_effective_number(k, expected):
    """B3: 1 / sum w^2; derived here."""
    assert 1.0 / np.sum(kernel_weights(k) ** 2) == pytest.approx(expected, abs=1e-6)


def test_nearest_when_nile_then_the_five_known_years():
    """B4: neighbours of 940.3 on the Nile, what followed, mean and spread; derived here."""
    order = nearest(NILE[:-1, None], np.array([[940.3]]), 5)[0]
    assert NILE[order].tolist() == [940, 944, 935, 923, 958]
    followed = NILE[order + 1]
    assert followed.tolist() == [833, 984, 1110, 975, 1140]
    weights = kernel_weights(5)
    mean = weights @ followed
    assert mean == pytest.approx(948.941606, abs=1e-5)
    assert np.sqrt(weights @ (followed - mean) ** 2) == pytest.approx(114.956086, abs=1e-5)


def test_draw_when_nile_then_each_neighbour_as_often_as_its_weight():
    """The slices drawn for one season are the ten nearest, each within four standard errors."""
    method, slices = yearly_slices(NILE, 940.3)
    count = 40_000
    drawn = method.draw(slices, 1, count, rng=np.random.default_rng(1))[:, 0]
    order = nearest(NILE[:-1, None], np.array([[940.3]]), 10)[0] + 1
    shares = np.array([np.mean(drawn == slice_) for slice_ in order])
    assert _within_band(shares, kernel_weights(10), count)
    assert not _within_band(shares, np.full(10, 0.1), count), "equal weights must not pass"


def _within_band(shares, chances, count):
    return bool((np.abs(shares - chances) <= 4 * np.sqrt(chances * (1 - chances) / count)).all())


def _slope_and_variance(seed, *, shuffled=False):
    """Fit the conditional mean of the next value of a Gaussian AR(1) over 61 conditions."""
    rng = np.random.default_rng(seed)
    rho, n = 0.6, 5_000
    shocks = rng.standard_normal(n) * np.sqrt(1 - rho**2)
    series = np.empty(n)
    series[0] = rng.standard_normal()
    for year in range(1, n):
        series[year] = rho * series[year - 1] + shocks[year]
    followed = rng.permutation(series[1:]) if shuffled else series[1:]
    conditions = np.linspace(-1.5, 1.5, 61)
    k = neighbours_of(n)
    order = nearest(series[:-1, None], conditions[:, None], k)
    weights = kernel_weights(k)
    means = followed[order] @ weights
    variances = ((followed[order] - means[:, None]) ** 2) @ weights
    slope = np.polyfit(conditions, means, 1)[0]
    return slope, variances.mean() / (1.0 - np.sum(weights**2))


def test_nearest_when_gaussian_ar1_then_slope_and_variance_of_theory():
    """B5: E[y|x] = 0.6 x and Var[y|x] = 0.64 (theory), mean of 20 seeds, k = 71."""
    assert neighbours_of(5_000) == 71
    slope, variance = np.mean([_slope_and_variance(seed) for seed in range(20)], axis=0)
    assert slope == pytest.approx(0.6, abs=0.02)
    assert variance == pytest.approx(0.64, abs=0.02)


def test_nearest_when_what_followed_is_shuffled_then_theory_is_missed():
    """The twin of B5: a generator that forgets the year before fails the same check."""
    slope, variance = np.mean([_slope_and_variance(s, shuffled=True) for s in range(5)], axis=0)
    assert abs(slope - 0.6) > 0.3
    assert abs(variance - 0.64) > 0.2


def test_draw_when_chained_then_each_season_is_near_to_the_one_before():
    """The past of season 2 is the slice of season 1: checked by a slow twin, draw by draw."""
    rng = np.random.default_rng(3)
    totals = rng.gamma(2.0, 100.0, 40)
    method, slices = yearly_slices(totals, 150.0)
    drawn = method.draw(slices, 3, 200, rng=np.random.default_rng(4))
    chances = np.random.default_rng(4).random((200, 3))
    for sequence in range(200):
        past = 150.0
        for season in range(3):
            expected = _draw_slowly(totals, past, chances[sequence, season])
            assert drawn[sequence, season] == expected
            past = totals[expected]


def _draw_slowly(totals, past, chance):
    """Sort all years by how near the year before them was, and go down the kernel."""
    distance = [(abs(totals[year - 1] - past), year) for year in range(1, totals.size)]
    k = round(np.sqrt(totals.size))
    nearest_years = [year for _, year in sorted(distance)][:k]
    total = sum(1 / j for j in range(1, k + 1))
    running = 0.0
    for j, year in enumerate(nearest_years, start=1):
        running += (1 / j) / total
        if chance < running:
            return year
    return nearest_years[-1]


def test_draw_when_record_is_resampled_then_each_slice_keeps_its_own_past():
    """Slices picked more than once are neighbours by what came before them when observed."""
    method, slices = yearly_slices(np.arange(10.0, 50.0), 30.0)
    order = np.array([5, 5, 5, 20, 20, 20, 35, 35, 35])
    drawn = method.draw(slices.picked(order), 1, 500, rng=np.random.default_rng(1))
    assert set(order[drawn[:, 0]]) == {20}


def test_draw_when_more_sequences_then_it_begins_with_the_fewer():
    """The first sequences do not depend on how many are drawn."""
    method, slices = yearly_slices(NILE, 900.0)
    few = method.draw(slices, 3, 10, rng=np.random.default_rng(2))
    many = method.draw(slices, 3, 50, rng=np.random.default_rng(2))
    assert (many[:10] == few).all()


def test_past_when_indices_then_three_month_means_beside_twelve_month_sums():
    """What is known as a row begins lies before it; the first months know nothing."""
    months = np.arange(300.0)
    past = past_of(record_of(months, heat=-months), ["heat"])
    assert np.isnan(past[:12, 0]).all()
    assert past[24].tolist() == [months[12:24].sum(), -22.0]
    assert past[300, 0] == months[-12:].sum()


def test_nearest_when_an_index_parts_equal_pasts_then_it_decides():
    """Two columns are each divided by their spread, so neither drowns the other."""
    pasts = np.array([[1000.0, 0.1], [1000.0, 0.9], [3000.0, 0.5], [np.nan, 0.1]])
    order = nearest(pasts, np.array([[1000.0, 0.8]]), 4)[0]
    assert order.tolist() == [1, 0, 2]


def test_method_when_record_ends_before_the_run_then_the_present_must_be_stated():
    """Without the twelve months before it the plan has to say what they were."""
    record = record_of(np.random.default_rng(1).gamma(2.0, 50.0, 360))
    calendar = calendar_of("1940-07", Drawing())
    slices = slices_of(record, calendar)
    with pytest.raises(PlanError, match="last_twelve_months_inflow_ml"):
        method_of(Drawing(method="neighbours"), slices, record, calendar)
    stated = Drawing(method="neighbours", last_twelve_months_inflow_ml=900.0)
    settings = method_of(stated, slices, record, calendar).settings()
    assert settings["last_twelve_months_inflow_ml"] == 900.0


def test_method_when_record_reaches_the_run_then_the_present_is_read_off_it():
    """The twelve months before the opening month, and no others."""
    inflow_ml = np.random.default_rng(1).gamma(2.0, 50.0, 360)
    record = record_of(inflow_ml)
    method = Neighbours.of(record, record.last_month + 1)
    assert method.present[0] == pytest.approx(inflow_ml[-12:].sum())


def test_method_when_index_is_not_in_the_record_then_refused_by_name():
    """A mistyped index is named, with what there is."""
    record = record_of(np.ones(360), sea=np.ones(360))
    with pytest.raises(PlanError, match="sea"):
        Neighbours.of(record, record.last_month + 1, indices=["see"])
