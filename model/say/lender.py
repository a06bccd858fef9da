"""How many stress cases fall short, and why may one with less water look easier on the bank?

The middle case is what the others are held against: it is not stressed, and is not counted.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from model.decide.stress import StressCase, StressSet
from model.say.numbers import ha, money, number

PENNY_AUD: Final = 0.01
"""Less than this is no difference."""


def short_words(stress: StressSet) -> str:
    """Return in how many stress cases cover over the run is below 1.00."""
    cases = len(stress.stressed)
    short = sum(case.result.run_cover < 1.0 for case in stress.stressed)
    if short == 0:
        return f"none of the {cases} stress cases takes it below 1.00"
    if short == cases:
        return f"all {cases} stress cases leave it below 1.00"
    return f"in {short} of {cases} stress cases it is below 1.00"


def past_words(stress: StressSet, limit_aud: float) -> str:
    """Return in how many stress cases the overdraft passes its limit."""
    past = sum(case.result.lowest_cash_aud < -limit_aud for case in stress.stressed)
    return f"past the overdraft limit in {past} of {len(stress.stressed)} stress cases"


def easier_on_bank(stress: StressSet) -> Mapping[str, str]:
    """Return why a case with less water is easier on the bank than the middle one.

    Returns
    -------
    Mapping of str to str
        By the case's name; empty where no case is.
    """
    return {
        case.name: _why(case, stress)
        for case in stress.stressed
        if case.less_water
        and case.result.lowest_cash_aud > stress.middle.lowest_cash_aud + PENNY_AUD
    }


def _why(case: StressCase, stress: StressSet) -> str:
    """Return what is not planted and not spent, and what that costs."""
    own, middle = case.result, stress.middle
    less_ha, less_spent, less_earned = (
        sum(_known(middle.by_season(name))) - sum(_known(own.by_season(name)))
        for name in ("area_planted_ha", "costs_aud", "income_aud")
    )
    because = [
        *([f"{ha(less_ha)} less is planted in all"] if round(less_ha) > 0 else []),
        *([f"{money(less_spent)} less is spent"] if less_spent > PENNY_AUD else []),
    ] or ["what is spent and received falls in other months"]
    said = (
        f"In “{case.name}” the bank falls less low than in the middle case "
        f"({money(own.lowest_cash_aud)} against {money(middle.lowest_cash_aud)}), since "
        f"{' and '.join(because)}."
    )
    if less_earned <= PENNY_AUD:
        return said
    cost = f" Less water is not better for it: {money(less_earned)} less is earned over the run"
    if middle.run_cover > own.run_cover:
        covers = number(own.run_cover, 2), number(middle.run_cover, 2)
        cost += f", and cover over the run is {covers[0]} against {covers[1]}"
    return f"{said}{cost}."


def _known(values: list[float]) -> list[float]:
    """Return the values of seasons planted in the run."""
    return [value for value in values if value == value]
