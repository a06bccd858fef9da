"""Parts of the page of water ahead: what is reached, month by month, and what is set aside."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from dashboard import charts, tables, wording
from dashboard.findings import (
    announced_finding,
    band_finding,
    chance_finding,
    none_chances,
    points_of,
    set_aside_finding,
)
from model.outlook.ahead import BANDED, SetAside, WaterAhead
from model.outlook.outlook import SeasonOutlook
from model.water_year import format_month

MEASURES = (
    "announced_to_date_ml_per_share",
    "usable_ml_per_share",
    "account_ml_per_share",
)


def show_reached(ahead: WaterAhead) -> None:
    """Show what is reached at planting, finish and end of each season."""
    seasons = ahead.outlook.seasons
    measure = st.segmented_control(
        "Amount",
        MEASURES,
        default=MEASURES[0],
        required=True,
        format_func=wording.AMOUNT_TITLES.__getitem__,
        key="measure",
        persist_state="session",
        help="Usable: not frozen, and within the limits on use.",
    )
    finding = announced_finding(seasons, measure)
    tables.chart(
        charts.season_chart(points_of(seasons, measure), title=finding, unit="ML/share"),
        key="reached",
        alt=finding,
        frame=lambda: tables.reached_frame(seasons, measure),
    )
    st.caption(
        "Points: reached in 5 years of 10; bars: from 9 years to 1. The figures behind the chart "
        "give each with the range that the record leaves."
    )


def show_none(seasons: Sequence[SeasonOutlook], *, key: str = "none") -> None:
    """Show the chance of no allocation, of each season and of seasons running."""
    chances, finding = none_chances(seasons), chance_finding(seasons)
    tables.chart(
        charts.chance_chart(chances, title=finding),
        key=key,
        alt=finding,
        frame=lambda: tables.chances_frame(chances),
    )


def show_months(ahead: WaterAhead, full_supply_ml: float) -> None:
    """Show the bands of an amount month by month."""
    banded = st.segmented_control(
        "Amount by month",
        BANDED,
        default=BANDED[0],
        required=True,
        format_func=wording.AMOUNT_TITLES.__getitem__,
        key="banded",
        persist_state="session",
    )
    last_month = ahead.outlook.seasons[-1].last_month
    months = [format_month(month) for month in range(ahead.first_month, last_month + 1)]
    bands = ahead.bands(banded)
    finding = band_finding(ahead, banded, bands)
    in_dam = banded == "storage_end_ml"
    tables.chart(
        charts.band_chart(
            months,
            bands,
            title=finding,
            unit="ML" if in_dam else "ML/share",
            season_starts=[month for month in months[1:] if month.endswith("-07")],
            ceiling=("full supply", full_supply_ml) if in_dam else None,
        ),
        key=banded,
        alt=finding,
        frame=lambda: tables.bands_frame(months, bands),
    )


def show_set_aside(today: SetAside) -> None:
    """Show why water in the dam is not announced."""
    finding = set_aside_finding(today)
    tables.chart(
        charts.set_aside_chart(
            {
                "In the dam, above dead storage": today.in_dam_ml,
                "Inflow the record assures": today.assured_inflow_ml,
            },
            {
                title: today.commitments_ml[name]
                for name, title in wording.COMMITMENT_TITLES.items()
            },
            title=finding,
        ),
        key="set_aside",
        alt=finding,
        frame=lambda: tables.set_aside_frame(today),
    )
