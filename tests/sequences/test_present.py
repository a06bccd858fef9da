"""Blocks moved to today's river: the fit, the factors, and what they must and may not do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.evidence.walk import before
from model.outlook.outlook import resampled_sequences
from model.outlook.setting import setting_of
from model.plan.plan import Drawing
from model.record.record import Record, parse_record
from model.sequences.blocks import Blocks
from model.sequences.draw import (
    calendar_of,
    draw_resampled,
    draw_sequences,
    method_of,
    slices_of,
)
from model.sequences.present import LEADS, MOST_MOVED, Present
from model.sequences.ridge import STRENGTHS, fit_ridge
from model.sequences.slices import Sequences, cut
from model.sequences.unique import legs_of, unique_sequences
from model.streams import Stream, generator
from model.valley.state import forcing_of
from model.water_year import parse_month
from tests import present_twin
from tests.farm_case import contract_record, farm_plan
from tests.sample_files import monthly_csv

OPENING = "2020-09"
PRESENT = Drawing(method="present")


def river(years: int = 60, memory: float = 0.6, seed: int = 4) -> Record:
    """Make monthly flow with a memory from month to month, and one month without any."""
    record = parse_record(monthly_csv(first="1960-07", months=12 * years + 2).encode(), "river.csv")
    rng = np.random.default_rng(seed)
    level = np.zeros(record.months)
    for t in range(1, record.months):
        level[t] = memory * level[t - 1] + rng.normal(0.0, 0.7)
    flow_ml = np.exp(level) * 1_000.0
    flow_ml[77] = 0.0
    return replace(record, inflow_ml=flow_ml)


def present_of(record: Record, opening: str = OPENING) -> Present:
    """Fit the method to all of a record before a month."""
    method = method_of(
        PRESENT, cut(record, parse_month(opening)), record, calendar_of(opening, PRESENT)
    )
    assert isinstance(method, Present)
    return method


# the fit


def test_ridge_when_fitted_then_each_case_left_out_is_as_if_it_never_was() -> None:
    """The strength is that of least error on cases fitted without, weights counted as copies."""
    rng = np.random.default_rng(5)
    x, noise = rng.normal(size=(30, 3)), rng.normal(size=30)
    y, weights = x @ [0.6, -0.2, 0.0] + noise, rng.integers(0, 4, (6, 30)).astype(float)
    found = fit_ridge(x, y, weights)
    for w, strength, mean in zip(weights, found.strength, found.mean, strict=True):
        errors = [_left_out_error(x, y, w, ridge) for ridge in STRENGTHS]
        assert strength == STRENGTHS[int(np.argmin(errors))]
        assert mean == pytest.approx(_refit(x, y, w, strength)[0], abs=1e-10)


def test_ridge_when_strong_then_nothing_is_left_and_when_weak_then_least_squares() -> None:
    """Without a link no slope; with a clear one that of least squares and its usual error.

    Reference: statsmodels' ordinary least squares.
    """
    from statsmodels.api import OLS, add_constant

    rng = np.random.default_rng(6)
    x = rng.normal(size=(20_000, 2))
    y = x @ [1.0, -2.0] + rng.normal(size=20_000)
    clear, usual = fit_ridge(x, y, np.ones((1, 20_000))), OLS(y, add_constant(x))
    assert clear.mean[0] == pytest.approx([1.0, -2.0], abs=0.03)
    covariance = clear.root[0] @ clear.root[0].T
    assert np.sqrt(np.diag(covariance)) == pytest.approx(usual.fit().bse[1:], rel=1e-3)
    noise, few = rng.normal(size=(40, 60)), np.ones((1, 60))
    shrunk = np.array([fit_ridge(x[:60], y, few).mean[0] for y in noise])
    plain = np.array([OLS(y, add_constant(x[:60])).fit().params[1:] for y in noise])
    assert np.abs(shrunk).mean() < 0.6 * np.abs(plain).mean()


def _refit(x, y, weights, strength):
    """Fit by stacked least squares: slopes and intercept."""
    copies = np.repeat(np.arange(len(y)), weights.astype(int))
    xs, ys = x[copies], y[copies]
    centre, mean = xs.mean(axis=0), ys.mean()
    stacked = np.vstack([xs - centre, np.sqrt(strength) * np.eye(x.shape[1])])
    slopes = np.linalg.lstsq(stacked, np.append(ys - mean, np.zeros(x.shape[1])), rcond=None)[0]
    return slopes, mean - slopes @ centre


def _left_out_error(x, y, weights, strength):
    """Return the squared error on every case, all its copies left out."""
    total = 0.0
    for out in np.flatnonzero(weights):
        slopes, intercept = _refit(x, y, np.where(np.arange(len(y)) == out, 0, weights), strength)
        total += weights[out] * (y[out] - intercept - slopes @ x[out]) ** 2
    return total


# the factors


@pytest.mark.parametrize("opening", ["2020-07", "2020-09", "2010-02"])
def test_present_when_drawn_then_factors_are_the_twins(opening: str) -> None:
    """Sequence by sequence the same factors as in plain Python, to 1e-9."""
    record, calendar = river(), calendar_of(opening, PRESENT)
    method, slices = present_of(record, opening), slices_of(record, calendar)
    drawn = method.draw(slices, 3, 2, rng=np.random.default_rng(1))
    normals = method.noise(2, rng=np.random.default_rng(2))
    factors = method.factors(slices, drawn, calendar.months, normals)
    assert normals.shape == (2, len(LEADS), 4)
    row = parse_month(opening) - record.first_month
    for sequence in range(2):
        expected = present_twin.factors_of(
            record.inflow_ml.tolist(),
            row,
            slices.first_rows[drawn[sequence]].tolist(),
            normals[sequence].tolist(),
            calendar.months,
        )
        assert factors[sequence] == pytest.approx(expected, rel=1e-9)


def test_present_when_the_river_is_as_it_was_before_a_run_then_the_run_comes_again_as_it_was() -> (
    None
):
    """A run of consecutive observed years whose own past is the present keeps its level."""
    record = river()
    calendar = calendar_of(OPENING, PRESENT)
    slices = slices_of(record, calendar)
    method = present_of(record)
    start = int(slices.first_rows[20])
    as_then = replace(method, present=method.pasts[start].copy())
    normals = as_then.noise(1, rng=np.random.default_rng(0))
    factors = as_then.factors(slices, np.array([[20, 21, 22]]), calendar.months, normals)
    assert factors == pytest.approx(np.ones((1, calendar.months)), abs=1e-12)


def test_present_when_drawn_then_slices_are_those_of_blocks_and_levels_are_bounded() -> None:
    """The same random numbers draw the same years as blocks; no level moves further than stated."""
    record, calendar = river(memory=0.95), calendar_of(OPENING, PRESENT)
    method, slices = present_of(record), slices_of(record, calendar)
    sequences = draw_sequences(method, slices, calendar, 500, rng=np.random.default_rng(3))
    plain = draw_sequences(method.blocks, slices, calendar, 500, rng=np.random.default_rng(3))
    assert np.array_equal(sequences.rows, plain.rows)
    assert plain.factors is None
    assert sequences.factors is not None
    assert np.abs(np.log(sequences.factors)).max() == pytest.approx(MOST_MOVED)
    assert method.blocks.block_years >= 5.0


def test_present_when_more_are_drawn_then_they_begin_with_the_fewer() -> None:
    """A longer draw from the same numbers begins with the shorter one, factors and all."""
    record, calendar = river(), calendar_of(OPENING, PRESENT)
    method, slices = present_of(record), slices_of(record, calendar)
    few, many = (
        draw_sequences(method, slices, calendar, count, rng=np.random.default_rng(8))
        for count in (7, 30)
    )
    assert np.array_equal(many[:7].rows, few.rows)
    assert many.factors is not None
    assert np.array_equal(many.factors[:7], few.factors)


def test_present_when_flow_is_moved_then_the_tributary_moves_and_the_weather_stays() -> None:
    """Inflow and tributary of a month are multiplied; evaporation less rain is as observed."""
    record, plan = contract_record(), farm_plan()
    rows, factors = np.array([[3, 4], [3, 4]]), np.array([[1.0, 1.0], [0.5, 2.0]])
    forcing = forcing_of(rows, record, plan.valley, factors=factors)
    for month in range(2):
        came = forcing.weather(month)
        assert came.inflow_ml[1] == came.inflow_ml[0] * factors[1, month]
        assert came.tributary_ml[1] == came.tributary_ml[0] * factors[1, month]
        assert came.net_evaporation_mm[1] == came.net_evaporation_mm[0]


def test_present_when_years_are_shuffled_then_it_moves_little() -> None:
    """A record without memory leaves slopes that move the middle sequence by a few per cent."""
    factors = np.array(
        [
            value
            for seed in range(8)
            for name, value in present_of(river(memory=0.0, seed=seed)).settings().items()
            if name.startswith("middle_factor_")
        ],
        dtype=float,
    )
    assert np.abs(np.log(factors)).mean() < 0.1
    lasting = present_of(river(memory=0.95)).settings()
    assert abs(np.log(float(lasting["middle_factor_1_3"]))) > 0.1


# what it knows


def test_present_when_the_record_after_its_opening_changes_then_its_factors_do_not() -> None:
    """Fitted only on what was known as the run opens."""
    record, opening = river(), "2001-03"
    row = parse_month(opening) - record.first_month
    later = record.inflow_ml.copy()
    later[row:] *= 7.0
    then, now = (
        present_of(one, opening).settings() for one in (record, replace(record, inflow_ml=later))
    )
    cut_off = present_of(before(record, parse_month(opening)), opening).settings()
    for name, value in then.items():
        if name.startswith(("slope", "fitted")):
            assert now[name] == value
            assert cut_off[name] == value


@pytest.mark.parametrize("opening", ["2020-10", "2031-07", "1960-07"])
def test_present_when_the_record_does_not_reach_today_then_every_start_stands_in(
    opening: str,
) -> None:
    """One month short, years short, or before the record: `historical`, and the output says so."""
    record, calendar = river(), calendar_of(opening, PRESENT)
    slices = slices_of(record, calendar)
    method = method_of(PRESENT, slices, record, calendar)
    assert method.settings()["method"] == "historical"
    assert method.settings()["in_place_of"] == "present"
    assert method.settings()["because"] == "opening_off_the_record"
    assert method.count(slices, 7_000) == slices.count


def test_present_when_a_record_is_resampled_then_it_is_fitted_anew() -> None:
    """The record itself, each whole year once, gives the slopes of its whole years; others not."""
    record, calendar = river(), calendar_of(OPENING, PRESENT)
    method, slices = present_of(record), slices_of(record, calendar)
    itself = np.arange(slices.count)
    again = method.refitted(slices, np.stack([itself, itself[::-1], np.zeros_like(itself)]))
    for lead, (first, last) in enumerate(LEADS):
        assert first < last
        of_whole = method.cases.fitted(
            np.isin(method.cases.starts, slices.first_rows)[None, :].astype(float)
        )[lead]
        means = again.fits[lead].mean
        assert means[0] == pytest.approx(of_whole.mean[0], abs=1e-12)
        assert means[1] == pytest.approx(of_whole.mean[0], abs=1e-12)
        assert np.abs(means[2]).max() < 1e-9  # one year says nothing of slopes


def test_present_when_resampled_records_are_drawn_together_then_each_is_as_if_alone() -> None:
    """Rows and factors of each resampled record are those of its own draw, to 1e-12."""
    record, calendar = river(), calendar_of(OPENING, PRESENT)
    method, slices = present_of(record), slices_of(record, calendar)
    orders = method.blocks.draw(slices, slices.count, 3, rng=np.random.default_rng(4))

    def rngs() -> list[np.random.Generator]:
        return [np.random.default_rng(seed) for seed in range(3)]

    together = draw_resampled(method, slices, calendar, orders, 20, rngs())
    assert together.factors is not None
    for at, (order, rng) in enumerate(zip(orders, rngs(), strict=True)):
        own = slice(20 * at, 20 * at + 20)
        fitted = method.refitted(slices, order[None, :])
        alone = draw_sequences(fitted, slices.picked(order), calendar, 20, rng=rng)
        assert np.array_equal(together.rows[own], alone.rows)
        assert alone.factors is not None
        assert together.factors[own] == pytest.approx(alone.factors, abs=1e-12)


def test_sequences_when_each_is_moved_by_its_own_then_their_legs_are_all_of_them() -> None:
    """None comes twice: all are run, in their own order, from leg to leg in their own places."""
    record, calendar = river(), calendar_of(OPENING, PRESENT)
    method, slices = present_of(record), slices_of(record, calendar)
    sequences = draw_sequences(method, slices, calendar, 40, rng=np.random.default_rng(5))
    different = unique_sequences(sequences)
    assert np.array_equal(different.places, np.arange(40))
    first, *later = legs_of(different.sequences)
    assert first.parents is not None
    assert np.array_equal(first.parents, np.zeros(40))
    assert [leg.parents for leg in later] == [None] * len(later)
    twice = Sequences.joined([sequences, sequences])
    assert np.array_equal(unique_sequences(twice).places[:40], unique_sequences(twice).places[40:])


def test_outlook_when_present_then_resampled_records_move_by_their_own_slopes() -> None:
    """The record's interval holds what the slopes leave open: its factors vary between records."""
    plan = farm_plan({"sequences.method": "present", "opening.month": "2020-09"})
    again, how = resampled_sequences(setting_of(plan, contract_record()))
    assert again.factors is not None
    first = np.log(again.factors[:, 0]).reshape(how.resamples, how.draws_each)
    between = first.mean(axis=1).std()
    within = first.std(axis=1).mean() / np.sqrt(how.draws_each)
    assert between > 2.0 * within


