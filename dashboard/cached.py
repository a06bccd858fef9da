"""What is worth keeping between redraws, keyed so that no plan can get another's result.

A key is text: the plan as JSON, and the record's hash. The plan and record themselves are passed
with a leading underscore, which keeps them out of the key.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Generic, TypeVar

import streamlit as st

from model.outlook.ahead import Drawn, WaterAhead, draw_ahead, look_ahead, sequence_ledger
from model.outlook.replay import Ledger, replay_months
from model.outlook.setting import setting_of
from model.plan.plan import Plan
from model.record.describe import Description, describe_record
from model.record.reading import HowToRead
from model.record.record import FillPolicy, Record, parse_record, read_record
from model.water_year import MONTHS_IN_YEAR, parse_month

if TYPE_CHECKING:
    from model.evidence.announced import Held
    from model.evidence.diagnosis import Diagnosis
    from model.evidence.judge import Evidence
    from model.evidence.offer import Offer
    from model.evidence.today import OddsToday
    from model.plan.announced import Announcements

HOW_READ = (
    "record_fill",
    "record_missing_days_frac",
    "record_columns",
    "record_unit",
    "record_sheet",
    "record_decimal",
)
"""What of a plan makes another record of the same file."""

Result = TypeVar("Result")


@dataclass(slots=True)
class Place(Generic[Result]):
    """Where the result of long work is kept: empty until the whole of it is there."""

    found: Result | None = None


def record_of(path: Path, plan: Plan) -> Record:
    """Read a plan's record, again when its file changes."""
    stat = path.stat() if path.is_file() else None
    stamp = (stat.st_mtime_ns, stat.st_size) if stat else (0, 0)
    how = plan.how_to_read
    return _record(str(path), plan.record_fill, plan.record_missing_days_frac, how, stamp)


@st.cache_resource(max_entries=8, show_spinner=False)
def _record(
    path: str,
    fill: FillPolicy,
    missing_days_frac: float,
    how: HowToRead,
    stamp: tuple[int, int],
) -> Record:
    """Read a record; `stamp` tells versions of the file apart."""
    return read_record(Path(path), fill=fill, missing_days_frac=missing_days_frac, how=how)


def uploaded_record(
    data: bytes, name: str, fill: FillPolicy, missing_days_frac: float, how: HowToRead
) -> Record:
    """Read a record that was dragged in.

    Raises
    ------
    RecordError
        It cannot be used.
    """
    return _uploaded(hashlib.sha256(data).hexdigest(), name, fill, missing_days_frac, how, data)


@st.cache_resource(max_entries=8, show_spinner=False)
def _uploaded(
    data_hash: str,
    name: str,
    fill: FillPolicy,
    missing_days_frac: float,
    how: HowToRead,
    _data: bytes,
) -> Record:
    return parse_record(_data, name, fill=fill, missing_days_frac=missing_days_frac, how=how)


def water_ahead(plan: Plan, record: Record) -> WaterAhead:
    """Look ahead from a plan."""
    return _water_ahead(plan.model_dump_json(), record.sha256, plan, record)


@st.cache_resource(max_entries=8, show_spinner="Running the seasons ahead ...")
def _water_ahead(plan_json: str, record_hash: str, _plan: Plan, _record: Record) -> WaterAhead:
    return look_ahead(_plan, _record, drawn_ahead(_plan, _record))


def drawn_ahead(plan: Plan, record: Record, seasons: int | None = None) -> Drawn:
    """Keep what a plan draws: a moved dam, account or rule draws nothing anew."""
    seasons = seasons or plan.sequences.seasons
    return _drawn_ahead(drawing_key(plan), record.sha256, seasons, plan, record)


def drawing_key(plan: Plan) -> str:
    """Key what is drawn on all it depends on: how, from which month, and how the record is read."""
    how = {"sequences", *HOW_READ}
    return plan.model_dump_json(include={"opening": {"month"}} | dict.fromkeys(how, True))


@st.cache_resource(max_entries=8, show_spinner=False)
def _drawn_ahead(
    drawing_json: str, record_hash: str, seasons: int, _plan: Plan, _record: Record
) -> Drawn:
    return draw_ahead(_plan, _record, seasons)


