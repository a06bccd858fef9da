"""Do the charts, findings and words of the pages say what the numbers are?

Chart functions are plain functions: numbers in, figure out. Contrast is that of WCAG 2.2
(`contrast.py`; 3 to 1 for graphics, success criterion 1.4.11) against the page colours that the
theme file names.
"""

from __future__ import annotations

import base64
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import plotly.graph_objects as go
import pytest

import dashboard
from dashboard import show
from dashboard.charts.dry_years import set_aside_by_month_chart, walk_chart
from dashboard.charts.look import (
    ATTENTION,
    AXIS_PX,
    COUNTED_ON_SHADES,
    FURTHER_SHADES,
    LEGEND_LINE_PX,
    SET_ASIDE_SHADES,
    TITLE_WIDTH,
)
from dashboard.charts.look import (
    WATER as WATER_SHADE,
)
from dashboard.charts.set_aside import set_aside_picture
from dashboard.charts.water import band_chart, chance_chart, season_chart, set_aside_chart
from dashboard.charts.ways_compared import chances_by_strategy_chart
from dashboard.findings import water as water_ahead_findings
from model.outlook.ahead import BAND_FRACS, SetAside
from model.outlook.chances import QUANTILES, Estimate, Spread
from model.outlook.outlook import PointOutlook, SeasonOutlook
from model.outlook.seasons import WATER
from model.plan.plan import Plan
from model.plan.valley import CapacitySharing
from model.say.cells import chance_cells, reached_cells
from model.say.measures import COMMITMENTS
from model.say.numbers import chance, ml, ml_per_share, percent
from model.say.outlook import standing_in_words
from model.water_year import parse_month
from tests.contrast import contrast

THEME = Path(dashboard.__file__).parent / ".streamlit" / "config.toml"
MONTHS = ["2025-05", "2025-06", "2025-07"]
BANDS = np.array([[1.0, 2, 3], [2, 3, 4], [3, 4, 5], [4, 5, 6], [5, 6, 7]])
COMMITMENTS_ML = {
    "essential_reserve_ml": 10.0,
    "losses_reserve_ml": 20.0,
    "base_flow_reserve_ml": 5.0,
    "high_security_reserve_ml": 30.0,
    "account_reserve_ml": 15.0,
}
TITLED_ML = {COMMITMENTS[name].title: volume for name, volume in COMMITMENTS_ML.items()}
COUNTED_ML = {"In the dam": 60.0, "Inflow": 12.0}


def _numbers(values: Any) -> list[float]:
    """Read numbers of a figure, whichever way it carries them."""
    if isinstance(values, dict):
        raw = base64.b64decode(values["bdata"])
        return [float(value) for value in np.frombuffer(raw, dtype=values["dtype"])]
    return [float(value) for value in values]


def _plain(text: str) -> str:
    """Undo the wrapping of a title or label."""
    return text.replace("<br>", " ")


def _figures() -> dict[str, go.Figure]:
    """Draw one figure of each kind."""
    points = {"At planting": {"2025-26": (0.1, 0.2, 0.5)}, "At the end": {"2025-26": (0.2, 0.4, 1)}}
    return {
        "band": band_chart(
            MONTHS,
            BANDS,
            title="The finding of the chart",
            unit="ML",
            season_starts=["2025-07"],
            ceiling=("full supply", 9.0),
        ),
        "season": season_chart(points, title="The finding of the chart", unit="ML a share"),
        "chance": chance_chart(
            {"Nothing announced": Estimate(0.2, 0.19, 0.21, 0.1, 0.4)},
            title="The finding of the chart",
        ),
        "set aside": set_aside_chart(COUNTED_ML, TITLED_ML, title="The finding of the chart"),
        "set aside by month": set_aside_by_month_chart(
            MONTHS,
            np.array([60.0, 70.0, 80.0]),
            {name: np.full(3, volume) for name, volume in TITLED_ML.items()},
            title="The finding of the chart",
        ),
        "walk": walk_chart(
            MONTHS,
            np.array([60.0, 70.0, 80.0]),
            np.array([0.1, 0.2, 0.3]),
            title="The finding of the chart",
        ),
    }


