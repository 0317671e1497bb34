"""Passphrases: what is kept of them, what they open, and how wrong tries slow down."""

import getpass
import io
import json
import os
import stat
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from analytics import cli
from analytics.errors import BadInput, Refused
from analytics.serving import passphrases
from analytics.serving.passphrases import (
    FIRST_WAIT_SECONDS,
    FORGOTTEN_AFTER_SECONDS,
    FREE_TRIES,
    LONGEST_WAIT_SECONDS,
    SHORTEST,
    Kept,
    Right,
    Tries,
    find_passphrase,
    passphrases_path,
    read_passphrases,
    remove_passphrases,
    right_of,
    scrypt,
    set_passphrases,
)
from tests.prepared import begun

LOOKING, WRITING = "grey owl on the east gate", "rain again before the lentils"


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hashing at the least cost, where the cost is not what is tested."""
    monkeypatch.setattr(passphrases, "N", 2)


@pytest.fixture
def records(tmp_path: Path) -> Path:
    return tmp_path / "records.duckdb"


# --- hashing


@pytest.mark.parametrize(
    ("typed", "salt", "n", "r", "p", "expected"),
    [
        (
            "",
            b"",
            16,
            1,
            1,
            "77d6576238657b203b19ca42c18a0497f16b4844e3074ae8dfdffa3fede21442"
            "fcd0069ded0948f8326a753a0fc81f17e8d3e0fb2e0d3628cf35e20c38d18906",
        ),
        (
            "password",
            b"NaCl",
            1024,
            8,
            16,
            "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162"
            "2eaf30d92e22a3886ff109279d9830dac727afb94a83ee6d8360cbdfa2cc0640",
        ),
        (
            "pleaseletmein",
            b"SodiumChloride",
            16384,
            8,
            1,
            "7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2"
            "d5432955613f0fcf62d49705242a9af9e61e85dc0d651e40dfcf017b45575887",
        ),
    ],
)
def test_hash_agrees_with_rfc_7914(typed: str, salt: bytes, n: int, r: int, p: int, expected: str) -> None:
    """Percival and Josefsson 2016, RFC 7914, section 12, test vectors (typed from memory, 64 bytes each)."""
    assert scrypt(typed, salt=salt, n=n, r=r, p=p, length=64).hex() == expected


def test_a_try_costs_what_is_meant_to_be_costly() -> None:
    """32 MiB a try: 128 x n x r bytes (RFC 7914, section 2)."""
    assert 128 * passphrases.N * passphrases.R == 32 * 1024**2
    assert passphrases.P >= 3


@pytest.mark.usefixtures("quick")
def test_the_same_letters_however_composed_and_blanks_around_them_do_not_count(records: Path) -> None:
    set_passphrases(records, looking="caf\u00e9 by the bins", writing=None)
    assert find_passphrase(records, "  cafe\u0301 by the bins ") is not None
    assert find_passphrase(records, "cafe by the bins") is None


# --- what is kept


@pytest.mark.usefixtures("quick")
def test_only_hashes_are_kept_and_each_with_its_own_salt(records: Path) -> None:
    set_passphrases(records, looking=LOOKING, writing=WRITING)
    text = passphrases_path(records).read_text(encoding="utf-8")
    kept = json.loads(text)
    assert set(kept) == {"looking", "writing"}
    assert set(kept["looking"]) == {"salt", "n", "r", "p", "hash"}
    assert kept["looking"]["salt"] != kept["writing"]["salt"]
    assert not any(word in text for word in (*LOOKING.split()[:2], *WRITING.split()[:2]))
    again = json.loads(text)
    set_passphrases(records, looking=LOOKING, writing=WRITING)
    assert json.loads(passphrases_path(records).read_text(encoding="utf-8"))["looking"] != again["looking"]


@pytest.mark.usefixtures("quick")
def test_the_file_is_the_owners_alone_whatever_the_umask(records: Path) -> None:
    before = os.umask(0)
    try:
        set_passphrases(records, looking=LOOKING, writing=None)
    finally:
        os.umask(before)
    assert [file.name for file in records.parent.iterdir()] == ["records.duckdb.passphrases"]
    assert stat.S_IMODE(passphrases_path(records).stat().st_mode) == 0o600


@pytest.mark.usefixtures("quick")
def test_a_folder_that_is_not_there_is_not_made_in_the_place_of_a_drive(records: Path) -> None:
    with pytest.raises(Refused, match="cannot be kept there"):
        set_passphrases(records.parent / "drive" / "records.duckdb", looking=LOOKING, writing=None)
    assert not (records.parent / "drive").exists()


@pytest.mark.usefixtures("quick")
def test_each_opens_its_own_and_nothing_else_opens(records: Path) -> None:
    set_passphrases(records, looking=LOOKING, writing=WRITING)
    assert right_of(records, find_passphrase(records, LOOKING)) is Right.LOOKING
    assert right_of(records, find_passphrase(records, WRITING)) is Right.WRITING
    for wrong in ("", LOOKING[:-1], LOOKING.upper(), LOOKING + WRITING, passphrases_path(records).read_text()):
        assert right_of(records, find_passphrase(records, wrong)) is None


@pytest.mark.usefixtures("quick")
def test_a_changed_or_removed_passphrase_opens_nothing_any_more(records: Path) -> None:
    set_passphrases(records, looking=LOOKING, writing=WRITING)
    given = find_passphrase(records, WRITING)
    set_passphrases(records, looking=LOOKING, writing=None)
    assert right_of(records, given) is None
    assert remove_passphrases(records)
    assert not remove_passphrases(records)
    assert right_of(records, find_passphrase(records, LOOKING)) is None


@pytest.mark.usefixtures("quick")
def test_shortest_and_longest_at_the_edge_and_just_past_it(records: Path) -> None:
    set_passphrases(records, looking="x" * SHORTEST, writing="y" * passphrases.LONGEST)
    for wrong in ("x" * (SHORTEST - 1), "x" * (passphrases.LONGEST + 1), f"{'x' * (SHORTEST - 1)}   "):
        with pytest.raises(BadInput, match=r"passphrase for looking: \d+ characters given; allowed 12 to 200"):
            set_passphrases(records, looking=wrong, writing=None)
    assert set(read_passphrases(records)) == {Right.LOOKING, Right.WRITING}


@pytest.mark.usefixtures("quick")
def test_letters_that_the_terminal_could_not_read_are_refused_and_nothing_is_left_in_the_folder(records: Path) -> None:
    with pytest.raises(BadInput, match=r"passphrase for looking: letters that this terminal could not read"):
        set_passphrases(records, looking="\udcff" * SHORTEST, writing=None)
    passphrases_path(records).mkdir()
    with pytest.raises(Refused, match="cannot be kept there"):
        set_passphrases(records, looking=LOOKING, writing=None)
    assert [file.name for file in records.parent.iterdir()] == [passphrases_path(records).name]


@pytest.mark.usefixtures("quick")
def test_the_same_one_for_both_is_refused(records: Path) -> None:
    with pytest.raises(BadInput, match="the one for looking given"):
        set_passphrases(records, looking=LOOKING, writing=f" {LOOKING}")
    assert read_passphrases(records) == {}


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "null",
        '{"looking": {}}',
        '{"eating": {"salt": "00", "n": 2, "r": 1, "p": 1, "hash": "00"}}',
        '{"looking": {"salt": "00", "n": 3, "r": 8, "p": 1, "hash": "%s"}}' % ("00" * 32),
        '{"looking": {"salt": "zz", "n": 2, "r": 8, "p": 1, "hash": "%s"}}' % ("00" * 32),
        '{"looking": {"salt": "00", "n": 2, "r": 8, "p": 1, "hash": ""}}',
        "\x00",
        pytest.param("[" * 100_000, id="deep"),
        '{"looking": {"salt": "00", "n": 1e999, "r": 8, "p": 1, "hash": "%s"}}' % ("00" * 32),
        # a gigabyte and more for each try
        '{"looking": {"salt": "00", "n": 1048576, "r": 8, "p": 1, "hash": "%s"}}' % ("00" * 32),
    ],
)
def test_a_damaged_file_opens_nothing_and_says_what_to_do(records: Path, text: str) -> None:
    passphrases_path(records).write_text(text, encoding="utf-8")
    with pytest.raises(Refused, match="cannot be read"):
        find_passphrase(records, LOOKING)


# --- wrong tries


class Clock:
    """A time of the test's own."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


