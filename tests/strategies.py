"""Small valleys made up at random, every rule of the scheme among them, and weather for them.

Numbers are whole, or simple fractions, and bounded, so that a failing case can be read. A record
has five years, too few for the command line but enough for every rule; a case meets its months in
any order that keeps each in its calendar month.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Set
from contextlib import suppress
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
from hypothesis import Phase, find, settings
from hypothesis import strategies as st
from hypothesis.errors import NoSuchExample
from numpy.typing import NDArray

from model.plan.plan import Plan
from model.plan.text import check_plan
from model.record.record import FloatArray, Record
from model.valley.rules import Rules, rules_of
from model.valley.state import Forcing, State, forcing_of, opening_state
from model.water_year import format_month, month_of_water_year, parse_month
from tests.a_ledger import ledger

RECORD_YEARS = 5
RECORD_FIRST = "1990-07"
SEQUENCES, MONTHS = 3, 26  # two or three times over 1 July
MOST_HORIZON_MONTHS = 36

RawPlan = dict[str, Any]


def tenths(low: int, high: int) -> st.SearchStrategy[float]:
    """Numbers of one decimal, the bounds in tenths."""
    return st.integers(low, high).map(lambda number: number / 10)


SHAPES = (
    (1.0,) * 12,
    (0.25, 0.25, 0.5, 0.5, 0.75, 1.0, 1.0, 0.75, 0.5, 0.5, 0.25, 0.25),  # a summer
    (1.0, 1.0, 0.5, 0.25, 0.0, 0.0, 0.0, 0.0, 0.0, 0.25, 0.5, 1.0),  # a winter
    (0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.5, 0.0, 0.0, 0.0, 0.0, 0.0),  # two months alone
)


def twelve(high: int) -> st.SearchStrategy[list[float]]:
    """Twelve amounts of 0 to `high`, of a shape that valleys have."""
    return st.builds(
        lambda level, shape: [level * share for share in shape],
        st.integers(0, high),
        st.sampled_from(SHAPES),
    )


def patterns() -> st.SearchStrategy[list[float]]:
    """Twelve shares that sum to 1."""
    any_weights = st.lists(st.integers(0, 4), min_size=12, max_size=12).filter(any)
    weights = st.one_of(st.sampled_from(SHAPES), any_weights)
    return weights.map(lambda w: [share / sum(w) for share in w])


def or_left_out(values: st.SearchStrategy[float]) -> st.SearchStrategy[float | None]:
    """A limit, or none."""
    return st.one_of(st.none(), values)


def given_keys(table: RawPlan) -> RawPlan:
    """The keys that are not left out."""
    return {key: value for key, value in table.items() if value is not None}


@st.composite
def assessments(draw: st.DrawFn, kind: str) -> RawPlan:
    """How much is set aside, and what is counted on."""
    months = RECORD_YEARS * 12
    before = draw(st.one_of(st.none(), st.integers(MOST_HORIZON_MONTHS + 12, months)))
    return given_keys(
        {
            "years_ahead": draw(st.sampled_from([0, 0, 1, 2])),
            "essential_reserve_months": draw(st.sampled_from([0, 1, 6, 12, 30])),
            "high_security_next_year_frac": draw(tenths(0, 10)),
            "assured_inflow": kind,
            "assured_percentile_frac": draw(tenths(0, 10)) if kind == "percentile" else None,
            "assured_fixed_ml_per_month": draw(tenths(0, 60)) if kind == "fixed" else None,
            "assured_before": None
            if before is None
            else format_month(parse_month(RECORD_FIRST) + before),
        }
    )


@st.composite
def account_rules(draw: st.DrawFn, loss_mode: str, spill_rule: str) -> RawPlan:
    """The rules of general-security accounts."""
    return given_keys(
        {
            "account_limit_ml_per_share": draw(or_left_out(tenths(5, 25))),
            "carryover_limit_ml_per_share": draw(or_left_out(tenths(0, 10))),
            "carryover_loss_frac": draw(tenths(0, 10)),
            "use_limit_1yr_ml_per_share": draw(or_left_out(tenths(2, 20))),
            "use_limit_3yr_ml_per_share": draw(or_left_out(tenths(10, 40))),
            "allocation_cap_ml_per_share": draw(or_left_out(tenths(3, 20))),
            "loss_mode": loss_mode,
            "spill_rule": spill_rule,
            "reset_ml_per_share": draw(tenths(0, 20)) if spill_rule == "reset" else None,
        }
    )


KINDS_OF_RULES = tuple(
    product(
        ("none", "proportional", "carried_first", "reset"),
        ("by_balance", "socialised"),
        ("worst", "percentile", "fixed"),
        (True, False),
    )
)
"""Drawn together, so that every combination is as likely to come up."""


@st.composite
def valleys(draw: st.DrawFn) -> RawPlan:
    """A dam of some hundred ML and its rules."""
    spill_rule, loss_mode, assured_inflow, has_access = draw(st.sampled_from(KINDS_OF_RULES))
    capacity_ml = float(draw(st.integers(40, 400)))
    points = draw(st.integers(1, 4))
    volumes = draw(st.lists(st.integers(0, 450), min_size=points, max_size=points, unique=True))
    areas = draw(st.lists(tenths(0, 250), min_size=points, max_size=points))
    restriction = {
        "restriction_trigger_frac": draw(tenths(0, 10)),
        "restriction_access_frac": draw(tenths(0, 10)),
    }
    return given_keys(
        {
            "name": "Any valley",
            "capacity_ml": capacity_ml,
            "dead_storage_ml": float(draw(st.integers(0, 39))),
            "surface_storage_ml": [float(volume) for volume in sorted(volumes)],
            "surface_area_ha": sorted(areas),
            "lake_evaporation_mm": draw(twelve(250)),
            "lake_rain_mm": draw(twelve(250)),
            "essential_ml": draw(twelve(8)),
            "river_loss_ml": draw(twelve(8)),
            "base_flow_ml": draw(twelve(8)),
            "tributary_ml": draw(twelve(12)),
            "delivery_loss_frac": draw(tenths(0, 5)),
            "high_security": {
                "shares_ml": float(draw(st.sampled_from([0, 5, 20, 60]))),
                "pattern": draw(patterns()),
            },
            "general_security": {
                "shares_ml": float(draw(st.sampled_from([10, 40, 120, 300]))),
                "pattern": draw(patterns()),
                "others_keep_ml_per_share": draw(tenths(0, 10)),
                "others_keep_above_ml_per_share": draw(st.just(0.0) | tenths(0, 10)),
            },
            "assessment": draw(assessments(assured_inflow)),
            "access": restriction if has_access else None,
            "accounts": draw(account_rules(loss_mode, spill_rule)),
        }
    )


FURTHER_RULES = (
    "capacity_sharing",
    "fixed_loss",
    "block_release",
    "stages",
    "environment",
    "high_security_carry",
    "spill_lock",
)


@st.composite
def stages(draw: st.DrawFn) -> list[RawPlan]:
    """Stages of a restriction, triggers falling."""
    triggers = draw(st.lists(st.integers(0, 10), min_size=1, max_size=4, unique=True))
    return [
        {
            "trigger_frac": trigger / 10,
            "access_frac": draw(tenths(0, 10)),
            "freezes": draw(st.sampled_from(["account", "carried"])),
        }
        for trigger in sorted(triggers, reverse=True)
    ]


@st.composite
def environments(draw: st.DrawFn, *, credited: bool) -> RawPlan:
    """Rules of an environmental allowance; with or without a part of what is credited."""
    return given_keys(
        {
            "yearly_ml": draw(st.sampled_from([None, 5.0, 40.0])),
            "credit_frac": draw(tenths(0, 5)) if credited else None,
            "inflow_frac": draw(st.sampled_from([None, 0.05, 0.3])),
            "limit_ml": draw(st.sampled_from([None, 0.0, 20.0, 60.0])),
            "carryover_limit_ml": draw(st.sampled_from([None, 0.0, 15.0])),
            "release_ml": draw(twelve(10)),
        }
    )


@st.composite
def with_further_rules(draw: st.DrawFn, valley: RawPlan) -> RawPlan:
    """A valley with one to three further rules, and without what they refuse."""
    rules = draw(st.lists(st.sampled_from(FURTHER_RULES), min_size=1, max_size=3, unique=True))
    accounts, shared = valley["accounts"], "capacity_sharing" in rules
    if shared:
        kept = ("use_limit_1yr_ml_per_share", "use_limit_3yr_ml_per_share")
        accounts = {key: value for key, value in accounts.items() if key in kept}
        valley["capacity_sharing"] = {
            "space_frac": draw(tenths(1, 10)),
            "inflow_frac": draw(tenths(0, 10)),
        }
    if "fixed_loss" in rules:
        valley["delivery_loss_fixed_ml"] = draw(twelve(6))
    if "block_release" in rules:
        months = st.lists(st.integers(1, 12), min_size=1, max_size=4, unique=True)
        valley["block_release"] = {
            "months": draw(months),
            "below_ml": draw(st.sampled_from([2.0, 20.0, 200.0])),
        }
    if "stages" in rules:
        valley["access"] = {"stages": draw(stages())}
    if "environment" in rules:
        valley["environment"] = draw(environments(credited=not shared))
    if "high_security_carry" in rules:
        valley["high_security"]["carryover_frac"] = draw(tenths(0, 10))
    if "spill_lock" in rules and not shared:
        below, until = draw(st.sampled_from([(True, True), (True, False), (False, True)]))
        accounts |= {"spill_lock_below_frac": draw(tenths(0, 9))} if below else {}
        month = st.integers(1, 12).filter(lambda number: number != 7)
        accounts |= {"spill_lock_until_month": draw(month)} if until else {}
    return valley | {"accounts": accounts}


def most_account(valley: RawPlan, storage_ml: float) -> float:
    """The most that an opening account may hold, ML per share."""
    if "capacity_sharing" not in valley:
        return float(valley["accounts"].get("account_limit_ml_per_share", 2.5))
    space_ml = valley["capacity_ml"] - valley["dead_storage_ml"]
    space_ml *= valley["capacity_sharing"]["space_frac"]
    in_dam_ml = max(0.0, storage_ml - valley["dead_storage_ml"])
    at_gate_ml = min(space_ml, in_dam_ml) * (1.0 - valley["delivery_loss_frac"])
    return float(min(100.0, at_gate_ml / valley["general_security"]["shares_ml"]))


@st.composite
def further_opening(draw: st.DrawFn, valley: RawPlan) -> RawPlan:
    """Figures of the opening that the further rules ask for."""
    found: RawPlan = {}
    if "environment" in valley:
        found["environment_ml"] = draw(tenths(0, 300))
    if "carryover_frac" in valley["high_security"]:
        found["high_security_carried_ml"] = (
            draw(tenths(0, 10)) * valley["high_security"]["shares_ml"]
        )
    if any(key.startswith("spill_lock") for key in valley["accounts"]):
        found["carried_locked"] = draw(st.booleans())
    return found


@st.composite
def raw_plans(draw: st.DrawFn, *, further: bool = False) -> RawPlan:
    """A plan as it would stand in its file: a valley, and an opening that fits it."""
    valley = draw(valleys())
    if further:
        valley = draw(with_further_rules(valley))
    accounts = valley["accounts"]
    storage_ml = draw(tenths(0, 10)) * valley["capacity_ml"]
    limit = most_account(valley, storage_ml)
    account = draw(tenths(0, 10)) * limit
    return {
        "title": "Any plan",
        "record": "record.csv",
        "valley": valley,
        "opening": {
            "month": format_month(parse_month("2025-07") + draw(st.integers(0, 11))),
            "storage_ml": storage_ml,
            "account_ml_per_share": account,
            "carried_ml_per_share": draw(tenths(0, 10)) * account,
            "announced_to_date_ml_per_share": draw(tenths(0, 10))
            * accounts.get("allocation_cap_ml_per_share", limit),
            "used_this_year_ml_per_share": draw(tenths(0, 10)),
            "used_last_year_ml_per_share": draw(tenths(0, 10)),
            "used_year_before_ml_per_share": draw(tenths(0, 10)),
            "high_security_used_ml": draw(tenths(0, 10)) * valley["high_security"]["shares_ml"],
            "high_security_allocation_frac": draw(tenths(0, 10)),
        }
        | draw(further_opening(valley)),
    }


def observed(seed: int, months: int, mean: float) -> FloatArray:
    """(months,) amounts in tenths, about a third of them 0 and some of them large."""
    rng = np.random.default_rng(seed)
    amounts = rng.gamma(0.7, mean / 0.7, months) * (rng.random(months) > 0.3)
    return np.round(amounts, 1)


def record_of(inflow_ml: FloatArray, columns: dict[str, FloatArray]) -> Record:
    """Record that opens in a July."""
    return Record(
        name="record.csv",
        sha256="",
        first_month=parse_month(RECORD_FIRST),
        inflow_ml=np.array(inflow_ml),
        columns={name: np.array(values) for name, values in columns.items()},
        indices={},
        filled={},
    )


SEEDS = st.integers(0, 2**32 - 1)


@st.composite
def records(draw: st.DrawFn, *, years: int = RECORD_YEARS, alike: bool = False) -> Record:
    """Months of weather, of a dry river or a wet one; with or without the optional columns.

    With `alike`, every year is the first one.
    """
    months, repeats = (12, years) if alike else (12 * years, 1)
    mean_ml = draw(st.sampled_from([0.0, 8.0, 30.0, 80.0]))
    columns = {
        name: np.tile(observed(draw(SEEDS), months, mean), repeats)
        for name, mean in (
            ("tributary_ml", 4.0),
            ("lake_rain_mm", 60.0),
            ("lake_evaporation_mm", 120.0),
        )
        if draw(st.booleans())
    }
    return record_of(np.tile(observed(draw(SEEDS), months, mean_ml), repeats), columns)


@dataclass(frozen=True)
class Case:
    """A plan, a record, and a few sequences of its months."""

    raw: RawPlan
    record: Record
    rows: NDArray[np.intp]  # (sequence, month)

    @property
    def plan(self) -> Plan:
        """The plan, checked."""
        return check_plan(self.raw, "any")

    @property
    def rules(self) -> Rules:
        """Its rules."""
        return rules_of(self.plan.valley, self.record)

    @property
    def opening(self) -> State:
        """Where every sequence begins."""
        return opening_state(self.plan.opening, self.rows.shape[0])

    @property
    def first_month(self) -> int:
        """Month number of the first month."""
        return parse_month(self.raw["opening"]["month"])

    def forcing(self, *, flow_factor: float = 1.0) -> Forcing:
        """What comes."""
        return forcing_of(self.rows, self.record, self.plan.valley, flow_factor=flow_factor)

    def ledger(self) -> dict[str, FloatArray]:
        """The whole ledger, each column (sequence, month)."""
        return ledger(self.opening, self.forcing(), self.rules, self.first_month)


@st.composite
def cases(draw: st.DrawFn, *, further: bool = False) -> Case:
    """Any plan on any record, with sequences that keep each month in its calendar month."""
    raw = draw(raw_plans(further=further))
    rng = np.random.default_rng(draw(SEEDS))
    years = rng.integers(0, RECORD_YEARS, (SEQUENCES, MONTHS))
    first_k = month_of_water_year(parse_month(raw["opening"]["month"]))
    return Case(raw, draw(records()), (first_k + np.arange(MONTHS)) % 12 + 12 * years)


MOST_CASES = 500
"""Drawn at most until each rule is met; those that are drawn now meet all in far fewer."""


def rarely_met(
    drawn: st.SearchStrategy[Case], reached: Callable[[Case], set[str]], rules: Set[str]
) -> dict[str, int]:
    """Count in how many cases each rule that is met in less than two had something to do.

    Cases are drawn until none is left, and `MOST_CASES` at most.
    """
    met: Counter[str] = Counter()

    def all_met(case: Case) -> bool:
        met.update(reached(case))
        return all(met[name] >= 2 for name in rules)

    with suppress(NoSuchExample):
        find(drawn, all_met, settings=settings(max_examples=MOST_CASES, phases=[Phase.generate]))
    return {name: met[name] for name in sorted(rules) if met[name] < 2}
