"""What has the demonstration river done, month by month, since 1894? All of it is invented.

Writes `demonstration_record.csv`: inflow, rain and evaporation of the invented Sandlark valley.
No real river was measured, fitted or copied. Run from anywhere:

    python data/make_demonstration.py

Method, in the order of the functions below:

1. *Runs of years.* Each water year (July to June) is dry or wet; a two-state Markov chain decides,
   so dry years come in spells. Model type: Thyer and Kuczera (2000), Water Resources Research 36,
   3301-3310 (from memory, not re-read).
2. *Wetness of a year.* A normal deviate about the mean of its state. Inflow grows as its cube,
   above a soft floor: skewed, with a few very large years and many below the mean.
3. *Wetness of a month.* A lag-one autoregressive deviate. It shares the year's inflow out among the
   months about a calendar pattern (a winter rise and summer storms), so that the inflow of the
   months adds up to the inflow of the year.
4. *Rain* is the cube of a normal deviate cut off at zero (cube-root-normal rain: Stidd 1953,
   Transactions of the American Geophysical Union 34, 31-35, from memory), driven by the same two
   wetnesses.
5. *Reference evapotranspiration and lake evaporation* fall as the rain deviate rises.
6. *Scaling.* The mean of each climate column in each calendar month is made equal to the stated
   table, and mean inflow equal to the stated mean.

Assumes: no trend, and no link with any climate index. The yearly state changes on 1 July at once.

Same bytes everywhere: only uniform numbers are drawn, from numpy's PCG64; normal deviates come from
the quantile function. Numbers are written to 0.1. Machines may differ in the last bit of a root or
an exponential, so the script stops if a number lies so near a rounding edge that it could matter.
"""

from pathlib import Path
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# One integer, and one child stream for each purpose: a new stream moves none of the others.
SEED = 20_254_100  # chosen: see README.md beside this file
STREAM_STATE, STREAM_YEAR, STREAM_MONTH, STREAM_LOCAL = range(4)

FIRST_YEAR = 1894  # the record opens in July of this year
WHOLE_YEARS = 131  # July 1894 to June 2025
EXTRA_MONTHS = 2  # July and August 2025: the plan opens in September 2025

# The years: chances a year; wetness as a deviate whose variance is about one.
STAY_DRY_FRAC = 0.72
STAY_WET_FRAC = 0.64
WETNESS_DRY = -0.55
WETNESS_WET = 0.70
WETNESS_SPREAD = 0.78  # about the mean of the state
INFLOW_SPREAD = 0.33  # cube-root scale; coefficient of variation of a year about 0.85
INFLOW_FLOOR = 0.30  # cube-root scale; a year yields at least about 2 % of the mean
INFLOW_FLOOR_BEND = 0.20  # how gently the floor is met, so that no two dry years are alike
MEAN_INFLOW_ML_PER_YEAR = 165_000.0

# The months, July to June throughout.
INFLOW_PATTERN = (1.25, 1.30, 1.05, 0.85, 0.80, 0.75, 1.00, 1.10, 0.75, 0.45, 0.60, 0.95)
MONTH_PERSISTENCE = 0.15  # lag-one correlation of the monthly deviate
STORM_EXPONENT = 1.00  # how strongly a wet month draws the year's inflow to itself
TRIBUTARY_FRAC = 0.25  # flow of the stream below the dam, as a fraction of inflow
TRIBUTARY_SPREAD = 0.35  # natural logarithm

FARM_RAIN_MM = (43, 38, 39, 50, 58, 62, 78, 65, 55, 38, 43, 45)
FARM_ETO_MM = (58.9, 86.8, 123.0, 167.4, 195.0, 220.1, 220.1, 176.4, 158.1, 108.0, 71.3, 51.0)
LAKE_RAIN_MM = (50, 45, 46, 58, 66, 72, 88, 74, 60, 42, 48, 52)
LAKE_EVAPORATION_MM = (58, 82, 120, 165, 195, 225, 228, 188, 160, 108, 72, 52)
RAIN_SPREAD = 0.27  # cube-root scale; coefficient of variation of a month about 0.75
RAIN_FROM_YEAR_FRAC = 0.28  # part of the rain deviate that is the year's wetness
LAKE_RAIN_OWN_FRAC = 0.35  # part of the lake's rain deviate that the farm does not share
ETO_FALL = 0.07  # fall in ETo for one standard deviation more rain deviate
EVAPORATION_FALL = 0.08
EVAPORATION_NOISE = 0.03

COLUMNS = (
    "inflow_ml",
    "tributary_ml",
    "lake_rain_mm",
    "lake_evaporation_mm",
    "farm_rain_mm",
    "farm_eto_mm",
)
ROUNDING_MARGIN = 1e-6  # in tenths; far above any last-bit difference, far below a tenth


def _uniform(stream: int, shape: tuple[int, ...]) -> Array:
    """Uniform numbers from 0 to 1 of one named stream."""
    sequence = np.random.SeedSequence(SEED, spawn_key=(stream,))
    return np.random.Generator(np.random.PCG64(sequence)).random(shape)


def _normal(uniform: Array) -> Array:
    """Standard normal deviates by the quantile function."""
    quantile = NormalDist().inv_cdf
    return np.array([quantile(float(u)) for u in uniform.ravel()]).reshape(uniform.shape)


