"""What does a megalitre of yearly water cost, month by month?

Yearly water is dear when the season is short of it, for everybody: the price follows the season's
supply, which is what the average holder has in the account and has used since 1 July, and the
median of what may still be announced to 30 June. That median is a line for each month on the water
credited so far and on what the dam holds beyond it; use moves neither, so a dry month with thirsty
crops is not taken for a dry season. Half the supply at exponent 1 is twice the price (an elasticity
of -1: common practice, no source). Where the user states prices of a dry, a middle and a wet season
these are met at the supplies of such seasons. Late in the water year water that cannot be carried
is worth little: factors by month.

All arrays are (sequence,), water in ML per share, prices in AUD per ML.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.farm.quantile_line import fit_quantile_line
from model.outlook.lazy import LazyResults
from model.plan.money import WaterTrade
from model.record.record import FloatArray
from model.valley.rules import Rules
from model.valley.run import Month
from model.water_year import MONTHS_IN_YEAR, month_of_water_year

FORFEITED_BY_MONTH: Final = (1.0,) * 7 + (0.85, 0.7, 0.5, 0.4, 0.3)
"""July to June, where an account is lost on 30 June. Common practice, no source."""

CARRIED_BY_MONTH: Final = (1.0,) * 7 + (0.95, 0.9, 0.85, 0.8, 0.8)
"""July to June, where it may be carried. Lower ones would make a money machine of June's water."""

NO_SUPPLY_ML_PER_SHARE: Final = 1e-9
"""Less than this is no water at all: the price is the highest."""

NEAR_REFERENCE_FRAC: Final = 1.0 / 3.0
"""A median price further than this from the reference says that the two do not fit."""

SEASON_MIDDLES: Final = (1.0 / 6.0, 0.5, 5.0 / 6.0)
"""The middle of the driest, the middle and the wettest third of seasons."""

TRAINING_SEQUENCES: Final = 400
"""Of the training sequences: each gives a case for every season, for three numbers fitted."""

LAST_K: Final = MONTHS_IN_YEAR - 1
NEXT_YEAR: Final = MONTHS_IN_YEAR
"""In place of a month: on 30 June, for the year to come."""


@dataclass(frozen=True, slots=True)
class PriceRules:
    """How the price follows the season's supply."""

    reference_aud_per_ml: float
    reference_supply_ml_per_share: float
    scarcity_exponent: float
    lowest_aud_per_ml: float
    highest_aud_per_ml: float
    by_month: FloatArray  # (12,) factor, July to June
    dry_middle_wet_aud_per_ml: FloatArray | None  # (3,) the user's own, in place of the reference


def price_rules_of(trade: WaterTrade, valley: Rules) -> PriceRules:
    """Prepare the market that a plan states."""
    carried = valley.carryover_limit_ml_per_share > 0.0
    own = trade.dry_middle_wet_aud_per_ml
    return PriceRules(
        reference_aud_per_ml=trade.reference_aud_per_ml,
        reference_supply_ml_per_share=trade.reference_supply_ml_per_share,
        scarcity_exponent=trade.scarcity_exponent,
        lowest_aud_per_ml=trade.lowest_aud_per_ml,
        highest_aud_per_ml=trade.highest_aud_per_ml,
        by_month=np.array(
            trade.price_by_month or (CARRIED_BY_MONTH if carried else FORFEITED_BY_MONTH)
        ),
        dry_middle_wet_aud_per_ml=None if own is None else np.array(own),
    )


@dataclass(frozen=True, slots=True)
class KnownSupply:
    """What anybody knows of a season's water in a month, after its announcement."""

    credited: FloatArray  # in the average account, and used of it since 1 July
    uncommitted: FloatArray  # in the dam above dead storage and beyond the accounts, at the gate
    announced_to_date: FloatArray

    def features(self) -> FloatArray:
        """(feature, sequence) what the line is drawn on."""
        return np.stack([np.ones_like(self.credited), self.credited, self.uncommitted])


def known_supply(month: Month, valley: Rules) -> KnownSupply:
    """Read what is known of the season's supply in a month of the valley."""
    opening, account = month.fluxes.opening, month.fluxes.account_before_orders_ml_per_share
    at_gate = (1.0 - valley.delivery_loss_frac) / valley.general_security_shares_ml
    in_dam = (opening.storage_ml - valley.dead_storage_ml) * at_gate
    return KnownSupply(
        credited=account + opening.used_this_year_ml_per_share,
        uncommitted=np.maximum(0.0, in_dam - account),
        announced_to_date=month.fluxes.known_to_date_ml_per_share,
    )


