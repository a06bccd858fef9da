"""What is worth keeping between redraws, so that no plan can get another's result.

`_kept` is the one place that says by what a result is known again: the plan as JSON, whole or the
parts that the result rests on (`of`), and the record by its hash and what was filled in it. Long
work has a `Place` that stays empty until the whole of it is there. What the farm and the evidence
need is loaded where it is used: the first page has neither.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Generic, ParamSpec, TypeVar

import streamlit as st

from model.outlook.ahead import Drawn, WaterAhead, draw_ahead, look_ahead, sequence_ledger
from model.outlook.replay import Ledger, replay_months
from model.outlook.setting import setting_of
from model.plan.plan import Plan
from model.record.describe import Description, describe_record
from model.record.reading import HowToRead
from model.record.record import FillPolicy, Record, parse_record, read_record
from model.water_year import MONTHS_IN_YEAR, parse_month

if TYPE_CHECKING:
    from model.decide.cash_months import CashMonths
    from model.decide.compare import Comparison
    from model.decide.desk import HeldAndNeeded, LimitAndBales
    from model.decide.dry_cases import DryCase
    from model.decide.frontier import Frontier
    from model.decide.last_megalitre import LastMegalitre
    from model.decide.rivers import Rivers, RiversDrawn
    from model.decide.season_question import AreasTried, CoursesTried
    from model.decide.stress import StressSet
    from model.decide.triggers import Trigger
    from model.evidence.announced import Held
    from model.evidence.decided import SeasonCame
    from model.evidence.diagnosis import Diagnosis
    from model.evidence.judge import Evidence
    from model.evidence.offer import Offer
    from model.evidence.today import OddsToday
    from model.evidence.verdict import Verdict
    from model.farm.run import FarmResults
    from model.farm.setting import FarmSetting
    from model.outlook.ahead import SetAside
    from model.plan.announced import Announcements

HOW_READ = (
    "record_fill",
    "record_missing_days_frac",
    "record_columns",
    "record_unit",
    "record_sheet",
    "record_decimal",
)
"""What of a plan makes another record of the same file."""

LazyResults = ParamSpec("LazyResults")
Result = TypeVar("Result")


@dataclass(slots=True)
class Place(Generic[Result]):
    """Where the result of long work is kept: empty until the whole of it is there."""

    found: Result | None = None


def _whole(plan: Plan) -> str:
    """Key what may depend on any figure of a plan; whose a figure is moves nothing."""
    return plan.model_dump_json(exclude={"ours"})


def _all_it_says(plan: Plan) -> str:
    """Key what also says whose the figures are."""
    return plan.model_dump_json()


def _water(plan: Plan) -> str:
    """Key what depends on water alone: the farm is not in it."""
    return plan.model_dump_json(exclude={"title", "farm", "strategies", "announced", "ours"})


def _drawing(plan: Plan) -> str:
    """Key what is drawn: how, from which month, and how the record is read."""
    how = {"sequences", *HOW_READ}
    return plan.model_dump_json(include={"opening": {"month"}} | dict.fromkeys(how, True))


def _decisions(plan: Plan) -> str:
    """Key what is drawn for a farm: its runs hold whole decisions, planting by planting."""
    return f"{_drawing(plan)} {plan.outlook.planting_month}"


def _replay(plan: Plan) -> str:
    """Key a replay: the rules, where it begins, how the record is read."""
    from model.evidence.announced import opened_for_replay

    opened = opened_for_replay(plan)
    known = plan.announced is not None and plan.announced.known_month
    parts = {"valley", "opening", *HOW_READ}
    return opened.model_dump_json(include=parts) + f" known {known}"


def _remembering(plan: Plan) -> str:
    """Key what a record remembers: the month that its slices begin in, and the seed."""
    return f"{parse_month(plan.opening.month) % MONTHS_IN_YEAR} {plan.sequences.seed}"


def _of_record(record: Record) -> str:
    return f"{record.sha256} {record.values_sha256} {sorted(record.filled.items())}"


def _kept(
    most: int, *, of: Callable[[Plan], str] = _whole, meanwhile: str = ""
) -> Callable[[Callable[LazyResults, Result]], Callable[LazyResults, Result]]:
    """Keep the last results of a function; `of` keys the plan, `meanwhile` is said while it runs.

    An argument whose name begins with an underscore is not looked at.
    """
    return st.cache_resource(
        max_entries=most,
        show_spinner=meanwhile or False,
        hash_funcs={
            Plan: of,
            Record: _of_record,
            "model.plan.announced.Announcements": repr,
            "model.evidence.announced.Held": repr,
            "model.evidence.verdict.Verdict": repr,
        },
    )


def record_of(path: Path, plan: Plan) -> Record:
    """Read a plan's record, again when its file changes."""
    stat = path.stat() if path.is_file() else None
    stamp = (stat.st_mtime_ns, stat.st_size) if stat else (0, 0)
    how = plan.how_to_read
    return _record(str(path), plan.record_fill, plan.record_missing_days_frac, how, stamp)


