"""The further rules on small dams, worked by hand; the sums stand beside each number.

Each case runs over the model and over the scalar twin. Unless said, the dam holds 1,000 ML, loses
nothing, and general security has 1,000 ML of shares, so that 0.1 ML a share is 100 ML.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.valley_engines import (
    NONE,
    Columns,
    RawPlan,
    bare_plan,
    both_engines,
    used_in,
)

approx = pytest.approx


def plan(valley: RawPlan, opening: RawPlan, **tables: RawPlan) -> RawPlan:
    """The bare plan with other keys of the valley, its tables and the opening."""
    raw = bare_plan()
    raw["valley"] |= valley
    raw["opening"] |= opening
    for name, table in tables.items():
        raw["valley"][name] |= table
    return raw


# --- Environmental allowance -----------------------------------------------------------------


def environment_plan() -> RawPlan:
    """June to August: a fifth is lost on the way, all that is free is announced."""
    return plan(
        {
            "delivery_loss_frac": 0.2,
            "accounts": {},
            "environment": {
                "yearly_ml": 100.0,
                "credit_frac": 0.5,
                "inflow_frac": 0.1,
                "limit_ml": 300.0,
                "carryover_limit_ml": 60.0,
                "release_ml": [0.0, 40.0] + [0.0] * 10,
            },
            "general_security": {"shares_ml": 1_000.0, "pattern": used_in(October=1.0)},
        },
        {
            "month": "2000-06",
            "storage_ml": 800.0,
            "account_ml_per_share": 0.1,
            "environment_ml": 80.0,
        },
    )


@both_engines
def test_allowance_when_water_is_announced_then_it_takes_its_part_of_what_is_free(
    engine: Any,
) -> None:
    """June: 800 - 0.1 x 1,000 / 0.8 - 80 = 595 ML are free.

    General security gets y and the allowance half of it: 595 = y / 0.8 + 0.5 y, so y = 340 ML, and
    the allowance 170 (its room is 300 - 80 = 220). Then 100 ML come in, a tenth of them its own.
    """
    found = engine(environment_plan(), [100.0, 0.0, 0.0])
    assert found["announced_ml_per_share"][0] == approx(0.34)
    assert found["environment_credit_ml"][0] == approx(170.0 + 10.0)
    assert found["environment_account_ml"][0] == approx(80.0 + 180.0)
    assert found["committed_ml"][0] == approx(125.0 + 80.0)


@both_engines
def test_allowance_when_july_comes_then_it_is_cut_and_credited_before_licences(
    engine: Any,
) -> None:
    """July: 260 is cut to 60, then 100 are credited (room 240; free of it 900 - 60).

    Set aside: 0.44 x 1,000 / 0.8 + 160 = 710 of 900; 190 = y / 0.8 + 0.5 y gives y = 108.57 and
    54.29 to the allowance. In August nothing is free, and 40 of its 214.29 ML are released.
    """
    found = engine(environment_plan(), [100.0, 0.0, 0.0])
    assert found["committed_ml"][1] == approx(550.0 + 160.0)
    assert found["announced_ml_per_share"][1] == approx(0.19 * 0.8 / 1.4)
    assert found["environment_credit_ml"][1] == approx(100.0 + 0.5 * 190.0 * 0.8 / 1.4)
    assert found["environment_ml"] == approx([0.0, 0.0, 40.0])
    assert found["environment_account_ml"][2] == approx(160.0 + 0.5 * 190.0 * 0.8 / 1.4 - 40.0)
    assert found["storage_end_ml"] == approx([900.0, 900.0, 860.0])


@both_engines
def test_allowance_when_its_limit_is_near_then_general_security_gets_the_rest(engine: Any) -> None:
    """With room for 20 ML alone, general security gets 0.8 x (595 - 20) = 460 ML."""
    raw = environment_plan()
    raw["valley"]["environment"]["limit_ml"] = 100.0
    found = engine(raw, [0.0])
    assert found["announced_ml_per_share"][0] == approx(0.46)
    assert found["environment_credit_ml"][0] == approx(20.0)


@both_engines
def test_allowance_when_the_dam_holds_less_then_it_is_cut_to_that(engine: Any) -> None:
    """800 ML less 750 of essential supplies leave 50: the allowance of 80 holds no more."""
    raw = environment_plan()
    raw["valley"]["accounts"] = {"allocation_cap_ml_per_share": 0.0}
    raw["valley"]["essential_ml"] = [0.0] * 11 + [750.0]
    assert engine(raw, [0.0])["environment_account_ml"] == approx([50.0])


# --- Two-part delivery loss and block releases ---------------------------------------------------


def blocks_plan(**opening: float) -> RawPlan:
    """September to November: 20 ML are lost in a month that delivers; small orders wait."""
    return plan(
        {
            "delivery_loss_fixed_ml": [20.0] * 12,
            "block_release": {"months": [10], "below_ml": 150.0},
        },
        {"month": "2000-09", "account_ml_per_share": 0.2} | opening,
        general_security={
            "pattern": used_in(September=0.25, October=0.25, November=0.25, December=0.25)
        },
    )


@both_engines
def test_order_when_it_is_small_then_it_waits_for_the_block_release(engine: Any) -> None:
    """September orders 0.25 x 200 = 50 of 150, put off; October covers all to June: 200 ML.

    The river is run once: 500 - 200 - 20 = 280. Set aside in September: 200 and one month's loss.
    """
    found = engine(blocks_plan(), [0.0] * 3)
    assert found["deferred_ml"] == approx([50.0, 0.0, 0.0])
    assert found["general_security_ml"] == approx([0.0, 200.0, 0.0])
    assert found["fixed_delivery_loss_ml"] == approx([0.0, 20.0, 0.0])
    assert found["delivery_loss_ml"] == approx([0.0, 20.0, 0.0])
    assert found["storage_end_ml"] == approx([500.0, 280.0, 280.0])
    assert found["committed_ml"] == approx([220.0, 220.0, 0.0])


@both_engines
def test_order_when_it_is_large_then_no_block_changes_it(engine: Any) -> None:
    """With 0.8 ML a share September orders 200 of 150: 800 x 0.25, and the river is run."""
    found = engine(blocks_plan(storage_ml=1_000.0, account_ml_per_share=0.8), [0.0] * 2)
    assert found["general_security_ml"] == approx([200.0, 200.0])
    assert found["deferred_ml"] == approx([0.0, 0.0])


@both_engines
def test_order_when_the_dam_cannot_meet_the_fixed_loss_then_nothing_is_delivered(
    engine: Any,
) -> None:
    """20 ML in the dam are not more than the loss of 20: no order is served, and none is lost."""
    found = engine(blocks_plan(storage_ml=20.0), [0.0] * 2)
    assert found["general_security_ml"] == [0.0, 0.0]
    assert found["fixed_delivery_loss_ml"] == [0.0, 0.0]
    assert found["storage_end_ml"] == [20.0, 20.0]


@both_engines
def test_fixed_loss_when_both_classes_deliver_then_each_month_is_set_aside_once(
    engine: Any,
) -> None:
    """High security delivers in December, general in June: 20 for the one, 20 for the other.

    The first comes before high security is met: of 500 ML 480 are within its reach, less than its
    600, so that its allocation is 0.8.
    """
    raw = plan(
        {"delivery_loss_fixed_ml": [20.0] * 12},
        {"month": "2000-09"},
        high_security={"shares_ml": 600.0, "pattern": used_in(December=1.0)},
    )
    found = engine(raw, [0.0])
    assert found["high_security_allocation_frac"] == approx([0.8])
    assert found["committed_ml"] == approx([600.0 + 20.0 + 20.0])


@both_engines
def test_loss_when_more_is_delivered_then_less_of_each_megalitre_is_lost(engine: Any) -> None:
    """A tenth of a release and 20 ML a month: loss over delivery falls from 0.311 to 0.136."""
    per_ml = []
    for account in (0.1, 0.2, 0.4, 0.8):
        raw = plan(
            {"delivery_loss_fixed_ml": [20.0] * 12, "delivery_loss_frac": 0.1},
            {"month": "2000-06", "storage_ml": 1_000.0, "account_ml_per_share": account},
        )
        found = engine(raw, [0.0])
        assert found["general_security_ml"] == approx([1_000.0 * account])
        per_ml.append(found["delivery_loss_ml"][0] / found["general_security_ml"][0])
    assert per_ml == approx([1 / 9 + 20.0 / ml for ml in (100.0, 200.0, 400.0, 800.0)])
    assert per_ml == sorted(per_ml, reverse=True)


# --- Stages of a restriction -----------------------------------------------------------------


STAGES = [
    {"trigger_frac": 0.8, "access_frac": 0.5, "freezes": "carried"},
    {"trigger_frac": 0.5, "access_frac": 0.4, "freezes": "account"},
]


@both_engines
def test_stages_when_the_dam_falls_and_rises_then_more_and_less_is_frozen(engine: Any) -> None:
    """0.5 in the account, 0.3 of it carried; the dam opens months at 700, 450, 600, 900 ML.

    Stage 1: half of 0.3. Stage 2: 0.6 of 0.5. Back to 1: the lesser of 0.3 and 0.15. Then none.
    """
    raw = plan(
        {"access": {"stages": STAGES}, "essential_ml": [0.0, 250.0] + [0.0] * 10},
        {"storage_ml": 700.0, "account_ml_per_share": 0.5, "carried_ml_per_share": 0.3},
    )
    found = engine(raw, [0.0, 150.0, 300.0, 0.0])
    assert found["storage_start_ml"] == approx([700.0, 450.0, 600.0, 900.0])
    assert found["restriction_stage"] == [1, 2, 1, 0]
    assert found["frozen_ml_per_share"] == approx([0.15, 0.3, 0.15, 0.0])


@both_engines
def test_stages_when_carried_water_is_frozen_then_use_leaves_that_part_carried(
    engine: Any,
) -> None:
    """All of 0.5 is asked for in August; 0.15 of the 0.3 carried are frozen, so 0.35 are used.

    What stays is the frozen part, still carried: on a spill of carried water it goes first.
    """
    raw = plan(
        {"access": {"stages": STAGES[:1]}, "accounts": {"spill_rule": "carried_first"}},
        {"storage_ml": 700.0, "account_ml_per_share": 0.5, "carried_ml_per_share": 0.3},
        general_security={"pattern": used_in(August=1.0)},
    )
    raw["valley"]["accounts"]["allocation_cap_ml_per_share"] = 0.0
    found = engine(raw, [0.0, 700.0])
    assert found["general_security_ml"] == approx([350.0, 0.0])
    assert found["account_ml_per_share"] == approx([0.15, 0.10])  # 350 + 700 - 1,000 spill 50
    assert found["account_loss_ml_per_share"] == approx([0.0, 0.05])


@both_engines
def test_stages_when_july_comes_then_new_carried_water_is_frozen_too(engine: Any) -> None:
    """June freezes half of 0.1 carried; on 1 July all 0.5 are carried, and half of that is."""
    raw = plan(
        {"access": {"stages": STAGES[:1]}, "general_security": {"shares_ml": 1_000.0}},
        {
            "month": "2000-06",
            "storage_ml": 700.0,
            "account_ml_per_share": 0.5,
            "carried_ml_per_share": 0.1,
        },
        general_security={"pattern": used_in(March=1.0)},
    )
    assert engine(raw, [0.0, 0.0])["frozen_ml_per_share"] == approx([0.05, 0.25])


# --- High-security carry and spill lock ----------------------------------------------------------


@both_engines
def test_high_security_when_it_carries_then_carried_water_is_used_first(engine: Any) -> None:
    """Of 100 ML, 40 used, and 10 carried before: half of 70, 35 ML, go into July.

    July orders 30, all carried; August 20: 5 carried and 15 of the year's own.
    """
    raw = plan(
        {},
        {
            "month": "2000-06",
            "high_security_used_ml": 40.0,
            "high_security_allocation_frac": 1.0,
            "high_security_carried_ml": 10.0,
        },
        high_security={
            "shares_ml": 100.0,
            "carryover_frac": 0.5,
            "pattern": used_in(July=0.3, August=0.2, September=0.5),
        },
    )
    found = engine(raw, [0.0] * 4)
    assert found["high_security_carried_ml"] == approx([10.0, 5.0, 0.0, 0.0])
    assert found["high_security_ml"] == approx([0.0, 30.0, 20.0, 50.0])
    assert found["committed_ml"][1:] == approx([100.0 + 35.0, 100.0 + 5.0, 85.0])


@both_engines
def test_high_security_when_it_carries_then_less_is_within_reach_of_its_new_water(
    engine: Any,
) -> None:
    """Of 80 ML in the dam 30 are carried: 50 of 100 may be allocated."""
    raw = plan(
        {},
        {"storage_ml": 80.0, "high_security_carried_ml": 30.0},
        high_security={"shares_ml": 100.0, "carryover_frac": 0.5},
    )
    assert engine(raw, [0.0])["high_security_allocation_frac"] == approx([0.5])


def locked_plan(**accounts: float) -> RawPlan:
    """June to September, 0.5 in the account, a third asked for in each month from July."""
    return plan(
        {"accounts": {"allocation_cap_ml_per_share": 0.0} | accounts},
        {
            "month": "2000-06",
            "storage_ml": 800.0,
            "account_ml_per_share": 0.5,
            "carried_ml_per_share": 0.2,
            "carried_locked": False,
        },
        general_security={"pattern": used_in(July=0.2, August=0.2, September=0.6)},
    )


@both_engines
def test_lock_when_july_comes_then_carried_water_waits_for_a_lower_dam(engine: Any) -> None:
    """Locked in July and in August (800 and 500 ML); September opens below 400, and stays open."""
    raw = locked_plan(spill_lock_below_frac=0.4)
    raw["valley"]["essential_ml"] = [300.0, 200.0] + [0.0] * 10
    found = engine(raw, [0.0, 0.0, 0.0, 700.0, 0.0])
    assert found["storage_start_ml"] == approx([800.0, 800.0, 500.0, 300.0, 500.0])
    assert found["locked_ml_per_share"] == approx([0.0, 0.5, 0.5, 0.0, 0.0])
    assert found["general_security_ml"] == approx([0.0, 0.0, 0.0, 500.0, 0.0])


@both_engines
def test_lock_when_its_month_comes_then_it_opens_whatever_the_dam(engine: Any) -> None:
    """Until August: July is locked, August orders a quarter of what is left: 0.2 / 0.8."""
    found = engine(locked_plan(spill_lock_until_month=8), [0.0] * 4)
    assert found["locked_ml_per_share"] == approx([0.0, 0.5, 0.0, 0.0])
    assert found["general_security_ml"] == approx([0.0, 0.0, 125.0, 375.0])


@both_engines
def test_lock_when_new_water_is_used_then_carried_water_stays_whole(engine: Any) -> None:
    """0.5 with 0.2 locked: at most 0.3 are used, all of it this year's."""
    raw = locked_plan(spill_lock_below_frac=0.4)
    raw["opening"] |= {"month": "2000-09", "carried_locked": True}
    raw["valley"]["accounts"] |= {"spill_rule": "carried_first"}
    found = engine(raw, [0.0, 600.0])
    assert found["general_security_ml"] == approx([300.0, 0.0])
    assert found["locked_ml_per_share"] == approx([0.2, 0.2])
    assert found["account_ml_per_share"] == approx([0.2, 0.1])  # 500 + 600 - 1,000 spill 100


