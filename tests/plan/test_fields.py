"""Is each key of a plan described by what it declares: kind, bounds, unit, and words for people?"""

from __future__ import annotations

from typing import Annotated, Literal

import pytest
from pydantic import Field

from model.plan.fields import PlanField, chosen, fields_of, holds, key_of
from model.plan.money import Loan, WaterTrade
from model.plan.plan import Plan
from model.plan.strategy import Strategy
from model.plan.types import Amount, Count, Fraction, MonthName, Positive, Table, TwelveAmounts
from model.say import fields as say
from model.say.numbers import currency


class Pump(Table):
    """A table nobody has written a page for."""

    litres_ml: Positive = Field(description="what it lifts, ML; counted at the gate")
    share_frac: Fraction = Field(default=0.25, description="part of the year it runs, 0 to 1")
    windy_chance_frac: Fraction = Field(default=0.5, description="chance of wind, 0 to 1")
    cost_aud_per_year: Amount | None = Field(
        default=None, description="its upkeep, AUD a year; left out, in the overheads"
    )
    blades: Annotated[Count, Field(ge=2, le=40)] = Field(description="blades")
    driven_by: Literal["wind", "sun"] = Field(default="wind", description="what drives it")
    months: tuple[MonthName, ...] = Field(default=(), description="months in which it runs")
    by_month_mm: TwelveAmounts | None = Field(default=None, description="by month, mm")
    heights_frac: tuple[Fraction, ...] = Field(default=(), description="heights, 0 to 1")
    at_work: bool = Field(default=True, description="whether it turns")
    spare: Loan | None = None
    loans: tuple[Loan, ...] = Field(default=(), description="loans on it")


PUMP = {field.name: field for field in fields_of(Pump)}


def test_fields_when_a_table_is_new_then_every_kind_of_key_is_known() -> None:
    """Nothing but the table's own declaration is needed."""
    assert {name: field.kind for name, field in PUMP.items()} == {
        "litres_ml": "number",
        "share_frac": "number",
        "windy_chance_frac": "number",
        "cost_aud_per_year": "number",
        "blades": "whole",
        "driven_by": "choice",
        "months": "choices",
        "by_month_mm": "twelve",
        "heights_frac": "numbers",
        "at_work": "yes_or_no",
        "spare": "table",
        "loans": "tables",
    }
    assert PUMP["litres_ml"].above
    assert PUMP["litres_ml"].required
    assert PUMP["cost_aud_per_year"].blank
    assert (PUMP["blades"].lowest, PUMP["blades"].highest) == (2, 40)
    assert PUMP["driven_by"].choices == ("wind", "sun")
    assert PUMP["months"].choices[0] == "July"
    assert [field.name for field in PUMP["loans"].inner] == list(Loan.model_fields)


def test_words_when_a_key_is_described_then_title_unit_and_blank_come_from_it() -> None:
    """Fractions are asked for in percent, chances in 100, money in the plan's currency."""
    assert say.label(PUMP["litres_ml"]) == "What it lifts, ML"
    assert say.label(PUMP["share_frac"], examples=True) == "Part of the year it runs, % · example's"
    assert say.label(PUMP["windy_chance_frac"]) == "Chance of wind, times in 100"
    assert say.help_text(PUMP["litres_ml"]) == (
        "What it lifts. Counted at the gate. Allowed: above 0, ML."
    )
    cost = PUMP["cost_aud_per_year"]
    with currency("€"):
        assert say.label(cost, 1_200_000.0) == "Its upkeep, € a year (€1.2 million)"
    assert say.help_text(cost).endswith("Left blank: in the overheads.")
    assert say.allowed(PUMP["blades"]) == "2 to 40"


@pytest.mark.parametrize("frac", [0.075, 0.07, 1.0 / 3.0, 0.0, 1.0, 0.29])
def test_percent_when_shown_and_put_back_then_the_plan_states_what_it_did(frac: float) -> None:
    """No figure moves by being looked at; one third to twelve digits."""
    field = PUMP["share_frac"]
    assert say.stated(field, say.shown(field, frac)) == pytest.approx(frac, abs=1e-12)
    if frac != 1.0 / 3.0:
        assert say.stated(field, say.shown(field, frac)) == frac


def test_numbers_when_typed_then_read_or_refused_by_name() -> None:
    """Commas, semicolons or blanks between; what is no number is named."""
    heights = PUMP["heights_frac"]
    assert say.numbers_shown(heights, [0.1, 0.255]) == "10, 25.5"
    assert say.numbers_typed(heights, "10; 25.5") == [0.1, 0.255]
    assert say.numbers_typed(heights, "  ") is None
    with pytest.raises(ValueError, match="ten and inf: not a number"):
        say.numbers_typed(heights, "10, ten, inf")


def test_chosen_when_some_keys_are_wanted_then_tables_without_any_are_left_out() -> None:
    """The choice goes down into tables and lists of them."""
    kept = chosen(fields_of(Pump), lambda field: "_aud" in field.name)
    assert [field.name for field in kept] == ["cost_aud_per_year", "spare", "loans"]
    assert [field.name for field in kept[2].inner] == ["balance_aud"]
    assert holds(kept[2], "3.balance_aud")
    assert not holds(kept[2], "3.term_years")
    assert key_of("farm", kept[0]) == "farm.cost_aud_per_year"
    assert key_of("", kept[0]) == "cost_aud_per_year"


def _all(fields: tuple[PlanField, ...]) -> list[PlanField]:
    return [each for field in fields for each in (field, *_all(field.inner))]


def test_plan_when_all_its_keys_are_gone_through_then_each_has_a_meaning() -> None:
    """A key that a person is asked for says what it is, and none shows a key's unit as AUD."""
    farm = next(field for field in fields_of(Plan) if field.name == "farm")
    for field in _all((farm, *fields_of(Strategy), *fields_of(WaterTrade))):
        assert field.meaning, field.name
        words = say.label(field) + say.help_text(field)
        assert "AUD" not in words, words
        if "_frac" in field.name and field.kind in ("number", "twelve", "numbers"):
            assert ("%" in words) or ("times in 100" in words), words
