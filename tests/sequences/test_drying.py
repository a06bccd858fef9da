"""Is flow cut as stated, the dry months harder, and never in silence?"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.errors import PlanError
from model.outlook.setting import setting_of
from model.plan.drawing import Drawing, DryingByMonth, View
from model.plan.text import check_plan
from model.record.record import Record
from model.say.method import drying_in_words, river_in_words
from model.sequences.drying import drying_of, flow_factors, is_changed
from model.water_year import parse_month
from tests.farm_case import contract_record, farm_plan


def record_of(inflow_ml):
    """Make a record of an inflow."""
    return Record("made.csv", "0" * 64, parse_month("1900-07"), inflow_ml, {}, {}, {})


def test_factors_when_no_elasticity_then_one_number_for_all_flow():
    """The flat factor is the same for every month."""
    assert flow_factors(record_of(np.arange(24.0)), Drawing(flow_factor=0.8)) == 0.8


def test_factors_when_elasticity_then_by_hand_for_four_years():
    """Ranks 1 to 4 stand at 1/8, 3/8, 5/8, 7/8: powers 2.3125, 1.9375, 1.5625, 1.1875."""
    years = np.repeat([10.0, 40.0, 20.0, 30.0], 12)
    factors = flow_factors(record_of(years), Drawing(flow_factor=0.9, flow_elasticity=2.5))
    by_hand = 0.9 ** np.array([2.3125, 1.1875, 1.9375, 1.5625])
    np.testing.assert_allclose(factors[::12], by_hand, rtol=1e-12)


@given(
    factor=st.floats(0.3, 0.99),
    elasticity=st.floats(2.0, 3.5),
    seed=st.integers(0, 50),
)
def test_factors_when_elasticity_then_drier_months_lose_more_and_keep_their_order(
    factor, elasticity, seed
):
    """The factor lies between the flat one and its power, and no month overtakes a wetter one."""
    inflow_ml = np.random.default_rng(seed).gamma(0.7, 100.0, 360)
    drawing = Drawing(flow_factor=factor, flow_elasticity=elasticity)
    factors = flow_factors(record_of(inflow_ml), drawing)
    assert (factors >= factor**elasticity).all()
    assert (factors <= factor).all()
    januaries = np.argsort(inflow_ml[6::12])
    assert (np.diff(factors[6::12][januaries]) >= 0.0).all()
    assert (np.diff((inflow_ml * factors)[6::12][januaries]) >= 0.0).all()


def test_words_when_drier_then_both_ends_and_the_mean_are_said():
    """Every output prints what was done to the flow."""
    record = record_of(np.repeat([10.0, 40.0, 20.0, 30.0], 12))
    assert drying_in_words(drying_of(record, Drawing())) == ""
    assert not is_changed(Drawing())
    assert "does not count on a drier river" in river_in_words(record, Drawing())
    for drawing, said in (
        (Drawing(flow_factor=0.9), "This counts on a river drier than the record: all flow times"),
        (Drawing(flow_factor=1.2), "This counts on a river wetter than the record: all flow times"),
        (
            Drawing(method="regimes", opening_dry_chance=0.8),
            "The chance that the season before was a dry one is the plan's, 80 %",
        ),
    ):
        assert is_changed(drawing)
        assert river_in_words(record, drawing).startswith(said)
    assert drying_in_words(drying_of(record, Drawing(flow_factor=0.9))) == "all flow times 0.9"
    words = drying_in_words(drying_of(record, Drawing(flow_factor=0.9, flow_elasticity=2.5)))
    assert "0.88 in the wettest months down to 0.78 in the driest" in words
    assert "elasticity 2.5" in words


def test_plan_when_elasticity_without_a_factor_below_one_then_refused(reference_plan):
    """An elasticity alone would do nothing, and is said to."""
    reference_plan["sequences"] = {"flow_elasticity": 2.5}
    with pytest.raises(PlanError, match="flow_factor is not below 1"):
        check_plan(reference_plan, "plan.toml")


@pytest.fixture
def reference_plan():
    """A whole plan as nested tables."""
    import tomllib
    from pathlib import Path

    text = (Path(__file__).parents[1] / "reference" / "contract" / "plan.toml").read_text()
    return tomllib.loads(text)


def test_drying_when_stated_by_month_then_flow_and_weather_move_and_the_rules_do_not() -> None:
    """Each calendar month by its own factor; what assessments count on stays as observed."""
    plan, record = farm_plan({"opening.month": "2025-09"}), contract_record()
    spring = tuple(0.5 if k in (2, 3) else 1.0 for k in range(12))
    hotter = tuple(1.1 for _ in range(12))
    drying = DryingByMonth(flow=spring, rain=spring, eto=hotter, lake_evaporation=hotter)
    dried = setting_of(plan.with_drawing(drying=drying), record)
    usual = setting_of(plan, record)
    months = record.months_of_water_year()
    factors = flow_factors(record, dried.plan.sequences)
    assert np.asarray(factors).tolist() == np.array(spring)[months].tolist()
    for column, by_month in (
        ("lake_rain_mm", spring), ("farm_rain_mm", spring), ("farm_eto_mm", hotter),
        ("lake_evaporation_mm", hotter),
    ):  # fmt: skip
        before = usual.weather.columns.get(column)
        if before is None:
            before = np.array(getattr(plan.valley, column))[months]
        moved = dried.weather.columns[column]
        assert moved == pytest.approx(before * np.array(by_month)[months], abs=1e-12)
    assert np.array_equal(dried.weather.inflow_ml, record.inflow_ml)
    rows = np.arange(34)[None, :] + 2
    (ours, *_), (theirs, *_) = dried.months(rows), usual.months(rows)
    assert ours.fluxes.assessed.assured_inflow_ml == theirs.fluxes.assessed.assured_inflow_ml
    assert ours.fluxes.weather.inflow_ml[0] != theirs.fluxes.weather.inflow_ml[0]
    assert ours.fluxes.weather.net_evaporation_mm[0] > theirs.fluxes.weather.net_evaporation_mm[0]
    assert usual.weather is record


def test_drying_when_by_month_then_every_output_says_so() -> None:
    """Flow, weather, a view and an index typed in are each marked."""
    drying = DryingByMonth(flow=(0.8,) * 12, eto=(1.1,) * 12)
    view = View(
        first_month="2025-10", last_month="2025-12", thirds=(0.5, 0.3, 0.2), belief=0.5,
        source="the bureau",
    )  # fmt: skip
    drawing = Drawing(
        drying=drying, view=view, climate_indices=("soi",), climate_index_today=(-8.0,)
    )
    assert is_changed(drawing)
    words = river_in_words(contract_record(), drawing)
    for part in ("month by month", "ETo times 1.1", "the bureau", "not a finding", "soi −8"):
        assert part in words
