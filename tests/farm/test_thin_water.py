"""Is a plan cautioned where it plans far less water than a crop asks for?"""

from __future__ import annotations

import pytest

from model.farm.thin_water import full_need_ml_per_ha, thin_water
from model.plan.strategy import GrowStep
from model.say.thin_water import thin_water_in_words
from tests.farm_case import farm_case, raw_plan


def test_need_when_weather_is_average_then_full_need_of_the_anchor() -> None:
    """After 506 mm of fallow rain 111 mm are stored; then 7.885 ML/ha (derived here)."""
    assert full_need_ml_per_ha(farm_case().rules.growings[0]) == pytest.approx(7.885, abs=0.005)


@pytest.mark.parametrize(("planned", "cautioned"), [(6.69, True), (6.71, False)])
def test_layout_when_below_85_percent_of_its_need_then_named(
    planned: float, cautioned: bool
) -> None:
    """0.85 of 7.885 is 6.70: just below is cautioned, just above is not."""
    crops = raw_plan()["farm"]["crops"]
    crops[0]["layouts"][0]["planned_water_ml_per_ha"] = planned
    setting = farm_case({"farm.crops": crops})
    plain = [each.model_copy(update={"grow": ()}) for each in setting.strategies]
    found = thin_water(setting.rules, plain)
    assert bool(found) is cautioned
    if cautioned:
        assert (found[0].label, found[0].planned_ml_per_ha) == ("cotton, solid", planned)


def test_strategy_when_it_plans_thin_water_then_its_figure_is_told() -> None:
    """What a strategy plans counts in place of the layout's; the words carry both figures."""
    setting = farm_case()
    step = GrowStep(crop="cotton", layout="solid", planned_water_ml_per_ha=2.0)
    thin = setting.strategies[0].model_copy(update={"grow": (step,)})
    found = thin_water(setting.rules, [thin])
    assert found[0].planned_ml_per_ha == 2.0
    (said,) = thin_water_in_words(found)
    assert "2.0 ML a hectare is planned" in said
    assert "7.9 ML it asks for" in said
