"""How is a thing shown? Charts with their figures, tables, chances, faults, parts, long work.

Long work is done in the page's own run, and begins only when its button is pressed. Any click asks
for a new run; the next word on how far it is then ends the old one, and the work with it. Its
result is put in its place only once it is whole, so that nothing half-done is ever kept.

A chart is given the colours of its page as it is drawn (`charts.look.dress`), and the framework
does not run a page whose colours change. So `follow_colours` asks for it: it looks twice a second
at what the page is, and waits while something runs, which asking would end.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any

import pandas as pd
import plotly.graph_objects as go
import streamlit as st

from dashboard.cached import Place, Result
from dashboard.charts.look import dress
from dashboard.literal import literal
from model.errors import InputError
from model.files import defused
from model.keeping.compare import Difference
from model.outlook.chances import Estimate
from model.outlook.setting import Progress
from model.say import numbers
from model.say.cells import record_range
from model.say.numbers import times_in_100

WITHOUT_TOOLS = {"displayModeBar": False, "showTips": False}
"""Of the library's own words none pops up over a chart: they are pale, and speak of its tools."""
_LONG_WORD = re.compile(r"\S{17,}")
_BREAK_AFTER = re.compile(r"([._/-])")
_KINDS = {
    ".csv": "text/csv",
    ".pdf": "application/pdf",
    ".toml": "application/toml",
    ".zip": "application/zip",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


def chart(figure: go.Figure, *, key: str, alt: str, frame: Callable[[], pd.DataFrame]) -> None:
    """Show a chart, and its figures under it; they are laid out only once they are asked for."""
    dress(figure, dark=st.context.theme.type == "dark")
    st.plotly_chart(figure, key=key, alt=alt, config=WITHOUT_TOOLS, theme=None)
    folded = st.expander("The figures behind this chart", key=f"{key}_figures", on_change="rerun")
    if folded.open:
        with folded:
            figures = frame()
            st.dataframe(figures, hide_index=True, key=f"{key}_table")
            take("Take as CSV", csv_text(figures), f"{key}.csv", f"{key}_csv")


PICTURE = """
export default function ({data, parentElement}) {
    parentElement.innerHTML = data.svg;
}
"""
_picture = st.components.v2.component("still_picture", js=PICTURE, isolate_styles=False)


def picture(
    svg: str, *, key: str, frame: Callable[[], pd.DataFrame], narrow: str | None = None
) -> None:
    """Show a still picture, and its figures under it, as `chart` does.

    A narrow page shows the picture that was drawn for it, where there is one: the browser chooses.
    """
    shown = f'<div class="picture-wide">{svg}</div>'
    if narrow is not None:
        shown = f'<div class="picture-narrow">{narrow}</div>{shown}'
    bare_picture(shown, key=key)
    figures_behind(key, frame)


def bare_picture(svg: str, *, key: str) -> None:
    """Show a still picture alone."""
    _picture(key=key, data={"svg": svg})


def figures_behind(key: str, frame: Callable[[], pd.DataFrame]) -> None:
    """Fold the figures behind a picture; they are laid out only once they are asked for."""
    folded = st.expander("The figures behind this picture", key=f"{key}_figures", on_change="rerun")
    if folded.open:
        with folded:
            table(frame(), key=f"{key}_table")


def csv_text(frame: pd.DataFrame) -> str:
    """Write a table as CSV; text that a spreadsheet would run as a formula is defused."""
    safe = frame.map(_defused).rename(columns=_defused)
    return str(safe.to_csv(index=False, lineterminator="\n"))


def _defused(cell: object) -> object:
    """Put a quote before text that begins like a formula."""
    return defused(cell) if isinstance(cell, str) else cell


def table(frame: pd.DataFrame, *, key: str) -> None:
    """Show a small table as text, and offer it as CSV."""
    plain_table(frame)
    take("Take as CSV", csv_text(frame), f"{key}.csv", f"{key}_csv")


def plain_table(frame: pd.DataFrame) -> None:
    """Show a small table as text, its first column as the names of its rows."""
    plain = frame.rename(columns=lambda title: literal(str(title)))
    named = plain.set_index(plain.columns[0])
    st.table(named.rename(index=_breakable).map(_breakable))


def _breakable(cell: object) -> object:
    """Let long words, such as keys and file names, break where a narrow page needs it.

    The framework reads a table's cells as markup: they are made plain.
    """
    if not isinstance(cell, str):
        return cell
    return _LONG_WORD.sub(lambda word: _BREAK_AFTER.sub("\\1\u200b", word[0]), literal(cell))


def text(words: str) -> str:
    """Return words as markdown shows them: two sums of money are not a formula between dollars."""
    return words.replace("$", r"\$") if words.count("$") > 1 else words


def take(label: str, content: str | bytes, name: str, key: str) -> None:
    """Offer a file to take away.

    It is handed over only when asked for. Handed over as it stands, the button would fetch it as
    soon as it is drawn, and the server may have dropped it by then: two more runs are enough.
    """
    kind = _KINDS.get(PurePath(name).suffix, "text/csv")
    st.download_button(
        label, lambda: content, file_name=name, mime=kind, key=key, on_click="ignore"
    )


def differences_frame(told: Sequence[Difference], before: str, after: str) -> pd.DataFrame:
    """Arrange the figures in which two plans differ."""
    rows = [
        (one.key, f"{one.meaning[:1].upper()}{one.meaning[1:]}", one.before, one.after)
        for one in told
    ]
    columns = ["Figure", "What it is", before, after]
    return pd.DataFrame(rows, columns=columns)


MOST_SHOWN = 40
"""A table longer than a screen or two helps nobody; all of them can be taken away as CSV."""


def faults(error: InputError, head: str, *, key: str) -> None:
    """Show what is to mend."""
    frame = faults_frame(error)
    st.error(head)
    plain_table(frame.head(MOST_SHOWN))
    if len(frame) > MOST_SHOWN:
        st.caption(f"The first {MOST_SHOWN} of {numbers.number(len(frame))}.")
        take("Take all as CSV", csv_text(frame), "to_mend.csv", f"{key}_csv")


def faults_frame(error: InputError) -> pd.DataFrame:
    """Arrange what is to mend, a row a fault."""
    return pd.DataFrame(
        [
            {"Where": f.where, "Found": f.value, "What is wrong": f.problem, "Allowed": f.allowed}
            for f in error.faults
        ]
    )


def chances(chances: Mapping[str, Estimate]) -> None:
    """Show chances side by side, by what they are chances of."""
    for column, (name, estimate) in zip(st.columns(len(chances)), chances.items(), strict=True):
        with column:
            st.markdown(name)  # a metric's own label is cut where it is long
            st.metric(
                name,
                times_in_100(estimate.value, estimate.draws),
                border=True,
                label_visibility="collapsed",
            )
            st.caption(f"The record supports {record_range(estimate)} times in 100.")


def parts(parts: Mapping[str, Callable[[], None]], *, key: str) -> None:
    """Show parts by their names, the first one open; only the part that is open is run."""
    if st.session_state.get(key) not in parts:
        st.session_state[key] = next(iter(parts))
    st.segmented_control(
        "Look at",
        list(parts),
        required=True,
        key=key,
        label_visibility="collapsed",
        persist_state="session",
    )
    parts[st.session_state[key]]()


@dataclass(slots=True)
class Begun:
    """Work that was begun and has not come to its end."""

    place: Place[Any]  # where its result was to go
    done: int = 0
    total: int = 0


def result_of(
    place: Place[Result],
    work: Callable[[Progress], Result],
    *,
    key: str,
    ask: str,
    meanwhile: str,
    unit: str,
) -> Result | None:
    """Show the button that begins the work, or its progress; return the result once it is there.

    Parameters
    ----------
    place
        Where the result is kept.
    work
        Does it, telling how far it is; what that raises must end it.
    key
        Of the controls.
    ask
        Says what the button begins, and how long that takes.
    meanwhile
        Says what is being done.
    unit
        What is counted, such as years.

    Returns
    -------
    Result or None
        None until the work was done to its end.
    """
    asked = st.session_state.pop(f"{key}_asked", False)
    if asked and place.found is None:
        place.found = _do_work(Begun(place), work, key, meanwhile, unit)
        st.rerun()  # what came of it takes the place of how far it is
    if place.found is None:
        _offer_work(place, key, ask, unit)
    return place.found


def _offer_work(place: Place[Any], key: str, ask: str, unit: str) -> None:
    """Offer to begin, and say where the work was stopped before.

    The button is that of `_do` under another name: it keeps its place, and the keyboard's focus.
    """
    begun = st.session_state.get(f"{key}_begun")
    if begun is not None and begun.place is place:
        st.info(stopped_words(begun, unit))
    else:
        st.empty()
    st.button(ask, key=f"{key}_button", on_click=_ask_for_work, args=(key,))


def _ask_for_work(key: str) -> None:
    st.session_state[f"{key}_asked"] = True


def stopped_words(begun: Begun, unit: str) -> str:
    """Show how far stopped work was."""
    if not begun.done:
        return f"Stopped before the first of the {unit} was done. Nothing is kept."
    return f"Stopped after {begun.done} of {begun.total} {unit}. Nothing of it is kept."


def _do_work(
    begun: Begun,
    work: Callable[[Progress], Result],
    key: str,
    meanwhile: str,
    unit: str,
) -> Result:
    """Do the work to its end, or until a click ends this run of the page."""
    st.session_state[f"{key}_begun"] = begun
    bar = st.progress(0.0, f"{meanwhile} ...")
    st.button("Stop", key=f"{key}_button")
    st.caption("Changing anything else, or leaving the page, stops it too.")

    def progress(done: int, total: int) -> None:
        begun.done, begun.total = done, total
        bar.progress(done / total, f"{meanwhile}: {done} of {total} {unit}")

    try:
        found = work(progress)
    except Exception:
        del st.session_state[f"{key}_begun"]
        raise
    del st.session_state[f"{key}_begun"]
    return found


LOOK = """
export default function ({data, parentElement, setTriggerValue}) {
    for (const link of document.querySelectorAll('.st-key-pages a')) {
        if (link.textContent.trim() === data.page) link.setAttribute('aria-current', 'page');
        else link.removeAttribute('aria-current');
    }
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


def follow_colours(page: str) -> None:
    """Have the page run again once it is no longer as its charts were drawn, light or dark.

    In the menu the page that is open is marked as the one that is read.
    """
    drawn = {"drawn": st.context.theme.type or "light", "page": page}
    _look(key="page_colours", data=drawn, on_turned_change=lambda: None, height=0)
