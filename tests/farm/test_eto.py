"""ETo from temperature against FAO-56 examples and the seasons, and its way into the farm's need.

Inputs and printed values are from memory of Allen, Pereira, Raes and Smith 1998, FAO Irrigation and
Drainage Paper 56; recomputed apart from the code.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.decide.strategy import strategies_of
from model.errors import PlanError
from model.farm.eto import hargreaves_mm, month_eto_mm, sky_radiation_mj_per_m2
from model.farm.rules import eto_is_estimated, record_weather
from model.farm.setting import farm_setting_of
from model.plan.cautions import opening_cautions
from model.record.record import Record
from tests.farm_case import FARM_ETO_MM, REMOVED, contract_record, farm_case, farm_plan

# Invented, inland at 30 degrees south; July first.
WARMEST_C = [17.5, 19.5, 23.5, 27.5, 31.0, 33.5, 34.5, 33.5, 30.5, 26.5, 21.5, 18.0]
COOLEST_C = [3.5, 4.5, 7.5, 11.5, 15.0, 17.5, 19.5, 19.0, 16.0, 11.0, 7.0, 4.5]
TEMPERATURE: dict[str, Any] = {
    "valley.farm_eto_mm": REMOVED,
    "valley.farm_warmest_c": WARMEST_C,
    "valley.farm_coolest_c": COOLEST_C,
    "valley.farm_latitude_deg": -30.0,
}


def one(value: float) -> np.ndarray:
    """Make an array of one number."""
    return np.array([value])


@pytest.mark.parametrize(
    ("latitude_deg", "day", "printed_mj"),
    [(13.0 + 44.0 / 60.0, 105.0, 38.06), (50.0 + 48.0 / 60.0, 187.0, 41.09)],
)
def test_sky_radiation_when_fao56_examples_17_and_18_then_as_printed(
    latitude_deg: float, day: float, printed_mj: float
) -> None:
    """FAO-56 Examples 17 (Bangkok, April) and 18 (Uccle, 6 July): Ra."""
    found = sky_radiation_mj_per_m2(latitude_deg, one(day))
    assert found == pytest.approx(printed_mj, abs=0.0101)


def test_hargreaves_when_fao56_example_20_then_5_mm() -> None:
    """FAO-56 Example 20: Lyon in July with temperature alone, 5.0 mm a day."""
    found = hargreaves_mm(one(26.6), one(14.8), 45.0 + 43.0 / 60.0, one(196.0))
    assert found == pytest.approx(5.0, abs=0.051)


def test_sky_radiation_when_hemisphere_is_swapped_then_seasons_are() -> None:
    """The south's longest day has more than the north's: the earth is nearest in January."""
    north, south = (
        sky_radiation_mj_per_m2(30.0, one(172.0)),
        sky_radiation_mj_per_m2(-30.0, one(355.0)),
    )
    assert south > north
    assert sky_radiation_mj_per_m2(-30.0, one(172.0)) < 0.6 * south


def test_month_eto_when_inland_at_thirty_south_then_near_the_invented_table() -> None:
    """An estimate: each month within 15 % of the invented climate, the year within 5."""
    found = month_eto_mm(np.array(WARMEST_C), np.array(COOLEST_C), np.arange(12), -30.0)
    assert found == pytest.approx(FARM_ETO_MM, rel=0.20)
    assert found.sum() == pytest.approx(sum(FARM_ETO_MM), rel=0.05)


@given(coolest=st.floats(0.0, 25.0), spread=st.floats(0.0, 25.0), more=st.floats(0.1, 5.0))
def test_hargreaves_when_warmer_by_day_then_more(
    coolest: float, spread: float, more: float
) -> None:
    """A warmer day with the same night always asks for more."""
    mild = hargreaves_mm(one(coolest + spread), one(coolest), -30.0, one(15.0))
    hot = hargreaves_mm(one(coolest + spread + more), one(coolest), -30.0, one(15.0))
    assert hot > mild


def test_need_when_the_plan_gives_temperature_alone_then_the_farm_runs_on_the_estimate() -> None:
    """Twelve months of temperature and a latitude stand in for ETo, and it is said."""
    plan, record = farm_plan(TEMPERATURE), contract_record()
    assert eto_is_estimated(plan, record)
    setting = farm_setting_of(plan, record, strategies_of(plan))
    expected = month_eto_mm(np.array(WARMEST_C), np.array(COOLEST_C), np.arange(12), -30.0)
    assert setting.rules.growings[0].average.eto_mm == pytest.approx(expected)
    assert any("estimate from temperature" in caution for caution in opening_cautions(plan))


def with_columns(**columns: list[float]) -> Record:
    """Return the contract's record with columns of twelve laid on its months."""
    record = contract_record()
    k = record.months_of_water_year()
    laid = {name: np.array(values)[k] for name, values in columns.items()}
    return replace(record, columns=MappingProxyType({**record.columns, **laid}))


def test_need_when_the_record_has_temperature_then_its_own_months_are_used() -> None:
    """The record's columns come before the plan's months, as everywhere."""
    warmer = [warmest + 2.0 for warmest in WARMEST_C]
    record = with_columns(farm_warmest_c=warmer, farm_coolest_c=COOLEST_C)
    plan = farm_plan(TEMPERATURE)
    k = record.months_of_water_year()
    expected = month_eto_mm(np.array(warmer)[k], np.array(COOLEST_C)[k], k, -30.0)
    assert record_weather(plan, record).eto_mm == pytest.approx(expected)


def test_need_when_eto_is_there_then_temperature_is_not_asked() -> None:
    """A stated ETo is used as it is, temperature beside it or not."""
    plan = farm_plan(TEMPERATURE | {"valley.farm_eto_mm": FARM_ETO_MM})
    assert not eto_is_estimated(plan, contract_record())
    found = record_weather(plan, contract_record()).average().eto_mm
    assert found == pytest.approx(FARM_ETO_MM)
    assert not any("temperature" in caution for caution in opening_cautions(plan))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"valley.farm_latitude_deg": REMOVED}, "nothing says how much water it needs"),
        ({"valley.farm_latitude_deg": 91.0}, "farm_latitude_deg"),
        ({"valley.farm_warmest_c": REMOVED}, "farm_warmest_c is left out"),
        ({"valley.farm_coolest_c": [40.0] * 12}, "lowest is above its highest"),
        ({"valley.farm_coolest_c": [1.0] * 11}, "farm_coolest_c"),
    ],
)
def test_temperature_when_it_does_not_fit_then_refused(changes: dict[str, Any], words: str) -> None:
    """Half of it, no latitude, or a night warmer than the day: named, with what is allowed."""
    with pytest.raises(PlanError, match=words):
        farm_case(TEMPERATURE | changes)


def test_temperature_when_the_records_nights_are_warmer_then_its_month_is_named() -> None:
    """The first month at fault stands in the message."""
    record = with_columns(farm_warmest_c=WARMEST_C, farm_coolest_c=[40.0, *COOLEST_C[1:]])
    plan = farm_plan(TEMPERATURE)
    with pytest.raises(PlanError, match=r"month \d{4}-07, column farm_coolest_c"):
        farm_setting_of(plan, record, strategies_of(plan))
