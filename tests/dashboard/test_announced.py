"""Can a person give what was announced on a page, see the fit, and take up an offer or leave it?

Pages run in this process; the table to type in is stood in for by what a person would leave in it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from dashboard import cached
from dashboard.charts.our_valley import announced_chart
from dashboard.findings import our_valley as findings
from model.evidence.announced import (
    Held,
    held_in_plan,
    opened_for_replay,
    replayed_ml_per_share,
)
from model.evidence.offer import with_changes
from model.keeping.plans import Kept, alone, read_kept
from model.plan.announced import Announcements, parse_announcements
from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import edit_plan, parse_plan, read_plan
from model.record.record import Record, read_record
from model.say.announced import held_in_words
from model.water_year import parse_month, water_year_label
from tests.dashboard.window import fault_places, go, keep_home, opened, press, said, sound, tables

RECORD = demonstration_plan().with_name("demonstration_record.csv")
QUICK = {"sequences.count": 200, "sequences.seasons": 2, "sequences.method": "blocks"}
KNOWN = {"known_month": "2005-07", "known_storage_ml": 120_000.0, "known_account_ml_per_share": 0.3}
YEARS = range(2005, 2020)
OTHER_RULES = {
    "valley.assessment.assured_inflow": "percentile",
    "valley.assessment.assured_percentile_frac": 0.1,
    "valley.general_security.others_keep_ml_per_share": 0.3,
}

Type = Callable[..., None]


@pytest.fixture(name="home")
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kept:
    """Return a kept plan that the dashboard is opened on."""
    return keep_home(tmp_path, monkeypatch, QUICK)


@pytest.fixture(name="typed")
def _typed(monkeypatch: pytest.MonkeyPatch) -> Type:
    """Return a function that says what a person leaves in the table of announced figures."""
    left: list[list[object]] = []
    real = st.data_editor

    def editor(frame: pd.DataFrame, **settings: object) -> pd.DataFrame:
        real(frame, **settings)  # type: ignore[call-overload]
        return pd.DataFrame(left, columns=frame.columns) if left else frame

    monkeypatch.setattr(st, "data_editor", editor)

    def leave(*rows: tuple[object, object]) -> None:
        left[:] = [list(row) for row in rows]

    return leave


def told_by(plan: Plan, record: Record) -> dict[str, float]:
    """Say what a plan's rules would have announced in YEARS from the known state, to two digits."""
    months = tuple(12 * (year + 1) + 5 for year in YEARS)
    asked = Announcements("asked", months, (0.0,) * len(months))
    state = plan.opening.model_dump() | {
        "month": "2005-07",
        "storage_ml": KNOWN["known_storage_ml"],
        "account_ml_per_share": KNOWN["known_account_ml_per_share"],
        "carried_ml_per_share": 0.0,
    }
    opened = opened_for_replay(
        plan.model_copy(update={"opening": plan.opening.model_validate(state)})
    )
    amounts = replayed_ml_per_share(opened, record, asked, parse_month("2005-07"))
    labels = [water_year_label(month) for month in months]
    return dict(zip(labels, np.round(amounts, 2).tolist(), strict=True))


def as_csv(told: dict[str, float]) -> bytes:
    """Write announced figures as a person's CSV file."""
    rows = [f"{year},{amount}" for year, amount in told.items()]
    return "\n".join(["water_year,ml_per_share", *rows, ""]).encode()


def history() -> AppTest:
    """Open the part of the page on what was announced."""
    window = opened("our_valley")
    window.segmented_control(key="valley_part").set_value("What was announced").run()
    return sound(window)


def with_history(home: Kept, told: dict[str, float], **more: object) -> Plan:
    """Put a history in the plan's file."""
    table = {"water_years": list(told), "ml_per_share": list(told.values()), **more}
    home.path.write_text(edit_plan(home.text, {"announced": table}), "utf-8")
    return read_plan(home.path)


