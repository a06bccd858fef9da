"""How is a key of a plan asked for? Its name for a person, its unit, and what may be given.

All of it comes from the key's own description: what it is, its unit after a comma, and after a
semicolon what leaving it out means. Fractions are asked for in percent, chances as so many times in
100, money in the currency of the plan.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from model.plan.fields import PlanField
from model.say.numbers import capital, count, currency_sign, listed, money, plain

EXAMPLES: Final = "example's"
"""What stands beside a figure that is still the example's."""

_UNIT: Final = re.compile(
    r", (?:fraction a year|a factor|units per ha|(?:bales or t|ML|AUD|ha|mm|degrees)\b[^,]*"
    r"|[0-9.]+ to [0-9.]+)$"
)
"""The unit at the end of what a key is, as descriptions write it."""

_LEFT_OUT: Final = re.compile(r"^\s*left out[,:]?\s*(.*)$")
_IN_WORDS: Final = {
    "finish_fewer": "finish fewer hectares",
    "spread": "spread the water",
    "level": "equal payments",
    "equal_principal": "equal principal",
}
"""Choices whose names do not say it."""

SAID_FROM: Final = 100_000.0
"""A sum from here on is said in words beside its digits: zeros are miscounted."""

_HUNDREDTHS: Final = 100.0
_PLACES: Final = 12
"""Decimal places to which a figure in percent is put back: what is stated stays as it was."""


@dataclass(frozen=True, slots=True)
class Asked:
    """How a key is asked for."""

    title: str  # what it is
    unit: str  # empty where it has none
    blank: str  # what leaving it out means; empty where it may not be, or is not said
    more: str  # what else its description says
    factor: float  # figures are shown so many times as large as they are stated


def asked(field: PlanField) -> Asked:
    """Return how a key is asked for."""
    what, *rest = field.meaning.split(";")
    left_out = [found[1] for part in rest if (found := _LEFT_OUT.match(part))]
    more = [part.strip() for part in rest if not _LEFT_OUT.match(part)]
    found = _UNIT.search(what)
    title = what[: found.start()] if found else what
    unit, factor = _unit(field, found[0][2:] if found else "")
    return Asked(
        capital(title or field.name.replace("_", " ")),
        unit,
        left_out[0] if left_out else "none",
        "; ".join(more),
        factor,
    )


def _unit(field: PlanField, stated: str) -> tuple[str, float]:
    """Return the unit in which a key is asked for, and how many of it make one stated."""
    if "_frac" in field.name and field.kind in ("number", "twelve", "numbers"):
        span = field.name.partition("_frac")[2].replace("_per_", " a ")
        of = "times in 100" if "chance" in field.name else "%"
        return f"{of}{span}", _HUNDREDTHS
    return stated.replace("AUD", currency_sign()).replace("a factor", "factor"), 1.0


def label(field: PlanField, value: object = None, *, examples: bool = False) -> str:
    """Return what stands over a field: what it is, its unit, and whether it is the example's.

    Parameters
    ----------
    field
        The key.
    value
        As stated: a large sum of money is said beside its digits.
    examples
        Whether it is still the example's.
    """
    said = asked(field)
    words = f"{said.title}, {said.unit}" if said.unit else said.title
    big = isinstance(value, int | float) and "_aud" in field.name and abs(value) >= SAID_FROM
    words = f"{words} ({money(float(value))})" if big and isinstance(value, int | float) else words
    return f"{words} · {EXAMPLES}" if examples else words


def heading(field: PlanField) -> str:
    """Return the heading of a table of a plan."""
    return capital(field.name.replace("_", " "))


def shown(field: PlanField, value: float) -> float:
    """Return a figure as it is shown."""
    return round(value * asked(field).factor, _PLACES - 2)


def stated(field: PlanField, value: float) -> float:
    """Return a figure as a plan states it."""
    return round(value / asked(field).factor, _PLACES)


def digits(values: Sequence[float]) -> int:
    """Return how many digits after the point show figures whole, at most ten."""
    return max(
        (len(f"{value:.10f}".rstrip("0").partition(".")[2]) for value in values if value == value),
        default=0,
    )


def bounds(field: PlanField) -> tuple[float, float]:
    """Return the least and the most that may be given, as shown; infinite where there is none."""
    lowest = -math.inf if field.lowest is None else shown(field, field.lowest)
    highest = math.inf if field.highest is None else shown(field, field.highest)
    return lowest, highest


