"""Can every figure of farm and strategies be changed on the page, marked until it is, and count?"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from dashboard.findings.our_farm import GROUPS, NOT_HERE, asked_for
from model.keeping.plans import with_changes
from model.plan.farm import Farm
from model.plan.fields import PlanField, fields_of, key_of
from model.plan.strategy import Strategy
from model.plan.text import check_plan, edit_plan
from tests.dashboard.window import clean, keep_home, line, opened, press, tables

SHARES = "farm.licence.general_security_shares_ml"
LOANS = "farm.money.loans"


QUICK = {"sequences.count": 60, "sequences.seasons": 1, "sequences.method": "blocks"}


@pytest.fixture(name="opened_once", scope="module")
def _opened_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[AppTest]:
    """Open the page once, on a kept plan with few sequences."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        keep_home(tmp_path_factory.mktemp("kept"), monkeypatch, QUICK)
        yield clean(opened("our_farm"))


@pytest.fixture(name="window")
def _window(opened_once: AppTest) -> AppTest:
    """Return the page with nothing changed on it."""
    opened_once.session_state.changes.clear()
    return group(opened_once, next(iter(GROUPS)))


def group(window: AppTest, name: str) -> AppTest:
    """Look at one group of figures."""
    return clean(window.segmented_control(key="farm_group").set_value(name).run())


def control(window: AppTest, key: str) -> Any:
    """Find the control of a key."""
    kinds = (window.number_input, window.text_input, window.selectbox, window.multiselect)
    return next(each for kind in kinds for each in kind if each.key == f"field.{key}")


def _leaves(fields: tuple[PlanField, ...], at: str) -> Iterator[str]:
    """Yield the dotted keys of figures; a place of a list is left out."""
    for field in fields:
        if field.inner:
            yield from _leaves(field.inner, key_of(at, field))
        else:
            yield key_of(at, field)


def test_groups_when_all_are_gone_through_then_every_key_is_asked_for_once() -> None:
    """Nothing of farm and strategies is without a place, and nothing has two; today's apart."""
    asked = [
        leaf for name in GROUPS for at, field in asked_for(name) for leaf in _leaves((field,), at)
    ]
    names = [leaf for leaf in asked if not leaf.endswith(".name")]
    assert len(names) == len(set(names))
    wanted = {*_leaves(fields_of(Farm), "farm"), *_leaves(fields_of(Strategy), "strategies")}
    apart = tuple(f"farm.{key}" for key in NOT_HERE)
    assert wanted - set(asked) - {"farm.crops.name", "farm.crops.layouts.name"} == {
        leaf for leaf in wanted if leaf.startswith(apart)
    }


def test_groups_when_each_is_open_then_its_figures_say_what_is_allowed(window: AppTest) -> None:
    """Unit, range and mark stand at the figure; the page shows what the farm brings."""
    for name in GROUPS:
        group(window, name)
        assert window.number_input
        assert all("Allowed: " in each.help for each in window.number_input)
        assert any(each.label.endswith("example's") for each in window.number_input)
        assert "plants" in window.info[0].value


def test_shares_when_halved_then_fewer_hectares_and_no_longer_the_examples(
    window: AppTest,
) -> None:
    """One changed figure moves what the farm brings, loses its mark, and is in the plan."""
    before = window.info[0].value
    assert control(window, SHARES).label == "General-security shares, ML · example's"
    clean(control(window, SHARES).set_value(1_200.0).run())
    assert control(window, SHARES).label == "General-security shares, ML"
    assert window.info[0].value != before
    assert window.session_state.changes == {SHARES: 1_200.0}
    assert _plan(window).farm.licence.general_security_shares_ml == 1_200.0


def test_interest_when_given_in_percent_then_the_plan_states_a_fraction(window: AppTest) -> None:
    """7.5 % a year is 0.075 in the file, whichever way it is read."""
    group(window, "Bank, loans, sales")
    assert control(window, f"{LOANS}.1.rate_frac_per_year").value == 7.5
    clean(control(window, f"{LOANS}.1.rate_frac_per_year").set_value(8.25).run())
    assert window.session_state.changes[f"{LOANS}.1.rate_frac_per_year"] == 0.0825


def test_loans_when_one_is_added_changed_and_taken_out_then_the_plan_follows(
    window: AppTest,
) -> None:
    """A small table grows and shrinks by a button a row; what was typed stays in its row.

    With a loan go the drought steps that name it; the button says so, and the others stay.
    """
    group(window, "Bank, loans, sales")
    clean(control(window, f"{LOANS}.1.balance_aud").set_value(900_000.0).run())
    clean(window.button(key=f"add.{LOANS}").click().run())
    clean(control(window, f"{LOANS}.2.balance_aud").set_value(50_000.0).run())
    plan = _plan(window)
    assert [(each.name, each.balance_aud) for each in plan.farm.money.loans] == [
        ("land", 900_000.0),
        ("land 2", 50_000.0),
    ]
    out = window.button(key=f"out.{LOANS}.1")
    assert out.label == (
        "Take out land, and the steps that name it: “Interest only for two years” and “Sell 500 "
        "shares and repay the loan”"
    )
    clean(out.click().run())
    plan = _plan(window)
    assert [each.name for each in plan.farm.money.loans] == ["land 2"]
    assert [step.name for step in plan.strategies[3].steps] == [
        "Put off work that can wait",
        "Hire a neighbour's bore",
    ]
    assert window.button(key=f"out.{LOANS}.1").label == "Take out land 2"
    clean(window.button(key=f"out.{LOANS}.1").click().run())
    assert _plan(window).farm.money.loans == ()
    clean(window.button(key=f"add.{LOANS}").click().run())
    assert [each.name for each in _plan(window).farm.money.loans] == ["land"]


