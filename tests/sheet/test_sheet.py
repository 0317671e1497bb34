"""The sheet for the table, read back from the files by other programs than the ones that wrote them."""

import io
import re
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import duckdb
import fastexcel
import polars as pl
import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest
from typer.testing import CliRunner

from analytics.answer.wording import carries_sentence, firm_sentence, these_fields_sentence, years_to_come_sentence
from analytics.bins.watched_bins import bin_alarms, read_bins
from analytics.cli import app as command
from analytics.errors import BadInput, Refused
from analytics.money.buying import Purchase, TriedPurchase
from analytics.planning.drawing_lots import keep_plan
from analytics.planning.pairing import strip_pairs
from analytics.records.tables import TABLES
from analytics.settings import change_settings
from analytics.sheet.content import USUAL_WORDS, PrintedSheet, read_sheet
from analytics.sheet.grown import grown
from analytics.sheet.html_page import html
from analytics.sheet.pdf import pdf, pictures
from analytics.sheet.printed_workbook import xlsx
from analytics.sheet.reader import Reader
from analytics.sheet.written import checked_date, checked_ending, write_sheet
from analytics.statistics.results import Question
from analytics.storage.database import open_records
from analytics.trade import cautions
from tests.conftest import write
from tests.prepared import begun, copied
from tests.sheets import both_sheets

DAY = date(2026, 1, 15)
APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
NAME = '=1+1 <b>#strong[x] "$'
KEY = {"crop_year": 2025, "field": "North half"}


