"""Whether the valley keeps what its rules promise, whatever the plan and the weather.

Plans and records are made up at random by `strategies`, every rule of the scheme among them. The
slow scalar twin in `valley_twin` is the reference for every number; the other properties say what
must hold of any valley, without a second program.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from dataclasses import fields, is_dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from model.outlook.outlook import play_sequences, setting_of
from model.plan.plan import Plan
from model.plan.text import check_plan
from model.record.record import FloatArray, Record
from model.valley.rules import Rules
from model.valley.run import Month, run
from model.valley.step import step
from model.water_year import format_month, month_of_water_year
from tests import valley_twin
from tests.a_ledger import ledger
from tests.strategies import (
    MONTHS,
    SEQUENCES,
    Case,
    RawPlan,
    cases,
    rarely_met,
    raw_plans,
    record_of,
    records,
)
from tests.textbook_dam import record_of_years, textbook_plan

PROMISED_VALLEYS = 100
OTHERWISE_VALLEYS = 40
"""Valleys drawn for all promises at once, and for what is asked of two runs that differ."""

OF_THROUGHPUT = 1e-9
RELEASES = (
    "essential_ml",
    "river_loss_ml",
    "base_flow_ml",
    "high_security_ml",
    "general_security_ml",
    "delivery_loss_ml",
)


def throughput_ml(kept: dict[str, FloatArray]) -> FloatArray:
    """(sequence, month) what was there and what came."""
    return kept["storage_start_ml"] + kept["inflow_ml"] + np.abs(kept["net_evaporation_ml"]) + 1.0


def months_of(case: Case) -> list[Month]:
    """Every month of a case."""
    if isinstance(case, Played):
        return case.played
    return list(run(case.opening, case.forcing(), case.rules, case.first_month))


class Played(Case):
    """A case whose runs are shared by all that is asked of it."""

    @cached_property
    def plan(self) -> Plan:
        """The plan, checked once."""
        return super().plan

    @cached_property
    def rules(self) -> Rules:
        """Its rules, made once."""
        return super().rules

    @cached_property
    def played(self) -> list[Month]:
        """Every month, run once."""
        return list(run(self.opening, self.forcing(), self.rules, self.first_month))

    @cached_property
    def _kept(self) -> dict[str, FloatArray]:
        return super().ledger()

    def ledger(self) -> dict[str, FloatArray]:
        """The whole ledger, written once."""
        return self._kept


PROMISES: list[Callable[[Case], None]] = []
"""What must hold of any run of any plan: asked of each case, which is run once for all of them."""


def promise(check: Callable[[Case], None]) -> Callable[[Case], None]:
    """Have this asked of every case."""
    PROMISES.append(check)
    return check


# --- What comes in goes somewhere ------------------------------------------------------------


@promise
def water_when_any_month_passes_then_the_balance_closes(case: Case) -> None:
    """Storage changes by inflow less evaporation, releases and spill, to 1e-9 of the throughput."""
    kept = case.ledger()
    gone = kept["net_evaporation_ml"] + kept["spill_ml"] + sum(kept[name] for name in RELEASES)
    left_over = kept["storage_start_ml"] + kept["inflow_ml"] - gone - kept["storage_end_ml"]
    assert (np.abs(left_over) <= OF_THROUGHPUT * throughput_ml(kept)).all()


@promise
def storage_when_any_month_passes_then_one_months_end_is_the_next_ones_start(
    case: Case,
) -> None:
    """No water comes or goes between two months, or before the first."""
    kept = case.ledger()
    np.testing.assert_array_equal(kept["storage_start_ml"][:, 1:], kept["storage_end_ml"][:, :-1])
    assert (kept["storage_start_ml"][:, 0] == case.raw["opening"]["storage_ml"]).all()


@promise
def storage_when_any_month_passes_then_it_stays_within_its_bounds(case: Case) -> None:
    """The dam is never above capacity, and no release draws it below dead storage."""
    kept = case.ledger()
    valley, slack = case.raw["valley"], OF_THROUGHPUT * throughput_ml(kept)
    assert (kept["storage_end_ml"] >= 0.0).all()
    assert (kept["storage_end_ml"] <= valley["capacity_ml"]).all()
    released = sum(kept[name] for name in RELEASES)
    assert all((kept[name] >= 0.0).all() for name in (*RELEASES, "spill_ml", "uncontrolled_ml"))
    below_dead = kept["storage_end_ml"] < valley["dead_storage_ml"] - slack
    assert (released[below_dead] <= slack[below_dead]).all()


# --- Accounts --------------------------------------------------------------------------------


@promise
def accounts_when_any_month_passes_then_they_stay_within_their_limits(case: Case) -> None:
    """An account is never negative nor above its limit; carried and frozen water are part of it."""
    limit = case.raw["valley"]["accounts"].get("account_limit_ml_per_share", np.inf)
    for month in months_of(case):
        before, end = month.fluxes.account_before_orders_ml_per_share, month.end
        for account in (before, end.account_ml_per_share):
            assert (account >= 0.0).all()
            assert (account <= limit * (1.0 + 1e-12)).all()
        assert (end.carried_ml_per_share >= 0.0).all()
        assert (end.carried_ml_per_share <= end.account_ml_per_share).all()
        assert (end.frozen_ml_per_share >= 0.0).all()
        assert (end.frozen_ml_per_share <= before).all()


@promise
def accounts_when_any_month_passes_then_their_own_balance_closes(case: Case) -> None:
    """An account changes by what is credited, less forfeits, losses and use."""
    kept = case.ledger()
    shares_ml = case.raw["valley"]["general_security"]["shares_ml"]
    opening = np.full((SEQUENCES, 1), case.raw["opening"]["account_ml_per_share"])
    start = np.concatenate([opening, kept["account_ml_per_share"][:, :-1]], axis=1)
    gone = (
        kept["forfeited_ml_per_share"]
        + kept["account_loss_ml_per_share"]
        + kept["general_security_ml"] / shares_ml
    )
    end = start + kept["credited_ml_per_share"] - gone
    np.testing.assert_allclose(kept["account_ml_per_share"], end, rtol=1e-9, atol=1e-9)


@promise
def use_when_any_month_passes_then_its_limits_are_kept(case: Case) -> None:
    """No water is used beyond the limits of one and of three years, or above full allocation."""
    valley, opening = case.raw["valley"], case.raw["opening"]
    one_year = valley["accounts"].get("use_limit_1yr_ml_per_share", np.inf)
    three_years = valley["accounts"].get("use_limit_3yr_ml_per_share", np.inf)
    cap = valley["accounts"].get("allocation_cap_ml_per_share", np.inf)
    for month in months_of(case):
        end, used = month.end, month.end.used_this_year_ml_per_share
        total = used + end.used_last_year_ml_per_share + end.used_year_before_ml_per_share
        orders = month.fluxes.released.general_security_ml > 0.0
        assert (used[orders] <= one_year + 1e-9).all()
        assert (total[orders] <= three_years + 1e-9).all()
        assert (
            end.announced_to_date_ml_per_share
            <= max(cap, opening["announced_to_date_ml_per_share"]) + 1e-9
        ).all()
        assert (
            end.high_security_used_ml <= valley["high_security"]["shares_ml"] * (1.0 + 1e-12)
        ).all()


# --- Priority --------------------------------------------------------------------------------


def wanted_ml(month: Month, raw: RawPlan) -> list[tuple[FloatArray, FloatArray]]:
    """What each class asked of the dam in a month and what it got, the first in line first.

    Worked out from the plan as written; licences at the dam, that is with their delivery loss.
    """
    valley, fluxes = raw["valley"], month.fluxes
    k, released, opening = month_of_water_year(month.month), fluxes.released, fluxes.opening
    arrives_frac = 1.0 - valley["delivery_loss_frac"]
    tributary_ml = fluxes.weather.tributary_ml
    river_ml, base_ml = valley["river_loss_ml"][k], valley["base_flow_ml"][k]

    high, general = valley["high_security"], valley["general_security"]
    entitled_ml = month.end.high_security_allocation_frac * high["shares_ml"]
    high_ml = np.minimum(
        high["shares_ml"] * high["pattern"][k], entitled_ml - opening.high_security_used_ml
    )
    account, accounts = fluxes.account_before_orders_ml_per_share, valley["accounts"]
    ahead = sum(general["pattern"][k:])
    share = general["pattern"][k] / ahead if ahead > 0.0 else 0.0
    used = opening.used_this_year_ml_per_share
    used_3yr = used + opening.used_last_year_ml_per_share + opening.used_year_before_ml_per_share
    kept = np.clip(
        account + used - general["others_keep_above_ml_per_share"],
        0.0,
        general["others_keep_ml_per_share"],
    )
    general_ml = general["shares_ml"] * np.minimum.reduce(
        [
            np.maximum(0.0, account - kept) * share,
            account - month.end.frozen_ml_per_share,
            accounts.get("use_limit_1yr_ml_per_share", np.inf) - used,
            accounts.get("use_limit_3yr_ml_per_share", np.inf) - used_3yr,
        ]
    )
    return [
        (np.full_like(account, valley["essential_ml"][k]), released.essential_ml),
        (np.maximum(0.0, river_ml - tributary_ml), released.river_loss_ml),
        (np.clip(river_ml + base_ml - tributary_ml, 0.0, base_ml), released.base_flow_ml),
        (np.maximum(0.0, high_ml) / arrives_frac, released.high_security_ml / arrives_frac),
        (np.maximum(0.0, general_ml) / arrives_frac, released.general_security_ml / arrives_frac),
    ]


@promise
def supply_when_a_class_is_short_then_no_lower_class_is_served(case: Case) -> None:
    """In a month in which one class gets less than it asked for, those behind it get nothing."""
    for month in months_of(case):
        slack = OF_THROUGHPUT * (1.0 + month.fluxes.opening.storage_ml + 300.0)
        short_before = np.zeros(SEQUENCES, dtype=bool)
        for asked_ml, got_ml in wanted_ml(month, case.raw):
            assert (got_ml <= asked_ml + slack).all()
            assert (got_ml[short_before] <= slack[short_before]).all()
            short_before |= got_ml < asked_ml - slack


@promise
def supply_when_a_class_is_short_then_the_dam_is_at_dead_storage(case: Case) -> None:
    """Nobody goes short while the dam holds water that its outlet could release."""
    dead_ml = case.raw["valley"]["dead_storage_ml"]
    for month in months_of(case):
        slack = OF_THROUGHPUT * (1.0 + month.fluxes.opening.storage_ml + 300.0)
        for asked_ml, got_ml in wanted_ml(month, case.raw):
            short = got_ml < asked_ml - slack
            assert (month.end.storage_ml[short] <= dead_ml + slack[short]).all()


# --- More water, other units, no spread ------------------------------------------------------


@settings(max_examples=OTHERWISE_VALLEYS)
@given(cases(), st.integers(0, MONTHS - 1), st.integers(1, 4_000).map(lambda ml: ml / 10))
def test_storage_when_more_comes_in_a_month_then_that_months_end_is_no_lower(
    case: Case, t: int, more_ml: float
) -> None:
    """More inflow in one month never lowers that month's closing storage, nor any supply."""
    plain = case.forcing()
    row = plain.inflow_ml.size  # one more row, for that month alone
    rows = plain.rows.copy()
    rows[:, t] = row
    wetter = replace(
        plain,
        rows=rows[:1],
        inflow_ml=np.append(plain.inflow_ml, plain.inflow_ml[plain.rows[0, t]] + more_ml),
        tributary_ml=np.append(plain.tributary_ml, plain.tributary_ml[plain.rows[0, t]]),
        net_evaporation_mm=np.append(
            plain.net_evaporation_mm, plain.net_evaporation_mm[plain.rows[0, t]]
        ),
    )
    one = Case(case.raw, case.record, case.rows[:1])
    before = one.ledger()
    after = ledger(one.opening, wetter, one.rules, one.first_month)
    slack = OF_THROUGHPUT * (throughput_ml(before)[0, t] + more_ml)
    for name in ("storage_end_ml", "spill_ml", *RELEASES):
        assert after[name][0, t] >= before[name][0, t] - slack, name
    np.testing.assert_array_equal(
        after["announced_ml_per_share"][:, : t + 1], before["announced_ml_per_share"][:, : t + 1]
    )


