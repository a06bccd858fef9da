"""Is the replay held against what was announced, year by year, and are settings only offered?"""

import datetime as dt
import io
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from model.errors import InputError, PlanError
from model.evidence.announced import (
    held_in_plan,
    held_of,
    hold_against,
    opened_for_replay,
)
from model.evidence.offer import (
    FEWEST_YEARS,
    Offer,
    fit_settings,
    settings_tried,
    unseen_error,
    with_changes,
)
from model.keeping.compare import differences
from model.outlook.replay import replay_months
from model.plan.announced import (
    Announcements,
    parse_announcements,
    parse_rows,
    rows_of,
    signed_throughout,
    typed_rows,
)
from model.plan.plan import Announced
from model.plan.text import check_plan, edit_plan, parse_plan, read_plan
from model.record.record import read_record
from model.say.announced import held_in_words, none_in_words, offer_in_words
from model.water_year import format_month, parse_month

CONTRACT = Path(__file__).parents[1] / "reference" / "contract"


@pytest.fixture(scope="module")
def valley():
    """The plan and the record of the contract."""
    return read_plan(CONTRACT / "plan.toml"), read_record(CONTRACT / "record.csv")


def announced_by(plan, record, first_year, years, spin_up=15):
    """Return what a plan's rules would have announced, written to two digits."""
    first = parse_month(f"{first_year}-07")
    last = first + 12 * years - 1
    ledger = replay_months(plan, record, first - 12 * spin_up, last)
    at = {month: t for t, month in enumerate(ledger.months)}
    months = tuple(range(first + 11, last + 1, 12))
    to_date = ledger.columns["announced_to_date_ml_per_share"]
    amounts = tuple(round(float(to_date[at[format_month(month)]]), 2) for month in months)
    return Announcements("told.csv", months, amounts)


def test_parse_when_water_years_then_to_date_at_their_end():
    """2010-11 stands for June 2011; both ways of writing it are read."""
    found = parse_announcements(b"water_year,ml_per_share\n2010-11,0.35\n2011/12,1.2\n", "told.csv")
    assert [format_month(month) for month in found.months] == ["2011-06", "2012-06"]
    assert found.ml_per_share == (0.35, 1.2)
    assert found.water_years == ("2010-11", "2011-12")


def test_parse_when_dates_then_the_last_of_each_water_year():
    """Announcements through a year are to date: the last one counts."""
    data = b"date,ml_per_share\n2010-08-01,0.05\n2011-02-15,0.2\n2011-08,0\n2012-01-20,0.4\n"
    found = parse_announcements(data, "told.csv")
    assert [format_month(month) for month in found.months] == ["2011-02", "2012-01"]
    assert found.ml_per_share == (0.2, 0.4)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"year,ml_per_share\n2010,0.3\n", "no column date"),
        (b"water_year,ml_per_share\n2010-12,0.3\n", "row 2, column water_year"),
        (b"water_year,ml_per_share\n2010-11,-0.3\n", "it is negative"),
        (b"water_year,ml_per_share\n2010-11,\n", "there is no value"),
        (b"water_year,ml_per_share\n2011-12,0.1\n2010-11,0.3\n", "order of time"),
        (b"water_year,ml_per_share\n2010-11,0.1\n2010-11,0.3\n", "row 3.*it stands twice"),
        (b"date,ml_per_share\n2010-08-15,0.1\n2010-08-01,0.3\n", "row 3.*it comes before"),
        (b"date,ml_per_share\n2010-02-30,0.3\n", "it is not a date"),
        (b"water_year,ml_per_share\n2010-11,135\n", "0 to 100 ML per share .35 % is 0.35"),
        (
            b"water_year,ml_per_share\n2010-11,35 %\n",
            "it is in percent, and this column is read as ML per share.*35 % is 0.35",
        ),
        (b"water_year,ml_per_share\n2010-11\n", "it has 1 cells and the header has 2"),
        (b"date,ml_per_share\n1/8/2010,0.3\n", "two ways, such as 1 August 2010 or 8 January 2010"),
    ],
)
def test_parse_when_a_cell_is_wrong_then_named(data, said):
    """A fault names its row and what is allowed."""
    with pytest.raises(InputError, match=said):
        parse_announcements(data, "told.csv")


