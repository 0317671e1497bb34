"""A bad file gives one clear message and stays as it is: cut short, flipped, foreign, newer, locked,
on a drive that is away, on a full disk.
"""

import json
import os
import random
import re
import resource
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import duckdb
import polars as pl
import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from analytics.errors import Damaged, Refused
from analytics.health import examine
from analytics.records.grown_tables import FIELDS
from analytics.storage.backups import contents, make_backup
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from analytics.storage.sql_texts import schema_files
from tests.command import command
from tests.prepared import begun, copied

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
OLD_FILE = Path(__file__).parent / "old_versions" / "version_1.duckdb"
FLIPPED_BYTES = 16


@pytest.fixture(scope="module")
def sound(demo_records, tmp_path_factory) -> tuple[Path, dict[str, object]]:
    """The demo farm with a backup, and what each table holds."""
    path = copied(demo_records, tmp_path_factory.mktemp("sound") / "records.duckdb")
    return path, content_of(path)


@pytest.fixture
def other_fields(tmp_path) -> Path:
    """A file to be brought in."""
    file = tmp_path / "fields.csv"
    file.write_text("field\nBeyond the creek\n")
    return file


@pytest.fixture
def path(sound, tmp_path):
    """A copy of the demo farm, with its backup."""
    shutil.copytree(sound[0].parent, tmp_path / "farm")
    return tmp_path / "farm" / "records.duckdb"


def content_of(path: Path) -> dict[str, object]:
    with open_records(path) as connection:
        return contents(connection)


def keep_field(connection, name: str) -> None:
    rows = pl.DataFrame([{"field": name}], schema=FIELDS.polars_schema())
    save(connection, [TableSave(table=FIELDS, saved=rows, removed=rows.clear())], done_by="test", source="screen")


def assert_refused_and_untouched(path: Path, message: str, kind: type[Refused] = Refused) -> None:
    before = path.read_bytes()
    with pytest.raises(kind, match=message) as refusal:
        examine(path)
    assert "Traceback" not in str(refusal.value)
    assert path.read_bytes() == before


CUTS = [*range(4), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(4, 200))]


@pytest.mark.parametrize("seed", CUTS)
def test_a_file_cut_at_any_length_is_called_damaged_and_names_the_backup(path, seed):
    """Blocks are 256 KiB after 12 KiB of headers; a file cut there is short of a block that it says it has."""
    size = path.stat().st_size
    length = [1, 4096, 12_288, size - 1][seed] if seed < 4 else random.Random(seed).randrange(size)
    os.truncate(path, length)
    assert_refused_and_untouched(path, r"restore a backup \(the newest is of 20|Restore a backup \(the newest", Damaged)


SEEDS = [*range(4), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(4, 200))]


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
    assert_refused_and_untouched(path, "this is not a file of records", Damaged)


def test_a_newer_file_is_not_called_damaged_and_not_touched(path):
    with open_records(path) as connection:
        newer = {"version": len(schema_files()) + 1, "file": "9999_later.sql"}
        connection.execute("insert into schema_versions (version, file) values ($version, $file)", newer)
    before = path.read_bytes()
    with pytest.raises(Refused, match="written by a newer version") as refusal:
        examine(path)
    assert not isinstance(refusal.value, Damaged)
    assert path.read_bytes() == before


SEVERAL = """
import contextlib, io, json, sys
from analytics.cli import run_command

told = []
for arguments in json.loads(sys.argv[1]):
    sys.argv = ["standrow", *arguments]
    with contextlib.redirect_stdout(io.StringIO()) as out, contextlib.redirect_stderr(io.StringIO()) as err:
        try:
            run_command()
        except SystemExit as end:
            told.append([end.code or 0, out.getvalue() + err.getvalue()])
print(json.dumps(told))
"""


def run_as_anyone(*commands: list[str]) -> list[tuple[int, str]]:
    """Commands in a program bound by permissions even where the tests are root's; exit codes and what they printed."""
    bound = ["setpriv", "--bounding-set", "-dac_override,-dac_read_search"] if os.geteuid() == 0 else []
    given = [sys.executable, "-W", "ignore", "-c", SEVERAL, json.dumps(commands)]
    done = subprocess.run([*bound, *given], capture_output=True, text=True, check=True)
    return [(code, said) for code, said in json.loads(done.stdout)]


