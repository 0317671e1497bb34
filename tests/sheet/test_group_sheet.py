"""The paper of a growers' group: one of all and one of each farm, with no place and no hidden number on it."""

import io
import re
from datetime import date

import fastexcel
import pytest

from analytics.sheet.group_sheet import group_sheet
from analytics.sheet.html_page import html
from analytics.sheet.pdf import pdf
from analytics.sheet.printed_workbook import xlsx
from sample_records.make_demo_group import shares
from tests.command import command

DAY = date(2026, 11, 27)


@pytest.fixture(scope="module")
def made(reviewed_group):
    group, found = reviewed_group
    return group, found, group_sheet(group, found, DAY)


def test_it_says_who_when_and_by_which_program(made):
    _, _, sheet = made
    page = html(sheet)
    assert "A growers' group of 12 farms" in page.replace("&#x27;", "'")
    assert "2026-11-27" in page
    assert re.search(r"12 farms, crop years 2020 to 2025, newest share 2025-12-01, standrow [0-9]", page)
    assert "not financial advice" in page


def test_the_three_questions_and_every_farm_are_on_it(made):
    group, _, sheet = made
    page = html(sheet)
    for words in ("12 farms sent this in.", "On these farms in years to come", "On another farm in years to come"):
        assert words in page
    assert all(code in page for code in group.farms)
    assert [place for place in set(group.rows["place"]) if place in page] == []


def test_a_farms_sheet_begins_with_where_it_stands(made):
    group, found, _ = made
    code = group.farms[3]
    own = group_sheet(group, found, DAY, farm=code)
    assert own.answer[0].startswith(f"Farm {code} by itself:")
    assert f"{code} (you)" in html(own)
    assert "Green seed: Farm" in html(own)


def test_it_fits_a_page_as_pdf_and_holds_the_numbers_as_a_workbook(made):
    _, _, sheet = made
    made_pdf = pdf(sheet)
    assert made_pdf.startswith(b"%PDF")
    assert made_pdf == pdf(sheet)
    assert len(re.findall(rb"/Type\s*/Page\b", made_pdf)) == 1
    book = fastexcel.read_excel(io.BytesIO(xlsx(sheet)).getvalue())
    assert book.sheet_names == ["about", "answers", "farms", "by year", "what carries it", "depends on"]
    assert book.load_sheet("farms").to_polars().height == 36  # for each of three measures


def test_the_command_writes_one_of_the_group_and_one_of_each_farm(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("STANDROW_RECORDS", str(tmp_path / "records.duckdb"))
    (tmp_path / "group").mkdir()
    for code, rows in shares(farms=3).items():
        rows.write_csv(tmp_path / "group" / f"{code}.csv")
    options = ["--measure", "yield", "--as", "html", "--sheets", str(tmp_path / "sheets"), "--date", "2026-11-27"]
    run = command(monkeypatch, capsys)
    assert run("pool", tmp_path / "group", *options)[0] == 0
    code, _, err = run("pool", tmp_path / "group", *options)
    assert code == 2  # none is written over
    assert "holds group.html" in err
    assert {file.name for file in (tmp_path / "sheets").iterdir()} == {
        "group.html",
        *(f"{farm}.html" for farm in shares(farms=3)),
    }
