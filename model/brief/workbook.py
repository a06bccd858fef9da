"""How do a brief's numbers become a workbook?

Tidy sheets, one row a thing, units in the header or beside the number: inputs, seasons, months,
strategies, stress, break-evens, credit.
No macros; formulas on one small sheet alone (see `live_sheet`): every text is written as text,
whatever it begins with. The date
of making is the brief's, so that the same findings give the same bytes.
"""

from __future__ import annotations

import datetime as dt
import io
import math
from collections.abc import Iterator, Sequence
from importlib.metadata import version
from typing import Any, Final

from model.brief.credit_sheet import credit_of
from model.brief.decision_page import thin_layouts_of
from model.brief.inputs_sheet import inputs_under, plan_inputs
from model.brief.live_sheet import rows_of, write_live
from model.brief.plan_hash import plan_sha256
from model.decide.amounts import Amount
from model.decide.findings import Findings
from model.outlook.chances import QUANTILES, Estimate
from model.plan.cautions import all_cautions
from model.say.announced import held_in_words
from model.say.cautions import FARM_CAUTION
from model.say.lender import case_meaning, easier_on_bank, unit_in_words
from model.say.measures import unit_of
from model.say.record import filled_in_words, much_filled_in_words
from model.water_year import format_month

Cell = str | float | None
Rows = Sequence[Sequence[Cell]]

SAFE: Final = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}
NAMING: Final = ("amount", "place in the plan")
"""Columns whose words name the number of their row, and with it its format."""
PLAIN: Final = "General"
LEVEL_FORMAT: Final = "#,##0.00"
WITH_LEVELS: Final = ("now", "at break-even")
"""Columns of levels in several units."""
A4: Final = 9
OF_COVER: Final = (
    "cover_below_1",
    "cover_below_1_25",
    "run_cover_below_1",
    "run_cover_below_1_25",
)
"""Chances that are left away where nothing is due to a lender: 0 would be said of no ratio."""
ANY: Final = "(the valley)"
"""Where other rows name a strategy: the odds of water are the same under each."""
WIDTHS: Final = {
    "what it is": 62,
    "value": 46,
    "unit": 18,
    "place in the plan": 46,
    "strategy": 28,
    "case": 44,
    "meaning": 72,
    "amount": 42,
    "what turns": 24,
    "found": 22,
    "remark": 72,
}
"""Widths of columns in letters; all others have the usual one."""
USUAL_WIDTH: Final = 15
LINE_POINTS: Final = 15.0


def workbook_xlsx(found: Findings, date: dt.date, mark: str = "") -> bytes:
    """Return a workbook; the same findings and date give the same bytes.

    Parameters
    ----------
    found
        What it holds.
    date
        The day it was made.
    mark
        Of the run whose JSON file holds the figures; it stands in the workbook's properties.
    """
    import xlsxwriter

    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer, SAFE)
    book.set_properties(
        {
            "title": _clean(found.odds.plan.title)[:200],
            "created": dt.datetime(date.year, date.month, date.day),
            "keywords": f"run {mark}" if mark else "",
        }
    )
    formats = _Formats(book)
    for name, header, rows in (
        ("inputs", ["what it is", "value", "unit", "place in the plan"], [*inputs_of(found, date)]),
        ("seasons", *seasons_of(found)),
        ("months", *months_of(found)),
        ("strategies", *strategies_of(found)),
        ("stress", *stress_of(found)),
        ("break-evens", *break_evens_of(found)),
        ("credit", *credit_of(found)),
    ):
        sheet = book.add_worksheet(name)
        _write(sheet, header, rows, formats)
        _set_up(sheet, found.outcome.strategy.name)
    _set_up(write_live(book, rows_of(found), formats), found.outcome.strategy.name)
    book.close()
    return buffer.getvalue()


class _Formats:
    """The formats of one workbook, each made once."""

    def __init__(self, book: Any) -> None:
        self._book, self._made = book, dict[str, Any]()
        self.head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
        self.words = book.add_format(
            {"text_wrap": True, "valign": "top", "align": "left", "indent": 1}
        )

    def number(self, form: str) -> Any:
        """Return the format of a number."""
        if form not in self._made:
            self._made[form] = self._book.add_format({"num_format": form, "valign": "top"})
        return self._made[form]


