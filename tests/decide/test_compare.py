"""Are strategies compared fairly, and is the comparison written whole?"""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit

from model.cli import main
from model.decide.amounts import amount_of
from model.decide.compare import (
    AMOUNTS,
    CROP_AMOUNTS,
    RUN_AMOUNTS,
    Comparison,
    compare,
    play_rows,
    run_amounts,
)
from model.decide.last_megalitre import last_megalitre_of_each
from model.decide.output import compare_json, crops_csv, outcomes_csv
from model.decide.strategy import BOLD, CAUTIOUS, MIDDLE, SHIPPED, strategies_of
from model.farm.measures import EVENTS
from model.farm.run import FarmResults
from model.farm.setting import farm_setting_of
from model.farm.state import Settings
from model.outlook.outlook import RecordResampling
from model.plan.shipped import demonstration_plan
from model.plan.strategy import Strategy
from model.plan.text import read_plan
from model.record.widening import Widening
from model.say.comparison import comparison_in_words
from model.say.last_megalitre import last_megalitre_in_words
from model.say.notes import compare_notes
from tests.farm_case import (
    CONTRACT,
    REMOVED,
    contract_record,
    farm_case,
    farm_plan,
    raw_plan,
    rows_of_plan,
)
from tests.few_records import resample_few

NAMED_COLUMNS = [
    "strategy",
    "sequence",
    "season",
    "water_year",
    "area_planted_ha",
    "area_finished_ha",
    "yield_bales_per_ha",
    "water_used_ml",
    "water_carried_ml",
    "water_lost_ml",
    "water_bought_ml",
    "water_sold_ml",
    "income_aud",
    "costs_aud",
    "margin_aud",
    "closing_cash_aud",
    "peak_overdraft_aud",
    "debt_service_aud",
    "cover",
]


@pytest.fixture(scope="module")
def compared() -> tuple[Comparison, FarmResults]:
    """Compare the example's three strategies."""
    return compare(farm_plan({"sequences.count": 300}), contract_record())


def test_compare_when_strategies_run_then_all_meet_the_same_sequences(
    compared: tuple[Comparison, FarmResults],
) -> None:
    """What is announced and what the weather asks is the same under every strategy."""
    _, results = compared
    announced = results["announced_ml_per_share"]
    assert announced.shape[0] == 3
    for at in (1, 2):
        assert (announced[at] == announced[0]).all()


def test_compare_when_run_then_every_result_has_both_errors(
    compared: tuple[Comparison, FarmResults],
) -> None:
    """Each chance and mean carries the error of the draws and that of the record."""
    found, _ = compared
    for outcome in found.outcomes:
        assert set(outcome.whole_run) == set(RUN_AMOUNTS)
        for season in outcome.seasons:
            assert set(season.amounts) == set(AMOUNTS)
            assert set(season.chances) == set(EVENTS)
            for estimate in season.chances.values():
                assert estimate.record_low is not None
                assert estimate.record_high is not None
                assert estimate.draws_low <= estimate.value <= estimate.draws_high
                assert estimate.record_low <= estimate.value <= estimate.record_high
            assert sum(season.lowest_cash_months.values()) == pytest.approx(1.0)


def test_chances_when_compared_then_they_are_the_share_of_sequences(
    compared: tuple[Comparison, FarmResults],
) -> None:
    """A chance of missing a payment, of no planting and of low cover is counted, not guessed."""
    found, results = compared
    for at, outcome in enumerate(found.outcomes):
        for season, seen in enumerate(outcome.seasons):
            missed = (results["payments_missed"][at, :, season] > 0).mean()
            idle = (results["area_planted_ha"][at, :, season] < 1e-6).mean()
            low = (results["cover"][at, :, season] < 1.25).mean()
            assert seen.chances["payment_missed"].value == pytest.approx(missed)
            assert seen.chances["no_planting"].value == pytest.approx(idle)
            assert seen.chances["cover_below_1_25"].value == pytest.approx(low)


