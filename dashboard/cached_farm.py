"""What of the farm is worth keeping between redraws; keyed as in `cached.py`.

What the model's modules of the farm need is loaded where it is used: the first page has no farm.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import streamlit as st

from dashboard.cached import Place, drawing_key, drawn_ahead
from model.outlook.setting import setting_of
from model.plan.plan import Plan
from model.record.record import Record

if TYPE_CHECKING:
    from model.decide.cash_months import CashMonths
    from model.decide.compare import Comparison
    from model.decide.frontier import Frontier
    from model.decide.last_megalitre import LastMegalitre
    from model.decide.one_area import Rivers, RiversDrawn
    from model.decide.stress import StressSet
    from model.evidence.announced import Held
    from model.farm.run import FarmResults
    from model.farm.setting import FarmSetting
    from model.outlook.ahead import Drawn
    from model.outlook.chances import Spread


def comparison(plan: Plan, record: Record) -> tuple[Comparison, FarmResults]:
    """Compare a plan's strategies."""
    return _comparison(plan.model_dump_json(), record.sha256, plan, record)


@st.cache_resource(max_entries=4, show_spinner="Running the farm under each strategy ...")
def _comparison(
    plan_json: str, record_hash: str, _plan: Plan, _record: Record
) -> tuple[Comparison, FarmResults]:
    from model.decide.compare import compare_drawn

    setting, drawn = farm_setting(_plan, _record), drawn_decisions(_plan, _record)
    found, results, _ = compare_drawn(setting, drawn)
    return found, results


def one_strategy(plan: Plan, record: Record, strategy: int) -> Comparison:
    """Play one of a plan's strategies alone: in a third of the time where there are three."""
    return _one_strategy(plan.model_dump_json(), record.sha256, strategy, plan, record)


@st.cache_resource(max_entries=8, show_spinner="Running the farm ...")
def _one_strategy(
    plan_json: str, record_hash: str, strategy: int, _plan: Plan, _record: Record
) -> Comparison:
    from model.decide.compare import compare_drawn

    setting = farm_setting(_plan, _record).of_strategy(strategy)
    found, *_ = compare_drawn(setting, drawn_decisions(_plan, _record))
    return found


def farm_setting(plan: Plan, record: Record) -> FarmSetting:
    """Prepare a plan's farm: what its strategies may expect is fitted once, for all pages."""
    return _farm_setting(plan.model_dump_json(), record.sha256, plan, record)


@st.cache_resource(max_entries=8, show_spinner=False)
def _farm_setting(plan_json: str, record_hash: str, _plan: Plan, _record: Record) -> FarmSetting:
    from model.decide.strategy import strategies_of
    from model.farm.setting import farm_setting_of

    method = drawn_decisions(_plan, _record).method
    return farm_setting_of(_plan, _record, strategies_of(_plan), method)


def farm_ready(plan: Plan, record: Record) -> tuple[FarmSetting, Rivers]:
    """Prepare a plan's farm and run the valley once, for choices made by hand."""
    return _farm_ready(plan.model_dump_json(), record.sha256, plan, record)


@st.cache_resource(max_entries=4, show_spinner="Running the valley for the farm ...")
def _farm_ready(
    plan_json: str, record_hash: str, _plan: Plan, _record: Record
) -> tuple[FarmSetting, Rivers]:
    from model.decide.one_area import rivers_of

    setting = farm_setting(_plan, _record)
    return setting, rivers_of(setting, drawn_rivers(_plan, _record))


def drawn_decisions(plan: Plan, record: Record) -> Drawn:
    """Keep what is drawn for a farm: its runs hold whole decisions; see `drawn_ahead`."""
    from model.farm.setting import decision_seasons

    return drawn_ahead(plan, record, decision_seasons(plan))


def drawn_rivers(plan: Plan, record: Record) -> RiversDrawn:
    """Keep what choices made by hand are tried on; see `drawn_ahead`."""
    from model.farm.setting import decision_seasons

    seasons = decision_seasons(plan)
    return _drawn_rivers(drawing_key(plan), record.sha256, seasons, plan, record)


@st.cache_resource(max_entries=4, show_spinner=False)
def _drawn_rivers(
    drawing_json: str, record_hash: str, seasons: int, _plan: Plan, _record: Record
) -> RiversDrawn:
    from model.decide.one_area import draw_rivers

    method = drawn_decisions(_plan, _record).method
    return draw_rivers(setting_of(_plan, _record, method, seasons))


