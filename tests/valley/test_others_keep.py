"""What the average holder keeps in the account, and lets go of in a lean season.

Kept is at most `others_keep_ml_per_share`, and only of what stands above
`others_keep_above_ml_per_share` of the season's water so far: account and use.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from model.outlook.replay import replay_months
from model.plan.text import check_plan
from model.record.record import Record, read_record
from model.valley.others import kept_ml_per_share
from model.valley.rules import Rules, rules_of
from model.water_year import parse_month
from tests.textbook_dam import record_of_months, textbook_plan

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"


def rules_with(**general_security: float) -> Rules:
    """Rules of a dam without losses, with this keep."""
    raw = textbook_plan(100.0, general_security_ml=10.0).model_dump(exclude_none=True)
    raw["valley"]["general_security"] |= general_security
    return rules_of(check_plan(raw, "keep").valley, record_of_months([0.0] * 12))


@pytest.mark.parametrize(
    ("account", "used", "kept"),
    [
        (0.2, 0.0, 0.0),  # 0.2 is no more than 0.35: all is released
        (0.5, 0.0, 0.15),  # 0.5 - 0.35
        (0.9, 0.0, 0.4),  # 0.55 stands above, 0.4 is the most
        (0.2, 0.3, 0.15),  # use counts: 0.2 + 0.3 - 0.35
        (0.35, 0.0, 0.0),  # the edge itself
    ],
)
def test_keep_when_the_season_is_lean_then_less_is_kept(
    account: float, used: float, kept: float
) -> None:
    """Keep 0.4 above 0.35, worked by hand."""
    rules = rules_with(others_keep_ml_per_share=0.4, others_keep_above_ml_per_share=0.35)
    found = kept_ml_per_share(np.array([account]), np.array([used]), rules)
    assert float(np.asarray(found).item()) == pytest.approx(kept, abs=1e-15)


def test_keep_when_nothing_is_said_of_lean_seasons_then_all_of_it_is_kept() -> None:
    """Left out, the second figure is 0, and the first alone decides."""
    rules = rules_with(others_keep_ml_per_share=0.4)
    assert kept_ml_per_share(np.array([0.2]), np.array([0.0]), rules) == 0.4


@pytest.fixture(name="record", scope="module")
def _record() -> Record:
    """Record of the contract."""
    return read_record(CONTRACT / "record.csv")


def used_in_driest_tenth(record: Record, keep: float, above: float) -> float:
    """Mean use, ML per share, in the tenth of the years in which least is used.

    On the contract's valley and record, where some years announce nothing to general security.
    """
    raw: dict[str, Any] = tomllib.loads((CONTRACT / "plan_keep.toml").read_text(encoding="utf-8"))
    raw["valley"]["general_security"] |= {
        "others_keep_ml_per_share": keep,
        "others_keep_above_ml_per_share": above,
    }
    first, last = parse_month("1900-09"), parse_month("2024-06")
    ledger = replay_months(check_plan(raw, "keep"), record, first, last).columns
    shares_ml = raw["valley"]["general_security"]["shares_ml"]
    months = slice(10, None)  # whole water years
    used = ledger["general_security_ml"][months].reshape(-1, 12).sum(axis=1) / shares_ml
    announced = ledger["announced_ml_per_share"][months].reshape(-1, 12).sum(axis=1)
    assert (announced == 0.0).sum() >= 2
    return float(np.sort(used)[: used.size // 10].mean())


@pytest.mark.parametrize(("keep", "above"), [(0.2, 0.2), (0.4, 0.35)])
def test_keep_when_it_is_released_in_lean_seasons_then_dry_years_use_more(
    record: Record, keep: float, above: float
) -> None:
    """Water held over serves the driest tenth of years only where it is let go then.

    The sign alone is checked: common practice, no source. Never released, the keep is a floor under
    the account that no dry year may touch.
    """
    assert used_in_driest_tenth(record, keep, above) > used_in_driest_tenth(record, keep, 0.0)
