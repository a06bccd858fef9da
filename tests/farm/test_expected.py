"""Is a fitted expectation the best line there is, as published and by a reference library?"""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from statsmodels.datasets import engel
from statsmodels.regression.quantile_regression import QuantReg

from model.farm.expected import FEATURES, features
from model.farm.quantile_line import Cases, fit_quantile_line
from model.record.record import FloatArray

ENGEL = {0.25: (95.4835, 0.4741), 0.5: (81.4822, 0.5602), 0.75: (62.3966, 0.6440)}
"""By quantile: intercept and slope of food expenditure on income, 235 Belgian households.

Koenker and Hallock (2001, Journal of Economic Perspectives 15:143) draw these lines; the numbers
are those of the manual of the R package quantreg, from memory.
"""


def quantile_line(cases: Cases, frac: float) -> FloatArray:
    """Fit a line to gathered cases."""
    return fit_quantile_line(cases.known, cases.further, cases.count, frac)


def _straight(x: FloatArray) -> FloatArray:
    """(feature, case) what is known, where only one thing varies."""
    return np.stack([np.ones_like(x), x, *[np.zeros_like(x)] * (FEATURES - 2)])


@pytest.mark.parametrize("frac", ENGEL)
def test_line_when_fitted_to_the_engel_data_then_it_is_the_published_one(frac: float) -> None:
    """Intercept and slope agree with the published ones to the digits that are given."""
    data = engel.load_pandas().data
    cases = Cases.of(_straight(data["income"].to_numpy()), data["foodexp"].to_numpy())
    line = quantile_line(cases, frac)
    assert line[:2] == pytest.approx(ENGEL[frac], abs=5e-4)
    assert line[2:].tolist() == [0.0, 0.0]


@pytest.mark.parametrize("frac", [0.1, 0.25, 0.5])
def test_line_when_cases_come_more_than_once_then_it_is_no_worse_than_the_references(
    frac: float,
) -> None:
    """Its loss is that of the reference library's line, or less by what that one stops short."""
    rng = np.random.default_rng(42)
    chosen = rng.integers(0, 200, size=1_000)
    dam, account = rng.uniform(0.1, 0.9, 200)[chosen], rng.uniform(0.0, 1.2, 200)[chosen]
    known = features(dam, account)
    further = np.maximum(0.0, 1.4 * dam - 0.3 * account + rng.gamma(2.0, 0.2, 200)[chosen] - 0.5)
    cases = Cases.of(known, further)
    assert cases.further.size <= 200
    assert cases.count.sum() == 1_000
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it says that it may stop short of the best line
        reference = QuantReg(further, known.T).fit(q=frac, max_iter=5_000, p_tol=1e-8).params
    ours, theirs = (
        _loss(known, further, line, frac) for line in (quantile_line(cases, frac), reference)
    )
    assert ours <= theirs * (1.0 + 1e-9)
    assert ours == pytest.approx(theirs, rel=1e-6)


def test_line_when_nothing_is_known_to_matter_then_it_is_a_level() -> None:
    """Where all that came is the same, the line is that; else its own quantile."""
    same = Cases.of(_straight(np.arange(5.0)), np.full(5, 0.7))
    assert quantile_line(same, 0.25).tolist() == [0.7, 0.0, 0.0, 0.0]
    apart = Cases.of(_straight(np.full(5, 2.0)), np.arange(5.0))
    assert quantile_line(apart, 0.5) == pytest.approx([2.0, 0.0, 0.0, 0.0], abs=1e-6)


def _loss(known: FloatArray, further: FloatArray, line: FloatArray, frac: float) -> float:
    """Return the loss that a quantile line makes as small as can be."""
    over = further - line @ known
    return float(np.maximum(frac * over, (frac - 1.0) * over).sum())
