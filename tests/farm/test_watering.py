"""Are months cut, needs reckoned and waterings put on as the rule says? Worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from model.farm.crops import Crop, CropCalendar
from model.farm.farm_weather import MonthWeather, RecordWeather
from model.farm.growing import Growing, LossStage, Response
from model.farm.growing_of import growing_of, pieces_between, rain_growing_of
from model.farm.layouts import response_of
from model.farm.rain_gauge import gauge_at, rain_yield_frac, soil_at_sowing_mm
from model.farm.rain_yield import rain_yield_of
from model.farm.season import hectare_season
from model.farm.soil import RootZone, fresh_soil, through
from model.farm.watering import (
    forecast,
    need_mm,
    pre_water_mm,
    since_watered,
    through_month,
    to_finish_mm,
)
from tests.farm.hectare import COTTON, COTTON_RESPONSE, ETO_MM, RAIN_MM, growing
from tests.farm_case import farm_case

OCT, NOV, DEC, JAN, FEB, MAR, APR = 3, 4, 5, 6, 7, 8, 9
WEATHER = RecordWeather(RAIN_MM, ETO_MM, np.arange(12))


def one(value: float) -> np.ndarray:
    """Make an array of one number."""
    return np.array([value])


def test_months_when_cotton_is_sown_mid_october_then_cut_at_its_stages() -> None:
    """Days after sowing at each month's end 17, 47, 78, 109, 137, 168; stages at 41, 72, 83, 124.

    The crop is young before day 72; after day 151, 15 March, nothing is counted.
    """
    cut = {
        k: [(over.days, over.loss_frac_per_day, over.young) for over, _ in month.pieces]
        for k, month in growing().ground_months()
    }
    assert cut == {
        OCT: [(17.0, 0.010, True)],
        NOV: [(24.0, 0.010, True), (6.0, 0.010, True)],
        DEC: [(25.0, 0.010, True), (6.0, 0.017, False)],
        JAN: [(5.0, 0.017, False), (26.0, 0.027, False)],
        FEB: [(15.0, 0.027, False), (13.0, 0.007, False)],
        MAR: [(15.0, 0.007, False)],
    }


def test_months_when_a_plan_states_last_days_of_stages_then_the_same_response() -> None:
    """Days 40, 71, 82, 123, 151 end the five stages of the example plan."""
    assert response_of(farm_case().farm.main_crop) == COTTON_RESPONSE


def test_use_when_kc_rises_through_a_piece_then_its_mean_at_half_days() -> None:
    """Days 30 to 34 of a rise of 0.83 over 50 days: 0.35 + 0.83 x (0.5 ... 4.5) / 50 on average."""
    (piece,) = pieces_between(30, 35, COTTON, COTTON_RESPONSE)
    assert piece.kc == pytest.approx(0.35 + 0.83 * 2.5 / 50.0)


@pytest.mark.parametrize(
    ("last_k", "targets"),
    [
        (MAR, {OCT: 100, NOV: 100, DEC: 150, JAN: 150, FEB: 150, MAR: 100}),
        (JAN, {OCT: 100, NOV: 100, DEC: 150, JAN: 100, FEB: None, MAR: None}),
    ],
)
def test_target_when_a_month_is_first_second_or_last_then_the_stress_level(
    last_k: int, targets: dict[int, float | None]
) -> None:
    """Else midway to full; none after the last watering."""
    crop = growing(last_k)
    assert {k: month.target_mm for k, month in crop.ground_months()} == targets
    assert crop.is_watered_in(last_k)
    assert not crop.is_watered_in(last_k + 1)


def test_need_when_december_is_by_hand_then_what_brings_the_soil_to_its_target() -> None:
    """150 - 90 - (2 - e) x 31, e the mean Kc of 31 days times ETo of 220.1 / 31 a day."""
    crop, rain = growing(), one(62.0)
    found = need_mm(crop, DEC, one(90.0), MonthWeather(rain, one(220.1)))
    mean = crop.months[DEC].kc
    assert mean == pytest.approx((25 * 0.8397 + 6 * 1.097) / 31)
    assert found == pytest.approx(150.0 - 90.0 + mean * 220.1 - 62.0)
    assert need_mm(crop, DEC, one(400.0), MonthWeather(rain, one(220.1))) == 0.0
    assert need_mm(crop, APR, one(0.0), MonthWeather(rain, one(108.0))) == 0.0


def test_need_when_the_month_is_part_in_the_ground_then_its_own_days_count() -> None:
    """October: 17 of 31 days of rain and ETo; March: 15 of them, to the end of the last stage."""
    crop = growing()
    weather = MonthWeather(one(31.0), one(167.4))
    assert need_mm(crop, OCT, one(60.0), weather) == pytest.approx(
        100.0 - 60.0 + 17.0 * (0.35 * 5.4 - 1.0)
    )
    march = crop.months[MAR]
    assert march.days == 15.0
    use_mm = march.kc * 158.1 / 31.0
    assert need_mm(crop, MAR, one(60.0), MonthWeather(one(31.0), one(158.1))) == pytest.approx(
        100.0 - 60.0 + 15.0 * (use_mm - 1.0)
    )


def test_pre_water_when_the_profile_is_nearly_full_then_as_much_as_it_takes() -> None:
    """1.5 ML/ha is 107.4 mm in the root zone; 200 - 130 leaves 70; none in another month."""
    crop = growing()
    assert pre_water_mm(crop, OCT, one(60.0)) == pytest.approx(107.415)
    assert pre_water_mm(crop, OCT, one(130.0)) == pytest.approx(70.0)
    assert pre_water_mm(crop, NOV, one(60.0)) == 0.0


def test_watering_when_soil_is_below_the_level_then_at_once_to_it_and_the_rest_evenly() -> None:
    """Of 80 mm on 70 mm, 30 go on at once and 50 over January's 31 days: the pieces by hand."""
    crop = growing()
    weather = MonthWeather(one(31.0), one(220.1))
    found = through_month(crop, JAN, fresh_soil(one(70.0)), weather, one(80.0))
    soil = fresh_soil(one(100.0))
    for over, kc in crop.months[JAN].pieces:
        use_mm = one(kc * 220.1 / 31.0)
        soil = through(soil, one(1.0 + 50.0 / 31.0), use_mm, over, crop.root_zone)
    for values, by_hand in zip(found, soil, strict=True):
        assert values == pytest.approx(by_hand)
    dry = through_month(crop, JAN, fresh_soil(one(70.0)), weather)
    assert dry.kept_frac < found.kept_frac


