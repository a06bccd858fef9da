"""Whether the valley, told to be the dam of the textbooks, gives the numbers of the textbooks.

`textbook_dam` says how a plan makes that dam of the valley, and in which places a demand is exact.
Every number below is checked through the valley's own months. Three ways are used:

- *exact*: one year from every pair of storage and inflow gives the matrix of a Markov chain, whose
  stationary law is then solved for; tiny records have all their sequences enumerated;
- *drawn*: a chance p estimated from N sequences must lie within 4 sqrt(p (1 - p) / N), a mean
  within 4 standard errors;
- *refused*: each drawn check is made again on a wrong model (water spills before the release, or
  seasons drawn without their memory), and has to fail there.

Sources stand beside the checks, with the words "from memory" and "derived here" where they apply;
row ids such as M9 are only labels.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from numpy.typing import ArrayLike, NDArray

from model.outlook.outlook import play_sequences, setting_of
from model.plan.plan import Plan
from model.record.record import FloatArray, Record, parse_record
from model.sequences.blocks import Blocks
from model.sequences.historical import Historical
from model.sequences.slices import Method, cut, rows_of
from model.water_year import format_month, parse_month
from tests.textbook_dam import (
    OPENING,
    PLACES,
    Played,
    by_formula,
    play,
    record_of_months,
    record_of_years,
    rows_of_years,
    spill_first,
    textbook_plan,
)

EXACT = 1e-12
NO_WATER = 1e-9  # [ML] less is rounding
MakePlan = Callable[[float, float], Plan]


@pytest.fixture(params=PLACES, ids=lambda place: place.replace(" ", "_"))
def dam(request: pytest.FixtureRequest) -> MakePlan:
    """Plan of a dam, with the demand in each of the places where it is exact."""
    return PLACES[request.param]


# --- Tools -----------------------------------------------------------------------------------


def one_year(plan: Plan, inflow_ml: ArrayLike, storage_ml: ArrayLike) -> Played:
    """One season from each of these storages with each of these inflows, pair by pair."""
    inflows = np.asarray(inflow_ml, dtype=float)
    rows = rows_of_years(np.arange(inflows.size)[:, None])
    return play(plan, record_of_years(inflows), rows, storage_ml=storage_ml)


def stationary_law(matrix: FloatArray) -> FloatArray:
    """Solve for the law that a chain keeps: law = law x matrix, and the law sums to 1."""
    size = matrix.shape[0]
    equations = np.vstack([matrix.T - np.eye(size), np.ones(size)])
    return np.linalg.lstsq(equations, np.append(np.zeros(size), 1.0), rcond=None)[0]


class Chain:
    """A dam with whole units of storage and independent inflows, as the valley steps it."""

    def __init__(self, plan: Plan, capacity: int, demand: float, law: FloatArray) -> None:
        """Step the valley once from every storage 0..capacity with every inflow 0, 1, 2 ..."""
        storage, inflow = np.divmod(np.arange((capacity + 1) * law.size), law.size)
        year = one_year(plan, inflow, storage)
        after = np.rint(year.storage_end_ml[:, 0]).astype(int)
        np.testing.assert_allclose(after, year.storage_end_ml[:, 0], atol=EXACT)
        chance = law[inflow]
        self.matrix = np.zeros((capacity + 1, capacity + 1))
        np.add.at(self.matrix, (storage, after), chance)
        self.storage_law = stationary_law(self.matrix)
        weight = chance * self.storage_law[storage]
        released = year.released_ml[:, 0]
        self.short = float(weight[released < demand - NO_WATER].sum())
        self.mean_release = float(weight @ released)
        self.mean_spill = float(weight @ year.spill_ml[:, 0])


def geometric_law(top: int = 80) -> FloatArray:
    """0.6 x 0.4^j; what lies beyond `top` is below 1e-32."""
    return 0.6 * 0.4 ** np.arange(top + 1)


def poisson_law(mean: float, top: int = 40) -> FloatArray:
    """Poisson chances; what lies beyond `top` is below 1e-50 for a mean of 0.8."""
    steps = np.append(1.0, mean / np.arange(1, top + 1))
    return np.exp(-mean) * np.cumprod(steps)


def off_by_sigmas(hits: NDArray[np.bool_], chance: float) -> float:
    """How many standard errors a drawn share lies from a chance."""
    share, count = float(np.mean(hits)), hits.shape[0]
    if chance in (0.0, 1.0):
        return 0.0 if share == chance else np.inf
    return abs(share - chance) / np.sqrt(chance * (1.0 - chance) / count)


def worst_off(hits_and_chances: list[tuple[NDArray[np.bool_], float]]) -> float:
    """The furthest that any of these shares lies from its chance, in standard errors."""
    return max(off_by_sigmas(hits, chance) for hits, chance in hits_and_chances)


# --- One season ------------------------------------------------------------------------------


def test_season_when_valley_is_a_dam_then_it_is_the_textbook_step(dam: MakePlan) -> None:
    """Release and closing storage follow the formula, for fractions too, in every place."""
    rng = np.random.default_rng(54)
    for capacity, demand in ((4.0, 1.0), (5.0, 2.0), (1.0, 1.0), (2.5, 3.75), (0.5, 2.25)):
        storage = np.concatenate([[0.0, capacity, capacity], rng.random(197) * capacity])
        inflow = np.concatenate([[0.0, 0.0, demand], rng.exponential(2.0, 197)])
        year = one_year(dam(capacity, demand), inflow, storage)
        released, after = by_formula(capacity, demand, inflow, storage)
        np.testing.assert_allclose(year.released_ml[:, 0], released, rtol=EXACT, atol=EXACT)
        np.testing.assert_allclose(year.storage_end_ml[:, 0], after, rtol=EXACT, atol=EXACT)


def test_season_when_water_spills_first_then_it_is_not_the_textbook_step() -> None:
    """The model that is wrong on purpose does differ, where the dam is full."""
    year = one_year(spill_first(4.0, 1.0), [3.0, 1.0], [2.0, 1.0])
    _, after = by_formula(4.0, 1.0, np.array([3.0, 1.0]), np.array([2.0, 1.0]))
    assert year.storage_end_ml[:, 0].tolist() == [3.0, 1.0]
    assert after.tolist() == [4.0, 1.0]


# --- Storage and yield -----------------------------------------------------------------------

# Loucks and van Beek, Water Resource Systems Planning and Management (UNESCO 2005), Table 11.2.
LOUCKS_INFLOW = (1.0, 3.0, 3.0, 5.0, 8.0, 6.0, 7.0, 2.0, 1.0)
LARGE_ML = 1_000.0


def drawdown(demand_ml: ArrayLike, inflow_ml: ArrayLike, cycles: int) -> FloatArray:
    """How far a large dam, full at first, stands below full after each month: (month,) ML."""
    plan = textbook_plan(
        LARGE_ML, essential_ml=np.broadcast_to(demand_ml, 12).tolist(), storage_ml=LARGE_ML
    )
    record = record_of_months(inflow_ml)
    rows = np.tile(np.arange(record.months), cycles)[None, :]
    return LARGE_ML - play(plan, record, rows, season_months=1).storage_end_ml[0]


def test_sequent_peak_when_record_is_run_twice_then_capacity_is_the_printed_one() -> None:
    """S1: 7.5, Loucks and van Beek 2005, Table 11.2; printed in a public notebook, eci273 L03."""
    below_full = drawdown(3.5, LOUCKS_INFLOW, cycles=2)
    assert below_full.max() == pytest.approx(7.5, abs=EXACT)


def test_sequent_peak_when_followed_period_by_period_then_path_is_the_recursion() -> None:
    """S1b: the path of K over two cycles; derived here from the recursion of S1."""
    path = [2.5, 3, 3.5, 2, 0, 0, 0, 1.5, 4, 6.5, 7, 7.5, 6, 1.5, 0, 0, 1.5, 4]
    np.testing.assert_allclose(drawdown(3.5, LOUCKS_INFLOW, cycles=2), path, atol=EXACT)


def test_sequent_peak_when_record_is_run_once_then_it_misses_the_wrapped_dry_run() -> None:
    """S1c: one cycle finds 4 only, the classical mistake; derived here."""
    assert drawdown(3.5, LOUCKS_INFLOW, cycles=1).max() == pytest.approx(4.0, abs=EXACT)


def test_sequent_peak_when_demand_varies_then_capacity_is_the_books() -> None:
    """S3: 10; from memory (Vedula and Mujumdar, Water Resources Systems, 2005)."""
    demand = [5.0, 0.0, 5.0, 6.0, 2.0, 6.0] * 2  # six periods, twice a year
    below_full = drawdown(demand, [4.0, 8.0, 7.0, 3.0, 2.0, 0.0], cycles=2)
    assert below_full.max() == pytest.approx(10.0, abs=EXACT)


def test_sequent_peak_when_series_are_random_then_it_is_the_largest_window_deficit() -> None:
    """S12: a property of 200 gamma series with mean draft at most mean inflow; derived here."""
    rng = np.random.default_rng(12)
    periods, series = 9, 200
    inflow = rng.gamma(0.8, 1.0, (series, periods))
    inflow *= rng.uniform(1.0, 1.6, (series, 1)) / inflow.mean(axis=1, keepdims=True)
    plan = textbook_plan(LARGE_ML, essential_ml=[1.0] * 12, storage_ml=LARGE_ML)
    rows = np.arange(inflow.size).reshape(inflow.shape)
    dam = play(plan, record_of_months(inflow.ravel()), np.tile(rows, 2), season_months=1)
    needed = LARGE_ML - dam.storage_end_ml.min(axis=1)

    deficits = np.cumsum(np.tile(1.0 - inflow, 2), axis=1)
    deficits = np.concatenate([np.zeros((series, 1)), deficits], axis=1)
    largest = [
        max(row[j] - row[i] for j in range(row.size) for i in range(j + 1)) for row in deficits
    ]
    np.testing.assert_allclose(needed, largest, rtol=0.0, atol=1e-10)
    assert (needed > 0.5).sum() > 150  # the series do need a dam


FIRM_YIELDS = {
    0: 1.0,
    1: 1.5,
    2: 2.0,
    3: 7 / 3,
    4: 8 / 3,
    5: 3.0,
    7.5: 3.5,
    9: 3.8,
    10: 4.0,
    12: 4.0,
}


def holds(capacity_ml: float, draft_ml: float) -> bool:
    """Whether a full dam supplies a draft over the record twice, and is no lower for the second."""
    capacity_ml = capacity_ml or 1e-13  # a dam that is no dam
    plan = textbook_plan(capacity_ml, essential_ml=[draft_ml] * 12, storage_ml=capacity_ml)
    rows = np.tile(np.arange(9), 2)[None, :]
    dam = play(plan, record_of_months(LOUCKS_INFLOW), rows, season_months=1)
    never_short = dam.released_ml.min() >= draft_ml - 1e-12
    return bool(never_short and dam.storage_end_ml[0, 17] >= dam.storage_end_ml[0, 8] - 1e-12)


@pytest.mark.parametrize(("capacity_ml", "firm_ml"), FIRM_YIELDS.items())
def test_firm_yield_when_found_by_bisection_then_it_is_the_worst_window(
    capacity_ml: float, firm_ml: float
) -> None:
    """S4: least (K + inflow) / length over windows, at most the mean 4; derived here."""
    low, high = 0.0, 8.0
    for _ in range(36):
        middle = (low + high) / 2.0
        low, high = (middle, high) if holds(capacity_ml, middle) else (low, middle)
    assert low == pytest.approx(firm_ml, abs=1e-9)


# --- Stationary laws, exactly ----------------------------------------------------------------


def test_stationary_when_inflow_is_geometric_then_law_is_morans(dam: MakePlan) -> None:
    """M1: Moran 1954, Prabhu 1958 (Ann. Math. Statist. 29:1234); closed form derived here."""
    chain = Chain(dam(4.0, 1.0), 4, 1.0, geometric_law())
    expected = [
        Fraction(81, 133),
        Fraction(108, 665),
        Fraction(72, 665),
        Fraction(48, 665),
        Fraction(32, 665),
    ]
    np.testing.assert_allclose(chain.storage_law, np.array(expected, float), atol=1e-10)


def test_stationary_when_inflow_is_geometric_then_supply_is_morans(dam: MakePlan) -> None:
    """M1b: chance of being short, mean release and mean spill; closed form derived here."""
    chain = Chain(dam(4.0, 1.0), 4, 1.0, geometric_law())
    assert chain.short == pytest.approx(float(Fraction(243, 665)), abs=1e-10)
    assert chain.mean_release == pytest.approx(float(Fraction(422, 665)), abs=1e-10)
    assert chain.mean_spill == pytest.approx(float(Fraction(64, 1995)), abs=1e-10)


def test_stationary_when_net_inflow_is_one_up_or_down_then_law_is_truncated_geometric(
    dam: MakePlan,
) -> None:
    """M3: Moran 1956, Pegram 1980 (J. Hydrol. 47:269); truncated geometric, derived here."""
    chain = Chain(dam(5.0, 1.0), 5, 1.0, np.array([0.6, 0.0, 0.4]))
    expected = [
        Fraction(243),
        Fraction(162),
        Fraction(108),
        Fraction(72),
        Fraction(48),
        Fraction(32),
    ]
    np.testing.assert_allclose(chain.storage_law, np.array(expected, float) / 665, atol=1e-10)


def test_stationary_when_net_inflow_is_one_up_or_down_then_release_and_spill_add_up(
    dam: MakePlan,
) -> None:
    """M3b: short, release and spill; derived here, and release + spill is the mean inflow 0.8."""
    chain = Chain(dam(5.0, 1.0), 5, 1.0, np.array([0.6, 0.0, 0.4]))
    assert chain.short == pytest.approx(0.21924812, abs=1e-8)
    assert chain.mean_release == pytest.approx(0.78075188, abs=1e-8)
    assert chain.mean_spill == pytest.approx(0.0192481203, abs=1e-10)
    assert chain.mean_release + chain.mean_spill == pytest.approx(0.8, abs=EXACT)


def test_stationary_when_inflow_is_poisson_then_law_is_prabhus(dam: MakePlan) -> None:
    """M4: case of Prabhu 1958; numbers derived here."""
    chain = Chain(dam(5.0, 1.0), 5, 1.0, poisson_law(0.8))
    expected = [0.47621406, 0.20264857, 0.13649534, 0.08909521, 0.0579103, 0.03763651]
    np.testing.assert_allclose(chain.storage_law, expected, atol=1e-8)


M5_LAW = np.array([0.2, 0.25, 0.2, 0.15, 0.1, 0.1])
M5_STORAGE = np.array(
    [0.21318343, 0.11144177, 0.12232701, 0.13297076, 0.13292156, 0.11167322, 0.17548225]
)


def test_stationary_when_all_inflow_is_wanted_then_law_is_the_solved_one(dam: MakePlan) -> None:
    """M5: mean inflow equals demand; derived here in exact fractions."""
    chain = Chain(dam(6.0, 2.0), 6, 2.0, M5_LAW)
    np.testing.assert_allclose(chain.storage_law, M5_STORAGE, atol=1e-8)


M6_STORAGE = np.array([70 / 181, 39 / 181, 234 / 1267, 270 / 1267])
M6_STAYS = np.array([[0.7, 0.3], [0.4, 0.6]])  # last inflow 0 or 2 -> this one


def test_stationary_when_inflow_is_a_markov_chain_then_law_is_lloyds(dam: MakePlan) -> None:
    """M6: model of Lloyd 1963 (Water Resour. Res. 3); case and numbers derived here."""
    storage, wet = np.divmod(np.arange(8), 2)
    year = one_year(dam(3.0, 1.0), 2.0 * wet, storage)
    after = np.rint(year.storage_end_ml[:, 0]).astype(int)
    matrix = np.zeros((8, 8))  # from (storage, last inflow) to (storage, this inflow)
    for s in range(4):
        for before in range(2):
            for now in range(2):
                matrix[2 * s + before, 2 * after[2 * s + now] + now] = M6_STAYS[before, now]
    law = stationary_law(matrix).reshape(4, 2).sum(axis=1)
    np.testing.assert_allclose(law, M6_STORAGE, atol=EXACT)


def test_stationary_when_inflow_is_exponential_then_the_closed_law_is_kept(dam: MakePlan) -> None:
    """M7: Prabhu 1958, Finch 2023 (arXiv:2301.03111); closed form for C <= m derived here.

    With M = E[exp(S)], a season from any storage S <= 1 leaves 0 with chance 1 - exp(S - 1), full
    with exp(S - 2), else a density exp(S - 1 - s): the law is known but for M, and M follows. Here
    the valley itself is asked, at the nodes of an integration, which inflow first leaves something
    and which first leaves a full dam, and what lies between.
    """
    m_of_s = 1.0 / (1.0 - np.exp(-1.0))
    nodes, weights = np.polynomial.legendre.leggauss(12)
    nodes, weights = (nodes + 1.0) / 2.0, weights / 2.0
    storage = np.concatenate([[0.0, 1.0], nodes])
    law = np.concatenate(
        [
            [1.0 - m_of_s * np.exp(-1.0), m_of_s * np.exp(-2.0)],
            weights * m_of_s * np.exp(-1.0 - nodes),
        ]
    )
    assert law.sum() == pytest.approx(1.0, abs=EXACT)

    plan = dam(1.0, 1.0)

    def first_inflow(reached: Callable[[FloatArray], NDArray[np.bool_]]) -> FloatArray:
        low, high = np.zeros(storage.size), np.full(storage.size, 4.0)
        for _ in range(40):
            middle = (low + high) / 2.0
            yes = reached(one_year(plan, middle, storage).storage_end_ml[:, 0])
            low, high = np.where(yes, low, middle), np.where(yes, middle, high)
        return high

    wets = first_inflow(lambda end: end > 1e-11)
    fills = first_inflow(lambda end: end >= 1.0 - 1e-11)
    between = wets[:, None] + (fills - wets)[:, None] * nodes
    pairs = np.repeat(storage, nodes.size)
    ends = one_year(plan, between.ravel(), pairs).storage_end_ml[:, 0].reshape(between.shape)
    partly = (ends * np.exp(-between) * weights).sum(axis=1) * (fills - wets)

    assert law @ (1.0 - np.exp(-wets)) == pytest.approx(0.4180233, abs=1e-6)
    assert law @ np.exp(-fills) == pytest.approx(0.2140973, abs=1e-6)
    assert law @ (partly + np.exp(-fills)) == pytest.approx(0.3678795, abs=1e-6)


@pytest.mark.parametrize(("capacity", "seasons"), [(1, 6), (2, 12), (3, 20), (4, 30), (5, 42)])
def test_first_shortage_when_dam_starts_full_then_mean_wait_is_the_closed_form(
    dam: MakePlan, capacity: int, seasons: int
) -> None:
    """M8: (C + 1)(C + 2) seasons for inflow 0 or 2, each 1/2; derived here."""
    storage, wet = np.divmod(np.arange(2 * (capacity + 1)), 2)
    year = one_year(dam(capacity, 1.0), 2.0 * wet, storage)
    goes_on = year.released_ml[:, 0] >= 1.0 - NO_WATER
    after = np.rint(year.storage_end_ml[:, 0]).astype(int)
    onward = np.zeros((capacity + 1, capacity + 1))
    np.add.at(onward, (storage[goes_on], after[goes_on]), 0.5)
    wait = np.linalg.solve(np.eye(capacity + 1) - onward, np.ones(capacity + 1))
    assert wait[capacity] == pytest.approx(seasons, abs=1e-9)


S11_YEARS = np.array([[2.0, 0.0], [1.0, 1.0], [3.0, 1.0], [0.0, 0.0], [2.0, 2.0]])
S11_STORAGE = np.array([3 / 15, 2 / 15, 4 / 15, 6 / 15])


def record_of_half_years(years: FloatArray) -> Record:
    """Record of years whose inflow comes in July and in January."""
    months = np.zeros((years.shape[0], 12))
    months[:, [0, 6]] = years
    return record_of_months(months.ravel())


def half_year_plan(capacity: float) -> Plan:
    """A draft of 1 in July and in January, of the essential supplies."""
    return textbook_plan(capacity, essential_ml=[1.0, *[0.0] * 5] * 2)


def test_stationary_when_a_year_has_two_seasons_then_law_is_goulds() -> None:
    """S11: probability matrix of Gould 1961, from memory; case and numbers derived here."""
    storage, year = np.divmod(np.arange(20), 5)
    played = play(
        half_year_plan(3.0),
        record_of_half_years(S11_YEARS),
        rows_of_years(year[:, None]),
        storage_ml=storage,
    )
    matrix = np.zeros((4, 4))
    np.add.at(matrix, (storage, np.rint(played.storage_end_ml[:, 0]).astype(int)), 0.2)
    np.testing.assert_allclose(stationary_law(matrix), S11_STORAGE, atol=EXACT)


# --- Stationary laws, drawn ------------------------------------------------------------------

DRAWN, WARM_UP = 20_000, 24  # sequences; seasons until a start is forgotten (checked by the bands)


def drawn_years(seed: int, law: FloatArray, seasons: int = WARM_UP) -> NDArray[np.intp]:
    """(sequence, season) independent inflows 0, 1, 2 ... with these chances."""
    rng = np.random.default_rng(seed)
    return rng.choice(law.size, (DRAWN, seasons), p=law / law.sum())


def storage_off(plan: Plan, years: NDArray[np.intp], law: FloatArray, scale: float = 1.0) -> float:
    """How far the drawn law of the last storage lies from a law, in standard errors.

    `scale` is the inflow of year number 1; year j brings j times that.
    """
    record = record_of_years(scale * np.arange(years.max() + 1))
    end = np.rint(play(plan, record, rows_of_years(years)).storage_end_ml[:, -1])
    return worst_off([(end == s, chance) for s, chance in enumerate(law)])


M1_STORAGE = np.array([405, 108, 72, 48, 32]) / 665


@pytest.mark.parametrize("place", ["essential", "general security"])
def test_stationary_when_geometric_inflow_is_drawn_then_law_lies_in_the_bands(place: str) -> None:
    """M1 by simulation, within 4 standard errors."""
    years = drawn_years(101, geometric_law(40))
    assert storage_off(PLACES[place](4.0, 1.0), years, M1_STORAGE) < 4.0


def test_stationary_when_water_spills_first_then_law_leaves_the_bands() -> None:
    """M1's check refuses a dam that spills before the release."""
    years = drawn_years(101, geometric_law(40))
    assert storage_off(spill_first(4.0, 1.0), years, M1_STORAGE) > 8.0


