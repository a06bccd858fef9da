"""What the person at the page has set, in one place.

The plan file is read once a session; each figure of today that the sidebar offers is a widget with
a key of its own, begun from the plan. The current plan is the file's plan with those figures,
checked as a whole each time.
"""

from __future__ import annotations

import argparse
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import streamlit as st

from dashboard import cached
from model.files import read_bytes
from model.plan import Plan
from model.plan_file import check_plan, parse_plan
from model.record import Record

OPENING_FIGURES = (
    "storage_ml",
    "account_ml_per_share",
    "carried_ml_per_share",
    "announced_to_date_ml_per_share",
    "used_this_year_ml_per_share",
    "used_last_year_ml_per_share",
    "used_year_before_ml_per_share",
    "high_security_used_ml",
    "high_security_allocation_frac",
)
DRAWING_SETTINGS = ("method", "seasons", "count", "flow_factor")


@dataclass(frozen=True, slots=True)
class Files:
    """The files that the dashboard was opened on."""

    plan: Path
    record: Path | None


def files() -> Files:
    """Read the files from the words the dashboard was started with."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--plan", type=Path)
    parser.add_argument("--record", type=Path)
    options, _ = parser.parse_known_args(sys.argv[1:])
    if options.plan is None:
        from model.demonstration import demonstration_plan

        return Files(demonstration_plan(), None)
    return Files(options.plan, options.record)


def begin(plan_path: Path) -> Plan:
    """Read the plan once a session, and begin each widget from it."""
    if "plan_text" not in st.session_state:
        data = read_bytes(plan_path, "plan")
        plan = parse_plan(data, plan_path.name)
        st.session_state.plan_text = data.decode("utf-8-sig")
        st.session_state["opening.month"] = plan.opening.month
        for name in OPENING_FIGURES:
            st.session_state[f"opening.{name}"] = getattr(plan.opening, name)
        for name in DRAWING_SETTINGS:
            st.session_state[f"sequences.{name}"] = getattr(plan.sequences, name)
    return parse_plan(st.session_state.plan_text.encode(), plan_path.name)


def current_plan() -> Plan:
    """Give the file's plan with the figures of the page.

    Raises
    ------
    PlanError
        The figures do not make a plan.
    """
    raw: dict[str, Any] = tomllib.loads(st.session_state.plan_text)
    raw["opening"]["month"] = st.session_state["opening.month"]
    for name in OPENING_FIGURES:
        raw["opening"][name] = float(st.session_state[f"opening.{name}"])
    drawing = raw.setdefault("sequences", {})
    for name in DRAWING_SETTINGS:
        drawing[name] = st.session_state[f"sequences.{name}"]
    return check_plan(raw, "The figures on this page")


def current_record(plan: Plan) -> Record:
    """Read the record that the plan, or the command line, names.

    Raises
    ------
    InputError
        It cannot be used.
    """
    named = files()
    path = named.record or named.plan.parent / plan.record
    return cached.record_of(path, plan.record_fill, plan.record_missing_days_frac)