def _estimate(value: float, low: float, high: float) -> Estimate:
    return Estimate(value, value, value, low, high)


def _spread(middle: float) -> Spread:
    """Make a spread whose quantiles rise by a tenth of the middle, each with a range of 0.05."""
    return Spread(
        middle,
        {
            frac: _estimate(
                middle * (frac + 0.5), middle * (frac + 0.5) - 0.05, middle * (frac + 0.5) + 0.05
            )
            for frac in QUANTILES
        },
    )


def _point(month: str, middle: float) -> PointOutlook:
    return PointOutlook(parse_month(month), {name: _spread(middle) for name in WATER})


def _seasons() -> tuple[SeasonOutlook, SeasonOutlook]:
    """Make two seasons by hand; planting of the first is past."""
    return (
        SeasonOutlook(
            water_year="2025-26",
            first_month=parse_month("2026-02"),
            last_month=parse_month("2026-06"),
            amounts={},
            chance_none=_estimate(0.31, 0.2, 0.4),
            chance_none_so_far=_estimate(0.31, 0.2, 0.4),
            planting=None,
            finish=None,
            end=_point("2026-06", 0.4),
        ),
        SeasonOutlook(
            water_year="2026-27",
            first_month=parse_month("2026-07"),
            last_month=parse_month("2027-06"),
            amounts={},
            chance_none=_estimate(0.12, 0.1, 0.2),
            chance_none_so_far=_estimate(0.04, 0.0, 0.08),
            planting=_point("2026-10", 0.2),
            finish=_point("2027-01", 0.3),
            end=_point("2027-06", 0.5),
        ),
    )


@pytest.mark.parametrize(
    ("kind", "x_title", "y_title"),
    [
        ("band", "month", "ML"),
        ("season", "water year", "ML a share"),
        ("chance", "times in 100", None),
        ("set aside", "ML at the dam", None),
        ("set aside by month", "month", "ML at the dam"),
        ("walk", "month", "ML"),
    ],
)
def test_chart_when_drawn_then_title_and_axes_with_units_are_named(
    kind: str, x_title: str, y_title: str | None
) -> None:
    """Each chart carries its finding as title, and the unit of each axis that has one."""
    layout = _figures()[kind].layout
    assert _plain(layout.title.text) == "The finding of the chart"
    assert layout.xaxis.title.text == x_title
    assert (layout.yaxis.title.text or None) == y_title


@pytest.mark.parametrize("kind", ["band", "walk", "set aside by month", "set aside"])
def test_chart_when_amounts_are_drawn_then_the_axis_begins_at_nothing(kind: str) -> None:
    """Axes of amounts begin at 0, so that lengths can be compared."""
    layout = _figures()[kind].layout
    assert layout.yaxis.rangemode == "tozero" or layout.xaxis.rangemode == "tozero"


def test_band_chart_when_drawn_then_bands_hold_the_outer_and_inner_quantiles() -> None:
    """The outer band runs from the 0.1 to the 0.9 quantile, the inner from 0.25 to 0.75."""
    figure = _figures()["band"]
    high, low, upper, lower, middle, _ = figure.data
    assert [trace.name for trace in figure.data if trace.showlegend is not False] == [
        "80 times in 100 within",
        "50 times in 100 within",
        "50 times in 100 above this line",
    ]
    for trace, row in ((low, 0), (lower, 1), (middle, 2), (upper, 3), (high, 4)):
        assert _numbers(trace.y) == BANDS[row].tolist()
        assert list(trace.x) == MONTHS
    assert (low.fill, lower.fill, middle.fill) == ("tonexty", "tonexty", None)
    assert low.fillcolor != lower.fillcolor


