"""The frontier: what holding back, or planting less, costs on average and spares in bad runs."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd
import plotly.graph_objects as go

from dashboard.charts.look import ATTENTION, WATER, Trace, drawn
from dashboard.wording import in_ten
from model.decide.frontier import Frontier, Point
from model.say.frontier import ahead_on_average, ahead_when_bad, way_in_words

DOMINATED = "#8A8A8A"


def frontier_chart(found: Frontier, *, title: str) -> go.Figure:
    """Draw every way of the grid; those that another dominates are grey crosses.

    Parameters
    ----------
    found
        The grid; which points are dominated is a test on the sequences, not a look at the picture.
    title
        The finding.
    """
    kept = [point for point in found.points if not point.dominated]
    others = [point for point in found.points if point.dominated]
    return drawn(
        [
            _points(others, "another way is better for whoever dislikes risk", DOMINATED, "x-thin"),
            _points(kept, "no other way is better", WATER, "circle"),
        ],
        title,
        "worst tenth of runs, AUD",
        "mean of all runs, AUD",
        y={"rangemode": "normal"},
    )


def neighbours_frame(found: Frontier) -> pd.DataFrame:
    """Lay out the frontier from the best on average down, each way against the next, AUD."""
    return pd.DataFrame(
        {
            "Way": way_in_words(pair.better),
            "Next on the frontier": way_in_words(pair.other),
            "Ahead on average": ahead_on_average(pair),
            "Ahead in the worst tenth": ahead_when_bad(pair),
        }
        for pair in found.neighbours
    )


def frontier_frame(found: Frontier) -> pd.DataFrame:
    """Lay out every way of the grid, AUD, with standard errors."""
    return pd.DataFrame(
        {
            "Held back, ML/share": point.hold_back_ml_per_share,
            "of what is in sight above, ML/share": point.hold_above_ml_per_share,
            "Most area, ha": round(point.most_area_ha),
            "Mean, AUD": round(point.mean_aud),
            "Standard error": round(point.mean_error_aud),
            "Worst tenth, AUD": round(point.worst_tenth_aud),
            "Its standard error": round(point.worst_tenth_error_aud),
            "A payment missed": in_ten(point.payment_missed.value),
            "A payment missed, %": round(100.0 * point.payment_missed.value, 1),
            "Dominated": "yes" if point.dominated else "no",
        }
        for point in found.points
    )


def _points(points: Sequence[Point], name: str, colour: str, shape: str) -> Trace:
    """Draw ways of the grid as points."""
    line = {"width": 1.5, "color": colour}
    return {
        "type": "scatter",
        "x": [point.worst_tenth_aud for point in points],
        "y": [point.mean_aud for point in points],
        "name": name,
        "mode": "markers",
        "marker": {"symbol": shape, "size": 9, "color": colour, "line": line},
        "error_x": _error([point.worst_tenth_error_aud for point in points]),
        "error_y": _error([point.mean_error_aud for point in points]),
        "text": [way_in_words(point) for point in points],
        "hovertemplate": "%{text}<extra></extra>",
    }


def _error(values: list[float]) -> dict[str, object]:
    """Draw standard errors thin."""
    return {"type": "data", "array": values, "color": ATTENTION, "thickness": 1, "width": 0}
