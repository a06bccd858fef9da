"""Does no nonsense win on the demonstration? `python -m tests.long.nonsense`.

Ways of running a farm that no grower would follow are played beside the shipped middle strategy, on
the same 10,000 sequences, from a dam of 12, 30 and 60 % and with two seeds. Each must be behind the
middle strategy in the mean of what the run is worth by more than twice the error of the paired
difference; its worst tenth is free. Buying whatever the land lacks at any price, as far as the
market goes, may be up to 2 % ahead in the mean if it is behind in the worst tenth by more than
twice its error. Common sense, no source: a model in which one of these wins prices something wrong.

Printed beside it: what a hold costs and spares (shipped cautious with its hold, without one, and
with one that is never released), what buying in June and selling in January adds to each shipped
strategy, and the chance of passing the overdraft limit with nothing planted and with the middle
strategy's own area.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from model.decide.objective import Worth, worth_of
from model.decide.risk import mean_difference_error, worst_difference_error, worst_mean
from model.decide.strategy import strategies_of
from model.farm.river import RiverMonth
from model.farm.run import run_farm
from model.farm.setting import FarmSetting, farm_setting_of
from model.farm.state import Settings
from model.plan.demonstration import demonstration
from model.plan.plan import Plan
from model.plan.strategy import Strategy
from model.record.record import FloatArray, Record

DAMS_FRAC: Final = (0.12, 0.30, 0.60)
SEEDS: Final = (20_250_901, 7)
SEQUENCES: Final = 10_000

ANY_PRICE_AUD: Final = 1e6
ANY_VOLUME_ML: Final = 1e6
ALL_ML_PER_SHARE: Final = 100.0
NO_WATER_ML_PER_HA: Final = 1e-6

BUYS_ANYTHING: Final = "buy all the land lacks, at any price"
JUNE_TO_JANUARY: Final = "buy in June, sell in January"


def no_crop(strategy: Strategy, name: str, **more: Any) -> Strategy:
    """Return a strategy that prepares and plants no land of the main crop."""
    changed = {"prepare_least_frac": 0.0, "prepare_all_at_ml_per_share": ALL_ML_PER_SHARE}
    never = {"smallest_area_ha": 1e6, "sell_above_aud_per_ml": None, "buy_up_to_ml": 0.0}
    return strategy.model_copy(update={"name": name, **changed, **never, **more})


def with_planned(strategy: Strategy, ml_per_ha: float) -> Strategy:
    """Return a strategy that plans so much water for each hectare of its first crop.

    That crop is sown in that layout however little water there is: no other row layout stands in.
    """
    first, *others = strategy.grow
    planned = first.model_copy(
        update={"planned_water_ml_per_ha": ml_per_ha, "least_water_ml_per_ha": 0.0}
    )
    return strategy.model_copy(update={"grow": (planned, *others)})


def trades_across_june(strategy: Strategy) -> Strategy:
    """Return a strategy that buys in June all it may and sells in January, and trades no more."""
    return strategy.model_copy(
        update={
            "buy_months": ("June",),
            "buy_up_to_ml": ANY_VOLUME_ML,
            "buy_below_aud_per_ml": ANY_PRICE_AUD,
            "sell_months": ("January",),
            "sell_above_aud_per_ml": 0.0,
        }
    )


def nonsense(middle: Strategy) -> dict[str, Strategy]:
    """Return the ways that must not win."""
    all_land = {
        "prepare_least_frac": 1.0,
        "hold_back_ml_per_share": 0.0,
        "smallest_area_ha": 0.0,
    }
    everything = with_planned(middle.model_copy(update=all_land), NO_WATER_ML_PER_HA)
    sells = {"sell_above_aud_per_ml": 0.0, "sell_keep_ml_per_share": 0.0}
    found = {
        "all the land always, spread": everything.model_copy(update={"when_short": "spread"}),
        "all the land always, finish fewer": everything.model_copy(
            update={"when_short": "finish_fewer"}
        ),
        "plant nothing": no_crop(middle, "nothing"),
        **{
            f"plant nothing, sell all in {month}": no_crop(
                middle, month, **sells, sell_months=(month,)
            )
            for month in ("April", "July", "October", "January")
        },
        "hold everything always": middle.model_copy(
            update={"hold_back_ml_per_share": ALL_ML_PER_SHARE, "hold_above_ml_per_share": 0.0}
        ),
        "thin 2.0 ML a hectare, spread": with_planned(
            middle.model_copy(update={**all_land, "when_short": "spread"}), 2.0
        ),
        BUYS_ANYTHING: middle.model_copy(
            update={"buy_up_to_ml": ANY_VOLUME_ML, "buy_below_aud_per_ml": ANY_PRICE_AUD}
        ),
        JUNE_TO_JANUARY: trades_across_june(middle),
    }
    return {name: way.model_copy(update={"name": name[:40]}) for name, way in found.items()}


@dataclass(frozen=True, slots=True)
class Ahead:
    """How far a way is ahead of the middle strategy, AUD, with standard errors."""

    mean_aud: float
    mean_error_aud: float
    worst_aud: float
    worst_error_aud: float
    of_middle_frac: float  # of the middle strategy's mean

    def is_behind(self) -> bool:
        """Whether it is behind in the mean by more than twice the error."""
        return self.mean_aud < -2.0 * self.mean_error_aud

    def may_be(self, name: str) -> bool:
        """Whether the way stays where nonsense belongs."""
        if self.is_behind() or name != BUYS_ANYTHING:
            return self.is_behind()
        return self.of_middle_frac <= 0.02 and self.worst_aud < -2.0 * self.worst_error_aud


def ahead_of(middle: FloatArray, way: FloatArray) -> Ahead:
    """Return how far a way's runs are ahead of the middle strategy's, run by run."""
    mean_aud = float((way - middle).mean())
    return Ahead(
        mean_aud=mean_aud,
        mean_error_aud=mean_difference_error(way, middle),
        worst_aud=float(worst_mean(way) - worst_mean(middle)),
        worst_error_aud=worst_difference_error(way, middle),
        of_middle_frac=mean_aud / abs(float(middle.mean())),
    )


def setting_at(
    plan: Plan, record: Record, dam_frac: float, seed: int, count: int = SEQUENCES
) -> FarmSetting:
    """Prepare the demonstration at a dam and a seed, with the strategies that have no steps.

    A way differs from the middle one in what it does with land and water alone.
    """
    opening = plan.opening.model_copy(update={"storage_ml": dam_frac * plan.valley.capacity_ml})
    drawing = plan.sequences.model_copy(update={"seed": seed, "count": count})
    changed = plan.model_copy(update={"opening": opening, "sequences": drawing})
    plain = [strategy for strategy in strategies_of(plan) if not strategy.steps]
    return farm_setting_of(changed, record, plain)


def played(
    setting: FarmSetting, river: list[RiverMonth], ways: dict[str, Strategy]
) -> dict[str, Worth]:
    """Play ways one after the other on the same sequences."""
    return {
        name: worth_of(setting, river, Settings.of([way], setting.rules))
        for name, way in ways.items()
    }


def shipped(setting: FarmSetting) -> Iterator[tuple[str, Strategy]]:
    """Return the shipped strategies, and what is asked of each of them."""
    for way in setting.strategies:
        yield way.name, way
        crossing = trades_across_june(way)
        yield f"{way.name}, and June to January", crossing


def money(aud: float) -> str:
    """Return a sum to the thousand."""
    return f"{aud / 1e3:,.0f}k"


def check(setting: FarmSetting, title: str) -> int:
    """Print one case; return how many ways won that must not."""
    river = setting.river(setting.valley.first_sequences(SEQUENCES))
    cautious, middle, *_ = setting.strategies
    ways = dict(shipped(setting))
    ways |= {
        "cautious, hold never released": cautious.model_copy(
            update={"name": "never", "hold_above_ml_per_share": 0.0}
        ),
        "cautious, no hold": cautious.model_copy(
            update={"name": "none", "hold_back_ml_per_share": 0.0}
        ),
    }
    ways |= nonsense(middle)
    found = played(setting, river, ways)
    base = found[middle.name].standing_aud[0]
    print(f"\n{title}: {base.size:,} sequences")
    failed = 0
    for name in ways:
        worth = found[name].standing_aud[0]
        ahead = ahead_of(base, worth)
        wins = name in nonsense(middle) and not ahead.may_be(name)
        failed += wins
        print(line_of(name, found[name], ahead, wins=wins))
    past = past_limit_frac(setting, river, middle)
    print(
        f"  overdraft past its limit some time: with nothing planted {100 * past[0]:.1f}, as the "
        f"middle strategy plants {100 * past[1]:.1f} times in 100"
    )
    return failed


def line_of(name: str, worth: Worth, ahead: Ahead, *, wins: bool) -> str:
    """Return a way's line."""
    standing = worth.standing_aud[0]
    return (
        f"  {name:<44}{money(float(standing.mean())):>9} mean "
        f"{money(float(worst_mean(standing))):>8} worst tenth; ahead "
        f"{money(ahead.mean_aud):>8} ± {money(2 * ahead.mean_error_aud)}, worst "
        f"{money(ahead.worst_aud):>8} ± {money(2 * ahead.worst_error_aud)}; missed "
        f"{100 * worth.payment_missed.mean():4.1f}{'   WINS' if wins else ''}"
    )


def past_limit_frac(
    setting: FarmSetting, river: list[RiverMonth], middle: Strategy
) -> tuple[float, float]:
    """Return how often the limit is passed: nothing planted at all, and as the strategy does."""
    ways = [no_crop(middle, "nothing"), middle]
    settings = Settings.of(ways, setting.rules)
    state = setting.opening(river, len(ways))
    past = np.zeros(state.bank_aud.shape, dtype=np.bool_)
    for month in run_farm(state, settings, river, setting.expectation, setting.rules):
        past |= month.end.bank_aud < -setting.rules.cash.overdraft_limit_aud
    return float(past[0].mean()), float(past[1].mean())


def main() -> int:
    """Check every dam and seed; return 1 where a nonsense wins."""
    plan, record = demonstration()
    failed = sum(
        check(setting_at(plan, record, dam, seed), f"dam {dam:.0%}, seed {seed}")
        for seed in SEEDS
        for dam in DAMS_FRAC
    )
    print(f"\n{failed} won" if failed else "\nno nonsense wins")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
