"""Does a farm's run hold whole decisions, and are its payments counted?"""

from __future__ import annotations

import numpy as np
import pytest

from model.decide.compare import compare, play_rows
from model.say.comparison import comparison_in_words
from tests.farm_case import contract_record, farm_case, farm_plan, rows_of_plan

OCTOBER = 3


@pytest.mark.parametrize(
    ("month", "seasons", "run"),
    [
        ("2025-07", 2, 2),
        ("2025-10", 2, 2),  # planting is this month
        ("2025-11", 2, 3),
        ("2026-06", 1, 2),
    ],
)
def test_run_when_opened_then_as_many_plantings_lie_ahead_as_the_plan_has_seasons(
    month: str, seasons: int, run: int
) -> None:
    """Opened after October, one season more is run; the plantings ahead are the plan's seasons."""
    setting = farm_case(
        {"opening.month": month, "sequences.seasons": seasons, "sequences.count": 10}
    )
    assert setting.valley.calendar.seasons == run
    river = setting.river(rows_of_plan(setting))
    assert sum(met.k == OCTOBER for met in river) == seasons
    planted = play_rows(setting, rows_of_plan(setting))["area_planted_ha"]
    assert planted.shape[-1] == run


def test_payments_when_counted_then_those_of_the_run_and_said_beside_their_chance() -> None:
    """A loan paid in December and June: three seasons from July hold six, from January seven."""
    july = farm_case({"opening.month": "2025-07", "sequences.count": 10})
    january = farm_case({"opening.month": "2026-01", "sequences.count": 10})
    none = farm_case({"farm.money.loans": [], "sequences.count": 10})
    counted = [case.rules.cash.payments_due for case in (july, january, none)]
    assert counted == [6, 7, 0]


def test_words_when_strategies_are_compared_then_they_name_the_payments() -> None:
    """What a person reads says how many payments the chance is about."""
    plan = farm_plan({"sequences.count": 20, "sequences.seasons": 2, "opening.month": "2025-07"})
    found, results = compare(plan, contract_record())
    assert "(of 4 due in the run)" in comparison_in_words(found)
    assert np.isfinite(results["payments_missed"]).all()
