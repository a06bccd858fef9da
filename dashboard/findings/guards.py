"""What must be settled before hectares stand in the headline?

Whose the figures are: of the example's farm no hectares are given as an answer. How old the
balances are: after a month somebody must say that they are still right.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from model.plan.example import still_example
from model.plan.farm import Farm
from model.plan.plan import Plan
from model.say.numbers import day_name, listed, money, number, own_water
from model.water_year import MONTHS_IN_YEAR, month_name, parse_month

EXAMPLE_FARM: Final = "Example farm"
"""Stands in the headline's place."""

MOST_DAYS: Final = 31
"""Balances older than this are asked after."""


@dataclass(frozen=True, slots=True)
class Needed:
    """A figure that must be the user's own before hectares are given."""

    words: str  # what it is, and the example's figure
    page: str  # on which it is put in
    still: tuple[str, ...]  # its keys that are still the example's


def still_needed(plan: Plan) -> tuple[Needed, ...]:
    """Return which of shares, account, water per hectare and bank are still the example's."""
    return tuple(needed for needed in _all_needed(plan) if needed.still)


def _all_needed(plan: Plan) -> Iterator[Needed]:
    farm = plan.farm
    if farm is None:
        return
    shares_ml = farm.licence.general_security_shares_ml
    account = farm.opening.account_ml_per_share
    held = plan.opening.account_ml_per_share if account is None else account
    at = "opening" if account is None else "farm.opening"
    yield _needed(plan, f"Shares: {number(shares_ml)}", "our_farm", "farm.licence")
    words = f"Account: {own_water(held, shares_ml)}"
    yield _needed(plan, words, "today", f"{at}.account_ml_per_share")
    planned = [layout.planned_water_ml_per_ha for layout in farm.main_crop.layouts]
    figures = listed([number(each, 1) for each in planned if each])
    words = f"Water per hectare of {farm.main_crop.name}: {figures} ML"
    yield _needed(plan, words, "our_farm", *_planned_water(farm))
    yield _needed(plan, f"Bank: {money(farm.money.bank_aud)}", "today", "farm.money.bank_aud")


def _planned_water(farm: Farm) -> Iterator[str]:
    """Yield the keys of the water planned for a hectare of the main crop."""
    main = farm.crops.index(farm.main_crop) + 1
    for place in range(1, len(farm.main_crop.layouts) + 1):
        yield f"farm.crops.{main}.layouts.{place}.planned_water_ml_per_ha"


def _needed(plan: Plan, words: str, page: str, *keys: str) -> Needed:
    return Needed(words, page, tuple(each for key in keys for each in still_example(plan, key)))


def days_old(plan: Plan, today: dt.date, right_on: dt.date | None) -> int:
    """Return how old the balances are: since the opening month began, or since somebody looked.

    Parameters
    ----------
    plan
        Its balances are of the start of its opening month.
    today
        By the clock.
    right_on
        The day on which they were last said to be right.
    """
    year, month = divmod(parse_month(plan.opening.month), MONTHS_IN_YEAR)
    since = dt.date(max(year, dt.MINYEAR), month + 1, 1)
    return (today - (since if right_on is None else max(since, right_on))).days


def still_right(plan: Plan) -> str:
    """Return the question that waits in the headline's place."""
    return f"Are the balances of {month_name(parse_month(plan.opening.month))} still right?"


def why_asked(plan: Plan, today: dt.date) -> str:
    """Return why the page asks before it answers."""
    month = month_name(parse_month(plan.opening.month))
    return (
        f"Dam, account, announced and bank stand as at the start of {month}, more than {MOST_DAYS} "
        f"days before {day_name(today)}. The question of the date is answered once they are put "
        "in anew, or said to be right."
    )
