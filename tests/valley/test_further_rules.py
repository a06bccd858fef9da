"""Whether the further rules of a valley keep what they promise, alone and together.

Valleys are made up at random, each with one to three of the rules; the slow scalar twin is the
reference for every number. `python -m tests.long.twin` holds thousands to it.
"""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings

from model.record.record import FloatArray
from model.valley.run import Month, run
from model.water_year import month_of_water_year
from tests.long.twin import check, rules_in
from tests.strategies import SEQUENCES, Case, cases, rarely_met

RANDOM_VALLEYS = 60
PROPERTY_VALLEYS = 40
OF_THROUGHPUT = 1e-9
RELEASES = (
    "essential_ml",
    "river_loss_ml",
    "base_flow_ml",
    "environment_ml",
    "high_security_ml",
    "general_security_ml",
    "delivery_loss_ml",
)


def throughput_ml(kept: dict[str, FloatArray]) -> FloatArray:
    """(sequence, month) what was there and what came."""
    return kept["storage_start_ml"] + kept["inflow_ml"] + np.abs(kept["net_evaporation_ml"]) + 1.0


@settings(max_examples=RANDOM_VALLEYS)
@given(cases(further=True))
def test_ledger_when_further_rules_are_on_then_it_agrees_with_the_scalar_twin(case: Case) -> None:
    """Every column, those of the rules among them, is that of the slow twin, to 1e-9."""
    assert 1 <= rules_in(case) <= 3
    check(case)


@settings(max_examples=PROPERTY_VALLEYS)
@given(cases(further=True))
def test_water_when_further_rules_are_on_then_every_balance_closes(case: Case) -> None:
    """Dam and account change by what came and went; general security's space never overfills."""
    kept = case.ledger()
    gone = kept["net_evaporation_ml"] + kept["spill_ml"]
    gone = gone + sum(kept[name] for name in RELEASES if name in kept)
    left_over = kept["storage_start_ml"] + kept["inflow_ml"] - gone - kept["storage_end_ml"]
    slack_ml = OF_THROUGHPUT * throughput_ml(kept)
    assert (np.abs(left_over) <= slack_ml).all()

    valley = case.raw["valley"]
    shares_ml = valley["general_security"]["shares_ml"]
    opening = np.full((SEQUENCES, 1), case.raw["opening"]["account_ml_per_share"])
    start = np.concatenate([opening, kept["account_ml_per_share"][:, :-1]], axis=1)
    lost = kept["forfeited_ml_per_share"] + kept["account_loss_ml_per_share"]
    used = kept["general_security_ml"] / shares_ml
    end = start + kept["credited_ml_per_share"] - lost - used
    np.testing.assert_allclose(kept["account_ml_per_share"], end, rtol=1e-9, atol=1e-9)

    if "capacity_sharing" in valley:
        above_dead_ml = np.maximum(0.0, kept["storage_end_ml"] - valley["dead_storage_ml"])
        own_ml = end * shares_ml / (1.0 - valley["delivery_loss_frac"])
        space_ml = valley["capacity_sharing"]["space_frac"] * (
            valley["capacity_ml"] - valley["dead_storage_ml"]
        )
        assert (own_ml <= space_ml + slack_ml).all()
        np.testing.assert_allclose(
            kept["higher_classes_water_ml"] + own_ml, above_dead_ml, rtol=0, atol=slack_ml.max()
        )


@settings(max_examples=PROPERTY_VALLEYS)
@given(cases(further=True))
def test_amounts_when_further_rules_are_on_then_none_is_negative(case: Case) -> None:
    """No account, allowance, carried or locked water and no credit is ever below 0, or too much."""
    valley = case.raw["valley"]
    for month in run(case.opening, case.forcing(), case.rules, case.first_month):
        end, fluxes = month.end, month.fluxes
        amounts = {
            "account": end.account_ml_per_share,
            "carried": end.carried_ml_per_share,
            "frozen": end.frozen_ml_per_share,
            "locked": fluxes.locked_ml_per_share,
            "allowance": end.environment_ml,
            "allowance released": fluxes.released.environment_ml,
            "allowance credited": fluxes.environment_credit_ml,
            "high security carried": end.high_security_carried_ml,
            "high security used": end.high_security_used_ml,
            "credited": fluxes.credited_ml_per_share,
            "loss": fluxes.account_loss_ml_per_share + 1e-12,
            "put off": fluxes.deferred_ml,
        }
        for name, values in amounts.items():
            assert (values >= 0.0).all(), name
        assert (end.carried_ml_per_share <= end.account_ml_per_share).all()
        above_dead_ml = np.maximum(0.0, end.storage_ml - valley["dead_storage_ml"])
        if "environment" in valley:
            assert (end.environment_ml <= above_dead_ml).all()
        assert (end.high_security_carried_ml <= valley["high_security"]["shares_ml"]).all()


