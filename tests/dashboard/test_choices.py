"""Does what is chosen for a plan outlive its window, and go no further than its plan?"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from model.decide.choice import OUR_CHOICE
from model.keeping import sittings
from model.keeping.folder import data_folder, database_path
from model.keeping.plans import Kept, save_new
from model.plan.shipped import demonstration_plan
from tests.dashboard.window import go, keep_home, opened, token_of

RECORD = demonstration_plan().with_name("demonstration_record.csv").read_bytes()
QUICK = {"sequences.count": 100, "sequences.seasons": 1, "sequences.method": "blocks"}
PLANT, MONEY, PAPERS = ("this_season", "money", "papers")
OTHER = "Plant on the odds"
MOST_HA = 240.0
Chosen = tuple[str, float, float]
Writes = list[dict[str, str | float]]


@pytest.fixture(name="home")
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kept:
    """Return a kept plan that the dashboard is opened on."""
    return keep_home(tmp_path, monkeypatch, QUICK)


@pytest.fixture(name="writes")
def _writes(monkeypatch: pytest.MonkeyPatch) -> Writes:
    """Gather the choices of each sitting that is written."""
    written: Writes = []
    keep: Callable[..., None] = sittings.keep_sitting

    def counted(*values: object) -> None:
        written.append(dict(values[-1]))  # type: ignore[call-overload]
        keep(*values)

    monkeypatch.setattr(sittings, "keep_sitting", counted)
    return written


def _choose(window: AppTest, area_ha: float = 35.0, hold_back: float = 0.4) -> AppTest:
    """Choose all three of the page Plant or hold, none as it begins."""
    window.selectbox(key="plant_strategy").set_value(OTHER).run()
    window.slider(key="plant_area").set_value(area_ha).run()
    window.slider(key="plant_hold_back").set_value(hold_back).run()
    assert not window.exception
    return window


def _chosen(window: AppTest) -> Chosen:
    """Read what stands on the page Plant or hold."""
    return (
        str(window.selectbox(key="plant_strategy").value),
        float(window.slider(key="plant_area").value),
        float(window.slider(key="plant_hold_back").value),
    )


def test_plant_or_hold_when_reloaded_then_all_three_are_as_chosen(home: Kept) -> None:
    """Also by way of another page, where none is drawn, and a second time."""
    first = opened(PLANT)
    begins = _chosen(first)
    _choose(first)
    assert all(now != before for now, before in zip(_chosen(first), begins, strict=True))
    second = opened(token=token_of(first))
    assert token_of(second) != token_of(first)
    third = opened(PLANT, token_of(second))
    assert _chosen(third) == _chosen(first) == (OTHER, 35.0, 0.4)
    assert [said.value for said in third.warning] == [said.value for said in first.warning]
    assert _chosen(go(go(third, "today"), PLANT)) == (OTHER, 35.0, 0.4)


def test_plant_or_hold_when_a_window_chooses_on_then_the_one_it_came_from_keeps_its_own(
    home: Kept,
) -> None:
    """Two windows never write to one sitting, whatever is chosen in them."""
    first = _choose(opened(PLANT))
    copy = opened(PLANT, token_of(first))
    copy.slider(key="plant_area").set_value(80.0).run()
    path = database_path(data_folder())
    areas = [
        each.choices["plant_area"]
        for each in sittings.sittings_of(path, [token_of(first), token_of(copy)])
    ]
    assert areas == [80.0, 35.0]
    assert _chosen(go(first, PLANT)) == (OTHER, 35.0, 0.4)


@pytest.mark.parametrize(("page", "key"), [(MONEY, "money_strategy"), (PAPERS, "paper_strategy")])
def test_strategy_when_its_page_is_reloaded_then_it_is_the_one_chosen(
    home: Kept, page: str, key: str
) -> None:
    """The strategy that Money follows, and that the papers are about."""
    first = opened(page)
    assert first.selectbox(key=key).value != OTHER
    first.selectbox(key=key).set_value(OTHER).run()
    second = opened(page, token_of(first))
    assert second.selectbox(key=key).value == OTHER


def test_choices_when_another_plan_is_opened_then_dropped_also_after_a_reload(home: Kept) -> None:
    """What was chosen for one plan is on no other, nor on the one it was for when come back to."""
    text = demonstration_plan().read_text("utf-8")
    other = save_new(home.path.parent, "other", text, RECORD, QUICK)
    window = opened(PLANT)
    begins = _chosen(window)
    _choose(window)
    go(window, "plans_and_diary/Plans")
    window.selectbox(key="plan_chosen").set_value(other.path).run()
    window.button(key="open_plan").click().run()
    again = opened(PLANT, token_of(window))
    assert again.session_state["kept"].path == other.path
    assert _chosen(again) == begins
    assert _chosen(go(window, PLANT)) == begins


def test_choices_when_they_fit_no_more_then_dropped_or_clipped_and_no_fault(home: Kept) -> None:
    """A strategy that is gone begins as the page does; amounts stay within what is allowed.

    An area that was kept is our choice, which the other pages begin with; what is no area is none.
    """
    begins = _chosen(opened(PLANT))
    path = database_path(data_folder())
    gone: dict[str, str | float] = {"plant_strategy": "Gone", "money_strategy": "Gone"}
    gone |= {"paper_strategy": "Gone", "plant_area": 9_000.0, "plant_hold_back": -2.0}
    sittings.keep_sitting(path, "gone", home.path, home.sha256, {}, gone)
    window = opened(PLANT, "gone")
    assert _chosen(window) == (begins[0], MOST_HA, 0.0)
    for page, key in ((MONEY, "money_strategy"), (PAPERS, "paper_strategy")):
        assert go(window, page).selectbox(key=key).value == OUR_CHOICE
        assert opened(page, "gone").selectbox(key=key).value == OUR_CHOICE
    wrong: dict[str, str | float] = {"plant_strategy": 3.0, "plant_area": "all"}
    wrong |= {"plant_hold_back": float("nan"), "unknown": "control"}
    sittings.keep_sitting(path, "wrong", home.path, home.sha256, {}, wrong)
    assert _chosen(opened(PLANT, "wrong")) == begins
    box = opened(MONEY, "wrong").selectbox(key="money_strategy")
    assert box.value == box.options[0] != OUR_CHOICE


def test_choices_when_their_strategy_is_renamed_in_the_plan_then_no_fault(home: Kept) -> None:
    """The file changed under the address: the area stays, the strategy begins as the page does."""
    first = _choose(opened(PLANT))
    text = home.path.read_text("utf-8")
    assert text.count(f'"{OTHER}"') == 1
    home.path.write_text(text.replace(OTHER, "Another name"), "utf-8")
    names = [each["name"] for each in tomllib.loads(home.path.read_text("utf-8"))["strategies"]]
    strategy, area_ha, hold_back = _chosen(opened(PLANT, token_of(first)))
    assert strategy in names
    assert (area_ha, hold_back) == (35.0, 0.4)


def test_choices_when_made_then_one_write_each_and_none_where_nothing_is(
    home: Kept, writes: Writes
) -> None:
    """To look at a page is to choose nothing; one moved control is one write."""
    window = opened(PLANT)
    go(go(window, MONEY), PLANT)
    assert writes == []
    window.slider(key="plant_area").set_value(35.0).run()
    window.run()
    assert [each["plant_area"] for each in writes] == [35.0]
    window.slider(key="plant_hold_back").set_value(0.4).run()
    go(window, "today")
    assert [each["plant_hold_back"] for each in writes] == [0.10, 0.4]


def test_area_when_the_dam_moves_after_it_was_drawn_then_a_reload_shows_what_stood(
    home: Kept,
) -> None:
    """An area that the page began with stays as the dam moves: so it does over a reload."""
    first = opened(PLANT)
    begins = _chosen(first)
    first.slider(key="slider.opening.storage_ml").set_value(150_000.0).run()
    assert _chosen(first) == begins
    assert _chosen(opened(PLANT, token_of(first))) == begins


def test_today_when_a_closed_window_only_chose_then_it_is_not_offered_as_left(home: Kept) -> None:
    """What is worth going on with is a figure not saved; its choices come with it."""
    first = _choose(opened(PLANT))
    later = opened()
    assert [box.key for box in later.selectbox if box.key == "left"] == []
    go(first, "today")
    first.number_input(key="field.opening.storage_ml").set_value(41_000.0).run()
    last = opened()
    assert len(last.selectbox(key="left").options) == 1
    last.button(key="take_up").click().run()
    assert _chosen(go(last, PLANT)) == (OTHER, 35.0, 0.4)
