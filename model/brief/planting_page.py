"""What is planted and held by the water there is, and what does the bank do, month by month?"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

from model.brief.charts import cash_chart
from model.brief.layout import Block, bullets, chart, heading, note, page, table, text
from model.decide.amounts import Amount
from model.decide.findings import Findings
from model.say.bank import bills_past_limit_in_words, of_payments
from model.say.comparison import survived
from model.say.farm import more_strategies_in_words, past_limit_in_words, planted_in_words
from model.say.measures import EVENTS, MEASURES, title_of
from model.say.numbers import (
    NO_NUMBER,
    chance,
    chance_cell,
    number,
    thousands,
    thousands_heading,
    two_figures,
)
from model.say.outlook import REACHED
from model.say.steps import (
    NOT_ADVICE,
    PUT_OFF_NOTE,
    changed_in_words,
    ladder_head,
    ladder_note,
    rung_cells,
    rung_name,
    step_in_words,
    taken_in_short,
)
from model.water_year import month_name

MOST_STRATEGIES: Final = 6
"""A page holds no more beside all else; the workbook has all."""

IN_100: Final = "times in 100"


def planting_page(found: Findings) -> dict[str, Any]:
    """Return what is planted and held, and the bank by month."""
    outcome = found.outcome
    headline = f"{planted_in_words(outcome)}; {past_limit_in_words(outcome, found.limit_aud)}"
    blocks = [
        outcomes_table(found)
        if found.outcomes
        else text("No season is planted in this run: the crop in the ground was planted before."),
        chart(
            cash_chart(found.cash, found.limit_aud),
            f"Bank balance at each month's end, {thousands_heading()}. Pale: 80 in 100 of "
            f"{number(found.cash.sequences)} sequences. Darker: 50 in 100. Line: the middle.",
        ),
        cash_table(found),
        text(
            " ".join(
                f"{EVENTS[name].title}, {when}: {chance(outcome.chances[name])}."
                for name, when in (
                    ("past_overdraft_limit", "some time in the run"),
                    ("payment_missed", of_payments(outcome.payments_due)),
                    ("no_planting", "in some season"),
                )
            )
            + f" {bills_past_limit_in_words(outcome)}"
        ),
    ]
    if len(found.compared.outcomes) > 1:
        blocks.append(strategies_table(found))
    blocks += steps_blocks(found)
    return page("3  Planting, holding and the bank", headline, blocks)


def steps_blocks(found: Findings) -> list[Block]:
    """Return the strategy's drought steps, who must agree to each, and what they change."""
    steps = found.outcome.drought_steps()
    if steps is None:
        return []
    years = tuple(season.water_year for season in found.outcome.seasons)
    return [
        heading("Drought steps of this strategy, in order"),
        bullets(
            [f"{step_in_words(each.step)} {taken_in_short(each, years)}" for each in steps.taken]
        ),
        table(
            f"What each changes beside those before it: {ladder_note()}.",
            ["Steps", *ladder_head()],
            [[rung_name(rung, steps), *rung_cells(rung)] for rung in steps.ladder],
            widths=[3, 1, 1, 1, 1, 1],
        ),
        text(changed_in_words(steps)),
        note(f"{PUT_OFF_NOTE} {NOT_ADVICE}"),
    ]


def outcomes_table(found: Findings) -> Block:
    """Return what is planted and held by the water there is at planting."""
    rows = [
        [
            outcome.water_year,
            _class(outcome.from_ml_per_share, outcome.below_ml_per_share),
            chance_cell(outcome.chance),
            *(
                _range(values, form)
                for values, form in (
                    (outcome.planted_ha, number),
                    (outcome.carried_ml, two_figures),
                    (outcome.closing_cash_aud, thousands),
                )
            ),
        ]
        for outcome in found.outcomes
    ]
    return table(
        "What we would plant and hold, by usable water at planting: how often it is so, with the "
        "range that the record supports; of the rest the middle, and in brackets 80 in 100 of such "
        "seasons.",
        [
            "Season",
            "Own water at planting, ML a share",
            IN_100.capitalize(),
            MEASURES["area_planted_ha"].heading,
            "Held at the end of June, ML",
            MEASURES["closing_cash_aud"].heading,
        ],
        rows,
        widths=[0.75, 1.1, 1.6, 1.4, 1.8, 2.1],
        text_columns=(0, 1),
    )


def _class(low: float, high: float) -> str:
    """Return a class of water at planting."""
    if math.isfinite(high):
        return f"{number(low, 2)} to {number(high, 2)}"
    return f"{number(low, 2)} or more"


def _range(values: tuple[float, float, float], form: Callable[[float], str]) -> str:
    low, middle, high = values
    return f"{form(middle)} ({form(low)} to {form(high)})"


def cash_table(found: Findings) -> Block:
    """Return bank and overdraft by season."""
    rows = []
    for season, (usual, often) in zip(found.outcome.seasons, found.lowest_months, strict=True):
        overdraft = season.amounts["peak_overdraft_aud"]
        deepest = (
            [NO_NUMBER] * 2
            if overdraft is None
            else [thousands(overdraft.spread.quantiles[frac].value) for frac in (0.5, 0.9)]
        )
        rows.append(
            [
                season.water_year,
                *_reached(season.amounts["closing_cash_aud"]),
                *deepest,
                f"{month_name(usual)}, {chance_cell(often)}",
            ]
        )
    return table(
        f"{title_of('closing_cash_aud')}, reached so many times in 100; the overdraft at its "
        "deepest, "
        f"passed so many times in 100. {thousands_heading()}.",
        [
            "Season",
            "Bank, 90",
            "50",
            "10",
            "Overdraft, 50",
            "10",
            f"Lowest most often in, {IN_100}",
        ],
        rows,
        widths=[0.8, 1, 0.7, 0.7, 1, 0.8, 2.6],
    )


def _reached(amount: Amount | None) -> list[str]:
    """Return what is reached 90, 50 and 10 times in 100."""
    if amount is None:
        return [NO_NUMBER] * len(REACHED)
    return [thousands(amount.spread.reached_in(years).value) for years in REACHED]


def strategies_table(found: Findings) -> Block:
    """Return the strategies side by side."""
    others = [one for one in found.compared.outcomes if one is not found.outcome]
    rows = [
        [
            outcome.strategy.name,
            thousands(outcome.whole_run["standing_aud"].mean.value),
            thousands(outcome.whole_run["standing_aud"].worst_tenth.value),
            chance_cell(outcome.chances["payment_missed"]),
            chance_cell(outcome.chances["past_overdraft_limit"]),
            survived(outcome),
        ]
        for outcome in (found.outcome, *others[: MOST_STRATEGIES - 1])
    ]
    more = more_strategies_in_words(len(others) + 1 - MOST_STRATEGIES)
    return table(
        f"The strategies on the same sequences{more}, ours first. At the end: "
        f"{MEASURES['standing_aud'].title.lower()}, {thousands_heading()}. Chances: {IN_100}.",
        [
            "Strategy",
            "Mean",
            "Worst 10 in 100",
            "Payment missed",
            "Past the limit",
            "Zero seasons survived",
        ],
        rows,
        widths=[2, 0.7, 0.9, 1.6, 1.6, 0.9],
    )
