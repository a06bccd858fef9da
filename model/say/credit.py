"""What is told of a request to a lender, of securities, and of covenants?

What the user typed comes as typed: these are words on paper, never markup or a formula.
"""

from __future__ import annotations

import datetime as dt
from typing import Final

from model.decide.credit import CovenantOdds, CreditFound, Secured
from model.plan.credit import Covenant, Credit, Held
from model.say.numbers import (
    NO_NUMBER,
    count,
    day_name,
    money,
    number,
    percent,
    thousands,
    thousands_heading,
    times_in_100,
)
from model.water_year import month_name

HELD: Final[dict[Held, str]] = {
    "debt_cover_over_the_run": "Debt cover over the run, after drawings and tax",
    "debt_cover_after_drawings_and_tax": "Debt cover after drawings and tax, each 30 June",
    "debt_cover": "Debt cover, each 30 June",
    "interest_cover": "Interest cover, each 30 June",
    "equity": "Equity, each 30 June",
    "loan_to_value": "Loan to value, each 30 June",
}

NO_REQUEST: Final = "No request is typed in this plan: the paper shows what the business can carry."
NOT_IN_IT: Final = (
    "The figures are without what is asked for: stated in the plan as a loan or a limit, it would "
    "count in them."
)
OWN_VALUES: Final = "Values are the owner's own, as typed; a lender will want a valuation."


def request_in_words(credit: Credit, farm: str) -> str:
    """Return who asks, for how much, for what and for how long."""
    if credit.amount_aud is None and not credit.purpose:
        return NO_REQUEST
    amount = "support" if credit.amount_aud is None else money(credit.amount_aud)
    purpose = f" for {credit.purpose}" if credit.purpose else ""
    term = f", over {count(credit.term_years, 'year')}" if credit.term_years else ""
    return f"Asked by {credit.asked_by or farm}: {amount}{purpose}{term}. {NOT_IN_IT}"


SECURITY_TITLES: Final = ("Security", "Value", "After the fall", "Basis", "Valued on")


def security_rows(found: Secured) -> list[list[str]]:
    """Return the securities as rows of a table, their sum last."""
    rows = [
        [
            one.asset,
            thousands(one.value_aud),
            thousands(found.fallen(one.value_aud)),
            one.basis or NO_NUMBER,
            NO_NUMBER if one.valued_on is None else day_name(dt.date.fromisoformat(one.valued_on)),
        ]
        for one in found.securities
    ]
    name = "All" if rows else "Land, water, machinery and deposit, as the plan states them"
    total = [thousands(found.value_aud), thousands(found.fallen_aud)]
    return [*rows, [name, *total, NO_NUMBER, NO_NUMBER]]


def loan_to_value_in_words(found: Secured) -> str:
    """Return loan to value in the peak debt month, as valued and after the fall."""
    if found.peak.debt_aud[1] == 0.0:
        return "Nothing is owed in any month 90 times in 100: loan to value is not asked for."
    if found.value_aud == 0.0:
        return "No value is stated: loan to value cannot be told."
    valued, fallen = found.loan_to_value
    usual, deep = (money(debt) for debt in found.peak.debt_aud)
    return (
        f"Debt is deepest in {month_name(found.peak.month)}: {usual} or more 50 times in 100, "
        f"{deep} or more 10 times. Loan to value then: {percent(valued[0])} and "
        f"{percent(valued[1])}; with values down {percent(found.fall_frac)}, {percent(fallen[0])} "
        f"and {percent(fallen[1])}."
    )


def security_title(found: Secured) -> str:
    """Return what the table of securities shows."""
    return (
        f"What secures the debt, {thousands_heading()}; after a fall of {percent(found.fall_frac)}."
    )


def security_headline(found: CreditFound) -> str:
    """Return the finding on security: loan to value at the deepest debt, after the fall too."""
    secured = found.secured
    if secured.peak.debt_aud[1] == 0.0 or secured.value_aud == 0.0:
        return loan_to_value_in_words(secured).split(":")[0]
    (_, deep), (_, fallen) = secured.loan_to_value
    said = (
        f"At its deepest, in {month_name(secured.peak.month)}, debt is {percent(deep)} of what "
        f"secures it or more 10 times in 100; {percent(fallen)} with values down "
        f"{percent(secured.fall_frac)}"
    )
    if not found.covenants:
        return said
    worst = max(found.covenants, key=lambda one: one.in_run.value)
    often = times_in_100(worst.in_run.value, worst.in_run.draws)
    return f"{said}; the covenant breached most often is breached {often}"


def level_in_words(covenant: Covenant) -> str:
    """Return the level of a covenant."""
    if covenant.measure == "loan_to_value":
        return f"at most {percent(covenant.level)}"
    if covenant.measure == "equity":
        return f"at least {percent(covenant.level)}"
    return f"at least {number(covenant.level, 2)}"


def covenant_in_words(found: CovenantOdds) -> str:
    """Return what a covenant holds the borrower to."""
    covenant = found.covenant
    said = f"{HELD[covenant.measure]}: {level_in_words(covenant)}"
    return f"{said}. “{covenant.words}”" if covenant.words else said
