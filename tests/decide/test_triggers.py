"""What would change the answer: found on some first years, judged on others, never by chance."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from model.decide.decision import areas_of, decision_of
from model.decide.risk import worst_mean
from model.decide.triggers import (
    Tried,
    gain_of,
    next_decision_t,
    scores,
    table_of,
    trigger_of,
    triggers,
)
from model.farm.setting import FarmSetting, farm_setting_of
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan
from model.record.record import read_record

MIDDLE = 1
AREAS = [0.0, 50.0, 100.0, 150.0, 200.0]
YEARS = 60
EACH = 20


@cache
def on(month: str) -> FarmSetting:
    """Prepare the demonstration of another date."""
    path = demonstration_plan()
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    raw["sequences"] = {"method": "blocks", "count": 1_000, "seasons": 1, "seed": 5}
    raw["opening"]["month"] = month
    raw["farm"]["money"]["forward_sales"] = []
    plan = check_plan(raw, "demonstration")
    return farm_setting_of(plan, read_record(path.with_name(raw["record"])), plan.strategies)


def tried(matters: bool = True) -> Tried:
    """Return areas whose best is 50 ha below 100,000 ML in the dam, and 200 ha from it on."""
    rng = np.random.default_rng(11)
    first_year = np.repeat(np.arange(YEARS), EACH)
    dam_ml = rng.uniform(20_000.0, 180_000.0, YEARS)[first_year] + rng.normal(0.0, 500.0, 1_200)
    best_ha = np.where(dam_ml < 100_000.0, 50.0, 200.0) if matters else 125.0 + 0.0 * dam_ml
    noise = rng.normal(0.0, 20_000.0, YEARS)[first_year]
    score = np.stack([-500.0 * np.abs(area - best_ha) + noise for area in AREAS])
    return Tried("dam", dam_ml, first_year, score)


def test_trigger_when_the_dam_matters_then_found_where_it_lies() -> None:
    """By construction: the threshold is 100,000 ML, and its own range holds it."""
    found = trigger_of(tried(), AREAS, 24_309, on("2025-09"))
    assert found is not None
    assert found.threshold == pytest.approx(100_000.0, abs=9_000.0)
    assert found.low <= 104_000.0
    assert found.high >= 96_000.0
    assert (found.area_below_ha, found.area_reached_ha) == (50.0, 200.0)
    assert found.gain > found.gain_error > 0.0
    hits = (tried().value >= found.threshold).mean()
    assert found.reached_frac == pytest.approx(hits)


def test_trigger_when_years_are_shuffled_then_not_shown() -> None:
    """The dam of another year tells nothing: of 100 shuffled records none but by rare chance."""
    case, setting, shown = tried(), on("2025-09"), 0
    rng = np.random.default_rng(12)
    by_year = case.value.reshape(YEARS, EACH)
    for _ in range(100):
        shuffled = replace(case, value=by_year[rng.permutation(YEARS)].ravel())
        shown += trigger_of(shuffled, AREAS, 24_309, setting) is not None
    assert shown <= 3


def test_trigger_when_one_area_is_best_for_all_then_none() -> None:
    """Where the best area does not move by a fifth, nothing changes the answer."""
    assert trigger_of(tried(matters=False), AREAS, 24_309, on("2025-09")) is None


def test_gain_when_three_years_are_laid_out_then_as_by_hand() -> None:
    """Two areas, one sequence a year: the rule gains 4, 0 and 2 over the first area for all."""
    value = np.array([1.0, 2.0, 3.0])
    score = np.array([[1.0, 5.0, 3.0], [5.0, 0.0, 5.0]])
    table = table_of(Tried("dam", value, np.arange(3), score), np.array([1.5, 2.5]))
    rule = table_of(Tried("dam", -value, np.arange(3), score), np.array([-2.5, -1.5]))
    gain, error = gain_of(table, 0, 1, 0, 0)  # below 1.5 the second area, else the first
    assert gain == pytest.approx(4.0 / 3.0)
    left = np.array([4.0, 0.0, 0.0]) - 4.0 / 3.0
    assert error == pytest.approx(1.959964 * np.sqrt((left**2).sum() * 1.5) / 3.0, rel=1e-6)
    assert gain_of(rule, 0, 1, 0, 0)[0] == pytest.approx(2.0 / 3.0)


def test_scores_when_worst_tenth_then_the_best_area_by_it_has_the_best_mean_score() -> None:
    """With the best area's own threshold the mean of its scores is its worst tenth."""
    rng = np.random.default_rng(13)
    standing = rng.normal([[0.0], [5.0], [9.0]], [[1.0], [2.0], [30.0]], (3, 2_000))
    score = scores(standing, np.zeros_like(standing), "worst_tenth").mean(axis=1)
    worst = worst_mean(standing)
    assert int(score.argmax()) == int(worst.argmax()) == 1
    assert score[1] == pytest.approx(worst[1])
    assert (score <= worst + 1e-9).all()


@pytest.mark.parametrize(
    ("month", "t"), [("2026-04", 6), ("2025-09", 1), ("2025-10", 3), ("2025-07", 3)]
)
def test_next_decision_when_the_date_moves_then_never_after_what_it_serves(
    month: str, t: int
) -> None:
    """Before planting the date is the planting itself; once planted, the finish month."""
    setting = on(month)
    decision = decision_of(setting, MIDDLE)
    assert next_decision_t(setting, decision) == t
    assert areas_of(decision, 9)[-1] == decision.most_ha


def test_triggers_when_the_plan_is_played_then_dated_on_the_next_decision() -> None:
    """In April the dam of October is still open; what is shown is dated then."""
    for found in triggers(on("2026-04"), strategy=MIDDLE):
        assert found.month == 12 * 2026 + 9
        assert found.gain > found.gain_error
        assert abs(found.area_reached_ha - found.area_below_ha) >= 0.2 * found.area_always_ha
