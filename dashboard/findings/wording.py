"""How numbers and names are said on a page: one place, so that all pages say them alike."""

from __future__ import annotations

from model.outlook.chances import Estimate, Spread, in_percent
from model.outlook.chances import in_ten as in_ten
from model.outlook.outlook import Outlook
from model.plan.plan import Plan
from model.say.cautions import CAUTION as CAUTION
from model.say.cautions import FARM_CAUTION as FARM_CAUTION
from model.sequences.drying import river_in_words
from model.sequences.words import method_in_words
from model.water_year import month_name, parse_month

INVENTED = "Invented valley, river and record: for demonstration only."
NO_FARM = (
    "This plan has no farm yet. Add a [farm] table to the plan file (the demonstration's explains "
    "every line), and open it again."
)
AMOUNT_TITLES = {
    "announced_to_date_ml_per_share": "Announced to date",
    "account_ml_per_share": "Water in the account",
    "usable_ml_per_share": "Usable water",
    "storage_end_ml": "Water in the dam",
}
FEWEST = 100
"""Possible runs below which every page says that odds cannot rest on them."""
COMMITMENT_TITLES = {
    "essential_reserve_ml": "Essential supplies",
    "losses_reserve_ml": "River and lake losses",
    "base_flow_reserve_ml": "Base flow",
    "high_security_reserve_ml": "High security",
    "account_reserve_ml": "Water already in accounts",
}
BLOCKS = {
    "stationary": "runs of observed years from anywhere in the record, some short and some long by "
    "chance; the record's end goes on at its beginning",
    "circular": "runs of observed years of one length from anywhere in the record; its end goes on "
    "at its beginning",
    "moving": "runs of observed years of one length, each whole within the record",
    "independent": "single observed years, each as likely as any other; no dry run is kept whole",
}
"""What each kind of blocks draws."""
REACHED_TITLES = {9: "In 9 years of 10", 5: "In 5 years of 10", 1: "In 1 year of 10"}
"""Years of ten in which an amount is reached or passed, the sure one first."""


def ml(value: float) -> str:
    """Say a volume, such as 90,000 ML."""
    return f"{value:,.0f} ML"


def ml_per_share(value: float) -> str:
    """Say an amount of an account, such as 0.17 ML/share."""
    return f"{value:.2f} ML/share"


def percent(frac: float) -> str:
    """Say a fraction, such as 26 %; small ones with a digit more, and none as sure that is not."""
    return f"{in_percent(frac)} %"


def figures(count: int) -> str:
    """Say how many figures, such as: 1 figure."""
    return f"{count:,} figure{'' if count == 1 else 's'}"


def in_ten_briefly(value: float) -> str:
    """Say a chance in few words, for a narrow box: never, about 3 in 10, always."""
    return in_ten(value).removesuffix(" in these sequences")


def chance_words(estimate: Estimate) -> str:
    """Say a chance with its range, such as: about 3 in 10 (26 %, range 15 % to 35 %)."""
    low, high = estimate.headline
    return f"{in_ten(estimate.value)} ({percent(estimate.value)}, range {percent_range(low, high)})"


def percent_range(low: float, high: float) -> str:
    """Say a range of shares, such as: 15 % to 35 %."""
    return f"{percent(low)} to {percent(high)}"


def draws_range(estimate: Estimate) -> str:
    """Say the range that the draws alone leave."""
    return percent_range(estimate.draws_low, estimate.draws_high)


def record_range(estimate: Estimate) -> str:
    """Say the range that the record leaves."""
    return percent_range(*estimate.headline)


def chance_cells(estimate: Estimate) -> dict[str, str | float]:
    """Give a chance in words and in numbers, with both its ranges, for a row of a table."""
    return {
        "In words": in_ten(estimate.value),
        "%": round(100 * estimate.value, 1),
        "Range of the record": record_range(estimate),
        "Range of the draws": draws_range(estimate),
    }


def reached_cells(amount: Spread) -> dict[str, str]:
    """Say what is reached in 9, 5 and 1 years of 10, each with the record's range."""
    cells = {}
    for years, title in REACHED_TITLES.items():
        estimate = amount.reached_in(years)
        low, high = estimate.headline
        cells[title] = f"{estimate.value:.2f} ({low:.2f} to {high:.2f})"
    return cells


def standing(plan: Plan) -> str:
    """Say in a line where things stand."""
    opening, capacity_ml = plan.opening, plan.valley.capacity_ml
    return (
        f"{month_name(parse_month(opening.month))}: dam {ml(opening.storage_ml)} of "
        f"{ml(capacity_ml)} ({percent(opening.storage_ml / capacity_ml)} full), account "
        f"{ml_per_share(opening.account_ml_per_share)}, announced so far "
        f"{ml_per_share(opening.announced_to_date_ml_per_share)}."
    )


def drawn_from(odds: Outlook) -> str:
    """Say how the sequences were drawn, and from what."""
    how = method_in_words(odds.method)
    first, last = odds.record.span
    runs = "1 possible run" if odds.count == 1 else f"{odds.count:,} possible runs"
    few = ""
    if odds.count < FEWEST:
        few = f" Too few for odds to rest on: draw {FEWEST:,} or more."
    return (
        f"{runs} of seasons, {how}, from {odds.record.name} "
        f"({first} to {last}).{few} {river_in_words(odds.record, odds.plan.sequences)}"
    )


def blocks_in_plain_words(odds: Outlook) -> str:
    """Say in plain words what the kind of blocks means; empty where none are drawn."""
    kind = odds.method.get("kind")
    return "" if kind is None else f" {str(kind).capitalize()} blocks: {BLOCKS[str(kind)]}."


def aud(value: float) -> str:
    """Say money, such as 1,200,000 AUD; large sums to the thousand."""
    return f"{round(value, -3 if abs(value) >= 10_000 else 0):,.0f} AUD"


def amount_range(estimate: Estimate) -> str:
    """Say the range of an amount that the record leaves."""
    low, high = estimate.headline
    return f"{low:,.0f} to {high:,.0f}"


def tidy(value: float) -> str:
    """Say an amount with as many digits as it deserves."""
    if 0.0 < abs(value) < 10.0:
        return f"{value:.2f}"
    return f"{round(value, -3 if abs(value) >= 10_000 else 0):,.0f}"


def with_range(estimate: Estimate, factor: float = 1.0) -> str:
    """Say an amount and in brackets the range that the record leaves, in units of 1 / factor."""
    low, high = (tidy(end * factor) for end in estimate.headline)
    said = tidy(estimate.value * factor)
    return said if said == low == high else f"{said} ({low} to {high})"
