"""Decisions of past years rest on what was known then, and end as the months that came end them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.decide.strategy import strategies_of
from model.evidence.decisions import Decisions, decide_again, opened_at
from model.evidence.walk import walk
from model.files import plain
from model.plan.plan import Plan
from model.record.record import Record
from model.say.decisions import decisions_in_words
from model.say.numbers import money
from model.water_year import parse_month
from tests.farm_case import contract_record, farm_plan

EVERY = 50


def case() -> tuple[Plan, Record]:
    """A farm plan, and a record."""
    return farm_plan({"opening.month": "2025-09"}), contract_record()


@pytest.fixture(scope="module")
def decided() -> Decisions:
    """A few past years."""
    plan, record = case()
    return decide_again(plan, record, strategies_of(plan), every=EVERY)


def test_decisions_when_made_again_then_no_strategy_ends_above_the_best(decided: Decisions) -> None:
    """The best in hindsight is at least each strategy's own end, and one strategy ends best."""
    assert decided.years
    for year in decided.years:
        assert year.best_aud >= max(year.ended_aud)
        assert year.best_ha >= 0.0
        if year.best_aud in year.ended_aud:
            assert year.best_ha == year.planted_ha[year.ended_aud.index(year.best_aud)]
        assert all(f <= p + 1e-9 for p, f in zip(year.planted_ha, year.finished_ha, strict=True))
    assert min(decided.short_of_best_aud()) >= 0.0
    assert sum(decided.ended_best()) >= len(decided.years)


def test_decisions_when_the_later_record_is_another_then_what_was_planted_stays(
    decided: Decisions,
) -> None:
    """After planting in October other months come: the area planted does not move, the end does."""
    plan, record = case()
    stand = walk(plan.with_drawing(seasons=1), record, 1).stands[EVERY]
    row = stand.month - record.first_month + 3  # December on
    inflow_ml = record.inflow_ml.copy()
    inflow_ml[row:] *= 4.0
    columns = {name: values.copy() for name, values in record.columns.items()}
    for name, values in columns.items():
        if "rain" in name:
            values[row:] *= 3.0
    other = replace(record, inflow_ml=inflow_ml, columns=columns)
    again = decide_again(plan, other, strategies_of(plan), every=EVERY)
    assert again.years[1].planted_ha == pytest.approx(decided.years[1].planted_ha)
    assert again.years[1].ended_aud != pytest.approx(decided.years[1].ended_aud)


def test_decisions_when_said_then_years_and_sums_are_the_numbers(decided: Decisions) -> None:
    """Each strategy by name, how often it ended best, and how far behind the best it was."""
    said = decisions_in_words(decided)
    assert said.startswith(f"Decided again in {len(decided.years)} past year")
    for name, best, short in zip(
        decided.strategies, decided.ended_best(), decided.short_of_best_aud(), strict=True
    ):
        assert f"{name} ended best of them in {best}, and on average {money(short)}" in said
    written = plain(decided)
    assert [year["water_year"] for year in written["years"]] == [
        year.water_year for year in decided.years
    ]


def test_opened_when_at_a_past_stand_then_dam_and_account_are_the_replays() -> None:
    """The valley's state of then, and none of today's own account."""
    plan, record = case()
    stand = walk(plan, record, 1).stands[10]
    opened = opened_at(plan, stand)
    assert opened.opening.storage_ml == float(stand.state.storage_ml[0])
    assert parse_month(opened.opening.month) == stand.month
    assert opened.farm is not None
    assert opened.farm.opening.account_ml_per_share is None
    assert np.isfinite(opened.opening.account_ml_per_share)
