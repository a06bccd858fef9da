"""What is all the evidence on a plan's odds, gathered?

The hindcast as judged; what the record remembers; how far the methods are apart today; the driest
seasons come again; and, where the user has it, the replay against what was announced. The verdict
puts all of it in words.
"""

from __future__ import annotations

from dataclasses import dataclass

from model.evidence.announced import HINDSIGHT, Held, held_in_words, held_of, opened_for_replay
from model.evidence.diagnosis import Diagnosis, diagnose, diagnosis_in_words
from model.evidence.hindcast import DRAWS_EACH, Progress, hindcast
from model.evidence.judge import Evidence, judge
from model.evidence.offer import FEWEST_YEARS, Offer, fit_settings, offer_in_words
from model.evidence.today import OddsToday, odds_today, today_in_words
from model.evidence.verdict import verdict
from model.evidence.worst import Stretch, worst_in_words, worst_on_record
from model.plan.announced import Announcements
from model.plan.plan import Plan
from model.record.record import Record
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
            *([held_in_words(self.held), HINDSIGHT] if self.held else []),
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
    offer_progress: Progress | None = None,
) -> Whole:
    """Gather all the evidence.

    Parameters
    ----------
    plan, record
        What the user gave.
    announcements
        What was announced in past years, where the user has it.
    draws_each
        Sequences drawn in each year stood in.
    progress, offer_progress
        Are told how many years are tried, and how many other settings.

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
        offer = fit_settings(opened_for_replay(plan), record, announcements, held, offer_progress)
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
