"""What full yield and price does a year bring, where the plan states how they vary?

Either the user's own past years, one drawn whole for each year of a run, so that a year's yield and
price stay together; or the values reached 90, 50 and 10 times in 100, yield and price each by
itself. Between and beyond those three a value runs straight with the normal score, never below 0.
A decision sees only the plan's own figures: what is drawn (see `sequences.years`) is met at
harvest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtri

from model.plan.crops import Crop
from model.plan.money import Varies
from model.record.record import FloatArray

TENTH_SCORE: Final = 1.2815515655446004
"""The normal score passed 10 times in 100."""


@dataclass(frozen=True, slots=True)
class Varying:
    """How one crop's full yield and price vary, as factors on the plan's own figures."""

    past: FloatArray | None  # (year, 2) yield and price of own past years
    yield_10_50_90: FloatArray | None  # (3,)
    price_10_50_90: FloatArray | None  # (3,)

    def factors(self, even: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the factors on full yield and price, each (sequence,).

        Parameters
        ----------
        even
            (2, sequence) numbers drawn evenly between 0 and 1, for yield and for price.
        """
        if self.past is not None:
            year = np.minimum((even[0] * len(self.past)).astype(np.intp), len(self.past) - 1)
            return self.past[year, 0], self.past[year, 1]
        return _of_three(self.yield_10_50_90, even[0]), _of_three(self.price_10_50_90, even[1])


def _of_three(low_middle_high: FloatArray | None, even: FloatArray) -> FloatArray:
    """Return the value at an even draw, of a variable reached 90, 50 and 10 times in 100."""
    if low_middle_high is None:
        return np.ones_like(even)
    low, middle, high = low_middle_high
    score = ndtri(even) / TENTH_SCORE
    value = middle + np.where(score > 0.0, (high - middle) * score, (middle - low) * score)
    factor: FloatArray = np.maximum(0.0, value)
    return factor


def varying_of(varies: Varies, crop: Crop) -> Varying:
    """Prepare how a crop's full yield and price vary, as factors on the plan's own figures."""
    full = crop.layouts[0].full_yield_units_per_ha

    def three(values: tuple[float, ...] | None, own: float) -> FloatArray | None:
        return None if values is None else np.array(values) / own

    past = None
    if varies.past_yields_units_per_ha is not None:
        years = (varies.past_yields_units_per_ha, varies.past_prices_aud_per_unit)
        past = np.array(years).T / (full, crop.price_aud_per_unit)
    return Varying(
        past=past,
        yield_10_50_90=three(varies.yields_10_50_90_units_per_ha, full),
        price_10_50_90=three(varies.prices_10_50_90_aud_per_unit, crop.price_aud_per_unit),
    )