# --- Capacity sharing ------------------------------------------------------------------------


def shared_plan(**sharing: float) -> RawPlan:
    """General security owns 600 of 1,000 ML and 0.7 of inflow; a fifth is lost on the way."""
    return plan(
        {
            "delivery_loss_frac": 0.2,
            "accounts": {},
            "capacity_sharing": {"space_frac": 0.6, "inflow_frac": 0.7} | sharing,
            "essential_ml": [0.0, 0.0, 0.0, 500.0] + [0.0] * 8,
        },
        {"account_ml_per_share": 0.24},
    )


def own_ml(found: Columns, t: int) -> float:
    """General security's water at the dam after a month, ML."""
    return found["account_ml_per_share"][t] * 1_000.0 / 0.8


@both_engines
def test_sharing_when_water_comes_then_space_and_inflow_are_shared(engine: Any) -> None:
    """General security's 300 ML get 0.7 x 400 = 280, then 0.7 x 100 = 70, but hold 600 at most.

    In October 500 ML of essential supplies take the others' 400 and 100 of general security's.
    """
    found = engine(shared_plan(), [400.0, 100.0, 0.0])
    assert own_ml(found, 0) == approx(580.0)
    assert own_ml(found, 1) == approx(600.0)
    assert own_ml(found, 2) == approx(500.0)
    assert found["internal_spill_out_ml"] == approx([0.0, 50.0, 0.0])
    assert found["internal_spill_in_ml"] == approx([0.0, 0.0, 0.0])
    assert found["higher_classes_water_ml"] == approx([320.0, 400.0, 0.0])
    assert found["credited_ml_per_share"] == approx([0.224, 0.016, 0.0])
    assert found["account_loss_ml_per_share"] == approx([0.0, 0.0, 0.08])
    assert found["announced_ml_per_share"] == [0.0, 0.0, 0.0]


