"""Which method does a plan that names none use?

The one that its own past years recommend: `historical`, `blocks` and `present` are tried on every
stand of the record, and what was found is kept by a hash of record and valley, so that it is tried
once. A record too short to be tried on has every observed start played in turn.
"""

from __future__ import annotations

import json
from pathlib import Path

from model.errors import RecordError
from model.evidence.choosers import choosers_of
from model.evidence.hindcast import DRAWS_EACH, Progress, hindcast
from model.evidence.judge import recommended_of
from model.evidence.kept import Kept
from model.evidence.recommend import CANDIDATES, Recommendation
from model.files import plain, read_plain, write_whole
from model.plan.plan import Plan
from model.record.record import Record

FOLDER_NAME = "trials"
"""Inside the data folder."""


def recommended_method(
    plan: Plan, record: Record, folder: Path, progress: Progress | None = None
) -> Recommendation | None:
    """Return what the past years recommend, tried now if it was not; None: too few years.

    Parameters
    ----------
    plan, record
        What the user gave.
    folder
        Where trials are kept.
    progress
        Is told how far it is; what it raises ends the trial, and what was done of it is kept.
    """
    kept = Kept.of(folder, plan, record, DRAWS_EACH)
    found = read_recommendation(kept)
    if found is not None:
        return found
    choosers = choosers_of(plan.sequences, CANDIDATES)
    try:
        tried = hindcast(plan, record, choosers=choosers, kept=kept, progress=progress)
    except RecordError:
        return None
    found = recommended_of(tried)
    write_whole(_path(kept), json.dumps(plain(found), allow_nan=False))
    return found


def read_recommendation(kept: Kept) -> Recommendation | None:
    """Return what a trial that is over recommended; None where there is none."""
    try:
        document = json.loads(_path(kept).read_bytes())
        found: Recommendation = read_plain(Recommendation, document)
    except (OSError, ValueError):
        return None
    return found


def with_recommended(plan: Plan, found: Recommendation | None) -> Plan:
    """Return the plan with the recommended method; every start in turn where there is none."""
    return plan.with_drawing(method="historical" if found is None else found.method)


def _path(kept: Kept) -> Path:
    return kept.folder / "recommended.json"
