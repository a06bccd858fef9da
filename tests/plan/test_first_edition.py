"""Is a plan of the first edition, which knew cotton alone, read as it was meant?"""

from __future__ import annotations

import tomllib
from copy import deepcopy
from typing import Any

import pytest

from model.cli import main
from model.errors import PlanError
from model.keeping.plans import with_changes
from model.keeping.sittings import keep_sitting, sitting
from model.plan.first_edition import in_todays_words, is_first_edition
from model.plan.text import check_plan, edit_plan, parse_plan
from tests.farm_case import CONTRACT, REFERENCE, raw_plan

pytestmark = pytest.mark.usefixtures("few_records")

COTTON: dict[str, Any] = {
    "planting_day": 20,
    "kc_middle": 1.2,
    "season_ky": 0.85,
    "planting_soil_water_mm": 60.0,
    "full_yield_bales_per_ha": 11.0,
    "rain_grown_yield_bales_per_ha": 2.5,
    "lint_aud_per_bale": 550.0,
    "seed_aud_per_bale": 100.0,
    "prepared_cost_aud_per_ha": [60, 90, 450, 0, 0, 0, 0, 0, 0, 0, 0, 0],
    "growing_cost_aud_per_ha": [0, 0, 0, 550, 67, 297, 67, 67, 12, 10, 0, 0],
    "picking_cost_aud_per_ha": 610.0,
    "picking_cost_aud_per_bale": 93.0,
    "income_pattern": [0.25, 0.15, 0, 0, 0, 0, 0, 0, 0, 0.10, 0.25, 0.25],
}
WHEAT: dict[str, Any] = {
    "name": "wheat",
    "land_frac": 0.55,
    "yield_t_per_ha": 2.2,
    "price_aud_per_t": 300.0,
    "cost_aud_per_ha": 330.0,
    "cost_month": "June",
    "income_month": "December",
}


def first_edition() -> dict[str, Any]:
    """Return the example's plan as the first edition stated a farm."""
    raw = raw_plan()
    farm = raw["farm"]
    del farm["crops"]
    farm |= {"cotton": dict(COTTON), "other_crops": [dict(WHEAT)], "rotation_limit_frac": 0.6}
    farm["unplanted_crop"] = "fallow"
    farm["opening"]["spent_aud"] = farm["opening"].pop("land_spent_aud")
    for strategy, planned in zip(raw["strategies"], (8.0, 7.7, 7.0), strict=True):
        del strategy["grow"]
        strategy["planned_water_ml_per_ha"] = planned
    return raw


def test_plan_when_of_the_first_edition_then_cotton_is_the_main_crop() -> None:
    """Every figure that still counts is where it belongs now; the others are named once."""
    raw = first_edition()
    before = deepcopy(raw)
    plan = check_plan(raw, "old.toml")
    assert raw == before
    assert plan.farm is not None
    cotton, wheat = plan.farm.crops
    assert (cotton.name, cotton.unit, cotton.sow_month, cotton.sow_day) == (
        "cotton",
        "bale",
        "October",
        20,
    )
    assert (cotton.kc_initial, cotton.kc_middle, cotton.most_of_land_frac) == (0.35, 1.2, 0.6)
    assert (cotton.price_aud_per_unit, cotton.by_product_aud_per_unit) == (550.0, 100.0)
    assert cotton.layouts[0].full_yield_units_per_ha == 11.0
    assert (wheat.sow_month, wheat.harvest_month, wheat.unit) == ("June", "December", "t")
    assert wheat.most_of_land_frac == pytest.approx(0.55 * 0.4)
    assert wheat.growing_cost_aud_per_ha[11] == 330.0
    assert [strategy.grow[0].planned_water_ml_per_ha for strategy in plan.strategies] == [
        8.0,
        7.7,
        7.0,
    ]
    (in_ground,) = plan.farm.opening.crops
    assert in_ground.crop == "wheat"
    assert in_ground.area_ha == pytest.approx(0.55 * (500.0 - plan.farm.opening.prepared_ha))
    assert plan.farm.opening.land_spent_aud == 36_000.0
    for word in ("first edition", "season_ky", "rain_grown_yield", "planting_soil_water", "other"):
        assert sum(word in note for note in plan.notes) == 1, word


def test_plan_when_of_today_then_nothing_is_said() -> None:
    """A plan of today is as it is, and has no notes."""
    raw = raw_plan()
    assert not is_first_edition(raw)
    assert in_todays_words(raw).raw == raw
    assert check_plan(raw, "plan.toml").notes == ()


def test_plan_when_the_first_edition_has_a_crop_in_the_ground_then_it_is_a_field() -> None:
    """Cotton in the ground comes with its soil water, its loss and what was spent."""
    raw = first_edition()
    raw["opening"]["month"] = "2026-01"
    raw["farm"]["opening"] |= {
        "prepared_ha": 0.0,
        "planted_ha": 180.0,
        "planted_of_prepared_ha": 200.0,
        "soil_water_mm": 30.0,
        "yield_lost_frac": 0.1,
        "last_watered_month": "November",
        "spent_aud": 250_000.0,
    }
    plan = check_plan(raw, "old.toml")
    assert plan.farm is not None
    (cotton,) = plan.farm.opening.crops
    assert (cotton.crop, cotton.layout, cotton.area_ha) == ("cotton", "solid", 180.0)
    assert (cotton.soil_water_mm, cotton.yield_lost_frac) == (30.0, 0.1)
    assert (cotton.last_watered_month, cotton.spent_aud) == (None, 250_000.0)
    assert any("last_watered_month" in note for note in plan.notes)


