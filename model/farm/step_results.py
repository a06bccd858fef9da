"""What did drought steps bring, season by season, beside what every season is asked for?

Gathered only where a strategy has steps. What falls due is then not the same in every sequence, and
the lender's measures are worked out from here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

import numpy as np

from model.farm.cash import CashMonth
from model.farm.drought import Drought, changed_aud, owed_aud, put_off_aud, sold_aud
from model.farm.gathered import GatheredSeason
from model.farm.money_rules import CashRules
from model.farm.steps import StepsMonth
from model.record.record import FloatArray

OfMonth = Callable[[StepsMonth, CashMonth], FloatArray]
AtEnd = Callable[[Drought, int, CashRules], FloatArray]

SUMS: Final[Mapping[str, OfMonth]] = MappingProxyType(
    {
        "loan_interest_aud": lambda steps, cash: np.asarray(cash.due.loan_interest_aud),
        "loan_principal_aud": lambda steps, cash: np.asarray(cash.due.loan_principal_aud),
        "drawings_aud": lambda steps, cash: np.asarray(cash.due.drawings_aud),
        "overheads_aud": lambda steps, cash: np.asarray(cash.due.overheads_aud),
        "off_farm_aud": lambda steps, cash: np.asarray(cash.due.off_farm_aud),
        "steps_cost_aud": lambda steps, cash: steps.cost_aud,
        "steps_received_aud": lambda steps, cash: steps.received_aud,
        "loans_repaid_aud": lambda steps, cash: steps.repaid_aud,
    }
)
"""Summed over the season's months in the run."""

AT_END: Final[Mapping[str, AtEnd]] = MappingProxyType(
    {
        "loan_balance_aud": lambda drought, t, cash: owed_aud(drought),
        "principal_put_off_aud": put_off_aud,
        "steps_aud": changed_aud,
        "owned_aud": lambda drought, t, cash: cash.assets_aud - sold_aud(drought, cash),
        "shares_owned_ml": lambda drought, t, cash: drought.shares_ml,
    }
)
"""As the farm stands at the end of the season."""


def name_of(at: int) -> str:
    """Return the name under which it is kept how often a step was taken in a season."""
    return f"step {at} taken"


def blanks(steps: int) -> dict[str, float]:
    """Return by name of a result of so many steps what stands where a season has none."""
    summed = (*SUMS, *(name_of(at) for at in range(steps)))
    return dict.fromkeys(summed, 0.0) | dict.fromkeys(AT_END, np.nan)


def gather(steps: StepsMonth, cash: CashMonth, season: GatheredSeason) -> None:
    """Add a month to what its season brought."""
    for name, value_of in SUMS.items():
        season.add(name, value_of(steps, cash))
    for at, taken in enumerate(steps.taken):
        season.add(name_of(at), taken.astype(np.float64))


def note_end(drought: Drought, t: int, cash: CashRules, season: GatheredSeason) -> None:
    """Note how a season leaves what drought steps may change."""
    for name, value_of in AT_END.items():
        season.note(name, value_of(drought, t, cash))