def test_band_chart_when_a_limit_is_named_then_limit_and_new_years_are_drawn() -> None:
    """A limit is a dashed line named where it begins; a new water year is a dotted upright."""
    figure = _figures()["band"]
    (upright,) = figure.layout.shapes
    assert (upright.x0, upright.line.dash) == ("2025-07", "dot")
    limit = figure.data[-1]
    assert (list(limit.x), list(limit.y)) == ([MONTHS[0], MONTHS[-1]], [9.0, 9.0])
    assert (limit.name, limit.line.dash, limit.showlegend) == ("full supply", "dash", False)
    (named,) = figure.layout.annotations
    assert (named.text, named.x, named.y) == ("full supply", MONTHS[0], 9.0)
    assert named.yanchor == "bottom"  # over the line: no band lies there


@pytest.mark.parametrize(("strategies", "events"), [(1, 2), (4, 4), (5, 5)])
def test_chances_by_strategy_when_many_then_each_point_has_room_of_its_own(
    strategies: int, events: int
) -> None:
    """Rows are as high as their points side by side, so that none lies on the next."""
    chances = {
        f"strategy {s}": {f"event {e}": _estimate(1.0, 0.9, 1.0) for e in range(events)}
        for s in range(strategies)
    }
    layout = chances_by_strategy_chart(chances, title="A finding").layout
    below_px = AXIS_PX + LEGEND_LINE_PX * strategies
    rows_px = layout.height - layout.margin.t - below_px
    each_px = (1.0 - layout.scattergap) * rows_px / (events * strategies)
    assert each_px >= 11.0  # the points' own size
    assert layout.margin.b >= AXIS_PX


def test_band_chart_when_no_limit_is_named_then_no_level_is_drawn() -> None:
    """Without a limit and a new year there is nothing but the bands."""
    figure = band_chart(MONTHS, BANDS, title="t", unit="ML a share", season_starts=[])
    assert not figure.layout.shapes
    assert not figure.layout.annotations


def test_season_chart_when_drawn_then_error_bars_reach_the_sure_and_the_lucky_amount() -> None:
    """Marks stand at the middle amount; bars run from 9 years of 10 to 1 year of 10."""
    first, second = _figures()["season"].data
    assert (first.name, list(first.x), _numbers(first.y)) == ("At planting", ["2025-26"], [0.2])
    assert _numbers(first.error_y.array) == pytest.approx([0.3])
    assert _numbers(first.error_y.arrayminus) == pytest.approx([0.1])
    assert _numbers(second.y) == [0.4]
    assert first.marker.symbol != second.marker.symbol


def test_chance_chart_when_drawn_then_percent_and_the_range_of_the_record_show() -> None:
    """The point stands at the chance in percent; its bar is the record's range, not the draws'."""
    (trace,) = _figures()["chance"].data
    assert _numbers(trace.x) == pytest.approx([20.0])
    assert _plain(trace.y[0]) == "Nothing announced: 20 %"
    assert _numbers(trace.error_x.array) == pytest.approx([20.0])
    assert _numbers(trace.error_x.arrayminus) == pytest.approx([10.0])


def test_chance_chart_when_the_record_was_not_resampled_then_the_draws_range_shows() -> None:
    """Without an error of the record, the bar is that of the draws."""
    (trace,) = chance_chart({"x": Estimate(0.5, 0.4, 0.7)}, title="t").data
    assert _numbers(trace.error_x.array) == pytest.approx([20.0])
    assert _numbers(trace.error_x.arrayminus) == pytest.approx([10.0])


def test_set_aside_chart_when_drawn_then_two_bars_hold_all_parts_in_their_order() -> None:
    """What is counted on and what is set aside are stacked, in the order of the commitments."""
    figure = _figures()["set aside"]
    parts = [(trace.y[0], trace.name, _numbers(trace.x)[0]) for trace in figure.data]
    assert parts == [
        *(("Counted on", name, volume_ml) for name, volume_ml in COUNTED_ML.items()),
        *(("Set aside", name, volume_ml) for name, volume_ml in TITLED_ML.items()),
    ]
    assert figure.layout.barmode == "stack"


