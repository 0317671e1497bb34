"""Records written by every version of the schema open, are brought up to date and hold the same rows as before."""

import shutil
from pathlib import Path

import duckdb
import polars as pl
import pytest

from analytics.errors import Refused
from analytics.storage import database
from analytics.storage.backups import list_backups
from analytics.storage.database import failed_checks, open_records, read_table, schema_files, transaction

FOLDER = Path(__file__).parent / "old_versions"
VERSIONS = range(1, len(schema_files()) + 1)
OUR_OWN = ("schema_versions", "view_text")  # what an opening itself keeps up


@pytest.fixture
def old(request, tmp_path) -> Path:
    """A copy of the file that the version wrote."""
    return Path(shutil.copy(FOLDER / f"version_{request.param}.duckdb", tmp_path / "records.duckdb"))


def rows_of(path: Path) -> dict[str, pl.DataFrame]:
    """Every table as it stands, without bringing it up to date."""
    with duckdb.connect(path, read_only=True) as connection:
        names = connection.execute("select table_name from duckdb_tables() order by table_name").fetchall()
        return {name: read_table(connection, name) for (name,) in names if name not in OUR_OWN}


def assert_same_rows(found: dict[str, pl.DataFrame], expected: dict[str, pl.DataFrame]) -> None:
    """The tables and columns expected hold the rows expected, in any order; newer ones may stand beside them."""
    for name, rows in expected.items():
        key = rows.columns
        assert found[name].select(key).sort(key).equals(rows.sort(key)), name


def test_a_file_of_the_newest_version_is_kept():
    newest = FOLDER / f"version_{len(schema_files())}.duckdb"
    assert newest.exists(), f"A migration was added: run tests/old_versions/make.py once, and add {newest.name}."
    assert all((FOLDER / f"version_{version}.duckdb").exists() for version in VERSIONS)


@pytest.mark.parametrize("old", VERSIONS, indirect=True, ids=str)
def test_every_table_of_an_old_file_has_a_row_to_compare(old):
    assert [name for name, rows in rows_of(old).items() if rows.is_empty()] == []


@pytest.mark.parametrize(("old", "version"), [(version, version) for version in VERSIONS], indirect=["old"], ids=str)
def test_an_old_file_is_brought_up_to_date_and_keeps_its_rows(old, version):
    before = rows_of(old)
    with open_records(old) as connection:
        assert failed_checks(connection) == []
        assert read_table(connection, "schema_versions")["version"].to_list() == list(VERSIONS)
        yields = read_table(connection, "pair_measures").filter(pl.col("measure") == "yield")
        assert yields["difference"].is_not_null().any()
    assert_same_rows(rows_of(old), before)
    backups = [backup for backup in list_backups(old) if backup.reason == "before migration"]
    assert len(backups) == (version < VERSIONS[-1])
    for backup in backups:
        assert list(rows_of(backup.path)) == list(before)
        assert_same_rows(rows_of(backup.path), before)


@pytest.mark.parametrize("old", VERSIONS, indirect=True, ids=str)
def test_an_old_file_numbers_its_next_act_after_the_last(old):
    with open_records(old) as connection:
        with transaction(connection):
            connection.execute("insert into acts (done_by, source) values ('test', 'screen')")
        acts = read_table(connection, "acts")["act_id"]
    assert acts.is_unique().all()
    assert acts.max() > 2


BREAKS = {
    "at once": "select nonsense from nowhere;",
    "after a change": "alter table loads add column half double; delete from loads; select nonsense from nowhere;",
    "in its rows": "update loads set weight_kg = cast('seven' as double);",
}


@pytest.mark.parametrize(
    ("old", "broken"),
    [(version, "after a change") for version in VERSIONS] + [(1, "at once"), (1, "in its rows")],
    indirect=["old"],
)
def test_a_migration_that_fails_leaves_the_old_file_as_it_was_and_a_backup(old, broken, tmp_path, monkeypatch):
    before, bytes_before = rows_of(old), old.read_bytes()
    last = tmp_path / "9999_broken.sql"
    last.write_text(BREAKS[broken], encoding="utf-8")
    files = [*schema_files(), last]
    monkeypatch.setattr(database, "schema_files", lambda: files)
    with pytest.raises(Refused, match=r"could not be brought up to date.*as they were.*backup"), open_records(old):
        pass
    assert old.read_bytes() == bytes_before
    assert rows_of(old).keys() == before.keys()
    assert_same_rows(rows_of(old), before)
    (backup,) = list_backups(old)
    assert backup.reason == "before migration"
    assert_same_rows(rows_of(backup.path), before)
    monkeypatch.undo()
    with open_records(old):  # the program put right opens it
        pass
    assert_same_rows(rows_of(old), before)
