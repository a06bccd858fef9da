"""Is what is sown the first of a strategy's list that its water meets, on land that is there?"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from model.farm.run import FarmMonth
from model.farm.setting import FarmSetting
from tests.farm_case import farm_case, farm_months, raw_plan

OCTOBER = 3
WIDE = {"name": "wide-row", "planned_water_ml_per_ha": 4.0, "full_yield_units_per_ha": 7.6}
SOLID = {"crop": "cotton", "layout": "solid", "least_water_ml_per_ha": 5.0}


def sowing(changes: dict[str, Any]) -> tuple[FarmSetting, FarmMonth]:
    """Return the first October of the example with a second row layout of cotton."""
    solid = raw_plan()["farm"]["crops"][0]["layouts"][0]
    grow = [
        SOLID,
        {"crop": "cotton", "layout": "wide-row"},
        {"crop": "sorghum", "layout": "rain-grown"},
    ]
    setting = farm_case(
        {
            "sequences.count": 30,
            "farm.crops.0.layouts": [solid, WIDE],
            "strategies.0.grow": grow,
            "strategies.0.smallest_area_ha": 0.0,
            "strategies.0.count_on_frac": 0.0,
        }
        | changes
    )
    _, months = farm_months(setting)
    return setting, next(month for month in months if month.river.k == OCTOBER)


def sown_ha(setting: FarmSetting, month: FarmMonth, crop: str, layout: str) -> np.ndarray:
    """Return what the first strategy sowed of a crop in a row layout."""
    field = month.end.fields[setting.rules.place_of(crop, layout)]
    return np.zeros(30) if field is None else field.sown_ha[0]


@pytest.mark.parametrize(("account", "least_solid", "most_solid"), [(1.2, 30, 30), (0.05, 1, 10)])
def test_list_when_water_meets_the_first_then_the_second_is_passed_over(
    account: float, least_solid: int, most_solid: int
) -> None:
    """With 5 ML or more for each prepared hectare solid rows; with less wide ones, never both."""
    dry = {"opening.account_ml_per_share": account, "opening.storage_ml": 30_000.0}
    setting, month = sowing(dry)
    solid = sown_ha(setting, month, "cotton", "solid") > 0.0
    wide = sown_ha(setting, month, "cotton", "wide-row") > 0.0
    assert (solid ^ wide).all()
    assert least_solid <= int(solid.sum()) <= most_solid
    planned_ml = sown_ha(setting, month, "cotton", "solid") * 7.7
    assert (planned_ml[solid] >= 5.0 * 240.0 - 1e-6).all()


@pytest.mark.parametrize(("least_profile_frac", "is_sown"), [(0.27, True), (0.28, False)])
def test_rain_grown_when_the_soil_is_dry_then_it_is_not_sown(
    least_profile_frac: float, is_sown: bool
) -> None:
    """Rain of April to September, 246 mm, leaves 0.22 of it: 54.1 mm, by hand, 0.2706 of 200."""
    setting, month = sowing({"farm.crops.2.layouts.0.least_profile_frac": least_profile_frac})
    assert ((sown_ha(setting, month, "sorghum", "rain-grown") > 0.0) == is_sown).all()


def test_prepared_land_when_cotton_leaves_some_then_it_is_free_for_the_next() -> None:
    """With all other land prepared, sorghum gets just what cotton leaves, up to its own limit."""
    setting, month = sowing(
        {
            "farm.crops.0.most_of_land_frac": 1.0,
            "farm.crops.2.most_of_land_frac": 1.0,
            "farm.opening.prepared_ha": 500.0,
        }
    )
    cotton_ha = sum(sown_ha(setting, month, "cotton", name) for name in ("solid", "wide-row"))
    assert (cotton_ha > 0.0).all()
    assert (cotton_ha < 450.0).any()
    left_ha = 500.0 - cotton_ha
    assert sown_ha(setting, month, "sorghum", "rain-grown") == pytest.approx(left_ha)