TOLD = "water_year,ml_per_share\n2010-11,0.35\n2011-12,1.2\n2012-13,0\n"
AS_PEOPLE_HAVE_IT = {
    "UTF-8 with a mark": b"\xef\xbb\xbf" + TOLD.encode(),
    "UTF-16 and tabs, as Unicode text": TOLD.replace(",", "\t").encode("utf-16"),
    "semicolons": TOLD.replace(",", ";").encode(),
    "semicolons and decimal commas": TOLD.replace(",", ";").replace(".", ",").encode(),
    "every cell quoted": TOLD.replace("2010-11,0.35", '"2010-11","0.35"').encode(),
    "years with a slash": TOLD.replace("-", "/").encode(),
    "years in full": TOLD.replace("2010-11", "2010-2011").encode(),
    "Nov-10, as a spreadsheet saves 2010-11 again": TOLD.replace("2010-11", "Nov-10").encode(),
    "notes above": b"Announced by the agency\n\n" + TOLD.encode(),
    "titles": TOLD.replace("water_year,ml_per_share", "Water year,ML per share").encode(),
    "empty columns and rows": TOLD.replace("\n", ",,\n").encode() + b",,\n\n",
    "old line ends": TOLD.replace("\n", "\r").encode(),
    "days": b"date,ml_per_share\n30/06/2011,0.35\n30/06/2012,1.2\n30/06/2013,0\n",
    "Jun-11": b"date,ml_per_share\nJun-11,0.35\nJun-12,1.2\nJun-13,0\n",
}


@pytest.mark.parametrize("kind", AS_PEOPLE_HAVE_IT)
def test_parse_when_a_spreadsheet_wrote_it_then_years_and_shares_are_right(kind):
    """Announced history is read as records are; shapes are common practice, no source."""
    found = parse_announcements(AS_PEOPLE_HAVE_IT[kind], "told")
    assert found.water_years == ("2010-11", "2011-12", "2012-13")
    assert found.ml_per_share == (0.35, 1.2, 0.0)


def test_parse_when_a_workbook_made_days_of_years_then_years_and_shares_are_right():
    """Typed as 2010-11, a workbook holds the first of November 2010; 2012-13 stays text."""
    book, data = openpyxl.Workbook(), io.BytesIO()
    november, december = dt.datetime(2010, 11, 1), dt.datetime(2011, 12, 1)
    head = ("water_year", "ml_per_share")
    for row in (head, (november, 0.35), (december, 1.2), ("2012-13", 0.0)):
        book.active.append(row)
    book.save(data)
    found = parse_announcements(data.getvalue(), "told")
    assert found.water_years == ("2010-11", "2011-12", "2012-13")
    assert found.ml_per_share == (0.35, 1.2, 0.0)


REFUSED_WHOLE = [
    (b"%PDF-1.7", "copy its table into a spreadsheet"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "save it as an XLSX workbook"),
    (b"\x89PNG\r\n", "copy its table into a spreadsheet"),
    (b"water_year,ml_per_share\n2011,0.35\n2012,1.2\n", "such as 2010-11"),
]


@pytest.mark.parametrize(("data", "said"), REFUSED_WHOLE)
def test_parse_when_it_cannot_be_read_then_one_line_says_what_to_do(data, said):
    """One cause is one line, as for a record."""
    with pytest.raises(InputError) as refused:
        parse_announcements(data, "told")
    (line,) = str(refused.value).splitlines()[1:]
    assert said in line


def test_rows_when_every_figure_has_a_percent_sign_then_hundredths_of_a_share():
    """By hand: 35 % is 0.35; one figure without a sign, and the column is ML per share again."""
    head = b"water_year,ml_per_share\n"
    data = head + b"2010-11,35%\n2011-12,0\n2012-13,120.5 %\n"
    assert signed_throughout(data)
    assert parse_rows(data, "f", percent=True).ml_per_share == (0.35, 0.0, 1.205)
    mixed = head + b"2010-11,35%\n2011-12,0.4\n"
    assert not signed_throughout(mixed)
    assert not signed_throughout(head + b"2010-11,35\n")
    with pytest.raises(InputError) as caught:
        parse_rows(mixed, "f")
    assert [fault.where for fault in caught.value.faults] == ["row 2, column ml_per_share"]
    with pytest.raises(InputError, match=r"out of range.*0 to 10,000 %"):
        parse_rows(head + b"2010-11,12000 %\n", "f", percent=True)


