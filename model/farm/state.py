"""Where does the farm stand, and how is it run, as arrays?

Arrays are (strategy, sequence): every strategy meets the same sequences. What is the same for all
sequences of a strategy is (strategy, 1). Accounts are the farm's own, in ML per share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import NDArray

from model.farm.rules import FarmRules
from model.plan.farm import FarmOpening
from model.plan.plan import Opening
from model.plan.strategy import Strategy
from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.valley.state import Account
from model.water_year import MONTH_NAMES, month_of_water_year, parse_month

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class FarmState(Account):
    """The farm at the start of a month, each (strategy, sequence)."""

    # water
    high_security_used_ml: FloatArray  # of this year's
    high_security_carried_ml: FloatArray  # carried over and not yet used
    storage_ml: FloatArray
    bore_used_ml: FloatArray
    supplementary_used_ml: FloatArray

    # land and crop
    prepared_ha: FloatArray  # made ready for the next planting
    planted_ha: FloatArray  # this season
    watered_ha: FloatArray  # of it, still in the ground and watered
    run_out_ha: FloatArray  # of it, no longer watered, to be picked
    rotation_ha: FloatArray  # land that was never meant for cotton this season
    unplanted_ha: FloatArray  # land made ready and not planted
    soil_water_mm: FloatArray
    yield_lost_frac: FloatArray
    run_out_yield_bales_per_ha: FloatArray

    # money
    bank_aud: FloatArray
    arrears_aud: FloatArray
    spent_on_land_aud: FloatArray  # on land made ready for the next planting
    spent_on_crop_aud: FloatArray  # on the crop in the ground
    crop_money_aud: FloatArray  # what the last crop picked brings in all

    def of(self, places: IntArray) -> Self:
        """Give the state of some sequences, in a new order; one may come more than once."""
        return type(self)(*(getattr(self, f.name).take(places, axis=1) for f in fields(self)))


@dataclass(frozen=True, slots=True)
class Settings:
    """The strategies' settings, each (strategy, 1)."""

    prepare_k: NDArray[np.int64]
    prepare_least_frac: FloatArray
    prepare_all_at_ml_per_share: FloatArray
    planned_water_ml_per_ha: FloatArray
    count_on_frac: FloatArray
    expected_chance_frac: FloatArray
    hold_back_ml_per_share: FloatArray
    hold_above_ml_per_share: FloatArray
    smallest_area_ha: FloatArray
    spreads_shortage: BoolArray
    sell_k: NDArray[np.int64]
    sell_above_aud_per_ml: FloatArray  # infinite: never
    sell_keep_ml_per_share: FloatArray
    buy_up_to_ml: FloatArray
    buy_below_aud_per_ml: FloatArray
    most_area_ha: FloatArray  # planted in any season; infinite: the rule alone decides
    first_area_ha: FloatArray  # the first planting, whatever the rule says; not a number: the rule

    @property
    def count(self) -> int:
        """How many strategies there are."""
        return len(self.prepare_k)

    @classmethod
    def of(cls, strategies: Sequence[Strategy]) -> Self:
        """Lay strategies out as arrays."""

        def column(values: list[float]) -> FloatArray:
            return np.array(values, dtype=np.float64)[:, None]

        def months(names: list[str]) -> NDArray[np.int64]:
            return np.array([MONTH_NAMES.index(name) for name in names])[:, None]

        return cls(
            prepare_k=months([s.prepare_month for s in strategies]),
            prepare_least_frac=column([s.prepare_least_frac for s in strategies]),
            prepare_all_at_ml_per_share=column([s.prepare_all_at_ml_per_share for s in strategies]),
            planned_water_ml_per_ha=column([s.planned_water_ml_per_ha for s in strategies]),
            count_on_frac=column([s.count_on_frac for s in strategies]),
            expected_chance_frac=column([s.expected_chance_frac for s in strategies]),
            hold_back_ml_per_share=column([s.hold_back_ml_per_share for s in strategies]),
            hold_above_ml_per_share=column([s.hold_above_ml_per_share for s in strategies]),
            smallest_area_ha=column([s.smallest_area_ha for s in strategies]),
            spreads_shortage=np.array([[s.when_short == "spread"] for s in strategies]),
            sell_k=months([s.sell_month for s in strategies]),
            sell_above_aud_per_ml=column(
                [
                    np.inf if s.sell_above_aud_per_ml is None else s.sell_above_aud_per_ml
                    for s in strategies
                ]
            ),
            sell_keep_ml_per_share=column([s.sell_keep_ml_per_share for s in strategies]),
            buy_up_to_ml=column([s.buy_up_to_ml for s in strategies]),
            buy_below_aud_per_ml=column([s.buy_below_aud_per_ml for s in strategies]),
            most_area_ha=column([np.inf] * len(strategies)),
            first_area_ha=column([np.nan] * len(strategies)),
        )

    def part(self, first: int, last: int) -> Self:
        """Give some of the strategies."""
        return type(self)(*(getattr(self, f.name)[first:last] for f in fields(self)))

    def one(self, at: int) -> Self:
        """Give one of the strategies."""
        return self.part(at, at + 1)

    def repeated(self, count: int) -> Self:
        """Give one strategy so many times over."""
        columns = (getattr(self, f.name) for f in fields(self))
        return type(self)(*(np.repeat(column, count, axis=0) for column in columns))


