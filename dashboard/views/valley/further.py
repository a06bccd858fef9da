"""Further rules of the valley on a page: each a group that is folded until it is wanted."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from dashboard import controls, fields, state
from model.plan.fields import fields_of
from model.plan.plan import Plan
from model.plan.valley_agreement import NOT_WITH_CAPACITY_SHARING
from model.water_year import MONTH_NAMES

AFTER_JULY = (8, 9, 10, 11, 12, 1, 2, 3, 4, 5, 6)
NONE = [0.0 for _ in MONTH_NAMES]

SHARES = {"space_frac": 0.5, "inflow_frac": 0.5}
ALLOWANCE = {"yearly_ml": 0.0, "credit_frac": 0.0, "inflow_frac": 0.0, "release_ml": NONE}
BLOCKS = {"months": [10, 1], "below_ml": 1_000.0}
"""Where a rule that is switched on begins: to be changed to the valley's own."""


def further() -> None:
    """Ask for the further rules, each left out unless the valley has it."""
    st.caption("Switch on what your water sharing plan has. Left out, a rule changes nothing.")
    for label, keys, ask in GROUPS:
        on = any(state.figure(key) not in (None, (), []) for key in keys)
        with st.expander(f"{label}: on" if on else label, expanded=on):
            ask()


def _environment() -> None:
    at = "valley.environment"
    controls.table_or_none(at, "The environment holds an allowance in the dam", ALLOWANCE)
    if state.figure(at) is None:
        return
    controls.number(f"{at}.yearly_ml", "Credited on 1 July, ML", step=100.0, digits=0)
    controls.number(f"{at}.credit_frac", "Credited for each ML of general security", highest=1.0)
    controls.number(f"{at}.inflow_frac", "Share of inflow credited, 0 to 1", highest=1.0)
    controls.number_or_blank(f"{at}.limit_ml", "Holds at most, ML", blank="no limit", digits=0)
    controls.number_or_blank(
        f"{at}.carryover_limit_ml", "Carried over 1 July at most, ML", blank="no limit", digits=0
    )
    controls.twelve(f"{at}.release_ml", MONTH_NAMES, unit="released, ML", step=100.0, columns=4)


def _fixed_loss() -> None:
    key = "valley.delivery_loss_fixed_ml"
    controls.list_or_none(key, "Running the river loses a fixed volume a month", NONE)
    if state.figure(key) is not None:
        controls.twelve(key, MONTH_NAMES, unit="lost, ML", step=10.0, columns=4)


def _blocks() -> None:
    at = "valley.block_release"
    controls.table_or_none(at, "Small orders wait for a block release", BLOCKS)
    if state.figure(at) is not None:
        controls.month_numbers(f"{at}.months", "Months with a block release")
        controls.number(f"{at}.below_ml", "An order below this waits, ML", step=100.0, digits=0)


def _stages() -> None:
    """Ask for the stages, a row each; with one or more the single trigger has no place."""
    if (state.figure("valley.access") or {}).get("restriction_trigger_frac") is not None:
        st.caption("The valley has a single trigger. Take it out under The rules to have stages.")
        return
    valley = next(field for field in fields_of(Plan) if field.name == "valley")
    access = next(field for field in valley.inner if field.name == "access")
    stages = [("valley.access", field) for field in access.inner if field.name == "stages"]
    fields.ask_keys(stages)


def _lock() -> None:
    at = "valley.accounts."
    controls.number_or_blank(
        f"{at}spill_lock_below_frac",
        "Carried water is locked until the dam opens a month below, share of full supply",
        blank="no such level",
        highest=0.99,
    )
    controls.month_number(
        f"{at}spill_lock_until_month", "Or until", AFTER_JULY, blank="no such month"
    )


def _high_security() -> None:
    controls.number_or_blank(
        "valley.high_security.carryover_frac",
        "Share of high security left on 30 June that is carried over",
        blank="none is carried",
        highest=1.0,
    )


def _sharing() -> None:
    at = "valley.capacity_sharing"
    controls.table_or_none(at, "General security owns a part of the dam", SHARES, then=_give_way)
    if state.figure(at) is not None:
        controls.number(f"{at}.space_frac", "Share of space above dead storage", highest=1.0)
        controls.number(f"{at}.inflow_frac", "Share of inflow left by higher classes", highest=1.0)
        st.caption(
            "Nothing is announced. Limits on account, carryover and allocation, carryover loss, "
            "spill rule, who bears evaporation and the lock are taken out with it, and come back "
            "as the file has them when it is switched off."
        )


def _give_way(shared: bool) -> None:
    """Take out what capacity sharing refuses; put it back as the file has it without."""
    for key in NOT_WITH_CAPACITY_SHARING:
        state.put(key, None if shared else state.saved_figure(key))


Asks = Callable[[], None]
GROUPS: tuple[tuple[str, tuple[str, ...], Asks], ...] = (
    ("Environmental allowance", ("valley.environment",), _environment),
    ("Fixed delivery loss", ("valley.delivery_loss_fixed_ml",), _fixed_loss),
    ("Block releases", ("valley.block_release",), _blocks),
    ("Stages of a restriction", ("valley.access.stages",), _stages),
    (
        "Carried water locked until a spill is unlikely",
        ("valley.accounts.spill_lock_below_frac", "valley.accounts.spill_lock_until_month"),
        _lock,
    ),
    ("High security carried over", ("valley.high_security.carryover_frac",), _high_security),
    ("Capacity sharing", ("valley.capacity_sharing",), _sharing),
)
"""Name of each group, the keys that show it is on, and what asks for it."""
