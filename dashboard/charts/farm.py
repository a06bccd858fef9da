"""Charts of the farm: what water is worth, and strategies side by side."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import plotly.graph_objects as go

from dashboard.charts.look import (
    ATTENTION,
    AXIS_PX,
    LEGEND_LINE_PX,
    LINE_DASHES,
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
from model.outlook.chances import Estimate
from model.record.record import FloatArray

MARK_PX = 15
"""Height that a point has for itself, so that none lies on the next."""

ROW_GAP_FRAC = 0.25
"""Of a row, kept free between it and the next."""

LEAST_ROWS_PX = 150


def worth_chart(
    curves: Mapping[str, tuple[FloatArray, FloatArray, FloatArray]], *, title: str
) -> go.Figure:
    """Draw what one more megalitre is worth in each use.

    Parameters
    ----------
    curves
        By use: volume already put to it (ML), worth and its standard error (AUD per ML).
    title
        The finding.
    """
    return drawn(
        [
            {
                "type": "scatter",
                "x": volume_ml,
                "y": worth,
                "name": name,
                "mode": "lines+markers",
                "line": {"width": 2, "dash": dash, "color": WATER},
                "marker": {"symbol": shape, "size": 9},
                "error_y": {"type": "data", "array": error, "color": ATTENTION, "thickness": 1},
            }
            for (name, (volume_ml, worth, error)), shape, dash in zip(
                curves.items(), POINT_SHAPES, LINE_DASHES, strict=False
            )
        ],
        title,
        "ML already put to the use",
        "AUD for one more ML",
    )


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
        "worst tenth of runs, AUD",
        "mean of all runs, AUD",
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
        "chance, % of possible runs",
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
        "% of possible runs",
        "AUD ahead",
        y={"rangemode": "normal"},
        shapes=[level(0)],
    )
