"""Who is let in and what he may do; no SQL from text; names that stay in their folder; files that are the owner's."""

import ast
import os
import shutil
import stat
import sys
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import streamlit as st
from streamlit import config
from streamlit.testing.v1 import AppTest

from analytics import cli, passphrases
from analytics.backups import contents, find_backup, list_backups, make_backup
from analytics.column_matches import Match, keep_match
from analytics.database import open_records, read_table, save_statement
from analytics.errors import BadInput, StandrowError
from analytics.exporting import export
from analytics.passphrases import FIRST_WAIT_SECONDS, Tries, set_passphrases
from analytics.records import TABLES
from analytics.settings import change_settings, read_settings
from dashboard import door

ROOT = Path(__file__).resolve().parents[1]
APP = str(ROOT / "dashboard" / "app.py")
FARM, LOOKING, WRITING = "Hillside", "grey owl on the east gate", "rain again before the lentils"


# --- the door


@pytest.fixture
def records(tmp_path: Path, demo_records: Path) -> Path:
    """A copy of the demo farm with a name of its own."""
    path = Path(shutil.copy(demo_records, tmp_path / "records.duckdb"))
    with open_records(path) as connection:
        change_settings(connection, {"farm_name": FARM}, done_by="test", why=None)
    return path


@pytest.fixture
def clock() -> list[float]:
    """The time of the door, to be set."""
    return [1000.0]


@pytest.fixture
def come(records: Path, clock: list[float], monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., AppTest]]:
    """come(page): a new browser before a dashboard that other machines can reach."""
    st.cache_data.clear()
    monkeypatch.setenv("STANDROW_RECORDS", str(records))
    monkeypatch.setattr(passphrases, "N", 2)
    monkeypatch.setattr(door, "TRIES", Tries(lambda: clock[0]))
    set_passphrases(records, looking=LOOKING, writing=WRITING)
    config.set_option("server.address", "0.0.0.0")

    def run(page: str | None = None) -> AppTest:
        app = AppTest.from_file(APP, default_timeout=60).run()
        return app.switch_page(page).run() if page else app

    yield run
    config.set_option("server.address", "127.0.0.1")


def give(app: AppTest, passphrase: str) -> AppTest:
    app.text_input(key="passphrase").input(passphrase)
    return app.button[0].click().run()


def drawn(app: AppTest) -> str:
    """All that the browser was given to draw."""
    assert not app.exception
    return "\n".join(str(node.proto) for part in (app.main, app.sidebar) for node in part if node.proto is not None)


def test_before_the_passphrase_nothing_of_the_records_is_drawn(come: Callable[..., AppTest], records: Path) -> None:
    with open_records(records) as connection:
        fields = read_table(connection, "fields")["field"].to_list()
    for app in (come(), come("screens/one_measure.py"), give(come(), "wrong")):
        assert [title.value for title in app.title] == ["Who is there?"]
        assert app.sidebar.children == {}
        assert not any(name in drawn(app) for name in (FARM, str(records), *fields))
    assert FARM in drawn(give(come(), LOOKING))


def test_the_passphrase_is_not_shown_while_it_is_typed(come: Callable[..., AppTest]) -> None:
    field = come().text_input(key="passphrase")
    assert field.proto.type == field.proto.PASSWORD


def test_who_may_look_sees_the_answer_and_is_told_once_that_he_may_only_look(come: Callable[..., AppTest]) -> None:
    app = give(come(), LOOKING)
    assert app.title[0].value == "What do these records say?"
    told = [caption.value for caption in app.main.caption if "You may look" in caption.value]
    assert told == [f"{door.LOOKING_ONLY} {door.HOW_TO_WRITE}"]


def test_without_a_second_passphrase_he_is_told_where_changes_are_made(
    come: Callable[..., AppTest], records: Path
) -> None:
    set_passphrases(records, looking=LOOKING, writing=None)
    told = [caption.value for caption in give(come(), LOOKING).main.caption]
    assert f"{door.LOOKING_ONLY} {door.NONE_FOR_WRITING}" in told


def test_who_may_write_is_told_nothing_and_changes_a_setting(come: Callable[..., AppTest], records: Path) -> None:
    app = give(come(), WRITING)
    assert "You may look" not in drawn(app)
    app.selectbox(key="yield_unit").select("kg/ha").run()
    with open_records(records) as connection:
        assert read_settings(connection).yield_unit == "kg/ha"


