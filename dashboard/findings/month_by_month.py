"""What the page says that walks through one run of seasons: the ledger behind it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pandas as pd

from model.outlook.replay import Ledger
from model.record.record import FloatArray
from model.valley.run import LEDGER


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