def own_area(plan: Plan, record: Record, strategy: int) -> Spread | None:
    """Keep what a strategy would plant itself at the planting ahead, ha."""
    key = (plan.model_dump_json(), record.sha256, strategy)
    return _own_area(*key, *farm_ready(plan, record))


@st.cache_resource(max_entries=16, show_spinner=False)
def _own_area(
    plan_json: str, record_hash: str, strategy: int, _setting: FarmSetting, _rivers: Rivers
) -> Spread | None:
    from model.decide.one_area import own_area

    return own_area(_setting, _rivers, strategy)


def last_megalitre(
    plan: Plan, record: Record, strategy: int, area_ha: float
) -> LastMegalitre | None:
    """Work out what one more megalitre is worth; None where the account takes no more."""
    key = (plan.model_dump_json(), record.sha256, strategy, area_ha)
    return _last_megalitre(*key, farm_setting(plan, record))


@st.cache_resource(max_entries=16, show_spinner="Trying one more megalitre ...")
def _last_megalitre(
    plan_json: str,
    record_hash: str,
    strategy: int,
    area_ha: float,
    _setting: FarmSetting,
) -> LastMegalitre | None:
    from model.decide.last_megalitre import (
        FEW_SEQUENCES,
        LEAST_RANGE_ML,
        USUAL_RANGE_FRAC,
        last_megalitre,
        room_ml,
    )

    range_ml = min(room_ml(_setting), USUAL_RANGE_FRAC * _setting.rules.water.shares_ml)
    if range_ml < LEAST_RANGE_ML:
        return None
    river = _setting.river(_setting.valley.first_rows(FEW_SEQUENCES))
    return last_megalitre(_setting, river, strategy=strategy, area_ha=area_ha, range_ml=range_ml)


def papers(
    plan: Plan,
    record: Record,
    strategy: str,
    verdict: tuple[str, ...],
    day: dt.date,
    held: Held | None = None,
    plan_file: str = "",
) -> tuple[bytes, bytes]:
    """Make the brief and the workbook.

    `verdict` is what the evidence says, or empty; `held` how far the rules were from history;
    `plan_file` names the plan's file, and says whether figures are not saved.
    """
    key = (plan.model_dump_json(), record.sha256, strategy, verdict, day, repr(held), plan_file)
    return _papers(*key, plan, record, held)


@st.cache_resource(max_entries=4, show_spinner="Running the farm for the papers ...")
def _papers(
    plan_json: str,
    record_hash: str,
    strategy: str,
    verdict: tuple[str, ...],
    day: dt.date,
    held_words: str,
    plan_file: str,
    _plan: Plan,
    _record: Record,
    _held: Held | None,
) -> tuple[bytes, bytes]:
    from model.brief.brief_file import brief_pdf
    from model.brief.workbook import workbook_xlsx
    from model.decide.findings import findings_of

    found = findings_of(_plan, _record, strategy=strategy, verdict=verdict, held=_held)
    return brief_pdf(found, day, plan_file), workbook_xlsx(found, day)


def frontier(plan: Plan, record: Record, strategy: int) -> Place[Frontier]:
    """Give the place of a grid of hold-back by area round one strategy."""
    return _frontier(plan.model_dump_json(), record.sha256, strategy)


@st.cache_resource(max_entries=8, show_spinner=False)
def _frontier(plan_json: str, record_hash: str, strategy: int) -> Place[Frontier]:
    return Place()


def bank_by_month(plan: Plan, record: Record, strategy: int) -> CashMonths:
    """Follow one strategy's bank by month."""
    key = (plan.model_dump_json(), record.sha256, strategy)
    return _bank_by_month(*key, farm_setting(plan, record))


@st.cache_resource(max_entries=16, show_spinner=False)
def _bank_by_month(
    plan_json: str, record_hash: str, strategy: int, _setting: FarmSetting
) -> CashMonths:
    from model.decide.cash_months import cash_months, played_river

    return cash_months(_setting, strategy, played_river(_setting))


def stress(plan: Plan, record: Record, strategy: int) -> StressSet:
    """Run one strategy's stress set."""
    key = (plan.model_dump_json(), record.sha256, strategy)
    return _stress(*key, farm_setting(plan, record))


@st.cache_resource(max_entries=16, show_spinner="Running the stress set ...")
def _stress(plan_json: str, record_hash: str, strategy: int, _setting: FarmSetting) -> StressSet:
    from model.decide.cash_months import played_river
    from model.decide.stress import stress_set

    return stress_set(_setting, strategy, played_river(_setting))
