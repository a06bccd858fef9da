"""What do the crops cost in a month, what does a harvest bring, and what comes in of the last one?

All crops alike, each in its own unit of yield. What a crop costs falls in its months on the
hectares in the ground; at harvest each part of a field is brought in where its yield pays the cost
of that. A crop's money comes in by its own pattern, months after. Arrays are (strategy, sequence).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from model.farm.crop_month import CropMonth
from model.farm.layouts import LayoutRules
from model.farm.nothing import nothing_like
from model.farm.river import RiverMonth, YearMet
from model.farm.rules import FarmRules
from model.farm.state import BoolArray, FarmState, Field
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class Harvested:
    """What the harvest of a crop in a row layout brought."""

    area_ha: FloatArray
    units: FloatArray  # bales or tonnes
    worth_aud: FloatArray  # whenever paid
    cost_aud: FloatArray  # of bringing it in
    margin_aud: FloatArray  # with all that was spent on it


@dataclass(frozen=True, slots=True)
class CropsMoney:
    """The crops' money in a month."""

    income_aud: FloatArray  # that comes in, of earlier harvests
    land_aud: FloatArray  # spent on land prepared for the next crop
    fallow_aud: FloatArray  # spent on land without a crop
    cost_aud: tuple[FloatArray | None, ...]  # by crop and row layout; None: not in the ground
    harvested: tuple[Harvested | None, ...]  # by crop and row layout; None: not its month

    @property
    def costs_aud(self) -> FloatArray:
        """All that is spent, water and harvest with it."""
        of_crops = (cost for cost in self.cost_aud if cost is not None)
        return sum(of_crops, self.land_aud + self.fallow_aud)


def crops_money(
    state: FarmState, watering: CropMonth, river: RiverMonth, rules: FarmRules
) -> tuple[FarmState, CropsMoney]:
    """Take the money of land and crops through a month; crops whose month it is are harvested.

    Parameters
    ----------
    state
        The farm after the month's decisions and watering.
    watering
        What the crops used.
    river, rules
        The month, and the farm.
    """
    k = river.k
    land_aud = state.prepared_ha * rules.crop.prepared_cost_aud_per_ha[k]
    fallow_aud = fallow_cost_aud(state, k, rules)
    aud_per_ml = water_aud_per_ml(watering, rules)
    fields = list(state.fields)
    costs: list[FloatArray | None] = [None] * len(fields)
    harvested: dict[int, Harvested] = {}
    for at, layout in enumerate(rules.layouts):
        if (field := fields[at]) is None:
            continue
        costs[at] = cost_aud = growing_cost_aud(field, layout, k)
        if (used_ml := watering.used_ml[at]) is not None:
            costs[at] = cost_aud = cost_aud + used_ml * aud_per_ml
        if layout.harvest_k == k:
            harvested[at], fields[at] = harvest(field, cost_aud, at, river, rules), None
        else:
            fields[at] = replace(field, spent_aud=field.spent_aud + cost_aud)
    if k == rules.crop.picking_k:
        met = year_met(rules.layouts[0].crop_at, river)
        harvested |= with_forward_sales(harvested, river.season, rules, met)
    after = replace(
        state,
        fields=tuple(fields),
        crop_money_aud=crop_money_aud(state, harvested, k, rules),
        spent_on_land_aud=state.spent_on_land_aud + land_aud,
    )
    return after, CropsMoney(
        income_aud=received_aud(after, k, rules),
        land_aud=land_aud,
        fallow_aud=fallow_aud,
        cost_aud=tuple(
            cost if cost is None or at not in harvested else cost + harvested[at].cost_aud
            for at, cost in enumerate(costs)
        ),
        harvested=tuple(harvested.get(at) for at in range(len(fields))),
    )


def crop_money_aud(
    state: FarmState, harvested: Mapping[int, Harvested], k: int, rules: FarmRules
) -> tuple[FloatArray, ...]:
    """Return by crop what its last harvest brings in all; nothing once a harvest month is idle."""
    money = list(state.crop_money_aud)
    for crop_at in {layout.crop_at for layout in rules.layouts if layout.harvest_k == k}:
        worth_aud = (
            found.worth_aud
            for at, found in harvested.items()
            if rules.layouts[at].crop_at == crop_at
        )
        money[crop_at] = sum(worth_aud, nothing_like(state.bank_aud))
    return tuple(money)


def with_forward_sales(
    harvested: Mapping[int, Harvested],
    season: int,
    rules: FarmRules,
    met: YearMet | None = None,
) -> dict[int, Harvested]:
    """Return the main crop's harvest with what bales sold forward bring or cost beside the price.

    Shared out by bales among its row layouts; where there are none, to the first of them.
    """
    forward = rules.cash.forward
    sold = float(forward.bales[season])
    main = {at: harvested[at] for at in rules.crop.places if at in harvested}
    if sold == 0.0 or not main:
        return main
    bales = total(found.units for found in main.values())
    delivered = np.minimum(bales, sold)
    spot_aud = rules.layouts[0].sold_aud_per_unit * (1.0 if met is None else met.price)
    gain_aud = delivered * (float(forward.lint_aud_per_bale[season]) - spot_aud)
    washout_aud = (sold - delivered) * float(forward.washout_aud_per_bale[season])
    first = min(main)
    shared = {}
    for at, found in main.items():
        part = np.full_like(bales, float(at == first))
        np.divide(found.units, bales, out=part, where=bales > 0.0)
        shared[at] = replace(
            found,
            worth_aud=found.worth_aud + gain_aud * part,
            cost_aud=found.cost_aud + washout_aud * part,
            margin_aud=found.margin_aud + (gain_aud - washout_aud) * part,
        )
    return shared


