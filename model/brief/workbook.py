"""How do a brief's numbers become a workbook?

Five tidy sheets, one row a thing, units in the header: inputs, seasons, months, strategies, stress.
No macros and no formulas: every text is written as text, whatever it begins with. The date
of making is the brief's, so that the same findings give the same bytes.
"""

from __future__ import annotations

import datetime as dt
import io
import math
from collections.abc import Iterator, Mapping, Sequence
from importlib.metadata import version
from typing import Any, Final

from model.brief.findings import Findings
from model.chances import QUANTILES
from model.decide.amounts import Amount
from model.decide.compare_files import FARM_CAUTION
from model.evidence.announced import held_in_words
from model.water_year import format_month

Cell = str | float | None
Rows = Sequence[Sequence[Cell]]

SAFE: Final = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}
FORMS: Final = {
    "_frac": "0.0%",
    "_aud": "#,##0",
    "_ml": "#,##0",
    "_ha": "#,##0.0",
    "_ml_per_share": "0.000",
    "_bales_per_ha": "0.00",
    "_aud_per_ml": "#,##0",
    "_aud_per_ha": "#,##0",
    "cover": "0.00",
}
"""Number formats by how a name ends; the longest ending counts."""
UNITS: Final = {
    "_ml_per_share": "ML per share",
    "_bales_per_ha": "bales per ha",
    "_aud_per_ml": "AUD per ML",
    "_aud_per_ha": "AUD per ha",
    "_aud": "AUD",
    "_ml": "ML",
    "_ha": "ha",
    "_frac": "fraction",
    "cover": "ratio",
}


def workbook_xlsx(found: Findings, date: dt.date) -> bytes:
    """Make a workbook; the same findings and date give the same bytes.

    Parameters
    ----------
    found
        What it holds.
    date
        The day it was made.
    """
    import xlsxwriter

    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer, SAFE)
    book.set_properties(
        {
            "title": _clean(found.odds.plan.title)[:200],
            "created": dt.datetime(date.year, date.month, date.day),
        }
    )
    formats = {form: book.add_format({"num_format": form}) for form in {*FORMS.values(), "0.00"}}
    formats["head"] = book.add_format(
        {"bold": True, "text_wrap": True, "valign": "top", "bottom": 1}
    )
    for name, header, rows in (
        ("inputs", ["where", "value"], list(inputs_of(found, date))),
        ("seasons", *seasons_of(found)),
        ("months", *months_of(found)),
        ("strategies", *strategies_of(found)),
        ("stress", *stress_of(found)),
    ):
        _write(book.add_worksheet(name), header, rows, formats)
    book.close()
    return buffer.getvalue()


def _write(sheet: Any, header: Sequence[str], rows: Rows, formats: Mapping[str, Any]) -> None:
    """Write one sheet: header, frozen panes, a format a column."""
    forms = [_by_ending(FORMS, name) for name in header]
    for column, name in enumerate(header):
        unit = _by_ending(UNITS, name)
        sheet.write_string(0, column, f"{name} [{unit}]" if unit else name, formats["head"])
    for at, row in enumerate(rows, start=1):
        for column, value in enumerate(row):
            if isinstance(value, str):
                sheet.write_string(at, column, _clean(value))
            elif value is not None and math.isfinite(value):
                form = forms[column]
                sheet.write_number(at, column, value, *([formats[form]] if form else []))
    sheet.freeze_panes(1, 1)
    sheet.set_column(0, 0, 44 if header[0] in ("where", "case") else 24)
    sheet.set_column(1, len(header) - 1, 60 if len(header) == 2 else 16)


def _by_ending(known: Mapping[str, str], name: str) -> str:
    """Find what belongs to the longest known ending of a name's first part."""
    first = name.split(" ")[0]
    endings = [ending for ending in known if first.endswith(ending)]
    return known[max(endings, key=len)] if endings else ""


def _clean(words: str) -> str:
    """Leave out letters that a workbook cannot hold."""
    return "".join(c for c in words if c in "\t\n" or ord(c) >= 32)[:32_000]


def inputs_of(found: Findings, date: dt.date) -> Iterator[tuple[str, Cell]]:
    """Give every input with its place in the plan, and what the figures were made from."""
    odds = found.odds
    yield "made on", date.isoformat()
    yield "version", version("seasons-in-hand")
    yield "record SHA-256", odds.record.sha256
    yield "record months", float(odds.record.months)
    yield "sequences", float(odds.count)
    yield "caution", FARM_CAUTION
    yield from announced_of(found)
    yield from _flat("", odds.plan.model_dump(exclude={"strategies"}))


def announced_of(found: Findings) -> Iterator[tuple[str, Cell]]:
    """Give how far the rules were from what was announced, overall and year by year."""
    held = found.held
    if held is None:
        return
    yield "rules against what was announced", held_in_words(held)
    yield "mean error, ML per share", held.mean_error_ml_per_share
    yield "bias, ML per share (above 0: too much)", held.bias_ml_per_share
    for year in held.years:
        yield f"announced in {year.water_year}, ML per share", year.announced_ml_per_share
        yield f"replayed in {year.water_year}, ML per share", year.replayed_ml_per_share