def allowed(field: PlanField) -> str:
    """Return what may be given at a key."""
    lowest, highest = bounds(field)
    if field.kind in ("choice", "choices"):
        return "one of these" if field.kind == "choice" else "one or more of these"
    if field.kind in ("yes_or_no", "table", "tables"):
        return ""
    if field.kind == "text":
        return f"{field.most} letters at most" if field.most else ""
    if math.isinf(highest):
        return "any amount, below 0 too" if math.isinf(lowest) else _from(field, lowest)
    return f"{'above ' if field.above else ''}{plain(lowest)} to {plain(highest)}"


def _from(field: PlanField, lowest: float) -> str:
    return f"above {plain(lowest)}" if field.above else f"{plain(lowest)} or more"


def help_text(field: PlanField) -> str:
    """Return what stands behind a field's question mark."""
    said = asked(field)
    sentences = [said.title, capital(said.more)]
    if field.kind == "numbers" or (field.kind == "twelve" and field.blank):
        sentences.append(f"{_how_many(field)}, with commas between")
    if words := allowed(field):
        sentences.append(f"Allowed: {words}{f', {said.unit}' if said.unit else ''}")
    if field.blank:
        sentences.append(f"Left blank: {said.blank}")
    return ". ".join(each.rstrip(".") for each in sentences if each) + "."


def _how_many(field: PlanField) -> str:
    """Return how many values a list takes."""
    if field.kind == "twelve":
        return "12 numbers, July to June"
    if field.fewest == field.most:
        return count(field.fewest, "number")
    return f"{field.fewest} numbers or more" if field.fewest else "Numbers"


def option(name: object) -> str:
    """Return a choice in words."""
    return _IN_WORDS.get(str(name), str(name).replace("_", " "))


def numbers_shown(field: PlanField, values: Sequence[float] | None) -> str:
    """Return a list of numbers as it is typed."""
    return ", ".join(f"{shown(field, value):.10g}" for value in values or ())


def numbers_typed(field: PlanField, text: str) -> list[float] | None:
    """Return the numbers of a text; None where nothing was typed.

    Raises
    ------
    ValueError
        Some of it is no number; says which.
    """
    words = [word for word in re.split(r"[,;\s]+", text.strip()) if word]
    wrong = [word for word in words if not _is_number(word)]
    if wrong:
        raise ValueError(f"{listed(wrong)}: not a number")
    values = [stated(field, float(word)) for word in words]
    return [int(value) if field.whole else value for value in values] or None


def _is_number(word: str) -> bool:
    try:
        return math.isfinite(float(word))
    except ValueError:
        return False


def step(field: PlanField, value: float | None) -> float:
    """Return by how much one press moves a figure: about a hundredth of it, a round number."""
    if not value:
        return 1.0
    return float(10.0 ** max(-2, math.floor(math.log10(abs(value))) - 1))


def another_name(name: str, taken: Sequence[str]) -> str:
    """Return a name like one that is taken.

    Examples
    --------
    >>> another_name("wheat", ["wheat", "wheat 2"])
    'wheat 3'
    """
    number = next(n for n in range(2, len(taken) + 3) if f"{name} {n}" not in taken)
    return f"{name} {number}"


def least(field: PlanField) -> object:
    """Return where a figure begins that must be given and that nothing is known of."""
    if field.kind in ("choice", "choices"):
        return field.choices[0] if field.kind == "choice" else [field.choices[0]]
    if field.kind in ("twelve", "numbers"):
        return [field.lowest or 0.0] * (field.fewest or 1)
    if field.kind in ("number", "whole"):
        return (field.lowest or 0) + (1 if field.above else 0)
    if field.kind in ("table", "tables"):
        table = {inner.name: least(inner) for inner in field.inner if inner.required}
        return table if field.kind == "table" else [table] * field.fewest
    return field.kind == "yes_or_no" or "new"


def take_out(name: str, steps: Sequence[str] = ()) -> str:
    """Return the words of a button that takes a row out, and drought steps that go with it.

    Examples
    --------
    >>> take_out("land", ["Ask the bank", "Sell shares"])
    'Take out land, and the steps that name it: “Ask the bank” and “Sell shares”'
    """
    if not steps:
        return f"Take out {name}"
    named = "steps that name" if len(steps) > 1 else "step that names"
    quoted = listed([f"“{step}”" for step in steps])
    return f"Take out {name}, and the {named} it: {quoted}"
