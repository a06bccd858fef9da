"""What must be settled before hectares head the page of this season; what the date asks."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from dashboard import state
from dashboard.findings import guards
from model.plan.demonstration import demonstration
from model.plan.plan import Plan
from model.say.steps import CONSENT
from model.water_year import MONTH_NAMES
from tests.dashboard.window import clean, keep_home, opened, plain, said, token_of

QUICK = {"sequences.count": 40, "sequences.seasons": 1, "sequences.method": "blocks"}
OURS = {"ours": ["farm.licence", "opening", "farm.opening", "farm.crops", "farm.money.bank_aud"]}
"""Shares, account, water per hectare and bank are right as they are."""

IN_GROUND = [{"crop": "cotton", "layout": "solid", "area_ha": 150.0, "soil_water_mm": 140.0}]


def _on(
    day: str, folder: Path, patch: pytest.MonkeyPatch, changes: Mapping[str, Any] = OURS
) -> AppTest:
    """Open the first page by a clock."""
    patch.setattr(state, "today", lambda: dt.date.fromisoformat(day))
    keep_home(folder, patch, {**QUICK, **changes})
    return clean(opened())


def _heading(window: AppTest) -> str:
    return plain(window.title[0].value)


def _changed(**figures: object) -> Plan:
    plan, _ = demonstration()
    return plan.model_copy(update=figures)


def test_needed_when_the_example_is_open_then_all_four_and_each_goes_once_it_is_ours() -> None:
    """Shares, account, water per hectare, bank: by what they are and the page they are on."""
    plan = _changed()
    needed = guards.still_needed(plan)
    assert [each.page for each in needed] == ["our_farm", "today", "our_farm", "today"]
    assert needed[0].words == "Shares: 3,000"
    for each in needed:
        left = guards.still_needed(_changed(ours=each.still))
        assert each not in left
        assert len(left) == 3
    assert guards.still_needed(_changed(invented=False)) == ()


def test_days_when_said_to_be_right_then_counted_from_that_day() -> None:
    """From the first of the opening month, or from the last look, whichever is later."""
    plan = _changed()  # opens in September 2025
    assert guards.days_old(plan, dt.date(2025, 10, 2), None) == 31
    assert guards.days_old(plan, dt.date(2025, 10, 3), None) > guards.MOST_DAYS
    assert guards.days_old(plan, dt.date(2025, 12, 1), dt.date(2025, 11, 30)) == 1
    assert guards.days_old(plan, dt.date(2025, 9, 2), dt.date(2025, 1, 1)) == 1


def test_headline_when_the_farm_is_the_examples_then_no_hectares_stand_in_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Until the last of the four is taken as ours; of the example nobody asks how old it is."""
    window = _on("2026-11-28", tmp_path, monkeypatch, {})
    assert _heading(window) == guards.EXAMPLE_FARM
    assert "With the example's figures" in said(window)
    monkeypatch.setattr(state, "today", lambda: dt.date(2025, 9, 20))
    for _ in range(4):
        assert _heading(window) == guards.EXAMPLE_FARM
        clean(window.button(key="needed_ours.0").click().run())
    assert re.match(r"\d+ ha, best on average: finished ", _heading(window))
    assert not any(words in _heading(window) for words in CONSENT.values())


def test_headline_when_balances_are_old_then_it_waits_until_they_are_said_to_be_right(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page answers nothing before; what was said stays with the plan over a reload."""
    window = _on("2025-10-03", tmp_path, monkeypatch)
    assert _heading(window) == "Are the balances of September 2025 still right?"
    assert all(each.key != "plant_area" for each in window.slider)
    clean(window.button(key="still_right").click().run())
    assert re.match(r"\d+ ha", _heading(window))
    again = clean(opened(token=token_of(window)))
    assert re.match(r"\d+ ha", _heading(again))


@pytest.mark.parametrize(
    ("day", "asks", "decided_in"),
    [
        ("2026-05-20", "How many hectares to prepare for 2026-27?", "October 2026"),
        ("2026-07-01", "How many hectares of cotton to fertilise and plant?", "October 2026"),
        ("2025-09-20", "How many hectares of cotton to fertilise and plant?", "October 2025"),
        ("2026-01-10", "How many hectares of cotton to finish?", "January 2026"),
    ],
)
def test_page_when_the_date_moves_then_it_asks_that_dates_decision(
    day: str, asks: str, decided_in: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Clock and opening month moved together; nothing that would change it comes after it."""
    of_date = {"opening.month": day[:7], "farm.money.forward_sales": None}
    if day[5:7] == "01":
        of_date["farm.opening.crops"] = IN_GROUND  # type: ignore[assignment]
    window = _on(day, tmp_path, monkeypatch, {**OURS, **of_date})
    assert next(plain(each.value) for each in window.subheader) == asks
    assert re.search(r"\d+ ha", _heading(window))
    month, year = decided_in.split()
    text = said(window)
    after = text[text.index("The last megalitre") :]
    for name, number in re.findall(r"[Oo]n 1 ([A-Z][a-z]+) (\d{4})", after):
        assert _months(name, int(number)) <= _months(month, int(year)), (name, number)


def _months(name: str, year: int) -> int:
    """Number a calendar month; MONTH_NAMES begins in July."""
    return 12 * year + (MONTH_NAMES.index(name) + 6) % 12