@pytest.mark.parametrize("kind", ["set aside", "set aside by month"])
def test_stacked_parts_when_drawn_then_each_differs_without_colour(kind: str) -> None:
    """Parts of one bar have each a fill pattern of their own: nothing rests on colour alone."""
    bars: dict[str, list[str | None]] = {}
    for trace in _figures()[kind].data:
        if trace.type == "bar":
            bar = str(trace.y[0]) if kind == "set aside" else "all"
            bars.setdefault(bar, []).append(trace.marker.pattern.shape)
    assert bars
    for patterns in bars.values():
        assert len(set(patterns)) == len(patterns)


def test_set_aside_by_month_chart_when_drawn_then_the_water_counted_on_is_a_line() -> None:
    """Commitments are stacked by month, and what is counted on is drawn across them."""
    *bars, line = _figures()["set aside by month"].data
    assert [bar.name for bar in bars] == list(TITLED_ML)
    assert [_numbers(bar.y) for bar in bars] == [[volume] * 3 for volume in TITLED_ML.values()]
    assert (line.name, _numbers(line.y)) == ("Counted on", [60.0, 70.0, 80.0])


def test_walk_chart_when_drawn_then_dam_and_account_have_axes_and_dashes_of_their_own() -> None:
    """The dam is a whole line on the left axis, the account a dashed one on the right."""
    figure = _figures()["walk"]
    dam, account = figure.data
    assert (_numbers(dam.y), _numbers(account.y)) == ([60.0, 70.0, 80.0], [0.1, 0.2, 0.3])
    assert (dam.line.dash, account.line.dash, account.yaxis) == (None, "dash", "y2")
    assert figure.layout.yaxis2.title.text == "ML a share"
    assert figure.layout.yaxis2.rangemode == "tozero"


def test_titles_when_long_then_wrapped_to_a_narrow_page() -> None:
    """No line of a title is longer than a page of 390 px takes."""
    figure = chance_chart({"x": Estimate(0.5, 0.4, 0.7)}, title="word " * 30)
    lines = figure.layout.title.text.split("<br>")
    assert len(lines) > 1
    assert max(map(len, lines)) <= TITLE_WIDTH


def test_contrast_when_black_on_white_then_21() -> None:
    """The measure itself gives 21 for black on white, and 4.5 for the grey #767676 (WCAG 2.2)."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(
    "colour",
    [WATER_SHADE, ATTENTION, *COUNTED_ON_SHADES, *SET_ASIDE_SHADES, *FURTHER_SHADES],
)
def test_mark_colour_when_on_either_page_then_contrast_is_3_to_1(colour: str, theme: str) -> None:
    """Each colour of a mark keeps 3 to 1 against the light and the dark page."""
    page = tomllib.loads(THEME.read_text("utf-8"))["theme"][theme]["backgroundColor"]
    assert contrast(colour, page) >= 3.0


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_text_colour_when_on_either_page_then_contrast_is_7_to_1(theme: str) -> None:
    """Text keeps 7 to 1 against page and sidebar, so that faded captions still keep 4.5."""
    colours = tomllib.loads(THEME.read_text("utf-8"))["theme"][theme]
    for page in ("backgroundColor", "secondaryBackgroundColor"):
        assert contrast(colours["textColor"], colours[page]) >= 7.0


def test_none_chances_when_listed_then_first_season_says_more_and_running_ones_follow() -> None:
    """The season that has begun says "more"; runs of seasons come before later seasons."""
    chances = water_ahead_findings.none_chances(_seasons())
    assert {name: estimate.value for name, estimate in chances.items()} == {
        "Nothing more announced in 2025-26": 0.31,
        "Nothing announced 2 seasons in a row": 0.04,
        "Nothing announced in 2026-27": 0.12,
    }


def test_chance_finding_when_two_seasons_then_both_chances_are_said() -> None:
    """The finding says this season's chance and that of all of them."""
    said = water_ahead_findings.chance_finding(_seasons())
    assert "2025-26: 31 times in 100 (20 to 40)" in said
    assert "2 seasons: 4 times in 100" in said


def test_chance_finding_when_one_season_then_no_run_is_said() -> None:
    """With one season there is no run of seasons to speak of."""
    said = water_ahead_findings.chance_finding(_seasons()[:1])
    assert said.endswith("2025-26: 31 times in 100 (20 to 40)")


