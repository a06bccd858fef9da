"""Evidence of a valley that shares capacity is of what is credited: nothing is ever announced."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from model.evidence.announced import hold_against
from model.evidence.walk import walk
from model.outlook.replay import replay_months
from model.plan.announced import Announcements
from model.plan.plan import Plan
from model.plan.text import read_plan
from model.record.record import Record, read_record
from model.water_year import parse_month

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"


@pytest.fixture(name="record", scope="module")
def _record() -> Record:
    """The first seventy years of the contract's record."""
    record = read_record(CONTRACT / "record.csv")
    months = 12 * 70
    columns = {name: values[:months] for name, values in record.columns.items()}
    return replace(record, inflow_ml=record.inflow_ml[:months], columns=columns)


def plan_from(name: str, month: str) -> Plan:
    """A plan of the contract, opened in another month."""
    plan = read_plan(CONTRACT / f"plan_{name}.toml")
    assessment = plan.valley.assessment.model_copy(
        update={"assured_inflow": "fixed", "assured_fixed_ml_per_month": 500.0}
    )
    valley = plan.valley.model_copy(update={"assessment": assessment})
    opening = plan.opening.model_copy(update={"month": month})
    return plan.model_copy(update={"valley": valley, "opening": opening})


def test_walk_when_capacity_is_shared_then_seasons_are_of_credited_water(record: Record) -> None:
    """Each season's water to date is the sum of what the ledger credits from July to June."""
    plan = plan_from("capacity", "2025-07")
    walked = walk(plan, record, 1)
    first = walked.stands[0].month
    opened = parse_month(record.span[0])
    ledger = replay_months(plan, record, opened, record.last_month).columns
    credited = ledger["credited_ml_per_share"]
    at = first - record.first_month
    assert walked.announced_ml_per_share[0, 0] == pytest.approx(credited[at : at + 12].sum())
    assert np.nanmax(walked.announced_ml_per_share) > 0.0


def test_held_when_capacity_is_shared_then_what_is_credited_stands_for_what_is_announced(
    record: Record,
) -> None:
    """The replay's figure of a year is the sum that the ledger credits from its July on."""
    plan = plan_from("capacity", "2025-07")
    told = tuple(map(parse_month, ("1950-06", "1951-02", "1952-06")))
    held = hold_against(plan, record, Announcements("told", told, (0.5, 0.4, 0.0)))
    ledger = replay_months(
        plan, record, parse_month(held.replayed_from), parse_month("1952-06")
    ).columns
    credited = ledger["credited_ml_per_share"]
    last = parse_month("1952-06") - parse_month(held.replayed_from)
    by_hand = [credited[last - 35 : last - 23].sum(), credited[last - 23 : last - 15].sum()]
    by_hand.append(credited[last - 11 : last + 1].sum())
    assert [year.replayed_ml_per_share for year in held.years] == pytest.approx(by_hand)
    assert min(by_hand) > 0.0
    assert not ledger["announced_ml_per_share"].any()


@pytest.mark.parametrize("name", ["environment", "stages", "carry", "capacity", "delivery"])
def test_walk_when_stands_are_in_july_then_every_1_july_is_kept(name: str, record: Record) -> None:
    """Going from stand to stand is one replay: no rule of 1 July is left out at a stand.

    The inflow counted on is a fixed volume here, so that it is the same at every stand.
    """
    plan = plan_from(name, "2025-07")
    walked = walk(plan, record, 1)
    ledger = replay_months(plan, record, record.first_month, record.last_month).columns
    ends = [stand.month - record.first_month + 11 for stand in walked.stands]
    expected = ledger["storage_end_ml"][ends]
    np.testing.assert_allclose(walked.storage_ml[:, 0], expected, rtol=1e-9)
