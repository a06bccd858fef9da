"""What may come, if the river starts from where it stands today and not from an average year?

Sequences are drawn in blocks of years (`blocks`); then the level of each drawn slice is moved to
where the river stands today. How much of the present lasts is read off the record: for each of
the stretches of months ahead in LEADS, the logarithm of its flow is regressed on the logarithms of
the flow of the last 1, 3, 12 and 36 months, over all past starts in the opening's calendar month,
by ridge regression. A slice used in season j is multiplied, stretch by stretch, by

    exp(slope . (present - past)),

where the past is what was observed before the start that the slice would have followed, j - 1
years before it begins. So a run of consecutive observed years keeps its own dry runs and the shape
of its months; only its level moves. Each sequence takes slopes of its own, drawn from the error of
the fit: slopes that the record hardly shows move nothing for certain.

Assumes that what lasts of the present is a matter of level, alike in dry and wet years, and that
rain and evaporation of a month are those observed with it. It finds no memory that the record does
not hold: the ridge then draws the slopes to nothing and blocks are left.

References
----------
Hoerl and Kennard 1970 (Technometrics 12:55): ridge regression; Allen 1974 (Technometrics 16:125):
its strength by leaving one case out. Titles from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Self

import numpy as np

from model.record.record import FloatArray, Record
from model.sequences.blocks import Blocks
from model.sequences.ridge import Ridge, fit_ridge
from model.sequences.slices import IntArray, Method, Slices
from model.water_year import MONTHS_IN_YEAR

LEADS: Final = ((0, 3), (3, 6), (6, 12), (12, 24), (24, 36))
"""Stretches of months ahead, counted from the opening: what lasts of the present fades."""

LOOKS_BACK_MONTHS: Final = (1, 3, 12, 36)
"""The present is the flow of so many months before the start."""

INDEX_MONTHS: Final = 3
"""A climate index is the mean of so many months: one season (common practice, no source)."""

FLOOR_FRAC: Final = 0.02
"""Added to each flow before its logarithm, as a part of the mean: a river may run dry."""

MOST_MOVED: Final = 1.5
"""The exponent is held within this: flow is moved by a factor of at most 4.5 either way."""

FEWEST_BLOCK_YEARS: Final = 5.0
"""Shorter blocks break the dry runs that the level is moved along with."""


@dataclass(frozen=True, slots=True)
class Present(Method):
    """Blocks of slices, their level moved to where the river stands today."""

    blocks: Blocks
    pasts: FloatArray  # (record months + 1, feature) what the months before each row were, scaled
    present: FloatArray  # (feature,) what the months before the run are, likewise
    features: tuple[str, ...]  # their names
    cases: Cases  # what the slopes are fitted on
    fits: tuple[Ridge, ...]  # of LEADS

    @classmethod
    def of(
        cls,
        record: Record,
        opening_month: int,
        blocks: Blocks,
        *,
        indices: Sequence[str] = (),
        today: Sequence[float] = (),
    ) -> Self:
        """Fit what lasts of the present, on what was known as the run's first month began.

        Parameters
        ----------
        record
            The observed record, up to the month before the opening at least.
        opening_month
            Month number at which the run begins.
        blocks
            How slices are drawn.
        indices
            Columns of the record that join the present.
        today
            What each of them stands at, in their order; left out, the mean of the last months.
        """
        row = opening_month - record.first_month
        starts = np.arange(row % MONTHS_IN_YEAR, row, MONTHS_IN_YEAR)
        raw = np.column_stack(
            [
                *(_log_flow_before(record.inflow_ml, m, starts) for m in LOOKS_BACK_MONTHS),
                *(mean_before(record.indices[name], INDEX_MONTHS) for name in indices),
            ]
        )
        present = raw[row].copy()
        present[len(LOOKS_BACK_MONTHS) :] = today or present[len(LOOKS_BACK_MONTHS) :]
        middle, spread = _middle_and_spread(raw[starts])
        pasts = np.nan_to_num((raw - middle) / spread)  # a past before the record is its mean
        cases = Cases.of(record.inflow_ml[:row], starts, pasts)
        return cls(
            blocks=blocks,
            pasts=pasts,
            present=np.nan_to_num((present - middle) / spread),
            features=(*(f"inflow_{m}_months" for m in LOOKS_BACK_MONTHS), *indices),
            cases=cases,
            fits=cases.fitted(np.ones((1, starts.size))),
        )

    def draw(
        self, slices: Slices, seasons: int, count: int, *, rng: np.random.Generator
    ) -> IntArray:
        """Draw slice numbers, (sequence, season), as the blocks do."""
        return self.blocks.draw(slices, seasons, count, rng=rng)

    def noise(self, count: int, *, rng: np.random.Generator) -> FloatArray:
        """Draw the standard normal numbers of each sequence's slopes, (sequence, lead, feature)."""
        return rng.spawn(1)[0].standard_normal((count, len(LEADS), self.present.size))

    def factors(
        self, slices: Slices, drawn: IntArray, months: int, noise: FloatArray | None
    ) -> FloatArray:
        """Draw slopes for each sequence, and move the level of its slices by them.

        Returns
        -------
        ndarray
            (sequence, month) the factor on the flow of each month.
        """
        leads = [lead for lead in LEADS if lead[0] < months]
        assert noise is not None  # as `noise` draws it
        moved = np.ones((months, len(drawn)))  # beyond LEADS nothing of the present lasts
        of_season = -1
        for at, (first, last) in enumerate(leads):
            if of_season != first // MONTHS_IN_YEAR:
                of_season = first // MONTHS_IN_YEAR
                before = slices.first_rows[drawn[:, of_season]] - MONTHS_IN_YEAR * of_season
                away = self.present - self._past_of(before)
            slopes = self.fits[at].slopes(noise[:, at])
            moved[first:last] = np.exp(_clipped(np.einsum("sf,sf->s", slopes, away)))
        return moved.T

    def refitted(self, slices: Slices, orders: IntArray) -> Self:
        """Fit anew on resampled records, all at once; see `Method.refitted`."""
        times = np.zeros((len(orders), slices.count))
        for resample, order in enumerate(orders):
            times[resample] = np.bincount(order, minlength=slices.count)
        weights = self.cases.weights_of(slices.first_rows, times)
        return replace(self, fits=self.cases.fitted(weights))

    def middle_factors(self) -> FloatArray:
        """Return the factor of each of LEADS in the middle past start, by the middle slopes."""
        slopes = np.array([fit.mean[0] for fit in self.fits])
        exponent = _clipped((self.present - self.cases.pasts) @ slopes.T)
        return np.asarray(np.exp(np.median(exponent, axis=0)))

    def settings(self) -> dict[str, str | float]:
        """Return the method's name, its blocks, and what it moves today."""
        return {
            **self.blocks.settings(),
            "method": "present",
            "fitted_on_starts": self.cases.starts.size,
            **{
                f"middle_factor_{_named(lead)}": float(factor)
                for lead, factor in zip(LEADS, self.middle_factors(), strict=True)
            },
            **{
                f"slope_{_named(lead)}_{name}": float(slope)
                for lead, fit in zip(LEADS, self.fits, strict=True)
                for name, slope in zip(self.features, fit.mean[0], strict=True)
            },
        }

    def _past_of(self, rows: IntArray) -> FloatArray:
        """(sequence, feature) what was before rows; before the record, its mean."""
        past = self.pasts.take(rows, axis=0, mode="clip")
        past[rows < 0] = 0.0
        return past


