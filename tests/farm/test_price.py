"""Does yearly water cost what the season's supply makes it cost?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.farm.price import (
    CARRIED_BY_MONTH,
    FORFEITED_BY_MONTH,
    KnownSupply,
    PriceRules,
    SeasonSupply,
    in_middle_months,
    price_aud_per_ml,
)

RULES = PriceRules(
    reference_aud_per_ml=150.0,
    reference_supply_ml_per_share=0.6,
    scarcity_exponent=1.0,
    lowest_aud_per_ml=50.0,
    highest_aud_per_ml=650.0,
    by_month=np.array(CARRIED_BY_MONTH),
    dry_middle_wet_aud_per_ml=None,
)
LINE = np.array([0.1, -0.05, 0.8])


def known(account: float, used: float, in_dam: float, announced: float = 0.0) -> KnownSupply:
    """Return what is known of one sequence: account, used of it, dam above dead storage."""
    return KnownSupply(
        credited=np.array([account + used]),
        uncommitted=np.array([max(0.0, in_dam - account)]),
        announced_to_date=np.array([announced]),
    )


def test_price_when_the_supply_halves_at_exponent_one_then_doubles() -> None:
    """Row P1: an elasticity of -1 within the bounds."""
    once, twice = price_aud_per_ml(np.array([0.8, 0.4]), 3, RULES)
    assert twice == pytest.approx(2.0 * once, rel=1e-12)


def test_price_when_water_is_used_then_the_same() -> None:
    """Row P2: account 0.5 and used 0.1 costs what 0.1 and 0.5 costs, the dam let down by use."""
    supply = SeasonSupply({5: LINE}, 1.2, None)
    before = supply.ml_per_share(known(0.5, 0.1, in_dam=0.9), 5)
    after = supply.ml_per_share(known(0.1, 0.5, in_dam=0.5), 5)
    assert before == pytest.approx(after, rel=1e-12)
    assert price_aud_per_ml(before, 5, RULES) == pytest.approx(
        price_aud_per_ml(after, 5, RULES), rel=1e-12
    )


def test_supply_when_the_line_passes_the_cap_then_no_more_than_the_rules_allow() -> None:
    """1.2 a share may be announced in a year, of which 1.1 has been: 0.1 is left to come."""
    supply = SeasonSupply({0: LINE}, 1.2, None)
    found = supply.ml_per_share(known(0.4, 0.0, in_dam=5.0, announced=1.1), 0)
    assert found == pytest.approx([0.5], abs=1e-12)


def test_supply_when_the_line_falls_below_nothing_then_what_is_credited() -> None:
    """A line drawn through wet seasons may pass below 0 in a dry one: nothing is taken back."""
    supply = SeasonSupply({0: np.array([-0.5, 0.0, 0.1])}, 1.2, None)
    assert supply.ml_per_share(known(0.3, 0.1, in_dam=0.5), 0) == pytest.approx([0.4], abs=1e-12)


def test_supply_when_it_is_june_then_what_is_credited_alone() -> None:
    """Nothing more comes in the season's last month."""
    supply = SeasonSupply({}, 1.2, None)
    assert supply.ml_per_share(known(0.3, 0.2, in_dam=2.0), 11).tolist() == [0.5]


def test_price_when_supply_is_nothing_or_plenty_then_within_its_bounds() -> None:
    """The bounds hold before the factor of the month."""
    price = in_middle_months(np.array([0.0, 100.0]), RULES)
    assert price.tolist() == [650.0, 50.0]


def test_price_when_the_month_is_late_then_its_factor_applies() -> None:
    """A megalitre of June that may be carried is worth four fifths of July's."""
    july, june = (price_aud_per_ml(np.array([0.6]), k, RULES)[0] for k in (0, 11))
    assert june == pytest.approx(0.8 * july, rel=1e-12)
    lost = replace(RULES, by_month=np.array(FORFEITED_BY_MONTH))
    assert price_aud_per_ml(np.array([0.6]), 11, lost)[0] == pytest.approx(0.3 * july, rel=1e-12)


def test_price_when_the_user_states_three_then_they_are_met_at_their_seasons() -> None:
    """The user's own dry, middle and wet prices, straight between and flat beyond."""
    own = replace(RULES, dry_middle_wet_aud_per_ml=np.array([400.0, 160.0, 60.0]))
    supply = np.array([0.0, 0.2, 0.35, 0.5, 1.0, 2.0])
    found = price_aud_per_ml(supply, 0, own, np.array([0.2, 0.5, 1.0]))
    assert found == pytest.approx([400.0, 400.0, 280.0, 160.0, 60.0, 60.0])
