"""What the page of this season answers, and what stands in its pictures."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pandas as pd

from dashboard.charts.dots import Row
from dashboard.charts.hectares import Line
from dashboard.choices import STEP_HA
from model.decide.decision import Decision
from model.decide.desk import HeldAndNeeded, LimitAndBales, NothingComes
from model.decide.one_area import (
    AreaOutcome,
)
from model.decide.season_question import AreasTried, CoursesTried
from model.decide.triggers import Trigger
from model.farm.measures import NO_LAND_HA
from model.farm.setting import FarmSetting
from model.outlook.chances import Estimate
from model.plan.farm import Objective
from model.say.numbers import (
    capital,
    chance_cell,
    ha,
    ml,
    money,
    number,
    of_100,
    times_in_100,
)
from model.say.season_question import (
    NO_TRIGGER,
    OBJECTIVES,
    ahead_in_words,
    course_in_words,
    trigger_in_words,
)


def usual_area_ha(tried: AreasTried, most_ha: float) -> float:
    """Return the area at which the control begins: that best by the plan's objective."""
    return min(most_ha, STEP_HA * round(tried.best_ha / STEP_HA))


def question(now: Decision, setting: FarmSetting) -> str:
    """Return what is asked at the plan's date."""
    main, year = setting.farm.main_crop.name, setting.valley.calendar.water_year(now.season)
    asked = {
        "carry": f"How many hectares to prepare for {year}?",
        "plant": f"How many hectares of {main} to fertilise and plant?",
        "finish": f"How many hectares of {main} to finish?",
    }
    return asked[now.question]


def headline(
    outcome: AreaOutcome, area_ha: float, met: NothingComes | None, best: str, leads: str
) -> str:
    """Return the answer in one sentence, and beside it what is left if no more water comes.

    Parameters
    ----------
    outcome
        Of the area chosen.
    area_ha
        The area.
    met
        What it comes to if no more water comes.
    best
        Says by what the area is best, where it is not chosen yet.
    leads
        What comes first: the next season's water, from autumn on.
    """
    if area_ha <= NO_LAND_HA:
        return f"{leads}Nothing planted: the water is held."
    finished = times_in_100(outcome.finished.value, outcome.finished.draws)
    said = f"{leads}{ha(area_ha)}{best}: finished {finished}."
    if met is None:
        return said
    return (
        f"{said} If no more water comes: {ha(met.finished_ha)} finished, bank "
        f"{money(met.closing_cash_aud)} at the end of June."
    )


def next_season_leads(outcome: AreaOutcome, setting: FarmSetting, year: str) -> str:
    """Return the next season's water, as it leads the answer in autumn."""
    usable = outcome.amounts["planting_usable_ml_per_share"][outcome.season]
    shares_ml = setting.farm.licence.general_security_shares_ml
    if usable is None:
        return ""
    sure, middle = (own_ml(usable.reached_in(n).value, shares_ml) for n in (9, 5))
    return f"{year}: {middle} or more to plant with 50 times in 100, {sure} 90 times. "


def own_ml(held_ml_per_share: float, shares_ml: float) -> str:
    """Return an amount of the account in the farm's own megalitres."""
    return ml(held_ml_per_share * shares_ml)


def best_words(objective: Objective) -> str:
    """Return by what the area is best that stands there before one is chosen."""
    return f", {OBJECTIVES[objective]}"


def alike_words(tried: AreasTried, objective: Objective) -> str:
    """Return which area is best by the plan's objective, and what cannot be told apart from it."""
    low_ha, high_ha = tried.alike_ha
    best = f"{ha(tried.best_ha)} is {OBJECTIVES[objective]}"
    if low_ha == high_ha:
        return f"{best}."
    return f"{best}; {ha(low_ha)} to {ha(high_ha)} cannot be told apart from it."


def lines_of(tried: AreasTried) -> dict[str, Line]:
    """Return the lines of hectares against times in 100, by what is said at their ends."""
    finished = [each.finished for each in tried.brought[1:]]  # none is not finished
    past = [each.past_limit for each in tried.brought]
    missed = [each.payment_missed for each in tried.brought]
    return {
        "finished,\nfully watered": Line(_times(finished), _ranges(finished), "water"),
        "over the limit,\nin the run": Line(_times(past), (), "limit"),
        "payment missed,\nin the run": Line(_times(missed), (), "attention"),
    }


