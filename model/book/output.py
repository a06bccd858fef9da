"""How is a book written down?

`portfolio.json` carries the farms together with everything they were made from; `farms.csv`
and `farms.parquet` one row for each farm and strategy; `faults.csv` what is
the matter with the plans that could not be played.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from importlib.metadata import version
from itertools import chain
from pathlib import Path
from typing import Any, Final

from model.book.book import UNFINISHED, Book, BookValley, Drivers, scope_key
from model.book.farm import Row
from model.book.pool import Counted, Ends, Pool, PoolSeason, Scope
from model.decide.amounts import Amount
from model.decide.output import amount_json, chance_json
from model.files import Content, defused, plain, write_run

FAULT_COLUMNS: Final = ("file", "where", "value", "problem", "allowed")
PIECE_BYTES: Final = 2**20


def write_book(book: Book, out: Path, notes: Mapping[str, object]) -> list[Path]:
    """Write the files of a book: all of them, or none. Parts that were kept are taken away.

    Parameters
    ----------
    book
        The farms.
    out
        The folder.
    notes
        What a reader needs beside the numbers.

    Raises
    ------
    InputError
        The folder cannot be written to.
    """
    columns = columns_of(book)
    tables: dict[Path, Content] = {
        out / "farms.csv": farms_csv(book, columns),
        out / "faults.csv": faults_csv(book),
    }
    parquet = out / UNFINISHED / "farms.parquet"
    write_parquet(book, parquet, columns)
    tables[out / "farms.parquet"] = _pieces_of(parquet)
    written = write_run(out / "portfolio.json", book_json(book, notes), tables)
    take_away(out / UNFINISHED)
    return written


def take_away(kept: Path) -> None:
    """Take away the parts of a book that is written."""
    for path in kept.iterdir():
        path.unlink()
    kept.rmdir()


def book_json(book: Book, notes: Mapping[str, object]) -> str:
    """Return a book as JSON text; the program's version is on a line of its own."""
    document = {
        "folder": book.name,
        "farms": book.farms,
        "farms_with_faults": len({fault.file for fault in book.faults}),
        "joint": book.joint,
        "version": version("seasons-in-hand"),
        "valleys": [
            _valley(book.valleys[scope.valleys[0]]) | _scope(book, scope)
            for scope in book.by_valley
        ],
        "whole_book": None if book.whole is None else _scope(book, book.whole),
        "notes": notes,
    }
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _valley(of: BookValley) -> dict[str, Any]:
    """Arrange what a valley's odds are made from."""
    plan, record, how = of.setting.plan, of.setting.record, of.drawn.how
    method = of.drawn.method.settings()
    return {
        "valley": of.name,
        "invented": plan.invented,
        "opening": plan.opening.model_dump(),
        "method": method["method"],
        "settings": {key: value for key, value in method.items() if key != "method"},
        "flow_factor": plan.sequences.flow_factor,
        "seed": plan.sequences.seed,
        "count": len(of.drawn.drawn),
        "record": {
            "name": record.name,
            "months": record.months,
            "span": list(record.span),
            "sha256": record.sha256,
            "filled": dict(record.filled),
            "notes": list(record.notes),
        },
        "errors": {
            "record_resamples": how.resamples,
            "record_draws_each": how.draws_each,
            "record_block_years": how.block_years,
        },
    }


def _scope(book: Book, scope: Scope) -> dict[str, Any]:
    """Arrange farms that are looked at together."""
    drivers = (book.drivers[scope_key(scope), at] for at in range(len(scope.pools)))
    return {
        "farms": scope.farms,
        "strategies": [_pool(pool, d) for pool, d in zip(scope.pools, drivers, strict=True)],
    }


def _pool(pool: Pool, drivers: Drivers) -> dict[str, Any]:
    """Arrange farms under one strategy."""
    return {
        "strategy": pool.strategy,
        "first_of_each": pool.strategy is None,
        "seasons": [_season(season) for season in pool.seasons],
        "worst_season": {
            "farms_missing": _counted(pool.missing),
            "farms_past_limit": _counted(pool.past_limit),
        },
        "whole_run": {
            "owed_beyond_terms_aud": _ends(pool.owed_aud),
            "standing_aud": _ends(pool.standing_aud),
            "margin_aud": _ends(pool.margin_aud),
        },
        "drivers": plain(drivers),
    }


def _season(season: PoolSeason) -> dict[str, Any]:
    """Arrange one season."""
    return {
        "water_year": season.water_year,
        "farms_missing": _counted(season.missing),
        "farms_past_limit": _counted(season.past_limit),
        "owed_beyond_terms_aud": _ends(season.owed_aud),
    }


def _ends(amount: Ends) -> dict[str, Any]:
    """Arrange an amount with its errors."""
    assert isinstance(amount, Amount)  # a book that is written was played
    return amount_json(amount)


def _counted(counted: Counted) -> dict[str, Any]:
    """Arrange how many farms there are at once."""
    return {
        **_ends(counted.farms),
        "chance_any": chance_json(counted.chance_any),
        "chance_of_part": {
            f"{part:g}": chance_json(estimate) for part, estimate in counted.chance_of_part.items()
        },
        "distribution": {str(farms): frac for farms, frac in counted.distribution.items()},
    }


def farms_csv(book: Book, columns: Sequence[str]) -> Iterator[str]:
    """Write one row for each farm and strategy as CSV text, in pieces."""
    yield _lines([columns])
    for rows in book.rows():
        yield _lines(_cells(row, columns) for row in rows)


def columns_of(book: Book) -> tuple[str, ...]:
    """Return the columns of the farms' table: those of the run with the most seasons."""
    widest: tuple[str, ...] = ()
    seen: set[str] = set()
    for key, rows in zip((key for key, _ in book.parts), book.rows(), strict=True):
        if rows and key not in seen:
            seen.add(key)
            widest = max(widest, tuple(rows[0]), key=len)
        if len(seen) == len(book.by_valley):
            break
    return widest


def _cells(row: Row, header: Iterable[str]) -> list[str | float]:
    """Return a row's cells; a blank where there is none."""
    found = (row.get(name) for name in header)
    return ["" if v is None else defused(v) if isinstance(v, str) else v for v in found]


def faults_csv(book: Book) -> str:
    """Write one row for each fault of a plan as CSV text."""
    faults = (
        (each.file, each.fault.where, each.fault.value, each.fault.problem, each.fault.allowed)
        for each in book.faults
    )
    return _lines(chain([FAULT_COLUMNS], (map(defused, fault) for fault in faults)))


def _lines(rows: Iterable[Iterable[str | float]]) -> str:
    """Return rows as lines of CSV."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def write_parquet(book: Book, path: Path, columns: Sequence[str]) -> None:
    """Write one row for each farm and strategy as a Parquet file, part by part."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    first = next(row for rows in book.rows() for row in rows)
    kinds = {str: pa.string(), int: pa.int64()}
    schema = pa.schema([(name, kinds.get(type(first.get(name)), pa.float64())) for name in columns])
    with pq.ParquetWriter(path, schema) as writer:
        for rows in book.rows():
            if rows:
                by_column = {name: [row.get(name) for row in rows] for name in columns}
                writer.write_table(pa.table(by_column, schema=schema))


def _pieces_of(path: Path) -> Iterator[bytes]:
    """Read a file in pieces."""
    with path.open("rb") as file:
        while piece := file.read(PIECE_BYTES):
            yield piece
