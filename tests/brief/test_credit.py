"""Covenants and debt of the credit paper: counted again by hand from what each sequence brought."""

from __future__ import annotations

import numpy as np
import pytest

from model.decide.credit import peak_debt
from model.decide.findings import Findings
from model.outlook.chances import QUANTILES
from model.plan.credit import Covenant, Credit
from model.say.credit import NO_REQUEST, level_in_words, request_in_words


def test_covenants_when_counted_by_hand_then_those_chances(found: Findings) -> None:
    """Sequences that are ever on the wrong side of the level, of all; by season too."""
    over_the_run, loan_to_value, interest = found.credit.covenants
    debts = found.debts
    low = debts.available_aud < 1.25 * debts.due_aud
    assert over_the_run.in_run.value == pytest.approx(low.mean())
    assert over_the_run.by_season == ()
    debt_aud = found.results["debt_aud"][found.at]
    above = debt_aud > 0.28 * 7_200_000.0
    assert loan_to_value.in_run.value == pytest.approx(above.any(axis=1).mean())
    said = [each.value for each in loan_to_value.by_season]
    assert said == pytest.approx(above.mean(axis=0).tolist())
    below = found.results["interest_cover"][found.at] < 2.0
    assert interest.in_run.value == pytest.approx(below.any(axis=1).mean())
    assert interest.in_run.record_low is not None


def test_peak_debt_when_read_off_the_months_then_the_deepest(found: Findings) -> None:
    """The month in which what 10 in 100 pass is highest; June's debt is that of the seasons."""
    deep = found.cash.debt_quantiles_aud[QUANTILES.index(0.9)]
    peak = peak_debt(found.cash)
    assert peak.debt_aud[1] == deep.max()
    assert peak.month == found.cash.first_month + int(np.argmax(deep))
    calendar = found.setting.valley.calendar
    for season in range(calendar.seasons):
        june = found.cash.debt_quantiles_aud[:, calendar.last_t(season)]
        own = found.results["debt_aud"][found.at, :, season]
        assert june == pytest.approx(np.quantile(own, QUANTILES), rel=1e-9)


def test_request_when_typed_in_part_then_a_sentence_or_none() -> None:
    """What is left out is not made up: no request, no amount, no term."""
    assert request_in_words(Credit(), "Reedmace") == NO_REQUEST
    said = request_in_words(Credit(purpose="a new pump"), "Reedmace")
    assert said.startswith("Asked by Reedmace: support for a new pump. The figures are without")
    said = request_in_words(Credit(asked_by="We", amount_aud=5e4, term_years=1), "Reedmace")
    assert said.startswith("Asked by We: $50,000, over 1 year.")
    assert level_in_words(Covenant(measure="equity", level=0.6)) == "at least 60 %"
    assert level_in_words(Covenant(measure="loan_to_value", level=0.6)) == "at most 60 %"
    assert level_in_words(Covenant(measure="interest_cover", level=2.0)) == "at least 2.00"