def test_worst_tenth_when_high_is_bad_then_it_is_the_highest() -> None:
    """Of an overdraft the worst tenth is the deepest; of a margin the lowest (by hand)."""
    values = np.arange(1.0, 21.0)
    again, how = np.tile(values, 5), RecordResampling(5, 20, 1.0, Widening(1.0, 0.0, 5.0, 0.6))
    overdraft = amount_of("peak_overdraft_aud", lambda: (values, again), how)
    margin = amount_of("margin_aud", lambda: (values, again), how)
    assert overdraft is not None
    assert margin is not None
    assert overdraft.worst_tenth.value == 19.5
    assert margin.worst_tenth.value == 1.5
    assert overdraft.mean.value == margin.mean.value == 10.5


def test_amount_when_there_never_is_one_then_it_is_left_out() -> None:
    """Cover without debt is blank, not 0."""
    none = np.full(10, np.nan)
    how = RecordResampling(2, 10, 1.0, Widening(1.0, 0.0, 2.0, 0.6))
    assert amount_of("cover", lambda: (none, np.full(20, np.nan)), how) is None


def objective_aud(results: FarmResults, *, end_valued: bool) -> np.ndarray[Any, Any]:
    """Return each strategy's mean of cash less arrears, with or without what is left at the end."""
    run = run_amounts(results)
    cash_aud = run["closing_cash_aud"] - run["arrears_aud"]
    return (run["standing_aud"] if end_valued else cash_aud).mean(axis=1)


def test_end_value_when_left_out_then_draining_the_account_wins_and_with_it_none_does() -> None:
    """Two ways that differ only in season 3's leftover: sold for little, or carried on.

    Price of yearly water 20 a megalitre, worth of one left at the end 150: selling it all in June
    is a loss to the farm, and looks like a gain where the end of the run is not counted.
    """
    setting = farm_case(
        {
            "sequences.seasons": 1,
            "farm.trade.reference_aud_per_ml": 20.0,
            "farm.trade.lowest_aud_per_ml": 20.0,
            "farm.trade.highest_aud_per_ml": 20.0,
            "farm.trade.most_ml_per_season": 10_000.0,
        }
    )
    three = farm_case(
        {
            "farm.trade.reference_aud_per_ml": 20.0,
            "farm.trade.lowest_aud_per_ml": 20.0,
            "farm.trade.highest_aud_per_ml": 20.0,
            "farm.trade.most_ml_per_season": 10_000.0,
        }
    )
    holds = MIDDLE.model_copy(update={"name": "holds", "sell_above_aud_per_ml": None})
    drains = holds.model_copy(
        update={
            "name": "drains",
            "sell_months": ("June",),
            "sell_above_aud_per_ml": 0.0,
            "sell_keep_ml_per_share": 0.0,
        }
    )
    for case in (setting, three):
        results = play_rows_of(case, [holds, drains])
        left = results["account_ml_per_share"][..., -1].mean(axis=1)
        assert left[1] < left[0] - 0.1  # the second does drain it
        with_end = objective_aud(results, end_valued=True)
        assert with_end[0] > with_end[1]
    without_end = objective_aud(play_rows_of(setting, [holds, drains]), end_valued=False)
    assert without_end[1] > without_end[0]


def test_end_value_when_three_seasons_are_played_then_only_valuing_it_keeps_the_water() -> None:
    """Over all three seasons, on a farm that waits for better prices and plants nothing.

    Selling what is in the account each June for 20 a megalitre beats holding it by cash alone;
    with what is left at the end of season 3 valued at 150, holding wins.
    """
    setting = farm_case(
        {
            "farm.trade.reference_aud_per_ml": 20.0,
            "farm.trade.lowest_aud_per_ml": 20.0,
            "farm.trade.highest_aud_per_ml": 20.0,
            "farm.trade.most_ml_per_season": 10_000.0,
        }
    )
    assert setting.valley.calendar.seasons == 3
    holds = MIDDLE.model_copy(
        update={"name": "holds", "sell_above_aud_per_ml": None, "smallest_area_ha": 1e6}
    )
    drains = holds.model_copy(
        update={
            "name": "drains",
            "sell_months": ("June",),
            "sell_above_aud_per_ml": 0.0,
            "sell_keep_ml_per_share": 0.0,
        }
    )
    results = play_rows_of(setting, [holds, drains])
    assert (results["area_planted_ha"] == 0.0).all()
    left = results["account_ml_per_share"][..., -1].mean(axis=1)
    assert left[1] < left[0] - 0.1  # the second does drain it in season 3
    without_end = objective_aud(results, end_valued=False)
    with_end = objective_aud(results, end_valued=True)
    assert without_end[1] > without_end[0]
    assert with_end[0] > with_end[1]


