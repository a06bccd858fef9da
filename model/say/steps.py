"""How are a strategy's drought steps told: what each does and when, and what they changed?"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from model.decide.steps_taken import Rung, StepsOutcome, StepTaken
from model.plan.steps import DroughtStep, Kind, StepDo, StepWhen
from model.say.numbers import (
    NO_NUMBER,
    capital,
    chance,
    lines_of_table,
    listed,
    ml,
    ml_per_share,
    money,
    money_for_each,
    number,
    of_100,
    percent,
    plain,
    thousands,
    thousands_heading,
    times_in_100,
)

CONSENT: Final[Mapping[Kind, str]] = {
    "interest_only_years": "needs the bank's consent",
    "sell_shares_ml": "needs a buyer, the transfer approved, and the bank's consent where shares "
    "secure a loan",
    "sell_machinery_aud": "needs a buyer, and the lender's consent where it is financed",
    "sell_water_ml": "needs a buyer",
    "buy_water_ml": "needs a seller",
    "draw_deposit_aud": "within the deposit's own terms",
    "hire_bore_ml": "needs its owner's consent, and a licence that allows it",
}
"""Who else must agree; the other kinds are the family's own."""

PUT_OFF_NOTE: Final = (
    "Interest only lowers missed payments by its nature: what is put off is still owed, and is "
    "taken off the worth at the end, as is what was sold. Spending less counts as money kept; what "
    "the family or the farm goes without is not valued."
)

NOT_ADVICE: Final = (
    "Ask the bank, the accountant and the licence's rules before a step is counted on: a sale may "
    "be taxed, which is not in these figures."
)

_DOES: Final[Mapping[Kind, Callable[[StepDo], str]]] = {
    "overheads_factor": lambda do: f"overheads at {_part(do.overheads_factor)} of what they were",
    "drawings_factor": lambda do: f"drawings at {_part(do.drawings_factor)} of what they were",
    "off_farm_income_aud_per_year": lambda do: (
        f"{money(do.off_farm_income_aud_per_year or 0.0)} a year more from off the farm"
    ),
    "interest_only_years": lambda do: (
        f"interest only on the loan “{do.loan}” for {_years(do.interest_only_years or 0)}, then "
        "the rest of its term repays it"
    ),
    "sell_shares_ml": lambda do: (
        f"sell {number(do.sell_shares_ml or 0.0)} general-security shares for good at "
        f"{money_for_each(do.price_aud_per_share or 0.0, 'share')}"
        + (f" and repay the loan “{do.repay_loan}”" if do.repay_loan else "")
    ),
    "sell_machinery_aud": lambda do: (
        f"sell machinery worth {money(do.sell_machinery_aud or 0.0)}"
        + (
            ""
            if do.machinery_fetches_frac is None
            else f" for {percent(do.machinery_fetches_frac)} of that"
        )
    ),
    "sell_water_ml": lambda do: (
        f"sell up to {ml(do.sell_water_ml or 0.0)} of yearly water"
        + _at(do.at_least_aud_per_ml, "or more")
    ),
    "buy_water_ml": lambda do: (
        f"buy up to {ml(do.buy_water_ml or 0.0)} of yearly water"
        + _at(do.at_most_aud_per_ml, "or less")
    ),
    "draw_deposit_aud": lambda do: (
        f"draw up to {money(do.draw_deposit_aud or 0.0)} from the farm deposit"
    ),
    "hire_bore_ml": lambda do: (
        f"hire up to {ml(do.hire_bore_ml or 0.0)} of bore water until 30 June at "
        f"{money_for_each(do.bore_aud_per_ml or 0.0, 'ML')} used"
    ),
}


def _part(factor: float | None) -> str:
    """Return a factor as a part of what was."""
    return percent(1.0 if factor is None else factor)


def _years(years: int) -> str:
    """Return years as a sentence has them."""
    return "1 year" if years == 1 else f"{years} years"


def _at(price: float | None, bound: str) -> str:
    """Return a price limit inside a sentence; empty where there is none."""
    return "" if price is None else f" at {money_for_each(price, 'ML')} {bound}"


def when_in_words(when: StepWhen) -> str:
    """Return when a step is taken.

    Examples
    --------
    >>> when_in_words(StepWhen(month="November", nothing_announced=True, dam_below_frac=0.2))
    'on 1 November, with nothing announced this season and the dam below 20 % of full'
    """
    asked = []
    if when.nothing_announced:
        asked.append("nothing announced this season")
    if when.seasons_of_nothing is not None:
        asked.append(f"nothing announced {when.seasons_of_nothing} seasons in a row")
    if when.account_below_ml_per_share is not None:
        asked.append(f"the account below {ml_per_share(when.account_below_ml_per_share)}")
    if when.dam_below_frac is not None:
        asked.append(f"the dam below {percent(when.dam_below_frac)} of full")
    if when.bank_below_aud is not None:
        asked.append(f"the bank below {money(when.bank_below_aud)}")
    if when.arrears:
        asked.append("a payment in arrears")
    return f"on 1 {when.month}" + (f", with {listed(asked)}" if asked else "")