@dataclass(frozen=True, slots=True)
class Cases:
    """Past starts in the opening's calendar month: what was before each, and what came after."""

    starts: IntArray  # (case,) rows at which they begin
    pasts: FloatArray  # (case, feature) scaled
    came: tuple[FloatArray, ...]  # by lead, (case,) logarithm of flow; not a number: not known yet

    @classmethod
    def of(cls, inflow_ml: FloatArray, starts: IntArray, pasts: FloatArray) -> Self:
        """Gather the cases of a record; `pasts` is (row, feature)."""
        came = tuple(_log_flow_after(inflow_ml, lead, starts) for lead in LEADS)
        return cls(starts, pasts[starts], came)

    def fitted(self, weights: FloatArray) -> tuple[Ridge, ...]:
        """Fit slopes for each of LEADS; weights (record, case) count how often a case is in it."""
        known = [np.isfinite(came) for came in self.came]
        return tuple(
            fit_ridge(self.pasts[of], came[of], weights[:, of])
            for came, of in zip(self.came, known, strict=True)
        )

    def weights_of(self, first_rows: IntArray, times: FloatArray) -> FloatArray:
        """(record, case) how often each case is in records made of slices, `times` (record, slice).

        A case that is no whole slice yet, at the record's end, is in none of them.
        """
        place = np.minimum(np.searchsorted(first_rows, self.starts), first_rows.size - 1)
        return np.where(first_rows[place] == self.starts, times[:, place], 0.0)


