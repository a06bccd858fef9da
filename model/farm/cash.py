"""What comes in and goes out in a month, and is the bank paid?

Costs fall when they fall, and a crop's money comes months after it is picked. What is overdrawn
pays interest. A loan payment that would take the account past the overdraft limit is missed: it
joins the arrears, which pay interest too and are cleared as soon as there is room. Other bills go
on being paid past the limit. Tax is a yearly sum, or a rate on profit (see `tax`). All AUD, arrays
(strategy, sequence).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from model.farm.drought import Due, after_payments, due_in
from model.farm.harvest import CropsMoney
from model.farm.nothing import nothing_like
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.state import BoolArray, FarmState
from model.farm.tax import TaxBook, year_closed
from model.farm.trade import Traded
from model.record.record import FloatArray


@dataclass(frozen=True, slots=True)
class CashMonth:
    """The month's money, each (strategy, sequence) but for what is the same for all."""

    income_aud: FloatArray  # from farming and water
    costs_aud: FloatArray  # of farming, water and land; neither drawings nor tax nor interest
    trade_aud: FloatArray  # water sold less water bought
    overdraft_interest_aud: FloatArray
    tax_aud: FloatArray  # paid
    loan_paid_aud: FloatArray  # with arrears cleared
    missed_aud: FloatArray
    missed: BoolArray  # whether a payment was
    arrears_interest_aud: FloatArray
    due: Due  # whatever came


def month_of_cash(
    state: FarmState, crops: CropsMoney, traded: Traded, river: RiverMonth, rules: FarmRules
) -> tuple[FarmState, CashMonth]:
    """Take the farm's money through a month.

    Parameters
    ----------
    state
        The farm after the month's decisions, watering and harvest.
    crops, traded
        What land and crops cost and brought; water bought and sold.
    river, rules
        The month, and the farm.
    """
    cash, t = rules.cash, river.t
    due = due_in(state.drought, t, cash)
    income_aud = crops.income_aud + traded.got_aud + cash.money_to_come_aud[t]
    costs_aud = crops.costs_aud + traded.paid_aud + due.overheads_aud

    overdraft_interest_aud = np.maximum(0.0, -state.bank_aud) * cash.overdraft_rate_frac_per_month
    state, tax_aud = pay_tax(state, river, rules)
    private_aud = due.off_farm_aud - due.drawings_aud - tax_aud - cash.machinery_aud[t]
    earned_aud = income_aud - costs_aud - overdraft_interest_aud
    bank_aud = state.bank_aud + (earned_aud + private_aud)
    loans_aud = due.loan_interest_aud + due.loan_principal_aud
    bank_aud, arrears_aud, paid = pay_lender(bank_aud, state.arrears_aud, loans_aud, rules)
    after = replace(state, bank_aud=bank_aud, arrears_aud=arrears_aud)
    if state.drought is not None:
        after = replace(after, drought=after_payments(state.drought, t, cash))
    if cash.tax_rate_frac is not None:
        deducted_aud = paid.arrears_interest_aud + (
            due.loan_interest_aud + cash.depreciation_aud[t]
        )
        after = replace(after, profit_aud=state.profit_aud + earned_aud - deducted_aud)
    return (
        after,
        CashMonth(
            income_aud=income_aud,
            costs_aud=costs_aud,
            trade_aud=traded.got_aud - traded.paid_aud,
            overdraft_interest_aud=overdraft_interest_aud,
            tax_aud=tax_aud,
            loan_paid_aud=paid.loan_paid_aud,
            missed_aud=paid.missed_aud,
            missed=paid.missed,
            arrears_interest_aud=paid.arrears_interest_aud,
            due=due,
        ),
    )


def pay_tax(state: FarmState, river: RiverMonth, rules: FarmRules) -> tuple[FarmState, FloatArray]:
    """Close the tax year on 1 July, and pay what is due in its month; return also that."""
    cash = rules.cash
    if cash.tax_rate_frac is None:
        return state, np.full_like(state.bank_aud, cash.tax_aud[river.t])
    book = tax_book(state)
    if river.turns_year:
        book = year_closed(book, cash.tax_rate_frac)
    paid_aud = nothing_like(state.bank_aud)
    if river.k == cash.tax_k:
        book, paid_aud = book._replace(due_aud=paid_aud), book.due_aud
    profit_aud, losses_aud, due_aud = book
    return replace(
        state, profit_aud=profit_aud, losses_aud=losses_aud, tax_due_aud=due_aud
    ), paid_aud


def tax_book(state: FarmState) -> TaxBook:
    """Return what the tax office and the farm keep of each other."""
    return TaxBook(state.profit_aud, state.losses_aud, state.tax_due_aud)


@dataclass(frozen=True, slots=True)
class Paid:
    """What the lender got, each (strategy, sequence)."""

    loan_paid_aud: FloatArray
    missed_aud: FloatArray
    missed: BoolArray
    arrears_interest_aud: FloatArray


def pay_lender(
    bank_aud: FloatArray, arrears_aud: FloatArray, due_aud: FloatArray | float, rules: FarmRules
) -> tuple[FloatArray, FloatArray, Paid]:
    """Make the month's loan payment where it fits, then clear arrears; return bank and arrears."""
    cash = rules.cash
    none = nothing_like(bank_aud)
    if not np.any(due_aud) and not arrears_aud.any():
        return bank_aud, arrears_aud, Paid(none, none, none.astype(np.bool_), none)
    interest_aud = arrears_aud * cash.arrears_rate_frac_per_month
    owed_aud = arrears_aud + interest_aud
    misses = (bank_aud - due_aud < -cash.overdraft_limit_aud) & np.greater(due_aud, 0.0)
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
