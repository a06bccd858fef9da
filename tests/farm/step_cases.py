"""Drought steps for tests: every kind, each asked for in some sequences and not in others."""

from __future__ import annotations

from typing import Any


def a_step(name: str, do: dict[str, Any], month: str = "October", **more: Any) -> dict[str, Any]:
    """Return a step as a plan states it; what is not a step's own key says when."""
    own = {key: more.pop(key) for key in ("how_often", "cost_aud") if key in more}
    return {"name": name, "when": {"month": month} | more, "do": do} | own


SPEND_LESS = [
    a_step("overheads", {"overheads_factor": 0.8}, "November", dam_below_frac=0.3),
    a_step(
        "drawings",
        {"drawings_factor": 0.7},
        "December",
        account_below_ml_per_share=0.4,
        how_often="yearly",
    ),
    a_step("job", {"off_farm_income_aud_per_year": 50_000.0}, "January", bank_below_aud=-100_000.0),
]
SELL = [
    a_step(
        "shares",
        {"sell_shares_ml": 1_000.0, "price_aud_per_share": 1_150.0, "repay_loan": "land"},
        "February",
        bank_below_aud=-200_000.0,
        cost_aud=9_000.0,
    ),
    a_step(
        "more shares",
        {"sell_shares_ml": 500.0, "price_aud_per_share": 1_100.0},
        "March",
        seasons_of_nothing=2,
    ),
    a_step(
        "machine",
        {"sell_machinery_aud": 90_000.0, "machinery_fetches_frac": 0.7},
        "October",
        arrears=True,
    ),
]
BANK = [
    a_step(
        "interest only",
        {"interest_only_years": 2, "loan": "land"},
        "November",
        nothing_announced=True,
        cost_aud=2_500.0,
    ),
    a_step(
        "deposit",
        {"draw_deposit_aud": 60_000.0},
        "May",
        bank_below_aud=0.0,
        how_often="yearly",
        cost_aud=100.0,
    ),
]
WATER = [
    a_step(
        "hire",
        {"hire_bore_ml": 150.0, "bore_aud_per_ml": 240.0},
        "October",
        account_below_ml_per_share=0.5,
        how_often="yearly",
    ),
    a_step("hire more", {"hire_bore_ml": 80.0, "bore_aud_per_ml": 300.0}, "December"),
    a_step(
        "sell water",
        {"sell_water_ml": 120.0, "at_least_aud_per_ml": 150.0},
        "September",
        how_often="yearly",
    ),
    a_step("buy water", {"buy_water_ml": 70.0, "at_most_aud_per_ml": 500.0}, "November"),
]
