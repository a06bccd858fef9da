"""With what is a case of one strategy played, and how is the farm changed for it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from model.decide.played_case import CaseResult, case_of, play_case, scaled_water
from model.farm.river import RiverMonth, sequences_at_start
from model.farm.rules import FarmRules, farm_rules_of
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting
from model.farm.state import FarmState, Settings, opening_farm
from model.plan.farm import Farm
from model.plan.strategy import Strategy


@dataclass(frozen=True, slots=True)
class Bench:
    """All that a case of one strategy is played with."""

    setting: FarmSetting
    strategy: Strategy
    river: Sequence[RiverMonth]  # the months of the sequences

    @property
    def seasons(self) -> int:
        """How many seasons the run has."""
        return self.setting.valley.calendar.seasons

    def rules_for(self, farm: Farm) -> FarmRules:
        """Prepare the rules of a changed farm; water is bought, sold and valued as before."""
        valley, own = self.setting.valley, self.setting.rules
        rules = farm_rules_of(valley.plan, farm, valley.record, valley.rules, valley.calendar)
        return replace(rules, market=own.market, water_worth=own.water_worth)

    def opening(self, farm: Farm, rules: FarmRules) -> FarmState:
        """Put a changed farm where the plan says it stands."""
        opening, sequences = self.setting.valley.plan.opening, sequences_at_start(self.river)
        return opening_farm(farm.opening, opening, rules, 1, sequences)

    def run(
        self,
        *,
        farm: Farm | None = None,
        strategy: Strategy | None = None,
        river: Sequence[RiverMonth] | None = None,
        water_factor: float = 1.0,
    ) -> CaseResult:
        """Return what a case brings, with a changed farm, strategy, river or water."""
        farm = farm or self.setting.farm
        rules = self.rules_for(farm)
        months, expectation = scaled_water(
            river or self.river, self.setting.expectation, water_factor
        )
        found = play_case(
            months,
            self.opening(farm, rules),
            Settings.of([strategy or self.strategy], rules),
            expectation,
            rules,
            self.setting.valley.calendar,
        )
        return case_of(found, rules, self.setting.valley.calendar)

    def as_planned(self) -> FarmResults:
        """Play the plan as it stands, (1, sequence, season)."""
        setting, rules = self.setting, self.setting.rules
        return play_case(
            self.river,
            self.opening(setting.farm, rules),
            Settings.of([self.strategy], rules),
            setting.expectation,
            rules,
            setting.valley.calendar,
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