def _write(sheet: Any, header: Sequence[str], rows: Rows, formats: _Formats) -> None:
    """Write one sheet: header with units, a format a number."""
    named_in = next((at for at, name in enumerate(header) if name in NAMING), len(header))
    for column, name in enumerate(header):
        unit = unit_of(name).name
        sheet.write_string(0, column, f"{name} [{unit}]" if unit else name, formats.head)
        sheet.set_column(column, column, WIDTHS.get(name, USUAL_WIDTH))
    for at, row in enumerate(rows, start=1):
        lines = max(_lines(value, header[column]) for column, value in enumerate(row))
        if lines > 1:
            sheet.set_row(at, LINE_POINTS * lines)
        named = str(row[named_in]).rsplit(".", 1)[-1] if named_in < len(row) else ""
        for column, value in enumerate(row):
            if isinstance(value, str):
                if value:
                    sheet.write_string(at, column, _clean(value), formats.words)
            elif value is not None and math.isfinite(value):
                form = _format(header[column]) or _format(named) or PLAIN
                sheet.write_number(at, column, value, formats.number(form))
    sheet.set_row(
        0, LINE_POINTS * max(_lines(f"{name} [{unit_of(name).name}]", name) for name in header)
    )
    sheet.autofilter(0, 0, max(1, len(rows)), len(header) - 1)


def _set_up(sheet: Any, strategy: str) -> None:
    """Freeze a sheet's header; print it one page wide, the strategy at the head of each page."""
    sheet.freeze_panes(1, 1)
    sheet.set_landscape()
    sheet.set_paper(A4)
    sheet.set_header("&L" + _clean(strategy).replace("&", "&&")[:200])
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)


def _format(name: str) -> str:
    """Return the format of a name's numbers; empty where it has none of its own."""
    if name in WITH_LEVELS:
        return LEVEL_FORMAT
    return unit_of(name).spreadsheet_format


def _lines(value: Cell, name: str) -> int:
    """Count the lines that a cell's words take in their column."""
    letters = WIDTHS.get(name, USUAL_WIDTH) - 2
    return math.ceil(len(value) / letters) if isinstance(value, str) else 1


def _clean(words: str) -> str:
    """Leave out letters that a workbook cannot hold."""
    return "".join(c for c in words if c in "\t\n" or ord(c) >= 32)[:32_000]


def inputs_of(found: Findings, date: dt.date) -> Iterator[tuple[Cell, ...]]:
    """Yield what the figures were made from, then every input with its unit and place."""
    odds = found.odds
    yield "strategy these papers are about", found.outcome.strategy.name
    yield "made on", date.isoformat()
    yield "version", version("seasons-in-hand")
    yield "plan as played, SHA-256", plan_sha256(odds.plan)
    yield "record SHA-256", odds.record.sha256
    yield "months filled", filled_in_words(odds.record, odds.plan.record_fill)
    yield "record months", float(odds.record.months), "months"
    yield "sequences", float(odds.count), "sequences"
    yield "caution", FARM_CAUTION
    filled = much_filled_in_words(odds.record, odds.plan.record_fill)
    for caution in [
        *([filled] if filled else []),
        *all_cautions(odds.plan),
        *thin_layouts_of(found),
    ]:
        yield "to look at again", caution
    yield from announced_of(found)
    yield from plan_inputs(odds.plan)


def announced_of(found: Findings) -> Iterator[tuple[Cell, ...]]:
    """Yield how far the rules were from what was announced, overall and year by year."""
    held, unit = found.held, "ML a share"
    if held is None:
        return
    yield "rules against what was announced", held_in_words(held)
    yield "mean error of the rules", held.mean_error_ml_per_share, unit
    yield "bias of the rules (above 0: too much)", held.bias_ml_per_share, unit
    for year in held.years:
        yield f"announced in {year.water_year}", year.announced_ml_per_share, unit
        yield f"replayed in {year.water_year}", year.replayed_ml_per_share, unit


def seasons_of(found: Findings) -> tuple[list[str], list[list[Cell]]]:
    """Arrange every amount of every season, strategy by strategy."""
    header = ["strategy", "water_year", "amount", "unit", "mean or chance"]
    header += ["range low", "range high", "worst_tenth", *(f"q{100 * q:g}" for q in QUANTILES)]
    rows = [
        [ANY, season.water_year, f"chance_{what}_frac", "fraction", *_estimate(estimate)]
        for season in found.odds.seasons
        for what, estimate in (
            ("nothing_more_announced", season.chance_none),
            ("nothing_from_now_to_here", season.chance_none_so_far),
        )
    ]
    for outcome in found.compared.outcomes:
        for season in outcome.seasons:
            rows += [
                [
                    outcome.strategy.name,
                    season.water_year,
                    name,
                    unit_of(name).name,
                    *_amount(amount),
                ]
                for name, amount in season.amounts.items()
                if amount is not None
            ]
            rows += [
                [
                    outcome.strategy.name,
                    season.water_year,
                    f"chance_{name}_frac",
                    "fraction",
                    *_estimate(estimate),
                ]
                for name, estimate in season.chances.items()
                if name not in OF_COVER or season.amounts["cover"] is not None
            ]
    return header, rows


