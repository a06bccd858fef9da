"""Does the command gather all the evidence, and do the methods' odds of today stand beside it?"""

import dataclasses
import json
import re
import shutil
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from pypdf import PdfReader

from model.brief.trust_page import announced_blocks
from model.cli import main
from model.decide.findings import findings_of
from model.errors import Fault
from model.evidence.announced import held_in_plan, held_of
from model.evidence.choosers import METHODS
from model.evidence.recommend import CANDIDATES
from model.evidence.today import OddsToday, odds_today
from model.evidence.verdict import Verdict
from model.files import plain, read_plain
from model.outlook.outlook import outlook_of
from model.outlook.setting import play_sequences, setting_of
from model.plan.announced import Announcements
from model.plan.text import read_plan
from model.record.record import read_record
from model.say.announced import HINDSIGHT, held_in_words, none_in_words
from model.say.methods_today import today_in_words
from model.water_year import parse_month
from tests.a_verdict import a_verdict
from tests.brief_plan import contract_record, farm_plan, farm_plan_text

pytestmark = pytest.mark.usefixtures("few_records")

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"
LAST_YEARS = 60
"""Of the record, enough for thirty hindcasts."""


def test_today_when_by_method_then_each_is_its_own_outlook():
    """The odds beside each other are those that the outlook gives for each method."""
    plan, record = read_plan(CONTRACT / "plan.toml"), read_record(CONTRACT / "record.csv")
    told = odds_today(plan, record, ("historical", "blocks"))
    for each in told:
        setting = setting_of(plan.with_drawing(method=each.method, count=4_000), record)
        seasons = outlook_of(setting, play_sequences(setting)[1]).seasons
        np.testing.assert_allclose(each.chance_none, [s.chance_none.value for s in seasons])


def test_today_when_a_method_cannot_be_used_then_it_says_why():
    """A record that ends before the run has no present for neighbours."""
    plan = read_plan(CONTRACT / "plan.toml")
    later = plan.model_copy(
        update={"opening": plan.opening.model_copy(update={"month": "2031-09"})}
    )
    told = odds_today(later, read_record(CONTRACT / "record.csv"), ("neighbours",))[0]
    assert told.chance_none == ()
    assert "does not hold the twelve months before" in told.refused.problem
    assert told.settings == {}


def test_today_when_a_method_is_replaced_then_it_is_named_and_its_odds_are_not_listed() -> None:
    """Years all alike have no two states: what stands in for regimes is no odds of regimes."""
    plan = farm_plan()
    record = read_record(CONTRACT / "record.csv")
    alike = dataclasses.replace(record, inflow_ml=np.full(record.months, 4_000.0))
    by_blocks, by_states = odds_today(plan, alike, ("blocks", "regimes"))
    assert by_blocks.chance_none
    assert by_blocks.replaced is None
    assert by_states.chance_none == ()
    assert by_states.replaced is not None
    said = today_in_words([by_blocks, by_states])
    assert "by method: blocks" in said
    assert "regimes is left out: " in said


def test_today_when_said_then_how_far_apart():
    """The spread between methods, in points."""
    odds = [
        OddsToday("a", {}, None, (0.10, 0.2), ()),
        OddsToday("b", {}, None, (0.31,), ()),
    ]
    words = today_in_words([*odds, OddsToday("c", {}, Fault("c", "", "cannot", ""), (), ())])
    assert "times in 100 by method: a 10, b 31." in words
    assert "21 apart" in words


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """What the command writes on the contract's plan, with announcements."""
    folder = tmp_path_factory.mktemp("evidence")
    shutil.copy(CONTRACT / "plan.toml", folder)
    header, *months = (CONTRACT / "record.csv").read_text().splitlines()
    recent = [header, *months[-12 * LAST_YEARS :]]
    (folder / "record.csv").write_text("\n".join(recent) + "\n")
    rows = [f"{year}-{(year + 1) % 100:02d},0.5" for year in range(2000, 2012)]
    (folder / "told.csv").write_text("\n".join(["Season,AWD", *rows]) + "\n")
    status = main(
        ["evidence", str(folder / "plan.toml"), "--out", str(folder / "out"), "--draws", "50",
         "--seasons", "2", "--announced", str(folder / "told.csv"),
         "--announced-columns", "water_year=Season,announced=AWD"]
    )  # fmt: skip
    assert status == 0
    return folder / "out"


