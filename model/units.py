"""The conversions between units, all in one place.

Volumes are megalitres (1 ML = 1,000 m3), depths millimetres, areas hectares.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

ML_PER_MM_HA: Final = 0.01
"""1 mm over 1 ha = 10 m3 = 0.01 ML."""

ML_PER_DAY_PER_M3_PER_S: Final = 86.4
"""1 m3/s for one day = 86,400 m3 = 86.4 ML."""

ML_PER_VOLUME: Final[Mapping[str, float]] = MappingProxyType(
    {
        "ml": 1.0,
        "gl": 1_000.0,
        "kl": 0.001,
        "m3": 0.001,
        "acre_feet": 1.233_481_837_547_52,
    }
)
"""An acre-foot is 43,560 cubic feet, of 0.3048 m each way."""

ML_PER_DAY_OF_RATE: Final[Mapping[str, float]] = MappingProxyType(
    {
        "ml_per_day": 1.0,
        "gl_per_day": 1_000.0,
        "m3_per_s": ML_PER_DAY_PER_M3_PER_S,
        "cumecs": ML_PER_DAY_PER_M3_PER_S,
        "l_per_s": ML_PER_DAY_PER_M3_PER_S / 1_000.0,
    }
)

UNITS_IN_WORDS: Final = (
    ", ".join((*ML_PER_VOLUME, *ML_PER_DAY_OF_RATE))
    + " or mm_over_AREA_km2 (such as mm_over_1250_km2)"
)

LARGEST_CATCHMENT_KM2: Final = 1e7
"""More than drains to any river of the world (the largest, the Amazon, 6 to 7 million: from
memory)."""

_DEPTH_OVER_AREA: Final = re.compile(r"mm_over_([0-9]+(?:\.[0-9]+)?)_km2")


def plain_unit(text: str) -> str:
    """Return a unit as its name here, however it is spaced.

    Examples
    --------
    >>> plain_unit("m³/s"), plain_unit("acre-feet"), plain_unit("mm over 1250 km2")
    ('m3_per_s', 'acre_feet', 'mm_over_1250_km2')
    """
    unit = text.strip().lower().replace("³", "3").replace("²", "2").replace("/", "_per_")
    unit = re.sub(r"[\s_-]+", "_", unit)
    return re.sub(r"_per_d$", "_per_day", unit)


def depth_over(area_km2: float) -> str:
    """Return the unit of a depth over a catchment.

    Examples
    --------
    >>> depth_over(1250.0)
    'mm_over_1250.0_km2'
    """
    return f"mm_over_{area_km2}_km2"


def ml_per_unit(unit: str, days: int) -> float | None:
    """Return how many ML one of a unit is over some days; None where the unit is not known.

    Parameters
    ----------
    unit
        A volume, which counts as it is; a rate, which runs for the days; or a depth over a
        catchment (1 mm over 1 km2 is 1 ML).
    days
        Of the row.

    Examples
    --------
    >>> ml_per_unit("gl", 31), ml_per_unit("m3_per_s", 30), ml_per_unit("mm_over_250_km2", 31)
    (1000.0, 2592.0, 250.0)
    """
    unit = plain_unit(unit)
    if unit in ML_PER_VOLUME:
        return ML_PER_VOLUME[unit]
    if unit in ML_PER_DAY_OF_RATE:
        return ML_PER_DAY_OF_RATE[unit] * days
    over = _DEPTH_OVER_AREA.fullmatch(unit)
    return float(over[1]) if over and 0.0 < float(over[1]) <= LARGEST_CATCHMENT_KM2 else None
