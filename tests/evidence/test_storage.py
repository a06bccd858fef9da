"""The replayed dam against the measured one: nothing off where the replay itself was measured."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.evidence.storage import STORAGE, storage_held
from model.outlook.replay import replay_months
from model.plan.plan import Plan
from model.record.record import Record
from model.say.storage import storage_in_words
from tests.farm_case import contract_record, farm_plan


def measured(off_ml: float) -> tuple[Plan, Record]:
    """Ten years whose dam was measured as the rules make it, but for a constant error."""
    plan, whole = farm_plan(), contract_record()
    record = replace(
        whole,
        inflow_ml=whole.inflow_ml[:120],
        columns={name: values[:120] for name, values in whole.columns.items()},
        indices={},
    )
    now = plan.opening.model_copy(
        update={
            "announced_to_date_ml_per_share": 0.0,
            "used_this_year_ml_per_share": 0.0,
            "used_last_year_ml_per_share": 0.0,
            "used_year_before_ml_per_share": 0.0,
            "high_security_used_ml": 0.0,
            "high_security_allocation_frac": 0.0,
            "carried_ml_per_share": 0.0,
        }
    )
    opened = plan.model_copy(update={"opening": now})
    ledger = replay_months(opened, record, record.first_month + 1, record.last_month)
    ends = ledger.columns["storage_end_ml"]
    dam = np.concatenate([[now.storage_ml], ends + off_ml])
    return plan, replace(record, indices={STORAGE: dam})


def test_storage_when_the_replay_itself_was_measured_then_nothing_is_off() -> None:
    """Every month met."""
    found = storage_held(*measured(0.0))
    assert found is not None
    assert found.months == 119
    assert found.near == 119
    assert found.mean_error_ml == pytest.approx(0.0, abs=1e-6)


def test_storage_when_measured_higher_then_the_replay_holds_too_little() -> None:
    """By hand: 5,000 ML at every month end, in the numbers and in the words."""
    plan, record = measured(5_000.0)
    found = storage_held(plan, record)
    assert found is not None
    assert found.bias_ml == pytest.approx(-5_000.0)
    assert found.mean_error_ml == pytest.approx(5_000.0)
    assert found.near == (119 if 0.05 * plan.valley.capacity_ml >= 5_000.0 else 0)
    said = storage_in_words(found)
    assert "5,000 ML off on average" in said
    assert "5,000 ML too little overall" in said


def test_storage_when_the_record_does_not_have_it_then_nothing_is_said() -> None:
    """No such column, or two years of it."""
    plan, record = measured(0.0)
    assert storage_held(plan, replace(record, indices={})) is None
    short = replace(
        record,
        inflow_ml=record.inflow_ml[:24],
        columns={name: values[:24] for name, values in record.columns.items()},
        indices={STORAGE: record.indices[STORAGE][:24]},
    )
    assert storage_held(plan, short) is None
