"""What would the odds have been, every year since the first thirty, and what then came?

Each year the hindcast stands at the opening month, knows only the record before it, and finds the
dam and the account where the replay of the observed years has them (`walk`). Each method draws
its sequences from that record, the valley is run through all of them, and the odds of two amounts
in each season ahead are held against what the replay then gave: the water announced to date, and
the dam, both at the season's end.

What they are compared with is the long-run record: the replayed amounts of all other water years,
whatever the dam held (climatology). A drying factor is left off, and so is what the plan states
of today: a hindcast tries the method, not the wish.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from model.errors import Fault, InputError
from model.evidence.calibration import pit
from model.evidence.choosers import Chooser, choosers_of
from model.evidence.long_run import events, long_run_chance, long_run_crps, more_announced
from model.evidence.scores import fair_crps
from model.evidence.walk import Stand, Walk, repeated, walk
from model.plan.plan import Plan
from model.record.record import FloatArray, Record
from model.sequences.draw import Calendar, slices_of
from model.sequences.slices import IntArray, Method, rows_of
from model.streams import Stream, generator
from model.valley.run import run
from model.valley.state import forcing_of

DRAWS_EACH: Final = 500
"""Sequences a year and method: their own error of a chance is then at most 0.02."""

FEWEST_DRAWS: Final = 50
"""Below this a band of 90 % rests on two sequences at each end."""

AMOUNTS: Final = ("announced", "storage")
"""Water announced to date (ML per share) and the dam (ML), both at the season's end."""

DRIEST_FRAC: Final = 0.1
"""The driest tenth of years: those in which least was announced."""

QUANTILES: Final = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)

Progress = Callable[[int, int], None]
"""Called with the years done and the years in all; what it raises ends the hindcast."""


@dataclass(frozen=True, slots=True)
class Look:
    """What one method's sequences gave, looking ahead from one year, each (season, member)."""

    announced: FloatArray  # ML per share to date at the season's end
    storage: FloatArray  # ML at the season's end
    more: FloatArray  # ML per share announced in the season's months in the run
    stood_in: str  # why another method stood in; empty where none did


@dataclass(frozen=True, slots=True)
class Cases:
    """One method's odds, each (year, season), against what came; not a number where nothing has."""

    method: str
    crps: Mapping[str, FloatArray]  # by amount, fair form
    pit: Mapping[str, FloatArray]  # by amount, drawn among ties
    mean: Mapping[str, FloatArray]  # by amount
    quantiles: Mapping[str, FloatArray]  # by amount, (quantile, year, season)
    chance: Mapping[str, FloatArray]  # by event
    stood_in: tuple[str, ...]  # (year,)


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

    def came(self, season: int) -> IntArray:
        """Give the numbers of the years of which a season (from 0) is over."""
        return np.flatnonzero(np.isfinite(self.observed["announced"][:, season]))


