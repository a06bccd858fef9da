"""What is told of debt cover, of the stress set and of the break-evens?

The plan as it stands is what the stress cases are held against: it is not stressed, and is not
counted among them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from model.decide.amounts import Amount
from model.decide.break_even import MOST_RATE_UP_FRAC, BreakEven
from model.decide.compare import SeasonOutcome, StrategyOutcome
from model.decide.stress import StressCase, StressSet
from model.say.measures import shown
from model.say.numbers import (
    NO_NUMBER,
    chance,
    count,
    currency_sign,
    ha,
    money,
    number,
    thousands_heading,
    times_in_100,
    with_range,
)

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


def past_words(stress: StressSet) -> str:
    """Return in which stress case the overdraft passes its limit most often."""
    worst = max(stress.stressed, key=lambda case: case.result.past_limit_frac)
    often = times_in_100(worst.result.past_limit_frac, stress.sequences)
    return f"the overdraft passes its limit {often} in “{worst.name}”"


def stress_title(stress: StressSet) -> str:
    """Return what the table of the stress set shows."""
    of_cover = "Cover is after drawings and tax, on average. " if stress.has_cover else ""
    return (
        "Stress set: the plan as it stands, then changed in one thing or three, each played "
        f"through the same {count(stress.sequences, 'sequence')}. {of_cover}Bank in "
        f"{thousands_heading()}: the lowest of the run, which it stays above so many times in 100, "
        "and the middle at the end. Chances: times in 100, at some time in the run."
    )


def bridge_in_words(outcome: StrategyOutcome, stress: StressSet, drawn: int) -> str:
    """Return how the case as planned differs from the odds; empty where both are of all drawn."""
    cover = outcome.covers["run_term_debt_cover"]
    if drawn <= stress.sequences or cover is None:
        return ""
    return (
        f"Stress cases and break-evens are of the first {count(stress.sequences, 'sequence')} of "
        f"{drawn:,}: as planned their cover is {_two(stress.as_planned.run_cover)}, that of all "
        f"{_two(cover.mean.value)}."
    )


def case_meaning(case: StressCase) -> str:
    """Return what a case changes, with the price where it has one of its own."""
    if case.price_aud_per_unit is None:
        return case.meaning
    return f"{money(case.price_aud_per_unit)} a {case.unit}; {case.meaning}"


def case_in_words(case: StressCase) -> str:
    """Return a case's name and what it changes."""
    return f"{case.name}: {case_meaning(case)}"


def easier_on_bank(stress: StressSet) -> Mapping[str, str]:
    """Return why a case with less water is easier on the bank than the plan as it stands.

    Returns
    -------
    Mapping of str to str
        By the case's name; empty where no case is.
    """
    return {
        case.name: _why(case, stress)
        for case in stress.stressed
        if case.less_water
        and case.result.lowest_cash_aud > stress.as_planned.lowest_cash_aud + PENNY_AUD
    }


def _why(case: StressCase, stress: StressSet) -> str:
    """Return what is not planted and not spent, and what that costs."""
    own, planned = case.result, stress.as_planned
    less_ha = planned.planted_ha - own.planted_ha
    less_spent = planned.costs_aud - own.costs_aud
    less_earned = planned.income_aud - own.income_aud
    because = [
        *([f"{ha(less_ha)} less is planted on average"] if round(less_ha) > 0 else []),
        *([f"{money(less_spent)} less is spent"] if less_spent > PENNY_AUD else []),
    ] or ["what is spent and received falls in other months"]
    said = (
        f"In “{case.name}” the bank falls less low than as planned "
        f"({money(own.lowest_cash_aud)} against {money(planned.lowest_cash_aud)}), since "
        f"{' and '.join(because)}."
    )
    if less_earned <= PENNY_AUD:
        return said
    cost = f" Less water is not better for it: {money(less_earned)} less is earned over the run"
    if planned.run_cover > own.run_cover:
        covers = number(own.run_cover, 2), number(planned.run_cover, 2)
        cost += f", and cover over the run is {covers[0]} against {covers[1]}"
    return f"{said}{cost}."


COVER_BY_SEASON: Final = (
    "By season a cover is of money as it comes and goes: a crop is paid for mostly in the season "
    "after it was grown, so one season carries costs whose income is another's. Over the run that "
    "evens out."
)

BELOW_0: Final = "Below 0 a cover says only that income did not pay costs."

RATIOS: Final = (
    "run_term_debt_cover",
    "run_replacement_cover",
    "cover",
    "term_debt_cover",
    "interest_cover",
    "equity_frac",
    "loan_to_value_frac",
)
"""The measures whose formulas are printed beside the numbers."""

LEVELS: Final = {"run_cover_below_1": "1.00", "run_cover_below_1_25": "1.25"}
"""What cover over the run is held against, by event."""


def no_cover_in_words(outcome: StrategyOutcome) -> str:
    """Return why there is no cover over the run; empty where there is one."""
    if outcome.covers["run_term_debt_cover"] is not None:
        return ""
    if outcome.has_no_debt:
        return "There is no debt to serve: cover is not asked for"
    return "Nothing is due on a loan in these seasons: cover is not asked for"


def cover_headline(outcome: StrategyOutcome) -> str:
    """Return the finding on debt cover over the run, after drawings and tax, with its odds."""
    cover = outcome.covers["run_term_debt_cover"]
    if cover is None:
        return no_cover_in_words(outcome)
    return f"{_on_average(cover)}; below 1.00 {chance(outcome.chances['run_cover_below_1'])}"


