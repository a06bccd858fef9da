"""What the stress set says on a page: what each case changes and brings, and the break-evens."""

from __future__ import annotations

import math
from typing import TypedDict

import pandas as pd

from dashboard.findings.wording import aud
from model.decide.break_even import BreakEven
from model.decide.stress import StressCase, StressSet
from model.say.lender import past_words, short_words
from model.water_year import month_name


def covers(stress: StressSet) -> dict[str, float]:
    """Give cover over the run by case; empty where nothing is due in the middle case."""
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
    """Give cover over the run by case; where nothing is due, the lowest bank balance."""
    if by_cover := covers(stress):
        return Bars(
            values=by_cover, unit="cover over the run, times", limit=("1.00", 1.0), digits=2
        )
    return Bars(
        values={case.name: case.result.lowest_cash_aud / 1_000.0 for case in stress.cases},
        unit="lowest bank, thousand AUD",
        limit=("overdraft limit", -limit_aud / 1_000.0),
        digits=0,
    )


def finding(stress: StressSet, limit_aud: float) -> str:
    """Say the middle case and the worst one: by cover, or by the bank where nothing is due."""
    by_cover = covers(stress)
    if not by_cover:
        worst = min(stress.cases, key=lambda case: case.result.lowest_cash_aud)
        return (
            f"The bank is lowest in “{worst.name}”, {aud(worst.result.lowest_cash_aud)}; "
            f"{past_words(stress, limit_aud)}"
        )
    worst_name = min(by_cover, key=by_cover.__getitem__)
    return (
        f"Cover over the run is {stress.middle.run_cover:.2f} in the middle case; "
        f"{short_words(stress)}; least in “{worst_name}”, {by_cover[worst_name]:.2f}"
    )


def is_past(case: StressCase, limit_aud: float) -> bool:
    """Tell whether a case takes the overdraft past its limit."""
    return case.result.lowest_cash_aud < -limit_aud


def summary(stress: StressSet, limit_aud: float) -> pd.DataFrame:
    """Lay out in few columns what each case changes and brings."""
    return pd.DataFrame(
        {
            "Case": f"{case.name}: {case.meaning}",
            **_cover(case, stress),
            "Lowest bank, thousand AUD": f"{case.result.lowest_cash_aud / 1_000:,.0f}"
            + (" (past limit)" if is_past(case, limit_aud) else ""),
            "Payments missed": f"{case.result.payments_missed}",
        }
        for case in stress.cases
    )


def frame(stress: StressSet, limit_aud: float) -> pd.DataFrame:
    """Lay out all that each case brings."""
    return pd.DataFrame(
        {
            "Case": case.name,
            "What it changes": case.meaning,
            "Planted by season, ha": " / ".join(
                "–" if math.isnan(ha) else f"{ha:,.0f}"
                for ha in case.result.by_season("area_planted_ha")
            ),
            **_cover(case, stress),
            "Lowest bank, AUD": round(case.result.lowest_cash_aud),
            "in": month_name(case.result.lowest_cash_month),
            "Past the overdraft limit": "yes" if is_past(case, limit_aud) else "no",
            "Bank at the end, AUD": round(case.result.closing_cash_aud),
            "Arrears at the end, AUD": round(case.result.arrears_aud),
            "Payments missed": case.result.payments_missed,
        }
        for case in stress.cases
    )


def break_even_frame(stress: StressSet) -> pd.DataFrame:
    """Lay out how far each thing may turn alone before cover over the run is 1.00."""
    return pd.DataFrame(
        {
            "Turned alone": f"{one.name}, {one.unit}",
            "Now": _amount(one, one.now),
            "Cover is 1.00 at": _there(one),
            "That is": _change(one),
        }
        for one in stress.break_evens
    )


def _cover(case: StressCase, stress: StressSet) -> dict[str, str]:
    """Give a case's cell of cover; there is none where no case has a debt."""
    return {"Cover over the run": _two(case.result.run_cover)} if stress.has_cover else {}


def _two(cover: float) -> str:
    return "no debt" if math.isnan(cover) else f"{cover:.2f}"


def _amount(one: BreakEven, value: float) -> str:
    if one.unit == "points":
        return "as the plan" if value == 0.0 else f"{value:+.1f}"
    return f"{value:,.0f}" if one.unit.startswith("AUD") else f"{value:,.2f}"


def _there(one: BreakEven) -> str:
    """Say the level, or why there is none."""
    if one.at is not None:
        step = ", in a step" if one.found == "in_a_step" else ""
        return f"{_amount(one, one.at)}{step}"
    return {
        "no_debt": "no debt",
        "never_falls_to_1": "above 1.00 however far",
        "never_reaches_1": "below 1.00 now, and this alone does not bring it there",
    }.get(one.found, "none")


def _change(one: BreakEven) -> str:
    if one.change_frac is None:
        return "–"
    if one.unit == "points":
        return f"{one.at:.1f} points more"
    return f"{abs(100 * one.change_frac):.0f} % {'less' if one.change_frac <= 0.0 else 'more'}"
