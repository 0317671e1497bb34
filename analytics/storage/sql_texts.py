"""The texts of sql/, each by its name: migrations, views and their working out, questions, checks, saving one table."""

from pathlib import Path

from analytics.errors import BadInput

SQL_FOLDER = Path(__file__).resolve().parents[2] / "sql"


def schema_files() -> list[Path]:
    """The numbered migrations, oldest first."""
    return sorted((SQL_FOLDER / "schema").glob("[0-9]*.sql"))


def view_files() -> list[Path]:
    """The views, each after those that it reads."""
    return sorted((SQL_FOLDER / "views").glob("*.sql"))


def worked_out_files() -> list[Path]:
    """What works out a view once for those that read it, under the names of the views' files and in their order."""
    return sorted((SQL_FOLDER / "worked_out").glob("*.sql"))


def query_text(name: str) -> str:
    """The text of sql/queries for one question, a statement whose values go in as $name."""
    return (SQL_FOLDER / "queries" / f"{name}.sql").read_text(encoding="utf-8")


def check_files() -> list[Path]:
    """The queries that return no row in sound records."""
    return sorted((SQL_FOLDER / "checks").glob("*.sql"))


def save_statement(table: str) -> str:
    """The text of sql/save for one table. Raises BadInput for a name without one."""
    file = SQL_FOLDER / "save" / f"{Path(table).name}.sql"
    if not file.is_file():
        raise BadInput(f"{table}: there is no such table in the records.")
    return file.read_text(encoding="utf-8")
