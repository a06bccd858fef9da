"""How much of a month's rain helps a crop?

Five published rules, by name. Where much of the rain comes in storms, the short USDA form is
hopeful: a fixed part of 0.6 to 0.8 is then the range to try. What the root zone cannot hold is lost
there, not here: a rule may count more rain than the crop uses in the month.

References
----------
FAO Irrigation and Drainage Paper 25 (1978) and 24 (1977); FAO Irrigation Water Management Training
Manual 3 (1986); USDA National Engineering Handbook part 623 chapter 2 (1993). All from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final, Literal

import numpy as np

from model.record.record import FloatArray

RainRule = Literal["fixed_part", "dependable", "manual_3", "usda_short", "usda_scs"]

USUAL_PART: Final = 0.8
"""FAO's usual fixed part, of 0.7 to 0.9; from memory."""

REFILL_MM: Final = 75.0
"""Depth of water put on at one irrigation for which the SCS storage factor is 1."""

_MM_PER_INCH: Final = 25.4
_MOST_STORAGE_FACTOR: Final = 1.08  # the cubic in depth turns up beyond 175 mm


def fixed_part_mm(rain_mm: FloatArray, part: float = USUAL_PART) -> FloatArray:
    """Count the same part of all rain."""
    return part * rain_mm


def dependable_mm(rain_mm: FloatArray) -> FloatArray:
    """Count FAO's dependable rain: little of small falls, 0.8 of what comes above 70 mm."""
    return np.maximum(0.0, np.where(rain_mm <= 70.0, 0.6 * rain_mm - 10.0, 0.8 * rain_mm - 24.0))


def manual_3_mm(rain_mm: FloatArray) -> FloatArray:
    """Count as FAO Training Manual 3 does, for slopes below 4 to 5 %."""
    return np.maximum(0.0, np.where(rain_mm < 75.0, 0.6 * rain_mm - 10.0, 0.8 * rain_mm - 25.0))


def usda_short_mm(rain_mm: FloatArray) -> FloatArray:
    """Count by the short USDA form, which asks for rain alone."""
    curved = rain_mm * (125.0 - 0.2 * rain_mm) / 125.0
    return np.where(rain_mm <= 250.0, curved, 125.0 + 0.1 * rain_mm)


def usda_scs_mm(
    rain_mm: FloatArray, crop_use_mm: FloatArray, refill_mm: float = REFILL_MM
) -> FloatArray:
    """Count by the full USDA-SCS form, from rain, crop use and the depth of one irrigation."""
    rain_in, use_in = rain_mm / _MM_PER_INCH, crop_use_mm / _MM_PER_INCH
    counted_in = (0.70917 * rain_in**0.82416 - 0.11556) * 10.0 ** (0.02426 * use_in)
    counted_mm = storage_factor(refill_mm) * _MM_PER_INCH * np.maximum(0.0, counted_in)
    return np.minimum(counted_mm, np.minimum(rain_mm, crop_use_mm))


def storage_factor(refill_mm: float) -> float:
    """Return the SCS factor for the depth of one irrigation, 1 at 75 mm.

    Examples
    --------
    >>> round(storage_factor(75.0), 2), round(storage_factor(25.0), 2)
    (1.0, 0.77)
    """
    depth_in = refill_mm / _MM_PER_INCH
    cubic = 0.531747 + 0.295164 * depth_in - 0.057697 * depth_in**2 + 0.003804 * depth_in**3
    return min(cubic, _MOST_STORAGE_FACTOR)


_FROM_RAIN: Final[Mapping[str, Callable[[FloatArray], FloatArray]]] = MappingProxyType(
    {
        "fixed_part": fixed_part_mm,
        "dependable": dependable_mm,
        "manual_3": manual_3_mm,
        "usda_short": usda_short_mm,
    }
)


def effective_rain_mm(
    rule: RainRule, rain_mm: FloatArray, crop_use_mm: FloatArray, part: float = USUAL_PART
) -> FloatArray:
    """Return how much of a month's rain helps, by a named rule.

    Parameters
    ----------
    rule
        Which one.
    rain_mm, crop_use_mm
        Of the whole month, each (...,); `usda_scs` alone asks for the crop's use.
    part
        What `fixed_part` counts.
    """
    if rule == "usda_scs":
        return usda_scs_mm(rain_mm, crop_use_mm)
    return fixed_part_mm(rain_mm, part) if rule == "fixed_part" else _FROM_RAIN[rule](rain_mm)
