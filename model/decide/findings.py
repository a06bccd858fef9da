"""Which numbers does a brief hold? All of them, gathered from one run of a plan.

The odds and the comparison are those of their own files. Beside them, for the strategy that the
brief is about: bank balance by month, what is planted and held by the water there is at planting,
the driest seasons on record come again from here, and the stress set.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import Final

import numpy as np

from model.decide.amounts import by_record_of
from model.decide.cash_months import CashMonths, cash_months, played_river
from model.decide.compare import (
    Comparison,
    StrategyOutcome,
    compare_with_again,
    play_rows,
)
from model.decide.credit import CreditFound, breaches, covenant_odds, secured
from model.decide.in_ground import InGround, in_ground
from model.decide.limit_needed import limit_needed_aud
from model.decide.stress import StressSet, stress_set
from model.decide.triggers import Trigger, triggers
from model.errors import Fault, InputError
from model.evidence.announced import Held
from model.evidence.verdict import Verdict
from model.evidence.worst import Stretch, worst_on_record
from model.farm.run import FarmResults
from model.farm.run_cover import RunCover, run_cover_of
from model.farm.setting import FarmSetting
from model.farm.state import BoolArray
from model.outlook.chances import Estimate, chance
from model.outlook.outlook import Outlook, odds_of_water
from model.outlook.setting import Progress
from model.plan.credit import Credit
from model.plan.plan import Plan
from model.record.record import FloatArray, Record

WATER_CLASSES_ML_PER_SHARE: Final = (0.25, 0.5, 0.75, 1.0)
"""Where outcomes are parted by the usable water at planting."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What is planted and held in a season when water at planting lies in a class."""

    water_year: str
    from_ml_per_share: float
    below_ml_per_share: float  # infinite: no upper end
    chance: Estimate
    planted_ha: tuple[float, float, float]  # 10 %, 50 %, 90 % of the sequences in the class
    carried_ml: tuple[float, float, float]
    closing_cash_aud: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Findings:
    """All that a brief holds."""

    odds: Outlook
    compared: Comparison
    results: FarmResults
    at: int  # the strategy that the brief is about
    cash: CashMonths
    outcomes: tuple[Outcome, ...]
    lowest_months: tuple[tuple[int, Estimate], ...]  # a season's usual one: month number, chance
    worst: Stretch | None  # the driest stretch of the run's length; None in too short a record
    worst_results: FarmResults | None  # (strategy, 1, season)
    stress: StressSet
    credit: CreditFound
    limit_needed_aud: float  # the overdraft that is enough 90 times in 100
    triggers: tuple[Trigger, ...]  # what would change the plan by the next decision
    ground: tuple[InGround, ...]  # crops that stand as the run opens
    verdict: Verdict | None  # of the evidence; None where none was given
    held: Held | None = None  # the rules against what was announced, where the plan has it

    @property
    def outcome(self) -> StrategyOutcome:
        """What the strategy that the brief is about brings."""
        return self.compared.outcomes[self.at]

    @property
    def debts(self) -> RunCover:
        """What each run pays its debts with under that strategy, each (sequence,)."""
        own = self.results.of_strategy(self.at)
        return run_cover_of(own, self.setting.rules, self.setting.valley.calendar)

    @property
    def planned_ml_per_ha(self) -> float:
        """The water that the brief's strategy plans for a hectare of the main crop."""
        settings = self.setting.settings.one(self.at)
        return float(settings.planned_water_ml_per_ha(self.setting.rules)[0, 0])

    @property
    def limit_aud(self) -> float:
        """The overdraft limit."""
        return self.setting.rules.cash.overdraft_limit_aud

    @property
    def setting(self) -> FarmSetting:
        """Valley, farm and strategies."""
        return self.compared.setting


def findings_of(
    plan: Plan,
    record: Record,
    *,
    strategy: str | None = None,
    verdict: Verdict | None = None,
    held: Held | None = None,
    progress: Progress | None = None,
) -> Findings:
    """Run a plan for its brief.

    Parameters
    ----------
    plan, record
        What the user gave.
    strategy
        Name of the strategy that the brief is about; left out, the plan's first.
    verdict
        What the evidence says, where it has been gathered.
    held
        The replay against what was announced, where the plan has it.
    progress
        Is told how many sequences are played.

    Raises
    ------
    InputError
        The plan has no farm or no such strategy, or its parts do not fit together.
    """
    compared, results, again = compare_with_again(plan, record, progress)
    setting = compared.setting
    at = strategy_at(setting, strategy)
    river = played_river(setting)
    worst, cash = worst_of(plan, record, setting), cash_months(setting, at, river)
    return Findings(
        odds=odds_of_water(plan, record),
        compared=compared,
        results=results,
        at=at,
        cash=cash,
        outcomes=outcomes_of(compared, results, again, at),
        lowest_months=lowest_months_of(compared, results, again, at),
        worst=worst,
        worst_results=None if worst is None else worst_results(setting, worst),
        stress=stress_set(setting, at, river),
        credit=credit_of(compared, results, again, at, cash),
        limit_needed_aud=limit_needed_aud(setting, at),
        triggers=triggers(setting, strategy=at),
        ground=in_ground(
            setting,
            results.of_strategy(at),
            again.of_strategy(at),
            partial(_chance, compared=compared),
        ),
        verdict=verdict,
        held=held,
    )


