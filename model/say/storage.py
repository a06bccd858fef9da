"""How is it told how far the replayed dam is from the measured one?"""

from __future__ import annotations

from model.evidence.storage import NEAR_FRAC, StorageHeld
from model.say.numbers import count, ml, percent


def storage_in_words(held: StorageHeld) -> str:
    """Return how far the replayed dam was from the measured one.

    Examples
    --------
    >>> storage_in_words(StorageHeld("A", "B", 100, -50.0, 400.0, 90, 10_000.0))[:69]
    'The dam as measured at 100 month ends (A to B): replayed through the '
    """
    side = "too much" if held.bias_ml > 0.0 else "too little"
    return (
        f"The dam as measured at {count(held.months, 'month end')} ({held.first_month} to "
        f"{held.last_month}): replayed through the rules as stated here it was "
        f"{ml(held.mean_error_ml)} off on average ({percent(held.mean_error_ml / held.capacity_ml)}"
        f" of full supply; {ml(abs(held.bias_ml))} {side} overall), and within "
        f"{percent(NEAR_FRAC)} of full supply at {held.near} of them."
    )
