"""Charts of water: odds, bands by month, what is set aside."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

import plotly.graph_objects as go

from dashboard.charts.look import (
    ATTENTION,
    COUNTED_ON_PATTERNS,
    COUNTED_ON_SHADES,
    LABEL_WIDTH,
    POINT_SHAPES,
    SET_ASIDE_PATTERNS,
    SET_ASIDE_SHADES,
    WATER,
    WATER_BAND_INNER,
    WATER_BAND_OUTER,
    laid_out,
    patterned,
)
from dashboard.wording import percent
from model.chances import Estimate
from model.record import FloatArray


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
            marker=patterned(shade, pattern),
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


def _stack(
    figure: go.Figure, bar: str, name: str, volume_ml: float, shade: str, pattern: str
) -> None:
    """Put one part on one of the stacked bars."""
    figure.add_bar(
        y=[bar],
        x=[volume_ml],
        name=name,
        orientation="h",
        marker=patterned(shade, pattern),
        hovertemplate="%{x:,.0f} ML",
    )
