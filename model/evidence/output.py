"""How is the evidence written down, so that anyone can make it again?

`evidence.json` carries the verdict, every score with its interval, and what they were made from;
`hindcast.csv` has one row for each year stood in, season ahead and method.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterator, Mapping
from importlib.metadata import version
from typing import Final

from model.evidence.decisions import Decisions
from model.evidence.fingerprint import rules_fingerprint
from model.evidence.hindcast import Cases, Hindcast
from model.evidence.stand import AMOUNTS, QUANTILES
from model.evidence.walk import KNOWN_YEARS
from model.evidence.whole import Whole
from model.files import plain
from model.water_year import format_month, water_year_label

UNITS: Final = {"announced": "ml_per_share", "storage": "ml"}
EVENT_NAMES: Final = ("none", "half", "low")


def evidence_json(
    whole: Whole,
    notes: Mapping[str, object] | None = None,
    decisions: Decisions | None = None,
) -> str:
    """Return the evidence as JSON text; the program's version is on a line of its own."""
    evidence = whole.evidence
    hindcast = evidence.hindcast
    plan, record = hindcast.plan.with_drawing(method=whole.method), hindcast.record
    document = {
        "title": plan.title,
        "invented": plan.invented,
        "verdict": whole.verdict,
        "method": plan.sequences.method,
        "settings": plan.sequences.model_dump(include={"kind", "block_years", "climate_indices"}),
        "seed": plan.sequences.seed,
        "rules_fingerprint": rules_fingerprint(plan),
        "draws_each": hindcast.draws_each,
        "first_stand": format_month(hindcast.walk.stands[0].month),
        "last_stand": format_month(hindcast.walk.stands[-1].month),
        "years_known_before_the_first": KNOWN_YEARS,
        "record": {
            "name": record.name,
            "months": record.months,
            "span": list(record.span),
            "sha256": record.sha256,
            "filled": dict(record.filled),
        },
        "version": version("seasons-in-hand"),
        "low_ml_per_share": hindcast.low_ml_per_share,
        "block_years_by_season": evidence.block_years,
        "methods": evidence.methods,
        "replaced": evidence.replaced,
        "recommended": evidence.recommended,
        "announced": whole.held,
        "offer": whole.offer,
        "storage_observed": whole.storage,
        "diagnosis": whole.diagnosis,
        "today_by_method": [each for each in whole.today if each.replaced is None],
        "today_replaced": {each.method: each.replaced for each in whole.today if each.replaced},
        "worst_on_record": whole.worst,
        "decisions": decisions,
        "notes": notes or {},
    }
    return json.dumps(plain(document), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def hindcast_csv(hindcast: Hindcast) -> str:
    """Write one row for each year, season and method as CSV text; blank where nothing has come."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    rows = (row for cases in hindcast.themselves for row in _rows(hindcast, cases))
    first = next(rows)
    writer.writerow(first)
    writer.writerow(first.values())
    writer.writerows(row.values() for row in rows)
    return text.getvalue()


def _rows(hindcast: Hindcast, cases: Cases) -> Iterator[dict[str, object]]:
    """Arrange one method's rows."""
    for year, stand in enumerate(hindcast.walk.stands):
        for season in range(hindcast.seasons):
            at = (year, season)
            july_year = int(hindcast.walk.water_years[at])
            row: dict[str, object] = {
                "method": cases.method,
                "stand_month": format_month(stand.month),
                "season": season + 1,
                "water_year": water_year_label(12 * july_year + 6),
                "storage_start_ml": float(stand.state.storage_ml[0]),
                "account_start_ml_per_share": float(stand.state.account_ml_per_share[0]),
            }
            for amount in AMOUNTS:
                row |= _amount(hindcast, cases, amount, at)
            for event in EVENT_NAMES:
                row[f"chance_{event}"] = _cell(cases.chance[event][at])
                row[f"long_run_chance_{event}"] = _cell(hindcast.long_run_chance[event][at])
                row[f"{event}_came"] = _cell(hindcast.happened[event][at])
            yield row


def _amount(
    hindcast: Hindcast, cases: Cases, amount: str, at: tuple[int, int]
) -> dict[str, object]:
    """Arrange the odds of one amount, and what came."""
    unit = UNITS[amount]
    return {
        f"{amount}_came_{unit}": _cell(hindcast.observed[amount][at]),
        f"{amount}_mean_{unit}": _cell(cases.mean[amount][at]),
        **{
            f"{amount}_q{round(100 * frac):02d}_{unit}": _cell(cases.quantiles[amount][place][at])
            for place, frac in enumerate(QUANTILES)
        },
        f"{amount}_crps_{unit}": _cell(cases.crps[amount][at]),
        f"{amount}_long_run_crps_{unit}": _cell(hindcast.long_run_crps[amount][at]),
        f"{amount}_pit": _cell(cases.pit[amount][at]),
    }


def _cell(value: float) -> float | str:
    """Return a number, or a blank where there is none."""
    return float(value) if math.isfinite(value) else ""