@pytest.fixture
def run_here(monkeypatch, capsys):
    """The command in this process, for what does not hang on permissions; exit code and what it printed."""

    def run(path: Path, *arguments: object) -> tuple[int, str]:
        code, out, err = command(monkeypatch, capsys)(*arguments, "--records", path)
        return code, out + err

    return run


def test_what_may_not_be_read_or_written_is_refused_and_stays_as_it_was(sound, tmp_path, other_fields):
    """A read-only file; a folder that may not be looked into; one without write permission, where the engine needs
    room for the log beside the file, and only when something is written; and such a one without records.
    """
    read_only, hidden, locked = (tmp_path / name / "records.duckdb" for name in ("read only", "hidden", "locked"))
    for records in (read_only, hidden, locked):
        shutil.copytree(sound[0].parent, records.parent)
    not_mine = tmp_path / "not mine"
    not_mine.mkdir(mode=0o500)
    read_only.chmod(0o400)
    before = read_only.read_bytes()
    hidden.parent.chmod(0)
    locked.parent.chmod(0o500)
    try:
        listed, *refused = run_as_anyone(
            ["undo", "--records", str(locked)],  # lists the acts
            ["check", "--records", str(read_only)],
            ["check", "--records", str(hidden)],
            ["import", str(other_fields), "--records", str(locked)],
            ["import", str(other_fields), "--records", str(not_mine / "records.duckdb")],
        )
    finally:
        for folder in (hidden.parent, locked.parent, not_mine):
            folder.chmod(0o700)
    assert listed[0] == 0
    assert [code for code, _ in refused] == [1, 1, 1, 1]
    of_read_only, of_hidden, of_locked, of_not_mine = (said for _, said in refused)
    assert "the file cannot be opened for reading and writing. What is in it is as it was" in of_read_only
    assert read_only.read_bytes() == before
    assert "the records cannot be reached (Permission denied). What was saved is as it was" in of_hidden
    assert "cannot be opened for reading and writing" in of_locked or "no backup can be made there" in of_locked
    assert content_of(locked) == sound[1]
    assert "no records can be made in this folder (Permission denied)" in of_not_mine
    assert list(not_mine.iterdir()) == []


# --- a drive that vanishes


@contextmanager
def drive_away(path: Path) -> Iterator[None]:
    """The folder of the records is not there for a while."""
    away = path.parent.rename(path.parent.with_name("away"))
    yield
    assert not path.parent.exists()  # nothing was made in its place
    away.rename(path.parent)


def test_a_terminal_says_that_the_drive_is_away_and_makes_nothing_in_its_place(
    path, sound, other_fields, run_here, monkeypatch
):
    monkeypatch.setattr("analytics.storage.database._were_open", set())  # as in a program just started
    with drive_away(path):
        for command in (["check"], ["import", other_fields], ["serve"]):
            code, said = run_here(path, *command)
            assert code == 1
            assert "If it is on a drive, connect it and try again: what was saved is on it" in said
    assert content_of(path) == sound[1]


def test_a_screen_says_that_the_drive_is_away_and_works_on_when_it_is_back(tmp_path, monkeypatch):
    path = tmp_path / "farm" / "records.duckdb"
    path.parent.mkdir()
    with begun(path) as connection:
        keep_field(connection, "North")
    monkeypatch.setenv("STANDROW_RECORDS", str(path))
    st.cache_resource.clear()
    app = AppTest.from_file(APP, default_timeout=60).run()
    answer = app.title[0].value
    with drive_away(path):
        app.run()
        another = AppTest.from_file(APP, default_timeout=60).run()
        for session in (app, another):
            (error,) = session.error
            assert "the records were here and are gone. Is the drive connected? What was saved is on it" in error.value
            assert not session.exception
    app.run()
    assert not app.error
    assert app.title[0].value == answer


def test_a_drive_that_vanishes_while_something_is_saved_keeps_what_was_saved_before(path):
    away = path.parent.with_name("away")
    words = "cannot be reached any more. What was saved before is as it was"
    with pytest.raises(Refused, match=words), open_records(path) as connection:
        path.parent.rename(away)
        keep_field(connection, "typed while it vanished")
    assert not path.parent.exists()
    away.rename(path.parent)
    with open_records(path) as connection:
        names = read_table(connection, "fields")["field"]
        assert "typed while it vanished" not in names
        keep_field(connection, "typed when it was back")
    with open_records(path) as connection:
        assert read_table(connection, "fields").height == len(names) + 1


