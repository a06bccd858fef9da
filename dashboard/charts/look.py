"""How charts look: palette, fills, title, axes, legend, and the page they stand on.

Palette, from first principles: water is one hue (teal) in steps of lightness; what is set aside for
others runs from cold to warm in the order in which it is set aside; one warm colour marks limits
and ranges. Nothing rests on hue alone: bands differ in lightness, stacked parts in fill pattern,
points in shape, lines in dash. Marks keep 3 to 1 against both the light and the dark page.

Charts know nothing of the page until `dress` gives a finished one the colours of its text: these
are two palettes, `LIGHT` and `DARK`; lines behind the marks are one grey that lets either page
through. The framework's own theme for charts is not used: it is laid over a chart already drawn, so
that the browser draws it twice. For the same end arrays count as unchanged (`datarevision`), and
rows from the top have a range of their own (`from_the_top`).
"""

from __future__ import annotations

import itertools
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import plotly.graph_objects as go

WATER: Final = "#138A96"
WATER_BAND_OUTER: Final = "rgba(19, 138, 150, 0.22)"
WATER_BAND_INNER: Final = "rgba(19, 138, 150, 0.42)"
ATTENTION: Final = "#C2701A"
COUNTED_ON_SHADES: Final = (WATER, "#4A9AA3")
COUNTED_ON_PATTERNS: Final = ("", "-")
SET_ASIDE_SHADES: Final = ("#57698C", "#6F7F9C", "#8C8672", "#A58F67", "#2F93A0")
SET_ASIDE_PATTERNS: Final = ("", "/", ".", "\\", "x")
FURTHER_SHADES: Final = ("#64808A", "#85808A")
FURTHER_PATTERNS: Final = ("|", "+")
"""Of what only some valleys set aside: it comes before the licences."""
POINT_SHAPES: Final = ("circle", "diamond", "square", "triangle-up", "x")
LINE_DASHES: Final = ("solid", "dash", "dot", "dashdot", "longdash")
TITLE_WIDTH: Final = 44
"""Letters in a line of a title: fits a page 390 px wide."""
LEGEND_LINE_PX: Final = 20
"""Height of a name in a legend: on a narrow page each has a line of its own."""
AXIS_PX: Final = 62
"""Height of an axis with its numbers and title."""
NUMBERS_PX: Final = 76
"""Width of an upright axis with its numbers and title."""
BESIDE_PX: Final = 14
"""Room beside the axes, for the half of a number that stands at their end."""
LETTER_PX: Final = 7
"""Width of a letter of a label, at most, on average."""
LABEL_WIDTH: Final = 24
"""Letters in a line of a label beside a point."""
FONT: Final = '"Public Sans", sans-serif'
"""The page's own letters: the theme brings them."""
LINES: Final = "rgba(128, 132, 149, 0.25)"
"""Grid, zero and borders, on either page."""


def set_aside_looks(parts: int) -> list[tuple[str, str]]:
    """Return shade and pattern of each part that is set aside; every valley's keep theirs."""
    usual = list(zip(SET_ASIDE_SHADES, SET_ASIDE_PATTERNS, strict=True))
    further = list(zip(FURTHER_SHADES, FURTHER_PATTERNS, strict=True))
    return [*usual[:3], *further[: parts - len(usual)], *usual[3:]]


@dataclass(frozen=True, slots=True)
class PageColours:
    """What of a chart is told from the page it stands on."""

    page: str  # behind the chart, as the theme names it, and behind what the pointer brings up
    text: str  # title and legend
    quiet: str  # axes, and names beside lines


