"""A power cut at any moment: what a disk may hold then, modelled from the calls that a real program made.

A page of 4096 bytes that was written since its file was last synced may hold the new bytes or the old ones; only some
512-byte sectors of it may be new (torn); and what was never synced of it may be zeros, as file systems leave it. The
file may have its new length or the synced one. Names (made, renamed, removed) come to the disk in order, and all that
came before the last sync are there. So ext4, XFS and NTFS are understood to work; common practice, no source.
"""

import os
import random
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

import polars as pl
import pytest

from analytics.records.grown_tables import FIELDS
from analytics.storage.backups import list_backups
from analytics.storage.checkpoints import connect
from analytics.storage.database import failed_checks, open_records, read_table
from analytics.storage.drafts import DraftPlace, all_drafts, keep_draft
from analytics.storage.history import TableSave, save
from tests.prepared import begun

RECORDING = Path(__file__).resolve().parent / "record_calls.c"
PAGE, SECTOR = 4096, 512
DONE = "done"  # the file that tells which saves were acknowledged


@dataclass(frozen=True)
class Call:
    kind: str
    path: str
    other: str
    place: int
    size: int
    data: bytes


class Content(bytearray):
    """What a program sees in a file. `synced` is what was in it when it was last synced; a new file has nothing."""

    synced = b""


@dataclass
class Disk:
    """Files by name as the program sees them."""

    now: dict[str, Content] = field(default_factory=dict)
    folders: set[str] = field(default_factory=set)

    def copy(self) -> "Disk":
        """The same files, all of them synced."""
        copied = Disk(now={name: Content(content) for name, content in self.now.items()}, folders=set(self.folders))
        for content in copied.now.values():
            content.synced = bytes(content)
        return copied

    def apply(self, call: Call) -> None:
        if call.kind == "create":
            self._content(call.path)
        elif call.kind == "mkdir":
            self.folders.add(call.path)
        elif call.kind == "unlink":
            self.now.pop(call.path, None)
            self.folders.discard(call.path)
        elif call.kind == "rename":
            moved = {name for name in self.now if name == call.path or name.startswith(f"{call.path}/")}
            for name in moved:
                self.now[call.other + name.removeprefix(call.path)] = self.now.pop(name)
            if call.path in self.folders:
                self.folders.discard(call.path)
                self.folders.add(call.other)
        elif call.kind == "size":
            content = self._content(call.path)
            del content[call.place :]
            content.extend(bytes(call.place - len(content)))
        elif call.kind == "write":
            content = self._content(call.path)
            content.extend(bytes(max(0, call.place + call.size - len(content))))
            content[call.place : call.place + call.size] = call.data
        elif call.kind == "sync" and call.path in self.now:
            self.now[call.path].synced = bytes(self.now[call.path])

    def _content(self, path: str) -> Content:
        return self.now.setdefault(path, Content())


def calls_of(record: bytes) -> list[Call]:
    found, at = [], 0
    while at < len(record):
        words = []
        for _ in range(5):
            end = record.index(b"\n", at)
            words.append(record[at:end].decode())
            at = end + 1
        kind, path, other, place, size = words[0], words[1], words[2], int(words[3]), int(words[4])
        found.append(Call(kind, path, other, place, size, record[at : at + size]))
        at += size
    return found


def after_a_cut(calls: list[Call], draw: random.Random, start: Disk) -> tuple[dict[str, bytes], set[str], str]:
    """What the disk may hold after a cut at a random call: files, folders, and what was acknowledged till then."""
    end = draw.randint(1, len(calls))
    last_sync = max((place for place, call in enumerate(calls[:end]) if call.kind == "sync"), default=-1)
    names_end = draw.choice([end, draw.randint(last_sync + 1, end)])  # names behind it did not reach the disk
    disk = start.copy()
    seen = Disk(now=dict(disk.now), folders=set(disk.folders))
    for place, call in enumerate(calls[:end]):
        disk.apply(call)
        if place < names_end:
            seen.now, seen.folders = dict(disk.now), set(disk.folders)
    acknowledged = bytes(disk.now.get(next((name for name in disk.now if name.endswith(f"/{DONE}")), ""), b"")).decode()
    files = {}
    for name, content in seen.now.items():
        files[name] = bytes(content) if content.synced == content else left_of(bytes(content), content.synced, draw)
    return files, seen.folders, acknowledged


def left_of(new: bytes, old: bytes, draw: random.Random) -> bytes:
    """What a disk may hold of a file that was written since it was synced."""
    size = draw.choice([len(new), max(len(old), len(new)), len(old), draw.randint(min(len(old), len(new)), len(new))])
    left = bytearray()
    way = draw.choice(["new", "old", "torn", "zero", "each"])
    for at in range(0, max(size, 1), PAGE):
        was = old[at : at + PAGE].ljust(PAGE, b"\0")
        now = new[at : at + PAGE].ljust(PAGE, b"\0")
        page = way if way != "each" else draw.choice(["new", "old", "torn", "zero"])
        if was == now or page == "new":
            left += now
        elif page == "old":
            left += was
        elif page == "zero":
            left += old[at : at + PAGE] + bytes(PAGE - len(old[at : at + PAGE]))
        else:
            for sector in range(0, PAGE, SECTOR):
                left += draw.choice([was, now])[sector : sector + SECTOR]
    return bytes(left[:size])


