"""What may a lender's analyst turn in the workbook? One small sheet of formulas, no macros.

Cover over the run from its parts, with a haircut on income of one's own, and loan to value in the
deepest debt month with a haircut on values of one's own. As it opens every result is the figure on
paper. No word of the user's is a formula: formulas are written here, and hold numbers alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from model.decide.findings import Findings
from model.say.lender import DEBT_PARTS
from model.say.measures import MEASURES, title_of
from model.say.numbers import currency_sign
from model.water_year import month_name

NAME: Final = "cover, live"
MONEY: Final = "#,##0"
TIMES: Final = "0.00"
SHARE: Final = "0.0%"
TURN: Final = "change this"


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the sheet: a number, or a formula with the result it opens with."""

    what: str
    value: float
    unit: str
    form: str
    formula: str = ""  # of rows by their number in braces
    printed: float | None = None  # the figure on paper
    note: str = ""


def rows_of(found: Findings) -> list[Row]:
    """Return the sheet's rows, from the second on."""
    debts, sign = found.debts, currency_sign()
    part = {name: float(getattr(debts, name).mean()) for name in DEBT_PARTS}
    secured = found.credit.secured
    deep_aud = secured.peak.debt_aud[1]

    def money(name: str, formula: str = "") -> Row:
        return Row(DEBT_PARTS[name], part[name], sign, MONEY, formula, part[name])

    return [
        Row("Haircut on operating income", 0.0, "fraction", SHARE, note=TURN),
        money("operating_aud"),
        money("bank_interest_aud"),
        money("off_farm_aud"),
        money("drawings_aud"),
        money("tax_aud"),
        money("available_aud", "B3*(1-B2)-B4+B5-B6-B7"),
        money("term_interest_aud"),
        money("principal_aud"),
        money("due_aud", "B9+B10"),
        money("machinery_aud"),
        _cover_row("run_term_debt_cover", "B8", found),
        _cover_row("run_replacement_cover", "B8-B12", found),
        Row("Haircut on values", secured.fall_frac, "fraction", SHARE, note=TURN),
        Row("Value of what secures the debt", secured.value_aud, sign, MONEY),
        Row("Value after the haircut", secured.fallen_aud, sign, MONEY, "B16*(1-B15)"),
        Row(
            f"Debt in {month_name(secured.peak.month)}, passed 10 times in 100",
            deep_aud,
            sign,
            MONEY,
        ),
        _loan_to_value("as valued", secured.loan_to_value[0][1], "B16"),
        _loan_to_value("after the haircut", secured.loan_to_value[1][1], "B17"),
    ]


def _cover_row(name: str, left: str, found: Findings) -> Row:
    """Return a cover: what is left over what is due; blank where nothing is."""
    amount = found.outcome.covers[name]
    said = None if amount is None else amount.mean.value
    formula = f'IF(B11=0,"",({left})/B11)'
    return Row(MEASURES[name].title, said or 0.0, "times", TIMES, formula, said)


def _loan_to_value(how: str, value: float, over: str) -> Row:
    """Return loan to value; blank where no value is stated."""
    there = value if value == value else None
    what = f"{title_of('loan_to_value_frac')}, {how}"
    return Row(what, there or 0.0, "fraction", SHARE, f'IF({over}=0,"",B18/{over})', there)


def write_live(book: Any, rows: list[Row], formats: Any) -> Any:
    """Write the sheet: own inputs in colour, results as formulas with the values they open with."""
    sheet = book.add_worksheet(NAME)
    turned = book.add_format({"num_format": SHARE, "bg_color": "#FFF2CC", "border": 1})
    for column, (title, width) in enumerate(
        (("what", 58), ("value", 18), ("unit", 12), ("on paper", 18), ("remark", 70))
    ):
        sheet.write_string(0, column, title, formats.head)
        sheet.set_column(column, column, width)
    for at, row in enumerate(rows, start=1):
        sheet.write_string(at, 0, row.what, formats.words)
        form = turned if row.note == TURN else formats.number(row.form)
        if row.formula:
            sheet.write_formula(at, 1, f"={row.formula}", form, row.value)
        else:
            sheet.write_number(at, 1, row.value, form)
        sheet.write_string(at, 2, row.unit, formats.words)
        if row.printed is not None:
            sheet.write_number(at, 3, row.printed, formats.number(row.form))
        if row.note:
            sheet.write_string(at, 4, row.note, formats.words)
    sheet.autofilter(0, 0, len(rows), 4)
    return sheet