def total(parts: Iterable[FloatArray]) -> FloatArray:
    """Return the sum of some arrays, at least one."""
    first, *others = parts
    return sum(others, first)


def received_aud(state: FarmState, k: int, rules: FarmRules) -> FloatArray:
    """Return what comes in of the last harvests of all crops."""
    received_aud = nothing_like(state.bank_aud)
    for crop_at, pattern in enumerate(patterns_of(rules)):
        if pattern[k]:
            received_aud = received_aud + state.crop_money_aud[crop_at] * pattern[k]
    return received_aud


def receivable_aud(state: FarmState, k: int, rules: FarmRules) -> FloatArray:
    """Return what is still to come of the last harvests after a month."""
    left = {layout.crop_at: layout.income_left_frac[k] for layout in rules.layouts}
    to_come = (state.crop_money_aud[crop_at] * part for crop_at, part in left.items())
    return sum(to_come, nothing_like(state.bank_aud))


def patterns_of(rules: FarmRules) -> list[FloatArray]:
    """Return by crop the part of its money that comes in each month, (12,)."""
    return list({layout.crop_at: layout.income_pattern for layout in rules.layouts}.values())


def fallow_cost_aud(state: FarmState, k: int, rules: FarmRules) -> FloatArray:
    """Return what land without a crop costs in a month."""
    per_ha = float(rules.cash.fallow_cost_aud_per_ha[k])
    if not per_ha:
        return nothing_like(state.bank_aud)
    idle_ha: FloatArray = np.maximum(0.0, rules.crop.developed_ha - state.in_ground_ha())
    return idle_ha * per_ha


def growing_cost_aud(field: Field, layout: LayoutRules, k: int) -> FloatArray:
    """Return what a field cost in a month, its water apart."""
    per_ha = layout.growing_cost_aud_per_ha[k]
    return field.harvest_ha * per_ha if per_ha else nothing_like(field.sown_ha)


def water_aud_per_ml(watering: CropMonth, rules: FarmRules) -> FloatArray:
    """Return what the month's water cost by the megalitre, from all sources together."""
    cash, taken = rules.cash, watering.taken
    if all(used_ml is None for used_ml in watering.used_ml):
        return nothing_like(watering.need_ml)
    # What was stored was pumped from the river once: it is charged when it is used.
    from_river_ml = taken.river_ml + taken.storage_ml
    cost_aud = from_river_ml * cash.usage_aud_per_ml + taken.bore_ml * cash.bore_aud_per_ml
    if taken.hired is not None:
        cost_aud = cost_aud + taken.hired.cost_aud
    total_ml = taken.total_ml
    per_ml: FloatArray = np.divide(
        cost_aud, total_ml, out=np.zeros_like(total_ml), where=total_ml > 0.0
    )
    return per_ml


def harvest(
    field: Field, cost_aud: FloatArray, at: int, river: RiverMonth, rules: FarmRules
) -> Harvested:
    """Bring a field in, each part of it where that pays.

    Parameters
    ----------
    field, cost_aud
        In its month of harvest, and what it cost in it.
    at
        Place of the crop and row layout.
    river, rules
        The month, and the farm.
    """
    layout = rules.layouts[at]
    price_aud = met_price_aud(at, river, rules)
    watered = units_per_ha(field.watered.kept_frac, at, river, layout)
    dry = units_per_ha(field.dry.kept_frac, at, river, layout)
    watered_ha = np.where(pays_to_harvest(watered, price_aud, layout), field.watered_ha, 0.0)
    dry_ha = np.where(pays_to_harvest(dry, price_aud, layout), field.dry_ha, 0.0)
    area_ha, units = watered_ha + dry_ha, watered_ha * watered + dry_ha * dry
    harvest_aud = (
        area_ha * layout.harvest_cost_aud_per_ha + units * layout.harvest_cost_aud_per_unit
    )
    worth_aud = units * price_aud
    margin_aud = worth_aud - field.spent_aud - cost_aud - harvest_aud
    return Harvested(area_ha, units, worth_aud, harvest_aud, margin_aud)


def units_per_ha(
    kept_frac: FloatArray, at: int, river: RiverMonth, layout: LayoutRules
) -> FloatArray:
    """Return the yield of a hectare: by its soil water, or by rain where that is not followed."""
    by_rain = river.rain_yield_frac[at]
    frac = kept_frac if by_rain is None else by_rain
    units: FloatArray = layout.full_yield_units_per_ha * frac
    met = year_met(layout.crop_at, river)
    return units if met is None else units * met.full_yield


def year_met(crop_at: int, river: RiverMonth) -> YearMet | None:
    """Return what a crop's year brought; None: the plan's own figures."""
    return river.year_met[crop_at] if river.year_met else None


def met_price_aud(at: int, river: RiverMonth, rules: FarmRules) -> FloatArray | float:
    """Return what a unit brings this year, with what comes with it."""
    layout, met = rules.layouts[at], year_met(rules.layouts[at].crop_at, river)
    if met is None:
        return layout.price_aud_per_unit
    by_product_aud = layout.price_aud_per_unit - layout.sold_aud_per_unit
    return layout.sold_aud_per_unit * met.price + by_product_aud


def pays_to_harvest(
    units_per_ha: FloatArray, price_aud: FloatArray | float, layout: LayoutRules
) -> BoolArray:
    """Return whether a yield pays the cost of bringing it in; what is spent is spent."""
    leaves_aud = price_aud - layout.harvest_cost_aud_per_unit
    return np.asarray(units_per_ha * leaves_aud > layout.harvest_cost_aud_per_ha)
