"""What the stress set says on a page: what each case changes and brings, and the break-evens."""

from __future__ import annotations

import math
from typing import TypedDict

import pandas as pd

from model.decide.break_even import BreakEven
from model.decide.stress import StressCase, StressSet
from model.say.lender import (
    case_in_words,
    case_meaning,
    level_cell,
    past_words,
    short_words,
    unit_in_words,
)
from model.say.measures import MEASURES, title_of
from model.say.numbers import NO_NUMBER, money, number, thousands, thousands_heading
from model.water_year import month_name


def covers(stress: StressSet) -> dict[str, float]:
    """Return cover over the run by case; empty where nothing is due in the middle case."""
    if math.isnan(stress.middle.run_cover):
        return {}
    return {
        case.name: case.result.run_cover
        for case in stress.cases
        if not math.isnan(case.result.run_cover)
    }


class Bars(TypedDict):
    """What the chart of the cases draws."""

    values: dict[str, float]
    unit: str
    limit: tuple[str, float]
    digits: int


def bars(stress: StressSet, limit_aud: float) -> Bars:
    """Return cover over the run by case; where nothing is due, the lowest bank balance."""
    if by_cover := covers(stress):
        return Bars(
            values=by_cover, unit="cover over the run, times", limit=("1.00", 1.0), digits=2
        )
    return Bars(
        values={case.name: case.result.lowest_cash_aud / 1_000.0 for case in stress.cases},
        unit=f"lowest bank, {thousands_heading()}",
        limit=("overdraft limit", -limit_aud / 1_000.0),
        digits=0,
    )


def finding(stress: StressSet, limit_aud: float) -> str:
    """Describe the middle case and the worst one: by cover, or by the bank where nothing is due."""
    by_cover = covers(stress)
    if not by_cover:
        worst = min(stress.cases, key=lambda case: case.result.lowest_cash_aud)
        return (
            f"The bank is lowest in “{worst.name}”, {money(worst.result.lowest_cash_aud)}; "
            f"{past_words(stress, limit_aud)}"
        )
    worst_name = min(by_cover, key=by_cover.__getitem__)
    return (
        f"Cover over the run is {number(stress.middle.run_cover, 2)} in the middle case; "
        f"{short_words(stress)}; least in “{worst_name}”, {number(by_cover[worst_name], 2)}"
    )


def is_past(case: StressCase, limit_aud: float) -> bool:
    """Return whether a case takes the overdraft past its limit."""
    return case.result.lowest_cash_aud < -limit_aud


def summary(stress: StressSet, limit_aud: float) -> pd.DataFrame:
    """Arrange in few columns what each case changes and brings."""
    return pd.DataFrame(
        {
            "Case": case_in_words(case),
            **_cover(case, stress),
            MEASURES["lowest_cash_aud"].heading: thousands(case.result.lowest_cash_aud)
            + (" (past limit)" if is_past(case, limit_aud) else ""),
            title_of("payments_missed"): f"{case.result.payments_missed}",
        }
        for case in stress.cases
    )


def frame(stress: StressSet, limit_aud: float) -> pd.DataFrame:
    """Arrange all that each case brings."""
    return pd.DataFrame(
        {
            "Case": case.name,
            "What it changes": case_meaning(case),
            "Planted by season, ha": " / ".join(
                number(ha) for ha in case.result.by_season("area_planted_ha")
            ),
            **_cover(case, stress),
            title_of("lowest_cash_aud"): round(case.result.lowest_cash_aud),
            "in": month_name(case.result.lowest_cash_month),
            "Past the overdraft limit": "yes" if is_past(case, limit_aud) else "no",
            "Bank at the end": round(case.result.closing_cash_aud),
            "Arrears at the end": round(case.result.arrears_aud),
            title_of("payments_missed"): case.result.payments_missed,
        }
        for case in stress.cases
    )


def break_even_frame(stress: StressSet) -> pd.DataFrame:
    """Arrange how far each thing may turn alone before cover over the run is 1.00."""
    return pd.DataFrame(
        {
            "Turned alone": f"{one.name}, {unit_in_words(one)}",
            "Now": level_cell(one, one.now),
            "Cover is 1.00 at": _there(one),
            "That is": _change(one),
        }
        for one in stress.break_evens
    )


def _cover(case: StressCase, stress: StressSet) -> dict[str, str]:
    """Return a case's cell of cover; there is none where no case has a debt."""
    return {"Cover over the run": _two(case.result.run_cover)} if stress.has_cover else {}


def _two(cover: float) -> str:
    return "no debt" if math.isnan(cover) else number(cover, 2)


def _there(one: BreakEven) -> str:
    """Describe the level, or why there is none."""
    if one.at is not None:
        step = ", in a step" if one.found == "in_a_step" else ""
        return f"{level_cell(one, one.at)}{step}"
    return {
        "no_debt": "no debt",
        "never_falls_to_1": "above 1.00 however far",
        "never_reaches_1": "below 1.00 now, and this alone does not bring it there",
    }.get(one.found, "none")


def _change(one: BreakEven) -> str:
    if one.change_frac is None:
        return NO_NUMBER
    if one.unit == "points":
        return f"{number(one.at or 0.0, 1)} points more"
    return f"{number(abs(100 * one.change_frac))} % {'less' if one.change_frac <= 0.0 else 'more'}"
