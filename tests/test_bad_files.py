"""A bad file gives one clear message and stays as it is: cut short, flipped, foreign, newer, locked, disk full."""

import os
import random
import shutil
import sqlite3
import subprocess
from pathlib import Path

import polars as pl
import pytest

from analytics.backups import contents, make_backup
from analytics.bringing_in import bring_in
from analytics.database import open_records, read_table, schema_files
from analytics.errors import Damaged, Refused
from analytics.health import examine
from analytics.history import TableSave, save
from analytics.records import FIELDS

SAMPLE_RECORDS = Path(__file__).resolve().parents[1] / "sample_records"
FLIPPED_BYTES = 16


@pytest.fixture(scope="module")
def sound(tmp_path_factory) -> tuple[Path, dict[str, object]]:
    """The demo farm with a backup, and what each table holds."""
    path = tmp_path_factory.mktemp("sound") / "records.duckdb"
    with open_records(path, create=True) as connection:
        bring_in(connection, SAMPLE_RECORDS, done_by="test")
        make_backup(connection, "asked for")
        content = contents(connection)
    return path, content


@pytest.fixture
def path(sound, tmp_path):
    """A copy of the demo farm, with its backup."""
    shutil.copytree(sound[0].parent, tmp_path / "farm")
    return tmp_path / "farm" / "records.duckdb"


def assert_refused_and_untouched(path: Path, message: str, kind: type[Refused] = Refused) -> None:
    before = path.read_bytes()
    with pytest.raises(kind, match=message) as refusal:
        examine(path)
    assert "Traceback" not in str(refusal.value)
    assert path.read_bytes() == before


@pytest.mark.parametrize("seed", range(8))
def test_a_file_cut_at_any_length_is_called_damaged_and_names_the_backup(path, seed):
    """Blocks are 256 KiB after 12 KiB of headers; a file cut there is short of a block that it says it has."""
    size = path.stat().st_size
    length = [1, 4096, 12_288, size - 1][seed] if seed < 4 else random.Random(seed).randrange(size)
    os.truncate(path, length)
    assert_refused_and_untouched(path, r"restore a backup \(the newest is of 20|Restore a backup \(the newest", Damaged)


SEEDS = [*range(20), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(20, 200))]


@pytest.mark.parametrize("seed", SEEDS)
def test_flipped_bytes_are_noticed_or_change_nothing(sound, path, seed):
    dice = random.Random(seed)
    data = bytearray(path.read_bytes())
    start = dice.randrange(len(data) - FLIPPED_BYTES)
    data[start : start + FLIPPED_BYTES] = bytes(byte ^ 0xFF for byte in data[start : start + FLIPPED_BYTES])
    path.write_bytes(data)
    try:
        with open_records(path) as connection:
            found = contents(connection)
    except Damaged:
        found = None
    assert found in (None, sound[1])
    if found is None:
        assert path.read_bytes() == data


@pytest.mark.parametrize("content", [b"", b"field,acres\nNorth,160\n" * 500], ids=["empty", "text"])
def test_what_is_no_database_is_not_touched(path, content):
    path.write_bytes(content)
    assert_refused_and_untouched(path, "not a file of records, or its beginning is damaged", Damaged)


def test_another_kind_of_database_is_refused_without_looking_for_a_download(path):
    path.unlink()
    connection = sqlite3.connect(path)
    connection.execute("create table loads (ticket text)")
    connection.commit()
    connection.close()
    assert_refused_and_untouched(path, "not a file of records|could not be read")


def test_a_newer_file_is_not_called_damaged_and_not_touched(path):
    with open_records(path) as connection:
        newer = {"version": len(schema_files()) + 1, "file": "9999_later.sql"}
        connection.execute("insert into schema_versions (version, file) values ($version, $file)", newer)
    before = path.read_bytes()
    with pytest.raises(Refused, match="written by a newer version") as refusal:
        examine(path)
    assert not isinstance(refusal.value, Damaged)
    assert path.read_bytes() == before


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write whatever the permissions say")
def test_a_read_only_file_is_refused(path):
    path.chmod(0o400)
    assert_refused_and_untouched(path, "cannot be opened for reading and writing")


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write whatever the permissions say")
def test_a_folder_without_write_permission_is_refused(tmp_path):
    tmp_path.chmod(0o500)
    try:
        refused = pytest.raises(Refused, match="no records can be made in this folder")
        with refused, open_records(tmp_path / "records.duckdb", create=True):
            pass
    finally:
        tmp_path.chmod(0o700)


def test_a_drive_that_vanished_is_named(path):
    path.parent.rename(path.parent.with_name("away"))
    with pytest.raises(Refused, match="there are no records here"):
        examine(path)
    assert not path.parent.exists()


@pytest.fixture
def small_disk(tmp_path):
    """A disk of 24 MB, mounted for the test; only root can."""
    folder = tmp_path / "small disk"
    folder.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=24m", "tmpfs", str(folder)], capture_output=True, text=True, check=False
    )
    if mounted.returncode:
        pytest.skip(f"no small disk can be mounted here: {mounted.stderr.strip()}")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_on_a_full_disk_what_was_saved_stays_and_can_be_read(small_disk):
    """Notes that do not compress are saved until the disk is full."""
    path = small_disk / "records.duckdb"
    dice = random.Random(6)
    saved = 0
    with pytest.raises(Refused, match=r"disk is full|No space left"):
        while True:
            with open_records(path, create=True) as connection:
                rows = pl.DataFrame(
                    [{"field": f"{saved} {row}", "notes": dice.randbytes(900).hex()} for row in range(500)],
                    schema=FIELDS.polars_schema(),
                )
                change = TableSave(table=FIELDS, saved=rows, removed=rows.clear())
                save(connection, [change], done_by="test", source="screen")
            saved += 1
    assert saved > 0
    with open_records(path) as connection:
        acts = {name.split()[0] for name in read_table(connection, "fields")["field"]}
        assert acts == {str(act) for act in range(saved)}
    with pytest.raises(Refused, match=r"disk is full|No space left"), open_records(path) as connection:
        make_backup(connection, "asked for")