def year_is_wet(uniform: Array) -> NDArray[np.bool_]:
    """Two-state chain over the years; the first year is drawn from the chain's long-run chances."""
    leave_dry, leave_wet = 1.0 - STAY_DRY_FRAC, 1.0 - STAY_WET_FRAC
    wet = np.zeros(uniform.size, dtype=bool)
    chance_wet = leave_dry / (leave_dry + leave_wet)
    for year, u in enumerate(uniform):
        wet[year] = u < chance_wet
        chance_wet = STAY_WET_FRAC if wet[year] else leave_dry
    return wet


def month_deviates(normal: Array) -> Array:
    """Lag-one autoregressive deviates of unit variance, one a month, from independent ones."""
    deviate = normal.copy()
    step = np.sqrt(1.0 - MONTH_PERSISTENCE**2)
    for month in range(1, normal.size):
        deviate[month] = MONTH_PERSISTENCE * deviate[month - 1] + step * normal[month]
    return deviate


def inflow_by_month(wetness: Array, deviate: Array) -> Array:
    """Inflow [ML], (year, month): the year's flow shared out by pattern and month."""
    above = 1.0 + INFLOW_SPREAD * wetness - INFLOW_FLOOR
    flow = (INFLOW_FLOOR + (above + np.sqrt(above**2 + INFLOW_FLOOR_BEND**2)) / 2.0) ** 3
    flow_ml: Array = flow * MEAN_INFLOW_ML_PER_YEAR / flow[:WHOLE_YEARS].mean()
    weight = np.array(INFLOW_PATTERN) * np.exp(STORM_EXPONENT * deviate)
    share_frac: Array = weight / weight.sum(axis=1, keepdims=True)
    return flow_ml[:, None] * share_frac


def scaled_to(mean_mm: tuple[float, ...], relative: Array) -> Array:
    """Depth [mm], (year, month), whose mean over the whole years is the table's, month by month."""
    to_mean_mm: Array = np.array(mean_mm) / relative[:WHOLE_YEARS].mean(axis=0)
    return relative * to_mean_mm


def rain_by_month(mean_mm: tuple[float, ...], deviate: Array) -> Array:
    """Rain [mm], (year, month): the cube of a normal deviate, none below zero."""
    return scaled_to(mean_mm, np.maximum(0.0, 1.0 + RAIN_SPREAD * deviate) ** 3)


def record_columns() -> dict[str, Array]:
    """The six columns of the record, each (year, month), unrounded."""
    years = WHOLE_YEARS + 1  # the last one is cut after its first months
    wet = year_is_wet(_uniform(STREAM_STATE, (years,)))
    year_normal = _normal(_uniform(STREAM_YEAR, (years,)))
    wetness = np.where(wet, WETNESS_WET, WETNESS_DRY) + WETNESS_SPREAD * year_normal
    month = month_deviates(_normal(_uniform(STREAM_MONTH, (years * 12,)))).reshape(years, 12)
    own, tributary, eto, lake = _normal(_uniform(STREAM_LOCAL, (4, years, 12)))

    standard = ((wetness - wetness.mean()) / wetness.std())[:, None]
    rain = RAIN_FROM_YEAR_FRAC * standard + np.sqrt(1.0 - RAIN_FROM_YEAR_FRAC**2) * month
    lake_rain = np.sqrt(1.0 - LAKE_RAIN_OWN_FRAC**2) * rain + LAKE_RAIN_OWN_FRAC * own
    inflow_ml = inflow_by_month(wetness, month)
    return {
        "inflow_ml": inflow_ml,
        "tributary_ml": TRIBUTARY_FRAC * inflow_ml * np.exp(TRIBUTARY_SPREAD * tributary),
        "lake_rain_mm": rain_by_month(LAKE_RAIN_MM, lake_rain),
        "lake_evaporation_mm": scaled_to(
            LAKE_EVAPORATION_MM, 1.0 - EVAPORATION_FALL * lake_rain + EVAPORATION_NOISE * lake
        ),
        "farm_rain_mm": rain_by_month(FARM_RAIN_MM, rain),
        "farm_eto_mm": scaled_to(FARM_ETO_MM, 1.0 - ETO_FALL * rain + EVAPORATION_NOISE * eto),
    }


def _in_tenths(values: Array) -> NDArray[np.int64]:
    """Values in whole tenths; stops where another machine's last bit could round the other way."""
    tenths = values * 10.0
    if np.any(np.abs(tenths - np.floor(tenths) - 0.5) < ROUNDING_MARGIN):
        raise ValueError("A value lies on a rounding edge: choose another seed.")
    return np.rint(tenths).astype(np.int64)


def record_text() -> str:
    """The whole record as CSV text, one row a month, lines ended by a line feed."""
    columns = record_columns()
    tenths = np.stack([_in_tenths(columns[name].ravel()) for name in COLUMNS], axis=1)
    lines = [",".join(("month", *COLUMNS))]
    for row in range(WHOLE_YEARS * 12 + EXTRA_MONTHS):
        year, month = divmod(12 * FIRST_YEAR + 6 + row, 12)
        numbers = (f"{value // 10}.{value % 10}" for value in tenths[row].tolist())
        lines.append(",".join((f"{year}-{month + 1:02d}", *numbers)))
    return "\n".join(lines) + "\n"


def main(out: Path) -> None:
    """Write the record to `out`, the same bytes every time."""
    out.write_bytes(record_text().encode("ascii"))


if __name__ == "__main__":
    main(Path(__file__).with_name("demonstration_record.csv"))
