"""The yardstick of planting: order of rule, programme and foresight, and cases worked by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from model.decide.optimum import (
    FarmProgramme,
    Yardstick,
    fit_programme,
    foresight_aud,
    measure,
)
from model.decide.yearly import Rule, YearlyCases, YearlyFarm, YearWater, play

FloatArray = NDArray[np.float64]

FARM = YearlyFarm(
    shares_ml=3_000.0,
    land_ha=300.0,
    account_limit_ml_per_share=1.5,
    use_limit_ml_per_share=1.25,
    full_yield_bales_per_ha=11.0,
    bale_aud=557.0,
    planted_aud_per_ha=2_400.0,
    unplanted_aud_per_ha=150.0,
    usage_aud_per_ml=30.0,
    end_aud_per_ml=150.0,
)


GAINED = ("gained_quarter_frac", "gained_half_frac", "gained_three_quarters_frac")


def year_water(values: tuple[float, ...], gained: tuple[float, float, float]) -> YearWater:
    """Return the water of one year of one sequence."""
    return YearWater(*(np.array([value]) for value in (*values, *gained)))


def made_cases(seed: int, sequences: int, seasons: int = 3) -> YearlyCases:
    """Draw sequences of an invented valley whose dam and dry or wet regime are all its memory."""
    rng = np.random.default_rng(seed)
    dam_frac = np.empty((sequences, seasons))
    dry = np.empty((sequences, seasons), dtype=bool)
    columns = {name: np.empty((sequences, seasons)) for name in YearWater._fields}
    dam, is_dry = rng.uniform(0.1, 0.7, sequences), rng.random(sequences) < 0.5
    for season in range(seasons):
        dam_frac[:, season], dry[:, season] = dam, is_dry
        is_dry = rng.random(sequences) < np.where(is_dry, 0.7, 0.4)
        inflow = rng.gamma(2.0, np.where(is_dry, 0.10, 0.30))
        columns["early_kept_frac"][:, season] = 0.96
        columns["early_ml_per_share"][:, season] = np.clip(0.5 * (dam + inflow - 0.3), 0.0, 1.0)
        columns["other_ml"][:, season] = 100.0
        columns["need_ml_per_ha"][:, season] = rng.uniform(6.0, 9.0, sequences)
        columns["rain_alone_frac"][:, season] = 0.23
        for name, gained in zip(GAINED, (0.25, 0.5, 0.75), strict=True):
            columns[name][:, season] = gained
        columns["late_limit_ml_per_share"][:, season] = 1.5
        columns["late_kept_frac"][:, season] = 0.90
        columns["late_ml_per_share"][:, season] = np.clip(0.6 * (inflow - 0.3), 0.0, 0.6)
        dam = np.clip(0.55 * dam + inflow - 0.15, 0.02, 1.0)
    return YearlyCases(dam_frac, dry, YearWater(**columns), rng.uniform(0.0, 0.8, sequences))


def counting_rule(cases: YearlyCases, counted: float, held: float) -> Rule:
    """Plant what the account and a part of a usual further allocation carry, less what is held."""

    def area_ha(season: int, account: FloatArray) -> FloatArray:
        expected = np.clip(0.5 * (cases.dam_frac[:, season] + 0.2 - 0.3), 0.0, 1.0)
        in_sight = np.maximum(0.0, account + counted * expected - held)
        return in_sight * FARM.shares_ml / 7.0

    return area_ha


def ways(cases: YearlyCases) -> dict[str, Rule]:
    """Return rules from planting all to planting little."""
    return {
        "all": lambda season, account: np.full_like(account, FARM.land_ha),
        "bold": counting_rule(cases, 1.5, 0.0),
        "middle": counting_rule(cases, 0.8, 0.0),
        "cautious": counting_rule(cases, 0.3, 0.1),
        "holding": counting_rule(cases, 0.0, 0.3),
    }


def assert_in_order(found: Yardstick) -> None:
    """Check rule <= programme <= foresight, within four standard errors of the difference."""
    for way in found.ways.values():
        assert way.behind_programme_aud >= -4.0 * way.behind_programme_error_aud
    above = -found.foresight.behind_programme_aud
    assert above >= -4.0 * found.foresight.behind_programme_error_aud


def test_year_when_worked_by_hand_then_margin_and_account() -> None:
    """One year of one farm by hand: half the need met, and what is left carried."""
    water = year_water((1.0, 0.25, 50.0, 8.0, 0.23, 1.5, 0.9, 0.2), (0.25, 0.5, 0.75))
    # 0.5 + 0.25 ML a share of 3,000 and 50 ML are 2,300 ML; 300 ha ask for 2,400 ML
    short = FARM.year(np.array([0.5]), np.array([300.0]), water)
    met = 2_300.0 / 2_400.0
    bales = 11.0 * (0.23 + 0.77 * met)
    assert short.margin_aud == pytest.approx([300.0 * (bales * 557.0 - 2_400.0) - 2_300.0 * 30.0])
    assert short.account_ml_per_share == pytest.approx([0.2])
    # 100 ha ask for 800 ML, of which 50 are other water: 0.25 ML a share of own
    full = FARM.year(np.array([0.5]), np.array([100.0]), water)
    assert full.margin_aud == pytest.approx(
        [100.0 * (11.0 * 557.0 - 2_400.0) + 200.0 * 150.0 - 800.0 * 30.0]
    )
    assert full.account_ml_per_share == pytest.approx([0.5 * 0.9 + 0.2])


def test_year_when_the_need_is_half_met_then_yield_follows_the_farms_curve() -> None:
    """What water adds runs along the curve given: at half the need, here three tenths of it."""
    farm = replace(FARM, usage_aud_per_ml=0.0)
    water = year_water((1.0, 0.0, 0.0, 8.0, 0.2, 1.5, 1.0, 0.0), (0.1, 0.3, 0.7))
    found = farm.year(np.array([0.4]), np.array([300.0]), water)  # 1,200 of 2,400 ML
    assert found.margin_aud == pytest.approx([300.0 * (11.0 * (0.2 + 0.8 * 0.3) * 557.0 - 2_400.0)])
    found = farm.year(np.array([0.7]), np.array([300.0]), water)  # 2,100: seven eighths
    assert found.margin_aud == pytest.approx(
        [300.0 * (11.0 * (0.2 + 0.8 * 0.85) * 557.0 - 2_400.0)]
    )


def test_year_when_account_is_full_then_more_is_forfeited() -> None:
    """An account holds no more than its limit, at the season's end and at the next planting."""
    water = year_water((1.0, 1.0, 0.0, 8.0, 0.23, 1.5, 1.0, 1.0), (0.25, 0.5, 0.75))
    found = FARM.year(np.array([1.4]), np.array([0.0]), water)
    assert found.account_ml_per_share == pytest.approx([1.5])
    low = water._replace(late_limit_ml_per_share=np.array([0.3]), late_ml_per_share=np.array([0.1]))
    found = FARM.year(np.array([1.4]), np.array([0.0]), low)
    assert found.account_ml_per_share == pytest.approx([0.4])


