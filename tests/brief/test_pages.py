"""The brief on paper: tagged, the same every time, and clean whatever comes."""

from __future__ import annotations

import datetime as dt
import io
import json
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader
from pypdf.generic import ArrayObject, BooleanObject, DictionaryObject

from model.brief.brief_file import brief_pdf, document_of
from model.brief.decision_page import decision_page
from model.brief.evidence_file import verdict_of
from model.brief.row_headers import elements
from model.brief.svg import Canvas, Scale, nice_ticks
from model.cli import main
from model.decide.bench import with_main_crop
from model.decide.findings import Findings, findings_of
from model.errors import InputError
from model.evidence.fingerprint import rules_fingerprint
from model.evidence.judge import Replaced
from model.evidence.verdict import Verdict
from model.files import plain
from model.plan.crops import OpeningCrop
from model.plan.plan import Plan
from model.record.record import Record
from model.say.cautions import FARM_CAUTION
from model.say.measures import formulas
from model.sequences.fallback import Because
from tests.a_verdict import a_verdict
from tests.brief_plan import credit_plan, farm_plan, farm_plan_text
from tests.brief_words import words_of

DAY = dt.date(2026, 1, 2)


def test_brief_when_read_back_then_formulas_cautions_and_origin_are_there(
    found: Findings, pdf: bytes
) -> None:
    """Each ratio's formula, the cautions, the record's hash, the seed and the date are printed."""
    words = words_of(pdf)
    for formula in formulas(("run_term_debt_cover", "interest_cover", "equity_frac")).values():
        assert formula in words
    assert FARM_CAUTION in words
    assert found.odds.record.sha256 in words
    assert str(found.odds.plan.sequences.seed) in words
    assert DAY.isoformat() in words
    assert "These odds have not been held against the past" in words


def test_brief_when_worst_stretch_then_farm_and_valley_agree(found: Findings) -> None:
    """What the farm saw announced in the driest seasons is what the valley announced."""
    assert found.worst is not None
    assert found.worst_results is not None
    seen = found.worst_results["announced_ml_per_share"][0, 0].tolist()
    opening = found.odds.plan.opening.announced_to_date_ml_per_share
    told = [again.announced_to_date_ml_per_share for again in found.worst.seasons]
    assert seen == pytest.approx([told[0] - opening, *told[1:]], abs=1e-9)


def test_brief_when_opened_then_tagged_with_headings_tables_and_alternatives(
    pdf: bytes, found: Findings
) -> None:
    """Language, title, headings in order, table headers and a text for each chart are tagged.

    What PDF/UA-1 (ISO 14289-1) asks of settings: marked, language, title shown, its identifier.
    """
    reader = PdfReader(io.BytesIO(pdf))
    root: Any = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert not root["/MarkInfo"].get("/Suspects", BooleanObject(False)).value
    assert root["/Lang"] == "en-AU"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Contract example"
    assert all(page["/Tabs"] == "/S" for page in reader.pages)
    tags = list(elements(root["/StructTreeRoot"]["/K"]))
    kinds = [str(element["/S"]) for element in tags]
    parts = document_of(found, DAY)["parts"]
    tables = [block for part in parts for block in part["blocks"] if block["kind"] == "table"]
    assert kinds.count("/H1") == 1
    assert kinds.count("/H2") == len(parts)
    assert kinds.index("/H1") < kinds.index("/H2") < kinds.index("/Table")
    assert kinds.count("/Table") == len(tables) == 13
    figures = [element for element in tags if element["/S"] == "/Figure"]
    assert len(figures) == 3
    assert all(str(figure.get("/Alt", "")) for figure in figures)
    metadata = root["/Metadata"].get_object().get_data()
    assert re.search(rb"<pdfuaid:part>1</pdfuaid:part>|pdfuaid:part=.1", metadata)


