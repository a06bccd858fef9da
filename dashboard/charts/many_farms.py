"""Charts of many farms: how often so many of them or more are in trouble in the same season."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import plotly.graph_objects as go

from dashboard.charts.look import ATTENTION, LINE_DASHES, WATER, drawn


def at_once_chart(
    reached: Mapping[str, Sequence[tuple[float, float]]], *, title: str, farms: int
) -> go.Figure:
    """Draw how often so many farms or more miss a payment, a line a season.

    Parameters
    ----------
    reached
        By season, corners of its line: number of farms, and how many times in 100.
    title
        The finding.
    farms
        In all.
    """
    shades = (WATER, ATTENTION, WATER)
    traces: list[dict[str, object]] = [
        {
            "type": "scatter",
            "mode": "lines",
            "name": season,
            "x": [corner[0] for corner in corners],
            "y": [corner[1] for corner in corners],
            "line": {"width": 3, "color": shade, "dash": dash},
        }
        for (season, corners), shade, dash in zip(
            reached.items(), shades, LINE_DASHES, strict=False
        )
    ]
    return drawn(
        traces,
        title,
        "farms or more in the same season",
        "times in 100",
        x={"range": [0, farms]},
        y={"range": [0, 100]},
    )
