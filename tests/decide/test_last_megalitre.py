"""Is one more megalitre worth, in each use, what a case worked by hand says?"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model.decide.last_megalitre import LastMegalitre, crossings_of, last_megalitre, leads
from model.decide.objective import worth_of
from model.decide.risk import worst_mean
from model.decide.rivers import Rivers, RiversDrawn
from model.errors import InputError
from model.farm.river import RiverMonth
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


def plain_rivers(river: list[RiverMonth], count: int | None = None) -> Rivers:
    """Return the months of sequences as they are, each drawn once; the record not resampled."""
    at = np.arange(river[0].storage_frac.size if count is None else count)
    return Rivers(river, RiversDrawn((), at, at[None, :], 1.0, at[:0], ()))


def by_hand(changes: dict[str, Any] | None = None, **asked: float) -> LastMegalitre:
    """Work the last megalitre of the case by hand out."""
    setting = farm_case(BY_HAND | (changes or {}))
    rivers = plain_rivers(setting.river(rows_of_plan(setting)))
    return last_megalitre(
        setting,
        rivers,
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
    assert planted.worth_aud_per_ml == pytest.approx(np.full(5, per_ha / 5.0))
    assert held.worth_aud_per_ml == pytest.approx(np.full(5, 150.0))
    assert planted.error_aud_per_ml == pytest.approx(np.zeros(5), abs=1e-6)
    supply = 0.2 + 0.01
    sold = 150.0 * 0.6 / supply * 0.95
    assert found.curves["sold"].worth_aud_per_ml == pytest.approx(np.full(5, sold))
    assert "on_farm" not in found.curves
    assert found.best_use() == "planted"
    assert found.crossings == ()


def test_last_megalitre_when_account_pays_a_loss_then_held_water_is_worth_less() -> None:
    """A fifth of carried water lost on 1 July takes a fifth of what holding is worth."""
    found = by_hand({"valley.accounts.carryover_loss_frac": 0.2})
    assert found.curves["held"].worth_aud_per_ml == pytest.approx(np.full(5, 120.0))


def test_last_megalitre_when_carryover_is_capped_then_held_water_beyond_it_is_worth_nothing() -> (
    None
):
    """300 ML are left after 60 ha and 0.2 ML per share is the most carried: 300 more, then none.

    In steps of 120 ML: two whole, half of the third.
    """
    found = by_hand({"valley.accounts.carryover_limit_ml_per_share": 0.2}, range_ml=600.0)
    held = found.curves["held"].worth_aud_per_ml
    assert held == pytest.approx(np.array([150.0, 150.0, 75.0, 0.0, 0.0]))


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
    rivers = plain_rivers(setting.river(rows_of_plan(setting)))
    found = last_megalitre(setting, rivers, strategy=1, area_ha=120.0, range_ml=400.0)
    assert set(found.curves) == {"planted", "held", "on_farm", "sold"}
    assert found.sequences == 200
    for use in ("planted", "held", "on_farm"):
        assert (found.curves[use].error_aud_per_ml > 0.0).any()
        assert np.isfinite(found.curves[use].worth_aud_per_ml).all()
    assert found.curves["planted"].volume_ml.tolist() == np.arange(40.0, 400.0, 80.0).tolist()


def test_last_megalitre_when_added_up_then_it_is_the_rise_over_the_whole_range(
    setting: FarmSetting,
) -> None:
    """The area under the curve is what the whole volume adds (held, by running the farm twice)."""
    rivers = plain_rivers(setting.river(rows_of_plan(setting)))
    found = last_megalitre(setting, rivers, strategy=0, area_ha=100.0, range_ml=300.0)
    richer = farm_case({"farm.opening.account_ml_per_share": 0.42 + 300.0 / 3_000.0})
    poorer = farm_case({"farm.opening.account_ml_per_share": 0.42})
    worth = []
    for case in (poorer, richer):
        fixed = replace(case.settings.part(0, 1), first_area_ha=np.array([[100.0]]))
        worth.append(worth_of(case, case.river(rows_of_plan(case)), fixed).standing_aud.mean())
    risen = float((found.curves["held"].worth_aud_per_ml * 60.0).sum())
    assert risen == pytest.approx(worth[1] - worth[0], rel=1e-6)


@pytest.mark.parametrize(("area_ha", "range_ml"), [(-1.0, 100.0), (50.0, 0.0), (np.nan, 100.0)])
def test_last_megalitre_when_asked_wrongly_then_it_says_what_is_allowed(
    setting: FarmSetting, area_ha: float, range_ml: float
) -> None:
    """An area below 0, or no volume at all, is refused."""
    rivers = plain_rivers(setting.river(rows_of_plan(setting)[:5]))
    with pytest.raises(InputError, match="Allowed"):
        last_megalitre(setting, rivers, strategy=0, area_ha=area_ha, range_ml=range_ml)


def test_crossings_when_no_use_is_told_apart_then_none_is_named() -> None:
    """A change is named only where each use is best in its turn, beyond the errors."""
    at = np.array([50.0, 150.0, 250.0, 350.0])
    assert crossings_of([None, None, None, None], at) == ()
    assert crossings_of(["planted", None, None, None], at) == ()
    assert crossings_of(["planted", "planted", None, "planted"], at) == ()
    (found,) = crossings_of(["planted", "planted", None, "sold"], at)
    assert (found.best_before, found.best_after) == ("planted", "sold")
    assert found.volume_ml == 250.0


def test_leads_when_uses_differ_by_less_than_their_error_then_none() -> None:
    """Two uses: first 10 against 4 in every sequence, then apart by 1 with errors of 3 and more."""
    noise = np.random.default_rng(1).normal(0.0, 60.0, 400)
    even = np.zeros((1, 400))
    planted = np.concatenate([even, even + 10.0, even + 20.0 + noise])
    held = np.concatenate([even, even + 4.0, even + 13.0])
    of = plain_rivers([], 400).of
    assert leads(["planted", "held"], np.stack([planted, held]), of) == ("planted", None)


def test_leads_when_the_record_says_otherwise_then_none() -> None:
    """The draws agree, but on half of the resampled records the other use is ahead."""
    standing = np.zeros((2, 2, 40))
    standing[0, 1, :20] = 5.0
    standing[1, 1, 30:] = 5.0
    resampled = np.arange(40).reshape(4, 10)
    of = replace(plain_rivers([], 40).of, drawn=np.arange(20), resampled=resampled)
    assert leads(["planted", "held"], standing, of) == (None,)
    sure = replace(of, resampled=resampled[:2])
    assert leads(["planted", "held"], standing, sure) == ("planted",)


def test_last_megalitre_when_farm_is_whole_then_risk_is_told_beside_the_mean(
    setting: FarmSetting,
) -> None:
    """The worst tenth and missed payments per 100 ML, against running the farm twice."""
    rivers = plain_rivers(setting.river(rows_of_plan(setting)))
    found = last_megalitre(setting, rivers, strategy=0, area_ha=100.0, range_ml=300.0)
    curve = found.curves["held"]
    worth = []
    for more_ml in (0.0, 60.0):
        case = farm_case({"farm.opening.account_ml_per_share": 0.42 + more_ml / 3_000.0})
        fixed = replace(case.settings.part(0, 1), first_area_ha=np.array([[100.0]]))
        worth.append(worth_of(case, case.river(rows_of_plan(case)), fixed))
    risen = worst_mean(worth[1].standing_aud[0]) - worst_mean(worth[0].standing_aud[0])
    assert curve.worst_tenth[0].value == pytest.approx(float(risen) / 60.0, rel=1e-6)
    more = worth[1].payment_missed.mean() - worth[0].payment_missed.mean()
    assert curve.missed_per_100_ml[0].value == pytest.approx(more / 0.6)
    assert len(found.lead) == 5
