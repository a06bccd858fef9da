"""What are the farm's prices, costs and debts, as numbers ready for a month's step?

Costs and prices of crops by month of the water year, `k` (0 = July); what is the same in every
sequence (overheads, charges, loan payments, purchases by date) by month of the run, `t`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.errors import Fault, PlanError
from model.farm.finance import equal_principal_schedule, level_schedule
from model.farm.loans import LoanRules, loan_rules_of
from model.plan.farm import Farm
from model.plan.money import Loan, Money
from model.record.record import FloatArray
from model.sequences.draw import Calendar
from model.sequences.slices import IntArray
from model.water_year import MONTH_NAMES, MONTHS_IN_YEAR, month_of_water_year, parse_month


@dataclass(frozen=True, slots=True)
class ForwardSales:
    """Bales sold before they are grown, each (season,)."""

    bales: FloatArray
    lint_aud_per_bale: FloatArray
    washout_aud_per_bale: FloatArray


@dataclass(frozen=True, slots=True)
class CashRules:
    """The farm's money: (12,) by month of the water year, (month,) by month of the run."""

    opening_bank_aud: float
    opening_arrears_aud: float
    overdraft_limit_aud: float
    bank_limits_planting: bool
    bank_margin_kept_aud: float
    overdraft_rate_frac_per_month: float
    arrears_rate_frac_per_month: float

    tax_rate_frac: float | None  # on profit; None: the yearly sum of `tax_aud`
    tax_k: int
    opening_profit_aud: float
    opening_losses_aud: float
    opening_tax_due_aud: float

    forward: ForwardSales
    fallow_cost_aud_per_ha: FloatArray  # (12,) of land with no crop in the ground

    # water
    usage_aud_per_ml: float
    bore_aud_per_ml: float
    end_value_aud_per_ml: float | None  # as the plan states it

    # what falls due whatever comes, each (month,)
    overheads_aud: FloatArray  # with fixed water charges
    drawings_aud: FloatArray
    tax_aud: FloatArray
    machinery_aud: FloatArray
    off_farm_aud: FloatArray
    money_to_come_aud: FloatArray
    loan_interest_aud: FloatArray
    loan_principal_aud: FloatArray
    loan_balance_aud: FloatArray  # after the month's payment, if it was paid
    depreciation_aud: FloatArray

    # what the farm owns
    assets_aud: float

    # what drought steps may change
    shares_ml: float  # general security when the run opens
    share_worth_aud: float  # as the plan states it
    fixed_aud_per_share: FloatArray  # (month,) within overheads_aud
    own_overheads_aud_per_month: float  # likewise, without water charges
    deposit_aud: float
    machinery_worth_aud: float
    loans: tuple[LoanRules, ...]

    @property
    def payments_due(self) -> int:
        """How many loan payments fall due in the run."""
        return int(np.count_nonzero(self.loan_interest_aud + self.loan_principal_aud > 0.0))


def cash_rules_of(farm: Farm, calendar: Calendar) -> CashRules:
    """Prepare the farm's money for a run.

    Raises
    ------
    PlanError
        A forward sale is for a season that the run does not have.
    """
    money, trade = farm.money, farm.trade
    charges, shares_ml = money.water_charges, farm.licence.general_security_shares_ml
    high_ml = farm.licence.high_security_shares_ml
    months = months_of(calendar)
    ks = ks_of(months)
    fixed_charges_aud = (
        charges.general_fixed_aud_per_share * shares_ml + charges.high_fixed_aud_per_share * high_ml
    )

    def monthly(aud_per_year: float) -> FloatArray:
        return np.full(calendar.months, aud_per_year / MONTHS_IN_YEAR)

    interest_aud, principal_aud, balance_aud = loan_payments(money.loans, calendar)
    return CashRules(
        opening_bank_aud=money.bank_aud,
        opening_arrears_aud=money.arrears_aud,
        overdraft_limit_aud=money.overdraft_limit_aud,
        bank_limits_planting=money.bank_limits_planting,
        bank_margin_kept_aud=money.bank_margin_kept_aud,
        overdraft_rate_frac_per_month=money.overdraft_rate_frac_per_year / MONTHS_IN_YEAR,
        arrears_rate_frac_per_month=money.arrears_rate_frac_per_year / MONTHS_IN_YEAR,
        tax_rate_frac=money.tax_rate_frac,
        tax_k=MONTH_NAMES.index(money.tax_month),
        opening_profit_aud=money.profit_so_far_aud,
        opening_losses_aud=money.losses_carried_aud,
        opening_tax_due_aud=money.tax_due_aud,
        forward=forward_sales(money, calendar),
        fallow_cost_aud_per_ha=fallow_cost_aud_per_ha(farm),
        usage_aud_per_ml=charges.usage_aud_per_ml,
        bore_aud_per_ml=0.0 if farm.bore is None else farm.bore.cost_aud_per_ml,
        end_value_aud_per_ml=None if trade is None else trade.end_value_aud_per_ml,
        overheads_aud=monthly(money.overheads_aud_per_year)
        + in_months(fixed_charges_aud, charges.charge_months, ks),
        drawings_aud=monthly(money.drawings_aud_per_year),
        tax_aud=in_months(money.tax_aud_per_year, (money.tax_month,), ks),
        machinery_aud=machinery_aud(money, months),
        off_farm_aud=monthly(money.off_farm_income_aud_per_year),
        money_to_come_aud=np.where(
            np.arange(calendar.months) < MONTHS_IN_YEAR,
            np.array(farm.opening.money_to_come_aud)[ks],
            0.0,
        ),
        loan_interest_aud=interest_aud,
        loan_principal_aud=principal_aud,
        loan_balance_aud=balance_aud,
        depreciation_aud=monthly(money.depreciation_aud_per_year),
        assets_aud=money.assets.land_aud
        + money.assets.machinery_aud
        + money.deposit_aud
        + money.assets.general_security_aud_per_share * shares_ml
        + money.assets.high_security_aud_per_share * high_ml,
        shares_ml=shares_ml,
        share_worth_aud=money.assets.general_security_aud_per_share,
        fixed_aud_per_share=in_months(
            charges.general_fixed_aud_per_share, charges.charge_months, ks
        ),
        own_overheads_aud_per_month=money.overheads_aud_per_year / MONTHS_IN_YEAR,
        deposit_aud=money.deposit_aud,
        machinery_worth_aud=money.assets.machinery_aud,
        loans=tuple(loan_rules_of(loan, ks) for loan in money.loans),
    )