def test_supply_when_geometric_inflow_is_drawn_then_shortage_lies_in_the_bands() -> None:
    """M1b by simulation: shortage, mean release and mean spill, within 4 standard errors."""
    years = drawn_years(102, geometric_law(40))
    played = play(
        PLACES["high security"](4.0, 1.0), record_of_years(np.arange(41)), rows_of_years(years)
    )
    released, spilt = played.released_ml[:, -1], played.spill_ml[:, -1]
    assert off_by_sigmas(released < 1.0 - NO_WATER, 243 / 665) < 4.0
    for values, mean in ((released, 422 / 665), (spilt, 64 / 1995)):
        assert abs(values.mean() - mean) < 4.0 * values.std() / np.sqrt(values.size)


def test_stationary_when_all_inflow_is_wanted_and_drawn_then_law_lies_in_the_bands() -> None:
    """M5 by simulation, within 4 standard errors; a dam that spills first is refused."""
    years = drawn_years(105, M5_LAW, seasons=40)
    assert storage_off(PLACES["essential"](6.0, 2.0), years, M5_STORAGE) < 4.0
    assert storage_off(spill_first(6.0, 2.0), years, M5_STORAGE) > 8.0


def markov_years(seed: int) -> NDArray[np.intp]:
    """(sequence, season) 0 dry or 1 wet, from M6's chain in its stationary law."""
    uniform = np.random.default_rng(seed).random((DRAWN, WARM_UP))
    wet = np.empty(uniform.shape, dtype=np.intp)
    wet[:, 0] = uniform[:, 0] < 3 / 7
    for t in range(1, WARM_UP):
        wet[:, t] = uniform[:, t] < M6_STAYS[wet[:, t - 1], 1]
    return wet


