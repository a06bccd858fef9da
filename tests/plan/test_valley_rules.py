"""Further rules of a valley in a plan: what is refused, and what refuses what.

The plans of the contract are the base; each rule left out changes nothing, so each is optional.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from model.errors import Fault, PlanError
from model.plan.plan import Plan
from model.plan.text import check_plan

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"
RawPlan = dict[str, Any]


def raw_plan(name: str) -> RawPlan:
    """A plan of the contract."""
    return tomllib.loads((CONTRACT / f"plan_{name}.toml").read_text(encoding="utf-8"))


def put(raw: RawPlan, values: dict[str, Any]) -> RawPlan:
    """The plan with some values by dotted key."""
    for dotted, value in values.items():
        *tables, key = dotted.split(".")
        table = raw
        for name in tables:
            table = table.setdefault(name, {})
        table[key] = value
    return raw


def faults_of(raw: RawPlan) -> tuple[Fault, ...]:
    """The faults for which a plan is refused."""
    with pytest.raises(PlanError) as refused:
        check_plan(raw, "plan")
    return refused.value.faults


def read(raw: RawPlan) -> Plan:
    """The plan, checked."""
    return check_plan(raw, "plan")


@pytest.mark.parametrize("name", ["capacity", "delivery", "stages", "environment", "carry", "keep"])
def test_plan_when_it_is_of_the_contract_then_it_is_read(name: str) -> None:
    """The plans of the further rules are plans."""
    assert read(raw_plan(name)).valley.capacity_ml > 0.0


CAPACITY_REFUSES = {
    "valley.accounts.account_limit_ml_per_share": 1.5,
    "valley.accounts.carryover_limit_ml_per_share": 1.0,
    "valley.accounts.allocation_cap_ml_per_share": 1.0,
    "valley.accounts.carryover_loss_frac": 0.05,
    "valley.accounts.spill_rule": "proportional",
    "valley.accounts.loss_mode": "by_balance",
    "valley.accounts.spill_lock_below_frac": 0.5,
    "valley.accounts.spill_lock_until_month": 12,
    "valley.environment": {"credit_frac": 0.1, "release_ml": [0.0] * 12},
}


@pytest.mark.parametrize(("key", "value"), CAPACITY_REFUSES.items())
def test_plan_when_capacity_is_shared_then_rules_of_announcing_are_refused(
    key: str, value: Any
) -> None:
    """Limits, losses, spill rule, lock and credit have no place beside it: each is named."""
    (fault,) = faults_of(put(raw_plan("capacity"), {key: value}))
    assert fault.where.startswith(key)
    assert "capacity is shared" in fault.problem


def test_plan_when_capacity_is_shared_then_all_that_it_refuses_is_said_at_once() -> None:
    """Nine keys, nine faults."""
    faults = faults_of(put(raw_plan("capacity"), CAPACITY_REFUSES))
    assert len(faults) == len(CAPACITY_REFUSES)


@pytest.mark.parametrize(
    ("storage_ml", "account", "most"),
    [
        (70_000.0, 0.56, 0.548),  # 0.6 x (70,000 - 1,500) x 0.8 / 60,000
        (21_000.0, 0.27, 0.26),  # (21,000 - 1,500) x 0.8 / 60,000
    ],
)
def test_plan_when_accounts_hold_more_than_their_space_or_the_dam_then_it_is_refused(
    storage_ml: float, account: float, most: float
) -> None:
    """An opening account has its water in the dam, within general security's space."""
    opening = {"opening.storage_ml": storage_ml, "opening.account_ml_per_share": account}
    (fault,) = faults_of(put(raw_plan("capacity"), opening))
    assert fault.where == "opening.account_ml_per_share"
    assert fault.allowed == f"at most {most:.4g} ML per share"
    read(put(raw_plan("capacity"), opening | {"opening.account_ml_per_share": most}))


REFUSED = [
    ("stages", "valley.access.restriction_trigger_frac", 0.5, "stages are given"),
    ("stages", "valley.access.restriction_access_frac", 0.5, "stages are given"),
    ("carry", "valley.accounts.spill_lock_below_frac", 1.0, "out of range"),
    ("carry", "valley.accounts.spill_lock_until_month", 7, "closes in July"),
    ("carry", "valley.accounts.spill_lock_until_month", 13, "out of range"),
    ("carry", "valley.high_security.carryover_frac", 1.1, "out of range"),
    ("carry", "opening.high_security_carried_ml", 14_001.0, "more high security is carried"),
    ("carry", "opening.carried_locked", "no", "wrong kind"),
    ("delivery", "valley.delivery_loss_fixed_ml", [1.0] * 11, "11 values"),
    ("delivery", "valley.block_release.months", [10, 10], "twice"),
    ("delivery", "valley.block_release.below_ml", 0.0, "out of range"),
    ("environment", "valley.environment.limit_ml", -1.0, "out of range"),
    ("environment", "valley.environment.release_ml", [1.0] * 13, "13 values"),
    ("capacity", "valley.capacity_sharing.space_frac", 1.2, "out of range"),
    ("capacity", "valley.capacity_sharing.owner", "x", "no such key"),
    ("capacity", "opening.environment_ml", 5.0, "no rule for it"),
    ("capacity", "opening.high_security_carried_ml", 5.0, "no rule for it"),
]


@pytest.mark.parametrize(("name", "key", "value", "problem"), REFUSED)
def test_plan_when_a_further_rule_is_wrong_then_key_and_problem_are_named(
    name: str, key: str, value: Any, problem: str
) -> None:
    """One wrong value is one fault, in the reader's words."""
    (fault,) = faults_of(put(raw_plan(name), {key: value}))
    assert fault.where == key
    assert problem in fault.problem


def test_plan_when_triggers_of_stages_do_not_fall_then_it_is_refused() -> None:
    """Strictly falling: an equal trigger is no further stage."""
    raw = raw_plan("stages")
    raw["valley"]["access"]["stages"][1]["trigger_frac"] = 0.8
    (fault,) = faults_of(raw)
    assert fault.where == "valley.access.stages"
    assert "do not fall" in fault.problem


def test_plan_when_access_has_neither_trigger_nor_stages_then_both_are_asked_for() -> None:
    """A table of access that says nothing is a slip."""
    raw = raw_plan("carry")
    raw["valley"]["access"] = {}
    faults = faults_of(raw)
    assert {fault.where for fault in faults} == {
        "valley.access.restriction_trigger_frac",
        "valley.access.restriction_access_frac",
    }


def test_plan_when_an_account_is_above_its_limit_then_it_is_accepted() -> None:
    """It is credited nothing until it falls below."""
    raw = put(raw_plan("environment"), {"opening.account_ml_per_share": 0.9})
    assert raw["valley"]["accounts"]["account_limit_ml_per_share"] < 0.9
    assert read(raw).opening.account_ml_per_share == 0.9


def test_plan_when_rules_of_losses_and_spills_are_left_out_then_nobody_bears_them() -> None:
    """Left out, evaporation is everyone's and a spill takes nothing."""
    accounts = read(raw_plan("capacity")).valley.accounts
    assert (accounts.loss_mode, accounts.spill_rule, accounts.carryover_loss_frac) == (
        "socialised",
        "none",
        0.0,
    )
