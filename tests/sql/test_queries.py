"""The questions of sql/queries are the ones that Python asks, and no longer statement stands in Python."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from analytics.storage.sql_texts import SQL_FOLDER

ROOT = Path(__file__).resolve().parents[2]
LINE = 100  # a longer statement is a file
SQL = r"\s*(select|insert|delete|update|merge|with \w+ as|from \w+ (where|join|select))\b"
STATEMENT = re.compile(SQL, re.IGNORECASE)
ASKING = re.compile(r"\b(query_text|read_query)\(")
QUOTED_STATEMENT = re.compile(rf"[\"'](\\n)?{SQL}", re.IGNORECASE)


def nodes(having: re.Pattern[str]) -> Iterator[ast.AST]:
    """The syntax of the files in which that is found."""
    for top in ("analytics", "dashboard"):
        for file in (ROOT / top).rglob("*.py"):
            text = file.read_text(encoding="utf-8")
            if having.search(text):
                yield from ast.walk(ast.parse(text))


def asked() -> set[str]:
    """Names of queries that the code reads."""
    names = set()
    for node in nodes(ASKING):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            given = {"query_text": 0, "read_query": 1}.get(node.func.id)
            if given is not None and isinstance(name := node.args[given], ast.Constant):
                names.add(name.value)
    return names


def test_every_query_is_asked_and_every_one_asked_is_there() -> None:
    assert asked() == {file.stem for file in (SQL_FOLDER / "queries").glob("*.sql")}


def test_a_statement_in_python_is_no_longer_than_a_line() -> None:
    found = nodes(QUOTED_STATEMENT)
    texts = {node.value for node in found if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    statements = {text for text in texts if STATEMENT.match(text)}
    assert len(statements) > 5
    assert {text for text in statements if len(text) > LINE} == set()


def test_every_view_has_a_file_of_its_name() -> None:
    for file in (SQL_FOLDER / "views").glob("*.sql"):
        made = re.findall(r"create or replace view (\w+)", file.read_text(encoding="utf-8"))
        assert made == [file.stem.partition("_")[2]], file.name