def test_stationary_when_markov_inflow_is_drawn_then_law_lies_in_the_bands() -> None:
    """M6 by simulation, within 4 standard errors."""
    plan = PLACES["general security"](3.0, 1.0)
    assert storage_off(plan, markov_years(106), M6_STORAGE, scale=2.0) < 4.0


def test_stationary_when_markov_inflow_is_drawn_without_memory_then_law_leaves_the_bands() -> None:
    """M6's check refuses wet and dry years of the same shares in an order of chance."""
    plan = PLACES["general security"](3.0, 1.0)
    years = drawn_years(106, np.array([4 / 7, 3 / 7]))
    assert storage_off(plan, years, M6_STORAGE, scale=2.0) > 8.0


def exponential_off(plan: Plan) -> float:
    """How far the drawn chances of M7's dam being empty or full lie from the closed form."""
    inflow = np.random.default_rng(107).exponential(1.0, (DRAWN, 12))
    years = np.arange(inflow.size).reshape(inflow.shape)
    end = play(plan, record_of_years(inflow.ravel()), rows_of_years(years)).storage_end_ml[:, -1]
    return worst_off([(end <= NO_WATER, 0.4180233), (end >= 1.0 - NO_WATER, 0.2140973)])


def test_stationary_when_exponential_inflow_is_drawn_then_law_lies_in_the_bands() -> None:
    """M7 by simulation, within 4 standard errors; a dam that spills first is refused."""
    assert exponential_off(PLACES["essential"](1.0, 1.0)) < 4.0
    assert exponential_off(spill_first(1.0, 1.0)) > 8.0


