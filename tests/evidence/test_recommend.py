"""Which method is recommended, and does choosing earn no praise?"""

from __future__ import annotations

import numpy as np
import pytest

from model.evidence.recommend import (
    CANDIDATES,
    FEWEST_OVER,
    best_at_each_stand,
    error_fracs,
    recommend,
)
from model.evidence.reliability import resampled_years
from model.evidence.scores import skill
from model.record.record import FloatArray

STANDS = 40


def crps_of(means: tuple[float, ...], seed: int, spread: float = 0.0) -> FloatArray:
    """Make scores of each season about a mean; the last stands' later seasons are not over."""
    rng = np.random.default_rng(seed)
    scores = np.array(means) + spread * rng.normal(size=(STANDS, len(means)))
    for season in range(len(means)):
        scores[STANDS - season :, season] = np.nan
    return scores


def found_for(crps: dict[str, FloatArray], reference: FloatArray):
    """Choose among methods, with the intervals of few resamples."""

    def came(season: int):
        return np.flatnonzero(np.isfinite(reference[:, season]))

    rng = np.random.default_rng(0)
    orders = [
        resampled_years(came(s).size, 2.0, rng=rng, resamples=50) for s in range(reference.shape[1])
    ]
    return recommend(crps, reference, came, orders)


def test_method_when_chosen_then_by_the_mean_of_two_seasons_each_over_its_reference() -> None:
    """By hand: 0.5 and 0.9 of the reference against 0.8 and 0.7; a third season does not count."""
    reference = crps_of((2.0, 10.0, 1.0), 1)
    tried = {"historical": crps_of((1.0, 9.0, 9.0), 2), "present": crps_of((1.6, 7.0, 0.1), 3)}
    assert error_fracs(list(tried.values()), reference) == pytest.approx([0.7, 0.75])
    assert found_for(tried, reference).method == "historical"


def test_method_when_scores_are_equal_then_the_simplest() -> None:
    """Exact ties go to the simplest, and only the three candidates can be chosen."""
    reference, equal = crps_of((2.0, 2.0, 2.0), 1), crps_of((1.0, 1.0, 1.0), 2)
    tried = dict.fromkeys(CANDIDATES, equal) | {"neighbours": crps_of((0.1, 0.1, 0.1), 3)}
    found = found_for(tried, reference)
    assert found.method == "historical"
    assert set(found.error_frac) == set(CANDIDATES)


def test_method_when_few_stands_are_over_then_every_start_in_turn() -> None:
    """Until ten stands are over nothing is chosen by them."""
    reference = crps_of((2.0, 2.0), 1)
    tried = {"historical": crps_of((1.0, 1.0), 2), "present": crps_of((0.5, 0.5), 3)}
    short = {
        name: np.where(np.arange(STANDS)[:, None] < 9, each, np.nan) for name, each in tried.items()
    }
    assert found_for(short, np.where(np.arange(STANDS)[:, None] < 9, reference, np.nan)).method == (
        "historical"
    )
    best = best_at_each_stand(list(tried.values()), reference)
    assert best.tolist() == [0] * FEWEST_OVER + [1] * (STANDS - FEWEST_OVER)


def test_choice_when_at_a_stand_then_it_knows_only_seasons_that_were_over() -> None:
    """A stand's own season, or last year's second, changes nothing that is chosen there."""
    reference = crps_of((2.0, 2.0), 1)
    tried = [crps_of((1.0, 1.0), seed, spread=0.3) for seed in (2, 3)]
    best = best_at_each_stand(tried, reference)
    for stand in range(FEWEST_OVER, STANDS):
        changed = [each.copy() for each in tried]
        changed[1][stand:, 0] = 99.0
        changed[1][stand - 1 :, 1] = 99.0
        assert best_at_each_stand(changed, reference)[stand] == best[stand]


def test_nested_skill_when_methods_differ_by_luck_alone_then_choosing_earns_nothing() -> None:
    """The best of equal methods looks better than it is; chosen stand by stand it does not.

    Band: four standard errors of the mean over 60 hindcasts.
    """
    nested, hindsight = [], []
    for seed in range(60):
        reference = crps_of((1.0, 1.0), 1)
        tried = {
            name: crps_of((0.8, 0.8), 9 * seed + at, 0.4) for at, name in enumerate(CANDIDATES)
        }
        found = found_for(tried, reference)
        nested.append(found.nested_gain[0].value)
        own, plain = (tried[name][:, 0] for name in (found.method, "historical"))
        hindsight.append(skill(own, reference[:, 0]) - skill(plain, reference[:, 0]))
    error = np.std(nested) / np.sqrt(60)
    assert abs(np.mean(nested)) < 4.0 * error
    assert np.mean(hindsight) > 2.0 * error


def test_nested_skill_when_by_hand_then_of_the_method_chosen_at_each_stand() -> None:
    """Ten stands of `historical`, then of the better one."""
    reference = crps_of((2.0, 2.0), 1)
    tried = {"historical": crps_of((1.0, 1.0), 2), "present": crps_of((0.5, 0.5), 3)}
    found = found_for(tried, reference)
    assert found.chosen_at == {"historical": 10, "present": 30}
    assert found.nested_skill[0].value == pytest.approx(1.0 - (10 * 1.0 + 30 * 0.5) / (40 * 2.0))
    assert found.nested_gain[0].value == pytest.approx(30 * 0.5 / (40 * 2.0))
    assert found.nested_gain[1].value == pytest.approx(29 * 0.5 / (39 * 2.0))
