"""Where does the valley stand, what comes in a month, and what went where in it?

All arrays are (sequence,): one number for each possible run of seasons. Accounts are those of the
average general-security holder, in ML per share.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import NDArray

from model.plan.plan import Opening
from model.plan.valley import Valley
from model.record.record import FloatArray, Record


@dataclass(frozen=True, slots=True)
class Account:
    """An account at the start of a month, ML per share, arrays of one shape.

    The average holder's in the valley's state; a farm's own in the farm's.
    """

    account_ml_per_share: FloatArray
    carried_ml_per_share: FloatArray  # the part of the account carried over and not yet used
    used_this_year_ml_per_share: FloatArray
    used_last_year_ml_per_share: FloatArray
    used_year_before_ml_per_share: FloatArray
    frozen_ml_per_share: FloatArray


@dataclass(frozen=True, slots=True)
class State(Account):
    """The valley at the start of a month, each (sequence,)."""

    storage_ml: FloatArray
    announced_to_date_ml_per_share: FloatArray  # this water year
    water_to_date_ml_per_share: FloatArray  # the same; credited, where capacity is shared
    high_security_used_ml: FloatArray  # this water year
    high_security_allocation_frac: FloatArray
    restricted: NDArray[np.bool_]  # whether last month was
    restriction_stage: NDArray[np.int8]  # last month's; 0 without stages
    lock_closed: NDArray[np.bool_]  # whether carried water was locked last month
    environment_ml: FloatArray  # the allowance in the dam
    high_security_carried_ml: FloatArray  # carried over and not yet used

    def of(self, places: NDArray[np.intp]) -> Self:
        """Return the state of some sequences, in a new order; one may come more than once."""
        return type(self)(*(getattr(self, each.name).take(places) for each in fields(self)))


@dataclass(frozen=True, slots=True)
class Weather:
    """What comes in one month, each (sequence,)."""

    inflow_ml: FloatArray
    tributary_ml: FloatArray
    net_evaporation_mm: FloatArray  # lake evaporation less rain on the lake


@dataclass(frozen=True, slots=True)
class Forcing:
    """What was observed, and which observed month each month of each sequence uses."""

    rows: NDArray[np.intp]  # (sequence, month) row numbers of the record
    inflow_ml: FloatArray  # (record months,)
    tributary_ml: FloatArray
    net_evaporation_mm: FloatArray
    factors: FloatArray | None = None  # (sequence, month) on inflow and tributary; None: all 1

    @property
    def sequences(self) -> int:
        """How many sequences there are."""
        return int(self.rows.shape[0])

    @property
    def months(self) -> int:
        """How many months each sequence has."""
        return int(self.rows.shape[1])

    def weather(self, month: int) -> Weather:
        """Return what comes in a month of the run, counted from 0."""
        rows = self.rows[:, month]
        inflow_ml, tributary_ml = self.inflow_ml.take(rows), self.tributary_ml.take(rows)
        if self.factors is not None:
            inflow_ml = inflow_ml * self.factors[:, month]
            tributary_ml = tributary_ml * self.factors[:, month]
        return Weather(inflow_ml, tributary_ml, self.net_evaporation_mm.take(rows))


def forcing_of(
    rows: NDArray[np.intp],
    record: Record,
    valley: Valley,
    *,
    flow_factor: float | FloatArray = 1.0,
    factors: FloatArray | None = None,
) -> Forcing:
    """Join sequences with the record they are drawn from.

    Parameters
    ----------
    rows
        (sequence, month) row numbers of the record.
    record, valley
        Columns that the record lacks are taken from the plan's calendar months.
    flow_factor
        Multiplies inflow and tributary: one number, or one for each month of the record.
    factors
        (sequence, month) multiplies them too, on top of it; left out, by 1.
    """
    rain_mm = record_or_calendar(record, "lake_rain_mm", valley.lake_rain_mm)
    evaporation_mm = record_or_calendar(record, "lake_evaporation_mm", valley.lake_evaporation_mm)
    tributary_ml = record_or_calendar(record, "tributary_ml", valley.tributary_ml)
    return Forcing(
        rows=np.asfortranarray(rows),
        inflow_ml=record.inflow_ml * flow_factor,
        tributary_ml=tributary_ml * flow_factor,
        net_evaporation_mm=evaporation_mm - rain_mm,
        factors=None if factors is None else np.asfortranarray(factors),
    )


def record_or_calendar(record: Record, column: str, by_month: tuple[float, ...]) -> FloatArray:
    """(record months,) a column of the record, or the plan's value of each calendar month."""
    if column in record.columns:
        return record.columns[column]
    return np.array(by_month)[record.months_of_water_year()]


def opening_state(opening: Opening, sequences: int) -> State:
    """Put every sequence where the plan says that things stand."""

    def each(value: float) -> FloatArray:
        return np.full(sequences, value)

    return State(
        storage_ml=each(opening.storage_ml),
        account_ml_per_share=each(opening.account_ml_per_share),
        carried_ml_per_share=each(opening.carried_ml_per_share),
        announced_to_date_ml_per_share=each(opening.announced_to_date_ml_per_share),
        water_to_date_ml_per_share=each(opening.announced_to_date_ml_per_share),
        used_this_year_ml_per_share=each(opening.used_this_year_ml_per_share),
        used_last_year_ml_per_share=each(opening.used_last_year_ml_per_share),
        used_year_before_ml_per_share=each(opening.used_year_before_ml_per_share),
        high_security_used_ml=each(opening.high_security_used_ml),
        high_security_allocation_frac=each(opening.high_security_allocation_frac),
        restricted=np.zeros(sequences, dtype=np.bool_),
        restriction_stage=np.zeros(sequences, dtype=np.int8),
        lock_closed=np.full(sequences, opening.carried_locked),
        environment_ml=each(opening.environment_ml),
        high_security_carried_ml=each(opening.high_security_carried_ml),
        frozen_ml_per_share=each(0.0),
    )