def two_season_off(*, whole_years: bool) -> float:
    """How far the drawn law of S11's dam lies from the solved one, in standard errors.

    Years are drawn whole, or else each half of a year from a year of its own.
    """
    rng = np.random.default_rng(111)
    years = rng.integers(0, 5, (DRAWN, WARM_UP))
    rows = rows_of_years(years)
    if not whole_years:
        second = np.arange(rows.shape[1]) % 12 >= 6
        rows = np.where(second, rows_of_years(rng.integers(0, 5, years.shape)), rows)
    record = record_of_half_years(S11_YEARS)
    end = np.rint(play(half_year_plan(3.0), record, rows).storage_end_ml[:, -1])
    return worst_off([(end == s, chance) for s, chance in enumerate(S11_STORAGE)])


def test_stationary_when_two_season_years_are_drawn_then_law_lies_in_the_bands() -> None:
    """S11 by simulation of resampled years, within 4 standard errors."""
    assert two_season_off(whole_years=True) < 4.0


def test_stationary_when_half_years_are_drawn_apart_then_law_leaves_the_bands() -> None:
    """S11's check refuses seasons that are torn out of their years."""
    assert two_season_off(whole_years=False) > 8.0


# --- Three seasons from a known opening ------------------------------------------------------

M9_YEARS = (0.0, 0.0, 1.0, 1.0, 2.0, 4.0)
M10_YEARS = (0.0, 1.0, 3.0, 0.0, 2.0, 4.0)
INDEPENDENT = Blocks("independent", 1.0)
CIRCULAR = Blocks("circular", 3.0)
MOVING = Blocks("moving", 3.0)