def test_points_of_when_planting_is_past_then_the_season_has_no_planting_point() -> None:
    """A point that is past is left out; others give 90, 50 and 10 times in 100 in this order."""
    points = water_ahead_findings.points_of(_seasons(), "usable_ml_per_share")
    assert set(points) == {
        "At planting (October)",
        "At the finish month (January)",
        "At season's end (June)",
    }
    assert set(points["At planting (October)"]) == {"2026-27"}
    assert points["At season's end (June)"]["2025-26"] == pytest.approx((0.24, 0.4, 0.56))


def test_announced_finding_when_planting_is_past_then_next_planting_is_said() -> None:
    """The finding is of the first planting still ahead, with its month."""
    said = water_ahead_findings.announced_finding(_seasons(), "usable_ml_per_share")
    assert said.startswith("Usable water at planting in October 2026: 0.12 ML a share reached ")
    assert said.endswith("reached 90 times in 100, 0.20 50 times, 0.28 10 times")


def test_announced_finding_when_no_planting_is_ahead_then_the_season_end_is_said() -> None:
    """With no planting ahead the finding is of the end of the season."""
    said = water_ahead_findings.announced_finding(_seasons()[:1], "account_ml_per_share")
    assert said == (
        "Water in the account at season's end: 0.24 ML a share reached 90 times in 100, 0.40 50 "
        "times, 0.56 10 times"
    )


def test_set_aside_finding_when_more_is_claimed_then_the_lack_is_said() -> None:
    """With 72 ML counted on and 80 ML claimed, 8 ML are lacking; with 100 ML, 20 ML are free."""
    short = SetAside(60.0, 12.0, COMMITMENTS_ML, 0.0)
    said = water_ahead_findings.set_aside_finding(short)
    assert "80 ML" in said
    assert "72 ML" in said
    assert "8 ML must flow in" in said
    free = SetAside(88.0, 12.0, COMMITMENTS_ML, 0.12)
    assert water_ahead_findings.set_aside_finding(free).endswith("20 ML is free, 0.12 ML a share")


FURTHER_ML = dict(zip(COMMITMENTS, [10.0, 20.0, 5.0, 7.0, 3.0, 30.0, 15.0], strict=True))


def test_set_aside_when_further_rules_claim_water_then_each_part_is_drawn_and_named() -> None:
    """Seven parts in their order; those of every valley keep their look, the others have theirs."""
    today = SetAside(60.0, 12.0, FURTHER_ML, 0.0)
    parts = water_ahead_findings.commitments_ml(today)
    assert list(parts)[3:5] == ["Environmental allowance", "Fixed delivery loss"]
    assert water_ahead_findings.set_aside_frame(today)["ML"].sum() == 72.0 + 90.0 + (72.0 - 90.0)
    chart = set_aside_chart(COUNTED_ML, parts, title="The finding of the chart")
    usual = set_aside_chart(COUNTED_ML, TITLED_ML, title="The finding of the chart")
    looks = {trace.name: trace.marker.color for trace in chart.data}
    assert sum(trace.x[0] for trace in chart.data[2:]) == sum(FURTHER_ML.values())
    assert len(set(looks.values())) == len(looks) == 9
    assert all(looks[trace.name] == trace.marker.color for trace in usual.data)
    drawing = set_aside_picture(72.0, parts, said="counted on", form=ml, alt="alt", width=1_200)
    assert all(name in drawing for name in parts)


def test_sharing_when_said_then_what_general_security_owns() -> None:
    """Nothing is announced: its parts of space and inflow stand in place of a picture."""
    said = water_ahead_findings.sharing_words(CapacitySharing(space_frac=0.6, inflow_frac=0.45))
    assert "60 % of the dam's space" in said
    assert "45 % of the inflow" in said


@pytest.mark.parametrize(
    ("frac", "said"),
    [(0.0, "0 %"), (1.0, "100 %"), (0.034, "3.4 %"), (0.0995, "10 %"), (0.26, "26 %")],
)
def test_percent_when_said_then_small_ones_have_a_digit_more(frac: float, said: str) -> None:
    """Below 10 % a digit after the point is shown, and none at 0."""
    assert percent(frac) == said


