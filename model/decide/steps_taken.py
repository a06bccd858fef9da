"""How often is each drought step taken, when, and what does it change?

What steps change is told on the same sequences: the strategy is played without its steps, then with
its first, its first two, and so on to all of them. Each rung of that ladder is paired, sequence by
sequence, with the strategy without steps, so that what moves both alike is no error. Interest only
lowers missed payments by its very nature: principal put off and debt at the end stand beside them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from model.decide.amounts import Amount, amount_of, some
from model.farm.measures import EVENTS
from model.farm.rules import FarmRules
from model.farm.run import FarmResults
from model.farm.setting import FarmSetting
from model.farm.state import BoolArray, Settings
from model.farm.step_results import name_of
from model.outlook.ahead import Drawn
from model.outlook.chances import Estimate
from model.plan.steps import DroughtStep
from model.plan.strategy import Strategy
from model.record.record import FloatArray

Odds = Callable[[BoolArray], Estimate]


@dataclass(frozen=True, slots=True)
class Rung:
    """A strategy with its first steps, at the end of the run."""

    steps: int  # how many of them; 0: without
    payment_missed: Estimate  # some time in the run
    past_overdraft_limit: Estimate
    amounts: Mapping[str, Amount]  # the names of AT_END
    changed: Mapping[str, Estimate]  # from without steps, on average; the names of CHANGED


@dataclass(frozen=True, slots=True)
class StepTaken:
    """One step of a strategy: how often it is taken, and when."""

    step: DroughtStep
    some_time: Estimate  # in the run
    by_season: tuple[Estimate, ...]


@dataclass(frozen=True, slots=True)
class StepsOutcome:
    """What a strategy's drought steps bring."""

    strategy: Strategy
    taken: tuple[StepTaken, ...]  # in the order of the steps
    ladder: tuple[Rung, ...]  # without steps, with the first, with the first two, ...

    @property
    def without(self) -> Rung:
        """The strategy without its steps."""
        return self.ladder[0]

    @property
    def with_all(self) -> Rung:
        """The strategy with all of its steps."""
        return self.ladder[-1]


AT_END: Final = ("standing_aud", "debt_aud", "principal_put_off_aud", "closing_cash_aud")
"""Amounts of a rung, when the run ends."""

CHANGED: Final = ("payments_missed_chance", "past_limit_chance", *AT_END)
"""What is told as a difference from the strategy without its steps."""


def ladder_of(strategy: Strategy) -> tuple[Strategy, ...]:
    """Return a strategy without its steps, with the first, the first two, and so on to all."""
    rungs = range(len(strategy.steps) + 1)
    return tuple(strategy.model_copy(update={"steps": strategy.steps[:count]}) for count in rungs)


def ladder_setting(setting: FarmSetting, at: int) -> FarmSetting:
    """Return the farm with the rungs of one strategy in place of its strategies."""
    rungs = ladder_of(setting.strategies[at])
    return replace(setting, strategies=rungs, settings=Settings.of(rungs, setting.rules))


def steps_outcome(
    strategy: Strategy, found: FarmResults, drawn: Drawn, rules: FarmRules, odds: Odds
) -> StepsOutcome:
    """Read what a strategy's steps brought.

    Parameters
    ----------
    strategy
        With its steps.
    found
        Of the rungs of its ladder in the different sequences, (rung, different sequence, season).
    drawn
        Which of them the plan's sequences and those of resampled records are.
    rules
        The farm's.
    odds
        Turns what did or did not happen in each different sequence into a chance.
    """
    at_end = [_ends(found.of_strategy(rung), rules) for rung in range(len(strategy.steps) + 1)]
    all_taken = found.of_strategy(len(strategy.steps))
    return StepsOutcome(
        strategy=strategy,
        taken=tuple(
            _taken(step, all_taken[name_of(place)] > 0.0, odds) for place, step in _places(strategy)
        ),
        ladder=tuple(
            _rung(count, ends, at_end[0], drawn, odds) for count, ends in enumerate(at_end)
        ),
    )


def _places(strategy: Strategy) -> Sequence[tuple[int, DroughtStep]]:
    """Return where the last rung's steps stand among those of all rungs."""
    before = sum(range(len(strategy.steps)))
    return [(before + number, step) for number, step in enumerate(strategy.steps)]


def _ends(found: FarmResults, rules: FarmRules) -> dict[str, FloatArray]:
    """Return what a rung comes to in each different sequence, (sequence,)."""
    ends = {name: found[name][..., -1] for name in AT_END}
    missed, past = (np.asarray(EVENTS[name](found, rules).any(axis=-1)) for name in _EVENTS)
    return ends | {
        "payments_missed_chance": missed.astype(np.float64),
        "past_limit_chance": past.astype(np.float64),
    }


_EVENTS: Final = ("payment_missed", "past_overdraft_limit")


def _taken(step: DroughtStep, taken: BoolArray, odds: Odds) -> StepTaken:
    """Return how often a step is taken; `taken` is (sequence, season)."""
    seasons = range(taken.shape[-1])
    return StepTaken(
        step, odds(np.asarray(taken.any(axis=-1))), tuple(odds(taken[:, s]) for s in seasons)
    )


def _rung(
    count: int,
    ends: Mapping[str, FloatArray],
    without: Mapping[str, FloatArray],
    drawn: Drawn,
    odds: Odds,
) -> Rung:
    """Return one rung, beside the strategy without steps."""

    def amount(name: str, values: FloatArray) -> Amount:
        return some(
            amount_of(name, lambda: (values[drawn.drawn], values[drawn.resampled]), drawn.how)
        )

    return Rung(
        steps=count,
        payment_missed=odds(ends["payments_missed_chance"] > 0.0),
        past_overdraft_limit=odds(ends["past_limit_chance"] > 0.0),
        amounts={name: amount(name, ends[name]) for name in AT_END},
        changed={name: amount(name, ends[name] - without[name]).mean for name in CHANGED},
    )