def test_brief_when_a_table_is_read_then_columns_and_rows_have_headers(pdf: bytes) -> None:
    """Each body row opens with a header whose scope is its row; each column has one of its own."""
    root: Any = PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    rows = 0
    for table in elements(root["/StructTreeRoot"]["/K"]):
        if table["/S"] != "/Table":
            continue
        for row in (each for each in elements(table) if each["/S"] == "/TR"):
            cells = [each for each in elements(row) if each["/S"] in ("/TH", "/TD")]
            scopes = [scope_of(cell) for cell in cells]
            assert scopes in (["/Column"] * len(cells), ["/Row"] + [None] * (len(cells) - 1))
            rows += 1
    assert rows > 70


def scope_of(cell: DictionaryObject) -> str | None:
    """Return the scope of a header; a plain cell has none."""
    if cell["/S"] == "/TD":
        return None
    given: Any = cell["/A"]
    attributes = given if isinstance(given, ArrayObject) else [given]
    return next(str(each.get_object()["/Scope"]) for each in attributes if "/Scope" in each)


def test_brief_when_set_then_no_letter_is_smaller_than_notes_may_be(pdf: bytes) -> None:
    """Nothing on any page is below 7.5 points, footer and charts included."""
    sizes: set[float] = set()

    def seen(words: str, _cm: Any, tm: Any, _font: Any, size: float) -> None:
        if words.strip():
            sizes.add(round(abs(size * tm[3]) if tm[3] else size, 2))

    for page in PdfReader(io.BytesIO(pdf)).pages:
        page.extract_text(visitor_text=seen)
    assert min(sizes) >= 7.5
    assert max(sizes) < 20.0


def test_brief_when_set_then_no_page_is_half_empty_but_the_last(pdf: bytes) -> None:
    """What is lowest on each page, footer apart, lies in its lower half."""
    for page in PdfReader(io.BytesIO(pdf)).pages[:-1]:
        places: list[float] = []

        def seen(words: str, cm: Any, tm: Any, _f: Any, _s: Any, at: list[float] = places) -> None:
            if words.strip():
                at.append(cm[5] + cm[3] * tm[5])

        page.extract_text(visitor_text=seen)
        height = float(page.mediabox.height)
        body = [y for y in places if y > 60.0]
        assert min(body) < 0.5 * height


def test_brief_when_made_again_then_the_same_bytes_but_for_the_date(
    found: Findings, pdf: bytes, record: Record
) -> None:
    """The same inputs and date give the same bytes; another date changes its own words alone."""
    again = findings_of(credit_plan(), record)
    assert brief_pdf(again, DAY) == pdf
    later = brief_pdf(found, dt.date(2027, 3, 4))
    assert later != pdf
    dated = words_of(later).replace("2027-03-04", "2026-01-02")
    assert dated.replace("4 March 2027", "2 January 2026") == words_of(pdf)


def a_long_verdict() -> Verdict:
    """Make a verdict of three seasons, of methods and replaced ones with long reasons."""
    short = a_verdict()
    methods = tuple(replace(short.methods[0], method="m" * 30) for _ in range(8))
    replaced = tuple(
        Replaced("n" * 30, 12, Because("one_state_as_well", {"bic_one": 1e9, "bic_two": 1e9}))
        for _ in range(4)
    )
    return replace(short, seasons=short.seasons * 3, methods=methods, replaced=replaced)


def changed(plan: Plan, **farm: Any) -> Plan:
    """Return the plan with a changed farm."""
    assert plan.farm is not None
    return plan.model_copy(update={"farm": plan.farm.model_copy(update=farm)})


def test_brief_when_odd_letters_then_words_stay_words(record: Record) -> None:
    """Markup, markup-like signs and letters that no font holds: printed, never run."""
    title = '=1+1 #read("brief.typ") <b>&amp; Ünï $x^2$ *b* _a_ @c \\ [z] 水 🌾'
    plan = changed(farm_plan(50), name="#panic() </svg> ‘Ω’")
    words = words_of(brief_pdf(findings_of(plan.model_copy(update={"title": title}), record), DAY))
    assert '=1+1 #read("brief.typ") <b>&amp; Ünï $x^2$ *b* _a_ @c \\ [z] □ □' in words
    assert "#panic() </svg> ‘Ω’ holds" in words
    assert "Letters that the fonts of this brief do not hold stand as □." in words


