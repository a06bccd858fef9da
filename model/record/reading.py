"""Where in a file that a spreadsheet wrote is the table, and what is each of its columns?

The header is the row that names the columns; notes above it are passed over. A column's name is
read without regard to capitals, spaces and brackets, so that "Inflow (ML)" is `inflow_ml`; any
other name can be said by the person (`HowToRead`). Decimal points or commas are settled over the
whole file.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from model.errors import Fault, RecordError
from model.record.dates import moments_of
from model.record.grid import SEPARATORS, Grid, UnreadableError, grids_of, text_of
from model.record.numbers import Decimal, is_number_like, number_of, readings_that_fit, shown
from model.record.table import Table
from model.units import ml_per_unit, unit_told

TIMES: Final = ("month", "date", "water_year", "year", "day")
"""Names of columns that say when."""

_ROWS_OF_NOTES: Final = 60
"""A header is looked for this far down."""

NAMES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "month": "month",
        "date": "date",
        "water_year": "water_year",
        "inflow": "inflow_ml",
        "flow": "flow_ml_per_day",
        "tributary": "tributary_ml",
        "lake_rain": "lake_rain_mm",
        "lake_evaporation": "lake_evaporation_mm",
        "farm_rain": "farm_rain_mm",
        "farm_eto": "farm_eto_mm",
        "announced": "ml_per_share",
    }
)
"""What a person may say that a column holds, and our name for it."""


@dataclass(frozen=True, slots=True)
class HowToRead:
    """What a person says of a file that its own header does not."""

    columns: tuple[tuple[str, str], ...] = ()  # our name of a column, and the file's title
    unit: str = ""  # of inflow and tributary; "" as the column's name says
    sheet: str | None = None  # of a workbook; None the first
    decimal: Decimal | None = None  # None as the cells themselves settle it


AS_WRITTEN: Final = HowToRead()


def how_to_read(
    columns: str | None, unit: str | None, sheet: str | None, decimal: Decimal | None
) -> HowToRead:
    """Return what a person says of a file; what is left out the file itself says.

    Raises
    ------
    ValueError
        The columns are written otherwise than `parse_columns` reads them.
    """
    return HowToRead(parse_columns(columns) if columns else (), unit or "", sheet, decimal)


def read_table(data: bytes, is_value: Callable[[str], bool], how: HowToRead = AS_WRITTEN) -> Table:
    """Read a file into cells.

    Parameters
    ----------
    data
        The file's bytes.
    is_value
        Whether a column of this name holds what is looked for: with one of `TIMES` it marks the
        header.
    how
        What the person says of the file.

    Returns
    -------
    Table
        Its faults are what is wrong with the file as a table.
    """
    try:
        grid, top = _surest_header(data, is_value, how)
    except UnreadableError as error:
        return Table([], [], [], [Fault("the file", "", error.problem, error.allowed)])
    table = _under_header(grid, top, how)
    _settle_decimal(table, grid, how)
    return table


def rows_as_written(
    data: bytes, is_value: Callable[[str], bool], how: HowToRead = AS_WRITTEN
) -> list[list[str]]:
    """Return the rows of a file as they stand in it, the header first; see `read_table`.

    Raises
    ------
    RecordError
        It is no table.
    """
    try:
        grid, top = _surest_header(data, is_value, how)
    except UnreadableError as error:
        raise RecordError(
            "the file", [Fault("the file", "", error.problem, error.allowed)]
        ) from error
    return [[text_of(cell) for cell in row] for row in grid.rows[top:]]


def _surest_header(
    data: bytes, is_value: Callable[[str], bool], how: HowToRead
) -> tuple[Grid, int]:
    """Return the reading of a file whose header is surest, and the row that it stands in."""
    grid, (_, top) = max(
        ((grid, _header_row(grid, is_value, how)) for grid in grids_of(data, how.sheet)),
        key=lambda found: (found[1][0], len(found[0].rows[found[1][1]])),
    )
    return grid, top


def parse_columns(text: str) -> tuple[tuple[str, str], ...]:
    """Read which column holds what, as ``month=Date,inflow=Q``.

    Raises
    ------
    ValueError
        It is written otherwise; the problem and what is allowed, with a bar between.

    Examples
    --------
    >>> parse_columns("month=Date, inflow=Flow at gauge")
    (('month', 'Date'), ('inflow_ml', 'Flow at gauge'))
    """
    columns = []
    for pair in text.split(","):
        name, mark, title = (part.strip() for part in pair.partition("="))
        if not (mark and title and name in NAMES):
            allowed = "such as month=Date,inflow=Q; names: " + ", ".join(NAMES)
            raise ValueError(f"{pair.strip()} is not a name and a column|{allowed}")
        columns.append((NAMES[name], title))
    return tuple(columns)


def columns_text(columns: Sequence[tuple[str, str]]) -> str:
    """Write which column holds what, as `parse_columns` reads it.

    Raises
    ------
    RecordError
        A title has a mark in it that stands between columns.

    Examples
    --------
    >>> columns_text([("month", "Date"), ("inflow_ml", "Flow at gauge")])
    'month=Date,inflow=Flow at gauge'
    """
    said = {ours: name for name, ours in NAMES.items()}
    for _, title in columns:
        if "," in title or "=" in title:
            fault = Fault("the header", title, "a comma or an equals sign is in it", "without")
            raise RecordError("the file", [fault])
    return ",".join(f"{said[ours]}={title}" for ours, title in columns)


def plain_name(title: str) -> str:
    """Return a column's title as a name: small letters, units joined by underscores.

    Examples
    --------
    >>> plain_name("Inflow (ML)"), plain_name("Flow [m³/s]"), plain_name("Lake rain mm")
    ('inflow_ml', 'flow_m3_per_s', 'lake_rain_mm')
    """
    name = title.strip().lower().replace("³", "3").replace("²", "2").replace("/", " per ")
    return re.sub(r"[^\w]+", "_", name).strip("_")


def _header_row(grid: Grid, is_value: Callable[[str], bool], how: HowToRead) -> tuple[int, int]:
    """Return how sure it is that a row is the header, and the row; the first of the surest."""
    return max(
        ((_rank(grid, at, is_value, how), at) for at in range(min(len(grid.rows), _ROWS_OF_NOTES))),
        key=lambda found: (found[0], -found[1]),
    )


def _rank(grid: Grid, at: int, is_value: Callable[[str], bool], how: HowToRead) -> int:
    """Return how much a row looks like the header."""
    texts = [text_of(cell) for cell in grid.rows[at]]
    names = {plain_name(text) for text in texts}
    if how.columns:
        return sum(plain_name(title) in names for _, title in how.columns)
    if names.intersection(TIMES) and any(is_value(name) for name in names):
        return 3
    below = [text_of(cell) for cell in grid.rows[at + 1]] if at + 1 < len(grid.rows) else []
    begins = any(moments_of([text], "month").moments[0] for text in below if text)
    words = sum(bool(text) for text in texts) > 1 and not any(map(is_number_like, texts))
    return (1 + bool(names.intersection(TIMES))) if begins and words else 0


def _under_header(grid: Grid, at: int, how: HowToRead) -> Table:
    """Return the rows under the header, each with a cell for each of its columns."""
    titles = [text_of(cell) for cell in grid.rows[at]]
    table = Table([], [], [], notes=list(grid.notes))
    named = {plain_name(title): name for name, title in how.columns}
    names = [named.get(plain_name(title), plain_name(title)) for title in titles]
    for row in range(at + 1, len(grid.rows)):
        cells = list(grid.rows[row])
        _check_width(table, grid, row, len(names))
        table.lines.append(grid.lines[row])
        table.cells.append((cells + [""] * len(names))[: len(names)])
    if len(names) == 1:
        allowed = "commas, semicolons or tabs between cells"
        table.faults.append(Fault(f"row {grid.lines[at]}", titles[0], "it is one column", allowed))
    if not table.cells:
        where = f"row {grid.lines[at] + 1}"
        table.faults.append(Fault(where, "", "there are no rows under the header", "rows"))
    _check_named(table, titles, how)
    _check_units(table, how)
    _keep_named(table, names, grid.lines[at])
    return table


def _check_width(table: Table, grid: Grid, row: int, columns: int) -> None:
    """Note a row with more cells than the header, or in text with fewer."""
    cells, line = grid.rows[row], grid.lines[row]
    beyond = [text_of(cell) for cell in cells[columns:] if cell != ""]
    if not beyond and (len(cells) >= columns or not grid.separator):
        return
    problem = f"it has {len(cells)} cells and the header has {columns}"
    allowed = f"{columns} cells, separated by {SEPARATORS.get(grid.separator, 'one mark')}"
    if beyond and grid.separator == "," and all(text.isdecimal() for text in beyond):
        allowed += "; decimals with a point, or semicolons between cells"
    table.fault(line, "", ",".join(map(text_of, cells)), problem, allowed)
    table.ragged.add(line)


def _check_named(table: Table, titles: Sequence[str], how: HowToRead) -> None:
    """Note a column that the person named and the header does not."""
    there = {plain_name(title) for title in titles}
    for _, title in how.columns:
        if plain_name(title) not in there:
            allowed = "one of " + ", ".join(title for title in titles if title)
            table.faults.append(Fault("--columns", title, "the header has no such column", allowed))


def _check_units(table: Table, how: HowToRead) -> None:
    """Note a flow whose title tells another unit than it would be read in, where none is said."""
    for name, title in () if how.unit else how.columns:
        quantity, _, unit = name.partition("_")
        told, days = unit_told(plain_name(title)), 1 if quantity == "flow" else 30
        if quantity not in ("inflow", "flow") or not told:
            continue
        if ml_per_unit(told, days) != ml_per_unit(unit, days):
            problem = f"its title says {told}, and it would be read as {unit}"
            allowed = f"--unit {told} or --unit {unit}"
            table.faults.append(Fault("--columns", title, problem, allowed))


def _keep_named(table: Table, names: Sequence[str], line: int) -> None:
    """Take out columns without a name, and note a name that comes twice."""
    filled = [any(row[at] != "" for row in table.cells) for at in range(len(names))]
    nameless = [at for at, name in enumerate(names) if not name and filled[at]]
    if nameless:
        said = ", ".join(str(at + 1) for at in nameless)
        table.notes.append(f"columns without a name are left out: column {said}")
    for at, name in enumerate(names):
        if name and name in names[:at]:
            where = f"row {line}, column {at + 1}"
            table.faults.append(Fault(where, name, "the name stands twice", "one column a name"))
    keep = [at for at, name in enumerate(names) if name]
    table.header = [names[at] for at in keep]
    table.cells = [[row[at] for at in keep] for row in table.cells]


def _settle_decimal(table: Table, grid: Grid, how: HowToRead) -> None:
    """Find out which decimal mark the cells have; note where it cannot be known."""
    if how.decimal is not None:
        table.decimal = how.decimal
        return
    at_values = [at for at, name in enumerate(table.header) if name not in TIMES]
    cells = (row[at] for row in table.cells for at in at_values)
    texts = [cell.rstrip("% ") for cell in cells if isinstance(cell, str)]
    fits, example = readings_that_fit(texts)
    if grid.separator == "," and "point" in fits:
        return  # who writes decimal commas separates cells by something else, or a cell shows it
    if len(fits) == 1:
        table.decimal = fits[0]
    elif len(fits) == 2 and example:
        point, comma = (shown(number_of(example, mark) or 0.0) for mark in fits)
        problem = f"it may be {point} (decimal points) or {comma} (decimal commas)"
        allowed = "--decimal point or --decimal comma"
        table.faults.append(Fault("the file", example, problem, allowed))
    elif not fits:
        table.decimal = _commoner(texts)


def _commoner(texts: Sequence[str]) -> Decimal:
    """Return the decimal mark that fits more cells, the point where as many."""
    commas, points = (
        sum(number_of(text, mark) is not None for text in texts) for mark in ("comma", "point")
    )
    return "comma" if commas > points else "point"
