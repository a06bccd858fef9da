"""Single rules of the valley, each with its sum written out.

In a whole run one rule may hide another; here each stands alone.
Derived here from the scheme (`model/valley/SCHEME.md`).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.plan.text import check_plan
from model.valley import access, accounts, capacity
from model.valley.assessment import _high_security
from model.valley.rules import Rules, rules_of
from model.valley.stages import StagedMonth
from model.valley.state import Account, opening_state
from tests.textbook_dam import record_of_months, textbook_plan


def one(value: float) -> np.ndarray:
    """Return one sequence."""
    return np.array([value])


@pytest.fixture(scope="module", name="rules")
def _rules() -> Rules:
    """A dam of 100 ML with ten shares of either class and a fifth lost on the way."""
    raw = textbook_plan(100.0, general_security_ml=10.0).model_dump(exclude_none=True)
    raw["valley"]["accounts"] |= {
        "use_limit_1yr_ml_per_share": 0.8,
        "use_limit_3yr_ml_per_share": 1.9,
    }
    return rules_of(check_plan(raw, "by hand").valley, record_of_months([0.0] * 12))


def staged(freezes_carried: bool, locked: bool = False) -> access.Access:
    """Return a month of a stage that freezes a quarter."""
    no = np.zeros(1, dtype=np.bool_)
    stage = StagedMonth(one(0.25), np.array([freezes_carried]))
    return access.Access(~no, no, stage, np.array([locked]))


@pytest.mark.parametrize(("carried", "expected"), [(False, 0.25 * 0.8), (True, 0.25 * 0.4)])
def test_frozen_when_a_stage_holds_then_a_quarter_of_its_base(
    carried: bool, expected: float, rules: Rules
) -> None:
    """Of an account of 0.8, 0.4 of it carried."""
    found = access.frozen_ml_per_share(one(0.0), one(0.8), one(0.4), staged(carried), rules)
    assert found == pytest.approx(expected)


@pytest.mark.parametrize(("locked", "expected"), [(False, 0.1), (True, 0.4)])
def test_reach_when_carried_water_is_locked_then_the_larger_of_the_two(
    locked: bool, expected: float
) -> None:
    """0.1 is frozen, 0.4 carried; locked, and with more frozen than carried, what is frozen."""
    met = staged(True, locked)
    assert access.out_of_reach_ml_per_share(one(0.1), one(0.4), met) == pytest.approx(expected)
    assert access.out_of_reach_ml_per_share(one(0.5), one(0.4), met) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("freezes_carried", "locked", "used", "expected"),
    [
        (False, False, 0.3, 0.4 - 0.3),
        (False, False, 0.6, 0.0),
        (True, False, 0.1, 0.4 - 0.1),
        (True, False, 0.35, 0.1),  # 0.1 is frozen: it stays
        (True, True, 0.35, 0.4),  # locked: none of it is used
    ],
)
def test_carried_when_used_then_down_to_what_is_frozen(
    freezes_carried: bool, locked: bool, used: float, expected: float
) -> None:
    """0.4 is carried, 0.1 of it frozen."""
    met = staged(freezes_carried, locked)
    found = access.carried_after_use(one(0.4), one(used), one(0.1), met)
    assert found == pytest.approx(expected)


@pytest.mark.parametrize(
    ("this", "last", "before", "expected"),
    [
        (0.3, 0.2, 0.1, 0.8 - 0.3),  # the year's limit is the nearer: 1.9 - 0.6 is 1.3
        (0.3, 0.8, 0.5, 1.9 - 1.6),  # the three years' is: 0.8 - 0.3 is 0.5
        (0.7, 0.8, 0.8, 0.0),  # passed: 1.9 - 2.3
    ],
)
def test_use_left_when_two_limits_then_the_nearer(
    this: float, last: float, before: float, expected: float, rules: Rules
) -> None:
    """0.8 in a year, 1.9 in three."""
    holder = Account(one(1.0), one(0.0), one(this), one(last), one(before), one(0.0))
    assert accounts.use_left_ml_per_share(holder, rules) == pytest.approx(expected)


@pytest.mark.parametrize("carries", [False, True])
def test_high_security_when_partly_used_then_its_need_next_year_and_carry_are_set_aside(
    carries: bool, rules: Rules
) -> None:
    """10 ML of shares, 4 used, 3 carried, half of next year's 10: over what a fifth lost leaves."""
    own = replace(
        rules,
        high_security_shares_ml=10.0,
        high_security_years_ahead_ml=5.0,
        delivery_loss_frac=0.2,
        high_security_carryover_frac=0.5 if carries else None,
    )
    plan = textbook_plan(100.0, general_security_ml=10.0)
    state = replace(
        opening_state(plan.opening, 1),
        high_security_used_ml=one(4.0),
        high_security_carried_ml=one(3.0),
        high_security_allocation_frac=one(0.4),
    )
    found = _high_security(state, one(6.0), own)
    if carries:  # (6 - 3) of a need of 6 is within reach: (4 + 3) / 10
        assert found.allocation_frac == pytest.approx(0.7)
        assert found.reserve_ml == pytest.approx((6.0 + 5.0 + 3.0) / 0.8)
    else:  # all 6 are: (4 + 6) / 10
        assert found.allocation_frac == pytest.approx(1.0)
        assert found.reserve_ml == pytest.approx((6.0 + 5.0) / 0.8)


