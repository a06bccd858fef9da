"""What the stress set says on a page: what each case changes and brings, and the break-evens."""

from __future__ import annotations

import math
from typing import TypedDict

import pandas as pd

from model.decide.stress import StressCase, StressSet
from model.say.lender import (
    break_even_cells,
    case_in_words,
    case_meaning,
    past_words,
    short_words,
)
from model.say.measures import MEASURES, title_of
from model.say.numbers import NO_NUMBER, money, number, of_100, thousands, thousands_heading
from model.water_year import month_name


def covers(stress: StressSet) -> dict[str, float]:
    """Return cover over the run by case; empty where nothing is due as planned."""
    if math.isnan(stress.as_planned.run_cover):
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
    """Return cover over the run by case; where nothing is due, the bank's lowest balance."""
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


def finding(stress: StressSet) -> str:
    """Describe the plan and its worst case: by cover, or by the bank where nothing is due."""
    by_cover = covers(stress)
    if not by_cover:
        worst = min(stress.cases, key=lambda case: case.result.lowest_cash_aud)
        return (
            f"The bank is lowest in “{worst.name}”, {money(worst.result.lowest_cash_aud)} 50 "
            f"times in 100; {past_words(stress)}"
        )
    worst_name = min(by_cover, key=by_cover.__getitem__)
    return (
        f"Debt cover over the run, after drawings and tax, is "
        f"{number(stress.as_planned.run_cover, 2)} as planned; {short_words(stress)}; least in "
        f"“{worst_name}”, {number(by_cover[worst_name], 2)}"
    )


def summary(stress: StressSet) -> pd.DataFrame:
    """Arrange in few columns what each case changes and brings."""
    return pd.DataFrame(
        {
            "Case": case_in_words(case),
            **_cover(case, stress),
            MEASURES["lowest_cash_aud"].heading: thousands(case.result.lowest_cash_aud),
            f"{title_of('past_overdraft_limit')}, times in 100": of_100(
                case.result.past_limit_frac
            ),
            f"{title_of('payment_missed')}, times in 100": of_100(case.result.payment_missed_frac),
        }
        for case in stress.cases
    )


def frame(stress: StressSet) -> pd.DataFrame:
    """Arrange all that each case brings."""
    return pd.DataFrame(
        {
            "Case": case.name,
            "What it changes": case_meaning(case),
            "Planted by season, ha": " / ".join(
                number(ha) for ha in case.result.by_season("area_planted_ha")
            ),
            **_cover(case, stress),
            f"{title_of('lowest_cash_aud')}, 50 times in 100": round(case.result.lowest_cash_aud),
            "90 times in 100": round(case.result.lowest_cash_9_of_10_aud),
            "in": month_name(case.result.lowest_cash_month),
            "Past the overdraft limit, times in 100": of_100(case.result.past_limit_frac),
            "Bank at the end": round(case.result.closing_cash_aud),
            "Arrears at the end": round(case.result.arrears_aud),
            f"{title_of('payment_missed')}, times in 100": of_100(case.result.payment_missed_frac),
        }
        for case in stress.cases
    )


def break_even_frame(stress: StressSet) -> pd.DataFrame:
    """Arrange how far each thing may turn alone before debt cover over the run is 1.00."""
    return pd.DataFrame(break_even_cells(one) for one in stress.break_evens)


def _cover(case: StressCase, stress: StressSet) -> dict[str, str]:
    """Return a case's cells of cover; there are none where no case has a debt."""
    if not stress.has_cover:
        return {}
    result = case.result
    if math.isnan(result.run_cover):
        return {"Cover over the run": NO_NUMBER, "Below 1.00, times in 100": NO_NUMBER}
    return {
        "Cover over the run": number(result.run_cover, 2),
        "Below 1.00, times in 100": of_100(result.cover_below_1_frac),
    }