def test_strategies_when_one_is_added_then_it_grows_what_it_is_told(window: AppTest) -> None:
    """A list within a list: a crop in the order of a new strategy, by the farm's own names."""
    group(window, "Strategies")
    clean(window.button(key="add.strategies").click().run())
    crop = control(window, "strategies.5.grow.1.crop")
    assert crop.options == ["cotton", "wheat", "sorghum"]
    clean(window.button(key="out.strategies.5.grow.1").click().run())
    clean(control(window, "strategies.5.name").set_value("Ours").run())
    plan = _plan(window)
    assert [each.name for each in plan.strategies][-1] == "Ours"
    assert plan.strategies[4].grow == plan.strategies[3].grow[1:]
    assert "“Ours” plants" in window.info[0].value


def test_numbers_when_they_cannot_be_read_then_said_and_nothing_is_lost(window: AppTest) -> None:
    """What was typed stays to be mended, and the plan keeps what it had."""
    group(window, "Land and crops")
    stages = "farm.crops.1.stage_days"
    control(window, stages).set_value("30, 50, fifty, 45").run()
    assert [each.value for each in window.error] == [
        "fifty: not a number. The plan keeps what it had."
    ]
    assert control(window, stages).value == "30, 50, fifty, 45"
    assert stages not in window.session_state.changes
    clean(control(window, stages).set_value("30, 50, 60, 45").run())
    assert _plan(window).farm.crops[0].stage_days == (30, 50, 60, 45)


def test_fault_when_figures_do_not_fit_then_named_and_all_typed_stays(window: AppTest) -> None:
    """A crop cannot be watered after its harvest: the page says where, and waits."""
    group(window, "Land and crops")
    clean(control(window, "farm.developed_ha").set_value(480.0).run())
    control(window, "farm.crops.1.harvest_month").set_value("February").run()
    assert not window.exception
    assert "farm.crops" in str(tables(window)[0].index[0])
    assert "still watered then" in tables(window)[0].to_csv()
    assert control(window, "farm.developed_ha").value == 480.0
    clean(control(window, "farm.crops.1.harvest_month").set_value("May").run())


def test_bore_when_switched_off_and_on_then_the_table_goes_and_comes(window: AppTest) -> None:
    """What the farm has not is left out of the plan."""
    group(window, "Machinery, storage, bore")
    box = next(each for each in window.checkbox if each.label == "Bore")
    clean(box.uncheck().run())
    assert _plan(window).farm.bore is None
    clean(next(each for each in window.checkbox if each.label == "Bore").check().run())
    assert _plan(window).farm.bore is not None


def test_rest_when_it_is_right_for_us_then_no_figure_is_the_examples(window: AppTest) -> None:
    """Group by group, until nothing is invented; then nothing says so."""
    changes = window.session_state.changes
    changes["ours"] = ["record", "valley", "opening", "farm.opening", "farm.money.bank_aud"]
    for name in GROUPS:
        group(window, name)
        clean(window.button(key="ours").click().run())
        assert not any(each.label.endswith("example's") for each in window.number_input)
    assert _plan(window).invented is False
    assert "invented example" not in line(window)


def test_farm_when_a_plan_has_none_then_it_begins_from_the_examples(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One press, and every figure is there to be changed."""
    keep_home(tmp_path, monkeypatch, {**QUICK, "farm": None, "strategies": None})
    window = clean(opened("our_farm"))
    press(window, "Begin from the example's farm")
    assert _plan(window).farm.developed_ha == 500.0
    assert control(window, SHARES).value == 3_000.0


def test_list_when_a_row_is_taken_out_then_the_others_keep_their_comments() -> None:
    """A file is changed where it must be and nowhere else."""
    text = (
        "[[loans]]\nname = 'a' # the first\n\n[[loans]]\nname = 'b' # the second\n"
        "[[loans]]\nname = 'c' # the third\n"
    )
    rows = [{"name": "a"}, {"name": "c"}, {"name": "d"}]
    edited = edit_plan(edit_plan(text, {"loans": rows[:2]}), {"loans": rows})
    assert "# the first" in edited
    assert "# the third" in edited
    assert "'b'" not in edited
    assert tomllib.loads(edited)["loans"] == rows


def _plan(window: AppTest) -> Any:
    state = window.session_state
    return check_plan(with_changes(state.kept.text, dict(state.changes)), "plan")
