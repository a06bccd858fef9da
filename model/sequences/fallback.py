"""Which method stands in for one that the record does not support, and why?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.sequences.slices import IntArray, Method, Slices


@dataclass(frozen=True, slots=True)
class Instead:
    """A method in the place of the one asked for; every output says so."""

    method: Method
    asked: str  # name of the method asked for
    because: str

    def draw(
        self, slices: Slices, seasons: int, count: int, *, rng: np.random.Generator
    ) -> IntArray:
        """Draw slice numbers, (sequence, season)."""
        return self.method.draw(slices, seasons, count, rng=rng)

    def settings(self) -> dict[str, str | float]:
        """Give the settings of the method that stands in, what was asked for and why it is not."""
        return {**self.method.settings(), "in_place_of": self.asked, "because": self.because}
