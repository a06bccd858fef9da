"""What did the user state? Every input of a plan, in plain words, with its value and unit.

Meanings are those of the plan's own fields; a list of twelve is laid out by month, July to June.
What the plan leaves out is listed too, as left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from pydantic import BaseModel

from model.plan.plan import Plan
from model.say.measures import unit_of
from model.water_year import MONTH_NAMES, MONTHS_IN_YEAR

Input = tuple[str, str | float, str, str]
"""What it is, its value, its unit, and its place in the plan."""

LEFT_OUT: Final = "left out"
UNNAMED: Final = {
    "title": "title of the plan",
    "valley.name": "name of the valley",
    "announced": "what was announced in past years",
}
"""Meanings of fields that need none in the plan file itself."""
NOT_HERE: Final = frozenset({"strategies"})
"""These have a sheet of their own."""
BY_TIME: Final = frozenset({"announced.ml_per_share"})
"""As long as the user's history is: twelve of them are no year of months."""


def plan_inputs(plan: Plan) -> Iterator[Input]:
    """Yield every input of a plan, table by table."""
    for name, field in Plan.model_fields.items():
        if name not in NOT_HERE:
            yield from _inputs(name, getattr(plan, name), field.description or "")


def inputs_under(table: BaseModel) -> Iterator[Input]:
    """Yield every input of one table, its place that of the key alone."""
    for name, field in type(table).model_fields.items():
        yield from _inputs(name, getattr(table, name), field.description or "")


def _inputs(place: str, value: Any, meaning: str) -> Iterator[Input]:
    """Walk through what stands at one place."""
    meaning = meaning or UNNAMED.get(place, place.replace("_", " ").replace(".", ", "))
    name = place.rsplit(".", 1)[-1]
    if isinstance(value, BaseModel):
        for key, field in type(value).model_fields.items():
            yield from _inputs(f"{place}.{key}", getattr(value, key), field.description or "")
    elif isinstance(value, tuple):
        yield from _listed(place, value, meaning)
    elif value is None:
        yield meaning, LEFT_OUT, "", place
    elif isinstance(value, bool):
        yield meaning, "yes" if value else "no", "", place
    elif isinstance(value, int | float):
        yield meaning, float(value), unit_of(name).name, place
    else:
        yield meaning, str(value), "", place


def _listed(place: str, values: tuple[Any, ...], meaning: str) -> Iterator[Input]:
    """Walk through a list: by month, or by number."""
    name = place.rsplit(".", 1)[-1]
    if not values:
        yield meaning, "none", "", place
    monthly = place not in BY_TIME and len(values) == MONTHS_IN_YEAR
    monthly = monthly and all(isinstance(value, float) for value in values)
    for number, value in enumerate(values, start=1):
        which = MONTH_NAMES[number - 1] if monthly else f"{number}"
        if isinstance(value, BaseModel):
            yield from _inputs(f"{place} {which}", value, meaning)
        elif isinstance(value, int | float):
            yield f"{meaning}: {which}", float(value), unit_of(name).name, f"{place} {which}"
        else:
            yield f"{meaning}: {which}", str(value), "", f"{place} {which}"
