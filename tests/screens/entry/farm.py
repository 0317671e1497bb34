"""The farm on which the tests of the entry screen type: one field, two plots; and what they read of it."""

from collections.abc import Callable
from pathlib import Path

import polars as pl
from streamlit.testing.v1 import AppTest

from analytics.records.tables import TABLES
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from tests.prepared import begun

APP = str(Path(__file__).resolve().parents[3] / "dashboard" / "app.py")
SCREEN = "screens/enter_records.py"
EAST = {"crop_year": 2026, "field": "North half", "plot": "east"}
EAST_BY_LINK = {"crop_year": "2026", "field": "North half", "plot": "east", "paper": "loads"}
Screens = Callable[..., AppTest]


def put(path: Path, **tables: list[dict[str, object]]) -> None:
    frames = {name: pl.DataFrame(rows, schema=TABLES[name].polars_schema()) for name, rows in tables.items()}
    saves = [TableSave(table=TABLES[name], saved=frame, removed=frame.clear()) for name, frame in frames.items()]
    with begun(path) as connection:
        save(connection, saves, done_by="Neighbour", source="import")


def stored(path: Path, name: str = "loads") -> pl.DataFrame:
    with open_records(path) as connection:
        return read_table(connection, name)


def lines(app: AppTest) -> str:
    """Everything the screen says around the pad, guards against markup taken out."""
    assert not app.exception
    parts = [
        element.value
        for part in (app.caption, app.info, app.success, app.error, app.warning, app.markdown)
        for element in part
    ]
    return "\n".join(parts).replace("\\", "")
