"""What stands behind a debt, and are covenants kept?

Debt is loans, arrears and overdraft. It is held against the securities that the user typed, or else
against the assets of the plan; both as valued and after a stated fall. A covenant is breached in a
sequence where its measure lies on the wrong side of its level at the end of any season (cover over
the run: at its end); where a sequence has no such measure, it is not breached.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.decide.cash_months import CashMonths
from model.farm.finance import ratio
from model.farm.rules import FarmRules
from model.farm.run import FarmResults
from model.farm.run_cover import run_cover_of
from model.farm.state import BoolArray
from model.outlook.chances import QUANTILES, Estimate
from model.plan.credit import Covenant, Credit, Security
from model.sequences.draw import Calendar

AT_SEASONS_END: Final = {
    "debt_cover_after_drawings_and_tax": "term_debt_cover",
    "debt_cover": "cover",
    "interest_cover": "interest_cover",
    "equity": "equity_frac",
}
"""What a covenant measures each 30 June, by its name among the farm's measures."""

PEAK_FRACS: Final = (0.5, 0.9)
"""Debt at its peak month: what half of the sequences pass, and 10 in 100."""


@dataclass(frozen=True, slots=True)
class PeakDebt:
    """Debt in the month in which it is deepest."""

    month: int  # month number in which what 10 in 100 sequences pass is highest
    debt_aud: tuple[float, float]  # passed 50 and 10 times in 100


@dataclass(frozen=True, slots=True)
class Secured:
    """Debt at its peak against what secures it."""

    securities: tuple[Security, ...]  # as typed; empty: the assets of the plan
    value_aud: float
    fall_frac: float
    peak: PeakDebt

    def fallen(self, value_aud: float) -> float:
        """Return what is left of a value after the fall."""
        return value_aud * (1.0 - self.fall_frac)

    @property
    def fallen_aud(self) -> float:
        """The value after the fall."""
        return self.fallen(self.value_aud)

    @property
    def loan_to_value(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Debt passed 50 and 10 times in 100 over value: as valued, and after the fall."""
        first, second = (
            ratio(np.array(self.peak.debt_aud), value).tolist()
            for value in (self.value_aud, self.fallen_aud)
        )
        return (first[0], first[1]), (second[0], second[1])


@dataclass(frozen=True, slots=True)
class CovenantOdds:
    """How often a covenant is breached."""

    covenant: Covenant
    by_season: tuple[Estimate, ...]  # empty where it is measured over the run
    in_run: Estimate


@dataclass(frozen=True, slots=True)
class CreditFound:
    """What the brief holds of securities and covenants."""

    credit: Credit  # as stated; a bare one where the plan states none
    secured: Secured
    covenants: tuple[CovenantOdds, ...]


def peak_debt(cash: CashMonths) -> PeakDebt:
    """Return debt in the month in which it is deepest."""
    middle, deep = (cash.debt_quantiles_aud[QUANTILES.index(frac)] for frac in PEAK_FRACS)
    at = int(deep.argmax())
    return PeakDebt(cash.first_month + at, (float(middle[at]), float(deep[at])))


def secured(credit: Credit, assets_aud: float, cash: CashMonths) -> Secured:
    """Return debt at its peak against what secures it."""
    typed = sum(security.value_aud for security in credit.securities)
    return Secured(
        securities=credit.securities,
        value_aud=typed if credit.securities else assets_aud,
        fall_frac=credit.value_fall_frac,
        peak=peak_debt(cash),
    )


def breaches(
    covenant: Covenant,
    found: FarmResults,
    *,
    rules: FarmRules,
    calendar: Calendar,
    value_aud: float,
) -> BoolArray:
    """Return where a covenant is breached, (sequence, season); over the run (sequence, 1).

    Parameters
    ----------
    covenant
        What was agreed.
    found
        What every season brought under one strategy, (sequence, season).
    rules, calendar
        Of the farm and the run.
    value_aud
        Of what secures the debt.
    """
    if covenant.measure == "debt_cover_over_the_run":
        values = run_cover_of(found, rules, calendar).cover[:, None]
    elif covenant.measure == "loan_to_value":
        too_much: BoolArray = found["debt_aud"] > covenant.level * value_aud
        return too_much
    else:
        values = found[AT_SEASONS_END[covenant.measure]]
    too_little: BoolArray = values < covenant.level
    return too_little


Odds = Callable[[BoolArray, BoolArray], Estimate]


def covenant_odds(
    covenant: Covenant,
    drawn: FarmResults,
    again: FarmResults,
    breached: Callable[[FarmResults], BoolArray],
    odds: Odds,
) -> CovenantOdds:
    """Return how often a covenant is breached, season by season and in the run."""
    own, resampled = breached(drawn), breached(again)
    by_season = tuple(odds(own[:, at], resampled[:, at]) for at in range(own.shape[1]))
    over_the_run = covenant.measure == "debt_cover_over_the_run"
    in_run = odds(np.asarray(own.any(axis=1)), np.asarray(resampled.any(axis=1)))
    return CovenantOdds(covenant, () if over_the_run else by_season, in_run)
