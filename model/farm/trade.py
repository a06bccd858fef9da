"""How much yearly water is bought and sold in a month?

The market is thin: buying and selling each have a most for the season. A buyer pays more than the
price and a seller gets less, and both pay a fee. A strategy names its months and the prices at
which it still trades; it may also buy or sell a stated volume now, whatever the price. In the month
of planting it buys what its land lacks, with a crop in the ground what the crop is likely to lack,
in any other month up to its own most. Water bought must fit the account and may have to be left
there by the limits on use; water sold counts against them as water used does.

Arrays are (strategy, sequence); prices (sequence,) AUD per ML.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from model.farm.price import PriceRules, SeasonSupply
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.state import BoolArray, FarmState, Settings
from model.farm.water import drawn, usable_ml_per_share, use_left_ml_per_share
from model.record import FloatArray


@dataclass(frozen=True, slots=True)
class TradeRules:
    """The yearly market as the farm meets it."""

    price: PriceRules
    supply: SeasonSupply
    most_ml_per_season: float  # bought; and likewise sold
    spread_frac: float
    fee_aud_per_ml: float

    def paid_aud_per_ml(self, price_aud_per_ml: FloatArray) -> FloatArray:
        """Return what a buyer pays in all."""
        return price_aud_per_ml * (1.0 + self.spread_frac / 2.0) + self.fee_aud_per_ml

    def got_aud_per_ml(self, price_aud_per_ml: FloatArray) -> FloatArray:
        """Return what a seller is left with; water that brings nothing is not sold."""
        got = price_aud_per_ml * (1.0 - self.spread_frac / 2.0) - self.fee_aud_per_ml
        return np.maximum(0.0, got)


@dataclass(frozen=True, slots=True)
class Traded:
    """Water bought and sold in a month, ML, each (strategy, sequence)."""

    bought_ml: FloatArray
    sold_ml: FloatArray
    aud: FloatArray  # got less paid
