"""Can a strategy's drought steps be taken at all, and on what the farm has?

Checked on the values as written, beside other faults of the plan: a step that does nothing or two
things, one whose day never comes in the run, one that sells what the farm does not own, and one
that names no loan are each refused by name. What the date alone rules out, such as a step that
waits for a season of nothing once water is announced, is no fault; `cautions` names it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from model.errors import Fault
from model.plan.drawing import MOST_SEASONS
from model.plan.reach import number_at, tables_at
from model.plan.steps import BELONGS_TO, KINDS, LOAN_KEYS, NEEDED
from model.plan.types import MonthName
from model.water_year import MONTH_NAMES, month_of_water_year, parse_month

ONE_THING = "one of " + ", ".join(KINDS)

OWNED = {
    "sell_shares_ml": (
        "farm.licence.general_security_shares_ml",
        "it sells all the general-security shares, or more, and the farm owns",
        "less than {:,.0f} ML in all: a farm that holds none is another farm",
    ),
    "sell_machinery_aud": (
        "farm.money.assets.machinery_aud",
        "it sells more machinery than the farm owns, which is worth",
        "at most {:,.0f} AUD in all",
    ),
    "draw_deposit_aud": (
        "farm.money.deposit_aud",
        "it draws more than the farm deposit holds, which is",
        "at most {:,.0f} AUD in all",
    ),
}
"""What a step may sell or draw: where the plan says how much there is, and how that is said."""


@dataclass(frozen=True, slots=True)
class _Step:
    """A step as written, and where."""

    where: str
    name: str
    when: Mapping[str, Any]
    do: Mapping[str, Any]
    is_yearly: bool

    def fault(self, key: str, value: object, problem: str, allowed: str) -> Fault:
        """Return a fault that names the step."""
        shown = "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
        return Fault(f"{self.where}.{key}", shown, f"step “{self.name}”: {problem}", allowed)


def faults_of_steps(raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield what is the matter with the drought steps of a plan's strategies."""
    for at, strategy in enumerate(tables_at(raw, "strategies"), start=1):
        steps = [
            _step(f"strategies, value {at}.steps, value {place}", step)
            for place, step in enumerate(tables_at(strategy, "steps"), start=1)
        ]
        yield from _of_one_name(steps)
        for step in steps:
            yield from _what_it_does(step)
            yield from _never(step, raw)
            yield from _loans(step, raw)
            yield from _market(step, raw)
        yield from _not_owned(steps, raw)


def _step(where: str, raw: Mapping[str, Any]) -> _Step:
    """Read a step as it is written."""
    when, do = (part if isinstance(part := raw.get(key), Mapping) else {} for key in ("when", "do"))
    yearly = raw.get("how_often") == "yearly"
    return _Step(where, str(raw.get("name", "")), when, do, yearly)


def _of_one_name(steps: list[_Step]) -> Iterator[Fault]:
    """Refuse two steps of one name in a strategy: results are told by it."""
    for place, step in enumerate(steps):
        if step.name in [earlier.name for earlier in steps[:place]]:
            yield step.fault("name", step.name, "another has this name", "its own name")


def _what_it_does(step: _Step) -> Iterator[Fault]:
    """Check that it does one thing, said whole and with nothing beside it."""
    kinds = [kind for kind in KINDS if step.do.get(kind) is not None]
    if not kinds:
        yield step.fault("do", None, "it does nothing", ONE_THING)
    if len(kinds) > 1:
        problem = f"it does {len(kinds)} things at once"
        yield step.fault("do", ", ".join(kinds), problem, "one; write a step for each")
    for key, kind in BELONGS_TO.items():
        value = step.do.get(key)
        if value is not None and kind not in kinds:
            yield step.fault(f"do.{key}", value, "it is not used", f"beside {kind} alone")
        if value is None and key in NEEDED and kind in kinds:
            yield step.fault(f"do.{key}", None, f"it is missing beside {kind}", "this key")


