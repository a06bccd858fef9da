"""Which methods are tried, and how is each chosen anew as a year begins?

A trial takes the plan's own settings of a method, but leaves off what the plan wishes (a drying
factor) and what it knows of today (the opening state, last year's inflow).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from model.plan.plan import Drawing
from model.record.record import FloatArray, Record
from model.sequences.draw import Calendar, Fit, method_of
from model.sequences.slices import Method, Slices
from model.sequences.switching import Switching, fit_switching
from model.streams import Stream, generator

METHODS: Final = ("historical", "blocks", "present", "neighbours", "regimes")

FITS_TRIED, FITS_CLIMBED = 20, 1
"""Starts of a switching fit each year, besides the optimum of the year before."""

Chooser = Callable[[Slices, Record, Calendar], Method]
"""Chooses a method for the slices of a known record, as a year begins."""


def choosers_of(drawing: Drawing, methods: Sequence[str] = METHODS) -> dict[str, Chooser]:
    """Choose each method anew every year, without what the plan wishes or knows of today."""
    fit: Fit = FitsOverTheYears(drawing.seed)

    def chooser(name: str) -> Chooser:
        trial = _for_trial(drawing, name)
        return lambda slices, known, calendar: method_of(trial, slices, known, calendar, fit=fit)

    return {name: chooser(name) for name in methods}


def _for_trial(drawing: Drawing, method: str) -> Drawing:
    """Return the settings of one method as a trial uses them."""
    return drawing.model_copy(
        update={
            "method": method,
            "flow_factor": 1.0,
            "flow_elasticity": None,
            "opening_dry_chance": None,
            "last_twelve_months_inflow_ml": None,
            "climate_index_today": (),
            "drying": None,
            "view": None,
        }
    )


class FitsOverTheYears:
    """Fits two states year after year, each from where the year before ended."""

    def __init__(self, seed: int) -> None:
        self._seed = seed
        self._last: tuple[FloatArray, ...] = ()

    def __call__(self, values: FloatArray) -> Switching:
        """Fit a series that is longer than the last by a year."""
        rng = generator(self._seed, Stream.REGIME_FIT, values.size)
        climbed = FITS_CLIMBED if self._last else FITS_TRIED // 2
        fitted = fit_switching(
            values, rng=rng, also_from=self._last, tried=FITS_TRIED, climbed=climbed
        )
        self._last = (fitted.parameters,)
        return fitted
