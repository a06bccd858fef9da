"""What came stands in the odds of the day a decision was made, and nothing later moves those."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from model.evidence.decided import SeasonCame, bands_held, came_after
from model.evidence.walk import before
from model.outlook.setting import play_sequences, setting_of
from model.plan.announced import Announcements
from model.plan.drawing import View
from model.plan.plan import Plan
from model.record.record import Record
from model.say.decided import bands_in_words, came_in_words
from model.water_year import parse_month
from tests.farm_case import contract_record, farm_plan

DAY = "2015-09"
VIEW = View(first_month=DAY, last_month="2016-02", thirds=(0.5, 0.3, 0.2), belief=0.7)
JUNES = tuple(parse_month(f"{year}-06") for year in (2014, 2016, 2017))


@cache
def case() -> tuple[Plan, Record]:
    """A plan of two seasons from September 2015, and a record that goes on."""
    plan = farm_plan({"sequences.method": "present", "sequences.seasons": 2, "opening.month": DAY})
    return plan, contract_record()


def told(*amounts: float) -> Announcements:
    """What was announced at the end of the water years 2013-14, 2015-16 and 2016-17."""
    return Announcements("typed", JUNES[: len(amounts)], amounts)


def test_came_when_two_seasons_are_over_then_each_is_placed_as_counted_by_hand() -> None:
    """Sequences of that day with as much or more, and the middle 80 in 100, counted again."""
    plan, record = case()
    found = came_after(plan, record, told(0.9, 0.3, 0.0))
    known = before(record, parse_month(DAY))
    _, results = play_sequences(setting_of(plan.with_drawing(count=2_000), known))
    assert [each.water_year for each in found] == ["2015-16", "2016-17"]
    for season, (came, amount) in enumerate(zip(found, (0.3, 0.0), strict=True)):
        drawn = results["announced_to_date_ml_per_share"][:, season]
        assert came.came_ml_per_share == amount
        assert came.reached == np.count_nonzero(drawn >= amount - 1e-9) / 2_000
        assert came.chance_none == np.count_nonzero(drawn <= 1e-9) / 2_000
        assert came.low_ml_per_share == pytest.approx(np.quantile(drawn, 0.1))
        assert came.high_ml_per_share == pytest.approx(np.quantile(drawn, 0.9))
    assert found[1].none_came
    assert found[1].reached == 1.0


@pytest.mark.parametrize("view", [None, VIEW])
def test_came_when_the_record_after_the_day_is_another_then_the_odds_are_the_same(
    view: View | None,
) -> None:
    """What was not known that day moves nothing, a view of the season or none."""
    plan, record = case()
    plan = plan.with_drawing(view=view)
    row = parse_month(DAY) - record.first_month
    inflow_ml = record.inflow_ml.copy()
    inflow_ml[row:] *= 7.0
    columns = {name: values.copy() for name, values in record.columns.items()}
    for values in columns.values():
        values[row:] += 50.0
    other = replace(record, inflow_ml=inflow_ml, columns=columns)
    assert came_after(plan, other, told(0.9, 0.3)) == came_after(plan, record, told(0.9, 0.3))


def test_came_when_no_season_is_over_then_nothing_is_scored() -> None:
    """Another year's figure, a figure from before June, and a record that begins later."""
    plan, record = case()
    assert came_after(plan, record, told(0.9)) == ()
    in_march = Announcements("typed", (parse_month("2016-03"),), (0.2,))
    assert came_after(plan, record, in_march) == ()
    late = replace(record, first_month=parse_month(DAY))
    assert came_after(plan, late, told(0.9, 0.3)) == ()


def test_came_when_said_then_what_came_its_place_and_the_range_are_the_numbers() -> None:
    """By hand: inside, outside, and nothing."""
    inside = SeasonCame("2025-26", 0.3, 0.4, 0.0, 0.45, 0.26)
    said = came_in_words(inside)
    assert said.startswith("2025-26 is over: 0.30 ML a share was announced. In the odds of that ")
    assert "as much or more came 40 times in 100; it is inside the range" in said
    assert "(0.00 ML a share to 0.45 ML a share)" in said
    outside = replace(inside, came_ml_per_share=0.6, reached=0.02)
    assert "it is outside the range" in came_in_words(outside)
    nothing = replace(inside, came_ml_per_share=0.0, reached=1.0)
    assert "no water was announced. In the odds of that day this came 26 times in 100" in (
        came_in_words(nothing)
    )
    counted = bands_held([inside, inside, outside])
    assert counted is not None
    assert (counted.held, counted.seasons) == (2, 3)
    assert bands_in_words(counted).startswith("Of 3 decided seasons that are over, 2 lay in")
