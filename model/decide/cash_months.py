"""How do bank and debt go month by month under one strategy, and when is the bank lowest?

Balance and debt at each month's end over many sequences. What is said of a month is of that month
alone: that some month of the run passes the overdraft limit is likelier than that any one month
does, and is among the chances of `compare`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.farm.drought import owed_aud
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.run import FarmMonth, run_farm
from model.farm.setting import FarmSetting
from model.outlook.ahead import BAND_FRACS
from model.outlook.chances import QUANTILES, quantiles_of_rows
from model.record.record import FloatArray

PLAYED: Final = 5_000
"""Sequences behind monthly balances and stated cases: a plan that draws more gains nothing here."""


@dataclass(frozen=True, slots=True)
class CashMonths:
    """The bank balance at each month's end."""

    first_month: int  # month number
    quantiles_aud: FloatArray  # (quantile, month) of the published quantiles
    past_limit_frac: FloatArray  # (month,) part of the sequences past the overdraft limit
    lowest_frac: FloatArray  # (month,) part of the sequences that are lowest in that month
    debt_quantiles_aud: FloatArray  # (quantile, month) of loans, arrears and overdraft together
    sequences: int

    @property
    def bands_aud(self) -> FloatArray:
        """(BAND_FRACS, month) the quantiles that a page draws as bands."""
        return self.quantiles_aud[[QUANTILES.index(frac) for frac in BAND_FRACS]]

    def reached_aud(self, frac: float) -> FloatArray:
        """(month,) one published quantile of the balance."""
        found: FloatArray = self.quantiles_aud[QUANTILES.index(frac)]
        return found

    @property
    def usual_lowest(self) -> tuple[int, float]:
        """Month number in which the balance is lowest most often, and in what part of them."""
        at = int(self.lowest_frac.argmax())
        return self.first_month + at, float(self.lowest_frac[at])


def played_river(setting: FarmSetting) -> list[RiverMonth]:
    """Run the valley through the sequences behind monthly balances and stated cases."""
    return setting.river(setting.valley.first_sequences(PLAYED))


def cash_months(setting: FarmSetting, at: int, river: Sequence[RiverMonth]) -> CashMonths:
    """Follow the bank balance of one strategy month by month.

    Parameters
    ----------
    setting
        Valley, farm and strategies.
    at
        Which strategy, from 0.
    river
        The months of many sequences.
    """
    sequences, opening = river[0].storage_frac.size, setting.opening(river, 1)
    settings = setting.settings.one(at)
    months = run_farm(opening, settings, river, setting.expectation, setting.rules)
    pairs = [(month.end.bank_aud[0], debt_aud(month, setting.rules)[0]) for month in months]
    balances_aud, debts_aud = (np.stack(each) for each in zip(*pairs, strict=True))
    lowest = np.bincount(balances_aud.argmin(axis=0), minlength=len(balances_aud))
    past = balances_aud < -setting.rules.cash.overdraft_limit_aud
    return CashMonths(
        first_month=setting.valley.calendar.opening_month,
        quantiles_aud=quantiles_of_rows(balances_aud),
        past_limit_frac=past.mean(axis=1),
        lowest_frac=lowest / sequences,
        debt_quantiles_aud=quantiles_of_rows(debts_aud),
        sequences=sequences,
    )


def debt_aud(month: FarmMonth, rules: FarmRules) -> FloatArray:
    """Return what is owed after a month: loans, arrears and overdraft."""
    end, loans_aud = month.end, rules.cash.loan_balance_aud[month.river.t]
    if end.drought is not None:
        loans_aud = owed_aud(end.drought)
    owed: FloatArray = loans_aud + end.arrears_aud + np.maximum(0.0, -end.bank_aud)
    return owed
