"""The program is killed (SIGKILL) at random moments; no acknowledged record is lost and nothing is there by half.

A child process works, says what it begins and each act that it was told is done; it is killed by its id. The seed sets
the kind of work and the moment. The last test tells how many kills fell within which work.
"""

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb
import polars as pl
import pytest

from analytics.errors import Damaged
from analytics.files.importing import bring_in
from analytics.records.grown_tables import FIELDS
from analytics.storage.backups import list_backups, make_backup
from analytics.storage.database import failed_checks, open_records, read_table
from analytics.storage.drafts import DraftPlace, all_drafts, keep_draft
from analytics.storage.history import TableSave, save
from analytics.storage.restoring import plan_restore, restore
from analytics.storage.sql_texts import schema_files

ROWS = 40  # saved together, so a half of them would show
OLD_FILES = 4  # more than works begun before the kill
LATEST_WORK = 3  # the kill comes after one of the first works began ...
LONGEST_LIFE = 0.15  # ... within so many seconds; a work takes 0.02 to 0.3

TYPED = DraftPlace(paper="loads", crop_year=2025, field="first 0", plot="a", typed_by="child")

BEGINS, BETWEEN = "begins ", "between"
fell = Counter()  # kills by the work that they fell within


def keep(connection, act: int | str) -> None:
    rows = pl.DataFrame([{"field": f"{act} {row}"} for row in range(ROWS)], schema=FIELDS.polars_schema())
    save(connection, [TableSave(table=FIELDS, saved=rows, removed=rows.clear())], done_by="child", source="screen")


@contextmanager
def doing(work: str) -> Iterator[None]:
    """The parent is told before and after, so that it knows where a kill fell."""
    print(f"{BEGINS}{work}", flush=True)
    yield
    print(BETWEEN, flush=True)


def done(act: int) -> None:
    print(act, flush=True)


def work_importing(folder: Path) -> None:
    for act in range(10_000):
        csv = folder / "coming" / "fields.csv"
        csv.write_text("field\n" + "".join(f"{act} {row}\n" for row in range(ROWS)))
        with open_records(folder / "records.duckdb") as connection, doing("import"):
            assert bring_in(connection, csv, done_by="child").act_id is not None
            done(act)


def work_saving(folder: Path) -> None:
    for act in range(10_000):
        with open_records(folder / "records.duckdb") as connection, doing("saving"):
            keep(connection, act)
            done(act)


def work_typing(folder: Path) -> None:
    """Keys, each kept as a draft that goes on from the one before."""
    for act in range(10_000):
        with doing("typing"), open_records(folder / "records.duckdb", leaves_log=True) as connection:
            rows = [{"ticket": f"{act} {row}"} for row in range(ROWS)]
            keep_draft(connection, TYPED, rows=rows, loaded=[], units={}, mark=f"w:{act}", onto={f"w:{act - 1}"})
            done(act)


def work_backing_up(folder: Path) -> None:
    for act in range(10_000):
        with open_records(folder / "records.duckdb") as connection:
            keep(connection, act)
            done(act)
            with doing("backup"):
                make_backup(connection, "asked for")


def work_migrating(folder: Path) -> None:
    for act in range(OLD_FILES):
        with doing("migration"), open_records(folder / f"old {act}.duckdb"):
            done(act)


def work_restoring(folder: Path) -> None:
    records = folder / "records.duckdb"
    backup = list_backups(records)[-1]
    for act in range(10_000):
        with open_records(records) as connection:
            keep(connection, "extra")
        with doing("restore"):
            restore(records, plan_restore(records, backup), done_by="child")
            done(act)


def work_replacing(folder: Path) -> None:
    """Restore over a damaged file, again and again."""
    records = folder / "records.duckdb"
    backup = list_backups(records)[-1]
    for act in range(10_000):
        os.truncate(records, 5000)
        with doing("restore"):
            restore(records, plan_restore(records, backup), done_by="child")
            done(act)


WORK = {
    "importing": work_importing,
    "saving": work_saving,
    "backing up": work_backing_up,
    "migrating": work_migrating,
    "restoring": work_restoring,
    "replacing": work_replacing,
    "typing": work_typing,
}