def drawn_rows(method: Method, record: Record, *, count: int, seed: int) -> NDArray[np.intp]:
    """(sequence, month) rows of three seasons, by the model's own way of drawing."""
    slices = cut(record, parse_month(OPENING))
    drawn = method.draw(slices, 3, count, rng=np.random.default_rng(seed))
    return rows_of(slices, drawn, 36)


def every_sequence(method: Method, record: Record) -> NDArray[np.intp]:
    """Each different sequence that a method draws, once: all are as likely."""
    return np.unique(drawn_rows(method, record, count=8_000, seed=1), axis=0)


def shortages(plan: Plan, record: Record, rows: NDArray[np.intp]) -> NDArray[np.bool_]:
    """(sequence, 4) whether season 1, 2, 3 is short of 2 ML; whether any is."""
    short = play(plan, record, rows, storage_ml=2.0).released_ml < 2.0 - NO_WATER
    return np.column_stack([short, short.any(axis=1)])


@pytest.mark.parametrize(
    ("method", "years", "sequences", "expected"),
    [
        pytest.param(INDEPENDENT, M9_YEARS, 216, (0, 1 / 3, 11 / 27, 14 / 27), id="M9"),
        pytest.param(CIRCULAR, M10_YEARS, 6, (0, 1 / 6, 0, 1 / 6), id="M10"),
        pytest.param(Historical(), M10_YEARS, 6, (0, 1 / 6, 0, 1 / 6), id="M10-historical"),
        pytest.param(MOVING, M10_YEARS, 4, (0, 1 / 4, 0, 1 / 4), id="M10b"),
    ],
)
def test_shortage_when_every_sequence_is_run_then_chances_are_exact(
    dam: MakePlan,
    method: Method,
    years: tuple[float, ...],
    sequences: int,
    expected: tuple[float, ...],
) -> None:
    """M9, M10, M10b: record of six years, S0 = 2, m = 2, C = 5; derived here by enumeration."""
    record = record_of_years(years)
    rows = every_sequence(method, record)
    assert rows.shape[0] == sequences
    shares = shortages(dam(5.0, 2.0), record, rows).mean(axis=0)
    np.testing.assert_allclose(shares, expected, atol=EXACT)


