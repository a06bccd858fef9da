"""Where do things stand, in one line over every page?"""

from __future__ import annotations

from dataclasses import dataclass

from model.plan.plan import Plan
from model.say.cautions import invented_in_words
from model.say.numbers import ml, ml_per_share, own_water, percent
from model.water_year import month_name, parse_month


@dataclass(frozen=True, slots=True)
class Strip:
    """The words of the line, and the dam's level."""

    place: str  # valley and month
    dam: str
    dam_frac: float  # of full supply, 0 to 1
    account: str
    announced: str
    invented: str  # marks what is invented; empty where nothing is


def strip_of(plan: Plan) -> Strip:
    """Return where a plan says that things stand.

    Examples
    --------
    >>> from model.plan.shipped import demonstration_plan
    >>> from model.plan.text import read_plan
    >>> strip = strip_of(read_plan(demonstration_plan()))
    >>> strip.invented, strip.announced
    ('invented example', 'announced 0.00 ML a share')
    """
    opening, full_ml = plan.opening, plan.valley.capacity_ml
    dam_frac = opening.storage_ml / full_ml
    return Strip(
        place=f"{_valley(plan)}, {month_name(parse_month(opening.month))}",
        dam=f"dam {ml(opening.storage_ml)}, {percent(dam_frac)}",
        dam_frac=dam_frac,
        account=_account(plan),
        announced=f"announced {ml_per_share(opening.announced_to_date_ml_per_share)}",
        invented="invented example" if invented_in_words(plan) else "",
    )


def _valley(plan: Plan) -> str:
    """Return the valley's name; that it is invented is said by the mark."""
    return plan.valley.name.removesuffix(" (invented)") if plan.invented else plan.valley.name


def _account(plan: Plan) -> str:
    """Return what the farm's own account holds; the average holder's where there is no farm."""
    average = plan.opening.account_ml_per_share
    if plan.farm is None:
        return f"account {ml_per_share(average)}"
    own = plan.farm.opening.account_ml_per_share
    held = average if own is None else own
    return f"our account {own_water(held, plan.farm.licence.general_security_shares_ml)}"