def test_who_may_only_look_changes_no_setting(come: Callable[..., AppTest], records: Path) -> None:
    app = give(come("screens/settings.py"), LOOKING)
    assert app.selectbox(key="yield_unit").disabled
    app.text_input(key="farm_name").input("Another farm")
    app.button(key="keep_settings").click().run()
    assert "Nothing was changed. You may look" in app.error[0].value
    assert app.text_input(key="farm_name").value == "Another farm"
    with open_records(records) as connection:
        assert read_settings(connection).farm_name == FARM


def test_who_may_only_look_keeps_no_draft_and_what_he_typed_still_stands(
    come: Callable[..., AppTest], records: Path
) -> None:
    app = give(come("screens/enter_records.py"), LOOKING)
    app.selectbox(key="paper").select("Tickets").run()
    field = next(one for one in app.text_input if one.label == "Ticket")
    app.text_input(key=field.key).input("9001").run()
    assert app.error.len == 0
    assert app.text_input(key=field.key).value == "9001"
    assert app.button(key="save_entry").disabled
    with open_records(records) as connection:
        assert read_table(connection, "drafts").is_empty()


def test_who_may_only_look_makes_no_backup_and_takes_the_sheet_along(
    come: Callable[..., AppTest], records: Path
) -> None:
    app = give(come(), LOOKING)
    before = len(list_backups(records))
    app.switch_page("screens/record_keeping.py").run()
    assert app.button(key="make_backup").disabled
    assert len(list_backups(records)) == before
    app.switch_page("screens/summary_sheet.py").run()
    assert app.error.len == 0
    assert len(app.get("download_button")) == 3


@pytest.mark.parametrize("screen", sorted(file.name for file in (ROOT / "dashboard" / "screens").glob("[a-z]*.py")))
def test_no_button_of_any_screen_changes_anything_for_who_may_only_look(
    come: Callable[..., AppTest], records: Path, screen: str
) -> None:
    with open_records(records) as connection:
        before = contents(connection)
    backups = list_backups(records)
    app = give(come(f"screens/{screen}"), LOOKING)
    pressed: set[str] = set()
    while left := [button.key for button in app.main.button if button.key not in pressed and not button.disabled]:
        pressed.add(left[0])
        app.button(key=left[0]).click().run()
        assert not app.exception
    with open_records(records) as connection:
        assert contents(connection) == before
    assert list_backups(records) == backups


def test_the_records_are_opened_in_one_place_and_begun_in_another() -> None:
    """What opens them elsewhere would not ask whether this session may write."""
    calls = {
        (file.name, node.func.id)
        for file in (ROOT / "dashboard").rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in ("open_records", "connect")
    }
    assert calls == {("shared.py", "open_records"), ("bringing.py", "open_records")}


def test_five_wrong_tries_make_a_new_browser_wait_too(come: Callable[..., AppTest], clock: list[float]) -> None:
    app = come()
    for left in ("4 more tries", "3 more tries", "2 more tries", "1 more try"):
        assert left in give(app, "wrong").error[0].value
    assert "Wait 10 seconds, then try again." in give(app, "wrong").error[0].value
    another = come()
    assert "Wait 10 seconds, then try again." in give(another, WRITING).error[0].value
    assert another.title[0].value == "Who is there?"
    clock[0] += FIRST_WAIT_SECONDS
    assert give(another, WRITING).title[0].value == "What do these records say?"


def test_an_empty_passphrase_is_no_try(come: Callable[..., AppTest]) -> None:
    app = come()
    for _ in range(6):
        give(app, "  ")
    assert app.error.len == 0
    assert give(app, LOOKING).title[0].value == "What do these records say?"


def test_a_changed_passphrase_closes_what_the_old_one_opened(come: Callable[..., AppTest], records: Path) -> None:
    app = give(come(), WRITING)
    set_passphrases(records, looking=LOOKING, writing="another one than before")
    assert app.run().title[0].value == "Who is there?"
    assert FARM not in drawn(app)


def test_without_any_passphrase_nobody_is_let_in(come: Callable[..., AppTest], records: Path) -> None:
    passphrases.remove_passphrases(records)
    for address in ("0.0.0.0", "192.0.2.9", None):  # Streamlit by itself listens on every address
        config.set_option("server.address", address)
        app = come()
        assert app.text_input.len == 0
        assert "Set it first: standrow passphrase" in app.error[0].value
        assert FARM not in drawn(app)


def test_a_damaged_file_of_passphrases_lets_nobody_in(come: Callable[..., AppTest], records: Path) -> None:
    passphrases.passphrases_path(records).write_text("{", encoding="utf-8")
    app = come()
    assert "the passphrases cannot be read" in app.error[0].value
    assert app.title.len == 0


