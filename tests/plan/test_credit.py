"""A request to a lender: stated, refused by name, and asked for on the page of the farm."""

from __future__ import annotations

from pathlib import Path

import pytest

from dashboard.findings.our_farm import REST, asked_for
from model.errors import InputError
from model.plan.credit import Credit
from model.plan.demonstration import demonstration
from model.plan.fields import fields_of
from model.plan.text import parse_plan
from tests.brief_plan import CREDIT, credit_plan, farm_plan_text

DEMONSTRATION = Path(__file__).parents[2] / "data" / "demonstration.toml"


def refused(**changes: str) -> str:
    """Read a plan with lines of its credit table changed; give what is refused."""
    text = CREDIT
    for line, other in changes.items():
        old = {"day": 'valued_on = "2024-03-12"', "level": "level = 0.28", "fall": "= 0.25"}[line]
        assert old in text
        text = text.replace(old, other, 1)
    with pytest.raises(InputError) as caught:
        parse_plan((farm_plan_text(50) + text).encode(), "plan")
    return str(caught.value)


def test_credit_when_wrong_then_refused_by_its_place() -> None:
    """A day that is none, percent for a part of one, a fall beyond all: each named, all at once."""
    said = refused(day='valued_on = "last March"', level="level = 60.0", fall="= 20.0")
    assert "valued_on" in said
    assert "it is a part of 1, not percent" in said
    assert "value_fall_frac" in said
    assert said.count("farm.credit") >= 3
    assert "there is no such day" in refused(day='valued_on = "2024-02-30"')


def test_credit_when_left_out_then_no_figure_of_the_farm_moves() -> None:
    """The table is beside the farm: without it the plan is the same."""
    plan = credit_plan(50)
    assert plan.farm is not None
    assert plan.farm.credit is not None
    assert plan.farm.credit.securities[0].asset == "=Home block, 520 ha"
    assert plan.farm.credit.covenants[0].words.startswith("@SUM(A1)")
    demo, _ = demonstration()
    assert demo.farm is not None
    assert demo.farm.credit is None


def test_credit_when_asked_for_on_our_farm_then_all_its_keys() -> None:
    """The page of the farm asks for it among bank, loans and sales, key by key."""
    asked = {field.name: field for _, field in asked_for(REST)}
    assert {each.name for each in asked["credit"].inner} == {
        each.name for each in fields_of(Credit)
    }


def test_example_when_the_marks_are_taken_away_then_it_is_a_plan() -> None:
    """What the demonstration's file explains in comments can be stated as it stands."""
    lines = DEMONSTRATION.read_text("utf-8").splitlines()
    first = next(at for at, line in enumerate(lines) if line.startswith("# [farm.credit]"))
    last = next(at for at in range(first, len(lines)) if not lines[at].startswith("#"))
    stated = [line.removeprefix("#").removeprefix(" ") for line in lines[first:last]]
    plan = parse_plan("\n".join([*lines, *stated]).encode(), "plan")
    assert plan.farm is not None
    assert plan.farm.credit is not None
    assert len(plan.farm.credit.covenants) == 1
