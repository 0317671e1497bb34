"""Terminals, files and pipes of every kind: what is printed suits them, and what went wrong is said as it is."""

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from analytics.errors import BadInput, Damaged
from analytics.files import importing
from analytics.files.pairs_file import read_pairs_file
from analytics.files.text_tables import read_path
from analytics.points.reading import scan
from analytics.points.strips import read_strips_file
from analytics.storage import what_happened
from analytics.storage.database import open_records, read_table, records_path
from analytics.storage.file_troubles import in_plain_words
from analytics.terminal import open_outputs
from tests.command import command
from tests.prepared import begun, copied, small_season

COMMAND = [sys.executable, "-W", "ignore", "-c", "from analytics.start import main; main()"]
SAMPLE_RECORDS = Path(__file__).resolve().parents[2] / "sample_records"
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="closes and fills outputs as POSIX systems do")


@pytest.fixture(scope="module")
def farm(demo_records, tmp_path_factory) -> Path:
    """The demo farm in a file of its own."""
    return copied(demo_records, tmp_path_factory.mktemp("farm") / "records.duckdb")


@pytest.fixture
def coming(tmp_path) -> Path:
    """Files to be brought in."""
    return small_season(tmp_path / "coming")


def standrow(*arguments: object, **how: object) -> subprocess.CompletedProcess[bytes]:
    environment = {**os.environ, **how.pop("env", {})}
    environment = {name: value for name, value in environment.items() if value is not None}
    options = {"capture_output": True, "check": False} | how
    return subprocess.run([*COMMAND, *map(str, arguments)], env=environment, timeout=120, **options)


CODE_PAGE = {"PYTHONIOENCODING": "cp1252"}


def test_a_code_page_without_our_letters_gets_plain_ones(tmp_path):
    file = tmp_path / "pairs.csv"
    file.write_text("standing,windrowed\n40,41\n39,41\n40,42\n")
    ran = standrow("compare", "--pairs", file, env=CODE_PAGE)
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert b"-3.101 to -0.232" in ran.stdout


@pytest.mark.slow
@pytest.mark.parametrize(
    "environment",
    [CODE_PAGE, {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}],
    ids=["cp1252", "ascii"],
)
def test_four_commands_print_on_any_code_page(farm, environment):
    """They ended with a UnicodeEncodeError before; the test above shows the same on one, in a moment."""
    several = (
        "import sys\nfrom analytics.cli import run_command\n"
        "for name in ('compare', 'plan', 'check', 'undo'):\n"
        f"    sys.argv = ['standrow', name, '--records', {str(farm)!r}]\n"
        "    try:\n        run_command()\n    except SystemExit as ended:\n"
        "        assert ended.code in (0, None), (name, ended.code)\n"
        "    print(f'--- {name} ended')\n"
    )
    run = [sys.executable, "-W", "ignore", "-c", several]
    ran = subprocess.run(run, env=os.environ | environment, capture_output=True, check=False, timeout=120)
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert b"\xe2\x88\x92" not in ran.stdout
    said = ran.stdout.split(b" ended")[:-1]
    assert len(said) == 4
    assert all(len(one) > 100 for one in said)


def test_plain_letters_say_the_same():
    import codecs

    open_outputs()
    assert codecs.encode("\u22121.5\u202f% – né 你 ≤", "ascii", "plain_letters") == b"-1.5 % - ne ? <="


@POSIX
@pytest.mark.parametrize(
    "closed", [">&-", *(pytest.param(more, marks=pytest.mark.slow) for more in ("2>&-", ">&- 2>&-", "<&- >&- 2>&-"))]
)
def test_closed_outputs_are_no_traceback_and_never_the_number_of_the_records(farm, closed):
    """With its number free, the next file opened got what was printed. The slow ones close others too, to one end."""
    words = " ".join(f"'{word}'" for word in (*COMMAND, "undo", "--records", str(farm)))
    ran = subprocess.run(["sh", "-c", f"{words} {closed}"], capture_output=True, check=False, timeout=120)
    assert (ran.returncode, b"Traceback" in ran.stderr) == (0, False)
    with open_records(farm) as connection:
        assert read_table(connection, "loads").height == 118


@pytest.fixture
def nothing_done(monkeypatch):
    """As in a process that has just begun."""
    for name in ("_begun", "_done"):
        monkeypatch.setattr(what_happened, name, [])


FULL = pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")


@POSIX
def test_a_file_opened_after_the_outputs_never_has_the_number_of_a_closed_one(tmp_path):
    """What writes to 2 past our streams, as a library that fails does, would write into the records."""
    opens = (
        "import sys; from analytics.terminal import open_outputs; open_outputs(); "
        f"sys.exit(open({str(tmp_path / 'file')!r}, 'w').fileno())"
    )
    ran = subprocess.run(["sh", "-c", f"'{sys.executable}' -c \"{opens}\" <&- >&- 2>&-"], check=False, timeout=120)
    assert ran.returncode > 2


@POSIX
@FULL
@pytest.mark.usefixtures("nothing_done")
def test_an_output_that_takes_nothing_is_told_and_so_is_what_was_saved(tmp_path, coming, monkeypatch, capsys):
    """It said that the records were as they were, and they were not."""
    path = tmp_path / "records.duckdb"
    with begun(path):
        pass
    with Path("/dev/full").open("w") as full:
        monkeypatch.setattr(sys, "stdout", full)
        code, _, said = command(monkeypatch, capsys)("import", coming, "--records", path)
    assert code == 1
    assert said == "What is printed cannot be written (No space left on device). Act 1 was saved before that.\n"