def test_typed_when_rows_are_wrong_then_told_by_row_and_nothing_changes(
    home: Kept, typed: Type
) -> None:
    """Two faults in three rows and a state known by half: each is named, the plan stays."""
    window = history()
    typed(("2001-02", 0.5), ("2002-04", 0.1), ("2003-04", None))
    press(window, "Use these rows")
    assert window.error[0].value == "Nothing was changed: fix these rows first."
    assert fault_places(window) == ["row 3, column ml_per_share", "row 2, column water_year"]
    assert window.session_state.changes == {}
    typed(("2001-02", 0.5), ("", None))
    year = next(box for box in window.number_input if box.label == "On 1 July of the year")
    year.set_value(1999)
    press(window, "Use these rows")
    assert fault_places(window) == ["announced.known_storage_ml"]
    assert window.session_state.changes == {}


def test_typed_when_sound_then_held_saved_and_said_beside_every_odds(
    home: Kept, typed: Type
) -> None:
    """Rows typed are part of the plan; the same error stands on each page of odds."""
    window = history()
    assert not window.get("plotly_chart")
    typed(("2001/02", 0.5), ("2002-03", 0.0), ("", None), ("2004-05", 0.25))
    press(window, "Use these rows")
    assert len(window.get("plotly_chart")) == 1
    press(window, "Save")
    table = tomllib.loads(home.path.read_text("utf-8"))["announced"]
    assert table["water_years"] == ["2001-02", "2002-03", "2004-05"]
    assert table["ml_per_share"] == [0.5, 0.0, 0.25]
    held = held_in_plan(read_plan(home.path), read_record(RECORD), home.path.parent)
    assert held is not None
    assert held_in_words(held) in said(window)
    for view in ("today", "this_season", "ways_compared", "money", "how_it_has_done"):
        go(window, view)
        captions = [caption.value for caption in window.caption]
        assert captions.count(held_in_words(held)) == 1, view


def test_pages_when_nothing_was_announced_then_nothing_is_said(home: Kept) -> None:
    """No history: no line about it beside any odds."""
    window = opened()
    for view in ("today", "this_season", "ways_compared", "money", "how_it_has_done"):
        go(window, view)
        assert "eld against what was announced" not in said(window), view


def test_file_when_bad_and_then_good_then_faults_by_row_and_then_in_the_plan(home: Kept) -> None:
    """A bad file shows its faults and changes nothing; a good one is laid into the plan."""
    window = history()
    bad = b"date,ml_per_share\n2001-08-15,lots\n2001-13-01,0.2\n"
    window.file_uploader(key="announced_file").upload("bad.csv", bad, "text/csv").run()
    assert window.error[0].value == "bad.csv: 2 problems to fix. It is not used."
    assert fault_places(window) == ["row 2, column ml_per_share", "row 3, column date"]
    assert "Put these rows in the plan" not in [button.label for button in window.button]
    good = b"date,ml_per_share\n2001-08-15,0.1\n2002-02-01,0.3\n2003-05-31,0.2\n"
    window.file_uploader(key="announced_file").upload("mine.csv", good, "text/csv").run()
    assert "mine.csv can be used: 3 rows, 2001-08-15 to 2003-05-31." in said(window)
    assert window.session_state.changes == {}
    press(window, "Put these rows in the plan")
    assert "mine.csv was added to the plan" in said(window)
    press(window, "Save")
    plan = read_plan(home.path)
    assert plan.announced is not None
    assert plan.announced.dates == ("2001-08-15", "2002-02-01", "2003-05-31")
    held = held_in_plan(plan, read_record(RECORD), home.path.parent)
    told = parse_announcements(good, "mine.csv")
    assert held is not None
    assert [year.announced_ml_per_share for year in held.years] == list(told.ml_per_share)
    press(window, "Take what was announced out of the plan")
    press(window, "Save")
    assert read_plan(home.path).announced is None
    assert "[announced]" not in home.path.read_text("utf-8")


