"""What if the season comes as the user thinks, or as a published outlook says?

A view gives chances of a dry, a middle and a wet third (or of more than the middle) of the flow, or
of a rain, over a span of months. The classes are bounded by the record's own sums over those
calendar months. The runs of each class are then weighted alike, by as little as gives the classes
the chances asked for: the change of least relative entropy. What is asked for is

    belief x view + (1 - belief) x the runs' own shares.

Runs are taken evenly by their weights, so that everything after them counts each alike. A view is
no finding: it is marked wherever odds stand, and never part of a trial on past years.

References
----------
Kullback and Leibler 1951 (Ann. Math. Statist. 22:79): relative entropy; Stedinger and Kim 2010 (J.
Hydrol. 391:9): probability weights for traces. Titles from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Self

import numpy as np

from model.errors import Fault, PlanError
from model.plan.drawing import View
from model.record.record import FloatArray, Record
from model.sequences.slices import IntArray, Sequences
from model.sequences.unique import unique_sequences
from model.water_year import MONTHS_IN_YEAR, parse_month

LEAST_EFFECTIVE_FRAC: Final = 0.25
"""Below this part of the different runs a view rests on too few of them."""

POOL_SEQUENCES: Final = 10_000
"""So many are drawn, from which those of a view are taken."""

RECORD_POOL_SEQUENCES: Final = 500
"""Likewise of each resampled record."""


@dataclass(frozen=True, slots=True)
class ViewRuns:
    """How many equally likely different runs there are, without a view and with it."""

    without: float
    with_view: float


@dataclass(frozen=True, slots=True)
class Viewed:
    """A view of some months of a run, in the record's own classes."""

    column: FloatArray  # (record months,) what the view is about
    is_flow: bool  # which moves with the level of a sequence
    months: slice  # of the run
    bounds: FloatArray  # (class - 1,) between the classes, in the column's unit
    chances: FloatArray  # (class,) the driest first
    belief: float

    @classmethod
    def of(cls, view: View, record: Record, opening_month: int, months: int) -> Self:
        """Bound the classes of a view by a record.

        Parameters
        ----------
        view
            The user's.
        record
            That sequences are drawn from.
        opening_month, months
            Month number at which the run begins, and how long it is.

        Raises
        ------
        PlanError
            The record has no such column, or the span is not in the run.
        """
        first, last = (parse_month(each) - opening_month for each in _span(view))
        column = _column(record, view.of)
        if column is None or not 0 <= first <= last < months:
            raise PlanError("plan", [_no_such_span(view, record, column is None)])
        sums = _observed_sums(column, record, opening_month + first, last + 1 - first)
        classes = len(view.chances)
        inner = np.arange(1, classes) / classes
        return cls(
            column=column,
            is_flow=view.of in ("inflow_ml", "tributary_ml"),
            months=slice(first, last + 1),
            bounds=np.quantile(sums, inner),
            chances=np.array(view.chances),
            belief=view.belief,
        )

    def classes_of(self, sequences: Sequences) -> IntArray:
        """(sequence,) the class of each sequence, 0 the driest."""
        values = self.column[sequences.rows[:, self.months]]
        if self.is_flow and sequences.factors is not None:
            values = values * sequences.factors[:, self.months]
        return np.asarray(np.searchsorted(self.bounds, values.sum(axis=1), side="left"))

    def taken(self, sequences: Sequences, count: int, *, strict: bool = True) -> Sequences:
        """Take so many of some sequences, evenly by their weights.

        Parameters
        ----------
        sequences
            Drawn without the view.
        count
            How many are taken.
        strict
            Whether an empty class, or too few runs that count, is refused; else what is empty is
            left out of what is asked for.

        Raises
        ------
        PlanError
            They are too far from the view.
        """
        classes, weights = self._weighted(sequences, strict=strict)
        if strict:
            _check(_runs_of(sequences, weights))
        order = np.argsort(classes, kind="stable")  # class by class: each has its chance exactly
        return sequences[np.sort(order[evenly(weights[order], count)])]

    def runs_of(self, sequences: Sequences) -> ViewRuns:
        """Count the different runs of some sequences that count, without the view and with it."""
        return _runs_of(sequences, self._weighted(sequences, strict=True)[1])

    def _weighted(self, sequences: Sequences, *, strict: bool) -> tuple[IntArray, FloatArray]:
        """Weight sequences by the view: their classes and weights."""
        classes = self.classes_of(sequences)
        own = np.bincount(classes, minlength=self.chances.size) / len(classes)
        wanted = self.belief * self.chances + (1.0 - self.belief) * own
        if strict and ((own == 0.0) & (wanted > 0.0)).any():
            raise PlanError("plan", [_empty_class(int(np.argmin(own)))])
        return classes, weights_of(classes, own, wanted)


