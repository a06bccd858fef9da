"""Are drought steps that cannot be taken refused by name, all at once, in the user's words?"""

from __future__ import annotations

from typing import Any

import pytest

from model.errors import PlanError
from model.plan.cautions import opening_cautions
from model.plan.plan import Plan
from model.plan.steps import steps_that_name, without_loan
from model.plan.text import check_plan
from tests.farm.step_cases import BANK, SELL, SPEND_LESS, WATER, a_step
from tests.farm_case import REMOVED, farm_plan, raw_plan

OWNS = {"farm.money.deposit_aud": 100_000.0}


def refused(steps: list[Any], changes: dict[str, Any] | None = None) -> list[str]:
    """Return the faults of the example plan with these steps on its first strategy."""
    raw = raw_plan({"strategies.0.steps": steps} | (changes or {}))
    with pytest.raises(PlanError) as caught:
        check_plan(raw, "plan.toml")
    return [str(fault) for fault in caught.value.faults]


def test_steps_when_every_kind_is_whole_then_the_plan_holds_them_in_order() -> None:
    """What is written is what the plan holds, and each step knows what it does."""
    plan: Plan = farm_plan({"strategies.0.steps": [*SPEND_LESS, *SELL, *BANK]} | OWNS)
    kinds = [step.kind for step in plan.strategies[0].steps]
    assert kinds[:4] == [
        "overheads_factor",
        "drawings_factor",
        "off_farm_income_aud_per_year",
        "sell_shares_ml",
    ]
    assert farm_plan({"strategies.0.steps": WATER}).strategies[0].steps[0].when.month == "October"
    assert plan.strategies[1].steps == ()
    assert plan.strategies[0].without_steps().steps == ()


