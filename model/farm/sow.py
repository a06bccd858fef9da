"""What land is prepared, and what is sown on it, month by month?

Land is prepared for the main crop about a year ahead. In each sowing month a strategy's list is
walked in order, on what is known then. A watered crop is sown where the water counted on reaches
what the strategy asks for on each hectare on offer, and watered crops after it are passed over in
that month; crops on rain alone take land that is free, where the soil holds enough. What is sown is
fixed: costs and harvest are of the same hectares. Arrays are (strategy, sequence).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np

from model.farm import bank_limit
from model.farm.expected import Expectation
from model.farm.grow import Grown
from model.farm.nothing import nothing_like
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.sight import water_in_sight_ml
from model.farm.state import BoolArray, FarmState, Field, Settings
from model.farm.trade import bought, buyable_ml
from model.record.record import FloatArray


def prepare_land(state: FarmState, settings: Settings, k: int, rules: FarmRules) -> FarmState:
    """Choose the land for the next main crop: the fuller the account, the more, in its month."""
    choosing = settings.prepare_k == k
    if not choosing.any():
        return state
    full_at = settings.prepare_all_at_ml_per_share
    fullness = np.where(
        full_at > 0.0, state.account_ml_per_share / np.where(full_at > 0.0, full_at, 1.0), 1.0
    )
    least = settings.prepare_least_frac
    part = least + (1.0 - least) * np.minimum(1.0, fullness)
    prepared_ha = np.where(choosing, part * rules.crop.land_limit_ha, state.prepared_ha)
    return replace(state, prepared_ha=prepared_ha)


class SetBy(IntEnum):
    """What set the area of the main crop."""

    LAND = 0
    WATER = 1
    MONEY = 2


def which_set(
    by_land_ha: FloatArray, by_water_ha: FloatArray, by_bank_ha: FloatArray
) -> FloatArray:
    """Return which of three bounds is the tightest, as `SetBy`; land first, where they are equal.

    Examples
    --------
    >>> which_set(np.array([90.0, 90.0]), np.array([90.0, 60.0]), np.array([80.0, 70.0])).tolist()
    [2.0, 1.0]
    """
    bounds = np.broadcast_arrays(by_land_ha, by_water_ha, by_bank_ha)
    tightest: FloatArray = np.argmin(np.stack(bounds), axis=0).astype(np.float64)
    return tightest


@dataclass(slots=True)
class _Land:
    """The land of a sowing month while the list is walked; changed step by step."""

    ready_ha: FloatArray  # prepared for the main crop
    free_ha: FloatArray
    fields: list[Field | None]
    watered: BoolArray  # whether a watered crop was sown this month
    bought_ml: FloatArray
    set_by: FloatArray  # what set the main crop's area; not a number before it is looked at

    def of_crop_ha(self, at: int, rules: FarmRules) -> FloatArray:
        """Return the land on which a crop stands, in any row layout."""
        crop = rules.layouts[at].crop_at
        fields = [
            field
            for field, layout in zip(self.fields, rules.layouts, strict=True)
            if field is not None and layout.crop_at == crop
        ]
        return sum((field.sown_ha for field in fields), nothing_like(self.free_ha))

    def on_offer_ha(self, step: Grown, rules: FarmRules, settings: Settings) -> FloatArray:
        """Return the land that a step may take: prepared land for the main crop, else free land."""
        most_ha = np.maximum(0.0, step.most_ha - self.of_crop_ha(step.at, rules))
        if step.at not in rules.crop.places:
            return np.minimum(self.free_ha, most_ha)
        is_prepared = settings.prepare_k >= 0
        land_ha = np.where(is_prepared, self.ready_ha, self.free_ha + self.ready_ha)
        return np.minimum(land_ha, np.minimum(most_ha, settings.most_area_ha))

    def sow(self, step: Grown, area_ha: FloatArray, rules: FarmRules) -> None:
        """Put a crop on land, for good until its harvest."""
        field = self.fields[step.at]
        assert field is not None  # begun with the month
        watered = rules.layouts[step.at].irrigated
        self.fields[step.at] = replace(
            field,
            sown_ha=field.sown_ha + area_ha,
            watered_ha=field.watered_ha + area_ha if watered else field.watered_ha,
            dry_ha=field.dry_ha if watered else field.dry_ha + area_ha,
        )
        if step.at in rules.crop.places:
            from_ready_ha = np.minimum(self.ready_ha, area_ha)
            self.ready_ha = self.ready_ha - from_ready_ha
            area_ha = area_ha - from_ready_ha
        self.free_ha = self.free_ha - area_ha


def sow(
    state: FarmState,
    frozen: FloatArray,
    settings: Settings,
    river: RiverMonth,
    expectation: Expectation,
    rules: FarmRules,
) -> tuple[FarmState, FloatArray, FloatArray]:
    """Sow what the month is for; return also the water bought for it, ML, and what set the area.

    Prepared land that the main crop leaves is free from then on; what was spent on it is lost.
    """
    steps = [step for step in settings.grown if rules.layouts[step.at].sow_k == river.k]
    plants_main = river.k == rules.crop.planting_k
    if not steps and not plants_main:
        none = nothing_like(state.bank_aud)
        return state, none, none * np.nan
    land = _land_of(state, steps, river, rules)
    main = [step for step in steps if step.at in rules.crop.places]
    day = _SowingDay(state, frozen, settings, river, expectation, rules)
    for place, step in enumerate(main):
        day.take(step, land, lasts=_has_no_later(main[place:], rules))
    if plants_main:
        land.free_ha, land.ready_ha = land.free_ha + land.ready_ha, nothing_like(land.ready_ha)
    for step in steps:
        if step not in main:
            day.take(step, land, lasts=np.zeros_like(step.chosen))
    return _after(state, land, rules, plants_main=plants_main), land.bought_ml, land.set_by


@dataclass(frozen=True, slots=True)
class _SowingDay:
    """What is known in a sowing month."""

    state: FarmState
    frozen: FloatArray
    settings: Settings
    river: RiverMonth
    expectation: Expectation
    rules: FarmRules

    def take(self, step: Grown, land: _Land, *, lasts: BoolArray) -> None:
        """Take a step of the list: sow what its land and water allow."""
        offer_ha = land.on_offer_ha(step, self.rules, self.settings)
        if self.rules.layouts[step.at].irrigated:
            area_ha = self._watered_ha(step, land, offer_ha, lasts)
        else:
            area_ha = np.where(step.chosen & self._wet_enough(step.at), offer_ha, 0.0)
        land.sow(step, area_ha, self.rules)

    def _wet_enough(self, at: int) -> BoolArray:
        """Return where the soil holds enough for a crop on rain alone."""
        soil_mm = sowing_soil_mm(self.river, at)
        return np.asarray(soil_mm >= self.rules.layouts[at].least_soil_mm)

    def _watered_ha(
        self, step: Grown, land: _Land, offer_ha: FloatArray, lasts: BoolArray
    ) -> FloatArray:
        """Return the area of a watered crop; note that one was sown, and what was bought for it."""
        settings, planned = self.settings, step.planned_water_ml_per_ha
        counted_ml = self._counted_ml(step.at)
        forced = self._forced(step.at)
        offer_ha = np.where(forced, np.minimum(settings.first_area_ha, land.ready_ha), offer_ha)
        meets = counted_ml >= step.least_water_ml_per_ha * offer_ha
        by_bank_ha = self._by_bank_ha(step, offer_ha, forced)
        land_ha, offer_ha = offer_ha, np.minimum(offer_ha, by_bank_ha)
        meets = step.chosen & ~land.watered & (meets | (forced & lasts))
        wanted_ml = np.where(meets & ~forced, np.maximum(0.0, offer_ha * planned - counted_ml), 0.0)
        bought_ml = self._bought_ml(step.at, wanted_ml)
        area_ha = np.minimum(offer_ha, (counted_ml + bought_ml) / planned)
        area_ha = np.where(area_ha < settings.smallest_area_ha, 0.0, area_ha)
        area_ha = np.where(meets, np.where(forced, offer_ha, area_ha), 0.0)
        if step.at in self.rules.crop.places:
            looked_at = step.chosen & ~land.watered
            by_water_ha = (counted_ml + bought_ml) / planned
            set_by = which_set(land_ha, by_water_ha, by_bank_ha)
            land.set_by = np.where(looked_at & ~forced, set_by, land.set_by)
        sown = area_ha > 0.0
        land.watered = land.watered | sown
        land.bought_ml = land.bought_ml + np.where(sown, bought_ml, 0.0)
        return area_ha

    def _by_bank_ha(self, step: Grown, offer_ha: FloatArray, forced: BoolArray) -> FloatArray:
        """Return the most that the bank lets the farm plant; no bound where it does not ask."""
        if not self.rules.cash.bank_limits_planting or step.at not in self.rules.crop.places:
            return np.full_like(offer_ha, np.inf)
        planned = step.planned_water_ml_per_ha
        by_bank_ha = bank_limit.most_ha(self.state, step.at, planned, self.river, self.rules)
        return np.where(forced, np.inf, by_bank_ha)

    def _forced(self, at: int) -> BoolArray:
        """Return for which strategies this planting's area is given, whatever the rule says."""
        given = ~np.isnan(self.settings.first_area_ha)
        return given & (self.river.first_planting and at in self.rules.crop.places)

    def _counted_ml(self, at: int) -> FloatArray:
        """Return the water counted on for a crop; held water is held back from the main crop."""
        state, frozen, river, rules = self.state, self.frozen, self.river, self.rules
        expectation = self.expectation if at in rules.crop.places else None
        ahead = rules.ahead[at]
        assert ahead is not None  # it is watered
        return water_in_sight_ml(
            state, frozen, self.settings, river, expectation, rules, ahead=ahead, holding=True
        )

    def _bought_ml(self, at: int, wanted_ml: FloatArray) -> FloatArray:
        """Return the water bought for the main crop, ML."""
        if at not in self.rules.crop.places:
            return nothing_like(wanted_ml)
        buys = self.settings.buys_to_plant | self.settings.buy_in[:, [self.river.k]]
        wanted_ml = np.where(buys, wanted_ml, 0.0)
        return buyable_ml(self.state, self.frozen, wanted_ml, self.settings, self.river, self.rules)


