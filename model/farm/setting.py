"""All that is needed to run a plan's farm: made once, used for every batch of sequences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Self

import numpy as np

from model.errors import Fault, PlanError
from model.farm.expected import Expectation
from model.farm.price import PriceMet, market_of, price_met
from model.farm.river import RiverMonth, river_months, river_of_legs, sequences_at_start
from model.farm.rules import FarmRules, farm_rules_of
from model.farm.run import FarmResults, gather_farm, run_farm
from model.farm.state import FarmState, Settings, opening_farm
from model.farm.training import Training
from model.farm.trying import worth_of_water
from model.outlook.setting import Setting, setting_of
from model.plan.farm import Farm
from model.plan.plan import Plan
from model.plan.strategy import Strategy
from model.record.record import Record
from model.sequences.slices import IntArray, Method, Sequences
from model.sequences.unique import Leg
from model.water_year import MONTH_NAMES, month_of_water_year, parse_month

PRICE_SEQUENCES: Final = 1_000
"""Enough for the median price of a month to the nearest few dollars."""


@dataclass(frozen=True, slots=True)
class FarmSetting:
    """A plan's valley, farm and strategies, ready to run."""

    valley: Setting
    farm: Farm
    rules: FarmRules
    strategies: tuple[Strategy, ...]
    settings: Settings
    expectation: Expectation

    def of_strategy(self, at: int) -> Self:
        """Return the same farm with one of its strategies alone."""
        return replace(self, strategies=(self.strategies[at],), settings=self.settings.one(at))

    def holding(self, at: int, hold_back_ml_per_share: float, above_ml_per_share: float) -> Self:
        """Return the same farm, one of its strategies keeping so much for a lean season."""
        back, above = (
            np.array(kept)
            for kept in (
                self.settings.hold_back_ml_per_share,
                self.settings.hold_above_ml_per_share,
            )
        )
        back[at], above[at] = hold_back_ml_per_share, above_ml_per_share
        held = replace(self.settings, hold_back_ml_per_share=back, hold_above_ml_per_share=above)
        return replace(self, settings=held)

    def river(self, sequences: Sequences | IntArray) -> list[RiverMonth]:
        """Run the valley through sequences; bare rows of the record come as they were observed."""
        return list(river_months(self.valley, self.farm, self.rules, sequences))

    def river_of_legs(self, legs: Sequence[Leg]) -> list[RiverMonth]:
        """Run the valley through sequences that are one until they part; see `legs_of`."""
        return list(river_of_legs(self.valley, self.farm, self.rules, legs))

    def prices_met(self) -> PriceMet | None:
        """Return what yearly water costs in the first of the run's sequences; None: no market."""
        if self.rules.market is None:
            return None
        river = self.river(self.valley.first_sequences(PRICE_SEQUENCES))
        prices = [(month.k, month.price_aud_per_ml) for month in river]
        return price_met(self.rules.market, prices)

    def opening(self, river: Sequence[RiverMonth], strategies: int) -> FarmState:
        """Put the farm where the plan says it stands, (strategy, sequence), before these months."""
        plan, sequences = self.valley.plan, sequences_at_start(river)
        return opening_farm(self.farm.opening, plan.opening, self.rules, strategies, sequences)

    def results(self, river: Sequence[RiverMonth], settings: Settings | None = None) -> FarmResults:
        """Run the farm through the valley's months, under its own strategies or others."""
        settings = settings or self.settings
        opening = self.opening(river, settings.count)
        months = run_farm(opening, settings, river, self.expectation, self.rules)
        return gather_farm(opening, months, self.valley.calendar, self.rules)


