"""Is a short crop cut back to what its water finishes, and does the cut land live on?"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model.farm.finish import pays_to_pick, to_finish_ml
from model.farm.run import FarmMonth
from model.farm.setting import FarmSetting
from model.farm.soil import Soil
from model.farm.state import FarmState, Field
from model.farm.watering import forecast, through_month
from model.water_year import MONTH_NAMES
from tests.farm_case import farm_case, farm_months, raw_plan

JANUARY, MARCH, APRIL = 6, 8, 9


def short_january(**changes: Any) -> dict[str, Any]:
    """Return a January with 250 ha in the ground, watered to December, and little water left."""
    crop = {"crop": "cotton", "layout": "solid", "area_ha": 250.0, "last_watered_month": "December"}
    return {
        "opening.month": "2026-01",
        "opening.storage_ml": 9_000.0,
        "opening.account_ml_per_share": 0.2,
        "farm.opening.prepared_ha": 0.0,
        "farm.opening.crops": [crop],
        "farm.opening.storage_ml": 0.0,
    } | {key.replace("__", "."): value for key, value in changes.items()}


def cotton_of(state: FarmState) -> Field:
    """Return the cotton in the ground."""
    field = state.fields[0]
    assert field is not None
    return field


def month_of(months: list[FarmMonth], k: int) -> FarmMonth:
    """Find a month of the first season."""
    return next(m for m in months if (m.river.season, m.river.k) == (0, k))


def test_pick_when_income_pays_costs_to_come_then_land_is_picked() -> None:
    """At the end of January more than (251 + 610) / 557 = 1.5 bales pay, whatever was spent.

    Costs to come of the example farm with water in them: 175 + 66 + 10 to pick, 610 and 93 a bale
    against 650 a bale. Figures invented; the sum is derived here.
    """
    crops = raw_plan()["farm"]["crops"]
    crops[0]["growing_cost_aud_per_ha"] = [0, 0, 0, 550, 67, 393, 199, 175, 66, 10, 0, 0]
    layout = farm_case({"farm.crops": crops}).rules.layouts[0]
    to_come_aud = layout.growing_cost_ahead_aud_per_ha[MONTH_NAMES.index("February")]
    assert to_come_aud == pytest.approx(251.0)
    breaks_even = (251.0 + 610.0) / 557.0
    assert breaks_even == pytest.approx(1.5, abs=0.05)
    paid = pays_to_pick(np.array([breaks_even - 1e-6, breaks_even + 1e-6]), 251.0, layout)
    assert paid.tolist() == [False, True]


@pytest.fixture(scope="module")
def cut() -> tuple[FarmSetting, FarmState, list[FarmMonth]]:
    """Return the short January, its opening and its months."""
    setting = farm_case(short_january())
    return setting, *farm_months(setting)


def test_finish_when_water_is_short_then_what_is_kept_is_what_it_finishes(
    cut: tuple[FarmSetting, FarmState, list[FarmMonth]],
) -> None:
    """Water in sight over water to finish a hectare, by hand, and the rest goes dry."""
    setting, opening, months = cut
    rules, chosen, month = setting.rules, setting.settings, months[0]
    kept_ha = cotton_of(month.end).watered_ha
    assert (kept_ha < 200.0).all()
    assert cotton_of(month.end).dry_ha == pytest.approx(250.0 - kept_ha)
    per_ha = to_finish_ml(opening, JANUARY, rules) / 250.0
    river = month.river
    further = setting.expectation.ml_per_share(river, chosen.expected_chance_frac)
    own = month.fluxes.account_before_ml_per_share - month.end.frozen_ml_per_share
    own = own * (1.0 - river.account_loss_ahead_frac) + chosen.count_on_frac * further
    use_left = np.minimum(1.0 - opening.used_this_year_ml_per_share, own)
    high_ml = np.maximum(
        0.0, 50.0 * river.high_security_allocation_frac - opening.high_security_used_ml
    )
    bore_ml = np.minimum(200.0 - opening.bore_used_ml, 3 * 40.0)
    in_sight_ml = use_left * 3_000.0 + high_ml + bore_ml
    assert kept_ha == pytest.approx(np.minimum(250.0, in_sight_ml / per_ha))


def test_finish_when_land_is_cut_then_it_lives_on_rain_from_the_state_it_had(
    cut: tuple[FarmSetting, FarmState, list[FarmMonth]],
) -> None:
    """Its own root zone and loss from then on: the same months, taken by hand."""
    setting, opening, months = cut
    growing = setting.rules.growings[0]
    soil: Soil = cotton_of(opening).watered
    for month in months:
        if month.river.k > MARCH:
            break
        weather = growing.weather(month.river.k, month.river.rain_mm, month.river.eto_mm)
        soil = through_month(growing, month.river.k, soil, weather)
        assert cotton_of(month.end).dry.water_mm == pytest.approx(soil.water_mm)
    assert cotton_of(month_of(months, MARCH).end).dry.kept_frac == pytest.approx(soil.kept_frac)
    watered = cotton_of(month_of(months, MARCH).end).watered.kept_frac
    assert (watered > soil.kept_frac + 0.1).all()


def test_finish_when_land_is_cut_in_january_then_it_yields_as_published_run_outs_do(
    cut: tuple[FarmSetting, FarmState, list[FarmMonth]],
) -> None:
    """Last watered 31 December 0.31 of full yield on no rain; on rain as it comes, somewhat more.

    Derived day by day from published losses; a band of 0.15 above it, and rain.
    """
    setting, opening, _ = cut
    likely = forecast(setting.rules.growings[0], JANUARY, cotton_of(opening).watered).kept_frac
    assert (likely > 0.25).all()
    assert (likely < 0.60).all()


def test_finish_when_cut_land_will_not_pay_then_it_is_given_up() -> None:
    """With cotton at a price that picking eats up, land cut in January is not picked."""
    crops = raw_plan()["farm"]["crops"]
    crops[0] |= {"price_aud_per_unit": 90.0, "by_product_aud_per_unit": 30.0}
    setting = farm_case(short_january(farm__crops=crops))
    _, months = farm_months(setting)
    first = cotton_of(months[0].end)
    assert (first.watered_ha < 200.0).all()
    assert (first.dry_ha == 0.0).all()
    assert first.harvest_ha == pytest.approx(first.watered_ha)


def test_shortage_when_spread_then_all_land_is_kept_and_watered_in_full_until_it_is_gone() -> None:
    """The other answer: no land is cut; early months get all they ask for, late ones nothing."""
    ways = {f"strategies.{at}.when_short": "spread" for at in range(3)}
    setting = farm_case(short_january() | ways)
    _, months = farm_months(setting)
    assert (cotton_of(months[0].end).watered_ha == 250.0).all()
    assert (cotton_of(months[0].end).dry_ha == 0.0).all()
    first, last = months[0].fluxes.watering, month_of(months, MARCH).fluxes.watering
    need_ml, got_ml = first.need_ml, first.taken.total_ml
    there_ml = got_ml.max()
    full = need_ml <= there_ml
    assert got_ml[full] == pytest.approx(need_ml[full])
    assert (last.taken.total_ml < 0.5 * last.need_ml).any()


def test_to_finish_when_a_month_is_dry_then_more_is_asked_and_none_after_march() -> None:
    """Sign: a drier root zone needs as much more; after the last watering nothing is asked."""
    setting = farm_case(short_january())
    opening, months = farm_months(setting)
    per_mm = setting.rules.growings[0].gate_ml_per_ha_per_mm
    wet = to_finish_ml(opening, JANUARY, setting.rules)
    field = cotton_of(opening)
    drier = field.watered._replace(water_mm=field.watered.water_mm - 10.0)
    dry_field = Field(
        field.sown_ha, field.watered_ha, field.dry_ha, drier, field.dry, field.spent_aud
    )
    fields = (dry_field, *opening.fields[1:])
    dry = to_finish_ml(replace(opening, fields=fields), JANUARY, setting.rules)
    assert dry - wet == pytest.approx(np.full(wet.shape, 250.0 * 10.0 * per_mm))
    assert (to_finish_ml(month_of(months, MARCH).end, APRIL, setting.rules) == 0.0).all()
