"""What is all the evidence on a plan's odds, gathered?

The hindcast as judged; what the record remembers; how far the methods are apart today; the driest
seasons come again; and, where the user has it, the replay against what was announced. The verdict
puts all of it in words.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from model.diagnosis import Diagnosis, diagnose, diagnosis_in_words
from model.evidence.announced import (
    Announcements,
    Held,
    held_in_words,
    hold_against,
    read_announcements,
)
from model.evidence.hindcast import DRAWS_EACH, Progress, hindcast
from model.evidence.judge import Evidence, judge
from model.evidence.offer import FEWEST_YEARS, Offer, fit_settings, offer_in_words
from model.evidence.today import OddsToday, odds_today, today_in_words
from model.evidence.verdict import verdict
from model.evidence.worst import Stretch, worst_in_words, worst_on_record
from model.plan import Opening, Plan
from model.record import Record
from model.water_year import parse_month


@dataclass(frozen=True, slots=True)
class Whole:
    """All the evidence on a plan's odds."""

    evidence: Evidence
    diagnosis: Diagnosis
    today: tuple[OddsToday, ...]
    worst: tuple[Stretch, ...]
    held: Held | None  # None where the plan names no announcements
    offer: Offer | None  # None too where they are too few

    @property
    def words(self) -> list[str]:
        """The verdict, a paragraph each."""
        method = self.evidence.hindcast.plan.sequences.method
        return [
            *verdict(self.evidence, method),
            *([held_in_words(self.held)] if self.held else []),
            *([offer_in_words(self.offer)] if self.offer else []),
            diagnosis_in_words(self.diagnosis),
            today_in_words(self.today),
            *worst_in_words(self.worst),
        ]


def gather_evidence(
    plan: Plan,
    record: Record,
    announcements: Announcements | None = None,
    *,
    draws_each: int = DRAWS_EACH,
    progress: Progress | None = None,
) -> Whole:
    """Gather all the evidence.

    Raises
    ------
    RecordError
        The record is too short.
    InputError
        Too few draws; announcements that the record does not hold.
    """
    held = None if announcements is None else held_of(plan, record, announcements)
    offer = None
    if announcements is not None and held is not None and len(held.years) >= FEWEST_YEARS:
        offer = fit_settings(opened_as_known(plan), record, announcements, held)
    return Whole(
        evidence=judge(hindcast(plan, record, draws_each=draws_each, progress=progress)),
        diagnosis=diagnose(
            record,
            opening_month=parse_month(plan.opening.month),
            seed=plan.sequences.seed,
        ),
        today=odds_today(plan, record),
        worst=worst_on_record(plan, record),
        held=held,
        offer=offer,
    )


def announcements_of(plan: Plan, folder: Path) -> Announcements | None:
    """Read the announcements that a plan names, if any; a relative path is taken from `folder`."""
    return None if plan.announced is None else read_announcements(folder / plan.announced.file)


def held_of(plan: Plan, record: Record, announcements: Announcements) -> Held:
    """Replay the observed years against what was announced, from the state the plan knows."""
    known = plan.announced.known_month if plan.announced is not None else None
    if known is None:
        return hold_against(plan, record, announcements)
    opening = opened_as_known(plan).opening
    return hold_against(plan, record, announcements, known_month=parse_month(known), known=opening)


def opened_as_known(plan: Plan) -> Plan:
    """Open a plan where it knows that dam and account stood, if it does; on a 1 July."""
    stated = plan.announced
    if stated is None or stated.known_month is None or stated.known_storage_ml is None:
        return plan
    opening = Opening(
        month=stated.known_month,
        storage_ml=stated.known_storage_ml,
        account_ml_per_share=stated.known_account_ml_per_share,
        announced_to_date_ml_per_share=0.0,
        used_this_year_ml_per_share=0.0,
        used_last_year_ml_per_share=0.0,
        used_year_before_ml_per_share=0.0,
        high_security_used_ml=0.0,
        high_security_allocation_frac=0.0,
    )
    return plan.model_copy(update={"opening": opening})
