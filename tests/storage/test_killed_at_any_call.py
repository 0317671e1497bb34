"""The long form of broken checkpoints: a program is killed at every call that changes a file, by kill_at_call.c."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import polars as pl
import pytest

from analytics.records.grown_tables import FIELDS
from analytics.storage.backups import list_backups
from analytics.storage.checkpoints import kept_copies
from analytics.storage.database import failed_checks, open_records, read_table
from analytics.storage.history import TableSave, save

KILLING = Path(__file__).resolve().parent / "kill_at_call.c"


def keep_field(connection, name: str) -> None:
    rows = pl.DataFrame([{"field": name}], schema=FIELDS.polars_schema())
    save(connection, [TableSave(table=FIELDS, saved=rows, removed=rows.clear())], done_by="test", source="screen")


def sound_fields_of(path: Path) -> set[str]:
    """The fields that are there; every check passes."""
    with open_records(path) as connection:
        assert failed_checks(connection) == []
        return set(read_table(connection, "fields")["field"])


def work(path: Path) -> None:
    with open_records(path) as connection:
        keep_field(connection, "West")
        print("saved", flush=True)
    print("closed", flush=True)


@pytest.fixture(scope="module")
def killing(tmp_path_factory) -> Path:
    if shutil.which("cc") is None or sys.platform != "linux":
        pytest.skip("there is no C compiler, or this is not Linux")
    library = tmp_path_factory.mktemp("killing") / "kill_at_call.so"
    subprocess.run(["cc", "-shared", "-fPIC", "-o", library, KILLING, "-ldl"], check=True)
    return library


def work_killed_at(call: int, path: Path, killing: Path) -> str:
    """What the program said before it was killed at that call, or before its end."""
    return subprocess.run(
        [sys.executable, "-W", "ignore", __file__, str(path)],
        env={**os.environ, "LD_PRELOAD": str(killing), "KILL_AT": str(call)},
        stdout=subprocess.PIPE,
        text=True,
        check=False,
    ).stdout


def killed_at_each_call(made: Path, folder: Path, killing: Path) -> Iterator[tuple[Path, str]]:
    """The records after a kill at the first call, at the second, and so on until the program comes to its end."""
    for call in range(1, 1000):
        now = folder / str(call)
        shutil.copytree(made.parent, now)
        said = work_killed_at(call, now / made.name, killing)
        if "closed" in said:
            return
        yield now / made.name, said


@pytest.mark.slow
def test_a_program_killed_at_any_call_loses_nothing(tmp_path, killing):
    """Run with -rP to see the number of calls."""
    made = tmp_path / "made" / "records.duckdb"
    made.parent.mkdir()
    with open_records(made, create=True) as connection:
        keep_field(connection, "North")
    with open_records(made):  # with the backup of the day
        assert len(list_backups(made)) == 1
    kills, broken = 0, []
    for path, said in killed_at_each_call(made, tmp_path, killing):
        kills += 1
        if kept_copies(path):
            broken.append(path.parent)
            shutil.copytree(path.parent, tmp_path / f"broken {len(broken)}")
        assert sound_fields_of(path) >= ({"North", "West"} if "saved" in said else {"North"})
    for number in range(1, len(broken) + 1):
        again = tmp_path / f"again {number}"
        again.mkdir()
        for path, _ in killed_at_each_call(tmp_path / f"broken {number}" / made.name, again, killing):
            kills += 1
            assert sound_fields_of(path) == {"North", "West"}
    print(f"{kills} kills, of them {len(broken)} within a checkpoint")
    assert broken


if __name__ == "__main__":
    work(Path(sys.argv[1]))
