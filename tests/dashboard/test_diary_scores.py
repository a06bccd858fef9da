"""Does the diary place what came in the odds of the day of a decision?"""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from model.evidence.decided import came_after
from model.keeping.diary import Decision, append
from model.keeping.folder import database_path
from model.plan.announced import Announcements
from model.plan.text import edit_plan, parse_plan
from model.record.record import read_record
from model.say.decided import came_in_words
from model.water_year import parse_month
from tests.dashboard.window import RECORD, keep_home, opened


def test_diary_when_a_decided_season_is_over_then_what_came_stands_in_its_odds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A decision of September 2015, and what was announced by June 2016, typed in since."""
    home = keep_home(tmp_path, monkeypatch, {"sequences.count": 100, "sequences.seasons": 1})
    table = {"water_years": ["2015-16"], "ml_per_share": [0.0]}
    home.path.write_text(edit_plan(home.text, {"announced": table}), "utf-8")
    then = edit_plan(home.text, {"opening.month": "2015-09"})
    taken = Decision(datetime.date(2015, 9, 2), "Plant 80 ha", "", "a.toml", "Then", then, "")
    append(database_path(tmp_path), taken)
    window = opened("plans_and_diary/Diary")
    said = [each.value for each in window.markdown]
    (came,) = [each for each in said if each.startswith("2015-16 is over: no water was announced")]
    record = read_record(RECORD)
    (scored,) = came_after(
        parse_plan(then.encode(), "then"),
        record,
        Announcements("typed", (parse_month("2016-06"),), (0.0,)),
    )
    assert came == came_in_words(scored)
    assert any(each.startswith("Of 1 decided season") for each in said)
