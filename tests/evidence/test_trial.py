"""A plan that names no method is tried first, once, and every output says what stands in."""

from __future__ import annotations

from pathlib import Path

import pytest

from model.evidence import trial
from model.evidence.kept import Kept
from model.evidence.recommend import CANDIDATES
from model.evidence.trial import recommended_method, with_recommended
from model.evidence.walk import before, walk
from model.outlook.setting import setting_of
from model.plan.plan import Plan
from model.record.record import Record
from model.say.method import method_in_words
from model.sequences.draw import RECOMMENDED
from tests.farm_case import contract_record, farm_plan

DRAWS = 50


@pytest.fixture
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Try with few draws: what is recommended does not matter here."""
    monkeypatch.setattr(trial, "DRAWS_EACH", DRAWS)
    whole = trial.hindcast

    def quick(plan: Plan, record: Record, **options: object) -> object:
        return whole(plan, record, draws_each=DRAWS, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(trial, "hindcast", quick)


@pytest.mark.usefixtures("few_draws")
def test_method_when_none_is_named_then_tried_once_and_kept(tmp_path: Path) -> None:
    """The second time nothing is tried; another valley is tried anew."""
    plan, record = farm_plan({"sequences.seasons": 2}).with_drawing(method=None), contract_record()
    told: list[int] = []
    found = recommended_method(plan, record, tmp_path, lambda done, _: told.append(done))
    assert found is not None
    assert found.method in CANDIDATES
    assert set(found.error_frac) == set(CANDIDATES)
    tried = len(told)
    assert tried == 3 * len(walk(plan, record, 2).stands)
    assert 0 < found.stands_over <= tried // 3
    again = recommended_method(plan, record, tmp_path, lambda done, _: told.append(done))
    assert again == found
    assert len(told) == tried
    assert with_recommended(plan, found).sequences.method == found.method
    kept = Kept.of(tmp_path, plan, record, DRAWS)
    assert (kept.folder / "recommended.json").is_file()


def test_method_when_the_record_is_too_short_then_every_start_in_turn(tmp_path: Path) -> None:
    """Fewer than forty years cannot be tried."""
    plan, record = farm_plan().with_drawing(method=None), contract_record()
    short = cut_to(record, 30 * 12)
    assert recommended_method(plan, short, tmp_path) is None
    assert with_recommended(plan, None).sequences.method == "historical"


def test_method_when_not_tried_yet_then_historical_stands_in_and_says_so() -> None:
    """A page that does not wait shows every start in turn, in place of the recommended method."""
    settings = setting_of(
        farm_plan().with_drawing(method=None), contract_record()
    ).method.settings()
    assert settings["method"] == "historical"
    assert settings["in_place_of"] == RECOMMENDED
    assert settings["because"] == "not_tried"
    assert "not been tried" in method_in_words(settings)


def cut_to(record: Record, months: int) -> Record:
    """Cut a record to its first months."""
    return before(record, record.first_month + months)
