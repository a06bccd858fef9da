"""A record of our own: uploaded or pasted, its columns and unit chosen, seen before it is taken."""

from __future__ import annotations

from typing import Any, Final

import pandas as pd
import streamlit as st

from dashboard import cached, controls, fields, show, state
from model.errors import RecordError
from model.keeping.folder import data_folder, plans_folder
from model.keeping.plans import keep_record
from model.plan.fields import fields_of
from model.plan.plan import Plan
from model.record.first_look import FirstLook, columns_said, first_look
from model.record.months import TEMPERATURES
from model.record.numbers import Decimal
from model.record.reading import NAMES, HowToRead, columns_text
from model.record.record import FILL_POLICIES, Record
from model.say import numbers
from model.say.record import COLUMN_WORDS, FILL_WORDS, UNIT_WORDS, months_as_understood
from model.units import depth_over

PASTED: Final = "pasted.csv"
FARM_WEATHER: Final = (
    "farm_rain_mm",
    "farm_eto_mm",
    "farm_latitude_deg",
    "farm_warmest_c",
    "farm_coolest_c",
)
"""Keys of the valley that stand in for columns of the record."""

ROWS_SHOWN: Final = 6
DECIMALS: Final[tuple[Decimal, ...]] = ("point", "comma")


def own_record() -> None:
    """Take a record, show how it is understood, and use it in the plan."""
    st.markdown(
        "One row a month, or one a day: when, and how much water came into the dam. Rain, "
        "evaporation and ETo beside it where you have them. At least 20 whole water years."
    )
    given = _given()
    if given is None:
        return
    name, data = given
    try:
        look = first_look(data, HowToRead(sheet=st.session_state.get("record_sheet") or None))
        how = _asked(look, name)
        fill, missing = _gaps(daily=look.daily)
        record = cached.uploaded_record(data, name, fill, missing, how)
    except RecordError as error:
        count = len(error.faults)
        head = f"{name}: {numbers.count(count, 'problem')} to fix. It is not used."
        show.faults(error, head, key="record_faults")
        return
    _understood(look, record)
    _offer(record, data, how, fill, missing)


def _given() -> tuple[str, bytes] | None:
    """Return what was uploaded or pasted, and its name."""
    way = st.segmented_control(
        "How it comes", ("A file", "Pasted"), default="A file", required=True, key="record_way"
    )
    if way == "Pasted":
        text = st.text_area(
            "Rows from a spreadsheet, its header first", key="record_pasted", height=160
        )
        return (PASTED, text.encode()) if text.strip() else None
    file = st.file_uploader("Your record", type=controls.TABLE_FILES, key="record_file")
    return None if file is None else (file.name, file.getvalue())


def _asked(look: FirstLook, name: str) -> HowToRead:
    """Ask which column holds what, and in which unit; begin at what it seems to be."""
    titles = list(look.titles)
    when, flow, unit = st.columns(3, vertical_alignment="bottom")
    with when:
        time = _title("Which column says when", titles, look.time, f"record_time.{name}")
    with flow:
        water = _title("Which column is the inflow", titles, look.flow, f"record_flow.{name}")
    with unit:
        said_unit = _unit(look, name)
    columns = columns_said(look, time, water)
    with st.expander("Other columns, sheet, decimal mark", key=f"record_more.{name}"):
        columns = (*columns, *_others(look, name))
        sheet = st.text_input(
            "Sheet of the workbook", key="record_sheet", help="Left blank, the first."
        )
        decimal: Decimal | None = st.selectbox(
            "Decimal mark",
            DECIMALS,
            index=None,
            key=f"record_decimal.{name}",
            placeholder="as the cells settle it",
        )
    told = not columns and said_unit == look.unit
    return HowToRead(columns, "" if told else said_unit, sheet or None, decimal)


def _title(label: str, titles: list[str], seems: str, key: str) -> str:
    """Ask for a column by its title."""
    at = titles.index(seems) if seems in titles else 0
    return str(st.selectbox(label, titles, index=at, key=key))


