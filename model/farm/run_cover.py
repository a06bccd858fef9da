"""Are debts served over a whole run, after the family has lived and tax is paid?

Operating income of all seasons, with the crop money still due at the end and less that due at the
start, so that no season is charged with a crop that another is paid for; less interest on overdraft
and arrears; with income from off the farm; less family living and tax. Held against the principal
and interest due on term loans; and once more with the machinery bought taken off.

References
----------
Term-debt and capital-lease coverage, and its replacement margin: Farm Financial Standards Council;
Langemeier 2018 (farmdoc daily 8:175).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from model.farm.finance import ratio, term_debt_cover
from model.farm.measures import due_in_seasons, season_sums
from model.farm.rules import FarmRules
from model.farm.run import FarmResults
from model.farm.tax import TaxBook, owing_aud
from model.record.record import FloatArray
from model.sequences.draw import Calendar


@dataclass(frozen=True, slots=True)
class RunCover:
    """What a whole run pays its debts with, and what is due, AUD, each (..., sequence)."""

    operating_aud: FloatArray  # income less costs, crop money due at either end counted
    bank_interest_aud: FloatArray  # on overdraft and arrears
    off_farm_aud: FloatArray
    drawings_aud: FloatArray
    tax_aud: FloatArray
    machinery_aud: FloatArray  # bought by date
    term_interest_aud: FloatArray
    principal_aud: FloatArray

    @property
    def available_aud(self) -> FloatArray:
        """What is there to pay term debt with."""
        earned: FloatArray = self.operating_aud - self.bank_interest_aud + self.off_farm_aud
        return earned - self.drawings_aud - self.tax_aud

    @property
    def due_aud(self) -> FloatArray:
        """Principal and interest due on term loans."""
        due: FloatArray = self.principal_aud + self.term_interest_aud
        return due

    @property
    def cover(self) -> FloatArray:
        """Debt cover after drawings and tax; not a number where nothing is due."""
        return term_debt_cover(self.available_aud, self.principal_aud, self.term_interest_aud)

    @property
    def after_machinery_aud(self) -> FloatArray:
        """What is left once the machinery bought is paid too."""
        left: FloatArray = self.available_aud - self.machinery_aud
        return left

    def on_average(self, left_aud: FloatArray) -> float:
        """Return what is left on average over what is due on average; nan where nothing is.

        So its parts add up, also where drought steps make what is due another in each sequence.
        """
        return float(ratio(left_aud.mean(), self.due_aud.mean()))


def run_cover_of(r: FarmResults, rules: FarmRules, calendar: Calendar) -> RunCover:
    """Return what each run pays its debts with.

    Parameters
    ----------
    r
        What each season brought, (..., sequence, season); the names of `measures`.
    rules, calendar
        Of the farm and the run.
    """
    cash, none = rules.cash, 0.0 * r["closing_cash_aud"][..., -1]
    due = partial(due_in_seasons, r, calendar=calendar)

    def all_seasons(by_season: FloatArray) -> FloatArray:
        total: FloatArray = by_season.sum(axis=-1) + none
        return total

    due_at_start_aud = float(season_sums(cash.money_to_come_aud, calendar).sum())
    receivable_aud = r["receivable_aud"][..., -1] - due_at_start_aud
    still_owing_aud = r["tax_owing_aud"][..., -1] - tax_owing_at_start_aud(rules)
    return RunCover(
        operating_aud=all_seasons(r["income_aud"] - r["costs_aud"]) + receivable_aud,
        bank_interest_aud=all_seasons(r["overdraft_interest_aud"] + r["arrears_interest_aud"]),
        off_farm_aud=all_seasons(due("off_farm_aud", cash.off_farm_aud)),
        drawings_aud=all_seasons(due("drawings_aud", cash.drawings_aud)),
        tax_aud=all_seasons(r["tax_aud"]) + still_owing_aud,
        machinery_aud=all_seasons(season_sums(cash.machinery_aud, calendar)),
        term_interest_aud=all_seasons(due("loan_interest_aud", cash.loan_interest_aud)),
        principal_aud=all_seasons(due("loan_principal_aud", cash.loan_principal_aud)),
    )


def tax_owing_at_start_aud(rules: FarmRules) -> float:
    """Return the tax on the farm's own profits that is not yet paid when the run opens."""
    cash = rules.cash
    if cash.tax_rate_frac is None:
        return 0.0
    stated = cash.opening_profit_aud, cash.opening_losses_aud, cash.opening_tax_due_aud
    return float(owing_aud(TaxBook(*map(np.array, stated)), cash.tax_rate_frac))


def left_aud(found: RunCover) -> dict[str, FloatArray]:
    """Return what is left to pay loans with by the name of its cover, each (..., sequence)."""
    return {
        "run_term_debt_cover": found.available_aud,
        "run_replacement_cover": found.after_machinery_aud,
    }


RUN_EVENTS: dict[str, float] = {"run_cover_below_1": 1.0, "run_cover_below_1_25": 1.25}
"""The levels that debt cover over the run may lie below, by the name of the event."""