@pytest.fixture(scope="module")
def looked_at(demo_records: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to the demo farm, for tests that only look."""
    with open_records(demo_records) as connection:
        yield connection


@pytest.fixture(scope="module")
def sheets(demo_sheets: dict[Reader, PrintedSheet]) -> dict[Reader, PrintedSheet]:
    assert all(sheet.made_on == DAY for sheet in demo_sheets.values())
    return demo_sheets


@pytest.fixture(scope="module")
def printed(sheets: dict[Reader, PrintedSheet]) -> dict[Reader, bytes]:
    """Each as PDF."""
    return {reader: pdf(sheet) for reader, sheet in sheets.items()}


@pytest.fixture(scope="module")
def with_one_pair(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records of one pair with a price, of a farm whose name looks like a formula and like markup."""
    path = tmp_path_factory.mktemp("one-pair") / "records.duckdb"
    with begun(path) as connection:
        write(connection, frames(one_pair(priced=True)))
        change_settings(connection, {"farm_name": NAME}, done_by="test", why=None)
    return path


@pytest.fixture(scope="module")
def small_sheets(with_one_pair: Path) -> dict[Reader, PrintedSheet]:
    """The sheets of these records."""
    with open_records(with_one_pair) as connection:
        return both_sheets(connection, DAY)


def read_back(data: bytes, tool: str, *options: str) -> str:
    """What a PDF reader of the system finds in the file."""
    to_output = ["-"] if tool == "pdftotext" else []
    done = subprocess.run([tool, *options, "-", *to_output], input=data, capture_output=True, check=True)
    return done.stdout.decode()


def text_of(data: bytes) -> str:
    return " ".join(read_back(data, "pdftotext").split())


def words_of(sheet: PrintedSheet) -> str:
    parts = [*sheet.answer]
    for page in sheet.pages:
        for section in (*page.top, *page.left, *page.right, *page.bottom):
            parts += [section.heading, *section.lines, *section.bullets]
    return "\n".join(parts)


def one_pair(*, priced: bool) -> dict[str, list[dict[str, object]]]:
    """One field in two halves of 100 acres, 100 t standing and 90 t windrowed, No. 1 both."""
    tables: dict[str, list[dict[str, object]]] = {
        "fields": [{"field": "North half", "acres": 200.0}],
        "plots": [],
        "loads": [],
        "samples": [],
        "pairs": [
            {
                "crop_year": 2025,
                "pair": "A",
                "standing_field": "North half",
                "standing_plot": "east",
                "windrowed_field": "North half",
                "windrowed_plot": "west",
                "layout": "split field",
                "allocation": "drawn by lot",
            }
        ],
    }
    for plot, method, tonnes in (("east", "standing", 100), ("west", "windrowed", 90)):
        tables["plots"].append(KEY | {"plot": plot, "method": method, "acres": 100.0})
        weight = {"weight_kg": tonnes * 1000.0, "moisture_pct": 9.0, "dockage_pct": 1.0}
        tables["loads"].append(KEY | weight | {"plot": plot, "ticket": plot, "weighed_by": "certified scale"})
        tables["samples"].append(KEY | {"plot": plot, "sample": "1", "grade": "1"})
    if priced:
        tables["prices"] = [{"crop_year": 2025, "crop": "canola", "grade": "1", "dollars_per_tonne": 600.0}]
    assert set(tables) <= set(TABLES)
    return tables


def frames(tables: dict[str, list[dict[str, object]]]) -> dict[str, pl.DataFrame]:
    return {name: pl.DataFrame(rows, schema=TABLES[name].polars_schema()) for name, rows in tables.items()}


def test_the_banker_gets_one_letter_sheet_and_the_agronomist_seven_pages(sheets, printed):
    """Three of the farm's own, one for machines and bins, three of what others found."""
    for reader, pages in ((Reader.BANKER, 2), (Reader.AGRONOMIST, 7)):
        info = read_back(printed[reader], "pdfinfo")
        assert re.search(rf"Pages:\s+{pages}\n", info)
        assert "612 x 792 pts (letter)" in info
        assert re.search(r"Tagged:\s+yes", info)
        assert re.search(r"Title:\s+Canola cut standing or windrowed", info)


def test_the_banker_reads_what_the_comparison_says_how_firm_it_is_and_what_the_other_pairs_say(compared, sheets):
    here, ahead, others, chance = sheets[Reader.BANKER].answer
    net_return = compared["net_return"]
    assert here.startswith(these_fields_sentence(net_return))
    assert here.endswith(firm_sentence(net_return, Question.THESE_FIELDS))
    assert ahead.startswith(years_to_come_sentence(net_return))
    assert others == carries_sentence(net_return) != ""
    assert chance.startswith("By these records alone the odds that standing leaves more are ")


@pytest.mark.parametrize("reader", Reader)
def test_a_reader_of_pdf_finds_every_sentence_and_the_usual_words(sheets, printed, reader):
    found = text_of(printed[reader])
    flat = re.sub(r"[\s-]", "", found)  # a reader drops the hyphen at the end of a line
    for line in words_of(sheets[reader]).splitlines():
        assert re.sub(r"[\s-]", "", line) in flat, line
    assert USUAL_WORDS in found
    assert f"page 1 of {len(sheets[reader].pages)}" in found
    assert "2026-01-15" in found


def test_the_agronomist_reads_pairs_losses_counts_and_statistics(printed):
    found = text_of(printed[Reader.AGRONOMIST])
    for words in ("Every pair, and how it was made", "drawn by lot", "9 of 1,500", "degrees of freedom"):
        assert words in found
    for words in ("shatter before harvest", "exact sign-flip p", "a field not tried yet, in a new year"):
        assert words in found


def test_the_agronomist_reads_what_others_found_and_whose_each_line_is(printed):
    found = text_of(printed[Reader.AGRONOMIST])
    for words in ("Yield, bu/ac: what have others found?", "Published by others", "This farm's own", "Both together"):
        assert words in found
    for words in ("What does windrowing too early cost?", "Surveys, told apart", "Soils and Crops, University"):
        assert words in found
    assert "Published by others" not in text_of(printed[Reader.BANKER])


def test_same_records_and_date_give_the_same_bytes(looked_at, compared, sheets, printed):
    """See test_the_command_writes_what_the_screen_offers, where the records are compared again too."""
    again, first = read_sheet(looked_at, Reader.BANKER, DAY, compared=compared), sheets[Reader.BANKER]
    assert (pdf(again), html(again), xlsx(again)) == (printed[Reader.BANKER], html(first), xlsx(first))


def test_another_date_is_another_file(sheets, printed):
    later = replace(sheets[Reader.BANKER], made_on=date(2026, 1, 16))
    assert pdf(later) != printed[Reader.BANKER]


def test_a_page_needs_nothing_from_outside(sheets):
    for reader in Reader:
        text = html(sheets[reader])
        assert not re.search(r"""(src|href)=|url\(|@import|<script""", text.replace('xlink:href="#', ""))
        assert text.count("<h1>") == 1


def test_the_workbook_holds_a_table_a_sheet_with_the_numbers(compared, sheets):
    book = fastexcel.read_excel(xlsx(sheets[Reader.BANKER]))
    assert book.sheet_names[:3] == ["about", "answers", "what carries it"]
    assert book.sheet_names[3:6] == ["by year", "pairs by measure", "pairs"]
    assert book.sheet_names[6:] == ["losses", "costs", "prices", "cautions"]
    answers = book.load_sheet("answers").to_polars()
    row = answers.filter(measure="Net return", question="these fields").row(0, named=True)
    assert row["estimate"] == pytest.approx(compared["net_return"].these_fields.estimate)


def test_names_that_look_like_formulas_or_markup_stay_text(small_sheets):
    sheet = small_sheets[Reader.BANKER]
    about = fastexcel.read_excel(io.BytesIO(xlsx(sheet)).getvalue()).load_sheet("about").to_polars()
    assert about.filter(what="farm")["text"].item() == f"'{NAME}"
    assert "<b>" not in html(sheet)
    assert NAME in text_of(pdf(sheet))


def test_no_records_is_said_in_plain_words(tiny):
    for sheet in both_sheets(tiny({}), DAY).values():
        assert sheet.answer[0].startswith("There is nothing to compare yet")
        assert "Net return is not known" in words_of(sheet)
        page = html(sheet)
        assert "None" not in page
        assert re.search(r"\bnan\b", page, re.I) is None
        assert pdf(sheet).startswith(b"%PDF")
        assert xlsx(sheet).startswith(b"PK")


def test_there_is_a_picture_of_every_page(small_sheets):
    sheet = small_sheets[Reader.BANKER]
    assert [picture[:4] for picture in pictures(sheet)] == [b"\x89PNG"] * len(sheet.pages)


def test_one_pair_is_too_few_and_no_chance_is_given(small_sheets):
    for sheet in small_sheets.values():
        words = words_of(sheet)
        assert "Too few to judge" in sheet.answer[0]
        assert "chances in" not in words
        assert "None" not in words
        assert re.search(rf"Pages:\s+{len(sheet.pages)}\n", read_back(pdf(sheet), "pdfinfo"))


@pytest.mark.parametrize("reader", [Reader.BANKER, pytest.param(Reader.AGRONOMIST, marks=pytest.mark.slow)])
def test_defaults_with_their_sources_and_a_plan_keep_to_the_pages(demo_records, compared, tmp_path, reader):
    """The same sections say them to both readers, so the agronomist's pages are for the long form."""
    others = {name: one for name, one in compared.items() if name not in ("yield", "net_return")}
    with open_records(copied(demo_records, tmp_path / "records.duckdb")) as connection:
        connection.execute("delete from operations")
        rest = {"crop_year": 2026, "seed": 1, "drawn_at": datetime(2026, 4, 1), "done_by": "test", "source": "screen"}
        keep_plan(connection, strip_pairs("Home quarter", 4), **rest)
        sheet = read_sheet(connection, reader, DAY, compared=others)
    assert "Windrowing: $12.50 an acre (default, Manitoba 2020" in words_of(sheet)
    assert "4 pairs are planned and not harvested yet; none is counted here." in words_of(sheet)
    assert re.search(rf"Pages:\s+{len(sheet.pages)}\n", read_back(pdf(sheet), "pdfinfo"))


def test_the_agronomist_reads_what_each_bin_holds_and_what_asks_for_a_look(looked_at, sheets):
    words = words_of(sheets[Reader.AGRONOMIST])
    (alarm,) = bin_alarms(read_bins(looked_at, max(DAY, date.today())), DAY)
    assert alarm in words
    assert cautions.BINS in words
    assert "Bin 3 holds standing and windrowed mixed, so the comparison ends here" in words
    assert "Bin 4" not in words_of(sheets[Reader.BANKER])


def test_without_any_weight_the_agronomist_still_reads_what_was_counted(tiny):
    farm = one_pair(priced=True) | {"loads": []}
    farm["samples"] = [row | {"seeds_crushed": 500, "green_seeds": 5} for row in farm["samples"]]
    sheet = read_sheet(tiny(farm), Reader.AGRONOMIST, DAY)
    assert sheet.answer[0].startswith("There is nothing to compare yet: no pair has both sides for yield")
    assert "Green seed" in words_of(sheet)
    assert "Green seed, points: these fields" in html(sheet)


def test_the_margin_on_the_sheet_is_that_of_its_answer(sheets):
    assert "A difference in net return matters from $10 an acre" in words_of(sheets[Reader.BANKER])
    assert "A difference in yield matters from 1.0 bu/ac" in words_of(sheets[Reader.AGRONOMIST])


def test_without_prices_net_return_stays_unknown_and_says_what_would_tell(tiny):
    sheet = read_sheet(tiny(one_pair(priced=False)), Reader.BANKER, DAY)
    words = words_of(sheet)
    assert "Net return is not known" in words
    assert re.search(r"Pair A, 2025: it lacks .*price", words)
    assert "no price of canola on record" in words


def test_endings_dates_and_folders_are_refused_with_what_is_allowed(sheets, tmp_path):
    with pytest.raises(BadInput, match=r"allowed a name that ends in \.pdf, \.html, \.xlsx"):
        checked_ending(Path("sheet.doc"))
    with pytest.raises(BadInput, match="allowed a day as YYYY-MM-DD"):
        checked_date("15.1.2026")
    with pytest.raises(Refused, match="it cannot be written"):
        write_sheet(sheets[Reader.BANKER], tmp_path / "no such folder" / "sheet.html")


def test_the_command_writes_what_the_screen_offers(with_one_pair, small_sheets, tmp_path):
    file = tmp_path / "sheet.pdf"
    given = ["report", "-o", str(file), "--for", "banker", "--date", "2026-01-15", "--records", str(with_one_pair)]
    done = CliRunner().invoke(command, given)
    assert done.exit_code == 0
    assert cautions.NOT_ADVICE in done.stdout
    assert file.read_bytes() == pdf(small_sheets[Reader.BANKER])


def test_the_screen_answers_first_and_offers_three_files(with_one_pair, small_sheets, monkeypatch):
    """To the banker unless the agronomist is chosen; here he is."""
    st.cache_resource.clear()
    monkeypatch.setenv("STANDROW_RECORDS", str(with_one_pair))
    screen = AppTest.from_file(APP, default_timeout=120).switch_page("screens/summary_sheet.py")
    screen.session_state["reader"] = Reader.AGRONOMIST
    screen.run()
    assert not screen.exception
    assert screen.title[0].value == "What do I take to the table?"
    assert screen.radio(key="reader").options[0].startswith("a banker")
    plain = [text.value.replace("\\", "") for text in screen.markdown]
    assert small_sheets[Reader.AGRONOMIST].answer[0] in plain
    assert small_sheets[Reader.BANKER].answer[0] not in plain
    assert len(screen.get("download_button")) == 3


def test_the_banker_finds_acres_and_dollars_of_the_whole_farm_and_every_pair(small_sheets):
    """100 acres a side: 99 and 89.1 t clean at $600 are $112,860 in all."""
    sheet = small_sheets[Reader.BANKER]
    words = words_of(sheet)
    assert "2 plots of canola with 200 acres (100 standing, 100 windrowed)" in words
    assert "sold for $112,860" in words
    assert "$600 a tonne, or $13.61 a bushel" in words
    (table,) = (part.table for part in sheet.pages[1].top if part.table)
    assert [row[:3] for row in table.rows] == [("North half", "2025", "A")]


def test_a_purchase_stands_on_the_banker_s_sheet_as_it_was_typed_and_is_not_promised(looked_at, compared):
    purchase = Purchase(outlay=42_000, life_years=8, salvage=4_000, interest_pct=6, acres_a_year=700)
    tried = TriedPurchase(purchase=purchase, gain_ac=12.5, saved_a_year=0)
    words = words_of(read_sheet(looked_at, Reader.BANKER, DAY, tried=tried, compared=compared))
    assert "Outlay $42,000, worth $4,000 after 8 years" in words
    assert "What an acre gains in years to come is not settled" in words
    assert "no outlay is in these costs" not in words


def test_the_agronomist_finds_how_every_pair_was_grown_and_cut(looked_at, sheets):
    table = next(part.table for part in sheets[Reader.AGRONOMIST].pages[2].top)
    rows = {(row[0], row[1]): dict(zip(table.columns, row, strict=True)) for row in table.rows}
    assert rows["2024", "N1"]["variety"] == "Variety B / Variety D"
    assert rows["2024", "N1"]["shatter tol."] == "yes / no"
    assert rows["2021", "S1"] == rows["2021", "S1"] | {
        "seeded": "3 May",
        "windrowed at": "14 Aug 70%",
        "combined": "1 Sep / 24 Aug",
        "days down": "10",
        "weather while out": "rain, wind 96",
    }
    known = set(grown(looked_at).filter(crop_year=2021)["weather"])
    assert "not known" not in known


def test_weather_of_a_year_without_any_on_record_is_not_known(with_one_pair):
    with open_records(with_one_pair) as connection:
        assert set(grown(connection)["weather"]) == {"not known"}


def test_a_typesetter_that_comes_to_no_end_is_told_in_a_sentence(sheets, tmp_path, monkeypatch):
    ended = tmp_path / "typesetter.py"
    ended.write_text("raise SystemExit('no font')")
    monkeypatch.setattr("analytics.sheet.pdf.TYPESETTER", ended)
    with pytest.raises(Refused, match=r"The sheet could not be set for paper \(no font\)\."):
        pdf(sheets[Reader.BANKER])