def scaled(case: Case, factor: float) -> Case:
    """The same case with every volume and every surface times a factor."""
    raw = deepcopy(case.raw)
    valley, opening = raw["valley"], raw["opening"]
    for name in ("surface_storage_ml", "surface_area_ha", "essential_ml", "river_loss_ml"):
        valley[name] = [factor * value for value in valley[name]]
    for name in ("base_flow_ml", "tributary_ml"):
        valley[name] = [factor * value for value in valley[name]]
    places: list[tuple[dict[str, Any], str]] = [
        (valley, "capacity_ml"),
        (valley, "dead_storage_ml"),
        (valley["high_security"], "shares_ml"),
        (valley["general_security"], "shares_ml"),
        (valley["assessment"], "assured_fixed_ml_per_month"),
        (opening, "storage_ml"),
        (opening, "high_security_used_ml"),
    ]
    for table, name in places:
        if name in table:
            table[name] *= factor
    observed = {
        name: values * (factor if name.endswith("_ml") else 1.0)
        for name, values in case.record.columns.items()
    }
    return Case(raw, record_of(case.record.inflow_ml * factor, observed), case.rows)


@settings(max_examples=OTHERWISE_VALLEYS)
@given(cases(), st.sampled_from([0.125, 2.0, 1024.0]))
def test_results_when_all_volumes_are_scaled_then_they_scale_too(case: Case, factor: float) -> None:
    """Volumes come out times the factor, and nothing else moves.

    Factors are powers of 2, so that rounding scales too and no rule is crossed by a last digit.
    """
    plain, other = case.ledger(), scaled(case, factor).ledger()
    for name, values in plain.items():
        by = factor if name.endswith("_ml") else 1.0
        np.testing.assert_allclose(other[name], by * values, rtol=1e-12, atol=1e-12, err_msg=name)


