"""Does the frontier measure each way on the same sequences, and grey what is truly dominated?"""

from __future__ import annotations

from dataclasses import replace
from itertools import accumulate

import numpy as np
import pytest

from model.decide.compare import play_rows, run_amounts
from model.decide.frontier import Frontier, Pair, Point, frontier
from model.decide.objective import worth_of
from model.decide.risk import worst_difference_error, worst_mean, worst_mean_error
from model.decide.strategy import MIDDLE
from model.farm.setting import FarmSetting, farm_setting_of
from model.farm.state import Settings
from model.record.record import FloatArray
from model.say.frontier import (
    NOT_APART,
    ahead_on_average,
    ahead_when_bad,
    finding_of,
    frontier_in_words,
    way_in_words,
)
from tests.farm_case import farm_case, rows_of_plan

HOLD_BACK = [0.0, 0.2, 0.6]
MOST_HA = [60.0, 150.0, 300.0]


@pytest.fixture(scope="module")
def setting() -> FarmSetting:
    """Return the example farm."""
    return farm_case()


@pytest.fixture(scope="module")
def found(setting: FarmSetting) -> Frontier:
    """Work a small frontier out."""
    return frontier(
        setting,
        setting.river(rows_of_plan(setting)),
        MIDDLE,
        hold_back_ml_per_share=HOLD_BACK,
        most_area_ha=MOST_HA,
    )


def test_frontier_when_point_is_the_strategy_itself_then_it_is_what_compare_says(
    setting: FarmSetting, found: Frontier
) -> None:
    """With all land allowed, a point is the strategy with that much held back, run on its own."""
    held = MIDDLE.model_copy(update={"hold_back_ml_per_share": 0.2})
    alone = farm_setting_of(setting.valley.plan, setting.valley.record, [held])
    results = play_rows(alone, rows_of_plan(alone))
    standing = run_amounts(results)["standing_aud"][0]
    point = next(
        p for p in found.points if (p.hold_back_ml_per_share, p.most_area_ha) == (0.2, 300.0)
    )
    assert point.mean_aud == pytest.approx(standing.mean())
    assert point.worst_tenth_aud == pytest.approx(float(worst_mean(standing)))
    missed = (results["payments_missed"][0] > 0.0).any(axis=1).mean()
    assert point.payment_missed.value == pytest.approx(missed)


def _dominates(other: FloatArray, own: FloatArray) -> bool:
    """Return whether each sum of the worst few is at least as high, and one higher.

    Second-order stochastic dominance by sums of order statistics (Hadar and Russell 1969,
    American Economic Review 59:25; title from memory), in plain Python.
    """
    pairs = list(zip(accumulate(sorted(other)), accumulate(sorted(own)), strict=True))
    return all(a >= b for a, b in pairs) and any(a > b for a, b in pairs)


def test_frontier_when_points_are_greyed_then_another_dominates_them(
    setting: FarmSetting, found: Frontier
) -> None:
    """A greyed point is dominated by some other on the sequences; a white one by none."""
    river = setting.river(rows_of_plan(setting))
    standing = []
    for point in found.points:
        way = replace(
            Settings.of([MIDDLE], setting.rules),
            hold_back_ml_per_share=np.array([[point.hold_back_ml_per_share]]),
            most_area_ha=np.array([[point.most_area_ha]]),
        )
        standing.append(worth_of(setting, river, way).standing_aud[0])
    greyed = [
        any(_dominates(other, own) for other in standing if other is not own) for own in standing
    ]
    assert [point.dominated for point in found.points] == greyed
    assert 0 < sum(greyed) < len(greyed)
    assert found.best() == tuple(p for p in found.points if not p.dominated)


def test_frontier_when_neighbours_are_compared_then_run_by_run() -> None:
    """With little water: each difference and its error, by hand from both ways' own sequences."""
    setting = farm_case({"opening.storage_ml": 20_000.0, "opening.account_ml_per_share": 0.0})
    river, middle = setting.river(rows_of_plan(setting)), setting.strategies[1]
    found = frontier(setting, river, middle, hold_back_ml_per_share=HOLD_BACK, most_area_ha=MOST_HA)

    def standing(point: Point) -> FloatArray:
        way = replace(
            Settings.of([middle], setting.rules),
            hold_back_ml_per_share=np.array([[point.hold_back_ml_per_share]]),
            most_area_ha=np.array([[point.most_area_ha]]),
        )
        return worth_of(setting, river, way).standing_aud[0]

    along = sorted(found.best(), key=lambda p: (-p.mean_aud, -p.worst_tenth_aud))
    assert [pair.better for pair in found.neighbours] == along[:-1]
    assert [pair.other for pair in found.neighbours] == along[1:]
    assert len(along) >= 3
    assert [pair.apart_when_bad for pair in found.neighbours] == [False, True]
    for pair in (*found.neighbours, found.ends):
        apart = standing(pair.better) - standing(pair.other)
        assert pair.mean_ahead_aud == pytest.approx(apart.mean(), abs=1e-6)
        error = 1.959964 * apart.std(ddof=1) / np.sqrt(apart.size)
        assert pair.mean_error_aud == pytest.approx(error, rel=1e-6, abs=1e-9)
        assert pair.mean_error_aud <= 1.96 * (
            pair.better.mean_error_aud + pair.other.mean_error_aud
        )


