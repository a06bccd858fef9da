"""Do the farm's figures of today stand on the page, move the farm's pages, and reach the file?"""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from model.errors import PlanError
from model.keeping.compare import differences
from model.keeping.plans import Kept, save, with_changes
from model.plan.farm import FarmOpening
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan, edit_plan, meaning_of, parse_plan
from tests.dashboard.window import clean, go, keep_home, opened, tables

TEXT = demonstration_plan().read_text("utf-8")
RECORD = demonstration_plan().with_name("demonstration_record.csv").read_bytes()
QUICK = {"sequences.count": 100, "sequences.seasons": 2, "sequences.method": "blocks"}
OpenOn = Callable[..., tuple[AppTest, Kept]]
AT, MONEY = "farm.opening.", "farm.money."

MOVES: dict[str, Any] = {
    f"{MONEY}bank_aud": -250_000.0,
    f"{AT}account_ml_per_share": 0.6,
    f"{AT}storage_ml": 700.0,
    f"{AT}prepared_ha": 100.0,
    f"{AT}carried_ml_per_share": 0.0,
    f"{AT}used_this_year_ml_per_share": 0.9,
    f"{AT}used_last_year_ml_per_share": 1.3,
    f"{AT}used_year_before_ml_per_share": 1.0,
    f"{AT}high_security_used_ml": 50.0,
    f"{AT}bore_used_ml": 200.0,
    f"{AT}supplementary_used_ml": 500.0,
    f"{AT}crops.1.area_ha": 90.0,
    f"{AT}crops.1.soil_water_mm": 120.0,
    f"{AT}crops.1.yield_lost_frac": 0.3,
    f"{AT}crops.1.spent_aud": 90_000.0,
    f"{AT}land_spent_aud": 90_000.0,
    f"{AT}money_to_come_aud.4": 200_000.0,  # October
    f"{MONEY}arrears_aud": 40_000.0,
    f"{MONEY}loans.1.balance_aud": 900_000.0,
}
"""A figure for every control."""

CROP_IN_THE_GROUND = {
    "opening.month": "2026-01",
    f"{AT}crops": [
        {"crop": "cotton", "layout": "solid", "area_ha": 150.0, "last_watered_month": "December"}
    ],
    f"{AT}prepared_ha": 0.0,
    "opening.account_ml_per_share": 0.5,
}
THREE_YEARS_BIND = {
    "opening.account_ml_per_share": 1.0,
    "valley.accounts.use_limit_3yr_ml_per_share": 1.4,
}
STATES_THAT_MATTER: dict[str, Mapping[str, Any]] = {
    # carried water differs from other water only where a spill takes it first
    f"{AT}carried_ml_per_share": {
        "opening.storage_ml": 280_000.0,
        "valley.accounts.spill_rule": "carried_first",
    },
    f"{AT}used_last_year_ml_per_share": THREE_YEARS_BIND,
    f"{AT}used_year_before_ml_per_share": THREE_YEARS_BIND,
}
SPENT = {f"{AT}crops.1.spent_aud", f"{AT}land_spent_aud"}
"""Out of the bank already, they move the crops' margins alone, which another page shows."""

TRADED = {f"{AT}bought_this_year_ml", f"{AT}sold_this_year_ml"}
"""They count towards what may be traded in the season: no page moves where that is not reached."""

LAST_WATERED = f"{AT}crops.1.last_watered_month"
"""In place of soil water and yield lost: not asked for beside them."""


@pytest.fixture(name="open_on")
def _open_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., tuple[AppTest, Kept]]:
    """Return a function that opens the dashboard on a kept plan with other figures."""

    def open_on(changes: Mapping[str, Any] | None = None) -> tuple[AppTest, Kept]:
        kept = keep_home(tmp_path, monkeypatch, {**QUICK, **(changes or {})})
        return clean(opened("today")), kept

    return open_on


def _controls(window: AppTest) -> dict[str, Any]:
    """List the controls of the farm's figures, by key."""
    kinds = (window.number_input, window.selectbox)
    listed = {str(widget.key): widget for kind in kinds for widget in kind}
    return {
        key.removeprefix("field."): widget
        for key, widget in listed.items()
        if key.startswith("field.farm.") and ".sources." not in key
    }


def _shown(window: AppTest, view: str) -> list[str]:
    """Gather the numbers that a page draws and lays out."""
    go(window, view)
    found = [
        *(str(chart.proto.spec) for chart in window.get("plotly_chart")),
        *(table.to_csv() for table in tables(window)),
    ]
    assert found
    return found


