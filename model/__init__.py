"""Seasons in Hand: odds of irrigation water, from an observed record through a valley's rules.

    record -> sequences -> valley -> seasons -> outlook

A record of observed months and a plan go in; a replay of the observed years, or the odds of the
next one to three seasons, come out. Units: megalitres (ML, `_ml`), millimetres, hectares; fractions
are 0 to 1 (`_frac`).

The public names are fetched when they are first asked for, so that a command which needs one of
them does not wait for all.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from model.describe import Description, describe_record
    from model.errors import Fault, InputError, PlanError, RecordError, SeasonsError
    from model.outlook import Outlook, odds_of_water
    from model.plan import Plan
    from model.plan_file import check_plan, edit_plan, parse_plan, read_plan
    from model.record import Record, parse_record, read_record
    from model.replay import Ledger, replay_months

_MODULE_OF = {
    "Description": "describe",
    "Fault": "errors",
    "InputError": "errors",
    "Ledger": "replay",
    "Outlook": "outlook",
    "Plan": "plan",
    "PlanError": "errors",
    "Record": "record",
    "RecordError": "errors",
    "SeasonsError": "errors",
    "check_plan": "plan_file",
    "describe_record": "describe",
    "edit_plan": "plan_file",
    "odds_of_water": "outlook",
    "parse_plan": "plan_file",
    "parse_record": "record",
    "read_plan": "plan_file",
    "read_record": "record",
    "replay_months": "replay",
}

__all__ = [
    "Description",
    "Fault",
    "InputError",
    "Ledger",
    "Outlook",
    "Plan",
    "PlanError",
    "Record",
    "RecordError",
    "SeasonsError",
    "check_plan",
    "describe_record",
    "edit_plan",
    "odds_of_water",
    "parse_plan",
    "parse_record",
    "read_plan",
    "read_record",
    "replay_months",
]


def __getattr__(name: str) -> object:
    """Fetch a public name from the module it lives in."""
    if name not in _MODULE_OF:
        raise AttributeError(f"module 'model' has no attribute {name!r}")
    return getattr(import_module(f"model.{_MODULE_OF[name]}"), name)
