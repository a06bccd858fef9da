"""How is the worth of one more megalitre told?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from model.decide.last_megalitre import LastMegalitre, Use
from model.say.numbers import ha, ml, money_for_each

USES: Final[dict[Use, str]] = {
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


def last_megalitre_in_words(found: Sequence[LastMegalitre]) -> str:
    """Return what the next megalitre is worth, and where the best use changes."""
    if not found:
        return NOT_WORKED_OUT
    lines = ["One more megalitre is worth, with the standard error of the draws:"]
    for one in found:
        worth = ", ".join(
            f"{money_for_each(curve.worth_aud_per_ml[0], 'ML')} {USES[use]} (± "
            f"{money_for_each(curve.error_aud_per_ml[0], 'ML')})"
            for use, curve in one.curves.items()
        )
        lines.append(f"  {one.strategy}, about {ha(one.area_ha)}: {worth}{_turns(one)}")
    return "\n".join([*lines, WHAT_IT_IS])


def _turns(one: LastMegalitre) -> str:
    """Return where the best use changes."""
    if not one.crossings:
        return f"; best {USES[one.best_use()]} over the whole range"
    return "".join(
        f"; best {USES[turn.best_before]} up to {ml(turn.volume_ml)} more, then "
        f"{USES[turn.best_after]}"
        for turn in one.crossings
    )
