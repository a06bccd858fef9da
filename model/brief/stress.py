"""What if water, yield, price or interest turn against the plan, and how far may they?

Each case changes one thing, or three at once, of the middle case: every season brings what is
reached in 5 years of 10. The break-evens are solved, not stepped: the level at which cover over the
run is exactly 1.00, found between two ends by Brent's method and run again at the level found.

What a lender asks for is common practice, no source; the formulas are printed beside the numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from model.brief.stated_case import (
    LEAST,
    MIDDLE,
    CaseResult,
    run_case,
    scaled_water,
    stated_river,
)
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules, farm_rules_of
from model.farm.setting import FarmSetting
from model.farm.state import FarmState, Settings, opening_farm
from model.farm_plan import Farm
from model.strategy_plan import Strategy

YIELD_DOWN_FRAC: Final = 0.25
PRICE_DOWN_FRAC: Final = 0.20
RATE_UP_FRAC: Final = 0.03
REACHED_IN_9_OF_10: Final = 0.1
ZERO_SEASONS: Final = 2
COVER_TOLERANCE: Final = 1e-6
MOST_FACTOR: Final = 10.0
"""No price, yield or allocation is looked for beyond ten times the plan's."""
LEAST_FACTOR: Final = 1e-6
"""Next to nothing: a crop of no yield at all has no rules to run."""
MOST_RATE_UP_FRAC: Final = 1.0


@dataclass(frozen=True, slots=True)
class StressCase:
    """One case and what it brings."""

    name: str
    meaning: str
    result: CaseResult


@dataclass(frozen=True, slots=True)
class BreakEven:
    """How far one thing may turn before cover over the run is 1.00."""

    name: str
    unit: str
    now: float  # in the unit
    at: float | None  # in the unit; None where there is none
    change_frac: float | None  # of what is now; for a rate, what is added
    cover_there: float | None  # when run again at `at`
    found: Literal["solved", "in_a_step", "never_falls_to_1", "never_reaches_1", "no_debt"]


@dataclass(frozen=True, slots=True)
class StressSet:
    """The middle case, the cases beside it, and the break-evens."""

    cases: tuple[StressCase, ...]  # the middle one first
    break_evens: tuple[BreakEven, ...]
    sequences: int  # that the stated cases are taken from

    @property
    def middle(self) -> CaseResult:
        """The middle case."""
        return self.cases[0].result


@dataclass(frozen=True, slots=True)
class Bench:
    """All that a stated case of one strategy is run with."""

    setting: FarmSetting
    strategy: Strategy
    river: Sequence[RiverMonth]  # many sequences

    @property
    def seasons(self) -> int:
        """How many seasons the run has."""
        return self.setting.valley.calendar.seasons

    def stated(self, chances: Sequence[float]) -> tuple[RiverMonth, ...]:
        """Give a stated case's months."""
        return stated_river(self.river, chances, self.setting.rules)

    def rules_for(self, farm: Farm) -> FarmRules:
        """Prepare the rules of a changed farm."""
        valley = self.setting.valley
        return farm_rules_of(valley.plan, farm, valley.record, valley.rules, valley.calendar)

    def opening(self, farm: Farm, rules: FarmRules) -> FarmState:
        """Put a changed farm where the plan says it stands."""
        return opening_farm(farm.opening, self.setting.valley.plan.opening, rules, 1, 1)

    def run(
        self,
        river: Sequence[RiverMonth],
        farm: Farm | None = None,
        strategy: Strategy | None = None,
        water_factor: float = 1.0,
    ) -> CaseResult:
        """Run a case with a changed farm, strategy or water."""
        farm = farm or self.setting.farm
        rules = self.rules_for(farm)
        months, expectation = scaled_water(river, self.setting.expectation, water_factor)
        return run_case(
            months,
            self.opening(farm, rules),
            Settings.of([strategy or self.strategy]),
            expectation,
            rules,
            self.setting.valley.calendar,
        )


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
        StressCase(
            "Middle case", "each season what is reached in 5 years of 10", bench.run(middle)
        ),
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
            "Allocation at 1 in 10, no trade",
            "each season what is reached in 9 years of 10; no water bought or sold",
            bench.run(one_in_ten, strategy=no_trade),
        ),
        StressCase(
            f"{'Two zero seasons running' if zero == 2 else 'A zero season'}",
            "nothing announced, dam and high security as in the driest sequence",
            bench.run(zeros),
        ),
    ]


def _money_cases(bench: Bench, middle: Sequence[RiverMonth]) -> list[StressCase]:
    """Yield, price and rate, each alone and then together."""
    farm, kept = bench.setting.farm, 1.0 - YIELD_DOWN_FRAC
    mean_aud = farm.cotton.ten_year_mean_lint_aud_per_bale
    from_aud = farm.cotton.lint_aud_per_bale if mean_aud is None else mean_aud
    low_aud = from_aud * (1.0 - PRICE_DOWN_FRAC)
    below = "the plan's price" if mean_aud is None else "the ten-year mean"
    cases = [("Yield down a quarter", "full and rain-grown yield", with_yield(farm, kept))]
    if mean_aud is not None:
        cases.append(
            (
                "Lint at its ten-year mean",
                f"{mean_aud:,.0f} AUD a bale; bales sold forward as agreed",
                with_lint(farm, mean_aud),
            )
        )
    cases += [
        (
            f"Lint 20 % below {below}",
            f"{low_aud:,.0f} AUD a bale; bales sold forward as agreed",
            with_lint(farm, low_aud),
        ),
        ("Rates up 3 points", "loans, overdraft and arrears", with_rates(farm, RATE_UP_FRAC)),
        (
            "Yield, lint price and rates together",
            f"a quarter less, {low_aud:,.0f} AUD a bale, 3 points more",
            with_rates(with_lint(with_yield(farm, kept), low_aud), RATE_UP_FRAC),
        ),
    ]
    return [
        StressCase(name, meaning, bench.run(middle, changed)) for name, meaning, changed in cases
    ]