def test_parse_when_many_cells_are_wrong_then_all_are_named():
    """A person mends a file in one go: three faults in two rows, each told once."""
    data = b"water_year,ml_per_share\n2010-11,much\n2012-14,\n"
    with pytest.raises(InputError) as caught:
        parse_announcements(data, "told.csv")
    assert [fault.where for fault in caught.value.faults] == [
        "row 2, column ml_per_share",
        "row 3, column ml_per_share",
        "row 3, column water_year",
    ]


def test_rows_when_typed_then_as_from_a_file_and_blank_ones_passed_over():
    """Rows count from 1, as a page shows them; what is left blank does not move the others."""
    typed = typed_rows("water_years", [("2010/11", "0.35"), (" ", ""), ("2011-12", "1.2")], "rows")
    assert typed == parse_rows(b"water_year,ml_per_share\n2010-11,0.35\n2011-12,1.2\n", "f")
    assert typed.lists() == {"water_years": ["2010-11", "2011-12"], "ml_per_share": [0.35, 1.2]}
    with pytest.raises(InputError, match="row 3, column water_year"):
        typed_rows("water_years", [("2010-11", "0.35"), ("", ""), ("2010", "1.2")], "rows")
    with pytest.raises(InputError, match="no row is filled in"):
        typed_rows("dates", [("", ""), ("", " ")], "rows")


def test_rows_when_a_water_year_looks_like_a_month_then_its_column_decides():
    """2010-11 is a water year in one column and a November in the other."""
    year = typed_rows("water_years", [("2010-11", "0.3")], "rows").announcements("rows")
    november = typed_rows("dates", [("2010-11", "0.3")], "rows").announcements("rows")
    assert format_month(year.months[0]) == "2011-06"
    assert format_month(november.months[0]) == "2010-11"


def with_announced(plan, **announced):
    """Return the plan with a table of announced figures, checked."""
    return check_plan(plan.model_dump(exclude_none=True) | {"announced": announced}, "plan.toml")


@pytest.mark.parametrize("kind", ["water_years", "dates"])
def test_held_when_in_the_plan_or_in_a_file_then_the_same_numbers(valley, tmp_path, kind):
    """Lists in the plan and a file beside it give the same errors, to the bit."""
    plan, record = valley
    whens = {
        "water_years": ("1995-96", "1996-97", "1998-99"),
        "dates": ("1996-02-15", "1997-05", "1997-06-01", "1999-01-31"),
    }[kind]
    amounts = (0.1, 0.4, 0.9, 0.2)[: len(whens)]
    lines = [f"{when},{amount}" for when, amount in zip(whens, amounts, strict=True)]
    header = {"water_years": "water_year", "dates": "date"}[kind] + ",ml_per_share"
    (tmp_path / "told.csv").write_text("\n".join([header, *lines]) + "\n")
    inline = with_announced(plan, **{kind: list(whens), "ml_per_share": list(amounts)})
    in_file = with_announced(plan, file="told.csv")
    assert rows_of(inline, tmp_path) == rows_of(in_file, tmp_path)
    held = held_in_plan(inline, record, tmp_path)
    assert held == held_in_plan(in_file, record, tmp_path)
    assert [year.water_year for year in held.years] == ["1995-96", "1996-97", "1998-99"]
    assert held.years[1].announced_ml_per_share == (0.4 if kind == "water_years" else 0.9)
    assert held_in_plan(plan, record, tmp_path) is None


def test_held_when_the_file_is_not_there_then_it_is_named(valley, tmp_path):
    """A plan carried elsewhere without its file says so."""
    plan, record = valley
    with pytest.raises(InputError, match=r"told\.csv"):
        held_in_plan(with_announced(plan, file="told.csv"), record, tmp_path)


