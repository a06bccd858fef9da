"""A verdict in figures, for the faces that word one."""

from __future__ import annotations

from model.evidence.recommend import Recommendation
from model.evidence.reliability import Scored
from model.evidence.verdict import (
    BandHeld,
    DriestWarned,
    ErrorTaken,
    MethodLine,
    NoneSaid,
    SeasonVerdict,
    Verdict,
)


def a_verdict(method: str = "blocks") -> Verdict:
    """Make the verdict of one season: the band held in 40 of 50 years, none said too low."""
    season = SeasonVerdict(
        band=BandHeld("as_promised", 40, 50, 34, 46),
        error=ErrorTaken("less", 0.3, 0.1, 0.5),
        uneven_by_luck=None,
        none=NoneSaid("too_low", 12, 50, 6.2, 2.0, 10.4),
        driest=DriestWarned("warned", ("1990-91", "1982-83"), 1, 0.4, 0.5, 0.1, 3, 45, 0.1),
    )
    return Verdict(
        method=method,
        first_stand="September 1970",
        last_stand="September 2019",
        stands=50,
        seasons=(season,),
        no_better=(("storage", 1),),
        methods=(MethodLine(method, (0.3,), (0.8,)),),
        replaced=(),
        recommended=Recommendation(
            method="present",
            error_frac={"historical": 0.8, "present": 0.7},
            stands_over=50,
            chosen_at={"historical": 10, "present": 40},
            nested_skill=(Scored(0.26, 0.1, 0.4),),
            nested_gain=(Scored(0.05, -0.01, 0.11),),
        ),
    )
