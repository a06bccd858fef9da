"""The figures for the desk: by hand where a case is simple, and on sequences not drawn before."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from model.decide.decision import decision_of, way_of
from model.decide.desk import (
    Desk,
    desk_of,
    held_and_needed,
    limit_and_bales,
    needed_and_harvested,
    regrets,
    river_of_own_years,
)
from model.decide.one_area import Rivers, RiversDrawn, rivers_of
from model.decide.ways import Runs, play_ways
from model.farm.setting import FarmSetting, farm_setting_of
from model.outlook import outlook
from model.plan.demonstration import demonstration
from model.record.record import FloatArray
from tests.decide.test_last_megalitre import BY_HAND
from tests.farm_case import farm_case

MIDDLE = 1


@pytest.fixture(autouse=True, scope="module")
def _few_resamples() -> Iterator[None]:
    """Resample the record a few times only: quick, and each still by 125 draws."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlook, "RECORD_RESAMPLES", 8)
        yield


DRAWN = 4_000


@cache
def prepared(method: str, seasons: int) -> tuple[FarmSetting, Rivers]:
    """Return the demonstration with as many sequences as the check asks."""
    plan, record = demonstration()
    plan = plan.with_drawing(method=method, kind="stationary", count=DRAWN, seasons=seasons)
    setting = farm_setting_of(plan, record, plan.strategies)
    return setting, rivers_of(setting)


@pytest.fixture(name="ready", scope="module")
def _ready() -> tuple[FarmSetting, Rivers]:
    """Return the demonstration over one season: quick."""
    return prepared("blocks", 1)


@pytest.fixture(name="desk", scope="module")
def _desk(ready: tuple[FarmSetting, Rivers]) -> Desk:
    """Return the demonstration's desk under the middle strategy."""
    return desk_of(*ready, strategy=MIDDLE, area_ha=150.0)


def needed_and_bales(setting: FarmSetting, seed: int) -> tuple[FloatArray, FloatArray]:
    """Play the same farm through sequences of another seed."""
    plan = setting.valley.plan.with_drawing(seed=seed)
    other = replace(setting, valley=replace(setting.valley, plan=plan))
    decision = decision_of(setting, MIDDLE)
    way = way_of(setting, decision, MIDDLE, 150.0)
    return needed_and_harvested(other, river_of_own_years(other), way, decision.season)


@pytest.mark.parametrize(("method", "seasons"), [("blocks", 1), ("present", 3)])
def test_limit_and_bales_when_sequences_are_fresh_then_hold_90_times_in_100(
    method: str, seasons: int
) -> None:
    """What is printed holds 90 +- 2 times in 100 on sequences that it was not read off.

    With 4,000 drawn and 4,000 fresh the standard error is 0.7 times in 100.
    """
    setting, rivers = prepared(method, seasons)
    found = limit_and_bales(setting, rivers, strategy=MIDDLE, area_ha=150.0)
    for seed in (7, 8):
        need_aud, bales = needed_and_bales(setting, seed)
        assert (need_aud <= found.limit_needed_aud.value).mean() == pytest.approx(0.90, abs=0.02)
        assert (bales >= found.bales.value).mean() == pytest.approx(0.90, abs=0.02)
    assert found.bales.value > 0.0
    assert found.limit_needed_aud.value > 0.0


def test_limit_when_there_is_one_then_it_holds_where_it_is_at_least_what_is_needed(
    ready: tuple[FarmSetting, Rivers],
) -> None:
    """A payment is missed, or the limit passed, in just those sequences that need more than it."""
    setting, rivers = ready
    limit_aud = 95_000.0
    cash = replace(setting.rules.cash, overdraft_limit_aud=limit_aud)
    tight = replace(setting, rules=replace(setting.rules, cash=cash))
    decision = decision_of(tight, MIDDLE)
    way = way_of(tight, decision, MIDDLE, 150.0)
    runs = play_ways(tight, rivers, [way], decision.season).of(0)
    need_aud, _ = needed_and_harvested(tight, rivers.months, way, decision.season)
    fails = runs.payment_missed | runs.past_limit
    assert (fails == (need_aud > limit_aud)).all()
    assert 0.02 < fails.mean() < 0.98