def known_after_june(june: Month, valley: Rules) -> KnownSupply:
    """Read what is known on 30 June of the supply of the year to come."""
    kept = np.minimum(june.end.account_ml_per_share, valley.carryover_limit_ml_per_share)
    account = kept * (1.0 - valley.carryover_loss_frac)
    at_gate = (1.0 - valley.delivery_loss_frac) / valley.general_security_shares_ml
    in_dam = (june.end.storage_ml - valley.dead_storage_ml) * at_gate
    return KnownSupply(account, np.maximum(0.0, in_dam - account), np.zeros_like(account))


@dataclass(frozen=True, slots=True)
class SeasonSupply:
    """The season's supply as it can be foreseen: a line for each month."""

    lines: Mapping[int, FloatArray]  # month of the water year to (feature,); none of June
    allocation_cap_ml_per_share: float
    dry_middle_wet: FloatArray | None  # (3,) supply of a dry, a middle and a wet season

    def ml_per_share(self, known: KnownSupply, k: int) -> FloatArray:
        """Return what the season is likely to bring the average holder in all.

        Parameters
        ----------
        known
            Of the month, after its announcement.
        k
            Month of the water year, 0 = July; `NEXT_YEAR`: on 30 June, of the year to come.
        """
        if k == LAST_K:
            return known.credited
        still_allowed = self.allocation_cap_ml_per_share - known.announced_to_date
        to_come = np.minimum(self.lines[k] @ known.features(), still_allowed)
        supply: FloatArray = known.credited + np.maximum(0.0, to_come)
        return supply


def price_aud_per_ml(
    supply: FloatArray, k: int, rules: PriceRules, dry_middle_wet: FloatArray | None = None
) -> FloatArray:
    """Return the price of a season's supply in a month, between what buyers pay and sellers get.

    Parameters
    ----------
    supply
        Of the season, ML per share.
    k
        Month of the water year, 0 = July.
    rules
        The market.
    dry_middle_wet
        (3,) supply of a dry, a middle and a wet season, where the user states their prices.

    Examples
    --------
    >>> rules = PriceRules(150.0, 0.6, 1.0, 50.0, 650.0, np.ones(12), None)
    >>> price_aud_per_ml(np.array([0.6, 0.3, 0.0]), 0, rules).tolist()
    [150.0, 300.0, 650.0]
    """
    price: FloatArray = in_middle_months(supply, rules, dry_middle_wet) * rules.by_month[k]
    return price


def in_middle_months(
    supply: FloatArray, rules: PriceRules, dry_middle_wet: FloatArray | None = None
) -> FloatArray:
    """Return the price before the factor of the month; see `price_aud_per_ml`."""
    own = rules.dry_middle_wet_aud_per_ml
    if own is not None and dry_middle_wet is not None:
        return np.interp(supply, dry_middle_wet, own)
    scarce = rules.reference_supply_ml_per_share / np.maximum(supply, NO_SUPPLY_ML_PER_SHARE)
    price = rules.reference_aud_per_ml * scarce**rules.scarcity_exponent
    return np.clip(price, rules.lowest_aud_per_ml, rules.highest_aud_per_ml)


@dataclass(frozen=True, slots=True)
class Market:
    """The yearly market as one farm meets it: the farm does not move the price."""

    price: PriceRules
    supply: SeasonSupply
    most_ml_per_season: float  # bought; and likewise sold
    spread_frac: float
    fee_aud_per_ml: float

    def price_aud_per_ml(self, known: KnownSupply, k: int) -> FloatArray:
        """Return the price of a month, (sequence,)."""
        return self.price_of(self.supply.ml_per_share(known, k), k)

    def july_aud_per_ml(self, june: Month, valley: Rules) -> FloatArray:
        """Return the price of the July to come, at the supply that is then expected."""
        known = known_after_june(june, valley)
        return self.price_of(self.supply.ml_per_share(known, NEXT_YEAR), 0)

    def price_of(self, supply: FloatArray, k: int) -> FloatArray:
        """Return the price of a season's supply in a month, (sequence,)."""
        return price_aud_per_ml(supply, k, self.price, self.supply.dry_middle_wet)

    def paid_aud_per_ml(self, price: FloatArray) -> FloatArray:
        """Return what a buyer pays in all."""
        return price * (1.0 + self.spread_frac / 2.0) + self.fee_aud_per_ml

    def got_aud_per_ml(self, price: FloatArray) -> FloatArray:
        """Return what a seller is left with."""
        return np.maximum(0.0, price * (1.0 - self.spread_frac / 2.0) - self.fee_aud_per_ml)