def test_water_to_finish_when_from_february_then_two_months_in_average_weather() -> None:
    """100 - 80 + February's and March's use less rain, by hand; nothing once it is wet enough."""
    crop = growing()
    rain_mm = crop.average.rain_mm
    february = crop.months[FEB].kc * 176.4 - rain_mm[FEB]
    march = (crop.months[MAR].kc * 158.1 - rain_mm[MAR]) * 15.0 / 31.0
    assert to_finish_mm(crop, FEB, one(80.0)) == pytest.approx(20.0 + february + march)
    assert to_finish_mm(crop, MAR, one(80.0)) == pytest.approx(20.0 + march)
    assert to_finish_mm(crop, MAR, one(199.0)) == 0.0
    assert to_finish_mm(growing(JAN), FEB, one(100.0)) == 0.0


def test_forecast_when_from_january_then_the_months_left_on_rain_alone() -> None:
    """January to March in average weather, one after the other."""
    crop = growing()
    soil = fresh_soil(one(150.0))
    for k in (JAN, FEB, MAR):
        soil = through_month(crop, k, soil, crop.average.month(k))
    assert forecast(crop, JAN, fresh_soil(one(150.0))).kept_frac == pytest.approx(soil.kept_frac)
    assert 0.2 < float(soil.kept_frac[0]) < 0.7


