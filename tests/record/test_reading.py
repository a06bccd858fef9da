"""What spreadsheets and programs write is read right, or refused in one line that says what to do.

Each shape is a file as a person has it: common practice of spreadsheet programs, no source. The
months and volumes that it must give are made apart from it, by plain arithmetic. Volumes of an
acre-foot and of a mm over a km2 come from the definitions of foot and metre.
"""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import openpyxl
import pytest

from model.errors import RecordError
from model.record.reading import HowToRead
from model.record.record import Record, parse_record

FIRST_YEAR, YEARS = 1990, 22
MONTHS = [  # (year, month) July 1990 to June 2012
    (FIRST_YEAR + (6 + at) // 12, (6 + at) % 12 + 1) for at in range(12 * YEARS)
]
INFLOW_ML = [round(40.0 + 7.25 * ((37 * at) % 2_011), 2) for at in range(len(MONTHS))]
NAMES = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
FULL_NAMES = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]

Row = Callable[[int, int, float], str]


def text(row: Row, head: str = "month,inflow_ml", above: str = "", below: str = "") -> str:
    """Write a file, a line a month."""
    pairs = zip(MONTHS, INFLOW_ML, strict=True)
    lines = [row(year, month, ml) for (year, month), ml in pairs]
    return "\n".join([*([above] if above else []), head, *lines, *([below] if below else [])])


def plain(year: int, month: int, ml: float) -> str:
    """Write a month as this tool asks for it."""
    return f"{year}-{month:02d},{ml}"


def english(ml: float) -> str:
    """Write a number with commas between thousands."""
    return f"{ml:,.2f}"


def continental(ml: float) -> str:
    """Write a number with a comma for decimals and points between thousands."""
    return f"{ml:,.2f}".replace(",", "_").replace(".", ",").replace("_", ".")


def days(row: Callable[[dt.date, float], str], head: str = "date,flow_ml_per_day") -> str:
    """Write a file, a line a day; each day of a month has the same share of its volume."""
    lines = []
    for (year, month), ml in zip(MONTHS, INFLOW_ML, strict=True):
        day = dt.date(year, month, 1)
        number = ((day + dt.timedelta(days=31)).replace(day=1) - day).days
        lines += [row(day + dt.timedelta(days=at), ml / number) for at in range(number)]
    return "\n".join([head, *lines])


def workbook(rows: Iterable[Sequence[object]], title: str = "Sheet1", *before: str) -> bytes:
    """Write a workbook, with other sheets before or after it."""
    book = openpyxl.Workbook()
    sheet = book.active
    for name in before:
        sheet.title = name
        sheet.append(["nothing", "here"])
        sheet = book.create_sheet()
    sheet.title = title
    for row in rows:
        sheet.append(list(row))
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def book_rows(when: Callable[[int, int], object], *head: str) -> list[Sequence[object]]:
    """Return the rows of a workbook's sheet."""
    pairs = zip(MONTHS, INFLOW_ML, strict=True)
    return [head, *([when(year, month), ml] for (year, month), ml in pairs)]


def on_the_first(year: int, month: int) -> dt.datetime:
    """Return a month as a workbook holds it."""
    return dt.datetime(year, month, 1)


HEAD = ("month", "inflow_ml")
BY_DATE = book_rows(on_the_first, *HEAD)