def test_plan_when_the_first_edition_is_wrong_then_all_faults_have_the_files_keys() -> None:
    """What a person reads is what the file says: cotton, other crops, the rotation limit."""
    raw = first_edition()
    raw["farm"]["cotton"] |= {"kc_midle": 1.0, "picking_month": "Octember"}
    del raw["farm"]["cotton"]["full_yield_bales_per_ha"]
    raw["farm"]["other_crops"][0]["yield_t_per_ha"] = -1.0
    raw["farm"]["rotation_limit_frac"] = 1.4
    with pytest.raises(PlanError) as refused:
        check_plan(raw, "old.toml")
    assert {fault.where for fault in refused.value.faults} == {
        "farm.cotton.kc_midle",
        "farm.cotton.picking_month",
        "farm.cotton.full_yield_bales_per_ha",
        "farm.other_crops, value 1.yield_t_per_ha",
        "farm.rotation_limit_frac",
    }


def test_file_when_of_the_first_edition_then_it_is_rewritten_only_when_changed() -> None:
    """With no change not a byte moves; with one the farm is in today's words, all else is kept."""
    text = old_text()
    assert edit_plan(text, {}) == text
    edited = edit_plan(text, {"farm.money.bank_aud": 5.0})
    assert "[farm.cotton]" not in edited
    assert "# laid out for irrigation" in edited
    old, new = parse_plan(text.encode(), "old"), parse_plan(edited.encode(), "new")
    assert new.notes == ()
    assert old.farm is not None
    money = old.farm.money.model_copy(update={"bank_aud": 5.0})
    assert new.farm == old.farm.model_copy(update={"money": money})
    assert new.strategies == old.strategies
    on_page = check_plan(with_changes(text, {"farm.crops.1.price_aud_per_unit": 500.0}), "page")
    assert on_page.farm is not None
    assert on_page.farm.main_crop.price_aud_per_unit == 500.0


def old_text() -> str:
    """Return the example's farm as a file of the first edition, with its comments."""
    farm = (REFERENCE / "farm_example.toml").read_text("utf-8")
    valley = (CONTRACT / "plan.toml").read_text("utf-8")
    head = farm[: farm.index("[[farm.crops]]")]
    rest = farm[farm.index("[farm.trade]") : farm.index("[[strategies]]")]
    rest = rest.replace("land_spent_aud", "spent_aud")
    cotton = "[farm.cotton]\n" + "".join(f"{key} = {value}\n" for key, value in COTTON.items())
    old = 'name = "old"\nplanned_water_ml_per_ha = 7.0\n'
    way = f"[[strategies]]\n{old}count_on_frac = 0.5\nexpected_chance_frac = 0.5\n"
    head = head.replace("[farm.licence]", "rotation_limit_frac = 0.6\n\n[farm.licence]", 1)
    text = "\n".join((valley, head, cotton, rest, way))
    assert is_first_edition(tomllib.loads(text))
    return text


def test_sitting_when_kept_by_the_first_edition_then_its_figures_are_todays(tmp_path: Any) -> None:
    """What a window of 0.1 had typed of cotton and not saved is taken up, and checks."""
    text, kept = old_text(), tmp_path / "kept.sqlite"
    typed = {
        "farm.cotton.lint_aud_per_bale": 512.5,
        "farm.cotton.full_yield_bales_per_ha": 10.5,
        "farm.cotton.season_ky": 0.9,
        "farm.money.bank_aud": 5.0,
    }
    keep_sitting(kept, "old", tmp_path / "old.toml", "0" * 64, typed)
    found = sitting(kept, "old")
    assert found is not None
    for plan in (
        check_plan(with_changes(text, found.changes), "page"),
        parse_plan(edit_plan(text, found.changes).encode(), "saved"),
    ):
        assert plan.farm is not None
        crop = plan.farm.main_crop
        assert (crop.name, crop.price_aud_per_unit) == ("cotton", 512.5)
        assert crop.layouts[0].full_yield_units_per_ha == 10.5
        assert plan.farm.money.bank_aud == 5.0
    with pytest.raises(PlanError, match="there is no such key"):
        check_plan(with_changes(text, typed), "page")


def test_command_when_the_plan_is_of_the_first_edition_then_said_once(
    tmp_path: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command runs it, and says in a line each what changed its meaning."""
    text = old_text().replace("[valley]", "[valley]\n" + WEATHER, 1)
    plan = tmp_path / "old.toml"
    plan.write_text(text, "utf-8")
    (tmp_path / "record.csv").write_bytes((CONTRACT / "record.csv").read_bytes())
    out = tmp_path / "out"
    assert main(["compare", str(plan), "--out", str(out), "--count", "60"]) == 0
    said = capsys.readouterr().err
    assert said.count("season_ky") == 1
    assert "saving it rewrites its farm" in said
    assert "[farm.cotton]" in plan.read_text("utf-8")


WEATHER = (
    "farm_rain_mm = [43, 38, 39, 50, 58, 62, 78, 65, 55, 38, 43, 45]\n"
    "farm_eto_mm = [58.9, 86.8, 123, 167.4, 195, 220.1, 220.1, 176.4, 158.1, 108, 71.3, 51]\n"
)
