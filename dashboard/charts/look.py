"""How charts look: palette, fills, title, axes, legend.

Palette, from first principles: water is one hue (teal) in steps of lightness; what is set aside for
others runs from cold to warm in the order in which it is set aside; one warm colour marks limits
and ranges. Nothing rests on hue alone: bands differ in lightness, stacked parts in fill pattern,
points in shape, lines in dash. Marks keep 3 to 1 against both the light and the dark page.
"""

from __future__ import annotations

import textwrap
from typing import Final

import plotly.graph_objects as go

from model.chances import Estimate

WATER: Final = "#138A96"
WATER_BAND_OUTER: Final = "rgba(19, 138, 150, 0.22)"
WATER_BAND_INNER: Final = "rgba(19, 138, 150, 0.42)"
ATTENTION: Final = "#C2701A"
COUNTED_ON_SHADES: Final = (WATER, "#4A9AA3")
COUNTED_ON_PATTERNS: Final = ("", "-")
SET_ASIDE_SHADES: Final = ("#57698C", "#6F7F9C", "#8C8672", "#A58F67", "#2F93A0")
SET_ASIDE_PATTERNS: Final = ("", "/", ".", "\\", "x")
POINT_SHAPES: Final = ("circle", "diamond", "square", "triangle-up", "x")
LINE_DASHES: Final = ("solid", "dash", "dot", "dashdot", "longdash")
TITLE_WIDTH: Final = 44
"""Letters in a line of a title: fits a page 390 px wide."""

LEGEND_LINE_PX: Final = 20
"""Height of a name in a legend: on a narrow page each has a line of its own."""

LABEL_WIDTH: Final = 24
"""Letters in a line of a label beside a point."""


def range_bar(estimate: Estimate) -> dict[str, object]:
    """Draw the range an estimate is known to, both ways."""
    low, high = estimate.headline
    return {
        "type": "data",
        "symmetric": False,
        "array": [high - estimate.value],
        "arrayminus": [estimate.value - low],
        "color": ATTENTION,
        "thickness": 1.5,
    }


def patterned(shade: str, pattern: str) -> dict[str, object]:
    """Fill with a shade under a pattern, so that parts differ without colour too."""
    strokes = {"shape": pattern, "fillmode": "overlay", "fgcolor": "#FFFFFF", "size": 7}
    return {"color": shade, "pattern": strokes if pattern else None}


def laid_out(figure: go.Figure, title: str, x_title: str, y_title: str) -> go.Figure:
    """Give a figure its title, axes and legend."""
    wrapped = "<br>".join(textwrap.wrap(title, TITLE_WIDTH))
    lines = wrapped.count("<br>") + 1
    named = sum(trace.name is not None and trace.showlegend is not False for trace in figure.data)
    figure.update_layout(
        title={"text": wrapped, "x": 0, "xref": "container", "font": {"size": 15}},
        margin={"l": 8, "r": 8, "t": 36 + 20 * lines, "b": 8},
        legend={"orientation": "h", "yanchor": "top", "y": -0.32, "x": 0},
        hovermode="closest",
        height=360 + (LEGEND_LINE_PX * named if named > 1 else 0),
    )
    figure.update_xaxes(title={"text": x_title}, automargin=True)
    figure.update_yaxes(automargin=True, rangemode="tozero")
    figure.update_layout(yaxis={"title": {"text": y_title}})
    return figure
