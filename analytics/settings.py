"""What governs every finding: level, margins, basis, main measure, one moisture; and the yield unit and farm's name.

What could change a finding is fixed before looking: changing it is an act with a reason, kept in the history and named
on every sheet.
"""

import json
from dataclasses import dataclass
from datetime import datetime

import duckdb
import polars as pl

from analytics.errors import BadInput
from analytics.records.own_tables import SETTINGS_TABLE
from analytics.records.setting_values import (
    MARGIN,
    NO_REQUIREMENT,
    NOT_SAID,
    STARTED_WITH,
    checked,
    is_fixed_before_looking,
    setting_words,
)
from analytics.storage.database import read_query, read_table
from analytics.storage.history import TableSave, save
from analytics.trade.measures import MEASURES


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The settings in force. `margins` holds one per measure, in the measure's own unit.

    basis : one of setting_values.BASES
    main_measure : the one that is judged by itself; the others are judged together
    wind_kmh : wind from which a year counts as a bad one
    requirements : some of setting_values.REQUIREMENTS, perhaps with the crop year from which it is asked; a pair that
        misses one is in no answer
    requirement_not_known : whether a pair of which it is not known counts
    """

    farm_name: str
    yield_unit: str
    level: float
    one_moisture_pct: float
    grading: str  # a key of GRADING
    comma: str  # what the comma of 22,910 is: trade.typed_text.THOUSANDS or DECIMAL_MARK; "" while nobody said
    basis: str
    main_measure: str
    wind_kmh: float
    requirements: tuple[str, ...]
    requirement_not_known: str
    margins: dict[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingChange:
    """One change of one setting; `before` is None where it was as the program starts."""

    name: str
    before: str | None
    after: str
    changed_at: datetime
    done_by: str
    why: str | None

    @property
    def words(self) -> str:
        """The change in one line: "level: 0.8, was 0.95 (2026-11-02, A grower: a wrong choice costs little)"."""
        was = STARTED_WITH[self.name] if self.before is None else self.before
        why = f": {self.why}" if self.why else ""
        return f"{setting_words(self.name)}: {self.after}, was {was} ({self.changed_at:%Y-%m-%d}, {self.done_by}{why})"


def read_settings(connection: duckdb.DuckDBPyConnection) -> Settings:
    """The settings as changed, else as they started. No margin moves by itself."""
    given = STARTED_WITH | dict(read_table(connection, "settings").select("name", "value").iter_rows())
    return Settings(
        farm_name=given["farm_name"],
        yield_unit=given["yield_unit"],
        level=float(given["level"]),
        one_moisture_pct=float(given["one_moisture_pct"]),
        grading=given["grading"],
        comma="" if given["comma"] == NOT_SAID else given["comma"],
        basis=given["basis"],
        main_measure=given["main_measure"],
        wind_kmh=float(given["wind_kmh"]),
        requirements=tuple(one for one in given["requirements"].split(", ") if one != NO_REQUIREMENT),
        requirement_not_known=given["requirement_not_known"],
        margins={name: float(given[MARGIN + name]) for name in MEASURES},
    )


def change_settings(
    connection: duckdb.DuckDBPyConnection, typed: dict[str, str], *, done_by: str, why: str | None
) -> None:
    """Keep several settings at once, with the reason.

    Raises BadInput for a value that is not allowed, and without a reason for one that is fixed before looking.
    """
    comma = read_settings(connection).comma
    values = {name: checked(name, text, comma=comma) for name, text in typed.items()}
    fixed = [setting_words(name) for name in values if is_fixed_before_looking(name)]
    if fixed and not (why or "").strip():
        raise BadInput(f"{', '.join(fixed)}: no reason given. Say why, so that the change can be judged later.")
    rows = pl.DataFrame({"name": list(values), "value": list(values.values())}, schema=SETTINGS_TABLE.polars_schema())
    change = TableSave(table=SETTINGS_TABLE, saved=rows, removed=rows.clear())
    save(connection, [change], done_by=done_by, source="setting", why=why)


def setting_changes(connection: duckdb.DuckDBPyConnection) -> tuple[SettingChange, ...]:
    """Every change of what is fixed before looking, newest first, by whatever way it came."""
    rows = read_query(connection, "setting_changes")
    changes = (
        SettingChange(
            name=json.loads(row["after"] or row["before"])["name"],
            before=_value(row["before"]),
            after=_value(row["after"]) or STARTED_WITH[json.loads(row["before"])["name"]],
            changed_at=row["happened_at"],
            done_by=row["done_by"],
            why=row["why"],
        )
        for row in rows.iter_rows(named=True)
    )
    return tuple(change for change in changes if is_fixed_before_looking(change.name))


def _value(row: str | None) -> str | None:
    return None if row is None else str(json.loads(row)["value"])