def zipped(**parts: str) -> bytes:
    """Return a packed file with these parts; two underscores stand for a slash, one for a point."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as packed:
        for name, content in parts.items():
            packed.writestr(name.replace("__", "/").replace("_", "."), content)
    return data.getvalue()


@dataclass(frozen=True)
class Shape:
    """A file as a person has it, and what the person says of it."""

    kind: str
    file: str | bytes
    how: HowToRead = field(default_factory=HowToRead)
    notes: tuple[str, ...] = ()  # words that must be said of it
    loss: float = 1e-12  # relative, of the volumes that the file itself lost by rounding

    @property
    def data(self) -> bytes:
        """Return its bytes."""
        return self.file.encode() if isinstance(self.file, str) else self.file


def named(unit: str = "", **columns: str) -> HowToRead:
    """Return what a person says of a file."""
    ours = {"month": "month", "inflow": "inflow_ml", "date": "date", "flow": "flow_ml_per_day"}
    return HowToRead(tuple((ours[key], title) for key, title in columns.items()), unit)


POINT, COMMA = HowToRead(decimal="point"), HowToRead(decimal="comma")

READ_RIGHT = [
    Shape("as asked for", text(plain)),
    # encodings and separators
    Shape("UTF-8 with a mark", b"\xef\xbb\xbf" + text(plain).encode()),
    Shape("UTF-16 with a mark", text(plain).encode("utf-16")),
    Shape("UTF-16, big end first", b"\xfe\xff" + text(plain).encode("utf-16-be")),
    Shape("UTF-16 without a mark", text(plain).encode("utf-16-le")),
    Shape("Windows line ends", text(plain).replace("\n", "\r\n")),
    Shape("old line ends", text(plain).replace("\n", "\r")),
    Shape("semicolons", text(plain).replace(",", ";")),
    Shape("tabs", text(plain).replace(",", "\t")),
    Shape("tabs in UTF-16, as Unicode text", text(plain).replace(",", "\t").encode("utf-16")),
    Shape("a line that says the separator", "sep=;\n" + text(plain).replace(",", ";")),
    Shape("every cell quoted", text(lambda y, m, ml: f'"{y}-{m:02d}","{ml}"')),
    Shape("spaces about cells", text(plain).replace(",", " , ")),
    # decimal marks and thousands
    Shape(
        "decimal commas and semicolons",
        text(lambda y, m, ml: f"{y}-{m:02d};{ml:.2f}".replace(".", ","), "month;inflow_ml"),
    ),
    Shape(
        "decimal commas, points between thousands",
        text(lambda y, m, ml: f"{y}-{m:02d};{continental(ml)}", "month;inflow_ml"),
    ),
    Shape("quoted thousands", text(lambda y, m, ml: f'{y}-{m:02d},"{english(ml)}"')),
    Shape("quoted decimal commas", text(lambda y, m, ml: f'{y}-{m:02d},"{continental(ml)}"')),
    Shape(
        "spaces between thousands",
        text(lambda y, m, ml: f"{y}-{m:02d},{english(ml).replace(',', ' ')}"),
    ),
    Shape(
        "spaces that do not break, decimal commas",
        text(
            lambda y, m, ml: f"{y}-{m:02d};{continental(ml).replace('.', chr(0xA0))}",
            "month;inflow_ml",
        ),
    ),
    Shape(
        "three decimals and semicolons, the mark said",
        text(lambda y, m, ml: f"{y}-{m:02d};{1 + ml / 25:.3f}", "month;inflow_gl"),
        HowToRead(decimal="point", unit="mm over 25 km2"),
    ),
    # months
    Shape("months of one digit", text(lambda y, m, ml: f"{y}-{m},{ml}")),
    Shape("the first of the month", text(lambda y, m, ml: f"{y}-{m:02d}-01,{ml}")),
    Shape("midnight too", text(lambda y, m, ml: f"{y}-{m:02d}-01 00:00:00,{ml}")),
    Shape("month and year", text(lambda y, m, ml: f"{m:02d}/{y},{ml}")),
    Shape("year and month with a slash", text(lambda y, m, ml: f"{y}/{m:02d},{ml}")),
    Shape("six digits", text(lambda y, m, ml: f"{y}{m:02d},{ml}")),
    Shape(
        "Mar-87, as a spreadsheet saves 1987-03 again",
        text(lambda y, m, ml: f"{NAMES[m - 1]}-{y % 100:02d},{ml}"),
        notes=("two digits",),
    ),
    Shape("Mar 1987", text(lambda y, m, ml: f"{NAMES[m - 1]} {y},{ml}")),
    Shape("March 1987", text(lambda y, m, ml: f"{FULL_NAMES[m - 1]} {y},{ml}")),
    Shape("1987-Mar", text(lambda y, m, ml: f"{y}-{NAMES[m - 1]},{ml}")),
    Shape("1-Mar-1987", text(lambda y, m, ml: f"1-{NAMES[m - 1]}-{y},{ml}")),
    Shape("01/03/1987, day first", text(lambda y, m, ml: f"01/{m:02d}/{y},{ml}")),
    Shape("3/1/1987, month first", text(lambda y, m, ml: f"{m}/1/{y},{ml}")),
    Shape("01.03.1987", text(lambda y, m, ml: f"01.{m:02d}.{y};{ml}", "month;inflow_ml")),
    Shape(
        "01/03/87, day first",
        text(lambda y, m, ml: f"01/{m:02d}/{y % 100:02d},{ml}"),
        notes=("two digits",),
    ),
    Shape("year and month apart", text(lambda y, m, ml: f"{y},{m},{ml}", "Year,Month,Inflow (ML)")),
    Shape("a date a month", text(lambda y, m, ml: f"{y}-{m:02d}-15,{ml}", "date,inflow_ml")),
    # around the table
    Shape("notes above", text(plain, above="Gauge at the bridge\n\nPrinted,2012-07-01,by hand\n")),
    Shape("empty columns at the end", text(plain).replace("\n", ",,\n") + ",,"),
    Shape("empty rows at the end", text(plain) + "\n,\n\n,\n"),
    Shape("a title with brackets", text(plain, "Month,Inflow (ML)")),
    Shape(
        "a column of words",
        text(
            lambda y, m, ml: f"{plain(y, m, ml)},{'est' if m == 3 else ''}", "month,inflow_ml,flag"
        ),
        notes=("flag", "left out"),
    ),
    Shape(
        "a column of row numbers without a name",
        text(lambda y, m, ml: f"{12 * y + m},{plain(y, m, ml)}", ",month,inflow_ml"),
        notes=("without a name",),
    ),
    # columns and units that the person says
    Shape(
        "columns named",
        text(lambda y, m, ml: f"{ml},{y}-{m:02d}", "Q at gauge,When"),
        named(month="When", inflow="Q at gauge"),
    ),
    Shape(
        "GL in the name",
        text(lambda y, m, ml: f"{y}-{m:02d},{ml / 1000:.6f}", "month,Inflow (GL)"),
    ),
    Shape(
        "cubic metres",
        text(lambda y, m, ml: f"{y}-{m:02d},{1000 * ml:.0f}", "Month,Volume"),
        named("m3", month="Month", inflow="Volume"),
    ),
    Shape(
        "acre-feet of 43,560 cubic feet",
        text(lambda y, m, ml: f"{y}-{m:02d},{ml * 1000 / (43_560 * 0.3048**3):.9f}", "Month,AF"),
        named("acre-feet", month="Month", inflow="AF"),
        loss=1e-9,
    ),
    Shape(
        "mm over a catchment of 1,250 km2",
        text(lambda y, m, ml: f"{y}-{m:02d},{ml * 1000 / 1250e6 * 1000:.9f}", "Month,Runoff"),
        named("mm over 1250 km2", month="Month", inflow="Runoff"),
        loss=1e-7,
    ),
    # days
    Shape("days", days(lambda day, ml: f"{day},{ml!r}")),
    Shape("days, day first", days(lambda day, ml: f"{day:%d/%m/%Y},{ml!r}")),
    Shape("days, month first", days(lambda day, ml: f"{day:%m/%d/%Y},{ml!r}")),
    Shape("days with a time", days(lambda day, ml: f"{day:%d/%m/%Y} 09:00,{ml!r}")),
    Shape("days of eight digits", days(lambda day, ml: f"{day:%Y%m%d},{ml!r}")),
    Shape(
        "days in three columns, m3/s",
        days(
            lambda day, ml: f"{day.year},{day.month},{day.day},{ml / 86.4!r}",
            "Year,Month,Day,Flow (m3/s)",
        ),
    ),
    Shape(
        "days, columns and unit said",
        days(lambda day, ml: f"{day:%d-%b-%Y},{ml / 86.4!r},B", "Date,Q,Code"),
        named("m3/s", date="Date", flow="Q"),
        notes=("code", "not used"),
    ),
    # workbooks
    Shape("a workbook of text", workbook(book_rows(lambda y, m: f"{y}-{m:02d}", *HEAD))),
    Shape("a workbook of dates", workbook(book_rows(on_the_first, "Month", "Inflow (ML)"))),
    Shape(
        "a workbook's sheet that is named",
        workbook(BY_DATE, "River", "About"),
        HowToRead(sheet="river"),
        notes=("River", "About"),
    ),
    Shape(
        "a workbook with notes and empty rows",
        workbook([["Our river"], [], *BY_DATE, []]),
    ),
    Shape(
        "a workbook with numbers kept as text",
        workbook([HEAD, *((when, english(float(str(ml)))) for when, ml in BY_DATE[1:])]),
    ),
]


@pytest.mark.parametrize("shape", READ_RIGHT, ids=lambda shape: shape.kind)
def test_record_when_a_spreadsheet_wrote_it_then_months_and_volumes_are_right(shape: Shape) -> None:
    """Whatever the shape, the same months and the same volumes are read."""
    record = parse_record(shape.data, "river", how=shape.how)
    assert record.span == ("1990-07", "2012-06")
    expected = np.array(INFLOW_ML)
    if "mark said" in shape.kind:
        expected = expected + 25.0
    np.testing.assert_allclose(record.inflow_ml, expected, rtol=shape.loss)
    for words in shape.notes:
        assert any(words in note for note in record.notes), record.notes


def spoilt(shape: str, old: str, new: str) -> str:
    """Put other text in place of a piece that stands there once."""
    assert shape.count(old) == 1
    return shape.replace(old, new)


REFUSED = [
    # files that are no table
    (b"%PDF-1.7 x", {}, ("PDF", "copy its table into a spreadsheet")),
    (b"\x89PNG\r\n\x1a\n", {}, ("picture", "copy its table")),
    (b"\xff\xd8\xff\xe0", {}, ("picture", "copy its table")),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), {}, ("older kind", "save it as an XLSX")),
    (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"),
        {},
        ("password", "save it again without one"),
    ),
    (zipped(content_xml="x", mimetype="x"), {}, ("OpenDocument", "save it as an XLSX")),
    (zipped(xl__workbook_bin="x"), {}, ("XLSB", "save it as an XLSX")),
    (zipped(word__document_xml="x"), {}, ("written document", "copy its table")),
    (zipped(river_csv="x"), {}, ("packed", "unpack it first")),
    (zipped(xl__workbook_xml="x"), {}, ("damaged workbook", "save it again")),
    (b"<html><table><tr><td>month", {}, ("web page", "open it in a spreadsheet")),
    (b"\x1f\x8b\x08", {}, ("packed", "unpack it first")),
    (b"", {}, ("empty", "a header and rows")),
    (text(plain).encode() + "\n# µ".encode("latin-1"), {}, ("not text in UTF-8", "CSV UTF-8")),
    (text(plain).replace(",", "|"), {}, ("one column", "commas, semicolons or tabs")),
    # two readings that both fit, and readings that fight
    (
        text(lambda y, m, ml: f"{y}-{m:02d};{1 + ml / 25:.3f}", "month;inflow_ml"),
        {},
        ('"2.600"', "may be 2.6 (decimal points) or 2600 (", "--decimal point or --decimal comma"),
    ),
    (
        text(lambda y, m, ml: f"{y}-{m:02d}\t{1000 + round(ml):,}", "month\tinflow_ml"),
        {},
        ("may be 1040", "1.04", "--decimal"),
    ),
    (
        text(lambda y, m, ml: f"{y}-{m:02d},{ml:.2f}".replace(".", ",")),
        {},
        ("3 cells and the header has 2", "decimals with a point, or semicolons"),
    ),
    (
        spoilt(text(plain), "1990-08,308.25", '1990-08,"308,25"'),
        {},
        ("row 3, column inflow_ml", '"308,25"', "text, not a number"),
    ),
    # months
    (
        text(lambda y, m, ml: f"{32_000 + 30 * (12 * (y - 1990) + m)},{ml}"),
        {},
        ("spreadsheet's count of days", "format the column as dates", "and 261 more"),
    ),
    (
        text(lambda y, m, ml: f"mois {m} de {y},{ml}"),
        {},
        ("rows 2, 3, 4 and 261 more", "not a month", "Mar 1987"),
    ),
    (
        text(plain, below="Total,99999"),
        {},
        ("row 266, column month", '"Total"', "not a month"),
    ),
    (
        "year," + ",".join(NAMES) + "\n" + "\n".join(f"{y}" + ",5" * 12 for y in range(1990, 2013)),
        {},
        ("a row a year and a column a month", "a row a month"),
    ),
    (text(lambda y, m, ml: f"{y % 100:02d}-{m:02d},{ml}"), {}, ("not a month", "1987-03")),
    # names
    (
        text(plain, "Date,Q"),
        {},
        ("date, q", "column flow_ml_per_day is missing", "--columns flow=NAME --unit UNIT"),
    ),
    (
        text(plain, "When,inflow_ml"),
        {},
        ("column month is missing", "--columns month=NAME"),
    ),
    (
        text(plain, "When,Q"),
        {"how": named(month="When", inflow="Flow")},
        ("--columns", '"Flow"', "no such column", "one of When, Q"),
    ),
    (
        text(lambda y, m, ml: f"{y}-{m:02d},1,{ml}", "month,flow_m3_per_s,inflow_ml"),
        {},
        ("flow_m3_per_s and inflow_ml", "more than one flow"),
    ),
    (text(plain), {"how": HowToRead(unit="buckets")}, ("--unit", '"buckets"', "acre_feet")),
    (text(plain), {"how": HowToRead(sheet="River")}, ("text file and has no sheets",)),
    (
        workbook(book_rows(lambda y, m: f"{y}-{m:02d}", "month", "inflow_ml"), "River"),
        {"how": HowToRead(sheet="Creek")},
        ("no sheet Creek", "one of its sheets: River"),
    ),
    (
        workbook([("month", "inflow_ml"), *((f"{y}-{m:02d}", "=A1") for y, m in MONTHS)]),
        {},
        ("formulas of row 2 have no values", "open it in a spreadsheet and save it again"),
    ),
    # cells
    (
        spoilt(text(plain), "1990-08,308.25", "1990-08,#REF!"),
        {},
        ("could not work it out", "row 3"),
    ),
    (
        text(lambda y, m, _: f"{y}-{m:02d},-9999"),
        {},
        ("rows 2, 3, 4 and 261 more", "negative"),
    ),
    (
        text(lambda y, m, ml: f"{y}-{m:02d},{'-' if m == 3 else ml}"),
        {},
        ("months 1991-03, 1992-03, 1993-03 and 19 more", "no value", "fill policy"),
    ),
    (
        text(lambda y, m, ml: f"{y}-{m:02d},{'NA' if m == 3 else ml}"),
        {},
        ("and 19 more", "no value", "fill policy"),
    ),
    (
        text(lambda y, m, ml: f"{y}-{m:02d},{ml} ML"),
        {},
        ("rows 2, 3, 4 and 261 more", "text, not a number"),
    ),
    (
        text(lambda y, m, ml: f"{y}-{m:02d},{ml},{ml}", "month,inflow_ml,inflow_ml"),
        {},
        ("the name stands twice", "one column a name"),
    ),
]


@pytest.mark.parametrize(("file", "settings", "said"), REFUSED, ids=lambda value: str(value)[:24])
def test_record_when_it_cannot_be_read_then_one_line_says_what_to_do(
    file: str | bytes, settings: dict[str, HowToRead], said: tuple[str, ...]
) -> None:
    """One cause is one line, whatever the number of rows."""
    data = file.encode() if isinstance(file, str) else file
    with pytest.raises(RecordError) as refused:
        parse_record(data, "river", **settings)  # type: ignore[arg-type]
    (line,) = str(refused.value).splitlines()[1:]
    for words in said:
        assert words in line


def test_shapes_when_counted_then_they_are_more_than_forty() -> None:
    """The promise of the table above."""
    assert len(READ_RIGHT) + len(REFUSED) >= 40
    assert len({shape.kind for shape in READ_RIGHT}) == len(READ_RIGHT)


def two_readings(order: str) -> bytes:
    """Write days of which each may be read day first or month first, on rising months."""
    step = {"dmy": lambda at: f"{at % 12 + 1:02d}/{at % 12 + 1:02d}/{1990 + at // 12}"}[order]
    return "\n".join(["date,flow_ml_per_day", *(f"{step(at)},5" for at in range(240))]).encode()


def test_days_when_both_orders_give_the_same_then_they_are_read() -> None:
    """01/01/1990, 02/02/1990: what comes out is the same, so nothing is asked."""
    with pytest.raises(RecordError) as refused:
        parse_record(two_readings("dmy"), "river", missing_days_frac=0.99)
    assert "two ways" not in str(refused.value)


def test_days_when_both_orders_run_forward_then_both_are_shown() -> None:
    """01/02, 02/03, 03/04 of one year: neither order is the only one."""
    cells = [f"{at:02d}/{at + 1:02d}/1990,5" for at in range(1, 12)]
    with pytest.raises(RecordError) as refused:
        parse_record("\n".join(["date,flow_ml_per_day", *cells]).encode(), "river")
    assert "in two ways, such as 1 February 1990 or 2 January 1990" in str(refused.value)


def test_record_when_blanks_are_written_in_many_ways_then_a_fill_policy_counts_them() -> None:
    """Blank, NA and - are all missing, and none of them is zero."""
    marks = ["", "NA", "-", "n/a", "–"]
    cells = [
        f"{y}-{m:02d},{(5 if y == 2000 else marks[y % 5]) if m == 3 else ml}"
        for (y, m), ml in zip(MONTHS, INFLOW_ML, strict=True)
    ]
    record: Record = parse_record(
        "\n".join(["month,inflow_ml", *cells]).encode(), "river", fill="calendar_month_median"
    )
    assert dict(record.filled) == {"inflow_ml": YEARS - 1}
    np.testing.assert_array_equal(record.inflow_ml[8::12], 5.0)