DRAWINGS = st.one_of(
    st.just({"method": "historical"}),
    st.builds(
        lambda kind, years, seed: (
            {
                "method": "blocks",
                "kind": kind,
                "seed": seed,
                "count": 12,
            }
            | ({} if years is None else {"block_years": float(years)})
        ),
        st.sampled_from(["independent", "circular", "moving", "stationary"]),
        st.one_of(st.none(), st.integers(1, 6)),
        st.integers(0, 1_000),
    ),
)


def each_season(raw: RawPlan, record: Record) -> dict[str, FloatArray]:
    """All results of an outlook's sequences, each (sequence, season)."""
    _, results = play_sequences(setting_of(check_plan(raw, "any"), record))
    return dict(results.values)


@settings(max_examples=OTHERWISE_VALLEYS)
@given(raw_plans(), records(years=20, alike=True), DRAWINGS)
def test_sequences_when_all_years_are_alike_then_results_have_no_spread(
    raw: RawPlan, record: Record, drawing: dict[str, Any]
) -> None:
    """However they are drawn, sequences of a record with equal years give one result."""
    for name, values in each_season(raw | {"sequences": drawing}, record).items():
        np.testing.assert_array_equal(values, np.broadcast_to(values[:1], values.shape), name)


def test_sequences_when_one_year_differs_then_results_do_spread() -> None:
    """The check of equal years can fail: one wet year among dry ones is seen."""
    drawing = {"method": "historical"}
    plan = textbook_plan(5.0, general_security_ml=1.0, sequences=drawing)
    raw = plan.model_dump(exclude_none=True)
    found = each_season(raw, record_of_years([0.0] * 7 + [3.0]))
    assert np.ptp(found["announced_to_date_ml_per_share"]) == 1.0


