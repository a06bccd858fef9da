"""Do the pages that keep things work: today, valley and record, plans, diary?

Each page is opened from the frame and each of its controls moved; what a person then reads, and
what stands on the disk, is checked. What was saved is read back with tomllib alone.
"""

from __future__ import annotations

import datetime
import sys
import tomllib
from pathlib import Path

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

from model.keeping.diary import read_diary
from model.keeping.folder import database_path, plans_folder
from model.keeping.plans import Kept, read_kept, save, save_new
from model.plan.shipped import demonstration_plan
from model.plan.text import edit_plan
from tests.dashboard.window import APP, RECORD, go, keep_home, line, opened, press, sound, tables

OBSERVED = RECORD.read_bytes()
QUICK = {
    "sequences.count": 100,
    "sequences.seasons": 1,
    "sequences.method": "blocks",
    "strategies.4.steps": None,  # they ask for a season in which nothing is announced yet
}
"""Few sequences: what is tested here is not the odds."""


@pytest.fixture(name="folder")
def _folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a data folder of the test's own."""
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path))
    return tmp_path


@pytest.fixture(name="home")
def _home(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Kept:
    """Return a kept plan that the dashboard is opened on."""
    return keep_home(folder, monkeypatch, QUICK)


def _changed(window: AppTest) -> dict[str, tuple[str, str]]:
    """Read what changed since the plan was saved: before and now, by key."""
    rows = next(t for t in tables(window) if "Saved" in t.columns)
    return {key: (row["Saved"], row["Now"]) for key, row in rows.iterrows()}


def _river() -> bytes:
    """Make a sound record of 25 years of 12 months."""
    months = [f"{1980 + m // 12}-{m % 12 + 1:02d},{9_000 + m}\n" for m in range(300)]
    return "".join(["month,inflow_ml\n", *months]).encode()


def _on_disk(path: Path) -> dict[str, object]:
    return tomllib.loads(path.read_text())


@pytest.mark.parametrize(
    "view", ["today", "this_season", "dry_years", "our_valley", "record", "plans_and_diary"]
)
def test_page_when_opened_on_the_demonstration_then_it_runs(folder: Path, view: str) -> None:
    """Every page opens from the frame, and looking writes nothing to the data folder."""
    opened(view)
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize(
    ("key", "value", "before", "now"),
    [
        ("opening.storage_ml", 45_000.0, "90,000", "45,000"),
        ("opening.announced_to_date_ml_per_share", 0.1, "0", "0.1"),
        ("opening.high_security_allocation_frac", 0.9, "1", "0.9"),
        ("opening.high_security_used_ml", 2_000.0, "1,800", "2,000"),
        ("opening.account_ml_per_share", 0.3, "0.17", "0.3"),
        ("opening.carried_ml_per_share", 0.1, "0.17", "0.1"),
        ("opening.used_this_year_ml_per_share", 0.05, "0", "0.05"),
        ("opening.used_last_year_ml_per_share", 0.3, "0.25", "0.3"),
        ("opening.used_year_before_ml_per_share", 0.2, "0.14", "0.2"),
    ],
)
def test_today_when_a_figure_is_changed_then_it_is_told_and_saved(
    home: Kept, key: str, value: float, before: str, now: str
) -> None:
    """Each figure of today is told against the saved one, and saving writes it to the file."""
    window = opened("today")
    sound(window.number_input(key=f"field.{key}").set_value(value).run())
    assert _changed(window) == {key: (before, now)}
    press(window, "Save")
    assert _on_disk(home.path)["opening"][key.removeprefix("opening.")] == value
    assert "# 30 % of full supply" in home.path.read_text()


def test_today_when_source_and_date_are_given_then_the_plan_keeps_them(home: Kept) -> None:
    """Who announced a figure, and when, is saved beside it."""
    window = opened("today")
    at = "field.opening.sources.storage_ml"
    window.text_input(key=f"{at}.read_in").set_value("storage page").run()
    window.date_input(key=f"{at}.date").set_value(datetime.date(2025, 9, 1)).run()
    press(sound(window), "Save")
    kept = _on_disk(home.path)["opening"]["sources"]["storage_ml"]
    assert kept == {"read_in": "storage page", "date": "2025-09-01"}
    window.text_input(key=f"{at}.read_in").set_value("").run()
    window.date_input(key=f"{at}.date").set_value(None).run()
    press(sound(window), "Save")
    assert "storage_ml" not in _on_disk(home.path)["opening"].get("sources", {})


def test_today_when_a_new_month_begins_then_reminded_of_what_stands_as_before(home: Kept) -> None:
    """The reminder names each figure until it is set; a plan of one month has none."""
    window = opened("today")

    def reminder() -> str:
        found = [each.value for each in window.warning if each.value.startswith("These figures")]
        return found[0] if found else ""

    assert reminder() == ""
    assert any(each.value.startswith("No date says when the dam") for each in window.caption)
    sound(window.text_input(key="field.opening.month").set_value("2025-10").run())
    assert reminder().startswith(
        "These figures were last set for September 2025; look at each again for October 2025: dam,"
    )
    sound(window.number_input(key="field.opening.storage_ml").set_value(80_000.0).run())
    assert " dam," not in reminder()
    assert "bank" in reminder()
    sound(window.text_input(key="field.opening.month").set_value("2025-09").run())
    assert reminder() == ""


def test_today_when_figures_do_not_fit_then_said_and_mended_on_the_page(home: Kept) -> None:
    """A month that is none is named; the page stays, and putting it right brings the odds back."""
    window = opened("today")
    sound(window.text_input(key="field.opening.month").set_value("2025-13").run())
    assert window.error[0].value == "Nothing was run: fix these figures first."
    assert tables(window)[0].index[0] == "opening.month"
    assert len(window.get("plotly_chart")) == 0
    sound(window.text_input(key="field.opening.month").set_value("2025-10").run())
    assert not window.error
    assert len(window.get("plotly_chart")) == 1
    assert _changed(window) == {"opening.month": ("2025-09", "2025-10")}
    press(window, "Put all back as saved")
    assert window.text_input(key="field.opening.month").value == "2025-09"


def test_today_when_on_the_demonstration_then_only_saved_under_a_name(folder: Path) -> None:
    """The demonstration stays as it is; a copy in the data folder takes the figures."""
    before = demonstration_plan().read_bytes()
    window = opened("today")
    assert "Save" not in [button.label for button in window.button]
    window.number_input(key="field.opening.storage_ml").set_value(60_000.0).run()
    window.text_input(key="save_as_name").set_value("my farm")
    press(window, "Save as a new plan")
    assert _on_disk(plans_folder(folder) / "my farm.toml")["opening"]["storage_ml"] == 60_000.0
    assert demonstration_plan().read_bytes() == before


def test_today_when_saved_as_twice_then_no_fault_but_a_name_of_another_plan_is_one(
    folder: Path,
) -> None:
    """Enter in the name and then the button save once; another plan's name is refused."""
    other = save_new(
        plans_folder(folder), "other", demonstration_plan().read_text(), OBSERVED, QUICK
    )
    window = opened("today")
    window.number_input(key="field.opening.storage_ml").set_value(60_000.0).run()
    for _ in range(2):
        window.text_input(key="save_as_name").set_value("my farm")
        press(window, "Save as a new plan")
        assert not window.error
        assert [said.value for said in window.success] == [
            f"Saved as {plans_folder(folder) / 'my farm.toml'}."
        ]
    window.text_input(key="save_as_name").set_value("other")
    press(window, "Save as a new plan")
    assert "there is a plan of this name" in str(tables(window)[-1])
    window.number_input(key="field.opening.storage_ml").set_value(50_000.0).run()
    window.text_input(key="save_as_name").set_value("my farm")
    press(window, "Save as a new plan")
    assert "there is a plan of this name" in str(tables(window)[-1])
    assert other.path.read_bytes() == other.text.encode()


def test_today_when_the_window_is_closed_unsaved_then_its_figures_come_back(home: Kept) -> None:
    """A window on the same address has the unsaved figures; a window on a new one is offered them.

    No two windows go on with one sitting: each has a token of its own.
    """
    first = opened("today")
    first.number_input(key="field.opening.storage_ml").set_value(12_345.0).run()
    token = first.query_params["sitting"]
    again = opened("today", str(token[0] if isinstance(token, list) else token))
    assert _changed(again) == {"opening.storage_ml": ("90,000", "12,345")}
    assert again.query_params["sitting"] != token
    fresh = opened("today")
    assert fresh.number_input(key="field.opening.storage_ml").value == 90_000.0
    assert "1 figure not saved" in fresh.selectbox(key="left").options[0]
    press(fresh, "Go on with it")
    assert fresh.number_input(key="field.opening.storage_ml").value == 12_345.0
    assert _on_disk(home.path)["opening"]["storage_ml"] == 90_000.0


def test_today_when_several_windows_are_left_unsaved_then_each_is_offered_and_none_is_lost(
    home: Kept,
) -> None:
    """Figures left in two windows are both offered to a third; taking one up keeps its own."""
    for storage_ml, account in ((11_111.0, None), (22_222.0, 0.31)):
        left = opened("today")
        left.number_input(key="field.opening.storage_ml").set_value(storage_ml).run()
        if account is not None:
            key = "field.opening.account_ml_per_share"
            left.number_input(key=key).set_value(account).run()
    third = opened("today")
    third.number_input(key="field.opening.storage_ml").set_value(33_333.0).run()
    offered = third.selectbox(key="left").options
    assert [words.split(": ")[1].split(" ")[0] for words in offered] == ["2", "1"]
    third.selectbox(key="left").select_index(1).run()
    press(third, "Go on with it")
    assert third.number_input(key="field.opening.storage_ml").value == 11_111.0
    fourth = opened("today")
    assert len(fourth.selectbox(key="left").options) == 3
    assert _on_disk(home.path)["opening"]["storage_ml"] == 90_000.0


def test_today_when_another_window_saved_then_both_are_offered(home: Kept) -> None:
    """The second window to save is stopped; it can keep both, and then nothing is lost."""
    window = opened("today")
    window.number_input(key="field.opening.storage_ml").set_value(40_000.0).run()
    save(home, edit_plan(home.text, {"opening.account_ml_per_share": 0.4}))
    press(window, "Save")
    assert "another window or program changed" in str([w.value for w in window.warning])
    assert _on_disk(home.path)["opening"]["storage_ml"] == 90_000.0
    press(window, "Keep both: apply my changes to the file")
    assert _changed(window) == {"opening.storage_ml": ("90,000", "40,000")}
    press(window, "Save")
    opening = _on_disk(home.path)["opening"]
    assert (opening["storage_ml"], opening["account_ml_per_share"]) == (40_000.0, 0.4)


def test_today_when_another_window_saved_then_its_plan_can_be_taken(home: Kept) -> None:
    """Taking the file's plan drops the page's own figures, and says what is in force."""
    window = opened("today")
    window.number_input(key="field.opening.storage_ml").set_value(40_000.0).run()
    save(home, edit_plan(home.text, {"opening.storage_ml": 70_000.0}))
    press(window, "Save")
    press(window, "Take the file's, drop mine")
    assert window.number_input(key="field.opening.storage_ml").value == 70_000.0
    assert "As saved" in [caption.value for caption in window.caption]


def test_quick_figures_when_moved_on_another_page_then_today_has_them(home: Kept) -> None:
    """The sliders beside other pages and the figures of today are the same figures."""
    window = opened("this_season/Water ahead")
    window.slider(key="slider.opening.storage_ml").set_value(60_000.0).run()
    window.slider(key="slider.opening.account_ml_per_share").set_value(0.5).run()
    sound(window)
    assert "2 figures not saved" in [caption.value for caption in window.caption]
    go(window, "today")
    assert window.number_input(key="field.opening.storage_ml").value == 60_000.0
    assert window.number_input(key="field.opening.account_ml_per_share").value == 0.5
    press(go(window, "this_season/Water ahead"), "Save")
    assert _on_disk(home.path)["opening"]["storage_ml"] == 60_000.0


def test_drawing_when_each_setting_is_moved_then_the_page_says_so(home: Kept) -> None:
    """How sequences are drawn is asked for where the odds stand."""
    window = opened("this_season/Water ahead")
    assert [box.key for box in window.selectbox] == ["plant_strategy"]
    window.session_state["drawing"] = True
    window.run().selectbox(key="field.sequences.method").set_value("historical").run()
    assert any("every past start in turn" in each.value for each in window.caption)
    window.selectbox(key="field.sequences.method").set_value("blocks").run()
    window.selectbox(key="field.sequences.count").set_value(1_000).run()
    window.selectbox(key="field.sequences.seasons").set_value(2).run()
    window.slider(key="slider.sequences.flow_factor").set_value(0.8).run()
    said = next(c.value for c in sound(window).caption if "all flow times 0.8" in c.value)
    assert said.startswith("1,000 possible sequences")
    assert len(window.metric) == 2


def test_record_when_a_bad_file_is_dragged_in_then_each_fault_is_told_by_row(home: Kept) -> None:
    """Faults stand in a table by row and column, and the plan's record stays."""
    window = opened("record")
    bad = _river().replace(b",9001\n", b",-3\n").replace(b",9002\n", b",much\n")
    window.file_uploader(key="record_file").upload("bad.csv", bad, "text/csv").run()
    assert sound(window).error[0].value == "bad.csv: 2 problems to fix. It is not used."
    told = tables(window)[0]
    assert list(told.index) == ["row 3, column inflow_ml", "row 4, column inflow_ml"]
    assert list(told["Found"]) == ["-3", "much"]
    assert "Use this record in the plan" not in [button.label for button in window.button]


def test_record_when_a_good_file_is_used_then_the_saved_plan_rests_on_its_copy(home: Kept) -> None:
    """A sound record is copied beside the plan under its hash, and the plan names the copy."""
    river = _river().replace(b"1980-01,9000\n", b"1980-01,90000\n")  # not of a whole water year
    window = opened("record")
    window.file_uploader(key="record_file").upload("mine.csv", river, "text/csv").run()
    assert "mine.csv can be used: 300 months" in window.success[0].value
    rows = river.decode().splitlines()[1:]
    inflows_ml = [float(row.split(",")[1]) for row in rows]
    whole = [sum(inflows_ml[at : at + 12]) for at in range(6, 295, 12) if at + 12 <= 300]
    mean = f"{sum(whole) / len(whole):,.0f} ML"
    assert f"a mean of {mean} a water year (whole ones" in window.success[0].value
    press(window, "Use this record in the plan")
    described = pd.concat(tables(window))
    assert mean in described.to_csv()
    assert "**mine-" in str([block.value for block in window.markdown])
    press(window, "Save")
    named = _on_disk(home.path)["record"]
    assert named.startswith("mine-")
    assert home.path.with_name(named).read_bytes() == river


def test_valley_when_each_figure_is_moved_then_the_saved_plan_has_it(home: Kept) -> None:
    """Dam, rules and accounts are asked for one by one, and all reach the file."""
    window = opened("our_valley")
    moved: dict[str, object] = {}

    def move(control: object, key: str, value: object) -> None:
        control(key=f"field.{key}").set_value(value).run()  # type: ignore[operator]
        sound(window)
        moved[key] = value

    window.segmented_control(key="valley_part").set_value("The dam").run()
    move(window.text_input, "valley.name", "Our valley")
    move(window.checkbox, "invented", False)
    move(window.number_input, "valley.capacity_ml", 310_000.0)
    move(window.number_input, "valley.dead_storage_ml", 9_000.0)
    move(window.number_input, "valley.delivery_loss_frac", 0.25)
    window.segmented_control(key="valley_part").set_value("The rules").run()
    move(window.number_input, "valley.high_security.shares_ml", 21_000.0)
    move(window.number_input, "valley.general_security.shares_ml", 140_000.0)
    move(window.number_input, "valley.general_security.others_keep_ml_per_share", 0.1)
    move(window.number_input, "valley.access.restriction_trigger_frac", 0.2)
    move(window.number_input, "valley.access.restriction_access_frac", 0.6)
    move(window.number_input, "valley.assessment.years_ahead", 2)
    move(window.number_input, "valley.assessment.essential_reserve_months", 12)
    move(window.number_input, "valley.assessment.high_security_next_year_frac", 0.5)
    move(window.selectbox, "valley.assessment.assured_inflow", "percentile")
    move(window.number_input, "valley.assessment.assured_percentile_frac", 0.05)
    window.segmented_control(key="valley_part").set_value("The accounts").run()
    at = "valley.accounts."
    move(window.number_input, f"{at}account_limit_ml_per_share", 1.5)
    move(window.number_input, f"{at}carryover_limit_ml_per_share", 1.1)
    move(window.number_input, f"{at}carryover_loss_frac", 0.1)
    move(window.number_input, f"{at}allocation_cap_ml_per_share", 1.1)
    move(window.number_input, f"{at}use_limit_1yr_ml_per_share", 0.9)
    move(window.number_input, f"{at}use_limit_3yr_ml_per_share", 2.4)
    move(window.selectbox, f"{at}loss_mode", "socialised")
    move(window.selectbox, f"{at}spill_rule", "reset")
    move(window.number_input, f"{at}reset_ml_per_share", 0.2)
    press(window, "Save")
    saved = _on_disk(home.path)
    for key, value in moved.items():
        found: object = saved
        for part in key.split("."):
            found = found[part]  # type: ignore[index]
        assert (key, found) == (key, value)


def test_valley_when_a_choice_needs_another_figure_then_it_is_given_or_taken_out(
    home: Kept,
) -> None:
    """A choice brings the figure it needs with it, and takes it away again; no plan breaks."""
    window = opened("our_valley")
    window.segmented_control(key="valley_part").set_value("The rules").run()
    for choice in ("fixed", "percentile", "worst"):
        window.selectbox(key="field.valley.assessment.assured_inflow").set_value(choice).run()
        assert not sound(window).error
    window.checkbox(key="field.valley.access.given").set_value(False).run()
    assert not sound(window).error
    press(window, "Save")
    assert "access" not in _on_disk(home.path)["valley"]
    window.checkbox(key="field.valley.access.given").set_value(True).run()
    assert not sound(window).error


@pytest.mark.parametrize(
    ("name", "spill_rule", "carries"),
    [
        ("Annual, with carryover", "none", 0.3),
        ("Continuous", "none", None),
        ("Spillable carryover", "carried_first", None),
    ],
)
def test_accounts_when_begun_from_an_example_then_its_rules_are_in_force(
    home: Kept, name: str, spill_rule: str, carries: float | None
) -> None:
    """An example says what it would change; using it changes that and the odds run on it."""
    window = opened("our_valley")
    window.segmented_control(key="valley_part").set_value("The accounts").run()
    window.selectbox(key="preset").set_value(name).run()
    assert "valley.accounts.account_limit_ml_per_share" in tables(sound(window))[0].index
    press(window, "Use these account rules")
    assert not window.error
    press(window, "Save")
    accounts = _on_disk(home.path)["valley"]["accounts"]
    assert accounts["spill_rule"] == spill_rule
    assert accounts.get("carryover_limit_ml_per_share") == carries


def test_plans_when_duplicated_renamed_opened_and_compared_then_as_said(home: Kept) -> None:
    """The page of plans does with files what its buttons say."""
    window = opened("plans_and_diary/Plans")
    window.text_input(key="duplicate_name").set_value("dry year")
    press(window, "Duplicate")
    twin = home.path.with_name("dry year.toml")
    assert _on_disk(twin) == _on_disk(home.path)
    save(read_kept(twin), edit_plan(twin.read_text(), {"opening.storage_ml": 30_000.0}))
    window.selectbox(key="plan_other").set_value(twin).run()
    told = tables(sound(window))[-1]
    assert list(told.loc["opening.storage_ml"]) == ["Water in the dam, ML", "90,000", "30,000"]
    window.selectbox(key="plan_chosen").set_value(twin).run()
    press(window, "Open this plan")
    assert "dam 30,000 ML" in line(window)
    window.text_input(key="rename_name").set_value("driest year")
    press(window, "Rename")
    assert not twin.exists()
    assert twin.with_name("driest year.toml").is_file()


def test_plans_when_one_is_brought_in_then_it_needs_its_record(home: Kept) -> None:
    """A plan from elsewhere is refused without its record, and opened with it."""
    changes = {**QUICK, "opening.storage_ml": 77_000.0, "record": "their_river.csv"}
    text = edit_plan(demonstration_plan().read_text(), changes)
    window = opened("plans_and_diary/Plans")
    window.file_uploader(key="plan_file").upload("theirs.toml", text.encode(), "").run()
    press(window, "Bring it in")
    assert "it is not here" in str(tables(window)[-1])
    window.file_uploader(key="plan_record_file").upload("r.csv", OBSERVED, "text/csv").run()
    press(window, "Bring it in")
    assert _on_disk(home.path.with_name("theirs.toml"))["opening"]["storage_ml"] == 77_000.0
    assert "dam 77,000 ML" in line(window)


def test_plans_when_one_is_brought_in_whose_record_is_kept_then_it_opens_on_that_and_says_so(
    home: Kept,
) -> None:
    """A plan names its record as it was called; here its copy has a hash in its name."""
    text = edit_plan(demonstration_plan().read_text(), {**QUICK, "opening.storage_ml": 77_000.0})
    window = opened("plans_and_diary/Plans")
    window.file_uploader(key="plan_file").upload("theirs.toml", text.encode(), "").run()
    press(window, "Bring it in")
    record = _on_disk(home.path)["record"]
    said = f"theirs is open, on {record}, kept here already."
    assert said in [each.value for each in window.success]
    assert "dam 77,000 ML" in line(window)


def test_diary_when_a_decision_is_written_then_it_keeps_its_plan_and_its_outcome(
    home: Kept, folder: Path
) -> None:
    """A decision is listed with the odds of the page and a snapshot; its outcome is added later."""
    window = opened("today")
    window.number_input(key="field.opening.storage_ml").set_value(50_000.0).run()
    go(window, "plans_and_diary/Diary")
    window.date_input(key="decided_on").set_value(datetime.date(2025, 9, 2))
    window.text_area(key="decided").set_value("Prepare 120 ha")
    press(window, "Write it down")
    (entry,) = read_diary(database_path(folder)).entries
    assert entry.decision.decided_on == datetime.date(2025, 9, 2)
    assert entry.decision.plan_path == str(home.path)
    assert tomllib.loads(entry.decision.plan_text)["opening"]["storage_ml"] == 50_000.0
    assert "Nothing more announced in 2025-26: " in entry.decision.odds
    window.text_area(key=f"turned_out_{entry.number}").set_value("0.3 by January")
    press(window, "Note it")
    assert read_diary(database_path(folder)).entries[0].outcome == "0.3 by January"


def test_diary_when_its_file_is_no_database_then_said_and_other_pages_go_on(
    home: Kept, folder: Path
) -> None:
    """A broken diary is named and left alone; the odds, and saving a plan, do not need it."""
    database_path(folder).write_text("not a database at all, but long enough to look at" * 20)
    window = opened("plans_and_diary/Diary")
    assert "The diary cannot be read" in str([error.value for error in window.error])
    go(window, "today")
    window.number_input(key="field.opening.storage_ml").set_value(50_000.0).run()
    press(window, "Save")
    assert _on_disk(home.path)["opening"]["storage_ml"] == 50_000.0


@pytest.mark.parametrize(
    "changes",
    [
        {
            "opening.storage_ml": 0.0,
            "opening.account_ml_per_share": 0.0,
            "opening.carried_ml_per_share": 0.0,
        },
        {"sequences.count": 1},
        {"valley.high_security.shares_ml": 0.0, "opening.high_security_used_ml": 0.0},
    ],
)
def test_pages_when_things_are_extreme_then_they_still_run(
    home: Kept, changes: dict[str, float]
) -> None:
    """No water at all, one sequence, no high security: every page runs to its end."""
    save(home, edit_plan(home.text, changes))
    window = opened("today")
    for view in (
        "today",
        "dry_years",
        "our_valley",
        "plans_and_diary/Plans",
        "plans_and_diary/Diary",
    ):
        go(window, view)
        assert not window.error


def test_first_page_when_opened_then_statsmodels_is_not_waited_for(home: Kept) -> None:
    """The first page stays quick: it needs no statistics package."""
    import subprocess

    script = (
        "import sys; from streamlit.testing.v1 import AppTest; sys.argv = "
        f"['app.py', '--plan', {str(home.path)!r}]; "
        f"at = AppTest.from_file({str(APP)!r}, default_timeout=180).run(); "
        "assert not at.exception; assert 'statsmodels' not in sys.modules"
    )
    run = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