@POSIX
@FULL
@pytest.mark.slow
def test_a_program_whose_output_takes_nothing_ends_with_that_one_line(tmp_path, coming):
    """Beyond the test above: nothing is said by the interpreter at its end."""
    path = tmp_path / "records.duckdb"
    with begun(path):
        pass
    with Path("/dev/full").open("w") as full:
        ran = standrow("import", coming, "--records", path, stdout=full, stderr=subprocess.PIPE, capture_output=False)
    assert ran.returncode == 1
    said = " ".join(ran.stderr.decode().split())
    assert said == "What is printed cannot be written (No space left on device). Act 1 was saved before that."


@POSIX
def test_without_a_home_and_a_name_the_file_can_be_named(tmp_path, coming):
    nobody = {"HOME": None, "XDG_DATA_HOME": None, "LOGNAME": None, "USER": None, "USERNAME": None, "LNAME": None}
    path = tmp_path / "records.duckdb"
    with begun(path):
        pass
    as_nobody = (
        "import pwd, sys\npwd.getpwuid = lambda _: {}['none']\nfrom analytics.start import main\n"
        f"for arguments in (['check'], ['import', {str(coming)!r}, '--records', {str(path)!r}]):\n"
        "    sys.argv = ['standrow', *arguments]\n"
        "    try:\n        main()\n    except SystemExit as ended:\n        print('ended', ended.code or 0)\n"
    )
    kept = {name: value for name, value in os.environ.items() if name not in (*nobody, "STANDROW_RECORDS")}
    run = [sys.executable, "-W", "ignore", "-c", as_nobody]
    ran = subprocess.run(run, env=kept, capture_output=True, check=False, timeout=120)
    assert re.findall(rb"ended \d", ran.stdout) == [b"ended 2", b"ended 0"], ran.stderr
    assert b"There is no home folder here to keep records in. Name a file" in ran.stderr
    with open_records(path) as connection:
        assert read_table(connection, "acts")["done_by"].to_list() == ["somebody without a name on this machine"]


@pytest.mark.usefixtures("nothing_done")
@pytest.mark.parametrize(
    ("moment", "said"),
    [("save", "Stopped. Nothing was saved.\n"), ("_work_named", "Stopped. Act 1 was saved before that.\n")],
    ids=["before the save", "after it"],
)
def test_ctrl_c_says_whether_anything_was_saved(tmp_path, coming, monkeypatch, capsys, moment, said):
    path = tmp_path / "records.duckdb"
    with begun(path):
        pass
    monkeypatch.setattr(importing, moment, lambda *_, **__: signal.raise_signal(signal.SIGINT))
    code, _, err = command(monkeypatch, capsys)("import", coming, "--records", path)
    assert (code, err) == (1, said)


@POSIX
@pytest.mark.parametrize(
    "seconds", [0.3, *(pytest.param(other, marks=pytest.mark.slow) for other in (0.05, 0.8, 1.5, 2.5))]
)
def test_ctrl_c_at_any_moment_is_a_line_that_says_what_is_so(tmp_path, seconds):
    path = tmp_path / "records.duckdb"
    started = subprocess.Popen(
        [*COMMAND, "import", SAMPLE_RECORDS, "--records", path],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    time.sleep(seconds)
    started.send_signal(signal.SIGINT)
    _, said = started.communicate(timeout=120)
    if "analytics" in said or "Stopped" in said:
        assert "Traceback" not in said
    acts = 0
    if path.exists():
        with open_records(path) as connection:
            acts = read_table(connection, "acts").height
    assert "as they were" not in said
    if "Nothing was saved" in said:
        assert acts == 0
    if "was saved before that" in said:
        assert acts == 1


def test_control_characters_of_a_record_are_shown_and_do_not_reach_the_terminal(capsys):
    out, _ = open_outputs()
    out.print("Home \x1b[31mred \u202equarter\x9b", markup=False, soft_wrap=True)
    assert capsys.readouterr().out == "Home \u241b[31mred \ufffdquarter\ufffd\n"


@pytest.mark.parametrize("name", ["backup_copy.duckdb", "TEMP.duckdb", "what?.duckdb", "a" * 300])
def test_a_name_that_cannot_be_kept_under_is_refused_with_what_to_do(tmp_path, name):
    with pytest.raises(BadInput, match=r"records: .* given; allowed"):
        records_path(tmp_path / name)


def test_a_folder_and_a_csv_are_no_records(tmp_path):
    with pytest.raises(BadInput, match="which is a folder; allowed a file in it"):
        records_path(tmp_path)
    csv = tmp_path / "loads.csv"
    csv.write_text("field,ticket\nHome,1\n")
    with pytest.raises(Damaged, match="this is not a file of records"), open_records(csv):
        pass
    assert csv.read_text() == "field,ticket\nHome,1\n"


@POSIX
def test_a_pipe_or_a_device_is_no_file_and_is_never_waited_for(tmp_path):
    """An endless file has the size 0, and a pipe that nobody writes into never ends."""
    pipe, endless = tmp_path / "loads.csv", tmp_path / "zero.csv"
    os.mkfifo(pipe)
    endless.symlink_to("/dev/zero")
    for path in (pipe, endless):
        with pytest.raises(BadInput, match="which is a pipe or a device; allowed the name of a file"):
            records_path(path)
        for read in (lambda file: read_path(file, ["loads", "zero"]), read_pairs_file, scan):
            with pytest.raises(BadInput, match="is a pipe or a device, not a file"):
                read(path)
        with pytest.raises(BadInput, match="is a pipe or a device, not a file"):
            read_strips_file(path, None)


def test_a_drive_without_locks_is_told_as_what_it_is(tmp_path):
    import duckdb

    told = in_plain_words(
        duckdb.IOException("Could not set lock on file: Conflicting lock is held in  (PID 0)"), tmp_path
    )
    assert "this drive does not let a program keep others out of a file" in str(told)
