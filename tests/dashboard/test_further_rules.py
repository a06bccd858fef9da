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
    window = go(opened(), "our_valley")
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
