"""What comes in and goes out in a month, and is the bank paid?

Costs fall when they fall, and a crop's money comes months after it is picked. What is overdrawn
pays interest. A loan payment that would take the account past the overdraft limit is missed: it
joins the arrears, which pay interest too and are cleared as soon as there is room. All AUD, arrays
(strategy, sequence).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from model.farm.crop_month import CropMonth
from model.farm.decisions import pays_to_pick
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.state import BoolArray, FarmState
from model.farm.trade import Traded
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class Picked:
    """What picking brought, each (strategy, sequence)."""

    area_ha: FloatArray
    bales: FloatArray
    margin_aud: FloatArray  # of the crop, whenever paid, with all that was spent on it


@dataclass(frozen=True, slots=True)
class CashMonth:
    """The month's money, each (strategy, sequence) but for what is the same for all."""

    income_aud: FloatArray  # from farming and water
    costs_aud: FloatArray  # of farming, water and land; neither drawings nor tax nor interest
    other_land_aud: FloatArray  # income less costs of land not in cotton
    trade_aud: FloatArray  # water sold less water bought
    overdraft_interest_aud: FloatArray
    loan_paid_aud: FloatArray  # with arrears cleared
    missed_aud: FloatArray
    missed: BoolArray  # whether a payment was
    arrears_interest_aud: FloatArray


def month_of_cash(
    state: FarmState, watering: CropMonth, traded: Traded, river: RiverMonth, rules: FarmRules
) -> tuple[FarmState, CashMonth, Picked]:
    """Take the farm's money through a month.

    Parameters
    ----------
    state
        The farm after the month's decisions and watering.
    watering, traded
        What was used, bought and sold.
    river, rules
        The month, and the farm.
    """
    cash, k, t = rules.cash, river.k, river.t
    land_cost_aud = state.prepared_ha * cash.prepared_cost_aud_per_ha[k]
    crop_cost_aud = growing_cost_aud(state, watering, k, rules)
    state, picked, picking_aud = pick(state, crop_cost_aud, river, rules)
    crop_cost_aud = crop_cost_aud + picking_aud
    other_income_aud, other_cost_aud = other_land(state, k, rules)
    crop_income_aud = state.crop_money_aud * cash.income_pattern[k]
    income_aud = crop_income_aud + other_income_aud + traded.got_aud + cash.money_to_come_aud[t]
    costs_aud = (
        land_cost_aud + crop_cost_aud + other_cost_aud + traded.paid_aud + cash.overheads_aud[t]
    )

    overdraft_interest_aud = np.maximum(0.0, -state.bank_aud) * cash.overdraft_rate_frac_per_month
    private_aud = (
        cash.off_farm_aud[t] - cash.drawings_aud[t] - cash.tax_aud[t] - cash.machinery_aud[t]
    )
    bank_aud = state.bank_aud + (income_aud - costs_aud - overdraft_interest_aud + private_aud)
    bank_aud, arrears_aud, paid = pay_lender(bank_aud, state.arrears_aud, t, rules)
    after = replace(
        state,
        bank_aud=bank_aud,
        arrears_aud=arrears_aud,
        spent_on_land_aud=state.spent_on_land_aud + land_cost_aud,
    )
    return (
        after,
        CashMonth(
            income_aud=income_aud,
            costs_aud=costs_aud,
            other_land_aud=other_income_aud - other_cost_aud,
            trade_aud=traded.got_aud - traded.paid_aud,
            overdraft_interest_aud=overdraft_interest_aud,
            loan_paid_aud=paid.loan_paid_aud,
            missed_aud=paid.missed_aud,
            missed=paid.missed,
            arrears_interest_aud=paid.arrears_interest_aud,
        ),
        picked,
    )


def growing_cost_aud(state: FarmState, watering: CropMonth, k: int, rules: FarmRules) -> FloatArray:
    """Give what the crop in the ground cost in a month, water and bore included."""
    cash, taken = rules.cash, watering.taken
    cost_aud = np.zeros_like(state.bank_aud)
    if rules.crop.is_watered_in(k):
        # What was stored was pumped from the river once: it is charged when it is used.
        from_river_ml = taken.river_ml + taken.storage_ml
        cost_aud = from_river_ml * cash.usage_aud_per_ml + taken.bore_ml * cash.bore_aud_per_ml
    per_ha = cash.growing_cost_aud_per_ha[k]
    return cost_aud + (state.watered_ha + state.run_out_ha) * per_ha if per_ha else cost_aud


