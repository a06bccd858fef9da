"""The charts: tidy numbers in, a figure out. No page calls in here.

Palette, from first principles: water is one hue (teal) in steps of lightness; what is set aside for
others runs from cold to warm in the order in which it is set aside; one warm colour marks limits
and ranges. Nothing rests on hue alone: bands differ in lightness, stacked parts in fill pattern,
points in shape, lines in dash. Marks keep 3 to 1 against both the light and the dark page.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
import plotly.graph_objects as go

from dashboard.wording import percent
from model.chances import Estimate
from model.record import FloatArray

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


def band_chart(
    months: Sequence[str],
    bands: FloatArray,
    *,
    title: str,
    unit: str,
    season_starts: Sequence[str],
    ceiling: tuple[str, float] | None = None,
    below_zero: bool = False,
) -> go.Figure:
    """Draw an amount by month as bands round its middle.

    Parameters
    ----------
    months
        YYYY-MM of each month.
    bands
        (5, month) amounts at chances of non-exceedance 0.1, 0.25, 0.5, 0.75, 0.9.
    title
        The finding.
    unit
        Of the amounts, for the axis.
    season_starts
        Months at which a new water year begins.
    ceiling
        Name and amount of a limit to draw.
    below_zero
        Whether amounts may lie below 0.
    """
    low, lower, middle, upper, high = bands
    figure = go.Figure()
    for values, name, fill, colour in (
        (high, "1 year in 10 above", None, None),
        (low, "8 years in 10 within", "tonexty", WATER_BAND_OUTER),
        (upper, "1 year in 4 above", None, None),
        (lower, "half of years within", "tonexty", WATER_BAND_INNER),
    ):
        figure.add_scatter(
            x=list(months),
            y=values,
            name=name,
            mode="lines",
            line={"width": 0},
            fill=fill,
            fillcolor=colour,
            showlegend=fill is not None,
            hoverinfo="skip" if fill is None else None,
        )
    figure.add_scatter(
        x=list(months),
        y=middle,
        name="middle year",
        mode="lines",
        line={"width": 3, "color": WATER},
    )
    for start in season_starts:
        figure.add_vline(x=start, line={"width": 1, "dash": "dot", "color": "#7A7A7A"})
    if ceiling is not None:
        name, amount = ceiling
        figure.add_hline(
            y=amount,
            line={"width": 1.5, "dash": "dash", "color": ATTENTION},
            annotation={"text": name, "font": {"size": 12}},
            annotation_position="bottom right",
        )
    figure = laid_out(figure, title, "month", unit)
    return figure.update_yaxes(rangemode="normal" if below_zero else "tozero")


def season_chart(
    points: Mapping[str, Mapping[str, tuple[float, float, float]]], *, title: str, unit: str
) -> go.Figure:
    """Draw what is reached at each point of each season.

    Parameters
    ----------
    points
        By point of the season (at planting, ...), then by water year: amounts reached in 9, 5 and
        1 years of 10.
    title, unit
        The finding; unit of the amounts.
    """
    figure = go.Figure()
    for (name, by_year), shape in zip(points.items(), POINT_SHAPES, strict=False):
        sure, middle, lucky = zip(*by_year.values(), strict=True) if by_year else ((), (), ())
        figure.add_scatter(
            x=list(by_year),
            y=list(middle),
            name=name,
            mode="markers",
            marker={"symbol": shape, "size": 12, "color": WATER, "line": {"width": 1}},
            error_y={
                "type": "data",
                "symmetric": False,
                "array": [high - mid for high, mid in zip(lucky, middle, strict=True)],
                "arrayminus": [mid - low for mid, low in zip(middle, sure, strict=True)],
                "color": WATER,
                "thickness": 2,
            },
        )
    figure.update_layout(scattermode="group", scattergap=0.5)
    figure.update_xaxes(type="category")
    return laid_out(figure, title, "water year", unit)


def chance_chart(chances: Mapping[str, Estimate], *, title: str) -> go.Figure:
    """Draw chances with the range that the record leaves.

    Parameters
    ----------
    chances
        By what they are chances of.
    title
        The finding.
    """
    values = [100.0 * estimate.value for estimate in chances.values()]
    ranges = [estimate.headline for estimate in chances.values()]
    labels = [f"{name}: {percent(estimate.value)}" for name, estimate in chances.items()]
    figure = go.Figure()
    figure.add_scatter(
        y=["<br>".join(textwrap.wrap(label, LABEL_WIDTH)) for label in labels],
        x=values,
        mode="markers",
        marker={"size": 13, "color": WATER},
        hovertemplate="%{x:.1f} %<extra></extra>",
        error_x={
            "type": "data",
            "symmetric": False,
            "array": [100 * high - value for (_, high), value in zip(ranges, values, strict=True)],
            "arrayminus": [
                value - 100 * low for (low, _), value in zip(ranges, values, strict=True)
            ],
            "color": WATER,
            "thickness": 2,
        },
    )
    figure.update_yaxes(autorange="reversed")
    figure.update_xaxes(rangemode="tozero")
    return laid_out(figure, title, "chance, % of possible runs", "")


def set_aside_chart(
    counted_on_ml: Mapping[str, float], set_aside_ml: Mapping[str, float], *, title: str
) -> go.Figure:
    """Draw what is counted on against what is set aside of it, as two stacked bars.

    Parameters
    ----------
    counted_on_ml
        Parts of the resource, ML, by name.
    set_aside_ml
        Commitments, ML, by name, in the order in which they are set aside.
    title
        The finding.
    """
    figure = go.Figure()
    for (name, volume_ml), shade, pattern in zip(
        counted_on_ml.items(), COUNTED_ON_SHADES, COUNTED_ON_PATTERNS, strict=True
    ):
        _stack(figure, "Counted on", name, volume_ml, shade, pattern)
    for (name, volume_ml), shade, pattern in zip(
        set_aside_ml.items(), SET_ASIDE_SHADES, SET_ASIDE_PATTERNS, strict=True
    ):
        _stack(figure, "Set aside", name, volume_ml, shade, pattern)
    figure.update_layout(barmode="stack", bargap=0.25)
    figure.update_yaxes(autorange="reversed")
    return laid_out(figure, title, "ML at the dam", "")


def set_aside_by_month_chart(
    months: Sequence[str],
    resource_ml: FloatArray,
    set_aside_ml: Mapping[str, FloatArray],
    *,
    title: str,
) -> go.Figure:
    """Draw each month's commitments, stacked, against the water counted on that month."""
    figure = go.Figure()
    for (name, volumes_ml), shade, pattern in zip(
        set_aside_ml.items(), SET_ASIDE_SHADES, SET_ASIDE_PATTERNS, strict=True
    ):
        figure.add_bar(
            x=list(months),
            y=volumes_ml,
            name=name,
            marker=_patterned(shade, pattern),
        )
    figure.add_scatter(
        x=list(months),
        y=resource_ml,
        name="Counted on",
        mode="lines+markers",
        line={"width": 3, "color": ATTENTION},
        marker={"size": 5},
    )
    figure.update_layout(barmode="stack", bargap=0.1)
    return laid_out(figure, title, "month", "ML at the dam")