def test_brief_when_every_letter_of_three_alphabets_then_all_are_set(
    found: Findings, record: Record
) -> None:
    """Each letter that is called certain is in the fonts: the strict setting refuses any other."""
    letters = " ".join(chr(code) for code in range(0x21, 0x530) if chr(code).isprintable())
    plan = found.odds.plan.model_copy(update={"title": letters})
    pdf = brief_pdf(replace(found, odds=replace(found.odds, plan=plan)), DAY)
    words = words_of(pdf)
    assert all(letter in words for letter in "Żőßþ Ωλ Жщ Ӄ")
    assert "do not hold stand as □" in words


@pytest.mark.parametrize("letter", ["W", "word "])
def test_brief_when_title_is_very_long_then_within_the_page(letter: str, record: Record) -> None:
    """Two hundred letters, with and without spaces, stay within the page."""
    title = (letter * 200)[:200].strip()
    found = findings_of(farm_plan(50).model_copy(update={"title": title}), record)
    pdf = brief_pdf(found, DAY, f"{(letter * 80)[:80].strip()}.toml, with 99 figures not saved")
    reader = PdfReader(io.BytesIO(pdf))
    assert len(reader.pages) <= 7
    width = float(reader.pages[0].mediabox.width)
    places: list[float] = []
    reader.pages[0].extract_text(visitor_text=lambda t, _c, tm, _f, _s: places.append(tm[4]))
    assert max(places) < width
    assert reader.metadata is not None
    assert reader.metadata.title == title


def test_brief_when_no_debt_then_covers_are_left_out(record: Record) -> None:
    """Without loans and overdraft nothing is to be covered, and the page says so."""
    plan = farm_plan(50)
    assert plan.farm is not None
    money = plan.farm.money.model_copy(update={"loans": (), "bank_aud": 9e6})
    found = findings_of(changed(plan, money=money), record)
    words = words_of(brief_pdf(found, DAY))
    assert "There is no debt to serve" in words
    lender = words.split("4 Debt cover, and what may turn")[1].split("5 Security")[0]
    assert lender.lower().count("no debt") == 1
    assert lender.lower().count("cover") == 2  # one says it is not asked for, one that none is 1.00
    assert "Equity = " in lender
    assert "Loan to value" not in lender
    assert "nan" not in words.lower().split()
    assert {one.found for one in found.stress.break_evens} == {"no_debt"}


def test_brief_when_no_cotton_is_ever_planted_then_clean_pages(record: Record) -> None:
    """A smallest area beyond the land: no hectare, no yield, and pages that say so."""
    plan = farm_plan(50)
    assert plan.farm is not None
    strategies = tuple(
        strategy.model_copy(update={"smallest_area_ha": 9_999.0}) for strategy in plan.strategies
    )
    plan = plan.model_copy(update={"strategies": strategies})
    pdf = brief_pdf(findings_of(plan, record), DAY)
    words = words_of(pdf)
    assert len(PdfReader(io.BytesIO(pdf)).pages) <= 7
    assert "No cotton is planted in 2025-26, whatever comes" in words
    assert "nan" not in words.lower().split()


def test_brief_when_every_case_is_asked_for_then_few_pages(record: Record) -> None:
    """With a ten-year mean, two loans and ten strategies of long names there are few pages."""
    plan = farm_plan(50)
    assert plan.farm is not None
    farm = with_main_crop(plan.farm, ten_year_mean_price_aud_per_unit=500.0)
    money = plan.farm.money.model_copy(update={"loans": plan.farm.money.loans * 2})
    strategies = tuple(
        plan.strategies[number % 3].model_copy(update={"name": f"{number} " + "M" * 38})
        for number in range(10)
    )
    plan = changed(plan, crops=farm.crops, money=money)
    plan = plan.model_copy(update={"strategies": strategies})
    pdf = brief_pdf(findings_of(plan, record, verdict=a_long_verdict()), DAY)
    assert len(PdfReader(io.BytesIO(pdf)).pages) <= 7


