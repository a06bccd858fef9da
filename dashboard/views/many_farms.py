"""Many farms: how many are in trouble in the same season, what is owed, and by whom?"""

from __future__ import annotations

import streamlit as st

from dashboard import launch, show
from dashboard.charts.many_farms import at_once_chart
from dashboard.findings import many_farms as findings
from dashboard.literal import literal
from model.book.kept import KeptBook, KeptScope, read_book
from model.say.book import (
    JOINT,
    NOT_ADDED_UP,
    RANGE_OF_BOOK,
    drivers_in_words,
    lost_in_words,
    owed_in_words,
    scope_title,
    strategy_of_pool,
)
from model.say.cautions import FARM_CAUTION, INVENTED
from model.say.numbers import count


def _chosen(book: KeptBook) -> tuple[KeptScope, int]:
    """Ask which farms, and under which strategy."""
    scope = book.scopes[0]
    if len(book.scopes) > 1:
        at = st.selectbox(
            "Farms",
            range(len(book.scopes)),
            format_func=lambda at: scope_title(book.scopes[at].scope),
            key="many_farms_scope",
        )
        scope = book.scopes[at]
    titles = [strategy_of_pool(pool) for pool in scope.scope.pools]
    pool = st.selectbox(
        "Strategy", range(len(titles)), format_func=titles.__getitem__, key="many_farms_pool"
    )
    return scope, pool


def _page(book: KeptBook) -> None:
    """Show a book that was written."""
    scope, at = _chosen(book)
    pool, farms = scope.scope.pools[at], scope.scope.farms
    finding = findings.at_once_finding(pool, farms)
    show.chart(
        at_once_chart(findings.reached_lines(pool, farms), title=finding, farms=farms),
        key="many_farms_at_once",
        alt=finding,
        frame=lambda: findings.seasons_frame(pool),
    )
    show.plain_table(findings.seasons_frame(pool))
    st.markdown(show.text(lost_in_words(pool)))
    for said in drivers_in_words(scope.drivers[at]):
        st.markdown(show.text(f"{said}."))
    if scope.drivers[at].most:
        show.plain_table(findings.drivers_frame(scope.drivers[at]))
    titles = [strategy_of_pool(each) for each in scope.scope.pools]
    show.plain_table(findings.lost_frame(scope.scope, titles))
    st.caption(f"{owed_in_words()} {RANGE_OF_BOOK}")


place = launch.files().book
assert place is not None  # else there is no such page
book = read_book(place)
st.title("Many farms", anchor=False)
st.markdown(f"{count(book.farms, 'farm')} of {literal(book.name)}.")
if book.invented:
    st.caption(f"{INVENTED}: valley or farm of some plans.")
if book.farms_with_faults:
    st.warning(f"{count(book.farms_with_faults, 'plan')} could not be played: see faults.csv.")
if book.joint is not None:
    st.caption(JOINT[book.joint])
elif len(book.scopes) > 1:
    st.caption(NOT_ADDED_UP)
_page(book)
st.caption(FARM_CAUTION)
