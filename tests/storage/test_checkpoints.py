"""A checkpoint broken off at any moment costs nothing that was saved.

The engine writes over blocks in use at a checkpoint, so the ordinary tests lay a random part of what a checkpoint wrote
over the file as it was before: what a kill or a power failure leaves. test_killed_at_any_call.py kills a real program.
"""

import errno
import os
import random
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

import duckdb
import polars as pl
import pytest

from analytics.errors import Damaged, Refused
from analytics.records.grown_tables import FIELDS
from analytics.storage import checkpoints
from analytics.storage.backups import UNFINISHED, backups_folder, contents, list_backups, make_daily_backup
from analytics.storage.checkpoints import checkpoint, connect, kept_copies, log_of, put_back
from analytics.storage.database import failed_checks, is_new, open_records, read_table, records_path
from analytics.storage.history import TableSave, save
from analytics.storage.restoring import plan_restore, restore
from tests.prepared import begun, copied

PAGE = 4096  # bytes that reach a disk together
FIRST_BLOCK, BLOCK = 3 * PAGE, 262_144  # as DuckDB lays out its file
SEEDS = [0, 1, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (2, 3))]  # each tears it at other places
HOLDING = (
    "import sys, pathlib, analytics.storage.checkpoints as c; "
    "a = c.connect(pathlib.Path(sys.argv[1])); print(1); input()"
)


def keep_field(connection, name: str) -> None:
    rows = pl.DataFrame([{"field": name}], schema=FIELDS.polars_schema())
    save(connection, [TableSave(table=FIELDS, saved=rows, removed=rows.clear())], done_by="test", source="screen")


def fields_of(path: Path, *, leaves_log: bool = True) -> set[str]:
    """The fields that are there."""
    with open_records(path, leaves_log=leaves_log) as connection:
        return set(read_table(connection, "fields")["field"])


@contextmanager
def held_elsewhere(path: Path) -> Iterator[None]:
    """Another program has the file open."""
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDING, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout.readline() == "1\n"
    try:
        yield
    finally:
        holder.communicate("\n")


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    """Records with one field in the file and one in the log, and the backup of the day of both."""
    path = tmp_path_factory.mktemp("made") / "records.duckdb"
    with begun(path) as connection:
        keep_field(connection, "North")
    with closing(connect(path)) as connection:
        keep_field(connection, "South")
        make_daily_backup(connection)
    assert log_of(path).exists()
    return path


@pytest.fixture
def path(made, tmp_path) -> Path:
    """A copy of them."""
    shutil.copyfile(log_of(made), tmp_path / log_of(made).name)
    return copied(made, tmp_path / made.name)


class NoCheckpoint:
    """A connection on which the checkpoint fails, as on a full disk."""

    def __init__(self, path: Path) -> None:
        self.connection = connect(path)

    def execute(self, query: str) -> None:
        assert query == "checkpoint"
        raise duckdb.IOException("No space left on device")

    def close(self) -> None:
        self.connection.close()


@pytest.fixture(scope="module")
def made_and_broken_off(made, tmp_path_factory) -> Path:
    """The same, and a checkpoint of it was broken off."""
    path = tmp_path_factory.mktemp("broken off") / made.name
    shutil.copyfile(log_of(made), log_of(path))
    copied(made, path)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(checkpoints, "connect", NoCheckpoint)
        checkpoint(path)
    assert len(kept_copies(path)) == 1
    return path


@pytest.fixture
def broken_off(made_and_broken_off, tmp_path) -> Path:
    """A copy of that."""
    shutil.copyfile(log_of(made_and_broken_off), tmp_path / log_of(made_and_broken_off).name)
    return copied(made_and_broken_off, tmp_path / made_and_broken_off.name)


@pytest.fixture(scope="module")
def after(made, tmp_path_factory) -> bytes:
    """The file once its checkpoint came to its end."""
    done = tmp_path_factory.mktemp("done") / made.name
    for file in (made, log_of(made)):
        shutil.copyfile(file, done.with_name(file.name))
    checkpoint(done)
    return done.read_bytes()


