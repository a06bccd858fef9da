"""The further rules on the page of the valley: folded until wanted, and kept in the plan."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from model.keeping.plans import Kept
from model.plan.shipped import presets
from tests.dashboard.window import clean, go, keep_home, opened, press

GROUPS = (
    "Environmental allowance",
    "Fixed delivery loss",
    "Block releases",
    "Stages of a restriction",
    "Carried water locked until a spill is unlikely",
    "High security carried over",
    "Capacity sharing",
)


@pytest.fixture(name="home")
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kept:
    """The demonstration in a data folder of the test's own."""
    return keep_home(tmp_path, monkeypatch, {})


def rules_page(part: str = "Further rules") -> AppTest:
    """A window on a part of the valley's page."""
    window = opened("our_valley")
    return clean(window.segmented_control(key="valley_part").set_value(part).run())


def on_disk(home: Kept) -> dict[str, Any]:
    """The valley as the plan's file has it."""
    return tomllib.loads(home.path.read_text("utf-8"))["valley"]


def test_rules_when_none_is_on_then_every_group_is_folded(home: Kept) -> None:
    """Seven groups, none of them open."""
    window = rules_page()
    found = {each.label: each.proto.expanded for each in window.expander if each.label in GROUPS}
    assert found == dict.fromkeys(GROUPS, False)


def test_rules_when_switched_on_then_they_are_saved_in_the_plan(home: Kept) -> None:
    """An allowance, a fixed loss, block releases, a lock and high security's carry."""
    window = rules_page()
    for key in ("valley.environment", "valley.delivery_loss_fixed_ml", "valley.block_release"):
        clean(window.checkbox(key=f"field.{key}.given").check().run())
    window.number_input(key="field.valley.environment.yearly_ml").set_value(2_000.0).run()
    window.number_input(key="field.valley.environment.release_ml.2").set_value(500.0).run()
    window.number_input(key="field.valley.delivery_loss_fixed_ml.4").set_value(300.0).run()
    window.multiselect(key="field.valley.block_release.months").set_value([11]).run()
    key = "field.valley.accounts.spill_lock_below_frac"
    window.number_input(key=key).set_value(0.6).run()
    window.selectbox(key="field.valley.accounts.spill_lock_until_month").set_value(3).run()
    key = "field.valley.high_security.carryover_frac"
    clean(window.number_input(key=key).set_value(0.4).run())
    press(go(window, "today"), "Save")
    valley = on_disk(home)
    assert valley["environment"]["yearly_ml"] == 2_000.0
    assert valley["environment"]["release_ml"] == [0.0, 500.0] + [0.0] * 10
    assert valley["delivery_loss_fixed_ml"][3] == 300.0
    assert valley["block_release"] == {"months": [11], "below_ml": 1_000.0}
    assert valley["accounts"]["spill_lock_below_frac"] == 0.6
    assert valley["accounts"]["spill_lock_until_month"] == 3
    assert valley["high_security"]["carryover_frac"] == 0.4


def test_sharing_when_switched_on_then_what_it_refuses_is_taken_out_and_comes_back(
    home: Kept,
) -> None:
    """The plan is sound at once; switched off, the accounts are the file's again."""
    window = rules_page()
    accounts = on_disk(home)["accounts"]
    assert "account_limit_ml_per_share" in accounts
    key = "field.valley.capacity_sharing.given"
    clean(window.checkbox(key=key).check().run())
    window.number_input(key="field.valley.capacity_sharing.space_frac").set_value(0.7).run()
    press(go(clean(window), "today"), "Save")
    shared = on_disk(home)
    assert shared["capacity_sharing"] == {"space_frac": 0.7, "inflow_frac": 0.5}
    kept = {name: value for name, value in accounts.items() if name.startswith("use_limit")}
    assert shared["accounts"] == kept


def test_sharing_when_switched_off_again_then_the_accounts_are_the_files(home: Kept) -> None:
    """A try costs nothing."""
    window, key = rules_page(), "field.valley.capacity_sharing.given"
    before = dict(window.session_state.changes)
    clean(window.checkbox(key=key).check().run())
    clean(window.checkbox(key=key).uncheck().run())
    assert window.session_state.changes == before


def stage_keys(window: AppTest) -> list[str]:
    """The controls of the stages on the page, by key."""
    controls = [*window.number_input, *window.selectbox]
    return sorted(each.key for each in controls if ".access.stages." in str(each.key))


def test_stages_when_edited_on_the_page_then_the_plan_has_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A row changed, one added and changed, one taken out; saved as TOML's rows."""
    staged = next(p for p in presets() if p.name == "Continuous, restricted in stages").changes()
    little = {"opening.account_ml_per_share": 0.05, "opening.carried_ml_per_share": 0.0}
    home = keep_home(tmp_path, monkeypatch, staged | little)
    window, at = rules_page(), "field.valley.access.stages"
    assert len(stage_keys(window)) == 3 * 3
    window.number_input(key=f"{at}.1.access_frac").set_value(40.0).run()
    clean(window.selectbox(key=f"{at}.2.freezes").set_value("carried").run())
    window.button(key="add.valley.access.stages").click().run()
    assert "do not fall" in said_of_faults(window)
    clean(window.number_input(key=f"{at}.4.trigger_frac").set_value(3.0).run())
    clean(window.button(key="out.valley.access.stages.3").click().run())
    press(go(window, "today"), "Save")
    assert on_disk(home)["access"]["stages"] == [
        {"trigger_frac": 0.25, "access_frac": 0.4, "freezes": "carried"},
        {"trigger_frac": 0.15, "access_frac": 0.5, "freezes": "carried"},
        {"trigger_frac": 0.03, "access_frac": 0.0, "freezes": "account"},
    ]


def said_of_faults(window: AppTest) -> str:
    """All that the page says is to be fixed."""
    cells = [str(table.value.to_string()) for table in window.table]
    return "\n".join([*cells, *(error.value for error in window.error)])


def test_stages_when_the_single_trigger_is_taken_out_then_a_first_one_can_be_added(
    home: Kept,
) -> None:
    """Its single trigger is taken out under The rules; then one stage is added and changed."""
    window = rules_page("The rules")
    clean(window.checkbox(key="field.valley.access.given").uncheck().run())
    window.segmented_control(key="valley_part").set_value("Further rules").run()
    window.button(key="add.valley.access.stages").click().run()
    at = "field.valley.access.stages.1"
    window.number_input(key=f"{at}.trigger_frac").set_value(20.0).run()
    clean(window.number_input(key=f"{at}.access_frac").set_value(50.0).run())
    press(go(window, "today"), "Save")
    (stage,) = on_disk(home)["access"]["stages"]
    assert (stage["trigger_frac"], stage["access_frac"]) == (0.2, 0.5)


@pytest.mark.parametrize("name", ["Capacity sharing", "Continuous, restricted in stages"])
def test_rules_when_an_example_has_one_then_every_part_of_the_page_shows_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """A plan with shared capacity, or with stages, opens on each part without a fault."""
    changes = next(preset for preset in presets() if preset.name == name).changes()
    little = {"opening.account_ml_per_share": 0.05, "opening.carried_ml_per_share": 0.0}
    keep_home(tmp_path, monkeypatch, changes | little)
    for part in ("The rules", "The accounts", "Further rules"):
        window = rules_page(part)
    assert any(each.label.endswith(": on") for each in window.expander)