def test_page_when_a_year_is_not_in_the_record_then_said_there_and_beside_the_odds(
    home: Kept,
) -> None:
    """Years after the record cannot be replayed: every page still opens, and says so."""
    with_history(home, {"2031-32": 0.5})
    window = history()
    assert window.error[0].value == "These years cannot be replayed."
    go(window, "this_season/Water ahead")
    assert "could not be held against these rules" in said(window)


def test_rows_when_of_the_other_kind_then_those_of_the_plan_stay_until_replaced(
    home: Kept, typed: Type
) -> None:
    """Looking at dates changes nothing; dates typed take the place of water years, and are said."""
    with_history(home, {"2001-02": 0.5})
    window = history()
    window.segmented_control(key="announced_kind_water_years").set_value("dates").run()
    assert "Rows in the plan: 1, each for a water year" in said(window)
    assert window.session_state.changes == {}
    typed(("2001-08-15", 0.1), ("2002-03", 0.4))
    press(window, "Use these rows")
    put = window.session_state.changes["announced"]
    assert put == {"dates": ["2001-08-15", "2002-03"], "ml_per_share": [0.1, 0.4]}


def test_page_when_no_state_is_known_then_the_account_is_not_known_either(home: Kept) -> None:
    """An account that nobody gave is blank, not 0.00; one of a known state is shown."""
    blank = next(each for each in history().number_input if each.label.startswith("the average"))
    assert (blank.value, blank.placeholder) == (None, "not known")
    known = {"ml_per_share": [0.5], "water_years": ["2006-07"], **KNOWN}
    home.path.write_text(edit_plan(home.text, {"announced": known}), "utf-8")
    shown = next(each for each in history().number_input if each.label.startswith("the average"))
    assert shown.value == KNOWN["known_account_ml_per_share"]


def test_page_when_a_percent_is_typed_for_a_share_then_doubted(home: Kept) -> None:
    """More than the rules may ever announce is most likely a percentage."""
    with_history(home, {"2001-02": 35.0, "2002-03": 0.2})
    assert "percent must be divided by 100" in said(history())
    assert "(1.20 ML a share): 2001-02." in said(history())


def test_file_when_in_percent_then_doubted_first_and_divided_only_on_a_button(home: Kept) -> None:
    """A file of percent is never said to be usable; the button puts in hundredths of it."""
    window = history()
    data = b"water_year,ml_per_share\n2001-02,35\n2002-03,0\n2004-05,90\n"
    box = window.file_uploader(key="announced_file")
    box.upload("percent.csv", data, "text/csv").run()
    assert not window.success
    warned = window.warning[-1].value
    assert warned.startswith("percent.csv, 3 rows, 2001-02 to 2004-05. 2 of 3 figures look like")
    assert "Likely meant is 35 %, which is 0.35 ML per share." in warned
    assert warned.endswith("Nothing was put in the plan yet.")
    assert window.session_state.changes == {}
    press(window, "They are percent: put them in divided by 100")
    put = window.session_state.changes["announced"]
    assert put == {"water_years": ["2001-02", "2002-03", "2004-05"], "ml_per_share": [0.35, 0, 0.9]}
    assert "percent.csv was added to the plan, divided by 100" in said(window)
    assert "look like percent" not in said(window)


def test_file_when_every_figure_has_a_percent_sign_then_offered_as_percent(home: Kept) -> None:
    """35 % and 35% are 0.35 of a share, on the button; beside a figure without they are refused."""
    window = history()
    box = window.file_uploader(key="announced_file")
    box.upload("signed.csv", b"water_year,ml_per_share\n2001-02,35 %\n2004-05,90%\n", "text/csv")
    window.run()
    assert not window.error
    assert window.session_state.changes == {}
    assert any("Every figure has a percent sign" in each.value for each in window.info)
    press(window, "They are percent: put them in divided by 100")
    assert window.session_state.changes["announced"]["ml_per_share"] == [0.35, 0.9]
    assert "signed.csv was added to the plan, divided by 100" in said(window)
    box = window.file_uploader(key="announced_file")
    box.upload("mixed.csv", b"water_year,ml_per_share\n2001-02,35%\n2004-05,0.9\n", "text/csv")
    window.run()
    assert window.error[0].value.startswith("mixed.csv: 1 problem to fix")
    assert "read as ML per share" in tables(window)[0].to_csv()


