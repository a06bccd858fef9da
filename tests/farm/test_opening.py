"""May a run open in any month, with or without a crop in the ground, by any method?"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from model.decide.compare import compare
from model.decide.output import compare_json, outcomes_csv
from model.water_year import MONTH_NAMES, parse_month
from tests.farm_case import REMOVED, contract_record, farm_case, farm_months, farm_plan

COTTON: dict[str, Any] = {
    "crop": "cotton",
    "layout": "solid",
    "area_ha": 180.0,
    "soil_water_mm": 130.0,
    "spent_aud": 250_000.0,
}

IN_GROUND: dict[str, Any] = {
    "farm.opening.prepared_ha": 0.0,
    "farm.opening.crops": [COTTON],
    "farm.opening.land_spent_aud": 0.0,
}


def opening_in(k: int) -> dict[str, Any]:
    """Return the changes for a run that opens in a month of the water year 2025-26."""
    month = f"{2025 + (k > 5)}-{(k + 6) % 12 + 1:02d}"
    crop = IN_GROUND if 3 < k <= 9 else {}
    ready = {"farm.opening.prepared_ha": 200.0} if k in (0, 1, 2, 3) else {}
    return {"opening.month": month, "sequences.count": 12} | crop | ready


@pytest.mark.parametrize("k", range(12))
def test_run_when_it_opens_in_any_month_then_every_season_is_whole(k: int) -> None:
    """Land, yield and money are there for every season that the run still decides or finishes."""
    setting = farm_case(opening_in(k))
    opening, months = farm_months(setting)
    results = setting.results(
        setting.river(np.concatenate([b.rows for b in setting.valley.batches()]))
    )
    assert months[0].river.k == k
    after_planting = k > MONTH_NAMES.index("October")
    assert len(months) == 36 - k + 12 * after_planting  # a run holds whole decisions
    planted = results["area_planted_ha"]
    assert np.isfinite(planted[..., 1:]).all()
    if k <= 9:
        assert np.isfinite(planted[..., 0]).all()
    if 3 < k <= 9:
        assert (planted[..., 0] == 180.0).all()
        assert (results["bales"][..., 0] > 0.0).all()
        assert (results["crop_margin_aud"][..., 0] < results["bales"][..., 0] * 660.0).all()
    for name in ("closing_cash_aud", "receivable_aud", "lowest_cash_aud", "account_ml_per_share"):
        assert np.isfinite(results[name]).all(), name
    assert opening.planted_ha(setting.rules).shape == (3, 12)


@pytest.mark.parametrize(("k", "seasons"), [(6, 3), (8, 1), (10, 2)])
def test_compare_when_it_opens_in_any_month_then_files_are_written(k: int, seasons: int) -> None:
    """Odds and files come out whole also for a first season that is half over."""
    plan = farm_plan(opening_in(k) | {"sequences.seasons": seasons})
    found, results = compare(plan, contract_record())
    assert '"strategies"' in compare_json(found, None)
    assert "".join(outcomes_csv(found, results)).count("\n") == 1 + 3 * 12 * (seasons + 1)


def test_finish_when_asked_on_the_day_then_it_is_decided_in_the_first_month() -> None:
    """A run that opens in January with a crop in the ground begins with the finish decision."""
    setting = farm_case(
        opening_in(MONTH_NAMES.index("January"))
        | {"opening.account_ml_per_share": 0.1, "opening.storage_ml": 20_000.0}
    )
    _, months = farm_months(setting)
    field = months[0].end.fields[0]
    assert field is not None
    assert (field.watered_ha < 180.0).all()
    assert (field.sown_ha == 180.0).all()


def test_opening_when_crop_was_last_watered_before_then_yield_is_lost_to_date() -> None:
    """Last watered in November and opened in February, average weather has cost its part."""
    february = opening_in(MONTH_NAMES.index("February"))
    kept = {}
    for month in ("November", "December", "January"):
        crop = {key: value for key, value in COTTON.items() if key != "soil_water_mm"}
        changes = {"farm.opening.crops": [crop | {"last_watered_month": month}]}
        opening, _ = farm_months(farm_case(february | changes))
        field = opening.fields[0]
        assert field is not None
        kept[month] = float(field.watered.kept_frac[0, 0])
    assert kept["January"] == 1.0
    assert kept["November"] < kept["December"] - 0.05 < kept["January"] - 0.1


def test_opening_when_account_is_left_out_then_it_is_the_average_holders() -> None:
    """Own account and use are as the average holder's unless the farm's opening says."""
    average, _ = farm_months(farm_case({"sequences.count": 3}))
    assert (average.account_ml_per_share == 0.42).all()
    assert (average.used_last_year_ml_per_share == 0.85).all()
    own, _ = farm_months(
        farm_case(
            {
                "sequences.count": 3,
                "farm.opening.account_ml_per_share": 0.7,
                "farm.opening.used_last_year_ml_per_share": 0.3,
            }
        )
    )
    assert (own.account_ml_per_share == 0.7).all()
    assert (own.used_last_year_ml_per_share == 0.3).all()


def test_money_to_come_when_run_opens_then_it_falls_in_its_months_once() -> None:
    """Last crop's money still to come arrives in its calendar months of the first year, once."""
    to_come = [160_000.0, 95_000.0, *[0.0] * 10]
    setting = farm_case({"opening.month": "2025-07", "farm.opening.money_to_come_aud": to_come})
    received = setting.rules.cash.money_to_come_aud
    assert received[:2].tolist() == to_come[:2]
    assert received[2:].sum() == 0.0


@pytest.mark.parametrize(
    "missing", ["farm.storage", "farm.bore", "farm.supplementary", "farm.trade"]
)
def test_farm_when_it_lacks_a_part_then_it_still_runs(missing: str) -> None:
    """Storage, bore, supplementary licence and trade may each be left out."""
    changes = {missing: REMOVED, "farm.opening.storage_ml": 0.0, "sequences.count": 20}
    setting = farm_case(changes)
    _, months = farm_months(setting)
    assert all(np.isfinite(m.end.bank_aud).all() for m in months)


def test_compare_when_method_is_historical_then_every_start_is_played_once() -> None:
    """The index-sequential method has its own number of sequences; the rest is the same."""
    plan = farm_plan({"sequences.method": "historical"})
    found, results = compare(plan, contract_record())
    assert found.count == results["margin_aud"].shape[1]
    assert 100 < found.count < 140


def test_months_when_run_opens_in_september_then_the_calendar_is_the_plans() -> None:
    """The first month of a run is the plan's own."""
    setting = farm_case({"sequences.count": 2})
    assert setting.valley.calendar.opening_month == parse_month("2025-09")


@pytest.mark.parametrize("shares_ml", [4.0, 0.5])
def test_farm_when_it_has_next_to_no_shares_then_it_still_runs(shares_ml: float) -> None:
    """A farm of a few shares, with and without trade, plants by storage and bore, and compares."""
    small = {"farm.licence.general_security_shares_ml": shares_ml, "sequences.count": 20}
    for changes in (small, small | {"farm.trade": REMOVED}):
        found, results = compare(farm_plan(changes), contract_record())
        assert '"strategies"' in compare_json(found, None)
        for name in ("closing_cash_aud", "standing_aud", "water_left_aud"):
            assert np.isfinite(results[name]).all(), name
