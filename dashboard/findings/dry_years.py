"""What the page that walks through one run of seasons says, and the ledger behind it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from model.outlook.replay import Ledger
from model.record.record import FloatArray, Record
from model.say.measures import COMMITMENTS
from model.say.numbers import ml, ml_per_share
from model.water_year import JULY, MONTHS_IN_YEAR, month_name

MOST_YEARS = 10
"""Of an observed stretch: a chart of more months is read by nobody."""


def dam_finding(ledger: Ledger) -> str:
    """Describe what is announced in all (credited, if shared), and when the dam is lowest."""
    storage_ml = ledger.columns["storage_end_ml"]
    lowest = int(storage_ml.argmin())
    came, how = ledger.columns["new_water_ml_per_share"].sum(), new_water_is(ledger)
    return (
        f"{ml_per_share(came)} is {how} in these {len(ledger.months)} months; the dam is lowest "
        f"at the end of {month_name(ledger.first_month + lowest)}, at "
        f"{ml(storage_ml[lowest])}"
    )


def new_water_is(ledger: Ledger) -> str:
    """Return how water comes to an account: announced; credited, where capacity is shared."""
    return "credited" if "internal_spill_in_ml" in ledger.names else "announced"


def counted_on_ml(ledger: Ledger, dead_storage_ml: float) -> FloatArray:
    """(month,) what each month's assessment counted on: in the dam, and inflow assured."""
    in_dam_ml = np.maximum(0.0, ledger.columns["storage_start_ml"] - dead_storage_ml)
    resource_ml: FloatArray = in_dam_ml + ledger.columns["assured_inflow_ml"]
    return resource_ml


def commitments_ml(ledger: Ledger) -> dict[str, FloatArray]:
    """(month,) what each month's assessment set aside, by what it is set aside for."""
    return {
        one.title: ledger.columns[name]
        for name, one in COMMITMENTS.items()
        if name in ledger.columns
    }


def set_aside_finding(ledger: Ledger, resource_ml: FloatArray) -> str:
    """Describe in how many months all that is counted on is set aside."""
    short = int((ledger.columns["committed_ml"] >= resource_ml).sum())
    return (
        f"In {short} of {len(ledger.months)} months all that is counted on is set aside: nothing "
        "is announced"
    )


def first_months(record: Record) -> list[int]:
    """List the months of July at which a whole observed year begins."""
    return [record.first_month + int(row) for row in record.slice_starts(JULY)]


def year_name(month: int) -> str:
    """Name a water year by its months."""
    year = month // MONTHS_IN_YEAR
    return f"July {year} to June {year + 1}"


def most_years(record: Record, first: int) -> int:
    """Count the whole years that the record has from a month on, up to as many as are drawn."""
    return min(MOST_YEARS, (record.last_month + 1 - first) // MONTHS_IN_YEAR)


def last_month(first: int, years: int) -> int:
    """Return the last month of so many years."""
    return first + MONTHS_IN_YEAR * years - 1


def months_frame(
    months: Sequence[str], columns: Mapping[str, FloatArray], *, unit: str
) -> pd.DataFrame:
    """Arrange amounts by month."""
    rounded = {f"{title}, {unit}": values.round(0) for title, values in columns.items()}
    return pd.DataFrame({"Month": list(months), **rounded})


def ledger_frame(ledger: Ledger) -> pd.DataFrame:
    """Arrange a ledger by month; its columns carry their units in their names."""
    columns = {name: ledger.columns[name].round(4) for name in ledger.names}
    return pd.DataFrame({"month": ledger.months, **columns})