def _told(window: AppTest) -> dict[str, tuple[str, str, str]]:
    """Read what changed since the plan was saved: meaning, before and now, by key."""
    told = next(t for t in tables(window) if "Saved" in t.columns)
    return {key: tuple(row) for key, row in told.iterrows()}


def test_today_when_the_plan_has_a_farm_then_every_opening_figure_is_asked_for(
    open_on: OpenOn,
) -> None:
    """No figure of the farm's opening is without a control, and each says what is allowed."""
    window, _ = open_on()
    controls = _controls(window)
    months = {f"{AT}money_to_come_aud.{place}" for place in range(1, 13)}
    assert set(controls) == set(MOVES) | months | {LAST_WATERED} | TRADED
    names = {key.removeprefix(AT).split(".")[0] for key in controls if key.startswith(AT)}
    carried = "high_security_carried_ml"  # asked where the valley lets it be carried
    assert names == set(FarmOpening.model_fields) - {"sources", carried}
    assert all("Allowed: " in widget.help for widget in controls.values())


@pytest.mark.parametrize("key", MOVES)
def test_today_when_a_figure_of_the_farm_is_changed_then_a_page_of_the_farm_moves(
    open_on: OpenOn, key: str
) -> None:
    """Each figure of the farm moves a number of the farm's pages."""
    window, _ = open_on(STATES_THAT_MATTER.get(key))
    view = "this_season" if key in SPENT else "money"
    before = _shown(window, view)
    assert _shown(window, view) == before
    go(window, "today")
    clean(_controls(window)[key].set_value(MOVES[key]).run())
    assert _shown(window, view) != before


def test_today_when_all_figures_of_the_farm_are_changed_then_told_and_saved(
    open_on: OpenOn,
) -> None:
    """Each is told key by key with its meaning, kept while unsaved, and reaches the file."""
    window, kept = open_on()
    for key, value in MOVES.items():
        clean(_controls(window)[key].set_value(value).run())
    go(window, "plans_and_diary/Diary")
    go(window, "today")
    assert {key: _controls(window)[key].value for key in MOVES} == MOVES
    told = _told(clean(window))
    assert set(told) == {*MOVES} - {f"{AT}money_to_come_aud.4"} | {
        f"{AT}money_to_come_aud, October"
    }
    assert told[f"{MONEY}loans.1.balance_aud"] == ("Still owed, AUD", "1,200,000", "900,000")
    assert told[f"{AT}account_ml_per_share"][1:] == ("not given", "0.6")
    next(button for button in window.button if button.label == "Save").click()
    clean(window.run())
    text = kept.path.read_text("utf-8")
    farm = tomllib.loads(text)["farm"]
    for key, value in MOVES.items():
        if key.startswith(AT) and "money_to_come" not in key:
            *listed, name = key.removeprefix(AT).split(".")
            table = farm["opening"]["crops"][0] if listed else farm["opening"]
            assert table[name] == value
    assert farm["opening"]["money_to_come_aud"] == [0, 0, 0, 200_000, *[0] * 8]
    assert farm["money"]["loans"][0]["balance_aud"] == 900_000.0
    assert farm["money"]["bank_aud"] == -250_000.0
    assert "# chosen last summer" in text
    assert 'kind = "level"' in text


def test_today_when_the_month_last_watered_is_changed_then_a_page_of_the_farm_moves(
    open_on: OpenOn,
) -> None:
    """Cotton in the ground in January that was last watered in November has lost more."""
    window, _ = open_on(CROP_IN_THE_GROUND)
    before = _shown(window, "money")
    go(window, "today")
    clean(_controls(window)[LAST_WATERED].set_value("November").run())
    assert _shown(window, "money") != before


def test_today_when_another_crop_is_put_in_the_ground_then_it_reaches_the_file(
    open_on: OpenOn,
) -> None:
    """A crop of the farm is added to the list, given its figures, and saved with the others."""
    window, kept = open_on()
    clean(window.selectbox(key="another_crop").select_index(0).run())
    clean(_controls(window)[f"{AT}crops.2.area_ha"].set_value(60.0).run())
    clean(_controls(window)[f"{AT}crops.2.soil_water_mm"].set_value(100.0).run())
    next(button for button in window.button if button.label == "Save").click()
    clean(window.run())
    wheat, added = tomllib.loads(kept.path.read_text("utf-8"))["farm"]["opening"]["crops"]
    assert (wheat["crop"], wheat["area_ha"]) == ("wheat", 140.0)
    assert (added["crop"], added["layout"], added["area_ha"]) == ("cotton", "solid", 60.0)


