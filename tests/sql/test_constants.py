"""The view of constants agrees with the units of the trade, and what it holds stands nowhere else in sql/."""

import duckdb
import pytest

from analytics.storage.database import read_table
from analytics.storage.sql_texts import SQL_FOLDER
from analytics.trade import units


def test_the_view_agrees_with_the_units(connection: duckdb.DuckDBPyConnection) -> None:
    (row,) = read_table(connection, "constants").iter_rows(named=True)
    assert row["crop"] == units.CROP
    assert float(row["max_dry_pct"]) == units.MAX_DRY_PCT
    assert {name: row[name] for name in ("kg_per_bushel", "g_m2_per_bu_ac", "km_per_mile", "kmh_per_m_s")} == (
        pytest.approx(
            {
                "kg_per_bushel": units.KG_PER_BUSHEL,
                "g_m2_per_bu_ac": units.G_M2_PER_BU_AC,
                "km_per_mile": units.KM_PER_MILE,
                "kmh_per_m_s": units.KMH_PER_M_S,
            },
            rel=1e-11,
        )
    )


@pytest.mark.parametrize("written", ["22.67", "5.604", "1.609", "'canola'"])
def test_a_constant_is_written_in_one_file(written: str) -> None:
    files = {file.name for file in SQL_FOLDER.rglob("*.sql") if written in file.read_text(encoding="utf-8")}
    assert files == {"04_constants.sql"}
