"""What a newcomer meets on the pages: edges of a run, ties, another plan, a bare record."""

from pathlib import Path

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from dashboard.charts.money import bank_chart
from dashboard.findings.this_season import cash_finding
from dashboard.findings.water import points_of
from dashboard.findings.ways_compared import standing_finding
from model.decide.compare import compare
from model.outlook.outlook import odds_of_water
from model.plan.shipped import demonstration_plan
from model.plan.text import edit_plan
from model.say.numbers import percent
from model.water_year import parse_month
from tests.dashboard.window import go, opened, start_on, tables
from tests.farm_case import contract_record, farm_plan

QUICK = {"sequences.count": 200, "sequences.method": "blocks"}
JUNE = parse_month("2026-06")


@pytest.fixture(name="window")
def _window(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AppTest:
    """Open the dashboard on the demonstration with few sequences."""
    source = demonstration_plan()
    for name in ("plan.toml", "other.toml"):
        text = edit_plan(source.read_text("utf-8"), {**QUICK, "title": name})
        (tmp_path / name).write_text(text, "utf-8")
    record = source.with_name("demonstration_record.csv")
    (tmp_path / record.name).write_bytes(record.read_bytes())
    monkeypatch.setenv("SEASONS_DATA", str(tmp_path / "kept"))
    start_on(monkeypatch, tmp_path / "plan.toml")
    return opened()


@pytest.mark.parametrize(
    ("frac", "said"),
    [(0.0, "0 %"), (0.0002, "under 0.1 %"), (0.9996, "over 99 %"), (1.0, "100 %"), (0.5, "50 %")],
)
def test_percent_when_near_its_ends_then_only_what_is_sure_is_said_so(
    frac: float, said: str
) -> None:
    """No chance is rounded to never or always, as on paper."""
    assert percent(frac) == said


def test_points_when_the_run_opens_in_june_then_planting_still_comes_first() -> None:
    """The order of the water year, whichever point the first season has left: so shapes stay."""
    plan = farm_plan({"opening.month": "1996-06", "sequences.count": 60})
    names = list(points_of(odds_of_water(plan, contract_record()).seasons, "usable_ml_per_share"))
    assert [name.split(" (")[0] for name in names] == [
        "At planting",
        "At the finish month",
        "At season's end",
    ]


def test_bank_chart_when_there_is_a_single_month_then_points_and_no_axis_of_time() -> None:
    """A line needs two ends."""
    bands = np.array([[-5.0], [-2.0], [0.0], [2.0], [5.0]])
    figure = bank_chart(["2026-06"], bands, limit_aud=10.0, title="A finding")
    assert {trace.mode for trace in figure.data} == {"markers"}
    assert figure.layout.xaxis.type == "category"
    longer = bank_chart(
        ["2026-06", "2026-07"], np.repeat(bands, 2, axis=1), limit_aud=10.0, title="A finding"
    )
    assert {trace.mode for trace in longer.data} == {"lines"}


def test_cash_finding_when_the_bank_stays_above_nothing_then_no_overdraft_is_counted() -> None:
    """What is in the bank is no part of the overdraft that is left."""
    bands = np.array([[254_000.0], [260_000.0], [270_000.0], [280_000.0], [290_000.0]])
    said = cash_finding(bands, JUNE, 1_000_000.0)
    assert said.endswith(
        "the bank ends above $254,000 90 times in 100: the overdraft is not drawn on"
    )
    assert "$900,000 of the overdraft left" in cash_finding(bands - 354_000.0, JUNE, 1e6)


def test_strategies_when_all_end_alike_then_none_is_said_to_win() -> None:
    """One strategy under two names is no contest."""
    plan = farm_plan({"sequences.count": 50})
    first = plan.strategies[0]
    again = first.model_copy(update={"name": "The same again"})
    alike = plan.model_copy(update={"strategies": (first, again)})
    outcomes = compare(alike, contract_record())[0].outcomes
    assert standing_finding(outcomes).startswith("All end alike: ")
    assert not standing_finding(outcomes[:1]).startswith("All end alike: ")


def test_few_runs_when_drawn_then_the_page_says_that_odds_cannot_rest_on_them(
    window: AppTest,
) -> None:
    """One run is no chance."""
    window.session_state.changes["sequences.count"] = 1
    go(window, "this_season/Water ahead")
    said = [caption.value for caption in window.caption]
    assert any(each.startswith("1 possible sequence of seasons") for each in said)
    assert any("Too few for odds to rest on" in each for each in said)


def test_choice_when_another_plan_is_opened_then_it_begins_as_that_plan_would(
    window: AppTest, tmp_path: Path
) -> None:
    """An area chosen for one plan is not put on another."""
    kept = tmp_path / "kept" / "plans"
    kept.mkdir(parents=True, exist_ok=True)
    for name in ("other.toml", "demonstration_record.csv"):
        (kept / name).write_bytes((tmp_path / name).read_bytes())
    go(window, "this_season")
    begins = window.slider(key="plant_area").value
    window.slider(key="plant_area").set_value(10.0).run()
    assert "stays with this plan in this window" in " ".join(each.value for each in window.caption)
    go(window, "plans_and_diary/Plans")
    window.selectbox(key="plan_chosen").set_value(kept / "other.toml").run()
    window.button(key="open_plan").click().run()
    go(window, "this_season")
    assert not window.exception
    assert "**other.toml**" in [each.value for each in window.sidebar.markdown]
    assert window.slider(key="plant_area").value == begins


def test_record_when_its_copy_cannot_be_written_then_what_to_mend_is_said(
    window: AppTest, tmp_path: Path
) -> None:
    """Where a file stands in place of the plans' folder, the plan keeps the record it has."""
    (tmp_path / "kept").mkdir(exist_ok=True)
    (tmp_path / "kept" / "plans").write_text("in the way")
    go(window, "record")
    record = (tmp_path / "demonstration_record.csv").read_bytes()
    window.file_uploader(key="record_file").upload("mine.csv", record, "text/csv").run()
    window.button(key="use_record").click().run()
    assert not window.exception
    assert "Nothing was written." in [each.value for each in window.error]
    assert window.session_state.changes == {}


def test_record_when_nothing_would_say_what_the_crop_needs_then_it_is_said_before_it_is_used(
    window: AppTest,
) -> None:
    """A record of inflow alone is warned of, and ETo by month can be given for it."""
    go(window, "record")
    rows = [
        f"{year}-{month:02d},{9000 + month}" for year in range(1980, 2005) for month in range(1, 13)
    ]
    bare = "\n".join(["month,inflow_ml", *rows]).encode()
    window.file_uploader(key="record_file").upload("bare.csv", bare, "text/csv").run()
    assert any("holds no ETo" in each.value for each in window.warning)
    window.button(key="use_record").click().run()
    go(window, "money")
    assert "how much water it needs" in tables(window)[0].to_csv()
    for name in ("farm_eto_mm", "farm_rain_mm"):
        window.session_state.changes[f"valley.{name}"] = [100.0] * 12
    go(window, "money")
    assert not window.error
    assert not window.exception
    go(window, "record")
    window.file_uploader(key="record_file").upload("bare.csv", bare, "text/csv").run()
    assert not any("holds no ETo" in each.value for each in window.warning)
    go(window, "our_valley")
    assert not window.exception
    assert "On the farm by calendar month, July to June" in [s.value for s in window.subheader]


def test_record_when_only_temperature_is_known_then_eto_is_estimated_and_said(
    window: AppTest,
) -> None:
    """Temperature by month and a latitude stand in for ETo; every page says it is an estimate."""
    go(window, "record")
    rows = [
        f"{year}-{month:02d},{9000 + month}" for year in range(1980, 2005) for month in range(1, 13)
    ]
    bare = "\n".join(["month,inflow_ml", *rows]).encode()
    window.file_uploader(key="record_file").upload("bare.csv", bare, "text/csv").run()
    window.button(key="use_record").click().run()
    go(window, "our_valley")
    assert not window.exception
    assert any("estimated from temperature" in each.value for each in window.caption)
    given = {"farm_rain_mm": 50.0, "farm_warmest_c": 27.0, "farm_coolest_c": 12.0}
    for name, value in given.items():
        window.session_state.changes[f"valley.{name}"] = [value] * 12
    window.session_state.changes["valley.farm_latitude_deg"] = -30.0
    go(window, "money")
    assert not window.error
    assert not window.exception
    assert any("estimate from temperature" in each.value for each in window.warning)
    go(window, "record")
    window.file_uploader(key="record_file").upload("bare.csv", bare, "text/csv").run()
    assert not any("holds no ETo" in each.value for each in window.warning)