def farm_setting_of(
    plan: Plan, record: Record, strategies: Sequence[Strategy], method: Method | None = None
) -> FarmSetting:
    """Prepare a plan's farm and its strategies.

    Parameters
    ----------
    plan, record
        What the user gave.
    strategies
        At least one.
    method
        How sequences are drawn, where it was made before; see `setting_of`.

    Returns
    -------
    FarmSetting
        Ready to run: `river` plays the valley through sequences, `results` the farm.

    Raises
    ------
    PlanError
        The plan has no farm, or its parts do not fit together.

    Examples
    --------
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> plan = plan.with_drawing(count=20)
    >>> from model.decide.strategy import strategies_of
    >>> setting = farm_setting_of(plan, record, strategies_of(plan))
    >>> river = setting.river(setting.valley.first_sequences(20))
    >>> setting.results(river)["water_used_ml"].shape  # (strategy, sequence, season)
    (4, 20, 3)
    """
    farm_of(plan)
    setting = setting_of(plan, record, method, decision_seasons(plan))
    return farm_setting_on(setting, Training.of(setting), strategies)


def farm_of(plan: Plan) -> Farm:
    """Return a plan's farm.

    Raises
    ------
    PlanError
        It has none.
    """
    if plan.farm is None:
        raise PlanError("plan", [Fault("farm", "", "it is missing", "a table [farm]")])
    return plan.farm


def farm_setting_on(
    setting: Setting, training: Training, strategies: Sequence[Strategy]
) -> FarmSetting:
    """Prepare a farm on a valley that was run through its training sequences before.

    Parameters
    ----------
    setting
        The farm's plan, and its valley.
    training
        Of this valley, whichever farm's plan it was made from.
    strategies
        At least one.

    Raises
    ------
    PlanError
        The plan has no farm, or its parts do not fit together.
    """
    plan, farm = setting.plan, farm_of(setting.plan)
    rules = farm_rules_of(plan, farm, setting.record, setting.rules, setting.calendar)
    _check_strategies(strategies, rules)
    if farm.trade is not None:
        market = market_of(farm.trade, rules.cash.shares_ml, training.supplies, setting.rules)
        rules = replace(rules, market=market)
    chances = (strategy.expected_chance_frac for strategy in strategies)
    expectation = training.expectation(rules.crop, chances)
    middle = middle_of(plan.strategies or strategies)
    worth = worth_of_water(
        training,
        plan,
        farm,
        rules,
        Settings.of([middle], rules),
        training.expectation(rules.crop, [middle.expected_chance_frac]),
    )
    rules = replace(rules, water_worth=worth)
    return FarmSetting(
        valley=setting,
        farm=farm,
        rules=rules,
        strategies=tuple(strategies),
        settings=Settings.of(strategies, rules),
        expectation=expectation,
    )


def decision_seasons(plan: Plan) -> int:
    """Return the seasons of a farm's run, which holds whole decisions.

    Opened after the planting month, the first planting ahead is that of the next season: one season
    more is run, so that as many plantings lie ahead, with their harvests, as the plan has seasons.
    """
    opening_k = month_of_water_year(parse_month(plan.opening.month))
    is_past = opening_k > MONTH_NAMES.index(plan.outlook.planting_month)
    return plan.sequences.seasons + is_past


def middle_of(strategies: Sequence[Strategy]) -> Strategy:
    """Return the strategy by which water left at the end is valued: the middle one without steps.

    One with an area chosen by hand is no rule for every season, and moves no other's worth. Where
    all have drought steps, it is the middle one as it would be without them.
    """
    strategies = [each for each in strategies if each.first_area_ha is None] or strategies
    plain = [each for each in strategies if not each.steps]
    plain = plain or [each.without_steps() for each in strategies]
    return plain[len(plain) // 2]


def _check_strategies(strategies: Sequence[Strategy], rules: FarmRules) -> None:
    """Refuse two strategies of one name, and land chosen in the month it is planted."""
    faults = []
    names = [strategy.name for strategy in strategies]
    ks = Settings.of(strategies, rules).prepare_k[:, 0]
    for number, name in enumerate(names, start=1):
        where = f"strategies, value {number}"
        if name in names[: number - 1]:
            faults.append(Fault(f"{where}.name", name, "another has this name", "its own name"))
        if ks[number - 1] == rules.crop.planting_k:
            month = MONTH_NAMES[rules.crop.planting_k]
            faults.append(
                Fault(
                    f"{where}.prepare_month",
                    month,
                    "land cannot be made ready in the month it is planted",
                    "another month; land is chosen about a year ahead",
                )
            )
    if faults:
        raise PlanError("plan", faults)
