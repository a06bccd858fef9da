"""Are full yields and prices drawn as the plan states them?"""

from __future__ import annotations

import numpy as np
import pytest

from model.decide.compare import play_rows
from model.decide.strategy import MIDDLE
from model.farm.state import Settings
from model.farm.yield_and_price import Varying
from model.record.record import FloatArray
from model.sequences.slices import IntArray
from model.sequences.years import DRAWN_ALIKE, KINDS, YearsDrawn
from tests.farm_case import farm_case, rows_of_plan

COUNT = 20_000

PRICES = {"crop": "cotton", "prices_10_50_90_aud_per_unit": [420.0, 550.0, 700.0]}


def starts(count: int = COUNT, seed: int = 3) -> IntArray:
    """Draw three slices for each sequence from a record of a hundred years."""
    return np.random.default_rng(seed).integers(0, 100, (count, 3)) * 12 + 2


def drawn(crops: int = 1) -> YearsDrawn:
    """Draw the years of a hundred years' record."""
    return YearsDrawn.of(crops, 3, 1_200, np.random.default_rng(5))


def met(crop: int = 0, at: int = 1, crops: int = 1) -> FloatArray:
    """Return the even numbers of a slice."""
    years, rows = drawn(crops), starts()
    return years.met(crop, at, rows[:, at], years.kinds(rows))


def test_draws_when_looked_at_together_then_even_and_apart() -> None:
    """Mean 1/2, variance 1/12, yield and price uncorrelated: within four standard errors."""
    found = met()
    assert found.shape == (2, COUNT)
    different = 100 * KINDS  # one draw for a start and kind
    assert np.abs(found.mean(axis=1) - 0.5).max() < 4.0 * np.sqrt(1.0 / 12.0 / different)
    assert found.var(axis=1) == pytest.approx(1.0 / 12.0, rel=0.05)
    assert abs(np.corrcoef(found)[0, 1]) < 4.0 / np.sqrt(different)


def test_draws_when_slices_or_crops_differ_then_nothing_in_common() -> None:
    """A good year does not follow a good year; wheat's price is not cotton's."""
    years, rows = drawn(2), starts()
    kinds = years.kinds(rows)
    one, two = (years.met(0, at, rows[:, at], kinds)[1] for at in (0, 1))
    other = years.met(1, 0, rows[:, 0], kinds)[1]
    limit = 4.0 / np.sqrt(100 * KINDS)
    assert abs(np.corrcoef(one, two)[0, 1]) < limit
    assert abs(np.corrcoef(one, other)[0, 1]) < limit


def test_kinds_when_of_one_start_then_spread_evenly_over_all_that_may_come() -> None:
    """Each kind of a start has its own sixteenth of the range: so few draws stand for many."""
    even = np.sort(drawn().even[0, 1, 0], axis=-1)
    assert np.array_equal(np.floor(even * KINDS), np.tile(np.arange(KINDS), (100, 1)))


def test_kinds_when_a_later_slice_differs_then_the_kind_may_too() -> None:
    """Sequences that begin alike meet different years: kinds belong to the whole sequence."""
    rows = starts(2_000)
    rows[:, 0] = 2
    kinds = drawn().kinds(rows)
    assert np.bincount(kinds, minlength=KINDS).min() > 2_000 / KINDS / 2
    assert np.array_equal(kinds, drawn().kinds(rows))


def test_years_when_a_sequence_is_played_alone_or_in_legs_then_the_same_are_met() -> None:
    """What a sequence brings does not depend on which others are played beside it."""
    setting = farm_case({"farm.risk": [PRICES], "sequences.count": 80})
    rows = rows_of_plan(setting)
    in_legs = play_rows(setting, rows)["income_aud"]
    plain = setting.results(setting.river(rows))["income_aud"]
    assert in_legs == pytest.approx(plain)
    alone = play_rows(setting, rows[7:8])["income_aud"]
    assert alone == pytest.approx(in_legs[:, 7:8])
    steady = farm_case({"sequences.count": 80})
    assert play_rows(steady, rows)["income_aud"] != pytest.approx(in_legs)


def test_years_when_drawn_then_every_strategy_meets_the_same_and_no_decision_sees_them() -> None:
    """Two strategies that do the same bring the same; areas and water are as without them."""
    risky = farm_case({"farm.risk": [PRICES], "sequences.count": 60})
    steady = farm_case({"sequences.count": 60})
    rows = rows_of_plan(risky)
    one = MIDDLE.model_copy(update={"name": "one"})
    twins = Settings.of([one, one.model_copy(update={"name": "two"})], risky.rules)
    results = risky.results(risky.river(rows), twins)
    assert results["income_aud"][0] == pytest.approx(results["income_aud"][1])
    with_risk, without = (case.results(case.river(rows)) for case in (risky, steady))
    for name in ("area_planted_ha", "area_finished_ha", "water_used_ml", "water_bought_ml"):
        assert with_risk[name] == pytest.approx(without[name]), name
    assert with_risk["bales"] == pytest.approx(without["bales"])  # prices alone vary here


def test_factors_when_three_values_are_stated_then_they_are_passed_so_often() -> None:
    """10, 50 and 90 times in 100 below the three, to four standard errors."""
    varying = Varying(None, np.array([0.75, 1.0, 1.1]), np.array([0.6, 0.9, 1.3]))
    for factor, stated in zip(
        varying.factors(met()), ([0.75, 1.0, 1.1], [0.6, 0.9, 1.3]), strict=True
    ):
        below = [(factor < value).mean() for value in stated]
        for share, chance in zip(below, (0.1, 0.5, 0.9), strict=True):
            assert abs(share - chance) < 4.0 * np.sqrt(chance * (1.0 - chance) / (100 * KINDS))


def test_factors_when_own_years_are_listed_then_each_is_drawn_whole() -> None:
    """A year's yield and price stay together, each year as often as any other."""
    past = np.array([[1.0, 0.8], [0.9, 1.3], [1.1, 1.0], [0.6, 1.2]])
    yields, prices = Varying(past, None, None).factors(met())
    pairs, counts = np.unique(np.stack([yields, prices], axis=1), axis=0, return_counts=True)
    assert sorted(map(tuple, pairs.tolist())) == sorted(map(tuple, past.tolist()))
    assert counts / COUNT == pytest.approx(0.25, abs=4.0 * np.sqrt(0.1875 / (100 * KINDS)))


def test_factors_when_only_one_is_stated_then_the_other_stays_the_plans() -> None:
    """A plan that states how prices vary leaves the yield as it is."""
    yields, prices = Varying(None, None, np.array([0.6, 0.9, 1.3])).factors(met())
    assert (yields == 1.0).all()
    assert prices.std() > 0.1


def test_factors_when_the_low_tail_is_long_then_never_below_nothing() -> None:
    """A price cannot fall below 0."""
    _, prices = Varying(None, None, np.array([0.1, 0.9, 1.0])).factors(met())
    assert prices.min() == 0.0


def test_kinds_when_the_same_slices_come_often_then_they_meet_different_years() -> None:
    """Three quarters of all runs follow the record's own order: they must not share one draw."""
    rows = np.tile([[12, 24, 36]], (4 * KINDS * DRAWN_ALIKE, 1))
    kinds = drawn().kinds(rows)
    assert np.bincount(kinds, minlength=KINDS).tolist() == [4 * DRAWN_ALIKE] * KINDS
    assert np.array_equal(kinds[:50], drawn().kinds(rows[:50]))
