"""One set of functions for every account: any shape of holders gives what each gives alone.

The hand-worked cases of each rule stand in `test_twin`, `test_rules` and the reference ledgers.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.plan.text import check_plan
from model.valley import access, accounts
from model.valley.rules import Rules, rules_of
from model.valley.state import Account
from tests.textbook_dam import record_of_months, textbook_plan

HOLDERS, STRATEGIES, SEQUENCES = 2, 3, 5


@pytest.fixture(name="rules")
def _rules() -> Rules:
    """Rules with every limit of an account."""
    raw = textbook_plan(100.0, general_security_ml=10.0).model_dump(exclude_none=True)
    raw["valley"]["access"] = {"restriction_trigger_frac": 0.5, "restriction_access_frac": 0.4}
    raw["valley"]["accounts"] |= {
        "account_limit_ml_per_share": 1.2,
        "carryover_limit_ml_per_share": 0.5,
        "carryover_loss_frac": 0.1,
        "use_limit_1yr_ml_per_share": 0.8,
        "use_limit_3yr_ml_per_share": 1.9,
        "spill_rule": "carried_first",
    }
    return rules_of(check_plan(raw, "accounts").valley, record_of_months([0.0] * 12))


def holders(shape: tuple[int, ...]) -> Account:
    """Accounts made up at random."""
    rng = np.random.default_rng(20)
    account = rng.uniform(0.0, 1.2, shape)
    used = [rng.uniform(0.0, 0.9, shape) for _ in range(3)]
    return Account(account, account * rng.uniform(0.0, 1.0, shape), *used, account * 0.2)


def through_a_month(
    holder: Account, met: dict[str, np.ndarray], rules: Rules
) -> dict[str, np.ndarray]:
    """All that the functions do to an account, one after the other."""
    account = holder.account_ml_per_share
    over = accounts.carried_over(account, rules)
    credit = accounts.credited_ml_per_share(met["announced"], account, rules)
    reach = access.Access(met["restricted"], met["was_restricted"])
    carried = holder.carried_ml_per_share
    frozen = access.frozen_ml_per_share(
        holder.frozen_ml_per_share, account + credit, carried, reach, rules
    )
    usable = accounts.usable_ml_per_share(holder, account + credit, frozen, rules)
    left = account + credit - usable / 2.0
    carried = access.carried_after_use(carried, usable / 2.0, frozen, reach)
    spill = accounts.spill_terms(met["carried"], met["spill_ml"], rules)
    end, carried_end = accounts.after_spill(left, carried, spill)
    return {
        "carried over": over.carried_ml_per_share,
        "forfeited": over.forfeited_ml_per_share,
        "lost": over.lost_ml_per_share,
        "credit": credit,
        "frozen": np.asarray(frozen),
        "use left": accounts.use_left_ml_per_share(holder, rules),
        "usable": usable,
        "end": end,
        "carried": carried_end,
    }


@pytest.fixture(name="met")
def _met() -> dict[str, np.ndarray]:
    """What a month brings to all holders, (sequence,)."""
    rng = np.random.default_rng(7)
    return {
        "announced": rng.uniform(0.0, 0.6, SEQUENCES),
        "restricted": np.array([True, True, False, True, False]),
        "was_restricted": np.array([True, False, True, False, False]),
        "carried": np.array([0.2, 0.0, 0.3, 0.1, 0.4]),
        "spill_ml": np.array([1.0, 2.0, 0.0, 5.0, 0.5]),
    }


def test_accounts_when_holders_stand_in_any_shape_then_each_is_as_if_alone(
    rules: Rules, met: dict[str, np.ndarray]
) -> None:
    """(holder, strategy, sequence) gives, place by place, what (sequence,) gives."""
    shape = (HOLDERS, STRATEGIES, SEQUENCES)
    together, all_holders = through_a_month(holders(shape), met, rules), holders(shape)
    names = Account.__dataclass_fields__
    for place in np.ndindex(HOLDERS, STRATEGIES):
        one = Account(*(getattr(all_holders, name)[place] for name in names))
        for name, values in through_a_month(one, met, rules).items():
            assert together[name].shape == shape
            np.testing.assert_array_equal(together[name][place], values, err_msg=name)


def test_accounts_when_a_month_passes_then_arguments_stay_as_they_were(
    rules: Rules, met: dict[str, np.ndarray]
) -> None:
    """The functions write to nothing that they are given."""
    one = holders((STRATEGIES, SEQUENCES))
    names = Account.__dataclass_fields__
    before = {name: getattr(one, name).copy() for name in names}
    through_a_month(one, met, rules)
    for name, values in before.items():
        np.testing.assert_array_equal(getattr(one, name), values)


@pytest.mark.parametrize(
    ("carried", "spill_ml", "fraction"),
    [
        (0.2, 1.0, 0.5),  # 1.0 ML over 10 shares is 0.1 of the 0.2 carried
        (0.2, 5.0, 1.0),  # more than all
        (0.0, 1.0, 1.0),  # none left to the average holder: others lose all of theirs
        (0.2, 0.0, 0.0),
    ],
)
def test_spill_when_carried_water_goes_first_then_all_holders_lose_that_fraction(
    rules: Rules, carried: float, spill_ml: float, fraction: float
) -> None:
    """Worked by hand: no delivery loss, 10 ML of shares."""
    terms = accounts.spill_terms(np.array([carried, 0.1]), np.array([spill_ml, 0.5]), rules)
    assert terms is not None
    assert terms.carried_frac is not None
    assert terms.carried_frac[0] == pytest.approx(fraction, abs=1e-15)


def test_carryover_when_july_comes_then_limit_and_loss_apply(rules: Rules) -> None:
    """Of 0.7, 0.5 is carried, a tenth of it lost; 0.2 is forfeited."""
    over = accounts.carried_over(np.array([0.7]), rules)
    assert over.forfeited_ml_per_share == pytest.approx(0.2)
    assert over.lost_ml_per_share == pytest.approx(0.05)
    assert over.carried_ml_per_share == pytest.approx(0.45)


def test_rules_of_accounts_when_taken_alone_then_they_make_another_holders(rules: Rules) -> None:
    """Every rule of accounts is handed on by its own name."""
    handed = rules.of_accounts()
    assert replace(rules, **handed) == rules
    assert handed["use_limit_3yr_ml_per_share"] == 1.9