def test_on_this_machine_alone_nothing_is_asked_even_if_passphrases_are_set(come: Callable[..., AppTest]) -> None:
    config.set_option("server.address", "127.0.0.1")
    app = come()
    assert app.title[0].value == "What do these records say?"
    assert "You may look" not in drawn(app)


# --- no SQL from text

ASKING = {"execute", "executemany", "sql", "query", "from_query", "filter_sql"}
# The name of a database cannot be given as a value; it is that of the file, quoted.
ALLOWED = {("backups.py", """'copy from database "' + name.replace('"', '""') + '" to backup_copy'""")}


def statements(file: Path) -> Iterator[tuple[ast.expr, ast.Module]]:
    """Each expression that is given to the engine as a statement, with the file's tree."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    reads = any(
        isinstance(node, ast.ImportFrom)
        and node.module == "analytics.database"
        and any(alias.name == "read" for alias in node.names)
        for node in tree.body
    )
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        if isinstance(node.func, ast.Attribute) and node.func.attr in ASKING and node.args:
            yield node.args[0], tree
        elif reads and isinstance(node.func, ast.Name) and node.func.id == "read":
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
    return ast.unparse(expression) in ("file.read_text(encoding='utf-8')", "save_statement(one.table.name)")


def test_no_statement_is_put_together_from_text() -> None:
    files = [*(ROOT / "analytics").rglob("*.py"), *(ROOT / "dashboard").rglob("*.py")]
    found = [(file.name, statement, tree) for file in files for statement, tree in statements(file)]
    assert len(found) > 50
    wrong = {(name, ast.unparse(one)) for name, one, tree in found if not is_fixed(one, tree)}
    # read() of database.py is the one that the others call, so its own statement is what it was given
    assert wrong == ALLOWED | {("database.py", "query"), ("sheet_pdf.py", "TEMPLATE")}


@pytest.mark.parametrize(
    "text",
    [
        "connection.execute(f'from {name}')",
        "connection.execute('from ' + name)",
        "connection.execute('from %s' % name)",
        "connection.execute('from {}'.format(name))",
        "connection.cursor().sql(name)",
        "STATEMENT = f'from {name}'\nconnection.execute(STATEMENT)",
        "from analytics.database import read\nread(connection, ' '.join(parts))",
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


@pytest.mark.parametrize("name", BAD_NAMES)
def test_a_field_of_any_name_makes_no_file_elsewhere(tiny, tmp_path: Path, name: str) -> None:
    key = {"crop_year": 2025, "field": name}
    sides = {"standing_field": name, "standing_plot": name, "windrowed_field": name, "windrowed_plot": "west"}
    connection = tiny(
        {
            "fields": [{"field": name, "acres": 100.0}],
            "plots": [
                key | {"plot": name, "method": "standing", "acres": 50.0},
                key | {"plot": "west", "method": "windrowed", "acres": 50.0},
            ],
            "loads": [key | {"plot": name, "ticket": name, "weight_kg": 1000.0}],
            "pairs": [{"crop_year": 2025, "pair": name, "layout": "split field"} | sides],
        }
    )
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
def test_a_backup_is_found_only_in_the_list(records: Path, name: str) -> None:
    with pytest.raises(BadInput, match="See the list with: standrow restore"):
        find_backup(records, name)


@pytest.mark.parametrize("name", ['a"; drop table loads; --', "a'b", "with space", "ünïcode", "a.b.c"])
def test_records_in_a_file_of_any_name_are_backed_up(demo_records: Path, tmp_path: Path, name: str) -> None:
    path = Path(shutil.copy(demo_records, tmp_path / f"{name}.duckdb"))
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
            cli.main()
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
    assert standrow("import", ROOT / "sample_records") == 0
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
    assert standrow("import", ROOT / "sample_records") == 0
    assert standrow("backup") == 0
    records.write_bytes(b"no records any more")
    assert standrow("restore", "1", "--yes") == 0
    assert any("damaged" in path.name for path in records.parent.iterdir())
    assert open_to_others(records.parent) == {}


@pytest.mark.usefixtures("open_umask")
def test_the_backup_before_a_migration_is_the_owners_alone(standrow: Callable[..., int], tmp_path: Path) -> None:
    records = tmp_path / "farm" / "records.duckdb"
    shutil.copyfile(ROOT / "tests" / "old_versions" / "version_1.duckdb", records)
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


def test_a_message_for_people_names_no_passphrase(records: Path) -> None:
    with pytest.raises(StandrowError) as refused:
        set_passphrases(records, looking="short one", writing=None)
    assert "short one" not in str(refused.value)
