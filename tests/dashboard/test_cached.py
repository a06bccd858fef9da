"""Can a page be shown what belongs to another plan? What is kept is held against work afresh."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import streamlit as st

from dashboard import cached
from model.evidence.announced import hold_against
from model.outlook.ahead import BANDED, draw_ahead, look_ahead
from model.plan.announced import parse_announcements
from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import read_plan
from model.record.record import Record, read_record


def demonstration(**settings: object) -> Plan:
    """Return the demonstration plan with other settings of the drawing."""
    return read_plan(demonstration_plan()).with_drawing(**settings)


@pytest.fixture(scope="module", name="record")
def _record() -> Record:
    """Read the demonstration's record."""
    return read_record(demonstration_plan().with_name("demonstration_record.csv"))


def _moved(**opening: float) -> Callable[[Plan], Plan]:
    return lambda plan: plan.model_copy(
        update={"opening": plan.opening.model_copy(update=dict(opening))}
    )


def _later(plan: Plan) -> Plan:
    return plan.model_copy(update={"opening": plan.opening.model_copy(update={"month": "2026-01"})})


CHANGES: dict[str, Callable[[Plan], Plan]] = {
    "as it is": lambda plan: plan,
    "a lower dam": _moved(storage_ml=40_000.0),
    "a fuller account": _moved(account_ml_per_share=0.9),
    "a later month": _later,
    "another seed": lambda plan: plan.with_drawing(seed=7),
    "another method": lambda plan: plan.with_drawing(method="neighbours"),
    "fewer seasons": lambda plan: plan.with_drawing(seasons=2),
    "less flow": lambda plan: plan.with_drawing(flow_factor=0.7),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_water_ahead_when_other_plans_are_kept_then_each_gets_its_own(
    change: Callable[[Plan], Plan], record: Record
) -> None:
    """After every other plan was looked at, a plan's odds are those worked out afresh."""
    plan = demonstration(count=60)
    for other in CHANGES.values():
        cached.water_ahead(other(plan), record)
    mine = change(plan)
    kept, fresh = cached.water_ahead(mine, record), look_ahead(mine, record)
    assert kept.outlook.seasons == fresh.outlook.seasons
    for name in BANDED:
        np.testing.assert_array_equal(kept.bands(name), fresh.bands(name))


def test_drawn_ahead_when_the_dam_moves_then_nothing_is_drawn_anew(record: Record) -> None:
    """A moved dam meets the same sequences; another seed does not."""
    st.cache_resource.clear()
    plan = demonstration(count=60)
    drawn = cached.drawn_ahead(plan, record)
    assert cached.drawn_ahead(_moved(storage_ml=40_000.0)(plan), record) is drawn
    other = cached.drawn_ahead(plan.with_drawing(seed=7), record)
    assert not np.array_equal(other.batches[0][-1].rows, drawn.batches[0][-1].rows)


def test_look_ahead_when_given_its_draws_then_it_is_as_without(record: Record) -> None:
    """Sequences drawn beforehand give the same odds to the bit."""
    plan = demonstration(count=60)
    given = look_ahead(plan, record, draw_ahead(plan, record))
    assert given.outlook.seasons == look_ahead(plan, record).outlook.seasons


def test_held_when_the_record_is_read_otherwise_then_it_is_replayed_anew(record: Record) -> None:
    """The same file with its missing months filled another way is another record to replay."""
    told = parse_announcements(b"water_year,ml_per_share\n1990-91,0.4\n1991-92,0.6\n", "told.csv")
    plan = demonstration(count=60)
    other = replace(record, inflow_ml=record.inflow_ml * 0.5)  # as a changed filling may leave it
    filled = plan.model_copy(update={"record_fill": "calendar_month_median"})
    kept = cached.held(plan, record, told)
    again = cached.held(filled, other, told)
    assert again == hold_against(filled, other, told)
    assert again != kept