def test_brief_when_crop_is_in_the_ground_or_one_season_then_it_is_made(record: Record) -> None:
    """A run that opens after planting holds the next planting, however few seasons are asked."""
    plan = farm_plan(50)
    assert plan.farm is not None
    opening = plan.opening.model_copy(update={"month": "2026-01"})
    crop = OpeningCrop(crop="cotton", layout="solid", area_ha=200.0, soil_water_mm=150.0)
    own = plan.farm.opening.model_copy(update={"crops": (crop,), "prepared_ha": 0.0})
    plan = changed(plan.model_copy(update={"opening": opening}), opening=own)
    found = findings_of(plan.with_drawing(seasons=1), record)
    assert {outcome.water_year for outcome in found.outcomes} == {"2026-27"}
    words = words_of(brief_pdf(found, DAY))
    assert "2025-26: 200 ha of cotton" in words
    (cotton,) = found.ground
    assert (cotton.area_ha, cotton.watered_ha) == (200.0, 200.0)
    to_come = 67.0 + 67.0 + 12.0 + 10.0 + 610.0 + 60.0 * cotton.to_finish_ml_per_ha
    assert cotton.to_come_aud_per_ha == pytest.approx(to_come)
    assert cotton.worth_from_units_per_ha == pytest.approx(to_come / (550.0 + 100.0 - 93.0))
    picked = found.results["yield_bales_per_ha"][0, :, 0]
    worth = np.nan_to_num(picked) > cotton.worth_from_units_per_ha
    assert cotton.worth_finishing.value == pytest.approx(worth.mean())
    assert cotton.finishes is not None
    assert "200 ha of cotton, to be watered until March: watered in full to the end" in words


