"""Do the tables of a plan agree with one another?

Checked on the values as written, so that what does not agree is reported beside what is at fault
within a table: the opening water must fit the dam and the account rules, land must be there, and
the crops that strategies grow, or that are in the ground, must be the farm's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from model.errors import Fault
from model.plan.crops import months_from
from model.plan.reach import number_at, tables_at
from model.plan.steps_agreement import faults_of_steps
from model.water_year import MONTH_NAMES


def faults_between_tables(raw: Mapping[str, Any]) -> list[Fault]:
    """Check what one table says against another."""
    return [
        *_amounts_above_limits(raw),
        *_unknown_crops(raw),
        *_main_crop_months(raw),
        *faults_of_steps(raw),
    ]


def _amounts_above_limits(raw: Mapping[str, Any]) -> list[Fault]:
    """Check amounts against their limits, wherever both are numbers."""
    limits = (
        ("opening.storage_ml", "valley.capacity_ml", "the dam holds more than its capacity", "ML"),
        (
            "opening.high_security_used_ml",
            "valley.high_security.shares_ml",
            "more high security is used than there are shares",
            "ML",
        ),
        (
            "opening.high_security_carried_ml",
            "valley.high_security.shares_ml",
            "more high security is carried than there are shares",
            "ML",
        ),
        (
            "opening.announced_to_date_ml_per_share",
            "valley.accounts.allocation_cap_ml_per_share",
            "more is announced than may be in one year",
            "ML per share",
        ),
        (
            "farm.opening.storage_ml",
            "farm.storage.capacity_ml",
            "the farm storage holds more than its capacity",
            "ML",
        ),
        (
            "announced.known_storage_ml",
            "valley.capacity_ml",
            "the dam holds more than its capacity",
            "ML",
        ),
        ("farm.opening.prepared_ha", "farm.developed_ha", "there is less land", "ha"),
    )
    faults = []
    for key, limit_key, problem, unit in limits:
        value, limit = number_at(raw, key), number_at(raw, limit_key)
        if value is not None and limit is not None and value > limit:
            faults.append(Fault(key, f"{value:g}", problem, f"at most {limit:g} {unit}"))
    return faults


def _unknown_crops(raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Check that what is grown, or in the ground, is a crop of the farm in one of its layouts."""
    layouts = {
        crop.get("name"): [layout.get("name") for layout in tables_at(crop, "layouts")]
        for crop in tables_at(raw, "farm.crops")
    }
    if not layouts:
        return
    named = [
        (f"farm.opening.crops, value {at}", crop)
        for at, crop in enumerate(tables_at(raw, "farm.opening.crops"), start=1)
    ]
    for at, strategy in enumerate(tables_at(raw, "strategies"), start=1):
        named += [
            (f"strategies, value {at}.grow, value {place}", step)
            for place, step in enumerate(tables_at(strategy, "grow"), start=1)
        ]
    for where, step in named:
        crop, layout = step.get("crop"), step.get("layout")
        if isinstance(crop, str) and crop not in layouts:
            known = ", ".join(str(name) for name in layouts)
            yield Fault(f"{where}.crop", crop, "the farm grows no such crop", known)
        elif isinstance(layout, str) and crop in layouts and layout not in layouts[crop]:
            known = ", ".join(str(name) for name in layouts[crop])
            yield Fault(f"{where}.layout", layout, f"{crop} has no such row layout", known)


def _main_crop_months(raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Check that the main crop is sown in the planting month, and watered in the finish month."""
    crops = tables_at(raw, "farm.crops")
    sown = crops[0].get("sow_month") if crops else None
    last = (crops[0].get("last_watering_month") or crops[0].get("harvest_month")) if crops else None
    if sown not in MONTH_NAMES or last not in MONTH_NAMES:
        return
    outlook = raw.get("outlook")
    months = outlook if isinstance(outlook, Mapping) else {}
    planted = months.get("planting_month", "October")
    finished = months.get("finish_month", "January")
    if planted in MONTH_NAMES and planted != sown:
        yield Fault("outlook.planting_month", planted, f"the main crop is sown in {sown}", sown)
    if finished in MONTH_NAMES and months_from(sown, finished) > months_from(sown, last):
        problem = f"the main crop is sown in {sown} and last watered in {last}"
        yield Fault("outlook.finish_month", finished, problem, f"{sown} to {last}")
