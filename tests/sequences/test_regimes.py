"""Does the switching fit give the published values, and does the chain draw what it says?"""

from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import approx_fprime
from statsmodels.datasets import nile
from statsmodels.tsa.regime_switching.markov_autoregression import MarkovAutoregression
from statsmodels.tsa.regime_switching.markov_regression import MarkovRegression

from model.plan.plan import Drawing
from model.record.record import Record
from model.sequences import two_states
from model.sequences.draw import calendar_of, method_of, slices_of
from model.sequences.regimes import Regimes, log_totals, why_not
from model.sequences.slices import Slices
from model.sequences.switching import Switching, climb, fit_switching
from model.sequences.two_states import free_of
from model.water_year import MONTHS_IN_YEAR, parse_month
from tests.textbook_dam import PLACES, play, record_of_years, rows_of_years

REFERENCE = Path(__file__).parents[1] / "reference" / "switching"
NILE = nile.load_pandas().data["volume"].to_numpy()


def reference(name):
    """Read a series with a published fit."""
    return np.loadtxt(REFERENCE / name, skiprows=1)


@pytest.fixture(scope="module")
def nile_fit():
    """Two states of the Nile's annual flow."""
    return fit_switching(NILE, rng=np.random.default_rng(1))


def test_fit_when_nile_then_means_spread_and_likelihood_of_the_best_optimum(nile_fit):
    """N10: statsmodels 0.15.0, its own numbers; 150 random restarts reach the same optimum."""
    assert nile_fit.low_mean == pytest.approx(850.6, abs=0.05)
    assert nile_fit.high_mean == pytest.approx(1097.304, abs=0.05)
    assert nile_fit.sigma == pytest.approx(126.953, abs=0.05)
    assert nile_fit.log_likelihood == pytest.approx(-631.79256, abs=1e-3)


def test_fit_when_another_seed_then_the_same_optimum(nile_fit):
    """Many restarts: the answer does not hang on where they begin."""
    again = fit_switching(NILE, rng=np.random.default_rng(99), tried=20, climbed=3)
    assert again.log_likelihood == pytest.approx(nile_fit.log_likelihood, abs=1e-3)
    assert again.low_mean < again.high_mean


def test_fit_when_federal_funds_rate_then_published_values():
    """R3: TestFedFundsConst of statsmodels 0.15.0, from the Stata 14 manual, mswitch."""
    fit = fit_switching(reference("federal_funds_rate.csv"), rng=np.random.default_rng(1))
    found = (fit.stays_low, 1.0 - fit.stays_high, fit.low_mean, fit.high_mean, fit.sigma**2)
    published = (0.9820939, 0.0503587, 3.70877, 9.556793, 4.441817)
    np.testing.assert_allclose(found, published, atol=0.002)
    assert fit.log_likelihood == pytest.approx(-508.63592, abs=0.002)


def test_climb_when_hamilton_gnp_then_published_values_and_durations():
    """R1, R1b: TestHamiltonAR4 of statsmodels 0.15.0; original Hamilton 1989 (Econometrica 57)."""
    model = MarkovAutoregression(
        reference("gnp_growth.csv"), k_regimes=2, order=4, switching_ar=False
    )
    rng = np.random.default_rng(2)
    starts = [
        np.array([rng.uniform(0.5, 0.95), rng.uniform(0.05, 0.5), *np.sort(rng.normal(0.5, 1.0, 2)),
                  rng.uniform(0.3, 1.0), *rng.uniform(-0.2, 0.2, 4)])
        for _ in range(20)
    ]  # fmt: skip
    free = [model.untransform_params(start) for start in starts]

    def likelihood(parameters):
        return (
            float(model.loglike(parameters, transformed=False)),
            np.asarray(model.score(parameters, transformed=False)),
        )

    found = model.transform_params(climb(likelihood, free, climbed=4))
    published = (
        0.754673, 0.095915, -0.358811, 1.163516, 0.591368, 0.013486, -0.057521, -0.246983,
        -0.212923,
    )  # fmt: skip
    np.testing.assert_allclose(found, published, atol=0.002)
    assert float(model.loglike(found)) == pytest.approx(-181.26339, abs=1e-4)
    assert 1.0 / (1.0 - found[0]) == pytest.approx(4.0762, abs=0.005)
    assert 1.0 / found[1] == pytest.approx(10.4259, abs=0.005)


def test_likelihood_when_two_states_then_statsmodels_and_its_slopes():
    """The same sum over the states as statsmodels' filter; gradient by small steps."""
    model = MarkovRegression((NILE - NILE.mean()) / NILE.std(), k_regimes=2, trend="c")
    values = model.endog.tolist()
    for stays_low, stays_high, low, high, sigma in (
        (0.8, 0.6, -0.7, 0.5, 0.8), (0.97, 0.9, -0.4, 1.2, 0.7), (0.3, 0.2, 0.0, 0.1, 1.0),
    ):  # fmt: skip
        free = free_of(stays_low, stays_high, (low, high), sigma)
        height, slope = two_states.likelihood(values, free)
        bounded = np.array([stays_low, 1.0 - stays_high, low, high, sigma**2])
        assert height == pytest.approx(float(model.loglike(bounded)), rel=1e-12)
        by_steps = approx_fprime(free, lambda at: two_states.likelihood(values, at)[0], 1e-6)
        assert slope == pytest.approx(by_steps, abs=1e-3)


