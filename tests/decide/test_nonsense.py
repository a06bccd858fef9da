"""Does no nonsense win? A short profile of `python -m tests.long.nonsense`."""

from __future__ import annotations

import pytest

from model.farm.setting import FarmSetting
from tests.long.nonsense import (
    ahead_of,
    demonstration,
    nonsense,
    past_limit_frac,
    played,
    setting_at,
)

SEQUENCES = 1_000

SURELY_BEHIND = (
    "plant nothing",
    "plant nothing, sell all in April",
    "plant nothing, sell all in July",
    "plant nothing, sell all in October",
    "plant nothing, sell all in January",
    "hold everything always",
    "all the land always, spread",
    "all the land always, finish fewer",
    "thin 2.0 ML a hectare, spread",
    "buy in June, sell in January",
)
"""All but buying at any price, which is close to the middle strategy and needs more sequences."""


@pytest.fixture(scope="module")
def setting() -> FarmSetting:
    """Return the demonstration with its dam at 30 %."""
    return setting_at(*demonstration(), 0.30, 7, SEQUENCES)


def test_nonsense_when_played_then_behind_the_middle_strategy(setting: FarmSetting) -> None:
    """Each is behind in the mean by more than twice the error of the paired difference."""
    river = setting.river(setting.valley.first_sequences(SEQUENCES))
    middle = setting.strategies[1]
    ways = {name: way for name, way in nonsense(middle).items() if name in SURELY_BEHIND}
    assert len(ways) == len(SURELY_BEHIND)
    found = played(setting, river, {middle.name: middle, **ways})
    base = found[middle.name].standing_aud[0]
    for name in ways:
        assert ahead_of(base, found[name].standing_aud[0]).is_behind(), name


def test_hold_when_never_released_then_costs_more_than_when_released(setting: FarmSetting) -> None:
    """Row H1b: the hold costs at most 5 % and misses no more; never released it costs more."""
    river = setting.river(setting.valley.first_sequences(SEQUENCES))
    cautious = setting.strategies[0]
    none = cautious.model_copy(update={"hold_back_ml_per_share": 0.0})
    never = cautious.model_copy(update={"hold_above_ml_per_share": 0.0})
    found = played(setting, river, {"shipped": cautious, "none": none, "never": never})
    shipped, without, unreleased = (found[n].standing_aud[0] for n in ("shipped", "none", "never"))
    cost = ahead_of(without, shipped)
    assert cost.of_middle_frac > -0.05
    assert ahead_of(shipped, unreleased).is_behind()
    missed = [found[n].payment_missed.mean() for n in ("shipped", "none")]
    error = (missed[1] * (1.0 - missed[1]) / SEQUENCES) ** 0.5
    assert missed[0] <= missed[1] + 2.0 * error


def test_bills_when_nothing_is_planted_then_the_limit_is_passed_more_often(
    setting: FarmSetting,
) -> None:
    """Bills want paying: without a crop the overdraft passes its limit far more often."""
    river = setting.river(setting.valley.first_sequences(SEQUENCES))
    nothing, as_planted = past_limit_frac(setting, river, setting.strategies[1])
    assert nothing > as_planted + 0.05
