"""Does a hindcast know only the past, and is what it is held against what the replay gave?"""

import csv
import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from model.errors import InputError, RecordError
from model.evidence.choosers import METHODS, FitsOverTheYears, choosers_of
from model.evidence.counted import counted
from model.evidence.hindcast import hindcast
from model.evidence.judge import judge
from model.evidence.long_run import events
from model.evidence.output import hindcast_csv
from model.evidence.stand import AMOUNTS, Came, look_ahead_from
from model.evidence.verdict import Verdict, verdict_of
from model.evidence.walk import KNOWN_YEARS, before, walk
from model.outlook.replay import replay_months
from model.plan.text import read_plan
from model.record.record import read_record
from model.say.evidence import verdict_in_words
from model.sequences.regimes import log_totals
from model.sequences.slices import cut
from model.sequences.switching import fit_switching
from model.water_year import parse_month
from tests.a_verdict import a_verdict

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"
QUICK = 50


def contract(opening_month="2025-09", **assessment):
    """Read the plan and the record of the contract, with other assessment settings."""
    plan = read_plan(CONTRACT / "plan.toml")
    valley = plan.valley
    rules = valley.assessment.model_copy(update=assessment)
    plan = plan.model_copy(
        update={
            "valley": valley.model_copy(update={"assessment": rules}),
            "opening": plan.opening.model_copy(update={"month": opening_month}),
        }
    )
    return plan, read_record(CONTRACT / "record.csv")


def worded(evidence, method):
    """Word the verdict on a method."""
    verdict = verdict_of(evidence, method)
    assert isinstance(verdict, Verdict)
    return " ".join(verdict_in_words(verdict))


def quick(plan, record, methods=("historical", "blocks"), **options):
    """Hindcast with few draws and the quick methods."""
    choosers = choosers_of(plan.sequences, methods)
    return hindcast(plan, record, choosers=choosers, draws_each=QUICK, **options)


@pytest.fixture(scope="module")
def tried():
    """One hindcast of the contract's valley."""
    return quick(*contract())


@pytest.mark.parametrize("opening_month", ["2025-09", "2025-07", "2026-02"])
def test_walk_when_assured_inflow_is_fixed_then_it_is_the_replay(opening_month):
    """Walking from year to year, the turn of the water year too, gives one unbroken replay."""
    plan, record = contract(
        opening_month, assured_inflow="fixed", assured_fixed_ml_per_month=1_000.0
    )
    first = record.first_month + int(record.slice_starts(parse_month(opening_month))[0])
    ledger = replay_months(plan, record, first, record.last_month)
    ends = [t for t, month in enumerate(ledger.months) if month.endswith("-06")]
    walked = walk(plan, record, 3)
    announced = ledger.columns["announced_to_date_ml_per_share"][ends]
    np.testing.assert_allclose(walked.every_announced_ml_per_share, announced, atol=1e-9)
    np.testing.assert_allclose(
        walked.every_storage_ml, ledger.columns["storage_end_ml"][ends], rtol=1e-12
    )


def test_walk_when_seasons_ahead_then_each_row_shifts_by_a_year():
    """Season 2 of one year is season 1 of the next; what has not come is not a number."""
    walked = walk(*contract(), 3)
    np.testing.assert_array_equal(
        walked.announced_ml_per_share[:-1, 1], walked.announced_ml_per_share[1:, 0]
    )
    np.testing.assert_array_equal(walked.water_years[:, 2], walked.water_years[:, 0] + 2)
    assert np.isnan(walked.storage_ml[-1, 1:]).all()
    assert np.isfinite(walked.storage_ml[:, 0]).all()
    assert walked.stands[-1].month == parse_month("2024-09"), "its first season is in the record"