def hindcast(
    plan: Plan,
    record: Record,
    *,
    choosers: Mapping[str, Chooser] | None = None,
    draws_each: int = DRAWS_EACH,
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
    progress
        Is told how far it is, year by year; what it raises ends the hindcast.

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
    looks: dict[str, list[Look]] = {method: [] for method in choosers}
    for year, stand in enumerate(walked.stands):
        for method, look in _looks(plan, stand, year, choosers, draws_each).items():
            looks[method].append(look)
        if progress is not None:
            progress(year + 1, len(walked.stands))
    low = float(np.quantile(walked.every_announced_ml_per_share, DRIEST_FRAC))
    observed = {"announced": walked.announced_ml_per_share, "storage": walked.storage_ml}
    every = {"announced": walked.every_announced_ml_per_share, "storage": walked.every_storage_ml}
    came = np.isfinite(walked.announced_ml_per_share)
    happened = events(walked.announced_ml_per_share, more_announced(walked), low)
    return Hindcast(
        plan=plan,
        record=record,
        walk=walked,
        observed=observed,
        happened={name: np.where(came, each, np.nan) for name, each in happened.items()},
        long_run_crps={name: long_run_crps(walked, every[name], observed[name]) for name in every},
        long_run_chance=long_run_chance(walked, low),
        low_ml_per_share=low,
        methods=tuple(
            _cases(method, looks[method], observed, low, drawing.seed) for method in choosers
        ),
        draws_each=draws_each,
    )


def _looks(
    plan: Plan, stand: Stand, year: int, choosers: Mapping[str, Chooser], draws_each: int
) -> dict[str, Look]:
    """Look ahead from one year with each method; the valley is run through all of them at once."""
    calendar = Calendar(stand.month, plan.sequences.seasons)
    slices = slices_of(stand.known, calendar)
    rows, stood_in = [], []
    for number, choose in enumerate(choosers.values()):
        method = choose(slices, stand.known, calendar)
        rng = generator(plan.sequences.seed, Stream.HINDCAST, year, number)
        drawn = method.draw(slices, calendar.seasons, draws_each, rng=rng)
        rows.append(rows_of(slices, drawn, calendar.months))
        stood_in.append(_why_another(method))
    announced, storage = _play(plan, stand, calendar, np.concatenate(rows))
    more = announced.copy()
    more[0] -= stand.state.water_to_date_ml_per_share
    ends = np.cumsum([each.shape[0] for each in rows]).tolist()
    own = [slice(first, last) for first, last in pairwise([0, *ends])]
    return {
        name: Look(announced[:, of], storage[:, of], more[:, of], why)
        for name, of, why in zip(choosers, own, stood_in, strict=True)
    }


def _why_another(method: Method) -> str:
    """Say why another method stands in for the one asked for."""
    return str(method.settings().get("because", ""))


def _play(
    plan: Plan, stand: Stand, calendar: Calendar, rows: IntArray
) -> tuple[FloatArray, FloatArray]:
    """Run the valley from a stand; give announced to date and the dam at each season's end."""
    forcing = forcing_of(rows, stand.known, plan.valley)
    months = run(repeated(stand.state, rows.shape[0]), forcing, stand.rules, calendar.opening_month)
    ends_t = {calendar.last_t(season) for season in range(calendar.seasons)}
    ends = [month.end for t, month in enumerate(months) if t in ends_t]
    return (
        np.stack([end.water_to_date_ml_per_share for end in ends]),
        np.stack([end.storage_ml for end in ends]),
    )


def _cases(
    method: str,
    looks: Sequence[Look],
    observed: Mapping[str, FloatArray],
    low_ml_per_share: float,
    seed: int,
) -> Cases:
    """Hold one method's looks against what came."""
    members = {amount: [getattr(look, amount) for look in looks] for amount in AMOUNTS}
    said = [events(look.announced, look.more, low_ml_per_share) for look in looks]
    return Cases(
        method=method,
        crps={a: np.stack(list(map(fair_crps, members[a], observed[a]))) for a in AMOUNTS},
        pit={a: _pit(members[a], observed[a], seed, at) for at, a in enumerate(AMOUNTS)},
        mean={a: np.stack([m.mean(axis=1) for m in members[a]]) for a in AMOUNTS},
        quantiles={
            a: np.stack([np.quantile(m, QUANTILES, axis=1) for m in members[a]], axis=1)
            for a in AMOUNTS
        },
        chance={event: np.stack([each[event].mean(axis=1) for each in said]) for event in said[0]},
        stood_in=tuple(look.stood_in for look in looks),
    )


def _pit(members: Sequence[FloatArray], observed: FloatArray, seed: int, amount: int) -> FloatArray:
    """(year, season) the place of what came among the members, the same draw for every method."""
    uniforms = generator(seed, Stream.HINDCAST, amount).random(observed.shape)
    places = np.stack(list(map(pit, members, observed, uniforms)))
    return np.where(np.isfinite(observed), places, np.nan)
