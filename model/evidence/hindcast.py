"""What would the odds have been, every year since the first thirty, and what then came?

Each year the hindcast stands at the opening month, knows only the record before it, and finds the
dam and the account where the replay of the observed years has them (`walk`). Each method draws
its sequences from that record, the valley is run through all of them, and the odds of two amounts
in each season ahead are held against what the replay then gave: the water announced to date, and
the dam, both at the season's end.

What they are compared with is the long-run record: the replayed amounts of all other water years,
whatever the dam held (climatology), with what was announced before the stand known to it too. A
drying factor is left off, and so is what the plan states of today: a hindcast tries the method, not
the wish. Odds are scored as they were given, each sequence as likely as any other, by the same form
of CRPS whatever the method: blocks and `historical` give this season the same odds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from model.errors import Fault, InputError
from model.evidence.choosers import Chooser, choosers_of
from model.evidence.kept import Kept
from model.evidence.long_run import (
    events,
    long_run_chance,
    long_run_crps,
    more_announced,
    references,
)
from model.evidence.stand import AMOUNTS, Came, StandScored, look_ahead_from
from model.evidence.walk import Walk, walk
from model.plan.plan import Plan
from model.record.record import FloatArray, Record
from model.sequences.fallback import Because
from model.sequences.slices import IntArray
from model.streams import Stream, generator

DRAWS_EACH: Final = 500
"""Sequences a year and method: their own error of a chance is then at most 0.02."""

FEWEST_DRAWS: Final = 50
"""Below this a band of 90 % rests on two sequences at each end."""

DRIEST_FRAC: Final = 0.1
"""The driest tenth of years: those in which least was announced."""

Progress = Callable[[int, int], None]
"""Called with the stands done and all stands of all methods; what it raises ends the hindcast."""


@dataclass(frozen=True, slots=True)
class Cases:
    """One method's odds, each (year, season), against what came; not a number where nothing has."""

    method: str
    crps: Mapping[str, FloatArray]  # by amount
    pit: Mapping[str, FloatArray]  # by amount, drawn among ties
    mean: Mapping[str, FloatArray]  # by amount
    quantiles: Mapping[str, FloatArray]  # by amount, (quantile, year, season)
    chance: Mapping[str, FloatArray]  # by event
    stood_in: tuple[Because | None, ...]  # (year,) why another method did; None: itself


@dataclass(frozen=True, slots=True)
class Hindcast:
    """All methods' odds, and what came."""

    plan: Plan
    record: Record
    walk: Walk
    observed: Mapping[str, FloatArray]  # by amount, (year, season)
    happened: Mapping[str, FloatArray]  # by event, (year, season): 1, 0 or not a number
    long_run_crps: Mapping[str, FloatArray]  # by amount, (year, season)
    long_run_chance: Mapping[str, FloatArray]  # by event, (year, season)
    low_ml_per_share: float  # event `low`: no more than this is announced
    methods: tuple[Cases, ...]
    draws_each: int

    @property
    def years(self) -> int:
        """How many years it stood in."""
        return len(self.walk.stands)

    @property
    def seasons(self) -> int:
        """How many seasons it looked ahead."""
        return int(self.walk.water_years.shape[1])

    @property
    def themselves(self) -> tuple[Cases, ...]:
        """The methods that stood themselves at every stand."""
        return tuple(cases for cases in self.methods if not any(cases.stood_in))

    @property
    def replaced(self) -> tuple[Cases, ...]:
        """The methods that another stood in for at some stands: never listed as themselves."""
        return tuple(cases for cases in self.methods if any(cases.stood_in))

    def came(self, season: int) -> IntArray:
        """Return the numbers of the years of which a season (from 0) is over."""
        return np.flatnonzero(np.isfinite(self.observed["announced"][:, season]))


