"""How is a plan of the first edition read, which knew cotton alone?

A plan with a table `[farm.cotton]` is put into the words of today in memory: cotton becomes the
first of `[[farm.crops]]`, the other crops follow it, and each strategy gets the list of what it
grows. Its file is rewritten only when it is saved. What a figure no longer does, or means otherwise
now, is named once, and a fault is reported under the key that the file has.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from typing import Any, Final, NamedTuple

from model.errors import Fault
from model.water_year import MONTH_NAMES, MONTHS_IN_YEAR

SOLID: Final = "solid"
ON_RAIN: Final = "rain-grown"

COTTON_KEYS: Final = {
    "planting_day": "sow_day",
    "kc_initial": "kc_initial",
    "kc_middle": "kc_middle",
    "kc_end": "kc_end",
    "stage_days": "stage_days",
    "last_watering_month": "last_watering_month",
    "effective_rain": "effective_rain",
    "effective_rain_frac": "effective_rain_frac",
    "need_ml_per_ha": "need_ml_per_ha",
    "soil_capacity_mm": "soil_capacity_mm",
    "soil_stress_below_mm": "soil_stress_below_mm",
    "pre_water_ml_per_ha": "pre_water_ml_per_ha",
    "lint_aud_per_bale": "price_aud_per_unit",
    "seed_aud_per_bale": "by_product_aud_per_unit",
    "ten_year_mean_lint_aud_per_bale": "ten_year_mean_price_aud_per_unit",
    "prepared_cost_aud_per_ha": "prepared_cost_aud_per_ha",
    "growing_cost_aud_per_ha": "growing_cost_aud_per_ha",
    "picking_month": "harvest_month",
    "picking_cost_aud_per_ha": "harvest_cost_aud_per_ha",
    "picking_cost_aud_per_bale": "harvest_cost_aud_per_unit",
    "income_pattern": "income_pattern",
}
"""What each key of `[farm.cotton]` is called now."""

COTTON_WAS: Final = {
    "kc_initial": 0.35,
    "kc_middle": 1.18,
    "kc_end": 0.60,
    "stage_days": [30, 50, 55, 45],
    "last_watering_month": "March",
    "harvest_month": "April",
    "pre_water_ml_per_ha": 1.5,
}
"""What the first edition took where these were left out."""

COTTON_LOSSES: Final = {
    "loss_stage_ends_days": [40, 71, 82, 123, 151],
    "loss_frac_per_day": [0.010, 0.010, 0.017, 0.027, 0.007],
    "lost_before_day": 72,
    "fallow_begins_month": "December",
}
"""What the first edition did not ask for: cotton sown mid-October, land fallow since harvest."""

OTHER_KEYS: Final = {
    "price_aud_per_t": "price_aud_per_unit",
    "yield_t_per_ha": "full_yield_units_per_ha",
    "cost_aud_per_ha": "growing_cost_aud_per_ha",
    "cost_month": "growing_cost_aud_per_ha",
    "income_month": "harvest_month",
    "land_frac": "most_of_land_frac",
    "name": "name",
}

DROPPED: Final = {
    "season_ky": "season_ky: a dry day now costs what its stage of growth says",
    "rain_grown_yield_bales_per_ha": (
        "rain_grown_yield_bales_per_ha: yield on rain alone is worked out from the season's rain"
    ),
    "planting_soil_water_mm": (
        "planting_soil_water_mm: soil water at sowing is worked out from the rain on the fallow"
    ),
}
"""Keys of `[farm.cotton]` that nothing reads any more, and why."""

OTHER_LEAST_PROFILE_FRAC: Final = 0.10
"""The first edition sowed wheat and sorghum whatever the soil held; a dry profile now stops it."""


class Translated(NamedTuple):
    """A plan in the words of today."""

    raw: dict[str, Any]
    notes: tuple[str, ...]  # what changed its meaning
    names: Mapping[str, str]  # what keys were called in the file, by what they are called now


def is_first_edition(raw: Mapping[str, Any]) -> bool:
    """Return whether a plan knows cotton alone."""
    farm = raw.get("farm")
    return isinstance(farm, Mapping) and "cotton" in farm and "crops" not in farm


def in_todays_words(raw: Mapping[str, Any]) -> Translated:
    """Put a plan of the first edition into the words of today; another one stays as it is.

    Examples
    --------
    >>> in_todays_words({"title": "No farm"}).notes
    ()
    """
    if not is_first_edition(raw):
        return Translated(dict(raw), (), {})
    plan = deepcopy(dict(raw))
    farm = plan["farm"] = dict(plan["farm"])
    cotton, others = _table(farm.pop("cotton")), _tables(farm.pop("other_crops", []))
    opening, outlook = _table(farm.get("opening")), _table(plan.get("outlook"))
    notes = ["the plan is in the words of the first edition; saving it rewrites its farm"]
    notes += [note for key, note in DROPPED.items() if key in cotton]
    limit_frac = farm.pop("rotation_limit_frac", None)
    if farm.pop("unplanted_crop", "fallow") != "fallow":
        notes.append("unplanted_crop: land left unplanted goes to the crops a strategy lists next")
    sown = outlook.get("planting_month", "October")
    crops = [_cotton_crop(cotton, sown, limit_frac, notes)]
    crops += [_other_crop(other, limit_frac) for other in others]
    if others:
        notes.append(
            "other_crops: yield follows rain, with the mean that was stated; land_frac is of what "
            "the rotation limit leaves, and harvest is in the month they were paid"
        )
    farm["crops"] = crops
    if opening or others:
        farm["opening"] = _opening(opening, crops, plan, farm, notes)
    _strategies(plan, crops)
    return Translated(plan, tuple(notes), _names(len(others)))


def _cotton_crop(
    cotton: dict[str, Any], sow_month: Any, limit_frac: Any, notes: list[str]
) -> dict[str, Any]:
    """Return cotton as the first crop; a key that was never known stays, to be refused."""
    crop: dict[str, Any] = {"name": "cotton", "unit": "bale", "prepare_month": "February"}
    crop |= {"sow_month": sow_month, **COTTON_WAS, **COTTON_LOSSES}
    if limit_frac is not None:
        crop["most_of_land_frac"] = limit_frac
    left = {key: value for key, value in cotton.items() if key not in DROPPED}
    full = {"full_yield_units_per_ha": left.pop("full_yield_bales_per_ha", None)}
    crop |= {COTTON_KEYS.get(key, key): value for key, value in left.items()}
    if "need_ml_per_ha" in cotton:
        for key in ("kc_initial", "kc_middle", "kc_end", "stage_days"):
            crop.pop(key, None)
    grows = _months(sow_month, crop["harvest_month"])
    for key, inside in (("growing_cost_aud_per_ha", True), ("prepared_cost_aud_per_ha", False)):
        kept = _cut(crop.get(key), grows, inside=inside)
        if kept != crop.get(key):
            notes.append(f"{key}: costs in months that never applied are left out")
            crop[key] = kept
    layout = {"name": SOLID, "planned_water_ml_per_ha": 7.7}
    crop["layouts"] = [layout | {key: value for key, value in full.items() if value is not None}]
    return crop


def _other_crop(other: dict[str, Any], limit_frac: Any) -> dict[str, Any]:
    """Return a crop grown on rain alone, whose yield goes with rain about its stated mean."""
    paid, cost_month = other.get("income_month"), other.get("cost_month")
    sown = cost_month
    if paid in MONTH_NAMES and sown == paid:
        sown = MONTH_NAMES[(MONTH_NAMES.index(paid) - 6) % MONTHS_IN_YEAR]
    crop: dict[str, Any] = {
        "name": other.get("name"),
        "unit": "t",
        "most_of_land_frac": _times(other.get("land_frac"), limit_frac),
        "sow_month": sown,
        "harvest_month": paid,
        "fallow_begins_month": paid,
        "price_aud_per_unit": other.get("price_aud_per_t"),
        "growing_cost_aud_per_ha": _in_month(other.get("cost_aud_per_ha"), cost_month),
        "income_pattern": _in_month(1.0, paid),
        "layouts": [
            {
                "name": ON_RAIN,
                "full_yield_units_per_ha": other.get("yield_t_per_ha"),
                "least_profile_frac": OTHER_LEAST_PROFILE_FRAC,
            }
        ],
    }
    unknown = {key: value for key, value in other.items() if key not in OTHER_KEYS}
    return _without_none(crop | unknown)


def _opening(
    opening: dict[str, Any],
    crops: list[dict[str, Any]],
    plan: Mapping[str, Any],
    farm: Mapping[str, Any],
    notes: list[str],
) -> dict[str, Any]:
    """Return the opening with its crops in the ground: cotton, and others that grow then."""
    planted, made_ready = opening.pop("planted_ha", 0.0), opening.pop("planted_of_prepared_ha", 0.0)
    condition = {
        "last_watered_month": opening.pop("last_watered_month", None),
        "soil_water_mm": opening.pop("soil_water_mm", None),
        "yield_lost_frac": opening.pop("yield_lost_frac", None),
    }
    spent = opening.pop("spent_aud", None)
    in_ground: list[dict[str, Any]] = []
    if _number(planted) != 0.0:
        if condition["last_watered_month"] and (
            condition["soil_water_mm"] or condition["yield_lost_frac"]
        ):
            notes.append("last_watered_month: the soil water and the yield lost are taken instead")
            del condition["last_watered_month"]
        in_ground.append({"crop": "cotton", "layout": SOLID, "area_ha": planted, **condition})
        in_ground[0]["spent_aud"] = spent
    elif spent is not None:
        opening["land_spent_aud"] = spent
    ready_ha = max(_number(opening.get("prepared_ha", 0.0)), _number(made_ready), _number(planted))
    other_ha = max(0.0, _number(farm.get("developed_ha", 0.0)) - ready_ha)
    in_ground += [
        {"crop": crop["name"], "layout": ON_RAIN, "area_ha": part * other_ha}
        for crop, part in ((crop, _land_frac(crop, crops)) for crop in crops[1:])
        if part * other_ha > 0.0 and _grows_at(crop, plan)
    ]
    if in_ground:
        opening["crops"] = [_without_none(crop) for crop in in_ground]
    return opening


def _strategies(plan: dict[str, Any], crops: list[dict[str, Any]]) -> None:
    """Return every strategy the list of what it grows."""
    if not isinstance(plan.get("strategies"), list):
        return
    plan["strategies"] = strategies = [
        dict(strategy) if isinstance(strategy, Mapping) else strategy
        for strategy in plan["strategies"]
    ]
    for strategy in strategies:
        if isinstance(strategy, dict):
            planned = strategy.pop("planned_water_ml_per_ha", None)
            cotton = {"crop": "cotton", "layout": SOLID, "planned_water_ml_per_ha": planned}
            others = [{"crop": crop.get("name"), "layout": ON_RAIN} for crop in crops[1:]]
            strategy["grow"] = [_without_none(step) for step in (cotton, *others)]


def _names(others: int) -> dict[str, str]:
    """List what keys were called in the file, by what they are called now."""
    cotton = {
        f"farm.crops, value 1.{new}": f"farm.cotton.{old}" for old, new in COTTON_KEYS.items()
    }
    cotton["farm.crops, value 1.layouts, value 1.full_yield_units_per_ha"] = (
        "farm.cotton.full_yield_bales_per_ha"
    )
    cotton["farm.crops, value 1.sow_month"] = "outlook.planting_month"
    cotton["farm.crops, value 1.most_of_land_frac"] = "farm.rotation_limit_frac"
    cotton["farm.crops, value 1"] = "farm.cotton"
    for at in range(others):
        now, was = f"farm.crops, value {at + 2}", f"farm.other_crops, value {at + 1}"
        cotton |= {f"{now}.{new}": f"{was}.{old}" for old, new in OTHER_KEYS.items()}
        cotton[f"{now}.layouts, value 1.full_yield_units_per_ha"] = f"{was}.yield_t_per_ha"
        cotton[f"{now}.sow_month"] = f"{was}.cost_month"
        cotton[now] = was
    cotton["farm.opening.crops, value 1.area_ha"] = "farm.opening.planted_ha"
    cotton["farm.opening.crops, value 1"] = "farm.opening"
    cotton["farm.opening.land_spent_aud"] = "farm.opening.spent_aud"
    return cotton


def keys_of_today(changes: Mapping[str, Any]) -> dict[str, Any]:
    """Return changes by dotted key, those of `[farm.cotton]` under their names of today.

    A key that nothing reads any more is left out.

    Examples
    --------
    >>> keys_of_today({"farm.cotton.lint_aud_per_bale": 500.0, "farm.cotton.season_ky": 1.0})
    {'farm.crops.1.price_aud_per_unit': 500.0}
    """
    first = "farm.cotton."
    now = {f"{first}{old}": f"farm.crops.1.{new}" for old, new in COTTON_KEYS.items()}
    now[f"{first}full_yield_bales_per_ha"] = "farm.crops.1.layouts.1.full_yield_units_per_ha"
    dropped = {f"{first}{key}" for key in DROPPED}
    return {now.get(key, key): value for key, value in changes.items() if key not in dropped}


def under_the_files_keys(faults: list[Fault], names: Mapping[str, str]) -> list[Fault]:
    """Report faults under the keys that the file has."""
    return [Fault(_as_in_file(f.where, names), f.value, f.problem, f.allowed) for f in faults]


def _as_in_file(where: str, names: Mapping[str, str]) -> str:
    """Return the file's key for a key of today: the longest part that is known is replaced."""
    for now in sorted(names, key=len, reverse=True):
        if where == now or where.startswith((f"{now}.", f"{now},")):
            return names[now] + where[len(now) :]
    return where