@settings(max_examples=OTHERWISE_VALLEYS)
@given(cases(), st.integers(1, 30).map(lambda number: number / 10))
def test_assessment_when_it_is_the_first_then_it_does_not_depend_on_the_sequence(
    case: Case, flow_factor: float
) -> None:
    """What the first assessment finds is known before any weather is, or any factor on it."""
    found = []
    for forcing in (case.forcing(), case.forcing(flow_factor=flow_factor)):
        first = next(run(case.opening, forcing, case.rules, case.first_month)).fluxes.assessed
        found += [np.broadcast_to(getattr(first, f.name), SEQUENCES) for f in fields(first)]
    half = len(found) // 2
    for plain, dried in zip(found[:half], found[half:], strict=True):
        assert np.ptp(plain) == 0.0
        np.testing.assert_array_equal(plain, dried)


# --- How it is computed ----------------------------------------------------------------------


def frozen(value: Any) -> Any:
    """The same dataclass, its arrays copied and made read-only."""
    copies = {}
    for field in fields(value):
        copy = deepcopy(getattr(value, field.name))
        if isinstance(copy, np.ndarray):
            copy.setflags(write=False)
        copies[field.name] = copy
    return replace(value, **copies)


def same(one: Any, other: Any) -> bool:
    """Whether two dataclasses of arrays and numbers hold the same values."""
    assert is_dataclass(one)
    return all(
        np.array_equal(getattr(one, field.name), getattr(other, field.name))
        for field in fields(one)
    )


@promise
def step_when_taken_then_its_arguments_stay_as_they_were(case: Case) -> None:
    """A step neither writes to its arguments nor gives another answer when asked again."""
    state, rules, forcing = frozen(case.opening), frozen(case.rules), case.forcing()
    for t in range(MONTHS):
        weather = frozen(forcing.weather(t))
        before = deepcopy((state, weather, rules))
        k = month_of_water_year(case.first_month + t)
        end, fluxes = step(state, weather, k, rules, opens_run=t == 0)
        assert all(map(same, before, (state, weather, rules)))
        again, fluxes_again = step(state, weather, k, rules, opens_run=t == 0)
        assert same(end, again)
        assert same(fluxes.released, fluxes_again.released)
        state = frozen(end)


