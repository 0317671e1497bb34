"""What governs every finding: level, margins, one moisture, yield unit, and the farm's name.

A level or a margin is fixed before looking; changing one is an act with a reason, kept in the history.
"""

from dataclasses import dataclass

import duckdb
import polars as pl

from analytics.errors import BadInput
from analytics.records.own_tables import SETTINGS_TABLE
from analytics.records.setting_values import LEVELS, MARGIN, checked
from analytics.storage.database import read_table
from analytics.storage.history import TableSave, save
from analytics.trade.measures import MEASURES


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The settings in force. `margins` holds one per measure, in the measure's own unit."""

    farm_name: str
    yield_unit: str
    level: float
    one_moisture_pct: float
    grading: str  # a key of GRADING
    margins: dict[str, float]


def read_settings(connection: duckdb.DuckDBPyConnection) -> Settings:
    """The settings as changed, the defaults where nothing was changed. No margin moves by itself."""
    given = dict(read_table(connection, "settings").select("name", "value").iter_rows())
    return Settings(
        farm_name=given.get("farm_name", "This farm"),
        yield_unit=given.get("yield_unit", "bu/ac"),
        level=float(given.get("level", LEVELS[0])),
        one_moisture_pct=float(read_table(connection, "one_moisture").item()),
        grading=given.get("grading", "CA"),
        margins={name: float(given.get(MARGIN + name, measure.margin)) for name, measure in MEASURES.items()},
    )


def change_settings(
    connection: duckdb.DuckDBPyConnection, typed: dict[str, str], *, done_by: str, why: str | None
) -> None:
    """Keep several settings at once, with the reason.

    Raises BadInput for a value that is not allowed, and for a level or a margin without a reason.
    """
    values = {name: checked(name, text) for name, text in typed.items()}
    if not (why or "").strip() and any(name == "level" or name.startswith(MARGIN) for name in values):
        raise BadInput("level or margin: no reason given. Say why, so that the change can be judged later.")
    rows = pl.DataFrame({"name": list(values), "value": list(values.values())}, schema=SETTINGS_TABLE.polars_schema())
    change = TableSave(table=SETTINGS_TABLE, saved=rows, removed=rows.clear())
    save(connection, [change], done_by=done_by, source="setting", why=why)