@both_engines
def test_sharing_when_the_others_space_is_full_then_it_spills_into_general_securitys(
    engine: Any,
) -> None:
    """With no share of inflow, 200 + 400 fill the others' 400; 200 spill in beside the 300."""
    found = engine(shared_plan(inflow_frac=0.0), [400.0])
    assert found["internal_spill_in_ml"] == approx([200.0])
    assert own_ml(found, 0) == approx(500.0)
    assert found["higher_classes_water_ml"] == approx([400.0])


@both_engines
def test_sharing_when_the_lake_evaporates_then_the_account_bears_its_part(engine: Any) -> None:
    """50 of 500 ML evaporate, a tenth: 0.024 of 0.24 ML a share."""
    raw = shared_plan()
    raw["valley"] |= {"surface_area_ha": [100.0], "lake_evaporation_mm": [50.0] * 12}
    found = engine(raw, [0.0])
    assert found["account_loss_ml_per_share"] == approx([0.024])
    assert found["account_ml_per_share"] == approx([0.216])


# --- Columns of the ledger -------------------------------------------------------------------

STAGED: RawPlan = {"access": {"stages": STAGES}}
COLUMNS: dict[str, tuple[RawPlan, list[str]]] = {
    "capacity sharing": (
        {"capacity_sharing": {"space_frac": 0.6, "inflow_frac": 0.7}, "accounts": {}},
        ["internal_spill_in_ml", "internal_spill_out_ml", "higher_classes_water_ml"],
    ),
    "fixed delivery loss": ({"delivery_loss_fixed_ml": NONE}, ["fixed_delivery_loss_ml"]),
    "block releases": ({"block_release": {"months": [1], "below_ml": 1.0}}, ["deferred_ml"]),
    "stages": (STAGED, ["restriction_stage"]),
    "environment": (
        {"environment": {"release_ml": NONE}},
        ["environment_ml", "environment_credit_ml", "environment_account_ml"],
    ),
    "high-security carry": (
        {"high_security": {"shares_ml": 0.0, "pattern": used_in(June=1.0), "carryover_frac": 0.5}},
        ["high_security_carried_ml"],
    ),
    "spill lock": (
        {"accounts": {"allocation_cap_ml_per_share": 0.0, "spill_lock_below_frac": 0.5}},
        ["locked_ml_per_share"],
    ),
}
"""What turns a rule on, and the columns that come with it; in the ledger's own order."""


@both_engines
@pytest.mark.parametrize("rule", COLUMNS)
def test_ledger_when_one_rule_is_on_then_its_columns_stand_at_the_end(
    engine: Any, rule: str
) -> None:
    """Each rule appends its own columns, and no other's."""
    usual = list(engine(bare_plan(), [0.0]))
    assert usual[-1] == "uncontrolled_ml"
    valley, columns = COLUMNS[rule]
    assert list(engine(plan(valley, {}), [0.0])) == [*usual, *columns]


@both_engines
def test_ledger_when_many_rules_are_on_then_their_columns_come_in_one_order(engine: Any) -> None:
    """All but capacity sharing, which refuses the lock, together."""
    together = [rule for rule in COLUMNS if rule != "capacity sharing"]
    valley: RawPlan = {}
    for rule in together:
        valley |= COLUMNS[rule][0]
    found = list(engine(plan(valley, {}), [0.0]))
    usual = list(engine(bare_plan(), [0.0]))
    assert found == usual + [name for rule in together for name in COLUMNS[rule][1]]
