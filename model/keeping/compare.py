"""In which figures do two plans differ?

Key by key, each with its meaning and unit as the plan's own description gives them. Of a list of
twelve only the months that differ are told, of what was announced only the times that differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from model.plan.plan import Plan
from model.plan.text import meaning_of
from model.water_year import MONTH_NAMES

LEFT_OUT: Final = "not given"


@dataclass(frozen=True, slots=True)
class Difference:
    """One figure that differs."""

    key: str  # dotted, with the month where it is one of twelve
    meaning: str  # with its unit
    before: str
    after: str


def differences(before: Plan, after: Plan) -> tuple[Difference, ...]:
    """List the figures that differ, in the order of the plan.

    Parameters
    ----------
    before, after
        Two plans; what is left out counts as its default.
    """
    old, new = dict(_flat(_by_time(before))), dict(_flat(_by_time(after)))
    return tuple(
        Difference(_named(key, place), meaning_of(key), _said(was), _said(now))
        for key in dict.fromkeys([*old, *new])
        for place, was, now in _places(old.get(key), new.get(key))
        if was != now
    )


def _by_time(plan: Plan) -> dict[str, Any]:
    """Return a plan with what was announced by when it was, not by its place in a list."""
    table, stated = plan.model_dump(), plan.announced
    when = stated and (stated.water_years or stated.dates)
    if stated is not None and when:
        amounts = dict(zip(when, stated.ml_per_share or (), strict=True))
        left = stated.model_dump(exclude={"water_years", "dates"})
        table["announced"] = left | {"ml_per_share": _Timed(amounts)}
    return table


@dataclass(frozen=True, slots=True)
class _Timed:
    """Amounts by when they were announced."""

    amounts: Mapping[str, float]


def _flat(table: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    """Yield the values of nested tables, and of lists of tables, by dotted key."""
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{prefix}{key}.")
        elif isinstance(value, tuple) and value and isinstance(value[0], Mapping):
            for place, row in enumerate(value, start=1):
                yield from _flat(row, f"{prefix}{key}.{place}.")
        elif value is not None and value != ():  # an empty list states nothing
            yield f"{prefix}{key}", value


def _places(was: Any, now: Any) -> Iterator[tuple[str, Any, Any]]:
    """Pair two values; lists of twelve month by month, announced ones time by time."""
    if isinstance(was, _Timed) or isinstance(now, _Timed):
        old, new = (value.amounts if isinstance(value, _Timed) else {} for value in (was, now))
        yield from ((when, old.get(when), new.get(when)) for when in sorted({*old, *new}))
        return
    twelve = [isinstance(value, tuple) and len(value) == len(MONTH_NAMES) for value in (was, now)]
    if all(twelve):
        yield from zip(MONTH_NAMES, was, now, strict=True)
    else:
        yield "", was, now


def _named(key: str, place: str) -> str:
    return f"{key}, {place}" if place else key


def _said(value: Any) -> str:
    """Return a value as a person writes it."""
    if value is None:
        return LEFT_OUT
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, tuple):
        return ", ".join(_said(part) for part in value)
    return f"{value:,.10g}" if isinstance(value, int | float) else str(value)
