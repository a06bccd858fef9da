"""Seasons in Hand: odds of irrigation water, from an observed record through a valley's rules.

    record -> sequences -> valley -> seasons -> outlook

A record of observed months and a plan go in; a replay of the observed years, or the odds of the
next one to three seasons, come out; the hindcast tries those odds on every observed year, and the
replay is held against what was announced. Units: megalitres (ML, `_ml`), millimetres, hectares;
fractions are 0 to 1 (`_frac`).

The public names are fetched when they are first asked for, so that a command which needs one of
them does not wait for all.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from model.errors import Fault, InputError, PlanError, RecordError, SeasonsError
    from model.evidence.announced import Held, held_in_words, held_of, hold_against
    from model.evidence.diagnosis import Diagnosis, diagnose
    from model.evidence.hindcast import Hindcast, hindcast
    from model.evidence.judge import Evidence, judge
    from model.evidence.offer import Offer, fit_settings, offer_in_words, with_changes
    from model.evidence.verdict import verdict
    from model.evidence.whole import Whole, gather_evidence
    from model.evidence.worst import Stretch, worst_on_record
    from model.outlook.outlook import Outlook, odds_of_water
    from model.outlook.replay import Ledger, replay_months
    from model.plan.announced import (
        Announcements,
        announcements_of,
        parse_announcements,
        read_announcements,
    )
    from model.plan.plan import Plan
    from model.plan.text import check_plan, edit_plan, parse_plan, read_plan
    from model.record.describe import Description, describe_record
    from model.record.record import Record, parse_record, read_record

_MODULE_OF = {
    "Announcements": "plan.announced",
    "Description": "record.describe",
    "Diagnosis": "evidence.diagnosis",
    "Evidence": "evidence.judge",
    "Fault": "errors",
    "Held": "evidence.announced",
    "Hindcast": "evidence.hindcast",
    "InputError": "errors",
    "Ledger": "outlook.replay",
    "Offer": "evidence.offer",
    "Outlook": "outlook.outlook",
    "Plan": "plan.plan",
    "PlanError": "errors",
    "Record": "record.record",
    "RecordError": "errors",
    "SeasonsError": "errors",
    "Stretch": "evidence.worst",
    "Whole": "evidence.whole",
    "announcements_of": "plan.announced",
    "check_plan": "plan.text",
    "describe_record": "record.describe",
    "diagnose": "evidence.diagnosis",
    "edit_plan": "plan.text",
    "fit_settings": "evidence.offer",
    "gather_evidence": "evidence.whole",
    "held_in_words": "evidence.announced",
    "held_of": "evidence.announced",
    "hindcast": "evidence.hindcast",
    "hold_against": "evidence.announced",
    "judge": "evidence.judge",
    "odds_of_water": "outlook.outlook",
    "offer_in_words": "evidence.offer",
    "parse_announcements": "plan.announced",
    "parse_plan": "plan.text",
    "parse_record": "record.record",
    "read_announcements": "plan.announced",
    "read_plan": "plan.text",
    "read_record": "record.record",
    "replay_months": "outlook.replay",
    "verdict": "evidence.verdict",
    "with_changes": "evidence.offer",
    "worst_on_record": "evidence.worst",
}

__all__ = [
    "Announcements",
    "Description",
    "Diagnosis",
    "Evidence",
    "Fault",
    "Held",
    "Hindcast",
    "InputError",
    "Ledger",
    "Offer",
    "Outlook",
    "Plan",
    "PlanError",
    "Record",
    "RecordError",
    "SeasonsError",
    "Stretch",
    "Whole",
    "announcements_of",
    "check_plan",
    "describe_record",
    "diagnose",
    "edit_plan",
    "fit_settings",
    "gather_evidence",
    "held_in_words",
    "held_of",
    "hindcast",
    "hold_against",
    "judge",
    "odds_of_water",
    "offer_in_words",
    "parse_announcements",
    "parse_plan",
    "parse_record",
    "read_announcements",
    "read_plan",
    "read_record",
    "replay_months",
    "verdict",
    "with_changes",
    "worst_on_record",
]


def __getattr__(name: str) -> object:
    """Fetch a public name from the module it lives in."""
    if name not in _MODULE_OF:
        raise AttributeError(f"module 'model' has no attribute {name!r}")
    return getattr(import_module(f"model.{_MODULE_OF[name]}"), name)
