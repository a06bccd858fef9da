"""What do a season's results come to: margins, debt, cover, equity?

Worked out from what each season brought; all (strategy, sequence, season). A measure with nothing
to divide by is not a number, and is shown blank. The formulas of lender measures are in `finance`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType
from typing import Final

import numpy as np

from model.farm.by_layout import AHEAD, name_of
from model.farm.finance import (
    debt_service_cover,
    equity_frac,
    interest_cover,
    loan_to_value_frac,
    ratio,
    repayment_capacity_aud,
    term_debt_cover,
)
from model.farm.rules import FarmRules
from model.farm.run import FarmResults
from model.farm.sow import SetBy
from model.farm.state import BoolArray
from model.outlook.lazy import LazyResults
from model.record.record import FloatArray
from model.sequences.draw import Calendar

WATER_SHORT_FRAC = 0.01
"""A crop that lacked less than this part of its water did not run short."""

NO_LAND_HA = 1e-9
"""An area at or below this is none: rounding, not land."""


def measures_of(results: FarmResults, rules: FarmRules, calendar: Calendar) -> FarmResults:
    """Add to what each season brought what it comes to.

    Parameters
    ----------
    results
        What each season brought.
    rules, calendar
        Of the farm and the run.
    """
    measures = dict(MEASURES) if rules.district is None else {**MEASURES, **IN_DISTRICT}

    def worked_out(name: str) -> FloatArray:
        return measures[name](found, rules, calendar) if name in measures else results[name]

    found = FarmResults(LazyResults((*results.values, *measures), worked_out))
    return found


def of_layout(results: FarmResults, column: str, at: int) -> FloatArray:
    """Return a column of `crops.csv` for a crop in a row layout, each (..., sequence, season).

    Parameters
    ----------
    results
        What each season brought.
    column
        A column of `by_layout`; or `harvest_water_ml`, all that the season's harvest drank since it
        was sown; or `yield_units_per_ha`, not a number where nothing was harvested; or
        `margin_aud_per_ml` of that water, not a number without harvest or water.
    at
        Place of the crop and row layout.
    """
    if column == "yield_units_per_ha":
        units = of_layout(results, "production_units", at)
        return ratio(units, of_layout(results, "area_harvested_ha", at))
    if column == "harvest_water_ml":
        return of_harvest_ml(results, at)
    if column == "margin_aud_per_ml":
        harvested = of_layout(results, "area_harvested_ha", at) > 0.0
        used_ml = np.where(harvested, of_harvest_ml(results, at), 0.0)
        return ratio(of_layout(results, "margin_aud", at), used_ml)
    return results[name_of(column, at)]


def of_harvest_ml(results: FarmResults, at: int) -> FloatArray:
    """Return the water that each season's harvest drank in both water years it stood in.

    Each (..., sequence, season); what a crop in the ground at the opening drank before is not known
    and not counted.
    """
    used_ml, ahead_ml = results[name_of("water_used_ml", at)], results[name_of(AHEAD, at)]
    if not ahead_ml.any():
        return used_ml
    before_ml = np.zeros_like(ahead_ml)
    before_ml[..., 1:] = ahead_ml[..., :-1]
    return used_ml - ahead_ml + before_ml


def season_sums(by_month: FloatArray, calendar: Calendar) -> FloatArray:
    """(season,) sums over the months of each season that are in the run."""
    firsts = [calendar.first_t(season) for season in range(calendar.seasons)]
    sums: FloatArray = np.add.reduceat(by_month, firsts)
    return sums


def due_in_seasons(
    r: FarmResults, name: str, by_month: FloatArray, calendar: Calendar
) -> FloatArray:
    """Return what falls due in each season: as the plan has it, or as drought steps changed it."""
    return r[name] if name in r.values else season_sums(by_month, calendar)


def _main_crop_ml(r: FarmResults, rules: FarmRules) -> FloatArray:
    """Return the water that the main crop's harvest drank, in all its row layouts."""
    first, *others = (of_harvest_ml(r, at) for at in rules.crop.places)
    return sum(others, first)


def _term_interest_aud(r: FarmResults, rules: FarmRules, calendar: Calendar) -> FloatArray:
    """Return the interest due on loans."""
    return due_in_seasons(r, "loan_interest_aud", rules.cash.loan_interest_aud, calendar)


