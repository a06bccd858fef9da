"""Whether the odds are the odds: chances, their two errors, and what must not move them.

The statistical checks rest on a record made so that its years, closed to a circle, have exactly the
pairs and triples of a known two-state chain: the chance of dry seasons running is then a closed
form (derived here). A generator that forgets the runs fails the same check.
"""

from __future__ import annotations

import csv
import itertools
import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from scipy.special import logit

from model.outlook.ahead import BAND_FRACS, look_ahead, sequence_ledger, set_aside_today
from model.outlook.chances import Estimate, Spread, ordered_quantiles
from model.outlook.outlook import Outlook, odds_of_water, outlook_of
from model.outlook.setting import play_sequences, setting_of
from model.plan.plan import Plan
from model.plan.shipped import demonstration_plan
from model.plan.text import check_plan, parse_plan, read_plan
from model.record.record import Record, parse_record, read_record
from model.say.outlook import outlook_in_words
from model.valley.run import COMMITMENTS
from tests.sample_files import changed, monthly_csv, plan_text
from tests.textbook_dam import record_of_years, textbook_plan

COUNT = 2_000
CONTRACT = Path(__file__).parents[1] / "reference" / "contract"


def demonstration(**settings: object) -> Plan:
    """Return the demonstration plan with other settings of the drawing."""
    return read_plan(demonstration_plan()).with_drawing(**settings)


def opened_in(month: str) -> Plan:
    """Return the demonstration plan opened in another month."""
    raw = demonstration(count=50).model_dump(exclude_unset=True)
    raw["opening"]["month"] = month
    return check_plan(raw, "plan")


def estimates(odds: Outlook) -> Iterator[Estimate]:
    """Yield every chance and every quantile of some odds."""
    for season in odds.seasons:
        yield from (season.chance_none, season.chance_none_so_far)
        points = (season.planting, season.finish, season.end)
        spreads = [point.amounts for point in points if point is not None]
        for amounts in (season.amounts, *spreads):
            for amount in amounts.values():
                yield from amount.quantiles.values()


@pytest.fixture(scope="module")
def record() -> Record:
    """Record of the demonstration."""
    return read_record(demonstration_plan().with_name("demonstration_record.csv"))


@pytest.fixture(scope="module")
def odds(record: Record) -> Outlook:
    """Odds of the demonstration."""
    return odds_of_water(demonstration(count=COUNT), record)


# chances


def test_chance_when_running_on_then_it_never_grows(odds: Outlook) -> None:
    """None in two seasons running is none in each of them, so no likelier than either."""
    first, *later = odds.seasons
    assert first.chance_none_so_far.value == first.chance_none.value
    assert first.chance_none.value > 0.0
    for before, season in itertools.pairwise([first, *later]):
        assert season.chance_none_so_far.value <= before.chance_none_so_far.value
        assert season.chance_none_so_far.value <= season.chance_none.value


def test_chance_when_none_is_announced_at_all_then_it_is_none_in_every_season_running(
    record: Record,
) -> None:
    """Counted from the sequences themselves: none running is none in all of them together."""
    setting = setting_of(demonstration(count=COUNT), record)
    _, results = play_sequences(setting)
    announced = results["announced_ml_per_share"]
    running = outlook_of(setting, results).seasons
    for season in range(3):
        none_at_all = announced[:, : season + 1].sum(axis=1) <= 1e-9
        assert running[season].chance_none_so_far.value == none_at_all.mean()


def test_chance_when_something_was_announced_before_the_run_then_only_more_counts() -> None:
    """A dry river and an empty dam announce nothing more; what was announced stands."""
    text = changed(plan_text(), "storage_ml = 176_000.0", "storage_ml = 8_000.0")
    plan = parse_plan(text.encode(), "plan")
    dry = parse_record(monthly_csv(inflow=lambda _: 0).encode(), "dry")
    first = odds_of_water(plan, dry).seasons[0]
    assert first.chance_none.value == 1.0
    assert first.amounts["announced_to_date_ml_per_share"].mean == pytest.approx(0.03)
    assert first.amounts["credited_ml_per_share"].mean == 0.0


# months that are past