@_kept(8)
def _record(
    path: str,
    fill: FillPolicy,
    missing_days_frac: float,
    how: HowToRead,
    stamp: tuple[int, int],
) -> Record:
    """Read a record; `stamp` tells versions of the file apart."""
    return read_record(Path(path), fill=fill, missing_days_frac=missing_days_frac, how=how)


def uploaded_record(
    data: bytes, name: str, fill: FillPolicy, missing_days_frac: float, how: HowToRead
) -> Record:
    """Read a record that was dragged in.

    Raises
    ------
    RecordError
        It cannot be used.
    """
    return _uploaded(hashlib.sha256(data).hexdigest(), name, fill, missing_days_frac, how, data)


@_kept(8)
def _uploaded(
    data_hash: str,
    name: str,
    fill: FillPolicy,
    missing_days_frac: float,
    how: HowToRead,
    _data: bytes,
) -> Record:
    return parse_record(_data, name, fill=fill, missing_days_frac=missing_days_frac, how=how)


@_kept(8, meanwhile="Running the seasons ahead ...")
def water_ahead(plan: Plan, record: Record) -> WaterAhead:
    """Look ahead from a plan."""
    return look_ahead(plan, record, drawn_ahead(plan, record))


@_kept(8, of=_drawing)
def drawn_ahead(plan: Plan, record: Record) -> Drawn:
    """Draw what a plan draws: a moved dam, account or rule draws nothing anew."""
    return draw_ahead(plan, record)


@_kept(8, of=_decisions)
def drawn_decisions(plan: Plan, record: Record) -> Drawn:
    """Draw what a farm is played on: its runs hold whole decisions; see `drawn_ahead`."""
    from model.farm.setting import decision_seasons

    seasons = decision_seasons(plan)
    if seasons == plan.sequences.seasons:
        return drawn_ahead(plan, record)
    return draw_ahead(plan, record, seasons)


@_kept(32)
def one_sequence(plan: Plan, record: Record, number: int) -> Ledger:
    """Return the ledger of one sequence, counted from 1."""
    method = drawn_ahead(plan, record).method
    return sequence_ledger(setting_of(plan, record, method), number - 1)


@_kept(32)
def observed_stretch(plan: Plan, record: Record, first: int, last: int) -> Ledger:
    """Return the ledger of observed months, from where the plan says things stand."""
    return replay_months(plan, record, first, last)


@_kept(8)
def description(record: Record) -> Description:
    """Describe a record."""
    return describe_record(record)


@_kept(8, of=_remembering, meanwhile="Looking at what the record remembers ...")
def diagnosis(plan: Plan, record: Record) -> Diagnosis:
    """Look at what a record remembers, in the slices that a plan's sequences are made of."""
    from model.evidence.diagnosis import diagnose

    month = parse_month(plan.opening.month) % MONTHS_IN_YEAR
    return diagnose(record, opening_month=month, seed=plan.sequences.seed)


@_kept(4, of=_water)
def evidence(plan: Plan, record: Record) -> Place[Evidence]:
    """Return the place of the odds as tried on the observed years."""
    return Place()


@_kept(8, of=_water)
def methods_today(plan: Plan, record: Record) -> Place[tuple[OddsToday, ...]]:
    """Return the place of each method's odds from where things stand."""
    return Place()


@_kept(64, of=_water)
def came_after(plan: Plan, record: Record, told: Announcements) -> tuple[SeasonCame, ...]:
    """Place what came in the odds of the day that a plan is of.

    Raises
    ------
    PlanError
        The record does not hold what that plan asks for.
    """
    from model.evidence.decided import came_after as placed

    return placed(plan, record, told)


