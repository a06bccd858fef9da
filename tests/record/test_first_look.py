"""What do a file's columns seem to be, before anybody said so? A guess that can be looked at."""

from __future__ import annotations

import io

import openpyxl
import pytest

from model.errors import RecordError
from model.record.first_look import columns_said, first_look
from model.record.reading import HowToRead, columns_text, parse_columns
from model.record.record import parse_record
from tests.sample_files import daily_csv, monthly_csv

MONTHS = [f"{name}-{year:02d}" for year in (87, 88) for name in ("Jan", "Feb", "Mar", "Apr")]


def test_file_when_a_spreadsheet_wrote_it_then_time_flow_and_unit_are_seen() -> None:
    """Notes above the header, months as Mar-87, acre-feet in the title."""
    rows = [f"{month},gauge 3,{100 + at}" for at, month in enumerate(MONTHS)]
    text = "\n".join(["Inflow to the dam,,", ",,", "Period,Gauge,Volume (acre-feet)", *rows])
    look = first_look(text.encode())
    assert (look.time, look.flow, look.unit) == ("Period", "Volume (acre-feet)", "acre_feet")
    assert not look.daily
    assert not look.plain
    assert look.rows[2] == ("Mar-87", "gauge 3", "102")
    assert columns_said(look, look.time, look.flow) == (
        ("month", "Period"),
        ("inflow_ml", "Volume (acre-feet)"),
    )


def test_file_when_its_titles_say_it_all_then_nothing_is_to_be_said() -> None:
    """Our own names are read as they stand; other columns by theirs."""
    look = first_look(monthly_csv(lake_rain_mm=lambda row: row).encode())
    assert look.plain
    assert columns_said(look, look.time, look.flow) == ()
    assert look.others() == {"lake_rain_mm": "lake_rain_mm"}
    assert columns_said(look, "month", "lake_rain_mm")[1] == ("inflow_ml", "lake_rain_mm")


def test_days_when_a_month_comes_again_and_again_then_rows_are_days() -> None:
    """A file of days is summed to months: date and flow."""
    look = first_look(daily_csv().encode().replace(b"flow_ml_per_day", b"Mean flow cumecs"))
    assert look.daily
    assert (look.time, look.flow, look.unit) == ("date", "Mean flow cumecs", "m3_per_s")
    assert [name for name, _ in columns_said(look, "date", look.flow)] == [
        "date",
        "flow_ml_per_day",
    ]


@pytest.mark.parametrize(
    ("title", "unit"),
    [
        ("ML/day", "ml_per_day"),
        ("Inflow (ML/d)", "ml_per_day"),
        ("Mean flow ML a day", "ml_per_day"),
        ("Inflow GL/day", "gl_per_day"),
        ("Q m³/s", "m3_per_s"),
        ("Flow kL/day", ""),
        ("Inflow ML", "ml"),
    ],
)
def test_months_when_their_title_tells_a_rate_then_it_is_not_taken_for_a_volume(
    title: str, unit: str
) -> None:
    """Megalitres a day, taken for megalitres a month, are thirty times too little."""
    text = "\n".join(["Month;" + title, *(f"{month};{at}" for at, month in enumerate(MONTHS))])
    look = first_look(text.encode())
    assert (look.flow, look.unit, look.daily) == (title, unit, False)


def test_title_when_it_tells_another_unit_than_said_then_the_unit_is_asked_for() -> None:
    """A column named without its unit is not read against its own title."""
    text = "\n".join(
        ["Month,ML/day", *(f"{1990 + at // 12}-{at % 12 + 1:02d},10" for at in range(12 * 21))]
    )
    columns = parse_columns("month=Month,inflow=ML/day")
    with pytest.raises(RecordError) as refused:
        parse_record(text.encode(), "mine.csv", how=HowToRead(columns))
    (fault,) = refused.value.faults
    assert fault.problem == "its title says ml_per_day, and it would be read as ml"
    assert fault.allowed == "--unit ml_per_day or --unit ml"
    read = parse_record(text.encode(), "mine.csv", how=HowToRead(columns, "ml_per_day"))
    assert read.inflow_ml[0] == pytest.approx(310.0)


def test_workbook_when_looked_at_then_read_as_it_was_said() -> None:
    """The guess, taken as it is, reads the record: acre-feet are megalitres times 1.2335."""
    book = openpyxl.Workbook()
    book.active.append(["When", "Q"])
    for at in range(12 * 21):
        book.active.append([f"{1990 + at // 12}-{at % 12 + 1:02d}", 10.0])
    file = io.BytesIO()
    book.save(file)
    look = first_look(file.getvalue())
    how = HowToRead(columns_said(look, look.time, look.flow), "acre_feet")
    record = parse_record(file.getvalue(), "own.xlsx", how=how)
    assert record.inflow_ml[0] == pytest.approx(12.33481837547)  # 43,560 cubic feet, 0.3048 m each


def test_file_when_it_is_no_table_then_said() -> None:
    """A picture is no record."""
    with pytest.raises(RecordError):
        first_look(b"\x89PNG\r\n\x1a\n" + bytes(range(256)))


def test_columns_when_written_then_read_back() -> None:
    """As the plan keeps them; a title with a comma cannot be told from two."""
    columns = (("month", "Period"), ("inflow_ml", "Volume (acre-feet)"))
    assert parse_columns(columns_text(columns)) == columns
    with pytest.raises(RecordError, match="a comma or an equals sign"):
        columns_text([("month", "Date, month")])
