"""How much to plant in one season, when the water that will come is not known?

Every hectare planted costs, only watered ones earn. Planting one more pays as long as the chance
that it is watered is above its cost over its revenue. So the best area is the quantile of supply at
the critical fractile, (revenue - cost) / revenue. This is the newsvendor's problem, the smallest
there is of the kind, and the yardstick for what planting "what we expect" loses.

References
----------
Arrow, Harris and Marschak 1951 (Econometrica 19:250); a textbook result. From memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from model.decide.risk import worst_value
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class OneSeason:
    """What planting costs and earns, and the land the water that comes can finish."""

    cost_aud_per_ha: float  # planted
    revenue_aud_per_ha: float  # watered
    supply_ha: FloatArray  # (outcome,) the land that can be watered
    chances: FloatArray  # (outcome,)

    @property
    def critical_fractile(self) -> float:
        """The chance of too little water up to which one more hectare pays."""
        return (self.revenue_aud_per_ha - self.cost_aud_per_ha) / self.revenue_aud_per_ha

    def best_area_ha(self) -> float:
        """Give the area that earns most on average."""
        return worst_value(self.supply_ha, self.critical_fractile, self.chances)

    def watered_ha(self, area_ha: ArrayLike) -> FloatArray:
        """Give the expected watered part of areas planted, (...,)."""
        area = np.asarray(area_ha, dtype=np.float64)
        watered: FloatArray = np.minimum(area[..., None], self.supply_ha) @ self.chances
        return watered

    def profits_aud(self, area_ha: ArrayLike) -> FloatArray:
        """Give the profit of areas planted, (..., outcome)."""
        area = np.asarray(area_ha, dtype=np.float64)[..., None]
        earned: FloatArray = self.revenue_aud_per_ha * np.minimum(area, self.supply_ha)
        return earned - self.cost_aud_per_ha * area

    def expected_profit_aud(self, area_ha: ArrayLike) -> FloatArray:
        """Give the expected profit of areas planted, (...,)."""
        expected: FloatArray = self.profits_aud(area_ha) @ self.chances
        return expected

    def foresight_profit_aud(self) -> float:
        """Give the expected profit of planting just what will be watered."""
        margin_aud_per_ha = self.revenue_aud_per_ha - self.cost_aud_per_ha
        return float(margin_aud_per_ha * (self.supply_ha @ self.chances))