def test_end_value_when_last_season_alone_differs_then_only_valuing_it_keeps_the_water() -> None:
    """In the last season planting every drop at a poor return beats holding, unless the end counts.

    Both ways play the same first season (no land is ready in it), so the last alone differs.
    """
    poor = {
        "farm.crops.0.price_aud_per_unit": 270.0,
        "farm.opening.prepared_ha": 0.0,
        "farm.opening.land_spent_aud": 0.0,
        "farm.money.forward_sales": [],
        "farm.trade.end_value_aud_per_ml": 400.0,
        "farm.bore": REMOVED,
        "farm.storage": REMOVED,
        "sequences.seasons": 2,
    }
    setting = farm_case(poor)
    plants = BOLD.model_copy(update={"name": "plants", "sell_above_aud_per_ml": None})
    holds = plants.model_copy(update={"name": "holds", "hold_back_ml_per_share": 1.4})
    results = play_rows_of(setting, [holds, plants])
    assert (results["area_planted_ha"][..., 0] == 0.0).all()
    cash_now = run_amounts(results)["margin_aud"].mean(axis=1)
    assert cash_now[1] > cash_now[0]
    left_aud = results["water_left_aud"][..., -1].mean(axis=1)
    assert cash_now[0] + left_aud[0] > cash_now[1] + left_aud[1]


def play_rows_of(setting: Any, strategies: list[Strategy]) -> FarmResults:
    """Play other strategies on a setting's own sequences."""
    again = farm_setting_of(setting.valley.plan, setting.valley.record, strategies)
    return play_rows(again, rows_of_plan(again))


def test_value_of_the_end_when_shown_then_it_stands_apart_from_cash(
    compared: tuple[Comparison, FarmResults],
) -> None:
    """Standing is cash less arrears, water, land, crops in it and crop unpaid, each named."""
    _, results = compared
    run = run_amounts(results)
    parts = run["water_left_aud"] + run["land_ready_aud"] + run["crop_unpaid_aud"]
    parts = parts + run["crops_in_ground_aud"]
    assert run["standing_aud"] == pytest.approx(
        run["closing_cash_aud"] - run["arrears_aud"] + parts
    )
    assert (parts > 0.0).any()


def test_socialised_evaporation_when_it_replaces_by_balance_then_carrying_is_worth_more() -> None:
    """Published in kind: socialising evaporation raises carrying, as holding then costs nothing.

    In kind, from memory: the account of who holds back keeps more where all bear the loss.
    """
    holder = CAUTIOUS.model_copy(update={"name": "holds", "hold_back_ml_per_share": 0.6})
    left = {}
    for mode in ("by_balance", "socialised"):
        results = play_rows_of(farm_case({"valley.accounts.loss_mode": mode}), [holder])
        left[mode] = results["water_lost_ml"].sum(axis=2).mean()
    assert left["socialised"] < 0.7 * left["by_balance"]


