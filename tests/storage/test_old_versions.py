"""Records written by every version of the schema open, are brought up to date and hold the same rows as before."""

import shutil
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import duckdb
import polars as pl
import pytest

from analytics.errors import Damaged, Refused
from analytics.records.papers import FORMER_KEYS
from analytics.storage import migrations
from analytics.storage.backups import list_backups
from analytics.storage.checkpoints import connect
from analytics.storage.database import failed_checks, open_records, read_table
from analytics.storage.drafts import last_place
from analytics.storage.log_recovery import recoveries
from analytics.storage.sql_texts import schema_files
from analytics.storage.transactions import transaction

FOLDER = Path(__file__).parent / "old_versions"
VERSIONS = range(1, len(schema_files()) + 1)
# What holds for every version alike is tried on the oldest and the newest; the long form has all.
ENDS = [
    version if version in (VERSIONS[0], VERSIONS[-1]) else pytest.param(version, marks=pytest.mark.slow)
    for version in VERSIONS
]
OLDEST = [1, *(pytest.param(version, marks=pytest.mark.slow) for version in VERSIONS[1:])]
OUR_OWN = ("schema_versions", "view_text")  # what an opening itself keeps up


@pytest.fixture
def old(request, tmp_path) -> Path:
    """A copy of the file that the version wrote."""
    return Path(shutil.copy(FOLDER / f"version_{request.param}.duckdb", tmp_path / "records.duckdb"))


@pytest.fixture
def without_views(monkeypatch) -> None:
    """Migrations without the views, which take most of an opening, and without the backup."""
    monkeypatch.setattr(migrations, "view_files", list)
    monkeypatch.setattr(migrations, "_view_text", str)
    monkeypatch.setattr(migrations, "make_backup", lambda *_: None)


Rows = list[dict[str, object]]


def rows_of(path: Path) -> dict[str, Rows]:
    """Every table as it stands, without bringing it up to date."""
    with duckdb.connect(path, read_only=True) as connection:
        return tables_of(connection)


def tables_of(connection) -> dict[str, Rows]:
    names = connection.execute("select table_name from duckdb_tables() order by table_name").fetchall()
    return {name: rows_in(connection, name) for (name,) in names if name not in OUR_OWN}


def rows_in(connection, table: str) -> Rows:
    found = connection.cursor().execute(f"from {table}")
    columns = [column for column, *_ in found.description]
    return [dict(zip(columns, row, strict=True)) for row in found.fetchall()]


def assert_same_rows(found: dict[str, Rows], expected: dict[str, Rows]) -> None:
    """The tables and columns expected hold the rows expected, in any order; newer ones may stand beside them."""
    for name, rows in expected.items():
        columns = rows[0]
        same_columns = [{column: row[column] for column in columns} for row in found[name]]
        assert sorted(map(repr, same_columns)) == sorted(map(repr, rows)), name


def test_a_file_of_the_newest_version_is_kept():
    newest = FOLDER / f"version_{len(schema_files())}.duckdb"
    assert newest.exists(), (
        f"A migration was added: run tests/storage/old_versions/make.py once, and add {newest.name}."
    )
    assert all((FOLDER / f"version_{version}.duckdb").exists() for version in VERSIONS)


@pytest.mark.usefixtures("without_views")
@pytest.mark.parametrize("old", VERSIONS, indirect=True, ids=str)
def test_the_migrations_keep_every_row_of_an_old_file_which_has_one_in_each_table(old):
    """With the views below."""
    with closing(connect(old)) as connection:
        before = tables_of(connection)
        assert [name for name, rows in before.items() if not rows] == []
        migrations.bring_up_to_date(connection, old)
        assert read_table(connection, "schema_versions")["version"].to_list() == list(VERSIONS)
        assert_same_rows(tables_of(connection), before)


@pytest.mark.parametrize("old", OLDEST, indirect=True, ids=str)
def test_an_old_file_is_brought_up_to_date_with_its_views_and_a_backup(old, request):
    """That a file of the newest version stays as it is, test_database.py tells."""
    version = request.node.callspec.params["old"]
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


@pytest.mark.usefixtures("without_views")
@pytest.mark.parametrize("old", ENDS, indirect=True, ids=str)
def test_an_old_file_numbers_its_next_act_after_the_last(old):
    with closing(connect(old)) as connection:
        migrations.bring_up_to_date(connection, old)
        with transaction(connection):
            connection.execute("insert into acts (done_by, source) values ('test', 'screen')")
        acts = read_table(connection, "acts")["act_id"]
    assert acts.is_unique().all()
    assert acts.max() > 2


@pytest.mark.usefixtures("without_views")
@pytest.mark.parametrize("old", [6], indirect=True)
def test_a_draft_comes_back_under_the_key_of_its_paper(old):
    """Until version 6 a draft named its paper as the screen did."""
    with closing(connect(old)) as connection:
        for name in FORMER_KEYS:
            connection.execute(
                "insert into drafts (paper, crop_year, typed_by, content) values ($name, 2022, $name, $content)",
                {"name": name, "content": '{"rows": [], "loaded": [], "units": {}}'},
            )
        migrations.bring_up_to_date(connection, old)
        assert {name: last_place(connection, name).paper for name in FORMER_KEYS} == FORMER_KEYS
        assert last_place(connection, "A grower").paper == "loads"


