"""Are crops data: stated whole, refused with all that is wrong, and added by the plan alone?"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from model.cli import main
from model.errors import PlanError
from model.plan.text import check_plan
from tests.farm_case import CONTRACT, REMOVED, farm_plan, raw_plan

pytestmark = pytest.mark.usefixtures("few_records")

CHICKPEA: dict[str, Any] = {
    "name": "chickpea",
    "unit": "t",
    "most_of_land_frac": 0.2,
    "sow_month": "May",
    "sow_day": 25,
    "last_watering_month": "August",
    "harvest_month": "November",
    "fallow_begins_month": "December",
    "kc_initial": 0.4,
    "kc_middle": 1.0,
    "kc_end": 0.35,
    "stage_days": [25, 35, 50, 40],
    "loss_stage_ends_days": [59, 109, 129],
    "loss_frac_per_day": [0.004, 0.02, 0.01],
    "price_aud_per_unit": 600.0,
    "growing_cost_aud_per_ha": [50, 60, 0, 0, 40, 0, 0, 0, 0, 0, 250, 0],
    "income_pattern": [0, 0, 0, 0, 0, 1.0, 0, 0, 0, 0, 0, 0],
    "layouts": [
        {
            "name": "watered",
            "planned_water_ml_per_ha": 2.0,
            "full_yield_units_per_ha": 2.8,
        },
        {"name": "on rain", "full_yield_units_per_ha": 2.6, "least_profile_frac": 0.2},
    ],
}
"""A crop that the code knows nothing of; figures invented."""


def test_crop_when_added_to_the_plan_then_compare_grows_it(tmp_path: Path) -> None:
    """One more table in the plan file is all: sown, watered, harvested, and in crops.csv."""
    raw = raw_plan({"sequences.count": 40, "opening.account_ml_per_share": 1.2})
    raw["farm"]["crops"].append(CHICKPEA)
    for strategy in raw["strategies"]:
        strategy["grow"][1:1] = [
            {"crop": "chickpea", "layout": "watered", "least_water_ml_per_ha": 15.0},
            {"crop": "chickpea", "layout": "on rain"},
        ]
    plan = tmp_path / "plan.toml"
    plan.write_text(tomlkit.dumps(raw), "utf-8")
    (tmp_path / "record.csv").write_bytes((CONTRACT / "record.csv").read_bytes())
    out = tmp_path / "out"
    assert main(["compare", str(plan), "--out", str(out)]) == 0
    with (out / "crops.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    layouts = 5  # cotton, wheat, sorghum, and two of the new crop
    assert len(rows) == 3 * 40 * 3 * layouts
    mine = [row for row in rows if row["crop"] == "chickpea"]
    assert {row["unit"] for row in mine} == {"t"}
    for layout in ("watered", "on rain"):
        sown = [row for row in mine if row["layout"] == layout and float(row["area_sown_ha"]) > 0]
        picked = [row for row in mine if row["layout"] == layout and row["yield_units_per_ha"]]
        assert sown, layout
        assert picked, layout
        assert all(0.0 < float(row["yield_units_per_ha"]) <= 2.8 for row in picked)
    watered = [row for row in mine if row["layout"] == "watered"]
    assert sum(float(row["water_used_ml"]) for row in watered) > 0.0
    assert all(row["water_used_ml"] == "0.0" for row in mine if row["layout"] == "on rain")


def test_crops_file_when_added_up_then_the_outcomes_are_its_sums(tmp_path: Path) -> None:
    """Cotton's area, all water used and the crops' margins are those of outcomes.csv."""
    raw = raw_plan({"sequences.count": 30, "farm.trade": REMOVED})
    raw["farm"]["fallow_cost_aud_per_ha"] = 0.0
    plan = tmp_path / "plan.toml"
    plan.write_text(tomlkit.dumps(raw), "utf-8")
    (tmp_path / "record.csv").write_bytes((CONTRACT / "record.csv").read_bytes())
    out = tmp_path / "out"
    assert main(["compare", str(plan), "--out", str(out)]) == 0
    with (out / "outcomes.csv").open(encoding="utf-8") as file:
        outcomes = list(csv.DictReader(file))
    with (out / "crops.csv").open(encoding="utf-8") as file:
        crops = list(csv.DictReader(file))
    each = len(crops) // len(outcomes)
    for at, outcome in enumerate(outcomes):
        mine = crops[at * each : (at + 1) * each]
        same = ("strategy", "sequence", "season", "water_year")
        assert all(row[name] == outcome[name] for row in mine for name in same)
        cotton = next(row for row in mine if row["crop"] == "cotton")
        assert float(cotton["area_sown_ha"]) == pytest.approx(float(outcome["area_planted_ha"]))
        for name, total in (("water_used_ml", "water_used_ml"), ("margin_aud", "margin_aud")):
            found = sum(float(row[name]) for row in mine)
            assert found == pytest.approx(float(outcome[total]), abs=1e-6), name


def test_crops_when_many_things_are_wrong_then_all_are_named_at_once() -> None:
    """Key, value and what is allowed for each, in the words of the plan."""
    changes = {
        "farm.crops.0.harvest_month": "February",
        "farm.crops.0.loss_frac_per_day": [0.01, 0.01],
        "farm.crops.0.soil_stress_below_mm": 300.0,
        "farm.crops.0.kc_end": REMOVED,
        "farm.crops.1.growing_cost_aud_per_ha": [0, 0, 0, 0, 0, 0, 0, 90, 0, 0, 0, 330],
        "farm.crops.1.fallow_begins_month": "August",
        "farm.crops.2.layouts.0.planned_water_ml_per_ha": 3.0,
        "strategies.0.grow.0.crop": "coton",
        "strategies.1.grow.1.layout": "skip",
        "farm.opening.crops": [{"crop": "rice", "layout": "flooded", "area_ha": 5.0}],
        "outlook": {"planting_month": "November", "finish_month": "January"},
    }
    with pytest.raises(PlanError) as refused:
        check_plan(raw_plan(changes), "plan.toml")
    said = str(refused.value)
    for words in (
        "still watered then",
        "it has 2 losses",
        "root zone holds less",
        "kc_initial is stated",
        "growing costs fall in February",
        "its fallow may not begin in August",
        "rain-grown is watered",
        '"coton": the farm grows no such crop',
        "wheat has no such row layout",
        '"rice": the farm grows no such crop',
        "the main crop is sown in October",
    ):
        assert words in said, words


def test_crops_when_two_have_a_name_or_land_is_prepared_for_a_second_then_refused() -> None:
    """Names are unique, and the first crop alone has prepared land."""
    for changes, words in (
        ({"farm.crops.1.name": "sorghum"}, "more than one is called sorghum"),
        ({"farm.crops.1.prepare_month": "March"}, "land is prepared for wheat"),
    ):
        with pytest.raises(PlanError, match=words):
            farm_plan(changes)