def test_desk_when_case_is_simple_then_hectares_held_and_needed_are_those_by_hand() -> None:
    """600 ML at 5 ML a hectare finish 120 ha; a hectare leaves 4,232 AUD by hand.

    11 x (650 - 93) - 610 - growing 1,070 - 300 of water, and 85 of fallow saved.
    """
    setting = farm_case(BY_HAND)
    desk = desk_of(setting, rivers_of(setting), strategy=0, area_ha=150.0)
    per_ha = 11.0 * (650.0 - 93.0) - 610.0 - 1_070.0 - 5.0 * 60.0 + 85.0
    assert desk.water.held.area_ha == pytest.approx(120.0, abs=0.1)
    assert not desk.water.held.land_ends_it
    assert desk.water.choice is not None
    assert desk.water.choice.finished_ha == desk.water.held.area_ha
    assert desk.water.bills.leaves_aud_per_ha == pytest.approx(per_ha)
    assert desk.water.bills.area_ha == pytest.approx(desk.water.bills.bills_aud / per_ha)
    assert desk.prepared is None  # nothing is spent on prepared land once it is planted


def test_bills_when_overheads_rise_then_the_year_needs_so_many_more_hectares() -> None:
    """12,000 AUD more of overheads, at 4,232 AUD a hectare, are 2.84 ha."""
    needs = []
    for more_aud in (0.0, 12_000.0):
        base = 100_000.0 + more_aud
        setting = farm_case(BY_HAND | {"farm.money.overheads_aud_per_year": base})
        needs.append(held_and_needed(setting, strategy=0).bills)
    assert needs[1].bills_aud - needs[0].bills_aud == pytest.approx(12_000.0)
    assert needs[1].area_ha - needs[0].area_ha == pytest.approx(12_000.0 / 4_232.0)


def test_held_when_water_is_added_then_so_many_more_hectares_are_finished() -> None:
    """Another 100 ML in the account finish 20 ha more, at 5 ML a hectare; the bank follows."""
    held = []
    for account in (0.2, 0.2 + 100.0 / 3_000.0):
        setting = farm_case(BY_HAND | {"opening.account_ml_per_share": account})
        held.append(held_and_needed(setting, strategy=0).held)
    assert held[1].area_ha - held[0].area_ha == pytest.approx(20.0, abs=0.2)
    assert held[1].closing_cash_aud != held[0].closing_cash_aud


def test_prepared_when_before_planting_then_regret_falls_on_both_sides(desk: Desk) -> None:
    """About 600 AUD a hectare are spent before planting (from memory); 450 of them from September.

    Preparing nothing is never too many, preparing all never too few.
    """
    prepared = desk.prepared
    assert prepared is not None
    assert prepared.to_spend_aud_per_ha + prepared.spent_aud_per_ha == pytest.approx(600.0)
    assert prepared.areas_ha[0] == 0.0
    assert prepared.too_many.chance.value + prepared.too_few.chance.value <= 1.0
    best = prepared.brought[prepared.best]
    assert all(best.mean_aud.value >= other.mean_aud.value for other in prepared.brought)


def test_regrets_when_three_sequences_are_laid_out_then_as_by_hand() -> None:
    """Areas 0, 1, 2; the middle is chosen. Hindsight: less by 5, more by 7, and right once."""
    standing = np.array([[15.0, 1.0, 3.0], [10.0, 2.0, 9.0], [0.0, 9.0, 4.0]])
    none = {f.name: standing for f in fields(Runs)}
    runs = Runs(**(none | {"standing_aud": standing}))
    at = np.arange(3)
    of = RiversDrawn((), at, at[None, :], 1.0, at[:0], ())
    too_many, too_few = regrets(of, runs, 1)
    assert (too_many.chance.value, too_many.cost_aud) == (pytest.approx(1 / 3), 5.0)
    assert (too_few.chance.value, too_few.cost_aud) == (pytest.approx(1 / 3), 7.0)


def test_finish_when_crop_is_in_the_ground_then_held_is_of_what_is_watered() -> None:
    """In January the desk is about the crop in the ground: no more is finished than stands."""
    changes: dict[str, Any] = {
        "opening.month": "2026-01",
        "sequences.count": 50,
        "farm.opening.crops": [
            {"crop": "cotton", "layout": "solid", "area_ha": 120.0, "soil_water_mm": 150.0}
        ],
        "farm.opening.prepared_ha": 0.0,
        "farm.opening.land_spent_aud": 0.0,
        "farm.money.forward_sales": [],
    }
    setting = farm_case(changes)
    decision = decision_of(setting, MIDDLE)
    assert (decision.question, decision.most_ha, decision.planting_t) == ("finish", 120.0, None)
    desk = desk_of(setting, rivers_of(setting), strategy=MIDDLE, area_ha=60.0)
    assert 0.0 < desk.water.held.area_ha <= 120.0
    assert desk.water.choice is not None
    assert desk.water.choice.finished_ha == min(60.0, desk.water.held.area_ha)
    assert desk.prepared is None
