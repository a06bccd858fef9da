"""The driest stretches on record, and what they do to a farm that meets them."""

from dataclasses import replace
from itertools import takewhile

import numpy as np
import pytest

from dashboard.findings.this_season import driest_finding, driest_frame
from model.decide.compare import play_rows
from model.decide.driest import driest_stretches
from model.decide.dry_cases import dry_cases
from model.decide.one_area import outcome_of_area
from model.decide.rivers import rivers_of
from model.decide.strategy import strategies_of
from model.farm.run import run_farm
from model.farm.setting import FarmSetting, farm_setting_of
from model.say.measures import MEASURES
from model.say.numbers import money
from model.sequences.draw import Calendar
from model.water_year import parse_month, water_year_label
from tests.farm_case import REMOVED, contract_record, farm_plan

JULY_1990 = parse_month("1990-07")
MIDDLE = 1
PLANTING_K = 3  # October
AREAS_HA = (0.0, 60.0, 120.0)


@pytest.mark.parametrize("opening", ["1990-07", "1990-10", "1991-03"])
def test_driest_stretches_when_found_then_no_run_of_the_record_begins_drier(opening: str) -> None:
    """Each count of seasons against every run that the record holds, one by one."""
    record, calendar = contract_record(), Calendar(parse_month(opening), 3)
    stretches, rows = driest_stretches(record, calendar)
    first = (calendar.opening_month - record.first_month) % 12
    starts = range(first, record.months - calendar.months + 1, 12)
    counted = []
    for stretch, of_run in zip(stretches, rows, strict=True):
        assert (np.diff(of_run) == 1).all()
        assert of_run[-1] < record.months
        assert stretch.observed_in[0] == water_year_label(record.first_month + int(of_run[0]))
        for seasons in stretch.dry_seasons:
            months = Calendar(calendar.opening_month, seasons).months
            totals = [record.inflow_ml[start : start + months].sum() for start in starts]
            assert record.inflow_ml[of_run[:months]].sum() == pytest.approx(min(totals))
            counted.append(seasons)
    assert sorted(counted) == [1, 2, 3]
    assert len(set(rows[:, 0].tolist())) == len(stretches)


def test_driest_stretches_when_no_run_fits_then_there_are_none() -> None:
    """A run longer than the record cannot be met again."""
    stretches, rows = driest_stretches(contract_record(), Calendar(JULY_1990, 500))
    assert stretches == ()
    assert rows.shape[0] == 0


def _ready(**changes: object) -> FarmSetting:
    plan = farm_plan({key.replace("__", "."): value for key, value in changes.items()})
    return farm_setting_of(plan, contract_record(), strategies_of(plan))


def test_driest_when_met_by_an_area_then_it_is_as_the_strategy_that_plants_it() -> None:
    """The comparison's way through the farm gives the same on the same observed months."""
    sure = {
        f"strategies.{MIDDLE}.{key}": value
        for key, value in {
            "smallest_area_ha": 0.0,
            "grow": [{"crop": "cotton", "layout": "solid", "planned_water_ml_per_ha": 0.01}],
            "hold_back_ml_per_share": 0.2,
        }.items()
    }
    setting = _ready(**sure, farm__opening__prepared_ha=60.0)
    found = outcome_of_area(setting, rivers_of(setting), strategy=MIDDLE, area_ha=60.0)
    stretches, rows = driest_stretches(setting.valley.record, setting.valley.calendar)
    theirs = play_rows(setting, rows)
    assert [met.stretch for met in found.driest] == list(stretches)
    for at, met in enumerate(found.driest):
        for season, mine in enumerate(met.seasons):
            place = MIDDLE, at, season
            assert mine.finished_ha == pytest.approx(theirs["area_finished_ha"][place], nan_ok=True)
            assert mine.margin_aud == pytest.approx(theirs["margin_aud"][place])
            assert mine.lowest_cash_aud == pytest.approx(theirs["lowest_cash_aud"][place])
            assert mine.payment_missed == (theirs["payments_missed"][place] > 0.0)


