"""The conversions between units, all in one place.

Volumes are megalitres (1 ML = 1,000 m3), depths millimetres, areas hectares.
"""

from __future__ import annotations

from typing import Final

ML_PER_MM_HA: Final = 0.01
"""1 mm over 1 ha = 10 m3 = 0.01 ML."""

ML_PER_DAY_PER_M3_PER_S: Final = 86.4
"""1 m3/s for one day = 86,400 m3 = 86.4 ML."""
