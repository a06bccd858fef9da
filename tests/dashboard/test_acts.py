"""Is what a button was pressed for done at once, whatever becomes of the page?"""

from __future__ import annotations

from streamlit.testing.v1 import AppTest

from tests.dashboard.window import LONGEST_S, tables


def _page() -> None:
    """Offer one act that can be done and one that cannot, far down a page."""
    import streamlit as st

    from dashboard import controls
    from model.errors import Fault, InputError

    def write() -> None:
        st.session_state.written = st.session_state.get("written", 0) + 1

    def refuse() -> None:
        raise InputError("the page", [Fault("the name", "", "it is empty", "a name")])

    if st.session_state.get("cut_short"):
        st.stop()
    controls.button("Write", "write", write)
    with st.form("form"):
        st.text_input("Name", key="name")
        controls.submit("Name it", "name_it", refuse, refusal="Nothing was named.")


def test_act_when_the_page_is_cut_short_before_its_button_then_it_is_done_once() -> None:
    """A page that ends before it comes to the button has done what the button was pressed for."""
    page = AppTest.from_function(_page, default_timeout=LONGEST_S).run()
    page.session_state["cut_short"] = True
    page.button(key="write").click().run()
    assert not page.button
    assert page.session_state["written"] == 1
    page.run()
    assert page.session_state["written"] == 1


def test_act_when_it_cannot_be_done_then_what_to_mend_is_said_once() -> None:
    """The fault stands under its own heading until something else is done."""
    page = AppTest.from_function(_page, default_timeout=LONGEST_S).run()
    page.button[1].click().run()
    assert [error.value for error in page.error] == ["Nothing was named."]
    assert tables(page)[0]["What is wrong"].tolist() == ["it is empty"]
    assert "written" not in page.session_state
    page.button(key="write").click().run()
    assert not page.error
    assert page.session_state["written"] == 1
