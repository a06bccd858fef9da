"""What may a plan state of further rules of its valley, each a table or key of its own?

Environmental allowance, block releases, capacity sharing and stages of a restriction. Each is
optional and changes nothing where it is left out. Months in these tables are calendar numbers, 1 to
12; lists of twelve run July to June, as everywhere. Which of them refuse each other stands below.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal

from pydantic import Field, field_validator

from model.errors import Fault
from model.plan.types import Amount, Count, Fraction, Positive, Table, TwelveAmounts

MonthNumber = Annotated[Count, Field(ge=1, le=12)]

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


class Environment(Table):
    """What the environment holds in the dam."""

    yearly_ml: Amount = Field(default=0.0, description="credited on 1 July, ML at the dam")
    credit_frac: Fraction = Field(
        default=0.0, description="credited for each ML that general security is credited"
    )
    inflow_frac: Fraction = Field(default=0.0, description="fraction of inflow credited")
    limit_ml: Amount | None = Field(default=None, description="the most that is held, ML")
    carryover_limit_ml: Amount | None = Field(
        default=None, description="the most that is carried over 1 July, ML"
    )
    release_ml: TwelveAmounts = Field(description="released after base flow, ML a month")


class BlockRelease(Table):
    """Small orders of general security wait for the months of block releases."""

    months: Annotated[tuple[MonthNumber, ...], Field(min_length=1, max_length=12)] = Field(
        description="calendar numbers of the months with a block release, 1 to 12"
    )
    below_ml: Positive = Field(description="an order of all shares below this waits, ML a month")

    @field_validator("months")
    @classmethod
    def _once_each(cls, months: tuple[int, ...]) -> tuple[int, ...]:
        if len(set(months)) < len(months):
            raise ValueError("a month is listed twice|each month once")
        return months


class CapacitySharing(Table):
    """General security owns a part of the dam's space and of its inflow."""

    space_frac: Annotated[Fraction, Field(gt=0.0)] = Field(
        description="fraction of the space above dead storage that is general security's"
    )
    inflow_frac: Fraction = Field(
        description="fraction of what higher classes leave of inflow that is general security's"
    )


class Stage(Table):
    """One stage of a restriction."""

    trigger_frac: Fraction = Field(
        description="fraction of capacity at or below which the stage begins"
    )
    access_frac: Fraction = Field(description="fraction of what it freezes that stays usable")
    freezes: Literal["account", "carried"] = Field(
        description="the whole account, or the part of it carried over"
    )


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
