"""How is the worth of one more megalitre said, and written down?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from model.decide.last_megalitre import LastMegalitre, Use

USE_WORDS: Final[dict[Use, str]] = {
    "planted": "planted",
    "held": "held in the account",
    "on_farm": "held on the farm",
    "sold": "sold today",
}

WHAT_IT_IS: Final = (
    "Rise in what the run is worth, its end valued, for each megalitre more put to one use today; "
    "the same sequences throughout."
)

NOT_WORKED_OUT: Final = (
    "What the last megalitre is worth is not worked out: the account is full, or the run has no "
    "planting."
)


def last_megalitre_table(found: Sequence[LastMegalitre]) -> dict[str, Any]:
    """Lay the curves out for a file."""
    if not found:
        return {"not_worked_out": NOT_WORKED_OUT}
    return {"what_it_is": WHAT_IT_IS, "strategies": [_curves(one) for one in found]}


def last_megalitre_in_words(found: Sequence[LastMegalitre]) -> str:
    """Say what the next megalitre is worth, and where the best use changes."""
    if not found:
        return NOT_WORKED_OUT
    lines = ["One more megalitre is worth (AUD, with standard error):"]
    for one in found:
        worth = ", ".join(
            f"{curve.worth_aud_per_ml[0]:,.0f} {USE_WORDS[use]} (+/- "
            f"{curve.error_aud_per_ml[0]:,.0f})"
            for use, curve in one.curves.items()
        )
        lines.append(f"  {one.strategy}, about {one.area_ha:,.0f} ha: {worth}{_turns(one)}")
    return "\n".join([*lines, WHAT_IT_IS])


def _turns(one: LastMegalitre) -> str:
    """Say where the best use changes."""
    if not one.crossings:
        return f"; best {USE_WORDS[one.best_use()]} over the whole range"
    return "".join(
        f"; best {USE_WORDS[turn.best_before]} up to {turn.volume_ml:,.0f} ML more, then "
        f"{USE_WORDS[turn.best_after]}"
        for turn in one.crossings
    )


def _curves(one: LastMegalitre) -> dict[str, Any]:
    """Lay out one strategy's curves."""
    return {
        "name": one.strategy,
        "area_ha": one.area_ha,
        "sequences": one.sequences,
        "best_use": one.best_use(),
        "uses": {
            use: {
                "volume_ml": curve.volume_ml.tolist(),
                "worth_aud_per_ml": curve.worth_aud_per_ml.tolist(),
                "error_aud_per_ml": curve.error_aud_per_ml.tolist(),
            }
            for use, curve in one.curves.items()
        },
        "crossings": [
            {
                "volume_ml": turn.volume_ml,
                "best_before": turn.best_before,
                "best_after": turn.best_after,
            }
            for turn in one.crossings
        ],
    }
