"""What the page of planting or holding says: findings, and the tables behind them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from dashboard.charts.dots import Row
from dashboard.charts.hectares import Line
from model.decide.decision import Decision
from model.decide.desk import HeldAndNeeded, LimitAndBales, NothingComes
from model.decide.driest import SeasonMet, Stretch, StretchMet
from model.decide.last_megalitre import LastMegalitre
from model.decide.one_area import (
    AreaOutcome,
)
from model.decide.season_question import AreasTried, CoursesTried
from model.farm.measures import NO_LAND_HA
from model.farm.setting import FarmSetting
from model.outlook.chances import Estimate, Spread
from model.plan.farm import Objective
from model.record.record import FloatArray
from model.say.cells import reached_cells
from model.say.measures import MEASURES
from model.say.numbers import (
    chance,
    chance_cell,
    currency_sign,
    ha,
    ml,
    ml_per_share,
    money,
    money_for_each,
    number,
    percent,
    thousands,
    times_in_100,
)
from model.say.season_question import OBJECTIVES, course_in_words
from model.water_year import month_name

AREA_STEP_HA = 5.0
"""Areas are chosen in steps of this: nobody measures a paddock nearer."""

USE_WORDS = {
    "planted": "in planting more",
    "held": "held in the account",
    "on_farm": "held on the farm",
    "sold": "sold today",
}
USE_TITLES = {
    "planted": "Planted now",
    "held": "Held in the account",
    "on_farm": "Held on the farm",
    "sold": "Sold today",
}


def finish_finding(outcome: AreaOutcome, area_ha: float, year: str) -> str:
    """Describe how likely the area planted is to be finished with all its water."""
    planted = outcome.amounts["area_planted_ha"][outcome.season]
    if planted is None or not outcome.planting_ahead:
        return "No planting is ahead in these seasons: no area can be chosen"
    planted_ha = planted.reached_in(5).value
    if planted_ha <= NO_LAND_HA:
        return f"Nothing planted in {year}: the water is held"
    short = outcome.chances["ran_short"]
    ready = ", all the prepared land" if planted_ha < area_ha - NO_LAND_HA else ""
    return (
        f"{ha(planted_ha)} planted in {year}{ready}: all of it finished and fully watered "
        f"{times_in_100(1.0 - short.value, short.draws)}; cut back or short {chance(short)}"
    )


def usual_area_ha(own_ha: Spread, most_ha: float) -> float:
    """Return the area at which the control begins: the middle of what the strategy would plant."""
    return min(most_ha, AREA_STEP_HA * round(own_ha.reached_in(5).value / AREA_STEP_HA))


def own_area_words(strategy: str, own_ha: Spread) -> str:
    """Describe what a strategy would plant by its own rule."""
    middle_ha, sure_ha = (own_ha.reached_in(n).value for n in (5, 9))
    if middle_ha <= NO_LAND_HA:
        return f"By its own rule, {strategy} plants nothing next 50 times in 100 or more."
    said = f"By its own rule, {strategy} plants {ha(middle_ha)}"
    if sure_ha == middle_ha == own_ha.reached_in(1).value:
        return f"{said} next."
    return f"{said} or more next 50 times in 100, {ha(sure_ha)} or more 90 times."


def next_water_finding(outcome: AreaOutcome, years: Sequence[str]) -> str:
    """Describe what is left for the season after the one planted now; empty where none is ahead."""
    after = outcome.season + 1
    if after >= len(years):
        return ""
    carried = outcome.amounts["water_carried_ml"][outcome.season]
    usable = outcome.amounts["planting_usable_ml_per_share"][after]
    if carried is None or usable is None:
        return ""
    carried_ml = {n: ml(carried.reached_in(n).value) for n in (5, 9)}
    usable_in = {n: ml_per_share(usable.reached_in(n).value) for n in (5, 9)}
    return (
        f"Next season's water: {carried_ml[5]} or more is carried on from {years[outcome.season]} "
        f"50 times in 100, {carried_ml[9]} 90 times. At the planting of {years[after]}, "
        f"{usable_in[5]} or more is usable 50 times in 100, {usable_in[9]} 90 times."
    )


def cash_finding(bands_aud: FloatArray, first_month: int, limit_aud: float) -> str:
    """Return in which month the bank is lowest 10 times in 100, and what is left of the overdraft.

    It is told of that month alone: in some month of the run the limit is passed more often.
    """
    low = bands_aud[0]
    at = int(low.argmin())
    left = limit_aud + float(low[at])
    month = month_name(first_month + at)
    if low[at] >= 0.0:
        return (
            f"In {month} alone, the lowest month, the bank ends above {money(low[at])} 90 times in "
            "100: the overdraft is not drawn on"
        )
    if left >= 0.0:
        return (
            f"In {month} alone, the lowest month, the bank ends above {money(low[at])} 90 times in "
            f"100: {money(left)} of the overdraft left"
        )
    return (
        f"In {month} alone, the lowest month, the bank ends {money(-left)} or more over the "
        "limit 10 times in 100"
    )


def worth_finding(found: LastMegalitre) -> str:
    """Describe the best use of the first megalitre, and where it changes."""
    best = found.best_use()
    curve = found.curves[best]
    worth, error = float(curve.worth_aud_per_ml[0]), float(curve.error_aud_per_ml[0])
    said = f"One more megalitre is worth most {USE_WORDS[best]}: {money_for_each(worth, 'ML')}"
    if error > 0.0:
        said += f", give or take {money(1.96 * error)} for the draws"
    if not found.told_apart:
        said += "; which use is best cannot be told apart"
    if found.crossings:
        first = found.crossings[0]
        said += f"; beyond {ml(first.volume_ml)}, {USE_WORDS[first.best_after]}"
    return said


def worth_curves(
    found: LastMegalitre,
) -> dict[str, tuple[FloatArray, FloatArray, FloatArray]]:
    """Name the curves of one more megalitre."""
    return {
        USE_TITLES[use]: (curve.volume_ml, curve.worth_aud_per_ml, curve.error_aud_per_ml)
        for use, curve in found.curves.items()
    }


def worth_frame(found: LastMegalitre) -> pd.DataFrame:
    """Arrange what one more megalitre is worth, with its standard error."""
    return pd.DataFrame(
        {
            "Use": name,
            "ML already": round(float(volume_ml)),
            f"{currency_sign()} for one more ML": round(float(worth), 1),
            "Standard error": round(float(error), 1),
        }
        for name, curve in worth_curves(found).items()
        for volume_ml, worth, error in zip(*curve, strict=True)
    )


def area_frame(outcome: AreaOutcome, years: Sequence[str]) -> pd.DataFrame:
    """Arrange what a chosen area brings, season by season, reached 90, 50 and 10 times in 100.

    Money is in thousands, so that the table fits a narrow page; the range that the record supports
    is in brackets.
    """
    names = (
        "area_finished_ha",
        "margin_aud",
        "water_carried_ml",
        "closing_cash_aud",
        "planting_usable_ml_per_share",
    )
    return pd.DataFrame(
        {
            "What": MEASURES[name].heading,
            "Water year": year,
            **reached_cells(amount, MEASURES[name].cell),
        }
        for name in names
        for year, amount in zip(years, outcome.amounts[name], strict=True)
        if amount is not None
    )


def driest_finding(met: Sequence[StretchMet]) -> str:
    """Describe what the longest dry stretch does to this choice, and the worst for the bank."""
    longest, worst = met[-1], min(met, key=_lowest_aud)
    stretch, seasons = longest.stretch, longest.seasons
    finished = ", ".join(
        f"{ha(season.finished_ha)} in {season.water_year}"
        for season in seasons
        if not math.isnan(season.finished_ha)
    )
    said = (
        f"{_dry_name(stretch)}, met again ({percent(stretch.inflow_share)} of the usual "
        f"inflow): finished {finished or 'nothing'}. The bank falls to "
        f"{money(_lowest_aud(longest))}{_past_words(longest)}; {_payments(seasons)}."
    )
    if worst is longest:
        return said
    return (
        f"{said} Worse for the bank: {_dry_name(worst.stretch).lower()}, and what followed. The "
        f"bank falls to {money(_lowest_aud(worst))}{_past_words(worst)}; "
        f"{_payments(worst.seasons)}."
    )


def driest_frame(met: Sequence[StretchMet]) -> pd.DataFrame:
    """Arrange what each of the driest stretches does, season by season; money in thousands."""
    return pd.DataFrame(
        {
            "Season, observed in": f"{season.water_year}, {season.observed_in}",
            "Dry run": _place(each.stretch, at),
            "Planted, finished, ha": f"{number(season.planted_ha)}, {number(season.finished_ha)}",
            MEASURES["margin_aud"].heading: thousands(season.margin_aud),
            MEASURES["lowest_cash_aud"].heading: thousands(season.lowest_cash_aud),
            "Payment": _payment(season),
        }
        for each in met
        for at, season in enumerate(each.seasons)
    )


def _dry_name(stretch: Stretch) -> str:
    """Name a stretch by how many dry seasons it is the driest run of, and by their years."""
    dry = stretch.dry_seasons[-1]
    observed = stretch.observed_in[:dry]
    if dry == 1:
        return f"The driest season on record, {observed[0]}"
    return f"The driest {dry} seasons on record, {observed[0]} to {observed[-1]}"


def _place(stretch: Stretch, season: int) -> str:
    """Return the length of the dry run that a season (from 0) is in; `after` for what followed."""
    dry = stretch.dry_seasons[-1]
    if season >= dry:
        return "after"
    return str(dry)


def _lowest_aud(met: StretchMet) -> float:
    return min(season.lowest_cash_aud for season in met.seasons)


def _past_words(met: StretchMet) -> str:
    past = any(season.past_overdraft_limit for season in met.seasons)
    return ", over the limit" if past else ""


def _payments(seasons: Sequence[SeasonMet]) -> str:
    """Describe what became of the loan payments of all seasons."""
    missed = [season.water_year for season in seasons if season.payment_missed]
    if missed:
        return f"loan payments are missed in {' and '.join(missed)}"
    due = any(season.payment_due for season in seasons)
    return "no loan payment is missed" if due else "no loan payment is due"


def _payment(season: SeasonMet) -> str:
    """Describe what became of the season's loan payments."""
    made = "made" if season.payment_due else "none due"
    return "missed" if season.payment_missed else made


