"""What is worth keeping between redraws, keyed so that no plan can get another's result.

A key is text: the plan as JSON, and the record's hash. The plan and record themselves are passed
with a leading underscore, which keeps them out of the key.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

import streamlit as st

from model.describe import Description, describe_record
from model.plan import Plan
from model.record import FillPolicy, Record, parse_record, read_record
from model.replay import Ledger, replay_months
from model.setting import setting_of
from model.water_ahead import WaterAhead, look_ahead, sequence_ledger


def record_of(path: Path, fill: FillPolicy, missing_days_frac: float) -> Record:
    """Read a record, again when its file changes."""
    stat = path.stat() if path.is_file() else None
    stamp = (stat.st_mtime_ns, stat.st_size) if stat else (0, 0)
    return _record(str(path), fill, missing_days_frac, stamp)


@st.cache_resource(max_entries=8, show_spinner=False)
def _record(
    path: str, fill: FillPolicy, missing_days_frac: float, stamp: tuple[int, int]
) -> Record:
    """Read a record; `stamp` tells versions of the file apart."""
    return read_record(Path(path), fill=fill, missing_days_frac=missing_days_frac)


def uploaded_record(data: bytes, name: str, fill: FillPolicy, missing_days_frac: float) -> Record:
    """Read a record that was dragged in.

    Raises
    ------
    RecordError
        It cannot be used.
    """
    return _uploaded(hashlib.sha256(data).hexdigest(), name, fill, missing_days_frac, data)


@st.cache_resource(max_entries=8, show_spinner=False)
def _uploaded(
    data_hash: str, name: str, fill: FillPolicy, missing_days_frac: float, _data: bytes
) -> Record:
    return parse_record(_data, name, fill=fill, missing_days_frac=missing_days_frac)


def water_ahead(plan: Plan, record: Record) -> WaterAhead:
    """Look ahead from a plan."""
    return _water_ahead(plan.model_dump_json(), record.sha256, plan, record)


@st.cache_resource(max_entries=16, show_spinner="Running the seasons ahead ...")
def _water_ahead(plan_json: str, record_hash: str, _plan: Plan, _record: Record) -> WaterAhead:
    return look_ahead(_plan, _record)


def one_sequence(plan: Plan, record: Record, number: int) -> Ledger:
    """Keep the ledger of one sequence, counted from 0."""
    return _one_sequence(plan.model_dump_json(), record.sha256, number, plan, record)


@st.cache_resource(max_entries=32, show_spinner=False)
def _one_sequence(
    plan_json: str, record_hash: str, number: int, _plan: Plan, _record: Record
) -> Ledger:
    return sequence_ledger(setting_of(_plan, _record), number)


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
    return _description(record.sha256, tuple(sorted(record.filled.items())), record)


@st.cache_resource(max_entries=8, show_spinner=False)
def _description(
    record_hash: str, filled: tuple[tuple[str, int], ...], _record: Record
) -> Description:
    return describe_record(_record)
