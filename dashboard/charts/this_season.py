"""Chart of planting or holding: what one more megalitre is worth in each use."""

from __future__ import annotations

from collections.abc import Mapping

import plotly.graph_objects as go

from dashboard.charts.look import ATTENTION, LINE_DASHES, POINT_SHAPES, WATER, drawn
from model.record.record import FloatArray
from model.say import numbers


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
        f"{numbers.currency_sign()} for one more ML",
    )
