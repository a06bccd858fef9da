"""What does a reader of a written file need beside its numbers?

The command that writes a file puts these under `notes`: what the numbers mean, formulas, cautions.
The writers themselves hold numbers alone, so no figure depends on a word.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from model.plan.farm import Farm
from model.say.cautions import CAUTION, FARM_CAUTION, what_varies
from model.say.measures import formulas

Notes = Mapping[str, object]

QUANTILES: Final = "chance of non-exceedance, Hyndman and Fan type 7"

_ERRORS: Final = {
    "low, high": "error of the draws, 95 %: Wilson's interval, or order statistics",
    "record_low, record_high": "error of the record, 95 %: its years resampled in blocks",
}


def outlook_notes() -> Notes:
    """Return what a reader of outlook.json needs beside its numbers."""
    return {"quantiles": QUANTILES, "errors": _ERRORS, "caution": CAUTION}


def compare_notes(farm: Farm) -> Notes:
    """Return what a reader of compare.json needs beside its numbers."""
    from model.say import how_good, last_megalitre
    from model.say.row_layouts import row_layouts_in_words

    return {
        "quantiles": QUANTILES,
        "errors": _ERRORS,
        "worst_tenth": "mean of the worst tenth of the sequences",
        "what_varies": what_varies(farm),
        "row_layouts": row_layouts_in_words(farm),
        "formulas": formulas(
            ("cover", "term_debt_cover", "interest_cover", "equity_frac", "loan_to_value_frac")
        ),
        "dry_seasons_survived": "seasons in a row with nothing announced, from today, before a "
        "payment is missed or the overdraft passes its limit",
        "last_megalitre": f"{last_megalitre.WHAT_IT_IS} Empty: {last_megalitre.NOT_WORKED_OUT}",
        "how_good": f"{how_good.WHAT_IT_IS} Left out: {how_good.LEFT_OUT}. "
        f"Null: {how_good.NOT_MEASURED}",
        "caution": FARM_CAUTION,
    }


def decide_notes(farm: Farm) -> Notes:
    """Return what a reader of decide.json needs beside its numbers."""
    from model.say import season_question

    return {
        "errors": {
            "draws_low, draws_high": "error of the draws, 95 %",
            "record_low, record_high": "error of the record, 95 %: its years resampled in blocks",
        },
        "ways": season_question.WHAT_IT_IS,
        "held": season_question.HELD_IS,
        "what_varies": what_varies(farm),
        "caution": FARM_CAUTION,
    }


def evidence_notes(low_ml_per_share: float) -> Notes:
    """Return what a reader of evidence.json needs beside its numbers.

    Parameters
    ----------
    low_ml_per_share
        What is announced at most in the driest tenth of years.
    """
    return {
        "announced": "ML a share announced to date at the season's end",
        "storage": "ML in the dam at the season's end",
        "none": "nothing more is announced in the season's months from the stand on",
        "half": "at least 0.5 ML a share is announced to date at the season's end",
        "low": f"no more than {low_ml_per_share:.4g} ML a share, the driest tenth of years, is "
        "announced",
        "long_run": "the replayed amounts of all other water years, whatever the dam held; in "
        "season 1 what was announced before the stand and what other years announced from then on",
        "crps": "each sequence as likely as any other; less is better; skill is the share of the "
        "long-run record's taken away",
        "pit": "place of what came among the sequences, drawn among ties",
        "bands": "central, counted by PIT; accepted_low and accepted_high bound what luck brings",
        "low, high": "95 %, from resampling the hindcast's years in blocks",
        "drying": "none: a drying factor and what the plan states of today are left off",
        "assured inflow": "from the record before each stand",
        "caution": CAUTION,
    }