def test_volumes_and_chances_when_said_then_units_and_ranges_stand_with_them() -> None:
    """Each way of saying a number carries its unit, and a chance its range."""
    estimate = Estimate(0.26, 0.25, 0.27, 0.15, 0.35)
    assert ml(90_000.4) == "90,000 ML"
    assert ml_per_share(0.168) == "0.17 ML a share"
    assert chance(estimate) == "26 times in 100 (15 to 35)"
    assert chance_cells(estimate) == {
        "Times in 100": "26",
        "Range the record supports": "15 to 35",
        "Range of the draws": "25 to 27",
    }


def test_reached_cells_when_said_then_the_sure_amount_comes_first_with_its_range() -> None:
    """Cells run from 90 times in 100 to 10, each with the record's range."""
    assert reached_cells(_spread(1.0)) == {
        "90 times in 100": "0.60 (0.55 to 0.65)",
        "50 times in 100": "1.00 (0.95 to 1.05)",
        "10 times in 100": "1.40 (1.35 to 1.45)",
    }


def test_standing_when_said_then_month_dam_and_account_are_named(
    demonstration: Plan,
) -> None:
    """The line that heads every page says the month, how full the dam is and the account."""
    said = standing_in_words(demonstration)
    assert said.startswith("September 2025: dam 90,000 ML of 300,000 ML (30 % full)")
    assert "account 0.17 ML a share" in said


@pytest.fixture(name="demonstration")
def _demonstration() -> Plan:
    """Read the demonstration plan."""
    from model.plan.shipped import demonstration_plan
    from model.plan.text import read_plan

    return read_plan(demonstration_plan())


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_csv_text_when_a_cell_begins_like_a_formula_then_it_is_defused(start: str) -> None:
    """Text that a spreadsheet would run gets a quote before it, in cells and in headings."""
    hostile = f"{start}HYPERLINK(1)"
    written = show.csv_text(pd.DataFrame({hostile: [hostile], "safe": [-1.5]}))
    heading, row = written.split("\n", 1)
    for cell in (heading, row):
        assert cell.lstrip('"').startswith("'" + start)
    assert row.rstrip("\n").endswith(",-1.5")


def test_csv_text_when_cells_are_plain_then_they_stay_as_they_are() -> None:
    """Plain text and numbers are written as they are, and numbers below 0 stay numbers."""
    frame = pd.DataFrame({"What": ["a, b", "c"], "ML": [-1.0, 2.5]})
    assert show.csv_text(frame) == 'What,ML\n"a, b",-1.0\nc,2.5\n'


def test_frames_when_laid_out_then_they_carry_the_numbers_of_the_charts() -> None:
    """The figures behind a chart are those that it draws."""
    chances = water_ahead_findings.none_chances(_seasons())
    frame = water_ahead_findings.chances_frame(chances)
    assert list(frame["Times in 100"]) == ["31", "4", "12"]
    assert frame["Range the record supports"].iloc[0] == "20 to 40"
    bands = water_ahead_findings.bands_frame(MONTHS, BANDS)
    assert list(bands["Month"]) == MONTHS
    for frac, values in zip(BAND_FRACS, BANDS, strict=True):
        assert list(bands[f"reached {round(100 * (1 - frac))} times in 100"]) == values.tolist()
    today = water_ahead_findings.set_aside_frame(SetAside(60.0, 12.0, COMMITMENTS_ML, 0.0))
    assert list(today["ML"]) == [60.0, 12.0, *COMMITMENTS_ML.values(), -8.0]


def test_reached_frame_when_laid_out_then_one_row_a_point_ahead() -> None:
    """There is a row for each point of each season that is still ahead."""
    frame = water_ahead_findings.reached_frame(_seasons(), "usable_ml_per_share")
    assert list(frame["Water year"]) == ["2025-26", "2026-27", "2026-27", "2026-27"]
    assert frame["50 times in 100"].iloc[1].startswith("0.20 (")
