"""What if water, yield, price or interest turn against the plan, and how far may they?

Each case changes one thing, or three at once, of the plan as it stands, and is played through the
same sequences. How far each may turn is in `break_even`.

What a lender asks for is common practice, no source; the formulas are printed beside the numbers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.decide.bench import Bench, with_lint, with_rates, with_yield
from model.decide.break_even import BreakEven, break_evens
from model.decide.played_case import CaseResult, case_of, play_case
from model.decide.stated_case import stated_announcements
from model.farm.river import RiverMonth, YearMet
from model.farm.setting import FarmSetting
from model.farm.state import Settings
from model.plan.farm import Farm
from model.record.record import FloatArray

YIELD_DOWN_FRAC: Final = 0.25
PRICE_DOWN_FRAC: Final = 0.20
RATE_UP_FRAC: Final = 0.03
REACHED_IN_9_OF_10: Final = 0.1
ZERO_SEASONS: Final = 2


@dataclass(frozen=True, slots=True)
class StressCase:
    """One case and what it brings."""

    name: str
    meaning: str
    result: CaseResult
    less_water: bool = False  # than in the plan as it stands
    price_aud_per_unit: float | None = None  # of the main crop, where the case changes it
    unit: str = ""  # of that crop, where it does


@dataclass(frozen=True, slots=True)
class StressSet:
    """The plan as it stands, the cases beside it, and the break-evens."""

    cases: tuple[StressCase, ...]  # the plan as it stands first
    break_evens: tuple[BreakEven, ...]
    sequences: int  # that each is played through

    @property
    def stressed(self) -> tuple[StressCase, ...]:
        """The stress cases: all but the first, which nothing is stressed in."""
        return self.cases[1:]

    @property
    def as_planned(self) -> CaseResult:
        """The plan as it stands."""
        return self.cases[0].result

    @property
    def has_cover(self) -> bool:
        """Return whether in any case something is due to a lender."""
        return any(not math.isnan(case.result.run_cover) for case in self.cases)


def stress_set(setting: FarmSetting, at: int, river: Sequence[RiverMonth]) -> StressSet:
    """Play the stress set of one strategy.

    Parameters
    ----------
    setting
        Valley, farm and strategies.
    at
        Which strategy.
    river
        The months of the sequences.
    """
    bench = Bench(setting, setting.strategies[at], river)
    found, rules = bench.as_planned(), setting.rules
    as_planned = case_of(found, rules, setting.valley.calendar)
    cases = (
        StressCase("As planned", "the sequences that all other pages show", as_planned),
        *_water_cases(bench),
        *_money_cases(bench),
        carried_suspended(bench),
        *_forward_short(bench, found["bales"][0]),
    )
    return StressSet(cases, break_evens(bench), river[0].storage_frac.size)


def _water_cases(bench: Bench) -> list[StressCase]:
    """Less water: 1 in 10 without trade, and seasons of no allocation."""
    no_trade = bench.strategy.model_copy(
        update={"sell_above_aud_per_ml": None, "buy_up_to_ml": 0.0}
    )
    zero = min(ZERO_SEASONS, bench.seasons)
    return [
        StressCase(
            "Allocation reached 90 times in 100, no trade",
            "in each season; no water bought or sold",
            bench.run(river=reached_in_9_of_10(bench.river), strategy=no_trade),
            less_water=True,
        ),
        StressCase(
            f"{'Two zero seasons in a row' if zero == 2 else 'A zero season'}",
            "nothing announced, dam and high security as in the driest sequence; the bank is "
            "followed to the end of the run",
            bench.run(river=zero_seasons(bench.river, zero)),
            less_water=True,
        ),
    ]


def reached_in_9_of_10(river: Sequence[RiverMonth]) -> tuple[RiverMonth, ...]:
    """Return the sequences with so much announced in each season as is reached in 9 of 10."""
    seasons = 1 + max(month.season for month in river)
    stated = stated_announcements(river, [REACHED_IN_9_OF_10] * seasons)
    return tuple(
        replace(month, announced_ml_per_share=np.full_like(month.announced_ml_per_share, stated[t]))
        for t, month in enumerate(river)
    )


def zero_seasons(river: Sequence[RiverMonth], zero: int) -> tuple[RiverMonth, ...]:
    """Return the sequences with nothing announced in their first seasons.

    The dam, the average account and high security are then as in the driest sequence of the month,
    and yearly water as dear as in the dearest.
    """
    return tuple(_without_water(month) if month.season < zero else month for month in river)


def _without_water(month: RiverMonth) -> RiverMonth:
    """Return a month in which nothing is announced."""
    driest = {
        name: np.full_like(values, values.min())
        for name in (
            "storage_frac",
            "average_account_ml_per_share",
            "announced_to_date_ml_per_share",
            "high_security_allocation_frac",
            "high_security_ended_frac",
        )
        if (values := getattr(month, name)) is not None
    }
    dear = month.price_aud_per_ml
    return replace(
        month,
        **driest,
        announced_ml_per_share=np.zeros_like(month.announced_ml_per_share),
        price_aud_per_ml=np.full_like(dear, dear.max()),
        shared=None if month.shared is None else month.shared.scaled(0.0),
    )


def _money_cases(bench: Bench) -> list[StressCase]:
    """Yield, price and rate, each alone and then together."""
    farm, kept = bench.setting.farm, 1.0 - YIELD_DOWN_FRAC
    mean_aud = farm.main_crop.ten_year_mean_price_aud_per_unit
    from_aud = farm.main_crop.price_aud_per_unit if mean_aud is None else mean_aud
    low_aud = from_aud * (1.0 - PRICE_DOWN_FRAC)
    below = "the plan's price" if mean_aud is None else "the ten-year mean"
    forward = "bales sold forward as agreed"
    all_three = with_rates(with_lint(with_yield(farm, kept), low_aud), RATE_UP_FRAC)

    def case(name: str, meaning: str, changed: Farm, price_aud: float | None = None) -> StressCase:
        result = bench.run(farm=changed)
        return StressCase(
            name, meaning, result, price_aud_per_unit=price_aud, unit=farm.main_crop.unit
        )

    return [
        case("Yield down a quarter", "of every row layout", with_yield(farm, kept)),
        *(
            []
            if mean_aud is None
            else [case("Lint at its ten-year mean", forward, with_lint(farm, mean_aud), mean_aud)]
        ),
        case(f"Lint 20 % below {below}", forward, with_lint(farm, low_aud), low_aud),
        case("Rates up 3 points", "loans, overdraft and arrears", with_rates(farm, RATE_UP_FRAC)),
        case(
            "Yield, lint price and rates together",
            "a quarter less, and 3 points more",
            all_three,
            low_aud,
        ),
    ]


def carried_suspended(bench: Bench) -> StressCase:
    """Carried water suspended: what was carried over cannot be used in any season of the run.

    What stands in the opening account beyond this year's announcements less use was carried.
    """
    setting = bench.setting
    rules = replace(
        setting.rules, water=replace(setting.rules.water, carryover_limit_ml_per_share=0.0)
    )
    state = bench.opening(setting.farm, setting.rules)
    announced = setting.valley.plan.opening.announced_to_date_ml_per_share
    this_year = np.maximum(0.0, announced - state.used_this_year_ml_per_share)
    left = np.minimum(state.account_ml_per_share - state.carried_ml_per_share, this_year)
    found = play_case(
        bench.river,
        replace(state, account_ml_per_share=left, carried_ml_per_share=np.zeros_like(left)),
        Settings.of([bench.strategy], setting.rules),
        setting.expectation,
        rules,
        setting.valley.calendar,
    )
    return StressCase(
        "Carried water suspended",
        "none of it can be used in any season of the run",
        case_of(found, rules, setting.valley.calendar),
        less_water=True,
    )


def _forward_short(bench: Bench, bales: FloatArray) -> list[StressCase]:
    """Bales short: hail leaves half of the bales sold forward in each season that has some."""
    sold = bench.setting.rules.cash.forward.bales
    if not sold.any():
        return []
    return [
        StressCase(
            "Bales sold forward fall short",
            "hail leaves half of them, or none where picking does not pay",
            bench.run(river=hailed(bench, bales)),
        )
    ]


def hailed(bench: Bench, bales: FloatArray) -> tuple[RiverMonth, ...]:
    """Return the sequences with hail on the main crop where bales of it are sold forward.

    Parameters
    ----------
    bench
        Of the strategy.
    bales
        (sequence, season) harvested as planned.
    """
    rules = bench.setting.rules
    crop, sold = rules.crop, rules.cash.forward.bales
    crop_at = rules.layouts[crop.places[0]].crop_at
    none_harvested = np.ones_like(bales)
    left = np.minimum(1.0, np.divide(0.5 * sold, bales, out=none_harvested, where=bales > 0.0))

    def met(month: RiverMonth) -> RiverMonth:
        if month.k != crop.picking_k or sold[month.season] == 0.0:
            return month
        years = list(month.year_met or [None] * rules.crops)
        own = years[crop_at] or YearMet(np.ones(len(bales)), np.ones(len(bales)))
        years[crop_at] = YearMet(own.full_yield * left[:, month.season], own.price)
        return replace(month, year_met=tuple(years))

    return tuple(map(met, bench.river))
