"""The plan's strategies against the best on the yearly farm, on the invented example farm."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from model.decide.how_good import how_good, strategy_rules
from model.decide.optimum import Yardstick, fit_programme
from model.decide.output import how_good_table
from model.decide.yearly import gained_frac
from model.decide.yearly_of import (
    main_growing,
    season_of,
    was_dry,
    yearly_cases_of,
    yearly_farm_of,
)
from model.farm.expected import training_sequences
from model.farm.setting import FarmSetting, farm_setting_of
from model.plan.demonstration import demonstration
from model.say.how_good import how_good_in_words
from model.sequences.slices import Sequences
from model.water_year import parse_month
from tests.farm_case import REMOVED, farm_case, raw_plan, rows_of_plan

AS_ON_THE_YEARLY_FARM = {
    "farm.storage": REMOVED,
    "farm.opening.storage_ml": 0.0,
    "farm.opening.prepared_ha": 300.0,
    "valley.accounts.use_limit_3yr_ml_per_share": REMOVED,
    "opening.used_this_year_ml_per_share": 0.0,
    "farm.opening.bore_used_ml": 0.0,
    **{f"strategies.{at}.buy_up_to_ml": 0.0 for at in range(3)},
}


@cache
def measured(name: str) -> Yardstick:
    """Measure the example strategies in one of the contract's valleys."""
    setting = farm_case({"sequences.count": 1_000}, name)
    found = how_good(setting)
    assert found is not None
    return found


@pytest.mark.parametrize("name", ["plan", "plan_dry", "plan_spillable"])
def test_how_good_when_example_farm_then_rule_programme_foresight_in_order(name: str) -> None:
    """Each strategy <= programme <= foresight on the same sequences, within standard error."""
    found = measured(name)
    for way in found.ways.values():
        assert way.behind_programme_aud >= -4.0 * way.behind_programme_error_aud
        assert 0.3 < way.share_of_foresight_frac < 1.0
    above_aud = -found.foresight.behind_programme_aud
    assert above_aud >= -4.0 * found.foresight.behind_programme_error_aud
    assert list(found.ways) == ["A season in hand", "Some on trust", "Plant on the odds"]


def test_how_good_when_the_run_opens_after_planting_then_none() -> None:
    """With the crop in the ground there is no planting to measure from."""
    setting = farm_case(
        {"opening.month": "2026-01", "sequences.count": 20, "farm.opening": REMOVED}
    )
    assert how_good(setting) is None


def test_strategy_rules_when_nothing_is_left_out_then_first_area_as_the_monthly_farm() -> None:
    """Where the yearly farm leaves nothing out, the first season's area is the monthly farm's."""
    setting = farm_case(AS_ON_THE_YEARLY_FARM)
    rows = rows_of_plan(setting)
    river = setting.river(rows)
    cases = yearly_cases_of(setting, river, rows)
    monthly_ha = setting.results(river)["area_planted_ha"][:, :, 0]
    rules = strategy_rules(setting, river)
    for at, rule in enumerate(rules.values()):
        assert rule(0, cases.opening_ml_per_share) == pytest.approx(monthly_ha[at], rel=0.01)
    assert monthly_ha.min() < 0.95 * setting.rules.crop.land_limit_ha


def test_yearly_cases_when_one_season_is_summed_by_hand_then_alike() -> None:
    """Water before and after the end of watering, need and dam, from the months themselves."""
    setting = farm_case()
    rows = rows_of_plan(setting)
    river = setting.river(rows)
    cases = yearly_cases_of(setting, river, rows)
    assert cases.seasons == 3
    # the run opens in September: October is month 1, March month 6, the next October month 13
    early = sum(river[t].announced_ml_per_share for t in range(2, 7))
    late = sum(river[t].announced_ml_per_share for t in range(7, 14))
    to_the_end = sum(river[t].announced_ml_per_share for t in range(31, 34))
    assert cases.water.early_ml_per_share[:, 0] == pytest.approx(early)
    assert cases.water.late_ml_per_share[:, 0] == pytest.approx(late)
    assert cases.water.late_ml_per_share[:, 2] == pytest.approx(to_the_end)
    assert cases.dam_frac[:, 1] == pytest.approx(river[13].storage_frac)
    # every month average here: 111 mm of the fallow's 506 stored, then 7.885 ML/ha (see anchors)
    assert cases.water.need_ml_per_ha == pytest.approx(7.88, abs=0.01)
    assert cases.water.rain_alone_frac == pytest.approx(2.7 / 12.0, abs=0.02)


@cache
def shipped_farm() -> FarmSetting:
    """Prepare the demonstration's farm."""
    plan, record = demonstration()
    return farm_setting_of(plan.with_drawing(method="blocks", count=1_000), record, plan.strategies)