def hindcast(
    plan: Plan,
    record: Record,
    *,
    choosers: Mapping[str, Chooser] | None = None,
    draws_each: int = DRAWS_EACH,
    kept: Kept | None = None,
    progress: Progress | None = None,
) -> Hindcast:
    """Stand in every year after the first thirty, and look ahead with each method.

    Parameters
    ----------
    plan, record
        The valley, its rules and what was observed.
    choosers
        The methods by name; by default all of `METHODS` with the plan's settings.
    draws_each
        Sequences a year and method.
    kept
        Where stands that were tried before are read, and others written; nowhere if left out.
    progress
        Is told how far it is, stand by stand; what it raises ends the hindcast.

    Raises
    ------
    RecordError
        The record is too short.
    InputError
        Too few draws.
    """
    if draws_each < FEWEST_DRAWS:
        fault = Fault("--draws", str(draws_each), "it is too few", f"{FEWEST_DRAWS} or more")
        raise InputError("command line", [fault])
    drawing = plan.sequences
    walked = walk(plan, record, drawing.seasons)
    choosers = choosers or choosers_of(drawing)
    low = float(np.quantile(walked.every_announced_ml_per_share, DRIEST_FRAC))
    observed = {"announced": walked.announced_ml_per_share, "storage": walked.storage_ml}
    after = _came(observed, low, drawing.seed)
    trial = _Trial(draws_each, kept, progress, len(choosers) * len(walked.stands))
    methods = tuple(
        _tried(walked, plan, name, choose, after, trial) for name, choose in choosers.items()
    )
    reference = references(walked, walked.stands[0].rules.allocation_cap_ml_per_share)
    came = np.isfinite(walked.announced_ml_per_share)
    happened = events(walked.announced_ml_per_share, more_announced(walked), low)
    return Hindcast(
        plan=plan,
        record=record,
        walk=walked,
        observed=observed,
        happened={name: np.where(came, each, np.nan) for name, each in happened.items()},
        long_run_crps={name: long_run_crps(reference[name], observed[name]) for name in AMOUNTS},
        long_run_chance=long_run_chance(reference, low),
        low_ml_per_share=low,
        methods=methods,
        draws_each=draws_each,
    )


class _Trial:
    """How a trial is run, and how far it is."""

    def __init__(
        self, draws_each: int, kept: Kept | None, progress: Progress | None, stands: int
    ) -> None:
        self.draws_each, self.kept = draws_each, kept
        self._progress, self._stands, self._done = progress, stands, 0

    def one_more(self) -> None:
        """Count a stand."""
        self._done += 1
        if self._progress is not None:
            self._progress(self._done, self._stands)


def _came(observed: Mapping[str, FloatArray], low_ml_per_share: float, seed: int) -> list[Came]:
    """Part what came by stand."""
    uniforms = {
        amount: generator(seed, Stream.HINDCAST, at).random(observed[amount].shape)
        for at, amount in enumerate(AMOUNTS)
    }
    return [
        Came(
            {amount: observed[amount][year] for amount in AMOUNTS},
            {amount: uniforms[amount][year] for amount in AMOUNTS},
            low_ml_per_share,
        )
        for year in range(len(observed["announced"]))
    ]


def _tried(
    walked: Walk, plan: Plan, name: str, choose: Chooser, came: Sequence[Came], trial: _Trial
) -> Cases:
    """Stand in every year with one method."""
    scored = []
    for year, stand in enumerate(walked.stands):
        found = trial.kept.read(name, year) if trial.kept else None
        if found is None:
            found = look_ahead_from(plan, stand, year, name, choose, came[year], trial.draws_each)
            if trial.kept:
                trial.kept.write(name, year, found)
        scored.append(found)
        trial.one_more()
    return _cases(name, scored)


def _cases(method: str, scored: Sequence[StandScored]) -> Cases:
    """Place the stands of one method side by side."""

    def by_amount(name: str) -> dict[str, FloatArray]:
        return {a: np.array([getattr(each, name)[a] for each in scored]) for a in AMOUNTS}

    return Cases(
        method=method,
        crps=by_amount("crps"),
        pit=by_amount("pit"),
        mean=by_amount("mean"),
        quantiles={a: np.moveaxis(q, 1, 0) for a, q in by_amount("quantiles").items()},
        chance={
            event: np.array([each.chance[event] for each in scored]) for event in scored[0].chance
        },
        stood_in=tuple(each.stood_in for each in scored),
    )