FAULTS: dict[str, tuple[dict[str, Any], dict[str, Any], str, str]] = {
    "does nothing": (a_step("idle", {}), {}, "steps, value 1.do", "step “idle”: it does nothing"),
    "does two things": (
        a_step("both", {"overheads_factor": 0.9, "drawings_factor": 0.9}),
        {},
        "steps, value 1.do",
        "it does 2 things at once",
    ),
    "no such loan": (
        a_step("ask", {"interest_only_years": 2, "loan": "lnad"}),
        {},
        'do.loan "lnad"',
        "no loan is called so. Allowed: land; or take the step out as well",
    ),
    "names no loan": (
        a_step("ask", {"interest_only_years": 2}),
        {},
        "do.loan",
        "it is missing beside interest_only_years",
    ),
    "no term is left": (
        a_step("ask", {"interest_only_years": 15, "loan": "land"}),
        {},
        "do.interest_only_years",
        "nothing is left to repay the loan in, which runs for 15 years more",
    ),
    "all shares": (
        a_step("sale", {"sell_shares_ml": 3_000.0, "price_aud_per_share": 1_000.0}),
        {},
        "do.sell_shares_ml",
        "it sells all the general-security shares, or more, and the farm owns 3,000",
    ),
    "shares year after year": (
        a_step(
            "sale", {"sell_shares_ml": 1_000.0, "price_aud_per_share": 1_000.0}, how_often="yearly"
        ),
        {},
        "do.sell_shares_ml",
        "and the farm owns 3,000",
    ),
    "machinery": (
        a_step("sale", {"sell_machinery_aud": 9_000_000.0}),
        {},
        "do.sell_machinery_aud",
        "it sells more machinery than the farm owns",
    ),
    "no deposit": (
        a_step("draw", {"draw_deposit_aud": 1.0}),
        {},
        "do.draw_deposit_aud",
        "it draws more than the farm deposit holds, which is 0",
    ),
    "no price": (
        a_step("sale", {"sell_shares_ml": 10.0}),
        {},
        "do.price_aud_per_share",
        "it is missing beside sell_shares_ml",
    ),
    "a key of another": (
        a_step("cut", {"overheads_factor": 0.9, "loan": "land"}),
        {},
        "do.loan",
        "it is not used. Allowed: beside interest_only_years alone",
    ),
    "no market": (
        a_step("sale", {"sell_water_ml": 10.0}),
        {"farm.trade": REMOVED},
        "do.sell_water_ml",
        "the farm has no market for water",
    ),
    "never in the run": (
        a_step("late", {"overheads_factor": 0.9}, "July"),
        {"sequences.seasons": 1},
        "when.month",
        "the run has no such month: it is never taken",
    ),
    "more dry seasons than there are": (
        a_step("late", {"overheads_factor": 0.9}, "December", seasons_of_nothing=4),
        {"opening.announced_to_date_ml_per_share": 0.0},
        "when.seasons_of_nothing",
        "by December the run has at most 3 such seasons",
    ),
    "no loan to be behind with": (
        a_step("late", {"overheads_factor": 0.9}, arrears=True),
        {"farm.money.loans": []},
        "when.arrears",
        "no loan is owed: it is never taken",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_step_when_it_cannot_be_taken_then_it_is_refused_by_name(name: str) -> None:
    """One fault, at its key, that names the step and says what is the matter."""
    step, changes, where, problem = FAULTS[name]
    (fault,) = refused([step], changes)
    assert where in fault
    assert f"step “{step['name']}”" in fault
    assert problem in fault


@pytest.mark.parametrize(
    ("asked", "seasons", "named"),
    [
        ({"nothing_announced": True}, 1, True),
        ({"nothing_announced": True}, 2, False),
        ({"seasons_of_nothing": 3}, 3, True),
        ({"seasons_of_nothing": 2}, 3, False),
    ],
)
def test_step_when_water_is_announced_already_then_it_is_named_and_the_plan_is_whole(
    asked: dict[str, Any], seasons: int, named: bool
) -> None:
    """What the date alone rules out refuses no plan; a caution says that it is not taken."""
    changes = {
        "strategies.0.steps": [a_step("wait", {"overheads_factor": 0.9}, "December", **asked)],
        "sequences.seasons": seasons,
    }
    dry = {"opening.announced_to_date_ml_per_share": 0.0}
    said = [caution for caution in opening_cautions(farm_plan(changes)) if "wait" in caution]
    assert bool(said) == named
    if named:
        assert said == [
            "Step “wait” of “A season in hand” is not taken in this run: water is announced this "
            "season already."
        ]
    assert not any("wait" in caution for caution in opening_cautions(farm_plan(changes | dry)))


def test_loan_when_it_is_taken_out_then_the_steps_that_name_it_are_known_and_go_too() -> None:
    """By name, each once; other steps and strategies stay, and the plan is whole without them."""
    ask = a_step("ask", {"interest_only_years": 2, "loan": "land"})
    sale = {"sell_shares_ml": 10.0, "price_aud_per_share": 900.0, "repay_loan": "land"}
    steps = [ask, a_step("cut", {"overheads_factor": 0.9}), a_step("sale", sale)]
    raw = raw_plan({"strategies.0.steps": steps, "strategies.1.steps": [ask]})
    assert steps_that_name(raw["strategies"], "land") == ["ask", "sale"]
    assert steps_that_name(raw["strategies"], "header") == []
    left = without_loan(raw["strategies"], "land")
    assert [[step["name"] for step in each.get("steps", [])] for each in left] == [["cut"], [], []]
    plan = check_plan(raw_plan({"strategies": left, "farm.money.loans": []}), "plan.toml")
    assert [step.name for step in plan.strategies[0].steps] == ["cut"]


def test_steps_when_several_are_wrong_then_all_faults_are_told_at_once() -> None:
    """Beside what the schema finds, and two steps of one name."""
    faults = refused(
        [
            FAULTS["no such loan"][0],
            a_step("ask", {"sell_machinery_aud": 1e9}),
            a_step("cold", {"drawings_factor": -1.0}, "Juny", dam_below_frac=0.0),
            "no table",
        ]
    )
    assert len(faults) == 7
    found = "\n".join(faults)
    for words in ("lnad", "another has this name", "more machinery", "Juny", "dam_below_frac"):
        assert words in found
    assert "drawings_factor" in found


def test_deposit_when_it_is_drawn_on_every_year_then_the_plan_is_whole() -> None:
    """It gives what is left of it: 60,000 a year of 100,000 is no fault."""
    assert farm_plan({"strategies.0.steps": BANK} | OWNS).strategies[0].steps[1].kind == (
        "draw_deposit_aud"
    )
