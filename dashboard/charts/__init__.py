"""The charts: tidy numbers in, a figure out. No page calls in here."""

from dashboard.charts.evidence import (
    coverage_chart,
    evenness_chart,
    methods_chart,
    reliability_chart,
)
from dashboard.charts.farm import (
    chances_by_strategy_chart,
    difference_chart,
    standing_chart,
    worth_chart,
)
from dashboard.charts.look import (
    ATTENTION,
    COUNTED_ON_SHADES,
    SET_ASIDE_SHADES,
    TITLE_WIDTH,
    WATER,
    drawn,
)
from dashboard.charts.money import bank_chart, case_chart, measure_chart
from dashboard.charts.water import (
    band_chart,
    chance_chart,
    season_chart,
    set_aside_by_month_chart,
    set_aside_chart,
    walk_chart,
)

__all__ = [
    "ATTENTION",
    "COUNTED_ON_SHADES",
    "SET_ASIDE_SHADES",
    "TITLE_WIDTH",
    "WATER",
    "band_chart",
    "bank_chart",
    "case_chart",
    "chance_chart",
    "chances_by_strategy_chart",
    "coverage_chart",
    "difference_chart",
    "drawn",
    "evenness_chart",
    "measure_chart",
    "methods_chart",
    "reliability_chart",
    "season_chart",
    "set_aside_by_month_chart",
    "set_aside_chart",
    "standing_chart",
    "walk_chart",
    "worth_chart",
]
