"""What may be expected, and what water costs, where capacity is shared: sums written out.

Derived here from the contract's plan of capacity sharing: nothing is announced, a month's water is
credited at its end and may be used from the next month on.
"""

from __future__ import annotations

import numpy as np
import pytest

from model.farm.expected import training_cases
from model.farm.price import KnownSupply, PriceRules, SeasonSupply, known_supply, price_aud_per_ml
from model.outlook.setting import Setting, setting_of
from model.valley.run import Month, run
from model.valley.state import forcing_of, opening_state
from model.water_year import month_of_water_year
from tests.farm_case import contract_record, farm_plan

OCTOBER, FEBRUARY = 3, 7
AT_GATE = 0.8 / 60_000.0
"""ML a share that an ML in the dam makes: a fifth is lost on the way to 60,000 shares."""


@pytest.fixture(scope="module", name="played")
def _played() -> tuple[Setting, list[Month]]:
    """Two sequences of 22 months from the opening in September."""
    setting = setting_of(farm_plan({"sequences.seasons": 2}, "plan_capacity"), contract_record())
    months = setting.calendar.months
    first = (setting.calendar.opening_month - setting.record.first_month) % 12
    rows = np.array([12 * 30, 12 * 71])[:, None] + first + np.arange(months)
    forcing = forcing_of(rows, setting.record, setting.plan.valley)
    opening = opening_state(setting.plan.opening, 2)
    return setting, list(run(opening, forcing, setting.rules, setting.calendar.opening_month))


def test_expected_when_capacity_is_shared_then_what_is_credited_in_time_for_the_crop(
    played: tuple[Setting, list[Month]],
) -> None:
    """In October: October to January are still to come; February's is credited too late."""
    setting, months = played
    credited = {month.month: month.fluxes.credited_ml_per_share for month in months}
    october = next(m.month for m in months if month_of_water_year(m.month) == OCTOBER)
    found = training_cases(months, setting, {OCTOBER}, FEBRUARY)[OCTOBER]
    by_hand = [
        credited[start] + credited[start + 1] + credited[start + 2] + credited[start + 3]
        for start in (october, october + 12)
    ]
    assert sorted(np.repeat(found.further, found.count.astype(int))) == pytest.approx(
        sorted(np.concatenate(by_hand))
    )
    assert (credited[october] > 0.01).any()  # the month in question does count


def test_known_supply_when_capacity_is_shared_then_credited_and_not_announced(
    played: tuple[Setting, list[Month]],
) -> None:
    """In December of the second year: account and use, the dam beyond them, credits since July."""
    setting, months = played
    at = next(i for i, m in enumerate(months) if i > 11 and month_of_water_year(m.month) == 5)
    month, since_july = months[at], months[at - 5 : at]
    known = known_supply(month, setting.rules)
    account, used = (
        months[at - 1].end.account_ml_per_share,
        months[at - 1].end.used_this_year_ml_per_share,
    )
    in_dam = (months[at - 1].end.storage_ml - 1_500.0) * AT_GATE
    assert known.credited == pytest.approx(account + used)
    assert known.uncommitted == pytest.approx(np.maximum(0.0, in_dam - account))
    to_date = sum(m.fluxes.credited_ml_per_share for m in since_july)
    assert known.announced_to_date == pytest.approx(to_date)
    assert (to_date > 0.0).all()
    assert not any(m.fluxes.assessed.announced_ml_per_share.any() for m in months)


def test_price_when_capacity_is_shared_then_by_all_that_the_season_brings() -> None:
    """0.30 held, 0.10 used, 0.50 in the dam beyond: 0.40 + (0.05 + 0.1 x 0.40 + 0.2 x 0.50) = 0.59.

    No cap: nothing is announced. Price 150 x (0.6 / 0.59) ^ 1.5 x 0.9 of December = 138.45.
    """
    known = KnownSupply(np.array([0.30 + 0.10]), np.array([0.50]), np.array([0.35]))
    supply = SeasonSupply({5: np.array([0.05, 0.1, 0.2])}, np.inf, None)
    found = supply.ml_per_share(known, 5)
    assert found == pytest.approx(0.59)
    by_month = np.where(np.arange(12) == 5, 0.9, 1.0)
    rules = PriceRules(150.0, 0.6, 1.5, 50.0, 650.0, by_month, None)
    price = price_aud_per_ml(found, 5, rules)
    assert price == pytest.approx(150.0 * (0.6 / 0.59) ** 1.5 * 0.9)
    assert price == pytest.approx(138.45, abs=0.005)