@pytest.mark.parametrize(
    ("method", "runs"),
    [
        pytest.param(INDEPENDENT, list(product(range(6), repeat=3)), id="independent"),
        pytest.param(CIRCULAR, [(i, (i + 1) % 6, (i + 2) % 6) for i in range(6)], id="circular"),
        pytest.param(
            Historical(), [(i, (i + 1) % 6, (i + 2) % 6) for i in range(6)], id="historical"
        ),
        pytest.param(MOVING, [(i, i + 1, i + 2) for i in range(4)], id="moving"),
    ],
)
def test_sequences_when_all_are_drawn_then_they_are_the_runs_of_years_of_the_method(
    method: Method, runs: list[tuple[int, ...]]
) -> None:
    """M9, M10, M10b count these runs and no others: a circle goes on from its first year."""
    found = every_sequence(method, record_of_years(M10_YEARS))
    np.testing.assert_array_equal(found, np.unique(rows_of_years(runs), axis=0))


M9_CHANCES = (0.0, 1 / 3, 11 / 27, 14 / 27)
M10_CHANCES = (0.0, 1 / 6, 0.0, 1 / 6)
M10B_CHANCES = (0.0, 1 / 4, 0.0, 1 / 4)


def shortage_off(method: Method, years: tuple[float, ...], chances: tuple[float, ...]) -> float:
    """How far drawn shares of shortage lie from chances, in standard errors."""
    record = record_of_years(years)
    rows = drawn_rows(method, record, count=DRAWN, seed=9)
    short = shortages(PLACES["general security"](5.0, 2.0), record, rows)
    return worst_off([(short[:, i], chance) for i, chance in enumerate(chances)])


