"""Is a record of one's own taken as a person has it: a workbook, or rows pasted, in any unit?"""

from __future__ import annotations

import io
from collections.abc import Iterator

import openpyxl
import pytest
from streamlit.testing.v1 import AppTest

from model.plan.plan import Plan
from model.plan.text import parse_plan
from tests.dashboard.window import clean, go, keep_home, opened, press, tables

YEARS = range(1985, 2008)
NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
ROWS = [(f"{name}-{year % 100:02d}", 4_000.0 + year) for year in YEARS for name in NAMES]
RECORD_PAGE = "record"


@pytest.fixture(name="opened_once", scope="module")
def _opened_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[AppTest]:
    """Open the page of the record once, on a kept plan with few sequences."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        quick = {"sequences.count": 60, "sequences.seasons": 1, "sequences.method": "blocks"}
        keep_home(tmp_path_factory.mktemp("kept"), monkeypatch, quick)
        yield clean(opened(RECORD_PAGE))


@pytest.fixture(name="window")
def _window(opened_once: AppTest) -> AppTest:
    """Return the page with nothing changed."""
    opened_once.session_state.changes.clear()
    window = go(opened_once, RECORD_PAGE)
    return clean(window.segmented_control(key="record_way").set_value("A file").run())


def workbook() -> bytes:
    """Write a workbook as an office keeps one: a note, then months and acre-feet."""
    book = openpyxl.Workbook()
    book.active.append(["Inflow to the storage"])
    book.active.append(["Period", "Volume (acre-feet)"])
    for row in ROWS:
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def test_record_when_a_workbook_is_uploaded_then_understood_shown_and_taken(
    window: AppTest,
) -> None:
    """Columns and unit are seen, the first months shown in ML, and the plan reads it by itself."""
    upload = window.file_uploader(key="record_file")
    clean(upload.upload("office.xlsx", workbook(), "application/vnd.ms-excel").run())
    assert window.selectbox(key="record_time.office.xlsx").value == "Period"
    assert window.selectbox(key="record_flow.office.xlsx").value == "Volume (acre-feet)"
    assert window.selectbox(key="record_unit.office.xlsx").value == "acre_feet"
    written, understood = tables(window)[:2]
    assert written.index[0] == "Jan-85"
    assert understood.index[0] == "January 1985"
    assert understood.iloc[0, 0] == "7,382.4"  # 5,985 acre-feet of 1.2334818 ML
    clean(window.button(key="use_record").click().run())
    plan = _plan(window)
    assert plan.record_columns == "month=Period,inflow=Volume (acre-feet)"
    assert plan.record_unit == "acre_feet"
    record = window.session_state.current[1]
    assert record.months == len(ROWS)
    assert record.inflow_ml[0] == pytest.approx(5_985.0 * 1.233_481_837_547_52)


def test_record_when_pasted_then_another_column_and_unit_may_be_chosen(window: AppTest) -> None:
    """Rows copied from a spreadsheet come with tabs between; the person says what they are."""
    clean(window.segmented_control(key="record_way").set_value("Pasted").run())
    lines = ["Period\tRain\tQ", *(f"{when}\t{at}\t{flow}" for at, (when, flow) in enumerate(ROWS))]
    clean(window.text_area(key="record_pasted").set_value("\n".join(lines)).run())
    assert window.selectbox(key="record_flow.pasted.csv").value == "Q"
    clean(window.selectbox(key="record_unit.pasted.csv").set_value("gl").run())
    assert tables(window)[1].iloc[0, 0] == "5,985,000.0"
    clean(window.selectbox(key="record_farm_rain.pasted.csv").set_value("Rain").run())
    assert list(tables(window)[1].columns) == ["Inflow, ML", "Farm rain, mm"]
    clean(window.button(key="use_record").click().run())
    assert _plan(window).record_columns == "month=Period,inflow=Q,farm_rain=Rain"


def test_record_when_its_titles_say_it_all_then_the_plan_needs_no_more(window: AppTest) -> None:
    """Nothing is written in the plan that the file itself says."""
    lines = ["month,inflow_ml", *(f"{year}-{at:02d},5" for year in YEARS for at in range(1, 13))]
    upload = window.file_uploader(key="record_file")
    clean(upload.upload("plain.csv", "\n".join(lines).encode(), "text/csv").run())
    clean(window.button(key="use_record").click().run())
    plan = _plan(window)
    assert (plan.record_columns, plan.record_unit) == (None, None)


def test_record_when_it_is_at_fault_then_said_and_the_plan_keeps_its_own(window: AppTest) -> None:
    """A month that is missing is named; a policy that is chosen fills it, counted."""
    rows = [row for row in ROWS if row[0] != "May-91"]
    data = "\n".join(["Period,Q", *(f"{when},{flow}" for when, flow in rows)]).encode()
    upload = window.file_uploader(key="record_file")
    upload.upload("gap.csv", data, "text/csv").run()
    assert [each.value for each in window.error] == ["gap.csv: 1 problem to fix. It is not used."]
    assert "1991-05" in tables(window)[0].index[0]
    assert window.session_state.changes == {}
    clean(window.selectbox(key="fill").set_value("calendar_month_median").run())
    assert any("Filled, not observed: 1" in each.value for each in window.warning)
    press(window, "Use this record in the plan")
    assert _plan(window).record_fill == "calendar_month_median"


def _plan(window: AppTest) -> Plan:
    from model.plan.text import edit_plan

    state = window.session_state
    return parse_plan(edit_plan(state.kept.text, dict(state.changes)).encode(), "plan")
