"""What came next, the times when the year before was most like the present?

A slice's past is the inflow of the twelve months before it. Of the n slices, the k = round(sqrt
n) whose past was nearest to the present are the neighbours; the j-th nearest is drawn with weight
(1/j) / (1/1 + ... + 1/k). The slice drawn for one season is the past of the next, so dry years
follow dry years as far as the record says they do. Climate indices named in the plan join the
distance: each is the mean of the last three months, and inflow and indices are divided by their
spread.

Assumes that the year before says most of what the record can say. It finds no likeness that the
record does not hold: in a short record the same few slices come up again and again.

References
----------
Lall and Sharma 1996 (Water Resour. Res. 32:679). Title from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Self

import numpy as np

from model.errors import Fault, PlanError
from model.record.record import FloatArray, Record
from model.sequences.slices import IntArray, Method, Slices
from model.water_year import MONTHS_IN_YEAR, format_month

INDEX_MONTHS: Final = 3
"""A climate index is the mean of so many months: one season (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Neighbours(Method):
    """The slices that followed the pasts most like the present, or like the season drawn before."""

    past: FloatArray  # (record months + 1, 1 + indices) of each row: what the months before it were
    present: FloatArray  # (1 + indices,) what the months before the run are
    indices: tuple[str, ...] = ()  # names of the climate indices

    def __post_init__(self) -> None:
        """Check shapes and make the arrays read-only."""
        if self.past.shape[1:] != self.present.shape or not np.isfinite(self.present).all():
            raise ValueError("past and present: one finite number for inflow and each index")
        for values in (self.past, self.present):
            values.setflags(write=False)

    @classmethod
    def of(
        cls,
        record: Record,
        opening_month: int,
        *,
        indices: Sequence[str] = (),
        today: Sequence[float] = (),
        last_twelve_months_inflow_ml: float | None = None,
    ) -> Self:
        """Look back from every row of a record, and from the month that opens the run.

        Parameters
        ----------
        record
            The observed record.
        opening_month
            Month number; the twelve months before it are the present.
        indices
            Columns of the record that join the distance.
        today
            What each of them stands at, in their order; left out, the mean of the last months.
        last_twelve_months_inflow_ml
            The present's inflow (ML), where the record does not reach up to the opening month.

        Raises
        ------
        PlanError
            The present is not known, or the record has no such index.
        """
        past = past_of(record, indices)
        row = opening_month - record.first_month
        observed = past[row] if MONTHS_IN_YEAR <= row <= record.months else None
        if observed is None and last_twelve_months_inflow_ml is None:
            raise PlanError("plan", [_no_present(record, opening_month)])
        if indices and observed is None and not today:
            raise PlanError("plan", [_no_index_now(record, opening_month, indices)])
        known = past[0] if observed is None else observed
        inflow_ml = last_twelve_months_inflow_ml
        return cls(
            past,
            np.array([known[0] if inflow_ml is None else inflow_ml, *(today or known[1:])]),
            tuple(indices),
        )

    def draw(
        self, slices: Slices, seasons: int, count: int, *, rng: np.random.Generator
    ) -> IntArray:
        """Draw slice numbers, (sequence, season).

        A longer draw from the same numbers begins with the shorter one.
        """
        chances = rng.random((count, seasons))
        before = self.past[slices.first_rows]
        after = self.past[slices.first_rows + MONTHS_IN_YEAR]
        k = neighbours_of(slices.count)
        next_to_present = nearest(before, self.present[None, :], k)
        next_to_slice = nearest(before, after, k)
        running = np.cumsum(kernel_weights(next_to_slice.shape[1]))
        ranks = np.minimum(np.searchsorted(running, chances), running.size - 1)
        drawn = np.empty((count, seasons), dtype=np.intp)
        drawn[:, 0] = next_to_present[0, ranks[:, 0]]
        for season in range(1, seasons):
            drawn[:, season] = next_to_slice[drawn[:, season - 1], ranks[:, season]]
        return drawn

    def settings(self) -> dict[str, str | float]:
        """Return the method's name, what the present is taken to be, and the indices."""
        indices: dict[str, str | float] = (
            {"climate_indices": ", ".join(self.indices)} if self.indices else {}
        )
        return {
            "method": "neighbours",
            "last_twelve_months_inflow_ml": float(self.present[0]),
            **indices,
        }


def kernel_weights(k: int) -> FloatArray:
    """(k,) the chance of each neighbour, the nearest first: (1/j) / (1/1 + ... + 1/k).

    Examples
    --------
    >>> kernel_weights(3).round(4).tolist()
    [0.5455, 0.2727, 0.1818]
    """
    weights = 1.0 / np.arange(1, k + 1)
    return np.asarray(weights / weights.sum())


def neighbours_of(count: int) -> int:
    """Return how many of `count` slices are neighbours: the root, rounded, at least one."""
    return max(1, round(math.sqrt(count)))


def nearest(pasts: FloatArray, queries: FloatArray, k: int) -> IntArray:
    """Find the pasts nearest to each query, the nearest first.

    Parameters
    ----------
    pasts
        (slices, features); a slice whose past was not observed (not a number) is no neighbour.
    queries
        (queries, features)
    k
        How many; fewer where fewer pasts are known.

    Returns
    -------
    ndarray
        (queries, k) slice numbers. Of equally near pasts the earlier slice comes first.
    """
    known = np.flatnonzero(np.isfinite(pasts).all(axis=1))
    spread = pasts[known].std(axis=0)
    scale = np.where(spread > 0.0, spread, 1.0)
    away = (queries[:, None, :] - pasts[known][None, :, :]) / scale
    order = np.argsort((away**2).sum(axis=2), axis=1, kind="stable")
    return known[order[:, :k]]


def past_of(record: Record, indices: Sequence[str]) -> FloatArray:
    """(record months + 1, 1 + indices) what was known of the past as each row began.

    Inflow of the twelve months before it (ML), and the mean of each index over the last three; not
    a number in the first months. The last row is what is known after the record's last month.

    Raises
    ------
    PlanError
        The record has no such index.
    """
    unknown = [name for name in indices if name not in record.indices]
    if unknown:
        raise PlanError("plan", [_no_such_index(record, name) for name in unknown])
    inflow_ml = _sums_before(record.inflow_ml, MONTHS_IN_YEAR)
    means = [_sums_before(record.indices[name], INDEX_MONTHS) / INDEX_MONTHS for name in indices]
    return np.column_stack([inflow_ml, *means])


def _sums_before(values: FloatArray, months: int) -> FloatArray:
    """(values + 1,) the sum over the months before each row; not a number where there are fewer."""
    sums = np.full(values.size + 1, np.nan)
    sums[months:] = np.lib.stride_tricks.sliding_window_view(values, months).sum(axis=1)
    return sums


def _no_present(record: Record, opening_month: int) -> Fault:
    """Explain that the twelve months before the run are not in the record."""
    return Fault(
        "sequences.last_twelve_months_inflow_ml",
        "",
        f"the record ({record.span[0]} to {record.span[1]}) does not hold the twelve months before "
        f"{format_month(opening_month)}, and method neighbours looks for years like them",
        "the inflow of those twelve months, ML; or a record that holds them; or another method",
    )


def _no_index_now(record: Record, opening_month: int, indices: Sequence[str]) -> Fault:
    """Explain that an index has no value today."""
    return Fault(
        "sequences.climate_indices",
        ", ".join(indices),
        f"the record ends {record.span[1]}, so the months before {format_month(opening_month)} "
        "have no value",
        "a record that holds those months, or no climate indices",
    )


def _no_such_index(record: Record, name: str) -> Fault:
    """Explain that the record lacks a named index."""
    known = ", ".join(record.indices) or "none: the record has no such column"
    return Fault("sequences.climate_indices", name, "the record has no such column", known)
