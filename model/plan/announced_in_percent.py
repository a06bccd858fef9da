"""Do announced figures look like percent, where ML per share are asked for?

An allocation is announced in percent of the share in some valleys and in ML per share in others:
35 % is 0.35 ML per share. A figure above 2 would be more than twice the share in one water year,
which hardly any valley may announce (common practice, no source). Nothing is divided here unasked.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from model.plan.announced import AnnouncedRows

MOST_USUAL_ML_PER_SHARE: Final = 2.0
"""Announced in one water year; a figure above it is doubted."""

LEAST_PERCENT: Final = 1.0
"""Where a figure other than 0 lies below it, not all can be percent."""

MOST_NAMED: Final = 6


@dataclass(frozen=True, slots=True)
class InPercent:
    """Why announced figures are doubted, and what they would be if they were percent."""

    words: str
    meant: AnnouncedRows | None  # each figure over 100; None where not all can be percent


def looks_in_percent(rows: AnnouncedRows) -> InPercent | None:
    """Say which figures look like percent, and what is likely meant; None where none does.

    Parameters
    ----------
    rows
        As they were given, ML per share if they are what was asked for.

    Examples
    --------
    >>> rows = AnnouncedRows("water_years", ("2001-02", "2002-03"), (35.0, 0.0))
    >>> looks_in_percent(rows).meant.ml_per_share
    (0.35, 0.0)
    """
    pairs = list(zip(rows.when, rows.ml_per_share, strict=True))
    large = [(when, amount) for when, amount in pairs if amount > MOST_USUAL_ML_PER_SHARE]
    if not large:
        return None
    when, amount = large[0]
    said = (
        f"{_counted(len(large), len(pairs))} like percent: {amount:g} for {when} would be "
        f"{amount:g} ML for every ML of share. Likely meant is {amount:g} %, which is "
        f"{amount / 100.0:g} ML per share."
    )
    if all(amount == 0.0 or amount >= LEAST_PERCENT for _, amount in pairs):
        divided = tuple(amount / 100.0 for amount in rows.ml_per_share)
        return InPercent(said, replace(rows, ml_per_share=divided))
    return InPercent(f"{said} Others do not, so mend these by hand: {_named(large)}.", None)


def _counted(large: int, rows: int) -> str:
    """Say how many figures of how many look so."""
    if rows == 1:
        return "This figure looks"
    if large == rows:
        return "These figures look"
    return f"{large:,} of {rows:,} figures look" if large > 1 else f"1 of {rows:,} figures looks"


def _named(large: list[tuple[str, float]]) -> str:
    """Name the first of them."""
    named = ", ".join(f"{when} ({amount:g})" for when, amount in large[:MOST_NAMED])
    more = len(large) - MOST_NAMED
    return f"{named} and {more:,} more" if more > 0 else named
