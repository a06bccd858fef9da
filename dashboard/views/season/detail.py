"""Folded away under the answer of this season: seasons, bank, driest years, one megalitre more."""

from __future__ import annotations

import streamlit as st

from dashboard import cached, show
from dashboard.cached import Followed
from dashboard.charts.money import bank_chart
from dashboard.charts.this_season import worth_chart
from dashboard.findings import this_season as findings
from dashboard.findings import water as water_findings
from model.decide.driest import StretchMet
from model.decide.one_area import AreaOutcome
from model.farm.setting import FarmSetting
from model.plan.plan import Plan
from model.record.record import Record
from model.say.bank import of_payments
from model.water_year import months_from


def years(setting: FarmSetting) -> list[str]:
    """Name the water years of the run."""
    calendar = setting.valley.calendar
    return [calendar.water_year(season) for season in range(calendar.seasons)]


def show_bank(setting: FarmSetting, outcome: AreaOutcome) -> None:
    """Show how likely trouble is, and the bank month by month against the overdraft limit."""
    due = setting.rules.cash.payments_due
    show.chances(
        {
            "Overdraft past its limit in some month": outcome.past_limit_in_run,
            f"A loan payment missed, {of_payments(due)}": outcome.missed_in_run,
        }
    )
    if said := findings.next_water_finding(outcome, years(setting)):
        st.markdown(said)
    first_month, limit_aud = (
        setting.valley.calendar.opening_month,
        setting.rules.cash.overdraft_limit_aud,
    )
    months = months_from(first_month, outcome.cash_bands_aud.shape[1])
    finding = findings.cash_finding(outcome.cash_bands_aud, first_month, limit_aud)
    if len(months) == 1:
        st.markdown(f"{finding}.")
        return
    show.chart(
        bank_chart(months, outcome.cash_bands_aud, limit_aud=limit_aud, title=finding),
        key="plant_cash",
        alt=finding,
        frame=lambda: water_findings.bands_frame(months, outcome.cash_bands_aud),
    )


def show_seasons(setting: FarmSetting, outcome: AreaOutcome) -> None:
    """Show what each season brings."""
    st.caption(
        "In brackets the 95 % range that the record leaves. Kept to picking: some of "
        "it may have been short of water. Usable: of your own account; Water ahead shows the "
        "average holder's."
    )
    st.table(findings.area_frame(outcome, years(setting)).set_index("What"))


def show_worth(plan: Plan, record: Record, followed: Followed, area_ha: float) -> None:
    """Show what one more megalitre is worth in each use."""
    found = cached.last_megalitre(plan, record, followed, area_ha)
    if found is None:
        st.info("The account is full: it takes no more water today.")
        return
    show.chart(
        worth_chart(findings.worth_curves(found), title=findings.worth_finding(found)),
        key="worth",
        alt=findings.worth_finding(found),
        frame=lambda: findings.worth_frame(found),
    )


def show_driest(met: tuple[StretchMet, ...]) -> None:
    """Show what the driest seasons on record do to this choice."""
    if not met:
        st.info("The record holds no run of this many months.")
        return
    st.markdown(show.text(findings.driest_finding(met)))
    st.caption(
        "Met from today's dam and account, with this area and this hold-back, month by month as "
        "they were observed. Dry run: part of the driest so many seasons; after: what followed "
        "them. Money in thousands."
    )
    show.table(findings.driest_frame(met), key="driest")