@pytest.mark.parametrize("part", [0.25, 0.6, 0.9])
def test_yearly_yield_when_part_of_the_need_is_met_then_as_the_farms_own_response(
    part: float,
) -> None:
    """In each year's own weather: as it is at quarters of the need, within 0.03 between."""
    setting = shipped_farm()
    rows = setting.valley.first_sequences(200)
    river = setting.river(rows)
    water = yearly_cases_of(setting, river, rows).season(1)
    months, growing = river[13:25], main_growing(setting.rules)
    whole = season_of(months, growing, np.full(200, np.inf)).used_ml_per_ha
    own = season_of(months, growing, whole * part).kept_frac
    gained = gained_frac(np.full(200, part), water)
    yearly = water.rain_alone_frac + (1.0 - water.rain_alone_frac) * gained
    assert yearly.mean() == pytest.approx(own.mean(), abs=0.03)
    if part == 0.25:
        assert yearly == pytest.approx(own, abs=0.005)


def test_how_good_when_demonstration_then_no_area_for_all_years_is_as_good_as_the_best_rule() -> (
    None
):
    """The yardstick bites: foresight, best rule, every strategy, and well below the best area."""
    found = how_good(shipped_farm())
    assert found is not None
    for way in (*found.ways.values(), found.constant.reached):
        assert way.behind_programme_aud > -4.0 * way.behind_programme_error_aud
    assert found.foresight.mean_aud > found.programme.mean_aud
    assert found.constant.reached.share_of_programme_frac < 0.95


def test_was_dry_when_over_the_whole_record_then_half_the_time() -> None:
    """Below its own median, a year is dry in half the record, whatever the record."""
    setting = farm_case()
    record = setting.valley.record
    opening = parse_month("2025-09")
    rows = record.slice_starts(opening)[:, None] + np.arange(12)
    sequences = Sequences(rows.astype(np.intp))
    assert was_dry(setting, sequences, 12).mean() == pytest.approx(0.5, abs=0.02)


def test_areas_when_what_comes_after_planting_is_replaced_then_unchanged() -> None:
    """No strategy and no programme sees past the month of planting."""
    setting = farm_case()
    rows = rows_of_plan(setting)
    other = rows.copy()
    other[:, 2:] = rows[::-1, 2:]
    learnt_from = training_sequences(setting.valley)
    training = yearly_cases_of(setting, setting.river(learnt_from), learnt_from)
    programme = fit_programme(yearly_farm_of(setting.rules), training)
    areas = []
    for played in (rows, other):
        river = setting.river(played)
        cases = yearly_cases_of(setting, river, played)
        account = cases.opening_ml_per_share
        rules = strategy_rules(setting, river)
        areas.append([rule(0, account) for rule in (*rules.values(), programme.rule(cases))])
    assert np.array_equal(areas[0], areas[1])


def test_programme_when_water_held_over_keeps_whole_then_less_is_planted_at_the_same_water() -> (
    None
):
    """Published in kind: who does not bear the evaporation of what is held over holds more of it.

    One valley, one season's losses: only what a year's end takes of the account differs. So in no
    case is more planted; less in some, where land and plenty do not decide the area by themselves.
    """
    setting = farm_case({}, "plan_dry")
    learnt_from = training_sequences(setting.valley)
    borne = yearly_cases_of(setting, setting.river(learnt_from), learnt_from)
    whole = borne.water._replace(late_kept_frac=np.ones_like(borne.water.late_kept_frac))
    planted_ha = {}
    for mode, cases in (("borne", borne), ("shared", replace(borne, water=whole))):
        rule = fit_programme(yearly_farm_of(setting.rules), cases).rule(cases)
        account = np.linspace(0.1, 1.1, cases.opening_ml_per_share.size)
        planted_ha[mode] = np.stack([rule(season, account) for season in (0, 1)])
    assert borne.water.late_kept_frac.mean() < 0.97
    less_ha = planted_ha["borne"] - planted_ha["shared"]
    assert (less_ha >= 0.0).all()
    assert (less_ha > 1.0).mean() > 0.05


def test_how_good_table_when_written_then_shares_errors_and_what_is_left_out() -> None:
    """The table holds every way with its errors; the words say what the yearly farm leaves out."""
    found = measured("plan")
    table = how_good_table(found)
    assert table is not None
    assert [way["name"] for way in table["strategies"]] == list(found.ways)
    first = table["strategies"][0]
    assert first["share_of_foresight_frac"] == found.ways[first["name"]].share_of_foresight_frac
    assert first["error_aud"] > 0.0
    assert table["best_constant_area"]["area_ha"] == found.constant.area_ha
    said = how_good_in_words(found)
    assert "A season in hand" in said
    assert f"at best {found.constant.area_ha:.0f} ha" in said
    assert "trade in water" in said


def test_how_good_table_when_no_way_gains_then_no_share() -> None:
    """Where cotton never pays there is nothing to have a share of: None, never a number."""
    crops = raw_plan()["farm"]["crops"]
    crops[0]["price_aud_per_unit"] = 0.0
    found = how_good(farm_case({"sequences.count": 30, "farm.crops": crops}))
    assert found is not None
    table = how_good_table(found)
    assert table is not None
    assert table["best_rule"]["share_of_foresight_frac"] is None
    assert "no way of planting gains" in how_good_in_words(found)


def test_how_good_table_when_it_cannot_be_measured_then_says_why() -> None:
    """A run that opens after planting has no yardstick, and says so."""
    assert how_good_table(None) is None
    assert "after planting" in how_good_in_words(None)