def opening_farm(
    opening: FarmOpening, average: Opening, rules: FarmRules, strategies: int, sequences: int
) -> FarmState:
    """Put the farm, under every strategy and in every sequence, where the plan says it stands.

    What the farm's opening leaves out of its account is as the average holder's.
    """

    def each(value: float) -> FloatArray:
        return np.full((strategies, sequences), value)

    def own(name: str) -> FloatArray:
        value = getattr(opening, name)
        return each(getattr(average, name) if value is None else value)

    in_ground = opening.planted_ha > 0.0
    made_ready_ha = opening.prepared_ha
    if in_ground:
        made_ready_ha = opening.planted_of_prepared_ha or opening.planted_ha
    lost_frac = max(opening.yield_lost_frac, lost_since_watered_frac(opening, average, rules))
    account = own("account_ml_per_share")
    return FarmState(
        account_ml_per_share=account,
        carried_ml_per_share=np.minimum(own("carried_ml_per_share"), account),
        used_this_year_ml_per_share=own("used_this_year_ml_per_share"),
        used_last_year_ml_per_share=own("used_last_year_ml_per_share"),
        used_year_before_ml_per_share=own("used_year_before_ml_per_share"),
        frozen_ml_per_share=each(0.0),
        high_security_used_ml=each(opening.high_security_used_ml),
        high_security_carried_ml=each(opening.high_security_carried_ml),
        storage_ml=each(opening.storage_ml),
        bore_used_ml=each(opening.bore_used_ml),
        supplementary_used_ml=each(opening.supplementary_used_ml),
        prepared_ha=each(opening.prepared_ha),
        planted_ha=each(opening.planted_ha),
        watered_ha=each(opening.planted_ha),
        run_out_ha=each(0.0),
        rotation_ha=each(max(0.0, rules.crop.developed_ha - made_ready_ha)),
        unplanted_ha=each(max(0.0, made_ready_ha - opening.planted_ha) if in_ground else 0.0),
        soil_water_mm=each(opening.soil_water_mm or 0.0),
        yield_lost_frac=each(lost_frac),
        run_out_yield_bales_per_ha=each(0.0),
        bank_aud=each(rules.cash.opening_bank_aud),
        arrears_aud=each(rules.cash.opening_arrears_aud),
        spent_on_land_aud=each(0.0 if in_ground else opening.spent_aud),
        spent_on_crop_aud=each(opening.spent_aud if in_ground else 0.0),
        crop_money_aud=each(0.0),
    )


def lost_since_watered_frac(opening: FarmOpening, average: Opening, rules: FarmRules) -> float:
    """Give the part of the yield lost since the crop in the ground last got all it asked for.

    What watering that stopped then would yield, over what it would if it stopped only now.
    """
    if opening.last_watered_month is None or opening.planted_ha == 0.0:
        return 0.0
    last_k = MONTH_NAMES.index(opening.last_watered_month)
    before_k = month_of_water_year(parse_month(average.month)) - 1
    run_out_frac = rules.crop.run_out_frac
    return max(0.0, 1.0 - float(run_out_frac[last_k] / run_out_frac[before_k]))
