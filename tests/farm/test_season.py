"""Does a season on the example farm run as seasons do?

Facts of the trade, common practice, no source, unless a test says otherwise.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from model.decide.compare import play_rows
from model.decide.strategy import SHIPPED
from model.farm.crops import DAYS_IN_MONTH, day_of_water_year
from model.farm.season import hectare_season
from model.farm.setting import FarmSetting, farm_setting_of
from model.farm.step import step
from model.record.record import read_record
from model.water_year import MONTH_NAMES
from tests.farm_case import farm_case, farm_plan, rows_of_plan

DEMONSTRATION_RECORD = Path(__file__).parents[2] / "data" / "demonstration_record.csv"
FLOWERING_DAYS = (70, 78)  # from planting to the first flowers
FLOWER_TO_OPEN_DAYS = (40, 50)


@pytest.fixture(scope="module")
def setting() -> FarmSetting:
    """Return the example farm."""
    return farm_case()


def test_fertiliser_when_year_is_laid_out_then_it_is_spent_about_september(
    setting: FarmSetting,
) -> None:
    """The dearest month of making land ready is September, before anything is planted."""
    cost = setting.rules.crop.prepared_cost_aud_per_ha
    assert MONTH_NAMES[int(np.argmax(cost))] == "September"
    assert cost.argmax() < setting.rules.crop.planting_k


def test_planting_when_day_is_mid_october_then_first_flowers_come_at_new_year(
    setting: FarmSetting,
) -> None:
    """Planted in the second or third week of October, it flowers from Christmas to New Year."""
    day = setting.farm.main_crop.sow_day
    assert 8 <= day <= 21
    planted = day_of_water_year(setting.rules.crop.planting_k, day)
    first_flower = [planted + days for days in FLOWERING_DAYS]
    assert first_flower[0] >= day_of_water_year(5, 24)
    assert first_flower[1] <= day_of_water_year(6, 2)
    full_bolls = first_flower[1] + FLOWER_TO_OPEN_DAYS[1]
    assert full_bolls <= day_of_water_year(7, 28)


def test_need_when_season_runs_then_it_peaks_from_december_to_february(
    setting: FarmSetting,
) -> None:
    """Average weather asks most from December to February, and January is the thirstiest."""
    cotton = setting.rules.growings[0]
    need_mm = {
        k: month.days * float(month.use_mm(month.kc, cotton.average.eto_mm[k : k + 1])[0])
        - cotton.average.rain_mm[k]
        for k, month in cotton.ground_months()
    }
    assert sorted(sorted(need_mm, key=need_mm.__getitem__)[-3:]) == [5, 6, 7]
    assert max(need_mm, key=need_mm.__getitem__) == 6


def test_water_when_rain_is_average_then_a_full_crop_asks_what_soil_water_leaves(
    setting: FarmSetting,
) -> None:
    """Full need 7.6 to 8.5 ML/ha at the gate by soil water at sowing (derived here)."""
    cotton = setting.rules.growings[0]
    stored_mm = np.array([60.0, 90.0, 120.0])
    found = hectare_season(cotton, stored_mm, cotton.average.month, np.full(3, np.inf))
    assert found.kept_frac == pytest.approx(1.0)
    assert (np.diff(found.used_ml_per_ha) < 0.0).all()
    assert found.used_ml_per_ha[0] == pytest.approx(8.6, abs=0.05)
    assert found.used_ml_per_ha[-1] == pytest.approx(7.76, abs=0.05)


def test_water_when_after_the_third_week_of_march_then_it_adds_nothing(
    setting: FarmSetting,
) -> None:
    """Water matters to cotton until the middle of March, and from then on not at all."""
    last_k, last = list(setting.rules.growings[0].ground_months())[-1]
    assert MONTH_NAMES[last_k] == "March"
    assert last.days == 15.0


def test_land_when_committed_then_it_is_about_twelve_months_before_mid_season(
    setting: FarmSetting,
) -> None:
    """Land is chosen in the summer before: 9 to 13 months before the crop's middle in January."""
    for prepare_k in setting.settings.prepare_k[:, 0].tolist():
        months_ahead = 12 + 6 - prepare_k
        assert 9 <= months_ahead <= 13