def test_worst_difference_error_when_bootstrapped_then_the_same() -> None:
    """The error of two worst tenths' difference on the same draws, against 2,000 resamples."""
    rng = np.random.default_rng(11)
    common = rng.normal(0.0, 100.0, 2_000)
    a = common + rng.normal(5.0, 10.0, 2_000)
    b = common + rng.normal(0.0, 10.0, 2_000)
    picks = rng.integers(0, 2_000, (2_000, 2_000))
    differences = worst_mean(a[picks]) - worst_mean(b[picks])
    error = worst_difference_error(a, b)
    assert error == pytest.approx(float(differences.std()), rel=0.15)  # 2,000 resamples: 2 %
    apart = np.hypot(worst_mean_error(a), worst_mean_error(b))
    assert error < 0.5 * apart  # what moves both alike is no error


def test_finding_when_within_its_error_then_cannot_be_told_apart(found: Frontier) -> None:
    """By hand: ahead by more and by less than the error, on average and in the worst tenth."""
    one, other = replace(found.points[0], mean_aud=50_000.0), found.points[1]
    clear = Pair(one, other, 20_000.0, 3_000.0, -40_000.0, 5_000.0)
    close = replace(clear, mean_ahead_aud=2_000.0, worst_tenth_ahead_aud=-4_000.0)
    said = finding_of(replace(found, neighbours=(clear,), ends=clear))
    assert "$50,000, $20,000 (give or take $3,000) more than the next; best in" in said
    assert said.endswith(", $40,000 (give or take $5,000) more")
    said = finding_of(replace(found, neighbours=(close,), ends=close))
    assert f"which cannot be told apart from the next, {way_in_words(other)}; in the" in said
    assert said.endswith(f"cannot be told apart from the best there, {way_in_words(other)}")
    assert (ahead_on_average(close), ahead_when_bad(close)) == (NOT_APART, NOT_APART)
    small = replace(close, worst_tenth_ahead_aud=-57.0, worst_tenth_error_aud=0.2)
    assert ahead_when_bad(small) == "−$57 (give or take $1)"  # never by nothing at all
    same = replace(close, other=one, mean_ahead_aud=0.0, worst_tenth_ahead_aud=0.0)
    said = finding_of(replace(found, neighbours=(), ends=same))
    assert said.endswith("$50,000; it is also the best in the average of the worst 10 in 100")
    assert finding_of(found) in frontier_in_words(found)


def test_frontier_when_area_is_capped_then_no_season_plants_more(setting: FarmSetting) -> None:
    """The most land planted is a cap in every season, on every sequence."""
    capped = replace(setting.settings.part(1, 2), most_area_ha=np.array([[60.0]]))
    river = setting.river(rows_of_plan(setting))
    results = setting.results(river, capped)
    assert np.nanmax(results["area_planted_ha"]) == pytest.approx(60.0)


def test_frontier_when_run_then_progress_is_told_to_the_end(setting: FarmSetting) -> None:
    """A person sees how far it is."""
    seen: list[tuple[int, int]] = []
    frontier(
        setting,
        setting.river(rows_of_plan(setting)[:20]),
        MIDDLE,
        hold_back_ml_per_share=[0.0, 0.1],
        most_area_ha=[100.0, 200.0],
        expected_chance_frac=[0.5, 0.9],
        progress=lambda done, total: seen.append((done, total)),
    )
    assert seen == [(5, 8), (8, 8)]


def test_frontier_when_reliance_varies_then_the_surer_never_plants_more() -> None:
    """Counting on what is surer, no sequence plants more in season 1."""
    setting = farm_case({"opening.storage_ml": 60_000.0, "opening.account_ml_per_share": 0.1})
    sure = MIDDLE.model_copy(update={"name": "sure", "expected_chance_frac": 0.95})
    odds = MIDDLE.model_copy(update={"name": "odds", "expected_chance_frac": 0.5})
    both = farm_setting_of(setting.valley.plan, setting.valley.record, [sure, odds])
    results = both.results(both.river(rows_of_plan(both)))
    planted = results["area_planted_ha"][..., 0]
    assert (planted[0] <= planted[1] + 1e-9).all()
    assert (planted[0] < planted[1] - 1.0).any()


def test_carrying_when_water_earns_more_planted_then_carrying_nothing_is_best(
    found: Frontier,
) -> None:
    """Published in kind, from memory: carrying nothing is sometimes best.

    On the example farm a hectare watered earns far more than a megalitre left at the end, and held
    water evaporates: the best mean is at nothing held back.
    """
    best = max(found.points, key=lambda point: point.mean_aud)
    assert best.hold_back_ml_per_share == 0.0