LICENCE_PART: Final = 0.1
"""The most that is traded in a season where the plan states none. Common practice, no source."""


def market_of(
    trade: WaterTrade, shares_ml: float, supplies: Mapping[bool, SeasonSupply], valley: Rules
) -> Market:
    """Prepare the yearly market of a plan.

    Parameters
    ----------
    trade, shares_ml
        What the plan states of it, and the farm's own licence.
    supplies
        The season's supply as `fit_supply` fits it to training runs, without and with thirds.
    valley
        The valley's rules.
    """
    most_ml = trade.most_ml_per_season
    return Market(
        price=price_rules_of(trade, valley),
        supply=supplies[trade.dry_middle_wet_aud_per_ml is not None],
        most_ml_per_season=LICENCE_PART * shares_ml if most_ml is None else most_ml,
        spread_frac=trade.spread_frac,
        fee_aud_per_ml=trade.fee_aud_per_ml,
    )


def fit_supply(trained: Sequence[Month], valley: Rules, *, thirds: bool = False) -> SeasonSupply:
    """Fit the median of what may still be announced; each month's line when first asked for."""
    cases = cases_by_month(trained, valley)

    def line(k: int) -> FloatArray:
        further = cases[k].further
        return fit_quantile_line(cases[k].known, further, np.ones_like(further), 0.5)

    supply = SeasonSupply(LazyResults(cases, line), valley.allocation_cap_ml_per_share, None)
    if not thirds:
        return supply
    seasons = [
        supply.ml_per_share(known_supply(month, valley), month_of_water_year(month.month))
        for month in trained
    ]
    return replace(supply, dry_middle_wet=np.quantile(np.concatenate(seasons), SEASON_MIDDLES))


@dataclass(frozen=True, slots=True)
class MonthCases:
    """What was known in a month of training runs, and what was announced after it to June."""

    known: FloatArray  # (feature, case)
    further: FloatArray  # (case,)


def cases_by_month(months: Sequence[Month], valley: Rules) -> dict[int, MonthCases]:
    """Gather training runs by month of the water year."""
    open_months: list[tuple[int, KnownSupply]] = []
    some = slice(TRAINING_SEQUENCES)
    gathered: dict[int, list[tuple[FloatArray, FloatArray]]] = {}
    for month in months:
        k = month_of_water_year(month.month)
        if k < LAST_K:
            open_months.append((k, known_supply(month, valley)))
            continue
        by_june = month.end.water_to_date_ml_per_share
        for before_k, known in open_months:
            case = (known.features()[:, some], (by_june - known.announced_to_date)[some])
            gathered.setdefault(before_k, []).append(case)
        open_months = [(NEXT_YEAR, known_after_june(month, valley))]
    return {
        k: MonthCases(
            np.concatenate([known for known, _ in cases], axis=1),
            np.concatenate([further for _, further in cases]),
        )
        for k, cases in gathered.items()
    }


@dataclass(frozen=True, slots=True)
class PriceMet:
    """The median price of yearly water in a run, beside the plan's own reference."""

    by_month_aud_per_ml: FloatArray  # (12,) before the factor; not a number: not in the run
    median_aud_per_ml: float  # of all months together
    reference_aud_per_ml: float  # of a middle season, by the plan

    @property
    def is_near(self) -> bool:
        """Whether the median lies within a third of the reference."""
        apart_aud = abs(self.median_aud_per_ml - self.reference_aud_per_ml)
        return apart_aud <= NEAR_REFERENCE_FRAC * self.reference_aud_per_ml


def price_met(market: Market, prices: Sequence[tuple[int, FloatArray]]) -> PriceMet:
    """Return the median met, by month and in all.

    Parameters
    ----------
    market
        Of the farm.
    prices
        Month of the water year, and the price in it, (sequence,), of every month of a run.
    """
    before = [(k, price / market.price.by_month[k]) for k, price in prices]
    by_month = [
        np.median([price for of, price in before if of == k] or np.nan)
        for k in range(MONTHS_IN_YEAR)
    ]
    own = market.price.dry_middle_wet_aud_per_ml
    return PriceMet(
        by_month_aud_per_ml=np.array(by_month),
        median_aud_per_ml=float(np.median(np.concatenate([price for _, price in before]))),
        reference_aud_per_ml=market.price.reference_aud_per_ml if own is None else float(own[1]),
    )