def with_yield(farm: Farm, factor: float) -> Farm:
    """Give the farm with so much of its yield."""
    cotton = farm.cotton.model_copy(
        update={
            "full_yield_bales_per_ha": farm.cotton.full_yield_bales_per_ha * factor,
            "rain_grown_yield_bales_per_ha": farm.cotton.rain_grown_yield_bales_per_ha * factor,
        }
    )
    return farm.model_copy(update={"cotton": cotton})


def with_lint(farm: Farm, lint_aud_per_bale: float) -> Farm:
    """Give the farm with another price of lint; bales sold forward keep theirs."""
    cotton = farm.cotton.model_copy(update={"lint_aud_per_bale": lint_aud_per_bale})
    return farm.model_copy(update={"cotton": cotton})


def with_rates(farm: Farm, added_frac: float) -> Farm:
    """Give the farm with every rate of interest so much higher."""
    money = farm.money
    loans = tuple(
        loan.model_copy(update={"rate_frac_per_year": loan.rate_frac_per_year + added_frac})
        for loan in money.loans
    )
    changed = money.model_copy(
        update={
            "loans": loans,
            "overdraft_rate_frac_per_year": money.overdraft_rate_frac_per_year + added_frac,
            "arrears_rate_frac_per_year": money.arrears_rate_frac_per_year + added_frac,
        }
    )
    return farm.model_copy(update={"money": changed})


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
        Settings.of([bench.strategy]),
        setting.expectation,
        rules,
        setting.valley.calendar,
    )
    return StressCase(
        "Carried water suspended", "none of it can be used in any season of the run", result
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
        full = crop.full_yield_bales_per_ha * float(left[met.season])
        return replace(setting.rules, crop=replace(crop, full_yield_bales_per_ha=full))

    result = run_case(
        middle,
        bench.opening(setting.farm, setting.rules),
        Settings.of([bench.strategy]),
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


def break_evens(bench: Bench, middle: Sequence[RiverMonth]) -> tuple[BreakEven, ...]:
    """Solve how far price, yield, allocation and rate may turn."""
    farm = bench.setting.farm
    lint_aud, full_bales = farm.cotton.lint_aud_per_bale, farm.cotton.full_yield_bales_per_ha
    announced = float(sum(m.announced_ml_per_share[0] for m in middle)) / bench.seasons

    def lint(factor: float) -> float:
        return bench.run(middle, with_lint(farm, lint_aud * factor)).run_cover

    def yields(factor: float) -> float:
        return bench.run(middle, with_yield(farm, factor)).run_cover

    def water(factor: float) -> float:
        return bench.run(middle, water_factor=factor).run_cover

    def rates(added_frac: float) -> float:
        return bench.run(middle, with_rates(farm, added_frac)).run_cover

    return (
        _scaled("Lint price", "AUD per bale", lint_aud, lint),
        _scaled("Full yield", "bales per ha", full_bales, yields),
        _scaled("Water announced", "ML per share, mean of the seasons", announced, water),
        _added("Rates of interest", "points", rates),
    )


def _scaled(name: str, unit: str, now: float, cover_at: Callable[[float], float]) -> BreakEven:
    """Solve for a factor: down from 1 where cover is above 1.00 now, else up."""
    found, factor, cover = solve_cover(cover_at, start=1.0, lower=LEAST_FACTOR, upper=MOST_FACTOR)
    if factor is None:
        return BreakEven(name, unit, now, None, None, None, found)
    return BreakEven(name, unit, now, now * factor, factor - 1.0, cover, found)


def _added(name: str, unit: str, cover_at: Callable[[float], float]) -> BreakEven:
    """Solve for what is added to the rates."""
    found, added, cover = solve_cover(cover_at, start=0.0, lower=MOST_RATE_UP_FRAC, upper=0.0)
    if added is None:
        return BreakEven(name, unit, 0.0, None, None, None, found)
    return BreakEven(name, unit, 0.0, 100.0 * added, added, cover, found)


Found = Literal["solved", "in_a_step", "never_falls_to_1", "never_reaches_1", "no_debt"]


def solve_cover(
    cover_at: Callable[[float], float], *, start: float, lower: float, upper: float
) -> tuple[Found, float | None, float | None]:
    """Find the level at which cover is 1.00, and run it again there.

    Parameters
    ----------
    cover_at
        Cover at a level.
    start
        Where things stand.
    lower, upper
        The ends looked to: towards `lower` cover falls, towards `upper` it rises.
    """
    from scipy.optimize import brentq

    now = cover_at(start)
    if math.isnan(now):
        return "no_debt", None, None
    end = lower if now >= 1.0 else upper
    beyond = cover_at(end)
    if end == start or math.isnan(beyond) or (beyond >= 1.0) == (now >= 1.0):
        return ("never_falls_to_1" if now >= 1.0 else "never_reaches_1"), None, None
    level = float(brentq(lambda x: cover_at(x) - 1.0, min(start, end), max(start, end), xtol=1e-10))
    there = cover_at(level)
    found: Found = "solved" if abs(there - 1.0) <= COVER_TOLERANCE else "in_a_step"
    return found, level, there
