"""Seasons in Hand: odds of irrigation water, from an observed record through a valley's rules.

    record -> sequences -> valley -> outlook
                              '-> farm -> decisions

A record of observed months and a plan go in; a replay of the observed years, or the odds of the
next one to three seasons, come out; the hindcast tries those odds on every observed year, and the
replay is held against what was announced. The farm is played on the same sequences under several
strategies: `compare` puts them side by side, `frontier` trades hold-back against area, and
`last_megalitre` says what one more megalitre is worth planted, held or sold. Units: megalitres (ML,
`_ml`), millimetres, hectares; fractions are 0 to 1 (`_frac`).

The public names are fetched when they are first asked for, so that a command which needs one of
them does not wait for all.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from model.decide.compare import Comparison, compare
    from model.decide.frontier import Frontier, frontier
    from model.decide.last_megalitre import LastMegalitre, last_megalitre
    from model.decide.strategy import strategies_of
    from model.errors import Fault, InputError, PlanError, RecordError, SeasonsError
    from model.evidence.announced import Held, held_of, hold_against
    from model.evidence.diagnosis import Diagnosis, diagnose
    from model.evidence.hindcast import Hindcast, hindcast
    from model.evidence.judge import Evidence, judge
    from model.evidence.offer import Offer, fit_settings, with_changes
    from model.evidence.verdict import Verdict, verdict_of
    from model.evidence.whole import Whole, gather_evidence
    from model.evidence.worst import Stretch, worst_on_record
    from model.farm.run import FarmResults
    from model.farm.setting import FarmSetting, farm_setting_of
    from model.farm.survival import Survived, dry_seasons_survived
    from model.outlook.outlook import Outlook, odds_of_water
    from model.outlook.replay import Ledger, replay_months
    from model.plan.announced import (
        Announcements,
        announcements_of,
        parse_announcements,
        read_announcements,
    )
    from model.plan.demonstration import demonstration
    from model.plan.plan import Plan
    from model.plan.strategy import Strategy
    from model.plan.text import check_plan, edit_plan, parse_plan, read_plan
    from model.record.describe import Description, describe_record
    from model.record.record import Record, parse_record, read_record
    from model.say.announced import held_in_words, offer_in_words

_MODULE_OF = {
    "Announcements": "plan.announced",
    "Comparison": "decide.compare",
    "Description": "record.describe",
    "Diagnosis": "evidence.diagnosis",
    "Evidence": "evidence.judge",
    "FarmResults": "farm.run",
    "FarmSetting": "farm.setting",
    "Fault": "errors",
    "Frontier": "decide.frontier",
    "Held": "evidence.announced",
    "Hindcast": "evidence.hindcast",
    "InputError": "errors",
    "LastMegalitre": "decide.last_megalitre",
    "Ledger": "outlook.replay",
    "Offer": "evidence.offer",
    "Outlook": "outlook.outlook",
    "Plan": "plan.plan",
    "PlanError": "errors",
    "Record": "record.record",
    "RecordError": "errors",
    "SeasonsError": "errors",
    "Strategy": "plan.strategy",
    "Stretch": "evidence.worst",
    "Survived": "farm.survival",
    "Verdict": "evidence.verdict",
    "Whole": "evidence.whole",
    "announcements_of": "plan.announced",
    "check_plan": "plan.text",
    "compare": "decide.compare",
    "demonstration": "plan.demonstration",
    "describe_record": "record.describe",
    "diagnose": "evidence.diagnosis",
    "dry_seasons_survived": "farm.survival",
    "edit_plan": "plan.text",
    "farm_setting_of": "farm.setting",
    "fit_settings": "evidence.offer",
    "frontier": "decide.frontier",
    "gather_evidence": "evidence.whole",
    "held_in_words": "say.announced",
    "held_of": "evidence.announced",
    "hindcast": "evidence.hindcast",
    "hold_against": "evidence.announced",
    "judge": "evidence.judge",
    "last_megalitre": "decide.last_megalitre",
    "odds_of_water": "outlook.outlook",
    "offer_in_words": "say.announced",
    "parse_announcements": "plan.announced",
    "parse_plan": "plan.text",
    "parse_record": "record.record",
    "read_announcements": "plan.announced",
    "read_plan": "plan.text",
    "read_record": "record.record",
    "replay_months": "outlook.replay",
    "strategies_of": "decide.strategy",
    "verdict_of": "evidence.verdict",
    "with_changes": "evidence.offer",
    "worst_on_record": "evidence.worst",
}

__all__ = [
    "Announcements",
    "Comparison",
    "Description",
    "Diagnosis",
    "Evidence",
    "FarmResults",
    "FarmSetting",
    "Fault",
    "Frontier",
    "Held",
    "Hindcast",
    "InputError",
    "LastMegalitre",
    "Ledger",
    "Offer",
    "Outlook",
    "Plan",
    "PlanError",
    "Record",
    "RecordError",
    "SeasonsError",
    "Strategy",
    "Stretch",
    "Survived",
    "Verdict",
    "Whole",
    "announcements_of",
    "check_plan",
    "compare",
    "demonstration",
    "describe_record",
    "diagnose",
    "dry_seasons_survived",
    "edit_plan",
    "farm_setting_of",
    "fit_settings",
    "frontier",
    "gather_evidence",
    "held_in_words",
    "held_of",
    "hindcast",
    "hold_against",
    "judge",
    "last_megalitre",
    "odds_of_water",
    "offer_in_words",
    "parse_announcements",
    "parse_plan",
    "parse_record",
    "read_announcements",
    "read_plan",
    "read_record",
    "replay_months",
    "strategies_of",
    "verdict_of",
    "with_changes",
    "worst_on_record",
]


def __getattr__(name: str) -> object:
    """Fetch a public name from the module it lives in."""
    if name not in _MODULE_OF:
        raise AttributeError(f"module 'model' has no attribute {name!r}")
    return getattr(import_module(f"model.{_MODULE_OF[name]}"), name)