def sowing_soil_mm(river: RiverMonth, at: int) -> FloatArray:
    """Return the soil water of land on which a crop is sown in this month, (sequence,)."""
    soil_mm = river.soil_at_sowing_mm[at]
    assert soil_mm is not None  # the crop's sowing month
    return soil_mm


def _has_no_later(steps: list[Grown], rules: FarmRules) -> BoolArray:
    """Return for which strategies the first of some steps is their last watered one."""
    later = [step.chosen for step in steps[1:] if rules.layouts[step.at].irrigated]
    return ~np.logical_or.reduce(later) if later else np.ones_like(steps[0].chosen)


def _land_of(state: FarmState, steps: list[Grown], river: RiverMonth, rules: FarmRules) -> _Land:
    """Return the land before the list is walked, with a field for each crop of the month."""
    none = nothing_like(state.bank_aud)
    begun = {step.at for step in steps}
    if river.k == rules.crop.planting_k:
        begun.add(rules.crop.places[0])  # bears what was spent on land that is not planted
    fields = list(state.fields)
    for at in begun:
        fields[at] = Field.sown(sowing_soil_mm(river, at), none)
    standing_ha = state.in_ground_ha()
    free_ha = np.maximum(0.0, rules.crop.developed_ha - standing_ha - state.prepared_ha)
    ready_ha = np.minimum(state.prepared_ha, rules.crop.developed_ha - standing_ha)
    return _Land(
        ready_ha=np.maximum(0.0, ready_ha),
        free_ha=free_ha,
        fields=fields,
        watered=np.zeros(none.shape, dtype=np.bool_),
        bought_ml=none,
        set_by=none * np.nan,
    )


