"""How are the odds said to a person, in a few lines of text?"""

from __future__ import annotations

from model.outlook.chances import Estimate, Spread, in_ten
from model.outlook.outlook import Outlook, SeasonOutlook
from model.sequences.drying import drying_in_words
from model.sequences.words import method_in_words
from model.water_year import is_july, month_name

MOST_SURE_FIRST = (9, 5, 1)
"""Years of ten in which an amount is reached: the sure one first."""


def outlook_in_words(odds: Outlook) -> str:
    """Write the odds as text for a terminal."""
    opening = odds.plan.opening
    lines = [
        f"{odds.plan.title}: {odds.plan.valley.name}",
        f"From {month_name(odds.seasons[0].first_month)}: dam {opening.storage_ml:,.0f} ML "
        f"of {odds.plan.valley.capacity_ml:,.0f}, "
        f"account {opening.account_ml_per_share:.2f} ML per share.",
        f"{odds.count:,} sequences, {method_in_words(odds.method)}, from {odds.record.name}, "
        f"{odds.record.span[0]} to {odds.record.span[1]}" + _drier(odds) + ".",
        "",
    ]
    for season in odds.seasons:
        lines += [*_season_lines(season), ""]
    for number, season in enumerate(odds.seasons[1:], start=2):
        lines.append(
            f"Nothing announced {number} seasons running: {_said(season.chance_none_so_far)}"
        )
    lines.append(
        "Ranges are 95 %, from resampling the record's years in blocks "
        f"({odds.record_error.resamples} times)."
    )
    return "\n".join(lines)


def _season_lines(season: SeasonOutlook) -> list[str]:
    """Say one season: the chance of nothing, and a small table of what is reached."""
    more = "" if is_july(season.first_month) else "more "
    lines = [
        f"{season.water_year}: nothing {more}announced {_said(season.chance_none)}",
        f"  {'ML per share, in years of 10':<46}" + "".join(f"{n:>8}" for n in MOST_SURE_FIRST),
    ]
    points = (("at planting", season.planting), ("at the finish month", season.finish))
    for name, point in (*points, ("at season's end", season.end)):
        if point is not None:
            where = f"{name}, {month_name(point.month)}"
            lines += [
                f"  {where + ': ' + what:<46}" + _reached(point.amounts[amount])
                for what, amount in (
                    ("announced", "announced_to_date_ml_per_share"),
                    ("usable", "usable_ml_per_share"),
                )
            ]
    return lines


def _reached(amount: Spread) -> str:
    """Lay out what is reached in 9, 5 and 1 years of 10."""
    return "".join(f"{amount.reached_in(years).value:>8.2f}" for years in MOST_SURE_FIRST)


def _said(estimate: Estimate) -> str:
    """Say a chance with its range."""
    low, high = estimate.headline
    return f"{in_ten(estimate.value)} ({estimate.value:.1%}; {low:.1%} to {high:.1%})"


def _drier(odds: Outlook) -> str:
    """Say a drying factor, which no output may hide."""
    words = drying_in_words(odds.record, odds.plan.sequences)
    return f", {words}" if words else ""