def test_driest_until_the_crop_pays_then_more_planted_leaves_less_cash() -> None:
    """Costs come months before money: in each month from planting on, more land, less in the bank.

    Over the whole season it need not be so: a hectare that water finishes earns more than it cost,
    and with nothing planted June's loan payment falls due all the same.
    """
    setting = _ready()
    _, rows = driest_stretches(setting.valley.record, setting.valley.calendar)
    river = setting.river(rows)
    of_areas = replace(
        setting.settings.one(MIDDLE).repeated(len(AREAS_HA)),
        first_area_ha=np.array(AREAS_HA)[:, None],
    )
    opening = setting.opening(river, of_areas.count)
    paid_in = setting.rules.layouts[setting.rules.crop.places[0]].harvest_k
    months = run_farm(opening, of_areas, river, setting.expectation, setting.rules)
    unpaid = [
        m for m in takewhile(lambda m: m.river.k != paid_in, months) if m.river.k >= PLANTING_K
    ]
    assert len(unpaid) == 6  # October to March
    for month in unpaid:
        assert (np.diff(month.end.bank_aud, axis=0) < 0.0).all()


def test_driest_when_there_is_no_water_then_more_planted_falls_lower() -> None:
    """Nothing announced, in storage or from a bore: a hectare costs more than it earns."""
    setting = _ready(
        opening__storage_ml=8_000.0,
        opening__account_ml_per_share=0.0,
        opening__announced_to_date_ml_per_share=0.0,
        farm__opening__storage_ml=0.0,
        farm__bore=REMOVED,
        farm__supplementary=REMOVED,
        farm__licence__high_security_shares_ml=0.0,
    )
    rivers = rivers_of(setting)
    first = [
        outcome_of_area(setting, rivers, strategy=MIDDLE, area_ha=area).driest[-1].seasons[0]
        for area in AREAS_HA
    ]
    assert all(season.announced_ml_per_share == 0.0 for season in first)
    lowest_aud = [season.lowest_cash_aud for season in first]
    assert (np.diff(lowest_aud) < 0.0).all()


def test_driest_when_said_then_years_areas_and_missed_payments_are_the_numbers() -> None:
    """The sentence and the table name the observed years and what each season did."""
    setting = _ready()
    met = outcome_of_area(setting, rivers_of(setting), strategy=MIDDLE, area_ha=60.0).driest
    said, frame = driest_finding(met), driest_frame(met)
    assert met[-1].stretch.observed_in[0] in said
    assert f"{met[-1].seasons[0].finished_ha:,.0f} ha in {met[-1].seasons[0].water_year}" in said
    lowest = [min(season.lowest_cash_aud for season in each.seasons) for each in met]
    assert f"falls to {money(min(lowest))}" in said
    told = [met[-1]] if lowest[-1] == min(lowest) else [met[-1], met[int(np.argmin(lowest))]]
    missed = [s.water_year for each in told for s in each.seasons if s.payment_missed]
    assert all(year in said for year in missed)
    assert ("missed in" in said) == bool(missed)
    heading = MEASURES["lowest_cash_aud"].heading
    followed = sum(row == "after" for row in frame["Dry run"])
    assert followed == sum(len(each.seasons) - each.stretch.dry_seasons[-1] for each in met)
    assert len(frame) == sum(len(each.seasons) for each in met)
    lowest = [round(season.lowest_cash_aud / 1e3) for each in met for season in each.seasons]
    told_thousands = [
        text.replace(",", "").replace("\N{MINUS SIGN}", "-") for text in frame[heading]
    ]
    assert [int(text) for text in told_thousands] == lowest


def test_dry_cases_when_an_area_is_chosen_then_they_are_as_the_area_meets_them() -> None:
    """The same stretches, played another way, season by season; and two seasons of nothing."""
    setting = _ready(**{f"strategies__{MIDDLE}__first_area_ha": 60.0})
    *observed, nothing = dry_cases(setting, MIDDLE)
    met = outcome_of_area(setting, rivers_of(setting), strategy=MIDDLE, area_ha=60.0).driest
    assert [case.seasons for case in observed] == [each.seasons for each in met]
    assert [case.stretch for case in observed] == [each.stretch for each in met]
    assert nothing.stretch is None
    announced = [season.announced_ml_per_share for season in nothing.seasons]
    assert announced[:2] == [0.0, 0.0]
    assert announced[2] > 0.0
    assert nothing.announced_ml[2] == announced[2] * setting.rules.cash.shares_ml
    assert nothing.lowest_cash_aud == min(season.lowest_cash_aud for season in nothing.seasons)
