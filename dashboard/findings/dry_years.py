"""What the page that walks through one run of seasons says, and the ledger behind it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from dashboard.charts.dry_cases import Column
from model.decide.dry_cases import DryCase
from model.outlook.replay import Ledger
from model.record.record import FloatArray, Record
from model.say.measures import COMMITMENTS, MEASURES
from model.say.numbers import (
    count,
    ha,
    listed,
    ml,
    ml_per_share,
    money,
    number,
    percent,
    thousands,
)
from model.water_year import JULY, MONTHS_IN_YEAR, month_name

MOST_YEARS = 10
"""Of an observed stretch: a chart of more months is read by nobody."""


def cases_answer(cases: Sequence[DryCase]) -> str:
    """Return what the case that is worst for the bank does."""
    worst = min(cases, key=lambda case: case.lowest_cash_aud)
    past = ", over the limit" if worst.past_overdraft_limit else ", within the limit"
    missed = [season.water_year for season in worst.seasons if season.payment_missed]
    payments = f"; payments missed in {listed(missed)}" if missed else "; no payment missed"
    return (
        f"{case_name(worst)}: {ha(worst.finished_ha)} finished in "
        f"{count(len(worst.seasons), 'season')}; the bank falls to "
        f"{money(worst.lowest_cash_aud)}{past}{payments}."
    )


def case_name(case: DryCase) -> str:
    """Name a case: by its years on record, or as seasons of nothing."""
    if case.stretch is None:
        many = (
            "A season" if case.nothing_seasons == 1 else f"{case.nothing_seasons} seasons in a row"
        )
        return f"{many} of nothing announced"
    dry = case.stretch.dry_seasons[-1]
    first, last = case.stretch.observed_in[0], case.stretch.observed_in[dry - 1]
    years = first if dry == 1 else f"{first} to {last}"
    run = "season" if dry == 1 else f"{dry} seasons"
    share = percent(case.stretch.inflow_share)
    return f"The driest {run} on record, {years} ({share} of the usual inflow)"


def cases_columns(cases: Sequence[DryCase], limit_aud: float) -> list[Column]:
    """Return what the picture shows of each case: hectares, water, bank."""
    return [
        Column("Finished, ha", number, [[s.finished_ha for s in case.seasons] for case in cases]),
        Column("Announced, our ML", number, [case.announced_ml for case in cases]),
        Column(
            f"{MEASURES['lowest_cash_aud'].title} of the season",
            money,
            [[s.lowest_cash_aud for s in case.seasons] for case in cases],
            limit=-limit_aud,
        ),
    ]


def cases_frame(cases: Sequence[DryCase]) -> pd.DataFrame:
    """Arrange what each season of each case does; money in thousands."""
    return pd.DataFrame(
        {
            "Case": case_name(case),
            "Season": season.water_year,
            "Observed in": season.observed_in or "–",
            "Announced, ML a share": number(season.announced_ml_per_share, 2),
            "Planted, ha": number(season.planted_ha),
            "Finished, ha": number(season.finished_ha),
            MEASURES["margin_aud"].heading: thousands(season.margin_aud),
            MEASURES["lowest_cash_aud"].heading: thousands(season.lowest_cash_aud),
            "Payment": "missed"
            if season.payment_missed
            else ("made" if season.payment_due else "none due"),
        }
        for case in cases
        for season in case.seasons
    )


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
