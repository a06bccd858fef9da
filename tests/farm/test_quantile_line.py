"""Is the line of a stated quantile the best there is?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from model.farm.quantile_line import fit_quantile_line
from model.record.record import FloatArray


def missed(
    line: FloatArray, known: FloatArray, value: FloatArray, count: FloatArray, frac: float
) -> float:
    """Return the sum of misses that the best line makes least."""
    over = value - line @ known
    return float(np.where(over > 0.0, frac * over, (frac - 1.0) * over) @ count)


@given(seed=st.integers(0, 10_000), frac=st.sampled_from([0.05, 0.25, 0.5, 0.9]))
def test_line_when_cases_are_drawn_then_as_good_as_a_general_solver_finds(
    seed: int, frac: float
) -> None:
    """Forty cases, a quarter of them with nothing to come, some more than once."""
    rng = np.random.default_rng(seed)
    known = np.stack([np.ones(40), rng.random(40), 1e4 * rng.random(40)])
    value = np.where(rng.random(40) < 0.25, 0.0, rng.random(40))
    count = rng.integers(1, 4, 40).astype(float)
    line = fit_quantile_line(known, value, count, frac)
    programme = linprog(
        -value,
        A_eq=known,
        b_eq=(1.0 - frac) * (known @ count),
        bounds=[(0.0, times) for times in count.tolist()],
    )
    best = missed(-programme.eqlin.marginals, known, value, count, frac)
    assert missed(line, known, value, count, frac) == pytest.approx(best, rel=1e-7, abs=1e-9)


def test_line_when_only_the_first_feature_varies_not_then_the_sample_quantile() -> None:
    """With nothing known the line is the quantile itself: the 3rd of 4 steps of five numbers."""
    value = np.array([1.0, 5.0, 2.0, 9.0, 4.0])
    line = fit_quantile_line(np.ones((1, 5)), value, np.ones(5), 0.5)
    assert line == pytest.approx([4.0], abs=1e-6)


def test_line_when_a_feature_does_not_vary_or_repeats_another_then_it_counts_nothing() -> None:
    """A dam that never moves tells nothing; the account twice tells it once."""
    account = np.linspace(0.0, 1.0, 20)
    known = np.stack([np.ones(20), np.full(20, 0.3), account, account])
    line = fit_quantile_line(known, 2.0 * account + 1.0, np.ones(20), 0.5)
    assert line == pytest.approx([1.0, 0.0, 2.0, 0.0], abs=1e-6)


def test_line_when_nothing_ever_comes_then_nothing_is_expected() -> None:
    """All values 0: no solver is needed."""
    line = fit_quantile_line(np.ones((2, 6)), np.zeros(6), np.ones(6), 0.9)
    assert line.tolist() == [0.0, 0.0]
