"""How many stress cases fall short, and why may one with less water look easier on the bank?

The middle case is what the others are held against: it is not stressed, and is not counted.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from model.decide.stress import StressCase, StressSet

PENNY_AUD: Final = 0.01
"""Less than this is no difference."""


def short_words(stress: StressSet) -> str:
    """Say in how many stress cases cover over the run is below 1.00."""
    cases = len(stress.stressed)
    short = sum(case.result.run_cover < 1.0 for case in stress.stressed)
    if short == 0:
        return f"none of the {cases} stress cases takes it below 1.00"
    if short == cases:
        return f"all {cases} stress cases leave it below 1.00"
    return f"in {short} of {cases} stress cases it is below 1.00"


def past_words(stress: StressSet, limit_aud: float) -> str:
    """Say in how many stress cases the overdraft passes its limit."""
    past = sum(case.result.lowest_cash_aud < -limit_aud for case in stress.stressed)
    return f"past the overdraft limit in {past} of {len(stress.stressed)} stress cases"


def easier_on_bank(stress: StressSet) -> Mapping[str, str]:
    """Say of each case with less water that is easier on the bank than the middle one, why.

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
    """Say what is not planted and not spent, and what that costs."""
    own, middle = case.result, stress.middle
    less_ha, less_spent, less_earned = (
        sum(_known(middle.by_season(name))) - sum(_known(own.by_season(name)))
        for name in ("area_planted_ha", "costs_aud", "income_aud")
    )
    because = [
        *([f"{less_ha:,.0f} ha less is planted in all"] if round(less_ha) > 0 else []),
        *([f"{_aud(less_spent)} less is spent"] if less_spent > PENNY_AUD else []),
    ] or ["what is spent and received falls in other months"]
    said = (
        f"In “{case.name}” the bank falls less low than in the middle case "
        f"({_aud(own.lowest_cash_aud)} against {_aud(middle.lowest_cash_aud)}), since "
        f"{' and '.join(because)}."
    )
    if less_earned <= PENNY_AUD:
        return said
    cost = f" Less water is not better for it: {_aud(less_earned)} less is earned over the run"
    if middle.run_cover > own.run_cover:
        cost += f", and cover over the run is {own.run_cover:.2f} against {middle.run_cover:.2f}"
    return f"{said}{cost}."


def _known(values: list[float]) -> list[float]:
    """Leave out seasons planted before the run opens."""
    return [value for value in values if value == value]


def _aud(value: float) -> str:
    """Say money to the thousand."""
    return f"{round(value, -3) + 0.0:,.0f} AUD".replace("-", "−")