def _grows_at(crop: Mapping[str, Any], plan: Mapping[str, Any]) -> bool:
    """Return whether a crop is in the ground when the run opens, sown in an earlier month."""
    month = _table(plan.get("opening")).get("month")
    try:
        opens = MONTH_NAMES[(int(str(month)[5:7]) - 7) % MONTHS_IN_YEAR]
    except ValueError:
        return False
    return opens in _months(crop.get("sow_month"), crop.get("harvest_month"))[1:]


def _months(first: Any, last: Any) -> list[str]:
    """List the months of the calendar from one to the next of a name; none where one is unknown."""
    if first not in MONTH_NAMES or last not in MONTH_NAMES:
        return []
    at, until = MONTH_NAMES.index(first), MONTH_NAMES.index(last)
    count = (until - at) % MONTHS_IN_YEAR + 1
    return [MONTH_NAMES[(at + later) % MONTHS_IN_YEAR] for later in range(count)]


def _cut(costs: Any, grows: list[str], *, inside: bool) -> Any:
    """Return costs with 0 in the months that never applied."""
    if not grows or not isinstance(costs, list) or len(costs) != MONTHS_IN_YEAR:
        return costs
    pairs = zip(MONTH_NAMES, costs, strict=True)
    return [cost if (name in grows) == inside else 0.0 for name, cost in pairs]


def _in_month(value: Any, month: Any) -> Any:
    """Return twelve values that are 0 but in one month; the value itself where it is unknown."""
    if month not in MONTH_NAMES or value is None:
        return value
    return [value if name == month else 0.0 for name in MONTH_NAMES]


def _times(land_frac: Any, limit_frac: Any) -> Any:
    """Return a part of what the rotation limit leaves, where both are numbers."""
    if not _is_number(land_frac) or not _is_number(limit_frac):
        return land_frac
    return round(land_frac * max(0.0, 1.0 - limit_frac), 6)


def _land_frac(crop: Mapping[str, Any], crops: list[dict[str, Any]]) -> float:
    """Return the part of the other land that a crop had."""
    rest = 1.0 - _number(crops[0].get("most_of_land_frac", 0.0))
    return _number(crop.get("most_of_land_frac")) / rest if rest > 0.0 else 0.0


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _number(value: Any) -> float:
    return float(value) if _is_number(value) else 0.0


def _table(value: Any) -> dict[str, Any]:
    return dict(value) if isinstance(value, Mapping) else {}


def _tables(value: Any) -> list[dict[str, Any]]:
    return [_table(item) for item in value] if isinstance(value, list) else []


def _without_none(table: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in table.items() if value is not None}
