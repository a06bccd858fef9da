"""The workbook: the same numbers, tidy; formulas on one sheet, whose results are the paper's."""

from __future__ import annotations

import datetime as dt
import io
import json
import os
import re
import shutil
import subprocess
import zipfile
from pathlib import Path

import openpyxl
import pytest

from model.brief.workbook import workbook_xlsx
from model.decide.findings import Findings, findings_of
from model.decide.output import compare_json
from tests.brief_plan import contract_record, farm_plan

DAY = dt.date(2026, 1, 2)
HOSTILE = ("=1+1", "+1", "@SUM(A1)")
SHEETS = [
    "inputs",
    "seasons",
    "months",
    "strategies",
    "stress",
    "break-evens",
    "credit",
    "cover, live",
]
LIVE = SHEETS[-1]


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


def test_workbook_when_read_back_then_all_sheets_with_frozen_headers(
    book: openpyxl.Workbook,
) -> None:
    """Eight sheets, header and first column frozen, a unit in the header of each amount."""
    assert book.sheetnames == SHEETS
    assert all(sheet.freeze_panes == "B2" for sheet in book.worksheets)
    header = [cell.value for cell in book["months"][1]]
    assert header[0] == "month"
    assert header[4] == "bank_aud q50 [$]"
    assert book["months"]["B2"].number_format == "#,##0"
    assert "lowest_cash_aud [$]" in [cell.value for cell in book["stress"][1]]


def test_workbook_when_names_look_like_formulas_then_text(book: openpyxl.Workbook) -> None:
    """No name is a formula or a link; the hostile names are there, letter for letter.

    The one sheet of formulas holds numbers and cells alone in them.
    """
    cells = [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row]
    formulas = [cell for cell in cells if cell.data_type == "f"]
    assert {cell.parent.title for cell in formulas} == {LIVE}
    assert all(re.fullmatch(r"=(IF\()?[B0-9=,()\"+*/1-]+", cell.value) for cell in formulas)
    assert {cell.data_type for cell in cells} <= {"s", "n", "f"}
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
                expected = [
                    amount["mean"],
                    amount["mean_errors"]["record_low"],
                    amount["mean_errors"]["record_high"],
                    amount["worst_tenth"],
                    *amount["quantiles"].values(),
                ]
                assert list(row) == pytest.approx(expected, rel=1e-12)


def test_workbook_when_there_is_no_debt_then_no_chance_of_a_low_cover() -> None:
    """No loan and never overdrawn: no cover, and no chance of 0 that one is low."""
    plan = farm_plan(50)
    assert plan.farm is not None
    money = plan.farm.money.model_copy(update={"loans": (), "bank_aud": 9e6})
    farm = plan.farm.model_copy(update={"money": money})
    found = findings_of(plan.model_copy(update={"farm": farm}), contract_record())
    book = openpyxl.load_workbook(io.BytesIO(workbook_xlsx(found, DAY)))
    for name in ("seasons", "strategies"):
        amounts = [str(cell.value) for row in book[name].iter_rows(min_row=2) for cell in row]
        assert "chance_past_overdraft_limit_frac" in amounts
        assert not [each for each in amounts if "cover" in each]
    header, *rows = book["stress"].iter_rows(values_only=True)
    of_cover = [at for at, title in enumerate(header) if "cover" in str(title)]
    assert of_cover
    assert {row[at] for row in rows for at in of_cover} == {None}


def test_workbook_when_chances_are_read_then_with_the_range_of_the_record(
    found: Findings, book: openpyxl.Workbook
) -> None:
    """Each season's chance of nothing, and each strategy's chances, as the files have them."""
    rows = {
        tuple(row[:3]): row[4:7] for row in book["seasons"].iter_rows(min_row=2, values_only=True)
    }
    for season in found.odds.seasons:
        none = season.chance_none
        row = rows["(the valley)", season.water_year, "chance_nothing_more_announced_frac"]
        assert row == pytest.approx((none.value, none.record_low, none.record_high))
    for outcome in found.compared.outcomes:
        for season in outcome.seasons:
            for name, chance in season.chances.items():
                row = rows[outcome.strategy.name, season.water_year, f"chance_{name}_frac"]
                assert row == pytest.approx((chance.value, *chance.headline))