def tear(path: Path, after: bytes, dice: random.Random) -> None:
    """Lay some of the pages that a checkpoint writes over the file."""
    before, share = path.read_bytes(), dice.random()
    with path.open("rb+") as file:
        for at in range(0, len(after), PAGE):
            page = after[at : at + PAGE]
            if page != before[at : at + PAGE] and dice.random() < share:
                file.seek(at)
                file.write(page)


def spoil(path: Path) -> None:
    """Damage a block that the engine does not read when it opens the file, but with the rows in it."""
    whole = path.read_bytes()
    for place in range(FIRST_BLOCK + BLOCK // 100, len(whole), BLOCK):
        path.write_bytes(whole[:place] + bytes(byte ^ 255 for byte in whole[place : place + 64]) + whole[place + 64 :])
        with suppress(duckdb.Error), closing(connect(path)) as connection:
            try:
                contents(connection)
            except duckdb.Error:
                return
    pytest.fail("every block is read when the file is opened")


def test_what_was_saved_is_in_the_file_itself_once_it_is_closed(path, tmp_path):
    assert fields_of(path, leaves_log=False) == {"North", "South"}
    assert not log_of(path).exists()
    assert kept_copies(path) == []
    shutil.copyfile(path, tmp_path / "carried away.duckdb")
    assert fields_of(tmp_path / "carried away.duckdb") == {"North", "South"}


def test_the_last_to_close_makes_the_checkpoint(path):
    with open_records(path):
        with open_records(path) as connection:
            keep_field(connection, "West")
        assert log_of(path).exists()
    assert not log_of(path).exists()


def test_what_was_saved_goes_into_the_file_though_a_screen_that_reads_closes_last(path):
    with open_records(path, leaves_log=True):
        with open_records(path) as connection:
            keep_field(connection, "West")
        assert log_of(path).exists()
    assert not log_of(path).exists()


def test_an_engine_alone_does_not_open_what_a_broken_checkpoint_leaves(path, tmp_path, after):
    """Why there is a copy at all; when this fails, checkpoints.py may go."""
    for seed in (0, 1):
        torn = tmp_path / str(seed) / path.name
        torn.parent.mkdir()
        for file in (path, log_of(path)):
            shutil.copyfile(file, torn.with_name(file.name))
        tear(torn, after, random.Random(seed))
        with pytest.raises(Damaged, match="the file is damaged"), open_records(torn):
            pass


@pytest.mark.parametrize("seed", SEEDS)
def test_a_checkpoint_broken_off_anywhere_loses_nothing(broken_off, after, seed):
    tear(broken_off, after, random.Random(seed))
    with open_records(broken_off) as connection:
        assert set(read_table(connection, "fields")["field"]) == {"North", "South"}
        assert failed_checks(connection) == []
        assert kept_copies(broken_off) == []
        keep_field(connection, "West")
    assert fields_of(broken_off) == {"North", "South", "West"}


def test_damage_that_only_reading_meets_is_found_before_the_copy_goes(broken_off):
    spoil(broken_off)
    with open_records(broken_off) as connection:
        assert contents(connection)["fields"][0] == 2  # and every other row can be read


def test_a_checkpoint_broken_off_before_or_after_it_wrote_loses_nothing(broken_off):
    assert fields_of(broken_off) == {"North", "South"}


def test_a_copy_that_is_not_whole_is_not_used(path):
    shutil.rmtree(backups_folder(path))  # the next opening makes the backup of the day and clears away
    half = backups_folder(path) / f"{UNFINISHED}1"
    half.mkdir(parents=True)
    (half / path.name).write_bytes(b"half")
    assert fields_of(path) == {"North", "South"}
    assert not half.exists()


def test_a_checkpoint_is_left_undone_while_another_program_has_the_file_open(path):
    with held_elsewhere(path):
        checkpoint(path)
        assert log_of(path).exists()
        assert kept_copies(path) == []
    assert fields_of(path) == {"North", "South"}


def test_a_checkpoint_is_left_undone_when_another_program_saved_while_the_copy_was_made(path, monkeypatch):
    def overtaken(file: Path) -> duckdb.DuckDBPyConnection:
        with closing(connect(file)) as connection:
            keep_field(connection, "West")
        return connect(file)

    with monkeypatch.context() as patched:
        patched.setattr(checkpoints, "connect", overtaken)
        checkpoint(path)
    assert log_of(path).exists()
    assert kept_copies(path) == []
    assert fields_of(path) == {"North", "South", "West"}


def test_the_checkpoint_of_another_program_is_waited_for(broken_off, monkeypatch):
    monkeypatch.setattr("analytics.storage.database.WAIT_SECONDS", 0.1)
    with held_elsewhere(broken_off), pytest.raises(Refused, match="another program has the records open"):
        fields_of(broken_off)
    assert fields_of(broken_off) == {"North", "South"}


def saving_by(broken_off: Path, monkeypatch: pytest.MonkeyPatch, when: Callable[[Path], object]) -> None:
    """Put the copy back, while another program saves West just before the file is opened to be read."""

    def overtaken(file: Path) -> duckdb.DuckDBPyConnection:
        monkeypatch.undo()
        when(broken_off)
        with closing(connect(broken_off)) as connection:
            keep_field(connection, "West")
        return connect(file)

    monkeypatch.setattr(checkpoints, "connect", overtaken)
    put_back(broken_off)


def test_a_copy_whose_checkpoint_came_to_its_end_meanwhile_is_not_put_back(broken_off, monkeypatch):
    (kept,) = kept_copies(broken_off)
    saving_by(broken_off, monkeypatch, lambda _: kept.rename(kept.with_name(f"{UNFINISHED}done")))
    assert fields_of(broken_off) == {"North", "South", "West"}


def test_what_is_saved_after_another_program_put_the_copy_back_stays(broken_off, after, monkeypatch):
    tear(broken_off, after, random.Random(1))
    saving_by(broken_off, monkeypatch, put_back)
    assert fields_of(broken_off) == {"North", "South", "West"}


def test_what_is_saved_after_another_program_was_ended_at_its_checkpoint_stays(path, monkeypatch):
    """That one is ended after this one looked for its copy, and before this one opens the file."""

    def ended(file: Path) -> duckdb.DuckDBPyConnection:
        monkeypatch.undo()
        with monkeypatch.context() as patched:
            patched.setattr(checkpoints, "connect", NoCheckpoint)
            checkpoint(file)
        spoil(file)
        return connect(file)

    monkeypatch.setattr("analytics.storage.database.connect", ended)
    with open_records(path) as connection:
        keep_field(connection, "West")
    assert fields_of(path) == {"North", "South", "West"}


@pytest.mark.parametrize("records", ["of another farm", "worked on elsewhere"])
def test_a_sound_file_is_never_replaced_by_a_copy(broken_off, tmp_path, records):
    other = tmp_path / "elsewhere" / broken_off.name
    other.parent.mkdir()
    if records == "worked on elsewhere":
        for file in (broken_off, log_of(broken_off)):
            shutil.copyfile(file, other.with_name(file.name))
    with begun(other) as connection:
        keep_field(connection, "Elsewhere")
        there = set(read_table(connection, "fields")["field"])
    log_of(broken_off).unlink()
    other.replace(broken_off)
    assert fields_of(broken_off) == there
    assert kept_copies(broken_off) == []


def test_a_file_taken_away_after_a_checkpoint_was_broken_off_is_put_back_from_the_copy(broken_off):
    broken_off.unlink()
    log_of(broken_off).unlink()
    assert not is_new(broken_off)
    assert fields_of(broken_off) == {"North", "South"}


def test_no_records_are_begun_where_a_checkpoint_was_broken_off_and_the_file_is_gone(broken_off, monkeypatch):
    """A power cut took it from where it was moved to; before, new records without a row were begun and called safe."""
    monkeypatch.setattr("analytics.storage.database._were_open", set())  # as in a program just started
    (kept,) = kept_copies(broken_off)
    shutil.rmtree(backups_folder(broken_off))
    kept.mkdir(parents=True)
    broken_off.unlink()
    log_of(broken_off).unlink()
    assert not is_new(broken_off)
    said = rf"here and are gone: .*{kept.name} .*To begin anew, remove that folder"
    with pytest.raises(Refused, match=said), open_records(broken_off, create=True):
        pass
    assert not broken_off.exists()
    kept.rmdir()
    assert is_new(broken_off)


def test_other_things_in_the_folder_of_backups_keep_nobody_out(broken_off, after):
    tear(broken_off, after, random.Random(1))
    (kept,) = kept_copies(broken_off)
    (kept / "desktop.ini").write_text("a file of the system's own")
    kept.with_name(f"{kept.name}.zip").write_bytes(b"packed by hand")
    assert fields_of(broken_off) == {"North", "South"}
    assert kept_copies(broken_off) == []


def test_a_link_to_the_records_is_followed(path, tmp_path):
    shutil.rmtree(backups_folder(path))
    link = tmp_path / "on the desk" / "farm.duckdb"
    link.parent.mkdir()
    link.symlink_to(path)
    with open_records(link) as connection:
        keep_field(connection, "West")
    assert not log_of(path).exists()
    assert list(link.parent.iterdir()) == [link]
    assert list_backups(records_path(link))


def test_a_file_copied_over_the_records_beside_an_older_log_is_told_and_a_backup_can_be_restored(path):
    (backup,) = list_backups(path)
    with closing(connect(path)) as connection:
        keep_field(connection, "West")
    shutil.copyfile(backup.path, path)
    with pytest.raises(Damaged, match=r"the log beside it, records\.duckdb\.wal, do not belong together"):
        fields_of(path)
    restore(path, plan_restore(path, backup), done_by="test")
    assert fields_of(path) == {"North", "South"}


def test_no_records_are_begun_beside_the_log_of_others(tmp_path):
    path = tmp_path / "records.duckdb"
    log_of(path).write_bytes(b"what was saved")
    assert not is_new(path)
    with pytest.raises(Refused, match=r"its log, records\.duckdb\.wal, is there"), open_records(path, create=True):
        pass


@pytest.mark.parametrize("steps", [1, 2, 3])
def test_putting_back_that_is_broken_off_too_is_done_by_the_next(broken_off, after, steps):
    tear(broken_off, after, random.Random(1))
    (kept,) = kept_copies(broken_off)
    todo = [
        lambda: (kept / log_of(broken_off).name).replace(log_of(broken_off)),
        lambda: (kept / broken_off.name).replace(broken_off),
        kept.rmdir,
    ]
    for step in todo[:steps]:
        step()
    assert fields_of(broken_off) == {"North", "South"}
    assert kept_copies(broken_off) == []


@pytest.mark.parametrize(
    ("problem", "said"),
    [  # words of the system there, from memory
        (duckdb.IOException("Cannot open file: it is being used by another process."), "another program has the"),
        (duckdb.OutOfMemoryException("failed to allocate data of size 256.0 KiB"), "too little free memory"),
    ],
    ids=["busy on Windows", "no memory"],
)
def test_a_file_that_cannot_be_reached_or_read_just_now_is_not_taken_for_damaged(
    broken_off, monkeypatch, problem, said
):
    def unreachable(_: Path) -> None:
        raise problem

    monkeypatch.setattr("analytics.storage.database.WAIT_SECONDS", 0.1)
    with monkeypatch.context() as patched:
        patched.setattr(checkpoints, "connect", unreachable)
        with pytest.raises(Refused, match=said):
            fields_of(broken_off)
        assert len(kept_copies(broken_off)) == 1
    assert fields_of(broken_off) == {"North", "South"}


def test_a_copy_that_cannot_be_put_back_is_named_and_stays(broken_off, after, monkeypatch):
    tear(broken_off, after, random.Random(1))

    def not_yours(*_: object) -> None:
        raise OSError(errno.EACCES, os.strerror(errno.EACCES))

    with monkeypatch.context() as patched:
        patched.setattr(Path, "replace", not_yours)
        with pytest.raises(Refused, match=r"Permission denied.*It is safe in .*backups"):
            fields_of(broken_off)
    assert fields_of(broken_off) == {"North", "South"}


def test_where_the_copy_is_damaged_too_a_backup_is_restored(path, monkeypatch):
    (backup,) = list_backups(path)
    with closing(connect(path)) as connection:
        keep_field(connection, "West")
    with monkeypatch.context() as patched:
        patched.setattr(checkpoints, "connect", NoCheckpoint)
        checkpoint(path)
    (kept,) = kept_copies(path)
    for file in (path, kept / path.name):
        os.truncate(file, 5000)
    with pytest.raises(Damaged, match="standrow restore"):
        fields_of(path)
    restore(path, plan_restore(path, backup), done_by="test")
    assert fields_of(path) == {"North", "South"}
