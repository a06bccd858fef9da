"""What a farm consultant would check: balances, anchors and signs of water, yield and money.

Yield: cotton sown 15 October on the invented inland climate, 200 mm of root zone, stress below 100.
Bales are of a full yield of 12 unless said. Where a band is published its source stands beside it;
"derived" is worked out by hand from the rule, "from memory" was not read again.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from model.farm.rain_yield import crop_water_mm
from model.farm.soil import Days, RootZone, Soil, fresh_soil, through
from tests.farm.hectare import (
    BALES,
    DEC,
    FEB,
    JAN,
    MAR,
    PRE_WATER_MM,
    WATERING_MM,
    day,
    growing,
    season,
    watered_until_gone,
)

# Y1, Y2: a dry-down on paper. 200 mm of root zone, half of it free of stress, 5 mm a day.
PAPER = RootZone(200.0, 100.0, full_stress_frac=1.0)
FLOWERING = Days(10.0, 0.027, young=False)


def ten_days_after_stress(rain_mm: float) -> Soil:
    """Take a full profile to stress in 20 days, and through ten days more."""
    five, none = np.full(1, 5.0), np.zeros(1)
    at_stress = through(fresh_soil(np.full(1, 200.0)), none, five, Days(20.0, 0.027, False), PAPER)
    assert at_stress.water_mm[0] == pytest.approx(100.0, abs=1e-9)  # day 20 exactly
    assert at_stress.stress[0] == 0.0
    return through(at_stress, np.full(1, rain_mm), five, FLOWERING, PAPER)


def test_y1_full_profile_dries_to_stress_in_20_days_and_loses_5_6_percent_in_ten_more() -> None:
    """FAO-56 Ks (eq. 84, from memory); the closed form is derived."""
    soil = ten_days_after_stress(rain_mm=0.0)
    assert soil.water_mm[0] == pytest.approx(60.653066, abs=1e-6)
    assert soil.stress[0] / 0.027 == pytest.approx(2.130613, abs=1e-6)
    assert soil.kept_frac[0] == pytest.approx(0.944097, abs=1e-6)


def test_y2_two_mm_of_rain_a_day_slow_the_drying() -> None:
    """Derived."""
    soil = ten_days_after_stress(rain_mm=2.0)
    assert soil.water_mm[0] == pytest.approx(76.391840, abs=1e-6)
    assert soil.stress[0] / 0.027 == pytest.approx(1.278368, abs=1e-6)
    assert soil.kept_frac[0] == pytest.approx(0.966073, abs=1e-6)


@pytest.mark.parametrize(
    ("case", "start_mm", "rain_part", "least", "most"),
    [
        ("average rain", 60.0, 1.0, 2.0, 4.0),
        ("average rain, good profile", 120.0, 1.0, 2.0, 4.0),
        ("half the rain, half the profile", 30.0, 0.5, 0.5, 2.8),
        ("half the rain", 60.0, 0.5, 0.5, 2.8),
        ("three tenths of the rain", 36.0, 0.3, 0.0, 1.5),
        ("no rain, no soil water", 0.0, 0.0, 0.0, 0.5),
    ],
)
def test_y3_cotton_never_watered(
    case: str, start_mm: float, rain_part: float, least: float, most: float
) -> None:
    """Published for rain-grown cotton inland: 0.5 to 5 bales; in the 2018-19 drought 0.5 to 1.5."""
    bales = BALES * season(start_mm, rain_part=rain_part)[0]
    assert least <= bales <= most, case


THREE = {day(DEC, 20): WATERING_MM, day(JAN, 10): WATERING_MM, day(JAN, 31): WATERING_MM}
FOUR = {
    day(DEC, 14): WATERING_MM,
    day(JAN, 2): WATERING_MM,
    day(JAN, 21): WATERING_MM,
    day(FEB, 10): WATERING_MM,
}


@pytest.mark.parametrize("waterings", [THREE, FOUR], ids=["three", "four"])
@pytest.mark.parametrize(
    ("start_mm", "rain_part", "least", "most"), [(60.0, 1.0, 5.0, 9.0), (30.0, 0.5, 4.0, 7.0)]
)
def test_y4_pre_water_and_three_or_four_waterings(
    waterings: dict[int, float], start_mm: float, rain_part: float, least: float, most: float
) -> None:
    """Partly watered cotton: 5 to 9 bales reported, about 7 with three or four waterings."""
    kept, _ = season(start_mm + PRE_WATER_MM, rain_part=rain_part, waterings=waterings)
    assert least <= BALES * kept <= most


RUN_OUT = [
    (DEC, 10, 0.22),
    (DEC, 20, 0.25),
    (DEC, 31, 0.31),
    (JAN, 10, 0.40),
    (JAN, 20, 0.53),
    (JAN, 31, 0.74),
    (FEB, 10, 0.86),
    (FEB, 20, 0.94),
    (MAR, 1, 1.00),
]


@pytest.mark.parametrize(("k", "of_month", "frac"), RUN_OUT)
def test_y5_yield_by_the_date_of_the_last_watering(k: int, of_month: int, frac: float) -> None:
    """Full profile then, no rain after it. Derived day by day from published losses a day.

    That table counts every day below the stress level as a full one, and so lies below the
    response everywhere.
    """
    kept, _ = season(200.0, first_day=day(k, of_month), rain_until=0)
    assert frac - 0.01 <= kept <= frac + 0.15


def margin_aud_per_ml(ml_per_ha: float) -> float:
    """Return what a megalitre earns over fallow, watered in full until it is gone [AUD].

    A bale leaves 557; picking 610, growing 1,737, a megalitre 60; fallow costs 85. 11 bales.
    """
    kept, used_ml = watered_until_gone(ml_per_ha, 111.0)
    return (557.0 * 11.0 * kept - 610.0 - 1_737.0 - 60.0 * used_ml + 85.0) / used_ml


def test_y6_a_megalitre_earns_most_on_nearly_full_water_and_little_spread_thin() -> None:
    """1984 clay-plain study: net return per ML peaks near 7 ML/ha (one old study)."""
    by_ml = {ml: margin_aud_per_ml(ml) for ml in np.arange(1.0, 10.01, 0.25).tolist()}
    best = max(by_ml, key=lambda ml: by_ml[ml])
    assert 5.5 <= best <= 8.0
    assert by_ml[2.0] < by_ml[best] / 3.0


def eta_over_etm(share: float) -> tuple[float, float]:
    """Return the season's use over full use, and the yield kept, with a share of the waterings."""
    kept, stretches = season(60.0 + PRE_WATER_MM, share=share, last_day=180)
    full_mm = sum(part.use_mm * part.days for part in stretches)
    return sum(part.used_mm for part in stretches) / full_mm, kept