def test_area_when_years_are_dry_then_it_is_cut_to_nothing_in_the_worst() -> None:
    """Area follows water: far less in the driest tenth, and none at all in the worst years."""
    setting = farm_case({"sequences.count": 600, "sequences.flow_factor": 0.4})
    results = play_rows(setting, rows_of_plan(setting))
    planted_ha = results["area_planted_ha"][0, :, 2]
    account = results["planting_usable_ml_per_share"][0, :, 2]
    order = np.argsort(account)
    tenth = len(order) // 10
    assert planted_ha[order[:tenth]].mean() < 0.4 * planted_ha[order[-tenth:]].mean()
    assert planted_ha.min() == 0.0


def test_water_when_always_full_then_all_strategies_reach_the_limit_and_full_yield() -> None:
    """With the dam full and wet years to come, every strategy plants all its land in full yield."""
    setting = farm_case(
        {
            "opening.storage_ml": 400_000.0,
            "opening.account_ml_per_share": 1.25,
            "opening.used_last_year_ml_per_share": 0.0,
            "opening.used_year_before_ml_per_share": 0.0,
            "valley.accounts.use_limit_1yr_ml_per_share": 1.5,
            "valley.accounts.use_limit_3yr_ml_per_share": 4.5,
            "sequences.flow_factor": 3.0,
            "farm.opening.prepared_ha": 300.0,
            "strategies.0.prepare_all_at_ml_per_share": 0.3,
            "strategies.1.prepare_all_at_ml_per_share": 0.3,
        }
    )
    results = play_rows(setting, rows_of_plan(setting))
    wet = (results["planting_account_ml_per_share"] > 1.0).all(axis=(0, 2))
    assert wet.mean() > 0.8
    assert results["area_planted_ha"][:, wet] == pytest.approx(300.0)
    assert results["area_finished_ha"][:, wet] == pytest.approx(300.0)
    assert results["yield_bales_per_ha"][:, wet] == pytest.approx(11.0)


def test_return_when_a_season_is_over_then_per_megalitre_stands_beside_per_hectare(
    setting: FarmSetting,
) -> None:
    """Return per megalitre is the crop's margin over the water it used, as growers rank by it."""
    results = play_rows(setting, rows_of_plan(setting))
    planted = results["area_planted_ha"] > 0.0
    margin_aud = results["crop_margin_aud"][planted]
    by_ml = results["margin_aud_per_ml"][planted] * results["water_used_ml"][planted]
    by_ha = results["margin_aud_per_ha"][planted] * results["area_planted_ha"][planted]
    assert by_ml == pytest.approx(margin_aud)
    assert by_ha == pytest.approx(margin_aud)


def test_margin_when_crop_is_full_then_it_is_the_costings() -> None:
    """11 bales at 650 less 3,783 a hectare (water 480 of it) leaves 3,367: invented, by hand.

    Here water is what the season asks, so the margin is 7,150 less 3,303 less 60 a megalitre.
    """
    setting = farm_case(
        {
            "opening.month": "2025-07",
            "opening.account_ml_per_share": 1.2,
            "farm.opening.land_spent_aud": 0.0,
            "farm.money.forward_sales": [],
            "sequences.count": 5,
            "sequences.seasons": 1,
            "strategies.0.prepare_month": "February",
            "farm.bore.cost_aud_per_ml": 60.0,
        }
    )
    results = play_rows(setting, rows_of_plan(setting))
    planted_ha, prepared_ha = results["area_planted_ha"][0], results["area_prepared_ha"][0]
    per_ha = 11.0 * 650.0 - 550.0 - 520.0 - 610.0 - 93.0 * 11.0
    unplanted_aud = (prepared_ha - planted_ha) * 600.0
    expected = planted_ha * (per_ha - 600.0) - unplanted_aud - 60.0 * results["water_used_ml"][0]
    assert results["crop_margin_aud"][0] == pytest.approx(expected)
    assert per_ha - 600.0 - 480.0 == pytest.approx(3_367.0)