def test_measure_when_valley_is_known_then_rule_programme_foresight_in_order() -> None:
    """On the same sequences: every rule <= programme <= foresight, within standard error."""
    played = made_cases(2, 2_000)
    found = measure(FARM, made_cases(1, 2_000), played, ways(played))
    assert_in_order(found)
    assert 0.0 < found.ways["middle"].share_of_foresight_frac < 1.0
    assert found.programme.share_of_programme_frac == pytest.approx(1.0)
    assert found.programme.share_of_foresight_frac < 0.99


def test_measure_when_programme_has_another_objective_then_out_of_order() -> None:
    """The order can fail: a programme that thinks cotton worthless loses to plain rules."""
    played = made_cases(2, 2_000)
    wrong = fit_programme(replace(FARM, bale_aud=100.0), made_cases(1, 2_000))
    best = play(FARM, played, wrong.rule(played))
    middle = play(FARM, played, ways(played)["middle"])
    behind = best - middle
    assert behind.mean() < -4.0 * behind.std() / np.sqrt(behind.size)


def test_fit_when_end_is_worth_nothing_then_less_is_left_at_the_end() -> None:
    """Without a worth of the end, the programme drains the account in the last season."""
    training, played = made_cases(1, 1_500), made_cases(2, 1_500)

    def planted_last(end_aud_per_ml: float) -> float:
        farm = replace(FARM, end_aud_per_ml=end_aud_per_ml)
        rule = fit_programme(farm, training).rule(played)
        return float(rule(2, np.full(1_500, 0.6)).mean())

    assert planted_last(0.0) > planted_last(600.0) + 10.0