@dataclass(frozen=True, slots=True)
class Choice:
    """What is chosen on the page."""

    strategy: int  # followed otherwise
    strategy_name: str
    area_ha: float
    hold_back_ml_per_share: float

    @property
    def words(self) -> str:
        """The choice as the diary keeps it."""
        return (
            f"Plant {ha(self.area_ha)} of cotton next; at later plantings hold back "
            f"{ml_per_share(self.hold_back_ml_per_share)}. Rest of the farm run as "
            f"{self.strategy_name}."
        )


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
    short = outcome.chances["ran_short"]
    finished = times_in_100(1.0 - short.value, short.draws)
    said = f"{leads}{ha(area_ha)}{best}: finished {finished}."
    if met is None:
        return said
    return (
        f"{said} If no more water comes: {ha(met.finished_ha)} finished, bank "
        f"{money(met.closing_cash_aud)}."
    )


def next_season_leads(found: CoursesTried, setting: FarmSetting, year: str) -> str:
    """Return the next season's water, as it leads the answer in autumn."""
    usable, shares_ml = found.usable_ml_per_share, setting.farm.licence.general_security_shares_ml
    if usable is None:
        return ""
    sure, middle = (own_ml(usable.reached_in(n).value, shares_ml) for n in (9, 5))
    return f"{year}: {middle} or more to plant with 50 times in 100, {sure} 90 times. "


