"""What does a farm earn in a year, if all that is decided is the area planted?

A coarser farm than the monthly one, on purpose: small enough for the best decisions to be worked
out in full (see `optimum`). A year runs from planting to planting. Water is there or comes by the
end of watering, and is used as far as the crop asks, on all land alike until it is gone. The crop
yields by the farm's own response in the weather of its own year: a table made once, of what no
water, each quarter of the need, and all of it bring; between those it runs straight. What is left
is carried over; more is announced before the next planting.

Left out, and to be said wherever its results are shown: the months within a year, land made ready a
year ahead, trade in water, limits on use over three years, frozen accounts, and farm storage
carried from year to year.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray

Rule = Callable[[int, FloatArray], FloatArray]
"""Season and own account (ML per share) at planting to the area planted, each (sequence,)."""


class YearWater(NamedTuple):
    """The water and weather of a year, arrays of one shape; accounts in ML per share."""

    early_kept_frac: FloatArray  # of the account at planting, until it is used
    early_ml_per_share: FloatArray  # announced after planting, by the end of watering
    other_ml: FloatArray  # high security, bore and uncontrolled flow, at the farm gate
    need_ml_per_ha: FloatArray  # at the farm gate
    rain_alone_frac: FloatArray  # of the full yield, without any water
    late_limit_ml_per_share: FloatArray  # the most that is carried over, or left by a spill
    late_kept_frac: FloatArray  # of what is left, until the next planting or the end of the run
    late_ml_per_share: FloatArray  # announced after watering, until then
    gained_quarter_frac: FloatArray  # of what water adds to the yield, by a quarter of the need
    gained_half_frac: FloatArray  # by half of it
    gained_three_quarters_frac: FloatArray  # by three quarters of it


class Year(NamedTuple):
    """What a year brought."""

    margin_aud: FloatArray
    account_ml_per_share: FloatArray  # at the next planting, or the end of the run


@dataclass(frozen=True, slots=True)
class YearlyFarm:
    """The farm in a dozen figures."""

    shares_ml: float
    land_ha: float  # the most planted
    account_limit_ml_per_share: float
    use_limit_ml_per_share: float  # in one year
    full_yield_bales_per_ha: float
    bale_aud: float  # price less what picking and ginning a bale cost
    planted_aud_per_ha: float  # cost of land planted, water apart
    unplanted_aud_per_ha: float  # what land brings that is not planted; a cost is below 0
    usage_aud_per_ml: float
    end_aud_per_ml: float  # worth of water in the account when the run ends

    def year(self, account: FloatArray, area_ha: FloatArray, water: YearWater) -> Year:
        """Take the farm from planting to planting.

        Parameters
        ----------
        account
            At planting, ML per share.
        area_ha
            Planted.
        water
            What comes; all broadcast together.
        """
        own = account * water.early_kept_frac + water.early_ml_per_share
        usable_ml = np.minimum(own, self.use_limit_ml_per_share) * self.shares_ml
        need_ml = area_ha * water.need_ml_per_ha
        used_ml = np.minimum(need_ml, usable_ml + water.other_ml)
        met = np.divide(used_ml, need_ml, out=np.ones_like(used_ml), where=need_ml > 0.0)
        yielded = water.rain_alone_frac + (1.0 - water.rain_alone_frac) * gained_frac(met, water)
        bale_aud_per_ha = self.full_yield_bales_per_ha * self.bale_aud
        margin_aud = (
            area_ha * (yielded * bale_aud_per_ha - self.planted_aud_per_ha)
            + (self.land_ha - area_ha) * self.unplanted_aud_per_ha
            - used_ml * self.usage_aud_per_ml
        )
        own_used_ml = np.maximum(0.0, used_ml - water.other_ml)
        left = np.minimum(own - own_used_ml / self.shares_ml, self.account_limit_ml_per_share)
        carried = np.minimum(left, water.late_limit_ml_per_share) * water.late_kept_frac
        after = np.minimum(carried + water.late_ml_per_share, self.account_limit_ml_per_share)
        return Year(margin_aud, after)

    def end_worth_aud(self, account: FloatArray) -> FloatArray:
        """Return what the account is worth when the run ends."""
        return account * (self.shares_ml * self.end_aud_per_ml)


def gained_frac(met: FloatArray, water: YearWater) -> FloatArray:
    """Return the part of what water adds to the yield, by the part of the need that is met."""
    none = np.zeros_like(water.gained_half_frac)
    quarters: tuple[FloatArray, ...] = (
        water.gained_quarter_frac,
        water.gained_half_frac,
        water.gained_three_quarters_frac,
        none + 1.0,
    )
    gained, before = np.zeros_like(met), none
    for number, reached in enumerate(quarters):
        gained = gained + np.clip(4.0 * met - number, 0.0, 1.0) * (reached - before)
        before = reached
    return gained


@dataclass(frozen=True, slots=True)
class YearlyCases:
    """Sequences of years: what is known at each planting, and what comes, (sequence, season)."""

    dam_frac: FloatArray  # of capacity, at planting
    dry: NDArray[np.bool_]  # whether inflow before planting was below its median
    water: YearWater
    opening_ml_per_share: FloatArray  # (sequence,) own account at the first planting

    @property
    def seasons(self) -> int:
        """How many plantings there are."""
        return int(self.dam_frac.shape[1])

    def season(self, season: int) -> YearWater:
        """Return the water of one season, (sequence,)."""
        return YearWater(*(values[:, season] for values in self.water))

    def part(self, first: int, last: int) -> Self:
        """Return some of the sequences."""
        rows = slice(first, last)
        water = YearWater(*(values[rows] for values in self.water))
        return type(self)(
            self.dam_frac[rows], self.dry[rows], water, self.opening_ml_per_share[rows]
        )


def play(farm: YearlyFarm, cases: YearlyCases, rule: Rule) -> FloatArray:
    """Return what each sequence is worth under a rule, its end counted, (sequence,) AUD."""
    account = cases.opening_ml_per_share
    total_aud = np.zeros_like(account)
    for season in range(cases.seasons):
        area_ha = np.clip(rule(season, account), 0.0, farm.land_ha)
        year = farm.year(account, area_ha, cases.season(season))
        total_aud = total_aud + year.margin_aud
        account = year.account_ml_per_share
    return total_aud + farm.end_worth_aud(account)
