"""Which figures of a plan are still those of the invented example that it was begun from?

A new user begins on the demonstration and puts their own figures in its place, one by one. A figure
is the example's while it is equal to it and nobody said that it is right as it is (`ours` in the
plan). Only figures that the example itself states count: a usual value left alone is nobody's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import PurePath
from typing import Any, Final

from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import read_plan

PARTS: Final[Mapping[str, tuple[str, ...]]] = {
    "record": ("record",),
    "valley": ("valley",),
    "farm": ("farm",),
    "strategies": ("strategies",),
    "today": ("opening", "farm.opening", "farm.money.bank_aud"),
}
"""What a new user puts in, in order, and where in the plan it stands; the last that fits counts."""

_NAMES: Final = ("valley.name", "farm.name")
"""Texts that count as figures: whose they are is seen from them."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of what a new user puts in."""

    name: str  # of PARTS
    figures: int  # that the example states there, and the plan too
    still: tuple[str, ...]  # keys that are still the example's

    @property
    def ours(self) -> bool:
        """Whether nothing in it is the example's any more."""
        return not self.still


def parts_of(plan: Plan) -> tuple[Part, ...]:
    """Return how much of each part of a plan is still the example's.

    A plan that says that nothing of it is invented has nothing of the example.
    """
    stated, example = _figures(plan), _example()
    same = [key for key in example if key in stated]
    still = set(_still(plan, stated))
    return tuple(
        Part(
            name,
            sum(_part_of(key) == name for key in same),
            tuple(key for key in same if _part_of(key) == name and key in still),
        )
        for name in PARTS
    )


def still_example(plan: Plan, within: str = "") -> tuple[str, ...]:
    """Return the keys of the figures that are still the example's.

    Parameters
    ----------
    plan
        Of the user.
    within
        A key or table, such as ``farm.licence``; empty for the whole plan.

    Examples
    --------
    >>> from model.plan.shipped import demonstration_plan
    >>> demonstration = read_plan(demonstration_plan())
    >>> still_example(demonstration, "farm.bore")
    ('farm.bore.limit_ml_per_year', 'farm.bore.pump_ml_per_month', 'farm.bore.cost_aud_per_ml')
    """
    return tuple(key for key in _still(plan, _figures(plan)) if _is_within(key, within))


def is_ours(plan: Plan, key: str) -> bool:
    """Return whether nothing at a key or in a table is the example's any more."""
    return not still_example(plan, key)


def is_invented(before: Plan, after: Plan) -> bool:
    """Return whether a plan still holds what is invented, after some of its figures were changed.

    A plan that has lost the last figure of the example is its user's own. One that never had any,
    and says that it is invented, is so until its user says otherwise.
    """
    return after.invented and (bool(still_example(after)) or not still_example(before))


def _still(plan: Plan, stated: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the keys whose figures are the example's, in its order."""
    if not plan.invented:
        return ()
    return tuple(
        key
        for key, value in _example().items()
        if key in stated
        and _is_same(stated[key], value)
        and not any(_is_within(key, own) for own in plan.ours)
    )


def _is_same(value: Any, of_example: Any) -> bool:
    """Return whether a figure is the example's; a record may be a copy under a hashed name."""
    if isinstance(value, str):
        stem, own = PurePath(of_example).stem, PurePath(value).stem
        return value == of_example or (value != stem and own.startswith(f"{stem}-"))
    return bool(value == of_example)


def _is_within(key: str, table: str) -> bool:
    return not table or key == table or key.startswith(f"{table}.")


def _part_of(key: str) -> str:
    """Return the part that a key belongs to: that of the longest table that holds it."""
    tables = [
        (len(table), name)
        for name, listed in PARTS.items()
        for table in listed
        if _is_within(key, table)
    ]
    return max(tables)[1]


@lru_cache(maxsize=1)
def _example() -> dict[str, Any]:
    """Return the figures that the example states, by dotted key."""
    return _figures(example_plan())


@lru_cache(maxsize=1)
def example_plan() -> Plan:
    """Read the invented example that a new user begins from."""
    return read_plan(demonstration_plan())


def _figures(plan: Plan) -> dict[str, Any]:
    """Return the figures that a plan states, by dotted key; places of lists count from 1."""
    stated = plan.model_dump(exclude_unset=True)
    return {
        key: value
        for key, value in _flat({name: stated[name] for name in _tables() if name in stated})
        if key in (*_NAMES, "record") or _is_figure(value)
    }


def _tables() -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(table.split(".")[0] for listed in PARTS.values() for table in listed)
    )


def _is_figure(value: Any) -> bool:
    """Return whether a value is a number, or a list of them."""
    values = value if isinstance(value, tuple) else (value,)
    return bool(values) and all(
        isinstance(each, int | float) and not isinstance(each, bool) for each in values
    )


def _flat(table: Any, prefix: str = "") -> Iterator[tuple[str, Any]]:
    """Yield what nested tables, and lists of tables, state."""
    if isinstance(table, Mapping):
        for key, value in table.items():
            yield from _flat(value, f"{prefix}.{key}" if prefix else str(key))
    elif isinstance(table, tuple) and table and isinstance(table[0], Mapping):
        for place, row in enumerate(table, start=1):
            yield from _flat(row, f"{prefix}.{place}")
    else:
        yield prefix, table
