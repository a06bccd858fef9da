"""The one table of measures: whole, and drawn on for names, units, digits and formulas."""

from __future__ import annotations

import math
import operator

import pytest

from model.decide.amounts import BAD_WHEN_HIGH
from model.decide.compare import (
    AMOUNTS,
    DISTRICT_AMOUNTS,
    RUN_AMOUNTS,
    RUN_COVERS,
    STEP_AMOUNTS,
)
from model.decide.output import OUTCOME_COLUMNS
from model.farm.finance import debt_service_cover, equity_frac, loan_to_value_frac, term_debt_cover
from model.farm.measures import EVENTS as WORKED_OUT_EVENTS
from model.farm.run_cover import RUN_EVENTS
from model.outlook.outlook import SEASON_AMOUNTS
from model.say import measures
from model.say.measures import EVENTS, MEASURES, unit_of

PUBLISHED = {
    *AMOUNTS,
    *DISTRICT_AMOUNTS,
    *RUN_AMOUNTS,
    *RUN_COVERS,
    *STEP_AMOUNTS,
    *OUTCOME_COLUMNS,
    *SEASON_AMOUNTS,
}


def test_measures_when_a_file_or_page_has_one_then_it_is_in_the_table() -> None:
    """A measure that is worked out and published has its title in the table."""
    assert set(MEASURES) >= PUBLISHED
    assert set(EVENTS) == {*WORKED_OUT_EVENTS, *RUN_EVENTS}
    assert set(MEASURES) >= BAD_WHEN_HIGH


def test_measures_when_listed_then_titles_differ_and_each_has_a_unit() -> None:
    """No two measures share a title; every name ends in a unit that is known."""
    titles = [one.title for one in (*MEASURES.values(), *EVENTS.values())]
    assert len(titles) == len(set(titles))
    assert all(name == one.name for name, one in MEASURES.items())
    assert [name for name in MEASURES if not unit_of(name).name] == []


def test_formulas_when_read_as_arithmetic_then_the_covers_that_are_worked_out() -> None:
    """What is printed is what is divided: each formula's two sides, with numbers put in."""
    assert measures.DEBT_COVER.endswith("÷ (interest + principal due)")
    assert debt_service_cover(300.0, 60.0, 90.0) == pytest.approx(300.0 / (60.0 + 90.0))
    assert measures.EQUITY == "(assets − liabilities) ÷ assets"
    assert equity_frac(500.0, 200.0) == pytest.approx((500.0 - 200.0) / 500.0)
    assert measures.LOAN_TO_VALUE.startswith("debt ÷ value")
    assert loan_to_value_frac(200.0, 800.0) == pytest.approx(200.0 / 800.0)
    assert "÷ (term principal + term interest due)" in measures.DEBT_COVER_AFTER_DRAWINGS
    assert term_debt_cover(120.0, 50.0, 30.0) == pytest.approx(120.0 / (50.0 + 30.0))


@pytest.mark.parametrize(
    ("name", "value", "said", "cell", "heading"),
    [
        ("margin_aud", 186_400.0, "$186,000", "186", "Margin, $'000"),
        ("margin_aud_per_ml", 254.6, "$255 a ML", "255", "Margin a megalitre used, $ a ML"),
        ("area_planted_ha", 81.3, "81 ha", "81", "Planted, ha"),
        ("account_ml_per_share", 0.17, "0.17 ML a share", "0.17",
         "Water in the account, ML a share"),
        ("equity_frac", 0.258, "26 %", "26 %", "Equity"),
        ("cover", -1.337, "−1.34 times", "−1.34", "Debt cover, times"),
        ("water_used_ml", 1_234.4, "1,234 ML", "1,234", "Water used, ML"),
        ("yield_bales_per_ha", math.nan, "–", "–", "Yield, bales a ha"),
    ],
)  # fmt: skip
def test_measure_when_written_then_as_its_kind_is(
    name: str, value: float, said: str, cell: str, heading: str
) -> None:
    """In a sentence with its unit, in a table with the unit in the heading; never unformatted."""
    measure = MEASURES[name]
    assert (measure.said(value), measure.cell(value), measure.heading) == (said, cell, heading)


def test_measures_when_high_is_bad_then_that_is_known_where_it_is_worked_out() -> None:
    """One fact, one home: the worst tenth of water lost is the wettest, of margin the lowest."""
    bad = operator.attrgetter("high_is_bad")
    assert bad(MEASURES["water_lost_ml"])
    assert bad(MEASURES["arrears_aud"])
    assert not bad(MEASURES["margin_aud"])


def test_shown_when_nothing_is_due_or_owed_then_covers_and_debts_are_left_out() -> None:
    """A farm without a lender is asked for no cover; one with a debt and nothing due for some."""
    names = ["cover", "loan_to_value_frac", "equity_frac", "cover_below_1", "payment_missed"]

    def left(*, due: bool, owed: bool) -> list[str]:
        return [one.name for one in measures.shown(names, due=due, owed=owed)]

    assert left(due=True, owed=True) == names
    assert left(due=False, owed=False) == ["equity_frac", "payment_missed"]
    assert left(due=False, owed=True) == ["loan_to_value_frac", "equity_frac", "payment_missed"]