def test_climb_when_the_way_leads_down_then_it_ends_where_it_began():
    """No climb ends below its start, whatever its gradient says."""

    def misled(at):
        return -float(at @ at), at + 1.0  # the gradient points away from the top

    start = np.array([0.1, -0.2])
    found = climb(misled, [start], climbed=1)
    assert misled(found)[0] >= misled(start)[0]
    values = ((NILE - NILE.mean()) / NILE.std()).tolist()
    rng = np.random.default_rng(3)
    for _ in range(10):
        begun = free_of(*rng.uniform(0.5, 0.98, 2), np.sort(rng.normal(size=2)), 0.8)
        ended = climb(lambda at: two_states.likelihood(values, at), [begun], climbed=1)
        assert two_states.likelihood(values, ended)[0] >= two_states.likelihood(values, begun)[0]


def test_why_not_when_nile_then_two_states_are_supported(nile_fit):
    """The fall of 1898 is far more than one state explains."""
    assert why_not(nile_fit) is None
    assert nile_fit.bic[1] < nile_fit.bic[0]


def test_why_not_when_years_are_independent_then_refused_with_the_reason():
    """A normal series without memory has one state."""
    values = np.random.default_rng(5).normal(10.0, 1.0, 100)
    reason = why_not(fit_switching(values, rng=np.random.default_rng(1)))
    assert reason is not None
    assert reason.found == "one_state_as_well"
    assert reason.figures["bic_two"] >= reason.figures["bic_one"]


def test_why_not_when_one_odd_year_then_it_is_no_state():
    """A single dry year far from the rest is not a dry state."""
    values = np.random.default_rng(5).normal(10.0, 0.1, 60)
    values[30] = -5.0
    reason = why_not(fit_switching(values, rng=np.random.default_rng(1)))
    assert reason is not None
    assert reason.found == "state_too_rare"
    assert reason.figures["fewest_years"] < 2.0


def test_log_totals_when_a_year_has_no_flow_then_half_the_least():
    """The stated rule for zeros."""
    np.testing.assert_allclose(np.exp(log_totals(np.array([0.0, 8.0, 20.0]))), [4.0, 8.0, 20.0])


WET_AND_DRY_ML = np.array([0.0, 1.0, 2.0, 4.0])
"""M11: dry seasons bring 0 or 1, wet ones 2 or 4, each with chance one half."""

M11 = (0.0, 0.3675, 0.406, 0.51625)


def _short_chances(regimes, count, seed, place="essential"):
    """Run the valley as the textbook dam of M11: chance of short in each season, and of any."""
    slices = Slices(MONTHS_IN_YEAR * np.arange(4), WET_AND_DRY_ML)
    drawn = regimes.draw(slices, 3, count, rng=np.random.default_rng(seed))
    record = record_of_years(WET_AND_DRY_ML)
    released = play(
        PLACES[place](5.0, 2.0), record, rows_of_years(drawn), storage_ml=2.0
    ).released_ml
    short = released < 2.0 - 1e-9
    return np.array([*short.mean(axis=0), short.any(axis=1).mean()])


def _chain(stays_dry=0.7, stays_wet=0.6, opening=1.0):
    return Regimes(
        stays_dry=stays_dry,
        stays_wet=stays_wet,
        opening_dry_chance=opening,
        first_rows=MONTHS_IN_YEAR * np.arange(4),
        smoothed_dry=np.array([1.0, 1.0, 0.0, 0.0]),
    )


@pytest.mark.parametrize("place", ["essential", "high security", "general security"])
def test_draw_when_wet_and_dry_switch_then_chances_of_short_are_exact(place):
    """M11 through the valley: every start enumerated, derived here; the season before was dry."""
    count = 40_000
    found = _short_chances(_chain(), count, seed=1, place=place)
    band = 4 * np.sqrt(np.array(M11) * (1 - np.array(M11)) / count)
    assert (np.abs(found - M11) <= band).all()


def test_draw_when_the_chain_forgets_then_m11_is_missed():
    """The twin: the same share of dry seasons without persistence falls outside the band."""
    count = 40_000
    found = _short_chances(_chain(4 / 7, 3 / 7, opening=4 / 7), count, seed=1)
    band = 4 * np.sqrt(np.array(M11) * (1 - np.array(M11)) / count)
    assert (np.abs(found - M11) > band).any()


