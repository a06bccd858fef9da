"""What does every farm of a valley learn from, whatever its crops and strategies?

Expectations, prices and the worth of water are fitted to sequences that are never played. The
valley is run through them once; what is fitted to the valley alone is fitted once, however many
farms stand on it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, Self

from model.farm.expected import Expectation, fit_expectation, training_sequences
from model.farm.price import SeasonSupply, fit_supply
from model.farm.rules import MainCrop
from model.outlook.lazy import LazyResults
from model.outlook.setting import Setting
from model.plan.plan import Plan
from model.sequences.slices import Sequences
from model.valley.run import Month

WORTH_SEQUENCES: Final = 300
"""Two years of each are tried for the worth of water: differences are taken run by run."""

FEWEST_SEASONS: Final = 2
"""A run holds a whole water year after its first season."""


@dataclass(frozen=True, slots=True)
class Training:
    """The valley through its training sequences, and what is fitted to it alone."""

    valley: Setting  # over at least two seasons
    sequences: Sequences
    months: tuple[Month, ...]  # of all of them
    worth_sequences: Sequences  # the first of them: the worth of water is learnt from few
    worth_months: tuple[Month, ...]
    supplies: Mapping[bool, SeasonSupply]  # by whether thirds of seasons are needed
    expectations: dict[tuple[int, int, int], Expectation] = field(default_factory=dict)

    @classmethod
    def of(cls, setting: Setting) -> Self:
        """Run a valley through its training sequences."""
        seasons = max(FEWEST_SEASONS, setting.calendar.seasons)
        valley = replace(setting, calendar=replace(setting.calendar, seasons=seasons))
        sequences = training_sequences(valley)
        months = tuple(valley.months(sequences))
        return cls(
            valley=valley,
            sequences=sequences,
            months=months,
            worth_sequences=sequences[:WORTH_SEQUENCES],
            worth_months=tuple(valley.months(sequences[:WORTH_SEQUENCES])),
            supplies=LazyResults(
                (False, True), lambda thirds: fit_supply(months, valley.rules, thirds=thirds)
            ),
        )

    def valley_of(self, plan: Plan) -> Setting:
        """Return the training valley as the setting of a plan that stands on it."""
        return replace(self.valley, plan=plan)

    def expectation(self, crop: MainCrop, chances: Iterable[float]) -> Expectation:
        """Return what may be expected when a main crop is planted and finished."""
        decided = (crop.planting_k, crop.finish_k, crop.last_watering_k)
        if decided not in self.expectations:
            self.expectations[decided] = fit_expectation(
                self.months, self.valley, decided[:2], crop.last_watering_k, ()
            )
        return self.expectations[decided].with_chances(chances)