@pytest.mark.parametrize(
    ("announced", "said"),
    [
        ({}, "there is nothing to hold against"),
        ({"ml_per_share": [0.1]}, "they stand for no time"),
        ({"water_years": ["2010-11"]}, "announced.ml_per_share: it is missing"),
        ({"water_years": ["2010-11"], "ml_per_share": [0.1, 0.2]}, "it has 2 figures"),
        ({"water_years": ["2010-12"], "ml_per_share": [0.1]}, "value 1 .*not a water year"),
        ({"water_years": ["2011-12", "2010-11"], "ml_per_share": [0.1, 0.1]}, "comes before"),
        ({"water_years": ["2010-11", "2010/11"], "ml_per_share": [0.1, 0.1]}, "stands twice"),
        ({"dates": ["2010-11-31"], "ml_per_share": [0.1]}, "it is not a date"),
        ({"dates": ["2010-11"], "ml_per_share": [-0.1]}, "value 1 .*0 or more"),
        ({"file": "a.csv", "ml_per_share": [0.1]}, "not used, since file is given"),
        (
            {"dates": ["2010-11"], "water_years": ["2010-11"], "ml_per_share": [0.1]},
            "not used, since water_years is given",
        ),
        ({"file": "a.csv", "known_month": "1995-09", "known_storage_ml": 1.0}, "not a July"),
        (
            {"file": "a.csv", "known_month": "1995-07", "known_storage_ml": 1e9},
            "the dam holds more than its capacity",
        ),
    ],
)
def test_plan_when_announced_figures_are_wrong_then_the_key_and_the_matter_are_said(
    valley, announced, said
):
    """Exactly one of file and lists; each fault in the user's words."""
    with pytest.raises(PlanError, match=said) as caught:
        with_announced(valley[0], **announced)
    assert len(caught.value.faults) == 1


def test_plan_when_announced_figures_are_written_then_read_again_the_same(valley):
    """In and out of TOML, beside a file of the same; a comment on what stays is kept."""
    text = (CONTRACT / "plan.toml").read_text() + (
        '\n[announced]\nfile = "told.csv"\nknown_month = "1995-07"  # the gauge was read then\n'
        "known_storage_ml = 90_000.0\n"
    )
    lists = {"water_years": ["1995-96", "1996-97"], "ml_per_share": [0.25, 0.0]}
    state = {"known_month": "1995-07", "known_storage_ml": 90_000.0}
    edited = edit_plan(text, {"announced": lists | state})
    assert "# the gauge was read then" in edited
    assert "told.csv" not in edited
    plan = parse_plan(edited.encode(), "plan.toml")
    assert plan.announced == with_announced(valley[0], **lists, **state).announced
    assert parse_plan(edit_plan(edited, {"announced": None}).encode(), "p").announced is None
    fresh = edit_plan((CONTRACT / "plan.toml").read_text(), {"announced": lists})
    assert parse_plan(fresh.encode(), "p").announced.ml_per_share == (0.25, 0.0)


def test_plans_when_announced_figures_differ_then_told_by_water_year(valley):
    """Twelve announced years are no twelve months; only those that differ are told."""
    years = [f"{year}-{(year + 1) % 100:02d}" for year in range(1990, 2002)]
    before = with_announced(valley[0], water_years=years, ml_per_share=[0.5] * 12)
    after = with_announced(
        valley[0], water_years=[*years[1:], "2002-03"], ml_per_share=[0.4, *[0.5] * 10, 0.7]
    )
    told = [(one.key, one.before, one.after) for one in differences(before, after)]
    assert told == [
        ("announced.ml_per_share, 1990-91", "0.5", "not given"),
        ("announced.ml_per_share, 1991-92", "0.5", "0.4"),
        ("announced.ml_per_share, 2002-03", "not given", "0.7"),
    ]
    assert "ML per share" in differences(before, after)[0].meaning
    assert len(differences(valley[0], before)) == 13  # with the account of a known state
    assert not differences(before, before)