def test_draw_when_slices_belong_to_both_states_then_drawn_by_their_smoothed_chance():
    """In a dry season a slice comes up in proportion to its chance of being dry."""
    smoothed = np.array([0.9, 0.6, 0.3, 0.2])
    regimes = Regimes(1.0, 0.5, 1.0, MONTHS_IN_YEAR * np.arange(4), smoothed)
    count = 40_000
    slices = Slices(MONTHS_IN_YEAR * np.arange(4), WET_AND_DRY_ML)
    drawn = regimes.draw(slices, 2, count, rng=np.random.default_rng(3))[:, 1]
    chances = smoothed / smoothed.sum()
    shares = np.bincount(drawn, minlength=4) / count
    assert (np.abs(shares - chances) <= 4 * np.sqrt(chances * (1 - chances) / count)).all()


def test_draw_when_record_is_resampled_then_slices_keep_their_chances():
    """A slice that is never dry is not drawn in a dry season, wherever it stands."""
    slices = Slices(MONTHS_IN_YEAR * np.arange(4), WET_AND_DRY_ML)
    order = np.array([3, 0, 2, 1, 1])
    regimes = _chain(stays_dry=1.0)
    drawn = regimes.draw(slices.picked(order), 3, 300, rng=np.random.default_rng(1))
    assert set(order[drawn].ravel()) == {0, 1}


def test_draw_when_more_sequences_then_it_begins_with_the_fewer():
    """The first sequences do not depend on how many are drawn."""
    slices = Slices(MONTHS_IN_YEAR * np.arange(4), WET_AND_DRY_ML)
    few = _chain().draw(slices, 3, 10, rng=np.random.default_rng(2))
    many = _chain().draw(slices, 3, 50, rng=np.random.default_rng(2))
    assert (many[:10] == few).all()


def _fit_like(stays_low, stays_high, filtered):
    return Switching(
        0.0, 1.0, 1.0, stays_low, stays_high, 0.0, 0.0, filtered, filtered, np.zeros(5)
    )


def test_opening_when_the_run_opens_years_after_the_record_then_the_chain_goes_on():
    """R5: P(dry in k seasons, dry now) = 0.7, 0.61, 0.583, ...; derived here."""
    slices = Slices(MONTHS_IN_YEAR * np.arange(4), WET_AND_DRY_ML)
    fit = _fit_like(0.7, 0.6, np.array([0.0, 0.0, 0.0, 1.0]))
    chances = [Regimes.of(fit, slices, 48 + 12 * k).opening_dry_chance for k in range(1, 6)]
    np.testing.assert_allclose(chances, [0.7, 0.61, 0.583, 0.5749, 0.57247], atol=1e-9)


def test_opening_when_the_run_opens_inside_the_record_then_only_what_was_known():
    """The filtered chance is that of the last slice that ended before the run."""
    slices = Slices(MONTHS_IN_YEAR * np.arange(4), WET_AND_DRY_ML)
    fit = _fit_like(0.7, 0.6, np.array([0.1, 0.2, 0.3, 0.4]))
    assert Regimes.of(fit, slices, 24).opening_dry_chance == pytest.approx(0.2)
    assert Regimes.of(fit, slices, 35).opening_dry_chance == pytest.approx(0.2)
    assert Regimes.of(fit, slices, 0).opening_dry_chance == pytest.approx(4 / 7)


def _record(inflow_ml):
    return Record("made.csv", "0" * 64, parse_month("1900-07"), inflow_ml, {}, {}, {})


def test_method_when_two_states_are_not_supported_then_blocks_say_so():
    """The fallback is named with its reason in the settings that every output prints."""
    rng = np.random.default_rng(11)
    record = _record(np.repeat(np.exp(rng.normal(3.0, 0.3, 90)), 12))
    drawing = Drawing(method="regimes")
    calendar = calendar_of("1990-07", drawing)
    settings = method_of(drawing, slices_of(record, calendar), record, calendar).settings()
    assert settings["method"] == "blocks"
    assert settings["in_place_of"] == "regimes"
    assert settings["because"] in ("one_state_as_well", "state_too_rare")


def test_method_when_long_dry_runs_then_the_stated_opening_is_used():
    """Going into a dry run: the stated chance stands in for what the record tells."""
    rng = np.random.default_rng(12)
    level = np.repeat([3.0, 1.5, 3.0, 1.5, 3.0, 1.5], 15)
    record = _record(np.repeat(np.exp(rng.normal(level, 0.3)), 12))
    drawing = Drawing(method="regimes", opening_dry_chance=0.25)
    calendar = calendar_of("1990-07", drawing)
    settings = method_of(drawing, slices_of(record, calendar), record, calendar).settings()
    assert settings["method"] == "regimes"
    assert settings["opening_dry_chance"] == 0.25
    assert settings["opening_state"] == "stated"
    free = method_of(Drawing(method="regimes"), slices_of(record, calendar), record, calendar)
    assert free.settings()["opening_dry_chance"] > 0.9


def test_method_when_all_years_are_alike_then_blocks_say_so():
    """Years that differ by rounding alone have no states, and no fault."""
    record = _record(np.full(360, 0.1))
    drawing = Drawing(method="regimes")
    calendar = calendar_of("1930-07", drawing)
    settings = method_of(drawing, slices_of(record, calendar), record, calendar).settings()
    assert settings["because"] == "years_alike"
