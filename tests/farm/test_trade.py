"""Is yearly water bought and sold as the strategy says, and no more than the market offers?"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from model.farm.price import Market
from model.farm.setting import FarmSetting
from model.water_year import MONTH_NAMES
from tests.farm_case import REMOVED, farm_case, farm_months

BUYS: dict[str, Any] = {
    "strategies.0.buy_up_to_ml": 5_000.0,
    "strategies.0.buy_below_aud_per_ml": 10_000.0,
    "strategies.0.buy_months": ["August", "December", "June"],
    "strategies.1.sell_months": ["August", "April", "June"],
    "strategies.1.sell_above_aud_per_ml": 0.0,
    "strategies.1.sell_keep_ml_per_share": 0.0,
    "strategies.1.buy_up_to_ml": 0.0,
}


def market_of(setting: FarmSetting) -> Market:
    """Return the farm's market."""
    assert setting.rules.market is not None
    return setting.rules.market


def test_trade_when_the_season_is_long_then_never_more_than_the_market_offers() -> None:
    """A tenth of 3,000 shares, bought and sold apart, begun anew each July."""
    setting = farm_case(BUYS | {"opening.month": "2025-07"})
    assert market_of(setting).most_ml_per_season == pytest.approx(300.0)
    bought: dict[int, Any] = {}
    sold: dict[int, Any] = {}
    for month in farm_months(setting)[1]:
        season, traded = month.river.season, month.fluxes.traded
        bought[season] = bought.get(season, 0.0) + traded.bought_ml
        sold[season] = sold.get(season, 0.0) + traded.sold_ml
        assert month.end.bought_ml == pytest.approx(bought[season])
        assert month.end.sold_ml == pytest.approx(sold[season])
    for volume in (*bought.values(), *sold.values()):
        assert volume.max() <= 300.0 + 1e-9
    assert max(volume[0].max() for volume in bought.values()) == pytest.approx(300.0)
    assert max(volume[1].max() for volume in sold.values()) == pytest.approx(300.0)


def test_trade_when_months_are_named_then_only_in_them() -> None:
    """Strategy 0 buys in three months, strategy 1 sells in three, and no other."""
    setting = farm_case(BUYS)
    buying = {MONTH_NAMES.index(name) for name in ("August", "December", "June")}
    selling = {MONTH_NAMES.index(name) for name in ("August", "April", "June")}
    reached = set()
    for month in farm_months(setting)[1]:
        traded, k = month.fluxes.traded, month.river.k
        if traded.bought_ml[0].any():
            reached.add(("buy", k))
        if traded.sold_ml[1].any():
            reached.add(("sell", k))
    assert {k for what, k in reached if what == "buy"} <= buying
    assert {k for what, k in reached if what == "sell"} <= selling
    assert len(reached) > 3


def test_trade_when_the_spread_is_wide_then_buyer_and_seller_bear_half_each() -> None:
    """At a price of 100, a spread of 0.2 and a fee of 3: 113 paid, 87 got."""
    setting = farm_case({"farm.trade.spread_frac": 0.2, "farm.trade.fee_aud_per_ml": 3.0})
    market, price = market_of(setting), np.array([100.0, 2.0])
    assert market.paid_aud_per_ml(price) == pytest.approx([113.0, 5.2])
    assert market.got_aud_per_ml(price) == pytest.approx([87.0, 0.0])


def test_trade_when_bought_and_sold_then_the_money_is_what_it_costs() -> None:
    """Income and costs hold each megalitre at what was paid or got for it in its month."""
    setting = farm_case(BUYS)
    market = market_of(setting)
    for month in farm_months(setting)[1]:
        traded, price = month.fluxes.traded, month.river.price_aud_per_ml
        assert traded.paid_aud == pytest.approx(traded.bought_ml * market.paid_aud_per_ml(price))
        assert traded.got_aud == pytest.approx(traded.sold_ml * market.got_aud_per_ml(price))
        assert month.fluxes.cash.trade_aud == pytest.approx(traded.got_aud - traded.paid_aud)


def test_trade_when_asked_for_at_once_then_in_the_first_month_at_any_price() -> None:
    """120 ML asked for and 90 sold; of 300 a season, 250 were bought before today."""
    setting = farm_case(
        {
            "opening.account_ml_per_share": 0.3,
            "farm.opening.bought_this_year_ml": 250.0,
            "strategies.0.buy_now_ml": 120.0,
            "strategies.1.sell_now_ml": 90.0,
            "strategies.1.buy_up_to_ml": 0.0,
        }
    )
    opening, months = farm_months(setting)
    first = months[0].fluxes.traded
    assert first.bought_ml[0] == pytest.approx(50.0)  # 300 a season, 250 of it before today
    assert first.sold_ml[1] == pytest.approx(90.0)
    assert opening.bought_ml == pytest.approx(250.0)
    assert not months[1].fluxes.traded.bought_ml[0].any()


def test_buying_when_a_crop_stands_then_no_more_than_it_lacks() -> None:
    """In December a farm buys what its crop is likely to lack beside what is in the account."""
    setting = farm_case(
        BUYS
        | {
            "strategies.0.buy_months": ["December"],
            "farm.trade.most_ml_per_season": 5_000.0,
            "opening.storage_ml": 60_000.0,
        }
    )
    bought = np.concatenate(
        [
            month.fluxes.traded.bought_ml[0]
            for month in farm_months(setting)[1]
            if month.river.k == MONTH_NAMES.index("December")
        ]
    )
    assert (bought == 0.0).any()
    assert (bought > 0.0).any()
    assert bought.max() < 3_000.0


def test_trade_when_the_farm_has_no_market_then_nothing_moves() -> None:
    """Without [farm.trade] nothing is bought or sold, whatever a strategy asks for."""
    setting = farm_case(BUYS | {"farm.trade": REMOVED, "strategies.0.buy_now_ml": 50.0})
    for month in farm_months(setting)[1]:
        traded = month.fluxes.traded
        assert not traded.bought_ml.any()
        assert not traded.sold_ml.any()
        assert not month.river.price_aud_per_ml.any()
    assert setting.prices_met() is None


def test_price_when_met_in_a_run_then_its_median_stands_beside_the_plans() -> None:
    """The median over months and sequences, before the month's factor; a far reference is told."""
    setting = farm_case({"opening.month": "2025-07"})
    met = setting.prices_met()
    assert met is not None
    market, river = market_of(setting), setting.river(setting.valley.first_sequences(200))
    before = [m.price_aud_per_ml / market.price.by_month[m.k] for m in river]
    assert met.median_aud_per_ml == pytest.approx(np.median(np.concatenate(before)))
    july = np.concatenate([p for m, p in zip(river, before, strict=True) if m.k == 0])
    assert met.by_month_aud_per_ml[0] == pytest.approx(np.median(july))
    far = farm_case({"farm.trade.reference_supply_ml_per_share": 6.0}).prices_met()
    assert far is not None
    assert not far.is_near