def weights_of(classes: IntArray, own: FloatArray, wanted: FloatArray) -> FloatArray:
    """Weight runs so that their classes have the chances wanted, with the least change.

    Parameters
    ----------
    classes
        (run,) the class of each.
    own, wanted
        (class,) shares of the runs, and chances; a class without runs is left out.

    Returns
    -------
    ndarray
        (run,) summing to 1, alike within a class.

    Examples
    --------
    >>> weights_of(np.array([0, 0, 1]), np.array([2, 1]) / 3, np.array([0.5, 0.5])).tolist()
    [0.25, 0.25, 0.5]
    """
    possible = np.where(own > 0.0, wanted, 0.0)
    each = np.divide(possible, own * len(classes), out=np.zeros_like(own), where=own > 0.0)
    weights = each[classes]
    return np.asarray(weights / weights.sum())


def effective_number(weights: FloatArray, runs: IntArray) -> float:
    """Return how many equally likely different runs some weighted runs are worth.

    Parameters
    ----------
    weights
        (run,) summing to 1.
    runs
        (run,) which different run each is.
    """
    together = np.bincount(runs, weights=weights)
    return 1.0 / float(np.sum(together**2))


def evenly(weights: FloatArray, count: int) -> IntArray:
    """Take so many places evenly by weight: each as often as its weight says, within one."""
    reached = np.cumsum(weights)
    at = (np.arange(count) + 0.5) / count * reached[-1]
    places = np.searchsorted(reached, at, side="right")
    return np.asarray(np.minimum(places, weights.size - 1))


def _runs_of(sequences: Sequences, weights: FloatArray) -> ViewRuns:
    """Count the different runs, equally weighted and weighted so."""
    runs = unique_sequences(sequences).places
    equal = np.full(len(weights), 1.0 / len(weights))
    return ViewRuns(effective_number(equal, runs), effective_number(weights, runs))


def _check(runs: ViewRuns) -> None:
    """Refuse a view that rests on too few different runs."""
    if runs.with_view < LEAST_EFFECTIVE_FRAC * runs.without:
        raise PlanError("plan", [_too_few(runs.with_view, runs.without)])


def _span(view: View) -> tuple[str, str]:
    return view.first_month, view.last_month


def _column(record: Record, name: str) -> FloatArray | None:
    """Find a column of a record."""
    if name == "inflow_ml":
        return record.inflow_ml
    return record.columns.get(name, record.indices.get(name))


def _observed_sums(column: FloatArray, record: Record, first: int, months: int) -> FloatArray:
    """(year,) the record's sums over the calendar months of a span."""
    starts = np.arange((first - record.first_month) % MONTHS_IN_YEAR, record.months, MONTHS_IN_YEAR)
    whole = starts[starts + months <= record.months]
    return np.asarray(column[whole[:, None] + np.arange(months)].sum(axis=1))


def _no_such_span(view: View, record: Record, no_column: bool) -> Fault:
    """Explain that a view is about nothing in the run."""
    if no_column:
        known = ", ".join(("inflow_ml", *record.columns, *record.indices))
        return Fault("sequences.view.of", view.of, "the record has no such column", known)
    return Fault(
        "sequences.view.first_month",
        f"{view.first_month} to {view.last_month}",
        "the span is not in the run",
        "months from the opening month to the end of the last season",
    )


def _empty_class(at: int) -> Fault:
    """Explain that no run lies in a class."""
    return Fault(
        "sequences.view",
        f"class {at + 1}, the driest first",
        "no run drawn from the record falls in it, so no weights can bring it about",
        "a view of other months, or another method",
    )


def _too_few(after: float, before: float) -> Fault:
    """Explain that a view rests on too few runs."""
    return Fault(
        "sequences.view.belief",
        f"{after:.0f} runs that count, of {before:.0f}",
        "so strong a view rests on less than a quarter of the different runs",
        "less belief, or chances nearer to the record's",
    )
