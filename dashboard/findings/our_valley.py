"""What the page of valley and record says: the river described, the rules held against history."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from model.evidence.announced import Held, YearHeld
from model.evidence.offer import Offer
from model.record.describe import Description
from model.say.numbers import count, ml, ml_per_share, number, percent
from model.water_year import JULY, MONTHS_IN_YEAR, water_year_label


def held_finding(held: Held) -> str:
    """Describe in a line how far the replay is from what was announced."""
    years = len(held.years)
    words = (
        f"The rules as stated here were {ml_per_share(held.mean_error_ml_per_share)} off on "
        f"average in {count(years, 'year')}"
    )
    if held.none_announced:
        words += f", and found {held.none_found} of {held.none_announced} with nothing"
    return words


def every_year(held: Held) -> tuple[list[str], list[YearHeld | None]]:
    """Return every water year from the first to the last, and what is known of each."""
    known = {year.water_year: year for year in held.years}
    first, last = (int(name[:4]) for name in (min(known), max(known)))
    names = [water_year_label(MONTHS_IN_YEAR * year + JULY) for year in range(first, last + 1)]
    return names, [known.get(name) for name in names]


def amounts_of(years: Sequence[YearHeld | None], name: str) -> list[float | None]:
    """Return one amount of each year; None where nothing is known of it."""
    return [None if year is None else getattr(year, name) for year in years]


def held_frame(held: Held) -> pd.DataFrame:
    """Arrange announced, replayed and error by water year, ML per share."""
    return pd.DataFrame(
        {
            "Water year": year.water_year,
            "Announced, ML a share": round(year.announced_ml_per_share, 3),
            "Replayed, ML a share": round(year.replayed_ml_per_share, 3),
            "Error, ML a share (above 0: too much)": round(year.error_ml_per_share, 3),
        }
        for year in held.years
    )


def offer_frame(offer: Offer) -> pd.DataFrame:
    """Arrange how far the plan's own settings are off, and those offered."""
    rows = (
        ("With the plan's own settings", offer.error_stated_ml_per_share),
        ("With those offered, on the years they were chosen on", offer.error_fitted_ml_per_share),
        ("Chosen so, on years they were not chosen on", offer.error_unseen_ml_per_share),
    )
    named = [(said, number(error, 3)) for said, error in rows]
    return pd.DataFrame(named, columns=["Mean error", "ML a share"])


def description_frame(river: Description) -> pd.DataFrame:
    """Arrange the description of a record."""
    rows = [
        ("Mean inflow a water year", ml(river.mean_ml)),
        ("Coefficient of variation", number(river.cv, 2)),
        ("Likeness of neighbouring years (lag-1 correlation)", number(river.lag_1, 2)),
        ("Skew", number(river.skew, 2)),
        ("Hurst's K (above about 0.6: dry years bunch)", number(river.hurst_k, 2)),
        ("Block length these July-June years ask for", f"{number(river.block_years, 1)} years"),
    ]
    if river.longest_dry_run is not None:
        run = river.longest_dry_run
        rows.append(
            (
                "Longest run below the median year",
                f"{run.years} years, {run.first} to {run.last}",
            )
        )
    rows += [
        (
            f"Driest {stretch.years} year{'s' if stretch.years > 1 else ''}",
            f"{percent(stretch.share_of_mean)} of the mean, {stretch.first}"
            + (f" to {stretch.last}" if stretch.years > 1 else ""),
        )
        for stretch in river.driest
    ]
    return pd.DataFrame(rows, columns=["What", "Value"])
