"""What may be expected, and what water costs, where capacity is shared: sums written out.

Derived here from the contract's plan of capacity sharing: nothing is announced, a month's water is
credited at its end and may be used from the next month on.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pytest
from scipy.optimize import linprog

from model.farm.expected import training_cases
from model.farm.price import PriceRules, fit_supply, known_supply, price_aud_per_ml
from model.outlook.setting import Setting, setting_of
from model.record.record import FloatArray
from model.valley.run import Month, run
from model.valley.state import forcing_of, opening_state
from model.water_year import month_of_water_year
from tests.farm_case import contract_record, farm_plan

OCTOBER, DECEMBER, FEBRUARY = 3, 5, 7
AT_GATE = 0.8 / 60_000.0
"""ML a share that an ML in the dam makes: a fifth is lost on the way to 60,000 shares."""


def play(years: Iterable[int]) -> tuple[Setting, list[Month]]:
    """Sequences of 22 months from the opening in September, each as it followed in the record."""
    setting = setting_of(farm_plan({"sequences.seasons": 2}, "plan_capacity"), contract_record())
    months = setting.calendar.months
    first = (setting.calendar.opening_month - setting.record.first_month) % 12
    rows = 12 * np.array(list(years))[:, None] + first + np.arange(months)
    forcing = forcing_of(rows, setting.record, setting.plan.valley)
    opening = opening_state(setting.plan.opening, len(rows))
    return setting, list(run(opening, forcing, setting.rules, setting.calendar.opening_month))


@pytest.fixture(scope="module", name="played")
def _played() -> tuple[Setting, list[Month]]:
    """Two sequences."""
    return play([30, 71])


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


def test_planting_when_capacity_is_shared_then_what_was_credited_before_it(
    played: tuple[Setting, list[Month]],
) -> None:
    """October's own credit comes at its end: to date stands beside the account of its opening."""
    setting, months = played
    found = setting.gathered(months, 2)["planting_announced_to_date_ml_per_share"]
    october = next(i for i, m in enumerate(months) if month_of_water_year(m.month) == OCTOBER)
    opened_with = setting.plan.opening.announced_to_date_ml_per_share
    first = opened_with + sum(m.fluxes.credited_ml_per_share for m in months[:october])
    july = october + 9
    second = sum(m.fluxes.credited_ml_per_share for m in months[july : october + 12])
    assert found == pytest.approx(np.stack([first, second], axis=1))


def test_price_when_capacity_is_shared_then_by_the_valleys_own_supply() -> None:
    """In December of the second year, from the valley's own months and the line drawn through them.

    Held and used, and the median of what is credited from December to June by what is known then:
    found here as a linear programme of its own. Nothing is announced, so no cap is on it.
    """
    setting, months = play(range(3, 65, 2))
    supply = fit_supply(months, setting.rules)
    at = [i for i, m in enumerate(months) if month_of_water_year(m.month) == DECEMBER][1]
    held, beyond = stands_before(months, at)
    level, of_held, of_beyond = median_line(months)
    to_come = np.maximum(0.0, level + of_held * held + of_beyond * beyond)
    assert (to_come > 0.01).any()
    found = supply.ml_per_share(known_supply(months[at], setting.rules), DECEMBER)
    assert found == pytest.approx(held + to_come, abs=1e-6)
    by_month = np.where(np.arange(12) == DECEMBER, 0.9, 1.0)
    rules = PriceRules(150.0, 0.6, 1.5, 50.0, 650.0, by_month, None)
    asked = np.clip(150.0 * (0.6 / (held + to_come)) ** 1.5, 50.0, 650.0)
    assert price_aud_per_ml(found, DECEMBER, rules) == pytest.approx(0.9 * asked, rel=1e-4)


def stands_before(months: list[Month], at: int) -> tuple[FloatArray, FloatArray]:
    """What accounts hold and have used since July, and the dam beyond them, as a month opens."""
    before = months[at - 1].end
    in_dam = (before.storage_ml - 1_500.0) * AT_GATE
    held = before.account_ml_per_share + before.used_this_year_ml_per_share
    return held, np.maximum(0.0, in_dam - before.account_ml_per_share)


def median_line(months: list[Month]) -> FloatArray:
    """The line that leaves the least sum of misses of what December to June are credited."""
    known, further = [], []
    for at, month in enumerate(months):
        if month_of_water_year(month.month) == DECEMBER:
            held, beyond = stands_before(months, at)
            known.append(np.stack([np.ones_like(held), held, beyond], axis=1))
            further.append(sum(m.fluxes.credited_ml_per_share for m in months[at : at + 7]))
    design, came = np.concatenate(known), np.concatenate(further)
    over_and_under = np.concatenate([np.eye(len(came)), -np.eye(len(came))], axis=1)
    found = linprog(
        np.concatenate([np.zeros(3), np.ones(2 * len(came))]),
        A_eq=np.concatenate([design, over_and_under], axis=1),
        b_eq=came,
        bounds=[(None, None)] * 3 + [(0.0, None)] * (2 * len(came)),
    )
    line: FloatArray = found.x[:3]
    return line
