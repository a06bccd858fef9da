"""The brief's numbers, read back off its pages: those of the files, to the printed digit."""

from __future__ import annotations

import datetime as dt
import json
import math
import re
import statistics
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy.special import expit, logit

from model.brief.brief_file import document_of
from model.decide.compare import play_rows
from model.decide.desk import limit_and_bales
from model.decide.findings import Findings
from model.decide.output import compare_json
from model.decide.rivers import rivers_of
from model.files import plain
from model.outlook.chances import QUANTILES
from model.outlook.outlook import resampled_sequences
from model.outlook.output import outlook_json
from model.say.lender import DEBT_PARTS, case_in_words
from model.say.measures import title_of
from model.water_year import month_name, parse_month
from tests.brief_plan import farm_plan
from tests.brief_words import (
    chance_cell,
    chance_words,
    dollars,
    in_100,
    in_percent,
    printed,
    two_figures,
    with_range,
    words_of,
)

DAY = dt.date(2026, 1, 2)
EDGES = (0.0, 0.25, 0.5, 0.75, 1.0, math.inf)


@pytest.fixture(scope="module")
def words(pdf: bytes) -> str:
    """Read the brief once."""
    return words_of(pdf)


@pytest.fixture(scope="module")
def compared(found: Findings) -> dict[str, Any]:
    """Write compare.json once."""
    return json.loads(compare_json(found.compared, None))


@pytest.fixture(scope="module")
def outlook(found: Findings) -> dict[str, Any]:
    """Write outlook.json once."""
    return json.loads(outlook_json(found.odds))


def reached(amount: dict[str, Any], form) -> str:
    """Print what is reached in 9, 5 and 1 years of 10, each with the record's range."""
    return " ".join(
        with_range({"value": amount["quantiles"][q], **amount["errors"][q]}, form)
        for q in ("0.1", "0.5", "0.9")
    )


def per_share(value: float) -> str:
    """Print water per share."""
    return printed(value, 2)


def thousand(aud: float) -> str:
    """Print money in thousands."""
    return printed(aud / 1_000)


def test_brief_when_read_back_then_water_as_in_the_outlook_file(
    outlook: dict[str, Any], words: str
) -> None:
    """Every row of the water table, and each chance of nothing, is that of outlook.json."""
    count = outlook["count"]
    for season in outlook["seasons"]:
        year = season["water_year"]
        row = reached(season["announced_to_date_ml_per_share"], per_share)
        assert f"{year} announced by June {row}" in words
        row = reached(season["at_planting"]["usable_ml_per_share"], per_share)
        assert re.search(rf"{year} usable at planting, Oct \d{{4}} {re.escape(row)}", words)
        row = reached(season["storage_end_ml"], two_figures)
        assert f"{year} dam at the end of June, ML {row}" in words
        more = "more " if season["first_month"][-2:] != "07" else ""
        said = f"Nothing {more}announced in {year} {chance_words(season['chance_none'], count)}"
        assert said in words
    for running in outlook["chance_none_running"][1:]:
        row = f"Nothing announced {running['seasons']} seasons in a row"
        assert f"{row} {chance_words(running, count)}" in words


def test_brief_when_read_back_then_each_headline_is_of_the_files(
    found: Findings, outlook: dict[str, Any], compared: dict[str, Any], words: str
) -> None:
    """Each part's headline is there, and its numbers are those of the files."""
    headlines = [part["headline"] for part in document_of(found, DAY)["parts"]]
    assert all(headline in words for headline in headlines)
    announced = outlook["seasons"][0]["announced_to_date_ml_per_share"]["quantiles"]
    shares_ml = farm_plan().farm.licence.general_security_shares_ml
    sure, middle = (
        f"{printed(announced[q] * shares_ml)} ML ({per_share(announced[q])} ML a share)"
        for q in ("0.1", "0.5")
    )
    assert headlines[1] == (
        f"By June 2026, {sure} or more is announced 90 times in 100, {middle} 50 times"
    )
    ours = compared["strategies"][0]
    planted = f"2025-26: {printed(ours['seasons'][0]['area_planted_ha']['quantiles']['0.1'])} ha"
    assert headlines[0].startswith(f"{planted} of cotton or more 90 times in 100")
    chances, count = ours["whole_run"]["chances"], compared["count"]
    missed, past = (
        chance_words(chances[name], count).split(" (")[0]
        for name in ("payment_missed", "past_overdraft_limit")
    )
    assert headlines[0].endswith(
        f"of {payments_due()} loan payments one or more is missed {missed}"
    )
    assert farm_plan().farm.money.overdraft_limit_aud == 1e6
    assert headlines[2].endswith(f"the overdraft passes its limit of $1 million {past}")
    cover = ours["whole_run"]["run_term_debt_cover"]
    mean = {"value": cover["mean"], **cover["mean_errors"]}
    assert headlines[3] == (
        "After drawings and tax the farm covers its loan payments "
        f"{with_range(mean, lambda value: printed(value, 2))} times over the run; below 1.00 "
        f"{chance_words(chances['run_cover_below_1'], count)}"
    )