def test_days_when_months_are_added_up_then_they_make_a_year() -> None:
    """The months that seepage is counted over make a year of 365 days."""
    assert sum(DAYS_IN_MONTH) == 365


def test_weather_when_record_has_it_then_it_is_drawn_with_the_flow() -> None:
    """Crop use and effective rain of a month are those of the observed month the sequence uses.

    On the demonstration record (invented), which has rain and ETo of the farm.
    """
    record = read_record(DEMONSTRATION_RECORD)
    plan = farm_plan({"sequences.count": 50})
    setting = farm_setting_of(plan, record, SHIPPED)
    rows = rows_of_plan(setting)
    river = setting.river(rows)
    january = next(m for m in river if m.k == 6)
    eto_mm = record.columns["farm_eto_mm"][rows[:, january.t]]
    rain_mm = record.columns["farm_rain_mm"][rows[:, january.t]]
    assert january.eto_mm == pytest.approx(eto_mm)
    assert january.rain_mm == pytest.approx(rain_mm)
    short_form_mm = np.where(
        rain_mm <= 250.0, rain_mm * (125.0 - 0.2 * rain_mm) / 125.0, 125.0 + 0.1 * rain_mm
    )
    met = setting.rules.growings[0].weather(6, january.rain_mm, january.eto_mm)
    assert met.rain_mm == pytest.approx(short_form_mm)
    assert np.ptp(eto_mm) > 10.0


def test_fallow_when_crop_is_sown_then_soil_holds_its_part_of_the_sequences_own_rain() -> None:
    """0.22 of the rain since December, months before the run from the record; by hand.

    On the demonstration record (invented), whose last months stand before the run.
    """
    record = read_record(DEMONSTRATION_RECORD)
    plan = farm_plan({"sequences.count": 50})
    setting = farm_setting_of(plan, record, SHIPPED)
    rows = rows_of_plan(setting)
    river = setting.river(rows)
    rain_mm, opens = record.columns["farm_rain_mm"], setting.valley.calendar.opening_month
    before = rain_mm[np.arange(opens - 9, opens) - record.first_month].sum()  # December to August
    first = next(m for m in river if m.k == 3)
    stored_mm = first.soil_at_sowing_mm[0]
    assert stored_mm == pytest.approx(np.minimum(200.0, 0.22 * (before + rain_mm[rows[:, 0]])))
    second = next(m for m in river if m.k == 3 and m.season == 1)
    fallow = range(second.t - 10, second.t)
    assert second.soil_at_sowing_mm[0] == pytest.approx(
        np.minimum(200.0, 0.22 * rain_mm[rows[:, fallow]].sum(axis=1))
    )
    assert np.ptp(stored_mm) > 5.0


def test_month_when_stepped_then_what_it_was_given_stays_as_it_is(setting: FarmSetting) -> None:
    """A farm's month is a pure function: no array of the state before it is changed."""
    river = setting.river(rows_of_plan(setting))
    opening = setting.opening(river, 3)
    state = opening
    _freeze(state)
    for month in river:
        state, _ = step(state, setting.settings, month, setting.expectation, setting.rules)
        _freeze(state)
    assert state.bank_aud.shape == (3, 200)


def _freeze(value: Any) -> None:
    """Make every array of a state read-only, however deep it lies."""
    if isinstance(value, np.ndarray):
        value.setflags(write=False)
    elif isinstance(value, tuple):
        for each in value:
            _freeze(each)
    elif is_dataclass(value):
        for field in fields(value):
            _freeze(getattr(value, field.name))
