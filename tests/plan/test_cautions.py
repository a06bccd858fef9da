"""Is a person told which opening figures to look at again, on every way out?"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from model.brief.decision_page import cautions_of
from model.brief.workbook import inputs_of
from model.cli import main
from model.decide.findings import findings_of
from model.plan.cautions import all_cautions, not_set_since, opening_cautions, undated_words
from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import edit_plan, parse_plan, read_plan
from tests.brief_plan import contract_record, farm_plan_text

pytestmark = pytest.mark.usefixtures("few_records")

DATED = {
    "opening.sources": {
        "storage_ml": {"date": "2025-09-01"},
        "announced_to_date_ml_per_share": {"date": "2025-09-03"},
        "high_security_allocation_frac": {"date": "2025-09-01"},
        "account_ml_per_share": {"date": "2025-09-02"},
    },
    "farm.opening.sources": {"bank_aud": {"date": "2025-09-01"}},
}


def demonstration(**changes: Any) -> Plan:
    """Return the demonstration with some figures changed, by dotted key."""
    text = demonstration_plan().read_text("utf-8")
    return parse_plan(edit_plan(text, changes).encode(), "plan")


def test_sources_when_dated_in_the_month_then_nothing_is_said() -> None:
    """A figure read on the month's first day or later is of the month; own account is left out."""
    assert all_cautions(demonstration(**DATED)) == ()


def test_sources_when_older_than_the_month_then_named_with_their_dates() -> None:
    """A new month begins and two figures are those of the month before: both are named."""
    old = {
        "opening.sources.storage_ml": {"date": "2025-08-31"},
        "farm.opening.sources.bank_aud": {"date": "2025-07-15"},
    }
    said = opening_cautions(demonstration(**DATED | old))
    assert said == (
        "The dam (2025-08-31) and the bank (2025-07-15) were read before September 2025 began: "
        "see that the run may open so.",
    )
    later = opening_cautions(demonstration(**DATED, **{"opening.month": "2025-10"}))
    assert later[0].count("(2025-09-") == 5


def test_sources_when_read_well_into_the_month_then_asked_which_month_is_meant() -> None:
    """The run adds the whole month's flow: 20 September is nearer to October's opening."""
    late = {"opening.sources.storage_ml": {"date": "2025-09-20"}}
    (said,) = opening_cautions(demonstration(**DATED | late))
    assert said.startswith("The dam (2025-09-20) was read when much of September 2025 had gone")
    assert said.endswith("or open the run in October 2025.")
    tenth = {"opening.sources.storage_ml": {"date": "2025-09-10"}}
    assert opening_cautions(demonstration(**DATED | tenth)) == ()


def test_sources_when_undated_then_said_where_it_is_printed_but_not_on_every_page() -> None:
    """A figure read nowhere, or with no date, is named; an own account is when there is one."""
    said = undated_words(demonstration())
    assert said.startswith("No date says when the dam, what is announced, high security")
    assert "own account" not in said
    own = demonstration(**{"farm.opening.account_ml_per_share": 0.3})
    assert "the farm's own account and the bank were read" in undated_words(own)
    assert opening_cautions(own) == ()
    undated = {"opening.sources.storage_ml": {"read_in": "a notice"}}
    assert undated_words(demonstration(**DATED | undated)) == (
        "No date says when the dam was read: it is taken as of the start of September 2025."
    )


def test_month_when_changed_then_what_still_stands_is_named_and_nothing_else() -> None:
    """Dam and bank set anew drop out; a farm without loans or own account has none to name."""
    before = read_plan(demonstration_plan())
    assert not_set_since(before, demonstration(**{"opening.storage_ml": 80_000.0})) == ""
    moved = {"opening.month": "2025-10"}
    assert not_set_since(before, demonstration(**moved)) == (
        "These figures were last set for September 2025; look at each again for October 2025: "
        "dam, announced so far, high security, average account, its use this water year, on-farm "
        "storage, land prepared, crops in the ground, bank, money to come, debts."
    )
    new = {"opening.storage_ml": 80_000.0, "farm.money.bank_aud": 1.0}
    said = not_set_since(before, demonstration(**moved, **new))
    assert "dam" not in said
    assert "bank" not in said
    assert "announced so far" in said
    water = before.model_copy(update={"farm": None})
    said = not_set_since(water, demonstration(**moved).model_copy(update={"farm": None}))
    assert said.endswith("average account, its use this water year.")


def test_brief_and_workbook_when_a_source_is_old_then_both_say_it() -> None:
    """The caution stands under the plan on the first page, and on the sheet of inputs."""
    text = farm_plan_text(50)
    drier = {"sequences.flow_factor": 0.9}
    old = {"opening.sources": {"storage_ml": {"date": "1950-01-01"}}}
    plan = parse_plan(edit_plan(text, old | drier).encode(), "plan")
    found = findings_of(plan, contract_record())
    said = [block["text"] for block in cautions_of(found)]
    assert said.pop(0) == "This counts on a river drier than the record: all flow times 0.9."
    assert said[0].startswith("The dam (1950-01-01) was read before ")
    assert said[1].startswith("cotton, solid: 7.0 ML a hectare is planned, 81 % of the 8.6 ML")
    assert said[2].startswith("No date says when what is announced")
    kinds = [block["kind"] for block in cautions_of(found)]
    assert kinds == ["text", "text", "text", "note"]
    rows = [row[1] for row in inputs_of(found, dt.date(2026, 1, 2)) if row[0] == "to look at again"]
    assert sorted(rows) == sorted(said)


@pytest.mark.parametrize("command", ["outlook", "compare"])
def test_command_when_figures_are_undated_then_printed(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command line says the same words as the page."""
    words = [command, str(demonstration_plan()), "--out", str(tmp_path), "--count", "40"]
    assert main([*words, "--no-table", "--seasons", "1"]) == 0
    assert undated_words(read_plan(demonstration_plan())) in capsys.readouterr().out
