"""What is a right to carry water over worth to one farm? `python -m tests.long.carryover`.

The demonstration, 5,000 sequences, middle strategy. The farm is played with its accounts as they
are, and with nothing carried over 1 July (its own account alone: the valley stays as it is), each
with and without a market. Numbers are printed with their inputs; nothing can fail. Published:

- Carrying over steadies use and prices between wet and dry years: Whittle, ABARES, "Benefits of
  carryover in the southern Murray-Darling Basin". Its page was read; its figures were not at hand.
- Use in the driest tenth of years: none < spillable < continuous accounts (from memory).
- Yearly water expected for 2022-23 in an extreme dry, a dry, an average and a wet season: 150, 102,
  80 and 57 AUD/ML (ABARES, Water Market Outlook, April 2022): a dry season costs 1.3 times and an
  extreme one 1.9 times the average.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import Final

import numpy as np

from model.decide.compare import run_amounts
from model.decide.how_good import how_good
from model.farm.measures import measures_of
from model.farm.setting import FarmSetting
from model.plan.demonstration import demonstration
from model.record.record import FloatArray
from tests.long.nonsense import setting_at

SEQUENCES: Final = 5_000
DAM_FRAC: Final = 0.30
SEED: Final = 20_250_901
DRY_FRAC: Final = 0.025


def without_carryover(setting: FarmSetting) -> FarmSetting:
    """Return the farm with nothing of its own account carried over 1 July."""
    water = replace(setting.rules.water, carryover_limit_ml_per_share=0.0)
    return replace(setting, rules=replace(setting.rules, water=water))


def without_market(setting: FarmSetting) -> FarmSetting:
    """Return the farm with no water bought or sold."""
    return replace(setting, rules=replace(setting.rules, market=None))


def played(setting: FarmSetting) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return standing, margins of all seasons and water used in them, of the middle strategy."""
    one = setting.of_strategy(1)
    river = one.river(one.valley.first_sequences(SEQUENCES))
    found = measures_of(one.results(river), one.rules, one.valley.calendar).of_strategy(0)
    used = found["water_used_ml"][:, 1:]  # whole seasons
    return run_amounts(found)["standing_aud"], found["margin_aud"][:, 1:].ravel(), used.ravel()


def line(name: str, with_it: FloatArray, without: FloatArray) -> str:
    """Return what something adds in the mean and in the driest seasons, AUD."""
    dry = np.quantile(with_it, DRY_FRAC) - np.quantile(without, DRY_FRAC)
    return f"  {name:<46}{(with_it - without).mean():>12,.0f} mean {dry:>12,.0f} at 2.5 in 100"


def main() -> int:
    """Print what carrying over and trading are worth."""
    setting = setting_at(*demonstration(), DAM_FRAC, SEED, SEQUENCES)
    shares = setting.rules.water.shares_ml
    print(f"{setting.farm.name}: {shares:,.0f} shares, dam {DAM_FRAC:.0%}, seed {SEED}")
    whole, alone = played(setting), played(without_market(setting))
    lost, lost_alone = (
        played(without_carryover(setting)),
        played(without_carryover(without_market(setting))),
    )
    print("Carrying over, AUD (standing over the run; margin and ML of a season):")
    print(line("with a market, standing", whole[0], lost[0]))
    print(line("with a market, margin of a season", whole[1], lost[1]))
    print(line("with a market, water used in a season, ML", whole[2], lost[2]))
    print(line("without a market, standing", alone[0], lost_alone[0]))
    print(line("without a market, margin of a season", alone[1], lost_alone[1]))
    per_share = float((whole[0] - lost[0]).mean()) / shares
    print(f"  a share's right to carry over, three seasons: {per_share:,.1f} AUD")
    print("The market, AUD:")
    print(line("with carryover, standing", whole[0], alone[0]))
    print(line("without carryover, standing", lost[0], lost_alone[0]))
    print("Best rule over the strategies' own, yearly yardstick (see decide/optimum):")
    yardstick = how_good(setting)
    for name, way in (yardstick.ways if yardstick else {}).items():
        print(f"  {name:<46}{way.behind_programme_aud:>12,.0f} AUD behind the best rule")
    river = setting.river(setting.valley.first_sequences(SEQUENCES))
    prices = np.concatenate([month.price_aud_per_ml for month in river if month.k == 0])
    dear, dry, middle, wet = np.quantile(prices, [0.975, 5 / 6, 0.5, 1 / 6])
    print(
        "July's price: driest 2.5 in 100, middle of the driest, the middle and the wettest third:"
    )
    print(
        f"  {dear:,.0f}, {dry:,.0f}, {middle:,.0f} and {wet:,.0f} AUD/ML: {dear / middle:.1f} and "
        f"{dry / middle:.1f} times the middle (published: 1.9 extreme dry, 1.3 dry)"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