def test_brief_when_read_back_then_usable_water_leads(
    found: Findings, outlook: dict[str, Any], words: str
) -> None:
    """Page 1 says water at planting and at the finish, in megalitres; announced is not in it."""
    blocks = document_of(found, DAY)["parts"][0]["blocks"]
    decided = next(block["items"] for block in blocks if block["kind"] == "terms")
    said = dict(decided)["Water that grows a crop."]
    shares_ml = farm_plan().farm.licence.general_security_shares_ml
    for season in outlook["seasons"][:2]:
        for point in ("at_planting", "at_finish"):
            usable = season[point]["usable_ml_per_share"]["quantiles"]
            assert f"{printed(usable['0.1'] * shares_ml)} ML ({per_share(usable['0.1'])}" in said
            assert f"100, {printed(usable['0.5'] * shares_ml)} ML 50 times" in said
    assert "announced" not in said
    assert said in words


def test_brief_when_read_back_then_limit_worst_month_and_bills_are_said(
    found: Findings, words: str
) -> None:
    """The limit that holds 90 in 100 is the desk's; the worst month that of the bank by month."""
    rivers = rivers_of(found.setting)
    desk = limit_and_bales(found.setting, rivers, strategy=found.at)
    assert found.limit_needed_aud == pytest.approx(desk.limit_needed_aud.value, rel=1e-9)
    assert f"A limit of {dollars(found.limit_needed_aud)} holds all run 90 times in 100." in words
    sure = [row[list(QUANTILES).index(0.1)] for row in found.cash.quantiles_aud.T.tolist()]
    month = month_name(found.cash.first_month + sure.index(min(sure)))
    said = f"It is deepest in {month}: the bank is then above {dollars(min(sure))} 90 times in 100"
    assert said in words
    past = found.outcome.whole_run["past_limit_aud"].worst_tenth.value
    assert past > 0.0
    assert f"up to {dollars(past)} past it on average: the bank must agree to that first" in words


def test_brief_when_read_back_then_outcomes_by_own_water_are_of_the_sequences(
    found: Findings, words: str
) -> None:
    """Each class of water at planting: its share, and the middle and 8 in 10 of its sequences."""
    seasons = found.results["planting_usable_ml_per_share"].shape[2]
    rows = 0
    for season in range(seasons):
        water = found.results["planting_usable_ml_per_share"][0, :, season].tolist()
        for low, high in pairwise(EDGES):
            inside = [at for at, amount in enumerate(water) if low <= amount < high]
            if not inside:
                continue
            cells = []
            for name, form in (
                ("area_planted_ha", printed),
                ("water_carried_ml", two_figures),
                ("closing_cash_aud", thousand),
            ):
                values = [float(found.results[name][0, at, season]) for at in inside]
                first, middle, last = tenths(values)
                cells.append(f"{form(middle)} ({form(first)} to {form(last)})")
            upper = f"to {high:.2f}" if math.isfinite(high) else "or more"
            estimate = found.outcomes[rows].chance
            assert estimate.value == len(inside) / len(water)
            share = chance_cell(plain(estimate))
            year = f"{2025 + season}-{26 + season}"
            assert f"{year} {low:.2f} {upper} {share} {' '.join(cells)}" in words
            rows += 1
    assert rows == len(found.outcomes)


