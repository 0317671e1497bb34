"""standrow share: what would leave is printed and asked about before anything is written."""

import polars as pl
import pytest
import typer

from analytics.pool.share import THIS_FARM, farm_code
from analytics.records.own_tables import SHARE_CODES
from analytics.storage.database import open_records
from tests.command import command
from tests.prepared import copied


@pytest.fixture
def standrow(demo_records, tmp_path, monkeypatch, capsys):
    """Call with an answer to the question and arguments for (exit code, stdout, stderr), on a demo farm."""
    copied(demo_records, tmp_path / "records.duckdb")
    monkeypatch.setenv("STANDROW_RECORDS", str(tmp_path / "records.duckdb"))

    standrow = command(monkeypatch, capsys)

    def run(answer, *arguments):
        monkeypatch.setattr(typer, "confirm", answer if callable(answer) else lambda question: answer)
        return standrow(*arguments)

    return run


def test_every_cell_is_printed_before_it_is_written(standrow, tmp_path):
    file = tmp_path / "share.csv"
    code, out, _ = standrow(True, "share", file, "--measure", "yield", "--year", 2024)
    assert code == 0
    rows = pl.read_csv(file, infer_schema=False)
    printed = [line.split() for line in out.splitlines()]
    for row in rows.drop("share_version", "program", "shared_at", "farm").iter_rows():
        assert [cell for cell in row if cell is not None] in printed
    for name in ("share_version", "program", "shared_at", "farm"):
        assert f"{name}: {rows[name][0]}" in out
    assert f"This is all that would leave: {rows.height} rows" in out


def test_a_no_writes_nothing_and_keeps_no_code(standrow, tmp_path):
    file = tmp_path / "share.parquet"
    code, out, _ = standrow(False, "share", file, "--measure", "yield")
    assert (code, file.exists()) == (0, False)
    assert out.endswith("Nothing was written.\n")
    with open_records(tmp_path / "records.duckdb") as connection:
        assert farm_code(connection) is None


def test_while_the_question_waits_others_have_the_records_and_codes_that_they_draw_hold(standrow, tmp_path, add):
    records, file = tmp_path / "records.duckdb", tmp_path / "first.csv"

    def answered_late(_: str) -> bool:
        with open_records(records) as connection:
            add(connection, SHARE_CODES, {"kind": "farm", "name": THIS_FARM, "code": "2222-3333"})
        return True

    code, _, said = standrow(answered_late, "share", file, "--measure", "yield")
    assert (code, file.exists()) == (1, False)
    assert "Another window drew codes just now, and those hold. Nothing was written. Do it again." in said
    with open_records(records) as connection:
        assert farm_code(connection) == "2222-3333"


def test_where_nobody_answers_nothing_is_written_and_it_is_said(standrow, tmp_path):
    def nobody(_: str) -> bool:
        raise typer.Abort

    code, _, said = standrow(nobody, "share", tmp_path / "share.csv", "--measure", "yield")
    assert (code, said) == (1, "Nobody answered. Nothing was written. To do it without a question: --yes\n")
    assert not (tmp_path / "share.csv").exists()


def test_a_script_is_not_asked(standrow, tmp_path):
    file = tmp_path / "share.parquet"
    assert standrow(None, "share", file, "--measure", "yield", "--yes")[0] == 0
    with open_records(tmp_path / "records.duckdb") as connection:
        assert pl.read_parquet(file)["farm"][0] == farm_code(connection)


def test_a_name_with_another_ending_is_refused_before_anything_is_read(standrow, tmp_path):
    code, _, said = standrow(True, "share", tmp_path / "share.xlsx", "--yes")
    assert code == 2
    assert 'file: "share.xlsx" given; allowed a name that ends in .csv or .parquet.' in said
