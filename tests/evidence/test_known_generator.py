"""Does a generator that is known come out calibrated, and is one that is too sure caught?

Records are made from a stated chain: dry and wet years follow each other with known chances, and a
year's inflow is one of five known amounts of its state, each as likely. The known generator draws
from that very chain and those amounts, from the state of the last year: its odds are right. The
over-sure one knows the chain but takes the middle amount of the state for granted.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from model.evidence.calibration import coverage, in_band, uniformity
from model.evidence.hindcast import hindcast
from model.evidence.overlap import effective_cases, hit_correlations, pit_correlations
from model.outlook.chances import wilson_interval
from model.plan.text import read_plan
from model.record.record import read_record
from model.sequences.slices import Method
from model.water_year import MONTHS_IN_YEAR, parse_month

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"
STAYS_DRY, STAYS_WET = 0.7, 0.6
AMOUNTS = np.array([[0.05, 0.15, 0.3, 0.45, 0.6], [0.8, 1.1, 1.5, 2.0, 2.8]])
"""Factors on the mean inflow of each calendar month, of dry and of wet years."""

RECORDS, YEARS, DRAWS = 5, 130, 200


def chain(rng, count, years, dry):
    """Draw states, (run, year): 0 dry, 1 wet, from the state of the year before."""
    wet = np.empty((count, years), dtype=int)
    state = np.where(dry, 0, 1) * np.ones(count, dtype=int)
    for year in range(years):
        stays = np.where(state == 0, STAYS_DRY, STAYS_WET)
        state = np.where(rng.random(count) < stays, state, 1 - state)
        wet[:, year] = state
    return wet


def made_record(seed, plan):
    """Make a record: each amount once, then the chain; years begin in the opening month."""
    rng = np.random.default_rng(seed)
    observed = read_record(CONTRACT / "record.csv")
    by_month = np.array([observed.inflow_ml[k::12].mean() for k in range(MONTHS_IN_YEAR)])
    states = chain(rng, 1, YEARS - AMOUNTS.size, dry=False)[0]
    factors = np.concatenate([AMOUNTS.ravel(), AMOUNTS[states, rng.integers(0, 5, states.size)]])
    opening_k = (parse_month(plan.opening.month) - observed.first_month) % MONTHS_IN_YEAR
    months = np.arange(YEARS * MONTHS_IN_YEAR) + opening_k
    inflow_ml = by_month[months % MONTHS_IN_YEAR] * np.repeat(factors, MONTHS_IN_YEAR)
    return replace(
        observed,
        first_month=observed.first_month + opening_k,
        inflow_ml=inflow_ml,
        columns={},
        indices={},
    ), by_month.sum()


@dataclass(frozen=True)
class Known(Method):
    """The chain that made the record; over-sure: with the middle amount of each state alone."""

    yearly_ml: float
    over_sure: bool = False

    def draw(self, slices, seasons, count, *, rng):
        """Draw slice numbers, (sequence, season), each any slice of the year's amount."""
        factors = slices.totals_ml / self.yearly_ml
        kinds = np.argmin(np.abs(factors[:, None] - AMOUNTS.ravel()), axis=1)
        states = chain(rng, count, seasons, dry=kinds[-1] < 5)
        amounts = rng.integers(0, 5, states.shape)
        if self.over_sure:
            amounts[:] = 2
        wanted = 5 * states + amounts
        slice_of = np.array([np.flatnonzero(kinds == kind)[0] for kind in range(10)])
        return slice_of[wanted]

    def settings(self):
        """Give a name."""
        return {"method": "known"}


@pytest.fixture(scope="module")
def trials():
    """Hindcasts of both generators, one a record."""
    plan = read_plan(CONTRACT / "plan.toml")
    found = []
    for seed in range(RECORDS):
        record, yearly_ml = made_record(seed, plan)
        known, over_sure = Known(yearly_ml), Known(yearly_ml, over_sure=True)
        of_record = hindcast(
            plan.with_drawing(seed=seed),
            record,
            choosers={
                "known": lambda *_, method=known: method,
                "over_sure": lambda *_, method=over_sure: method,
            },
            draws_each=DRAWS,
        )
        found.append(of_record)
    return found


@pytest.fixture(scope="module")
def pits(trials):
    """PIT values of both generators over all records, each (amount, case, season)."""
    found = {"known": [], "over_sure": []}
    for of_record in trials:
        for cases in of_record.methods:
            places = np.stack([cases.pit["announced"], cases.pit["storage"]])
            found[cases.method].append(places[:, np.isfinite(places[0]).all(axis=1)])
    return {name: np.concatenate(places, axis=1) for name, places in found.items()}


def said_and_came(trials, method, season):
    """Chances said that nothing more comes, and whether it did, over all records, each (case,)."""
    said, came = [], []
    for of_record in trials:
        over = of_record.came(season)
        cases = next(each for each in of_record.methods if each.method == method)
        said.append(cases.chance["none"][over, season])
        came.append(of_record.happened["none"][over, season])
    return np.concatenate(said), np.concatenate(came)


@pytest.mark.parametrize("season", [0, 1, 2])
@pytest.mark.parametrize("amount", [0, 1])
def test_known_generator_when_hindcast_then_bands_hold_and_pit_is_uniform(pits, amount, season):
    """Right odds: each band within four standard errors of its level, and what came is even."""
    values = pits["known"][amount, :, season]
    for level in (0.5, 0.8, 0.9):
        worth = effective_cases(values.size, hit_correlations(season + 1, level))
        held = np.mean(in_band(values, level))
        assert abs(held - level) <= 4 * np.sqrt(level * (1 - level) / worth)
    worth = effective_cases(values.size, pit_correlations(season + 1))
    assert uniformity(values, worth).p_value > 0.001


@pytest.mark.parametrize("season", [0, 1, 2])
@pytest.mark.parametrize("amount", [0, 1])
def test_over_sure_generator_when_hindcast_then_caught(pits, amount, season):
    """The twin: odds that leave out how much years of a state differ fail, record by record."""
    values = pits["over_sure"][amount, :, season]
    worth = effective_cases(values.size, pit_correlations(season + 1))
    assert uniformity(values, worth).p_value < 0.001
    band = coverage(in_band(values, 0.8), 0.8, season + 1)
    assert not band.as_promised
    assert band.share < band.accepted_low


@pytest.mark.parametrize("season", [0, 1, 2])
def test_known_generator_when_hindcast_then_nothing_comes_as_often_as_said(trials, season):
    """Right chances: those of high and of low chance alike within four standard errors."""
    said, came = said_and_came(trials, "known", season)
    worth = effective_cases(said.size, pit_correlations(season + 1)) / said.size
    error = np.sqrt((said * (1.0 - said)).sum() / worth)
    assert abs(came.sum() - said.sum()) <= 4.0 * error
    assert error < 0.3 * came.sum()  # so that a chance said half as often as it comes would show


@pytest.mark.parametrize("season", [0, 1, 2])
def test_over_sure_generator_when_hindcast_then_nothing_comes_where_it_was_ruled_out(
    trials, season
):
    """The twin: where it said less than 10 times in 100, nothing came more often than that."""
    said, came = said_and_came(trials, "over_sure", season)
    ruled_out = said < 0.1
    worth = effective_cases(came.size, pit_correlations(season + 1)) / came.size
    counted = int(worth * ruled_out.sum())
    low, _ = wilson_interval(counted * came[ruled_out].mean(), counted)
    assert low > 2.0 * said[ruled_out].mean()
