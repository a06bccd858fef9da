"""What of a frontier may be said: which ways differ by more than the error of their difference?

Differences are taken sequence by sequence on the same draws, and each is given with its 95 % error
of the draws. The record's own error comes on top, and is alike for both.
"""

from __future__ import annotations

from typing import Final

from model.decide.frontier import PENNY_AUD, Frontier, Pair, Point
from model.say.numbers import chance, ha, ml_per_share, money, number

NOT_APART: Final = "cannot be told apart"

ERROR_NOTE: Final = (
    "Differences are taken sequence by sequence; “give or take” is 95 % and of the draws alone: "
    "the record leaves more open."
)

WORST: Final = "average of the worst 10 in 100"


def frontier_in_words(found: Frontier) -> str:
    """Return the two ends of the frontier as text: best on average, and best in the worst tenth."""
    best = found.best()
    on_average = max(best, key=lambda point: point.mean_aud)
    when_bad = max(best, key=lambda point: point.worst_tenth_aud)
    return "\n".join(
        [
            f"Of {len(found.points)} ways about {found.strategy}, {len(best)} are dominated by no "
            "other:",
            f"  best on average: {_point_in_words(on_average)}",
            f"  best in the {WORST}: {_point_in_words(when_bad)}",
            f"{finding_of(found)}. {ERROR_NOTE}",
        ]
    )


def way_in_words(point: Point) -> str:
    """Return a way of the grid in words.

    Such as: 0.10 ML a share held back from what is in sight above 0.30, 120 ha at most.
    """
    held, above = point.hold_back_ml_per_share, point.hold_above_ml_per_share
    released = f" from what is in sight above {number(above, 2)}" if held and above else ""
    kept = f"{ml_per_share(held)} held back{released}" if held else "nothing held back"
    return f"{kept}, {ha(point.most_area_ha)} at most"


def finding_of(found: Frontier) -> str:
    """Return the best way on average and in the worst tenth, and how surely each is ahead.

    Where a difference is within its error, the two are said not to be told apart.
    """
    best, safest = found.ends.better, found.ends.other
    said = f"Best on average: {way_in_words(best)}, {money(best.mean_aud)}{_next_in_words(found)}"
    if abs(found.ends.worst_tenth_ahead_aud) < PENNY_AUD:
        return f"{said}; it is also the best in the {WORST}"
    if not found.ends.apart_when_bad:
        return f"{said}; in the {WORST} it {NOT_APART} from the best there, {way_in_words(safest)}"
    return (
        f"{said}; best in the {WORST}: {way_in_words(safest)}, {money(safest.worst_tenth_aud)}, "
        f"{_ahead(-found.ends.worst_tenth_ahead_aud, found.ends.worst_tenth_error_aud)}"
    )


def ahead_on_average(pair: Pair) -> str:
    """Return how far the better of two is ahead on average, with its error."""
    if not pair.apart_on_average:
        return NOT_APART
    return _more(pair.mean_ahead_aud, pair.mean_error_aud)


def ahead_when_bad(pair: Pair) -> str:
    """Return how far the better on average is ahead in the worst tenth, with its error."""
    if not pair.apart_when_bad:
        return NOT_APART
    return _more(pair.worst_tenth_ahead_aud, pair.worst_tenth_error_aud)


def _next_in_words(found: Frontier) -> str:
    """Return how the best on average compares with the next; empty if there is none."""
    if not found.neighbours:
        return ""
    first = found.neighbours[0]
    if not first.apart_on_average:
        return f", which {NOT_APART} from the next, {way_in_words(first.other)}"
    return f", {_ahead(first.mean_ahead_aud, first.mean_error_aud)} than the next"


def _ahead(aud: float, error_aud: float) -> str:
    return f"{_more(aud, error_aud)} more"


def _more(aud: float, error_aud: float) -> str:
    return f"{money(aud)} (give or take {money(max(1.0, error_aud))})"


def _point_in_words(point: Point) -> str:
    """Return one point with what it brings."""
    return (
        f"{way_in_words(point)}: {money(point.mean_aud)} on average, "
        f"{money(point.worst_tenth_aud)} as {WORST}, a payment missed "
        f"{chance(point.payment_missed)}"
    )
