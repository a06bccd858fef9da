"""A dam that empties every summer: rounding must not leave it below nothing."""

import tomllib

from model.outlook.replay import replay_months
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan
from model.record.record import read_record


def test_replay_when_a_dam_without_dead_storage_empties_then_no_account_runs_away() -> None:
    """Sums of releases may differ from the water there is in the last digit; storage stays at 0."""
    path = demonstration_plan()
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    raw["valley"] |= {"capacity_ml": 300.0, "dead_storage_ml": 0.0}
    raw["opening"]["storage_ml"] = 90.0
    record = read_record(path.with_name(raw["record"]))
    ledger = replay_months(
        check_plan(raw, "tiny dam"), record, record.first_month, record.last_month
    )
    limit = raw["valley"]["accounts"]["account_limit_ml_per_share"]
    assert ledger.columns["storage_end_ml"].min() == 0.0
    assert ledger.columns["account_ml_per_share"].min() >= 0.0
    assert ledger.columns["account_ml_per_share"].max() <= limit
