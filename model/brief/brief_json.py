"""How is a brief written down as data, so that every figure on paper can be found and checked?

Each part of the paper has its own table of the figures behind it, in full digits, by the same names
as in the other files; `printed` holds the words and cells as they are on paper.
"""

from __future__ import annotations

import datetime as dt
import json
from typing import Any, Final

from model.brief.brief_file import document_of
from model.brief.plan_hash import plan_played, plan_sha256
from model.decide.findings import Findings
from model.decide.output import amount_json, chance_json, compare_document, made_from
from model.farm.thin_water import thin_water
from model.files import plain
from model.outlook.chances import QUANTILES
from model.outlook.output import outlook_document
from model.record.record import FloatArray
from model.say.lender import DEBT_PARTS
from model.say.measures import MEASURES, formulas
from model.say.paper import worst_month
from model.water_year import format_month

LOOKS: Final = ("svg", "widths", "text_columns")
"""Of a printed block: how it looks."""

DRIEST: Final = (
    "area_planted_ha",
    "water_carried_ml",
    "closing_cash_aud",
    "peak_overdraft_aud",
    "term_debt_cover",
)
"""What the driest seasons on record bring, come again."""


def brief_json(found: Findings, date: dt.date, plan_file: str = "") -> str:
    """Return a brief as JSON text; the program's version is on a line of its own.

    Parameters
    ----------
    found, date, plan_file
        As of the brief.
    """
    plan, compared = found.odds.plan, compare_document(found.compared)
    document = {
        **made_from(found.setting, found.odds.count),
        "date": date.isoformat(),
        "strategy": found.outcome.strategy.name,
        "plan_sha256": plan_sha256(plan),
        "plan": plan_played(plan),
        "record_fill": plan.record_fill,
        "decision": _decision(found),
        "water": outlook_document(found.odds),
        "planting": _planting(found),
        "lender": _lender(found),
        "security": _security(found),
        "trust": {"verdict": plain(found.verdict), "announced": plain(found.held)},
        "strategies": compared["strategies"],
        "yearly_water_price": compared["yearly_water_price"],
        "formulas": formulas(MEASURES),
        "printed": _printed(document_of(found, date, plan_file)),
    }
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _decision(found: Findings) -> dict[str, Any]:
    """Arrange what the first page decides by, beside the strategy's own figures."""
    month, worst_aud = worst_month(found)
    return {
        "general_security_shares_ml": found.setting.farm.licence.general_security_shares_ml,
        "overdraft_limit_aud": found.limit_aud,
        "limit_needed_9_of_10_aud": found.limit_needed_aud,
        "worst_month": format_month(month),
        "bank_then_reached_9_of_10_aud": worst_aud,
        "loan_payments_due": found.outcome.payments_due,
        "planned_ml_per_ha": found.planned_ml_per_ha,
        "thin_layouts": plain(thin_water(found.setting.rules, found.setting.strategies)),
        "in_the_ground": plain(found.ground),
        "triggers": plain(found.triggers),
    }


def _planting(found: Findings) -> dict[str, Any]:
    """Arrange what is planted by the water there is, and bank and debt by month."""
    cash = found.cash
    return {
        "by_water_at_planting": plain(found.outcomes),
        "lowest_months": [
            {"month": format_month(month), "chance": chance_json(often)}
            for month, often in found.lowest_months
        ],
        "sequences_by_month": cash.sequences,
        "by_month": [
            {
                "month": format_month(cash.first_month + t),
                "bank_aud": _quantiles(cash.quantiles_aud[:, t]),
                "debt_aud": _quantiles(cash.debt_quantiles_aud[:, t]),
                "past_limit_frac": float(cash.past_limit_frac[t]),
            }
            for t in range(cash.quantiles_aud.shape[1])
        ],
    }


def _quantiles(values: FloatArray) -> dict[str, float]:
    """Arrange the published quantiles of a month."""
    return {str(frac): float(value) for frac, value in zip(QUANTILES, values, strict=True)}


def _lender(found: Findings) -> dict[str, Any]:
    """Arrange cover over the run with its parts, the stress set, break-evens and driest seasons."""
    debts, outcome = found.debts, found.outcome
    return {
        "covers": {
            name: None if amount is None else amount_json(amount)
            for name, amount in outcome.covers.items()
        },
        "parts_mean_aud": {name: float(getattr(debts, name).mean()) for name in DEBT_PARTS},
        "stress": [
            {
                "case": case.name,
                "meaning": case.meaning,
                "price_aud_per_unit": case.price_aud_per_unit,
                **plain(case.result),
                "lowest_cash_month": format_month(case.result.lowest_cash_month),
                "less_than_planned": {
                    name: getattr(found.stress.as_planned, name) - getattr(case.result, name)
                    for name in ("planted_ha", "costs_aud", "income_aud")
                },
            }
            for case in found.stress.cases
        ],
        "stress_sequences": found.stress.sequences,
        "break_evens": plain(found.stress.break_evens),
        "driest_seasons": _driest(found),
    }


def _driest(found: Findings) -> dict[str, Any] | None:
    """Arrange the driest seasons on record, come again; None where the record has none."""
    results = found.worst_results
    if found.worst is None or results is None:
        return None
    own = {name: plain(results[name][found.at, 0]) for name in DRIEST}
    seasons: dict[str, Any] = plain(found.worst)
    return {**seasons, **own}


def _security(found: Findings) -> dict[str, Any]:
    """Arrange request, securities, loan to value and covenants, as typed and as worked out."""
    secured = found.credit.secured
    return {
        "request": found.credit.credit.model_dump(mode="json"),
        "value_aud": secured.value_aud,
        "after_the_fall_aud": secured.fallen_aud,
        "each_after_the_fall_aud": [secured.fallen(each.value_aud) for each in secured.securities],
        "peak_debt_month": format_month(secured.peak.month),
        "peak_debt_aud": plain(secured.peak.debt_aud),
        "loan_to_value_frac": plain(secured.loan_to_value),
        "covenants": [
            {
                **one.covenant.model_dump(mode="json"),
                "by_season": [chance_json(each) for each in one.by_season],
                "in_run": chance_json(one.in_run),
            }
            for one in found.credit.covenants
        ],
    }


def _printed(document: dict[str, Any]) -> dict[str, Any]:
    """Return the paper's words and cells, without how they look."""
    kept = {key: value for key, value in document.items() if key != "parts"}
    parts = [
        {**part, "blocks": [_bare(block) for block in part["blocks"]]} for part in document["parts"]
    ]
    return {**kept, "parts": parts}


def _bare(block: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in block.items() if key not in LOOKS}