def _after(state: FarmState, land: _Land, rules: FarmRules, *, plants_main: bool) -> FarmState:
    """Return the farm after sowing; a crop sown nowhere has no field."""
    bearer = rules.crop.places[0] if plants_main else None
    fields = [
        field if field is None or at == bearer or field.sown_ha.any() else None
        for at, field in enumerate(land.fields)
    ]
    state = replace(bought(state, land.bought_ml, rules), fields=tuple(fields))
    if bearer is None:
        return state
    _share_out(state.spent_on_land_aud, fields, rules)
    none = nothing_like(state.bank_aud)
    return replace(state, fields=tuple(fields), prepared_ha=none, spent_on_land_aud=none)


def _share_out(spent_aud: FloatArray, fields: list[Field | None], rules: FarmRules) -> None:
    """Charge what was spent on prepared land to the main crop sown on it, by hectare.

    Where none was sown, to its first row layout: it is lost.
    """
    main = [(at, field) for at in rules.crop.places if (field := fields[at]) is not None]
    total_ha = sum((field.sown_ha for _, field in main), nothing_like(spent_aud))
    for place, (at, field) in enumerate(main):
        part = np.full_like(spent_aud, float(place == 0))
        np.divide(field.sown_ha, total_ha, out=part, where=total_ha > 0.0)
        fields[at] = replace(field, spent_aud=spent_aud * part)
