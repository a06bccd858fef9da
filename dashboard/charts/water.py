"""Charts of water ahead: odds, bands by month, what is set aside."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import plotly.graph_objects as go

from dashboard.charts.look import (
    COUNTED_ON_PATTERNS,
    COUNTED_ON_SHADES,
    LIMIT,
    NO_GRID,
    POINT_SHAPES,
    WATER,
    WATER_BAND_INNER,
    WATER_BAND_OUTER,
    Trace,
    drawn,
    from_the_top,
    labelled,
    patterned,
    range_bars,
    set_aside_looks,
    upright,
)
from model.outlook.chances import Estimate
from model.record.record import FloatArray
from model.say.numbers import percent


def band_chart(
    months: Sequence[str],
    bands: FloatArray,
    *,
    title: str,
    unit: str,
    season_starts: Sequence[str],
    ceiling: tuple[str, float] | None = None,
    below_zero: bool = False,
    notes: Sequence[Mapping[str, object]] = (),
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
    notes
        What else is written in the picture.
    """
    low, lower, middle, upper, high = bands
    edge = _over(months) | {"line": {"width": 0}}
    hidden = edge | {"showlegend": False}
    outer = {"fill": "tonexty", "fillcolor": WATER_BAND_OUTER, "hoverinfo": "skip"}
    inner = outer | {"fillcolor": WATER_BAND_INNER}
    traces: list[Trace] = [
        hidden | {"y": high, "name": "10 times in 100 above"},
        edge | outer | {"y": low, "name": "80 times in 100 within"},
        hidden | {"y": upper, "name": "25 times in 100 above"},
        edge | inner | {"y": lower, "name": "50 times in 100 within"},
        edge
        | {
            "y": middle,
            "name": "50 times in 100 above this line",
            "line": {"width": 3, "color": WATER},
        },
    ]
    if ceiling is not None:
        traces.append(_limit(months, *ceiling))
        notes = [*notes, _limit_note(months, *ceiling, under=below_zero)]
    return drawn(
        traces,
        title,
        "month",
        unit,
        x=_months_axis(months),
        y={"rangemode": "normal" if below_zero else "tozero"},
        shapes=[upright(start) for start in season_starts],
        annotations=list(notes),
    )


def _limit(months: Sequence[str], name: str, amount: float) -> Trace:
    """Draw a limit."""
    ends = {"x": [months[0], months[-1]], "y": [amount, amount]}
    return _over(months) | {"name": name, "line": LIMIT, "showlegend": False, **ends}


def _limit_note(
    months: Sequence[str], name: str, amount: float, *, under: bool
) -> Mapping[str, object]:
    """Name a limit at its left end, on the side that the bands, narrow there, do not reach."""
    return {
        "text": name,
        "x": months[0],
        "y": amount,
        "xanchor": "left",
        "yanchor": "top" if under else "bottom",
        "showarrow": False,
        "font": {"size": 12},
    }


def _over(months: Sequence[str]) -> dict[str, object]:
    """Draw over months: a line, or a point where there is a single one."""
    mode = "lines" if len(months) > 1 else "markers"
    return {"type": "scatter", "x": list(months), "mode": mode}


def _months_axis(months: Sequence[str]) -> Mapping[str, object] | None:
    """Name a single month, which makes no axis of time."""
    return {"type": "category"} if len(months) == 1 else None


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
    return drawn(
        points_by_year(points),
        title,
        "water year",
        unit,
        x={"type": "category"},
        scattermode="group",
        scattergap=0.5,
    )


def points_by_year(points: Mapping[str, Mapping[str, tuple[float, float, float]]]) -> list[Trace]:
    """Draw amounts reached in 9, 5 and 1 years of 10 as points with bars; see `season_chart`."""
    traces: list[Trace] = []
    for (name, by_year), shape in zip(points.items(), POINT_SHAPES, strict=False):
        middle = [mid for _, mid, _ in by_year.values()]
        ranges = [(low, high) for low, _, high in by_year.values()]
        traces.append(
            {
                "type": "scatter",
                "x": list(by_year),
                "y": middle,
                "name": name,
                "mode": "markers",
                "marker": {"symbol": shape, "size": 12, "color": WATER, "line": {"width": 1}},
                "error_y": range_bars(middle, ranges, color=WATER, thickness=2),
            }
        )
    return traces


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
    bars = range_bars(
        values, [(100 * low, 100 * high) for low, high in ranges], color=WATER, thickness=2
    )
    points = {
        "type": "scatter",
        "y": labelled(f"{name}: {percent(each.value)}" for name, each in chances.items()),
        "x": values,
        "mode": "markers",
        "marker": {"size": 13, "color": WATER},
        "hovertemplate": "%{x:.1f} %<extra></extra>",
        "error_x": bars,
    }
    return drawn(
        [points],
        title,
        "times in 100",
        "",
        x={"rangemode": "tozero"},
        y=from_the_top(len(chances)),
    )


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
    counted_on = zip(counted_on_ml.items(), COUNTED_ON_SHADES, COUNTED_ON_PATTERNS, strict=True)
    set_aside = zip(set_aside_ml.items(), set_aside_looks(len(set_aside_ml)), strict=True)
    return drawn(
        [
            *(_part("Counted on", *part, shade, fill) for part, shade, fill in counted_on),
            *(_part("Set aside", *part, *look) for part, look in set_aside),
        ],
        title,
        "ML at the dam",
        "",
        y=from_the_top(2) | NO_GRID,
        barmode="stack",
        bargap=0.25,
    )


def _part(bar: str, name: str, volume_ml: float, shade: str, pattern: str) -> Trace:
    """Draw one part of one of the stacked bars."""
    return {
        "type": "bar",
        "y": [bar],
        "x": [volume_ml],
        "name": name,
        "orientation": "h",
        "marker": patterned(shade, pattern),
        "hovertemplate": "%{x:,.0f} ML",
    }
