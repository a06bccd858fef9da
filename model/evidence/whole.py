"""What is all the evidence on a plan's odds, gathered?

The hindcast as judged; what the record remembers; how far the methods are apart today; the driest
seasons come again; and, where the user has it, the replay against what was announced.
"""

from __future__ import annotations

from dataclasses import dataclass

from model.evidence.announced import Held, held_of, opened_for_replay
from model.evidence.diagnosis import Diagnosis, diagnose
from model.evidence.hindcast import DRAWS_EACH, Progress, hindcast
from model.evidence.judge import Evidence, judge
from model.evidence.kept import Kept
from model.evidence.offer import FEWEST_YEARS, Offer, fit_settings
from model.evidence.storage import StorageHeld, storage_held
from model.evidence.today import OddsToday, odds_today
from model.evidence.verdict import Verdict, verdict_of
from model.evidence.worst import Stretch, worst_on_record
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
    storage: StorageHeld | None  # None where the record has no measured dam

    @property
    def verdict(self) -> Verdict | None:
        """What is found of the method in use; None where another stood in for it."""
        return verdict_of(self.evidence, self.method)

    @property
    def method(self) -> str:
        """The plan's method, or the recommended one where it names none."""
        stated = self.evidence.hindcast.plan.sequences.method
        return self.evidence.recommended.method if stated is None else stated


def gather_evidence(
    plan: Plan,
    record: Record,
    announcements: Announcements | None = None,
    *,
    draws_each: int = DRAWS_EACH,
    kept: Kept | None = None,
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
    kept
        Where stands that were tried before are read, and others written.
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
        evidence=judge(hindcast(plan, record, draws_each=draws_each, kept=kept, progress=progress)),
        diagnosis=diagnose(
            record,
            opening_month=parse_month(plan.opening.month),
            seed=plan.sequences.seed,
        ),
        today=odds_today(plan, record),
        worst=worst_on_record(plan, record),
        held=held,
        offer=offer,
        storage=storage_held(plan, record),
    )
