"""What of a frontier may be said: which ways differ by more than the error of their difference?

Differences are taken run by run on the same sequences, and each is given with its 95 % error of the
draws. The record's own error comes on top, and is alike for both.
"""

from __future__ import annotations

from typing import Final

from model.decide.frontier import PENNY_AUD, Frontier, Pair, Point

NOT_APART: Final = "cannot be told apart"

ERROR_NOTE: Final = (
    "Differences are taken run by run; “give or take” is 95 % and of the draws alone: the record "
    "leaves more open."
)


def way_in_words(point: Point) -> str:
    """Return a way of the grid in words.

    Such as: 0.10 ML a share held back from what is in sight above 0.30, 120 ha at most.
    """
    held, above = point.hold_back_ml_per_share, point.hold_above_ml_per_share
    released = f" from what is in sight above {above:.2f}" if held and above else ""
    kept = f"{held:.2f} ML a share held back{released}" if held else "nothing held back"
    return f"{kept}, {point.most_area_ha:,.0f} ha at most"


def finding_of(found: Frontier) -> str:
    """Say the best way on average and in the worst tenth, and how surely each is ahead.

    Where a difference is within its error, the two are said not to be told apart.
    """
    best, safest = found.ends.better, found.ends.other
    said = f"Best on average: {way_in_words(best)}, {_aud(best.mean_aud)}{_next_words(found)}"
    if abs(found.ends.worst_tenth_ahead_aud) < PENNY_AUD:
        return f"{said}; it is also the best in the worst tenth"
    if not found.ends.apart_when_bad:
        return (
            f"{said}; in the worst tenth it {NOT_APART} from the best there, {way_in_words(safest)}"
        )
    return (
        f"{said}; best in the worst tenth: {way_in_words(safest)}, {_aud(safest.worst_tenth_aud)}, "
        f"{_ahead(-found.ends.worst_tenth_ahead_aud, found.ends.worst_tenth_error_aud)}"
    )


def ahead_on_average(pair: Pair) -> str:
    """Say how far the better of two is ahead on average, with its error."""
    if not pair.apart_on_average:
        return NOT_APART
    return _more(pair.mean_ahead_aud, pair.mean_error_aud)


def ahead_when_bad(pair: Pair) -> str:
    """Say how far the better on average is ahead in the worst tenth, with its error."""
    if not pair.apart_when_bad:
        return NOT_APART
    return _more(pair.worst_tenth_ahead_aud, pair.worst_tenth_error_aud)


def _next_words(found: Frontier) -> str:
    """Say how the best on average stands against the next; empty if there is none."""
    if not found.neighbours:
        return ""
    first = found.neighbours[0]
    if not first.apart_on_average:
        return f", which {NOT_APART} from the next, {way_in_words(first.other)}"
    return f", {_ahead(first.mean_ahead_aud, first.mean_error_aud)} than the next"


def _ahead(aud: float, error_aud: float) -> str:
    return f"{_more(aud, error_aud)} more"


def _more(aud: float, error_aud: float) -> str:
    return f"{_aud(aud)} (give or take {_aud(max(1.0, error_aud))})"


def _aud(value: float) -> str:
    """Say money; large sums to the thousand."""
    return f"{round(value, -3 if abs(value) >= 10_000 else 0) + 0.0:,.0f} AUD"