def _times(estimates: Sequence[Estimate]) -> list[float]:
    return [100.0 * each.value for each in estimates]


def _ranges(estimates: Sequence[Estimate]) -> list[tuple[float, float]]:
    return [(100.0 * low, 100.0 * high) for low, high in (each.headline for each in estimates)]


def marks_of(water: HeldAndNeeded) -> dict[str, float]:
    """Return the marks on the axis of hectares, by what is said of them."""
    marks = {f"water we hold finishes {ha(water.held.area_ha)}": water.held.area_ha}
    bills = water.bills
    if bills.bills_aud > 0.0 and math.isfinite(bills.area_ha):
        marks[f"the year's bills need {ha(bills.area_ha)}"] = bills.area_ha
    return marks


def areas_alt(tried: AreasTried, outcome: AreaOutcome, area_ha: float) -> str:
    """Return what the picture of hectares shows, for who cannot see it."""
    finished = times_in_100(outcome.finished.value, outcome.finished.draws)
    return (
        f"Times in 100 by hectares, from none to {ha(tried.areas_ha[-1])}. Our choice, "
        f"{ha(area_ha)}: finished fully watered {finished}."
    )


def areas_frame(tried: AreasTried) -> pd.DataFrame:
    """Arrange what each area brings, times in 100, with the range the record supports."""
    return pd.DataFrame(
        {
            "Hectares": number(area_ha),
            "Finished, fully watered": chance_cell(each.finished),
            "Over the limit, in the run": of_100(each.past_limit.value),
            "Payment missed, in the run": of_100(each.payment_missed.value),
        }
        for area_ha, each in zip(tried.areas_ha, tried.brought, strict=True)
    )


def water_rows(outcome: AreaOutcome, years: Sequence[str]) -> list[Row]:
    """Return the water that each season can use by its finish month, as fifty dots."""
    return [
        Row(
            year,
            [f"{ml(float(dots[len(dots) // 2]))} or more", "50 times in 100"],
            dots.tolist(),
        )
        for year, dots in zip(years, outcome.water_ml, strict=False)
        if dots is not None
    ]


def water_alt(rows: Sequence[Row]) -> str:
    """Return what the dots show, for who cannot see them."""
    return "; ".join(f"{row.name}: {' '.join(row.said)}" for row in rows)


def beside(found: LimitAndBales, courses: CoursesTried, setting: FarmSetting) -> list[str]:
    """Return what stands beside the answer: today's sales, safe bales, the limit that holds."""
    better = courses.better
    ahead = None if better is None else ahead_in_words(better, courses.objective)
    today = (
        "as usual; nothing else tried is ahead"
        if better is None or ahead is None
        else f"{course_in_words(better)} is {OBJECTIVES[courses.objective]}: {ahead} than as usual"
    )
    unit = setting.farm.main_crop.unit
    units = unit if unit == "t" else f"{unit}s"
    limit = money(setting.rules.cash.overdraft_limit_aud)
    return [
        f"**Sell or buy now:** {today}.",
        f"**Safe to sell forward:** {number(found.bales.value)} {units}, reached 90 times in 100; "
        f"{number(found.sold_forward)} sold so far.",
        f"**Limit that holds 90 times in 100:** {money(found.limit_needed_aud.value)}; ours is "
        f"{limit}.",
    ]


def changes(found: Sequence[Trigger], setting: FarmSetting) -> list[str]:
    """Return what would change the answer by the next decision; or that nothing found would."""
    if not found:
        return [f"{capital(NO_TRIGGER)}."]
    said = (trigger_in_words(each, setting.farm.objective, setting) for each in found)
    return [f"{capital(each)}." for each in said]


def dots_caption(area_ha: float, needed_ml: float) -> str:
    """Return what the dots are, and what the line across them is."""
    return (
        "Account, high security, storage and bore. 50 dots, each 2 times in 100; dashed: what "
        f"{ha(area_ha)} are planned to use, {ml(needed_ml)}."
    )


def water_frame(rows: Sequence[Row]) -> pd.DataFrame:
    """Arrange the dots, ML."""
    return pd.DataFrame({row.name: [number(value) for value in row.values] for row in rows})
