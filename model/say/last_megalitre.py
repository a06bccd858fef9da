"""How is the worth of one more megalitre told?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from model.decide.last_megalitre import Curve, LastMegalitre, Use
from model.say.frontier import NOT_APART, WORST
from model.say.numbers import ha, ml, money, money_for_each, number, signed

USES: Final[dict[Use, str]] = {
    "planted": "planted",
    "held": "held in the account",
    "on_farm": "held on the farm",
    "sold": "sold today",
}

WHAT_IT_IS: Final = (
    "Rise in what the run is worth, its end valued, for each megalitre more put to one use today; "
    "the same sequences throughout. A best use, and a change of it, is named only beyond the "
    "errors of draws and record."
)

NOT_WORKED_OUT: Final = (
    "What the last megalitre is worth is not worked out: the account is full, or the run has no "
    "planting."
)


def last_megalitre_in_words(found: Sequence[LastMegalitre]) -> str:
    """Return what the next megalitre is worth, and where the best use changes."""
    if not found:
        return NOT_WORKED_OUT
    lines = ["One more megalitre is worth, on average (with the range the record supports):"]
    for one in found:
        worth = ", ".join(_use_in_words(use, curve) for use, curve in one.curves.items())
        lines.append(f"  {one.strategy}, about {ha(one.area_ha)}: {worth}; {turns_in_words(one)}")
        lines.append(f"    {risk_in_words(one)}")
    return "\n".join([*lines, WHAT_IT_IS])


def briefly_in_words(one: LastMegalitre) -> str:
    """Return what the next megalitre is worth in each use, and which is best, in one sentence."""

    def worth(use: Use, curve: Curve) -> str:
        low, high = (number(end) for end in curve.worth[0].headline)
        said = f"{money(curve.worth[0].value)} {USES[use]}"
        return said if low == high else f"{said} ({low} to {high})"

    uses = ", ".join(worth(use, curve) for use, curve in one.curves.items())
    return f"One more megalitre, about {ha(one.area_ha)}, is worth {uses}; {turns_in_words(one)}."


def _use_in_words(use: Use, curve: Curve) -> str:
    """Return what the first megalitre is worth in one use."""
    worth = curve.worth[0]
    low, high = worth.headline
    said = f"{money_for_each(worth.value, 'ML')} {USES[use]}"
    return said if money(low) == money(high) else f"{said} ({money(low)} to {money(high)})"


def turns_in_words(one: LastMegalitre) -> str:
    """Return the best use, and where it changes; or that uses cannot be told apart."""
    if one.crossings:
        return "; ".join(
            f"best {USES[turn.best_before]} up to about {ml(turn.volume_ml)} more, then "
            f"{USES[turn.best_after]}"
            for turn in one.crossings
        )
    told = [use for use in one.lead if use is not None]
    if not told:
        return f"which use is best {NOT_APART}"
    far = " over the whole range" if len(told) == len(one.lead) else f"; further on it {NOT_APART}"
    return f"best {USES[told[0]]}{far}"


def risk_in_words(one: LastMegalitre) -> str:
    """Return what the first megalitres do in bad runs and to missed payments."""
    bad = ", ".join(
        f"{money_for_each(curve.worst_tenth[0].value, 'ML')} {USES[use]}"
        for use, curve in one.curves.items()
    )
    missed = ", ".join(
        f"{signed(100.0 * curve.missed_per_100_ml[0].value, 1)} {USES[use]}"
        for use, curve in one.curves.items()
    )
    return f"{WORST}: {bad}; payments missed, times in 100 for 100 ML: {missed}"
