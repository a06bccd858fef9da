"""How charts look: palette, fills, title, axes, legend.

Palette, from first principles: water is one hue (teal) in steps of lightness; what is set aside for
others runs from cold to warm in the order in which it is set aside; one warm colour marks limits
and ranges. Nothing rests on hue alone: bands differ in lightness, stacked parts in fill pattern,
points in shape, lines in dash. Marks keep 3 to 1 against both the light and the dark page.
"""

from __future__ import annotations

import itertools
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import plotly.graph_objects as go

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

AXIS_PX: Final = 62
"""Height of an axis with its numbers and title."""

NUMBERS_PX: Final = 72
"""Width of an upright axis with its numbers and title."""

BESIDE_PX: Final = 14
"""Room beside the axes, for the half of a number that stands at their end."""

LETTER_PX: Final = 7
"""Width of a letter of a label, at most, on average."""

LABEL_WIDTH: Final = 24
"""Letters in a line of a label beside a point."""

BARE: Final = {"layout": {"colorway": [WATER, ATTENTION]}}
"""The template of all figures: a tenth of the library's own to send and to read, and none of its
looks; the page's theme lays its fonts and lines over it."""

Trace = Mapping[str, object]
"""One trace of a figure, as plotly writes it."""

LIMIT: Final = {"width": 1.5, "dash": "dash", "color": ATTENTION}
DOTS: Final = {"width": 1, "dash": "dot", "color": "#7A7A7A"}


def range_bars(
    values: Sequence[float], ranges: Sequence[tuple[float, float]], **look: object
) -> dict[str, object]:
    """Draw the range round each value, both ways; `look` changes colour and thickness."""
    return {
        "type": "data",
        "symmetric": False,
        "array": [high - value for (_, high), value in zip(ranges, values, strict=True)],
        "arrayminus": [value - low for (low, _), value in zip(ranges, values, strict=True)],
        "color": ATTENTION,
        "thickness": 1.5,
        **look,
    }


def labelled(names: Iterable[str]) -> list[str]:
    """Break labels beside points into lines."""
    return ["<br>".join(textwrap.wrap(name, LABEL_WIDTH)) for name in names]


def patterned(shade: str, pattern: str) -> dict[str, object]:
    """Fill with a shade under a pattern, so that parts differ without colour too."""
    strokes = {"shape": pattern, "fillmode": "overlay", "fgcolor": "#FFFFFF", "size": 7}
    return {"color": shade, "pattern": strokes if pattern else None}


def upright(at: object) -> dict[str, object]:
    """Draw a dotted line across the whole height."""
    return {"type": "line", "x0": at, "x1": at, "y0": 0, "y1": 1, "yref": "y domain", "line": DOTS}


def level(at: object) -> dict[str, object]:
    """Draw a dotted line across the whole width."""
    return {"type": "line", "x0": 0, "x1": 1, "xref": "x domain", "y0": at, "y1": at, "line": DOTS}


def limit_across(
    name: str, amount: float, *, named_above: bool = False
) -> tuple[dict[str, object], dict[str, object]]:
    """Draw a limit across the whole width, and its name beyond its right end: see `drawn`'s right.

    There no mark can lie under it, however narrow the page.
    """
    across = {"xref": "x domain", "x0": 0, "x1": 1, "y0": amount, "y1": amount}
    note = {
        "text": name,
        "font": {"size": 12},
        "showarrow": False,
        "xref": "x domain",
        "x": 1,
        "xanchor": "left",
        "xshift": 3,
        "y": amount,
        "yanchor": "bottom" if named_above else "top",
    }
    return {"type": "line", "line": LIMIT, **across}, note


def drawn(
    traces: Sequence[Trace],
    title: str,
    x_title: str,
    y_title: str,
    *,
    x: Mapping[str, object] | None = None,
    y: Mapping[str, object] | None = None,
    height: int | None = None,
    right: int = BESIDE_PX,
    **layout: object,
) -> go.Figure:
    """Make a figure of its traces, title, axes and legend; made whole, since changing one is slow.

    Room is left for axes and legend as they mostly are: where they need more, the browser draws the
    figure a second time to make it.

    Parameters
    ----------
    traces
        Each with its `type`.
    title
        The finding.
    x_title, y_title
        What the axes show, with units.
    x, y
        Further settings of the axes.
    height
        Of what is below the title, px; that of the legend's names is added where left out.
    right
        Room beside the axes, px, for the names of limits.
    layout
        Further settings of the layout.
    """
    wrapped = "<br>".join(textwrap.wrap(title, TITLE_WIDTH))
    lines = wrapped.count("<br>") + 1
    top = 40 + 20 * lines
    named = sum("name" in trace and trace.get("showlegend") is not False for trace in traces)
    return go.Figure(
        list(traces),
        {
            "title": {
                "text": wrapped,
                "font": {"size": 15},
                "x": 0,
                "xref": "container",
                "y": 1,
                "yref": "container",
                "yanchor": "top",
                "pad": {"t": 12},
            },
            "template": BARE,
            "margin": {
                "l": _beside_px(traces, y_title),
                "r": right,
                "t": top,
                "b": AXIS_PX + (LEGEND_LINE_PX + BESIDE_PX if named > 1 else 0),
            },
            "legend": {
                "orientation": "h",
                "yref": "container",
                "y": 0,
                "yanchor": "bottom",
                "x": 0,
            },
            "hovermode": "closest",
            "height": 360 + (LEGEND_LINE_PX * named if named > 1 else 0)
            if height is None
            else top + height,
            "xaxis": {
                "title": {"text": x_title, "standoff": 8},
                "automargin": True,
                **(x or {}),
            },
            "yaxis": {
                "title": {"text": y_title, "standoff": 8},
                "automargin": True,
                "rangemode": "tozero",
                **(y or {}),
            },
            **layout,
        },
    )


def _beside_px(traces: Sequence[Trace], y_title: str) -> int:
    """Give the room that an upright axis needs: its numbers, or the longest line of its labels."""
    columns = (trace.get("y") for trace in traces)
    listed = itertools.chain.from_iterable(ys for ys in columns if isinstance(ys, list))
    labels = [each for each in listed if isinstance(each, str)]
    if not labels:
        return NUMBERS_PX if y_title else NUMBERS_PX - LEGEND_LINE_PX
    letters = max(len(line) for label in labels for line in label.split("<br>"))
    return LETTER_PX * letters + 2 * BESIDE_PX
