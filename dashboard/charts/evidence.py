"""Charts of the evidence: what was said against what happened."""

from __future__ import annotations

from collections.abc import Sequence

import plotly.graph_objects as go

from dashboard.charts.look import (
    ATTENTION,
    WATER,
    laid_out,
)


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
    shares, lows, highs = (
        [100.0 * part for part in parts] for parts in zip(*happened, strict=True)
    )
    figure = go.Figure()
    figure.add_scatter(
        x=[0, 100],
        y=[0, 100],
        name="as said",
        mode="lines",
        line={"width": 1, "dash": "dot", "color": "#7A7A7A"},
    )
    figure.add_scatter(
        x=[100.0 * chance for chance in said],
        y=shares,
        name="happened",
        mode="markers",
        marker={"size": 12, "color": WATER},
        error_y={
            "type": "data",
            "symmetric": False,
            "array": [high - share for high, share in zip(highs, shares, strict=True)],
            "arrayminus": [share - low for low, share in zip(lows, shares, strict=True)],
            "color": ATTENTION,
        },
    )
    return laid_out(figure, title, "chance said, %", "happened, % of years")
