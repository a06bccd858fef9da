"""Does the diagnosis find what is in a record, and only that?"""

from pathlib import Path

import numpy as np
import pytest
from statsmodels.datasets import nile

from model.evidence.diagnosis import diagnose
from model.record.record import Record, read_record
from model.say.diagnosis import diagnosis_in_words, ranges_short_in_words
from model.water_year import parse_month

LEES_FERRY = Path(__file__).parents[1] / "reference" / "lees_ferry" / "lees_ferry_monthly.csv"


def record_of(totals, first="1871-07"):
    """Make a record of equal months from yearly totals."""
    months = np.repeat(np.asarray(totals, dtype=float) / 12.0, 12)
    return Record("made.csv", "0" * 64, parse_month(first), months, {}, {}, {})


@pytest.fixture(scope="module")
def nile_found():
    """The Nile's annual flow, 1871-1970."""
    return diagnose(record_of(nile.load_pandas().data["volume"].to_numpy()))


def test_diagnose_when_nile_then_the_shift_of_1898_explains_its_persistence(nile_found):
    """N7, N7c: Cobb 1978 (Biometrika 65) published the year; means recomputed here."""
    shift = nile_found.shift
    assert shift.shift.years_before == 28
    assert shift.after == "June 1899"
    assert shift.shift.mean_before == pytest.approx(1097.75, abs=1e-6)
    assert shift.shift.mean_after == pytest.approx(849.972222, abs=1e-6)
    assert shift.shift.lag_1_without == pytest.approx(0.1598562, abs=1e-6)
    assert shift.explains_persistence
    assert shift.chance < 0.01


def test_diagnose_when_nile_then_measures_as_published(nile_found):
    """N2, N4, B12: lag-1, Hurst's K, and block lengths (`arch` 8.0.0 agrees)."""
    assert nile_found.lag_1 == pytest.approx(0.4984082, abs=1e-6)
    assert nile_found.hurst_k == pytest.approx(0.8665629, abs=1e-6)
    assert nile_found.block_years.stationary == pytest.approx(12.333494, abs=1e-5)
    assert nile_found.block_years.circular == pytest.approx(14.118327, abs=1e-5)


def test_diagnose_when_a_shift_explains_it_then_states_are_no_more_than_that(nile_found):
    """Two states fit the Nile, but they may be that one shift: look there first."""
    assert nile_found.states.refused is None
    assert nile_found.no_states == "explained_by_shift"
    words = diagnosis_in_words(nile_found)
    assert "June 1899 explains the likeness" in words
    assert "may be no more than that shift" in words


def test_diagnose_when_nile_then_the_usual_flow_is_where_it_last_wandered_to(nile_found):
    """N9: the level foretold for 1971 is near 798 (Durbin and Koopman's model), the mean 919."""
    assert nile_found.drift.next_level == pytest.approx(798.4, abs=1.0)
    assert "it is about 798 ML a year now, against 919" in diagnosis_in_words(nile_found)


def test_diagnose_when_nile_then_its_dry_runs_counted_by_hand(nile_found):
    """Runs below the median of 893.5, counted year by year; chances by the chain fitted to them."""
    totals = nile.load_pandas().data["volume"].to_numpy()
    lengths, run = [], 0
    for dry in [*(totals < 893.5), False]:
        lengths, run = (lengths, run + 1) if dry else ([*lengths, run] if run else lengths, 0)
    found = nile_found.dry_runs
    assert found.longest == max(lengths)
    assert found.mean == pytest.approx(np.mean(lengths))
    assert found.chance > found.chance_without_memory + 0.2
    words = diagnosis_in_words(nile_found)
    assert f"came up to {max(lengths)} in a row" in words
    assert "only 61 to 66 in 100" in words  # K is 0.87


def test_diagnose_when_years_are_independent_then_no_states():
    """A record without memory: nothing is found."""
    found = diagnose(record_of(np.random.default_rng(8).lognormal(4.0, 0.5, 110)))
    assert not found.years_resemble
    assert found.shift.chance > 0.05
    assert found.states.refused is not None
    assert found.no_states == "not_supported"
    assert abs(found.dry_runs.chance - found.dry_runs.chance_without_memory) < 0.2
    assert ranges_short_in_words(found) == []
    assert "No dry and wet states" in diagnosis_in_words(found)


def test_diagnose_when_states_last_for_years_then_two_states():
    """Many changes between two levels: states, with their chain."""
    rng = np.random.default_rng(4)
    wet, levels = True, []
    for _ in range(120):
        wet = wet if rng.random() < 0.85 else not wet
        levels.append(5.0 if wet else 3.5)
    found = diagnose(record_of(np.exp(rng.normal(levels, 0.35))))
    assert found.no_states is None
    assert "only 83 to 88 in 100" in " ".join(ranges_short_in_words(found))
    truth = np.array(levels) < 4.0
    assert abs(found.states.dry_years - truth.sum()) <= 10
    assert found.states.chain.stay_dry == pytest.approx(0.85, abs=0.12)
    assert "supports a dry and a wet state" in diagnosis_in_words(found)


def test_diagnose_when_all_years_are_alike_then_no_states_and_no_fault():
    """A record without spread can be looked at too."""
    found = diagnose(record_of(np.full(40, 120.0)))
    assert found.states is None
    assert found.dry_runs is None
    assert found.no_states == "fit_led_nowhere"


def test_shift_chance_when_years_are_independent_then_below_five_percent_as_often():
    """The shuffling test is right in size: 100 records without order, within four errors of 5 %."""
    from model.evidence.diagnosis import _most_explained

    rng = np.random.default_rng(1)
    records = rng.normal(0.0, 1.0, (100, 60))
    low = 0
    for series in records:
        shuffled = rng.permuted(np.tile(series, (200, 1)), axis=1)
        as_large = np.count_nonzero(_most_explained(shuffled) >= _most_explained(series[None])[0])
        low += (1 + as_large) / 201 <= 0.05
    assert abs(low / 100 - 0.05) <= 4 * np.sqrt(0.05 * 0.95 / 100)


def test_diagnose_when_lees_ferry_then_its_published_statistics():
    """Lag-1 0.42 and K 0.73 of July-June totals, as the record's own description gives them."""
    found = diagnose(read_record(LEES_FERRY))
    assert found.years == 114
    assert found.lag_1 == pytest.approx(0.42, abs=0.005)
    assert found.hurst_k == pytest.approx(0.73, abs=0.005)
    assert found.years_resemble