def test_workbook_when_inputs_are_read_then_each_has_meaning_unit_and_place(
    found: Findings, book: openpyxl.Workbook
) -> None:
    """Every number of the plan is there, in plain words, with a unit, and from its place."""
    sheet = book["inputs"]
    assert [cell.value for cell in sheet[1]] == ["what it is", "value", "unit", "place in the plan"]
    rows = [row for row in sheet.iter_rows(min_row=2, values_only=True) if row[3]]
    by_place = {row[3]: row[:3] for row in rows}
    assert len(by_place) == len(rows)
    assert all(" " in str(row[0]) or row[3] == row[0] for row in rows)
    assert not [row for row in rows if isinstance(row[1], int | float) and not row[2]]
    plan = found.odds.plan
    capacity = ("full supply volume, ML", plan.valley.capacity_ml, "ML")
    assert by_place["valley.capacity_ml"] == capacity
    assert plan.farm is not None
    january = by_place["valley.essential_ml January"]
    assert january == (
        "essential supplies, ML a month: January",
        plan.valley.essential_ml[6],
        "ML",
    )
    rate = by_place["farm.money.loans 1.rate_frac_per_year"]
    assert rate[1:] == (plan.farm.money.loans[0].rate_frac_per_year, "fraction a year")
    assert by_place["sequences.flow_elasticity"][1] == "left out"


def test_workbook_when_numbers_are_read_then_each_is_formatted_by_its_unit(
    book: openpyxl.Workbook,
) -> None:
    """Money in whole dollars, water a share to two places, fractions as percent."""
    formats = {row[2].value: row[4].number_format for row in book["seasons"].iter_rows(min_row=2)}
    assert formats["closing_cash_aud"] == "#,##0"
    assert formats["planting_usable_ml_per_share"] == "#,##0.00"
    assert formats["chance_payment_missed_frac"] == "0.0%"
    inputs = {row[3].value: row[1].number_format for row in book["inputs"].iter_rows(min_row=2)}
    assert inputs["farm.money.loans 1.rate_frac_per_year"] == "0.00%"
    assert inputs["farm.developed_ha"] == "#,##0.0"
    units = {row[1].value: row[2].value for row in book["strategies"].iter_rows(min_row=2)}
    assert units["rule: grow 1.planned_water_ml_per_ha"] == "ML a ha"
    assert units["zero_seasons_survived"] == "seasons"


def test_workbook_when_break_evens_are_read_then_cover_there_is_one(
    found: Findings, book: openpyxl.Workbook
) -> None:
    """The levels are those that were solved, and the cover beside them that of the rerun."""
    rows = list(book["break-evens"].iter_rows(min_row=2, values_only=True))
    assert [row[0] for row in rows] == [one.name for one in found.stress.break_evens]
    for row, one in zip(rows, found.stress.break_evens, strict=True):
        assert row[1] == "solved"
        assert row[4] == pytest.approx(one.at, rel=1e-12)
        assert row[6] == pytest.approx(1.0, abs=2e-3)


def test_workbook_when_printed_then_one_page_wide_with_its_header(
    book: openpyxl.Workbook,
) -> None:
    """Each sheet prints on A4, one page wide, its header on every page, and can be filtered."""
    for sheet in book.worksheets:
        assert sheet.page_setup.orientation == "landscape"
        assert sheet.page_setup.paperSize == 9
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.page_setup.fitToHeight == 0
        assert sheet.print_title_rows == "$1:$1"
        assert sheet.auto_filter.ref


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


def office() -> str:
    """Find the office program; without it the test fails, unless SOFFICE says there is none."""
    named = os.environ.get("SOFFICE", "soffice")
    if named == "none":
        pytest.skip("SOFFICE=none: the workbook was not opened in an office program")
    found = shutil.which(named)
    if found is None:
        pytest.fail(
            f"no office program {named}: install LibreOffice Calc (Debian: apt-get install "
            "libreoffice-calc-nogui), name its soffice with the environment variable SOFFICE, or "
            "set SOFFICE=none to leave this test out",
            pytrace=False,
        )
    return found


