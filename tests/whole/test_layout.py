"""How the project is laid out: rooms import only what their line allows, and names resolve to our files."""

import ast
import re
import subprocess
import sys
import tomllib
from collections import defaultdict
from pathlib import Path

import pytest

import analytics
import dashboard
import sample_records
import sql
from tests.whole.sources import Source, parsed, source

ROOT = Path(__file__).resolve().parents[2]
OURS = ("analytics", "dashboard", "sql", "sample_records", "tests")

# What each room may import of ours, itself aside. A new arrow fails until it stands here, and a line that nothing uses
# fails too. The order is from the bottom up.
ALLOWED = {
    "analytics.errors": "",
    "analytics.trade": "errors",
    "analytics.statistics": "errors",
    "analytics.records": "errors trade",
    "analytics.storage": "errors trade records",
    "analytics.settings": "errors trade records storage",
    "analytics.money": "errors trade records storage statistics",
    "analytics.pairs": "errors trade records storage settings statistics",
    "analytics.files": "errors trade records storage settings",
    "analytics.entry": "errors trade records storage files pairs",
    "analytics.bins": "trade records storage",
    "analytics.answer": "errors trade records storage settings pairs money statistics",
    "analytics.planning": "errors trade records storage settings statistics answer",
    "analytics.pool": "errors trade records storage settings statistics pairs files answer",
    "analytics.sheet": "errors trade storage settings statistics pairs money answer files bins pool",
    "analytics.points": "errors trade records storage files",
    "analytics.serving": "errors trade files",
    "analytics.health": "trade records storage pairs bins",
    "analytics.printing": "trade storage statistics answer planning points pool health",
    "analytics.terminal": "",
    "analytics.commands": "errors trade storage settings statistics pairs files answer planning points pool sheet "
    "serving health printing terminal",
    "analytics.cli": "errors storage commands",
    "analytics.start": "cli",
    "dashboard.pictures": "analytics.trade analytics.records analytics.statistics analytics.pairs analytics.answer "
    "analytics.planning analytics.points analytics.pool analytics.bins",
    "dashboard.frame": "analytics.errors analytics.trade analytics.records analytics.storage analytics.settings "
    "analytics.statistics analytics.pairs analytics.answer analytics.serving",
    "dashboard.after_harvest": "analytics.errors analytics.trade analytics.records analytics.storage analytics.pairs "
    "analytics.files analytics.entry analytics.points dashboard.frame",
    "dashboard.winter": "analytics.errors analytics.trade analytics.statistics analytics.pairs analytics.money "
    "analytics.answer analytics.planning analytics.pool dashboard.frame dashboard.pictures",
    "dashboard.at_the_table": "analytics.money analytics.pool analytics.sheet dashboard.frame dashboard.winter",
    "dashboard.the_records": "analytics.errors analytics.storage analytics.files analytics.pool analytics.health "
    "dashboard.frame",
    "dashboard.screens": "analytics.errors analytics.trade analytics.records analytics.storage analytics.statistics "
    "analytics.money analytics.pairs analytics.files analytics.entry analytics.answer analytics.planning "
    "analytics.points analytics.pool analytics.sheet analytics.health analytics.bins dashboard.frame "
    "dashboard.pictures dashboard.after_harvest dashboard.winter dashboard.at_the_table dashboard.the_records",
    "dashboard.app": "analytics.errors analytics.storage dashboard.frame dashboard.after_harvest dashboard.the_records",
}


def room_of(dotted: str) -> str:
    """The room, or the file on top, that a module lies in."""
    return ".".join(dotted.split(".")[:2])


def imported(file: Path) -> set[str]:
    """Rooms of ours that a file imports."""
    return {room_of(name) for name in source(file).modules if name.split(".")[0] in OURS}


def files_by_room() -> dict[str, list[Path]]:
    found = defaultdict(list)
    for top in ("analytics", "dashboard"):
        for file in (ROOT / top).rglob("*.py"):
            if file.parent == ROOT / top and file.name == "__init__.py":
                continue
            found[room_of(".".join(file.relative_to(ROOT).with_suffix("").parts))].append(file)
    return found


def arrows_allowed() -> dict[str, set[str]]:
    def full(name: str) -> str:
        return name if "." in name else f"analytics.{name}"

    return {room: {full(name) for name in names.split()} for room, names in ALLOWED.items()}


def arrows_found() -> dict[str, set[str]]:
    return {room: set().union(*map(imported, files)) - {room} for room, files in files_by_room().items()}


