"""Would the odds have held on a real river, behind dams of one, two and four years of mean flow?

The flow is the natural flow record at Lees Ferry (`tests/reference/lees_ferry`, CC0); dam, rules
and licences are invented around it and scale with its mean, so that nothing here is said of the
real river's dams. Nothing is tuned to the result. A long run, apart from the tests:

    python -m tests.benchmarks.lees_ferry_evidence [FILE.md]
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

from model.evidence.hindcast import hindcast
from model.evidence.judge import Evidence, judge
from model.plan.plan import Plan
from model.plan.text import check_plan
from model.record.record import Record, read_record

RECORD = Path(__file__).parents[1] / "reference" / "lees_ferry" / "lees_ferry_monthly.csv"
YEARS_OF_FLOW = (1, 2, 4)
SUMMER_CROP = (0.0, 0.02, 0.08, 0.10, 0.10, 0.20, 0.25, 0.20, 0.05, 0.0, 0.0, 0.0)
EVENLY = (1.0 / 12.0,) * 12

SHARES_OF_MEAN_FLOW = {
    "essential": 0.02, "river_loss": 0.03, "base_flow": 0.05, "high": 0.10, "general": 0.80,
}  # fmt: skip
"""What is taken from the dam each year at full allocation, as a share of mean flow."""


def plan_of(mean_ml: float, years_of_flow: int) -> Plan:
    """Return the invented valley around a dam of so many years of mean flow."""
    of_mean = {name: share * mean_ml for name, share in SHARES_OF_MEAN_FLOW.items()}
    monthly = {name: [of_mean[name] / 12.0] * 12 for name in of_mean}
    capacity_ml = years_of_flow * mean_ml
    return check_plan(
        {
            "title": f"A dam of {years_of_flow} years of mean flow (invented)",
            "record": RECORD.name,
            "invented": True,
            "valley": {
                "name": "An invented valley on a real flow record",
                "capacity_ml": capacity_ml,
                "dead_storage_ml": 0.02 * capacity_ml,
                "surface_storage_ml": [0.0],
                "surface_area_ha": [0.0],
                "lake_evaporation_mm": [0.0] * 12,
                "lake_rain_mm": [0.0] * 12,
                "essential_ml": monthly["essential"],
                "river_loss_ml": monthly["river_loss"],
                "base_flow_ml": monthly["base_flow"],
                "delivery_loss_frac": 0.1,
                "high_security": {"shares_ml": of_mean["high"], "pattern": EVENLY},
                "general_security": {"shares_ml": of_mean["general"], "pattern": SUMMER_CROP},
                "assessment": {
                    "years_ahead": 1,
                    "essential_reserve_months": 24,
                    "high_security_next_year_frac": 1.0,
                    "assured_inflow": "fixed",  # nothing is counted on before it is in the dam:
                    "assured_fixed_ml_per_month": 0.0,  # with the worst on record counted on, this
                    # steady river would announce everything every year, and no odds were tried
                },
                "accounts": {
                    "account_limit_ml_per_share": 1.0,
                    "carryover_limit_ml_per_share": 0.3,
                    "loss_mode": "socialised",
                    "spill_rule": "none",
                },
            },
            "opening": {
                "month": "2020-07",
                "storage_ml": 0.6 * capacity_ml,
                "account_ml_per_share": 0.0,
                "announced_to_date_ml_per_share": 0.0,
                "used_this_year_ml_per_share": 0.0,
                "used_last_year_ml_per_share": 0.0,
                "used_year_before_ml_per_share": 0.0,
                "high_security_used_ml": 0.0,
                "high_security_allocation_frac": 0.0,
            },
        },
        "invented",
    )


def lines_of(evidence: Evidence) -> Iterator[str]:
    """Lay out one dam's scores as a table."""
    yield "| method | season | skill, announced | skill, dam | bands 50/80/90 | PIT p | driest |"
    yield "|---|---|---|---|---|---|---|"
    for method in evidence.methods:
        for number, season in enumerate(method.seasons, start=1):
            announced, dam, driest = (
                season.amounts["announced"],
                season.amounts["storage"],
                season.driest,
            )
            skill, of_dam = announced.skill, dam.skill
            held = " / ".join(f"{100 * band.share:.0f}" for band in announced.bands)
            yield (
                f"| {method.method} | {number} | {skill.value:.2f} ({skill.low:.2f} to "
                f"{skill.high:.2f}) | {of_dam.value:.2f} ({of_dam.low:.2f} to {of_dam.high:.2f}) | "
                f"{held} | {announced.uniformity.p_value:.2f} | {driest.warned} of "
                f"{len(driest.water_years)}; {driest.chance_in_driest:.2f} against "
                f"{driest.chance_in_others:.2f} |"
            )


def report(record: Record) -> Iterator[str]:
    """Work through the dams, a section each."""
    _, totals_ml = record.water_year_totals_ml()
    yield "# Lees Ferry flow behind invented dams of 1, 2 and 4 years of mean flow\n"
    yield (
        "Written by `python -m tests.benchmarks.lees_ferry_evidence`; not tuned. Skill: share of "
        "the long-run record's error (fair CRPS) taken away, with its 95 % interval. Bands: "
        "percent of years in which the 50, 80 and 90 % bands of water announced held. Driest: "
        "warned of, and the mean chance said of so little water in the driest tenth of years "
        "against others."
    )
    for years_of_flow in YEARS_OF_FLOW:
        began = time.perf_counter()
        evidence = judge(hindcast(plan_of(float(totals_ml.mean()), years_of_flow), record))
        tried = evidence.hindcast
        announced = tried.walk.every_announced_ml_per_share
        stood_in = {each.method: each.stands for each in evidence.replaced}
        yield (
            f"\n## {years_of_flow} years of mean flow\n\n{tried.years} years stood in. Announced: "
            f"mean {announced.mean():.2f} ML per share, full in "
            f"{(announced > 0.999).mean():.0%} of years, nothing in "
            f"{(announced < 1e-9).mean():.0%}. Blocks stood in for regimes in "
            f"{stood_in.get('regimes', 0)} years.\n"
        )
        yield from lines_of(evidence)
        print(f"{years_of_flow}: {time.perf_counter() - began:.0f} s", file=sys.stderr)


def main() -> None:
    """Write the report to a file, or show it."""
    text = "\n".join(report(read_record(RECORD))) + "\n"
    if len(sys.argv) > 1:
        Path(sys.argv[1]).write_text(text)
    else:
        print(text)


if __name__ == "__main__":
    main()
