"""The date's question: which one it is, its answer by hand, and its text."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit

from model.cli import main
from model.decide.decision import decision_of, way_of
from model.decide.objective import worth_of
from model.decide.rivers import Rivers, rivers_of
from model.decide.season_question import SeasonQuestion, season_question
from model.decide.ways import Brought, best_by, brought_by, play_ways, told_apart
from model.farm.setting import FarmSetting, farm_setting_of
from model.outlook import outlook
from model.outlook.chances import Estimate
from model.plan.farm import Objective
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan
from model.record.record import read_record
from model.say.numbers import money

MIDDLE = 1


@pytest.fixture(autouse=True, scope="module")
def _few_resamples() -> Iterator[None]:
    """Resample the record a few times only: quick, and each still by 125 draws."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlook, "RECORD_RESAMPLES", 8)
        yield


COUNT = 300

IN_GROUND = {
    "crops": [{"crop": "cotton", "layout": "solid", "area_ha": 150.0, "soil_water_mm": 140.0}],
    "storage_ml": 180.0,
}


def demonstration(month: str) -> dict[str, Any]:
    """Return the demonstration on another date, over one season (two in autumn), as tables."""
    raw = tomllib.loads(demonstration_plan().read_text(encoding="utf-8"))
    raw["record"] = str(demonstration_plan().with_name(raw["record"]))
    raw["sequences"] = {"method": "blocks", "count": COUNT, "seasons": 1, "seed": 3}
    raw["opening"] |= {"month": month}
    raw["farm"]["money"]["forward_sales"] = []
    if month[5:] in ("12", "01", "02"):
        raw["farm"]["opening"] = IN_GROUND
    return raw


@cache
def ready(month: str) -> tuple[FarmSetting, Rivers]:
    """Prepare the farm of a date."""
    plan = check_plan(demonstration(month), "demonstration")
    setting = farm_setting_of(plan, read_record(Path(plan.record)), plan.strategies)
    return setting, rivers_of(setting)


@cache
def asked(month: str) -> SeasonQuestion:
    """Ask the question of a date, 100 ha being our choice."""
    return season_question(*ready(month), strategy=MIDDLE, area_ha=100.0)


@pytest.mark.parametrize(
    ("month", "question", "season"), [("2026-03", "carry", 1), ("2025-10", "plant", 0)]
)
def test_question_when_the_date_moves_then_it_is_that_of_the_date(
    month: str, question: str, season: int
) -> None:
    """In autumn next season is asked about; from July to planting, this one."""
    found = asked(month)
    assert (found.decision.question, found.decision.season) == (question, season)
    acts = {course.act for course in found.tried.courses}
    assert acts >= {"as_usual", "sell", "buy"}
    assert ("sow" in acts) == (question == "carry")  # wheat is sown by 30 June
    assert (found.desk.prepared is None) == (month == "2025-10")  # planted, nothing is prepared


def test_answer_when_areas_are_run_by_hand_then_the_best_is_the_same() -> None:
    """Each area's mean worth, by running the farm with it on the plan's own sequences."""
    setting, _ = ready("2025-10")
    found = asked("2025-10")
    river = setting.river(setting.valley.first_sequences(COUNT))
    worth = []
    for area_ha in found.areas.areas_ha:
        by_hand = replace(setting.settings.one(MIDDLE), first_area_ha=np.array([[area_ha]]))
        worth.append(worth_of(setting, river, by_hand).standing_aud.mean())
    assert [brought.mean_aud.value for brought in found.areas.brought] == pytest.approx(worth)
    assert found.areas.best == int(np.argmax(worth))
    assert found.areas.alike[found.areas.best]
    assert found.areas.choice is not None
    assert found.areas.areas_ha[found.areas.choice] == 90.0


def test_courses_when_water_is_sold_by_hand_then_ahead_is_the_difference() -> None:
    """Selling is held against doing as usual, sequence by sequence."""
    setting, _ = ready("2025-10")
    sells = [course for course in asked("2025-10").tried.courses if course.act == "sell"]
    assert [course.ml for course in sells] == [150.0, 300.0]
    river = setting.river(setting.valley.first_sequences(COUNT))
    usual = setting.settings.one(MIDDLE)
    sold = replace(usual, sell_now_ml=np.array([[300.0]]))
    both = [worth_of(setting, river, way).standing_aud for way in (usual, sold)]
    assert sells[1].ahead is not None
    assert sells[1].ahead.mean_aud.value == pytest.approx((both[1] - both[0]).mean())