def walk_chart(
    months: Sequence[str], storage_ml: FloatArray, account: FloatArray, *, title: str
) -> go.Figure:
    """Draw dam and account through the months of one run."""
    figure = go.Figure()
    figure.add_scatter(
        x=list(months),
        y=storage_ml,
        name="Water in the dam (ML, left)",
        mode="lines",
        line={"width": 3, "color": WATER},
    )
    figure.add_scatter(
        x=list(months),
        y=account,
        name="Account (ML/share, right)",
        mode="lines",
        line={"width": 2, "dash": "dash", "color": ATTENTION},
        yaxis="y2",
    )
    figure.update_layout(
        yaxis2={
            "title": {"text": "ML/share"},
            "overlaying": "y",
            "side": "right",
            "rangemode": "tozero",
            "showgrid": False,
            "tickmode": "auto",
            "nticks": 5,
        }
    )
    return laid_out(figure, title, "month", "ML")


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
    figure = go.Figure()
    for (name, (volume_ml, worth, error)), shape, dash in zip(
        curves.items(), POINT_SHAPES, LINE_DASHES, strict=False
    ):
        figure.add_scatter(
            x=volume_ml,
            y=worth,
            name=name,
            mode="lines+markers",
            line={"width": 2, "dash": dash, "color": WATER},
            marker={"symbol": shape, "size": 9},
            error_y={"type": "data", "array": error, "color": ATTENTION, "thickness": 1},
        )
    return laid_out(figure, title, "ML already put to the use", "AUD for one more ML")