def _unit(look: FirstLook, name: str) -> str:
    """Ask for the unit of the flow."""
    usual = look.unit or ("ml_per_day" if look.daily else "ml")
    units = list(UNIT_WORDS)
    unit = st.selectbox(
        "Its unit",
        units,
        index=units.index(usual) if usual in units else 0,
        format_func=UNIT_WORDS.__getitem__,
        key=f"record_unit.{name}",
    )
    if unit != "mm":
        return str(unit)
    area_km2 = st.number_input(
        "Catchment, km²", min_value=1.0, value=1_000.0, key=f"record_area.{name}"
    )
    return depth_over(area_km2)


def _others(look: FirstLook, name: str) -> list[tuple[str, str]]:
    """Ask for columns beside the flow whose titles do not tell what they are."""
    told = look.others().values()
    asked = {said: words for said, words in COLUMN_WORDS.items() if NAMES[said] not in told}
    chosen = {
        said: st.selectbox(
            words, look.titles, index=None, key=f"record_{said}.{name}", placeholder="not in it"
        )
        for said, words in asked.items()
    }
    return [(NAMES[said], title) for said, title in chosen.items() if title is not None]


def _gaps(*, daily: bool) -> tuple[Any, float]:
    """Ask what is done where something is missing."""
    fill = st.selectbox(
        "A missing month is given", FILL_POLICIES, format_func=FILL_WORDS.__getitem__, key="fill"
    )
    if not daily:
        return fill, 0.0
    missing = st.number_input(
        "Share of a month's days that may be missing, 0 to 1",
        min_value=0.0,
        max_value=1.0,
        step=0.01,
        key="fill_days",
    )
    return fill, missing


def _understood(look: FirstLook, record: Record) -> None:
    """Show the first rows as they stand in the file, and the first months as understood."""
    written, read = st.columns(2, gap="large")
    with written:
        st.markdown("**The first rows as they stand in the file**")
        show.plain_table(pd.DataFrame(look.rows[:ROWS_SHOWN], columns=list(look.titles)))
    with read:
        st.markdown("**The first months as understood**")
        show.plain_table(pd.DataFrame(months_as_understood(record)))


def _offer(record: Record, data: bytes, how: HowToRead, fill: str, missing: float) -> None:
    """Show how good a sound record is, and let the plan use it."""
    for column, cells in record.filled.items():
        st.warning(f"Filled, not observed: {numbers.number(cells)} of {column}.")
    for note in record.notes:
        st.info(note)
    river = cached.description(record)
    st.success(
        f"{record.name} can be used: {numbers.count(record.months, 'month')}, {record.span[0]} to "
        f"{record.span[1]}, a mean of {numbers.ml(river.mean_ml)} a "
        "water year (whole ones, July to June)."
    )
    if _lacks_crop_water(record):
        st.warning(
            "It holds no ETo of the farm, and the plan gives none: with it the pages of the farm "
            "cannot tell how much water the crops need. Give ETo, or temperature, by calendar "
            "month below."
        )
    controls.button(
        "Use this record in the plan",
        "use_record",
        _use,
        record.name,
        data,
        how,
        (fill, missing),
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


def _use(name: str, data: bytes, how: HowToRead, gaps: tuple[str, float]) -> None:
    """Put a record, and all that was said of its file, in the plan."""
    columns = columns_text(how.columns) if how.columns else None
    state.put("record", keep_record(plans_folder(data_folder()), name, data))
    state.put("record_columns", columns)
    state.put("record_unit", how.unit or None)
    state.put("record_sheet", how.sheet)
    state.put("record_decimal", how.decimal)
    state.put("record_fill", gaps[0])
    state.put("record_missing_days_frac", gaps[1])
    st.session_state.notice = f"The plan now rests on {name}. Save the plan to keep it so."


def farm_weather() -> None:
    """Ask for the weather on the farm by calendar month, where the record does not hold it."""
    current = st.session_state.current
    if current is not None and set(FARM_WEATHER[:2]) <= set(current[1].columns):
        return
    st.subheader("Weather on the farm by calendar month", anchor=False)
    st.caption(
        "The record does not hold it. ETo is what a well-watered reference crop uses: from it "
        "comes how much water your crops need. Without ETo it can be estimated from latitude and "
        "temperature (Hargreaves): the crops may then need 15 % more or less than it says. Twelve "
        "figures, July to June, as a spreadsheet has them in a row."
    )
    valley = next(field for field in fields_of(Plan) if field.name == "valley")
    fields.ask_keys([("valley", each) for each in valley.inner if each.name in FARM_WEATHER])
