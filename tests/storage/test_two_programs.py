"""Two programs, and many sessions of one, on one file: a short wait, then both succeed, or one says who holds it.

The other program is a real `standrow` in a process of its own. One that is to hold the records for as long as a test
wants is an import that reads its file only when it is told to.
"""

import random
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

import duckdb
import polars as pl
import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from analytics.answer.review import review
from analytics.answer.wording import sentence
from analytics.errors import Refused
from analytics.files.importing import bring_in
from analytics.records.grown_tables import FIELDS
from analytics.storage import database
from analytics.storage.backups import list_backups
from analytics.storage.database import failed_checks, kept_open, open_records, read_table
from analytics.storage.history import TableSave, save
from analytics.storage.sql_texts import schema_files
from tests.prepared import begun, copied, small_season

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
STANDROW = [sys.executable, "-W", "ignore", str(Path(sys.executable).parent / "standrow")]
READERS, FEW = 8, 3
ROWS = 3  # saved together, so a half of them would show
LONGEST_SECONDS = 120
IN_USE = "another program has the records open"
READS_WHEN_TOLD = """
import sys

from analytics.files import import_plan
from analytics.start import main

read = import_plan.read_incoming


def when_told(*given, **named):
    print("reading", flush=True)
    sys.stdin.readline()
    return read(*given, **named)


import_plan.read_incoming = when_told
sys.argv = sys.argv[1:]
sys.exit(main())
"""


@pytest.fixture
def path(tmp_path, demo_records, monkeypatch) -> Path:
    """A copy of the demo farm that has its backup of today."""
    path = copied(demo_records, tmp_path / "records.duckdb")
    monkeypatch.setenv("STANDROW_RECORDS", str(path))
    return path


