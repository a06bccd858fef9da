"""The dashboard's frame: page settings, the pages, what is open, and the cautions."""

from __future__ import annotations

from base64 import b64encode
from pathlib import Path

import streamlit as st
from streamlit.navigation.page import StreamlitPage

HERE = Path(__file__).resolve().parent

st.set_page_config("Seasons in Hand", layout="wide")
st.title("Seasons in Hand", anchor=False)
place = st.empty()

from dashboard.charts.look import waiting_chart  # noqa: E402 - the heading is painted first

if "kept" not in st.session_state:
    # Drawn before the model is loaded: meanwhile the browser fetches what draws charts.
    words = "Reading the plan and its record ..."
    place.plotly_chart(
        waiting_chart(words), key="waiting", alt=words, config={"displayModeBar": False}
    )

from dashboard import launch, literal, show, standing, state  # noqa: E402 - after the empty chart
from model.errors import InputError  # noqa: E402
from model.say.cautions import CAUTION, FARM_CAUTION  # noqa: E402

literal.guard()
icon = b64encode((HERE / "icon.png").read_bytes()).decode()  # inline: nothing to fetch, or to miss
st.set_page_config(page_icon=f"data:image/png;base64,{icon}")  # here: what reads it loads slowly


def _view(name: str, title: str, *, default: bool = False) -> StreamlitPage:
    return st.Page(HERE / "views" / f"{name}.py", title=title, default=default)


EDITING = [
    _view("today", "Today", default=True),
    _view("our_farm", "Our farm"),
    _view("valley_and_record", "Valley and record"),
    _view("plans", "Plans"),
]
WATER = [
    _view("water_ahead", "Water ahead"),
    _view("month_by_month", "Month by month"),
]
FARM = [
    _view("plant_or_hold", "Plant or hold"),
    _view("strategies", "Strategies side by side"),
    _view("money", "Money"),
]
PROOF = [
    _view("trust", "How far to trust this"),
    _view("papers", "Papers"),
]
DIARY = _view("diary", "Diary")
MANY = [_view("many_farms", "Many farms")] if launch.files().book is not None else []
page = st.navigation([EDITING[0], *WATER, *FARM, *PROOF, *MANY, *EDITING[1:], DIARY])

try:
    state.begin()
    standing.sidebar()
    standing.happened()
    st.session_state.page = page.url_path
    if page in (*WATER, *FARM, *MANY):
        page.run()  # it reads the plan itself, each time that something moves on it
    else:
        st.session_state.current = standing.plan_and_record()
        if st.session_state.current is not None or page in EDITING:
            page.run()
except InputError as error:
    show.faults(error, "This could not be done: fix this first.", key="faults")
place.empty()
standing.told()
of_farm = False
if "kept" in st.session_state:
    state.keep_sitting()
    of_farm = page in (*FARM, *PROOF) and state.figure("farm") is not None
show.follow_colours()
st.caption(FARM_CAUTION if of_farm else CAUTION)
