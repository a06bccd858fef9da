"""What is read from a record, what is refused and how it is said, what is filled and counted."""

from __future__ import annotations

import datetime as dt
import hashlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.errors import Fault, InputError, RecordError
from model.plan.text import parse_plan
from model.record.months import TEMPERATURES
from model.record.record import (
    FEWEST_WATER_YEARS,
    OPTIONAL_COLUMNS,
    Record,
    parse_record,
    read_record,
)
from model.valley.state import forcing_of
from model.water_year import format_month, parse_month
from tests.sample_files import (
    CONTRACT,
    YEARS,
    daily_csv,
    inflow_ml,
    monthly_csv,
    plan_text,
    with_row,
)

MONTHS = 12 * YEARS
ML_PER_DAY_OF_ONE_M3_PER_S = 86.4  # 86,400 s a day, 1,000 m3 a megalitre: by definition


def read(text: str, **settings: object) -> Record:
    """Read a record from its text."""
    return parse_record(text.encode("utf-8"), "river.csv", **settings)  # type: ignore[arg-type]


def faults_of(data: str | bytes, **settings: object) -> tuple[Fault, ...]:
    """Return the faults for which a record is refused."""
    content = data.encode("utf-8") if isinstance(data, str) else data
    with pytest.raises(RecordError) as refused:
        parse_record(content, "river.csv", **settings)  # type: ignore[arg-type]
    return refused.value.faults


# months


def test_record_when_monthly_then_months_and_inflow_are_as_written() -> None:
    """Every number stands at its month."""
    record = read(monthly_csv())
    assert record.span == ("1990-07", "2012-06")
    assert record.months == MONTHS
    np.testing.assert_array_equal(record.inflow_ml, [inflow_ml(row) for row in range(MONTHS)])
    assert dict(record.filled) == {}
    assert record.notes == ()


def test_record_when_read_then_the_hash_is_that_of_the_files_bytes(tmp_path: Path) -> None:
    """The hash is SHA-256 of the bytes on disk, as any other program works it out."""
    path = tmp_path / "river.csv"
    path.write_text(monthly_csv(), encoding="utf-8")
    record = read_record(path)
    assert record.name == "river.csv"
    assert record.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def test_record_when_read_then_its_numbers_cannot_be_changed() -> None:
    """Arrays are read-only: nobody changes an observation by accident."""
    record = read(monthly_csv(lake_rain_mm=lambda row: row, soi=lambda row: -row))
    for values in (record.inflow_ml, record.columns["lake_rain_mm"], record.indices["soi"]):
        with pytest.raises(ValueError, match="read-only"):
            values[0] = 1.0


@pytest.mark.parametrize("name", OPTIONAL_COLUMNS)
def test_record_when_an_optional_column_is_there_then_it_is_kept(name: str) -> None:
    """Each optional column is kept under its own name, and is no climate index."""
    record = read(monthly_csv(**{name: lambda row: row / 4}))
    np.testing.assert_array_equal(record.columns[name], np.arange(MONTHS) / 4)
    assert dict(record.indices) == {}


def test_record_when_other_numeric_columns_are_there_then_they_are_climate_indices() -> None:
    """Any other column is an index, and may be below zero."""
    record = read(monthly_csv(soi=lambda row: -row, sea_temperature_c=lambda row: 20 + row / 8))
    assert set(record.indices) == {"soi", "sea_temperature_c"}
    np.testing.assert_array_equal(record.indices["soi"], -np.arange(MONTHS))
    assert dict(record.columns) == {}


def test_record_when_zero_is_written_then_it_is_a_real_value() -> None:
    """A river that stood still is an observation, under any fill policy."""
    dry = monthly_csv(inflow=lambda row: 0 if 12 <= row < 36 else inflow_ml(row))
    for fill in ("none", "calendar_month_median"):
        record = read(dry, fill=fill)
        np.testing.assert_array_equal(record.inflow_ml[12:36], 0.0)
        assert dict(record.filled) == {}


