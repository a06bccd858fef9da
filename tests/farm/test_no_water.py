"""What does a farm grow with no water, no rain and nothing in the soil?

Every kind of crop, on months in which nothing is announced, pumped or stored.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model.farm.run import FarmMonth, run_farm
from model.farm.setting import FarmSetting
from model.farm.survival import driest_rows, dry_months, nothing_expected
from model.sequences.draw import Calendar
from tests.farm.test_twin import COTTON_LAYOUTS, WINTER_WHEAT, crops_with
from tests.farm_case import FARM_RAIN_MM, REMOVED, farm_case

BONE_DRY: dict[str, Any] = {
    "opening.account_ml_per_share": 0.0,
    "opening.carried_ml_per_share": 0.0,
    "opening.storage_ml": 0.0,
    "valley.farm_rain_mm": [0.0] * 12,
    "farm.storage": REMOVED,
    "farm.opening.storage_ml": 0.0,
    "farm.bore": REMOVED,
    "farm.opening.bore_used_ml": 0.0,
    "farm.licence.high_security_shares_ml": 0.0,
    "farm.trade": REMOVED,
    "farm.crops": crops_with(cotton={"layouts": COTTON_LAYOUTS}, **{"winter wheat": WINTER_WHEAT}),
}


def played(setting: FarmSetting) -> list[FarmMonth]:
    """Run the farm, its first cotton planted whatever the water, through months of nothing."""
    calendar = Calendar(setting.valley.calendar.opening_month, 3)
    rows = driest_rows(setting.valley.record, calendar)[:1, : calendar.months]
    river = list(dry_months(setting, calendar, setting.rules, rows))
    settings = setting.settings
    settings = replace(settings, first_area_ha=np.full_like(settings.first_area_ha, 100.0))
    expectation = nothing_expected(settings, setting.rules)
    opening = setting.opening(river, settings.count)
    return list(run_farm(opening, settings, river, expectation, setting.rules))


@pytest.fixture(scope="module")
def setting() -> FarmSetting:
    """Return the farm of every kind of crop, without a drop."""
    return farm_case(BONE_DRY)


@pytest.fixture(scope="module")
def months(setting: FarmSetting) -> list[FarmMonth]:
    """Return its three seasons."""
    return played(setting)


def rain_grown_ha(months: list[FarmMonth], setting: FarmSetting) -> float:
    """Return the most hectares of any crop sown on rain alone in any month."""
    found = [
        field.sown_ha.max()
        for month in months
        for field, layout in zip(month.end.fields, setting.rules.layouts, strict=True)
        if field is not None and not layout.irrigated
    ]
    return max(found, default=0.0)


def test_cotton_when_there_is_no_water_no_rain_and_no_soil_water_then_at_most_half_a_bale(
    months: list[FarmMonth],
) -> None:
    """A hundred hectares planted all the same bring less than half a bale each: here nothing."""
    planted = next(m for m in months if m.river.k == 3)
    planted_ha = sum(f.sown_ha for f in planted.end.fields[:2] if f is not None)
    assert (planted_ha == 100.0).all()
    standing = next(m for m in months if m.river.k == 8)
    for field in standing.end.fields[:2]:
        assert field is None or (12.0 * field.watered.kept_frac <= 0.5).all()
    harvest = next(m for m in months if m.river.k == 9).fluxes.crops.harvested
    bales = sum(found.units for found in harvest[:2] if found is not None)
    assert (bales <= 0.5 * 100.0).all()


def test_rain_grown_crops_when_there_is_no_soil_water_then_none_is_sown(
    months: list[FarmMonth], setting: FarmSetting
) -> None:
    """Neither by its root zone nor by its rain: no hectare of any crop on rain alone."""
    assert rain_grown_ha(months, setting) == 0.0


def test_rain_grown_crops_when_rain_is_as_usual_then_some_are_sown() -> None:
    """The check above can fail: with average rain wheat and sorghum are sown."""
    usual = farm_case(BONE_DRY | {"valley.farm_rain_mm": FARM_RAIN_MM})
    assert rain_grown_ha(played(usual), usual) > 50.0