@pytest.mark.parametrize("objective", ["mean", "worst_tenth", "missed_payment"])
def test_best_when_objective_is_stated_then_no_area_is_better_by_it(objective: Objective) -> None:
    """The plan's `[farm] objective` decides; of those alike, the best on average."""
    setting, rivers = ready("2025-10")
    decision = decision_of(setting, MIDDLE)
    ways = [way_of(setting, decision, MIDDLE, area) for area in (0.0, 60.0, 120.0, 240.0)]
    runs = play_ways(setting, rivers, ways, decision.season)
    brought = [brought_by(rivers.of, runs, at) for at in range(len(ways))]
    best = brought[best_by(objective, runs, rivers.of.drawn)]

    def looked_at(each: Brought) -> tuple[float, float]:
        by = {
            "mean": 0.0,
            "worst_tenth": each.worst_tenth_aud.value,
            "missed_payment": -each.payment_missed.value,
        }
        return by[objective], each.mean_aud.value

    assert looked_at(best) == max(looked_at(each) for each in brought)


def test_told_apart_when_one_error_reaches_past_none_then_not() -> None:
    """Both errors must leave it: that of the draws, and that of the record."""
    assert told_apart(Estimate(5.0, 2.0, 8.0, 1.0, 9.0))
    assert told_apart(Estimate(-5.0, -8.0, -2.0, -9.0, -1.0))
    assert not told_apart(Estimate(5.0, 2.0, 8.0, -1.0, 11.0))
    assert not told_apart(Estimate(5.0, -1.0, 11.0, 2.0, 8.0))


def plan_file(folder: Path, raw: dict[str, Any]) -> Path:
    """Write a plan."""
    path = folder / "plan.toml"
    path.write_text(tomlkit.dumps(raw), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("month", "area"), [("2026-04", []), ("2025-09", ["--area", "100"]), ("2026-01", [])]
)
def test_decide_when_run_then_at_most_25_lines_and_the_file_holds_what_is_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], month: str, area: list[str]
) -> None:
    """The date's question first, then answer, doubt and desk; no line is dated before the date."""
    raw = demonstration(month)
    raw["farm"]["objective"] = "missed_payment"
    plan = plan_file(tmp_path, raw)
    words = ["decide", str(plan), "--out", str(tmp_path)]
    assert main([*words, *area]) == 0
    printed = capsys.readouterr().out
    assert len(printed.splitlines()) <= 25
    assert max(len(line) for line in printed.splitlines() if "wrote" not in line) <= 200
    document = json.loads((tmp_path / "decide.json").read_text(encoding="utf-8"))
    assert (document["date"], document["objective"]) == (month, "missed_payment")
    assert document["strategy"] == "Some on trust"  # the middle one, as on the page
    asked_first = {"2026-04": "carry, sell, buy", "2025-09": "plant", "2026-01": "finish"}[month]
    assert asked_first in printed
    assert f"{document['desk']['reached']['bales']['value']:,.0f}" in printed
    assert document["errors"]["record_draws_each"] >= 125
    in_ground = month == "2026-01"  # nothing more is planted then
    assert (document["last"] is None) == in_ground
    assert not (in_ground and "One more megalitre" in printed)
    if not in_ground and not area:  # with an area of ours the screen is full before
        planted = document["last"]["curves"]["planted"]["worth"][0]["value"]
        assert f"is worth {money(planted)} planted" in " ".join(printed.split())


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["--area", "-5"], "--area"),
        (["--area", "nan"], "--area"),
        (["--strategy", "Nobody"], "Nobody"),
    ],
)
def test_decide_when_asked_wrongly_then_2_and_it_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], named: str
) -> None:
    """An area below none, or a strategy that is not there, is refused by name."""
    plan = plan_file(tmp_path, demonstration("2025-09"))
    assert main(["decide", str(plan), *words]) == 2
    assert named in capsys.readouterr().err


def test_decide_when_plan_has_no_farm_then_2_and_it_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A valley alone decides nothing."""
    raw = demonstration("2025-09")
    del raw["farm"], raw["strategies"]
    assert main(["decide", str(plan_file(tmp_path, raw))]) == 2
    assert "farm" in capsys.readouterr().err