@promise
def run_when_sequences_go_together_then_each_gives_what_it_gives_alone(case: Case) -> None:
    """A call on arrays is a loop of calls on one sequence each."""
    together = case.ledger()
    for i in range(SEQUENCES):
        alone = Case(case.raw, case.record, case.rows[i : i + 1]).ledger()
        for name, values in together.items():
            np.testing.assert_allclose(alone[name][0], values[i], rtol=1e-13, atol=0, err_msg=name)


def by_twin(case: Case, sequence: int) -> list[dict[str, Any]]:
    """Ledger of one sequence by the scalar twin."""
    record = case.record
    columns = {"inflow_ml": record.inflow_ml, **record.columns}
    rows = [
        {"month": format_month(record.first_month + row)}
        | {name: float(values[row]) for name, values in columns.items()}
        for row in range(record.months)
    ]
    numbers = case.rows[sequence].tolist()
    return valley_twin.run(case.raw, rows, numbers, case.raw["opening"]["month"])


@promise
def ledger_when_any_plan_is_run_then_it_agrees_with_the_scalar_twin(case: Case) -> None:
    """Every number of every month is that of the slow twin, to 1e-9."""
    found = case.ledger()
    for i in range(SEQUENCES):
        expected = by_twin(case, i)
        for name, values in found.items():
            column = np.array([row[name] for row in expected], dtype=float)
            atol = OF_THROUGHPUT * max(1.0, float(np.abs(column).max()))
            np.testing.assert_allclose(values[i], column, rtol=1e-9, atol=atol, err_msg=name)


@settings(max_examples=PROMISED_VALLEYS)
@given(cases())
def test_valley_when_any_plan_is_run_then_every_promise_is_kept(case: Case) -> None:
    """Each promise above holds of each case; a failure's traceback names the one that is broken."""
    played = Played(case.raw, case.record, case.rows)
    for check in PROMISES:
        check(played)


# --- What the made-up cases reach --------------------------------------------------------------


def reached(month: Month, raw: RawPlan) -> set[str]:
    """The rules that had something to do in a month, by name."""
    fluxes, released, assessed = month.fluxes, month.fluxes.released, month.fluxes.assessed
    accounts = raw["valley"]["accounts"]
    asked_and_got = wanted_ml(month, raw)
    happened = {
        "a restriction freezes water": month.end.frozen_ml_per_share > 0.0,
        "a restriction ends": fluxes.opening.restricted & ~month.end.restricted,
        "water is forfeited on 1 July": fluxes.forfeited_ml_per_share > 0.0,
        "a full account takes less than is announced": assessed.credited_ml_per_share
        < assessed.announced_ml_per_share,
        "high security is short of full": assessed.high_security_allocation_frac < 1.0,
        "rain on the lake exceeds evaporation": released.lake_evaporation_ml < 0.0,
        "the lake dries out": released.net_evaporation_ml < released.lake_evaporation_ml - 1e-6,
        "accounts evaporate": fluxes.evaporation_share_frac > 0.0,
        f"it spills, {accounts['spill_rule']}": released.spill_ml > 1e-6,
        "general security is served": released.general_security_ml > 0.0,
        "all of the tributary is used": (fluxes.weather.tributary_ml > 0.0)
        & (released.uncontrolled_ml == released.spill_ml),
    } | {
        f"class {place} is short": got < asked - 1e-6
        for place, (asked, got) in enumerate(asked_and_got)
    }
    return {name for name, where in happened.items() if where.any()}


def test_cases_when_drawn_then_every_rule_has_something_to_do() -> None:
    """The properties are not kept for want of a case: each rule is met, in two cases or more."""
    spills = {f"it spills, {rule}" for rule in ("none", "proportional", "carried_first", "reset")}
    others = {
        "a restriction freezes water",
        "a restriction ends",
        "water is forfeited on 1 July",
        "a full account takes less than is announced",
        "high security is short of full",
        "rain on the lake exceeds evaporation",
        "the lake dries out",
        "accounts evaporate",
        "general security is served",
        "all of the tributary is used",
    }
    classes = {f"class {place} is short" for place in range(5)}

    def reached_in(case: Case) -> set[str]:
        return set().union(*(reached(month, case.raw) for month in months_of(case)))

    rare = rarely_met(cases(), reached_in, spills | others | classes)
    assert not rare, rare