def test_every_arrow_between_rooms_is_allowed_and_every_allowed_one_is_used():
    allowed = {(room, to) for room, names in arrows_allowed().items() for to in names}
    found = {(room, to) for room, names in arrows_found().items() for to in names}
    assert (found - allowed, allowed - found) == (set(), set())


def test_the_arrows_run_in_no_circle():
    """Each room imports only rooms that stand above its own line in the table."""
    order = list(ALLOWED)
    for room, names in arrows_allowed().items():
        for name in names:
            assert order.index(name) < order.index(room), f"{room} -> {name}"


def test_an_import_inside_a_function_is_seen(tmp_path):
    file = tmp_path / "one.py"
    file.write_text("def late():\n    from analytics.storage import database\n    import dashboard.frame.door\n")
    assert imported(file) == {"analytics.storage", "dashboard.frame"}


def test_what_is_installed_is_what_is_used():
    """Every library that the program imports is a dependency, and no other is; the extra is asked for by name."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = {*project["dependencies"], *project["optional-dependencies"]["cluster"]}
    files = [file for top in OURS if top != "tests" for file in (ROOT / top).rglob("*.py")]
    assert {name.replace("-", "_") for name in asked} == set().union(*map(libraries, files))


def libraries(file: Path) -> set[str]:
    """Libraries of others that a file imports."""
    return {name.split(".")[0] for name in source(file).modules} - set(OURS) - sys.stdlib_module_names


def test_every_room_says_in_one_sentence_what_is_in_it_and_developers_repeats_it():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for room in files_by_room():
        folder = ROOT / room.replace(".", "/")
        if folder.is_dir():
            sentence = ast.get_docstring(ast.parse((folder / "__init__.py").read_text(encoding="utf-8")))
            assert sentence, room
            assert sentence.count("\n") == 0, room
            assert f"| `{room.replace('.', '/')}/` | {sentence} |" in text, room


def test_every_file_that_developers_names_is_there():
    """But for the names that a newcomer puts in himself, in capitals."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:analytics|dashboard|sql|tests|sample_records)/[\w./-]*)`", text))
    assert len(named) > 50
    assert {
        name for name in named if not (ROOT / name).exists() and not re.search(r"/(NAME|NEXT)\b|/NEXT_", name)
    } == set()


def test_no_two_files_have_one_name():
    names = [file.stem for files in files_by_room().values() for file in files if file.stem != "__init__"]
    screens = {file.stem for file in (ROOT / "dashboard" / "screens").glob("*.py")}
    assert sorted(name for name in set(names) if names.count(name) > 1 and name not in screens) == []


# All small or all capitals, as nobody begins a sentence.
STATEMENT = re.compile(
    r"\s*(select\b.*\bfrom|with \w+ as|insert into|update \w+ set|delete from|(create|drop|alter) (table|view))\s",
    re.DOTALL,
)


def sql_in(found: Source) -> list[str]:
    """What of a file is SQL: calls that run it, and texts that read as a statement."""
    calls = [name for name in found.calls if name in ("execute", "sql", "executemany")]
    return calls + [text for text in found.texts if STATEMENT.match(text) or STATEMENT.match(text.swapcase())]


def test_no_two_public_classes_or_functions_have_one_name():
    """Commands of the terminal aside: each is named like the act that it does."""
    named = [
        node.name
        for room, files in files_by_room().items()
        for file in files
        for node in source(file).public
        if not (room == "analytics.commands" and node.decorator_list)
    ]
    assert len(named) > 1000
    assert sorted(name for name in set(named) if named.count(name) > 1) == []


def test_screens_hold_no_sql():
    found = {file.name: sql_in(source(file)) for file in (ROOT / "dashboard").rglob("*.py")}
    assert {name: texts for name, texts in found.items() if texts} == {}


@pytest.mark.parametrize(
    "code",
    [
        'read(connection, "select max(act_id) from acts")',
        'read(connection, """\n  SELECT max(act_id) FROM acts""")',
        'read(connection, f"select {column}, max(act_id) from acts")',
        'run("with a as (select 1) select * from a")',
        'run("insert into acts values (1)")',
        'run("update acts set why = null")',
        'run("delete from acts")',
        'run("drop table acts ")',
        "connection.execute(text)",
        "duckdb.sql(text)",
    ],
)
def test_sql_is_seen(code):
    assert len(sql_in(parsed(code))) == 1


def test_english_is_no_sql():
    code = "say('Select a file from your computer.', rows.select('field'), 'With this as (one) table')"
    assert sql_in(parsed(code)) == []


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
