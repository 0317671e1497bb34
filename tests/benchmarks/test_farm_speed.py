"""Large records in one run against a yardstick in the same run: ratios only, no clock time is a limit by itself."""

from pathlib import Path

import duckdb
import numpy as np
import pytest
from scipy import stats

from analytics.answer.review import review_all
from analytics.entry.row_words import understood
from analytics.entry.saving import read_entry
from analytics.files.importing import bring_in
from analytics.records.papers import PAPERS
from analytics.statistics.comparison import compare
from analytics.storage.database import open_records
from analytics.storage.tables_now import TablesNow
from tests.benchmarks.large_farm import keep, large_farm
from tests.benchmarks.test_exact_speed import seconds
from tests.prepared import begun

TICKETS = PAPERS["loads"]


def records_of(path: Path, **size: int) -> Path:
    with begun(path) as connection:
        keep(connection, large_farm(**size))
    return path


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    """20 seasons of 20 fields, 1,600 tickets."""
    return records_of(tmp_path_factory.mktemp("large") / "records.duckdb", seasons=20, fields=20, loads=2)


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """2 seasons of 2 fields, 16 tickets."""
    return records_of(tmp_path_factory.mktemp("small") / "records.duckdb", seasons=2, fields=2, loads=2)


def type_three_tickets(path: Path) -> list[str]:
    typed = [
        {"ticket": f"T{number}", "weight_kg": "18620", "moisture_pct": "8.1", "dockage_pct": "1.2"}
        for number in (1, 2, 3)
    ]
    with open_records(path) as connection:
        fixed = {"crop_year": 2007, "field": "Field 01", "plot": "standing"}
        records = TablesNow(connection)
        entry = read_entry(connection, TICKETS, typed, records=records, fixed=fixed, units={}, loaded=[])
        return understood(TICKETS.table, entry.rows, records, yield_unit="bu/ac", level=0.95)


def test_a_ticket_typed_on_a_farm_a_hundred_times_as_large_costs_at_most_six_times_as_much(small, large):
    on_small, words = seconds(lambda: type_three_tickets(small), repeats=3)
    on_large, _ = seconds(lambda: type_three_tickets(large), repeats=2)
    assert all("so far" in line for line in words)
    assert on_large < 6 * on_small  # measured 2


def test_all_measures_of_a_farm_a_hundred_times_as_large_cost_at_most_fifteen_times_as_much(small, large):
    def compare_all(path):
        with open_records(path) as connection:
            return review_all(connection)

    on_small, _ = seconds(lambda: compare_all(small), repeats=2)
    on_large, found = seconds(lambda: compare_all(large))
    assert len(found["yield"].pair_differences) == 400
    assert on_large < 15 * on_small


def test_an_import_of_50_000_tickets_costs_at_most_twenty_times_the_reading_of_the_file(tmp_path):
    """Read, checked, compared and saved with history, against DuckDB's own CSV reader filling a table with it."""
    folder = tmp_path / "papers"
    folder.mkdir()
    for name, rows in large_farm(seasons=20, fields=60, loads=21).items():
        rows.write_csv(folder / f"{name}.csv")

    def fill_a_table():
        (tmp_path / "plain.duckdb").unlink(missing_ok=True)
        with duckdb.connect(tmp_path / "plain.duckdb") as plain:
            plain.execute("create table loads as select * from read_csv($file)", {"file": str(folder / "loads.csv")})

    def bring_all_in():
        path = tmp_path / "records.duckdb"
        path.unlink(missing_ok=True)
        with begun(path) as connection:
            return bring_in(connection, folder, done_by="benchmark")

    reading, _ = seconds(fill_a_table, repeats=2)
    importing, brought = seconds(bring_all_in, repeats=1)
    assert brought.plan.tables["loads"].saved.height == 50_400
    assert (
        importing < 20 * reading
    )  # measured 4 to 5 on a quiet machine, 12 on a busy one; the history takes half of it


def test_a_quarter_of_a_million_pairs_cost_at_most_a_hundred_times_one_signed_rank_test():
    random = np.random.default_rng(500)
    windrowed = random.normal(40, 5, 250_000)
    standing = windrowed + random.normal(0.5, 3, 250_000)
    years = 2000 + np.arange(250_000) % 20
    one_test, _ = seconds(lambda: stats.wilcoxon(standing - windrowed, method="asymptotic"), repeats=3)
    ours, found = seconds(
        lambda: compare(standing, windrowed, crop_year=years, measure="yield", unit="bu/ac", margin=1.0), repeats=1
    )
    assert found.field_years == 250_000
    assert ours < 100 * one_test  # measured 16 alone, 42 beside the browsers
