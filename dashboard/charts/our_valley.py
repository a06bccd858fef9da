"""Chart of what was announced against what the rules give when the observed years are replayed."""

from __future__ import annotations

from collections.abc import Sequence

import plotly.graph_objects as go

from dashboard.charts.look import SET_ASIDE_SHADES, WATER, drawn


def announced_chart(
    water_years: Sequence[str],
    announced: Sequence[float | None],
    replayed: Sequence[float | None],
    *,
    title: str,
) -> go.Figure:
    """Draw what was announced against the replay, water year by water year.

    Parameters
    ----------
    water_years
        Every water year from the first to the last.
    announced, replayed
        ML per share announced to date at the year's last figure; None where a year has none, so
        that its line breaks.
    title
        The finding.
    """
    traces = [
        {
            "type": "scatter",
            "x": list(water_years),
            "y": list(amounts),
            "name": name,
            "mode": "lines+markers",
            "connectgaps": False,
            "line": {"width": 2, "dash": dash, "color": shade},
            "marker": {"symbol": shape, "size": 9, "line": {"width": 2}},
        }
        for name, amounts, shade, dash, shape in (
            ("announced", announced, SET_ASIDE_SHADES[0], "solid", "circle"),
            ("the rules, replayed", replayed, WATER, "dash", "diamond-open"),
        )
    ]
    axis = {"type": "category", "nticks": 10}
    return drawn(traces, title, "water year", "ML a share", x=axis)
