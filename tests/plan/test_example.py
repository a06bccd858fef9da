"""What of a plan is still the invented example's, and when is a plan its user's own?"""

from __future__ import annotations

from typing import Any

from model.plan.example import PARTS, is_invented, is_ours, parts_of, still_example
from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import edit_plan, parse_plan
from model.say.cautions import invented_in_words
from tests.farm_case import farm_plan

TEXT = demonstration_plan().read_text("utf-8")
SHARES = "farm.licence.general_security_shares_ml"


def changed(**figures: Any) -> Plan:
    """Change the demonstration; two underscores stand for a dot."""
    changes = {key.replace("__", "."): value for key, value in figures.items()}
    return parse_plan(edit_plan(TEXT, changes).encode(), "plan")


def test_parts_when_nothing_is_touched_then_every_figure_is_the_examples() -> None:
    """All five parts are there, and each has figures."""
    parts = parts_of(changed())
    assert [part.name for part in parts] == list(PARTS)
    assert all(part.figures == len(part.still) > 0 for part in parts)


def test_parts_when_a_figure_is_changed_then_it_alone_is_ours() -> None:
    """The other figures of its table stay the example's."""
    plan = changed(farm__licence__general_security_shares_ml=2_500.0)
    assert is_ours(plan, SHARES)
    assert not is_ours(plan, "farm.licence")
    farm = next(part for part in parts_of(plan) if part.name == "farm")
    assert len(farm.still) == farm.figures - 1


def test_parts_when_a_bank_balance_is_changed_then_it_counts_to_today() -> None:
    """The longest table that holds a figure says which part it belongs to."""
    today = next(part for part in parts_of(changed()) if part.name == "today")
    assert {"farm.money.bank_aud", "farm.opening.storage_ml", "opening.storage_ml"} <= set(
        today.still
    )


def test_parts_when_a_figure_is_right_as_it_is_then_saying_so_makes_it_ours() -> None:
    """A farm may have what the example has."""
    plan = changed(ours=[SHARES, "valley"])
    assert is_ours(plan, SHARES)
    assert is_ours(plan, "valley")
    assert not is_ours(plan, "farm.licence.high_security_shares_ml")


def test_record_when_it_is_a_copy_of_the_examples_then_it_is_the_examples() -> None:
    """Plans are kept with a copy under the record's name and a hash; another record is not it."""
    assert not is_ours(changed(record="demonstration_record-0123456789ab.csv"), "record")
    assert is_ours(changed(record="own.csv"), "record")
    assert is_ours(changed(record="demonstration.csv"), "record")


def test_invented_when_the_last_figure_is_ours_then_nothing_is_said() -> None:
    """While one is left it is said, by the name of its part; a plan of another's stays marked."""
    all_but_one = [key for key in still_example(changed()) if key != "valley.name"]
    one_left = changed(ours=all_but_one)
    assert is_invented(changed(), one_left)
    assert "1 of 27 figures of Sandlark valley (invented)." in invented_in_words(one_left)
    assert "Reedmace" not in invented_in_words(one_left)
    assert not is_invented(one_left, changed(ours=all_but_one, valley__name="Ours"))
    foreign = farm_plan({"invented": True})
    assert is_invented(foreign, foreign)
    assert foreign.valley.name in invented_in_words(foreign)
    assert invented_in_words(changed(invented=False)) == ""
