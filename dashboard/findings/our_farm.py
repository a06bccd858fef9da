"""What belongs to which group of the page Our farm, and what do the farm's figures bring at once?

A key of the plan's farm or strategies is in the first group that names it, or a table that it
stands in; the group of the bank takes what no other names.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from model.decide.compare import StrategyOutcome
from model.farm.setting import FarmSetting
from model.plan.farm import Farm
from model.plan.fields import PlanField, chosen, fields_of
from model.say.farm import strategy_in_words
from model.say.numbers import capital, chance, ha, money

Asked = tuple[tuple[str, PlanField], ...]


@dataclass(frozen=True, slots=True)
class Group:
    """A group of the page."""

    moves: str  # what its figures change at once
    tables: tuple[str, ...]  # keys and tables of the farm that it holds
    wanted: Callable[[PlanField], bool] = lambda field: True  # which of their keys
    fixed: bool = False  # whether rows of lists are neither added nor taken out


def is_cost(field: PlanField) -> bool:
    """Return whether a key of a crop is of money."""
    return "_aud" in field.name or field.name == "income_pattern"


REST: Final = "Bank, loans, sales"
STRATEGIES: Final = "Strategies"
GROUPS: Final[Mapping[str, Group]] = MappingProxyType(
    {
        "Shares and water": Group(
            "Moves the water that is counted on, and with it the hectares.",
            ("name", "licence", "supplementary", "watering"),
        ),
        "Land and crops": Group(
            "Moves how much can be planted, the water a hectare needs, and what it yields.",
            ("developed_ha", "fallow_cost_aud_per_ha", "fallow_cost_month", "crops"),
            lambda field: not is_cost(field) or field.name.startswith("fallow"),
        ),
        "Costs by month": Group(
            "Moves the margin of each hectare, and the bank month by month.",
            ("crops",),
            is_cost,
            fixed=True,
        ),
        "Machinery, storage, bore": Group(
            "Moves water kept on the farm, and when the bank pays for machinery.",
            ("storage", "bore", "money.machinery"),
        ),
        REST: Group("Moves the bank, payments due, and what is safe to sell forward.", ()),
        STRATEGIES: Group("Moves when land is planted, held, bought for and sold.", ("objective",)),
    }
)

NOT_HERE: Final = ("opening", "money.bank_aud", "money.arrears_aud")
"""Where things stand today is asked for apart, as it moves from month to month."""


def asked_for(group: str) -> Asked:
    """Return the keys that a group asks for, each with the table that it stands in."""
    if group == STRATEGIES:
        rows = next(field for field in fields_of_plan() if field.name == "strategies")
        return (*_of_farm(GROUPS[group].tables, GROUPS[group].wanted), ("", rows))
    if group == REST:
        return _of_farm(_left(), lambda field: True)
    return _of_farm(GROUPS[group].tables, GROUPS[group].wanted)


def fields_of_plan() -> tuple[PlanField, ...]:
    """Return the keys of a plan."""
    from model.plan.plan import Plan

    return fields_of(Plan)


def _of_farm(tables: Sequence[str], wanted: Callable[[PlanField], bool]) -> Asked:
    """Return the wanted keys of some tables of the farm."""
    return tuple(
        (at, kept)
        for at, field in _farm_keys()
        if f"{at}.{field.name}".removeprefix("farm.") in tables
        for kept in chosen([field], wanted)
    )


def _left() -> tuple[str, ...]:
    """Return the farm's keys that no other group names."""
    named = {table for group in GROUPS.values() for table in group.tables} | set(NOT_HERE)
    keys = [f"{at}.{field.name}".removeprefix("farm.") for at, field in _farm_keys()]
    return tuple(key for key in keys if key not in named)


def _farm_keys() -> list[tuple[str, PlanField]]:
    """Return the keys of the farm and of its money, each with its table."""
    farm = [("farm", field) for field in fields_of(Farm) if field.name != "money"]
    money_fields = next(field for field in fields_of(Farm) if field.name == "money").inner
    return [*farm, *(("farm.money", field) for field in money_fields)]


def place_in(listed: Sequence[object], wanted: int) -> int:
    """Return a place of a list, counted from 0: its last where it is shorter."""
    return min(wanted, len(listed) - 1)


def brings(outcome: StrategyOutcome) -> str:
    """Return what the farm's figures bring under a strategy, in a sentence or two."""
    season = next(
        (each for each in outcome.seasons if each.amounts["area_planted_ha"] is not None), None
    )
    missed = chance(outcome.chances["payment_missed"])
    past = chance(outcome.chances["past_overdraft_limit"])
    end = money(outcome.whole_run["standing_aud"].mean.value)
    bank = f"over the limit {past}; a loan payment missed {missed}; worth at the end {end}"
    if season is None:
        return f"“{outcome.strategy.name}”: no planting ahead; {bank} on average."
    planted = season.amounts["area_planted_ha"]
    area = ha(planted.mean.value) if planted is not None else ""
    return f"“{outcome.strategy.name}” plants {area} in {season.water_year}; {bank}, on average."


def sentence(setting: FarmSetting, strategy: int) -> str:
    """Return what a strategy does, in a sentence."""
    settings = setting.settings.one(strategy)
    planned_ml_per_ha = float(settings.planned_water_ml_per_ha(setting.rules)[0, 0])
    return f"{capital(strategy_in_words(setting.strategies[strategy], planned_ml_per_ha))}."
