"""With what is a stated case of one strategy run, and how is the farm changed for it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from model.decide.stated_case import CaseResult, run_case, scaled_water, stated_river
from model.farm.river import RiverMonth
from model.farm.rules import FarmRules, farm_rules_of
from model.farm.setting import FarmSetting
from model.farm.state import FarmState, Settings, opening_farm
from model.plan.farm import Farm
from model.plan.strategy import Strategy


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
        """Return a stated case's months."""
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
            Settings.of([strategy or self.strategy], rules),
            expectation,
            rules,
            self.setting.valley.calendar,
        )


def with_yield(farm: Farm, factor: float) -> Farm:
    """Return the farm with so much of its main crop's yield, in every row layout."""
    layouts = tuple(
        layout.model_copy(
            update={"full_yield_units_per_ha": layout.full_yield_units_per_ha * factor}
        )
        for layout in farm.main_crop.layouts
    )
    return with_main_crop(farm, layouts=layouts)


def with_lint(farm: Farm, aud_per_unit: float) -> Farm:
    """Return the farm with another price of its main crop; bales sold forward keep theirs."""
    return with_main_crop(farm, price_aud_per_unit=aud_per_unit)


def with_main_crop(farm: Farm, **changes: object) -> Farm:
    """Return the farm with figures of its main crop changed."""
    crop = farm.main_crop.model_copy(update=changes)
    return farm.model_copy(update={"crops": (crop, *farm.crops[1:])})


def with_rates(farm: Farm, added_frac: float) -> Farm:
    """Return the farm with every rate of interest so much higher."""
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
