"""What a command loads before it works: help and a wrong word load next to nothing, a comparison what it needs."""

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from analytics.files.importing import bring_in
from tests.prepared import begun, small_season

# Runs the command with each of the lists of arguments that it is given, and says on standard error which libraries
# were loaded, and which rooms and files of ours.
TOLD = """
import json, sys
from analytics.start import main
for arguments in json.loads(sys.argv[1]):
    sys.argv = ["standrow", *arguments]
    try:
        main()
    except SystemExit:
        pass
libraries = {name.split(".")[0] for name in sys.modules} - set(sys.stdlib_module_names)
print(json.dumps([sorted(libraries), sorted(sys.modules)]), file=sys.stderr)
"""
THREADS = """
import os
from analytics.start import main
try:
    main()
finally:
    print(os.environ["OPENBLAS_NUM_THREADS"])
"""
TYPER = {"annotated_doc", "rich", "shellingham", "typer"}
OF_NUMBERS = {"numpy", "polars", "_polars_runtime_32", "scipy"}
ALWAYS_OURS = {
    "analytics",
    "analytics.cli",
    "analytics.commands",
    "analytics.commands.answering",
    "analytics.commands.common",
    "analytics.commands.farm_group",
    "analytics.commands.monitor_file",
    "analytics.commands.records_file",
    "analytics.commands.next_season",
    "analytics.commands.served",
    "analytics.errors",
    "analytics.serving",
    "analytics.serving.addresses",
    "analytics.sheet",
    "analytics.sheet.reader",
    "analytics.start",
    "analytics.storage",
    "analytics.storage.what_happened",
    "analytics.terminal",
    "analytics.trade",
    "analytics.trade.measures",
}
# Built into other libraries, or the interpreter's own; the one for setuptools comes with a new environment.
PASSED_OVER = ("__main__", "_distutils_hack", "_cython_", "cython_runtime", "_cyutility", "_sysconfigdata")


def loaded(*commands: Sequence[str]) -> tuple[set[str], set[str]]:
    """The libraries that the command loads with these lists of arguments, one after the other, and all its modules."""
    done = subprocess.run(
        [sys.executable, "-c", TOLD, json.dumps(commands)],
        capture_output=True,
        text=True,
        check=True,
        encoding="utf-8",
    )
    libraries, modules = json.loads(done.stderr.splitlines()[-1])
    found = {name for name in libraries if not name.startswith(PASSED_OVER)}
    return found - {"analytics"}, set(modules)


def test_help_and_a_wrong_word_load_only_what_reads_the_command():
    libraries, modules = loaded(["--help"], ["nonsense"], ["plan", "--help"], ["plan", "--bad"], [])
    assert libraries == TYPER
    assert {name for name in modules if name.startswith("analytics")} == ALWAYS_OURS


def test_a_comparison_of_pairs_loads_numbers_and_neither_engine_nor_charts(tmp_path: Path):
    file = tmp_path / "pairs.csv"
    rows = (f"{41 + place % 3},{40 + place % 2},{2020 + place % 4},F{place}" for place in range(20))
    file.write_text("\n".join(["standing,windrowed,crop_year,field", *rows]))
    libraries, modules = loaded(["compare", "--pairs", str(file)], ["compare", "--pairs", str(file), "--json"])
    assert libraries - {"typing_extensions"} == TYPER | OF_NUMBERS  # scipy.special takes it where it is there
    compilers_and_test_helpers = {
        "numpy.f2py.crackfortran",
        "numpy.testing._private.utils",
        "numpy.ctypeslib._ctypeslib",
    }
    assert not compilers_and_test_helpers & modules
    parts = {name.split(".")[1] for name in modules if name.startswith("scipy.") and not name.startswith("scipy._")}
    assert parts == {"special", "version"}
    rooms = {name.split(".")[1] for name in modules if name.startswith("analytics.")}
    assert rooms & {"health", "money", "pairs", "planning", "entry", "settings"} == set()
    assert {name for name in modules if name.startswith("analytics.s") and "statistics" not in name} <= ALWAYS_OURS


def test_a_sheet_for_paper_is_set_by_another_program_and_loads_no_workbook(tmp_path: Path):
    """The typesetter would keep 65 MB of the server, and the workbook's writer takes a twentieth of a second."""
    file, records = tmp_path / "sheet.pdf", tmp_path / "records.duckdb"
    with begun(records) as connection:
        bring_in(connection, small_season(tmp_path / "season"), done_by="test")
    libraries, _ = loaded(["report", "-o", str(file), "--for", "banker", "--records", str(records)])
    assert file.read_bytes().startswith(b"%PDF")
    assert {"duckdb", "polars"} <= libraries
    assert not libraries & {"typst", "xlsxwriter"}


def test_matrices_have_one_thread_unless_the_user_says_otherwise():
    """A second one waits by keeping a core busy: a tenth of a second of every command that computes."""
    for given, expected in (({}, "1"), ({"OPENBLAS_NUM_THREADS": "2"}, "2")):
        environment = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
        done = subprocess.run(
            [sys.executable, "-c", THREADS, "--help"],
            capture_output=True,
            text=True,
            check=True,
            env=environment | given,
        )
        assert done.stdout.splitlines()[-1] == expected