def _never(step: _Step, raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Check that its day may come in the run, with what is asked of it."""
    seasons = _seasons_it_comes_in(step, raw)
    if seasons is None:
        return
    if not seasons:
        yield step.fault(
            "when.month",
            step.when["month"],
            "the run has no such month: it is never taken",
            "a month from the opening on, or more seasons",
        )
        return
    asked, most = step.when.get("seasons_of_nothing"), seasons[-1] + 1
    if isinstance(asked, int) and asked > most:
        problem = f"by {step.when['month']} the run has at most {most} such seasons"
        yield step.fault("when.seasons_of_nothing", asked, problem, "fewer, or more seasons")
    owes = tables_at(raw, "farm.money.loans") or number_at(raw, "farm.money.arrears_aud")
    if step.when.get("arrears") is True and not owes:
        yield step.fault("when.arrears", "true", "no loan is owed: it is never taken", "false")


def _seasons_it_comes_in(step: _Step, raw: Mapping[str, Any]) -> list[int] | None:
    """Return the seasons in which a step's month comes, from 0.

    None where the month or the run is at fault itself.
    """
    name, opening = step.when.get("month"), raw.get("opening")
    written = opening.get("month") if isinstance(opening, Mapping) else None
    if name not in MONTH_NAMES or not isinstance(written, str):
        return None
    try:
        opening_k = month_of_water_year(parse_month(written))
    except ValueError:
        return None
    stated = number_at(raw, "sequences.seasons")
    seasons = MOST_SEASONS if stated is None or not 1 <= stated <= MOST_SEASONS else int(stated)
    return list(seasons_it_comes_in(name, opening_k, _planting_month(raw), seasons))


def seasons_it_comes_in(
    month: MonthName, opening_k: int, planting_month: MonthName, seasons: int
) -> range:
    """Return the seasons of a run in which a month comes, from 0.

    A run that opens after planting holds one season more.

    Examples
    --------
    >>> list(seasons_it_comes_in("November", 2, "October", 1))
    [0]
    >>> list(seasons_it_comes_in("August", 2, "October", 1))
    []
    """
    held = seasons + (opening_k > MONTH_NAMES.index(planting_month))
    return range(int(MONTH_NAMES.index(month) < opening_k), held)


def _planting_month(raw: Mapping[str, Any]) -> MonthName:
    """Return the planting month as written; October where it is left out or at fault."""
    outlook = raw.get("outlook")
    month = outlook.get("planting_month") if isinstance(outlook, Mapping) else None
    return month if month in MONTH_NAMES else "October"


def _loans(step: _Step, raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Check that the loans it names are there, with term left after a time of interest only."""
    loans = {str(loan.get("name")): loan for loan in tables_at(raw, "farm.money.loans")}
    known = ", ".join(loans) or "none, the plan has no loans"
    for key in LOAN_KEYS:
        name = step.do.get(key)
        if isinstance(name, str) and name not in loans:
            allowed = f"{known}; or take the step out as well"
            yield step.fault(f"do.{key}", name, "no loan is called so", allowed)
    years, named = step.do.get("interest_only_years"), str(step.do.get("loan"))
    term = loans[named].get("term_years") if named in loans else None
    if isinstance(years, int) and isinstance(term, int) and years >= term:
        problem = f"nothing is left to repay the loan in, which runs for {term} years more"
        yield step.fault("do.interest_only_years", years, problem, f"less than {term} years")


def _market(step: _Step, raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Check that water is traded where there is a market, at a price it may reach."""
    farm = raw.get("farm")
    trade = farm.get("trade") if isinstance(farm, Mapping) else None
    for kind in ("sell_water_ml", "buy_water_ml"):
        if step.do.get(kind) is not None and trade is None:
            yield step.fault(
                f"do.{kind}",
                step.do[kind],
                "the farm has no market for water",
                "a table [farm.trade], or no such step",
            )


def _not_owned(steps: list[_Step], raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Refuse steps that together sell or draw more than there is; a yearly sale in every year.

    A deposit drawn on year after year gives what is left of it.
    """
    for kind, (key, problem, allowed) in OWNED.items():
        owned, total = number_at(raw, key) or 0.0, 0.0
        for step in steps:
            amount = number_at(step.do, kind)
            if amount is None:
                continue
            sells_again = step.is_yearly and kind != "draw_deposit_aud"
            times = len(_seasons_it_comes_in(step, raw) or ()) if sells_again else 1
            total += amount * max(1, times)
            if total > owned or (kind == "sell_shares_ml" and total >= owned):
                yield step.fault(
                    f"do.{kind}", amount, f"{problem} {owned:,.0f}", allowed.format(owned)
                )