def test_hold_when_announced_by_the_same_rules_then_no_error(valley):
    """The plan's own replay, written to two digits, is found again to half a digit."""
    plan, record = valley
    held = hold_against(plan, record, announced_by(plan, record, 1980, 30))
    assert held.mean_error_ml_per_share <= 0.005
    assert held.none_found == held.none_announced
    assert held.none_false == 0
    assert held.replayed_from == "1965-07"
    assert not held.state_known


def test_hold_when_announced_otherwise_then_errors_by_hand(valley):
    """Bias, size of error and years of nothing, counted by hand over four changed years."""
    plan, record = valley
    told = announced_by(plan, record, 1980, 30)
    changes = {0: 0.1, 1: -0.1, 2: 0.2}
    amounts = [max(0.0, a + changes.get(at, 0.0)) for at, a in enumerate(told.ml_per_share)]
    held = hold_against(plan, record, Announcements("told.csv", told.months, tuple(amounts)))
    errors = np.array(told.ml_per_share) - np.array(amounts)
    assert held.bias_ml_per_share == pytest.approx(errors.mean(), abs=0.005)
    assert held.mean_error_ml_per_share == pytest.approx(np.abs(errors).mean(), abs=0.005)
    none = [a < 0.005 for a in amounts]
    assert held.none_announced == sum(none)
    words = held_in_words(held)
    assert f"{held.mean_error_ml_per_share:.2f} ML a share off on average" in words
    assert "on top of every figure" in words


def test_words_when_years_with_nothing_are_named_then_found_missed_and_false_by_hand(valley):
    """One announced zero found, one missed, and water announced where the replay gives none."""
    plan, record = valley
    told = announced_by(plan, record, 1980, 30)
    zero = next(at for at, amount in enumerate(told.ml_per_share) if amount == 0.0)
    some = next(at for at, amount in enumerate(told.ml_per_share) if amount > 0.1)
    rest = [at for at, amount in enumerate(told.ml_per_share) if amount == 0.0 and at != zero][:1]
    amounts = list(told.ml_per_share)
    amounts[some] = 0.0
    for at in rest:
        amounts[at] = 0.3
    held = hold_against(plan, record, Announcements("told.csv", told.months, tuple(amounts)))
    said = none_in_words(held)
    years = told.water_years
    assert rest, "the contract's record has two years with nothing"
    assert years[zero] in said.split(". ")[0]
    assert said.split(". ")[1].endswith(f"but the replay gave water: {years[some]}")
    assert f"but the replay gave nothing: {years[rest[0]]}." in said
    assert held.none_false == 1
    assert "in 1 year they gave nothing" in held_in_words(held)


def test_hold_when_the_record_is_short_before_then_years_run_in_are_counted(valley):
    """The first years of a record have nothing to run in; counts of the opening are not theirs."""
    plan, record = valley
    first = record.first_month + (6 - record.first_month) % 12
    late = plan.model_copy(
        update={"opening": plan.opening.model_copy(update={"announced_to_date_ml_per_share": 0.9})}
    )
    told = Announcements("told.csv", (first + 11,), (0.0,))
    held = held_of(late, record, told)
    assert held.run_in_years == 0
    assert "after 0 years of running in" in held_in_words(held)
    assert held == held_of(plan, record, told)
    assert hold_against(plan, record, announced_by(plan, record, 1980, 2)).run_in_years == 15


def test_hold_when_years_leave_the_record_then_refused(valley):
    """Announcements of years after the record cannot be replayed."""
    plan, record = valley
    beyond = Announcements("told.csv", (record.last_month + 12,), (0.5,))
    with pytest.raises(InputError, match="would leave the record"):
        hold_against(plan, record, beyond)


def test_held_when_the_plan_knows_a_state_then_replayed_from_it(valley):
    """A dam known on a 1 July: the replay begins there, whatever the plan's opening."""
    plan, record = valley
    full = plan.model_copy(
        update={
            "announced": Announced(
                file="told.csv",
                known_month="1995-07",
                known_storage_ml=plan.valley.capacity_ml,
                known_account_ml_per_share=0.5,
            )
        }
    )
    told = Announcements("told.csv", (parse_month("1996-06"),), (1.0,))
    held = held_of(full, record, told)
    ledger = replay_months(
        opened_for_replay(full), record, parse_month("1995-07"), parse_month("1996-06")
    )
    assert held.replayed_from == "1995-07"
    assert held.state_known
    assert held.years[0].replayed_ml_per_share == pytest.approx(
        ledger.columns["announced_to_date_ml_per_share"][-1]
    )


