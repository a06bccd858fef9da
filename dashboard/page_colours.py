"""Does the page turn light or dark while it is open? Then its charts are drawn anew.

A chart is given the colours of its page as it is drawn (`charts.look.dress`), and the framework
does not run a page whose colours change. So a part that shows nothing asks for it: it looks twice a
second at what the page is, and waits while something runs, which asking would end.
"""

from __future__ import annotations

import streamlit as st

LOOK = """
export default function ({data, parentElement, setTriggerValue}) {
    const scheme = () =>
        getComputedStyle(parentElement).colorScheme === 'dark' ? 'dark' : 'light';
    const app = document.querySelector('[data-testid="stApp"]');
    const busy = () => app && app.dataset.testScriptState !== 'notRunning';
    const timer = setInterval(() => {
        if (scheme() !== data.drawn && !busy()) {
            clearInterval(timer);
            setTriggerValue('turned', scheme());
        }
    }, 500);
    return () => clearInterval(timer);
}
"""

_look = st.components.v2.component("page_colours", js=LOOK, isolate_styles=False)


def follow() -> None:
    """Have the page run again once it is no longer as its charts were drawn, light or dark."""
    drawn = {"drawn": st.context.theme.type or "light"}
    _look(key="page_colours", data=drawn, on_turned_change=lambda: None, height=0)
