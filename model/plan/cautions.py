"""What of the plan should a person look at again, though it may be so?

Water in accounts beyond what the dam can deliver; figures read before the month that opens the run
began, or with no date beside them; figures that stand as they did for another month; drought steps
that the water announced rules out; announced figures that look like percent where ML per share are
asked for (0.35 ML per share is 35 %; above 2 hardly any valley may announce: common practice, no
source). Nothing is changed here unasked.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from model.plan.announced import AnnouncedRows
from model.plan.plan import Plan
from model.plan.steps import StepWhen
from model.plan.steps_agreement import seasons_it_comes_in
from model.plan.types import ReadIn
from model.water_year import month_name, month_of_water_year, parse_month

READ_FIGURES: Final = {
    "storage_ml": "the dam",
    "announced_to_date_ml_per_share": "what is announced",
    "high_security_allocation_frac": "high security",
    "account_ml_per_share": "the average account",
}
"""Figures of the valley's opening that somebody announces."""

FARM_FIGURES: Final = {"account_ml_per_share": "the farm's own account", "bank_aud": "the bank"}
"""Figures of the farm's opening that a statement gives."""

OF_THE_MONTH: Final[Mapping[str, tuple[str, ...]]] = {
    "dam": ("opening.storage_ml",),
    "announced so far": ("opening.announced_to_date_ml_per_share",),
    "high security": (
        "opening.high_security_allocation_frac",
        "opening.high_security_used_ml",
    ),
    "average account": ("opening.account_ml_per_share", "opening.carried_ml_per_share"),
    "its use this water year": ("opening.used_this_year_ml_per_share",),
    "own account": ("farm.opening.account_ml_per_share", "farm.opening.carried_ml_per_share"),
    "on-farm storage": ("farm.opening.storage_ml",),
    "land prepared": ("farm.opening.prepared_ha",),
    "crops in the ground": ("farm.opening.crops", "farm.opening.land_spent_aud"),
    "bank": ("farm.money.bank_aud",),
    "money to come": ("farm.opening.money_to_come_aud",),
    "debts": ("farm.money.arrears_aud", "farm.money.loans"),
}
"""What stands otherwise each month, by dotted key."""


def opening_cautions(plan: Plan) -> tuple[str, ...]:
    """Return what of a plan's opening figures a person should look at again.

    Examples
    --------
    >>> from model.plan.shipped import demonstration_plan
    >>> from model.plan.text import read_plan
    >>> opening_cautions(read_plan(demonstration_plan()))
    ()
    """
    return (
        *_beyond_the_dam(plan),
        *_read_before(plan),
        *_read_well_after(plan),
        *_eto_from_temperature(plan),
        *_steps_not_taken(plan),
    )


def _steps_not_taken(plan: Plan) -> Iterator[str]:
    """Yield the drought steps that wait for nothing to be announced, where water is already."""
    if plan.opening.announced_to_date_ml_per_share <= 0.0:
        return
    for strategy in plan.strategies:
        names = [f"“{step.name}”" for step in strategy.steps if not _may_come(step.when, plan)]
        if names:
            steps, are = ("Step", "is") if len(names) == 1 else ("Steps", "are")
            yield (
                f"{steps} {_listed(names)} of “{strategy.name}” {are} not taken in this run: water "
                "is announced this season already."
            )


def _may_come(when: StepWhen, plan: Plan) -> bool:
    """Return whether so many seasons of nothing may still come by a step's last month."""
    opening_k = month_of_water_year(parse_month(plan.opening.month))
    planting, seasons = plan.outlook.planting_month, plan.sequences.seasons
    comes_in = seasons_it_comes_in(when.month, opening_k, planting, seasons)
    return (when.seasons_of_nothing or int(when.nothing_announced)) <= max(comes_in, default=0)


def _eto_from_temperature(plan: Plan) -> Iterator[str]:
    """Yield what is estimated of the farm's weather."""
    valley = plan.valley
    states_eto = valley.farm_eto_mm is not None
    if plan.farm is not None and not states_eto and valley.farm_latitude_deg is not None:
        yield (
            "Where the record gives no ETo, the farm's is an estimate from temperature "
            "(Hargreaves): the crops may need 15 % more or less water than it says."
        )


def all_cautions(plan: Plan) -> tuple[str, ...]:
    """Return the same, and of which figures nobody knows the date: for what is printed and kept."""
    undated = undated_words(plan)
    return (*opening_cautions(plan), *([undated] if undated else []))


def undated_words(plan: Plan) -> str:
    """Return which figures have no date beside them; empty where all have one."""
    names = [name for name, source in _sources(plan) if source is None or source.date is None]
    if not names:
        return ""
    month = month_name(parse_month(plan.opening.month))
    read, taken = ("was read", "it is") if len(names) == 1 else ("were read", "they are")
    return f"No date says when {_listed(names)} {read}: {taken} taken as of the start of {month}."


def not_set_since(before: Plan, now: Plan) -> str:
    """Return which figures still stand as for another month, once the opening month is changed.

    Parameters
    ----------
    before, now
        The plan as it was kept, and as it is on the page.

    Returns
    -------
    str
        Empty while the month is the same, or nothing stands as before.
    """
    if before.opening.month == now.opening.month:
        return ""
    left = [name for name, keys in OF_THE_MONTH.items() if _as_before(before, now, keys)]
    if not left:
        return ""
    then, month = (month_name(parse_month(plan.opening.month)) for plan in (before, now))
    return (
        f"These figures were last set for {then}; look at each again for {month}: "
        f"{', '.join(left)}."
    )


