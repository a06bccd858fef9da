"""Which further rules of a valley refuse each other, and which figures mean nothing without one?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from model.errors import Fault

ACCOUNTS = "valley.accounts."
NOT_WITH_CAPACITY_SHARING = (
    f"{ACCOUNTS}account_limit_ml_per_share",
    f"{ACCOUNTS}carryover_limit_ml_per_share",
    f"{ACCOUNTS}allocation_cap_ml_per_share",
    f"{ACCOUNTS}carryover_loss_frac",
    f"{ACCOUNTS}spill_rule",
    f"{ACCOUNTS}reset_ml_per_share",
    f"{ACCOUNTS}loss_mode",
    f"{ACCOUNTS}spill_lock_below_frac",
    f"{ACCOUNTS}spill_lock_until_month",
    "valley.environment.credit_frac",
)
"""Space and inflow are shared out: nothing is announced, and a full space spills by itself."""

NEEDS = {
    "opening.environment_ml": ("valley.environment",),
    "opening.high_security_carried_ml": ("valley.high_security.carryover_frac",),
}
"""Figures of the opening that mean nothing without their rule."""


def faults_between_rules(raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Find rules of a plan, as written, that refuse each other or miss what they need."""
    if _at(raw, "valley.capacity_sharing") is not None:
        for key in NOT_WITH_CAPACITY_SHARING:
            if (value := _at(raw, key)) is not None:
                problem = "it is not used, since capacity is shared"
                yield Fault(key, str(value), problem, "capacity_sharing or this key")
        yield from _opening_beyond_the_share(raw)
    for key, rules in NEEDS.items():
        value = _number(raw, key)
        if value and all(_at(raw, rule) is None for rule in rules):
            allowed = f"with {' or '.join(rules)}, or leave it out"
            yield Fault(key, f"{value:g}", "the valley has no rule for it", allowed)


def _opening_beyond_the_share(raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Find an opening account that general security's part of the dam does not hold."""
    account = _number(raw, "opening.account_ml_per_share")
    names = ("capacity_ml", "dead_storage_ml", "delivery_loss_frac")
    capacity_ml, dead_ml, loss_frac = (_number(raw, f"valley.{name}") for name in names)
    shares_ml = _number(raw, "valley.general_security.shares_ml")
    space_frac = _number(raw, "valley.capacity_sharing.space_frac")
    storage_ml = _number(raw, "opening.storage_ml")
    needed = (account, capacity_ml, dead_ml, loss_frac, shares_ml, space_frac, storage_ml)
    if any(value is None for value in needed) or not shares_ml or loss_frac == 1.0:
        return  # at fault itself
    assert account is not None  # and so are the others
    at_dam_ml = account * shares_ml / (1.0 - loss_frac)  # type: ignore[operator]
    space_ml = space_frac * (capacity_ml - dead_ml)  # type: ignore[operator]
    in_dam_ml = max(0.0, storage_ml - dead_ml)  # type: ignore[operator]
    most_ml, holds = min((space_ml, "general security's space"), (in_dam_ml, "the dam"))
    if at_dam_ml > most_ml * (1.0 + 1e-12):
        most = most_ml * (1.0 - loss_frac) / shares_ml  # type: ignore[operator]
        problem = f"accounts hold more than {holds} above dead storage"
        allowed = f"at most {most:.4g} ML per share"
        yield Fault("opening.account_ml_per_share", f"{account:g}", problem, allowed)


def _at(raw: Mapping[str, Any], dotted: str) -> Any:
    """Return what stands at a dotted key, None where nothing does."""
    value: Any = raw
    for part in dotted.split("."):
        value = value.get(part) if isinstance(value, Mapping) else None
    return value


def _number(raw: Mapping[str, Any], dotted: str) -> float | None:
    """Return the number at a dotted key, None where there is none."""
    value = _at(raw, dotted)
    if not isinstance(value, int | float) or isinstance(value, bool) or abs(value) > 1e300:
        return None
    return float(value)
