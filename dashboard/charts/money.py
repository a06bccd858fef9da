"""Charts of the farm's money: a measure season by season, and what each stated case brings."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

import plotly.graph_objects as go

from dashboard.charts.look import ATTENTION, LABEL_WIDTH, WATER, laid_out, patterned
from dashboard.charts.water import season_chart

CASE_ROW_PX = 44
"""Height of one case: two lines of its name."""

ROOM_FOR_NUMBERS_FRAC = 0.25
"""Of the axis, kept at each end for the numbers beside the bars on a narrow page."""


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
    figure = season_chart({"middle, and 8 runs in 10": by_year}, title=title, unit=unit)
    for level in lines:
        figure.add_hline(
            y=level,
            line={"width": 1.5, "dash": "dash", "color": ATTENTION},
            annotation={"text": f"{level:.2f}", "font": {"size": 12}},
            annotation_position="bottom right" if level <= 1.0 else "top right",
        )
    return figure.update_yaxes(rangemode="normal")


def case_chart(
    values: Mapping[str, float], *, title: str, unit: str, limit: tuple[str, float], digits: int
) -> go.Figure:
    """Draw what each stated case brings as bars; those below the limit are hatched.

    Parameters
    ----------
    values
        By case, the middle one first.
    title, unit
        The finding; unit of the values.
    limit
        Name and level of the line that should not be passed.
    digits
        Decimals of the numbers beside the bars.
    """
    name, level = limit
    below = [value < level for value in values.values()]
    figure = go.Figure()
    figure.add_bar(
        y=["<br>".join(textwrap.wrap(case, LABEL_WIDTH)) for case in values],
        x=list(values.values()),
        orientation="h",
        text=[f"{value:,.{digits}f}" for value in values.values()],
        textposition="outside",
        cliponaxis=False,
        marker={
            "color": [ATTENTION if is_below else WATER for is_below in below],
            "pattern": {
                **patterned(ATTENTION, "/")["pattern"],  # type: ignore[dict-item]
                "shape": ["/" if is_below else "" for is_below in below],
            },
        },
        showlegend=False,
    )
    figure.add_vline(
        x=level,
        line={"width": 1.5, "dash": "dash", "color": ATTENTION},
        annotation={"text": name, "font": {"size": 12}},
        annotation_position="top",
    )
    figure.update_yaxes(type="category", autorange="reversed")
    ends = [0.0, level, *values.values()]
    room = ROOM_FOR_NUMBERS_FRAC * (max(ends) - min(ends))
    figure.update_xaxes(range=[min(ends) - room, max(ends) + room])
    figure = laid_out(figure, title, unit, "")
    return figure.update_layout(height=figure.layout.margin.t + 70 + CASE_ROW_PX * len(values))
