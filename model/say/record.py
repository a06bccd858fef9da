"""How are a record's units, fill policies and first rows said to a person?"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from model.record.record import FillPolicy, Record
from model.say.numbers import capital, count, listed, number, percent
from model.water_year import month_name

UNIT_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "ml": "ML",
        "gl": "GL",
        "kl": "kL",
        "m3": "m³",
        "acre_feet": "acre-feet",
        "ml_per_day": "ML a day",
        "gl_per_day": "GL a day",
        "m3_per_s": "m³ a second",
        "l_per_s": "litres a second",
        "mm": "mm over the catchment",
    }
)
"""Units that a flow may be in, by their names here."""

FILL_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "none": "refuse the file",
        "calendar_month_median": "the median of that calendar month, counted",
    }
)

COLUMN_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "tributary": "Tributary below the dam",
        "lake_rain": "Rain on the lake, mm",
        "lake_evaporation": "Evaporation from the lake, mm",
        "farm_rain": "Rain on the farm, mm",
        "farm_eto": "ETo on the farm, mm",
    }
)
"""Columns beside the flow that a person may name, by the names they are said by."""

FIRST_MONTHS: Final = 6
MUCH_FILLED_FRAC: Final = 0.05
"""From here on what was filled is a caution: odds of dry runs rest on what was observed."""

FILLED_BY: Final[Mapping[str, str]] = MappingProxyType(
    {"calendar_month_median": "by the median of that calendar month"}
)


def filled_in_words(record: Record, policy: FillPolicy) -> str:
    """Return what of a record was filled, how, and what share that is."""
    if not record.filled:
        return "no month was filled"
    parts = [
        f"{count(cells, 'month')} of {column.rpartition('_')[0].replace('_', ' ')} "
        f"({percent(cells / record.months)})"
        for column, cells in record.filled.items()
    ]
    return f"{listed(parts)} filled {FILLED_BY[policy]}, not observed"


def much_filled_in_words(record: Record, policy: FillPolicy) -> str:
    """Return a caution where much of a record was filled; empty where little was."""
    most = max(record.filled.values(), default=0)
    if most <= MUCH_FILLED_FRAC * record.months:
        return ""
    return (
        f"Of the record {filled_in_words(record, policy)}. Medians hide dry runs and wet ones: the "
        "odds are surer here than the river is."
    )


def months_as_understood(record: Record) -> dict[str, list[str]]:
    """Return the first months of a record as they were understood, column by column."""
    months = range(min(FIRST_MONTHS, record.months))
    columns = {"inflow_ml": record.inflow_ml, **record.columns}
    return {"Month": [month_name(record.first_month + at) for at in months]} | {
        _heading(name): [number(float(values[at]), 1) for at in months]
        for name, values in columns.items()
    }


def _heading(name: str) -> str:
    """Return the heading of a column: what it is, and its unit."""
    what, _, unit = name.rpartition("_")
    return f"{capital(what.replace('_', ' '))}, {UNIT_WORDS.get(unit, unit)}".replace(
        "mm over the catchment", "mm"
    )