def _amount(amount: Amount) -> list[Cell]:
    quantiles = [amount.spread.quantiles[frac].value for frac in QUANTILES]
    return [*_estimate(amount.mean), amount.worst_tenth.value, *quantiles]


def _estimate(estimate: Estimate) -> list[Cell]:
    """Return a value with its range, the record's where there is one."""
    return [estimate.value, *estimate.headline]


def months_of(found: Findings) -> tuple[list[str], list[list[Cell]]]:
    """Arrange the bank balance by month."""
    header = ["month", *(f"bank_aud q{100 * frac:g}" for frac in QUANTILES)]
    header += [*(f"debt_aud q{100 * frac:g}" for frac in QUANTILES), "past_limit_frac", "strategy"]
    cash, strategy = found.cash, found.outcome.strategy.name
    rows: list[list[Cell]] = [
        [
            format_month(cash.first_month + t),
            *cash.quantiles_aud[:, t].tolist(),
            *cash.debt_quantiles_aud[:, t].tolist(),
            float(cash.past_limit_frac[t]),
            strategy,
        ]
        for t in range(len(cash.past_limit_frac))
    ]
    return header, rows


def strategies_of(found: Findings) -> tuple[list[str], list[list[Cell]]]:
    """Arrange the strategies, row by row: whole run, chances and rules."""
    header = ["strategy", "amount", "unit", "mean, chance or rule"]
    header += ["range low", "range high", "worst_tenth", "meaning"]
    rows: list[list[Cell]] = []
    for outcome in found.compared.outcomes:
        name = outcome.strategy.name
        rows += [
            [name, what, unit_of(what).name, *_estimate(amount.mean), amount.worst_tenth.value]
            for what, amount in (*outcome.whole_run.items(), *outcome.covers.items())
            if amount is not None
        ]
        rows += [
            [name, f"chance_{what}_frac", "fraction", *_estimate(chance)]
            for what, chance in outcome.chances.items()
            if what not in OF_COVER or not outcome.nothing_due
        ]
        survived = float(outcome.dry_seasons_survived)
        rows.append([name, "zero_seasons_survived", "seasons", survived])
        rows += [
            [name, f"rule: {key}", unit, value, None, None, None, meaning]
            for meaning, value, unit, key in inputs_under(outcome.strategy)
            if key != "name"
        ]
    return header, rows


STRESS_COLUMNS: Final = (
    "run_cover",
    "run_cover_after_machinery",
    "cover_below_1_frac",
    "lowest_cash_aud",
    "lowest_cash_9_of_10_aud",
    "closing_cash_aud",
    "arrears_aud",
    "past_limit_frac",
    "payment_missed_frac",
)
"""What a case brings, as the brief has it; the bank's middle, and what it stays above 90 in 100."""


def stress_of(found: Findings) -> tuple[list[str], list[list[Cell]]]:
    """Arrange the stress set, a row a case."""
    calendar = found.setting.valley.calendar
    labels = [calendar.water_year(season) for season in range(calendar.seasons)]
    by_season = ("area_planted_ha", "term_debt_cover", "receivable_aud")
    header = ["case", "meaning", *STRESS_COLUMNS, "lowest_month"]
    header += [f"{name} {label}" for name in by_season for label in labels]
    header += ["remark", "strategy"]
    rows: list[list[Cell]] = []
    remarks = easier_on_bank(found.stress)
    for case in found.stress.cases:
        result = case.result
        rows.append(
            [
                case.name,
                case_meaning(case),
                *(getattr(result, name) for name in STRESS_COLUMNS),
                format_month(result.lowest_cash_month),
                *(value for name in by_season for value in result.by_season(name)),
                remarks.get(case.name, ""),
                found.outcome.strategy.name,
            ]
        )
    return header, rows


def break_evens_of(found: Findings) -> tuple[list[str], list[list[Cell]]]:
    """Arrange how far each thing may turn before debt cover over the run is 1.00."""
    header = ["what turns", "found", "unit", "now", "at break-even", "change_frac"]
    header += ["run_cover there", "strategy"]
    rows: list[list[Cell]] = [
        [
            one.name,
            one.found.replace("_", " "),
            unit_in_words(one),
            one.now,
            one.at,
            one.change_frac,
            one.cover_there,
            found.outcome.strategy.name,
        ]
        for one in found.stress.break_evens
    ]
    return header, rows