def test_fit_when_water_is_always_full_then_all_land_is_planted() -> None:
    """With water always full the programme plants every hectare, and foresight adds nothing."""
    cases = made_cases(1, 300)
    full = replace(
        cases,
        water=cases.water._replace(
            early_ml_per_share=np.full((300, 3), 1.25), need_ml_per_ha=np.full((300, 3), 7.0)
        ),
    )
    programme = fit_programme(FARM, full)
    for season in range(3):
        assert programme.area_ha[season] == pytest.approx(
            np.full(programme.area_ha[season].size, FARM.land_ha)
        )
    worth = play(FARM, full, programme.rule(full))
    assert foresight_aud(FARM, full) == pytest.approx(worth, rel=1e-3)


def test_fit_when_there_is_no_money_then_worth_is_nothing() -> None:
    """Zero price and zero cost give zero worth, whatever is planted."""
    poor = replace(
        FARM,
        bale_aud=0.0,
        planted_aud_per_ha=0.0,
        unplanted_aud_per_ha=0.0,
        usage_aud_per_ml=0.0,
        end_aud_per_ml=0.0,
    )
    cases = made_cases(3, 50)
    assert not play(poor, cases, ways(cases)["bold"]).any()
    assert not foresight_aud(poor, cases).any()


def test_programme_when_one_season_and_no_end_worth_then_the_critical_fractile() -> None:
    """In one season the programme is the newsvendor: plant the quantile of supply (textbook)."""
    rng = np.random.default_rng(4)
    cases = made_cases(5, 4_000, seasons=1)
    supply_ha = rng.uniform(50.0, 200.0, (4_000, 1))
    water = cases.water._replace(
        early_kept_frac=np.zeros((4_000, 1)),
        early_ml_per_share=np.zeros((4_000, 1)),
        other_ml=supply_ha * 4.0,
        need_ml_per_ha=np.full((4_000, 1), 4.0),
        rain_alone_frac=np.zeros((4_000, 1)),
    )
    cases = replace(cases, dam_frac=np.full((4_000, 1), 0.5), dry=cases.dry & False, water=water)
    farm = replace(
        FARM,
        full_yield_bales_per_ha=1.0,
        bale_aud=1_500.0,
        planted_aud_per_ha=600.0,
        unplanted_aud_per_ha=0.0,
        usage_aud_per_ml=0.0,
        end_aud_per_ml=0.0,
    )
    programme: FarmProgramme = fit_programme(farm, cases)
    # the cases that stand for a year are a sample: their own 0.6 quantile, to a step of the grid
    stand_for = np.quantile(supply_ha[:60, 0], 0.6)
    assert programme.area_ha[0] == pytest.approx(
        np.full(programme.area_ha[0].size, stand_for), abs=10.0
    )


def test_best_constant_area_when_searched_then_no_other_of_the_grid_earns_more() -> None:
    """Chosen on the training sequences, measured on those played, and behind the programme."""
    training, played = made_cases(1, 1_000), made_cases(2, 1_000)
    found = measure(FARM, training, played, {})
    best_ha = found.constant.area_ha
    earned = {
        area: float(play(FARM, training, lambda season, account, a=area: account * 0.0 + a).mean())
        for area in np.linspace(0.0, 300.0, 31).tolist()
    }
    assert earned[best_ha] == max(earned.values())
    assert 0.0 < best_ha < 300.0
    own = play(FARM, played, lambda season, account: account * 0.0 + best_ha).mean()
    assert found.constant.reached.mean_aud == pytest.approx(float(own))
    behind = found.constant.reached
    assert behind.behind_programme_aud >= -4.0 * behind.behind_programme_error_aud
    assert behind.share_of_programme_frac < 1.0


def test_rule_when_the_future_changes_then_its_area_does_not() -> None:
    """What comes after planting cannot move what the programme plants."""
    programme = fit_programme(FARM, made_cases(1, 500))
    played = made_cases(2, 200)
    account = np.full(200, 0.4)
    before = programme.rule(played)(0, account)
    after = replace(
        played,
        dam_frac=np.column_stack([played.dam_frac[:, 0], 1.0 - played.dam_frac[:, 1:]]),
        dry=np.column_stack([played.dry[:, 0], ~played.dry[:, 1:]]),
        water=YearWater(*(values * 0.5 for values in played.water)),
    )
    assert programme.rule(after)(0, account) == pytest.approx(before)