def test_office_when_missing_then_the_test_fails_and_is_left_out_only_when_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A missing program is a failure that says what to do; SOFFICE=none is a skip that is seen."""
    monkeypatch.setenv("SOFFICE", "/nowhere/soffice")
    with pytest.raises(pytest.fail.Exception, match="libreoffice-calc-nogui"):
        office()
    monkeypatch.setenv("SOFFICE", "none")
    with pytest.raises(pytest.skip.Exception, match="SOFFICE=none"):
        office()


def turned(book: openpyxl.Workbook) -> None:
    """Copy the sheet of formulas, with own haircuts of a tenth and a half."""
    copy = book.copy_worksheet(book[LIVE])
    copy.title = "turned"
    copy["B2"], copy["B15"] = 0.1, 0.5


def test_workbook_when_an_office_program_opens_it_then_cells_survive_and_formulas_give_the_paper(
    found: Findings, tmp_path: Path
) -> None:
    """Converted headless and read back: texts and numbers as written; results worked out there.

    The file is saved once without results, so that each is the office program's own.
    """
    before = openpyxl.load_workbook(io.BytesIO(workbook_xlsx(found, DAY)))
    turned(before)
    before.save(tmp_path / "in.xlsx")
    command = [office(), f"-env:UserInstallation={(tmp_path / 'home').as_uri()}", "--headless"]
    command += ["--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", str(tmp_path / "out")]
    subprocess.run(
        [*command, str(tmp_path / "in.xlsx")], check=True, capture_output=True, timeout=120
    )
    after = openpyxl.load_workbook(tmp_path / "out" / "in.xlsx", data_only=True)
    assert after.sheetnames == [*SHEETS, "turned"]
    results = 0
    for old, new in zip(before.worksheets, after.worksheets, strict=True):
        for row in old.iter_rows():
            for cell in row:
                there = new.cell(cell.row, cell.column)
                assert there.data_type in {"s", "n"}
                if cell.data_type == "f":
                    on_paper = old.cell(cell.row, 4).value
                    if on_paper is not None and old.title == LIVE:
                        assert there.value == pytest.approx(on_paper, rel=1e-9)
                        results += 1
                elif isinstance(cell.value, str):
                    assert there.value == cell.value
                elif cell.value is not None:
                    assert there.value == pytest.approx(cell.value, rel=1e-12)
    assert results == 6
    cut, debts = after["turned"], found.debts
    left = float(debts.available_aud.mean() - 0.1 * debts.operating_aud.mean())
    assert cut["B13"].value == pytest.approx(left / float(debts.due_aud.mean()), rel=1e-9)
    secured = found.credit.secured
    ratio = secured.peak.debt_aud[1] / (0.5 * secured.value_aud)
    assert cut["B20"].value == pytest.approx(ratio, rel=1e-9)


def test_workbook_when_read_then_what_is_on_paper_alone_is_there_too(
    found: Findings, book: openpyxl.Workbook
) -> None:
    """The limit that holds, parts of cover, loan to value; each sheet names the strategy."""
    rows = {row[0]: row[1] for row in book["credit"].iter_rows(min_row=2, values_only=True)}
    limit = rows["overdraft limit that holds 90 times in 100"]
    assert limit == pytest.approx(found.limit_needed_aud)
    assert rows["value of what secures the debt"] == pytest.approx(found.credit.secured.value_aud)
    left = next(value for name, value in rows.items() if str(name).startswith("= left to pay"))
    assert left == pytest.approx(float(found.debts.available_aud.mean()))
    name = found.outcome.strategy.name
    for sheet in book.worksheets:
        assert name in str(sheet.oddHeader.left.text)
        if sheet.title in ("months", "stress", "break-evens", "credit"):
            column = [cell.value for cell in sheet[1]].index("strategy")
            assert {row[column].value for row in sheet.iter_rows(min_row=2)} == {name}