def test_typed_when_in_percent_then_put_in_only_as_the_person_says(home: Kept, typed: Type) -> None:
    """Typed percent is doubted before it is used; as it stands it is doubted again in the plan."""
    window = history()
    typed(("2001-02", 35), ("2002-03", 20))
    press(window, "Use these rows")
    assert window.session_state.changes == {}
    assert "These figures look like percent: 35 for 2001-02" in window.warning[-1].value
    press(window, "They are ML per share: put them in as they stand")
    assert window.session_state.changes["announced"]["ml_per_share"] == [35.0, 20.0]
    assert any(each.value.startswith("In the plan: These figures") for each in window.warning)
    press(window, "The plan's are percent: divide each by 100")
    assert window.session_state.changes["announced"]["ml_per_share"] == [0.35, 0.2]
    assert "look like percent" not in said(window)


def test_typed_when_only_some_look_like_percent_then_named_and_none_is_divided(
    home: Kept, typed: Type
) -> None:
    """Beside a figure below 1 percent cannot be meant by all: the person mends the one."""
    window = history()
    typed(("2001-02", 35), ("2002-03", 0.2))
    press(window, "Use these rows")
    assert window.warning[-1].value.startswith("1 of 2 figures looks like percent")
    assert "mend these by hand: 2001-02 (35)" in window.warning[-1].value
    labels = [button.label for button in window.button]
    assert "They are percent: put them in divided by 100" not in labels
    typed(("2001-02", 0.35), ("2002-03", 0.2))
    press(window, "Use these rows")
    assert window.session_state.changes["announced"]["ml_per_share"] == [0.35, 0.2]
    assert "look like percent" not in said(window)


def test_offer_when_rules_were_others_then_found_judged_and_put_in_only_on_asking(
    home: Kept,
) -> None:
    """History made by stated other rules: they are offered, then stand in the plan, on a button."""
    plan, record = read_plan(home.path), read_record(RECORD)
    told = told_by(with_changes(plan, OTHER_RULES), record)
    with_history(home, told, **KNOWN)
    window = history()
    press(window, "Try other settings (about half a minute)")
    assert "Other settings are offered, not made." in said(window)
    assert window.session_state.changes == {}
    rows = pd.concat(tables(window))
    assert rows.loc[:, "Offered"].dropna().tolist() == ["0.3", "percentile", "0.1"]
    errors = rows["ML a share"].dropna().astype(float).tolist()
    assert errors[1] <= 0.005 < errors[0]
    press(window, "Put these settings in the plan")
    assert window.session_state.changes == OTHER_RULES
    assert "The offered settings stand in the plan now" in said(window)
    assert "were 0.00 ML a share off" in window.get("plotly_chart")[0].proto.alt
    assert "Other settings are offered" not in said(window)


def test_offer_when_the_rules_are_right_then_none_and_the_page_stays_sound(home: Kept) -> None:
    """What the replay itself gives has no error and no offer, on this run and the next."""
    plan, record = read_plan(home.path), read_record(RECORD)
    plan = with_history(home, told_by(plan, record), **KNOWN)
    held = held_in_plan(plan, record, home.path.parent)
    assert held is not None
    assert held.mean_error_ml_per_share <= 0.005
    window = press(history(), "Try other settings (about half a minute)")
    assert "the plan's own are kept" in said(window)
    sound(window.run())
    assert "the plan's own are kept" in said(window)
    assert "Put these settings in the plan" not in [button.label for button in window.button]


