"""How the project is laid out: imports point one way, names resolve to our files, nothing personal in any file."""

import ast
import graphlib
import subprocess
import sys
from pathlib import Path

import pytest

import analytics
import dashboard
import sample_records
import sql

ROOT = Path(__file__).resolve().parents[1]


def imported(file: Path) -> set[str]:
    """Dotted names of our own modules that a file imports."""
    names = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return {
        name for name in names if name.split(".")[0] in ("analytics", "dashboard", "sql", "sample_records", "tests")
    }


def test_analytics_never_imports_the_dashboard_or_tests():
    wrong = {
        file.name: name
        for file in (ROOT / "analytics").glob("*.py")
        for name in imported(file)
        if name.split(".")[0] != "analytics"
    }
    assert wrong == {}


def test_inside_analytics_imports_run_in_no_circle():
    modules = {file.stem: file for file in (ROOT / "analytics").glob("*.py")}
    graph = {
        name: {part for dotted in imported(file) for part in dotted.split(".")[1:2] if part in modules} - {name}
        for name, file in modules.items()
    }
    order = list(graphlib.TopologicalSorter(graph).static_order())
    assert order.index("units") < order.index("comparison") < order.index("review") < order.index("cli")


def test_statistics_know_no_records_and_no_database():
    for name in ("comparison", "ladder", "exact_tests", "random_effects", "power", "proportions", "results"):
        modules = {dotted.split(".")[1] for dotted in imported(ROOT / "analytics" / f"{name}.py") if "." in dotted}
        assert modules.isdisjoint({"database", "records", "history", "pairs", "review"}), name


def test_screens_hold_no_sql():
    for file in (ROOT / "dashboard").rglob("*.py"):
        names = {alias for node in ast.walk(ast.parse(file.read_text())) for alias in _attributes(node)}
        assert names.isdisjoint({"execute", "sql", "executemany"}), file.name


def _attributes(node: ast.AST) -> set[str]:
    return {node.func.attr} if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) else set()


def test_generic_names_resolve_to_this_project():
    for package in (analytics, dashboard, sql, sample_records):
        assert Path(package.__file__).resolve().parents[1] == ROOT


def test_top_level_is_as_fixed():
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if tracked.returncode:
        pytest.skip("not a git checkout, so there is no list of tracked files")
    files = "README.md DEVELOPERS.md pyproject.toml constraints.txt .gitignore"
    folders = ".ci analytics dashboard sql sample_records tests"
    assert {line.split("/")[0] for line in tracked.stdout.splitlines()} <= {*files.split(), *folders.split()}


def test_the_command_starts_without_the_slow_part_of_scipy():
    """It takes longer to load than all else; `import scipy` alone loads a part when it is first used."""
    told = "import sys, analytics.cli; print('scipy.stats' in sys.modules)"
    assert subprocess.check_output([sys.executable, "-c", told], text=True) == "False\n"


def test_developers_names_every_file_of_analytics():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    files = {file.stem for file in (ROOT / "analytics").glob("*.py")} - {"__init__"}
    assert {name for name in files if f"`{name}`" not in text} == set()