def _beyond_the_dam(plan: Plan) -> Iterator[str]:
    """Return where accounts hold more than the dam can deliver."""
    valley, opening = plan.valley, plan.opening
    in_accounts_ml = (
        opening.account_ml_per_share
        * valley.general_security.shares_ml
        / (1.0 - valley.delivery_loss_frac)
    )
    in_dam_ml = max(0.0, opening.storage_ml - valley.dead_storage_ml)
    if in_accounts_ml > in_dam_ml:
        yield (
            f"General-security accounts hold {in_accounts_ml:,.0f} ML at the dam, with delivery "
            f"loss, and the dam {in_dam_ml:,.0f} ML above dead storage: not all of it can be "
            "delivered without inflow. Look at both figures again."
        )


def _read_before(plan: Plan) -> Iterator[str]:
    """Return which figures were read before the opening month began."""
    first_day = f"{plan.opening.month}-01"
    old = [
        f"{name} ({source.date})"
        for name, source in _sources(plan)
        if source is not None and source.date is not None and source.date < first_day
    ]
    if old:
        verb = "was" if len(old) == 1 else "were"
        month = month_name(parse_month(plan.opening.month))
        words = f"{_listed(old)} {verb} read before {month} began: see that the run may open so."
        yield words[0].upper() + words[1:]


LATEST_DAY: Final = 10
"""A figure read later in the opening month holds much of that month's flow already."""


def _read_well_after(plan: Plan) -> Iterator[str]:
    """Return which figures were read when much of the opening month had gone."""
    late = [
        f"{name} ({source.date})"
        for name, source in _sources(plan)
        if source is not None and source.date is not None
        if source.date > f"{plan.opening.month}-{LATEST_DAY:02d}"
    ]
    if late:
        opening = parse_month(plan.opening.month)
        month, after = month_name(opening), month_name(opening + 1)
        verb = "was" if len(late) == 1 else "were"
        words = (
            f"{_listed(late)} {verb} read when much of {month} had gone, whose whole flow the run "
            f"adds: give the figures of its first days, or open the run in {after}."
        )
        yield words[0].upper() + words[1:]


def _sources(plan: Plan) -> Iterator[tuple[str, ReadIn | None]]:
    """Return each figure that is read somewhere, and where."""
    for key, name in READ_FIGURES.items():
        yield name, getattr(plan.opening.sources, key)
    if plan.farm is None:
        return
    opening = plan.farm.opening
    for key, name in FARM_FIGURES.items():
        if key == "bank_aud" or opening.account_ml_per_share is not None:
            yield name, getattr(opening.sources, key)


def _as_before(before: Plan, now: Plan, keys: Sequence[str]) -> bool:
    """Return whether the plan has such figures, and all stand as before."""
    values = [_figure(now, key) for key in keys]
    stated = any(value is not None and value != () for value in values)
    return stated and values == [_figure(before, key) for key in keys]


def _figure(plan: Plan, dotted: str) -> object:
    """Return a figure by its dotted key; None where the plan has no such table."""
    value: object = plan
    if dotted == "farm.opening.storage_ml" and (plan.farm is None or plan.farm.storage is None):
        return None
    for part in dotted.split("."):
        value = getattr(value, part, None)
    return value


def _listed(names: Sequence[str]) -> str:
    """Return names as a sentence has them."""
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


MOST_USUAL_ML_PER_SHARE: Final = 2.0
"""Announced in one water year; a figure above it is doubted."""

LEAST_PERCENT: Final = 1.0
"""Where a figure other than 0 lies below it, not all can be percent."""

MOST_NAMED: Final = 6


@dataclass(frozen=True, slots=True)
class InPercent:
    """Why announced figures are doubted, and what they would be if they were percent."""

    words: str
    meant: AnnouncedRows | None  # each figure over 100; None where not all can be percent


def looks_in_percent(rows: AnnouncedRows) -> InPercent | None:
    """Return which figures look like percent, and what is likely meant; None where none does.

    Parameters
    ----------
    rows
        As they were given, ML per share if they are what was asked for.

    Examples
    --------
    >>> rows = AnnouncedRows("water_years", ("2001-02", "2002-03"), (35.0, 0.0))
    >>> looks_in_percent(rows).meant.ml_per_share
    (0.35, 0.0)
    """
    pairs = list(zip(rows.when, rows.ml_per_share, strict=True))
    large = [(when, amount) for when, amount in pairs if amount > MOST_USUAL_ML_PER_SHARE]
    if not large:
        return None
    when, amount = large[0]
    said = (
        f"{_counted(len(large), len(pairs))} like percent: {amount:g} for {when} would be "
        f"{amount:g} ML for every ML of share. Likely meant is {amount:g} %, which is "
        f"{amount / 100.0:g} ML per share."
    )
    if all(amount == 0.0 or amount >= LEAST_PERCENT for _, amount in pairs):
        divided = tuple(amount / 100.0 for amount in rows.ml_per_share)
        return InPercent(said, replace(rows, ml_per_share=divided))
    return InPercent(f"{said} Others do not, so mend these by hand: {_named(large)}.", None)


def _counted(large: int, rows: int) -> str:
    """Return how many figures of how many look so."""
    if rows == 1:
        return "This figure looks"
    if large == rows:
        return "These figures look"
    return f"{large:,} of {rows:,} figures look" if large > 1 else f"1 of {rows:,} figures looks"


def _named(large: list[tuple[str, float]]) -> str:
    """Name the first of them."""
    named = ", ".join(f"{when} ({amount:g})" for when, amount in large[:MOST_NAMED])
    more = len(large) - MOST_NAMED
    return f"{named} and {more:,} more" if more > 0 else named