@pytest.mark.parametrize(
    "form",
    [
        lambda text: b"\xef\xbb\xbf" + text.encode(),
        lambda text: text.replace("\n", "\r\n").encode(),
        lambda text: ("\ufeff" + text.replace("\n", "\r\n")).encode(),
        lambda text: text.rstrip("\n").encode(),
        lambda text: (text + "\n\n,\n").encode(),
        lambda text: text.replace(",", " , ").encode(),
        lambda text: text.replace("month,inflow_ml", "Month,Inflow_ML").encode(),
        lambda text: text.replace("1990-07,100.0", '"1990-07","100.0"').encode(),
    ],
    ids=[
        "byte order mark",
        "Windows line ends",
        "both",
        "no last line end",
        "blank rows below",
        "spaces about cells",
        "capitals in the header",
        "quoted cells",
    ],
)
def test_record_when_saved_by_another_program_then_it_reads_the_same(form: object) -> None:
    """What spreadsheets do to a file changes none of its numbers."""
    plain = read(monthly_csv())
    saved = parse_record(form(monthly_csv()), "river.csv")  # type: ignore[operator]
    assert saved.span == plain.span
    np.testing.assert_array_equal(saved.inflow_ml, plain.inflow_ml)


@given(
    numbers=st.lists(st.floats(0.0, 1e12, allow_subnormal=False), min_size=MONTHS, max_size=MONTHS)
)
def test_record_when_numbers_are_written_in_full_then_they_read_back_equal(
    numbers: list[float],
) -> None:
    """Reading loses not one bit of a number."""
    record = read(monthly_csv(inflow=lambda row: repr(numbers[row])))
    np.testing.assert_array_equal(record.inflow_ml, numbers)


def test_record_when_the_published_one_is_read_then_it_has_its_own_months() -> None:
    """Lees Ferry, natural flow by month: 1905-10 to 2020-12, as its own README says."""
    record = read_record(CONTRACT.parent / "lees_ferry" / "lees_ferry_monthly.csv")
    assert record.span == ("1905-10", "2020-12")
    assert record.months == 1_383


# columns that are not there


def test_forcing_when_columns_are_absent_then_the_plans_calendar_values_serve() -> None:
    """A record of inflow alone meets the plan's rain, evaporation and tributary, month by month."""
    raw = plan_text() + "\n"
    tributary = "tributary_ml = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]\n"
    valley = parse_plan(
        raw.replace("delivery_loss_frac", f"{tributary}delivery_loss_frac", 1).encode(), "plan"
    ).valley
    record = read(monthly_csv(first="1990-05", months=12 * YEARS))
    forcing = forcing_of(np.arange(record.months)[None, :], record, valley)
    from_july = np.arange(record.months) + 10  # the record opens in May, month 10 from July
    of_month = from_july % 12
    evaporation, rain = np.array(valley.lake_evaporation_mm), np.array(valley.lake_rain_mm)
    np.testing.assert_array_equal(forcing.net_evaporation_mm, (evaporation - rain)[of_month])
    np.testing.assert_array_equal(forcing.tributary_ml, of_month + 1.0)
    assert format_month(record.first_month) == "1990-05"


def test_forcing_when_columns_are_there_then_they_come_before_the_plans_values() -> None:
    """What was observed stands in for the plan's calendar values."""
    record = read(
        monthly_csv(
            tributary_ml=lambda row: row,
            lake_rain_mm=lambda row: row / 2,
            lake_evaporation_mm=lambda row: 2 * row,
        )
    )
    valley = parse_plan(plan_text().encode(), "plan").valley
    forcing = forcing_of(np.arange(record.months)[None, :], record, valley)
    np.testing.assert_array_equal(forcing.tributary_ml, np.arange(MONTHS))
    np.testing.assert_array_equal(forcing.net_evaporation_mm, 1.5 * np.arange(MONTHS))


