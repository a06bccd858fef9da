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

from model.brief.brief_file import brief_pdf, document_of
from model.decide.compare import play_rows
from model.decide.findings import Findings, findings_of
from model.decide.output import compare_json
from model.files import plain
from model.outlook.outlook import resampled_sequences
from model.outlook.output import outlook_json
from model.say.lender import case_in_words
from model.water_year import month_name, parse_month
from tests.brief_plan import contract_record, farm_plan
from tests.brief_words import (
    chance_cell,
    chance_words,
    dollars,
    in_percent,
    printed,
    two_figures,
    with_range,
    words_of,
)

DAY = dt.date(2026, 1, 2)
EDGES = (0.0, 0.25, 0.5, 0.75, 1.0, math.inf)


@pytest.fixture(scope="module")
def found() -> Findings:
    """Run the plan once."""
    return findings_of(farm_plan(), contract_record())


@pytest.fixture(scope="module")
def words(found: Findings) -> str:
    """Read its brief once."""
    return words_of(brief_pdf(found, DAY))


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
    """Each page's headline is there, and its numbers are those of the files."""
    headlines = [page["headline"] for page in document_of(found, DAY)["pages"]]
    assert all(headline in words for headline in headlines)
    announced = outlook["seasons"][0]["announced_to_date_ml_per_share"]["quantiles"]
    shares_ml = farm_plan().farm.licence.general_security_shares_ml
    sure, middle = (
        f"{printed(announced[q] * shares_ml)} ML ({per_share(announced[q])} ML a share)"
        for q in ("0.1", "0.5")
    )
    assert headlines[0] == (
        f"By June 2026, {sure} or more is announced 90 times in 100, {middle} 50 times"
    )
    planted = compared["strategies"][0]["seasons"][0]["area_planted_ha"]["quantiles"]
    assert headlines[1].startswith(
        f"2025-26: {printed(planted['0.1'])} ha of cotton or more 90 times in 100"
    )
    assert farm_plan().farm.money.overdraft_limit_aud == 1e6
    past = compared["strategies"][0]["whole_run"]["chances"]["past_overdraft_limit"]
    often = chance_words(past, compared["count"]).split(" (")[0]
    assert headlines[1].endswith(f"the overdraft passes its limit of $1 million {often}")
    covers = [case.result.run_cover for case in found.stress.cases]
    short = sum(cover < 1.0 for cover in covers[1:])
    assert 0 < short < len(covers) - 1
    assert headlines[2] == (
        f"In the middle case income covers interest and principal {printed(covers[0], 2)} times; "
        f"in {short} of {len(covers) - 1} stress cases it is below 1.00"
    )


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
        middle, by = math.log(said.value / (1.0 - said.value)), how.widening.factor
        logits = middle + by * (np.log(ends / (1.0 - ends)) - middle)
        low, high = 1.0 / (1.0 + np.exp(-logits))
        assert said.headline == pytest.approx((min(low, said.value), max(high, said.value)))
        assert said.headline[0] < said.headline[1]


def tenths(values: list[float]) -> tuple[float, float, float]:
    """Give the first tenth, the middle and the last tenth (type 7) of values."""
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
    for name, said in (
        ("past_overdraft_limit", "Overdraft past its limit, some time in the run"),
        ("payment_missed", f"A loan payment missed, of {payments_due()} due in the run"),
        ("no_planting", "Nothing planted, in some season"),
        ("cover_below_1", "Debt cover below 1.00 in some season"),
    ):
        chance = ours["whole_run"]["chances"][name]
        assert f"{said}: {chance_words(chance, compared['count'])}." in words


def test_brief_when_cash_is_drawn_then_its_bands_end_as_in_the_comparison_file(
    found: Findings, compared: dict[str, Any]
) -> None:
    """The chart's own words: the band of 80 in 100 and the middle end at June's of the file."""
    blocks = document_of(found, DAY)["pages"][1]["blocks"]
    alt = next(block["alt"] for block in blocks if block["kind"] == "chart")
    june = compared["strategies"][0]["seasons"][-1]["closing_cash_aud"]["quantiles"]
    ends = [dollars(june[q]) for q in ("0.5", "0.1", "0.9")]
    said = f"ends at {ends[0]}; the band of 80 times in 100 ends between {ends[1]} and {ends[2]}"
    assert said in alt


def test_brief_when_read_back_then_every_stress_number_is_of_its_case(
    found: Findings, words: str
) -> None:
    """A row a case: area, cover, lowest bank and its month, bank at the end, payments missed."""
    limit = farm_plan().farm.money.overdraft_limit_aud
    for case in found.stress.cases:
        result = case.result
        past = " past limit" if -result.lowest_cash_aud > limit else ""
        row = [
            case_in_words(case),
            " / ".join(printed(ha) for ha in result.by_season("area_planted_ha")),
            printed(result.run_cover, 2),
            f"{thousand(result.lowest_cash_aud)}{past}",
            month_name(result.lowest_cash_month),
            thousand(result.closing_cash_aud),
            str(result.payments_missed),
        ]
        assert " ".join(row) in words


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
            printed(found.worst_results["cover"][0, 0, season], 2),
        ]
        assert " ".join(row) in words


def test_brief_when_read_back_then_break_evens_are_the_solved_ones(
    found: Findings, words: str
) -> None:
    """Price, yield, water and rates stand there as they were solved."""
    at = {one.name: one for one in found.stress.break_evens}
    for name, places, unit in (
        ("Lint price", 0, "$ a bale"),
        ("Full yield", 2, "bales a ha"),
        ("Water announced", 2, "ML a share"),
    ):
        one = at[name]
        assert one.at is not None
        fall = printed(100 * (1 - one.at / one.now))
        said = f"{name.lower()} may fall {fall} %, from {printed(one.now, places)} to "
        assert f"{said}{printed(one.at, places)} {unit}" in words
    rates = at["Rates of interest"].at
    assert rates is not None
    assert f"rates of interest may rise by {printed(rates, 1)} percentage points" in words