def test_play_when_run_in_chunks_then_results_are_those_of_one_run(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Cutting sequences into chunks changes no number, and progress reaches the end."""
    monkeypatch.setattr("model.sequences.unique.AT_ONCE", 50)
    setting = farm_case({"sequences.count": 5_100, "sequences.seasons": 1})
    seen: list[tuple[int, int]] = []
    chunked = play_rows(
        setting, rows_of_plan(setting), lambda done, total: seen.append((done, total))
    )
    whole = setting.results(setting.river(rows_of_plan(setting)))
    assert (chunked["closing_cash_aud"] == whole["closing_cash_aud"]).all()
    done = [part for part, _ in seen]
    assert done == sorted(set(done))
    assert len(done) == 3  # of the 129 that differ, 50 at once
    assert seen[-1] == (5_100, 5_100)


def test_strategies_when_plan_names_none_then_three_are_shipped() -> None:
    """Cautious, middle and bold, under plain names of their own."""
    plan = farm_plan({"strategies": REMOVED})
    assert strategies_of(plan) == SHIPPED
    assert len({strategy.name for strategy in SHIPPED}) == 3
    assert CAUTIOUS.hold_above_ml_per_share < MIDDLE.hold_above_ml_per_share
    assert MIDDLE.hold_back_ml_per_share > BOLD.hold_back_ml_per_share


def test_shipped_when_compared_with_the_example_then_they_are_the_same() -> None:
    """The demonstration shows the shipped strategies as a reader would write them, with crops.

    A fourth is planted as the middle one, and adds drought steps: nothing else sets them apart.
    """
    assert Settings.of(SHIPPED, farm_case().rules).prepare_k.tolist() == [[7], [7], [7]]
    shown = read_plan(demonstration_plan()).strategies
    *three, fourth = (strategy.model_copy(update={"grow": ()}) for strategy in shown)
    assert tuple(three) == SHIPPED
    assert fourth.without_steps().model_copy(update={"name": MIDDLE.name}) == MIDDLE
    assert shown[3].grow == shown[1].grow
    assert len(fourth.steps) == 4


def test_json_when_written_then_it_holds_what_it_was_made_from(
    compared: tuple[Comparison, FarmResults],
) -> None:
    """Settings, seed, record, formulas, labels and cautions stand beside the numbers."""
    document = json.loads(
        compare_json(compared[0], None, notes=compare_notes(compared[0].setting.farm))
    )
    assert document["seed"] == 7
    assert document["record"]["sha256"] == contract_record().sha256
    assert [s["name"] for s in document["strategies"]] == [s.name for s in SHIPPED]
    assert document["notes"]["what_varies"].startswith("Water only")
    assert "interest + principal due" in document["notes"]["formulas"]["cover"]
    for phrase in (
        "not financial, legal or agronomic advice",
        "yields, prices and costs",
        "lender",
    ):
        assert phrase.lower() in document["notes"]["caution"].lower()
    season = document["strategies"][0]["seasons"][1]
    assert set(season["chances"]) == set(EVENTS)
    assert "margin_aud_per_ml" in season
    assert "margin_aud_per_ha" in season
    assert "arrears_aud" in season
    assert document["strategies"][0]["dry_seasons_survived"]["seasons"] >= 0


def test_json_when_written_then_each_crop_in_each_row_layout_has_its_means(
    compared: tuple[Comparison, FarmResults],
) -> None:
    """By season: what is said of a crop is the mean over the rows of crops.csv."""
    found, results = compared
    document = json.loads(compare_json(found, None))
    table = list(csv.DictReader(io.StringIO("".join(crops_csv(found, results)))))
    layouts = found.setting.rules.layouts
    for strategy in document["strategies"]:
        for season in strategy["seasons"]:
            assert [crop["crop"] for crop in season["crops"]] == [each.crop for each in layouts]
            for crop in season["crops"]:
                rows = [
                    row
                    for row in table
                    if (row["strategy"], row["water_year"], row["crop"], row["layout"])
                    == (strategy["name"], season["water_year"], crop["crop"], crop["layout"])
                ]
                for name in CROP_AMOUNTS:
                    numbers = [float(row[name]) for row in rows if row[name]]
                    if numbers:
                        assert crop[name]["mean"] == pytest.approx(np.mean(numbers)), name
                    else:
                        assert crop[name] is None


def test_crops_when_harvested_then_margin_a_megalitre_is_margin_over_water(
    compared: tuple[Comparison, FarmResults],
) -> None:
    """By crop, row layout and year; blank where nothing was harvested or watered."""
    found, results = compared
    rows = list(csv.DictReader(io.StringIO("".join(crops_csv(found, results)))))
    told = [row for row in rows if row["margin_aud_per_ml"]]
    assert {row["crop"] for row in told} >= {"cotton"}
    for row in told[:200]:
        by_hand = float(row["margin_aud"]) / float(row["harvest_water_ml"])
        assert float(row["margin_aud_per_ml"]) == pytest.approx(by_hand)
        assert float(row["area_harvested_ha"]) > 0.0


def test_district_when_shares_are_stated_then_that_part_of_each_cost_a_megalitre() -> None:
    """By hand from the season's costs: half of crops and land, all overheads, none of the rest.

    Water bought is no spending in the district; no multiplier is on any of it.
    """
    shares = {"crops_frac": 0.5, "overheads_frac": 1.0, "drawings_frac": 0.25}
    changes = {"farm.money.district": shares, "sequences.seasons": 1, "sequences.count": 40}
    setting = farm_case(changes)
    found = play_rows(setting, rows_of_plan(setting))
    cash = setting.rules.cash
    overheads_aud, drawings_aud = cash.overheads_aud.sum(), cash.drawings_aud.sum()
    crops_aud = found["costs_aud"] - found["water_paid_aud"] - overheads_aud
    spent_aud = 0.5 * crops_aud + overheads_aud + 0.25 * drawings_aud
    assert found["district_aud"] == pytest.approx(spent_aud)
    used_ml = found["water_used_ml"]
    assert found["district_aud_per_ml"] == pytest.approx(
        np.where(used_ml > 0.0, spent_aud / np.where(used_ml > 0.0, used_ml, 1.0), np.nan),
        nan_ok=True,
    )
    without = farm_case({key: changes[key] for key in changes if "district" not in key})
    assert "district_aud" not in play_rows(without, rows_of_plan(without)).values


def test_csv_when_written_then_it_has_a_row_a_strategy_sequence_and_season(
    compared: tuple[Comparison, FarmResults],
) -> None:
    """Columns in the stated order, rows complete, blanks only where there is no number."""
    found, results = compared
    rows = list(csv.reader(io.StringIO("".join(outcomes_csv(found, results)))))
    assert rows[0][: len(NAMED_COLUMNS)] == NAMED_COLUMNS
    assert "area_prepared_ha" in rows[0]
    assert len(rows) == 1 + 3 * 300 * 3
    assert rows[1][:4] == ["A season in hand", "1", "1", "2025-26"]
    at = rows[0].index("closing_cash_aud")
    assert float(rows[1][at]) == results["closing_cash_aud"][0, 0, 0]
    yields = rows[0].index("yield_bales_per_ha")
    picked = results["area_picked_ha"].ravel() > 0.0
    assert [row[yields] != "" for row in rows[1:]] == picked.tolist()


def test_words_when_said_then_each_strategy_and_the_label_are_there(
    compared: tuple[Comparison, FarmResults],
) -> None:
    """The text names strategies, return per megalitre and per hectare, and what varies."""
    text = comparison_in_words(compared[0])
    for strategy in SHIPPED:
        assert strategy.name in text
    assert " a ML used and " in text
    assert "Water only" in text
    assert "Interest cover: earnings before interest and tax" in text


def write_plan(folder: Path, changes: dict[str, Any] | None = None) -> Path:
    """Write the example plan beside its record."""
    raw = raw_plan(
        {"sequences.count": 60, "record": str(CONTRACT / "record.csv")} | (changes or {})
    )
    path = folder / "plan.toml"
    path.write_text(tomlkit.dumps(raw), encoding="utf-8")
    return path


def test_command_when_run_twice_then_the_same_bytes_are_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """`seasons compare` writes both files, prints cautions, and does so the same each time."""
    resample_few(monkeypatch)
    plan = write_plan(tmp_path)
    for name in ("one", "two"):
        assert main(["compare", str(plan), "--out", str(tmp_path / name)]) == 0
    for file in ("compare.json", "outcomes.csv"):
        assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "two" / file).read_bytes()
    said = capsys.readouterr().out
    for words in (
        "not financial, legal or agronomic advice",
        "outcomes.csv",
        "One more megalitre is worth",
        "How good is good",
    ):
        assert words in said


def test_command_when_frontier_is_asked_for_then_its_grid_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`--frontier` writes 20 x 20 points about a strategy, and refuses a name it does not know."""
    plan = write_plan(tmp_path, {"sequences.seasons": 1})
    asked = ["compare", str(plan), "--out", str(tmp_path / "out"), "--no-table", "--frontier"]
    assert main([*asked, MIDDLE.name]) == 0
    rows = list(csv.DictReader(io.StringIO((tmp_path / "out" / "frontier.csv").read_text("utf-8"))))
    assert len(rows) == 400
    assert {row["dominated"] for row in rows} == {"0", "1"}
    assert "best in the average of the worst 10 in 100" in capsys.readouterr().out
    assert not (tmp_path / "out" / "outcomes.csv").exists()
    assert main([*asked, "nobody"]) == 2
    assert "there is no such strategy" in capsys.readouterr().err


def test_last_megalitre_when_compared_then_each_strategy_has_its_curves(
    compared: tuple[Comparison, FarmResults],
) -> None:
    """compare.json shows every use about the area each strategy plants, and where best turns."""
    found, results = compared
    last = last_megalitre_of_each(found.setting, results)
    document = json.loads(compare_json(found, None, last))["last_megalitre"]
    assert [one["name"] for one in document] == [s.name for s in SHIPPED]
    for one, at in zip(document, range(3), strict=True):
        assert one["area_ha"] == np.median(results["area_planted_ha"][at, :, 0])
        assert set(one["uses"]) == {"planted", "held", "on_farm", "sold"}
        assert len(one["uses"]["held"]["worth_aud_per_ml"]) == 5
        assert len(one["best_by_step"]) == 5
    said = last_megalitre_in_words(last)
    assert "held in the account ($" in said
    assert last_megalitre_in_words(()).startswith("What the last megalitre is worth is not")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"farm": REMOVED}, ["farm", "missing"]),
        ({"sequences.count": 200_000}, ["sequences.count", "100,000 or less"]),
        ({"farm.crops.0.most_of_land_frac": 1.4}, ["most_of_land_frac", "1.4", "1 or less"]),
        ({"farm.crops.0.income_pattern": [0.5] * 12}, ["income_pattern", "sum to 6"]),
        ({"farm.watering.supply_order": ["bore"]}, ["supply_order", "each source once"]),
        ({"strategies.0.grow.1.crop": "rice"}, ["rice", "no such crop", "cotton, wheat, sorghum"]),
        ({"strategies.0.grow.0.layout": "skip"}, ["skip", "no such row layout", "solid"]),
        ({"strategies.1.prepare_month": "October"}, ["prepare_month", "made ready"]),
        ({"strategies.1.name": "A season in hand"}, ["strategies", "another has this name"]),
        ({"strategies.0.hold_back": 0.2}, ["hold_back", "no such key", "hold_back_ml_per_share"]),
        ({"farm.crops.0.harvest_month": "January"}, ["harvest_month", "still watered then"]),
        ({"farm.money.forward_sales.0.water_year": "2031-32"}, ["2031-32", "no such season"]),
        ({"farm.money.loans.0.interest_only_years": 15}, ["interest_only_years", "less than 15"]),
        ({"farm.trade.highest_aud_per_ml": 10.0}, ["highest_aud_per_ml", "50"]),
        ({"valley.farm_eto_mm": REMOVED}, ["farm.crops", "cotton", "how much water"]),
    ],
)
def test_command_when_farm_is_wrong_then_it_says_where_and_what_is_allowed(
    changes: dict[str, Any],
    words: list[str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Exit status 2, and a message with key, value and what is allowed; no traceback."""
    plan = write_plan(tmp_path, changes)
    assert main(["compare", str(plan), "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err
    for word in words:
        assert word in said
    assert not (tmp_path / "out").exists()
