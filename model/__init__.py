"""Seasons in Hand: odds of irrigation water, from an observed record through a valley's rules.

    record -> sequences -> valley -> seasons -> outlook

A record of observed months and a plan go in; a replay of the observed years, or the odds of the
next one to three seasons, come out. Units: megalitres (ML, `_ml`), millimetres, hectares; fractions
are 0 to 1 (`_frac`).
"""

from model.describe import Description, describe_record
from model.errors import Fault, InputError, PlanError, RecordError, SeasonsError
from model.outlook import Outlook, odds_of_water
from model.plan import Plan
from model.plan_file import check_plan, edit_plan, parse_plan, read_plan
from model.record import Record, parse_record, read_record
from model.replay import Ledger, replay_months

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
