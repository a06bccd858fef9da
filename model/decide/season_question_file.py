"""How is the answer to the date's question written down, so that anyone can make it again?"""

from __future__ import annotations

import json
from collections.abc import Mapping

from model.decide.output import made_from
from model.decide.rivers import Rivers
from model.decide.season_question import SeasonQuestion
from model.farm.setting import FarmSetting
from model.files import plain
from model.water_year import format_month


def decide_json(
    found: SeasonQuestion,
    setting: FarmSetting,
    rivers: Rivers,
    notes: Mapping[str, object] | None = None,
) -> str:
    """Return the answer as JSON text; the program's version is on a line of its own.

    Parameters
    ----------
    found
        The question and its answer.
    setting, rivers
        The farm, and the sequences that it was played on.
    notes
        What a reader needs beside the numbers.
    """
    resamples, draws_each = rivers.of.resampled.shape
    document = {
        **made_from(setting, rivers.of.drawn.size),
        "date": format_month(found.opening_month),
        "errors": {"record_resamples": resamples, "record_draws_each": draws_each},
        "best_ha": found.areas.best_ha,
        "alike_ha": list(found.areas.alike_ha),
        "better_course": plain(found.tried.better),
        **plain(found),
        "notes": notes or {},
    }
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
