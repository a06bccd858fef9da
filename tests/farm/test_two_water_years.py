"""A crop that stands in two water years: what it may count on, and what it earns a megalitre.

By hand; common practice, no source.
"""

from __future__ import annotations

import itertools
from functools import cache

import numpy as np
import pytest

from model.farm.crops import CropCalendar
from model.farm.measures import measures_of, of_layout
from model.farm.run import FarmMonth, gather_farm
from model.farm.setting import FarmSetting
from model.farm.sight import water_in_sight_ml
from model.farm.state import FarmState
from model.farm.water_ahead import water_ahead
from tests.farm.test_twin import WINTER_WHEAT, crops_with
from tests.farm_case import farm_case, farm_months

MAY, JUNE, JULY, OCTOBER, MARCH = 10, 11, 0, 3, 8
WHEAT = {"crop": "winter wheat", "layout": "irrigated"}


@cache
def played() -> tuple[FarmSetting, FarmState, list[FarmMonth]]:
    """Play a farm that waters wheat from May to October, on a full dam."""
    setting = farm_case(
        {
            "sequences.count": 20,
            "opening.storage_ml": 300_000.0,
            "farm.crops": crops_with(**{"winter wheat": WINTER_WHEAT}),
            "strategies.0.grow": [{"crop": "cotton", "layout": "solid"}, WHEAT],
            "valley.accounts.carryover_limit_ml_per_share": 0.3,
            "valley.accounts.carryover_loss_frac": 0.1,
        }
    )
    opening, months = farm_months(setting)
    return setting, opening, months


def test_months_ahead_when_a_crop_is_watered_past_june_then_both_years_are_counted() -> None:
    """Sown in May, watered to October: 2 months of this water year, 4 of the next; cotton: 6."""
    loss_ml = np.arange(12.0)
    wheat = water_ahead(CropCalendar(MAY, 20, OCTOBER, 4, 5), loss_ml)
    cotton = water_ahead(CropCalendar(OCTOBER, 15, MARCH, 9, 5), loss_ml)
    assert wheat is not None
    assert cotton is not None
    assert [wheat.months_this_year[k] for k in (MAY, JUNE, JULY, OCTOBER)] == [2, 1, 4, 1]
    assert [wheat.months_next_year[k] for k in (MAY, JUNE, JULY, OCTOBER)] == [4, 4, 0, 0]
    assert wheat.storage_loss_ml[MAY] == 11 + 0 + 1 + 2 + 3
    assert [cotton.months_this_year[k] for k in (OCTOBER, MARCH)] == [6, 1]
    assert not cotton.months_next_year.any()
    assert cotton.storage_loss_ml[OCTOBER] == 4 + 5 + 6 + 7 + 8
    assert water_ahead(CropCalendar(MAY, 20, None, 4, 5), loss_ml) is None


def test_sight_when_wheat_is_sown_in_may_then_as_by_hand() -> None:
    """Account carried over (0.3 at most, less a tenth), storage less losses, bore of both years."""
    setting, _, months = played()
    rules = setting.rules
    april, may = next(two for two in itertools.pairwise(months) if two[1].river.k == MAY)
    before = april.end
    ahead = rules.ahead[rules.place_of("winter wheat", "irrigated")]
    assert ahead is not None
    none = np.zeros_like(before.bank_aud)
    found = water_in_sight_ml(
        before, none, setting.settings, may.river, None, rules, ahead=ahead, holding=False
    )
    own = before.account_ml_per_share * (1.0 - may.river.account_loss_ahead_frac)
    left = 3.0 - before.used_this_year_ml_per_share - before.used_last_year_ml_per_share
    account = np.minimum(np.minimum(own, 0.3) * 0.9, np.minimum(1.25, left))
    bore_ml = np.minimum(200.0 - before.bore_used_ml, 2 * 40.0) + min(200.0, 4 * 40.0)
    stored_ml = np.maximum(0.0, before.storage_ml - ahead.storage_loss_ml[MAY])
    assert found == pytest.approx(account * 3_000.0 + bore_ml + stored_ml)
    assert (found > 0.0).all()


def test_margin_when_wheat_drinks_in_two_water_years_then_it_is_over_all_its_water() -> None:
    """What it drank from May on, of the year before, is in the megalitres of its harvest."""
    setting, opening, months = played()
    at = setting.rules.place_of("winter wheat", "irrigated")
    calendar = setting.valley.calendar
    found = measures_of(
        gather_farm(opening, iter(months), calendar, setting.rules), setting.rules, calendar
    )
    drunk, by_hand = np.zeros_like(opening.bank_aud), {}
    for month in months:
        used_ml, harvested = month.fluxes.watering.used_ml[at], month.fluxes.crops.harvested[at]
        if month.river.k == MAY:
            drunk = np.zeros_like(drunk)
        drunk = drunk if used_ml is None else drunk + used_ml
        if harvested is not None:
            by_hand[month.river.season] = drunk, harvested.margin_aud
    told = of_layout(found, "margin_aud_per_ml", at)
    assert len(by_hand) == 2
    for season, (ml, margin_aud) in by_hand.items():
        watered = ml[0] > 0.0
        assert watered.any()
        assert told[0, watered, season] == pytest.approx(margin_aud[0, watered] / ml[0, watered])
        in_one_year = found[f"water_used_ml of {at}"][0, watered, season]
        assert (ml[0, watered] - in_one_year != 0.0).any()
