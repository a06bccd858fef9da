"""Charts of the evidence: what was said against what happened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import plotly.graph_objects as go

from dashboard.charts.look import (
    DOTS,
    POINT_SHAPES,
    SET_ASIDE_PATTERNS,
    WATER,
    Trace,
    drawn,
    from_the_top,
    level,
    patterned,
    range_bars,
)
from model.evidence.calibration import Coverage
from model.say import numbers


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
        "chance said, times in 100",
        "happened, years in 100",
    )


def methods_chart(
    chances: Mapping[str, Sequence[float]], years: Sequence[str], *, title: str
) -> go.Figure:
    """Draw the chance of none by each method, season by season.

    Parameters
    ----------
    chances
        By method, then season, 0 to 1.
    years
        Water year of each season.
    title
        The finding.
    """
    return drawn(
        [
            {
                "type": "scatter",
                "x": [100.0 * chance for chance in by_season],
                "y": list(years),
                "name": name,
                "mode": "markers",
                "orientation": "h",
                "marker": {"symbol": shape, "size": 12, "color": WATER, "line": {"width": 1}},
            }
            for (name, by_season), shape in zip(chances.items(), POINT_SHAPES, strict=False)
        ],
        title,
        "nothing more announced, times in 100",
        "",
        x={"range": [0, 100]},
        y=from_the_top(len(years)),
        scattermode="group",
        scattergap=0.4,
    )


def coverage_chart(bands: Sequence[Sequence[Coverage]], *, title: str) -> go.Figure:
    """Draw how often each band held, with the range that so few years leave.

    Parameters
    ----------
    bands
        By season, the bands of each level.
    title
        The finding.
    """
    traces: list[Trace] = []
    for number, (of_season, shape) in enumerate(zip(bands, POINT_SHAPES, strict=False), start=1):
        shares = [100.0 * band.share for band in of_season]
        ranges = [(100.0 * band.share_low, 100.0 * band.share_high) for band in of_season]
        traces.append(
            {
                "type": "scatter",
                "x": shares,
                "y": [_promise(band) for band in of_season],
                "name": f"season {number}",
                "mode": "markers",
                "orientation": "h",
                "marker": {"symbol": shape, "size": 11, "color": WATER, "line": {"width": 1}},
                "error_x": range_bars(shares, ranges),
            }
        )
    return drawn(
        traces,
        title,
        "held, years in 100 (dotted: as promised)",
        "",
        x={"range": [0, 100]},
        y=from_the_top(len(bands[0])),
        shapes=[_promised(place, band) for place, band in enumerate(bands[0])],
        scattermode="group",
        scattergap=0.4,
    )


def _promise(band: Coverage) -> str:
    return f"band of {numbers.number(100.0 * band.level)} in 100"


def _promised(place: int, band: Coverage) -> Mapping[str, object]:
    """Draw what was promised across the points of one band."""
    at = 100.0 * band.level
    ends = {"y0": place - 0.45, "y1": place + 0.45}
    return {"type": "line", "x0": at, "x1": at, **ends, "line": {**DOTS, "width": 2}}


def evenness_chart(counts: Sequence[Sequence[int]], *, title: str) -> go.Figure:
    """Draw in how many years what came fell in each tenth of the odds.

    Parameters
    ----------
    counts
        By season, then tenth, the driest first.
    title
        The finding.
    """
    traces: list[Trace] = [
        {
            "type": "bar",
            "x": list(range(1, len(of_season) + 1)),
            "y": [100.0 * count / sum(of_season) for count in of_season],
            "name": f"season {number}",
            "marker": patterned(WATER, pattern),
        }
        for number, (of_season, pattern) in enumerate(
            zip(counts, SET_ASIDE_PATTERNS, strict=False), start=1
        )
    ]
    return drawn(
        traces,
        title,
        "tenth of the odds, the driest first",
        "years in 100 (dotted: even)",
        x={"dtick": 1},
        barmode="group",
        bargroupgap=0.12,
        shapes=[level(100.0 / len(counts[0]))],
    )
