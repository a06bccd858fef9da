"""Are a farm's money, market and risk refused where they cannot be meant?"""

from __future__ import annotations

from typing import Any

import pytest

from model.errors import PlanError
from tests.farm_case import farm_plan

PAST = {"past_yields_units_per_ha": [10.0, 12.0, 9.0]}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"farm.trade.dry_middle_wet_aud_per_ml": [60.0, 150.0, 400.0]},
            "a wetter season is dearer",
        ),
        ({"farm.trade.dry_middle_wet_aud_per_ml": [400.0, 150.0]}, "dry_middle_wet"),
        ({"farm.trade.price_by_month": [1.0] * 11}, "price_by_month"),
        ({"farm.trade.price_by_month": [1.0] * 11 + [0.0]}, "price_by_month"),
        ({"farm.trade.spread_frac": 1.5}, "spread_frac"),
        ({"farm.trade.most_ml_per_season": -1.0}, "most_ml_per_season"),
        ({"farm.money.tax_rate_frac": 30.0}, "tax_rate_frac"),
        ({"strategies.0.buy_months": ["Smarch"]}, "buy_months"),
        ({"strategies.0.hold_above_ml_per_share": -0.1}, "hold_above"),
        (
            {
                "farm.risk": [
                    {"crop": "barley", **PAST, "past_prices_aud_per_unit": [1.0, 2.0, 3.0]}
                ]
            },
            "no crop is called barley",
        ),
        ({"farm.risk": [{"crop": "cotton", **PAST}]}, "past years need both"),
        (
            {"farm.risk": [{"crop": "cotton", **PAST, "past_prices_aud_per_unit": [500.0] * 4}]},
            "past years need both",
        ),
        ({"farm.risk": [{"crop": "cotton"}]}, "it does not say how they vary"),
        (
            {
                "farm.risk": [
                    {"crop": "cotton", "prices_10_50_90_aud_per_unit": [600.0, 500.0, 700.0]}
                ]
            },
            "the three do not rise",
        ),
    ],
)
def test_plan_when_money_cannot_be_meant_then_refused_by_name(
    changes: dict[str, Any], words: str
) -> None:
    """Each fault is named by its key, with what is allowed."""
    with pytest.raises(PlanError) as refused:
        farm_plan(changes)
    assert words in str(refused.value)


def test_plan_when_several_things_are_wrong_then_all_are_named() -> None:
    """All at once, not one after the other."""
    with pytest.raises(PlanError) as refused:
        farm_plan(
            {
                "farm.trade.spread_frac": 2.0,
                "farm.money.bank_margin_kept_aud": -5.0,
                "strategies.1.sell_months": ["Junuary"],
            }
        )
    for key in ("spread_frac", "bank_margin_kept_aud", "sell_months"):
        assert key in str(refused.value)


def test_strategy_when_it_names_one_month_to_sell_then_read_as_a_list() -> None:
    """Plans written before there were several months to sell in still open."""
    plan = farm_plan({"strategies.0.sell_month": "April"})
    assert plan.strategies[0].sell_months == ("April",)
    assert plan.strategies[1].sell_months == ("February",)