def months_of(calendar: Calendar) -> IntArray:
    """(month,) the run's month numbers."""
    return calendar.opening_month + np.arange(calendar.months, dtype=np.intp)


def ks_of(months: IntArray) -> IntArray:
    """(month,) the month of the water year of each, 0 = July."""
    return np.array([month_of_water_year(int(month)) for month in months], dtype=np.intp)


def in_months(aud_per_year: float, names: tuple[str, ...], ks: IntArray) -> FloatArray:
    """(month,) a yearly sum in equal parts in the named months."""
    due = np.isin(ks, [MONTH_NAMES.index(name) for name in names])
    return np.where(due, aud_per_year / len(names), 0.0)


def machinery_aud(money: Money, months: IntArray) -> FloatArray:
    """(month,) purchases by date; one outside the run is not made in it."""
    spent_aud = np.zeros(len(months))
    for purchase in money.machinery:
        spent_aud[months == parse_month(purchase.month)] += purchase.cost_aud
    return spent_aud


def loan_payments(
    loans: tuple[Loan, ...], calendar: Calendar
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return loan payments out over the run: interest, principal, balance after, each (month,)."""
    interest_aud, principal_aud, balance_aud = np.zeros((3, calendar.months))
    ks = ks_of(months_of(calendar))
    for loan in loans:
        due_t = np.flatnonzero(
            np.isin(ks, [MONTH_NAMES.index(name) for name in loan.payment_months])
        )
        yearly = len(loan.payment_months)
        schedule_of = level_schedule if loan.kind == "level" else equal_principal_schedule
        schedule = schedule_of(
            loan.balance_aud,
            loan.rate_frac_per_year / yearly,
            loan.term_years * yearly,
            loan.interest_only_years * yearly,
        )
        due_t = due_t[: schedule.interest_aud.size]
        interest_aud[due_t] += schedule.interest_aud[: due_t.size]
        principal_aud[due_t] += schedule.principal_aud[: due_t.size]
        balance_aud += loan.balance_aud
    return interest_aud, principal_aud, balance_aud - np.cumsum(principal_aud)


def forward_sales(money: Money, calendar: Calendar) -> ForwardSales:
    """Return forward sales out by season; several of one season are averaged by bales.

    A sale of a season before the run is past: its money is among what is still to come.
    """
    seasons = [calendar.water_year(season) for season in range(calendar.seasons)]
    bales, lint_aud, washout_aud = np.zeros((3, calendar.seasons))
    faults = []
    for number, sale in enumerate(money.forward_sales, start=1):
        if sale.water_year < seasons[0]:
            continue
        if sale.water_year not in seasons:
            where = f"farm.money.forward_sales, value {number}.water_year"
            allowed = ", ".join(seasons)
            faults.append(Fault(where, sale.water_year, "the run has no such season", allowed))
            continue
        season = seasons.index(sale.water_year)
        bales[season] += sale.bales
        lint_aud[season] += sale.bales * sale.lint_aud_per_bale
        washout_aud[season] += sale.bales * sale.washout_aud_per_bale
    if faults:
        raise PlanError("plan", faults)
    sold = np.maximum(bales, 1e-300)
    return ForwardSales(bales, lint_aud / sold, washout_aud / sold)


def fallow_cost_aud_per_ha(farm: Farm) -> FloatArray:
    """(12,) what land costs by month that has no crop in the ground then."""
    cost_aud = np.zeros(MONTHS_IN_YEAR)
    cost_aud[MONTH_NAMES.index(farm.fallow_cost_month)] = farm.fallow_cost_aud_per_ha
    return cost_aud
