"""Which method stands in for one that the record does not support, and why?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal, Self

import numpy as np

from model.record.record import FloatArray
from model.sequences.slices import IntArray, Method, Slices

Reason = Literal[
    "not_tried",
    "opening_off_the_record",
    "years_alike",
    "fit_led_nowhere",
    "one_state_as_well",
    "state_too_rare",
    "states_do_not_last",
]


@dataclass(frozen=True, slots=True)
class Because:
    """Why another method stands in, and the figures that show it."""

    found: Reason
    figures: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Fallback(Method):
    """A method in the place of the one asked for; every output says so."""

    method: Method
    asked: str  # name of the method asked for
    because: Because

    def draw(
        self, slices: Slices, seasons: int, count: int, *, rng: np.random.Generator
    ) -> IntArray:
        """Draw slice numbers, (sequence, season)."""
        return self.method.draw(slices, seasons, count, rng=rng)

    def count(self, slices: Slices, asked: int) -> int:
        """Return how many sequences the method that stands in draws."""
        return self.method.count(slices, asked)

    def noise(self, count: int, *, rng: np.random.Generator) -> FloatArray | None:
        """Draw what the factors of the method that stands in need of chance."""
        return self.method.noise(count, rng=rng)

    def factors(
        self, slices: Slices, drawn: IntArray, months: int, noise: FloatArray | None
    ) -> FloatArray | None:
        """Return the factors of the method that stands in."""
        return self.method.factors(slices, drawn, months, noise)

    def refitted(self, slices: Slices, orders: IntArray) -> Self:
        """Return the method that stands in as fitted to resampled records."""
        return replace(self, method=self.method.refitted(slices, orders))

    def settings(self) -> dict[str, str | float]:
        """Return the settings of the method that stands in, and what was asked for and why not."""
        return {
            **self.method.settings(),
            "in_place_of": self.asked,
            "because": self.because.found,
            **self.because.figures,
        }
