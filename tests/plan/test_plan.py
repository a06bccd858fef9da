"""What a plan may say, how it is told that something is wrong, and what an edit leaves alone."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from model.errors import Fault, PlanError
from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan, edit_plan, parse_plan, read_plan
from tests.sample_files import CONTRACT, changed, plan_text

RawPlan = dict[str, Any]
PLANS = ("plan.toml", "plan_dry.toml", "plan_spillable.toml")
CONTRACT_RAW: RawPlan = tomllib.loads(plan_text())
DEMONSTRATION = demonstration_plan().read_text(encoding="utf-8")
SPRING = (0.0,) * 3 + (1.0,) + (0.0,) * 8


def with_values(values: dict[str, object]) -> RawPlan:
    """Return the reference plan with other values by dotted key."""
    raw = deepcopy(CONTRACT_RAW)
    for dotted, value in values.items():
        *tables, key = dotted.split(".")
        table = raw
        for name in tables:
            table = table.setdefault(name, {})
        table[key] = value
    return raw


def without(dotted: str) -> RawPlan:
    """Return the reference plan with a key left out."""
    raw = deepcopy(CONTRACT_RAW)
    *tables, key = dotted.split(".")
    table = raw
    for name in tables:
        table = table[name]
    del table[key]
    return raw


def faults_of(raw: RawPlan) -> tuple[Fault, ...]:
    """Return the faults for which a plan is refused."""
    with pytest.raises(PlanError) as refused:
        check_plan(raw, "plan.toml")
    return refused.value.faults


def leaves(table: RawPlan, prefix: str = "") -> Iterator[tuple[str, Any]]:
    """Yield the values of nested tables by dotted key."""
    for key, value in table.items():
        if isinstance(value, dict):
            yield from leaves(value, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}", value


def required_keys(table: type[BaseModel] = Plan, prefix: str = "") -> Iterator[str]:
    """Yield the dotted keys that a plan cannot do without, table by table."""
    for name, field in table.model_fields.items():
        kind = field.annotation
        if field.is_required():
            yield f"{prefix}{name}"
            if isinstance(kind, type) and issubclass(kind, BaseModel):
                yield from required_keys(kind, f"{prefix}{name}.")


NUMBERS = sorted(key for key, value in leaves(CONTRACT_RAW) if isinstance(value, int | float))
TWELVES = sorted(
    key for key, value in leaves(CONTRACT_RAW) if isinstance(value, list) and len(value) == 12
)


# reading


@pytest.mark.parametrize("name", PLANS)
def test_plan_when_it_is_a_reference_plan_then_every_value_is_read(name: str) -> None:
    """What stands in the file stands in the plan."""
    plan = read_plan(CONTRACT / name)
    read = dict(leaves(plan.model_dump()))
    for key, value in leaves(tomllib.loads(plan_text(name))):
        expected = tuple(value) if isinstance(value, list) else value
        assert read[key] == expected, key


def test_plan_when_optional_tables_are_left_out_then_defaults_serve() -> None:
    """No restriction, no carried water, blocks that keep dry runs, October and January."""
    raw = without("valley.access")
    del raw["sequences"]
    plan = check_plan(raw, "plan.toml")
    assert plan.valley.access is None
    assert plan.opening.carried_ml_per_share == 0.0
    assert (plan.sequences.method, plan.sequences.kind) == (None, "stationary")
    assert plan.sequences.block_years is None
    assert (plan.outlook.planting_month, plan.outlook.finish_month) == ("October", "January")
    assert plan.valley.tributary_ml == (0.0,) * 12
    assert plan.record_fill == "none"


@pytest.mark.parametrize(
    "form",
    [lambda text: "\ufeff" + text, lambda text: text.replace("\n", "\r\n")],
    ids=["byte order mark", "Windows line ends"],
)
def test_plan_when_saved_by_another_program_then_it_reads_the_same(form: Any) -> None:
    """An editor's habits change nothing."""
    assert parse_plan(form(plan_text()).encode(), "p") == parse_plan(plan_text().encode(), "p")


def test_plan_when_read_then_it_cannot_be_changed() -> None:
    """A plan is what its file says."""
    plan = read_plan(CONTRACT / "plan.toml")
    with pytest.raises(ValueError, match="frozen"):
        plan.opening.storage_ml = 1.0  # type: ignore[misc]