def test_forcing_when_neither_gives_a_tributary_then_it_is_nothing() -> None:
    """The tributary is 0 unless someone gives it."""
    record = read(monthly_csv())
    valley = parse_plan(plan_text().encode(), "plan").valley
    forcing = forcing_of(np.arange(record.months)[None, :], record, valley)
    assert not forcing.tributary_ml.any()


# what is refused

CELL_FAULTS = [
    ("1990-08,-0.1", "inflow_ml", "-0.1", "negative", "0 or more, ML in the month"),
    ("1990-08,low", "inflow_ml", "low", "text, not a number", "0 or more, ML in the month"),
    ('1990-08,"1,23.5"', "inflow_ml", "1,23.5", "text, not a number", "0 or more"),
    ("1990-08,1_000", "inflow_ml", "1_000", "text, not a number", "0 or more"),
    ("1990-08,12 ML", "inflow_ml", "12 ML", "text, not a number", "0 or more"),
    ("1990-08,inf", "inflow_ml", "inf", "not a finite number", "0 or more"),
    ("1990-08,1e999", "inflow_ml", "1e999", "not a finite number", "0 or more"),
    ("1990-13,5", "month", "1990-13", "not a month", "such as 1987-03"),
    ("Augst 1990,5", "month", "Augst 1990", "not a month", "such as 1987-03"),
    ("90-8,5", "month", "90-8", "not a month", "such as 1987-03"),
    ("33093,5", "month", "33093", "a spreadsheet's count of days", "format the column as dates"),
    ("1990-07,5", "month", "1990-07", "stands twice, first in row 2", "each month once"),
    ("1990-06,5", "month", "1990-06", "after 1990-07", "order of time"),
]


@pytest.mark.parametrize(("line", "column", "value", "problem", "allowed"), CELL_FAULTS)
def test_record_when_a_cell_is_wrong_then_row_column_value_and_allowed_are_named(
    line: str, column: str, value: str, problem: str, allowed: str
) -> None:
    """One wrong cell is one fault that says where it stands and what would do."""
    (fault,) = faults_of(with_row(monthly_csv(), 3, line), fill="calendar_month_median")
    assert fault.where == f"row 3, column {column}"
    assert fault.value == value
    assert problem in fault.problem
    assert allowed in fault.allowed


@pytest.mark.parametrize("name", OPTIONAL_COLUMNS)
def test_record_when_an_optional_column_is_too_low_then_it_is_refused_with_its_unit(
    name: str,
) -> None:
    """Rain, evaporation and flow are never below zero; no place on a farm is below -60 degrees."""
    wrong = -61 if name in TEMPERATURES else -1
    text = monthly_csv(**{name: lambda row: wrong if row == 30 else 1})
    (fault,) = faults_of(text)
    assert fault.where == f"row 32, column {name}"
    assert fault.value == str(wrong)
    assert OPTIONAL_COLUMNS[name] in fault.allowed


@pytest.mark.parametrize("name", sorted(TEMPERATURES))
def test_record_when_it_freezes_then_temperature_is_read(name: str) -> None:
    """Below 0 degrees Celsius a temperature is a temperature."""
    record = read(monthly_csv(**{name: lambda row: -3 if row == 30 else 12}))
    assert record.columns[name][30] == -3.0


def test_record_when_an_index_is_text_then_it_is_refused() -> None:
    """A column of words is no climate index."""
    (fault,) = faults_of(monthly_csv(gauge=lambda row: "bridge" if row == 0 else row))
    assert (fault.where, fault.value) == ("row 2, column gauge", "bridge")


def test_record_when_months_have_no_row_then_they_are_named_in_one_fault() -> None:
    """With no fill policy a gap is refused; three months are named and the others counted."""
    for gap, named in ((2, "1990-10, 1990-11"), (5, "1990-10, 1990-11, 1990-12 and 2 more")):
        text = monthly_csv()
        for _ in range(gap):
            text = with_row(text, 5)
        (fault,) = faults_of(text)
        assert fault.where == f"months {named}"
        assert "missing" in fault.problem
        assert "fill policy" in fault.allowed