@pytest.mark.parametrize(
    ("opening", "planting", "finish"),
    [
        ("2025-07", True, True),
        ("2025-10", True, True),
        ("2025-11", False, True),
        ("2026-01", False, True),
        ("2026-02", False, False),
        ("2026-06", False, False),
    ],
)
def test_point_when_its_month_is_before_the_run_then_there_is_none(
    opening: str, planting: bool, finish: bool, record: Record
) -> None:
    """What is past has no odds; later seasons have every point, and every season its end."""
    first, *later = odds_of_water(opened_in(opening), record).seasons
    assert (first.planting is not None, first.finish is not None) == (planting, finish)
    assert first.water_year == "2025-26"
    for season in later:
        assert season.planting is not None
        assert season.finish is not None
    for season in (first, *later):
        assert season.end.month == season.last_month


def test_point_when_at_the_seasons_end_then_it_is_the_seasons_own_total(odds: Outlook) -> None:
    """Announced to date at the end is announced to date of the season."""
    for season in odds.seasons:
        name = "announced_to_date_ml_per_share"
        assert season.end.amounts[name] == season.amounts[name]


def test_point_when_the_season_goes_on_then_more_is_announced(odds: Outlook) -> None:
    """Announcements of a year only add up: planting, then finish, then end."""
    for season in odds.seasons:
        assert season.planting is not None
        assert season.finish is not None
        points = (season.planting, season.finish, season.end)
        for frac in season.end.amounts["announced_to_date_ml_per_share"].quantiles:
            values = [
                point.amounts["announced_to_date_ml_per_share"].quantiles[frac].value
                for point in points
            ]
            assert values == sorted(values)


def test_point_when_water_is_usable_then_it_is_in_the_account(odds: Outlook) -> None:
    """Usable water is never more than the account holds."""
    for season in odds.seasons:
        for point in (season.planting, season.finish, season.end):
            assert point is not None
            usable, account = (
                point.amounts[name] for name in ("usable_ml_per_share", "account_ml_per_share")
            )
            for frac, estimate in usable.quantiles.items():
                assert estimate.value <= account.quantiles[frac].value + 1e-12


# the two errors


def test_interval_when_given_then_it_holds_its_value(odds: Outlook) -> None:
    """Both intervals hold the number they belong to; the record's is the one shown first."""
    for estimate in estimates(odds):
        assert estimate.draws_low <= estimate.value <= estimate.draws_high
        assert estimate.record_low is not None
        assert estimate.record_high is not None
        assert estimate.record_low <= estimate.value <= estimate.record_high
        assert estimate.headline == (estimate.record_low, estimate.record_high)


def test_interval_when_more_is_drawn_then_only_the_draws_error_narrows(record: Record) -> None:
    """Drawing costs nothing and teaches nothing new about the river.

    A chance of 400 draws has an interval about 7 times as wide as one of 20,000 (the square root of
    50); the record's interval rests on the years observed, however many are drawn from them: only
    the value that it is widened about moves it, by 1 less how far, on the logit scale.
    """
    drawn = [
        odds_of_water(demonstration(count=count, seasons=1), record) for count in (400, 20_000)
    ]
    few, many = (odds.seasons[0].chance_none for odds in drawn)
    by = drawn[0].record_error.widening.factor
    widths = [estimate.draws_high - estimate.draws_low for estimate in (few, many)]
    assert widths[0] / widths[1] == pytest.approx(math.sqrt(50.0), rel=0.1)
    assert many.record_low is not None
    assert many.record_high is not None
    moved = (1.0 - by) * (logit(few.value) - logit(many.value))
    assert logit(few.record_low) - logit(many.record_low) == pytest.approx(moved, abs=1e-9)
    assert logit(few.record_high) - logit(many.record_high) == pytest.approx(moved, abs=1e-9)
    assert many.record_high - many.record_low > 5.0 * widths[1]


