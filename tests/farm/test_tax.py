"""Is tax due on profit only, with losses carried on?"""

from __future__ import annotations

import numpy as np

from model.farm.tax import TaxBook, owing_aud, year_closed

RATE = 0.25


def test_tax_when_three_years_follow_then_losses_are_set_against_profit_first() -> None:
    """By hand: -100, +60, +90 at 25 %: losses 100, 40, 0; tax 0, 0 and 12.50 on the 50 left."""
    none = np.zeros(1)
    book = TaxBook(none, none, none)
    losses, due = [], []
    for profit in (-100.0, 60.0, 90.0):
        book = year_closed(book._replace(profit_aud=np.array([profit])), RATE)
        losses.append(book.losses_aud[0])
        due.append(book.due_aud[0])
        assert book.profit_aud[0] == 0.0
    assert losses == [100.0, 40.0, 0.0]
    assert due == [0.0, 0.0, 12.5]


def test_tax_when_owed_from_before_then_the_new_is_added() -> None:
    """Tax not yet paid stays due when the next year is closed."""
    book = TaxBook(np.array([80.0]), np.array([0.0]), np.array([7.0]))
    assert owing_aud(book, RATE).tolist() == [27.0]
    assert book.due_aud.tolist() == [7.0]
