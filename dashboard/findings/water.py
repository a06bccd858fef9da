"""What the page of water ahead says: findings of the odds, and the figures behind each chart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pandas as pd

from model.outlook.ahead import BAND_FRACS, SetAside, WaterAhead
from model.outlook.chances import Estimate
from model.outlook.outlook import PointOutlook, SeasonOutlook
from model.plan.valley import CapacitySharing
from model.record.record import FloatArray
from model.say.cells import chance_cells, reached_cells
from model.say.measures import COMMITMENTS, title_of
from model.say.numbers import chance, ml, ml_per_share, of_100, percent
from model.say.outlook import (
    REACHED_TITLES,
    nothing_announced,
    nothing_in_a_row,
    reached_in_words,
)
from model.water_year import MONTH_NAMES, month_name, month_of_water_year

MIDDLE = BAND_FRACS.index(0.5)
SURE = BAND_FRACS.index(0.1)


def none_chances(seasons: Sequence[SeasonOutlook]) -> dict[str, Estimate]:
    """List the chances that nothing is announced, season by season and running."""
    first, *later = seasons
    in_a_row = {
        nothing_in_a_row(many): season.chance_none_so_far
        for many, season in enumerate(later, start=2)
    }
    of_later = {nothing_announced(season): season.chance_none for season in later}
    return {nothing_announced(first): first.chance_none} | in_a_row | of_later


def chance_finding(seasons: Sequence[SeasonOutlook]) -> str:
    """Describe the chances of no water."""
    said = f"{nothing_announced(seasons[0])}: {chance(seasons[0].chance_none)}"
    if len(seasons) > 1:
        last = seasons[-1]
        said += f"; in all of {len(seasons)} seasons: {chance(last.chance_none_so_far)}"
    return said


def points_of(
    seasons: Sequence[SeasonOutlook], measure: str
) -> dict[str, dict[str, tuple[float, float, float]]]:
    """Gather what is reached 90, 50 and 10 times in 100 at each point of each season."""
    points: dict[str, dict[str, tuple[float, float, float]]] = {}
    for season in seasons:
        for name, point in named_points(season).items():
            spread = point.amounts[measure]
            sure, middle, lucky = (spread.reached_in(n).value for n in REACHED_TITLES)
            points.setdefault(name, {})[season.water_year] = (sure, middle, lucky)
    return {name: points[name] for name in sorted(points, key=_place_in_season)}


def _place_in_season(name: str) -> int:
    """Return the place of a point in its season, by the month in its name."""
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
    """Describe what can be counted on at the first planting that is still ahead."""
    title = title_of(measure)
    for season in seasons:
        if season.planting is not None:
            spread = season.planting.amounts[measure]
            return (
                f"{title} at planting in {month_name(season.planting.month)}: "
                f"{reached_in_words(spread)}"
            )
    spread = seasons[0].end.amounts[measure]
    return f"{title} at season's end: {reached_in_words(spread)}"


def band_finding(ahead: WaterAhead, name: str, bands: FloatArray) -> str:
    """Describe of the bands of an amount the middle at the end, or where it is lowest."""
    first, middle = ahead.outlook.seasons[0], bands[MIDDLE]
    end = first.last_month - ahead.first_month
    if name == "announced_to_date_ml_per_share":
        said = ml_per_share(middle[end])
        return f"Announced by the end of {first.water_year}: {said} or more 50 times in 100"
    if name == "account_ml_per_share":
        return (
            f"The account holds {ml_per_share(middle[end])} or more 50 times in 100 when "
            f"{first.water_year} ends"
        )
    lowest = int(middle.argmin())
    return (
        f"The middle of the dam is lowest in {month_name(ahead.first_month + lowest)}, at "
        f"{ml(middle[lowest])}; in every month it is above {ml(bands[SURE].min())} 90 times in 100"
    )


def set_aside_finding(today: SetAside) -> str:
    """Describe how much of what is counted on is spoken for."""
    committed_ml = sum(today.commitments_ml.values())
    said = f"{ml(committed_ml)} is needed first, {ml(today.resource_ml)} can be counted on"
    if today.free_ml <= 0.0:
        return f"{said}: {ml(-today.free_ml)} must flow in before more is announced"
    return f"{said}: {ml(today.free_ml)} is free, {ml_per_share(today.announced_ml_per_share)}"


def chances_frame(chances: Mapping[str, Estimate]) -> pd.DataFrame:
    """Arrange chances with both their ranges, %."""
    return pd.DataFrame(
        {
            "Chance of": name,
            **chance_cells(estimate),
        }
        for name, estimate in chances.items()
    )


def reached_frame(seasons: Sequence[SeasonOutlook], measure: str) -> pd.DataFrame:
    """Arrange what is reached at each point of each season, with the record's range, ML a share."""
    return pd.DataFrame(
        {
            "Water year": season.water_year,
            "When": name,
            **reached_cells(point.amounts[measure]),
        }
        for season in seasons
        for name, point in named_points(season).items()
    )


def bands_frame(months: Sequence[str], bands: FloatArray) -> pd.DataFrame:
    """Return the bands of an amount by month, by how often it is reached."""
    columns = {
        f"reached {of_100(1 - frac)} times in 100": values.round(3)
        for frac, values in zip(BAND_FRACS, bands, strict=True)
    }
    return pd.DataFrame({"Month": list(months), **columns})


def sharing_words(shared: CapacitySharing) -> str:
    """Describe how water comes to an account where capacity is shared."""
    return (
        f"Capacity is shared here. General security owns {percent(shared.space_frac)} of the dam's "
        f"space above dead storage and {percent(shared.inflow_frac)} of the inflow that higher "
        "classes leave; each account is credited its part of that at the end of every month."
    )


def commitments_ml(today: SetAside) -> dict[str, float]:
    """Name what is set aside by what it is set aside for, in its order."""
    return {COMMITMENTS[name].title: volume_ml for name, volume_ml in today.commitments_ml.items()}


def set_aside_frame(today: SetAside) -> pd.DataFrame:
    """Arrange today's assessment, ML at the dam."""
    rows = [
        ("Counted on", "In the dam, above dead storage", today.in_dam_ml),
        ("Counted on", "Inflow the record assures", today.assured_inflow_ml),
        *(("Set aside", *part) for part in commitments_ml(today).items()),
        ("Left over", "Free to announce (below 0: short)", today.free_ml),
    ]
    return pd.DataFrame(rows, columns=["", "What", "ML"]).round(0).rename(columns={"": "Side"})