def test_record_when_a_cell_is_blank_then_its_row_month_and_column_are_named() -> None:
    """With no fill policy a blank cell is refused."""
    text = with_row(monthly_csv(lake_rain_mm=lambda _: 1), 4, "1990-09,,1")
    text = with_row(text, 6, "1990-11,7,")
    faults = faults_of(text)
    assert {fault.where for fault in faults} == {
        "row 4, month 1990-09, column inflow_ml",
        "row 6, month 1990-11, column lake_rain_mm",
    }


HEADER_FAULTS = [
    (lambda text: text.replace("inflow_ml", "flow", 1), "the header", "inflow_ml is missing"),
    (lambda text: text.replace("month", "when", 1), "the header", "month is missing"),
    (lambda text: text.replace(",", " "), "row 1", "one column"),
    (lambda text: text.replace("inflow_ml", "inflow_ml,inflow_ml", 1), "column 3", "twice"),
    (lambda _: "", "the file", "empty"),
    (lambda _: "month,inflow_ml\n", "row 2", "no rows"),
    (lambda text: with_row(text, 9, "1991-02,1,2"), "row 9", "3 cells and the header has 2"),
    (lambda text: with_row(text, 9, "1991-02"), "row 9", "1 cells and the header has 2"),
    (lambda text: text + '2012-07,"5\n', "the file", "cannot be read as CSV"),
    (lambda text: text + "2012-07,\x005\n", "the file", "bytes that no text has"),
]


@pytest.mark.parametrize(("spoil", "where", "problem"), HEADER_FAULTS)
def test_record_when_the_file_is_no_table_then_it_says_why(
    spoil: object, where: str, problem: str
) -> None:
    """Header, separators, cells and quotes: each is said with its place."""
    faults = faults_of(spoil(monthly_csv()))  # type: ignore[operator]
    assert any(where in fault.where and problem in fault.problem for fault in faults)


def test_record_when_not_in_utf8_then_it_names_the_byte() -> None:
    """A file saved in another encoding is refused at its first odd byte."""
    good = monthly_csv().encode() + b"2012-07,5 "
    fault = faults_of(good + "µ\n".encode("latin-1"))[0]
    assert fault.where == "the file"
    assert f"byte {len(good) + 1:,} is not text in UTF-8" in fault.problem
    assert "UTF-8" in fault.allowed


def test_record_when_several_cells_are_wrong_then_all_are_told_at_once() -> None:
    """A person mends a file in one go, so one message names every wrong cell."""
    text = monthly_csv(lake_rain_mm=lambda _: 1, soi=lambda _: 0)
    for row, line in (
        (3, "1990-08,-5,1,0"),
        (4, "1990-09,much,-2,0"),
        (5, "1990-13,1,1,0"),
        (6, "1990-08,1,1,0"),
        (7, "1990-12,1,1,high"),
    ):
        text = with_row(text, row, line)
    assert {fault.where for fault in faults_of(text)} == {
        "row 3, column inflow_ml",
        "row 4, column inflow_ml",
        "row 4, column lake_rain_mm",
        "row 5, column month",
        "row 6, column month",
        "row 7, column soi",
    }


def test_record_when_faults_are_many_then_the_message_shows_some_and_counts_the_rest() -> None:
    """A message longer than a screen helps nobody."""
    with pytest.raises(RecordError) as refused:
        read(monthly_csv(**{f"index_{at}": lambda row: "x" if row == 7 else 1 for at in range(50)}))
    message = str(refused.value)
    assert "river.csv: 50 problems to fix" in message
    assert "and 10 more" in message
    assert len(message.splitlines()) == 42


