"""What is the water worth that stands on the farm when a run ends?

What one more season earns from it. The middle strategy is played through training sequences; from
each 1 July in them its farm goes on with an empty account and with ever fuller ones, through the
same months, and what it has more of in the end is what the water earned. The water left over after
that season is valued by the same curve: three passes, of which the first knows the market alone. So
there is one curve of account and dam for a farm, and all strategies are judged by it.

It is never worth less than selling it in July would bring (nothing, where the farm has no market).
Accounts are those that stand after 1 July, in ML per share.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from model.record.record import FloatArray
from model.sequences.slices import IntArray

PASSES: Final = 3
DAM_POINTS: Final = 5
"""The curve runs straight between quantiles of the dam on 1 July: its ends and three between."""

SAME_DAM_FRAC: Final = 1e-6


@dataclass(frozen=True, slots=True)
class WaterWorth:
    """What water that stands after 1 July is worth to one farm, by account and dam."""

    account_ml_per_share: FloatArray  # (level,) from 0
    dam_frac: FloatArray  # (point,) of capacity
    worth_aud: FloatArray  # (point, level) more than an empty account

    def aud(self, account_ml_per_share: FloatArray, dam_frac: FloatArray) -> FloatArray:
        """Return what an account is worth: straight between the points, flat beyond the dam's.

        Above the highest account a megalitre is worth what it is worth just below it.

        Parameters
        ----------
        account_ml_per_share
            (..., sequence)
        dam_frac
            (sequence,)

        Examples
        --------
        >>> table = np.array([[0.0, 100.0], [0.0, 60.0]])
        >>> worth = WaterWorth(np.array([0.0, 1.0]), np.array([0.0, 1.0]), table)
        >>> worth.aud(np.array([0.5, 2.0]), np.array([0.5, 1.0])).tolist()
        [40.0, 120.0]
        """
        level, above = _place(account_ml_per_share, self.account_ml_per_share)
        point, wetter = _place(dam_frac, self.dam_frac)
        wetter = np.clip(wetter, 0.0, 1.0)
        steps = np.diff(self.worth_aud, axis=1)
        dry = self.worth_aud[point, level] + above * steps[point, level]
        wet = self.worth_aud[point + 1, level] + above * steps[point + 1, level]
        aud: FloatArray = dry + wetter * (wet - dry)
        return aud


def _place(value: FloatArray, points: FloatArray) -> tuple[IntArray, FloatArray]:
    """Return the point at or below each value, and how far on it lies towards the next."""
    below = np.clip(np.searchsorted(points, value, side="right") - 1, 0, len(points) - 2)
    return below, (value - points[below]) / (points[below + 1] - points[below])


@dataclass(frozen=True, slots=True)
class SeasonsTried:
    """Seasons begun with ever fuller accounts, through the same months."""

    account_ml_per_share: FloatArray  # (level,) on 1 July, from 0
    dam_frac: FloatArray  # (case,) on that 1 July
    stands_aud: FloatArray  # (level, case) the farm a year on, its water left out
    left_ml_per_share: FloatArray  # (level, case) water that stands after the next 1 July
    end_dam_frac: FloatArray  # (case,) on the next 1 July
    end_floor_aud_per_share: FloatArray  # (case,) a megalitre a share, sold in the next July


def fit_worth(tried: SeasonsTried) -> WaterWorth:
    """Fit the curve to seasons that were tried; see the head of this file."""
    points = np.unique(np.quantile(tried.dam_frac, np.linspace(0.0, 1.0, DAM_POINTS)))
    if np.ptp(points) < SAME_DAM_FRAC:
        points = points[0] + np.array([0.0, 1.0])
    hats = _hats(tried.dam_frac, points)
    left_aud = tried.left_ml_per_share * tried.end_floor_aud_per_share
    for _ in range(PASSES):
        stands_aud = tried.stands_aud + left_aud
        more_aud = stands_aud - stands_aud[:1]
        table = np.linalg.lstsq(hats, more_aud.T, rcond=None)[0]
        worth = WaterWorth(tried.account_ml_per_share, points, np.maximum.accumulate(table, axis=1))
        left_aud = worth_left_aud(
            tried.left_ml_per_share, tried.end_dam_frac, tried.end_floor_aud_per_share, worth
        )
    return worth


def worth_left_aud(
    left_ml_per_share: FloatArray,
    dam_frac: FloatArray,
    floor_aud_per_share: FloatArray,
    worth: WaterWorth,
) -> FloatArray:
    """Return what water left is worth, and no less than it brings when sold in July.

    Parameters
    ----------
    left_ml_per_share
        (..., sequence) that stands after 1 July.
    dam_frac, floor_aud_per_share
        (sequence,) the dam; what a megalitre a share brings when it is sold then.
    worth
        The farm's curve.
    """
    return np.maximum(
        worth.aud(left_ml_per_share, dam_frac), left_ml_per_share * floor_aud_per_share
    )


def _hats(value: FloatArray, points: FloatArray) -> FloatArray:
    """(case, point) how much each point counts for each value."""
    return np.stack([np.interp(value, points, own) for own in np.eye(len(points))], axis=1)
