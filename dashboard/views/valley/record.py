"""The record on a page: what kind of river it is, and another one dragged in and checked."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, controls, show, state
from dashboard.findings import our_valley as findings
from model.errors import Fault, RecordError
from model.keeping.folder import data_folder, plans_folder
from model.keeping.plans import keep_record
from model.record.describe import HURST_K_DEFINITION
from model.record.months import OPTIONAL_COLUMNS, TEMPERATURES
from model.record.reading import HowToRead, how_to_read
from model.record.record import FILL_POLICIES, Record
from model.say import numbers
from model.say.numbers import ml
from model.units import UNITS_IN_WORDS

FILL_WORDS = {
    "none": "refuse the file",
    "calendar_month_median": "the median of that calendar month, counted",
}


def described(record: Record) -> None:
    """Show what kind of river a record tells of."""
    river = cached.description(record)
    st.markdown(
        f"**{record.name}**: {numbers.count(record.months, 'month')}, {record.span[0]} to "
        f"{record.span[1]}; "
        f"{river.complete_years} complete water years (July to June)."
    )
    for warning in river.warnings:
        st.warning(warning)
    for note in record.notes:
        st.info(note)
    show.table(findings.description_frame(river), key=f"description_{record.sha256[:8]}")
    st.caption(
        "All of water years, July to June. Pages of odds count years from the month that opens the "
        "run, and so may give other figures for the same record."
    )
    st.caption(f"Hurst's {HURST_K_DEFINITION}. SHA-256 of the file: {record.sha256}")


def own_record() -> None:
    """Take a record, check it, and use it in the plan."""
    others = ", ".join(f"`{name}`" for name in OPTIONAL_COLUMNS)
    st.markdown(
        "A CSV file or an Excel workbook with one row a month: `month` and `inflow_ml` (ML into "
        f"the dam); where you have them, {others}. Daily flow is taken too: `date` and "
        "`flow_ml_per_day` or `flow_m3_per_s`. At least 20 whole water years."
    )
    controls.choice(
        "record_fill", "A missing month is given", FILL_POLICIES, said=FILL_WORDS.__getitem__
    )
    controls.number(
        "record_missing_days_frac",
        "Daily flow: share of a month's days that may be missing, 0 to 1",
        highest=1.0,
    )
    with st.expander("My file names its columns otherwise, or has another unit"):
        _how_to_read()
    given = st.file_uploader("Your record", type=controls.TABLE_FILES, key="record_file")
    if given is None:
        return
    try:
        record = cached.uploaded_record(
            given.getvalue(),
            given.name,
            state.figure("record_fill"),
            state.figure("record_missing_days_frac"),
            _how(),
        )
    except RecordError as error:
        count = len(error.faults)
        head = f"{given.name}: {numbers.count(count, 'problem')} to fix. It is not used."
        show.faults(error, head, key="record_faults")
        return
    _offer(record, given.getvalue())


def _how_to_read() -> None:
    """Ask what the file itself does not say."""
    controls.text(
        "record_columns",
        "Which column holds what",
        meaning="Such as month=Date,inflow=Q for a row a month, or date=Date,flow=Q for days.",
        optional=True,
    )
    controls.text(
        "record_unit",
        "Unit of the flow",
        meaning=f"Left blank, as the column's name says. {UNITS_IN_WORDS}.",
        optional=True,
    )
    controls.text(
        "record_sheet", "Sheet of the workbook", meaning="Left blank, the first.", optional=True
    )
    controls.choice_or_blank(
        "record_decimal", "Decimal mark", ("point", "comma"), blank="as the cells settle it"
    )


def _how() -> HowToRead:
    """Return what the person says of the file.

    Raises
    ------
    RecordError
        It cannot be read.
    """
    said = [state.figure(f"record_{name}") for name in ("columns", "unit", "sheet", "decimal")]
    try:
        return how_to_read(*said)
    except ValueError as error:
        problem, _, allowed = str(error).partition("|")
        fault = Fault("which column holds what", str(said[0]), problem, allowed)
        raise RecordError("the file", [fault]) from error


def _offer(record: Record, data: bytes) -> None:
    """Show a sound record, and let the plan use it."""
    for column, cells in record.filled.items():
        st.warning(f"Filled, not observed: {numbers.number(cells)} of {column}.")
    st.success(
        f"{record.name} can be used: {numbers.count(record.months, 'month')}, {record.span[0]} to "
        f"{record.span[1]}, a mean of {ml(cached.description(record).mean_ml)} a "
        "water year (whole ones, July to June)."
    )
    if _lacks_crop_water(record):
        st.warning(
            "It holds no farm_eto_mm, and the plan gives none: with it the pages of the farm "
            "cannot tell how much water the crops need. Give ETo, or temperature, by calendar "
            "month under The dam."
        )
    controls.button(
        "Use this record in the plan",
        "use_record",
        _use,
        record.name,
        data,
        meaning="A copy is kept beside your plans. The plan names it once you save.",
    )


def _lacks_crop_water(record: Record) -> bool:
    """Return whether, with a record, nothing would say how much water the farm's crops need."""
    farm = state.figure("farm")
    if farm is None or "farm_eto_mm" in record.columns:
        return False
    asks = any(crop.get("kc_middle") is not None for crop in farm["crops"])
    knows_temperature = record.columns.keys() >= TEMPERATURES or all(
        state.figure(f"valley.{name}") is not None for name in TEMPERATURES
    )
    estimated = knows_temperature and state.figure("valley.farm_latitude_deg") is not None
    return asks and not estimated and state.figure("valley.farm_eto_mm") is None


def _use(name: str, data: bytes) -> None:
    state.put("record", keep_record(plans_folder(data_folder()), name, data))
    st.session_state.notice = f"The plan now rests on {name}. Save it under Change."