@pytest.mark.parametrize(("opens", "months"), [(DEC, []), (JAN, [DEC]), (MAR, [DEC, JAN, FEB])])
def test_opening_when_last_watered_in_november_then_average_months_since(
    opens: int, months: list[int]
) -> None:
    """From November's target on rain alone to the opening month, which is not counted."""
    crop = growing()
    soil = fresh_soil(one(100.0))
    for k in months:
        soil = through_month(crop, k, soil, crop.average.month(k))
    found = since_watered(crop, NOV, opens)
    assert found.water_mm == pytest.approx(soil.water_mm)
    assert found.kept_frac == pytest.approx(soil.kept_frac)


def wide_row() -> Growing:
    """Return cotton in a layout of three quarters of the use and 1.2 of the root zone."""
    return growing_of(
        "cotton, wide-row",
        COTTON,
        CropCalendar(OCT, 15, MAR, APR, DEC),
        COTTON_RESPONSE,
        RootZone(200.0, 100.0),
        WEATHER,
        efficiency_frac=0.93 * 0.77,
        pre_water_ml_per_ha=1.5,
        use_factor=0.75,
        root_factor=1.2,
    )


def test_layout_when_factors_are_given_then_on_use_and_on_all_of_the_root_zone() -> None:
    """Use x 0.75; capacity, stress level, fallow store and pre-water x 1.2; rain as it is."""
    wide, solid = wide_row(), growing()
    assert (wide.root_zone.capacity_mm, wide.root_zone.stress_below_mm) == (240.0, 120.0)
    assert wide.pre_water_mm == pytest.approx(1.2 * 107.415)
    assert wide.months[JAN].kc == pytest.approx(0.75 * solid.months[JAN].kc)
    assert wide.months[JAN].target_mm == 180.0
    assert wide.fallow_store_mm(one(500.0)) == pytest.approx(1.2 * 0.22 * 500.0)
    assert wide.fallow_store_mm(one(5_000.0)) == 240.0
    assert wide.average.rain_mm == pytest.approx(solid.average.rain_mm)


def test_table_when_it_stands_in_for_kc_then_it_is_the_use_and_no_rain_counts() -> None:
    """2.2 ML/ha in January at 0.7161 is 157.5 mm of use over 31 days; same store, same losses."""
    table = [0, 0, 0, 1.5, 0.3, 1.4, 2.2, 1.7, 0.6, 0, 0, 0]
    crop = growing_of(
        "cotton",
        COTTON,
        CropCalendar(OCT, 15, MAR, APR, DEC),
        COTTON_RESPONSE,
        RootZone(200.0, 100.0),
        WEATHER,
        efficiency_frac=0.7161,
        pre_water_ml_per_ha=1.5,
        need_ml_per_ha=table,
    )
    assert crop.pre_water_mm == 0.0
    wet = MonthWeather(one(90.0), one(300.0))
    assert need_mm(crop, JAN, one(100.0), wet) == pytest.approx(50.0 + 2.2 * 71.61)
    found = through_month(crop, JAN, fresh_soil(one(200.0)), wet)
    use_a_day = 2.2 * 71.61 / 31.0
    assert float(found.water_mm[0]) == pytest.approx(
        100.0 * np.exp(-use_a_day / 100.0 * (31.0 - 100.0 / use_a_day))
    )
    full = hectare_season(crop, one(100.0), crop.average.month, one(np.inf))
    assert full.kept_frac == pytest.approx(1.0)
    # from the stress level; 50 mm above it at the end of February, of which March uses 43
    left_mm = 50.0 - 0.6 * 71.61
    assert full.used_ml_per_ha == pytest.approx(sum(table) + left_mm / 71.61)


