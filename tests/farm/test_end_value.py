"""Is water left at the end worth what a season earns from it?"""

from __future__ import annotations

import numpy as np
import pytest

from model.farm.end_value import SeasonsTried, fit_worth, worth_left_aud
from model.record.record import FloatArray

LEVELS = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
DAM = np.linspace(0.1, 0.9, 41)


def tried(earned: FloatArray, left: FloatArray, floor: float) -> SeasonsTried:
    """Return seasons in which each account earns and leaves the same whatever the dam."""
    same = np.ones_like(DAM)
    return SeasonsTried(
        account_ml_per_share=LEVELS,
        dam_frac=DAM,
        stands_aud=500.0 + np.outer(earned, same),
        left_ml_per_share=np.outer(left, same),
        end_dam_frac=DAM,
        end_floor_aud_per_share=floor * same,
    )


def test_worth_when_all_water_is_used_then_what_the_season_earned() -> None:
    """300 a unit of account, nothing left over: 300, whatever the farm itself stands at."""
    worth = fit_worth(tried(300.0 * LEVELS, 0.0 * LEVELS, 100.0))
    assert worth.aud(np.array([0.6]), np.array([0.5])) == pytest.approx([180.0])


def test_worth_when_half_is_left_over_then_three_passes_add_up() -> None:
    """By hand: 100 earned and half left, floor 40: 100 + 20 = 120, then 160, then 180 a unit."""
    worth = fit_worth(tried(100.0 * LEVELS, 0.5 * LEVELS, 40.0))
    assert worth.aud(np.array([1.0]), np.array([0.3])) == pytest.approx([180.0])


def test_worth_when_the_dam_tells_then_it_counts() -> None:
    """Water earns 400 a unit in a dry valley and 100 in a wet one, straight between."""
    earned = np.outer(LEVELS, 400.0 - 300.0 * (DAM - 0.1) / 0.8)
    season = SeasonsTried(LEVELS, DAM, earned, 0.0 * earned, DAM, np.zeros_like(DAM))
    worth = fit_worth(season)
    found = worth.aud(np.ones(4), np.array([0.0, 0.1, 0.5, 0.9]))
    assert found == pytest.approx([400.0, 400.0, 250.0, 100.0])


def test_worth_when_a_market_pays_more_then_what_it_pays() -> None:
    """Water that earns nothing is worth its July price; without a market, nothing."""
    worth = fit_worth(tried(0.0 * LEVELS, 0.0 * LEVELS, 0.0))
    left, dam = np.array([0.4]), np.array([0.5])
    assert worth_left_aud(left, dam, np.array([90.0]), worth) == pytest.approx([36.0])
    assert worth_left_aud(left, dam, np.array([0.0]), worth) == pytest.approx([0.0])


def test_worth_when_noise_bends_the_curve_then_more_water_is_never_worth_less() -> None:
    """A fuller account can always do what an emptier one does."""
    earned = np.array([0.0, 100.0, 90.0, 95.0, 200.0])
    worth = fit_worth(tried(earned, 0.0 * LEVELS, 0.0))
    levels = np.linspace(0.0, 1.0, 21)
    found = worth.aud(levels, np.full(21, 0.5))
    assert (np.diff(found) >= -1e-9).all()


def test_worth_when_the_dam_never_moves_then_a_curve_all_the_same() -> None:
    """A valley without a dam to speak of."""
    season = SeasonsTried(
        LEVELS,
        np.full(6, 0.4),
        np.outer(200.0 * LEVELS, np.ones(6)),
        np.zeros((5, 6)),
        np.full(6, 0.4),
        np.zeros(6),
    )
    assert fit_worth(season).aud(np.array([0.5]), np.array([0.4])) == pytest.approx([100.0])