def test_y6b_every_watering_cut_by_one_share_costs_no_more_than_the_published_range() -> None:
    """A tenth less use over the season: FAO-33's seasonal Ky runs up to 1.75 (from memory).

    16 in 100 lost at most was aimed for; the response loses 16.2, within the 17.5 of that source.
    """
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if eta_over_etm(middle)[0] < 0.90 else (low, middle)
    use, kept = eta_over_etm(high)
    assert use == pytest.approx(0.90, abs=1e-9)
    assert 1.0 - kept == pytest.approx(0.162, abs=0.0005)
    assert (1.0 - kept) / (1.0 - use) <= 1.75


def test_y7_wheat_by_its_rain() -> None:
    """French and Schultz 1984: 110 mm evaporates, 20 kg a hectare is the most per mm used."""
    water_mm = crop_water_mm(np.array(250.0), np.array(300.0), 0.22)
    assert float(water_mm) * 20.0 == 4_120.0


def test_season_use_of_a_well_watered_hectare_is_the_published_size() -> None:
    """Derived from Kc and ETo: 959 mm in 180 days; measured in the field 840 on a cooler season."""
    _, stretches = season(200.0, share=1.0, last_day=180)
    assert sum(part.use_mm * part.days for part in stretches) == pytest.approx(959.0, abs=1.0)


def test_full_water_is_what_the_need_rule_asks_for_and_no_more_helps() -> None:
    """By soil water at sowing 7.6 to 8.5 ML/ha at the farm gate; then nothing is lost."""
    for start_mm, least, most in ((60.0, 7.6, 8.6), (111.0, 7.6, 8.5), (160.0, 7.0, 8.5)):
        kept, used_ml = watered_until_gone(20.0, start_mm)
        assert kept == 1.0
        assert least <= used_ml <= most, start_mm


def test_more_water_never_yields_less() -> None:
    """Sign: from 0 to 10 ML/ha the yield rises, or stays."""
    kept = [watered_until_gone(ml, 60.0)[0] for ml in np.arange(0.0, 10.01, 0.25).tolist()]
    assert all(later >= earlier - 1e-12 for earlier, later in itertools.pairwise(kept))
    assert kept[0] < 0.3 < 1.0 == kept[-1]


def test_early_flowering_is_the_dearest_time_to_run_dry() -> None:
    """Sign: ten dry days cost most while the crop flowers and sets bolls, nothing at the end."""
    crop = growing()
    costs = {}
    for k, month in crop.ground_months():
        for over, _ in month.pieces:
            costs[k] = max(costs.get(k, 0.0), over.loss_frac_per_day)
    assert max(costs, key=lambda k: costs[k]) in (JAN, FEB)
    assert crop.months[9] is None  # April: bolls open, water no longer matters
    assert math.isclose(costs[JAN], 0.027)
