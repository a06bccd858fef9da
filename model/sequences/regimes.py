"""What may come, if the valley is in a dry or a wet state and moves between them?

A two-state Markov chain is fitted to the logarithm of the slice totals (`switching`). A sequence
opens in the state that the record's last slice was in, as far as it tells (the filtered chance),
or in the dry state with a stated chance; season by season the chain moves on, and each season is
a slice drawn with weight = its smoothed chance of that state. So months stay as they were
observed; only the order of dry and wet seasons is new.

A slice without any flow has no logarithm: it counts as half the least flow of the other slices.

Two states are taken only where the record supports them (`why_not`): Bayes' criterion prefers
them to one, each holds the weight of at least `FEWEST_SLICES` slices, and each tends to follow
itself. Else there is no such method for this record, and the caller says what it does instead.

The fit is that of the observed record. On a resampled record the slices keep their chances and
the chain stays, so the error of the record is understated for this method.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.typing import NDArray

from model.record.record import FloatArray
from model.sequences.fallback import Because
from model.sequences.slices import IntArray, Method, Slices
from model.sequences.switching import Switching
from model.water_year import MONTHS_IN_YEAR

FEWEST_SLICES: Final = 5.0
"""A state that holds less than this is a few odd years, not a state (the project's own rule)."""

ZERO_AS_FRACTION_OF_LEAST: Final = 0.5
"""A slice without flow counts as this fraction of the least flow above zero."""


@dataclass(frozen=True, slots=True)
class Regimes(Method):
    """A chain of dry and wet states, and how far each slice belongs to the dry one."""

    stays_dry: float  # chance that a dry season is followed by a dry one
    stays_wet: float
    opening_dry_chance: float  # that the season before the run was dry
    first_rows: IntArray  # (slices,) rows at which the fitted slices begin, rising
    smoothed_dry: FloatArray  # (slices,) chance that each was dry
    stated_opening: bool = False  # by the user, not read off the record

    def __post_init__(self) -> None:
        """Check shapes and chances, and make the arrays read-only."""
        chances = np.array([self.stays_dry, self.stays_wet, self.opening_dry_chance])
        if self.first_rows.shape != self.smoothed_dry.shape:
            raise ValueError("first_rows and smoothed_dry: one of each a slice")
        if not ((chances >= 0.0) & (chances <= 1.0)).all():
            raise ValueError("chances lie between 0 and 1")
        for values in (self.first_rows, self.smoothed_dry):
            values.setflags(write=False)

    @classmethod
    def of(
        cls,
        fit: Switching,
        slices: Slices,
        opening_row: int,
        opening_dry_chance: float | None = None,
    ) -> Self:
        """Open the fitted chain at a row of the record, or at a stated chance.

        Parameters
        ----------
        fit
            Of `log_totals` of these slices.
        slices
            All slices of the record, in the order of time.
        opening_row
            Row of the record at which the run opens; it may lie before or after the record.
        opening_dry_chance
            Chance that the season before it was dry; None: as the record tells.
        """
        filtered = _filtered_dry(fit, slices, opening_row)
        return cls(
            stays_dry=fit.stays_low,
            stays_wet=fit.stays_high,
            opening_dry_chance=filtered if opening_dry_chance is None else opening_dry_chance,
            first_rows=slices.first_rows.copy(),
            smoothed_dry=np.clip(fit.smoothed_low, 0.0, 1.0),
            stated_opening=opening_dry_chance is not None,
        )

    def draw(
        self, slices: Slices, seasons: int, count: int, *, rng: np.random.Generator
    ) -> IntArray:
        """Draw slice numbers, (sequence, season).

        A longer draw from the same numbers begins with the shorter one.
        """
        moves, picks = np.moveaxis(rng.random((count, seasons, 2)), 2, 0)
        dry = self._dry(moves)
        smoothed = self.smoothed_dry[np.searchsorted(self.first_rows, slices.first_rows)]
        return np.where(dry, _weighted(smoothed, picks), _weighted(1.0 - smoothed, picks))

    def settings(self) -> dict[str, str | float]:
        """Return the method's name, the chain and where it opens."""
        return {
            "method": "regimes",
            "stays_dry": self.stays_dry,
            "stays_wet": self.stays_wet,
            "opening_dry_chance": self.opening_dry_chance,
            "opening_state": "stated" if self.stated_opening else "filtered",
        }

    def _dry(self, moves: FloatArray) -> NDArray[np.bool_]:
        """(sequence, season) whether each season is dry."""
        dry = np.empty(moves.shape, dtype=np.bool_)
        opening = self.opening_dry_chance
        chance = np.array(opening * self.stays_dry + (1.0 - opening) * (1.0 - self.stays_wet))
        for season in range(moves.shape[1]):
            dry[:, season] = moves[:, season] < chance
            chance = np.where(dry[:, season], self.stays_dry, 1.0 - self.stays_wet)
        return dry


def log_totals(totals_ml: FloatArray) -> FloatArray:
    """(slices,) natural logarithm of slice totals, ML; a total of zero by the rule above."""
    some = totals_ml[totals_ml > 0.0]
    if not some.size:
        return np.zeros_like(totals_ml)
    return np.log(np.where(totals_ml > 0.0, totals_ml, ZERO_AS_FRACTION_OF_LEAST * some.min()))


def why_not(fit: Switching) -> Because | None:
    """Return why a record does not support two states; None where it does."""
    bic_one, bic_two = fit.bic
    if bic_two >= bic_one:
        return Because("one_state_as_well", {"bic_one": bic_one, "bic_two": bic_two})
    held = float(fit.smoothed_low.sum())
    fewest = min(held, fit.count - held)
    if fewest < FEWEST_SLICES:
        return Because("state_too_rare", {"fewest_years": fewest, "years": fit.count})
    if fit.stays_low + fit.stays_high <= 1.0:
        return Because("states_do_not_last")
    return None


def _filtered_dry(fit: Switching, slices: Slices, opening_row: int) -> float:
    """Return the chance that the slice before a row was dry; past the record the chain goes on."""
    ends = slices.first_rows + MONTHS_IN_YEAR
    before = int(np.searchsorted(ends, opening_row, side="right")) - 1
    if before < 0:
        return fit.long_run_low
    chance = float(fit.filtered_low[before])
    for _ in range((opening_row - int(ends[before])) // MONTHS_IN_YEAR):
        chance = chance * fit.stays_low + (1.0 - chance) * (1.0 - fit.stays_high)
    return min(1.0, max(0.0, chance))


def _weighted(weights: FloatArray, picks: FloatArray) -> IntArray:
    """Turn uniform numbers into slice numbers drawn by weight; evenly where all weights are 0."""
    if not weights.any():
        weights = np.ones_like(weights)
    running = np.cumsum(weights)
    drawn = np.searchsorted(running, picks * running[-1], side="right")
    return np.asarray(np.minimum(drawn, weights.size - 1), dtype=np.intp)