def pick(
    state: FarmState, crop_cost_aud: FloatArray, river: RiverMonth, rules: FarmRules
) -> tuple[FarmState, Picked, FloatArray]:
    """Pick the crop in its month, where that pays; give also what picking cost, AUD."""
    crop, cash = rules.crop, rules.cash
    spent_aud = state.spent_on_crop_aud + crop_cost_aud
    none = np.zeros_like(spent_aud)
    if river.k != crop.picking_k:
        return replace(state, spent_on_crop_aud=spent_aud), Picked(none, none, none), none
    watered_bales_per_ha = crop.full_yield_bales_per_ha * np.maximum(
        crop.rain_grown_frac, 1.0 - state.yield_lost_frac
    )
    watered_ha = np.where(pays_to_pick(watered_bales_per_ha, 0.0, rules), state.watered_ha, 0.0)
    area_ha = watered_ha + state.run_out_ha
    bales = watered_ha * watered_bales_per_ha + (
        state.run_out_ha * state.run_out_yield_bales_per_ha
    )
    picking_aud = area_ha * cash.picking_cost_aud_per_ha + bales * cash.picking_cost_aud_per_bale
    money_aud, washout_aud = crop_money(bales, river.season, rules)
    picking_aud = picking_aud + washout_aud
    picked = replace(
        state,
        watered_ha=none,
        run_out_ha=none,
        crop_money_aud=money_aud,
        spent_on_crop_aud=none,
    )
    return picked, Picked(area_ha, bales, money_aud - spent_aud - picking_aud), picking_aud


def crop_money(
    bales: FloatArray, season: int, rules: FarmRules
) -> tuple[FloatArray, FloatArray | float]:
    """Give what a crop brings, and what bales sold forward and not grown cost."""
    cash, forward = rules.cash, rules.cash.forward
    money_aud = bales * cash.price_aud_per_bale
    sold = float(forward.bales[season])
    if sold == 0.0:
        return money_aud, 0.0
    delivered = np.minimum(bales, sold)
    money_aud = money_aud + delivered * (forward.lint_aud_per_bale[season] - cash.lint_aud_per_bale)
    return money_aud, (sold - delivered) * forward.washout_aud_per_bale[season]


def other_land(state: FarmState, k: int, rules: FarmRules) -> tuple[FloatArray, FloatArray]:
    """Give income and cost of the land that is not in cotton."""
    rotation, unplanted = rules.cash.rotation, rules.cash.unplanted
    income_aud = cost_aud = np.zeros_like(state.rotation_ha)
    if rotation.income_aud_per_ha[k] or unplanted.income_aud_per_ha[k]:
        income_aud = (
            state.rotation_ha * rotation.income_aud_per_ha[k]
            + state.unplanted_ha * unplanted.income_aud_per_ha[k]
        )
    if rotation.cost_aud_per_ha[k] or unplanted.cost_aud_per_ha[k]:
        cost_aud = (
            state.rotation_ha * rotation.cost_aud_per_ha[k]
            + state.unplanted_ha * unplanted.cost_aud_per_ha[k]
        )
    return income_aud, cost_aud


@dataclass(frozen=True, slots=True)
class Paid:
    """What the lender got, each (strategy, sequence)."""

    loan_paid_aud: FloatArray
    missed_aud: FloatArray
    missed: BoolArray
    arrears_interest_aud: FloatArray


def pay_lender(
    bank_aud: FloatArray, arrears_aud: FloatArray, t: int, rules: FarmRules
) -> tuple[FloatArray, FloatArray, Paid]:
    """Make the month's loan payment where it fits, then clear arrears; give bank and arrears."""
    cash = rules.cash
    due_aud = float(cash.loan_interest_aud[t] + cash.loan_principal_aud[t])
    none = np.zeros_like(bank_aud)
    if due_aud == 0.0 and not arrears_aud.any():
        return bank_aud, arrears_aud, Paid(none, none, none.astype(np.bool_), none)
    interest_aud = arrears_aud * cash.arrears_rate_frac_per_month
    owed_aud = arrears_aud + interest_aud
    misses = bank_aud - due_aud < -cash.overdraft_limit_aud if due_aud else none.astype(np.bool_)
    paid_aud = np.where(misses, 0.0, due_aud)
    missed_aud = np.where(misses, due_aud, 0.0)
    room_aud = np.maximum(0.0, bank_aud - paid_aud + cash.overdraft_limit_aud)
    cleared_aud = np.minimum(owed_aud, np.where(misses, 0.0, room_aud))
    paid_aud = paid_aud + cleared_aud
    return (
        bank_aud - paid_aud,
        owed_aud - cleared_aud + missed_aud,
        Paid(paid_aud, missed_aud, misses, interest_aud),
    )