def test_interval_when_the_record_is_longer_then_the_records_error_narrows() -> None:
    """Ninety-six years of a river teach more than twenty-four of the same."""
    width = {}
    for years in (24, 96):
        few_years = record_of_years(np.tile([0.0, 50.0, 50.0, 0.0], years // 4))
        plan = textbook_plan(
            1_000, general_security_ml=50, sequences={"method": "blocks", "kind": "independent"}
        )
        chance = odds_of_water(plan, few_years).seasons[0].chance_none
        assert chance.record_low is not None
        assert chance.record_high is not None
        width[years] = chance.record_high - chance.record_low
    assert width[96] < 0.75 * width[24]


def test_spread_when_asked_for_years_of_ten_then_it_is_the_quantile_not_reached_in_the_others(
    odds: Outlook,
) -> None:
    """Reached in 9 years of 10 is the amount with a chance of a tenth of staying below it."""
    amount: Spread = odds.seasons[1].amounts["credited_ml_per_share"]
    for years, frac in ((9, 0.1), (5, 0.5), (1, 0.9)):
        assert amount.reached_in(years) is amount.quantiles[frac]
    assert amount.reached_in(9).value <= amount.reached_in(5).value <= amount.reached_in(1).value


# what is drawn


def test_historical_when_asked_then_there_are_as_many_sequences_as_slices(record: Record) -> None:
    """Every September to August of the record once, whatever count is asked for."""
    found = odds_of_water(demonstration(method="historical", count=7), record)
    assert found.count == (record.months - 2) // 12  # two months before the first September
    assert found.method == {"method": "historical"}
    assert found.record_error.draws_each == found.count


def test_flow_factor_when_below_one_then_drawn_flow_is_less_and_the_assured_inflow_is_not(
    record: Record,
) -> None:
    """A drier future is drawn; what the rules count on stays what was observed."""
    settings = [setting_of(demonstration(count=50, flow_factor=f), record) for f in (1.0, 0.5)]
    as_observed, drier = (play_sequences(setting)[1] for setting in settings)
    np.testing.assert_allclose(drier["inflow_ml"], 0.5 * as_observed["inflow_ml"], rtol=1e-14)
    assert as_observed["inflow_ml"].min() > 0.0
    assert settings[0].rules.assured_inflow_ml == settings[1].rules.assured_inflow_ml
    today = [look_ahead(setting.plan, record).today for setting in settings]
    assert today[0] == today[1]
    assert today[0].assured_inflow_ml > 0.0


def test_flow_factor_when_below_one_then_the_words_say_so(record: Record) -> None:
    """A factor on flow is printed wherever its odds are."""
    words = outlook_in_words(odds_of_water(demonstration(count=50, flow_factor=0.8), record))
    assert "all flow times 0.8" in words
    plain = outlook_in_words(odds_of_water(demonstration(count=50), record))
    assert "all flow times" not in plain


@pytest.mark.parametrize(
    "settings",
    [
        {"method": "historical"},
        {"method": "blocks", "kind": "independent"},
        {"method": "blocks", "kind": "stationary"},
        {"method": "blocks", "kind": "moving", "block_years": 4.0},
    ],
    ids=lambda settings: settings.get("kind", "historical"),
)
def test_odds_when_all_years_are_alike_then_there_is_no_spread(settings: dict[str, object]) -> None:
    """Nothing is uncertain about a river that does the same every year, by any method."""
    alike = parse_record(monthly_csv(inflow=lambda row: 9_000 + 500 * (row % 12)).encode(), "alike")
    plan = parse_plan(plan_text().encode(), "plan").with_drawing(count=60, **settings)
    found = odds_of_water(plan, alike)
    for estimate in estimates(found):
        assert estimate.record_low == estimate.value == estimate.record_high
    for season in found.seasons:
        assert season.chance_none.value in (0.0, 1.0)
        for amount in season.amounts.values():
            assert amount.quantiles[0.05].value == amount.quantiles[0.95].value
            assert amount.mean == pytest.approx(amount.quantiles[0.5].value, rel=1e-12)
    assert found.seasons[2].amounts["storage_end_ml"].mean > 0.0


# what a page shows of the same run


def test_page_when_it_looks_ahead_then_its_odds_are_those_of_the_files(
    odds: Outlook, record: Record
) -> None:
    """One run of the valley: page and files cannot differ."""
    assert look_ahead(demonstration(count=COUNT), record).outlook.seasons == odds.seasons


def test_page_when_it_shows_bands_then_at_a_seasons_end_they_are_the_seasons_quantiles(
    record: Record,
) -> None:
    """The band of the dam in June is the spread of the season's closing storage."""
    ahead = look_ahead(demonstration(count=300), record)
    for season in ahead.outlook.seasons:
        at = season.last_month - ahead.first_month
        for name, column in (
            ("storage_end_ml", season.amounts["storage_end_ml"]),
            ("account_ml_per_share", season.end.amounts["account_ml_per_share"]),
        ):
            band = ahead.bands(name)[:, at]
            quantiles = [column.quantiles[frac].value for frac in BAND_FRACS]
            np.testing.assert_allclose(band, quantiles, rtol=1e-12)


def test_page_when_it_shows_one_sequence_then_its_ledger_is_that_sequence(record: Record) -> None:
    """The ledger of a sequence closes each season where the sequence did."""
    setting = setting_of(demonstration(count=40, flow_factor=0.9), record)
    _, results = play_sequences(setting)
    for number in (0, 39):
        columns = sequence_ledger(setting, number).columns
        ends = [setting.calendar.last_t(season) for season in range(3)]
        np.testing.assert_allclose(
            columns["storage_end_ml"][ends], results["storage_end_ml"][number], rtol=1e-12
        )
        assert columns["inflow_ml"].sum() == pytest.approx(
            results["inflow_ml"][number].sum(), rel=1e-12
        )
    with pytest.raises(IndexError, match="there are 40 sequences"):
        sequence_ledger(setting, 40)


def test_page_when_it_shows_what_is_set_aside_then_parts_and_rest_add_up(record: Record) -> None:
    """Dam and assured inflow, less the commitments in their order, is what is free."""
    today = look_ahead(demonstration(count=40), record).today
    assert list(today.commitments_ml) == list(COMMITMENTS)
    assert today.in_dam_ml == 90_000.0 - 8_000.0
    set_aside = sum(today.commitments_ml.values())
    assert today.free_ml == pytest.approx(today.in_dam_ml + today.assured_inflow_ml - set_aside)
    expected = max(0.0, today.free_ml) * (1 - 0.2) / 150_000.0  # free water at the farm gate
    assert today.announced_ml_per_share == pytest.approx(min(expected, 1.2), abs=1e-12)


@pytest.mark.parametrize(
    ("name", "further"),
    [
        ("plan_environment", ["environment_reserve_ml"]),
        ("plan_delivery", ["fixed_loss_reserve_ml"]),
        ("plan_carry", []),
    ],
)
def test_set_aside_when_a_further_rule_claims_water_then_it_is_a_part(
    name: str, further: list[str]
) -> None:
    """The parts come to what the reference ledger has committed in the run's first month."""
    plan = read_plan(CONTRACT / f"{name}.toml")
    with (CONTRACT / f"ledger{name.removeprefix('plan')}.csv").open(newline="") as file:
        first = next(csv.DictReader(file))
    setting = setting_of(plan, read_record(CONTRACT / "record.csv"))
    today = set_aside_today(setting)
    assert [part for part in today.commitments_ml if part not in COMMITMENTS] == further
    assert all(today.commitments_ml[part] > 0.0 for part in further)
    assert sum(today.commitments_ml.values()) == pytest.approx(float(first["committed_ml"]))


# a chain of dry and wet years: the chance of dry seasons running

STAY_DRY, STAY_WET = 3 / 4, 1 / 2
DRY = (1 - STAY_WET) / (2 - STAY_DRY - STAY_WET)  # in the long run: 2/3
RUNNING = [DRY * STAY_DRY**more for more in range(3)]  # one, two and three seasons: 2/3, 1/2, 3/8
AT_LEAST = {
    False: (16, 12, 9, 7, 5, 4, 3, 2, 2, 1, 1, 1, 1),  # dry runs of 1, 2, 3, ... years or more
    True: (16, 8, 4, 2, 1, 1),  # wet runs
}
DRAWS = 20_000


def run_lengths(at_least: tuple[int, ...]) -> list[int]:
    """Return the lengths of runs of which so many have 1, 2, 3, ... years or more."""
    return [sum(count > run for count in at_least) for run in range(at_least[0])]


def wet_years() -> np.ndarray:
    """(96,) whether each year is wet: dry and wet runs in turn, long ones among short ones."""
    dry, wet = (run_lengths(AT_LEAST[is_wet]) for is_wet in (False, True))
    runs = zip(dry[::3] + dry[1::3] + dry[2::3], wet[::-1], strict=True)
    return np.concatenate([[False] * dry_years + [True] * years for dry_years, years in runs])


def chances_running(**settings: object) -> list[float]:
    """Draw seasons from the chain's record, and give the chances of none in 1, 2 and 3 running.

    The dam is empty each July; a wet year's inflow is announced and used, a dry year has none.
    """
    plan = textbook_plan(
        1_000,
        general_security_ml=50,
        sequences={"method": "blocks", "count": DRAWS, "seed": 4, **settings},
    )
    found = odds_of_water(plan, record_of_years(np.where(wet_years(), 50.0, 0.0)))
    return [season.chance_none_so_far.value for season in found.seasons]


def within(chance: float, expected: float) -> bool:
    """Tell whether a drawn chance lies within four standard errors of the true one."""
    return abs(chance - expected) <= 4.0 * math.sqrt(expected * (1.0 - expected) / DRAWS)


def test_chain_when_the_record_is_made_then_its_pairs_and_triples_are_the_chains() -> None:
    """The record has 96 years, of which 64 are dry, 48 are dry again and 36 again after that."""
    dry = ~wet_years()
    assert dry.size == 96
    counts = [dry.sum(), (dry & np.roll(dry, -1)).sum()]
    counts.append((dry & np.roll(dry, -1) & np.roll(dry, -2)).sum())
    assert [count / 96 for count in counts] == pytest.approx(RUNNING, abs=1e-15)
    wet = wet_years()
    assert (wet & np.roll(wet, -1)).sum() / wet.sum() == STAY_WET


def test_chain_when_every_start_is_taken_then_chances_are_exact() -> None:
    """The historical method counts each pair and triple of the record once."""
    assert chances_running(method="historical") == pytest.approx(RUNNING, abs=1e-15)


@pytest.mark.parametrize("block_years", [3.0, 12.0])
def test_chain_when_blocks_are_long_then_chances_are_the_chains(block_years: float) -> None:
    """Blocks as long as the run of seasons keep the dry runs whole."""
    found = chances_running(kind="circular", block_years=block_years)
    assert all(within(chance, true) for chance, true in zip(found, RUNNING, strict=True))


def test_chain_when_years_are_drawn_apart_then_chances_of_dry_runs_are_not_the_chains() -> None:
    """Wrong on purpose: independent years have each season right and every run too rare.

    What they do give is the chance of a dry year to the power of two and of three.
    """
    one, *running = chances_running(kind="independent")
    assert within(one, DRY)
    for seasons, (chance, true) in enumerate(zip(running, RUNNING[1:], strict=True), start=2):
        assert not within(chance, true)
        assert chance < true
        assert within(chance, DRY**seasons)


@pytest.mark.parametrize("block_years", [1.0, 2.0, 5.0, 40.0])
def test_chain_when_blocks_have_a_mean_length_then_two_dry_seasons_have_the_mixed_chance(
    block_years: float,
) -> None:
    """With blocks of mean length L the next year follows on with chance 1 - 1/L (derived here).

    Two dry seasons running: (1 - 1/L) x the chain's chance + 1/L x the chance of two apart.
    """
    one, two, _ = chances_running(kind="stationary", block_years=block_years)
    assert within(one, DRY)
    assert within(two, (1 - 1 / block_years) * RUNNING[1] + DRY**2 / block_years)


@pytest.mark.parametrize(
    ("sample", "frac", "expected"),
    [
        ((3.0, 7.0, 8.0, 12.0, 20.0), 0.10, 4.6),
        ((3.0, 7.0, 8.0, 12.0, 20.0), 0.25, 7.0),
        ((3.0, 7.0, 8.0, 12.0, 20.0), 0.80, 13.6),
        (tuple(range(1, 101)), 0.05, 5.95),
        (tuple(range(1, 101)), 0.95, 95.05),
    ],
)
def test_quantiles_when_read_then_type_7(
    sample: tuple[float, ...], frac: float, expected: float
) -> None:
    """K6 to K8: Hyndman and Fan 1996 (Am. Stat. 50:361), type 7; numpy's own agrees."""
    found = ordered_quantiles(np.array(sample, dtype=float), [frac])
    assert found == pytest.approx([expected], abs=1e-9)
    assert found == pytest.approx([np.quantile(sample, frac)], abs=1e-12)