def test_record_when_one_fault_comes_again_and_again_then_it_is_said_once() -> None:
    """One cause is one line: its count and its first three rows."""
    (fault,) = faults_of(monthly_csv(inflow=lambda _: -1))
    assert fault.where == f"rows 2, 3, 4 and {MONTHS - 3} more, column inflow_ml"
    assert fault.value == "-1"


@pytest.mark.parametrize(
    ("first", "months", "years"),
    [
        ("1990-07", 12 * FEWEST_WATER_YEARS - 1, 19),
        ("1990-08", 12 * FEWEST_WATER_YEARS + 10, 19),
        ("1990-07", 1, 0),
    ],
)
def test_record_when_too_short_then_it_says_how_many_whole_water_years_it_holds(
    first: str, months: int, years: int
) -> None:
    """Only whole July to June years count, and twenty are needed."""
    (fault,) = faults_of(monthly_csv(first=first, months=months))
    assert f"{years} complete water years" in fault.problem
    assert "20 or more" in fault.allowed


@pytest.mark.parametrize("first", ["1990-07", "1990-03"])
def test_record_when_it_holds_twenty_whole_water_years_then_it_is_taken(first: str) -> None:
    """Twenty are enough, whatever stands before the first July."""
    lead = (parse_month("1990-07") - parse_month(first)) % 12
    record = read(monthly_csv(first=first, months=lead + 12 * FEWEST_WATER_YEARS))
    firsts, totals_ml = record.water_year_totals_ml()
    assert format_month(int(firsts[0])) == "1990-07"
    assert totals_ml.size == FEWEST_WATER_YEARS
    assert totals_ml[0] == sum(inflow_ml(lead + k) for k in range(12))


def test_record_when_there_is_no_file_then_it_is_said(tmp_path: Path) -> None:
    """A wrong path is the reader's to mend, not a failure of the tool."""
    with pytest.raises(InputError, match="there is no such file"):
        read_record(tmp_path / "nowhere.csv")


# what is filled


def test_fill_when_months_are_missing_then_they_get_their_calendar_months_median() -> None:
    """One July has no row and another a blank cell: both get the median of the other Julys."""
    text = with_row(monthly_csv(), 2 + 24, "1992-07,")
    text = with_row(text, 2 + 12)
    record = read(text, fill="calendar_month_median")
    others = [inflow_ml(12 * year) for year in range(YEARS) if year not in (1, 2)]
    np.testing.assert_array_equal(record.inflow_ml[[12, 24]], np.median(others))
    kept = np.delete(np.arange(MONTHS), [12, 24])
    np.testing.assert_array_equal(record.inflow_ml[kept], [inflow_ml(int(row)) for row in kept])
    assert dict(record.filled) == {"inflow_ml": 2}


def test_fill_when_a_row_is_missing_then_every_column_is_filled_and_counted() -> None:
    """A month without a row is a missing cell in each column; a blank one only in its own."""
    text = monthly_csv(lake_rain_mm=lambda row: row % 12, soi=lambda _: -1)
    text = with_row(text, 60, "1995-05,1,,-1")
    text = with_row(text, 40)
    record = read(text, fill="calendar_month_median")
    assert dict(record.filled) == {"inflow_ml": 1, "lake_rain_mm": 2, "soi": 1}
    np.testing.assert_array_equal(record.columns["lake_rain_mm"], np.arange(MONTHS) % 12)


def test_fill_when_a_calendar_month_is_never_there_then_it_is_refused() -> None:
    """There is no median of nothing."""
    text = monthly_csv(lake_rain_mm=lambda row: "" if row % 12 == 3 else 1)
    (fault,) = faults_of(text, fill="calendar_month_median")
    assert fault.where == "column lake_rain_mm"
    assert "missing in every year" in fault.problem


@pytest.mark.parametrize("line", ["1990-08,-1", "1990-08,text", "1990-07,1"])
def test_fill_when_a_value_is_wrong_then_it_is_refused_all_the_same(line: str) -> None:
    """A fill policy is for what is missing, not for what is wrong."""
    assert faults_of(with_row(monthly_csv(), 3, line), fill="calendar_month_median")