def test_walk_when_standing_then_assured_inflow_is_from_before():
    """Each stand holds the record before it, and rules that count on nothing later."""
    plan, record = contract()
    walked = walk(plan, record, 1)
    for stand in walked.stands[::20]:
        assert stand.known.last_month == stand.month - 1
    assured = np.array([stand.rules.assured_inflow_ml for stand in walked.stands])
    assert (np.diff(assured, axis=0) <= 0.0).all(), "the worst on record can only get worse"
    assert (assured[0] > assured[-1]).any()


def test_before_when_cut_then_every_column_ends_there():
    """A cut record holds nothing of the months after it."""
    _, record = contract()
    known = before(record, record.first_month + 400)
    assert known.months == 400
    assert {values.size for values in known.columns.values()} == {400}


def test_hindcast_when_the_future_changes_then_earlier_odds_stay(tried):
    """No odds may see the years after them: another future gives the same odds to the bit."""
    plan, record = contract()
    changed = 80
    row = tried.walk.stands[changed].month - record.first_month
    inflow_ml = record.inflow_ml.copy()
    inflow_ml[row:] = inflow_ml[row:][::-1] * 0.5
    other = quick(plan, replace(record, inflow_ml=inflow_ml))
    for before_, after in zip(tried.methods, other.methods, strict=True):
        for amount in ("announced", "storage"):
            then, now = before_.quantiles[amount], after.quantiles[amount]
            np.testing.assert_array_equal(then[:, : changed + 1], now[:, : changed + 1])
            assert (then[:, changed + 2 :] != now[:, changed + 2 :]).any()


@pytest.fixture(scope="module")
def both_futures():
    """Two stands of a record with an index, and of one whose months from there on are others."""
    plan, record = contract()
    index = np.random.default_rng(5).normal(size=record.months)
    plan = plan.with_drawing(climate_indices=("index",), seasons=2)
    observed = replace(record, indices={"index": index})
    walked = walk(plan, observed, 2)
    found = []
    for year in (35, 70):
        row = walked.stands[year].month - record.first_month
        inflow_ml = record.inflow_ml.copy()
        columns = {name: values.copy() for name, values in record.columns.items()}
        for values in (inflow_ml, *columns.values()):
            values[row:] = values[row:][::-1] * 0.5
        later = np.concatenate([index[:row], -3.0 * index[row:]])
        other = replace(observed, inflow_ml=inflow_ml, columns=columns, indices={"index": later})
        found.append((year, walked.stands[year], walk(plan, other, 2).stands[year]))
    return plan, found


@pytest.mark.parametrize("name", METHODS)
def test_stand_when_all_that_follows_is_another_then_no_odds_of_it_move(both_futures, name):
    """Every method, with a climate index: flow, weather and index after a stand change nothing."""
    plan, found = both_futures
    for year, now, then in found:
        assert now.known.months == then.known.months
        odds = [_odds_at(plan, stand, year, name) for stand in (now, then)]
        assert odds[0].quantiles == odds[1].quantiles
        assert odds[0].chance == odds[1].chance


def _odds_at(plan, stand, year, name):
    """Look ahead from a stand; what came after it is not needed."""
    nothing = {amount: np.full(2, np.nan) for amount in AMOUNTS}
    came = Came(nothing, nothing, 0.0)
    choose = choosers_of(plan.sequences, (name,))[name]
    return look_ahead_from(plan, stand, year, name, choose, came, QUICK)


def test_hindcast_when_run_again_then_the_same_to_the_byte(tried):
    """The same plan, record and seed give the same files."""
    again = quick(*contract())
    assert hindcast_csv(again) == hindcast_csv(tried)


def test_hindcast_when_drying_or_today_is_stated_then_left_off(tried):
    """A drying factor and a stated present belong to the outlook, not to the trial."""
    plan, record = contract()
    drier = plan.with_drawing(
        flow_factor=0.7, flow_elasticity=2.5, opening_dry_chance=1.0,
        last_twelve_months_inflow_ml=1.0,
    )  # fmt: skip
    assert hindcast_csv(quick(drier, record)) == hindcast_csv(tried)


