"""Ready-made rules to begin from: each makes a plan of the demonstration, whatever stood before."""

from __future__ import annotations

import tomllib

import pytest

from model.outlook.outlook import odds_of_water
from model.plan.plan import Plan
from model.plan.shipped import Preset, demonstration_plan, presets
from model.plan.text import check_plan, edit_plan, parse_plan
from model.record.record import read_record

NAMES = [preset.name for preset in presets()]
LITTLE_WATER = {"opening.account_ml_per_share": 0.05, "opening.carried_ml_per_share": 0.0}


def named(name: str) -> Preset:
    """A preset by its name."""
    return next(preset for preset in presets() if preset.name == name)


def with_preset(text: str, name: str) -> str:
    """A plan's text under a preset, with little water in accounts."""
    return edit_plan(text, named(name).changes() | LITTLE_WATER)


def read(text: str) -> Plan:
    """A plan's text, checked."""
    return parse_plan(text.encode(), "preset")


@pytest.fixture(name="demonstration")
def _demonstration() -> str:
    """Text of the demonstration."""
    return demonstration_plan().read_text(encoding="utf-8")


@pytest.mark.parametrize("name", NAMES)
def test_preset_when_used_then_its_rules_are_the_plans(name: str, demonstration: str) -> None:
    """All of its accounts, and its own tables, stand in the plan."""
    valley, preset = read(with_preset(demonstration, name)).valley, named(name)
    assert valley.accounts == preset.accounts
    assert valley.capacity_sharing == preset.capacity_sharing
    assert preset.access in (None, valley.access)


@pytest.mark.parametrize("first", NAMES)
@pytest.mark.parametrize("then", NAMES)
def test_preset_when_another_stood_before_then_nothing_of_its_accounts_is_left(
    first: str, then: str, demonstration: str
) -> None:
    """Shared capacity refuses what others state; going back and forth makes sound plans."""
    valley = read(with_preset(with_preset(demonstration, first), then)).valley
    assert valley.accounts == named(then).accounts
    assert valley.capacity_sharing == named(then).capacity_sharing


def test_presets_when_listed_then_further_rules_are_among_them() -> None:
    """A lock, stages and shared capacity each have an example."""
    found = presets()
    assert any(preset.accounts.spill_lock_below_frac is not None for preset in found)
    assert any(preset.access is not None and preset.access.stages for preset in found)
    assert any(preset.capacity_sharing is not None for preset in found)


@pytest.mark.parametrize("name", ["Capacity sharing", "Continuous, restricted in stages"])
def test_outlook_when_a_preset_has_a_further_rule_then_odds_are_given(
    name: str, demonstration: str
) -> None:
    """Under shared capacity the odds are of what is credited, since nothing is announced."""
    path = demonstration_plan()
    raw = tomllib.loads(with_preset(demonstration, name))
    raw["sequences"] = {"method": "historical", "seasons": 2}
    found = odds_of_water(check_plan(raw, name), read_record(path.with_name(raw["record"])))
    for season in found.seasons:
        assert season.end.amounts["announced_to_date_ml_per_share"].mean > 0.0
        assert season.chance_none.value < 1.0
