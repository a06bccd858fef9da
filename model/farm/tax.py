"""What tax falls due on the farm's profit, with losses carried on?

Profit of a water year is what farming and water brought less their costs, interest and the wear of
machinery; income from off the farm is taken to be taxed where it is earned. On 30 June the year's
profit is set against the losses of earlier years; what is left is taxed at the plan's rate, and the
tax is paid in its month of the year that follows. A loss is carried on, never paid back. All AUD,
arrays (strategy, sequence).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from model.record.record import FloatArray


class TaxBook(NamedTuple):
    """What the tax office and the farm keep of each other."""

    profit_aud: FloatArray  # of the water year so far
    losses_aud: FloatArray  # of earlier years, not yet set against a profit
    due_aud: FloatArray  # on profits of earlier years, not yet paid


def year_closed(book: TaxBook, rate_frac: float) -> TaxBook:
    """Close a water year: set its profit against losses and tax what is left.

    Examples
    --------
    >>> year_closed(TaxBook(np.array(100.0), np.array(30.0), np.array(0.0)), 0.3)[2].item()
    21.0
    >>> year_closed(TaxBook(np.array(-50.0), np.array(30.0), np.array(5.0)), 0.3)[1].item()
    80.0
    """
    taxable_aud = book.profit_aud - book.losses_aud
    return TaxBook(
        np.zeros_like(book.profit_aud),
        np.maximum(0.0, -taxable_aud),
        book.due_aud + rate_frac * np.maximum(0.0, taxable_aud),
    )


def owing_aud(book: TaxBook, rate_frac: float) -> FloatArray:
    """Return the tax that the farm owes, were its year to end now."""
    return year_closed(book, rate_frac).due_aud
