"""The workbook: the same numbers, tidy, and never a formula."""

from __future__ import annotations

import datetime as dt
import io
import json
import shutil
import subprocess
import zipfile
from pathlib import Path

import openpyxl
import pytest

from model.brief.findings import Findings, findings_of
from model.brief.workbook import workbook_xlsx
from model.decide.compare_files import compare_json
from tests.brief_plan import contract_record, farm_plan

DAY = dt.date(2026, 1, 2)
HOSTILE = ("=1+1", "+1", "@SUM(A1)")
SHEETS = ["inputs", "seasons", "months", "strategies", "stress"]


@pytest.fixture(scope="module")
def found() -> Findings:
    """Run a plan whose names begin like formulas."""
    plan = farm_plan(100)
    assert plan.farm is not None
    strategies = tuple(
        strategy.model_copy(update={"name": name})
        for strategy, name in zip(plan.strategies, HOSTILE, strict=True)
    )
    farm = plan.farm.model_copy(update={"name": '=HYPERLINK("http://x","y")'})
    update = {"title": "-2+3\x0b\t", "farm": farm, "strategies": strategies}
    return findings_of(plan.model_copy(update=update), contract_record())


@pytest.fixture(scope="module")
def book(found: Findings) -> openpyxl.Workbook:
    """Read its workbook back."""
    return openpyxl.load_workbook(io.BytesIO(workbook_xlsx(found, DAY)))


def test_workbook_when_read_back_then_five_sheets_with_frozen_headers(
    book: openpyxl.Workbook,
) -> None:
    """Five sheets, header and first column frozen, a unit in the header of each amount."""
    assert book.sheetnames == SHEETS
    assert all(sheet.freeze_panes == "B2" for sheet in book.worksheets)
    header = [cell.value for cell in book["months"][1]]
    assert header[0] == "month"
    assert header[4] == "bank_aud q50 [AUD]"
    assert book["months"]["B2"].number_format == "#,##0"
    assert "lowest_bank_aud [AUD]" in [cell.value for cell in book["stress"][1]]


def test_workbook_when_names_look_like_formulas_then_text(book: openpyxl.Workbook) -> None:
    """No cell is a formula or a link; the hostile names are there, letter for letter."""
    cells = [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert not any(cell.hyperlink for cell in cells)
    texts = {cell.value for cell in cells if cell.data_type == "s"}
    assert {*HOSTILE, '=HYPERLINK("http://x","y")', "-2+3\t"} <= texts


def test_workbook_when_seasons_are_read_then_as_in_the_comparison_file(
    found: Findings, book: openpyxl.Workbook
) -> None:
    """Means, worst tenths and quantiles are those of compare.json, in full."""
    rows = {
        tuple(row[:3]): row[4:] for row in book["seasons"].iter_rows(min_row=2, values_only=True)
    }
    compared = json.loads(compare_json(found.compared, None))
    for strategy in compared["strategies"]:
        for season in strategy["seasons"]:
            for name in ("closing_cash_aud", "area_planted_ha", "cover"):
                amount = season[name]
                row = rows[strategy["name"], season["water_year"], name]
                expected = [amount["mean"], amount["worst_tenth"], *amount["quantiles"].values()]
                assert list(row) == pytest.approx(expected, rel=1e-12)


def test_workbook_when_months_are_read_then_the_bank_by_month(
    found: Findings, book: openpyxl.Workbook
) -> None:
    """A row a month; each June's middle is that of the comparison, on the same sequences."""
    rows = list(book["months"].iter_rows(min_row=2, values_only=True))
    assert len(rows) == found.setting.valley.calendar.months
    for season, outcome in enumerate(found.compared.outcomes[found.at].seasons):
        amount = outcome.amounts["closing_cash_aud"]
        assert amount is not None
        june = rows[found.setting.valley.calendar.last_t(season)]
        middle = amount.spread.quantiles[0.5].value
        assert june[4] == pytest.approx(middle, rel=1e-9)


def test_workbook_when_made_again_then_the_same_bytes_and_no_macros(found: Findings) -> None:
    """The date of making is the one passed in; nothing in it can run."""
    first, again = workbook_xlsx(found, DAY), workbook_xlsx(found, DAY)
    assert first == again
    names = zipfile.ZipFile(io.BytesIO(first)).namelist()
    assert not any("vba" in name.lower() or "external" in name.lower() for name in names)


@pytest.mark.skipif(shutil.which("soffice") is None, reason="needs libreoffice-calc-nogui")
def test_workbook_when_an_office_program_opens_it_then_every_cell_survives(
    found: Findings, tmp_path: Path
) -> None:
    """Converted headless and read back: the same sheets, texts and numbers, still no formula."""
    first = workbook_xlsx(found, DAY)
    (tmp_path / "in.xlsx").write_bytes(first)
    command = ["soffice", f"-env:UserInstallation=file://{tmp_path}/home", "--headless"]
    command += ["--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", str(tmp_path / "out")]
    subprocess.run(
        [*command, str(tmp_path / "in.xlsx")], check=True, capture_output=True, timeout=120
    )
    before = openpyxl.load_workbook(io.BytesIO(first))
    after = openpyxl.load_workbook(tmp_path / "out" / "in.xlsx")
    assert after.sheetnames == SHEETS
    for old, new in zip(before.worksheets, after.worksheets, strict=True):
        for row in old.iter_rows():
            for cell in row:
                there = new.cell(cell.row, cell.column)
                assert there.data_type in {"s", "n"}
                if isinstance(cell.value, str):
                    assert there.value == cell.value
                elif cell.value is not None:
                    assert there.value == pytest.approx(cell.value, rel=1e-12)
