"""No SQL from text, names that stay in their folder, files that are the owner's alone."""

import ast
import os
import shutil
import stat
import sys
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from analytics import cli
from analytics.errors import BadInput, StandrowError
from analytics.files.column_matches import Match, keep_match
from analytics.files.exporting import export
from analytics.records.tables import TABLES
from analytics.serving.passphrases import set_passphrases
from analytics.settings import change_settings
from analytics.storage.backups import find_backup, list_backups, make_backup
from analytics.storage.database import open_records, read_table
from analytics.storage.sql_texts import save_statement
from tests.prepared import copied, small_season

ROOT = Path(__file__).resolve().parents[2]


# --- no SQL from text

READING = {"read", "read_query"}
ASKING = {"execute", "executemany", "sql", "query", "from_query", "filter_sql"}
ALLOWED = {
    # The name of a database cannot be given as a value; it is that of the file, quoted.
    ("backups.py", """'copy from database "' + name.replace('"', '""') + '" to backup_copy'"""),
    # One fixed statement as often as there are tables, whose names go in as values.
    ("backups.py", "' union all '.join([CONTENT] * len(names))"),
}


def statements(file: Path) -> Iterator[tuple[ast.expr, ast.Module]]:
    """Each expression that is given to the engine as a statement, with the file's tree."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    reads = any(
        isinstance(node, ast.ImportFrom)
        and node.module == "analytics.storage.database"
        and any(alias.name in READING for alias in node.names)
        for node in tree.body
    )
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        if isinstance(node.func, ast.Attribute) and node.func.attr in ASKING and node.args:
            yield node.args[0], tree
        elif reads and isinstance(node.func, ast.Name) and node.func.id in READING:
            yield node.args[1], tree


def is_fixed(expression: ast.expr, tree: ast.Module) -> bool:
    """Whether a statement is a text in the code, a constant of the file, or the text of a file of sql/."""
    if isinstance(expression, ast.Constant):
        return isinstance(expression.value, str)
    if isinstance(expression, ast.Name):
        return any(
            isinstance(node, ast.Assign)
            and ast.unparse(node.targets[0]) == expression.id
            and isinstance(node.value, ast.Constant)
            for node in tree.body
        )
    if isinstance(expression, ast.Call) and ast.unparse(expression.func) == "query_text":
        return isinstance(expression.args[0], ast.Constant)
    return ast.unparse(expression) in ("file.read_text(encoding='utf-8')", "save_statement(one.table.name)")


def test_no_statement_is_put_together_from_text() -> None:
    files = [*(ROOT / "analytics").rglob("*.py"), *(ROOT / "dashboard").rglob("*.py")]
    found = [(file.name, statement, tree) for file in files for statement, tree in statements(file)]
    assert len(found) > 50
    wrong = {(name, ast.unparse(one)) for name, one, tree in found if not is_fixed(one, tree)}
    # read() of database.py is the one that the others call, so its own statement is what it was given
    assert wrong == ALLOWED | {("database.py", "query")}


@pytest.mark.parametrize(
    "text",
    [
        "connection.execute(f'from {name}')",
        "connection.execute('from ' + name)",
        "connection.execute('from %s' % name)",
        "connection.execute('from {}'.format(name))",
        "connection.cursor().sql(name)",
        "STATEMENT = f'from {name}'\nconnection.execute(STATEMENT)",
        "from analytics.storage.database import read\nread(connection, ' '.join(parts))",
    ],
)
def test_the_search_finds_each_way_of_putting_text_together(tmp_path: Path, text: str) -> None:
    (tmp_path / "code.py").write_text(text)
    assert [is_fixed(*one) for one in statements(tmp_path / "code.py")] == [False]


# --- names that stay in their folder

BAD_NAMES = [
    "../../outside",
    "..\\..\\outside",
    "/outside",
    "C:\\outside",
    "C:outside",
    "\\\\server\\outside",
    "NUL",
    "con.csv",
    "a\x00b",
    "line\nbreak",
    "'; drop table loads; --",
    '"quoted"',
    "x" * 300,
]


def files_under(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_fields_of_any_name_make_no_file_elsewhere(tiny, tmp_path: Path) -> None:
    tables: dict[str, list[dict[str, object]]] = {"fields": [], "plots": [], "loads": [], "pairs": []}
    for name in BAD_NAMES:
        key = {"crop_year": 2025, "field": name}
        sides = {"standing_field": name, "standing_plot": name, "windrowed_field": name, "windrowed_plot": "west"}
        tables["fields"].append({"field": name, "acres": 100.0})
        tables["plots"].append(key | {"plot": name, "method": "standing", "acres": 50.0})
        tables["plots"].append(key | {"plot": "west", "method": "windrowed", "acres": 50.0})
        tables["loads"].append(key | {"plot": name, "ticket": name, "weight_kg": 1000.0})
        tables["pairs"].append({"crop_year": 2025, "pair": name, "layout": "split field"} | sides)
    connection = tiny(tables)
    for name in BAD_NAMES:
        match = Match(table=TABLES["loads"], columns={"ticket": name})
        keep_match(connection, name.replace("x" * 300, "x" * 30), match, done_by=name)
        change_settings(connection, {"farm_name": name.replace("\n", " ")[:100] or "x"}, done_by=name, why=None)
    before = files_under(tmp_path)
    backup = make_backup(connection, "asked for")
    written = export(connection, tmp_path / "out")
    made = files_under(tmp_path) - before
    assert made == {f"tiny.duckdb.backups/{backup.path.name}", *(f"out/{file.name}" for file in written)}
    assert not (tmp_path.parent / "outside").exists()


def test_files_in_a_zip_are_unpacked_nowhere(standrow: Callable[..., int], tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "fields.zip", "w") as pack:
        for name in ("../../outside.csv", "/outside/fields.csv", "C:\\outside\\plots.csv", "../loads.csv"):
            pack.writestr(name, "field\nNorth half\n")
    assert standrow("import", tmp_path / "fields.zip") == 2
    made = {name for name in files_under(tmp_path) if not name.startswith("farm/records.duckdb")}
    assert made == {"fields.zip"}
    assert not (tmp_path.parent / "outside.csv").exists()


@pytest.mark.parametrize("name", [*BAD_NAMES[:-1], "../schema/0001_records", ""])
def test_no_statement_is_read_by_a_name_that_is_no_table(name: str) -> None:
    with pytest.raises(BadInput, match="there is no such table"):
        save_statement(name)


@pytest.mark.parametrize("name", [*BAD_NAMES, "0", "-1"])
def test_a_backup_is_found_only_in_the_list(tmp_path: Path, name: str) -> None:
    records = tmp_path / "records.duckdb"
    with pytest.raises(BadInput, match="See the list with: standrow restore"):
        find_backup(records, name)


@pytest.mark.parametrize("name", ['a"; drop table loads; --', "a'b", "with space", "ünïcode", "a.b.c"])
def test_records_in_a_file_of_any_name_are_backed_up(demo_records: Path, tmp_path: Path, name: str) -> None:
    path = copied(demo_records, tmp_path / f"{name}.duckdb")
    with open_records(path) as connection:
        loads = read_table(connection, "loads").height
        backup = make_backup(connection, "asked for")
    assert backup.path.parent.parent == tmp_path
    with open_records(backup.path) as connection:
        assert read_table(connection, "loads").height == loads > 0


# --- files that are the owner's alone


@pytest.fixture
def open_umask() -> Iterator[None]:
    """A system that would let everyone read and write every new file."""
    before = os.umask(0)
    yield
    os.umask(before)


@pytest.fixture
def standrow(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., int]:
    """standrow(argument, ...): the command on records in a folder of the test's own; its exit code."""
    monkeypatch.setenv("STANDROW_RECORDS", str(tmp_path / "farm" / "records.duckdb"))
    (tmp_path / "farm").mkdir()

    def run(*arguments: object) -> int:
        monkeypatch.setattr(sys, "argv", ["standrow", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            cli.run_command()
        return int(end.value.code or 0)

    return run


def open_to_others(folder: Path) -> dict[str, str]:
    """What others could read or write under a folder, with its mode."""
    modes = {path: stat.S_IMODE(path.stat().st_mode) for path in folder.rglob("*")}
    return {str(path.relative_to(folder)): oct(mode) for path, mode in modes.items() if mode & 0o077}


@pytest.mark.usefixtures("open_umask")
def test_what_import_backup_restore_export_and_report_write_is_the_owners_alone(
    standrow: Callable[..., int], tmp_path: Path
) -> None:
    farm = tmp_path / "farm"
    assert standrow("import", small_season(tmp_path / "coming")) == 0
    assert standrow("backup") == 0
    with open_records(farm / "records.duckdb") as connection:
        change_settings(connection, {"farm_name": "Later"}, done_by="test", why=None)
    assert standrow("restore", "1", "--yes") == 0
    assert standrow("export", farm / "out") == 0
    assert standrow("templates", farm / "empty") == 0
    assert standrow("report", "-o", farm / "sheet.html", "--for", "banker") == 0
    assert {"records.duckdb", "records.duckdb.backups", "sheet.html"} <= {path.name for path in farm.iterdir()}
    assert open_to_others(farm) == {}


@pytest.mark.usefixtures("open_umask")
def test_a_damaged_file_that_is_restored_is_the_owners_alone(standrow: Callable[..., int], tmp_path: Path) -> None:
    records = tmp_path / "farm" / "records.duckdb"
    assert standrow("import", small_season(tmp_path / "coming")) == 0
    assert standrow("backup") == 0
    records.write_bytes(b"no records any more")
    assert standrow("restore", "1", "--yes") == 0
    assert any("damaged" in path.name for path in records.parent.iterdir())
    assert open_to_others(records.parent) == {}


@pytest.mark.usefixtures("open_umask")
def test_the_backup_before_a_migration_is_the_owners_alone(standrow: Callable[..., int], tmp_path: Path) -> None:
    records = tmp_path / "farm" / "records.duckdb"
    shutil.copyfile(ROOT / "tests" / "storage" / "old_versions" / "version_1.duckdb", records)
    records.chmod(0o600)
    standrow("check")
    assert [backup.reason for backup in list_backups(records)] == ["before migration"]
    assert open_to_others(records.parent) == {}


@pytest.mark.usefixtures("open_umask")
def test_while_the_records_are_written_the_file_beside_them_is_the_owners_alone(
    standrow: Callable[..., int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    records = tmp_path / "farm" / "records.duckdb"
    seen: dict[str, dict[str, str]] = {}

    def work() -> None:
        with open_records(records, create=True) as connection:
            change_settings(connection, {"farm_name": "Written"}, done_by="test", why=None)
            assert (records.parent / "records.duckdb.wal").exists()
            seen["others"] = open_to_others(records.parent)
        sys.exit(0)

    monkeypatch.setattr(cli, "app", work)
    assert standrow() == 0
    assert seen == {"others": {}}


def test_a_message_for_people_names_no_passphrase(tmp_path: Path) -> None:
    with pytest.raises(StandrowError) as refused:
        set_passphrases(tmp_path / "records.duckdb", looking="short one", writing=None)
    assert "short one" not in str(refused.value)


def test_texts_of_people_reach_the_entry_pad_as_values_alone() -> None:
    """Nothing in it makes markup or code of a text, and nothing asks another address for anything."""
    script = (ROOT / "dashboard" / "after_harvest" / "entry_pad.js").read_text(encoding="utf-8")
    assert "textContent" in script
    for word in (
        "innerHTML",
        "outerHTML",
        "insertAdjacent",
        "eval(",
        "Function(",
        "fetch(",
        "XMLHttp",
        "import(",
        "://",
    ):
        assert word not in script, word