def served_ml(month: Month) -> list[tuple[FloatArray, FloatArray]]:
    """What each class below base flow asked of the dam and got, the first in line first."""
    released, fluxes = month.fluxes.released, month.fluxes
    arrives_frac = 1.0 - released.delivery_loss_frac
    return [
        (fluxes.high_security_order_ml / arrives_frac, released.high_security_ml / arrives_frac),
        (
            fluxes.general_security_order_ml / arrives_frac,
            released.general_security_ml / arrives_frac,
        ),
    ]


@settings(max_examples=PROPERTY_VALLEYS)
@given(cases(further=True))
def test_supply_when_a_class_is_short_then_no_lower_class_is_served(case: Case) -> None:
    """Essential, river, base flow, the allowance, high and general security: strictly in order."""
    valley = case.raw["valley"]
    for month in run(case.opening, case.forcing(), case.rules, case.first_month):
        k, released = month_of_water_year(month.month), month.fluxes.released
        slack = OF_THROUGHPUT * (1.0 + month.fluxes.opening.storage_ml + 300.0)
        tributary_ml = month.fluxes.weather.tributary_ml
        river_ml, base_ml = valley["river_loss_ml"][k], valley["base_flow_ml"][k]
        release_ml = valley.get("environment", {}).get("release_ml", [0.0] * 12)[k]
        assessed = month.fluxes.assessed
        allowance_ml = assessed.environment_reserve_ml + assessed.environment_credit_ml
        in_line = [
            (np.full_like(slack, valley["essential_ml"][k]), released.essential_ml),
            (np.maximum(0.0, river_ml - tributary_ml), released.river_loss_ml),
            (np.clip(river_ml + base_ml - tributary_ml, 0.0, base_ml), released.base_flow_ml),
            (np.minimum(release_ml, allowance_ml), released.environment_ml),
            *served_ml(month),
        ]
        short = np.zeros(SEQUENCES, dtype=bool)
        for asked_ml, got_ml in in_line:
            assert (got_ml <= asked_ml + slack).all()
            assert (got_ml[short] <= slack[short]).all()
            short |= got_ml < asked_ml - slack


def reached(case: Case) -> set[str]:
    """The further rules that had something to do in a case, by name."""
    found: set[str] = set()
    for month in run(case.opening, case.forcing(), case.rules, case.first_month):
        fluxes, end = month.fluxes, month.end
        happened = {
            "an order is put off": fluxes.deferred_ml > 0.0,
            "the fixed loss is met": fluxes.released.fixed_loss_ml > 0.0,
            "a stage restricts": end.restriction_stage > 0,
            "a deeper stage is reached": end.restriction_stage > 1,
            "the environment is credited": fluxes.environment_credit_ml > 0.0,
            "the environment releases": fluxes.released.environment_ml > 0.0,
            "high security uses carried water": end.high_security_carried_ml
            < fluxes.opening.high_security_carried_ml,
            "carried water is locked": fluxes.locked_ml_per_share > 0.0,
            "the lock opens": fluxes.start.lock_closed & ~end.lock_closed,
        }
        if (sharing := fluxes.sharing) is not None:
            happened |= {
                "a full space spills in": sharing.spilled_in_ml > 1e-6,
                "a full space spills out": sharing.spilled_out_ml > 1e-6,
                "higher classes draw on shared water": sharing.met.kept_frac < 1.0,
            }
        if month.fluxes.access.staged is not None:
            staged = month.fluxes.access.staged
            happened["a stage freezes carried water"] = staged.freezes_carried & (
                staged.frozen_frac > 0.0
            )
        found |= {name for name, where in happened.items() if where.any()}
    return found


def test_cases_when_drawn_then_every_further_rule_has_something_to_do() -> None:
    """The properties are not kept for want of a case."""
    expected = {
        "an order is put off",
        "the fixed loss is met",
        "a stage restricts",
        "a deeper stage is reached",
        "a stage freezes carried water",
        "the environment is credited",
        "the environment releases",
        "high security uses carried water",
        "carried water is locked",
        "the lock opens",
        "a full space spills in",
        "a full space spills out",
        "higher classes draw on shared water",
    }
    rare = rarely_met(cases(further=True), reached, expected)
    assert not rare, rare
