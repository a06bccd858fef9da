"""Bales sold forward belong to a season: past ones are past, unknown ones are refused."""

import pytest

from model.errors import PlanError
from model.farm.money_rules import forward_sales
from tests.farm_case import farm_case

SALE = {"bales": 400.0, "lint_aud_per_bale": 560.0, "washout_aud_per_bale": 75.0}


def sales_of(*water_years: str) -> list[float]:
    """Return the bales sold forward by season of a farm with sales of these years."""
    case = farm_case(
        {"farm.money.forward_sales": [{"water_year": year, **SALE} for year in water_years]}
    )
    return forward_sales(case.farm.money, case.valley.calendar).bales.tolist()


def test_sale_when_of_a_season_of_the_run_then_it_is_that_seasons() -> None:
    """Two sales of one season add up."""
    assert sales_of("2026-27", "2026-27") == [0.0, 800.0, 0.0]


def test_sale_when_of_a_season_before_the_run_then_it_is_past() -> None:
    """Its money is among what is still to come; it is not delivered twice."""
    assert sales_of("2024-25") == [0.0, 0.0, 0.0]


def test_sale_when_of_a_season_after_the_run_then_it_is_refused() -> None:
    """A mistyped year is not passed over."""
    with pytest.raises(PlanError, match="no such season"):
        sales_of("2031-32")