def test_a_backup_is_refused_when_the_drive_vanished(path):
    refused = pytest.raises(Refused, match="no backup can be made there")
    with open_records(path) as connection, drive_away(path), refused:
        make_backup(connection, "asked for")


def test_records_on_a_drive_that_was_unmounted_are_not_begun_anew(path, tmp_path, sound):
    """The empty folder where a drive is mounted stays there, so this program has to remember what it had open."""
    place = tmp_path / "drive"
    place.mkdir()
    mount("--bind", path.parent, place)
    mounted = place / path.name
    try:
        with open_records(mounted):
            pass
    finally:
        subprocess.run(["umount", str(place)], check=True)
    gone = pytest.raises(Refused, match=r"were here and are gone. Is the drive connected")
    with gone, open_records(mounted, create=True):
        pass
    assert list(place.iterdir()) == []
    mount("--bind", path.parent, place)
    try:
        assert content_of(mounted) == sound[1]
    finally:
        subprocess.run(["umount", str(place)], check=True)


# --- a full disk


def mount(*arguments: object) -> None:
    """Mount something; only root can, and not everywhere."""
    done = subprocess.run(["mount", *map(str, arguments)], capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"nothing can be mounted here: {done.stderr.strip()}")


@pytest.fixture
def small_disk(tmp_path):
    """A disk of 48 MB, mounted for the test."""
    folder = tmp_path / "small disk"
    folder.mkdir()
    mount("-t", "tmpfs", "-o", "size=48m", "tmpfs", folder)
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def fill(disk: Path) -> Path:
    """A file that takes every byte that is left."""
    filler = disk / "filler"
    with suppress(OSError), filler.open("wb", buffering=0) as file:
        while True:
            file.write(b"x" * 4096)
    return filler


FULL = r"disk is full|No space left"


def test_a_command_on_a_full_disk_changes_nothing(path, small_disk, other_fields, run_here):
    on_disk = Path(shutil.copytree(path.parent, small_disk / "farm")) / path.name
    with open_records(on_disk) as connection:
        keep_field(connection, "typed later")
        before = contents(connection)
    filler = fill(small_disk)
    bring_in = ["import", other_fields]
    for typed in (bring_in, ["backup"], ["restore", "1", "--yes"]):
        code, said = run_here(on_disk, *typed)
        assert code == 1
        assert re.search(FULL, said)
        assert content_of(on_disk) == before
    filler.unlink()
    assert run_here(on_disk, *bring_in)[0] == 0


def test_an_old_file_on_a_full_disk_stays_old_and_whole(small_disk):
    path = Path(shutil.copy(OLD_FILE, small_disk / "records.duckdb"))
    filler = fill(small_disk)
    with pytest.raises(Refused, match=FULL), open_records(path):
        pass
    assert path.read_bytes() == OLD_FILE.read_bytes()
    filler.unlink()
    with duckdb.connect(path, read_only=True) as connection:  # with what stands in a log beside it
        assert read_table(connection, "fields").height == 2
        assert read_table(connection, "schema_versions")["version"].to_list() == [1]


def test_a_file_that_may_not_grow_is_told_like_a_full_disk(path, sound, run_here):
    """Where no disk can be mounted: a limit on the size of any file that the program writes."""
    sizes = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size // 2, sizes[1]))
    try:
        code, said = run_here(path, "backup")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, sizes)
    assert code == 1
    assert re.search("disk is full|File too large", said)
    assert content_of(path) == sound[1]


def test_on_a_full_disk_what_was_saved_stays_and_can_be_read(small_disk):
    """Notes that do not compress are saved until the disk is full."""
    (small_disk / "something else").write_bytes(bytes(40_000_000))
    path = small_disk / "records.duckdb"
    dice = random.Random(6)
    saved = 0
    with pytest.raises(Refused, match=FULL):
        while True:
            with open_records(path, create=True) as connection:
                rows = pl.DataFrame(
                    [{"field": f"{saved} {row}", "notes": dice.randbytes(900).hex()} for row in range(400)],
                    schema=FIELDS.polars_schema(),
                )
                change = TableSave(table=FIELDS, saved=rows, removed=rows.clear())
                save(connection, [change], done_by="test", source="screen")
            saved += 1
    assert saved > 0
    with open_records(path) as connection:
        acts = {name.split()[0] for name in read_table(connection, "fields")["field"]}
        assert acts == {str(act) for act in range(saved)}
    with pytest.raises(Refused, match=FULL), open_records(path) as connection:
        make_backup(connection, "asked for")
