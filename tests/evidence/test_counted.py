"""Counts of years against the chances said: by hand, on right chances, and on wrong ones."""

import numpy as np
import pytest

from model.evidence.counted import counted
from model.evidence.overlap import effective_cases, pit_correlations
from model.evidence.reliability import ReliabilityBin


def _bin(cases: int, said: float, share: float) -> ReliabilityBin:
    return ReliabilityBin(0.0, 1.0, cases, said, share, 0.0, 1.0)


def test_counted_when_two_bins_then_expected_and_range_are_the_binomials() -> None:
    """By hand: 50 x 0.1 + 40 x 0.5 = 25; variance 50 x 0.09 + 40 x 0.25 = 14.5."""
    found = counted([_bin(50, 0.1, 0.2), _bin(40, 0.5, 0.5)], 1)
    assert found.happened == 30
    assert found.cases == 90
    assert found.expected == pytest.approx(25.0)
    assert found.high - found.expected == pytest.approx(1.959964 * 14.5**0.5, rel=1e-6)
    assert not found.said_too_low
    assert not found.said_too_high


def test_counted_when_windows_overlap_then_the_range_is_wider_by_the_cases_worth() -> None:
    """Three seasons ahead: fewer independent cases, a wider range by the root of their share."""
    one, three = (counted([_bin(90, 0.3, 0.3)], seasons) for seasons in (1, 3))
    widening = (90 / effective_cases(90, pit_correlations(3))) ** 0.5
    assert (three.high - 27.0) / (one.high - 27.0) == pytest.approx(widening)


def test_counted_when_there_is_no_case_then_nothing_is_said() -> None:
    """An empty table expects nothing and accuses nobody."""
    found = counted([ReliabilityBin(0.0, 0.2, 0, np.nan, np.nan, np.nan, np.nan)], 2)
    assert (found.happened, found.cases, found.expected) == (0, 0, 0.0)
    assert not found.said_too_low
    assert not found.said_too_high


@pytest.mark.parametrize(("truth", "blamed"), [(1.0, 0.05), (1.6, 0.9), (0.4, 0.9)])
def test_counted_when_chances_are_right_then_blamed_in_1_of_20_and_wrong_ones_are_caught(
    truth: float, blamed: float
) -> None:
    """A thousand records of 300 years: right chances, then chances far too low and too high."""
    rng = np.random.default_rng(7)
    said = np.repeat([0.1, 0.3, 0.5], 100)
    accused = 0
    for _ in range(1_000):
        came = rng.random(said.size) < truth * said
        table = [
            _bin(100, chance, float(came[said == chance].mean())) for chance in (0.1, 0.3, 0.5)
        ]
        found = counted(table, 1)
        accused += found.said_too_low or found.said_too_high
    share = accused / 1_000
    assert share == pytest.approx(blamed, abs=0.025) if truth == 1.0 else share > blamed