def cover_in_short(outcome: StrategyOutcome) -> str:
    """Return cover over the run with its odds and machinery beside it, in a sentence."""
    cover = outcome.covers["run_term_debt_cover"]
    if cover is None:
        return f"{no_cover_in_words(outcome)}."
    machinery = outcome.covers["run_replacement_cover"]
    beside = "" if machinery is None else f" {_machinery_in_words(machinery.mean.value)}"
    odds = "; ".join(
        f"below {level} {chance(outcome.chances[name])}" for name, level in LEVELS.items()
    )
    return f"{_on_average(cover)}; {odds}.{beside}"


def _on_average(cover: Amount) -> str:
    """Return cover over the run, after drawings and tax."""
    if cover.mean.value < 0.0:
        said = "After drawings and tax nothing is left over the run to pay loans with"
        return f"{said}: cover is {_two(cover.mean.value)} on average"
    return (
        "After drawings and tax the farm covers its loan payments "
        f"{with_range(cover.mean, _two)} times over the run"
    )


def _machinery_in_words(cover: float) -> str:
    return f"With the machinery that is to be bought taken off too it is {_two(cover)}."


def _two(value: float) -> str:
    return number(value, 2)


DEBT_PARTS: Final = {
    "operating_aud": "Operating income, crop money still due counted",
    "bank_interest_aud": "− interest on overdraft and arrears",
    "off_farm_aud": "+ off-farm income",
    "drawings_aud": "− family living",
    "tax_aud": "− tax",
    "available_aud": "= left to pay loans with",
    "term_interest_aud": "Interest due on loans",
    "principal_aud": "Principal due on loans",
    "due_aud": "= loan payments due",
    "machinery_aud": "Machinery to be bought",
}
"""The parts of cover over the run, in the order in which they are added up."""


def cover_in_words(outcome: StrategyOutcome) -> str:
    """Return why covers by season have the signs they have; empty where nothing is due."""
    if outcome.nothing_due:
        return ""
    why = [said for season in outcome.seasons if (said := _why_of_season(season))]
    return f"{COVER_BY_SEASON} {' '.join(why)}"


def _why_of_season(season: SeasonOutcome) -> str:
    """Return what comes in and goes out in a season, and what of its crop is paid for later."""
    income, costs, later = (
        season.amounts[name] for name in ("income_aud", "costs_aud", "receivable_aud")
    )
    if income is None or costs is None or later is None:
        return ""
    return (
        f"{season.water_year}: {money(income.mean.value)} comes in and {money(costs.mean.value)} "
        f"goes out on average, and {money(later.mean.value)} is paid for crops later."
    )


def formulas_in_words(outcome: StrategyOutcome, stress: StressSet) -> str:
    """Return the formula of each ratio that says something."""
    due = not outcome.nothing_due or stress.has_cover
    printed = " ".join(
        f"{measure.title} = {measure.formula}."
        for measure in shown(RATIOS, due=due, owed=not outcome.has_no_debt)
    )
    return f"{printed} {BELOW_0}" if due else printed


BREAK_EVEN_TITLES: Final = ("Turned alone", "Now", "Cover is 1.00 at", "That is", "Cover there")


def break_even_title(stress: StressSet) -> str:
    """Return what the table of break-evens shows, or why there is none."""
    if all(one.found == "no_debt" for one in stress.break_evens):
        return "Nothing is due on a loan, and so there is no level at which cover is 1.00."
    if all(one.found == "never_reaches_1" for one in stress.break_evens):
        return (
            "Cover over the run is below 1.00 as planned, and no change of price, yield, water or "
            "rates alone brings it there."
        )
    return (
        "How far each may turn alone until debt cover over the run, after drawings and tax, is "
        f"1.00 on average: found by playing all {count(stress.sequences, 'sequence')} again, and "
        "played once more there."
    )


def break_even_cells(one: BreakEven) -> dict[str, str]:
    """Return a break-even as a row of a table, by the heading of each column."""
    there = NO_NUMBER if one.cover_there is None else _two(one.cover_there)
    cells = (
        f"{one.name}, {unit_in_words(one)}",
        level_cell(one, one.now),
        _level_there(one),
        _change(one),
        there,
    )
    return dict(zip(BREAK_EVEN_TITLES, cells, strict=True))


def _level_there(one: BreakEven) -> str:
    """Return the level, or why there is none."""
    if one.at is not None:
        step = ", in a step" if one.found == "in_a_step" else ""
        return f"{level_cell(one, one.at)}{step}"
    if one.found == "never_falls_to_1" and one.unit == "points":
        return f"above 1.00 even {number(100 * MOST_RATE_UP_FRAC)} points higher"
    return {
        "no_debt": "no debt",
        "never_falls_to_1": "above 1.00 however far",
        "never_reaches_1": "below 1.00 as planned, and this alone does not bring it there",
    }.get(one.found, "none")


def _change(one: BreakEven) -> str:
    """Return how far a level is from where things stand."""
    if one.change_frac is None:
        return NO_NUMBER
    if one.unit == "points":
        return f"{number(one.at or 0.0, 1)} points {'less' if (one.at or 0.0) < 0.0 else 'more'}"
    return f"{number(abs(100 * one.change_frac))} % {'less' if one.change_frac <= 0.0 else 'more'}"


def unit_in_words(one: BreakEven) -> str:
    """Return the unit of what is turned."""
    return one.unit.replace("AUD", currency_sign()).replace(" per ", " a ")


def level_cell(one: BreakEven, value: float) -> str:
    """Return a level of what is turned, in its unit."""
    if one.unit == "points":
        return "as the plan" if value == 0.0 else f"{'+' if value > 0 else ''}{number(value, 2)}"
    if one.unit.startswith("ML"):
        return number(value, 3)
    return number(value, 0 if one.unit.startswith("AUD") else 2)