BREAKS = {
    "at once": "select nonsense from nowhere;",
    "after a change": "create table halves (half double); delete from loads; select nonsense from nowhere;",
    "in its rows": "update loads set weight_kg = cast('seven' as double);",
}


@pytest.mark.parametrize(
    ("old", "broken"),
    [
        (1, "in its rows"),
        (VERSIONS[-1], "after a change"),
        pytest.param(1, "after a change", marks=pytest.mark.slow),
        pytest.param(1, "at once", marks=pytest.mark.slow),
    ],
    indirect=["old"],
)
def test_a_migration_that_fails_leaves_the_old_file_as_it_was_and_a_backup(old, broken, tmp_path, monkeypatch):
    before, bytes_before = rows_of(old), old.read_bytes()
    last = tmp_path / "9999_broken.sql"
    last.write_text(BREAKS[broken], encoding="utf-8")
    files = [*schema_files(), last]
    monkeypatch.setattr(migrations, "schema_files", lambda: files)
    with pytest.raises(Refused, match=r"could not be brought up to date.*as they were.*backup"), open_records(old):
        pass
    assert old.read_bytes() == bytes_before
    assert rows_of(old) == before  # with what stands in a log beside it
    (backup,) = list_backups(old)
    assert backup.reason == "before migration"
    assert_same_rows(rows_of(backup.path), before)


# --- what runs and could not be read again


ADD_COLUMN = "alter table plots add column row_spacing_cm double;"
UNSAFE = {
    "add column": ADD_COLUMN,
    "under a comment": f"-- rename to plots\n{ADD_COLUMN}",
    "after others": "create table one (a double); alter table plots drop column notes;",
    "rename a column": "alter table plots rename column notes to remarks;",
    "default": "alter table plots alter notes set default 'none';",
    "type": "alter table plots alter plot type integer using 1;",
    "not null": "alter table plots alter notes drop not null;",
    "comment": "comment on column plots.notes is 'remarks';",
}
SAFE = (
    """
create table new_distances (
    field varchar not null,
    other_field varchar not null,
    distance_km double not null check (isfinite(distance_km)),
    measured_by varchar
);
insert into new_distances select *, null from field_distances;
drop table field_distances;
alter table new_distances rename to field_distances;
""",
    "create index by_field on plots (lower(field));",
    "update plots set acres = 2 * acres;",
)


def run_as_migration(path: Path, text: str) -> None:
    """Run a text as the program runs a migration, whatever it is, and leave what it did in the log."""
    connection = connect(path)
    connection.execute(f"begin; {text} commit")
    connection.close()


def can_be_opened_again(path: Path) -> bool:
    try:
        connect(path).close()
    except duckdb.Error:
        return False
    return True


@pytest.fixture
def add_migration(tmp_path, monkeypatch) -> Callable[[str], None]:
    """Call with the text of a migration that comes after the last."""

    def add(text: str) -> None:
        migration = tmp_path / "9999_new.sql"
        migration.write_text(text, encoding="utf-8")
        files = [*schema_files(), migration]
        monkeypatch.setattr(migrations, "schema_files", lambda: files)

    return add


@pytest.mark.parametrize("old", VERSIONS[-1:], indirect=True, ids=str)
@pytest.mark.parametrize("text", UNSAFE.values(), ids=UNSAFE)
def test_a_migration_is_refused_whose_file_could_not_be_opened_again(old, text, tmp_path, add_migration):
    scratch = Path(shutil.copy(old, tmp_path / "scratch.duckdb"))
    run_as_migration(scratch, text)
    assert not can_be_opened_again(scratch)  # the engine says so; the day it no longer does, the rule can go
    bytes_before = old.read_bytes()
    add_migration(text)
    with pytest.raises(Refused, match=r"9999_new.sql: not run.*Instead make a new table"), open_records(old):
        pass
    assert old.read_bytes() == bytes_before
    assert list_backups(old) == ()


@pytest.mark.usefixtures("without_views")
@pytest.mark.parametrize("old", VERSIONS[-1:], indirect=True, ids=str)
def test_a_migration_that_goes_the_way_round_is_run(old, add_migration):
    add_migration("".join(SAFE))
    with open_records(old):
        pass
    assert can_be_opened_again(old)


@pytest.mark.parametrize("old", VERSIONS[-1:], indirect=True, ids=str)
def test_a_file_that_such_a_migration_locked_opens_as_it_was_before_and_that_is_said(old):
    before = rows_of(old)
    run_as_migration(old, ADD_COLUMN)
    assert not can_be_opened_again(old)
    with open_records(old):
        pass
    assert_same_rows(rows_of(old), before)
    (said,) = recoveries(old)
    assert "File and log as they were are kept" in said


@pytest.mark.parametrize("old", VERSIONS[-1:], indirect=True, ids=str)
def test_the_closing_after_it_tells_so_at_once(old):
    with pytest.raises(Damaged, match="cannot be read back"), open_records(old) as connection:
        connection.execute(ADD_COLUMN)