@pytest.mark.parametrize(
    ("right", "wrong", "years", "chances"),
    [
        pytest.param(INDEPENDENT, CIRCULAR, M9_YEARS, M9_CHANCES, id="M9"),
        pytest.param(CIRCULAR, INDEPENDENT, M10_YEARS, M10_CHANCES, id="M10"),
        pytest.param(MOVING, CIRCULAR, M10_YEARS, M10B_CHANCES, id="M10b"),
    ],
)
def test_shortage_when_sequences_are_drawn_then_only_the_right_method_lies_in_the_bands(
    right: Method, wrong: Method, years: tuple[float, ...], chances: tuple[float, ...]
) -> None:
    """M9, M10, M10b by drawing, within 4 standard errors; another way of drawing is refused."""
    assert shortage_off(right, years, chances) < 4.0
    assert shortage_off(wrong, years, chances) > 8.0


# --- Strict priority -------------------------------------------------------------------------

A1_SHARES = np.array([[1 / 3, 1 / 3, 1 / 3], [5 / 9, 7 / 36, 1 / 4], [16 / 27, 41 / 216, 47 / 216]])


def priority_plan(capacity_ml: float = 4.0 + 3.0, **sequences: object) -> Plan:
    """High security 1 before general security 2, S0 = 1; inflow in July, use in August.

    The dam holds C = 4 beside one season's use of 3. General security's allocation is what was
    announced by August, when July's inflow is in the dam: nothing is added later in the year, since
    in a year below full allocation August's use empties the dam.
    """
    return textbook_plan(
        capacity_ml,
        high_security_ml=1.0,
        general_security_ml=2.0,
        storage_ml=1.0,
        sequences=sequences,
    )


