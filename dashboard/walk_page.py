"""The parts of the page that walks through one run of seasons, one open at a time."""

from __future__ import annotations

import numpy as np

from dashboard import charts, tables, wording
from model.outlook.replay import Ledger
from model.water_year import month_name


def show_dam(ledger: Ledger) -> None:
    """Show dam and account at the end of each month."""
    storage_ml = ledger.columns["storage_end_ml"]
    lowest = int(storage_ml.argmin())
    announced = ledger.columns["announced_ml_per_share"].sum()
    finding = (
        f"{wording.ml_per_share(announced)} is announced in these {len(ledger.months)} months; the "
        f"dam is lowest at the end of {month_name(ledger.first_month + lowest)}, at "
        f"{wording.ml(storage_ml[lowest])}"
    )
    tables.chart(
        charts.walk_chart(
            ledger.months, storage_ml, ledger.columns["account_ml_per_share"], title=finding
        ),
        key="walk",
        alt=finding,
        frame=lambda: tables.ledger_frame(ledger),
    )


def show_set_aside(ledger: Ledger, dead_storage_ml: float) -> None:
    """Show what each month's assessment counted on, and what it set aside."""
    in_dam_ml = np.maximum(0.0, ledger.columns["storage_start_ml"] - dead_storage_ml)
    resource_ml = in_dam_ml + ledger.columns["assured_inflow_ml"]
    short = int((ledger.columns["committed_ml"] >= resource_ml).sum())
    finding = (
        f"In {short} of {len(ledger.months)} months all that is counted on is set aside: nothing "
        "is announced"
    )
    commitments_ml = {
        title: ledger.columns[name] for name, title in wording.COMMITMENT_TITLES.items()
    }
    tables.chart(
        charts.set_aside_by_month_chart(ledger.months, resource_ml, commitments_ml, title=finding),
        key="walk_set_aside",
        alt=finding,
        frame=lambda: tables.months_frame(
            ledger.months, {"Counted on": resource_ml, **commitments_ml}, unit="ML"
        ),
    )