def own_ml(held_ml_per_share: float, shares_ml: float) -> str:
    """Return an amount of the account in the farm's own megalitres."""
    return ml(held_ml_per_share * shares_ml)


def best_words(tried: AreasTried, objective: Objective) -> str:
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
    finished = [each.finished for each in tried.brought]
    past = [each.past_limit for each in tried.brought]
    missed = [each.payment_missed for each in tried.brought]
    return {
        "finished,\nfully watered": Line(_times(finished), _ranges(finished), "water"),
        "over the limit": Line(_times(past), (), "limit"),
        "payment missed": Line(_times(missed), (), "attention"),
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
    short = outcome.chances["ran_short"]
    return (
        f"Times in 100 by hectares, from none to {ha(tried.areas_ha[-1])}. Our choice, "
        f"{ha(area_ha)}: finished fully watered {times_in_100(1.0 - short.value, short.draws)}."
    )


def areas_frame(tried: AreasTried) -> pd.DataFrame:
    """Arrange what each area brings, times in 100, with the range the record supports."""
    return pd.DataFrame(
        {
            "Hectares": number(area_ha),
            "Finished, fully watered": chance_cell(each.finished),
            "Over the limit": chance_cell(each.past_limit),
            "Payment missed": chance_cell(each.payment_missed),
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
    today = "as usual; nothing else tried is ahead" if better is None else course_in_words(better)
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