def test_evidence_when_run_then_all_its_parts_are_written(written):
    """Verdict, every method, the record, today, the worst and the announced history."""
    document = json.loads((written / "evidence.json").read_text())
    listed = [each["method"] for each in document["methods"]]
    replaced = [each["method"] for each in document["replaced"]]
    assert sorted(listed + replaced) == sorted(METHODS)
    assert replaced == ["regimes"]  # this record supports two states in some years only
    assert [len(each["seasons"]) for each in document["methods"]] == [2] * len(listed)
    assert document["recommended"]["method"] in CANDIDATES
    assert len(document["announced"]["years"]) == 12
    assert document["offer"]["error_stated_ml_per_share"] == pytest.approx(
        document["announced"]["mean_error_ml_per_share"]
    )
    assert [len(stretch["seasons"]) for stretch in document["worst_on_record"]] == [1, 2, 3, 4]
    today = [each["method"] for each in document["today_by_method"]]
    assert sorted([*today, *document["today_replaced"]]) == sorted(METHODS)
    assert not set(today) & set(document["today_replaced"])
    assert "recommended" not in document["diagnosis"]  # the trial alone chooses
    verdict = read_plain(Verdict, document["verdict"])
    assert verdict.method == document["method"]
    assert plain(verdict) == document["verdict"]
    assert len(verdict.seasons) == 2


def test_evidence_when_run_then_scores_have_intervals_and_cautions_stand(written):
    """Each skill lies in its interval, every band has its level, the cautions are there."""
    document = json.loads((written / "evidence.json").read_text())
    for method in document["methods"]:
        for season in method["seasons"]:
            announced = season["amounts"]["announced"]
            skill = announced["skill"]
            assert skill["low"] <= skill["value"] <= skill["high"]
            assert [band["level"] for band in announced["bands"]] == [0.5, 0.8, 0.9]
            assert sum(announced["pit_counts"]) == season["cases"]
    assert "not financial, legal or agronomic advice" in document["notes"]["caution"]
    assert len(document["record"]["sha256"]) == 64


def test_outlook_when_the_plan_names_announcements_then_their_error_is_carried(tmp_path, capsys):
    """Every paper says how far the rules were from what was announced."""
    shutil.copy(CONTRACT / "record.csv", tmp_path)
    text = (CONTRACT / "plan.toml").read_text()
    (tmp_path / "plan.toml").write_text(text + '\n[announced]\nfile = "told.csv"\n')
    (tmp_path / "told.csv").write_text("water_year,ml_per_share\n2001-02,0.5\n2002-03,0.0\n")
    out = tmp_path / "out"
    command = ["outlook", str(tmp_path / "plan.toml"), "--out", str(out), "--no-table"]
    assert main([*command, "--count", "200", "--seasons", "1"]) == 0
    held = json.loads((out / "outlook.json").read_text())["announced"]
    assert [year["water_year"] for year in held["years"]] == ["2001-02", "2002-03"]
    said = capsys.readouterr().out
    assert "Compared with what was announced in 2 years" in said
    assert f"were {held['mean_error_ml_per_share']:.2f} ML a share off" in said


def test_compare_when_the_plan_holds_what_was_announced_then_its_error_is_carried(tmp_path, capsys):
    """Strategies' odds of money stand on the same rules: their error is on file and page."""
    shutil.copy(CONTRACT / "record.csv", tmp_path)
    lists = '\n[announced]\nwater_years = ["2001-02", "2002-03"]\nml_per_share = [0.5, 0.0]\n'
    (tmp_path / "plan.toml").write_text(farm_plan_text(60) + lists)
    out = tmp_path / "out"
    assert main(["compare", str(tmp_path / "plan.toml"), "--out", str(out), "--no-table"]) == 0
    document = json.loads((out / "compare.json").read_text())
    held = held_in_plan(read_plan(tmp_path / "plan.toml"), contract_record(), tmp_path)
    assert document["announced"]["years"] == plain(held.years)
    assert held_in_words(held) in capsys.readouterr().out


