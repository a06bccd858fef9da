"""What the page of planting or holding says: findings, and the tables behind them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pandas as pd

from model.decide.decision import Decision
from model.decide.driest import SeasonMet, Stretch, StretchMet
from model.decide.last_megalitre import LastMegalitre
from model.decide.one_area import (
    AreaOutcome,
)
from model.farm.setting import FarmSetting
from model.record.record import FloatArray
from model.say.cells import reached_cells
from model.say.measures import MEASURES
from model.say.numbers import (
    currency_sign,
    ha,
    ml,
    ml_per_share,
    money,
    money_for_each,
    number,
    percent,
    thousands,
)
from model.water_year import month_name

USE_WORDS = {
    "planted": "in planting more",
    "held": "held in the account",
    "on_farm": "held on the farm",
    "sold": "sold today",
}
KEPT = "Kept to picking, ha"
"""In the answer an area is finished where it is watered in full; here some may be short of it."""

USE_TITLES = {
    "planted": "Planted now",
    "held": "Held in the account",
    "on_farm": "Held on the farm",
    "sold": "Sold today",
}


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
    if not found.told_apart:
        each = ", ".join(
            f"{USE_WORDS[use]} {money_for_each(float(curve.worth_aud_per_ml[0]), 'ML')}"
            for use, curve in found.curves.items()
        )
        return f"Which use of one more megalitre is best cannot be told apart: {each}"
    curve = found.curves[best]
    worth, error = float(curve.worth_aud_per_ml[0]), float(curve.error_aud_per_ml[0])
    said = f"One more megalitre is worth most {USE_WORDS[best]}: {money_for_each(worth, 'ML')}"
    if error > 0.0:
        said += f", give or take {money(1.96 * error)} for the draws"
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
            "What": KEPT if name == "area_finished_ha" else MEASURES[name].heading,
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


def choice_in_words(now: Decision, setting: FarmSetting, strategy: int, area_ha: float) -> str:
    """Return a choice as the diary keeps it."""
    settings = setting.settings.one(strategy)
    back = float(settings.hold_back_ml_per_share[0, 0])
    above = float(settings.hold_above_ml_per_share[0, 0])
    crop = setting.farm.main_crop.name
    chosen = "Finish" if now.planting_t is None else "Plant"
    when = "" if now.planting_t is None else " next"
    over = f" of what is in sight above {ml_per_share(above)}" if above > 0.0 else ""
    return (
        f"{chosen} {ha(area_ha)} of {crop}{when}; at later plantings hold back "
        f"{ml_per_share(back)}{over}. Rest of the farm run as {setting.strategies[strategy].name}."
    )