@_kept(32, of=_replay, meanwhile="Replaying the announced years ...")
def held(plan: Plan, record: Record, told: Announcements) -> Held:
    """Replay against what was announced.

    Raises
    ------
    InputError
        It is not of months in the record.
    """
    from model.evidence.announced import held_of

    return held_of(plan, record, told)


@_kept(8, of=_replay)
def offer(plan: Plan, record: Record, told: Announcements) -> Place[Offer]:
    """Return the place of other settings, tried against what was announced."""
    return Place()


@_kept(8)
def farm_setting(plan: Plan, record: Record) -> FarmSetting:
    """Prepare a plan's farm: what its strategies may expect is fitted once, for all pages."""
    from model.decide.strategy import strategies_of
    from model.farm.setting import farm_setting_of

    method = drawn_decisions(plan, record).method
    return farm_setting_of(plan, record, strategies_of(plan), method)


@_kept(4, meanwhile="Running the farm under each strategy ...")
def comparison(plan: Plan, record: Record) -> tuple[Comparison, FarmResults]:
    """Compare a plan's strategies."""
    from model.decide.compare import compare_drawn

    found, results, _ = compare_drawn(farm_setting(plan, record), drawn_decisions(plan, record))
    return found, results


@_kept(8, meanwhile="Running the farm ...")
def one_strategy(plan: Plan, record: Record, strategy: int) -> Comparison:
    """Play one of a plan's strategies alone: in a third of the time where there are three."""
    from model.decide.compare import compare_drawn

    setting = farm_setting(plan, record).of_strategy(strategy)
    return compare_drawn(setting, drawn_decisions(plan, record))[0]


@_kept(4, meanwhile="Running the valley for the farm ...")
def farm_ready(plan: Plan, record: Record) -> tuple[FarmSetting, Rivers]:
    """Prepare a plan's farm and run the valley once, for choices made by hand."""
    from model.decide.rivers import rivers_of

    setting = farm_setting(plan, record)
    return setting, rivers_of(setting, drawn_rivers(plan, record))


@_kept(4, of=_decisions)
def drawn_rivers(plan: Plan, record: Record) -> RiversDrawn:
    """Draw what choices made by hand are tried on; see `drawn_decisions`."""
    from model.decide.rivers import draw_rivers
    from model.farm.setting import decision_seasons

    method = drawn_decisions(plan, record).method
    return draw_rivers(setting_of(plan, record, method, decision_seasons(plan)))


@dataclass(frozen=True, slots=True)
class Followed:
    """A strategy of the plan as it is followed, with what is kept for a lean season by hand."""

    strategy: int
    hold_back_ml_per_share: float
    hold_above_ml_per_share: float

    def on(self, setting: FarmSetting) -> FarmSetting:
        """Return a farm with the strategy as it is followed."""
        hold = self.hold_back_ml_per_share, self.hold_above_ml_per_share
        return setting.holding(self.strategy, *hold)


RECORDS_FOR_AREAS = 40
"""Resampled records behind the range along a line of areas: the answer itself has them all."""


@_kept(4, of=_decisions)
def drawn_for_areas(plan: Plan, record: Record) -> RiversDrawn:
    """Draw what areas are tried on; see `drawn_rivers`."""
    from model.decide.rivers import draw_rivers
    from model.farm.setting import decision_seasons

    method = drawn_decisions(plan, record).method
    setting = setting_of(plan, record, method, decision_seasons(plan))
    return draw_rivers(setting, resamples=RECORDS_FOR_AREAS)


@_kept(16, meanwhile="Trying areas ...")
def areas_tried(plan: Plan, record: Record, followed: Followed) -> AreasTried:
    """Try areas of the season's crop."""
    from model.decide.rivers import rivers_of
    from model.decide.season_question import areas_tried

    setting = farm_setting(plan, record)
    rivers = rivers_of(setting, drawn_for_areas(plan, record))
    return areas_tried(followed.on(setting), rivers, strategy=followed.strategy)


@_kept(16, meanwhile="Trying what may be done today ...")
def courses_tried(plan: Plan, record: Record, followed: Followed) -> CoursesTried:
    """Try what may be done today beside choosing an area."""
    from model.decide.season_question import courses_tried

    setting, rivers = farm_ready(plan, record)
    return courses_tried(followed.on(setting), rivers, strategy=followed.strategy)