def standing_chart(standings: Mapping[str, tuple[Estimate, Estimate]], *, title: str) -> go.Figure:
    """Draw each strategy's mean against its worst tenth, with the ranges the record leaves.

    Parameters
    ----------
    standings
        By strategy: mean, and mean of the worst tenth, AUD.
    title
        The finding.
    """
    figure = go.Figure()
    for (name, (mean, worst)), shape in zip(standings.items(), POINT_SHAPES, strict=False):
        figure.add_scatter(
            x=[worst.value],
            y=[mean.value],
            name=name,
            mode="markers",
            marker={"symbol": shape, "size": 14, "color": WATER, "line": {"width": 1}},
            error_x=_range_bar(worst),
            error_y=_range_bar(mean),
        )
    figure.add_vline(x=0, line={"width": 1, "dash": "dot", "color": "#7A7A7A"})
    figure.add_hline(y=0, line={"width": 1, "dash": "dot", "color": "#7A7A7A"})
    figure = laid_out(figure, title, "worst tenth of runs, AUD", "mean of all runs, AUD")
    figure.update_yaxes(rangemode="normal")
    return figure


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
    figure = go.Figure()
    for (name, by_event), shape in zip(chances.items(), POINT_SHAPES, strict=False):
        values = [100.0 * estimate.value for estimate in by_event.values()]
        ranges = [estimate.headline for estimate in by_event.values()]
        figure.add_scatter(
            y=["<br>".join(textwrap.wrap(event, LABEL_WIDTH)) for event in by_event],
            x=values,
            name=name,
            mode="markers",
            marker={"symbol": shape, "size": 11, "color": WATER, "line": {"width": 1}},
            error_x={
                "type": "data",
                "symmetric": False,
                "array": [100 * high - v for (_, high), v in zip(ranges, values, strict=True)],
                "arrayminus": [v - 100 * low for (low, _), v in zip(ranges, values, strict=True)],
                "color": ATTENTION,
                "thickness": 1.5,
            },
        )
    figure.update_layout(scattermode="group", scattergap=0.4)
    figure.update_yaxes(type="category", autorange="reversed")
    figure.update_xaxes(range=[0, 100])
    return laid_out(figure, title, "chance, % of possible runs", "")


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
    share = 100.0 * (steps + 0.5) / differences_aud.size
    figure = go.Figure()
    figure.add_scatter(
        x=share,
        y=differences_aud[steps],
        mode="lines",
        fill="tozeroy",
        fillcolor=WATER_BAND_OUTER,
        line={"width": 3, "color": WATER},
        showlegend=False,
    )
    figure.add_hline(y=0, line={"width": 1, "color": ATTENTION})
    figure = laid_out(figure, title, "% of possible runs", "AUD ahead")
    figure.update_yaxes(rangemode="normal")
    return figure


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


def _range_bar(estimate: Estimate) -> dict[str, object]:
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


def _stack(
    figure: go.Figure, bar: str, name: str, volume_ml: float, shade: str, pattern: str
) -> None:
    """Put one part on one of the stacked bars."""
    figure.add_bar(
        y=[bar],
        x=[volume_ml],
        name=name,
        orientation="h",
        marker=_patterned(shade, pattern),
        hovertemplate="%{x:,.0f} ML",
    )


def _patterned(shade: str, pattern: str) -> dict[str, object]:
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