def test_priority_when_every_sequence_is_run_then_class_shares_are_exact() -> None:
    """A1: general security gets 0, 50 or 100 %; derived here, 216 sequences enumerated."""
    record = record_of_years(M9_YEARS)
    played = play(priority_plan(), record, every_sequence(INDEPENDENT, record))
    served = played.by_class_ml["general_security_ml"] / 2.0
    np.testing.assert_allclose(served, played.credited_ml_per_share, atol=EXACT)
    for share, expected in zip((0.0, 0.5, 1.0), A1_SHARES.T, strict=True):
        found = (np.abs(served - share) < NO_WATER).mean(axis=0)
        np.testing.assert_allclose(found, expected, atol=EXACT)


def test_priority_when_every_sequence_is_run_then_high_security_comes_first() -> None:
    """A1: general security gets nothing in a season in which high security is short."""
    record = record_of_years(M9_YEARS)
    played = play(priority_plan(), record, every_sequence(INDEPENDENT, record))
    high, general = (
        played.by_class_ml[name] for name in ("high_security_ml", "general_security_ml")
    )
    short = high < 1.0 - NO_WATER
    assert short.any()
    assert general[short].max() <= NO_WATER


def allocation_off(plan: Plan) -> float:
    """How far the whole outlook's allocations lie from A1's shares, in standard errors."""
    months = np.zeros((24, 12))
    months[:, 0] = M9_YEARS * 4
    first = parse_month("1900-07")
    lines = [f"{format_month(first + t)},{ml}" for t, ml in enumerate(months.ravel())]
    record = parse_record("\n".join(["month,inflow_ml", *lines]).encode(), "record.csv")
    _, results = play_sequences(setting_of(plan, record))
    announced = results["announced_to_date_ml_per_share"]
    return worst_off(
        [
            (np.abs(announced[:, season] - share) < NO_WATER, A1_SHARES[season, column])
            for season in range(3)
            for column, share in enumerate((0.0, 0.5, 1.0))
        ]
    )


def test_priority_when_the_whole_outlook_draws_then_shares_lie_in_the_bands() -> None:
    """A1 from a record file of 24 years through the outlook, within 4 standard errors."""
    drawing = {"method": "blocks", "kind": "independent", "count": DRAWN, "seed": 11}
    assert allocation_off(priority_plan(**drawing)) < 4.0


@pytest.mark.parametrize(
    ("capacity_ml", "drawing"),
    [
        pytest.param(4.0, {"kind": "independent"}, id="spills_before_the_release"),
        pytest.param(7.0, {"kind": "circular", "block_years": 3.0}, id="draws_whole_runs"),
    ],
)
def test_priority_when_dam_or_drawing_is_wrong_then_shares_leave_the_bands(
    capacity_ml: float, drawing: dict[str, object]
) -> None:
    """A1's check refuses a dam that spills first, and seasons that are not independent."""
    plan = priority_plan(capacity_ml, method="blocks", count=DRAWN, seed=11, **drawing)
    assert allocation_off(plan) > 8.0
