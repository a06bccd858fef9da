"""Is one more megalitre worth, in each use, what a case worked by hand says?"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model.decide.last_megalitre import Curve, LastMegalitre, Use, crossings_of, last_megalitre
from model.decide.objective import worth_of
from model.errors import InputError
from model.farm.setting import FarmSetting
from tests.farm_case import REMOVED, farm_case, rows_of_plan

PLAIN = {
    "name": "files",
    "grow": [{"crop": "cotton", "layout": "solid", "planned_water_ml_per_ha": 5.0}],
    "count_on_frac": 0.0,
    "expected_chance_frac": 0.9,
}

BY_HAND: dict[str, Any] = {
    "opening.month": "2025-10",
    "opening.account_ml_per_share": 0.2,
    "opening.announced_to_date_ml_per_share": 0.0,
    "valley.accounts.allocation_cap_ml_per_share": 0.0,
    "valley.accounts.loss_mode": "socialised",
    "valley.access": REMOVED,
    "sequences.seasons": 1,
    "sequences.count": 30,
    "sequences.flow_factor": 0.01,
    "farm.supplementary": REMOVED,
    "farm.bore": REMOVED,
    "farm.storage": REMOVED,
    "farm.licence.high_security_shares_ml": 0.0,
    "farm.money.forward_sales": [],
    "farm.money.overdraft_rate_frac_per_year": 0.0,
    "farm.crops.0.need_ml_per_ha": [0, 0, 0, 5.0, 0, 0, 0, 0, 0, 0, 0, 0],
    **{
        f"farm.crops.0.{key}": REMOVED
        for key in ("kc_initial", "kc_middle", "kc_end", "stage_days")
    },
    "farm.crops.0.last_watering_month": "January",
    "farm.crops.0.soil_capacity_mm": 1e-9,
    "farm.crops.0.soil_stress_below_mm": 1e-9,
    "farm.crops.0.loss_stage_ends_days": [10],
    "farm.crops.0.loss_frac_per_day": [0.2],
    "strategies": [PLAIN],
}
"""Nothing is announced, nothing evaporates: water planted now makes 11 bales for 5 ML."""


def by_hand(changes: dict[str, Any] | None = None, **asked: float) -> LastMegalitre:
    """Work the last megalitre of the case by hand out."""
    setting = farm_case(BY_HAND | (changes or {}))
    river = setting.river(rows_of_plan(setting))
    return last_megalitre(
        setting,
        river,
        strategy=0,
        area_ha=asked.get("area_ha", 60.0),
        range_ml=asked.get("range_ml", 500.0),
    )


@pytest.fixture(scope="module")
def setting() -> FarmSetting:
    """Return the example farm."""
    return farm_case()


def test_last_megalitre_when_case_is_simple_then_each_use_is_worth_what_it_is_by_hand() -> None:
    """Planted: a fifth of a hectare's return; held: the end value; sold: today's price.

    A hectare more leaves 11 x (650 - 93) - 610 - growing 1,070 - 300 of water, and 85 of fallow
    saved: 4,232; a fifth of it is 846.4 AUD per ML. What is held is worth 150 when the run ends.
    The season's supply is the average account and what was used of it; a seller gets 95 %.
    """
    found = by_hand()
    per_ha = 11.0 * (650.0 - 93.0) - 610.0 - 1_070.0 - 5.0 * 60.0 + 85.0
    planted, held = found.curves["planted"], found.curves["held"]
    assert planted.worth_aud_per_ml == pytest.approx(np.full(10, per_ha / 5.0))
    assert held.worth_aud_per_ml == pytest.approx(np.full(10, 150.0))
    assert planted.error_aud_per_ml == pytest.approx(np.zeros(10), abs=1e-6)
    supply = 0.2 + 0.01
    sold = 150.0 * 0.6 / supply * 0.95
    assert found.curves["sold"].worth_aud_per_ml == pytest.approx(np.full(10, sold))
    assert "on_farm" not in found.curves
    assert found.best_use() == "planted"
    assert found.crossings == ()


def test_last_megalitre_when_account_pays_a_loss_then_held_water_is_worth_less() -> None:
    """A fifth of carried water lost on 1 July takes a fifth of what holding is worth."""
    found = by_hand({"valley.accounts.carryover_loss_frac": 0.2})
    assert found.curves["held"].worth_aud_per_ml == pytest.approx(np.full(10, 120.0))


def test_last_megalitre_when_carryover_is_capped_then_held_water_beyond_it_is_worth_nothing() -> (
    None
):
    """300 ML are left after 60 ha and 0.2 ML per share is the most carried: 300 more, then none."""
    found = by_hand({"valley.accounts.carryover_limit_ml_per_share": 0.2}, range_ml=600.0)
    held = found.curves["held"].worth_aud_per_ml
    assert held == pytest.approx(np.where(np.arange(10) < 5, 150.0, 0.0))


def test_last_megalitre_when_land_runs_out_then_planting_stops_paying() -> None:
    """240 ha are ready: once they are planted, a megalitre more is only held; the point is named.

    220 ha chosen, 5 ML each: the land ends 100 ML further on, and selling is then the best use.
    """
    found = by_hand({"opening.account_ml_per_share": 0.4}, area_ha=220.0, range_ml=300.0)
    planted = found.curves["planted"].worth_aud_per_ml
    assert planted[0] > 500.0
    assert planted[-1] == pytest.approx(150.0)
    assert found.crossings[0].best_before == "planted"
    assert found.crossings[0].best_after == "sold"
    assert 60.0 < found.crossings[0].volume_ml < 140.0


def test_last_megalitre_when_farm_is_whole_then_area_set_is_area_planted(
    setting: FarmSetting,
) -> None:
    """The chosen area is what the first planting has, whatever the strategy's rule would say."""
    river = setting.river(rows_of_plan(setting))
    found = last_megalitre(setting, river, strategy=1, area_ha=120.0, range_ml=400.0)
    assert set(found.curves) == {"planted", "held", "on_farm", "sold"}
    assert found.sequences == 200
    for use in ("planted", "held", "on_farm"):
        assert (found.curves[use].error_aud_per_ml > 0.0).any()
        assert np.isfinite(found.curves[use].worth_aud_per_ml).all()
    assert found.curves["planted"].volume_ml.tolist() == np.arange(20.0, 400.0, 40.0).tolist()