def test_brief_when_resampled_by_hand_then_chances_of_its_own_have_the_records_range(
    found: Findings,
) -> None:
    """Shares on each resampled record: 2.5 to 97.5 of them, widened by hand on the logit scale."""
    setting, how = found.setting, found.compared.record_error
    again = play_rows(setting, resampled_sequences(setting.valley)[0])
    water = again["planting_usable_ml_per_share"][0, :, 0].reshape(how.resamples, how.draws_each)
    first = found.outcomes[0]
    inside = (water >= first.from_ml_per_share) & (water < first.below_ml_per_share)
    month, estimate = found.lowest_months[-1]
    lowest = again["lowest_cash_month"][0, :, -1].reshape(how.resamples, how.draws_each) == month
    for happened, said in ((inside, first.chance), (lowest, estimate)):
        ends = np.quantile(happened.mean(axis=1), [0.025, 0.975])
        middle = logit(said.value)
        low, high = expit(middle + how.widening.factor * (logit(ends) - middle))
        assert said.headline == pytest.approx((min(low, said.value), max(high, said.value)))
        assert said.headline[0] < said.headline[1]


def tenths(values: list[float]) -> tuple[float, float, float]:
    """Return the first tenth, the middle and the last tenth (type 7) of values."""
    if len(values) == 1:
        return values[0], values[0], values[0]
    cut = statistics.quantiles(values, n=10, method="inclusive")
    return cut[0], cut[4], cut[8]


def payments_due() -> int:
    """Count the loan payments of the run by hand: the months of payment from its first to June."""
    plan = farm_plan()
    assert plan.farm is not None
    first = parse_month(plan.opening.month)
    last = parse_month("2028-06")
    months = [month_name(month).split()[0] for month in range(first, last + 1)]
    return sum(month in loan.payment_months for loan in plan.farm.money.loans for month in months)


def test_brief_when_read_back_then_money_as_in_the_comparison_file(
    found: Findings, compared: dict[str, Any], words: str
) -> None:
    """Bank, overdraft, cover, debt, equity and the strategies are those of compare.json."""
    ours = compared["strategies"][0]
    for season, (_, often) in zip(ours["seasons"], found.lowest_months, strict=True):
        cash = season["closing_cash_aud"]["quantiles"]
        deepest = season["peak_overdraft_aud"]["quantiles"]
        row = [cash["0.1"], cash["0.5"], cash["0.9"], deepest["0.5"], deepest["0.9"]]
        numbers = " ".join(thousand(value) for value in row)
        usual, share = max(
            season["lowest_cash_month"].items(), key=lambda item: (item[1], -parse_month(item[0]))
        )
        month = month_name(parse_month(usual))
        assert often.value == share
        said = f"{month}, {chance_cell(plain(often))}"
        assert f"{season['water_year']} {numbers} {said}" in words
        cover, term = season["cover"]["quantiles"], season["term_debt_cover"]["quantiles"]
        lender = [
            f"{printed(cover['0.5'], 2)} ({printed(cover['0.1'], 2)})",
            chance_cell(season["chances"]["cover_below_1"]),
            f"{printed(term['0.5'], 2)} ({printed(term['0.1'], 2)})",
            printed(season["interest_cover"]["quantiles"]["0.5"], 2),
            thousand(season["debt_aud"]["quantiles"]["0.5"]),
            thousand(season["receivable_aud"]["quantiles"]["0.5"]),
            f"{in_percent(season['equity_frac']['quantiles']['0.5'])} %",
            f"{in_percent(season['loan_to_value_frac']['quantiles']['0.5'])} %",
            thousand(season["arrears_aud"]["mean"]),
        ]
        assert f"{season['water_year']} {' '.join(lender)}" in words
    for strategy in compared["strategies"]:
        standing, chances = strategy["whole_run"]["standing_aud"], strategy["whole_run"]["chances"]
        row = f"{thousand(standing['mean'])} {thousand(standing['worst_tenth'])}"
        row += f" {chance_cell(chances['payment_missed'])}"
        row += f" {chance_cell(chances['past_overdraft_limit'])}"
        survived = strategy["dry_seasons_survived"]["seasons"]
        assert f"{strategy['name']} {row} {survived}" in words
    below = chance_words(ours["whole_run"]["chances"]["run_cover_below_1_25"], compared["count"])
    assert f"below 1.25 {below}." in words
    for name, said in (
        ("past_overdraft_limit", "Overdraft past its limit, some time in the run"),
        ("payment_missed", f"A loan payment missed, of {payments_due()} due in the run"),
        ("no_planting", "Nothing planted, in some season"),
    ):
        chance = ours["whole_run"]["chances"][name]
        assert f"{said}: {chance_words(chance, compared['count'])}." in words


