"""How much does the average holder order in a month?

The month's share of the water in the account that is not kept back on purpose. What is kept is let
go in a lean season: a floor under the account that no season may touch would make carrying
worthless.
"""

from __future__ import annotations

import numpy as np

from model.record.record import FloatArray
from model.valley.level import at_least, at_most
from model.valley.rules import Rules


def kept_ml_per_share(account: FloatArray, used: FloatArray, rules: Rules) -> FloatArray | float:
    """Return what the average holder keeps back: less in a lean season, nothing in a leaner one.

    The season's water so far is the account and what is used of it this year.
    """
    if rules.others_keep_above_ml_per_share == 0.0:
        return rules.others_keep_ml_per_share  # of water used nothing is left to keep
    spared = at_least(0.0, account + used - rules.others_keep_above_ml_per_share)
    return at_most(rules.others_keep_ml_per_share, spared)


def order_ml_per_share(
    account: FloatArray, used: FloatArray, usable: FloatArray, pattern: float, rules: Rules
) -> FloatArray:
    """Return the average holder's order, ML per share.

    Parameters
    ----------
    account, used
        After this month's credit; used so far this year.
    usable
        Not frozen or locked, and within the limits on use.
    pattern
        The month's, or a block's, share of what is used from now to June.
    rules
        What the holder keeps.
    """
    to_use = at_least(0.0, account - kept_ml_per_share(account, used, rules))
    return np.minimum(to_use * pattern, usable)
