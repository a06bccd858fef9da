"""Is the wandering level that of Durbin and Koopman's Nile?"""

import numpy as np
import pytest
from scipy import stats
from statsmodels.datasets import nile
from statsmodels.tsa.statespace.structural import UnobservedComponents

from model.record.drift import drift_at, fit_drift

NILE = nile.load_pandas().data["volume"].to_numpy()
PUBLISHED = (15099.0, 1469.1)
"""Variances of the year itself and of the level: Durbin and Koopman 2012, section 2."""


def test_drift_when_nile_at_published_variances_then_published_likelihood():
    """N8: -632.5377, first value left out; variances Durbin and Koopman 2012, section 2.

    That value takes a variance of a million for a diffuse start, as found here; with nothing known
    of the level at all it is -632.5456 (statsmodels 0.15.0, exact diffuse start, agrees).
    """
    nearly = drift_at(NILE, *PUBLISHED, prior_variance=1e6)
    assert nearly.log_likelihood == pytest.approx(-632.5377, abs=1e-4)
    assert drift_at(NILE, *PUBLISHED).log_likelihood == pytest.approx(-632.5456, abs=1e-4)


def test_fit_when_nile_then_published_variances():
    """N8b: Durbin and Koopman 2012, section 2; the likelihood is flat, 2 % allowed."""
    found = fit_drift(NILE)
    assert found.irregular_variance == pytest.approx(15099.0, abs=302)
    assert found.level_variance == pytest.approx(1469.1, abs=30)
    assert found.log_likelihood >= drift_at(NILE, *PUBLISHED).log_likelihood - 1e-6


def test_drift_when_nile_then_the_level_of_1971_and_the_steady_gain():
    """N9: derived here, closed form = filter; agrees with statsmodels."""
    found = drift_at(NILE, *PUBLISHED)
    assert found.next_level == pytest.approx(798.370293, abs=1e-4)
    assert found.next_level_variance == pytest.approx(5501.25794, abs=1e-4)
    gain = found.next_level_variance / (found.next_level_variance + PUBLISHED[0])
    assert gain == pytest.approx(0.267048, abs=1e-4)


def test_errors_when_nile_then_published_diagnostics():
    """N11: Q(9), normality, skewness, kurtosis, H(33); Durbin and Koopman 2012, chapter 2."""
    errors = drift_at(NILE, *PUBLISHED).errors
    n = errors.size
    deviations = errors - errors.mean()
    squares = deviations @ deviations
    lags = np.array([deviations[k:] @ deviations[:-k] / squares for k in range(1, 10)])
    box_ljung = n * (n + 2) * np.sum(lags**2 / (n - np.arange(1, 10)))
    skew, kurtosis = stats.skew(errors), stats.kurtosis(errors, fisher=False)
    normality = n * (skew**2 / 6 + (kurtosis - 3) ** 2 / 24)
    spread_ratio = np.sum(errors[-33:] ** 2) / np.sum(errors[:33] ** 2)
    found = (box_ljung, normality, skew, kurtosis, spread_ratio)
    np.testing.assert_allclose(found, (8.84, 0.05, -0.03, 3.09, 0.61), atol=0.0101)


def test_drift_when_against_statsmodels_then_level_and_likelihood_agree():
    """Another implementation: `UnobservedComponents`, local level, exact diffuse start."""
    model = UnobservedComponents(NILE, "llevel", use_exact_diffuse=True)
    there = model.filter(PUBLISHED)
    here = drift_at(NILE, *PUBLISHED)
    assert here.next_level == pytest.approx(there.forecast(1)[0])
    np.testing.assert_allclose(
        here.errors, there.standardized_forecasts_error[0, 1:], rtol=1e-6, atol=1e-8
    )


def test_wanders_when_nile_then_yes_and_when_independent_then_no():
    """The twin: years without any drift are not said to drift."""
    assert fit_drift(NILE).wanders
    assert not fit_drift(np.random.default_rng(3).normal(900.0, 150.0, 100)).wanders