def credit_of(
    compared: Comparison, results: FarmResults, again: FarmResults, at: int, cash: CashMonths
) -> CreditFound:
    """Hold debt against its securities, and count how often covenants are breached."""
    setting = compared.setting
    rules, calendar = setting.rules, setting.valley.calendar
    credit = setting.farm.credit or Credit()
    behind = secured(credit, rules.cash.assets_aud, cash)

    found = tuple(
        covenant_odds(
            covenant,
            results.of_strategy(at),
            again.of_strategy(at),
            partial(
                breaches,
                covenant,
                rules=rules,
                calendar=calendar,
                value_aud=behind.value_aud,
            ),
            partial(_chance, compared=compared),
        )
        for covenant in credit.covenants
    )
    return CreditFound(credit, behind, found)


def strategy_at(setting: FarmSetting, name: str | None) -> int:
    """Find a strategy by its name.

    Raises
    ------
    InputError
        There is none of that name.
    """
    names = [strategy.name for strategy in setting.strategies]
    if name is None:
        return 0
    if name not in names:
        fault = Fault("--strategy", name, "the plan has no such strategy", ", ".join(names))
        raise InputError("command line", [fault])
    return names.index(name)


def outcomes_of(
    compared: Comparison, results: FarmResults, again: FarmResults, at: int
) -> tuple[Outcome, ...]:
    """Part each season's sequences by usable water at planting; classes without any are left out.

    A season planted before the run opens has no water at planting, and no rows.
    """
    edges = (0.0, *WATER_CLASSES_ML_PER_SHARE, np.inf)
    calendar, found = compared.setting.valley.calendar, []
    for season in range(calendar.seasons):
        water, water_again = (
            played["planting_usable_ml_per_share"][at, :, season] for played in (results, again)
        )
        for low, high in pairwise(edges):
            inside = (water >= low) & (water < high)
            if inside.any():
                inside_again = (water_again >= low) & (water_again < high)
                found.append(
                    Outcome(
                        calendar.water_year(season),
                        low,
                        high,
                        _chance(inside, inside_again, compared),
                        *(
                            _three(results[name][at, :, season][inside])
                            for name in ("area_planted_ha", "water_carried_ml", "closing_cash_aud")
                        ),
                    )
                )
    return tuple(found)


def lowest_months_of(
    compared: Comparison, results: FarmResults, again: FarmResults, at: int
) -> tuple[tuple[int, Estimate], ...]:
    """Return the month in which the bank is lowest most often, season by season, and its chance."""
    found = []
    for season, outcome in enumerate(compared.outcomes[at].seasons):
        shares = outcome.lowest_cash_months
        usual = max(shares, key=lambda month: (shares[month], -month))
        lowest, lowest_again = (
            played["lowest_cash_month"][at, :, season] == usual for played in (results, again)
        )
        found.append((usual, _chance(lowest, lowest_again, compared)))
    return tuple(found)


def _chance(happened: BoolArray, again: BoolArray, compared: Comparison) -> Estimate:
    """Return a chance with both errors."""
    by_record = by_record_of(again.astype(np.float64), compared.record_error)
    return chance(happened, by_record.mean(axis=1), compared.record_error.widening.factor)


def worst_of(plan: Plan, record: Record, setting: FarmSetting) -> Stretch | None:
    """Find the driest stretch of the run's own length."""
    seasons = setting.valley.calendar.seasons
    stretches = worst_on_record(plan, record, seasons)
    return stretches[-1] if len(stretches) == seasons else None


def worst_results(setting: FarmSetting, worst: Stretch) -> FarmResults:
    """Play the farm through a stretch of the record as it was observed."""
    rows = worst.first_row + np.arange(setting.valley.calendar.months)
    return play_rows(setting, rows[None, :])


def _three(values: FloatArray) -> tuple[float, float, float]:
    """Return what 10 %, 50 % and 90 % do not exceed."""
    low, middle, high = np.quantile(values, [0.1, 0.5, 0.9])
    return float(low), float(middle), float(high)
