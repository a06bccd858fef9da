"""Charts of the farm's money: a measure season by season, and what each stated case brings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import plotly.graph_objects as go

from dashboard.charts.look import (
    ATTENTION,
    BESIDE_PX,
    LIMIT,
    NO_GRID,
    WATER,
    drawn,
    from_the_top,
    labelled,
    limit_across,
    upright,
)
from dashboard.charts.water import band_chart, points_by_year
from model.record.record import FloatArray
from model.say import numbers

CASE_ROW_PX = 44
"""Height of one case: two lines of its name."""
ROOM_FRAC = 0.05
"""Of the axis, kept free at each end."""
LEVEL_NAMES_PX = 40
"""Room beside the axes for the names of levels, such as 1.25."""


def bank_chart(
    months: Sequence[str],
    bands_aud: FloatArray,
    *,
    limit_aud: float,
    title: str,
    said: Mapping[str, str] | None = None,
) -> go.Figure:
    """Draw the bank month by month as bands, and the overdraft limit.

    Parameters
    ----------
    months
        YYYY-MM of each month.
    bands_aud
        (5, month) the balance at each month's end, as in `band_chart`.
    limit_aud
        Of the overdraft, 0 or more.
    title
        The finding.
    said
        What is written at a month, under the bands: how often the limit is passed at its end.
    """
    return band_chart(
        months,
        bands_aud,
        title=title,
        unit=f"{numbers.currency_sign()} in the bank",
        season_starts=[month for month in months[1:] if month.endswith("-07")],
        ceiling=("overdraft limit", -limit_aud),
        below_zero=True,
        notes=[
            {
                "x": month,
                "y": float(bands_aud[0, months.index(month)]),
                "text": f"past it<br>{words} in 100",
                "showarrow": False,
                "yanchor": "top",
                "font": {"size": 12},
            }
            for month, words in (said or {}).items()
        ],
    )


def measure_chart(
    by_year: Mapping[str, tuple[float, float, float]],
    *,
    title: str,
    unit: str,
    lines: Sequence[float] = (),
) -> go.Figure:
    """Draw a measure of the money season by season, with the levels that a lender looks at.

    Parameters
    ----------
    by_year
        By water year: reached in 9, 5 and 1 years of 10.
    title, unit
        The finding; unit of the measure.
    lines
        Levels to draw across, in the unit.
    """
    across = [limit_across(numbers.number(at, 2), at, named_above=at > 1.0) for at in lines]
    return drawn(
        points_by_year({"middle, and 80 times in 100": by_year}),
        title,
        "water year",
        unit,
        x={"type": "category"},
        y={"rangemode": "normal"},
        shapes=[line for line, _ in across],
        annotations=[note for _, note in across],
        right=LEVEL_NAMES_PX if lines else BESIDE_PX,
    )


def case_chart(
    values: Mapping[str, float], *, title: str, unit: str, limit: tuple[str, float], digits: int
) -> go.Figure:
    """Draw what each stated case brings as bars; those below the limit are hatched.

    The number stands with the case's name: beside a short bar the limit would run through it.

    Parameters
    ----------
    values
        By case, the middle one first.
    title, unit
        The finding; unit of the values.
    limit
        Name and level of the line that should not be passed.
    digits
        Decimals of the numbers.
    """
    name, level = limit
    below = [value < level for value in values.values()]
    pattern = {"fillmode": "overlay", "fgcolor": "#FFFFFF", "size": 7}
    bars = {
        "type": "bar",
        "y": labelled(f"{case}: {numbers.number(value, digits)}" for case, value in values.items()),
        "x": list(values.values()),
        "orientation": "h",
        "marker": {
            "color": [ATTENTION if is_below else WATER for is_below in below],
            "pattern": pattern | {"shape": ["/" if is_below else "" for is_below in below]},
        },
        "showlegend": False,
    }
    ends = [0.0, level, *values.values()]
    room = ROOM_FRAC * (max(ends) - min(ends))
    return drawn(
        [bars],
        title,
        unit,
        "",
        x={"range": [min(ends) - room, max(ends) + room]},
        y=from_the_top(len(values)) | NO_GRID,
        height=70 + CASE_ROW_PX * len(values),
        shapes=[upright(level) | {"line": LIMIT}],
        annotations=[
            {
                "text": name,
                "font": {"size": 12},
                "showarrow": False,
                "x": level,
                "y": 1,
                "yref": "y domain",
                "yanchor": "bottom",
            }
        ],
    )
