"""How is it said how many payments a chance is about, and what happens past the bank's limit?"""

from __future__ import annotations

from model.decide.compare import StrategyOutcome
from model.say.numbers import money


def of_payments(due: int) -> str:
    """Return how many loan payments fall due, to stand beside the chance of missing one.

    Examples
    --------
    >>> of_payments(6), of_payments(1), of_payments(0)
    ('of 6 due in the run', 'of 1 due in the run', 'none is due in the run')
    """
    return f"of {due} due in the run" if due else "none is due in the run"


def bills_past_limit_in_words(outcome: StrategyOutcome) -> str:
    """Return what is done about bills past the overdraft limit, and how far past it they go."""
    past = outcome.whole_run["past_limit_aud"]
    if past.worst_tenth.value == 0.0:
        return "The overdraft stays within its limit."
    return (
        "A loan payment that would pass the overdraft limit is missed; other bills are paid all "
        f"the same, in the worst 10 runs in 100 up to {money(past.worst_tenth.value)} past it on "
        "average: the bank must agree to that first."
    )


def area_set_in_words(outcome: StrategyOutcome) -> list[str]:
    """Return how often land, water or the bank set the area first planted; none: no planting."""
    names = ("set_by_land", "set_by_water", "set_by_money")
    for season in outcome.seasons:
        shares = [season.chances[name].value for name in names]
        if any(shares):
            land, water, bank = (f"{100.0 * share:.0f}" for share in shares)
            said = f"Area planted in {season.water_year} set by land {land}, by water {water}"
            if shares[2] == 0.0:
                return [f"{said} times in 100."]
            return [
                f"{said}, by the bank's limit {bank} times in 100. It is the bank's limit, not a "
                "protection: it keeps the account within the limit, not the business from loss."
            ]
    return []
