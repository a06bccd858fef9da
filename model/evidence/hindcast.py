"""What would the odds have been, every year since the first thirty, and what then came?

Each year the hindcast stands at the opening month, knows only the record before it, and finds the
dam and the account where the replay of the observed years has them (`walk`). Each method draws its
sequences from that record, the valley is run through all of them, and the odds of two amounts in
each season ahead are held against what the replay then gave: the water announced to date, and the
dam, both at the season's end.

What they are compared with is the long-run record: the replayed amounts of all other water years,
whatever the dam held (climatology). A drying factor is left off, and so is what the plan states of
today: a hindcast tries the method, not the wish.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from model.errors import Fault, InputError
from model.evidence.calibration import TIE, pit
from model.evidence.scores import fair_crps
from model.evidence.walk import Stand, Walk, repeated, walk
from model.plan import Drawing, Plan
from model.record import FloatArray, Record
from model.sequences.draw import Calendar, Fit, method_of, slices_of
from model.sequences.slices import IntArray, Method, Slices, rows_of
from model.sequences.switching import Switching, fit_switching
from model.streams import Stream, generator
from model.valley.run import run
from model.valley.state import forcing_of

METHODS: Final = ("historical", "blocks", "neighbours", "regimes")

DRAWS_EACH: Final = 500
"""Sequences a year and method: their own error of a chance is then at most 0.02."""

FEWEST_DRAWS: Final = 50
"""Below this a band of 90 % rests on two sequences at each end."""

AMOUNTS: Final = ("announced", "storage")
"""Water announced to date (ML per share) and the dam (ML), both at the season's end."""

HALF_ML_PER_SHARE: Final = 0.5

DRIEST_FRAC: Final = 0.1
"""The driest tenth of years: those in which least was announced."""

QUANTILES: Final = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)

FITS_TRIED, FITS_CLIMBED = 20, 1
"""Starts of a switching fit each year, besides the optimum of the year before."""

Progress = Callable[[int, int], None]
"""Called with the years done and the years in all; what it raises ends the hindcast."""

Chooser = Callable[[Slices, Record, Calendar], Method]
"""Chooses a method for the slices of a known record, as a year begins."""


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
    return Hindcast(
        plan=plan,
        record=record,
        walk=walked,
        observed=observed,
        happened={
            name: np.where(np.isfinite(walked.announced_ml_per_share), happened, np.nan)
            for name, happened in events(walked.announced_ml_per_share, _more(walked), low).items()
        },
        long_run_crps={name: _long_run_crps(walked, every[name], observed[name]) for name in every},
        long_run_chance=_long_run_chance(walked, low),
        low_ml_per_share=low,
        methods=tuple(
            _cases(method, looks[method], observed, low, drawing.seed) for method in choosers
        ),
        draws_each=draws_each,
    )


def events(
    announced: FloatArray, more: FloatArray, low_ml_per_share: float
) -> dict[str, FloatArray]:
    """Tell what happened, by event, in the shape of the amounts.

    `none`: nothing more is announced in the season's months; `half`: at least half a megalitre per
    share is announced to date; `low`: no more than in the driest tenth of years.
    """
    return {
        "none": np.asarray(more <= TIE, dtype=np.float64),
        "half": np.asarray(announced >= HALF_ML_PER_SHARE - TIE, dtype=np.float64),
        "low": np.asarray(announced <= low_ml_per_share + TIE, dtype=np.float64),
    }


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


def choosers_of(drawing: Drawing, methods: Sequence[str] = METHODS) -> dict[str, Chooser]:
    """Choose each method anew every year, without what the plan wishes or knows of today."""
    fit: Fit = FitsOverTheYears(drawing.seed)

    def chooser(name: str) -> Chooser:
        trial = _for_trial(drawing, name)
        return lambda slices, known, calendar: method_of(trial, slices, known, calendar, fit=fit)

    return {name: chooser(name) for name in methods}


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
    more[0] -= stand.state.announced_to_date_ml_per_share
    ends = np.cumsum([each.shape[0] for each in rows]).tolist()
    own = [slice(first, last) for first, last in pairwise([0, *ends])]
    return {
        name: Look(announced[:, of], storage[:, of], more[:, of], why)
        for name, of, why in zip(choosers, own, stood_in, strict=True)
    }


def _for_trial(drawing: Drawing, method: str) -> Drawing:
    """Give the settings of one method as a trial uses them."""
    return drawing.model_copy(
        update={
            "method": method,
            "flow_factor": 1.0,
            "flow_elasticity": None,
            "opening_dry_chance": None,
            "last_twelve_months_inflow_ml": None,
        }
    )


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
        np.stack([end.announced_to_date_ml_per_share for end in ends]),
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


def _more(walked: Walk) -> FloatArray:
    """(year, season) what was announced in the season's months from the stand on."""
    more = walked.announced_ml_per_share.copy()
    more[:, 0] -= walked.announced_before_ml_per_share
    return more


def _long_run_crps(walked: Walk, every: FloatArray, observed: FloatArray) -> FloatArray:
    """(year, season) the score of all other water years as a forecast of each."""
    scores = np.empty_like(observed)
    for case in np.ndindex(observed.shape):
        others = every[walked.every_water_year != walked.water_years[case]]
        scores[case] = fair_crps(others[None, :], observed[None, case[0], case[1]])[0]
    return scores


def _long_run_chance(walked: Walk, low_ml_per_share: float) -> dict[str, FloatArray]:
    """(year, season) how often each event came in all other water years."""
    to_date = walked.every_announced_ml_per_share
    every = events(to_date, to_date, low_ml_per_share)
    chances = {name: np.empty(walked.water_years.shape) for name in every}
    for case in np.ndindex(walked.water_years.shape):
        others = walked.every_water_year != walked.water_years[case]
        for name, happened in every.items():
            chances[name][case] = happened[others].mean()
    first = _more(walked)[:, 0]
    came = np.isfinite(first)
    none = (first <= TIE) & came
    chances["none"][:, 0] = (none.sum() - none) / np.maximum(1, came.sum() - came)
    return chances
