"""Our farm: every figure of the farm and of its strategies, in six groups, and what it brings."""

from __future__ import annotations

from copy import deepcopy

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import cached, choices, fields, show, state
from dashboard.checklist import take_as_ours
from dashboard.choices import MIDDLE
from dashboard.findings import our_farm as findings
from model.decide.choice import OUR_CHOICE
from model.errors import InputError
from model.plan.example import still_example
from model.plan.fields import holds, key_of
from model.plan.shipped import demonstration_plan
from model.plan.text import load_toml
from model.say.numbers import count


def _begin_farm() -> None:
    """Give a plan without a farm the example's, to be changed to the user's own."""
    example = load_toml(demonstration_plan().read_bytes(), "demonstration.toml")
    for key in ("farm", "strategies"):
        state.put(key, deepcopy(example[key]))


def _brings(place: DeltaGenerator, picked: int | None) -> None:
    """Show what the figures bring as they stand now: our choice, or the strategy that is picked."""
    current = st.session_state.current
    if current is None:
        place.info("What it brings is shown here once the figures above are fixed.")
        return
    plan, record = current
    try:
        if picked is None:
            plan = choices.plan_with_ours(plan)
        setting = cached.farm_setting(plan, record)
        names = [each.name for each in setting.strategies]
        begins = names.index(OUR_CHOICE) if OUR_CHOICE in names else MIDDLE
        strategy = findings.place_in(setting.strategies, begins if picked is None else picked)
        outcome = cached.one_strategy(plan, record, strategy).outcomes[0]
    except InputError as error:
        place.warning(f"What it brings cannot be worked out yet: {error.faults[0]}")
        return
    place.info(show.text(f"{findings.brings(outcome)} {findings.sentence(setting, strategy)}"))


def _ours(group: str) -> None:
    """Tell how much of a group is still the example's, and let the rest be taken as our own."""
    current = st.session_state.current
    if current is None:
        return
    asked = findings.asked_for(group)
    still = [
        key
        for at, field in asked
        for key in still_example(current[0], key_of(at, field))
        if holds(field, key.removeprefix(key_of(at, field)))
    ]
    if not still:
        said = "Nothing is pointed out here: the page Our valley says that nothing is invented."
        st.caption(said if state.said_to_be_ours() else "Nothing here is the example's any more.")
        return
    with st.container(horizontal=True, vertical_alignment="center"):
        st.caption(f"{count(len(still), 'figure')} of this group are still the example's.")
        st.button(
            "The rest is right for us",
            key="ours",
            on_click=take_as_ours,
            args=(still,),
            help="Takes them as your own figures although the example has the same.",
        )


def _groups() -> None:
    """Ask for one group of figures at a time."""
    place = st.empty()
    group = st.segmented_control(
        "Part of the farm",
        list(findings.GROUPS),
        default=next(iter(findings.GROUPS)),
        required=True,
        key="farm_group",
        label_visibility="collapsed",
    )
    st.caption(f"{findings.GROUPS[group].moves} Each figure counts as soon as it is changed.")
    _ours(group)
    fields.ask_keys(findings.asked_for(group), fixed=findings.GROUPS[group].fixed)
    _brings(place, fields.picked("strategies") if group == findings.STRATEGIES else None)


st.title("Our farm", anchor=False)
if state.figure("farm") is None:
    st.info("This plan has no farm yet: the odds of water stand without one.")
    st.button("Begin from the example's farm", key="begin_farm", on_click=_begin_farm)
else:
    _groups()