def test_offer_when_few_years_are_known_then_not_tried(home: Kept) -> None:
    """Settings are not fitted to a handful of accidents."""
    with_history(home, {"2001-02": 0.5, "2002-03": 0.2})
    window = history()
    assert "With 10 years or more" in said(window)
    assert "Try other settings (about half a minute)" not in [b.label for b in window.button]


def test_plans_when_one_names_a_file_then_its_copy_holds_the_figures(home: Kept) -> None:
    """A copy may stand anywhere: what the file held is in it; without the file pages still open."""
    told = {"2001-02": 0.5, "2002-03": 0.0}
    (home.path.parent / "told.csv").write_bytes(as_csv(told))
    text = edit_plan(home.text, {"announced": {"file": "told.csv"}})
    home.path.write_text(text, "utf-8")
    window = opened("plans_and_diary/Plans")
    window.text_input(key="duplicate_name").set_value("copy")
    press(window, "Duplicate")
    copy = read_kept(home.path.with_name("copy.toml"))
    assert tomllib.loads(copy.text)["announced"] == {
        "water_years": list(told),
        "ml_per_share": list(told.values()),
    }
    (home.path.parent / "told.csv").unlink()
    assert alone(text, home.path.parent) == text
    go(window, "this_season/Water ahead")
    assert "told.csv" in said(window)
    go(window, "our_valley")
    window.segmented_control(key="valley_part").set_value("What was announced").run()
    assert window.error[0].value.startswith("The plan names announcements")
    with_history(Kept(home.path, text, ""), {"2001-02": 0.4})
    assert parse_plan(home.path.read_bytes(), "p").announced is not None


def test_papers_when_made_then_they_are_given_the_error(
    home: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page of the papers hands on how far the rules were off."""
    plan = with_history(home, {"2001-02": 0.5})
    given: list[Held | None] = []

    def papers(*_: object) -> tuple[bytes, bytes, bytes]:
        given.append(_[5])  # type: ignore[arg-type]
        return b"", b"", b""

    monkeypatch.setattr(cached, "papers", papers)
    window = opened("papers")
    press(window, "Make the papers")
    held = held_in_plan(plan, read_record(RECORD), home.path.parent)
    assert given
    assert all(each == held for each in given)


def test_chart_when_a_year_is_missing_then_lines_break_and_differ_without_colour() -> None:
    """Announced and replayed differ in dash and shape; a year nobody told of is a gap."""
    figure = announced_chart(
        ["2001-02", "2002-03", "2003-04"], [0.5, None, 0.2], [0.4, None, 0.0], title="Off"
    )
    announced, replayed = figure.data
    assert announced.line.dash != replayed.line.dash
    assert announced.marker.symbol != replayed.marker.symbol
    assert list(announced.y) == [0.5, None, 0.2]
    assert announced.connectgaps is False
    assert figure.layout.xaxis.type == "category"
    assert "ML a share" in figure.layout.yaxis.title.text


def test_findings_when_by_hand_then_title_table_and_gap(home: Kept) -> None:
    """Mean error, years of nothing and the year between, on three years."""
    plan = with_history(home, {"2001-02": 0.5, "2003-04": 0.0})
    held = held_in_plan(plan, read_record(RECORD), home.path.parent)
    assert held is not None
    names, years = findings.every_year(held)
    assert names == ["2001-02", "2002-03", "2003-04"]
    assert findings.amounts_of(years, "announced_ml_per_share") == [
        0.5,
        None,
        0.0,
    ]
    frame = findings.held_frame(held)
    errors = frame["Replayed, ML a share"] - frame["Announced, ML a share"]
    np.testing.assert_allclose(frame.iloc[:, 3], errors, atol=0.0011)
    assert f"{errors.abs().mean():.2f} ML a share off on average in 2 years" in (
        findings.held_finding(held)
    )
    assert f"found {held.none_found} of 1 with nothing" in findings.held_finding(held)