LIGHT: Final = PageColours(page="#FFFFFF", text="#111111", quiet="#565C6B")
DARK: Final = PageColours(page="#14191B", text="#F2F2F0", quiet="#D5D9E0")
Trace = Mapping[str, object]
"""One trace of a figure, as plotly writes it."""
LIMIT: Final = {"width": 1.5, "dash": "dash", "color": ATTENTION}
DOTS: Final = {"width": 1, "dash": "dot", "color": "#7A7A7A"}
TITLE: Final = {
    "font": {"size": 15, "weight": "bold"},
    "x": 0,
    "xanchor": "left",
    "xref": "container",
    "y": 1,
    "yref": "container",
    "yanchor": "top",
    "pad": {"t": 12, "l": 4},
}
AXIS: Final = {"gridcolor": LINES, "zerolinecolor": LINES, "automargin": True}
NO_GRID: Final = {"showgrid": False, "zeroline": False}
"""For an axis along which no amounts are read."""
PLAIN: Final = {
    "template": "none",  # quicker to be put in than the library's own; taken out when drawn
    "datarevision": 1,
    "colorway": [WATER, ATTENTION],
    "font": {"family": FONT, "size": 12},
    "paper_bgcolor": "rgba(0, 0, 0, 0)",
    "plot_bgcolor": "rgba(0, 0, 0, 0)",
    "hoverlabel": {"bordercolor": LINES, "font": {"size": 12}},
    "hovermode": "closest",
    "legend": {
        "orientation": "h",
        "yref": "container",
        "y": 0,
        "yanchor": "bottom",
        "x": 0,
        "valign": "top",
    },
}
"""Of the layout: what is the same for all charts on all pages."""


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


def from_the_top(rows: int) -> dict[str, object]:
    """Return rows from the top down.

    Their range is given: worked out from the marks, reversed, it makes the browser draw twice.
    """
    return {"type": "category", "range": [rows - 0.5, -0.5]}


def dress(figure: go.Figure, *, dark: bool) -> None:
    """Return a finished figure the colours of its page, in place: a copy would take longer to make.

    Parameters
    ----------
    figure
        As `drawn` made it.
    dark
        Whether the page is dark.
    """
    colours, layout = DARK if dark else LIGHT, figure.layout
    layout.font.color = colours.quiet
    layout.title.font.color = layout.legend.font.color = colours.text
    layout.hoverlabel.bgcolor = colours.page


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
    figure = go.Figure(
        [_listed(trace) for trace in traces],
        {
            **PLAIN,
            "title": {"text": wrapped, **TITLE},
            "margin": {
                "l": _beside_px(traces, y_title),
                "r": right,
                "t": top,
                "b": AXIS_PX + (LEGEND_LINE_PX + BESIDE_PX if named > 1 else 0),
                "pad": 8,
            },
            "height": 360 + (LEGEND_LINE_PX * named if named > 1 else 0)
            if height is None
            else top + height,
            "xaxis": axis(x_title) | NO_GRID | dict(x or {}),
            "yaxis": axis(y_title) | {"rangemode": "tozero"} | dict(y or {}),
            **layout,
        },
    )
    figure.layout.template = None  # the library puts one in: it alone makes the browser draw twice
    return figure


def _listed(settings: Mapping[str, object]) -> dict[str, object]:
    """Return arrays as lists: an array counts as changed each time, and is drawn again."""
    return {
        name: value.tolist()
        if isinstance(value, np.ndarray)
        else _listed(value)
        if isinstance(value, Mapping)
        else value
        for name, value in settings.items()
    }


def axis(title: str) -> dict[str, object]:
    """Return an axis by the title that says what it shows."""
    return {"title": {"text": title, "standoff": 8, "font": {"size": 14}}, **AXIS}


def _beside_px(traces: Sequence[Trace], y_title: str) -> int:
    """Return the room that an upright axis needs.

    Its numbers, or the longest line of its labels.
    """
    columns = (trace.get("y") for trace in traces)
    listed = itertools.chain.from_iterable(ys for ys in columns if isinstance(ys, list))
    labels = [each for each in listed if isinstance(each, str)]
    if not labels:
        return NUMBERS_PX if y_title else NUMBERS_PX - LEGEND_LINE_PX
    letters = max(len(line) for label in labels for line in label.split("<br>"))
    return LETTER_PX * letters + 2 * BESIDE_PX


DOMINATED = "#8A8A8A"


def waiting_chart(words: str) -> go.Figure:
    """Draw an empty chart that says what is waited for."""
    hidden = {"visible": False}
    note = {"text": words, "showarrow": False, "x": 0, "xanchor": "left", "xref": "paper"}
    return go.Figure(
        layout={
            "height": 60,
            "margin": {"l": 0, "r": 0, "t": 0, "b": 0},
            "xaxis": hidden,
            "yaxis": hidden,
            "annotations": [note],
        }
    )