def test_today_when_a_figure_is_cleared_then_it_is_left_out_again(
    open_on: OpenOn,
) -> None:
    """A blank figure is as the average holder's: nothing of it is left in the plan."""
    window, _ = open_on({f"{AT}account_ml_per_share": 0.4})
    clean(_controls(window)[f"{AT}account_ml_per_share"].set_value(None).run())
    assert _told(window)[f"{AT}account_ml_per_share"][1:] == ("0.4", "not given")
    assert window.session_state.changes == {f"{AT}account_ml_per_share": None}


def test_today_when_the_farm_has_no_storage_bore_or_stream_then_none_is_asked_for(
    open_on: OpenOn,
) -> None:
    """What the farm has not is not asked for; a plan without a farm is asked for none of it."""
    without = {"farm.storage": None, "farm.bore": None, "farm.supplementary": None}
    window, kept = open_on({**without, f"{AT}storage_ml": None, f"{AT}bore_used_ml": None})
    missing = {f"{AT}{name}" for name in ("storage_ml", "bore_used_ml", "supplementary_used_ml")}
    assert not missing & set(_controls(window))
    save(kept, edit_plan(kept.text, {"farm": None, "strategies": None}))
    bare = clean(opened("today"))
    assert not _controls(bare)
    assert "The farm today" not in [part.value for part in bare.subheader]


def test_today_when_the_source_of_own_account_is_given_then_the_plan_keeps_it(
    open_on: OpenOn,
) -> None:
    """The account statement and its date stand beside the figure, in the file too."""
    window, kept = open_on()
    where = f"field.{AT}sources.account_ml_per_share"
    window.text_input(key=f"{where}.read_in").set_value("account statement").run()
    window.date_input(key=f"{where}.date").set_value(datetime.date(2025, 9, 1)).run()
    next(button for button in window.button if button.label == "Save").click()
    clean(window.run())
    opening = tomllib.loads(kept.path.read_text("utf-8"))["farm"]["opening"]
    given = {"read_in": "account statement", "date": "2025-09-01"}
    assert opening["sources"]["account_ml_per_share"] == given


def test_today_when_a_changed_loan_is_gone_from_the_file_then_said_and_put_back(
    open_on: OpenOn,
) -> None:
    """A figure of a loan that another window took out is a fault to read, and can be put back."""
    window, kept = open_on()
    key = f"{MONEY}loans.1.balance_aud"
    clean(_controls(window)[key].set_value(1.0).run())
    no_loans = {f"{MONEY}loans": None, "strategies.4.steps": None}  # nor a step about one
    save(kept, edit_plan(kept.text, no_loans))
    next(button for button in window.button if button.label == "Save").click()
    window.run()
    next(button for button in window.button if button.label.startswith("Keep both")).click()
    window.run()
    assert not window.exception
    assert window.error[0].value == "Nothing was run: fix these figures first."
    window.button(key="put_back").click()
    clean(window.run())


def test_plan_when_a_place_of_a_list_is_changed_then_only_it_and_no_comment_is_lost() -> None:
    """A loan is changed by its place, counted from 1, and told with its meaning."""
    key = "farm.money.loans.1.balance_aud"
    assert meaning_of(key) == "still owed, AUD"
    edited = edit_plan(TEXT, {key: 5.0})
    assert edited == TEXT.replace("balance_aud = 1_200_000.0", "balance_aud = 5.0")
    before, after = (parse_plan(text.encode(), "plan") for text in (TEXT, edited))
    (told,) = differences(before, after)
    assert (told.key, told.meaning, told.before, told.after) == (
        key,
        "still owed, AUD",
        "1,200,000",
        "5",
    )
    assert check_plan(with_changes(TEXT, {key: 5.0}), "plan") == after
    without = edit_plan(TEXT, {"farm.money.loans.1.kind": None})
    assert without == TEXT.replace('kind = "level"\n', "")


@pytest.mark.parametrize("place", ["0", "2", "first"])
def test_plan_when_a_list_has_no_such_place_then_a_fault_names_the_key(place: str) -> None:
    """A place that is not there is a fault in the reader's words, on the page and in the file."""
    key = f"farm.money.loans.{place}.balance_aud"
    for act in (edit_plan, with_changes):
        with pytest.raises(PlanError) as caught:
            act(TEXT, {key: 5.0})
        (fault,) = caught.value.faults
        assert (fault.where, fault.value, fault.allowed) == (key, place, "1 to 1")