def test_fill_when_nothing_is_missing_then_nothing_is_counted() -> None:
    """The policy touches no observation."""
    text = monthly_csv()
    filled = read(text, fill="calendar_month_median")
    np.testing.assert_array_equal(filled.inflow_ml, read(text).inflow_ml)
    assert dict(filled.filled) == {}


# days


def days_in(month: str) -> list[dt.date]:
    """Return the days of a month."""
    first = dt.date.fromisoformat(f"{month}-01")
    days = [first + dt.timedelta(days=ahead) for ahead in range(31)]
    return [day for day in days if day.month == first.month]


def month_of(record: Record, month: str) -> float:
    """Return the inflow of a month."""
    return float(record.inflow_ml[parse_month(month) - record.first_month])


def test_daily_when_no_day_is_missing_then_a_month_is_the_sum_of_its_days() -> None:
    """Months of 31, 30, 29 and 28 days."""
    record = read(daily_csv())
    assert record.span == ("1990-07", "2012-06")
    for month in ("1990-07", "1990-09", "1992-02", "1991-02"):
        assert month_of(record, month) == sum(10 + day.day for day in days_in(month))
    assert record.notes == ()


def test_daily_when_in_cubic_metres_a_second_then_each_is_86_4_megalitres_a_day() -> None:
    """By the definition of the units."""
    in_ml, in_m3 = read(daily_csv()), read(daily_csv(column="flow_m3_per_s"))
    np.testing.assert_allclose(
        in_m3.inflow_ml, ML_PER_DAY_OF_ONE_M3_PER_S * in_ml.inflow_ml, rtol=1e-14
    )


MISSING = ("1991-04-02", "1991-04-17", "1991-04-30")  # three of thirty days: a tenth


@pytest.mark.parametrize("blank", [False, True], ids=["no row", "blank cell"])
def test_daily_when_few_days_are_missing_then_the_others_stand_for_them(blank: bool) -> None:
    """At the stated share the month is the mean of its days times their number, and is counted."""
    if blank:
        text = daily_csv(flow=lambda day: "" if day.isoformat() in MISSING else 10 + day.day)
    else:
        text = daily_csv(leave_out=MISSING)
    record = read(text, missing_days_frac=0.1)
    there = [10 + day.day for day in days_in("1991-04") if day.isoformat() not in MISSING]
    assert month_of(record, "1991-04") == pytest.approx(np.mean(there) * 30, rel=1e-14)
    assert month_of(record, "1991-05") == sum(10 + day.day for day in days_in("1991-05"))
    assert record.notes == ("1 months had days missing and were scaled up from the days there are",)


@pytest.mark.parametrize("share", [0.0, 0.09])
def test_daily_when_too_many_days_are_missing_then_the_month_is_refused(share: float) -> None:
    """Just above the stated share the whole month is missing, and named."""
    (fault,) = faults_of(daily_csv(leave_out=MISSING), missing_days_frac=share)
    assert "month 1991-04" in fault.where
    assert "fill policy" in fault.allowed


def test_daily_when_a_month_is_missing_then_the_fill_policy_fills_and_counts_it() -> None:
    """Too few days and no days at all: both months are filled."""
    april = [day.isoformat() for day in days_in("1991-04")]
    may = [day.isoformat() for day in days_in("1993-05")]
    record = read(
        daily_csv(leave_out=[*april[:20], *may]),
        fill="calendar_month_median",
        missing_days_frac=0.5,
    )
    assert dict(record.filled) == {"inflow_ml": 2}
    assert month_of(record, "1991-04") == month_of(record, "1992-04")
    assert month_of(record, "1993-05") == month_of(record, "1992-05")


