"""The figures behind each chart, as a table that can be taken away."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import plotly.graph_objects as go
import streamlit as st

from dashboard import wording
from dashboard.charts.look import dress
from dashboard.findings import named_points
from model.keeping.compare import Difference
from model.outlook.ahead import BAND_FRACS, SetAside
from model.outlook.chances import Estimate
from model.outlook.outlook import SeasonOutlook
from model.outlook.replay import Ledger
from model.record.describe import Description
from model.record.record import FloatArray
from model.valley.run import LEDGER

if TYPE_CHECKING:
    from model.evidence.reliability import ReliabilityBin

WITHOUT_TOOLS = {"displayModeBar": False, "showTips": False}
"""Of the library's own words none pops up over a chart: they are pale, and speak of its tools."""

_LONG_WORD = re.compile(r"\S{17,}")
_BREAK_AFTER = re.compile(r"([._/-])")
_KINDS = {
    ".csv": "text/csv",
    ".pdf": "application/pdf",
    ".toml": "application/toml",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
_UNSAFE_STARTS = ("=", "+", "-", "@", "\t", "\r")


def chart(figure: go.Figure, *, key: str, alt: str, frame: Callable[[], pd.DataFrame]) -> None:
    """Show a chart, and its figures under it; they are laid out only once they are asked for."""
    dress(figure, dark=st.context.theme.type == "dark")
    st.plotly_chart(figure, key=key, alt=alt, config=WITHOUT_TOOLS, theme=None)
    folded = st.expander("The figures behind this chart", key=f"{key}_figures", on_change="rerun")
    if folded.open:
        with folded:
            figures = frame()
            st.dataframe(figures, hide_index=True, key=f"{key}_table")
            take("Take as CSV", csv_text(figures), f"{key}.csv", f"{key}_csv")


def csv_text(frame: pd.DataFrame) -> str:
    """Write a table as CSV; text that a spreadsheet would run as a formula is defused."""
    safe = frame.map(_defused).rename(columns=_defused)
    return str(safe.to_csv(index=False, lineterminator="\n"))


def _defused(cell: object) -> object:
    """Put a quote before text that begins like a formula."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_UNSAFE_STARTS) else cell


def chances_frame(chances: Mapping[str, Estimate]) -> pd.DataFrame:
    """Lay out chances with both their ranges, %."""
    return pd.DataFrame(
        {
            "Chance of": name,
            "In words": wording.in_ten(estimate.value),
            "%": round(100 * estimate.value, 1),
            "Range of the record, %": wording.record_range(estimate),
            "Range of the draws, %": wording.draws_range(estimate),
        }
        for name, estimate in chances.items()
    )


def reached_frame(seasons: Sequence[SeasonOutlook], measure: str) -> pd.DataFrame:
    """Lay out what is reached at each point of each season, with the record's range, ML/share."""
    return pd.DataFrame(
        {
            "Water year": season.water_year,
            "When": name,
            **wording.reached_cells(point.amounts[measure]),
        }
        for season in seasons
        for name, point in named_points(season).items()
    )


def bands_frame(months: Sequence[str], bands: FloatArray) -> pd.DataFrame:
    """Lay out the bands of an amount by month, by years of ten in which it is reached."""
    columns = {
        f"reached in {10 * (1 - frac):g} years of 10": values.round(3)
        for frac, values in zip(BAND_FRACS, bands, strict=True)
    }
    return pd.DataFrame({"Month": list(months), **columns})


def months_frame(
    months: Sequence[str], columns: Mapping[str, FloatArray], *, unit: str
) -> pd.DataFrame:
    """Lay out amounts by month."""
    rounded = {f"{title}, {unit}": values.round(0) for title, values in columns.items()}
    return pd.DataFrame({"Month": list(months), **rounded})


def ledger_frame(ledger: Ledger) -> pd.DataFrame:
    """Lay out a ledger by month; its columns carry their units in their names."""
    columns = {name: ledger.columns[name].round(4) for name in LEDGER}
    return pd.DataFrame({"month": ledger.months, **columns})


def set_aside_frame(today: SetAside) -> pd.DataFrame:
    """Lay out today's assessment, ML at the dam."""
    rows = [
        ("Counted on", "In the dam, above dead storage", today.in_dam_ml),
        ("Counted on", "Inflow the record assures", today.assured_inflow_ml),
        *(
            ("Set aside", title, today.commitments_ml[name])
            for name, title in wording.COMMITMENT_TITLES.items()
        ),
        ("Left over", "Free to announce (below 0: short)", today.free_ml),
    ]
    return pd.DataFrame(rows, columns=["", "What", "ML"]).round(0).rename(columns={"": "Side"})


def table(frame: pd.DataFrame, *, key: str) -> None:
    """Show a small table as text, and offer it as CSV."""
    show(frame)
    take("Take as CSV", csv_text(frame), f"{key}.csv", f"{key}_csv")


def show(frame: pd.DataFrame) -> None:
    """Show a small table as text, its first column as the names of its rows."""
    named = frame.set_index(frame.columns[0])
    st.table(named.rename(index=_breakable).map(_breakable))


def _breakable(cell: object) -> object:
    """Let long words, such as keys and file names, break where a narrow page needs it."""
    if not isinstance(cell, str):
        return cell
    return _LONG_WORD.sub(lambda word: _BREAK_AFTER.sub("\\1\u200b", word[0]), cell)


def take(label: str, content: str | bytes, name: str, key: str) -> None:
    """Offer a file to take away.

    It is handed over only when asked for. Handed over as it stands, the button would fetch it as
    soon as it is drawn, and the server may have dropped it by then: two more runs are enough.
    """
    kind = _KINDS.get(PurePath(name).suffix, "text/csv")
    st.download_button(
        label, lambda: content, file_name=name, mime=kind, key=key, on_click="ignore"
    )


def description_frame(river: Description) -> pd.DataFrame:
    """Lay out the description of a record."""
    rows = [
        ("Mean inflow a water year", wording.ml(river.mean_ml)),
        ("Coefficient of variation", f"{river.cv:.2f}"),
        ("Likeness of neighbouring years (lag-1 correlation)", f"{river.lag_1:.2f}"),
        ("Skew", f"{river.skew:.2f}"),
        ("Hurst's K (above about 0.6: dry years bunch)", f"{river.hurst_k:.2f}"),
        ("Block length these July-June years ask for", f"{river.block_years:.1f} years"),
    ]
    if river.longest_dry_run is not None:
        run = river.longest_dry_run
        rows.append(
            (
                "Longest run below the median year",
                f"{run.years} years, {run.first} to {run.last}",
            )
        )
    rows += [
        (
            f"Driest {stretch.years} year{'s' if stretch.years > 1 else ''}",
            f"{wording.percent(stretch.share_of_mean)} of the mean, {stretch.first}"
            + (f" to {stretch.last}" if stretch.years > 1 else ""),
        )
        for stretch in river.driest
    ]
    return pd.DataFrame(rows, columns=["What", "Value"])


def ordered_frame(values: FloatArray, name: str) -> pd.DataFrame:
    """Lay out amounts in rising order at every hundredth of the runs."""
    share = np.linspace(0, 1, 101)
    at = np.round(share * (values.size - 1)).astype(int)
    return pd.DataFrame({"% of possible runs": 100 * share, name: values[at].round(0)})


def reliability_frame(rows: Sequence[ReliabilityBin]) -> pd.DataFrame:
    """Lay out what was said against what happened."""
    return pd.DataFrame(
        {
            "Chance said, from": wording.percent(row.chance_from),
            "to": wording.percent(row.chance_to),
            "Years": row.cases,
            "Mean chance said": wording.percent(row.mean_chance),
            "Happened": wording.percent(row.share),
            "Range, 95 %": wording.percent_range(row.share_low, row.share_high),
        }
        for row in rows
    )


def differences_frame(told: Sequence[Difference], before: str, after: str) -> pd.DataFrame:
    """Lay out the figures in which two plans differ."""
    rows = [
        (one.key, f"{one.meaning[:1].upper()}{one.meaning[1:]}", one.before, one.after)
        for one in told
    ]
    columns = ["Figure", "What it is", before, after]
    return pd.DataFrame(rows, columns=columns)
