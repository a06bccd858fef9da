"""Charts of the evidence: what was said against what happened."""

from __future__ import annotations

from collections.abc import Sequence

import plotly.graph_objects as go

from dashboard.charts.look import DOTS, WATER, drawn, range_bars


def reliability_chart(
    said: Sequence[float], happened: Sequence[tuple[float, float, float]], *, title: str
) -> go.Figure:
    """Draw what was said against what happened.

    Parameters
    ----------
    said
        Mean chance said in each group of years, 0 to 1.
    happened
        Share of years in which it happened, and its range, 0 to 1.
    title
        The finding.
    """
    shares = [100.0 * share for share, _, _ in happened]
    ranges = [(100.0 * low, 100.0 * high) for _, low, high in happened]
    return drawn(
        [
            {
                "type": "scatter",
                "x": [0, 100],
                "y": [0, 100],
                "name": "as said",
                "mode": "lines",
                "line": DOTS,
            },
            {
                "type": "scatter",
                "x": [100.0 * chance for chance in said],
                "y": shares,
                "name": "happened",
                "mode": "markers",
                "marker": {"size": 12, "color": WATER},
                "error_y": range_bars(shares, ranges),
            },
        ],
        title,
        "chance said, %",
        "happened, % of years",
    )
