"""What if water, yield, price or interest turn against the plan, and how far may they?

Each case changes one thing, or three at once, of the middle case: every season brings what is
reached in 5 years of 10. How far each may turn is in `break_even`.

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
from model.decide.stated_case import (
    LEAST,
    MIDDLE,
    CaseResult,
    run_case,
)
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules
from model.farm.setting import FarmSetting
from model.farm.state import Settings
from model.plan.farm import Farm

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
    less_water: bool = False  # than in the middle case
    price_aud_per_unit: float | None = None  # of the main crop, where the case changes it
    unit: str = ""  # of that crop, where it does


@dataclass(frozen=True, slots=True)
class StressSet:
    """The middle case, the cases beside it, and the break-evens."""

    cases: tuple[StressCase, ...]  # the middle one first
    break_evens: tuple[BreakEven, ...]
    sequences: int  # that the stated cases are taken from

    @property
    def stressed(self) -> tuple[StressCase, ...]:
        """The stress cases: all but the middle one, which nothing is stressed in."""
        return self.cases[1:]

    @property
    def middle(self) -> CaseResult:
        """The middle case."""
        return self.cases[0].result

    @property
    def has_cover(self) -> bool:
        """Return whether in any case something is due to a lender."""
        return any(not math.isnan(case.result.run_cover) for case in self.cases)


def stress_set(setting: FarmSetting, at: int, river: Sequence[RiverMonth]) -> StressSet:
    """Run the stress set of one strategy.

    Parameters
    ----------
    setting
        Valley, farm and strategies.
    at
        Which strategy.
    river
        The months of many sequences, from which the stated cases are taken.
    """
    bench = Bench(setting, setting.strategies[at], river)
    middle = bench.stated([MIDDLE] * bench.seasons)
    cases = (
        StressCase("Middle case", "each season what is reached 50 times in 100", bench.run(middle)),
        *_water_cases(bench),
        *_money_cases(bench, middle),
        carried_suspended(bench, middle),
        *_forward_short(bench, middle),
    )
    return StressSet(cases, break_evens(bench, middle), river[0].storage_frac.size)


def _water_cases(bench: Bench) -> list[StressCase]:
    """Less water: 1 in 10 without trade, and seasons of no allocation."""
    no_trade = bench.strategy.model_copy(
        update={"sell_above_aud_per_ml": None, "buy_up_to_ml": 0.0}
    )
    one_in_ten = bench.stated([REACHED_IN_9_OF_10] * bench.seasons)
    zero = min(ZERO_SEASONS, bench.seasons)
    zeros = bench.stated([LEAST] * zero + [MIDDLE] * (bench.seasons - zero))
    return [
        StressCase(
            "Allocation reached 90 times in 100, no trade",
            "in each season; no water bought or sold",
            bench.run(one_in_ten, strategy=no_trade),
            less_water=True,
        ),
        StressCase(
            f"{'Two zero seasons in a row' if zero == 2 else 'A zero season'}",
            "nothing announced, dam and high security as in the driest sequence; the bank is "
            "followed to the end of the run",
            bench.run(zeros),
            less_water=True,
        ),
    ]


def _money_cases(bench: Bench, middle: Sequence[RiverMonth]) -> list[StressCase]:
    """Yield, price and rate, each alone and then together."""
    farm, kept = bench.setting.farm, 1.0 - YIELD_DOWN_FRAC
    mean_aud = farm.main_crop.ten_year_mean_price_aud_per_unit
    from_aud = farm.main_crop.price_aud_per_unit if mean_aud is None else mean_aud
    low_aud = from_aud * (1.0 - PRICE_DOWN_FRAC)
    below = "the plan's price" if mean_aud is None else "the ten-year mean"
    forward = "bales sold forward as agreed"
    all_three = with_rates(with_lint(with_yield(farm, kept), low_aud), RATE_UP_FRAC)

    def case(name: str, meaning: str, changed: Farm, price_aud: float | None = None) -> StressCase:
        result = bench.run(middle, changed)
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


def carried_suspended(bench: Bench, middle: Sequence[RiverMonth]) -> StressCase:
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
    opening = replace(state, account_ml_per_share=left, carried_ml_per_share=np.zeros_like(left))
    result = run_case(
        middle,
        opening,
        Settings.of([bench.strategy], setting.rules),
        setting.expectation,
        rules,
        setting.valley.calendar,
    )
    return StressCase(
        "Carried water suspended",
        "none of it can be used in any season of the run",
        result,
        less_water=True,
    )


def _forward_short(bench: Bench, middle: Sequence[RiverMonth]) -> list[StressCase]:
    """Bales short: hail leaves half of the bales sold forward in each season that has some."""
    setting = bench.setting
    sold = setting.rules.cash.forward.bales
    if not sold.any():
        return []
    base = bench.run(middle).seasons["bales"][0, 0]
    left = np.minimum(1.0, np.divide(0.5 * sold, base, out=np.ones_like(base), where=base > 0.0))

    def rules_in(met: RiverMonth) -> FarmRules:
        crop = setting.rules.crop
        if met.k != crop.picking_k or sold[met.season] == 0.0:
            return setting.rules
        part = float(left[met.season])
        layouts = tuple(
            replace(layout, full_yield_units_per_ha=part * layout.full_yield_units_per_ha)
            if at in crop.places
            else layout
            for at, layout in enumerate(setting.rules.layouts)
        )
        return replace(setting.rules, layouts=layouts)

    result = run_case(
        middle,
        bench.opening(setting.farm, setting.rules),
        Settings.of([bench.strategy], setting.rules),
        setting.expectation,
        setting.rules,
        setting.valley.calendar,
        rules_in,
    )
    return [
        StressCase(
            "Bales sold forward fall short",
            "hail leaves half of them, or none where picking does not pay",
            result,
        )
    ]
