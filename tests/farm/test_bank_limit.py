"""Does the bank let the farm plant what can be paid for until the crop's first money?"""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from model.decide.compare import compare, play_rows
from model.farm.measures import EVENTS
from model.farm.setting import FarmSetting
from model.farm.sow import SetBy
from model.record.record import FloatArray
from model.say.bank import area_set_in_words
from tests.farm.test_cash import NO_FARMING, NONE
from tests.farm_case import contract_record, farm_case, farm_plan, rows_of_plan

GROWING = [0.0, 0.0, 0.0, 500.0, 100.0, 300.0, 100.0, 0.0, 0.0, 0.0, 0.0, 0.0]

BY_HAND: dict[str, Any] = NO_FARMING | {
    "opening.month": "2025-09",
    "sequences.seasons": 1,
    "opening.account_ml_per_share": 1.0,
    "farm.crops.0.growing_cost_aud_per_ha": GROWING,
    "farm.crops.0.prepared_cost_aud_per_ha": NONE,
    "farm.money.bank_aud": 40_000.0,
    "farm.money.overdraft_limit_aud": 160_000.0,
    "farm.money.overheads_aud_per_year": 120_000.0,
    "farm.money.off_farm_income_aud_per_year": 24_000.0,
    "farm.money.water_charges": {"general_fixed_aud_per_share": 0.0, "usage_aud_per_ml": 20.0},
    "farm.money.bank_limits_planting": True,
    "farm.money.bank_margin_kept_aud": 10_000.0,
}
"""A bank of 40,000 in September, a limit of 160,000 of which 10,000 are left; first money in April.

September leaves 40,000 - 10,000 + 2,000 = 32,000. October to March: 6 x (10,000 - 2,000) = 48,000
of bills, so 32,000 + 150,000 - 48,000 = 134,000 for a crop of 1,000 a hectare and its water.
"""


def planted(setting: FarmSetting) -> FloatArray:
    """Return the area planted in the first season, (strategy, sequence)."""
    return play_rows(setting, rows_of_plan(setting))["area_planted_ha"][..., 0]


def test_area_when_the_bank_bounds_it_then_by_hand() -> None:
    """134,000 over 1,000 and the planned water at 20 a megalitre."""
    setting = farm_case(BY_HAND)
    planned = setting.settings.grown[0].planned_water_ml_per_ha
    by_hand = 134_000.0 / (1_000.0 + 20.0 * planned)
    assert (by_hand < 150.0).all()
    assert planted(setting) == pytest.approx(np.broadcast_to(by_hand, (3, 4)))
    results = play_rows(setting, rows_of_plan(setting))
    assert (results["area_set_by"] == SetBy.MONEY).all()
    assert EVENTS["set_by_money"](results, setting.rules).all()


def test_words_when_the_bank_sets_the_area_then_they_say_so_and_what_it_is_not() -> None:
    """The answer tells how often each bound the area, and that the limit protects the bank."""
    found, _ = compare(farm_plan(BY_HAND), contract_record())
    said = " ".join(area_set_in_words(found.outcomes[0]))
    assert "by the bank's limit 100 times in 100" in said
    assert "not a protection" in said
    free, _ = compare(
        farm_plan(BY_HAND | {"farm.money.bank_limits_planting": False}), contract_record()
    )
    assert "bank" not in " ".join(area_set_in_words(free.outcomes[0]))


def test_area_when_the_setting_is_off_then_land_or_water_sets_it() -> None:
    """Off unless set: the same farm plants more, whatever the bank says."""
    free = farm_case(BY_HAND | {"farm.money.bank_limits_planting": False})
    assert (planted(free) > planted(farm_case(BY_HAND)) + 10.0).all()
    results = play_rows(free, rows_of_plan(free))
    assert set(np.unique(results["area_set_by"])) <= {SetBy.LAND, SetBy.WATER}


@pytest.mark.parametrize("changes", [{}, {"opening.account_ml_per_share": 0.1}])
def test_area_when_the_limit_is_raised_then_never_less(changes: dict[str, Any]) -> None:
    """A larger limit, or a smaller margin, never plants less, and reaches what is set without."""
    areas = [
        planted(farm_case(BY_HAND | changes | {"farm.money.overdraft_limit_aud": limit}))
        for limit in (0.0, 60_000.0, 160_000.0, 400_000.0, 2_000_000.0)
    ]
    assert all((after >= before - 1e-9).all() for before, after in itertools.pairwise(areas))
    free = planted(farm_case(BY_HAND | changes | {"farm.money.bank_limits_planting": False}))
    assert areas[-1] == pytest.approx(free)
    assert areas[0].max() < free.min()


def test_bills_when_the_limit_is_passed_then_paid_and_by_how_much_is_said() -> None:
    """Overheads of 20,000 a month with nothing coming in pass a limit of 50,000 in the third."""
    setting = farm_case(
        NO_FARMING
        | {
            "opening.month": "2025-07",
            "sequences.seasons": 1,
            "farm.money.overheads_aud_per_year": 240_000.0,
            "farm.money.overdraft_limit_aud": 50_000.0,
        }
    )
    results = play_rows(setting, rows_of_plan(setting))
    assert results["closing_cash_aud"] == pytest.approx(-240_000.0)
    assert results["past_limit_aud"] == pytest.approx(190_000.0)
    assert EVENTS["past_overdraft_limit"](results, setting.rules).all()