@pytest.fixture(scope="module")
def prepared(tmp_path_factory) -> Path:
    """A folder with records of one act and a backup of them, and with files of schema version 1."""
    folder = tmp_path_factory.mktemp("prepared")
    (folder / "coming").mkdir()
    with open_records(folder / "records.duckdb", create=True) as connection:
        (folder / "coming" / "plots.csv").write_text("crop_year,field,plot,method,acres\n2025,first 0,a,standing,80\n")
        (folder / "coming" / "loads.csv").write_text("crop_year,field,plot,ticket,weight_kg\n2025,first 0,a,1,900\n")
        (folder / "coming" / "fields.csv").write_text("field\n" + "".join(f"first {row}\n" for row in range(ROWS)))
        assert bring_in(connection, folder / "coming", done_by="test").act_id == 1
        make_backup(connection, "asked for")
    for number in range(OLD_FILES):
        with duckdb.connect(folder / f"old {number}.duckdb") as connection:
            connection.execute(schema_files()[0].read_text(encoding="utf-8"))
            connection.execute("create table schema_versions (version integer, file varchar, applied_at timestamp)")
            connection.execute("create table view_text (text varchar not null)")
            connection.execute("insert into schema_versions values (1, '0001', null)")
            connection.execute("insert into fields (field) select 'first ' || range from range($rows)", {"rows": ROWS})
    return folder


def fields_by_act(path: Path) -> dict[str, int]:
    """How many rows of each act are there; the file opens and every check passes."""
    with open_records(path) as connection:
        return acts_of_fields(connection)


def acts_of_fields(connection, *, checked: bool = True) -> dict[str, int]:
    assert not checked or failed_checks(connection) == []
    names = read_table(connection, "fields")["field"].to_list()
    acts = [name.rpartition(" ")[0] for name in names]
    return {act: acts.count(act) for act in acts}


def kill_at_a_random_moment(kind: str, folder: Path, dice: random.Random) -> list[str]:
    """The acts that the child was told are done before it was killed."""
    child = subprocess.Popen(
        [sys.executable, "-W", "ignore", __file__, kind, str(folder)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    told = []
    try:
        for _ in range(dice.randint(1, LATEST_WORK)):
            while not (line := child.stdout.readline()).startswith(BEGINS):
                assert line, child.stderr.read()
                told.append(line)
        told.append(line)
        time.sleep(dice.uniform(0, LONGEST_LIFE))
    finally:
        os.kill(child.pid, signal.SIGKILL)
        rest, problems = child.communicate()
    assert problems == ""
    told += rest.splitlines()
    begun = [line.strip() for line in told if not line.strip().isdigit()][-1]
    fell[begun.removeprefix(BEGINS)] += 1
    return [line.strip() for line in told if line.strip().isdigit()]


SEEDS = [*range(len(WORK)), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(1000, 1200))]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_killed_program_loses_nothing_and_leaves_nothing_by_half(prepared, tmp_path, seed):
    kind = list(WORK)[seed % len(WORK)]
    shutil.copytree(prepared, tmp_path, dirs_exist_ok=True)
    told = kill_at_a_random_moment(kind, tmp_path, random.Random(seed))
    if kind == "migrating":
        for number in range(OLD_FILES):
            with open_records(tmp_path / f"old {number}.duckdb") as connection:
                assert acts_of_fields(connection, checked=number == 0) == {"first": ROWS}
                assert read_table(connection, "schema_versions")["version"].max() == len(schema_files())
        return
    records = tmp_path / "records.duckdb"
    if kind == "replacing":
        try:
            found = fields_by_act(records)
        except Damaged:
            restore(records, plan_restore(records, list_backups(records)[-1]), done_by="test")
            found = fields_by_act(records)
        assert found == {"first": ROWS}
        return
    found = fields_by_act(records)
    assert set(found.values()) == {ROWS}
    assert "first" in found
    if kind == "typing":
        with open_records(records) as connection:
            kept = all_drafts(connection)
        for draft in kept:  # one, the last that was told or the one after it
            act = int(draft.mark.partition(":")[2])
            assert [row["ticket"] for row in draft.rows] == [f"{act} {row}" for row in range(ROWS)]
            assert act in {len(told) - 1, len(told)}
        assert len(kept) == 1 or (not told and not kept)
    elif kind == "restoring":
        assert set(found) <= {"first", "extra"}
        with open_records(records) as connection:
            assert read_table(connection, "acts").height >= 1 + 2 * len(told)
    else:
        assert set(told) <= set(found)
    for backup in list_backups(records):
        with duckdb.connect(backup.path, read_only=True) as connection:
            assert connection.execute("select count(*) % $rows from fields", {"rows": ROWS}).fetchall() == [(0,)]


@pytest.mark.slow
def test_kills_fell_within_every_kind_of_work():
    """Kept last: it looks at what the tests before it did. Run with -rP to see the counts."""
    print("kills fell within:", dict(fell))
    assert set(fell) >= {"import", "saving", "migration", "backup", "restore", "typing"}
    assert fell.total() >= 200


if __name__ == "__main__":
    WORK[sys.argv[1]](Path(sys.argv[2]))