def start(path: Path, *arguments: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [*STANDROW, *map(str, arguments), "--records", str(path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def finish(program: subprocess.Popen[str]) -> tuple[int, str]:
    """Exit code, and everything it printed."""
    out, err = program.communicate(timeout=LONGEST_SECONDS)
    assert "Traceback" not in err
    return program.returncode, out + err


def fields_file(folder: Path, name: str) -> Path:
    folder.mkdir(exist_ok=True)
    file = folder / "fields.csv"
    file.write_text("field\n" + "".join(f"{name} {row}\n" for row in range(ROWS)))
    return file


def field_names(path: Path) -> list[str]:
    with open_records(path) as connection:
        return read_table(connection, "fields")["field"].to_list()


def fields_by_name(path: Path) -> dict[str, int]:
    """How many fields of each name are there, without those of the demo farm; every check passes."""
    with open_records(path) as connection:
        assert failed_checks(connection) == []
        names = read_table(connection, "fields")["field"].to_list()
    starts = [name.rpartition(" ")[0] for name in names if name[-1].isdigit()]
    return {name: starts.count(name) for name in starts}


class Holder:
    """A real import that holds the records until it is let go."""

    def __init__(self, path: Path) -> None:
        file = fields_file(path.parent / "coming", "held")
        self.program = subprocess.Popen(
            [sys.executable, "-W", "ignore", "-c", READS_WHEN_TOLD, "standrow", "import", file, "--records", path],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert self.program.stdout is not None
        assert self.program.stdout.readline() == "reading\n"  # and then it has the records open

    def let_go(self) -> None:
        if self.program.stdin is not None:
            with self.program.stdin:
                self.program.stdin.write("\n")
            self.program.stdin = None


@contextmanager
def held(path: Path) -> Iterator[Holder]:
    holder = Holder(path)
    try:
        yield holder
    finally:
        holder.let_go()
        assert finish(holder.program)[0] == 0


@pytest.mark.slow
def test_two_terminals_at_once_both_succeed(path, tmp_path):
    """The same on records that are there; the next one meets it too, once they were begun."""
    programs = [start(path, "import", fields_file(tmp_path / name, name)) for name in ("one", "two")]
    assert [finish(program)[0] for program in programs] == [0, 0]
    assert fields_by_name(path) == {"one": ROWS, "two": ROWS}


def test_two_terminals_that_begin_new_records_at_once_both_succeed(tmp_path):
    path = tmp_path / "new.duckdb"
    for name in ("one", "two"):
        fields_file(tmp_path / name, name)
        (tmp_path / name / "plots.csv").write_text("crop_year,field,plot,method\n")
        (tmp_path / name / "loads.csv").write_text("crop_year,field,plot,ticket\n")
    programs = [start(path, "import", tmp_path / name) for name in ("one", "two")]
    done = [finish(program) for program in programs]
    assert [code for code, _ in done] == [0, 0]
    assert any(f"There were no records yet; they were begun at {path}" in said.replace("\n", " ") for _, said in done)
    assert fields_by_name(path) == {"one": ROWS, "two": ROWS}


def test_the_slower_of_two_that_begin_new_records_does_not_replace_the_others(tmp_path, monkeypatch):
    """Both found no file; the second names its own after the first saved."""
    path = tmp_path / "new.duckdb"
    real = database._name

    def late(new: Path, named: Path) -> None:
        monkeypatch.setattr(database, "_name", real)
        with begun(path) as connection:
            keep_fields(connection, "first")
        real(new, named)

    monkeypatch.setattr(database, "_name", late)
    with open_records(path, create=True) as connection:
        assert read_table(connection, "fields").height == ROWS


@dataclass(frozen=True, kw_only=True)
class Met:
    """What others met while an import held the records, and when it let go of them."""

    holder: int  # the number of its process
    title: str  # of the screen, before
    refused: str  # a program that does not wait
    on_screen: list[str]
    found: dict[str, int]  # fields by name, by a program that waits until it is let go
    screen: AppTest  # afterwards


@pytest.fixture(scope="module")
def met(tmp_path_factory) -> Met:
    folder = tmp_path_factory.mktemp("held")
    path = folder / "records.duckdb"
    with begun(path) as connection:
        bring_in(connection, small_season(folder / "season"), done_by="test")
    st.cache_resource.clear()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("STANDROW_RECORDS", str(path))
        screen = AppTest.from_file(APP, default_timeout=LONGEST_SECONDS).run()
        assert not screen.error
        title = screen.title[0].value
        patch.setattr(database, "WAIT_SECONDS", 0.1)
        with held(path) as holder:
            with pytest.raises(Refused) as refused, open_records(path):
                pass
            screen.run()
            on_screen = [error.value for error in screen.error]
            assert not screen.exception
            patch.setattr(database, "WAIT_SECONDS", LONGEST_SECONDS)
            soon = threading.Timer(0.2, holder.let_go)
            soon.start()
            found = fields_by_name(path)
            soon.join()
        return Met(
            holder=holder.program.pid,
            title=title,
            refused=str(refused.value),
            on_screen=on_screen,
            found=found,
            screen=screen.run(),
        )


def test_a_second_program_is_told_which_one_holds_the_records(met):
    assert f"another program has the records open: standrow import (process {met.holder})" in met.refused
    assert "they are safe" in met.refused


def test_a_second_program_that_waits_a_little_succeeds(met):
    assert met.found == {"held": ROWS}


def test_a_screen_says_which_program_holds_the_records(met):
    (error,) = met.on_screen
    assert f"standrow import (process {met.holder})" in error.replace("\\", "")


def test_a_screen_works_again_afterwards(met):
    assert not met.screen.error
    assert not met.screen.exception
    assert met.screen.title[0].value == met.title


def keep_fields(connection, name: str) -> None:
    rows = pl.DataFrame([{"field": f"{name} {row}"} for row in range(ROWS)], schema=FIELDS.polars_schema())
    save(connection, [TableSave(table=FIELDS, saved=rows, removed=rows.clear())], done_by="test", source="screen")


@contextmanager
def in_a_run(path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """The second opening of a run of a screen, which keeps the records open from the first one on."""
    with kept_open(path):
        with open_records(path, leaves_log=True):
            pass
        with open_records(path) as connection:
            yield connection


class Sessions:
    """Eight sessions that read while one writes, as the threads of one server do; `operations` in all.

    Each opens the records with `open_them`, and thinks for up to so many seconds after it closed them.
    """

    def __init__(
        self,
        path: Path,
        operations: int,
        *,
        answer: str,
        open_them: Callable[[Path], object] = in_a_run,
        thinks: float = 0.0,
    ) -> None:
        self.path, self.answer, self.open, self.thinks = path, answer, open_them, thinks
        self.per_session = operations // (READERS + 1)
        self.acknowledged = 0

    def read(self, seed: int) -> int:
        """One session: the finding, and the fields, both as they must be at that moment. How many reads it did."""
        dice = random.Random(seed)
        for _ in range(self.per_session):
            before = self.acknowledged
            with self.open(self.path) as connection:
                if dice.random() < 0.2:
                    assert sentence(review(connection, "yield")) == self.answer
                names = read_table(connection, "fields")["field"].to_list()
            found = [names.count(f"saved {act} {row}") for act in range(before + 1) for row in range(ROWS)]
            seen = {name for name in names if name.startswith("saved ")}
            assert len(seen) % ROWS == 0
            assert found[: before * ROWS] == [1] * (before * ROWS)
            time.sleep(dice.uniform(0, self.thinks))
        return self.per_session

    def write(self) -> int:
        for act in range(self.per_session):
            with self.open(self.path) as connection:
                keep_fields(connection, f"saved {act}")
            self.acknowledged = act + 1
            time.sleep(self.thinks / 2)
        return self.per_session

    def run(self) -> int:
        """All of them; how many operations were done."""
        with ThreadPoolExecutor(READERS + 1) as pool:
            work = [pool.submit(self.write), *(pool.submit(self.read, seed) for seed in range(READERS))]
            return sum(one.result() for one in work)


@pytest.fixture(scope="module")
def answer(demo_records) -> str:
    """What the records say, and go on saying while fields come."""
    with open_records(demo_records) as connection:
        return sentence(review(connection, "yield"))


OPERATIONS = [18, pytest.param(2000, marks=pytest.mark.slow)]


@pytest.mark.parametrize("operations", OPERATIONS)
def test_eight_sessions_read_while_one_writes(path, operations, answer):
    """No error, no wrong answer, no lost write."""
    sessions = Sessions(path, operations, answer=answer)
    assert sessions.run() == sessions.per_session * (READERS + 1)
    assert fields_by_name(path) == {f"saved {act}": ROWS for act in range(sessions.per_session)}


def patiently(refusals: list[str]) -> Callable[[Path], object]:
    """Opens the records as a person would who is told that they are in use: again, a moment later."""

    @contextmanager
    def opened(path: Path) -> Iterator[object]:
        with ExitStack() as opening:
            connection = None
            while connection is None:
                try:
                    connection = opening.enter_context(in_a_run(path))
                except Refused as problem:
                    if IN_USE not in str(problem):
                        raise
                    refusals.append(str(problem))
            yield connection

    return opened


@pytest.mark.parametrize("operations", OPERATIONS)
def test_eight_sessions_work_while_a_terminal_imports(path, tmp_path, operations, answer):
    """Nothing is lost on either side. Whoever is refused is told that the other program has the records open.

    How often that happens depends on the machine; on a slow one the terminal may have to wait for the last session.
    """
    refusals: list[str] = []
    sessions = Sessions(path, operations, answer=answer, open_them=patiently(refusals), thinks=0.2)
    names = [f"imported {number}" for number in range(max(1, operations // 75))]
    imports = {name: fields_file(tmp_path / name, name) for name in names}
    with ThreadPoolExecutor(1) as terminal:
        typed = terminal.submit(lambda: [import_patiently(path, file, refusals) for file in imports.values()])
        assert sessions.run() == sessions.per_session * (READERS + 1)
        typed.result()
    expected = {f"saved {act}": ROWS for act in range(sessions.per_session)} | dict.fromkeys(imports, ROWS)
    assert fields_by_name(path) == expected
    print(f"{operations} operations, {len(imports)} imports, {len(refusals)} times told to try again")


def import_patiently(path: Path, file: Path, refusals: list[str]) -> None:
    while (done := finish(start(path, "import", file)))[0] != 0:
        assert IN_USE in done[1]
        refusals.append(done[1])


def test_many_sessions_on_a_new_day_make_one_backup(path):
    for backup in list_backups(path):
        backup.path.unlink()
    with ThreadPoolExecutor(READERS) as pool:
        read = list(pool.map(lambda _: field_names(path), range(READERS)))
    assert read[0]
    assert read == [read[0]] * READERS
    assert [backup.reason for backup in list_backups(path)] == ["daily"]


def test_many_sessions_that_meet_an_old_file_bring_it_up_to_date_once(tmp_path):
    path, last = tmp_path / "old.duckdb", len(schema_files()) - 1
    path.write_bytes((Path(__file__).parent / "old_versions" / f"version_{last}.duckdb").read_bytes())
    with ThreadPoolExecutor(FEW) as pool:
        read = list(pool.map(lambda _: field_names(path), range(FEW)))
    assert read[0]
    assert read == [read[0]] * FEW
    with open_records(path) as connection:
        assert failed_checks(connection) == []
        versions = read_table(connection, "schema_versions")["version"].to_list()
    assert versions == list(range(1, len(schema_files()) + 1))
    assert [backup.reason for backup in list_backups(path)] == ["before migration"]