def test_brief_command_when_run_then_writes_both_files(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command writes PDF and workbook; a strategy the plan lacks is refused."""
    plan = tmp_path / "plan.toml"
    plan.write_text(farm_plan_text(50))
    record = str(Path(__file__).parents[1] / "reference" / "contract" / "record.csv")
    pdf, book = tmp_path / "b.pdf", tmp_path / "b.xlsx"
    words = ["brief", str(plan), "--record", record, "--out", str(pdf), "--date", "2026-01-02"]
    assert main([*words, "--workbook", str(book), "--strategy", "Some on trust"]) == 0
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert "Plan file: plan.toml." in words_of(pdf.read_bytes())
    assert book.read_bytes().startswith(b"PK")
    written = json.loads((tmp_path / "b.json").read_text())
    assert written["strategy"] == "Some on trust"
    assert set(written["files"]) == {"b.pdf", "b.xlsx"}
    metadata = PdfReader(pdf).metadata
    assert metadata is not None
    assert metadata["/Keywords"] == f"run {written['run_mark']}"
    assert "not financial" in capsys.readouterr().out
    assert main([*words, "--strategy", "Nobody's"]) == 2
    assert "Nobody's" in capsys.readouterr().err


def test_evidence_when_of_another_record_then_refused_and_else_printed(
    tmp_path: Path, record: Record
) -> None:
    """A verdict is printed only where it is of this record, method and valley's rules."""
    plan = farm_plan(50)
    made = {"verdict": plain(a_verdict()), "method": "blocks"}
    made["rules_fingerprint"] = rules_fingerprint(plan)
    path = tmp_path / "evidence.json"
    path.write_text(json.dumps({**made, "record": {"sha256": record.sha256}}))
    verdict = verdict_of(path, plan, record)
    words = words_of(brief_pdf(findings_of(plan, record, verdict=verdict), DAY))
    band = "the band of 80 times in 100 held in 40 of 50 years (right odds bring 34 to 46)"
    assert band in words
    first = (
        "Tried on the observed years, the chance of nothing announced was said too low this season"
    )
    worse = "No better than the long-run record: the dam this season."
    assert words.count(first) >= 2
    assert f"Tried. {first}. {worse}" in words.replace("- ", "-")  # a line may end at a hyphen
    season = replace(verdict.seasons[0], none=replace(verdict.seasons[0].none, found="about_right"))
    right = replace(verdict, seasons=(season,))
    words = words_of(brief_pdf(findings_of(plan, record, verdict=right), DAY))
    assert f"Tried. Tried on the observed years, {band}, as promised. {worse}" in words
    assert words.count(f"Tried on the observed years, {band}") == 2
    valley = plan.valley.model_copy(update={"delivery_loss_frac": 0.21})
    farther = plan.opening.model_copy(update={"storage_ml": 1.0, "month": "2026-09"})
    for other, refused in (
        (plan.model_copy(update={"opening": farther, "title": "T"}), False),
        (plan.with_drawing(count=60), False),
        (plan.model_copy(update={"valley": valley}), True),
        (plan.with_drawing(seasons=1), True),
    ):
        assert (rules_fingerprint(other) != rules_fingerprint(plan)) == refused
        if refused:
            with pytest.raises(InputError, match="another record, method or rules"):
                verdict_of(path, other, record)
        else:
            assert verdict_of(path, other, record) == verdict
    path.write_text(json.dumps({**made, "record": {"sha256": "0" * 64}}))
    with pytest.raises(InputError, match="another record, method or rules"):
        verdict_of(path, plan, record)
    path.write_text("{}")
    with pytest.raises(InputError, match="no evidence file"):
        verdict_of(path, plan, record)


def test_canvas_when_words_look_like_markup_then_escaped() -> None:
    """Words in a chart cannot end it."""
    canvas = Canvas(10.0, 10.0)
    canvas.text(0.0, 0.0, "</svg>&\x00")
    assert "&lt;/svg&gt;&amp;</text>" in canvas.svg()


def test_ticks_when_any_range_then_round_and_around_it() -> None:
    """Ticks hold the range, even steps apart, and a flat range has ticks too."""
    for low, high in ((-509.0, 1_187.0), (0.0, 0.03), (0.0, 0.0), (-2.0, -1.0)):
        ticks = nice_ticks(low, high)
        assert ticks[0] <= low
        assert ticks[-1] >= high
        steps = [later - earlier for earlier, later in pairwise(ticks)]
        assert steps == pytest.approx([steps[0]] * len(steps))
    assert Scale(0.0, 2.0, 100.0, 0.0).at(0.5) == 75.0


def test_brief_when_few_sequences_are_drawn_then_said(found: Findings, record: Record) -> None:
    """One sequence is no odds: the first page says so, and no page breaks; enough say nothing."""
    pdf = brief_pdf(findings_of(farm_plan(1), record), DAY)
    words = words_of(pdf)
    assert len(PdfReader(io.BytesIO(pdf)).pages) <= 7
    assert "Drawn: 1. These are too few sequences for odds to rest on." in words
    many = replace(found, odds=replace(found.odds, count=400))
    enough = decision_page(many)
    assert not any("too few sequences" in block.get("text", "") for block in enough["blocks"])


def test_brief_when_no_drop_ever_flowed_then_clean_pages(record: Record) -> None:
    """A record of zeros: in the end nothing is announced in any run, and the page says so."""
    dry = replace(record, inflow_ml=np.zeros(record.months))
    found = findings_of(farm_plan(50), dry)
    pdf = brief_pdf(found, DAY)
    words = words_of(pdf)
    assert len(PdfReader(io.BytesIO(pdf)).pages) <= 7
    assert found.odds.seasons[2].chance_none.value == 1.0
    assert "Nothing announced in 2027-28 in all of the 50 drawn" in words
    assert "nan" not in words.lower().split()


def test_brief_when_there_is_no_farm_then_refused_by_name(record: Record) -> None:
    """A plan of water alone has no brief: the fault names the table that is missing."""
    plan = farm_plan(50).model_copy(update={"farm": None, "strategies": ()})
    with pytest.raises(InputError, match=r"farm: it is missing"):
        findings_of(plan, record)
