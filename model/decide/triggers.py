"""What would change the answer: which dam or account, by the next decision, moves the best area?

The strategy is followed to the next decision date; there areas are chosen by hand, and each is
played on from what every sequence brought by then. A threshold of the dam or of the own account
parts the sequences in two, each with the area best for it. It is looked for on the sequences of one
half of the record's first years, and what choosing by it gains over one area for all is judged on
those of the other half. Years are what the record holds, and not sequences: the error of the gain
is taken over first years. A trigger is shown only where the gain exceeds its error and the areas
lie a fifth apart. It is dated no later than the decision that it serves.

Notes
-----
The worst tenth is made additive by its own threshold (Rockafellar and Uryasev 2002): with that of
the best single area held, a gain is at most what the worst tenth gains.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from model.decide.decision import Decision, areas_of, decision_of, finishing, way_of
from model.decide.risk import WORST_FRAC, worst_value
from model.farm.run import run_farm
from model.farm.setting import FarmSetting
from model.farm.standing import standing_aud
from model.farm.state import FarmState, Settings
from model.outlook.chances import wilson_interval
from model.outlook.setting import Progress
from model.plan.farm import Objective
from model.record.memory import TWO_SIDED_95_Z
from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.streams import Stream, generator
from model.water_year import MONTHS_IN_YEAR

SEQUENCES: Final = 2_000
AREAS_TRIED: Final = 9
THRESHOLDS: Final = 19
"""Tried of each: from what is reached 95 times in 100 to what is reached 5 times."""

A_FIFTH: Final = 0.2
"""Of the best single area: a smaller step between the areas is none."""

LEAST_GAIN: Final[dict[Objective, float]] = {
    "mean": 0.0,
    "worst_tenth": 0.0,
    "missed_payment": 0.0005,  # what is said in tenths of 100 is none: a tie decided by the mean
}
"""A smaller gain is none."""

RESAMPLES: Final = 200
"""Of the first years, for the range of a threshold."""

Of = Literal["dam", "account"]


@dataclass(frozen=True, slots=True)
class Trigger:
    """A dam or an account by which the best area is another."""

    of: Of
    month: int  # month number: the decision date
    threshold: float  # ML in the dam, or ML per share in the own account
    low: float  # its own range, 95 %
    high: float
    reached_frac: float  # chance that it is reached by then
    reached_low: float
    reached_high: float
    area_below_ha: float
    area_reached_ha: float
    area_always_ha: float  # the best single one
    gain: float  # AUD, or chance of a missed payment that is spared; on the half not found on
    gain_error: float  # 95 %: half its width, over first years


@dataclass(frozen=True, slots=True)
class Tried:
    """What areas bring on the next decision date."""

    of: Of
    value: FloatArray  # (sequence,) dam or account by then
    first_year: IntArray  # (sequence,) of the record, in their order
    score: FloatArray  # (area, sequence) by the objective, more is better


def triggers(
    setting: FarmSetting, *, strategy: int, progress: Progress | None = None
) -> tuple[Trigger, ...]:
    """Find what would change the answer.

    Parameters
    ----------
    setting
        The farm, as the plan's date has it.
    strategy
        Which of its strategies is followed otherwise.
    progress
        Called with the areas played and all of them.

    Returns
    -------
    tuple
        Those that hold on years they were not found on; often none.

    Examples
    --------
    >>> from model.decide.strategy import strategies_of
    >>> from model.farm.setting import farm_setting_of
    >>> from model.plan.demonstration import demonstration
    >>> plan, record = demonstration()
    >>> plan = plan.with_drawing(count=20, seasons=1)
    >>> setting = farm_setting_of(plan, record, strategies_of(plan))
    >>> isinstance(triggers(setting, strategy=1), tuple)
    True
    """
    decision = decision_of(setting, strategy)
    t = next_decision_t(setting, decision)
    if t is None or decision.most_ha <= 0.0:
        return ()
    areas_ha = areas_of(decision, AREAS_TRIED)
    found = []
    for tried in _tried(setting, decision, strategy, t, areas_ha, progress):
        trigger = trigger_of(tried, areas_ha, setting.valley.calendar.opening_month + t, setting)
        if trigger is not None:
            found.append(trigger)
    return tuple(found)


def next_decision_t(setting: FarmSetting, decision: Decision) -> int | None:
    """Return the month of the run, from 0, of the next decision on the crop; None: there is none.

    Before planting it is the planting; from planting on, the month in which the crop is finished.
    """
    crop = setting.rules.crop
    planted = decision.planting_t is None or decision.planting_t == 0
    t = (crop.finish_k - decision.k) % MONTHS_IN_YEAR if planted else decision.planting_t
    if decision.planting_t is None and decision.k > crop.finish_k:
        return None
    return t or None


def _tried(
    setting: FarmSetting,
    decision: Decision,
    strategy: int,
    t: int,
    areas_ha: Sequence[float],
    progress: Progress | None,
) -> Iterator[Tried]:
    """Play areas from the next decision date on; once by the dam then, once by the account."""
    sequences = setting.valley.first_sequences(SEQUENCES)
    river, rules = setting.river(sequences), setting.rules
    own = setting.settings.one(strategy)
    state = way_of(setting, decision, strategy).opening.of(np.zeros(len(sequences), np.int64))
    missed = np.zeros(len(sequences), dtype=np.bool_)
    for month in run_farm(state, own, river[:t], setting.expectation, rules):
        state, missed = month.end, missed | month.fluxes.cash.missed[0]
    standing, misses = [], []
    for number, area_ha in enumerate(areas_ha, start=1):
        settings, begun = _from_then(own, state, area_ha, setting, river[t].k)
        failed = missed
        for month in run_farm(begun, settings, river[t:], setting.expectation, rules):
            end, failed = month.end, failed | month.fluxes.cash.missed[0]
        standing.append(standing_aud(end, river[-1], rules)[0])
        misses.append(failed)
        if progress is not None:
            progress(number, len(areas_ha))
    score = scores(np.stack(standing), np.stack(misses), setting.farm.objective)
    _, first_year = np.unique(sequences.rows[:, 0], return_inverse=True)
    dam_ml = river[t].storage_frac * setting.valley.rules.capacity_ml
    yield Tried("dam", dam_ml, first_year, score)
    yield Tried("account", state.account_ml_per_share[0], first_year, score)


def _from_then(
    own: Settings, state: FarmState, area_ha: float, setting: FarmSetting, k: int
) -> tuple[Settings, FarmState]:
    """Return the strategy with an area chosen by hand on the decision date."""
    chosen = np.array([[area_ha]])
    if k == setting.rules.crop.planting_k:
        return replace(own, first_area_ha=chosen), state
    return finishing(own, state, chosen, setting.rules)


def scores(standing_aud: FloatArray, missed: FloatArray, objective: Objective) -> FloatArray:
    """Return what each area earns by an objective in each sequence, so that a mean is what counts.

    Parameters
    ----------
    standing_aud, missed
        (area, sequence)
    objective
        The plan's.
    """
    if objective == "missed_payment":
        return -np.asarray(missed, dtype=np.float64) + 1e-12 * standing_aud
    if objective == "mean":
        return standing_aud
    ends = np.array([worst_value(each) for each in standing_aud])
    short = np.maximum(0.0, ends[:, None] - standing_aud).mean(axis=1) / WORST_FRAC
    end = float(ends[int(np.argmax(ends - short))])
    found: FloatArray = end - np.maximum(0.0, end - standing_aud) / WORST_FRAC
    return found


@dataclass(frozen=True, slots=True)
class _Table:
    """What areas earn by first year and by where the value lies, (year, bin, area)."""

    sums: FloatArray
    counts: FloatArray  # (year, bin)

    def of(self, years: IntArray) -> _Table:
        """Return the table of some first years; one may come more than once."""
        return _Table(self.sums[years], self.counts[years])

    def best(self) -> tuple[int, int, int]:
        """Return the threshold that gains most, and the areas below and from it on."""
        total = self.sums.sum(axis=0)
        below = np.cumsum(total, axis=0)[:-1]
        gained = below.max(axis=1) + (total.sum(axis=0) - below).max(axis=1)
        at = int(gained.argmax())
        return at, int(below[at].argmax()), int((total.sum(axis=0) - below[at]).argmax())

    def always(self) -> int:
        """Return the area that is best for all."""
        return int(self.sums.sum(axis=(0, 1)).argmax())


def trigger_of(
    tried: Tried, areas_ha: Sequence[float], month: int, setting: FarmSetting
) -> Trigger | None:
    """Find a threshold on every other first year, and judge it on those between them."""
    edges = np.unique(np.quantile(tried.value, np.linspace(0.05, 0.95, THRESHOLDS)))
    table = table_of(tried, edges)
    years = np.arange(table.counts.shape[0])
    found, judged = table.of(years[::2]), table.of(years[1::2])
    at, below, reached = found.best()
    always = found.always()
    step_ha = abs(areas_ha[reached] - areas_ha[below])
    if step_ha < A_FIFTH * max(areas_ha[always], 1e-9) or step_ha == 0.0:
        return None
    gain, error = gain_of(judged, at, below, reached, always)
    if not gain > max(error, LEAST_GAIN[setting.farm.objective]):
        return None
    rng = generator(setting.valley.plan.sequences.seed, Stream.SCORE_RESAMPLES, int(month))
    half = years[::2]
    again = [edges[table.of(rng.choice(half, half.size)).best()[0]] for _ in range(RESAMPLES)]
    low, high = np.quantile(again, [0.025, 0.975]).tolist()
    hits = float((tried.value >= edges[at]).sum())
    reached_low, reached_high = wilson_interval(hits, tried.value.size)
    return Trigger(
        of=tried.of,
        month=month,
        threshold=float(edges[at]),
        low=min(low, float(edges[at])),
        high=max(high, float(edges[at])),
        reached_frac=hits / tried.value.size,
        reached_low=reached_low,
        reached_high=reached_high,
        area_below_ha=areas_ha[below],
        area_reached_ha=areas_ha[reached],
        area_always_ha=areas_ha[always],
        gain=gain,
        gain_error=error,
    )


def table_of(tried: Tried, edges: FloatArray) -> _Table:
    """Sum scores by first year and bin; a value at an edge lies in the bin from it on."""
    bins = np.searchsorted(edges, tried.value, side="right")
    years, count = int(tried.first_year.max()) + 1, edges.size + 1
    place = tried.first_year * count + bins
    size = years * count
    by_area = [np.bincount(place, each, size).astype(np.float64) for each in tried.score]
    sums = np.stack(by_area, axis=-1)
    counts = np.bincount(place, minlength=size).astype(np.float64)
    return _Table(sums.reshape(years, count, -1), counts.reshape(years, count))


def gain_of(judged: _Table, at: int, below: int, reached: int, always: int) -> tuple[float, float]:
    """Return what a rule gains over one area for all, a sequence, and its 95 % error over years."""
    first = slice(0, at + 1), slice(at + 1, None)
    by_year = judged.sums[:, first[0], below].sum(axis=1)
    by_year = by_year + judged.sums[:, first[1], reached].sum(axis=1)
    by_year = by_year - judged.sums[:, :, always].sum(axis=1)
    counts = judged.counts.sum(axis=1)
    gain = float(by_year.sum() / counts.sum())
    left = by_year - gain * counts  # of a ratio, year by year
    years = counts.size
    if years < 2:
        return gain, math.inf
    spread = math.sqrt(float((left**2).sum()) * years / (years - 1))
    return gain, TWO_SIDED_95_Z * spread / float(counts.sum())