def step_in_words(step: DroughtStep) -> str:
    """Return what a step does, when, for what fee, and who must agree.

    Examples
    --------
    >>> step = DroughtStep(
    ...     name="Ask the bank",
    ...     when={"month": "December", "bank_below_aud": 0.0},
    ...     do={"interest_only_years": 2, "loan": "land"},
    ...     cost_aud=3_000.0,
    ... )
    >>> print(step_in_words(step))  # doctest: +ELLIPSIS
    Ask the bank: once, on 1 December, with the bank below $0: interest only on the loan “land”...
    """
    often = "once" if step.how_often == "once" else "every year"
    ends = [f"costs {money(step.cost_aud)} each time"] if step.cost_aud else []
    if step.how_often == "once":
        ends = [end.removesuffix(" each time") for end in ends]
    ends += [CONSENT[step.kind]] if step.kind in CONSENT else []
    said = f"{step.name}: {often}, {when_in_words(step.when)}: {_DOES[step.kind](step.do)}."
    return f"{said} It {'; it '.join(ends)}." if ends else said


def taken_in_words(taken: StepTaken, years: tuple[str, ...]) -> str:
    """Return how often a step is taken in the run, in which month, and how often in each season."""
    by_season = ", ".join(
        f"{of_100(each.value)} in {year}" for year, each in zip(years, taken.by_season, strict=True)
    )
    return (
        f"{taken.step.name}: taken {chance(taken.some_time)}, on 1 {taken.step.when.month}; "
        f"by season {by_season}"
    )


def rung_name(rung: Rung, found: StepsOutcome) -> str:
    """Return which steps a rung of the ladder has."""
    if rung.steps == 0:
        return "Without steps"
    added = found.taken[rung.steps - 1].step.name
    return added if rung.steps == 1 else f"… and {added[0].lower()}{added[1:]}"


LADDER_HEAD: Final = (
    "Missed a payment",
    "Past the limit",
    "Worth at the end",
    "Debt",
    "Put off",
)


def ladder_head() -> tuple[str, ...]:
    """Return the head of the ladder's table: chances in 100, money in thousands."""
    return LADDER_HEAD


def ladder_note() -> str:
    """Return how the ladder's figures are to be read."""
    return f"chances of 100; means when the run ends, in {thousands_heading()}"


def rung_cells(rung: Rung) -> list[str]:
    """Return a rung's row: chances of 100, and mean amounts in thousands when the run ends."""
    return [
        of_100(rung.payment_missed.value),
        of_100(rung.past_overdraft_limit.value),
        *(
            thousands(rung.amounts[name].mean.value)
            for name in ("standing_aud", "debt_aud", "principal_put_off_aud")
        ),
    ]


def steps_table(found: StepsOutcome) -> tuple[list[str], list[list[str]]]:
    """Return head and rows of one table for paper: each step, how often taken, what it changes.

    Under it stand `ladder_note`, `step_in_words` of each step, `PUT_OFF_NOTE` and `NOT_ADVICE`.
    """
    often = [NO_NUMBER, *(of_100(taken.some_time.value) for taken in found.taken)]
    rows = [
        [rung_name(rung, found), taken, *rung_cells(rung)]
        for rung, taken in zip(found.ladder, often, strict=True)
    ]
    return ["With", "Taken", *ladder_head()], rows


def changed_in_words(found: StepsOutcome) -> str:
    """Return what all steps together changed, against the same strategy without them."""
    last, first = found.with_all, found.without
    worth = last.changed["standing_aud"]
    half_aud = (worth.draws_high - worth.draws_low) / 2.0
    put_off_aud = last.amounts["principal_put_off_aud"].mean.value
    debt_aud = last.amounts["debt_aud"].mean.value
    more = "more" if worth.value >= 0.0 else "less"
    return capital(
        f"a payment is missed {times_in_100(last.payment_missed.value)} with the steps and "
        f"{times_in_100(first.payment_missed.value)} without them, on the same sequences; the "
        f"farm ends with {money(abs(worth.value))} {more} on average (give or take "
        f"{money(half_aud)} for the draws). Beside that stand {money(debt_aud)} of debt at the "
        f"end ({money(first.amounts['debt_aud'].mean.value)} without) and {money(put_off_aud)} of "
        "principal put off, on average."
    )


def steps_lines(found: StepsOutcome, years: tuple[str, ...]) -> list[str]:
    """Return what a strategy's steps are, how often taken and what they changed, as text."""
    head, rows = steps_table(found)
    return [
        "Drought steps, in order:",
        *(f"  {plain(number)}. {step_in_words(taken.step)}" for number, taken in _numbered(found)),
        "Taken, of 100 sequences:",
        *(f"  {taken_in_words(taken, years)}" for taken in found.taken),
        f"What each changes, beside those before it ({ladder_note()}):",
        *lines_of_table([head, *rows]),
        changed_in_words(found),
        PUT_OFF_NOTE,
        NOT_ADVICE,
    ]


def _numbered(found: StepsOutcome) -> list[tuple[int, StepTaken]]:
    """Return the steps with their numbers."""
    return list(enumerate(found.taken, start=1))