RIGHT = Kept(salt=b"s", n=2, r=8, p=1, hash=b"h")


def test_five_wrong_tries_are_free_then_each_waits_twice_as_long() -> None:
    clock = Clock()
    tries = Tries(clock)
    left = [tries.attempt(lambda: None).tries_left for _ in range(FREE_TRIES)]
    assert left == [4, 3, 2, 1, 0]
    waits = []
    for _ in range(8):
        outcome = tries.attempt(lambda: None)  # not even looked at, so it does not make the wait longer
        waits.append(outcome.wait_seconds)
        clock.now += outcome.wait_seconds
        tries.attempt(lambda: None)
    assert waits == [10, 20, 40, 80, 160, 320, 640, 900]
    assert (waits[0], waits[-1]) == (FIRST_WAIT_SECONDS, LONGEST_WAIT_SECONDS)


def test_while_one_has_to_wait_the_right_passphrase_is_not_looked_at() -> None:
    clock = Clock()
    tries = Tries(clock)
    for _ in range(FREE_TRIES):
        tries.attempt(lambda: None)
    clock.now += FIRST_WAIT_SECONDS - 0.1
    asked = []
    assert tries.attempt(lambda: asked.append("looked") or RIGHT).found is None
    assert asked == []
    clock.now += 0.1
    assert tries.attempt(lambda: RIGHT).found == RIGHT


