"""What water is there, by the season, and what is the plan about?"""

from __future__ import annotations

from typing import Any, Final

from model.brief.charts import water_chart
from model.brief.findings import Findings
from model.brief.layout import (
    Block,
    about,
    chart,
    money,
    note,
    of_runs,
    page,
    said,
    table,
    text,
    two,
    whole,
    with_range,
)
from model.plan.cautions import opening_cautions, undated_words
from model.plan.strategy import Strategy
from model.sequences.drying import is_changed, river_in_words
from model.water_year import is_july, month_name

FEWEST_SEQUENCES: Final = 400
"""Below this the draws alone leave a chance of one half open by 5 points either way."""


def water_page(found: Findings, in_short: Block) -> dict[str, Any]:
    """Write the plan in a paragraph, the other pages' findings, and the odds of water."""
    seasons = found.odds.seasons
    blocks = [
        text(plan_in_words(found)),
        *cautions_of(found),
        in_short,
        chart(
            water_chart(seasons),
            "General-security water, ML per share. Pale: 8 years in 10. Darker: 5 in 10. "
            "Line and number: the middle, as likely more as less.",
        ),
        water_table(found),
        nothing_table(found),
        note(
            "Ranges in brackets are 95 % and come from the record: its years were resampled in "
            f"blocks {found.odds.record_error.resamples} times and everything was run again; "
            "where that leaves nothing open, the range is that of the number of sequences. A share "
            "is a licence for 1 ML in a year of full allocation."
        ),
    ]
    if found.odds.count < FEWEST_SEQUENCES:
        few = f"Drawn: {found.odds.count:,}. These are too few sequences for odds to rest on."
        blocks.append(text(few))
    return page("1  Water", headline_of(found), blocks)


def cautions_of(found: Findings) -> list[Block]:
    """Say where another river is counted on, and which of the figures to look at again."""
    cautions, undated = opening_cautions(found.odds.plan), undated_words(found.odds.plan)
    drawing = found.odds.plan.sequences
    drier = [text(river_in_words(found.odds.record, drawing))] if is_changed(drawing) else []
    return [*drier, *map(text, cautions), *([note(undated)] if undated else [])]


def headline_of(found: Findings) -> str:
    """Give the finding on the water of the first season."""
    season = found.odds.seasons[0]
    announced = season.amounts["announced_to_date_ml_per_share"]
    sure, middle = announced.reached_in(9).value, announced.reached_in(5).value
    june = month_name(season.last_month)
    none = of_runs(season.chance_none.value)
    if two(middle) == two(0.0):
        return f"Nothing at all is announced by {june} in {none}"
    if two(sure) == two(0.0):
        return (
            f"By {june}, {two(middle)} ML per share or more is announced in 5 years of 10, and "
            f"nothing at all in {none}"
        )
    most = f"By {june}, {two(sure)} ML per share or more is announced in 9 years of 10"
    return most if two(sure) == two(middle) else f"{most}, {two(middle)} in 5 of 10"


def plan_in_words(found: Findings) -> str:
    """Say the plan in a paragraph."""
    plan, farm, cash = found.odds.plan, found.setting.farm, found.setting.farm.money
    opening, strategy = plan.opening, found.setting.strategies[found.at]
    invented = "This valley and its record are INVENTED. " if plan.invented else ""
    sells = (
        f"sells what is left above {whole(strategy.sell_above_aud_per_ml)} AUD per ML"
        if strategy.sell_above_aud_per_ml is not None
        else "sells no water"
    )
    buys = (
        f"buys up to {whole(strategy.buy_up_to_ml)} ML at planting"
        if strategy.buy_up_to_ml
        else "buys none"
    )
    return (
        f"{invented}{farm.name} holds {whole(farm.licence.general_security_shares_ml)} "
        f"general-security shares in {plan.valley.name} and has {whole(farm.developed_ha)} ha laid "
        f"out for irrigation. In {month_name(seasons_first(found))} the dam holds "
        f"{whole(opening.storage_ml)} ML of {whole(plan.valley.capacity_ml)}, the account "
        f"{two(opening.account_ml_per_share)} ML per share and the bank {money(cash.bank_aud)}; "
        f"loans stand at {money(sum(loan.balance_aud for loan in cash.loans))}, and the overdraft "
        f"limit is {money(cash.overdraft_limit_aud)}. This brief follows the strategy "
        f"“{strategy.name}”: it plans {planned_ml_per_ha(found):g} ML a hectare, counts on "
        f"{100 * strategy.count_on_frac:.0f} % of the further water that is reached in "
        f"{10 * strategy.expected_chance_frac:g} years of 10, holds "
        f"{_held(strategy)} at planting, {sells} and {buys}."
    )


def planned_ml_per_ha(found: Findings) -> float:
    """Return the water that the brief's strategy plans for a hectare of the main crop."""
    setting = found.setting
    settings = setting.settings.one(found.at)
    return float(settings.planned_water_ml_per_ha(setting.rules)[0, 0])


def _held(strategy: Strategy) -> str:
    """Return what is held back, and from how much on."""
    if strategy.hold_back_ml_per_share == 0.0:
        return "nothing back"
    back = f"{two(strategy.hold_back_ml_per_share)} ML per share back"
    above = strategy.hold_above_ml_per_share
    return f"{back} where more than {two(above)} is in sight" if above else back


def seasons_first(found: Findings) -> int:
    """Give the run's first month."""
    return found.odds.seasons[0].first_month


def water_table(found: Findings) -> Block:
    """Lay the odds of water out."""
    rows = []
    for season in found.odds.seasons:
        amounts = [("announced by June", season.amounts["announced_to_date_ml_per_share"], two)]
        if season.planting is not None:
            usable = season.planting.amounts["usable_ml_per_share"]
            amounts.insert(0, (f"usable at planting, {_short(season.planting.month)}", usable, two))
        amounts.append(("dam at the end of June, ML", season.amounts["storage_end_ml"], about))
        rows += [
            [season.water_year, what, *(with_range(amount.reached_in(n), form) for n in (9, 5, 1))]
            for what, amount, form in amounts
        ]
    return table(
        "Water reached or passed in so many years of 10, ML per share; in brackets the range that "
        "the record leaves open.",
        ["Season", "Water", "9 of 10", "5 of 10", "1 of 10"],
        rows,
        widths=[0.8, 2.1, 2, 2.1, 2.2],
        text_columns=(0, 1),
    )


def _short(month: int) -> str:
    """Name a month and its year in few letters."""
    name, year = month_name(month).split()
    return f"{name[:3]} {year}"


def nothing_table(found: Findings) -> Block:
    """Lay the chances of nothing out."""
    rows = []
    for season in found.odds.seasons:
        more = "" if is_july(season.first_month) else "more "
        rows.append([f"Nothing {more}announced in {season.water_year}", said(season.chance_none)])
    rows += [
        [f"Nothing in {number} seasons running, from now", said(season.chance_none_so_far)]
        for number, season in enumerate(found.odds.seasons[1:], start=2)
    ]
    return table(
        "The chance of nothing.",
        ["What", "Chance"],
        rows,
        widths=[1.2, 2],
        text_columns=(0, 1),
    )
