"""How is it told what the driest seasons on record would do if they came again from here?"""

from __future__ import annotations

from collections.abc import Sequence

from model.evidence.worst import Stretch
from model.say.method import drying_in_words
from model.say.numbers import ml, number, percent


def stretch_title(stretch: Stretch) -> str:
    """Return which seasons of the record a stretch is, and how dry they were."""
    count = len(stretch.seasons)
    seasons = "season" if count == 1 else f"{count} seasons"
    drying = f", {drying_in_words(stretch.drying)}" if stretch.drying else ""
    return (
        f"The driest {seasons} on record ({stretch.years}, inflow {percent(stretch.inflow_share)} "
        f"of the usual{drying})"
    )


def worst_in_words(stretches: Sequence[Stretch]) -> list[str]:
    """Return what each stretch would bring, a sentence a stretch."""
    return [
        f"{stretch_title(stretch)}, if it came again from here: announced "
        + ", ".join(
            f"{number(season.announced_to_date_ml_per_share, 2)} in {season.water_year}"
            for season in stretch.seasons
        )
        + f" ML a share; the dam ends at {ml(stretch.seasons[-1].storage_end_ml)}."
        for stretch in stretches
    ]
