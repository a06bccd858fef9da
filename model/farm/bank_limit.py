"""How much land does the bank let the farm plant?

Where the bank's limit bounds planting, no more hectares are sown than can be paid for until the
crop's first money comes: the overdraft limit less a margin kept, with the bank's balance and what
other crops and the family bring in until then (in average weather), less what falls due whatever is
planted, over what a hectare costs until then. It is the bank's limit and not a protection: it keeps
the account within the limit and not the business from loss. Arrays are (strategy, sequence).
"""

from __future__ import annotations

from typing import Final

import numpy as np

from model.farm.drought import less_due_aud
from model.farm.harvest import patterns_of
from model.farm.layouts import LayoutRules
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.state import FarmState, Field
from model.farm.watering import forecast
from model.record.record import FloatArray
from model.water_year import MONTHS_IN_YEAR

PENNY_AUD: Final = 0.01
"""A hectare that costs less than this until it is paid for costs nothing."""


def most_ha(
    state: FarmState, at: int, planned_ml_per_ha: FloatArray, river: RiverMonth, rules: FarmRules
) -> FloatArray:
    """Return the land that the bank lets the farm plant with a crop.

    Parameters
    ----------
    state
        The farm in the month of sowing.
    at
        Place of the crop in its row layout.
    planned_ml_per_ha
        Water planned for it, ML per hectare.
    river, rules
        The month, and the farm.
    """
    layout, cash = rules.layouts[at], rules.cash
    ks = months_until_paid(layout, river.k)
    room_aud = state.bank_aud + (cash.overdraft_limit_aud - cash.bank_margin_kept_aud)
    due_aud = bills_aud(state, ks, river, rules) - others_aud(state, ks, rules)
    there_aud = np.maximum(0.0, room_aud - due_aud)
    per_ha_aud = cost_aud_per_ha(layout, ks) + planned_ml_per_ha * cash.usage_aud_per_ml
    most: FloatArray = there_aud / np.maximum(per_ha_aud, PENNY_AUD)
    return most


def months_until_paid(layout: LayoutRules, k: int) -> list[int]:
    """Return the months of the water year from one to the last before a crop's first money."""
    to_harvest = (layout.harvest_k - k) % MONTHS_IN_YEAR
    after = np.roll(layout.income_pattern, -layout.harvest_k)
    count = to_harvest + int(np.flatnonzero(after)[0])
    return [(k + month) % MONTHS_IN_YEAR for month in range(count)]


def cost_aud_per_ha(layout: LayoutRules, ks: list[int]) -> float:
    """Return what a hectare costs in these months, water apart; harvest where it falls in them."""
    cost_aud = float(sum(layout.growing_cost_aud_per_ha[k] for k in ks))
    if layout.harvest_k in ks:
        cost_aud += layout.harvest_cost_aud_per_ha
        cost_aud += layout.full_yield_units_per_ha * layout.harvest_cost_aud_per_unit
    return cost_aud


def bills_aud(state: FarmState, ks: list[int], river: RiverMonth, rules: FarmRules) -> FloatArray:
    """Return what falls due in these months whatever is planted, less income from off the farm.

    Months past the end of the run cost as those a year before. Arrears are cleared first.
    """
    cash = rules.cash
    by_month = (
        cash.overheads_aud
        + cash.drawings_aud
        + cash.tax_aud
        + cash.machinery_aud
        + cash.loan_interest_aud
        + cash.loan_principal_aud
        - cash.off_farm_aud
        - cash.money_to_come_aud
    )
    ts = np.arange(river.t, river.t + len(ks))
    ts = np.where(ts < by_month.size, ts, ts - MONTHS_IN_YEAR)
    due_aud: FloatArray = state.arrears_aud + float(by_month[ts].sum())
    if state.drought is not None:
        due_aud = due_aud - less_due_aud(state.drought, ts.tolist(), cash)
    return due_aud + state.tax_due_aud if cash.tax_k in ks else due_aud


def others_aud(state: FarmState, ks: list[int], rules: FarmRules) -> FloatArray:
    """Return what comes in of harvests and of crops in the ground in these months, less their cost.

    Fallow is counted on all land without a crop: what is planted next will save its part of it.
    """
    total_aud = np.zeros_like(state.bank_aud)
    patterns = patterns_of(rules)
    for at, field in enumerate(state.fields):
        if field is not None:
            total_aud = total_aud + _of_field(field, at, ks, rules)
    for crop_at, pattern in enumerate(patterns):
        received = sum(pattern[month] for month in _before_harvest(ks, crop_at, rules))
        total_aud = total_aud + state.crop_money_aud[crop_at] * received
    idle_ha = np.maximum(0.0, rules.crop.developed_ha - state.in_ground_ha())
    fallow_aud = float(sum(rules.cash.fallow_cost_aud_per_ha[month] for month in ks))
    return total_aud - idle_ha * fallow_aud


def _before_harvest(ks: list[int], crop_at: int, rules: FarmRules) -> list[int]:
    """Return the months before a crop's next harvest, when the last one's money still comes in."""
    harvest_k = next(each.harvest_k for each in rules.layouts if each.crop_at == crop_at)
    return ks[: ks.index(harvest_k)] if harvest_k in ks else ks


def _of_field(field: Field, at: int, ks: list[int], rules: FarmRules) -> FloatArray:
    """Return what a crop in the ground brings in these months less its cost, in average weather."""
    layout, growing = rules.layouts[at], rules.growings[at]
    growing_ks = _before_harvest(ks, layout.crop_at, rules)
    growing_aud_per_ha = float(sum(layout.growing_cost_aud_per_ha[k] for k in growing_ks))
    cost_aud = field.harvest_ha * growing_aud_per_ha
    if layout.harvest_k not in ks:
        return -cost_aud
    dry_frac = forecast(growing, ks[0], field.dry).kept_frac
    full_ha = field.watered_ha * field.watered.kept_frac + field.dry_ha * dry_frac
    units = layout.full_yield_units_per_ha * full_ha
    paid_frac = sum(layout.income_pattern[k] for k in ks[ks.index(layout.harvest_k) :])
    leaves_aud = layout.price_aud_per_unit * paid_frac - layout.harvest_cost_aud_per_unit
    brings_aud: FloatArray = units * leaves_aud - field.harvest_ha * layout.harvest_cost_aud_per_ha
    return brings_aud - cost_aud
