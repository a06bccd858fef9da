"""What the page of water ahead says: findings of the odds, and the figures behind each chart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pandas as pd

from dashboard.findings import wording
from dashboard.findings.wording import AMOUNT_TITLES, in_ten, ml, ml_per_share
from model.outlook.ahead import BAND_FRACS, SetAside, WaterAhead
from model.outlook.chances import Estimate
from model.outlook.outlook import PointOutlook, SeasonOutlook
from model.record.record import FloatArray
from model.water_year import MONTH_NAMES, month_name, month_of_water_year

MIDDLE = BAND_FRACS.index(0.5)
SURE = BAND_FRACS.index(0.1)


def none_chances(seasons: Sequence[SeasonOutlook]) -> dict[str, Estimate]:
    """List the chances that nothing is announced, season by season and running."""
    running = {
        f"Nothing announced {number} seasons running": season.chance_none_so_far
        for number, season in enumerate(seasons, start=1)
        if number > 1
    }
    first = {f"Nothing more announced in {seasons[0].water_year}": seasons[0].chance_none}
    later = {
        f"Nothing announced in {season.water_year}": season.chance_none for season in seasons[1:]
    }
    return first | running | later


def chance_finding(seasons: Sequence[SeasonOutlook]) -> str:
    """Say the chances of no water."""
    said = (
        f"Nothing more announced in {seasons[0].water_year}: {in_ten(seasons[0].chance_none.value)}"
    )
    if len(seasons) > 1:
        last = seasons[-1]
        said += f"; in all of {len(seasons)} seasons: {in_ten(last.chance_none_so_far.value)}"
    return said


def points_of(
    seasons: Sequence[SeasonOutlook], measure: str
) -> dict[str, dict[str, tuple[float, float, float]]]:
    """Gather what is reached in 9, 5 and 1 years of 10 at each point of each season."""
    points: dict[str, dict[str, tuple[float, float, float]]] = {}
    for season in seasons:
        for name, point in named_points(season).items():
            spread = point.amounts[measure]
            sure, middle, lucky = (spread.reached_in(n).value for n in wording.REACHED_TITLES)
            points.setdefault(name, {})[season.water_year] = (sure, middle, lucky)
    return {name: points[name] for name in sorted(points, key=_place_in_season)}


def _place_in_season(name: str) -> int:
    """Give the place of a point in its season, by the month in its name."""
    return next(k for k, month in enumerate(MONTH_NAMES) if f"({month})" in name)


def named_points(season: SeasonOutlook) -> dict[str, PointOutlook]:
    """Name the points of a season that are still ahead."""
    points = {"At planting": season.planting, "At the finish month": season.finish}
    named = {
        f"{name} ({MONTH_NAMES[month_of_water_year(point.month)]})": point
        for name, point in points.items()
        if point is not None
    }
    return named | {"At season's end (June)": season.end}


def announced_finding(seasons: Sequence[SeasonOutlook], measure: str) -> str:
    """Say what can be counted on at the first planting that is still ahead."""
    title = AMOUNT_TITLES[measure]
    for season in seasons:
        if season.planting is not None:
            spread = season.planting.amounts[measure]
            return (
                f"{title} at planting in {month_name(season.planting.month)}: "
                f"{ml_per_share(spread.reached_in(9).value)} in 9 years of 10, "
                f"{spread.reached_in(5).value:.2f} in 5, {spread.reached_in(1).value:.2f} in 1"
            )
    spread = seasons[0].end.amounts[measure]
    return f"{title} at season's end: {ml_per_share(spread.reached_in(5).value)} in 5 years of 10"


def band_finding(ahead: WaterAhead, name: str, bands: FloatArray) -> str:
    """Say of the bands of an amount where the middle stands at the end, or where it is lowest."""
    first, middle = ahead.outlook.seasons[0], bands[MIDDLE]
    end = first.last_month - ahead.first_month
    if name == "announced_to_date_ml_per_share":
        said = ml_per_share(middle[end])
        return f"Announced by the end of {first.water_year}: {said} in the middle year"
    if name == "account_ml_per_share":
        return f"The middle account holds {ml_per_share(middle[end])} when {first.water_year} ends"
    lowest = int(middle.argmin())
    return (
        f"The middle dam is lowest in {month_name(ahead.first_month + lowest)}, at "
        f"{ml(middle[lowest])}; in every month 9 years of 10 are above {ml(bands[SURE].min())}"
    )


def set_aside_finding(today: SetAside) -> str:
    """Say how much of what is counted on is spoken for."""
    committed_ml = sum(today.commitments_ml.values())
    said = f"{ml(committed_ml)} is needed first, {ml(today.resource_ml)} can be counted on"
    if today.free_ml <= 0.0:
        return f"{said}: {ml(-today.free_ml)} must flow in before more is announced"
    return f"{said}: {ml(today.free_ml)} is free, {ml_per_share(today.announced_ml_per_share)}"


def chances_frame(chances: Mapping[str, Estimate]) -> pd.DataFrame:
    """Lay out chances with both their ranges, %."""
    return pd.DataFrame(
        {
            "Chance of": name,
            "In words": wording.in_ten(estimate.value),
            "%": round(100 * estimate.value, 1),
            "Range of the record, %": wording.record_range(estimate),
            "Range of the draws, %": wording.draws_range(estimate),
        }
        for name, estimate in chances.items()
    )


def reached_frame(seasons: Sequence[SeasonOutlook], measure: str) -> pd.DataFrame:
    """Lay out what is reached at each point of each season, with the record's range, ML/share."""
    return pd.DataFrame(
        {
            "Water year": season.water_year,
            "When": name,
            **wording.reached_cells(point.amounts[measure]),
        }
        for season in seasons
        for name, point in named_points(season).items()
    )


def bands_frame(months: Sequence[str], bands: FloatArray) -> pd.DataFrame:
    """Lay out the bands of an amount by month, by years of ten in which it is reached."""
    columns = {
        f"reached in {10 * (1 - frac):g} years of 10": values.round(3)
        for frac, values in zip(BAND_FRACS, bands, strict=True)
    }
    return pd.DataFrame({"Month": list(months), **columns})


def set_aside_frame(today: SetAside) -> pd.DataFrame:
    """Lay out today's assessment, ML at the dam."""
    rows = [
        ("Counted on", "In the dam, above dead storage", today.in_dam_ml),
        ("Counted on", "Inflow the record assures", today.assured_inflow_ml),
        *(
            ("Set aside", title, today.commitments_ml[name])
            for name, title in wording.COMMITMENT_TITLES.items()
        ),
        ("Left over", "Free to announce (below 0: short)", today.free_ml),
    ]
    return pd.DataFrame(rows, columns=["", "What", "ML"]).round(0).rename(columns={"": "Side"})