SHARE = capacity.CapacityShare(
    space_ml=60.0, others_space_ml=40.0, inflow_frac=0.5, gate_frac_per_ml=0.08
)
"""0.6 of 100 ML, half of the inflow; 10 shares, a fifth lost: 0.8 / 10 ML a share an ML."""


@pytest.mark.parametrize(
    ("account", "inflow", "took", "above_dead", "spilled_in", "spilled_out", "others", "kept"),
    [
        # 2.4 a share are 30 ML; half of 20 - 4 makes 38; room for all, 70 - 38 are the others'
        (2.4, 20.0, 4.0, 70.0, 0.0, 0.0, 32.0, 1.0),
        # higher classes took more than flowed in: nothing is shared
        (2.4, 4.0, 20.0, 50.0, 0.0, 0.0, 20.0, 1.0),
        # 4.4 a share are 55 ML and 10 make 65: 5 spill into the others' space
        (4.4, 20.0, 0.0, 95.0, 0.0, 5.0, 35.0, 1.0),
        # 30 + 8 are 38, but the others can hold 40 of 90: 12 spill in
        (2.4, 16.0, 0.0, 90.0, 12.0, 0.0, 40.0, 1.0),
        # the dam holds 19: higher classes drew on half of general security's 38
        (2.4, 20.0, 4.0, 19.0, 0.0, 0.0, 0.0, 0.5),
        # next to nothing, and nothing at all: no part of it is drawn on
        (0.04, 0.0, 0.0, 0.25, 0.0, 0.0, 0.0, 0.5),
        (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0),
    ],
)
def test_sharing_when_the_dam_is_shared_then_inflow_spill_and_draw_as_summed(
    account: float,
    inflow: float,
    took: float,
    above_dead: float,
    spilled_in: float,
    spilled_out: float,
    others: float,
    kept: float,
) -> None:
    """The sums stand beside each case."""
    found = capacity.share_out(one(account), one(inflow), one(took), one(above_dead), SHARE)
    assert found.before_ml == pytest.approx(account / 0.08)
    assert found.spilled_in_ml == pytest.approx(spilled_in)
    assert found.spilled_out_ml == pytest.approx(spilled_out)
    assert found.others_ml == pytest.approx(others)
    assert found.met.most_ml_per_share == pytest.approx(60.0 * 0.08)
    assert found.met.kept_frac == pytest.approx(kept)
    # general security's water before any draw, and after it
    held_ml = account / 0.08 + 0.5 * max(0.0, inflow - took) + spilled_in - spilled_out
    credited, left = _left(account, found)
    assert credited == pytest.approx(held_ml * 0.08 - account)
    assert left == pytest.approx(kept * held_ml * 0.08)


def _left(account: float, found: capacity.Sharing) -> tuple[np.ndarray, np.ndarray]:
    """Return what the average account is credited, and what is left of it."""
    credited, drawn = capacity.after_sharing(one(account), found.met)
    return credited, account + credited - drawn