def test_last_megalitre_when_added_up_then_it_is_the_rise_over_the_whole_range(
    setting: FarmSetting,
) -> None:
    """The area under the curve is what the whole volume adds (held, by running the farm twice)."""
    river = setting.river(rows_of_plan(setting))
    found = last_megalitre(setting, river, strategy=0, area_ha=100.0, range_ml=300.0)
    richer = farm_case({"farm.opening.account_ml_per_share": 0.42 + 300.0 / 3_000.0})
    poorer = farm_case({"farm.opening.account_ml_per_share": 0.42})
    worth = []
    for case in (poorer, richer):
        fixed = replace(case.settings.part(0, 1), first_area_ha=np.array([[100.0]]))
        worth.append(worth_of(case, case.river(rows_of_plan(case)), fixed).standing_aud.mean())
    risen = float((found.curves["held"].worth_aud_per_ml * 30.0).sum())
    assert risen == pytest.approx(worth[1] - worth[0], rel=1e-6)


@pytest.mark.parametrize(("area_ha", "range_ml"), [(-1.0, 100.0), (50.0, 0.0), (np.nan, 100.0)])
def test_last_megalitre_when_asked_wrongly_then_it_says_what_is_allowed(
    setting: FarmSetting, area_ha: float, range_ml: float
) -> None:
    """An area below 0, or no volume at all, is refused."""
    river = setting.river(rows_of_plan(setting)[:5])
    with pytest.raises(InputError, match="Allowed"):
        last_megalitre(setting, river, strategy=0, area_ha=area_ha, range_ml=range_ml)


def test_crossings_when_curves_cross_below_a_third_then_they_are_not_named() -> None:
    """Only where the best use changes is a crossing named."""
    at, none = np.array([0.0, 100.0]), np.zeros(2)
    curves: dict[Use, Curve] = {
        "planted": Curve(at, np.array([500.0, 500.0]), none),
        "held": Curve(at, np.array([300.0, 100.0]), none),
        "sold": Curve(at, np.array([200.0, 200.0]), none),
    }
    assert crossings_of(curves) == ()


def test_crossings_when_a_third_lies_above_one_of_them_then_the_other_alone_is_named() -> None:
    """Planted falls from 300 to 0: it meets 150 half-way, and 100 below that, where it is no use.

    The height of a crossing decides: 300 - 2/3 of 300 is 100, under the 150 of selling.
    """
    at, none = np.array([50.0, 150.0]), np.zeros(2)
    worth: dict[Use, list[float]] = {
        "planted": [300.0, 0.0],
        "held": [100.0, 100.0],
        "sold": [150.0, 150.0],
    }
    curves = {use: Curve(at, np.array(aud), none) for use, aud in worth.items()}
    (found,) = crossings_of(curves)
    assert (found.best_before, found.best_after) == ("planted", "sold")
    assert found.volume_ml == pytest.approx(100.0)