@_kept(32)
def held_and_needed(
    plan: Plan, record: Record, followed: Followed, area_ha: float
) -> HeldAndNeeded:
    """Work out what the water held finishes, and what the year's bills need."""
    from model.decide.desk import held_and_needed

    setting = followed.on(farm_setting(plan, record))
    return held_and_needed(setting, strategy=followed.strategy, area_ha=area_ha)


@_kept(32)
def limit_and_bales(
    plan: Plan, record: Record, followed: Followed, area_ha: float | None
) -> LimitAndBales:
    """Work out the limit and the bales that hold 90 times in 100."""
    from model.decide.desk import limit_and_bales

    setting, rivers = farm_ready(plan, record)
    return limit_and_bales(
        followed.on(setting), rivers, strategy=followed.strategy, area_ha=area_ha
    )


@_kept(8)
def set_aside(plan: Plan, record: Record) -> SetAside:
    """Return what today's assessment counts on, and what it sets aside first."""
    from model.outlook.ahead import set_aside_today

    return set_aside_today(setting_of(plan, record, drawn_ahead(plan, record).method))


@_kept(16, meanwhile="Trying one more megalitre ...")
def last_megalitre(
    plan: Plan, record: Record, followed: Followed, area_ha: float
) -> LastMegalitre | None:
    """Work out what one more megalitre is worth; None where the account takes no more."""
    from model.decide.last_megalitre import quick_last_megalitre

    setting = followed.on(farm_setting(plan, record))
    return quick_last_megalitre(setting, strategy=followed.strategy, area_ha=area_ha)


@_kept(16, meanwhile="Looking at what would change the answer ...")
def triggers(plan: Plan, record: Record, followed: Followed) -> tuple[Trigger, ...]:
    """Find what would change the answer by the next decision."""
    from model.decide.triggers import triggers

    setting = followed.on(farm_setting(plan, record))
    return triggers(setting, strategy=followed.strategy)


@_kept(8)
def frontier(plan: Plan, record: Record, strategy: int) -> Place[Frontier]:
    """Return the place of a grid of hold-back by area round one strategy."""
    return Place()


@_kept(16)
def bank_by_month(plan: Plan, record: Record, strategy: int) -> CashMonths:
    """Follow one strategy's bank by month."""
    from model.decide.cash_months import cash_months, played_river

    setting = farm_setting(plan, record)
    return cash_months(setting, strategy, played_river(setting))


@_kept(16, meanwhile="Meeting the driest seasons again ...")
def dry_cases(plan: Plan, record: Record, strategy: int) -> tuple[FarmSetting, tuple[DryCase, ...]]:
    """Meet the driest seasons on record again, and two of nothing, under one strategy."""
    from model.decide.dry_cases import dry_cases

    setting = farm_setting(plan, record)
    return setting, dry_cases(setting, strategy)


@_kept(16, meanwhile="Running the stress set ...")
def stress(plan: Plan, record: Record, strategy: int) -> StressSet:
    """Run one strategy's stress set."""
    from model.decide.cash_months import played_river
    from model.decide.stress import stress_set

    setting = farm_setting(plan, record)
    return stress_set(setting, strategy, played_river(setting))


@_kept(4, of=_all_it_says, meanwhile="Running the farm for the papers ...")
def papers(
    plan: Plan,
    record: Record,
    strategy: str,
    verdict: Verdict | None,
    day: dt.date,
    held: Held | None = None,
    plan_file: str = "",
) -> tuple[bytes, bytes, bytes]:
    """Make the brief, the workbook, and the file that holds every figure printed.

    `verdict` is what the evidence finds, if it was tried; `held` how far the rules were from
    history; `plan_file` names the plan's file, and says whether figures are not saved.
    """
    from model.brief.brief_file import brief_pdf
    from model.brief.brief_json import brief_json
    from model.brief.workbook import workbook_xlsx
    from model.decide.findings import findings_of
    from model.files import run_mark

    found = findings_of(plan, record, strategy=strategy, verdict=verdict, held=held)
    document = brief_json(found, day, plan_file)
    mark = run_mark(document)
    brief = brief_pdf(found, day, plan_file, mark)
    return brief, workbook_xlsx(found, day, mark), document.encode()