def test_daily_when_the_file_begins_and_ends_within_a_month_then_both_are_left_off() -> None:
    """Broken months at the ends are no months, and that is said."""
    record = read(daily_csv(first="1990-06-12", last="2012-07-20"))
    assert record.span == ("1990-07", "2012-06")
    assert [note.split(" was ")[0] for note in record.notes] == [
        "the broken first month 1990-06",
        "the broken last month 2012-07",
    ]


def test_daily_when_other_columns_are_there_then_they_are_said_to_be_unused() -> None:
    """Nothing is dropped silently."""
    text = daily_csv().replace("flow_ml_per_day", "flow_ml_per_day,stage_m", 1)
    head, *rows = text.splitlines()
    record = read("\n".join([head, *(f"{row},1.5" for row in rows)]))
    assert any("stage_m" in note and "not used" in note for note in record.notes)


DAY_FAULTS = [
    ("1990-07-02,-1", "flow_ml_per_day", "-1", "negative"),
    ("1990-07-02,flood", "flow_ml_per_day", "flood", "text"),
    ("1990-07-32,1", "date", "1990-07-32", "not a date"),
    ("1990-07-01,1", "date", "1990-07-01", "stands twice"),
    ("1990-06-30,1", "date", "1990-06-30", "after 1990-07-01"),
]


@pytest.mark.parametrize(("line", "column", "value", "problem"), DAY_FAULTS)
def test_daily_when_a_cell_is_wrong_then_row_column_and_value_are_named(
    line: str, column: str, value: str, problem: str
) -> None:
    """Days are read as strictly as months."""
    (fault,) = faults_of(with_row(daily_csv(), 3, line), missing_days_frac=0.5)
    assert fault.where == f"row 3, column {column}"
    assert fault.value == value
    assert problem in fault.problem
    assert fault.allowed


def test_daily_when_there_are_two_flow_columns_or_none_then_it_is_refused() -> None:
    """One flow, in one unit."""
    both = daily_csv().replace("date,flow_ml_per_day", "date,flow_ml_per_day,flow_m3_per_s", 1)
    head, *rows = both.splitlines()
    faults = faults_of("\n".join([head, *(f"{row},1" for row in rows)]))
    assert any("more than one flow" in fault.problem for fault in faults)
    (fault,) = faults_of(daily_csv(column="discharge"))
    assert "flow_ml_per_day is missing" in fault.problem


@pytest.mark.parametrize(
    ("text", "places"),
    [
        (
            with_row(with_row(monthly_csv(), 10), 5, "1990-10,-3"),
            {"row 5, column inflow_ml", "month 1991-03"},
        ),
        (
            with_row(with_row(monthly_csv(), 10, "1991-03,1,2"), 5, "1990-10,-3"),
            {"row 5, column inflow_ml", "row 10"},
        ),
        (
            with_row(with_row(monthly_csv(), 10, "1991-03,"), 5, "1990-10,-3"),
            {"row 5, column inflow_ml", "row 10, month 1991-03, column inflow_ml"},
        ),
    ],
    ids=["a gap", "a ragged row", "a blank cell"],
)
def test_record_when_faults_are_of_several_kinds_then_all_are_told_at_once(
    text: str, places: set[str]
) -> None:
    """A gap, a ragged row or a blank cell does not wait until other cells are mended."""
    assert {fault.where for fault in faults_of(text)} == places


@pytest.mark.parametrize("data", [b"", b"\xff\xfe"], ids=["empty", "not UTF-8"])
def test_record_when_it_is_no_table_then_its_columns_are_not_said_to_be_missing(
    data: bytes,
) -> None:
    """One thing is wrong, and one thing is said."""
    assert len(faults_of(data)) == 1


@pytest.mark.parametrize("date", ["1990702", "1990-W27-1", "July 1990"])
def test_daily_when_a_date_is_written_another_way_then_it_is_refused(date: str) -> None:
    """What names no day, or not in a way that people write one."""
    (fault,) = faults_of(with_row(daily_csv(), 3, f"{date},12"), missing_days_frac=0.5)
    assert fault.where == "row 3, column date"
