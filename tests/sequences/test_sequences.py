"""How a record is cut and put together again, and what each way of drawing may and may not do."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.errors import PlanError
from model.plan.plan import Drawing
from model.record.record import Record, parse_record
from model.sequences.blocks import Blocks, Kind
from model.sequences.draw import (
    BATCH_SEQUENCES,
    batch_count,
    calendar_of,
    draw_batch,
    method_of,
    slices_of,
)
from model.sequences.historical import Historical
from model.sequences.slices import IntArray, Method, Slices, cut, months_of_run, rows_of
from model.streams import Stream, generator
from model.water_year import format_month, month_of_water_year, parse_month
from tests.sample_files import monthly_csv

KINDS: tuple[Kind, ...] = ("independent", "circular", "moving", "stationary")
YEARS = 24
SLICES = Slices(12 * np.arange(YEARS), np.arange(YEARS, dtype=float))
MANY = 20_000


def record_from(first: str, months: int = 12 * YEARS) -> Record:
    """Read a record that opens in a month."""
    return parse_record(monthly_csv(first=first, months=months).encode(), "river.csv")


def drawn(
    kind: Kind, block_years: float, seasons: int, count: int = MANY, seed: int = 3
) -> IntArray:
    """Draw slice numbers, (sequence, season)."""
    rng = generator(seed, Stream.SEQUENCES, 0)
    return Blocks(kind, block_years).draw(SLICES, seasons, count, rng=rng)


def four_errors(chance: float, count: int = MANY) -> float:
    """Return four standard errors of a chance."""
    return 4.0 * float(np.sqrt(chance * (1.0 - chance) / count))


# slices


@pytest.mark.parametrize("opening", [f"2025-{month:02d}" for month in range(1, 13)])
@pytest.mark.parametrize("first", ["1990-07", "1990-11", "1990-02"])
def test_slices_when_cut_then_each_begins_in_the_opening_month(opening: str, first: str) -> None:
    """Twelve months each, end to end, from the record's first such month; what is over is left."""
    record = record_from(first, 12 * YEARS + 5)
    slices = cut(record, parse_month(opening))
    starts = record.first_month + slices.first_rows
    assert {format_month(int(month))[-2:] for month in starts} == {opening[-2:]}
    assert 0 <= slices.first_rows[0] < 12
    np.testing.assert_array_equal(np.diff(slices.first_rows), 12)
    left_over = record.months - (slices.first_rows[-1] + 12)
    assert 0 <= left_over < 12
    assert slices.count == (record.months - slices.first_rows[0]) // 12


def test_slices_when_cut_then_totals_are_the_inflow_of_their_months() -> None:
    """The totals that block lengths are judged by are those of the slices themselves."""
    record = record_from("1990-07")
    slices = cut(record, parse_month("2025-09"))
    assert slices.count == YEARS - 1
    expected = [record.inflow_ml[2 + 12 * s : 14 + 12 * s].sum() for s in range(YEARS - 1)]
    np.testing.assert_allclose(slices.totals_ml, expected, rtol=1e-15)


@pytest.mark.parametrize(
    ("opening", "months"),
    [("2025-07", 36), ("2025-09", 34), ("2026-01", 30), ("2026-06", 25)],
)
def test_run_when_it_opens_late_then_it_is_what_is_left_and_two_whole_years(
    opening: str, months: int
) -> None:
    """Three seasons: the rest of this water year, then twelve months each, to a June."""
    assert months_of_run(parse_month(opening), 3) == months
    last = parse_month(opening) + months - 1
    assert month_of_water_year(last) == 11