def _principal_aud(r: FarmResults, rules: FarmRules, calendar: Calendar) -> FloatArray:
    """Return the principal due on loans."""
    return due_in_seasons(r, "loan_principal_aud", rules.cash.loan_principal_aud, calendar)


def _interest_aud(r: FarmResults, rules: FarmRules, calendar: Calendar) -> FloatArray:
    """Return all interest: on loans, overdraft and arrears."""
    of_loans_aud = _term_interest_aud(r, rules, calendar)
    interest_aud: FloatArray = (
        of_loans_aud + r["overdraft_interest_aud"] + r["arrears_interest_aud"]
    )
    return interest_aud


def _earned_aud(r: FarmResults, rules: FarmRules, calendar: Calendar) -> FloatArray:
    """Return earnings before interest and tax."""
    depreciation_aud = season_sums(rules.cash.depreciation_aud, calendar)
    earned_aud: FloatArray = r["operating_income_aud"] - depreciation_aud
    return earned_aud


def _term_debt_cover(r: FarmResults, rules: FarmRules, calendar: Calendar) -> FloatArray:
    """Return what repays term debts over what is due on them."""
    cash, due = rules.cash, partial(due_in_seasons, r, calendar=calendar)
    term_interest_aud = _term_interest_aud(r, rules, calendar)
    capacity_aud = repayment_capacity_aud(
        _earned_aud(r, rules, calendar) - r["interest_aud"],
        due("off_farm_aud", cash.off_farm_aud),
        season_sums(cash.depreciation_aud, calendar),
        term_interest_aud,
        due("drawings_aud", cash.drawings_aud),
        r["tax_aud"],
    )
    each = r["debt_aud"] * 0.0
    return term_debt_cover(
        capacity_aud, _principal_aud(r, rules, calendar) + each, term_interest_aud + each
    )


def _at_season_ends(
    r: FarmResults, rules: FarmRules, calendar: Calendar
) -> tuple[FloatArray, FloatArray | float]:
    """Return what is owed on loans and what is owned when a season ends, arrears and cash apart."""
    if "owned_aud" in r.values:
        return r["loan_balance_aud"], r["owned_aud"]
    last_ts = [calendar.last_t(season) for season in range(calendar.seasons)]
    return rules.cash.loan_balance_aud[last_ts], rules.cash.assets_aud


def _debt_aud(r: FarmResults, rules: FarmRules, calendar: Calendar) -> FloatArray:
    """Return all that is owed when a season ends: loans, arrears and what is overdrawn."""
    loans_aud, _ = _at_season_ends(r, rules, calendar)
    overdrawn_aud = np.maximum(0.0, -r["closing_cash_aud"])
    debt_aud: FloatArray = loans_aud + r["arrears_aud"] + overdrawn_aud
    return debt_aud


def _equity_frac(r: FarmResults, rules: FarmRules, calendar: Calendar) -> FloatArray:
    """Return what the family owns of all that is owned."""
    _, assets_aud = _at_season_ends(r, rules, calendar)
    owned_aud = assets_aud + r["receivable_aud"] + np.maximum(0.0, r["closing_cash_aud"])
    return equity_frac(owned_aud, r["debt_aud"])


def _loan_to_value_frac(r: FarmResults, rules: FarmRules, calendar: Calendar) -> FloatArray:
    """Return debts over what secures them."""
    _, assets_aud = _at_season_ends(r, rules, calendar)
    return loan_to_value_frac(r["debt_aud"], assets_aud + r["debt_aud"] * 0.0)


def _district_aud(r: FarmResults, rules: FarmRules, calendar: Calendar) -> FloatArray:
    """Return what is spent in the district: a stated share of each cost, and no multiplier.

    Water bought is none of it: it is paid to another holder for what that one then does not grow.
    """
    cash, due, shares = rules.cash, partial(due_in_seasons, r, calendar=calendar), rules.district
    assert shares is not None  # the plan states them
    overheads_aud = due("overheads_aud", cash.overheads_aud)
    crops_aud = r["costs_aud"] - r["water_paid_aud"] - overheads_aud
    spent_aud: FloatArray = (
        shares.crops_frac * crops_aud
        + shares.overheads_frac * overheads_aud
        + shares.drawings_frac * due("drawings_aud", cash.drawings_aud)
        + shares.machinery_frac * season_sums(cash.machinery_aud, calendar)
    )
    return spent_aud