def test_the_right_one_does_not_clear_the_wrong_ones_and_an_hour_does() -> None:
    clock = Clock()
    tries = Tries(clock)
    for _ in range(FREE_TRIES - 1):
        tries.attempt(lambda: None)
    assert tries.attempt(lambda: RIGHT).found == RIGHT
    assert tries.attempt(lambda: None).wait_seconds == FIRST_WAIT_SECONDS
    clock.now += FORGOTTEN_AFTER_SECONDS
    assert tries.attempt(lambda: None).wait_seconds == 2 * FIRST_WAIT_SECONDS
    clock.now += FORGOTTEN_AFTER_SECONDS + 1
    assert tries.attempt(lambda: None).tries_left == FREE_TRIES - 1


def test_fifty_tries_at_once_are_not_all_let_in() -> None:
    tries = Tries(lambda: 1000.0)
    looked, together = [], threading.Barrier(50)

    def find() -> None:
        looked.append(1)
        time.sleep(0.001)  # long enough for the others to get in, were they let

    def one() -> None:
        together.wait()
        tries.attempt(find)

    with ThreadPoolExecutor(50) as pool:
        for future in [pool.submit(one) for _ in range(50)]:
            future.result()
    assert len(looked) == FREE_TRIES


# --- the command


@pytest.fixture
def command(monkeypatch, capsys, records):
    """command(typed, ...): `standrow passphrase` at a terminal where this is typed; (exit code, printed)."""
    with begun(records):
        pass
    monkeypatch.setenv("STANDROW_RECORDS", str(records))
    monkeypatch.setattr(passphrases, "N", 2)

    def run(*typed: str, arguments: tuple[str, ...] = ()) -> tuple[int, str]:
        answers = iter(typed)
        monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
        monkeypatch.setattr(getpass, "getpass", lambda _: next(answers))
        monkeypatch.setattr(sys, "argv", ["standrow", "passphrase", *arguments])
        with pytest.raises(SystemExit) as end:
            cli.run_command()
        printed = capsys.readouterr()
        return int(end.value.code or 0), printed.out + printed.err

    return run


def test_command_sets_both_and_prints_neither(command, records: Path) -> None:
    code, printed = command(LOOKING, LOOKING, WRITING, WRITING)
    assert code == 0
    assert "Kept, as hashes only" in printed
    assert LOOKING not in printed
    assert right_of(records, find_passphrase(records, LOOKING)) is Right.LOOKING
    assert right_of(records, find_passphrase(records, WRITING)) is Right.WRITING


def test_command_with_an_empty_second_one_lets_nobody_write(command, records: Path) -> None:
    assert command(LOOKING, LOOKING, "")[0] == 0
    assert set(read_passphrases(records)) == {Right.LOOKING}


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ((LOOKING, LOOKING + "x"), "the two were not the same"),
        (("short", "short", ""), "5 characters given; allowed 12 to 200"),
        (("", ""), "0 characters given; allowed 12 to 200"),
        ((LOOKING, LOOKING, LOOKING, LOOKING), "the one for looking given"),
    ],
)
def test_command_refuses_and_keeps_nothing(command, records: Path, typed: tuple[str, ...], words: str) -> None:
    code, printed = command(*typed)
    assert code == 2
    assert words in printed
    assert read_passphrases(records) == {}


def test_command_removes_them(command, records: Path) -> None:
    command(LOOKING, LOOKING, "")
    assert "removed" in command(arguments=("--remove",))[1]
    assert "No passphrase was set" in command(arguments=("--remove",))[1]
    assert read_passphrases(records) == {}


def test_command_takes_nothing_from_a_pipe(command, records: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(f"{LOOKING}\n{LOOKING}\n\n"))
    monkeypatch.setattr(getpass, "getpass", lambda _: LOOKING)
    monkeypatch.setattr(sys, "argv", ["standrow", "passphrase"])
    with pytest.raises(SystemExit) as end:
        cli.run_command()
    assert end.value.code == 1
    assert read_passphrases(records) == {}


def test_at_a_terminal_what_is_typed_is_not_shown(records: Path) -> None:
    ours, theirs = pytest.importorskip("pty").openpty()
    command = [sys.executable, "-m", "analytics.cli", "passphrase", "--records", str(records)]
    with subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True) as process:
        os.close(theirs)
        shown = b""
        for prompt, typed in ((b"looking: ", LOOKING), (b"again: ", LOOKING), (b"elsewhere): ", "")):
            while not shown.endswith(prompt):
                shown += os.read(ours, 1024)
            os.write(ours, f"{typed}\n".encode())
        while b"closed now." not in shown:
            shown += os.read(ours, 1024)
        assert process.wait(timeout=60) == 0
    os.close(ours)
    assert LOOKING.encode() not in shown
    assert right_of(records, find_passphrase(records, LOOKING)) is Right.LOOKING