def test_plan_when_a_known_month_has_no_storage_then_refused(valley):
    """Month and storage are known together or not at all."""
    plan, _ = valley
    raw = plan.model_dump(exclude_unset=True)
    raw["announced"] = {"file": "told.csv", "known_month": "1995-07"}
    with pytest.raises(PlanError, match="go together"):
        check_plan(raw, "plan.toml")


def test_fit_when_other_settings_announced_then_found_and_only_offered(valley):
    """History made by a stated other plan: its settings are found; the plan stays as it was."""
    plan, record = valley
    truth = with_changes(
        plan,
        {
            "valley.river_loss_ml": tuple(1.5 * loss for loss in plan.valley.river_loss_ml),
            "valley.general_security.others_keep_ml_per_share": 0.3,
        },
    )
    told = announced_by(truth, record, 1995, 15)
    before = plan.model_dump_json()
    offer = fit_settings(plan, record, told, hold_against(plan, record, told))
    assert sum(offer.changes["valley.river_loss_ml"]) == pytest.approx(
        1.5 * sum(plan.valley.river_loss_ml)
    )
    assert offer.changes["valley.general_security.others_keep_ml_per_share"] == 0.3
    assert offer.worth_offering
    assert offer.error_unseen_ml_per_share < offer.error_stated_ml_per_share
    assert offer_in_words(offer).startswith("Offered, not made: ")
    assert plan.model_dump_json() == before


def test_fit_when_the_plan_is_right_then_nothing_is_offered_and_progress_is_told(valley):
    """Nothing can be nearer than the rules that announced it; whoever waits hears of each try."""
    plan, record = valley
    told = announced_by(plan, record, 1995, 12)
    heard = []
    offer = fit_settings(
        plan, record, told, hold_against(plan, record, told), lambda *at: heard.append(at)
    )
    assert heard == [(at, offer.tried) for at in range(1, offer.tried + 1)]
    assert not offer.changes
    assert not offer.worth_offering
    assert "the plan's own are kept" in offer_in_words(offer)


def test_fit_when_too_few_years_then_refused(valley):
    """Three settings are not chosen on a handful of years."""
    plan, record = valley
    told = announced_by(plan, record, 1995, FEWEST_YEARS - 1)
    with pytest.raises(InputError, match="too few years"):
        fit_settings(plan, record, told, hold_against(plan, record, told))


def test_settings_when_listed_then_the_plans_own_first_and_none_twice(valley):
    """The first changes nothing; each other differs from all others, and is a whole plan."""
    plan, _ = valley
    tried = list(settings_tried(plan))
    assert tried[0] == {}
    assert len({tuple(sorted(changes.items())) for changes in tried}) == len(tried)
    for changes in tried[:: len(tried) // 8]:
        check_plan(with_changes(plan, changes).model_dump(exclude_none=True), "plan.toml")


def test_unseen_error_when_chosen_on_noise_then_worse_than_on_the_years_chosen():
    """Settings that differ only by luck: the best of many looks good, and is not."""
    errors = np.abs(np.random.default_rng(1).normal(0.0, 1.0, (100, 20)))
    chosen = errors.mean(axis=1).min()
    assert unseen_error(errors) > chosen
    assert unseen_error(errors) == pytest.approx(np.sqrt(2 / np.pi), abs=0.5)
    assert not Offer({"a": 1}, 0.8, chosen, unseen_error(errors) + 0.8, 100).worth_offering


def test_unseen_error_when_by_hand_then_each_stretch_with_the_best_of_the_others():
    """Two settings, five years: the second is best without year 1, and year 1 is scored by it."""
    errors = np.array([[9.0, 1.0, 1.0, 1.0, 1.0], [0.0, 2.0, 2.0, 2.0, 2.0]])
    # without year 1 the first is best (1 against 2): 9; without another year the second is.
    assert unseen_error(errors) == pytest.approx((9.0 + 4 * 2.0) / 5.0)
