"""Charts of strategies side by side, and of the ways of holding back or planting less."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import plotly.graph_objects as go

from dashboard.charts.look import (
    ATTENTION,
    AXIS_PX,
    DOMINATED,
    LEGEND_LINE_PX,
    POINT_SHAPES,
    WATER,
    WATER_BAND_OUTER,
    Trace,
    drawn,
    from_the_top,
    labelled,
    level,
    range_bars,
    upright,
)
from model.decide.frontier import Frontier, Point
from model.outlook.chances import Estimate
from model.record.record import FloatArray
from model.say import numbers
from model.say.frontier import way_in_words

MARK_PX = 15
"""Height that a point has for itself, so that none lies on the next."""
ROW_GAP_FRAC = 0.25
"""Of a row, kept free between it and the next."""
LEAST_ROWS_PX = 150


def standing_chart(standings: Mapping[str, tuple[Estimate, Estimate]], *, title: str) -> go.Figure:
    """Draw each strategy's mean against its worst tenth, with the ranges the record leaves.

    Parameters
    ----------
    standings
        By strategy: mean, and mean of the worst tenth, AUD.
    title
        The finding.
    """
    return drawn(
        [
            {
                "type": "scatter",
                "x": [worst.value],
                "y": [mean.value],
                "name": name,
                "mode": "markers",
                "marker": {"symbol": shape, "size": 14, "color": WATER, "line": {"width": 1}},
                "error_x": range_bars([worst.value], [worst.headline]),
                "error_y": range_bars([mean.value], [mean.headline]),
            }
            for (name, (mean, worst)), shape in zip(standings.items(), POINT_SHAPES, strict=False)
        ],
        title,
        f"average of the worst 10 in 100, {numbers.currency_sign()}",
        f"mean, {numbers.currency_sign()}",
        y={"rangemode": "normal"},
        shapes=[upright(0), level(0)],
    )


def chances_by_strategy_chart(
    chances: Mapping[str, Mapping[str, Estimate]], *, title: str
) -> go.Figure:
    """Draw the chances of what may go wrong, strategy by strategy.

    Parameters
    ----------
    chances
        By strategy, then by what they are chances of.
    title
        The finding.
    """
    traces: list[Trace] = []
    for (name, by_event), shape in zip(chances.items(), POINT_SHAPES, strict=False):
        values = [100.0 * estimate.value for estimate in by_event.values()]
        ranges = [estimate.headline for estimate in by_event.values()]
        traces.append(
            {
                "type": "scatter",
                "orientation": "h",  # groups stand side by side across the rows
                "y": labelled(by_event),
                "x": values,
                "name": name,
                "mode": "markers",
                "marker": {"symbol": shape, "size": 11, "color": WATER, "line": {"width": 1}},
                "error_x": range_bars(values, [(100 * low, 100 * high) for low, high in ranges]),
            }
        )
    rows = len({event for by_event in chances.values() for event in by_event})
    rows_px = max(LEAST_ROWS_PX, round(MARK_PX * len(traces) * rows / (1.0 - ROW_GAP_FRAC)))
    return drawn(
        traces,
        title,
        "times in 100",
        "",
        x={"range": [-3, 103]},
        y=from_the_top(rows),
        height=rows_px + AXIS_PX + LEGEND_LINE_PX * len(traces),
        scattermode="group",
        scattergap=ROW_GAP_FRAC,
    )


def difference_chart(differences_aud: FloatArray, *, title: str) -> go.Figure:
    """Draw how far one strategy ends ahead of another, run by run, in rising order.

    Parameters
    ----------
    differences_aud
        (sequence,) in rising order.
    title
        The finding.
    """
    steps = np.linspace(0, differences_aud.size - 1, min(201, differences_aud.size)).astype(int)
    line = {
        "type": "scatter",
        "x": 100.0 * (steps + 0.5) / differences_aud.size,
        "y": differences_aud[steps],
        "mode": "lines",
        "fill": "tozeroy",
        "fillcolor": WATER_BAND_OUTER,
        "line": {"width": 3, "color": WATER},
        "showlegend": False,
    }
    return drawn(
        [line],
        title,
        "times in 100",
        f"{numbers.currency_sign()} ahead",
        y={"rangemode": "normal"},
        shapes=[level(0)],
    )


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
        f"average of the worst 10 in 100, {numbers.currency_sign()}",
        f"mean, {numbers.currency_sign()}",
        y={"rangemode": "normal"},
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