@given(
    opening_k=st.integers(0, 11),
    seasons=st.integers(1, 3),
    first_k=st.integers(0, 11),
    seed=st.integers(0, 2**32 - 1),
)
def test_rows_when_laid_end_to_end_then_months_of_a_slice_stay_together(
    opening_k: int, seasons: int, first_k: int, seed: int
) -> None:
    """Each month meets its own calendar month, and within a slice the record's next month."""
    record = record_from(format_month(parse_month("1990-07") + first_k))
    opening = parse_month("2025-07") + opening_k
    slices = cut(record, opening)
    rng = np.random.default_rng(seed)
    numbers = rng.integers(0, slices.count, (5, seasons))
    months = months_of_run(opening, seasons)
    rows = rows_of(slices, numbers, months)
    assert rows.shape == (5, months)
    t = np.arange(months)
    assert np.all((record.first_month + rows) % 12 == (opening + t) % 12)
    np.testing.assert_array_equal(rows, slices.first_rows[numbers][:, t // 12] + t % 12)
    within_slice = t[1:] % 12 != 0
    assert np.all(np.diff(rows, axis=1)[:, within_slice] == 1)
    assert rows.min() >= 0
    assert rows.max() < record.months


# historical


def test_historical_when_drawn_then_every_start_comes_once_and_wraps_at_the_end() -> None:
    """Each slice in turn, then those that did follow it; after the last comes the first."""
    numbers = Historical().draw(SLICES, 3, 999, rng=generator(1, Stream.SEQUENCES))
    assert numbers.shape == (YEARS, 3)
    expected = [[start, (start + 1) % YEARS, (start + 2) % YEARS] for start in range(YEARS)]
    np.testing.assert_array_equal(numbers, expected)
    assert numbers[-1].tolist() == [YEARS - 1, 0, 1]


def test_historical_when_drawn_then_no_random_number_is_used() -> None:
    """The same sequences, whatever the seed."""
    rng, untouched = (generator(1, Stream.SEQUENCES) for _ in range(2))
    Historical().draw(SLICES, 3, 5, rng=rng)
    assert rng.random() == untouched.random()


# blocks


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("block_years", [1.0, 2.0, 5.0])
def test_blocks_when_drawn_then_every_number_is_a_slice(kind: Kind, block_years: float) -> None:
    """Numbers run from the first slice to the last, and each of them comes up."""
    numbers = drawn(kind, block_years, 5)
    assert numbers.shape == (MANY, 5)
    assert set(np.unique(numbers)) == set(range(YEARS))


@pytest.mark.parametrize("kind", ["independent", "circular", "stationary"])
def test_blocks_when_any_slice_may_begin_one_then_each_season_has_all_alike(kind: Kind) -> None:
    """Each slice has a chance of one in n, in every season."""
    numbers = drawn(kind, 3.0, 3)
    for season in range(3):
        shares = np.bincount(numbers[:, season], minlength=YEARS) / MANY
        assert np.all(np.abs(shares - 1 / YEARS) <= four_errors(1 / YEARS))


@pytest.mark.parametrize("block_years", [2, 3, 5])
def test_circular_when_drawn_then_blocks_have_their_length_and_wrap(block_years: int) -> None:
    """Within a block the next slice follows, the first after the last; between blocks any may."""
    seasons = 2 * block_years
    numbers = drawn("circular", block_years, seasons)
    steps = np.diff(numbers, axis=1) % YEARS
    within_block = np.arange(1, seasons) % block_years != 0
    assert np.all(steps[:, within_block] == 1)
    assert np.any((numbers[:, 0] == YEARS - 1) & (numbers[:, 1] == 0))
    follows = np.mean(steps[:, ~within_block] == 1)
    assert abs(follows - 1 / YEARS) <= four_errors(1 / YEARS)


@pytest.mark.parametrize("block_years", [2, 5, YEARS])
def test_moving_when_drawn_then_blocks_lie_wholly_in_the_record(block_years: int) -> None:
    """No block goes on from the last slice to the first."""
    numbers = drawn("moving", block_years, block_years)
    assert np.all(np.diff(numbers, axis=1) == 1)
    starts = np.unique(numbers[:, 0])
    np.testing.assert_array_equal(starts, np.arange(YEARS - block_years + 1))


def test_moving_when_drawn_then_the_ends_of_the_record_come_up_less_often() -> None:
    """With blocks of 3 of 24 years, the first year is in one of 22 blocks, an inner one in 3."""
    shares = np.bincount(drawn("moving", 3, 3).ravel(), minlength=YEARS) / (3 * MANY)
    for slice_number, blocks in ((0, 1), (1, 2), (2, 3), (12, 3), (YEARS - 1, 1)):
        chance = blocks / 66
        # a sequence holds a slice once at most, so 3 x the share is a plain frequency
        assert abs(3 * shares[slice_number] - 3 * chance) <= four_errors(3 * chance)


def test_moving_when_blocks_are_longer_than_the_record_then_it_is_refused() -> None:
    """There is no such block to draw."""
    with pytest.raises(PlanError, match="longer than the record"):
        drawn("moving", YEARS + 1, 2)


def test_circular_when_blocks_are_longer_than_the_record_then_the_circle_goes_round() -> None:
    """A circle has no end."""
    numbers = drawn("circular", YEARS + 6, YEARS + 6, count=10)
    assert np.all(np.diff(numbers, axis=1) % YEARS == 1)


@pytest.mark.parametrize("block_years", [1.0, 1.5, 2.0, 4.0, 10.0])
def test_stationary_when_drawn_then_a_year_follows_on_with_its_chance(block_years: float) -> None:
    """It goes on with chance 1 - 1/L, or begins anew and hits the next by luck (derived here)."""
    steps = np.diff(drawn("stationary", block_years, 4), axis=1) % YEARS
    follows = (1 - 1 / block_years) + 1 / (block_years * YEARS)
    for step in steps.T:
        assert abs(np.mean(step == 1) - follows) <= four_errors(follows)


def test_stationary_when_drawn_then_lengths_are_geometric() -> None:
    """Runs that follow on for 1, 2 and 3 more years, as often as a chance without memory gives."""
    goes_on = 1 - 1 / 4.0 + 1 / (4.0 * YEARS)
    follows = np.diff(drawn("stationary", 4.0, 5), axis=1) % YEARS == 1
    for more in (1, 2, 3):
        share = follows[:, :more].all(axis=1).mean()
        assert abs(share - goes_on**more) <= four_errors(goes_on**more)


def test_independent_when_drawn_then_a_year_says_nothing_of_the_next() -> None:
    """The next slice follows by luck alone; blocks of two do so always and fail this check."""
    chance = 1 / YEARS
    by_luck, blocks = (
        np.mean(np.diff(drawn(kind, 2.0, 2), axis=1) % YEARS == 1)
        for kind in ("independent", "circular")
    )
    assert abs(by_luck - chance) <= four_errors(chance)
    assert abs(blocks - chance) > four_errors(chance)


def test_independent_when_a_block_length_is_stated_then_it_is_not_used() -> None:
    """Independent years are blocks of one, and say so."""
    np.testing.assert_array_equal(drawn("independent", 5.0, 3), drawn("independent", 1.0, 3))
    assert Blocks("independent", 5.0).settings()["block_years"] == 1.0


@pytest.mark.parametrize("kind", KINDS)
def test_blocks_when_more_are_drawn_then_the_first_stay_the_same(kind: Kind) -> None:
    """A longer draw begins with the shorter one."""
    np.testing.assert_array_equal(
        drawn(kind, 2.0, 3, count=1_000)[:40], drawn(kind, 2.0, 3, count=40)
    )


@pytest.mark.parametrize("kind", KINDS)
def test_blocks_when_the_seed_differs_then_so_do_the_sequences(kind: Kind) -> None:
    """The same seed draws the same, another one others."""
    first, again, other = (drawn(kind, 2.0, 3, count=100, seed=seed) for seed in (1, 1, 2))
    np.testing.assert_array_equal(first, again)
    assert np.any(first != other)


# which method a plan asks for


def method_for(drawing: Drawing) -> Method:
    """Choose the method of a plan that looks ahead from July 2014, after 24 rising years."""
    return method_of(drawing, SLICES, record_from("1990-07"), calendar_of("2014-07", drawing))


def test_method_when_the_plan_names_historical_then_there_are_as_many_as_slices() -> None:
    """A count does not matter to a method without randomness."""
    method = method_for(Drawing(method="historical"))
    assert isinstance(method, Historical)
    assert method.count(SLICES, 7) == YEARS


@pytest.mark.parametrize("kind", KINDS)
def test_method_when_no_block_length_is_stated_then_the_record_gives_one(kind: Kind) -> None:
    """A rising record asks for long blocks; whole years where blocks have one length."""
    method = method_for(Drawing(method="blocks", kind=kind))
    assert isinstance(method, Blocks)
    assert method.block_years > 1.0
    assert kind == "stationary" or method.block_years == int(method.block_years)
    stated = method_for(Drawing(method="blocks", kind=kind, block_years=2.0))
    assert isinstance(stated, Blocks)
    assert stated.block_years == 2.0


def test_slices_when_fewer_than_the_seasons_then_it_is_refused() -> None:
    """No run of three seasons is made of two."""
    record = record_from("1990-07")
    short = Record("short", "", record.first_month, record.inflow_ml[:24].copy(), {}, {}, {})
    with pytest.raises(PlanError, match="the record holds 2 runs of twelve months"):
        slices_of(short, calendar_of("2025-07", Drawing(seasons=3)))


# batches and streams


def test_batches_when_many_are_drawn_then_they_add_up_and_the_first_stay_the_same() -> None:
    """All but the last have one size; a greater count only adds sequences at the end."""
    slices = cut(record_from("1990-07"), parse_month("2025-09"))
    calendar = calendar_of("2025-09", Drawing())
    method = Blocks("stationary", 2.0)

    def batches(count: int) -> list[IntArray]:
        return [
            draw_batch(method, slices, calendar, count=count, seed=9, batch=batch).rows
            for batch in range(batch_count(count))
        ]

    many = batches(2 * BATCH_SEQUENCES + 10)
    assert [rows.shape for rows in many] == [
        (BATCH_SEQUENCES, 34),
        (BATCH_SEQUENCES, 34),
        (10, 34),
    ]
    assert np.any(many[0] != many[1])
    (few,) = batches(500)
    np.testing.assert_array_equal(many[0][:500], few)


def test_streams_when_their_purpose_or_batch_differs_then_their_numbers_do() -> None:
    """Numbers of any two streams are as unlike as independent ones, and one is like itself."""
    names = [(Stream.SEQUENCES,), (Stream.RECORD_RESAMPLES,)]
    names += [(stream, batch) for stream in Stream for batch in range(3)]
    numbers = [generator(5, *name).random(MANY) for name in names]
    limit = 4.0 / np.sqrt(MANY)
    for one, other in itertools.combinations(numbers, 2):
        assert abs(np.corrcoef(one, other)[0, 1]) <= limit
    same = generator(5, *names[0]).random(MANY)
    assert np.corrcoef(numbers[0], same)[0, 1] > limit


def test_streams_when_one_is_used_then_the_others_do_not_move() -> None:
    """Resampling the record leaves the sequences as they were."""
    before = generator(5, Stream.SEQUENCES, 0).random(10)
    generator(5, Stream.RECORD_RESAMPLES, 0).random(1_000)
    np.testing.assert_array_equal(generator(5, Stream.SEQUENCES, 0).random(10), before)


def test_streams_when_numbered_then_no_two_purposes_share_a_number() -> None:
    """A number stands for one purpose for ever: these are in use."""
    assert len({int(stream) for stream in Stream}) == len(Stream.__members__)
    assert (int(Stream.SEQUENCES), int(Stream.RECORD_RESAMPLES)) == (1, 2)
