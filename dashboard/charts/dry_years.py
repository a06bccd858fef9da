"""Charts of one run of seasons: dam and account, and what each month set aside."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import plotly.graph_objects as go

from dashboard.charts.look import (
    ATTENTION,
    NUMBERS_PX,
    WATER,
    Trace,
    axis,
    drawn,
    patterned,
    set_aside_looks,
)
from dashboard.charts.water import _months_axis, _over
from model.record.record import FloatArray


def set_aside_by_month_chart(
    months: Sequence[str],
    resource_ml: FloatArray,
    set_aside_ml: Mapping[str, FloatArray],
    *,
    title: str,
) -> go.Figure:
    """Draw each month's commitments, stacked, against the water counted on that month."""
    traces: list[Trace] = [
        {
            "type": "bar",
            "x": list(months),
            "y": volumes_ml,
            "name": name,
            "marker": patterned(shade, pattern),
        }
        for (name, volumes_ml), (shade, pattern) in zip(
            set_aside_ml.items(), set_aside_looks(len(set_aside_ml)), strict=True
        )
    ]
    counted_on = {
        "type": "scatter",
        "x": list(months),
        "y": resource_ml,
        "name": "Counted on",
        "mode": "lines+markers",
        "line": {"width": 3, "color": ATTENTION},
        "marker": {"size": 5},
    }
    return drawn(
        [*traces, counted_on],
        title,
        "month",
        "ML at the dam",
        x=_months_axis(months),
        barmode="stack",
        bargap=0.1,
    )


def walk_chart(
    months: Sequence[str], storage_ml: FloatArray, account: FloatArray, *, title: str
) -> go.Figure:
    """Draw dam and account through the months of one run."""
    line = _over(months)
    dam = {"y": storage_ml, "name": "Water in the dam (ML, left)"}
    in_account = {"y": account, "name": "Account (ML a share, right)", "yaxis": "y2"}
    return drawn(
        [
            line | dam | {"line": {"width": 3, "color": WATER}},
            line | in_account | {"line": {"width": 2, "dash": "dash", "color": ATTENTION}},
        ],
        title,
        "month",
        "ML",
        x=_months_axis(months),
        right=NUMBERS_PX,
        yaxis2={
            **axis("ML a share"),
            "overlaying": "y",
            "side": "right",
            "rangemode": "tozero",
            "showgrid": False,
            "tickmode": "auto",
            "nticks": 5,
        },
    )
