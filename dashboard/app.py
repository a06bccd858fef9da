"""The dashboard's frame: page settings, the pages in their groups, what is open, the cautions."""

from __future__ import annotations

from base64 import b64encode
from pathlib import Path
from typing import Final

import streamlit as st
from streamlit.navigation.page import StreamlitPage

HERE = Path(__file__).resolve().parent

st.set_page_config("Seasons in Hand", layout="wide")
st.html(HERE / "page.css")
place = st.empty()
if "kept" not in st.session_state:
    place.title("Reading the plan and its record ...", anchor=False)

from dashboard.charts.look import waiting_chart  # noqa: E402 - the heading is painted first

if "kept" not in st.session_state:
    # Drawn before the model is loaded: meanwhile the browser fetches what draws charts.
    with place.container():
        st.title("Reading the plan and its record ...", anchor=False)
        st.plotly_chart(
            waiting_chart(""), key="waiting", alt="Reading", config={"displayModeBar": False}
        )

from dashboard import checklist, frame, launch, literal, show, state  # noqa: E402 - as above
from model.errors import InputError  # noqa: E402
from model.say.cautions import CAUTION, FARM_CAUTION  # noqa: E402

literal.guard()
icon = b64encode((HERE / "icon.png").read_bytes()).decode()  # inline: nothing to fetch, or to miss
st.set_page_config(page_icon=f"data:image/png;base64,{icon}")  # here: what reads it loads slowly

GROUPS: Final = {
    "Decide": {
        "this_season": "This season",
        "ways_compared": "Ways compared",
        "money": "Money",
        "dry_years": "Dry years again",
    },
    "Hand over": {"papers": "Papers"},
    "Check": {"how_it_has_done": "How it has done"},
    "Set up": {
        "today": "Today",
        "our_farm": "Our farm",
        "our_valley": "Our valley",
        "record": "Record",
        "plans_and_diary": "Plans and diary",
    },
}


def _page(name: str, title: str) -> StreamlitPage:
    path = HERE / "views" / f"{name}.py"
    return st.Page(path, title=title, url_path=name, default=name == "this_season")


groups = {
    group: [_page(name, title) for name, title in views.items()] for group, views in GROUPS.items()
}
if launch.files().book is not None:
    groups["Decide"].append(_page("many_farms", "Many farms"))
pages = [page for group in groups.values() for page in group]
page = st.navigation(groups, position="hidden")  # its own menu breaks WCAG's rules for lists
frame.menu(groups)

try:
    state.begin()
    frame.plan_named()
    frame.happened()
    st.session_state.page = page.url_path
    if page in groups["Decide"]:
        page.run()  # it reads the plan itself, each time that something moves on it
    else:
        st.session_state.current = frame.plan_and_record()
        if page in groups["Set up"]:
            checklist.show_checklist()
        if st.session_state.current is not None or page in groups["Set up"]:
            page.run()
        if st.session_state.current is not None:
            frame.invented(st.session_state.current[0])
except InputError as error:
    show.faults(error, "This could not be done: fix this first.", key="faults")
place.empty()
frame.told()
of_farm = False
if "kept" in st.session_state:
    state.keep_sitting()
    of_farm = page not in groups["Set up"] and state.figure("farm") is not None
show.follow_colours(page.title)
st.caption(FARM_CAUTION if of_farm else CAUTION)
if page is not pages[-1]:
    after = pages[pages.index(page) + 1]
    st.page_link(after, label=f"Next: {after.title}")