Worked = Callable[[FarmResults, FarmRules, Calendar], FloatArray]

MEASURES: Final[Mapping[str, Worked]] = MappingProxyType(
    {
        "water_carried_ml": lambda r, rules, _: r["account_carried_ml"] + r["storage_carried_ml"],
        "yield_bales_per_ha": lambda r, rules, _: ratio(r["bales"], r["area_picked_ha"]),
        "margin_aud": lambda r, rules, _: (
            r["crop_margin_aud"] + r["other_land_aud"] + r["trade_aud"]
        ),
        "margin_aud_per_ha": lambda r, rules, _: ratio(
            r["crop_margin_aud"], np.nan_to_num(r["area_planted_ha"])
        ),
        "margin_aud_per_ml": lambda r, rules, _: ratio(
            r["crop_margin_aud"], _main_crop_ml(r, rules)
        ),
        "peak_overdraft_aud": lambda r, rules, _: np.maximum(0.0, -r["lowest_cash_aud"]),
        "operating_income_aud": lambda r, rules, _: r["income_aud"] - r["costs_aud"],
        "interest_aud": _interest_aud,
        "debt_service_aud": lambda r, rules, calendar: (
            r["interest_aud"] + _principal_aud(r, rules, calendar)
        ),
        "cover": lambda r, rules, calendar: debt_service_cover(
            r["operating_income_aud"], r["interest_aud"], _principal_aud(r, rules, calendar)
        ),
        "interest_cover": lambda r, rules, calendar: interest_cover(
            _earned_aud(r, rules, calendar), r["interest_aud"]
        ),
        "term_debt_cover": _term_debt_cover,
        "debt_aud": _debt_aud,
        "equity_frac": _equity_frac,
        "loan_to_value_frac": _loan_to_value_frac,
        "past_limit_aud": lambda r, rules, _: np.maximum(
            0.0, -(r["lowest_cash_aud"] + rules.cash.overdraft_limit_aud)
        ),
        "worth_left_aud": lambda r, rules, _: (
            r["standing_aud"] - (r["closing_cash_aud"] - r["arrears_aud"])
        ),
    }
)
"""What a season comes to, each worked out when it is asked for. The main crop's margin is held
against the water that the main crop drank."""

IN_DISTRICT: Final[Mapping[str, Worked]] = MappingProxyType(
    {
        "district_aud": _district_aud,
        "district_aud_per_ml": lambda r, rules, _: ratio(r["district_aud"], r["water_used_ml"]),
    }
)
"""Likewise, where the plan states what part of its costs is spent there."""

Event = Callable[[FarmResults, FarmRules], BoolArray]


def ran_short(r: FarmResults, rules: FarmRules) -> BoolArray:
    """Return where a crop was cut back, or lacked water."""
    cut: BoolArray = np.nan_to_num(r["area_finished_ha"] - r["area_planted_ha"]) < -NO_LAND_HA
    return cut | lacks_water(r)


def lacks_water(r: FarmResults, frac: float = WATER_SHORT_FRAC) -> BoolArray:
    """Return where crops lacked more than a part of the water that they needed."""
    lacking_ml = r["water_needed_ml"] - r["water_used_ml"]
    lacks: BoolArray = lacking_ml > frac * r["water_needed_ml"] + NO_LAND_HA
    return lacks


EVENTS: dict[str, Event] = {
    "no_planting": lambda r, rules: np.nan_to_num(r["area_planted_ha"], nan=1.0) <= NO_LAND_HA,
    "ran_short": ran_short,
    "payment_missed": lambda r, rules: r["payments_missed"] > 0.0,
    "cover_below_1": lambda r, rules: r["cover"] < 1.0,
    "cover_below_1_25": lambda r, rules: r["cover"] < 1.25,
    "past_overdraft_limit": lambda r, rules: r["lowest_cash_aud"] < -rules.cash.overdraft_limit_aud,
    "set_by_land": lambda r, rules: r["area_set_by"] == SetBy.LAND,
    "set_by_water": lambda r, rules: r["area_set_by"] == SetBy.WATER,
    "set_by_money": lambda r, rules: r["area_set_by"] == SetBy.MONEY,
}
"""What may happen in a season, each (strategy, sequence, season)."""
