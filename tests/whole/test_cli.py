"""The command: what machines read stays, what people read is plain, and every refusal has its exit code."""

import json

import pytest

from analytics.errors import NO_MEMORY
from analytics.files.importing import bring_in
from analytics.storage.database import open_records, read_table
from analytics.trade import cautions
from tests.prepared import small_season


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("compare", "--level", "much"), "--level"),
        (("pool", "group", "--workers", "1.5"), "--workers"),
        (("report", "-o", "x.pdf", "--for", "lender"), "'lender' is not one of 'banker', 'agronomist'"),
        (("share", "x.csv", "--year", "last"), "--year"),
        (("compare", "--pairs"), "--pairs"),
        (("report", "--for", "banker"), "--output"),
    ],
)
def test_a_value_that_cannot_be_read_is_named_with_its_option(standrow, arguments, words):
    code, out, err = standrow(*arguments)
    assert (code, out) == (2, "")
    assert words in err


def test_settings_of_the_records_are_not_overruled_by_options(standrow):
    code, _, err = standrow("compare", "--level", "0.8")
    assert code == 2
    assert "changed on the dashboard with a reason" in err


@pytest.fixture
def compared_farm(demo_farm, compared, monkeypatch):
    """The demo farm is where the command looks, and compared as for all tests; README's demo compares it itself."""
    monkeypatch.setattr("analytics.answer.review.review_all", lambda *_: compared)


@pytest.mark.usefixtures("compared_farm")
def test_an_answer_from_the_records_is_printed_as_an_object(standrow):
    code, out, _ = standrow("compare", "--measure", "yield", "--json")
    assert code == 0
    got = json.loads(out)
    assert [got["counts"][name] for name in ("pairs", "field_years", "years", "left_out")] == [17, 8, 6, 2]
    assert got["counts"]["all"] == {"pairs": 24, "field_years": 15, "years": 6, "left_out": 2, "barred": {}}
    assert (got["basis"]["these_fields"], got["firm"]["drawn_by_lot"]) == ("one_field", False)
    assert [line["name"] for line in got["depends_on"]][:3] == ["two_fields", "drawn_by_lot", "early_cut"]
    assert got["holm"] == {"p": None, "of": None, "also_together": None} | {
        "years_to_come": got["holm"]["years_to_come"]
    }


@pytest.mark.usefixtures("demo_farm")
def test_a_check_tells_what_is_complete_and_what_is_missing(standrow):
    code, out, _ = standrow("check")
    assert code == 0
    assert "24 of 26 pairs are complete for yield" in out
    assert "no ticket is typed" in out


@pytest.mark.usefixtures("empty_farm")
def test_an_import_tells_changed_rows_old_and_new_counts_them_and_says_where_nothing_differs(standrow, tmp_path):
    season = small_season(tmp_path / "season")
    with open_records(tmp_path / "records.duckdb") as connection:
        bring_in(connection, season, done_by="test")
    code, out, _ = standrow("import", season)
    assert (code, "Nothing differs from the records (3 rows as before)" in out) == (0, True)
    (season / "plots.csv").write_text("crop_year,field,plot,method,acres\n2025,Beyond the creek,a,standing,71.5\n")
    code, out, _ = standrow("import", season)
    assert (code, "plots, 2025 / Beyond the creek / a, acres: (blank) -> 71.5" in out) == (0, True)
    assert out.splitlines()[-1] == "0 rows added, 1 changed, 2 as before."


@pytest.mark.usefixtures("empty_farm")
def test_one_fault_and_nothing_is_written(standrow, tmp_path):
    folder = tmp_path / "season"
    folder.mkdir()
    (folder / "fields.csv").write_text("field,acres\nNorth,160\n")
    (folder / "plots.csv").write_text("crop_year,field,plot,method,acres\n2024,North,whole,standing,160\n")
    (folder / "loads.csv").write_text(
        "crop_year,field,plot,ticket,weight_kg,moisture_pct\n2024,North,whole,1187,18000,95\n2024,South,whole,1188,18000,8\n"
    )
    code, _, err = standrow("import", folder)
    assert code == 2
    assert (
        "loads.csv, row 2, moisture_pct: 95 given; allowed a number from 2 to 30. Was a decimal mark left out?" in err
    )
    assert "loads.csv, row 3" in err
    assert "2 faults; nothing was written." in err
    with open_records(tmp_path / "records.duckdb") as connection:
        assert read_table(connection, "fields").is_empty()


def test_no_records_is_refused(standrow):
    code, _, err = standrow("compare")
    assert code == 1
    assert "there are no records here" in err


@pytest.mark.usefixtures("demo_farm")
def test_an_unknown_measure_is_bad_input(standrow):
    code, _, err = standrow("compare", "--measure", "colour")
    assert code == 2
    assert "allowed yield" in err


@pytest.mark.usefixtures("compared_farm")
def test_without_json_the_sentence_comes_first_and_that_it_is_no_financial_advice_last(standrow):
    _, out, _ = standrow("compare", "--measure", "green_seed")
    assert " ".join(out.split()).endswith(cautions.NOT_ADVICE)
    assert out.startswith("Where one field was cut both ways, standing plots had")
    assert "exact sign-flip p" in out


@pytest.mark.usefixtures("demo_farm")
def test_an_unforeseen_error_ends_in_one_line_without_a_traceback(standrow, monkeypatch):
    monkeypatch.setattr("analytics.answer.review.review_all", lambda *_: 1 / 0)
    code, _, err = standrow("compare")
    assert code == 1
    assert "ZeroDivisionError" in err
    assert "Traceback" not in err


@pytest.mark.usefixtures("demo_farm")
def test_too_little_memory_is_told_as_such(standrow, monkeypatch):
    def too_large(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr("analytics.answer.review.review_all", too_large)
    code, _, err = standrow("compare")
    assert code == 1
    assert err.startswith(NO_MEMORY)


def test_templates_are_written_and_named(standrow, tmp_path):
    code, out, _ = standrow("templates", tmp_path / "empty")
    assert code == 0
    assert str(tmp_path / "empty" / "loads.csv") in "".join(out.split("\n"))
    assert (tmp_path / "empty" / "loads.csv").exists()