def mean_before(values: FloatArray, months: int) -> FloatArray:
    """(values + 1,) the mean over the months before each row; not a number where there are fewer.

    Examples
    --------
    >>> mean_before(np.array([1.0, 3.0, 5.0]), 2).tolist()
    [nan, nan, 2.0, 4.0]
    """
    means = np.full(values.size + 1, np.nan)
    if values.size >= months:
        means[months:] = np.lib.stride_tricks.sliding_window_view(values, months).mean(axis=1)
    return means


def _log_flow_before(inflow_ml: FloatArray, months: int, starts: IntArray) -> FloatArray:
    """(months + 1,) the logarithm of the flow before each row, as a part of that before starts."""
    flow_ml = mean_before(inflow_ml, months)
    return _log_of_part(flow_ml, flow_ml[starts])


def _log_flow_after(inflow_ml: FloatArray, lead: tuple[int, int], starts: IntArray) -> FloatArray:
    """(start,) the logarithm of the flow of a lead after each start; not a number: not known."""
    first, last = lead
    ends = starts + last
    known = ends <= inflow_ml.size
    flow_ml = np.full(starts.size, np.nan)
    flow_ml[known] = mean_before(inflow_ml, last - first)[ends[known]]
    return _log_of_part(flow_ml, flow_ml)


def _log_of_part(flow_ml: FloatArray, usual_ml: FloatArray) -> FloatArray:
    """Take the logarithm of flow as a part of its mean, with the floor added."""
    known = usual_ml[np.isfinite(usual_ml)]
    mean_ml = float(known.mean()) if known.size else 0.0
    if mean_ml <= 0.0:
        return np.where(np.isfinite(flow_ml), 0.0, np.nan)
    return np.asarray(np.log(flow_ml / mean_ml + FLOOR_FRAC))


def _middle_and_spread(values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(feature,) mean and spread of what is known; 0 and 1 where nothing is, or none varies."""
    known = np.isfinite(values)
    count = np.maximum(1, known.sum(axis=0))
    middle = np.where(known, values, 0.0).sum(axis=0) / count
    spread = np.sqrt(np.where(known, (values - middle) ** 2, 0.0).sum(axis=0) / count)
    return middle, np.where(spread > 1e-9, spread, 1.0)


def _clipped(exponent: FloatArray) -> FloatArray:
    """Keep an exponent within what a level is moved at most."""
    return np.clip(exponent, -MOST_MOVED, MOST_MOVED)


def _named(lead: tuple[int, int]) -> str:
    """Name a stretch of months ahead.

    Examples
    --------
    >>> _named((3, 6))
    '4_6'
    """
    return f"{lead[0] + 1}_{lead[1]}"
