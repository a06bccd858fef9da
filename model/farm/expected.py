"""How much more may be announced by the end of watering, as far as can be known on the day?

A conditional quantile (Koenker and Bassett 1978, Econometrica 46:33, title from memory): what is
announced from the next month to the last watering, reached with a stated chance, given the dam and
the average account on the date. It is fitted once, on training sequences that have random numbers
of their own and are never played, so no sequence can see what comes to it. What it gives is held
between 0 and what the rules still let be announced in the year.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, Self

import numpy as np

from model.farm.quantile_line import Cases, fit_quantile_line
from model.farm.river import RiverMonth
from model.outlook.lazy import LazyResults
from model.outlook.setting import Setting
from model.record.record import FloatArray
from model.sequences.blocks import Blocks
from model.sequences.draw import asked_block_years, draw_sequences
from model.sequences.slices import Method, Sequences
from model.sequences.view import POOL_SEQUENCES
from model.streams import Stream, generator
from model.valley.run import Month
from model.water_year import month_of_water_year

TRAINING_SEQUENCES: Final = 1_000
"""Each gives one case for every season: a few thousand in all, for four numbers fitted."""

FEATURES: Final = 4


@dataclass(frozen=True, slots=True)
class Expectation:
    """Fitted lines: further allocation by decision month and chance of exceedance."""

    lines: Mapping[tuple[int, float], FloatArray]  # (month of the water year, chance): (feature,)
    allocation_cap_ml_per_share: float
    cases: Mapping[int, Cases] = field(default_factory=dict)  # by decision month
    fitted: dict[tuple[int, float], FloatArray] = field(default_factory=dict)  # so far, by all

    def with_chances(self, chances: Iterable[float]) -> Self:
        """Return the same cases with lines of these chances."""

        def line(of: tuple[int, float]) -> FloatArray:
            k, chance = of
            if of not in self.fitted:
                case = self.cases[k]
                self.fitted[of] = fit_quantile_line(
                    case.known, case.further, case.count, 1.0 - chance
                )
            return self.fitted[of]

        asked = itertools.product(self.cases, sorted(set(chances)))
        return replace(self, lines=LazyResults(asked, line))

    def ml_per_share(self, river: RiverMonth, chance_frac: FloatArray) -> FloatArray:
        """Return what is expected to be announced after this month, (strategy, sequence).

        Parameters
        ----------
        river
            The decision month: only what is known in it is used.
        chance_frac
            (strategy, 1) chance with which it is reached or passed.
        """
        lines = np.stack([self.lines[river.k, chance] for chance in chance_frac[:, 0].tolist()])
        known = features(river.storage_frac, river.average_account_ml_per_share)
        still_allowed = np.maximum(
            0.0, self.allocation_cap_ml_per_share - river.announced_to_date_ml_per_share
        )
        return np.clip(lines @ known, 0.0, still_allowed)


def features(storage_frac: FloatArray, account_ml_per_share: FloatArray) -> FloatArray:
    """(feature, sequence) what the line is drawn on: dam, its square, account."""
    return np.stack(
        [np.ones_like(storage_frac), storage_frac, storage_frac**2, account_ml_per_share]
    )


def fit_expectation(
    trained: Iterable[Month],
    setting: Setting,
    decision_ks: Iterable[int],
    last_k: int,
    chances: Iterable[float],
) -> Expectation:
    """Fit what may be expected, on training sequences; each line when it is first asked for.

    Parameters
    ----------
    trained
        Months of the training sequences, in order.
    setting
        Plan, record and valley.
    decision_ks
        Months of the water year in which something is decided on it.
    last_k
        The last month of watering.
    chances
        Chances of exceedance.
    """
    cases = training_cases(trained, setting, set(decision_ks), last_k)
    cap = setting.rules.allocation_cap_ml_per_share
    return Expectation({}, cap, cases).with_chances(chances)


def training_sequences(setting: Setting) -> Sequences:
    """Draw the training sequences.

    Where the plan's method has no randomness, stationary blocks stand in for it.
    """
    method: Method = setting.method
    if method.count(setting.slices, TRAINING_SEQUENCES) != TRAINING_SEQUENCES:
        method = Blocks("stationary", asked_block_years(setting.slices, "stationary"))
    rng = generator(setting.plan.sequences.seed, Stream.TRAINING)
    count = TRAINING_SEQUENCES if setting.viewed is None else POOL_SEQUENCES
    drawn = draw_sequences(method, setting.slices, setting.calendar, count, rng=rng)
    if setting.viewed is None:
        return drawn
    return setting.viewed.taken(drawn, TRAINING_SEQUENCES, strict=False)


def training_cases(
    trained: Iterable[Month], setting: Setting, decision_ks: set[int], last_k: int
) -> dict[int, Cases]:
    """Gather, by decision month, what was known in it and what came after it, in time for a crop.

    Where capacity is shared a month's water is credited at its end: that of the decision month is
    still to come, that of the last month of watering comes too late.
    """
    known: dict[int, list[FloatArray]] = {k: [] for k in decision_ks}
    further: dict[int, list[FloatArray]] = {k: [] for k in decision_ks}
    open_sums: dict[int, FloatArray] = {}
    for month in trained:
        k = month_of_water_year(month.month)
        at_the_end = month.fluxes.sharing is not None  # credited then, and usable from the next on
        new_water = month.fluxes.new_water_ml_per_share
        if not at_the_end:
            open_sums = _with_more(open_sums, new_water)
        if k in decision_ks:
            known[k].append(known_in(month, setting))
            open_sums[k] = np.zeros_like(month.end.storage_ml)
        if k == last_k:
            for decided, total in open_sums.items():
                further[decided].append(total)
            open_sums = {}
        if at_the_end:
            open_sums = _with_more(open_sums, new_water)
    return {
        k: Cases.of(np.concatenate(known[k], axis=1), np.concatenate(further[k]))
        for k in decision_ks
        if known[k]
    }


def _with_more(sums: dict[int, FloatArray], more: FloatArray) -> dict[int, FloatArray]:
    """Return sums with a month's new water, by decision month."""
    return {decided: total + more for decided, total in sums.items()}


def known_in(month: Month, setting: Setting) -> FloatArray:
    """(feature, sequence) what is known in a month, after its announcement."""
    return features(
        month.fluxes.opening.storage_ml / setting.rules.capacity_ml,
        month.fluxes.account_before_orders_ml_per_share,
    )
