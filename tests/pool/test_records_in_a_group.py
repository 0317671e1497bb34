"""A farm's whole records in a group's folder are read as what they would share, in a copy, farm by farm."""

import os
import shutil
import tempfile
import time
from pathlib import Path

import pytest

from analytics.errors import BadInput
from analytics.files.new_files import LEFT_AFTER_SECONDS
from analytics.pool.group_files import read_group
from analytics.pool.share import keep_codes, prepare_share, write_share
from analytics.pool.share_files import COPY
from analytics.storage.database import open_records
from sample_records.make_demo_group import shares
from tests.prepared import copied


@pytest.fixture(scope="module")
def made(demo_records, tmp_path_factory):
    """Two farms that shared, and the records of a third that has drawn its codes, not opened since; and its share."""
    made = tmp_path_factory.mktemp("made")
    own = copied(demo_records, made / "own.duckdb")
    with open_records(own) as connection:
        share = prepare_share(connection)
        keep_codes(connection, share, done_by="test", source="terminal")
    folder = made / "group"
    folder.mkdir()
    (folder / "third.duckdb").write_bytes(own.read_bytes())
    for code, rows in shares(farms=2).items():
        rows.write_csv(folder / f"{code}.csv")
    write_share(share, made / "share.csv")
    return made


@pytest.fixture
def folder(made, tmp_path):
    return Path(shutil.copytree(made / "group", tmp_path / "group"))


def test_records_say_what_their_share_says_and_are_not_touched(folder, made):
    before = (folder / "third.duckdb").read_bytes()
    by_records = read_group(folder)
    assert (folder / "third.duckdb").read_bytes() == before
    assert {file.name for file in folder.iterdir()} == {"third.duckdb", *(f"{code}.csv" for code in shares(farms=2))}
    (folder / "third.duckdb").unlink()
    shutil.copy(made / "share.csv", folder)
    assert by_records.rows.equals(read_group(folder).rows)
    assert len(by_records.farms) == 3


@pytest.mark.slow
def test_the_same_digits_in_two_processes(folder):
    assert read_group(folder, workers=2).rows.equals(read_group(folder).rows)


def test_records_without_codes_are_told_what_to_do(folder, demo_records):
    (folder / "third.duckdb").write_bytes(demo_records.read_bytes())
    with pytest.raises(
        BadInput, match=r"third[.]duckdb: records in which no code is drawn .* standrow share FILE --yes"
    ):
        read_group(folder)


def test_records_that_are_open_or_damaged_are_refused(folder):
    (folder / "third.duckdb.wal").write_bytes(b"x")
    with pytest.raises(BadInput, match=r"third[.]duckdb is open in a program, or was when it was copied"):
        read_group(folder)
    (folder / "third.duckdb.wal").unlink()
    (folder / "third.duckdb").write_bytes(b"no records at all")
    with pytest.raises(BadInput, match=r"third[.]duckdb: records: this is not a file of records"):
        read_group(folder)


def test_a_copy_that_a_killed_program_left_goes_with_the_next_look(folder, tmp_path, monkeypatch):
    """Whatever comes of that look."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    left, new = tmp_path / f"{COPY}left", tmp_path / f"{COPY}new"
    for one in (left, new):
        one.mkdir()
        (one / "records.duckdb").write_bytes(b"a whole farm")
    long_ago = time.time() - LEFT_AFTER_SECONDS - 1
    os.utime(left, (long_ago, long_ago))
    (folder / "third.duckdb").write_bytes(b"no records at all")
    with pytest.raises(BadInput):
        read_group(folder)
    assert [file.name for file in tmp_path.glob(f"{COPY}*")] == [new.name]
