"""Shares as an array: each strategy and sequence has the account that its own shares would have."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.farm.run import FarmMonth, run_farm
from model.farm.setting import FarmSetting
from model.farm.state import opening_farm
from tests.farm_case import farm_case, rows_of_plan

SHARES_ML = (2_000.0, 600.0)
ACCOUNT = (
    "account_ml_per_share",
    "carried_ml_per_share",
    "frozen_ml_per_share",
    "used_this_year_ml_per_share",
)


@pytest.fixture(scope="module", name="setting")
def _setting() -> FarmSetting:
    """The example farm on 40 sequences, both strategies with limits on use."""
    return farm_case({"sequences.count": 40, "sequences.seasons": 2})


def played(setting: FarmSetting, shares_ml: float | np.ndarray) -> list[FarmMonth]:
    """Play the farm with shares of its own."""
    river = setting.river(rows_of_plan(setting))
    rules = replace(setting.rules, water=replace(setting.rules.water, shares_ml=shares_ml))
    opening = opening_farm(
        setting.farm.opening,
        setting.valley.plan.opening,
        rules,
        setting.settings.count,
        river[0].storage_frac.size,
    )
    return list(run_farm(opening, setting.settings, river, setting.expectation, rules))


def test_account_when_shares_are_an_array_then_each_as_with_its_shares_alone(
    setting: FarmSetting,
) -> None:
    """Half the sequences own 2,000 ML of shares, half 600: to the byte as in two runs apart."""
    strategies, sequences = setting.settings.count, rows_of_plan(setting).shape[0]
    shares = np.where(np.arange(sequences) % 2 == 0, *SHARES_ML)
    mixed = played(setting, np.broadcast_to(shares, (strategies, sequences)))
    alone = [played(setting, each) for each in SHARES_ML]
    differ = 0
    for at, month in enumerate(mixed):
        for name in ACCOUNT:
            found = getattr(month.end, name)
            for of, runs in enumerate(alone):
                np.testing.assert_array_equal(
                    found[:, of::2], getattr(runs[at].end, name)[:, of::2]
                )
            one, other = (getattr(runs[at].end, name) for runs in alone)
            differ += int(np.count_nonzero(one != other))
    assert differ > 1_000  # the shares do matter