WHEAT = Crop(20, 50, 60, 30, kc_initial=0.35, kc_middle=1.15, kc_end=0.30)


def test_months_when_a_crop_stands_over_june_then_its_calendar_comes_round_to_july() -> None:
    """Wheat sown 20 May, harvested in November: May to October, 12, 30, 31, 31, 30 and 6 days."""
    response = Response((LossStage(0, 0.004), LossStage(60, 0.015)), 140, 60)
    crop = growing_of(
        "wheat",
        WHEAT,
        CropCalendar(10, 20, None, 4, 5),
        response,
        RootZone(150.0, 70.0),
        WEATHER,
        efficiency_frac=0.7,
    )
    assert [(k, month.days) for k, month in crop.ground_months()] == [
        (10, 12.0),
        (11, 30.0),
        (0, 31.0),
        (1, 31.0),
        (2, 30.0),
        (3, 6.0),
    ]
    assert [k for k in range(12) if crop.is_in_ground(k)] == [0, 1, 2, 3, 10, 11]
    assert [k for k in range(12) if crop.is_fallow(k)] == [5, 6, 7, 8, 9]
    assert all(month.target_mm is None for _, month in crop.ground_months())


def test_gauge_when_the_run_opens_then_the_records_own_months_before_it_are_in_it() -> None:
    """A record of 36 months from July, rain 1, 2, 3 ...; opened in its 27th month, September.

    Cotton's fallow since December (months 18 to 26): 9 months of it, 22 on average, are in.
    """
    rain = np.arange(1.0, 37.0)
    weather = RecordWeather(rain, np.full(36, 100.0), np.arange(36) % 12)
    first, opens = 12 * 2000 + 6, 12 * 2002 + 8
    cotton = growing()
    gauge = gauge_at(opens, 2, [cotton], weather, first)
    assert gauge.fallow_mm[0].tolist() == [sum(range(18, 27))] * 2
    september = gauge.after([cotton], 2, np.array([10.0, 0.0]))
    stored = soil_at_sowing_mm(september, [cotton], OCT)[0]
    assert stored == pytest.approx(0.22 * np.array([sum(range(18, 27)) + 10.0, sum(range(18, 27))]))
    assert soil_at_sowing_mm(september, [cotton], NOV) == (None,)
    beyond = gauge_at(opens + 120, 1, [cotton], weather, first)
    mean = weather.average().rain_mm
    assert beyond.fallow_mm[0] == pytest.approx(
        [sum(mean[k] for k in (5, 6, 7, 8, 9, 10, 11, 0, 1))]
    )


def test_rain_yield_when_a_season_is_by_hand_then_its_water_over_the_records_mean() -> None:
    """Sown in June, harvested in December, fallow since December: season and stored rain less 110.

    Three whole seasons on record with 100, 300 and 200 mm in season and 400 of fallow: 78, 278 and
    178 mm of water, 178 on average.
    """
    calendar = CropCalendar(11, 20, None, 5, 5)
    rain = []
    for season_mm in (100.0, 300.0, 200.0):
        rain += [400.0 / 6.0] * 6 + [season_mm / 6.0] * 6
    k = (np.arange(36) + 5) % 12
    weather = RecordWeather(np.array(rain), np.zeros(36), k)
    response = rain_yield_of(calendar, weather, 0.22)
    assert response.mean_water_mm == pytest.approx(178.0)
    assert response.frac(one(300.0), one(400.0)) == pytest.approx(278.0 / 178.0)
    assert response.frac(one(0.0), one(400.0)) == 0.0
    wheat = rain_growing_of("wheat", calendar, weather)
    first = 12 * 2000 + 11
    gauge = gauge_at(first + 24, 1, [wheat], weather, first)  # second season's harvest month
    assert rain_yield_frac(gauge, [wheat], 5)[0] == pytest.approx(278.0 / 178.0)
    assert rain_yield_frac(gauge, [wheat], 4) == (None,)