def test_papers_when_nothing_was_announced_then_nothing_is_said(tmp_path, capsys):
    """No history, no error: the file says null and the words are silent."""
    shutil.copy(CONTRACT / "record.csv", tmp_path)
    (tmp_path / "plan.toml").write_text(farm_plan_text(60))
    out = tmp_path / "out"
    assert main(["compare", str(tmp_path / "plan.toml"), "--out", str(out), "--no-table"]) == 0
    assert json.loads((out / "compare.json").read_text())["announced"] is None
    assert "Compared with" not in capsys.readouterr().out


def test_brief_when_the_plan_holds_what_was_announced_then_page_and_workbook_say_how_far(tmp_path):
    """The page on trust has the error and the years of nothing, the workbook each year."""
    shutil.copy(CONTRACT / "record.csv", tmp_path)
    lists = '\n[announced]\nwater_years = ["2001-02", "2002-03"]\nml_per_share = [0.5, 0.0]\n'
    (tmp_path / "plan.toml").write_text(farm_plan_text(60) + lists)
    paths = {name: tmp_path / name for name in ("brief.pdf", "book.xlsx")}
    command = ["brief", str(tmp_path / "plan.toml"), "--out", str(paths["brief.pdf"])]
    assert main([*command, "--workbook", str(paths["book.xlsx"])]) == 0
    held = held_in_plan(read_plan(tmp_path / "plan.toml"), contract_record(), tmp_path)
    pages = [page.extract_text() for page in PdfReader(paths["brief.pdf"]).pages]
    words = re.sub(r"\s+", " ", " ".join(pages))
    assert len(pages) <= 6
    assert "The rules against what was announced" in words
    for said in (held_in_words(held), none_in_words(held), HINDSIGHT):
        assert said in words
    rows = openpyxl.load_workbook(paths["book.xlsx"])["inputs"].iter_rows(values_only=True)
    inputs = {row[0]: row[1] for row in rows}
    assert inputs["rules against what was announced"] == held_in_words(held)
    assert inputs["mean error of the rules"] == pytest.approx(held.mean_error_ml_per_share)
    assert inputs["announced in 2001-02"] == 0.5
    assert inputs["replayed in 2002-03"] == pytest.approx(held.years[1].replayed_ml_per_share)


def test_brief_when_announced_history_is_known_then_its_error_stands_once():
    """With a verdict or without one the error of the rules has its own heading."""
    plan, record = farm_plan(60), contract_record()
    told = Announcements("told.csv", (parse_month("2002-06"),), (0.5,))
    held = held_of(plan, record, told)
    found = findings_of(plan, record, verdict=a_verdict(), held=held)
    assert str(announced_blocks(found)).count(held_in_words(held)) == 1
    assert announced_blocks(dataclasses.replace(found, held=None)) == []


def test_evidence_when_run_then_one_row_a_case(written):
    """A row for each method, year and season, under one header."""
    lines = (written / "hindcast.csv").read_text().splitlines()
    document = json.loads((written / "evidence.json").read_text())
    first, last = (int(document[key][:4]) for key in ("first_stand", "last_stand"))
    listed = len(document["methods"])
    assert listed < len(METHODS)  # none of a method that another stood in for
    assert len(lines) == 1 + listed * (last - first + 1) * 2


def test_evidence_when_draws_are_too_few_then_status_2(tmp_path, capsys):
    """A wrong option is named, and nothing is written."""
    status = main(["evidence", str(CONTRACT / "plan.toml"), "--out", str(tmp_path), "--draws", "3"])
    assert status == 2
    assert "--draws" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