def test_hindcast_when_stopped_then_the_stop_comes_through():
    """What the progress callback raises ends the hindcast at once."""
    told = []

    def stop(done, total):
        told.append((done, total))
        if done == 3:
            raise KeyboardInterrupt

    plan, record = contract()
    with pytest.raises(KeyboardInterrupt):
        quick(plan, record, methods=("blocks",), progress=stop)
    assert [done for done, _ in told] == [1, 2, 3]
    assert told[0][1] == len(walk(plan, record, 3).stands)


def test_hindcast_when_record_is_short_then_refused_with_what_it_needs():
    """Thirty known years and ten to look back on."""
    plan, record = contract()
    short = before(record, record.first_month + 12 * 39)
    with pytest.raises(RecordError, match=f"{KNOWN_YEARS} that are known"):
        quick(plan, short)


def test_hindcast_when_too_few_draws_then_refused():
    """A handful of sequences makes no band."""
    with pytest.raises(InputError, match="--draws"):
        hindcast(*contract(), draws_each=5)


def test_long_run_when_scored_then_the_year_itself_is_left_out(tried):
    """Climatology is all other water years, each as likely: by hand for one case."""
    walked = tried.walk
    year, season = 12, 1
    others = walked.every_announced_ml_per_share[
        walked.every_water_year != walked.water_years[year, season]
    ]
    assert others.size == walked.every_announced_ml_per_share.size - 1
    came = walked.announced_ml_per_share[year, season]
    pairs = np.abs(others[:, None] - others[None, :]).sum() / others.size**2
    by_hand = np.abs(others - came).mean() - pairs / 2.0
    assert tried.long_run_crps["announced"][year, season] == pytest.approx(by_hand, abs=1e-12)
    share = np.mean(others <= 1e-9)
    assert tried.long_run_chance["none"][year, season] == pytest.approx(share, abs=1e-12)


def test_long_run_when_this_season_then_it_knows_what_was_announced_before_the_stand(tried):
    """To date at the stand, and what other years announced from then on, capped: by hand."""
    walked, plan = tried.walk, tried.plan
    cap = plan.valley.accounts.allocation_cap_ml_per_share
    cap = plan.valley.accounts.account_limit_ml_per_share if cap is None else cap
    before = walked.announced_before_ml_per_share
    year = int(np.argmax(before))
    assert before[year] > 0.0
    others = walked.every_water_year != walked.water_years[year, 0]
    known = np.minimum(before[year] + walked.every_more_ml_per_share[others], cap)
    came = walked.announced_ml_per_share[year, 0]
    pairs = np.abs(known[:, None] - known[None, :]).sum() / known.size**2
    by_hand = np.abs(known - came).mean() - pairs / 2.0
    assert tried.long_run_crps["announced"][year, 0] == pytest.approx(by_hand, abs=1e-12)
    stands = np.isin(walked.every_water_year, walked.water_years[:, 0])
    assert walked.every_more_ml_per_share[stands] == pytest.approx(
        walked.announced_ml_per_share[:, 0] - before, abs=1e-12
    )
    assert tried.long_run_chance["half"][year, 0] == np.mean(known >= 0.5 - 1e-9)


def test_crps_when_methods_give_the_same_odds_then_they_are_scored_the_same(tried):
    """`historical` and endless blocks draw each first slice as often: one form of score.

    Band: four standard errors of the difference over the years.
    """
    historical, blocks = (cases.crps["announced"][:, 0] for cases in tried.methods[:2])
    apart = blocks - historical
    assert abs(apart.mean()) < 4.0 * apart.std() / np.sqrt(apart.size) + 0.003


def test_events_when_amounts_then_by_hand():
    """Nothing more, at least half a megalitre per share, no more than in the driest tenth."""
    happened = events(np.array([0.0, 0.02, 0.5, 1.0]), np.array([0.0, 0.0, 0.3, 1.0]), 0.02)
    assert happened["none"].tolist() == [1.0, 1.0, 0.0, 0.0]
    assert happened["half"].tolist() == [0.0, 0.0, 1.0, 1.0]
    assert happened["low"].tolist() == [1.0, 1.0, 0.0, 0.0]