def one_sequence(plan: Plan, record: Record, number: int) -> Ledger:
    """Keep the ledger of one sequence, counted from 0."""
    return _one_sequence(plan.model_dump_json(), record.sha256, number, plan, record)


@st.cache_resource(max_entries=32, show_spinner=False)
def _one_sequence(
    plan_json: str, record_hash: str, number: int, _plan: Plan, _record: Record
) -> Ledger:
    method = drawn_ahead(_plan, _record).method
    return sequence_ledger(setting_of(_plan, _record, method), number)


def observed_stretch(plan: Plan, record: Record, first: int, last: int) -> Ledger:
    """Keep the ledger of observed months, from where the plan says things stand."""
    return _observed_stretch(plan.model_dump_json(), record.sha256, first, last, plan, record)


@st.cache_resource(max_entries=32, show_spinner=False)
def _observed_stretch(
    plan_json: str, record_hash: str, first: int, last: int, _plan: Plan, _record: Record
) -> Ledger:
    return replay_months(_plan, _record, first, last)


def description(record: Record) -> Description:
    """Describe a record."""
    return _description(record.values_sha256, tuple(sorted(record.filled.items())), record)


@st.cache_resource(max_entries=8, show_spinner=False)
def _description(
    record_hash: str, filled: tuple[tuple[str, int], ...], _record: Record
) -> Description:
    return describe_record(_record)


def diagnosis(plan: Plan, record: Record) -> Diagnosis:
    """Look at what a record remembers, in the slices that a plan's sequences are made of."""
    month = parse_month(plan.opening.month) % MONTHS_IN_YEAR
    filled = tuple(sorted(record.filled.items()))
    return _diagnosis(record.values_sha256, filled, month, plan.sequences.seed, record)


@st.cache_resource(max_entries=8, show_spinner="Looking at what the record remembers ...")
def _diagnosis(
    record_hash: str,
    filled: tuple[tuple[str, int], ...],
    calendar_month: int,
    seed: int,
    _record: Record,
) -> Diagnosis:
    from model.evidence.diagnosis import diagnose

    return diagnose(_record, opening_month=calendar_month, seed=seed)


def evidence(plan: Plan, record: Record) -> Place[Evidence]:
    """Give the place of the odds as tried on the observed years."""
    return _evidence(_water_key(plan), record.sha256)


@st.cache_resource(max_entries=4, show_spinner=False)
def _evidence(plan_json: str, record_hash: str) -> Place[Evidence]:
    return Place()


def methods_today(plan: Plan, record: Record) -> Place[tuple[OddsToday, ...]]:
    """Give the place of each method's odds from where things stand."""
    return _methods_today(_water_key(plan), record.sha256)


@st.cache_resource(max_entries=8, show_spinner=False)
def _methods_today(plan_json: str, record_hash: str) -> Place[tuple[OddsToday, ...]]:
    return Place()


def _water_key(plan: Plan) -> str:
    """Key what depends on water alone: the farm is not in it."""
    return plan.model_dump_json(exclude={"title", "farm", "strategies", "announced"})


def held(plan: Plan, record: Record, told: Announcements) -> Held:
    """Replay against what was announced.

    Raises
    ------
    InputError
        It is not of months in the record.
    """
    return _held(_replay_key(plan), record.sha256, repr(told), plan, record, told)


@st.cache_resource(max_entries=32, show_spinner="Replaying the announced years ...")
def _held(
    replay_key: str,
    record_hash: str,
    told_words: str,
    _plan: Plan,
    _record: Record,
    _told: Announcements,
) -> Held:
    from model.evidence.announced import held_of

    return held_of(_plan, _record, _told)


def offer(plan: Plan, record: Record, told: Announcements) -> Place[Offer]:
    """Give the place of other settings, tried against what was announced."""
    return _offer(_replay_key(plan), record.sha256, repr(told))


@st.cache_resource(max_entries=8, show_spinner=False)
def _offer(replay_key: str, record_hash: str, told_words: str) -> Place[Offer]:
    return Place()


def _replay_key(plan: Plan) -> str:
    """Key a replay on what it depends on: the rules, where it begins, how the record is read."""
    from model.evidence.announced import opened_for_replay

    opened = opened_for_replay(plan)
    known = plan.announced is not None and plan.announced.known_month
    parts = {"valley", "opening", *HOW_READ}
    return opened.model_dump_json(include=parts) + f" known {known}"
