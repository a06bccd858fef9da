"""Crop water against FAO papers 24 and 56 and figures derived apart from the code."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.farm.crops import DAYS_IN_MONTH, Crop, kc_on_day
from model.farm.effective_rain import RainRule, effective_rain_mm, storage_factor, usda_scs_mm
from model.farm.growing_of import mean_kc
from model.record.record import FloatArray

REFERENCE: dict[str, Any] = tomllib.loads(
    (Path(__file__).parents[1] / "reference" / "farm_crops.toml").read_text()
)
# FAO-56 tables 11 and 12, from memory, within their printed ranges
COTTON = Crop(30, 50, 55, 45, kc_initial=0.35, kc_middle=1.18, kc_end=0.60)
WHEAT = Crop(20, 50, 60, 30, kc_initial=0.35, kc_middle=1.15, kc_end=0.30)
SORGHUM = Crop(20, 35, 40, 30, kc_initial=0.35, kc_middle=1.05, kc_end=0.55)

DEMONSTRATION = REFERENCE["demonstration"]
ETO_MM = np.array(DEMONSTRATION["eto_mm_per_day"]) * np.array(DAYS_IN_MONTH)
RAIN_MM = np.array(DEMONSTRATION["rain_mm"], dtype=float)


def test_kc_on_day_when_between_stages_then_as_fao56_example_28() -> None:
    """Kc rises and falls by the straight lines of FAO-56 eq. 66 (Example 28, from memory)."""
    case = REFERENCE["kc_on_day"]
    crop = Crop(*case["lengths_days"], *case["kc"])
    assert kc_on_day(case["days"], crop) == pytest.approx(case["expected"], abs=0.0051)


def test_kc_on_day_when_outside_season_then_zero() -> None:
    """No crop, no coefficient."""
    assert kc_on_day([-1.0, 181.0], COTTON) == pytest.approx([0.0, 0.0])


def season_use_mm(crop: Crop, sow_k: int, sow_day: int, eto_mm: FloatArray) -> FloatArray:
    """(12,) use of a whole season by month, all stages of growth in it."""
    use_mm, start = np.zeros(12), -(sow_day - 1)
    for after in range(12):
        k = (sow_k + after) % 12
        end = start + DAYS_IN_MONTH[k]
        first, last = max(start, 0), min(end, crop.season_days)
        if first < last:
            daily_mm = eto_mm[k] / DAYS_IN_MONTH[k]
            use_mm[k] = mean_kc(crop, first, last) * (last - first) * daily_mm
        start = end
    return use_mm


CROP_USE_MM = season_use_mm(COTTON, 3, 15, ETO_MM)


def test_mean_kc_when_demonstration_cotton_then_crop_use_of_the_table() -> None:
    """Monthly crop use of cotton sown on 15 October (derived here), to the millimetre."""
    assert pytest.approx(DEMONSTRATION["crop_use_mm"], abs=0.51) == CROP_USE_MM
    assert CROP_USE_MM.sum() == pytest.approx(DEMONSTRATION["crop_use_total_mm"], abs=0.51)


@pytest.mark.parametrize(("crop", "sown"), [(WHEAT, (10, 20)), (SORGHUM, (3, 10))])
def test_mean_kc_when_any_season_then_no_day_is_lost(crop: Crop, sown: tuple[int, int]) -> None:
    """A season that runs past June comes round to July with all its days."""
    by_month = season_use_mm(crop, *sown, np.array(DAYS_IN_MONTH, dtype=float))
    daily = kc_on_day(np.arange(crop.season_days) + 0.5, crop)
    assert by_month.sum() == pytest.approx(daily.sum())


def test_use_when_sown_mid_october_then_it_peaks_from_december_to_february() -> None:
    """Need peaks December to February (common practice, no source)."""
    assert set(np.argsort(CROP_USE_MM)[-3:]) == {5, 6, 7}


@pytest.mark.parametrize("rule", ["usda_short", "dependable", "manual_3", "fixed_part"])
def test_effective_rain_when_rain_alone_then_as_derived_here(rule: RainRule) -> None:
    """Each rule that asks for rain alone gives the comparison table's value."""
    case = REFERENCE["rain_rules"]
    rain_mm = np.array(case["rain_mm"], dtype=float)
    found = effective_rain_mm(rule, rain_mm, np.full_like(rain_mm, 999.0))
    assert found == pytest.approx(case[rule], abs=0.051)


def test_usda_scs_when_fao24_example_then_79_mm() -> None:
    """FAO-24 Table 34's example (from memory): 100 mm of rain, 150 mm of use, 175 mm refilled."""
    case = REFERENCE["fao24_table_34"]
    found = usda_scs_mm(
        np.array([case["rain_mm"]]), np.array([case["crop_use_mm"]]), case["refill_mm"]
    )
    assert found == pytest.approx(case["expected_mm"], abs=0.51)


def test_usda_scs_when_whole_table_then_to_the_millimetre() -> None:
    """The SCS table at 75 mm, rows crop use, columns rain (derived here)."""
    case = REFERENCE["usda_scs"]
    rain_mm = np.array(case["rain_mm"], dtype=float)
    found = [usda_scs_mm(rain_mm, np.full_like(rain_mm, use)) for use in case["crop_use_mm"]]
    assert np.array(found) == pytest.approx(np.array(case["expected_mm"]), abs=0.51)


def test_storage_factor_when_each_depth_then_as_derived_here_and_capped() -> None:
    """The SCS storage factor by depth of refill; the cubic is not followed beyond its cap."""
    case = REFERENCE["usda_scs"]
    found = [storage_factor(depth) for depth in case["refill_mm"]]
    assert found == pytest.approx(case["storage_factor"], abs=0.0051)
    assert storage_factor(250.0) == 1.08


@given(
    rule=st.sampled_from(["usda_short", "dependable", "manual_3", "fixed_part", "usda_scs"]),
    rain_mm=st.floats(0.0, 500.0),
    crop_use_mm=st.floats(0.0, 300.0),
)
def test_effective_rain_when_any_month_then_no_more_than_fell(
    rule: RainRule, rain_mm: float, crop_use_mm: float
) -> None:
    """No rule counts more rain than fell, nor less than none; what the soil holds caps it later."""
    found = effective_rain_mm(rule, np.array([rain_mm]), np.array([crop_use_mm]))[0]
    assert 0.0 <= found <= rain_mm + 1e-12


@pytest.mark.parametrize(
    ("rain_factor", "share"),
    [(1.0, "net_share_average_rain_pct"), (0.5, "net_share_half_rain_pct")],
)
def test_effective_rain_when_no_soil_water_is_stored_then_shares_of_need_of_the_table(
    rain_factor: float, share: str
) -> None:
    """Each month's share of net irrigation (derived here), to the per cent."""
    rain_mm = effective_rain_mm("usda_short", RAIN_MM * rain_factor, CROP_USE_MM)
    rain_mm = np.minimum(rain_mm, CROP_USE_MM)  # without a store the rest is of no use
    need_mm = CROP_USE_MM - rain_mm
    assert need_mm / need_mm.sum() * 100.0 == pytest.approx(DEMONSTRATION[share], abs=0.51)


def test_functions_when_called_then_their_inputs_are_unchanged() -> None:
    """No function changes what it is given."""
    use, rain = np.array([100.0]), np.array([40.0])
    effective_rain_mm("usda_scs", rain, use)
    assert (use[0], rain[0]) == (100.0, 40.0)