def test_sequences_when_joined_then_bare_rows_come_as_observed() -> None:
    """Rows without factors count as moved by 1."""
    moved = Sequences(np.zeros((2, 3), dtype=np.intp), np.full((2, 3), 2.0))
    joined = Sequences.joined([np.ones((1, 3), dtype=np.intp), moved])
    assert joined.factors is not None
    assert joined.factors[:, 0].tolist() == [1.0, 2.0, 2.0]
    assert Sequences.joined([moved.rows]).factors is None


def test_present_when_blocks_of_one_year_are_asked_for_then_runs_stay_together() -> None:
    """Blocks shorter than five years are lengthened, single years too; longer ones are kept."""
    record = river()
    for kind, asked, kept in (("independent", 1.0, 5.0), ("circular", 7.0, 7.0)):
        drawing = Drawing(method="present", kind=kind, block_years=asked)
        method = method_of(
            drawing, cut(record, parse_month(OPENING)), record, calendar_of(OPENING, drawing)
        )
        assert isinstance(method, Present)
        assert method.blocks == Blocks("stationary" if kind == "independent" else "circular", kept)


def test_training_when_present_then_it_moves_by_numbers_of_its_own() -> None:
    """The same method and slopes on a stream of its own."""
    record, calendar = river(), calendar_of(OPENING, PRESENT)
    method, slices = present_of(record), slices_of(record, calendar)
    played, trained = (
        draw_sequences(method, slices, calendar, 50, rng=generator(1, stream))
        for stream in (Stream.SEQUENCES, Stream.TRAINING)
    )
    assert played.factors is not None
    assert trained.factors is not None
    assert not np.isin(played.factors[:, 0], trained.factors[:, 0]).any()