def keep_field(connection, name: str) -> None:
    rows = pl.DataFrame([{"field": name, "notes": name * 150}], schema=FIELDS.polars_schema())
    save(connection, [TableSave(table=FIELDS, saved=rows, removed=rows.clear())], done_by="test", source="screen")


def keep_typed(connection, name: str) -> None:
    place = DraftPlace(paper="fields", crop_year=2026, field=None, plot=None, typed_by="test")
    keep_draft(connection, place, rows=[{"field": name}], loaded=[], units={}, mark=f"{name}:0", onto=())


def work(path: Path) -> None:
    """Saves in the log, a closing, what is typed, and one more: each is acknowledged in a file of its own beside."""
    told = os.open(path.with_name(DONE), os.O_WRONLY | os.O_CREAT | os.O_APPEND)

    def tell(word: str) -> None:
        os.write(told, f"{word}\n".encode())

    with open_records(path) as connection:
        for number in range(4):
            keep_field(connection, f"Open {number}")
            tell(f"Open {number}")
    with closing(connect(path)) as connection:
        for number in range(3):
            keep_field(connection, f"Log {number}")
            tell(f"Log {number}")
    for number in range(3):
        with open_records(path, leaves_log=True) as connection:
            keep_typed(connection, f"Typed {number}")
            tell(f"Typed {number}")
    with open_records(path) as connection:
        keep_field(connection, "Last")
        tell("Last")


@pytest.fixture(scope="module")
def recorded(tmp_path_factory) -> tuple[Disk, list[Call], Path]:
    """The disk before, and every call of a program that worked on it."""
    if shutil.which("cc") is None or sys.platform != "linux":
        pytest.skip("there is no C compiler, or this is not Linux")
    folder = tmp_path_factory.mktemp("recorded")
    library, record = folder / "record_calls.so", folder / "record"
    subprocess.run(["cc", "-shared", "-fPIC", "-o", library, RECORDING, "-ldl"], check=True)
    path = folder / "farm" / "records.duckdb"
    path.parent.mkdir()
    with begun(path) as connection:
        keep_field(connection, "First")
    with open_records(path):  # with the backup of the day
        assert len(list_backups(path)) == 1
    start = Disk()
    for file in path.parent.rglob("*"):
        if file.is_dir():
            start.folders.add(str(file))
        else:
            start.now[str(file)] = Content(file.read_bytes())
    environment = {"LD_PRELOAD": str(library), "RECORD_TO": str(record), "RECORD_BELOW": str(path.parent)}
    subprocess.run([sys.executable, "-W", "ignore", __file__, path], env={**os.environ, **environment}, check=True)
    calls = calls_of(record.read_bytes())
    end = start.copy()
    for call in calls:
        end.apply(call)
    left = {str(file): file.read_bytes() for file in path.parent.rglob("*") if file.is_file()}
    assert left == {name: bytes(content) for name, content in end.now.items()}  # nothing changed a file unseen
    return start, calls, path


def states(recorded: tuple[Disk, list[Call], Path], folder: Path, seeds: range) -> Iterator[tuple[int, Path, set[str]]]:
    start, calls, path = recorded
    for seed in seeds:
        files, folders, told = after_a_cut(calls, random.Random(seed), start)
        now = folder / str(seed)
        for name in sorted(folders):
            (now / Path(name).relative_to(path.parent)).mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            file = now / Path(name).relative_to(path.parent)
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(content)
        yield seed, now / path.name, {"First", *told.split("\n")} - {""}
        shutil.rmtree(now)


def check_states(recorded, folder: Path, seeds: range) -> None:
    wrong, mended = [], 0
    for seed, path, acknowledged in states(recorded, folder, seeds):
        try:
            with open_records(path) as connection:
                found = set(read_table(connection, "fields")["field"])
                found |= {row["field"] for draft in all_drafts(connection) for row in draft.rows}
                problems = failed_checks(connection)
        except Exception as problem:
            wrong.append((seed, f"{type(problem).__name__}: {problem}"))
            continue
        mended += any(path.parent.glob("*.cut-log-*.txt"))
        if problems or acknowledged - found:
            wrong.append((seed, f"lost {sorted(acknowledged - found)}, {problems}"))
    print(f"{len(seeds)} states after a power cut: logs mended {mended}, lost or refused {len(wrong)}")
    assert wrong == []


def test_a_new_file_has_nothing_of_one_that_had_its_name():
    disk = Disk()
    for kind, data in (
        ("create", b""),
        ("write", b"old"),
        ("sync", b""),
        ("unlink", b""),
        ("create", b""),
        ("write", b"new"),
    ):
        disk.apply(Call(kind, "log", "", 0, len(data), data))
    assert (disk.now["log"], disk.now["log"].synced) == (b"new", b"")


def test_after_a_power_cut_no_acknowledged_save_is_lost_and_no_sound_file_refused(recorded, tmp_path):
    check_states(recorded, tmp_path, range(5))


@pytest.mark.slow
def test_after_2000_power_cuts_no_acknowledged_save_is_lost_and_no_sound_file_refused(recorded, tmp_path):
    """Run with -rP to see the counts."""
    check_states(recorded, tmp_path, range(1000, 3200))


if __name__ == "__main__":
    work(Path(sys.argv[1]))