def test_brief_when_cash_is_drawn_then_its_bands_end_as_in_the_comparison_file(
    found: Findings, compared: dict[str, Any]
) -> None:
    """The chart's own words: the band of 80 in 100 and the middle end at June's of the file."""
    blocks = document_of(found, DAY)["parts"][2]["blocks"]
    alt = next(block["alt"] for block in blocks if block["kind"] == "chart")
    june = compared["strategies"][0]["seasons"][-1]["closing_cash_aud"]["quantiles"]
    ends = [dollars(june[q]) for q in ("0.5", "0.1", "0.9")]
    said = f"ends at {ends[0]}; the band of 80 times in 100 ends between {ends[1]} and {ends[2]}"
    assert said in alt


def test_brief_when_read_back_then_every_stress_number_is_of_its_case(
    found: Findings, words: str
) -> None:
    """A row a case: area, cover, how often below 1.00, the bank, and what goes wrong how often."""
    for case in found.stress.cases:
        result = case.result
        row = [
            case_in_words(case),
            " / ".join(printed(ha) for ha in result.by_season("area_planted_ha")),
            printed(result.run_cover, 2),
            in_100(result.cover_below_1_frac),
            thousand(result.lowest_cash_aud),
            thousand(result.lowest_cash_9_of_10_aud),
            month_name(result.lowest_cash_month),
            in_100(result.past_limit_frac),
            in_100(result.payment_missed_frac),
            thousand(result.closing_cash_aud),
        ]
        assert " ".join(row) in words


def test_brief_when_read_back_then_parts_of_cover_add_up(found: Findings, words: str) -> None:
    """Left and due are the sums of the parts printed; cover is the one over the other."""
    debts = found.debts
    parts = {name: float(getattr(debts, name).mean()) for name in DEBT_PARTS}
    for name, title in DEBT_PARTS.items():
        assert f"{title} {thousand(parts[name])}" in words
    left = parts["operating_aud"] - parts["bank_interest_aud"] + parts["off_farm_aud"]
    left -= parts["drawings_aud"] + parts["tax_aud"]
    assert left == pytest.approx(parts["available_aud"])
    due = parts["term_interest_aud"] + parts["principal_aud"]
    for name, over in (("run_term_debt_cover", left), ("run_replacement_cover", left - 150_000.0)):
        amount = found.outcome.covers[name]
        assert amount is not None
        assert amount.mean.value == pytest.approx(over / due, rel=1e-9)
        assert f"{title_of(name)} {printed(over / due, 2)}" in words


def test_brief_when_read_back_then_driest_seasons_with_what_the_farm_does(
    found: Findings, words: str
) -> None:
    """The driest stretch, season by season, is what the farm was played through."""
    assert found.worst is not None
    assert found.worst_results is not None
    assert found.worst.years in words
    for season, again in enumerate(found.worst.seasons):
        bank, held, deepest = (
            found.worst_results[name][0, 0, season]
            for name in ("closing_cash_aud", "water_carried_ml", "peak_overdraft_aud")
        )
        row = [
            again.water_year,
            again.observed_in,
            printed(again.announced_to_date_ml_per_share, 2),
            printed(found.worst_results["area_planted_ha"][0, 0, season]),
            printed(held),
            thousand(bank),
            thousand(deepest),
            printed(found.worst_results["term_debt_cover"][0, 0, season], 2),
        ]
        assert " ".join(row) in words


def test_brief_when_read_back_then_break_evens_are_the_solved_ones(
    found: Findings, words: str
) -> None:
    """Price, yield, water and rates stand there as they were solved."""
    for one in found.stress.break_evens:
        assert one.at is not None
        assert one.cover_there is not None
        places = {"Lint price": 0, "Full yield": 2, "Water announced": 3, "Rates of interest": 2}
        there = printed(one.at, places[one.name])
        if one.unit == "points":
            row = f"as the plan +{there} {printed(one.at, 1)} points more"
        else:
            fall = printed(100 * (1 - one.at / one.now))
            row = f"{printed(one.now, places[one.name])} {there} {fall} % less"
        assert f"{row} {printed(one.cover_there, 2)}" in words