def flat(table: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    """Yield the values of nested tables by dotted key."""
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from flat(value, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}", value


def plan_changes(before: Plan, after: Plan) -> dict[str, Any]:
    """List the values that differ, by dotted key, as `edit_plan` takes them."""
    old, new = dict(flat(before.model_dump())), dict(flat(after.model_dump()))
    return {key: new.get(key) for key in old | new if old.get(key) != new.get(key)}


def test_plan_when_a_setting_of_the_drawing_is_replaced_then_all_else_stays() -> None:
    """A page may ask the same plan for another count."""
    plan = read_plan(CONTRACT / "plan.toml")
    other = plan.with_drawing(count=7)
    assert other.sequences.count == 7
    assert plan_changes(plan, other) == {"sequences.count": 7}


# what is refused, field by field

REFUSED = [
    ("valley.capacity_ml", 0.0, "out of range", "more than 0"),
    ("valley.dead_storage_ml", 400_000.0, "not below capacity", "below 400000 ML"),
    ("valley.dead_storage_ml", -1.0, "out of range", "0 or more"),
    ("valley.surface_storage_ml", [0.0, 5.0, 5.0, 6.0, 7.0], "do not rise", "above the one before"),
    ("valley.surface_storage_ml", [9.0, 5.0, 6.0, 7.0, 8.0], "do not rise", "above the one before"),
    ("valley.surface_area_ha", [0.0, 5.0, 4.0, 6.0, 7.0], "areas fall", "do not fall"),
    ("valley.surface_area_ha", [0.0, 5.0], "2 areas", "5 areas, one a volume"),
    ("valley.delivery_loss_frac", 1.0, "out of range", "less than 1"),
    ("valley.delivery_loss_frac", 20, "out of range", "less than 1"),
    ("valley.high_security.pattern", [0.1] * 12, "sum to 1.2", "sum to 1"),
    ("valley.general_security.pattern", [0.0] * 12, "sum to 0", "sum to 1"),
    ("valley.general_security.shares_ml", 0.0, "out of range", "more than 0"),
    ("valley.general_security.others_keep_ml_per_share", 101.0, "out of range", "100 or less"),
    ("valley.assessment.years_ahead", 1.5, "wrong kind", "a whole number"),
    ("valley.assessment.years_ahead", 6, "out of range", "5 or less"),
    ("valley.assessment.years_ahead", -1, "out of range", "0 or more"),
    ("valley.assessment.essential_reserve_months", 121, "out of range", "120 or less"),
    ("valley.assessment.high_security_next_year_frac", 1.01, "out of range", "1 or less"),
    ("valley.assessment.assured_inflow", "best", "none of the choices", "'worst'"),
    ("valley.assessment.assured_percentile_frac", 0.1, "not used", 'assured_inflow = "percentile"'),
    ("valley.assessment.assured_fixed_ml_per_month", 5.0, "not used", 'assured_inflow = "fixed"'),
    ("valley.assessment.assured_before", "2004-13", "not a month", "YYYY-MM"),
    ("valley.access.restriction_trigger_frac", 5, "out of range", "1 or less"),
    ("valley.access.restriction_access_frac", -0.1, "out of range", "0 or more"),
    ("valley.accounts.account_limit_ml_per_share", 0.0, "out of range", "more than 0"),
    ("valley.accounts.carryover_limit_ml_per_share", -0.5, "out of range", "0 or more"),
    ("valley.accounts.carryover_loss_frac", 5, "out of range", "1 or less"),
    ("valley.accounts.use_limit_1yr_ml_per_share", "1.25", "wrong kind", "a number"),
    ("valley.accounts.use_limit_3yr_ml_per_share", True, "wrong kind", "a number"),
    ("valley.accounts.loss_mode", "shared", "none of the choices", "'socialised'"),
    ("valley.accounts.spill_rule", "all", "none of the choices", "'carried_first'"),
    ("valley.accounts.reset_ml_per_share", 0.5, "not used", 'spill_rule = "reset"'),
    ("opening.month", "2025-9", "not a month", "YYYY-MM"),
    ("opening.month", "September 2025", "not a month", "YYYY-MM"),
    ("opening.month", 2025, "wrong kind", "text in quotes"),
    ("opening.storage_ml", 400_001.0, "more than its capacity", "at most 400000 ML"),
    ("opening.carried_ml_per_share", 0.5, "than the account holds", "at most 0.42 ML per share"),
    ("opening.announced_to_date_ml_per_share", 1.6, "in one year", "at most 1.5 ML per share"),
    ("opening.used_this_year_ml_per_share", -0.1, "out of range", "0 or more"),
    ("opening.high_security_used_ml", 4_001.0, "than there are shares", "at most 4000 ML"),
    ("opening.high_security_allocation_frac", 1.1, "out of range", "1 or less"),
    ("sequences.method", "guess", "none of the choices", "'historical'"),
    ("sequences.kind", "loose", "none of the choices", "'stationary'"),
    ("sequences.block_years", 0.5, "out of range", "1 or more"),
    ("sequences.block_years", 51, "out of range", "50 or less"),
    ("sequences.count", 0, "out of range", "1 or more"),
    ("sequences.count", 1_000_001, "out of range", "or less"),
    ("sequences.count", 10.5, "wrong kind", "a whole number"),
    ("sequences.seed", -1, "out of range", "0 or more"),
    ("sequences.seasons", 4, "out of range", "3 or less"),
    ("sequences.seasons", 0, "out of range", "1 or more"),
    ("sequences.flow_factor", 0.0, "out of range", "more than 0"),
    ("sequences.flow_factor", 3.5, "out of range", "3 or less"),
    ("outlook.planting_month", "Oct", "none of the choices", "'October'"),
    ("outlook.finish_month", 1, "none of the choices", "'January'"),
    ("record_fill", "mean", "none of the choices", "'calendar_month_median'"),
    ("record_missing_days_frac", 1.5, "out of range", "1 or less"),
    ("record", 5, "wrong kind", "text in quotes"),
    ("valley.accounts", 5, "wrong kind", "a table"),
    ("valley.essential_ml", 5, "wrong kind", "a list in square brackets"),
]


@pytest.mark.parametrize(("key", "value", "problem", "allowed"), REFUSED)
def test_plan_when_one_value_is_wrong_then_key_problem_and_allowed_are_named(
    key: str, value: object, problem: str, allowed: str
) -> None:
    """One wrong value is one fault, in the reader's words.

    A limit that is wrong itself may make the opening look wrong beside it.
    """
    faults = faults_of(with_values({key: value}))
    (fault,) = [
        fault for fault in faults if not fault.where.startswith("opening.") or key in fault.where
    ]
    assert fault.where == key
    assert problem in fault.problem
    assert allowed in fault.allowed


@pytest.mark.parametrize(
    ("setting", "choice", "wanted"),
    [
        ("valley.assessment.assured_inflow", "percentile", "assured_percentile_frac"),
        ("valley.assessment.assured_inflow", "fixed", "assured_fixed_ml_per_month"),
        ("valley.accounts.spill_rule", "reset", "reset_ml_per_share"),
    ],
)
def test_plan_when_a_choice_wants_a_number_then_the_number_is_asked_for(
    setting: str, choice: str, wanted: str
) -> None:
    """A choice that cannot work without a number says which."""
    table = setting.rpartition(".")[0]
    (fault,) = faults_of(with_values({setting: choice}))
    assert fault.where == f"{table}.{wanted}"
    assert "missing" in fault.problem
    assert choice in fault.allowed
    assert check_plan(with_values({setting: choice, f"{table}.{wanted}": 0.5}), "plan")


@pytest.mark.parametrize("kind", ["circular", "moving"])
def test_plan_when_a_block_of_fixed_length_has_part_of_a_year_then_it_is_refused(
    kind: str,
) -> None:
    """Only a mean length may be a fraction."""
    faults = faults_of(with_values({"sequences.kind": kind, "sequences.block_years": 2.5}))
    assert [fault.where for fault in faults] == ["sequences.block_years"]
    assert "whole number of years" in faults[0].allowed
    mean = with_values({"sequences.kind": "stationary", "sequences.block_years": 2.5})
    assert check_plan(mean, "plan").sequences.block_years == 2.5


@pytest.mark.parametrize("key", NUMBERS)
@pytest.mark.parametrize("value", [math.nan, math.inf, "5", True, [1.0]], ids=str)
def test_plan_when_a_number_is_none_then_it_is_refused(key: str, value: object) -> None:
    """Every number of a plan is a finite number, not text, not true."""
    assert key in [fault.where for fault in faults_of(with_values({key: value}))]


@pytest.mark.parametrize("key", NUMBERS)
def test_plan_when_a_number_is_negative_then_it_is_refused(key: str) -> None:
    """No amount, fraction or count of a plan is below zero."""
    (fault,) = [fault for fault in faults_of(with_values({key: -1})) if fault.where == key]
    assert fault.value == "-1"


@pytest.mark.parametrize("key", TWELVES)
@pytest.mark.parametrize("length", [0, 11, 13])
def test_plan_when_a_list_of_twelve_has_another_length_then_it_says_how_many(
    key: str, length: int
) -> None:
    """Lists run July to June."""
    (fault,) = faults_of(with_values({key: [0.1] * length}))
    assert fault.where == key
    assert f"{length} values" in fault.problem
    assert fault.allowed == "12 values, July to June"


@pytest.mark.parametrize("key", TWELVES)
def test_plan_when_one_of_twelve_is_wrong_then_its_place_in_the_list_is_named(key: str) -> None:
    """The fourth value is October's."""
    values: list[object] = list(SPRING)
    values[3] = -1.0
    values[5] = "dry"
    assert [fault.where for fault in faults_of(with_values({key: values}))] == [
        f"{key}, value 4",
        f"{key}, value 6",
    ]


@pytest.mark.parametrize("key", sorted(set(required_keys())))
def test_plan_when_a_key_is_left_out_that_it_needs_then_it_is_named(key: str) -> None:
    """Nothing that the valley needs is guessed."""
    (fault,) = faults_of(without(key))
    assert fault.where == key
    assert fault.problem == "it is missing"
    assert fault.allowed


@pytest.mark.parametrize(
    ("key", "near"),
    [
        ("valley.capacity", "capacity_ml"),
        ("valley.accounts.carryover_loss", "carryover_loss_frac"),
        ("opening.storage", "storage_ml"),
        ("sequences.block_year", "block_years"),
        ("outlook.planting", "planting_month"),
        ("valleys", "valley"),
    ],
)
def test_plan_when_a_key_is_not_known_then_the_nearest_known_ones_are_offered(
    key: str, near: str
) -> None:
    """A slip of the pen is told what was meant."""
    (fault,) = faults_of(with_values({key: 1}))
    assert fault.where == key
    assert "no such key" in fault.problem
    assert near in fault.allowed.split(" or ")


def test_plan_when_several_things_are_wrong_then_all_are_told_at_once() -> None:
    """Wrong values, an unknown key, a missing one and two tables at odds: one message."""
    raw = with_values(
        {
            "valley.delivery_loss_frac": 2.0,
            "valley.dead_storage_ml": 500_000.0,
            "valley.river_loss_ml": [1.0] * 11,
            "valley.high_security.pattern": [0.1] * 12,
            "valley.assessment.assured_inflow": "percentile",
            "valley.accounts.spill_ruel": "none",
            "opening.month": "soon",
            "opening.storage_ml": 500_000.0,
            "opening.account_ml_per_share": -9.0,
            "sequences.seasons": 9,
        }
    )
    del raw["title"]
    with pytest.raises(PlanError) as refused:
        check_plan(raw, "farm.toml")
    assert {fault.where for fault in refused.value.faults} == {
        "title",
        "valley.delivery_loss_frac",
        "valley.dead_storage_ml",
        "valley.river_loss_ml",
        "valley.high_security.pattern",
        "valley.assessment.assured_percentile_frac",
        "valley.accounts.spill_ruel",
        "opening.month",
        "opening.storage_ml",
        "opening.account_ml_per_share",
        "sequences.seasons",
    }
    assert str(refused.value).startswith("farm.toml: 11 problems to fix\n")


@pytest.mark.parametrize("limit", ["account_limit_ml_per_share", "allocation_cap_ml_per_share"])
def test_plan_when_a_limit_is_left_out_then_any_opening_is_within_it(limit: str) -> None:
    """A limit that is left out is no limit."""
    raw = without(f"valley.accounts.{limit}")
    raw["opening"]["account_ml_per_share"] = 1.5
    if limit == "account_limit_ml_per_share":
        raw["opening"]["account_ml_per_share"] = 3.0
    else:
        raw["opening"]["announced_to_date_ml_per_share"] = 3.0
    assert check_plan(raw, "plan.toml")


def test_plan_when_the_file_is_not_toml_then_the_line_is_named() -> None:
    """The reader is told where to look and what a line looks like."""
    with pytest.raises(PlanError) as refused:
        parse_plan(b'title = "a"\nrecord: river.csv\n', "plan.toml")
    (fault,) = refused.value.faults
    assert "not TOML" in fault.problem
    assert "line 2" in fault.problem
    assert "key =" in fault.allowed


# editing

TEXTS = {name: plan_text(name) for name in PLANS} | {"demonstration.toml": DEMONSTRATION}


@pytest.mark.parametrize("name", TEXTS)
@pytest.mark.parametrize("line_end", ["\n", "\r\n"], ids=["LF", "CRLF"])
def test_edit_when_nothing_changes_then_not_a_byte_changes(name: str, line_end: str) -> None:
    """Comments, spaces, underscores in numbers and line ends stay."""
    text = TEXTS[name].replace("\n", line_end)
    assert edit_plan(text, {}) == text
    same = dict(leaves(tomllib.loads(TEXTS[name])))
    assert edit_plan(text, same) == text


def test_edit_when_two_values_change_then_only_their_lines_change() -> None:
    """Each comment stays on its line, and every other line is untouched."""
    edited = edit_plan(
        DEMONSTRATION, {"opening.storage_ml": 88_000.0, "valley.accounts.loss_mode": "socialised"}
    )
    before, after = DEMONSTRATION.splitlines(), edited.splitlines()
    assert len(after) == len(before)
    moved = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert [old.split(" = ")[0] for old, _ in moved] == ["loss_mode", "storage_ml"]
    for old, new in moved:
        assert old.split("#")[1] == new.split("#")[1]
    assert tomllib.loads(edited)["opening"]["storage_ml"] == 88_000.0


def test_edit_when_a_key_is_taken_out_then_only_its_line_goes() -> None:
    """A limit taken out is no limit, and its neighbours keep their comments."""
    edited = edit_plan(DEMONSTRATION, {"valley.accounts.use_limit_1yr_ml_per_share": None})
    gone = set(DEMONSTRATION.splitlines()) - set(edited.splitlines())
    assert [line.split(" = ")[0] for line in gone] == ["use_limit_1yr_ml_per_share"]
    assert len(edited.splitlines()) == len(DEMONSTRATION.splitlines()) - 1


def test_edit_when_a_key_is_taken_out_that_is_not_there_then_nothing_changes() -> None:
    """Taking out what is not there is no change."""
    assert edit_plan(DEMONSTRATION, {"valley.accounts.reset_ml_per_share": None}) == DEMONSTRATION


CHANGES = {
    "where things stand": {
        "opening.month": "2026-01",
        "opening.storage_ml": 12_345.678,
        "opening.account_ml_per_share": 0.1,
        "opening.carried_ml_per_share": 0.0,
        "opening.used_this_year_ml_per_share": 1e-9,
    },
    "a choice that wants a number": {
        "valley.accounts.spill_rule": "reset",
        "valley.accounts.reset_ml_per_share": 0.5,
    },
    "a list": {"valley.essential_ml": [1.5] * 12, "valley.tributary_ml": [2.0] * 12},
    "a top key": {"record_fill": "calendar_month_median", "title": 'With "quotes"'},
    "a new table": {"outlook.finish_month": "February", "sequences.block_years": 3.5},
}


@pytest.mark.parametrize("name", TEXTS)
@pytest.mark.parametrize("what", CHANGES)
def test_edit_when_the_changes_between_two_plans_are_made_then_it_reads_back_equal(
    name: str, what: str
) -> None:
    """What a page changed is what the file then says, with every comment kept."""
    before = parse_plan(TEXTS[name].encode(), name)
    raw = before.model_dump(exclude_unset=True)
    for dotted, value in CHANGES[what].items():
        *tables, key = dotted.split(".")
        table = raw
        for part in tables:
            table = table.setdefault(part, {})
        table[key] = value
    after = check_plan(raw, name)
    edited = edit_plan(TEXTS[name], plan_changes(before, after))
    assert parse_plan(edited.encode(), name) == after
    comments, kept = (
        [line.split("#")[1] for line in text.splitlines() if "#" in line]
        for text in (TEXTS[name], edited)
    )
    assert kept == comments


@given(title=st.text(st.characters(codec="utf-8"), min_size=1, max_size=200))
def test_edit_when_any_text_is_written_then_it_reads_back_the_same(title: str) -> None:
    """Quotes, marks of comment, line ends and letters of any alphabet."""
    edited = edit_plan(plan_text(), {"title": title})
    assert parse_plan(edited.encode(), "plan").title == title


@given(
    storage_ml=st.floats(0.0, 400_000.0),
    used_ml_per_share=st.floats(0.0, 100.0),
    rain_mm=st.lists(st.floats(0.0, 1e9), min_size=12, max_size=12),
    seed=st.integers(0, 2**63 - 1),
)
def test_edit_when_any_number_is_written_then_it_reads_back_to_the_bit(
    storage_ml: float, used_ml_per_share: float, rain_mm: list[float], seed: int
) -> None:
    """Numbers go through the file without loss, however small or large."""
    edited = edit_plan(
        plan_text(),
        {
            "opening.storage_ml": storage_ml,
            "opening.used_last_year_ml_per_share": used_ml_per_share,
            "valley.lake_rain_mm": tuple(rain_mm),
            "sequences.seed": seed,
        },
    )
    plan = parse_plan(edited.encode(), "plan")
    assert plan.opening.storage_ml == storage_ml
    assert plan.opening.used_last_year_ml_per_share == used_ml_per_share
    assert plan.valley.lake_rain_mm == tuple(rain_mm)
    assert plan.sequences.seed == seed


def test_reference_plan_when_spoiled_by_hand_then_the_file_is_named() -> None:
    """The message begins with the file that is to be mended."""
    text = changed(plan_text(), "delivery_loss_frac = 0.20", "delivery_loss_frac = 20")
    with pytest.raises(PlanError, match=r"(?s)^farm\.toml: 1 problem to fix.*delivery_loss_frac"):
        parse_plan(text.encode(), "farm.toml")


def test_edit_when_a_table_is_taken_out_then_the_plan_reads_back_equal() -> None:
    """A valley without restriction: the heading goes with its keys."""
    before = parse_plan(DEMONSTRATION.encode(), "p")
    raw = before.model_dump(exclude_unset=True)
    del raw["valley"]["access"]
    after = check_plan(raw, "p")
    assert parse_plan(edit_plan(DEMONSTRATION, plan_changes(before, after)).encode(), "p") == after


def test_edit_when_a_key_is_added_to_a_file_with_windows_line_ends_then_they_all_are() -> None:
    """One kind of line end in a file."""
    edited = edit_plan(plan_text().replace("\n", "\r\n"), {"opening.carried_ml_per_share": 0.1})
    assert edited.count("\r\n") == edited.count("\n")


@pytest.mark.parametrize(
    ("key", "value", "allowed"),
    [
        ("invented", "yes", "true or false"),
        ("invented", 1, "true or false"),
        ("invented", 5, "true or false"),
        ("title", "", "text in quotes"),
        ("valley.name", "", "text in quotes"),
        ("sequences.count", 1_000_001, "1,000,000 or less"),
    ],
)
def test_plan_when_wrong_then_allowed_is_in_the_readers_words(
    key: str, value: object, allowed: str
) -> None:
    """No word of the machinery."""
    (fault,) = faults_of(with_values({key: value}))
    assert allowed in fault.allowed


def test_plan_when_a_surface_table_is_empty_then_it_is_not_asked_for_july_to_june() -> None:
    """The surface table has points, not months."""
    faults = faults_of(with_values({"valley.surface_storage_ml": [], "valley.surface_area_ha": []}))
    assert not any("July" in fault.allowed for fault in faults)
