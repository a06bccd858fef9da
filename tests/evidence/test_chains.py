"""Whether dry runs of a two-state chain come as often as the closed forms say.

Sources beside each check; row ids name lines of the project's list of check values. "Derived here"
means worked out for these tests.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.signal import lfilter

from model.evidence.chains import Chain, dry_runs, fitted, independent
from model.record.memory import lag_correlation

CHAIN = Chain(stay_dry=0.7, stay_wet=0.6)


def states(text: str) -> np.ndarray:
    """Read seasons written D and W."""
    return np.array([letter == "D" for letter in text])


def chance_of_path(chain: Chain, path: tuple[bool, ...], first_dry: float) -> float:
    """Multiply the chances along one path of seasons."""
    chance = first_dry if path[0] else 1 - first_dry
    for before, after in itertools.pairwise(path):
        stay = chain.stay_dry if before else chain.stay_wet
        chance *= stay if before == after else 1 - stay
    return chance


def longest(path: tuple[bool, ...]) -> int:
    """Measure the longest dry run of a path."""
    return max((len(list(run)) for dry, run in itertools.groupby(path) if dry), default=0)


def play(chain: Chain, records: int, seasons: int, rng: np.random.Generator) -> np.ndarray:
    """Draw records of seasons from the long run, (record, season)."""
    dry = np.empty((records, seasons), dtype=bool)
    uniforms = rng.random((records, seasons))
    dry[:, 0] = uniforms[:, 0] < chain.dry_share
    for season in range(1, seasons):
        chance = np.where(dry[:, season - 1], chain.stay_dry, 1 - chain.stay_wet)
        dry[:, season] = uniforms[:, season] < chance
    return dry


def test_chain_share_and_spell_are_the_closed_forms() -> None:
    """R4: (1-pww)/(2-pdd-pww), 1/(1-pdd), derived here."""
    got = (CHAIN.dry_share, CHAIN.mean_dry_spell)
    assert got == pytest.approx((4 / 7, 10 / 3), abs=1e-9)


def test_chance_of_twenty_heads_in_a_million_tosses_is_the_published_one() -> None:
    """R7: "around 37.9 %", M. Nelson 2011; six figures derived here."""
    got = independent(0.5).chance_of_dry_run(20, 1_000_000)
    assert got == pytest.approx(0.379254, abs=1e-6)


def test_chance_of_a_run_of_four_heads_in_ten_tosses_is_the_published_count() -> None:
    """R8: 773 of 1,024 have none longer than 3 (Schilling 1990, from memory)."""
    got = 1 - independent(0.5).chance_of_dry_run(4, 10)
    assert got == pytest.approx(773 / 1024, abs=1e-12)


def test_chance_of_a_dry_run_of_independent_years_is_de_moivres() -> None:
    """R9: three dry years running, one year in three dry; de Moivre 1738 as published."""
    chain = independent(1 / 3)
    got = [chain.chance_of_dry_run(3, years) for years in (10, 20, 50, 100)]
    assert got == pytest.approx([0.20256059, 0.39217641, 0.73083591, 0.93075054], abs=1e-8)


def test_chance_of_a_dry_run_of_a_chain_is_the_sum_over_paths() -> None:
    """R10: ten years from the long run, derived here, and all 1,024 paths counted."""
    got = [CHAIN.chance_of_dry_run(k, 10) for k in range(1, 7)]
    expected = [0.99568099, 0.93144678, 0.74939334, 0.52782486, 0.343, 0.211288]
    assert got == pytest.approx(expected, abs=1e-8)
    for first_dry in (0.0, 4 / 7, 1.0):
        by_length = np.zeros(11)
        for path in itertools.product([True, False], repeat=10):
            by_length[longest(path)] += chance_of_path(CHAIN, path, first_dry)
        for k in (1, 3, 10):
            counted = CHAIN.chance_of_dry_run(k, 10, first_dry)
            assert counted == pytest.approx(by_length[k:].sum(), abs=1e-12)


def test_chance_of_a_dry_run_when_dry_years_keep_on_is_larger() -> None:
    """R11: the same share of dry years without memory, five running in thirty; derived here."""
    without = independent(4 / 7).chance_of_dry_run(5, 30)
    assert without == pytest.approx(0.5645882, abs=1e-8)
    assert CHAIN.chance_of_dry_run(5, 30) > without


def test_chance_of_a_dry_run_longer_than_the_years_is_nothing() -> None:
    """Three years hold no run of four."""
    assert CHAIN.chance_of_dry_run(4, 3) == 0.0
    assert CHAIN.chance_of_dry_run(1, 1) == pytest.approx(4 / 7, abs=1e-12)


def test_fitted_chain_is_the_most_likely_one() -> None:
    """R12: counts DD 6, DW 4, WD 3, WW 6, derived here; no other chances are more likely."""
    dry = states("DDDWWDDWWWDDDDWDWWWW")
    got = fitted(dry)
    assert (got.stay_dry, got.stay_wet) == pytest.approx((0.6, 2 / 3), abs=1e-12)
    best = chance_of_path(got, tuple(dry), 1.0)
    for off in (-0.02, 0.02):
        assert chance_of_path(Chain(0.6 + off, 2 / 3), tuple(dry), 1.0) < best
        assert chance_of_path(Chain(0.6, 2 / 3 + off), tuple(dry), 1.0) < best


@pytest.mark.parametrize("text", ["DDDD", "WWWD", "W", "D"])
def test_fitted_when_one_kind_is_never_left_refuses(text: str) -> None:
    """Nothing follows the missing kind, so nothing can be counted."""
    with pytest.raises(ValueError, match="both kinds"):
        fitted(states(text))


@pytest.mark.parametrize("chances", [(1.2, 0.5), (0.5, -0.1), (math.nan, 0.5), (1.0, 1.0)])
def test_chain_of_impossible_chances_is_refused(chances: tuple[float, float]) -> None:
    """Chances lie from 0 to 1, and a chain moves."""
    with pytest.raises(ValueError, match=r"chance|chain"):
        Chain(*chances)


def test_dry_runs_are_those_by_hand() -> None:
    """Runs at both ends count; a record without dry years has none."""
    assert dry_runs(states("DDDWWDDWWWDDDDWDWWWW")).tolist() == [3, 2, 4, 1]
    assert dry_runs(states("WDD")).tolist() == [2]
    assert dry_runs(states("WW")).size == 0


def test_simulated_chain_runs_dry_as_often_as_the_recursion_says() -> None:
    """20,000 records of 30 seasons; the twin without memory falls outside the same band."""
    rng = np.random.default_rng(10)
    expected = CHAIN.chance_of_dry_run(5, 30)
    four_errors = 4 * math.sqrt(expected * (1 - expected) / 20_000)

    def share(chain: Chain) -> float:
        """Count the records with five dry seasons running."""
        windows = np.lib.stride_tricks.sliding_window_view(play(chain, 20_000, 30, rng), 5, axis=1)
        return float(windows.all(axis=2).any(axis=1).mean())

    assert share(CHAIN) == pytest.approx(expected, abs=four_errors)
    assert abs(share(independent(4 / 7)) - expected) > four_errors


def test_fitted_chain_of_a_series_cut_at_its_median_obeys_the_arcsine_law() -> None:
    """R14: Gaussian AR(1) of rho 0.5: 1/2 + asin(rho)/pi, spell 3, memory 1/3 (closed form).

    Cf. Salas and others 2001 (J. Hydrol. Eng. 6:109). The twin of rho 0.45 falls outside.
    """
    rho = 0.5
    shocks = np.random.default_rng(14).standard_normal(1_000_000)
    closed = (0.5 + math.asin(rho) / math.pi, 3.0, 2 / math.pi * math.asin(rho))
    assert closed == pytest.approx((2 / 3, 3.0, 1 / 3), abs=1e-12)
    dry = lfilter([1.0], [1.0, -rho], shocks) < 0.0
    chain = fitted(dry)
    assert chain.stay_dry == pytest.approx(2 / 3, abs=0.003)
    assert dry_runs(dry).mean() == pytest.approx(3.0, abs=0.1)
    assert chain.mean_dry_spell == pytest.approx(dry_runs(dry).mean(), abs=1e-3)
    assert lag_correlation(dry.astype(float)) == pytest.approx(1 / 3, abs=0.005)
    forgetful = fitted(lfilter([1.0], [1.0, -0.45], shocks) < 0.0)
    assert abs(forgetful.stay_dry - 2 / 3) > 0.003
