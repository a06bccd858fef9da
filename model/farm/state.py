"""Where does the farm stand, and how is it run, as arrays?

Arrays are (strategy, sequence): every strategy meets the same sequences. What is the same for all
sequences of a strategy is (strategy, 1). Accounts are the farm's own, in ML per share.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Final, Self

import numpy as np
from numpy.typing import NDArray

from model.farm.drought import Drought
from model.farm.grow import Grown, grown_by
from model.farm.nothing import nothing_like
from model.farm.rain_alone import soil_at_opening
from model.farm.rules import FarmRules
from model.farm.soil import Soil, fresh_soil
from model.farm.step_rules import StepRules, step_rules
from model.plan.farm import FarmOpening
from model.plan.plan import Opening
from model.plan.strategy import Strategy
from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.valley.state import Account
from model.water_year import MONTH_NAMES, month_of_water_year, parse_month

BoolArray = NDArray[np.bool_]

NEVER: Final = -1
"""In place of a month of the water year: in none."""


@dataclass(frozen=True, slots=True)
class Field:
    """A crop in a row layout in the ground, each (strategy, sequence).

    Its land may have two water histories: what is still watered, and what is on rain alone, from
    sowing or since it was cut back. Where soil does not depend on the strategy it is (1, sequence).
    """

    sown_ha: FloatArray  # until harvest
    watered_ha: FloatArray  # of it
    dry_ha: FloatArray  # of it; the rest was given up
    watered: Soil
    dry: Soil
    spent_aud: FloatArray  # so far, on the land and on the crop

    @classmethod
    def sown(cls, soil_mm: FloatArray, none: FloatArray) -> Self:
        """Return a field of no hectares, in the month it may be sown.

        Parameters
        ----------
        soil_mm
            (sequence,) soil water then.
        none
            (strategy, sequence) of 0.
        """
        soil = fresh_soil(soil_mm[None, :])
        return cls(none, none, none, soil, soil, none)

    @property
    def harvest_ha(self) -> FloatArray:
        """Hectares that are still to be harvested."""
        return self.watered_ha + self.dry_ha

    def take(self, places: IntArray, axis: int = 1) -> Self:
        """Return some sequences, in a new order; one may come more than once."""
        values = (getattr(self, f.name) for f in fields(self))
        return type(self)(*(value.take(places, axis=axis) for value in values))


@dataclass(frozen=True, slots=True)
class FarmState(Account):
    """The farm at the start of a month, each (strategy, sequence)."""

    # water
    high_security_used_ml: FloatArray  # of this year's
    high_security_carried_ml: FloatArray  # carried over and not yet used
    storage_ml: FloatArray
    bore_used_ml: FloatArray
    supplementary_used_ml: FloatArray
    bought_ml: FloatArray  # yearly water, this water year
    sold_ml: FloatArray

    # land and crops
    prepared_ha: FloatArray  # for the next planting
    fields: tuple[Field | None, ...]  # by crop and row layout; None: not in the ground

    # money
    bank_aud: FloatArray
    arrears_aud: FloatArray
    profit_aud: FloatArray  # taxable, of the water year so far
    losses_aud: FloatArray  # of earlier years, not yet set against a profit
    tax_due_aud: FloatArray  # on profits of earlier years
    spent_on_land_aud: FloatArray  # on land prepared for the next planting
    crop_money_aud: tuple[FloatArray, ...]  # by crop: what the last one harvested brings in all

    drought: Drought | None = None  # what drought steps have changed; None: no strategy has any

    def of(self, places: IntArray) -> Self:
        """Return the state of some sequences, in a new order; one may come more than once."""
        return type(self)(*(_taken(getattr(self, f.name), places) for f in fields(self)))

    def under(self, places: IntArray) -> Self:
        """Return the state under some of the strategies; one may come more than once."""
        return type(self)(*(_taken(getattr(self, f.name), places, 0) for f in fields(self)))

    def in_ground_ha(self) -> FloatArray:
        """Return the land that a crop stands on."""
        none = nothing_like(self.bank_aud)
        return sum((field.sown_ha for field in self.fields if field is not None), none)

    def main_fields(self, rules: FarmRules) -> list[Field]:
        """Return the fields of the main crop, in all its row layouts."""
        return [field for at in rules.crop.places if (field := self.fields[at]) is not None]

    def planted_ha(self, rules: FarmRules) -> FloatArray:
        """Return the land that the main crop was planted on."""
        none = nothing_like(self.bank_aud)
        return sum((field.sown_ha for field in self.main_fields(rules)), none)


def _taken(value: Any, places: IntArray, axis: int = 1) -> Any:
    """Return some sequences (or strategies) of a value of the state, or of each of several."""
    if isinstance(value, tuple):
        return tuple(None if each is None else each.take(places, axis=axis) for each in value)
    return None if value is None else value.take(places, axis=axis)


@dataclass(frozen=True, slots=True)
class Settings:
    """The strategies' settings, each (strategy, 1) but for months, (strategy, 12)."""

    prepare_k: NDArray[np.int64]
    prepare_least_frac: FloatArray
    prepare_all_at_ml_per_share: FloatArray
    grown: tuple[Grown, ...]  # what they grow, in order
    count_on_frac: FloatArray
    expected_chance_frac: FloatArray
    hold_back_ml_per_share: FloatArray
    hold_above_ml_per_share: FloatArray
    smallest_area_ha: FloatArray
    spreads_shortage: BoolArray
    sell_in: BoolArray  # (strategy, 12)
    sell_above_aud_per_ml: FloatArray  # infinite: never
    sell_keep_ml_per_share: FloatArray
    buy_in: BoolArray  # (strategy, 12)
    buys_to_plant: BoolArray
    buy_up_to_ml: FloatArray
    buy_below_aud_per_ml: FloatArray
    buy_now_ml: FloatArray
    sell_now_ml: FloatArray
    most_area_ha: FloatArray  # planted in any season; infinite: the rule alone decides
    first_area_ha: FloatArray  # the first planting, whatever the rule says; not a number: the rule
    steps: tuple[StepRules, ...] = ()  # drought steps of all of them, each strategy's in order

    def planned_water_ml_per_ha(self, rules: FarmRules) -> FloatArray:
        """Return what is planned for a hectare of the main crop, by its first watered layout."""
        planned = np.ones_like(self.smallest_area_ha)
        for step in reversed(self.grown):
            if step.at in rules.crop.places and rules.layouts[step.at].irrigated:
                planned = np.where(step.chosen, step.planned_water_ml_per_ha, planned)
        return planned

    @property
    def count(self) -> int:
        """How many strategies there are."""
        return len(self.prepare_k)

    @classmethod
    def of(cls, strategies: Sequence[Strategy], rules: FarmRules) -> Self:
        """Return strategies out as arrays, for a farm."""

        def column(values: list[float]) -> FloatArray:
            return np.array(values, dtype=np.float64)[:, None]

        def months(names: list[str | None], left_out: int = NEVER) -> NDArray[np.int64]:
            ks = [left_out if name is None else MONTH_NAMES.index(name) for name in names]
            return np.array(ks)[:, None]

        prepare_k = NEVER if rules.crop.prepare_k is None else rules.crop.prepare_k

        def among(each: list[tuple[str, ...]]) -> BoolArray:
            return np.array([[name in names for name in MONTH_NAMES] for names in each])

        return cls(
            prepare_k=months([s.prepare_month for s in strategies], prepare_k),
            prepare_least_frac=column([s.prepare_least_frac for s in strategies]),
            prepare_all_at_ml_per_share=column([s.prepare_all_at_ml_per_share for s in strategies]),
            grown=grown_by(strategies, rules.layouts, rules.crop.developed_ha),
            count_on_frac=column([s.count_on_frac for s in strategies]),
            expected_chance_frac=column([s.expected_chance_frac for s in strategies]),
            hold_back_ml_per_share=column([s.hold_back_ml_per_share for s in strategies]),
            hold_above_ml_per_share=column([s.hold_above_ml_per_share for s in strategies]),
            smallest_area_ha=column([s.smallest_area_ha for s in strategies]),
            spreads_shortage=np.array([[s.when_short == "spread"] for s in strategies]),
            sell_in=among([s.sell_months for s in strategies]),
            sell_above_aud_per_ml=column(
                [
                    np.inf if s.sell_above_aud_per_ml is None else s.sell_above_aud_per_ml
                    for s in strategies
                ]
            ),
            sell_keep_ml_per_share=column([s.sell_keep_ml_per_share for s in strategies]),
            buy_in=among([s.buy_months for s in strategies]),
            buys_to_plant=np.array([[not s.buy_months] for s in strategies]),
            buy_up_to_ml=column([s.buy_up_to_ml for s in strategies]),
            buy_below_aud_per_ml=column([s.buy_below_aud_per_ml for s in strategies]),
            buy_now_ml=column([s.buy_now_ml for s in strategies]),
            sell_now_ml=column([s.sell_now_ml for s in strategies]),
            most_area_ha=column([np.inf] * len(strategies)),
            first_area_ha=column(
                [np.nan if s.first_area_ha is None else s.first_area_ha for s in strategies]
            ),
            steps=step_rules(strategies, rules.cash),
        )

    def part(self, first: int, last: int) -> Self:
        """Return some of the strategies."""
        steps = (step.part(first, last) for step in self.steps)
        found = self._each(lambda column: column[first:last], lambda step: step.part(first, last))
        return replace(found, steps=tuple(step for step in steps if step.chosen.any()))

    def one(self, at: int) -> Self:
        """Return one of the strategies."""
        return self.part(at, at + 1)

    def repeated(self, count: int) -> Self:
        """Return one strategy so many times over."""
        found = self._each(
            lambda column: np.repeat(column, count, axis=0), lambda step: step.repeated(count)
        )
        return replace(found, steps=tuple(step.repeated(count) for step in self.steps))

    def _each(
        self,
        of_column: Callable[[NDArray[Any]], NDArray[Any]],
        of_step: Callable[[Grown], Grown],
    ) -> Self:
        """Return the settings, drought steps apart, with each column and what is grown changed."""
        columns = {f.name: getattr(self, f.name) for f in fields(self)}
        grown = tuple(of_step(step) for step in columns.pop("grown"))
        del columns["steps"]
        changed: dict[str, Any] = {name: of_column(column) for name, column in columns.items()}
        return type(self)(**changed, grown=grown)


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
        bought_ml=each(opening.bought_this_year_ml),
        sold_ml=each(opening.sold_this_year_ml),
        prepared_ha=each(opening.prepared_ha),
        fields=opening_fields(opening, average, rules, strategies, sequences),
        bank_aud=each(rules.cash.opening_bank_aud),
        arrears_aud=each(rules.cash.opening_arrears_aud),
        profit_aud=each(rules.cash.opening_profit_aud),
        losses_aud=each(rules.cash.opening_losses_aud),
        tax_due_aud=each(rules.cash.opening_tax_due_aud),
        spent_on_land_aud=each(opening.land_spent_aud),
        crop_money_aud=(each(0.0),) * rules.crops,
    )


def opening_fields(
    opening: FarmOpening, average: Opening, rules: FarmRules, strategies: int, sequences: int
) -> tuple[Field | None, ...]:
    """Put the plan's crops in the ground, by crop and row layout."""
    found: list[Field | None] = [None] * len(rules.layouts)
    for crop in opening.crops:
        at = rules.place_of(crop.crop, crop.layout)
        opens_k = month_of_water_year(parse_month(average.month))
        if crop.area_ha == 0.0 or not rules.layouts[at].is_in_ground(opens_k):
            continue  # harvested: its money is among what is still to come
        none = np.zeros((strategies, sequences))
        soil = soil_at_opening(crop, at, parse_month(average.month), rules).take(
            np.zeros(sequences, np.int64), 0
        )
        soil = Soil(*(values[None, :] for values in soil))
        watered = crop.still_watered and rules.layouts[at].irrigated
        found[at] = Field(
            sown_ha=none + crop.area_ha,
            watered_ha=none + crop.area_ha * watered,
            dry_ha=none + crop.area_ha * (not watered),
            watered=soil,
            dry=soil,
            spent_aud=none + crop.spent_aud,
        )
    return tuple(found)
