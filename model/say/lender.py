"""What is told of debt cover, of the stress set and of the break-evens?

The middle case is what the stress cases are held against: it is not stressed, and is not counted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from model.decide.break_even import MOST_RATE_UP_FRAC, BreakEven
from model.decide.compare import StrategyOutcome
from model.decide.stress import StressCase, StressSet
from model.say.comparison import survives_in_words
from model.say.measures import EVENTS, shown
from model.say.numbers import chance, currency_sign, ha, money, number

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


def case_meaning(case: StressCase) -> str:
    """Return what a case changes, with the price where it has one of its own."""
    if case.price_aud_per_unit is None:
        return case.meaning
    return f"{money(case.price_aud_per_unit)} a {case.unit}; {case.meaning}"


def case_in_words(case: StressCase) -> str:
    """Return a case's name and what it changes."""
    return f"{case.name}: {case_meaning(case)}"


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


COVER_BY_SEASON: Final = (
    "Cover is income less costs, divided by the interest and principal due: at 1.00 it just pays. "
    "By season it is of money as it comes and goes: a crop is paid for mostly in the next season, "
    "so a first season that opens after the last crop was paid carries costs without their income."
)

BELOW_0: Final = "Below 0 a cover says only that income did not pay costs."

RATIOS: Final = (
    "cover",
    "run_cover",
    "term_debt_cover",
    "interest_cover",
    "equity_frac",
    "loan_to_value_frac",
)
"""The measures whose formulas are printed beside the numbers."""


def cover_headline(outcome: StrategyOutcome, stress: StressSet) -> str:
    """Return the finding on cover: the middle case, and how many stress cases fall short."""
    cover = stress.middle.run_cover
    if math.isnan(cover):
        if outcome.has_no_debt:
            return "There is no debt to serve: cover is not asked for"
        return "In the middle case nothing is due in these seasons: its cover is not asked for"
    return f"{_middle_in_words(cover)}; {short_words(stress)}"


def _middle_in_words(cover: float) -> str:
    """Return the middle case's cover."""
    if cover < 0.0:
        return f"In the middle case income does not pay costs: cover is {number(cover, 2)}"
    only = "" if cover >= 1.0 else "only "
    return f"In the middle case income covers interest and principal {only}{number(cover, 2)} times"


def cover_in_words(outcome: StrategyOutcome) -> str:
    """Return what cover is, how often it is short, and how long no allocation is survived."""
    if outcome.nothing_due:
        return survives_in_words(outcome)
    return (
        f"{COVER_BY_SEASON} {EVENTS['cover_below_1'].title} in some season: "
        f"{chance(outcome.chances['cover_below_1'])}. {survives_in_words(outcome)}"
    )


def formulas_in_words(outcome: StrategyOutcome, stress: StressSet) -> str:
    """Return the formula of each ratio that says something."""
    due = not outcome.nothing_due or stress.has_cover
    printed = " ".join(
        f"{measure.title} = {measure.formula}."
        for measure in shown(RATIOS, due=due, owed=not outcome.has_no_debt)
    )
    return f"{printed} {BELOW_0}" if due else printed


def break_evens_in_words(stress: StressSet) -> str:
    """Return how far each may turn before cover over the run is 1.00."""
    if all(one.found == "no_debt" for one in stress.break_evens):
        return "In the middle case nothing is due, and so there is no level at which cover is 1.00."
    if all(one.found == "never_reaches_1" for one in stress.break_evens):
        return (
            "Cover over the run is below 1.00 now, and no change of price, yield, water or rates "
            "alone brings it there."
        )
    before = stress.middle.run_cover >= 1.0
    lead = "Before cover over the run is 1.00" if before else "For cover over the run to be 1.00"
    parts = "; ".join(break_even_in_words(one) for one in stress.break_evens)
    return f"{lead} (each solved alone, and run again there): {parts}."


def break_even_in_words(one: BreakEven) -> str:
    """Return one break-even."""
    name = one.name.lower()
    if one.found == "no_debt":
        return f"{name}, no debt to cover"
    if one.found == "never_falls_to_1":
        if one.unit == "points":
            most = number(100 * MOST_RATE_UP_FRAC)
            return f"{name} may rise by {most} percentage points and more"
        return f"{name} may fall to next to nothing"
    if one.found == "never_reaches_1" or one.at is None or one.change_frac is None:
        return f"no change of {name} alone is enough"
    step = " (there cover passes 1.00 in a step)" if one.found == "in_a_step" else ""
    if one.unit == "points":
        return f"{name} may rise by {number(one.at, 1)} percentage points{step}"
    verb = "may fall" if one.change_frac <= 0.0 else "must rise"
    return (
        f"{name} {verb} {number(abs(100 * one.change_frac))} %, from {level_cell(one, one.now)} to "
        f"{level_cell(one, one.at)} {unit_in_words(one)}{step}"
    )


def unit_in_words(one: BreakEven) -> str:
    """Return the unit of what is turned."""
    return one.unit.replace("AUD", currency_sign()).replace(" per ", " a ")


def level_cell(one: BreakEven, value: float) -> str:
    """Return a level of what is turned, in its unit."""
    if one.unit == "points":
        return "as the plan" if value == 0.0 else f"+{number(value, 1)}"
    return number(value, 0 if one.unit.startswith("AUD") else 2)