def _flat(where: str, value: Any) -> Iterator[tuple[str, Cell]]:
    """Walk through nested inputs."""
    if isinstance(value, Mapping):
        for key, item in value.items():
            yield from _flat(f"{where}.{key}" if where else str(key), item)
    elif isinstance(value, list | tuple):
        for number, item in enumerate(value, start=1):
            yield from _flat(f"{where}, value {number}", item)
    elif isinstance(value, bool):
        yield where, "yes" if value else "no"
    elif isinstance(value, int | float):
        yield where, float(value)
    elif value is not None:
        yield where, str(value)


def seasons_of(found: Findings) -> tuple[list[str], list[list[Cell]]]:
    """Lay out every amount of every season, strategy by strategy."""
    header = ["strategy", "water_year", "amount", "unit", "mean", "worst_tenth"]
    header += [f"q{100 * frac:g}" for frac in QUANTILES]
    rows: list[list[Cell]] = []
    for outcome in found.compared.outcomes:
        for season in outcome.seasons:
            rows += [
                [outcome.strategy.name, season.water_year, name, _unit(name), *_amount(amount)]
                for name, amount in season.amounts.items()
                if amount is not None
            ]
            rows += [
                [
                    outcome.strategy.name,
                    season.water_year,
                    f"chance of {name}",
                    "fraction",
                    estimate.value,
                ]
                for name, estimate in season.chances.items()
            ]
    return header, rows


def _unit(name: str) -> str:
    return _by_ending(UNITS, name)


def _amount(amount: Amount) -> list[Cell]:
    quantiles = [amount.spread.quantiles[frac].value for frac in QUANTILES]
    return [amount.mean.value, amount.worst_tenth.value, *quantiles]


def months_of(found: Findings) -> tuple[list[str], list[list[Cell]]]:
    """Lay out the bank balance by month."""
    header = ["month", *(f"bank_aud q{100 * frac:g}" for frac in QUANTILES)]
    by_month = found.cash.quantiles_aud.T.tolist()
    rows: list[list[Cell]] = [
        [format_month(found.cash.first_month + t), *values] for t, values in enumerate(by_month)
    ]
    return header, rows


def strategies_of(found: Findings) -> tuple[list[str], list[list[Cell]]]:
    """Lay out the strategies: whole run, chances and rules."""
    outcomes = found.compared.outcomes
    rules = list(outcomes[0].strategy.model_dump(exclude={"name"}))
    whole = list(outcomes[0].whole_run)
    chances = list(outcomes[0].chances)
    header = [
        "strategy",
        *(f"{name} mean" for name in whole),
        *(f"{name} worst tenth" for name in whole),
        *(f"chance_{name}_frac" for name in chances),
        "zero seasons survived",
        *(f"rule: {name}" for name in rules),
    ]
    rows: list[list[Cell]] = [
        [
            outcome.strategy.name,
            *(outcome.whole_run[name].mean.value for name in whole),
            *(outcome.whole_run[name].worst_tenth.value for name in whole),
            *(outcome.chances[name].value for name in chances),
            float(outcome.dry_seasons_survived),
            *(getattr(outcome.strategy, name) for name in rules),
        ]
        for outcome in outcomes
    ]
    return header, rows


def stress_of(found: Findings) -> tuple[list[str], list[list[Cell]]]:
    """Lay out the stress set, then the break-evens."""
    seasons = found.setting.valley.calendar.seasons
    labels = [found.setting.valley.calendar.water_year(season) for season in range(seasons)]
    header = [
        "case",
        "meaning",
        "run_cover",
        "lowest_bank_aud",
        "lowest month",
        "closing_bank_aud",
        "arrears_aud",
        "payments missed",
        *(f"planted_ha {label}" for label in labels),
        *(f"cover {label}" for label in labels),
        *(f"receivable_aud {label}" for label in labels),
        "break-even unit",
        "now",
        "at break-even",
        "change_frac",
        "run_cover there",
    ]
    rows: list[list[Cell]] = []
    for case in found.stress.cases:
        result = case.result
        rows.append(
            [
                case.name,
                case.meaning,
                result.run_cover,
                result.lowest_cash_aud,
                format_month(result.lowest_cash_month),
                result.closing_cash_aud,
                result.arrears_aud,
                float(result.payments_missed),
                *result.by_season("area_planted_ha"),
                *result.by_season("cover"),
                *result.by_season("receivable_aud"),
            ]
        )
    blank: list[Cell] = [None] * (6 + 3 * seasons)
    rows += [
        [
            f"Break-even: {one.name}",
            one.found.replace("_", " "),
            *blank,
            one.unit,
            one.now,
            one.at,
            one.change_frac,
            one.cover_there,
        ]
        for one in found.stress.break_evens
    ]
    return header, rows
