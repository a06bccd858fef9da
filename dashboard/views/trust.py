"""How far to trust this: what do the odds rest on, how sure are they, would they have held?

What is quick comes first; the rest is worked out on asking.
"""

from __future__ import annotations

import streamlit as st

from dashboard import trust_page
from dashboard.announced_error import show_announced_error

plan, record = st.session_state.current

trust_page.rest_on(plan, record)
trust_page.how_sure(plan, record)
trust_page.remembered(plan, record)
trust_page.methods_apart(plan, record)
show_announced_error(plan, record)
trust_page.held(plan, record)
