"""What a command loads before it works: help and a wrong word load next to nothing, a comparison what it needs."""

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass

import pytest

from analytics.files.importing import bring_in
from tests.prepared import begun, small_season

# Runs the command with each of the lists of arguments that it is given, and says after each on standard error which
# libraries and modules are loaded by then, and how many threads matrices have.
TOLD = """
import json, os, sys
from analytics.start import main
for arguments in json.loads(sys.argv[1]):
    sys.argv = ["standrow", *arguments]
    try:
        main()
    except SystemExit:
        pass
    libraries = {name.split(".")[0] for name in sys.modules} - set(sys.stdlib_module_names)
    print(json.dumps([sorted(libraries), sorted(sys.modules), os.environ["OPENBLAS_NUM_THREADS"]]), file=sys.stderr)
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


@dataclass(frozen=True)
class Loaded:
    """What is loaded after a command and those before it."""

    libraries: set[str]
    modules: set[str]
    threads: str


def after_each(*commands: Sequence[str], **environment: str) -> list[Loaded]:
    """What one process has loaded after each of the commands, given as lists of arguments."""
    ours = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"} | environment
    run = [sys.executable, "-c", TOLD, json.dumps(commands)]
    done = subprocess.run(run, capture_output=True, text=True, check=True, encoding="utf-8", env=ours)
    told = [json.loads(line) for line in done.stderr.splitlines() if line.startswith("[[")]
    return [
        Loaded({name for name in libraries if not name.startswith(PASSED_OVER)} - {"analytics"}, set(modules), threads)
        for libraries, modules, threads in told
    ]


HELP_AND_WRONG_WORDS = [["--help"], ["nonsense"], ["plan", "--help"], ["plan", "--bad"], []]


@pytest.fixture(scope="module")
def steps(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Loaded]:
    """After help and wrong words, then a comparison of pairs as text and as an object, then a sheet for paper."""
    folder = tmp_path_factory.mktemp("steps")
    file, records = folder / "pairs.csv", folder / "records.duckdb"
    rows = (f"{41 + place % 3},{40 + place % 2},{2020 + place % 4},F{place}" for place in range(20))
    file.write_text("\n".join(["standing,windrowed,crop_year,field", *rows]))
    with begun(records) as connection:
        bring_in(connection, small_season(folder / "season"), done_by="test")
    compare = ["compare", "--pairs", str(file)]
    report = ["report", "-o", str(folder / "sheet.pdf"), "--for", "banker", "--records", str(records)]
    found = after_each(*HELP_AND_WRONG_WORDS, compare, [*compare, "--json"], report)
    assert (folder / "sheet.pdf").read_bytes().startswith(b"%PDF")
    return {"help": found[-4], "compare": found[-2], "report": found[-1]}


def test_help_and_a_wrong_word_load_only_what_reads_the_command(steps):
    assert steps["help"].libraries == TYPER
    assert {name for name in steps["help"].modules if name.startswith("analytics")} == ALWAYS_OURS


def test_a_comparison_of_pairs_loads_numbers_and_neither_engine_nor_charts(steps):
    libraries, modules = steps["compare"].libraries, steps["compare"].modules
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


def test_a_sheet_for_paper_is_set_by_another_program_and_loads_no_workbook(steps):
    """The typesetter would keep 65 MB of the server, and the workbook's writer takes a twentieth of a second."""
    assert {"duckdb", "polars"} <= steps["report"].libraries
    assert not steps["report"].libraries & {"typst", "xlsxwriter"}


def test_matrices_have_one_thread_unless_the_user_says_otherwise(steps):
    """A second one waits by keeping a core busy: a tenth of a second of every command that computes."""
    assert steps["compare"].threads == "1"
    assert after_each(["--help"], OPENBLAS_NUM_THREADS="2")[0].threads == "2"