def test_fits_over_the_years_when_warm_then_as_likely_as_a_fresh_one():
    """Beginning where last year's fit ended does not stop at a worse optimum."""
    _, record = contract()
    totals = log_totals(cut(record, parse_month("2025-09")).totals_ml)
    warm = FitsOverTheYears(seed=1)
    for years in range(60, 100, 5):
        fitted = warm(totals[:years])
    fresh = fit_switching(totals[:95], rng=np.random.default_rng(3))
    assert fitted.log_likelihood == pytest.approx(fresh.log_likelihood, abs=0.05)


def test_csv_when_written_then_one_row_a_year_season_and_method(tried):
    """Every row names its stand, its season and what came; a season to come is blank."""
    rows = list(csv.DictReader(io.StringIO(hindcast_csv(tried))))
    assert len(rows) == tried.years * tried.seasons * len(tried.methods)
    assert rows[0]["stand_month"] == "1925-09"
    assert {row["season"] for row in rows} == {"1", "2", "3"}
    last = rows[tried.years * tried.seasons - 1]
    assert last["announced_came_ml_per_share"] == ""
    assert last["announced_crps_ml_per_share"] == ""
    assert last["announced_mean_ml_per_share"] != ""


def test_verdict_when_judged_then_its_numbers_are_those_of_the_cases(tried):
    """How often the band held and how many driest years were warned of, counted again here."""
    evidence = judge(tried)
    words = worded(evidence, "blocks")
    cases = tried.methods[1]
    pit = cases.pit["announced"][:, 0]
    held = int(np.sum(np.abs(pit - 0.5) <= 0.4))
    assert f"the band of 80 times in 100 held in {held} of {tried.years} years" in words
    announced = tried.observed["announced"][:, 0]
    inflow = tried.walk.inflow_ml[:, 0]
    driest = sorted(range(tried.years), key=lambda year: (announced[year], inflow[year]))
    tenth = driest[: round(tried.years / 10)]
    said = np.mean(cases.chance["low"][tenth, 0])
    assert f"It gave such a year {round(100 * said)} % on average" in words
    none, chance = tried.happened["none"][:, 0], cases.chance["none"][:, 0]
    assert f"this season in {int(none.sum())} of {tried.years} years" in words
    assert f", {chance.sum():.0f} expected (right odds bring" in words
    assert ("was said too low" in words) == any(
        season.events["none"].happened > counted(season.events["none"].table, number).high
        for number, season in enumerate(evidence.of("blocks").seasons, start=1)
    )
    for season in range(3):
        skill = evidence.of("blocks").seasons[season].amounts["announced"].skill
        if not skill.low > 0.0:
            assert "no better than the long-run record" in words


def test_verdict_when_most_years_are_the_same_then_no_driest_year_is_claimed():
    """Where a full allocation is the least and the most there is nothing to warn of."""
    verdict = a_verdict()
    usual = replace(verdict.seasons[0].driest, found="nothing_to_warn_of", long_run_share=0.9)
    season = replace(verdict.seasons[0], driest=usual)
    words = " ".join(verdict_in_words(replace(verdict, seasons=(season,))))
    assert (
        "As little water as in the driest years came in 90 % of all years: there is no dry year to "
        "warn of."
    ) in words


def test_verdict_when_everything_is_always_announced_then_said_without_a_fault():
    """A valley on trust announces its cap each year: no error to take away, no dry year."""
    plan, record = contract(assured_inflow="fixed", assured_fixed_ml_per_month=1e6)
    evidence = judge(quick(plan, record))
    words = worded(evidence, "blocks")
    assert "made no error, so there was none to take away" in words
    assert "there is no dry year to warn of" in words
    assert "nan" not in words
