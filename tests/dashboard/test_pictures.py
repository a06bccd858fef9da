"""Still pictures that lead a page: does each draw what it is given, on axes that all share?"""

from __future__ import annotations

import re

import pytest

from dashboard.charts.dry_cases import Column, cases_picture
from dashboard.charts.past_years import PastYear, past_years_picture
from dashboard.charts.side_by_side import Axis, Dots, Panel, column_picture
from dashboard.findings.evidence import past_years_finding, past_years_frame
from model.say.numbers import number

NONE = float("nan")


def test_column_when_drawn_then_points_stand_on_the_axis_and_what_is_below_the_line_is_hollow() -> (
    None
):
    """By hand: a quarter, half and all of the axis; 10 of 50 dots below nothing."""
    axes = {"Bank": Axis(0.0, 100.0, limit=50.0), "End": Axis(-10.0, 40.0, limit=0.0)}
    panel = Panel("Bank", number, {"2025-26": (25.0, 50.0, 100.0)})
    dots = Dots("End", number, [float(value) for value in range(-10, 40)])
    drawn = column_picture([panel], dots, axes, alt="What it shows")
    assert 'aria-label="What it shows"' in drawn
    axis = axes["Bank"]
    assert axis.x(25.0) - axis.x(0.0) == pytest.approx((axis.x(100.0) - axis.x(0.0)) / 4.0)
    assert f'x1="{axis.x(25.0):.1f}" x2="{axis.x(100.0):.1f}"' in drawn
    assert f'cx="{axis.x(50.0):.1f}"' in drawn
    assert drawn.count('fill="none" stroke') == 10
    assert len(re.findall("<circle", drawn)) == 51
    assert axis.x(-5.0) == axis.x(0.0)  # beyond an end it stands at that end


def test_cases_when_drawn_then_each_season_has_its_figures_and_what_is_past_the_limit_shows() -> (
    None
):
    """Two cases of two seasons; a dash where there is none; the bank past its limit in bold."""
    columns = [
        Column("Finished, ha", number, [[80.0, NONE], [0.0, 40.0]]),
        Column("Bank", number, [[-50.0, 10.0], [-120.0, -90.0]], limit=-100.0),
    ]
    drawn = cases_picture(["The driest", "Nothing"], ["2025-26", "2026-27"], columns, alt="x")
    for words in ("The driest", "Nothing", ">80<", ">40<", "\N{EN DASH}"):
        assert words in drawn
    bold = re.findall(r'font-weight="700">([^<]+)<', drawn)
    assert "\N{MINUS SIGN}120" in bold
    assert "\N{MINUS SIGN}90" not in bold
    widths = [float(each) for each in re.findall(r'<rect [^>]*width="([\d.]+)"', drawn)]
    assert max(widths) == pytest.approx(2 * widths[0], rel=0.6)


def test_past_years_when_drawn_then_those_outside_are_hollow_and_counted() -> None:
    """One year within its bar, one above it."""
    years = [
        PastYear(1990, (0.1, 0.4, 0.8), 0.5, True),
        PastYear(1991, (0.0, 0.1, 0.2), 0.9, False),
    ]
    drawn = past_years_picture(years, unit="ML a share", alt="x")
    assert drawn.count("<circle") == 2
    assert drawn.count('fill="none" stroke') == 1
    assert ">1990<" in drawn
    assert past_years_finding(years) == ("What came lies within 80 times in 100 in 1 of 2 years.")
    assert past_years_frame(years)["Came"].tolist() == ["0.50", "0.90"]
