"""An area and a hold-back chosen by hand: what they bring, on the same sequences."""

import tomllib

import numpy as np
import pytest

from model.decide.one_area import AreaOutcome, Rivers, outcome_of_area, rivers_of
from model.decide.strategy import strategies_of
from model.demonstration import demonstration_plan
from model.farm.setting import FarmSetting, farm_setting_of
from model.plan_file import check_plan
from model.record import read_record

MIDDLE = 1


@pytest.fixture(name="ready", scope="module")
def _ready() -> tuple[FarmSetting, Rivers]:
    """Prepare the demonstration's farm on few sequences."""
    path = demonstration_plan()
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    raw["sequences"]["count"] = 500
    plan = check_plan(raw, "demonstration")
    setting = farm_setting_of(plan, read_record(path.with_name(raw["record"])), strategies_of(plan))
    return setting, rivers_of(setting)


def outcome(
    ready: tuple[FarmSetting, Rivers], area_ha: float, hold_back: float = 0.05
) -> AreaOutcome:
    """Run an area and a hold-back under the middle strategy."""
    return outcome_of_area(
        *ready, strategy=MIDDLE, area_ha=area_ha, hold_back_ml_per_share=hold_back
    )


def test_area_when_larger_then_it_is_not_less_often_short(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """More land on the same water: the chance to run short only rises."""
    short = [outcome(ready, area).chances["ran_short"].value for area in (40, 100, 160, 220)]
    assert short == sorted(short)
    assert short[0] < short[-1]


def test_area_when_none_is_planted_then_none_is_finished_and_it_is_said(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """No cotton in the first season, and a chance of 1 that nothing is planted in it."""
    none = outcome(ready, 0.0)
    finished = none.amounts["area_finished_ha"][none.season]
    assert none.chances["no_planting"].value == 1.0
    assert finished is not None
    assert finished.mean == 0.0
    assert none.chances["ran_short"].value == 0.0


def test_hold_back_when_larger_then_later_seasons_do_not_finish_more(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """Water left out of the sum at planting plants less, on the same first season."""
    little, much = outcome(ready, 120.0, 0.0), outcome(ready, 120.0, 0.6)
    first = little.season
    one, other = (each.amounts["area_finished_ha"] for each in (little, much))
    assert one[first] == other[first]
    assert one[first + 1].mean > other[first + 1].mean


def test_cash_when_banded_then_the_bands_are_in_order_and_open_alike(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """In rising order every month; before anything differs, one number for all."""
    bands = outcome(ready, 120.0).cash_bands_aud
    assert (np.diff(bands, axis=0) >= 0.0).all()
    assert np.ptp(bands[:, 0]) < np.ptp(bands[:, -1])


def test_chance_when_given_then_the_records_range_holds_it_and_is_the_wider(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """Both errors, the record's the larger where anything is unsure."""
    short = outcome(ready, 120.0).chances["ran_short"]
    low, high = short.headline
    assert low <= short.value <= high
    assert high - low > short.draws_high - short.draws_low
