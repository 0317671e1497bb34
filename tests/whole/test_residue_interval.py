"""Days from a pre-harvest product to the first cut: counted once, and a short interval is told wherever it is met.

The case throughout: sprayed on 20 August, windrowed on 22 August, combined on 5 September, 14 days on the label. The
first cut is two days after the product, not sixteen.
"""

from collections.abc import Callable, Iterator
from datetime import date
from itertools import product
from pathlib import Path

import duckdb
import polars as pl
import pytest
from typer.testing import CliRunner

from analytics.answer.review import review
from analytics.cli import app
from analytics.entry.checked_rows import read_rows
from analytics.entry.row_words import understood
from analytics.entry.typed_rows import Row
from analytics.files import import_plan
from analytics.files.importing import bring_in, import_lines, look_at
from analytics.health import examine_records
from analytics.pairs.one_pair import one_pair
from analytics.records.grown_tables import PLOTS
from analytics.records.tables import TABLES
from analytics.sheet.content import PrintedSheet, Reader
from analytics.statistics.results import Comparison
from analytics.storage.backups import path_of
from analytics.storage.database import open_records, read_table
from analytics.trade.cautions import LABEL
from analytics.trade.days import HEADING, days_to_first_cut, interval_doubt, interval_doubts
from tests.conftest import small_records
from tests.prepared import begun

TOO_SHORT = (
    "Long eighty, west, 2022: only 2 days from the product to the first cut; by these records the label asks for 14."
)
CASE = {
    "crop_year": 2022,
    "field": "Long eighty",
    "plot": "west",
    "method": "windrowed",
    "acres": 80.0,
    "preharvest_on": date(2022, 8, 20),
    "preharvest_interval_days": 14.0,
    "windrowed_on": date(2022, 8, 22),
    "harvested_on": date(2022, 9, 5),
}
Tiny = Callable[..., duckdb.DuckDBPyConnection]
FARM = {"fields": [{"field": "Long eighty"}], "plots": [CASE]}


def typed(**changed: object) -> Row:
    """A plot as typed on the entry screen, and as it was understood."""
    texts = {name: "" if value is None else str(value) for name, value in (CASE | changed).items()}
    records = {name: table.empty() for name, table in TABLES.items()}
    records["fields"] = pl.DataFrame([{"field": "Long eighty"}], schema=TABLES["fields"].polars_schema())
    (row,) = read_rows(PLOTS, [texts], fixed={}, units={}, records=records)
    return row


def said_beside(row: Row) -> str:
    records = {name: table.empty() for name, table in TABLES.items()}
    return understood(PLOTS, [row], records, yield_unit="bu/ac", level=0.95)[0]


def files(folder: Path, **changed: object) -> Path:
    """The farm as files to bring in."""
    (folder / "fields.csv").write_text("field\nLong eighty\n")
    row = {name: "" if value is None else str(value) for name, value in (CASE | changed).items()}
    (folder / "plots.csv").write_text(f"{','.join(row)}\n{','.join(row.values())}\n")
    (folder / "loads.csv").write_text("crop_year,field,plot,ticket\n")
    return folder


def brought(folder: Path) -> list[str]:
    with begun(folder / "records.duckdb") as connection:
        return import_lines(bring_in(connection, folder, done_by="test"))


# --- while it is typed


def test_beside_a_typed_plot_the_days_count_to_the_first_cut() -> None:
    assert said_beside(typed()) == "= 14 days in the windrow, 2 days from the product to the first cut (label: 14)"


def test_beside_a_standing_plot_combining_is_the_first_cut() -> None:
    row = typed(method="standing", windrowed_on=None, harvested_on="2022-08-25")
    assert said_beside(row) == "= 5 days from the product to the first cut (label: 14)"


def test_a_short_interval_is_asked_about_before_it_is_saved() -> None:
    row = typed()
    assert not row.is_kept
    assert any(doubt.startswith(TOO_SHORT) for doubt in row.unlikely)


def test_an_interval_that_is_kept_to_the_day_asks_nothing() -> None:
    assert typed(windrowed_on="2022-09-03").unlikely == ()


def test_a_product_dated_after_windrowing_is_refused() -> None:
    row = typed(preharvest_on="2022-08-23")
    assert any("windrowed on the day of the pre-harvest product or later" in refusal for refusal in row.refused)


# --- files


def test_a_short_interval_in_a_file_is_named_before_and_after_it_is_brought_in(tmp_path: Path) -> None:
    folder = files(tmp_path)
    with begun(tmp_path / "looked.duckdb") as connection:
        looked = look_at(connection, import_plan.read_incoming(folder))
    assert looked.sound.interval_doubts == (TOO_SHORT,)
    said = brought(folder)
    assert said[0] == f"{HEADING}:"
    assert said[1].strip() == TOO_SHORT
    assert said[2].strip() == LABEL


def test_a_file_in_which_every_interval_is_kept_says_nothing_of_it(tmp_path: Path) -> None:
    assert not any(HEADING in line for line in brought(files(tmp_path, windrowed_on="2022-09-03")))


def test_a_product_after_windrowing_in_a_file_is_refused_with_the_row(tmp_path: Path) -> None:
    (fault,) = import_plan.plan_import(
        import_plan.read_incoming(files(tmp_path, preharvest_on="2022-08-23")), {}
    ).faults
    assert str(fault).startswith("plots.csv, row 2, windrowed_on and preharvest_on: 2022-08-22 and 2022-08-23 given;")
    assert "Were the two dates exchanged?" in str(fault)


# --- what is on record


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to records of the one plot of the case, and of no pair; nobody changes them."""
    path = tmp_path_factory.mktemp("farm") / "records.duckdb"
    with small_records(path, FARM):
        pass
    with open_records(path) as connection:  # with the backup of the day
        yield connection


def test_check_names_it_with_the_caution_though_the_plot_is_in_no_pair(farm: duckdb.DuckDBPyConnection) -> None:
    done = CliRunner().invoke(app, ["check", "--records", str(path_of(farm))])
    said = " ".join(done.stdout.split())
    assert done.exit_code == 0  # the file is safe
    assert said.startswith("Your records are safe")
    assert "Look now at what is named below: 1 plot, for the days from a product to the first cut." in said
    assert TOO_SHORT in said
    assert LABEL in said


def test_check_says_nothing_of_products_where_every_interval_is_kept(tiny: Tiny) -> None:
    health = examine_records(tiny({**FARM, "plots": [CASE | {"windrowed_on": date(2022, 9, 3)}]}), gaps=())
    assert health.interval_doubts == ()
    assert "product" not in health.first_line


def test_the_demo_is_asked_about_its_one_short_interval(demo: duckdb.DuckDBPyConnection) -> None:
    """sample_records/README: 2025, Willow quarter, east half: 12 of 14 days."""
    (doubt,) = interval_doubts(read_table(demo, "plots"))
    assert doubt.words.startswith("Willow quarter, east, 2025: only 12 days")


def test_the_answer_names_it_first(compared: dict[str, Comparison]) -> None:
    caution = compared["yield"].cautions[0]
    assert caution.code == "interval_short"
    assert "Willow quarter, east, 2025 (12 days, label 14)" in caution.text


def test_a_plot_outside_every_pair_is_named_in_the_answer(farm: duckdb.DuckDBPyConnection) -> None:
    assert "Long eighty, west, 2022 (2 days, label 14)" in review(farm, "green_seed").cautions[0].text


def test_the_pair_shows_the_days_with_what_the_label_asks(demo: duckdb.DuckDBPyConnection) -> None:
    pair = one_pair(demo, 2025, "H2")
    (fact,) = (fact for group in pair.groups for fact in group.facts if fact.label.startswith("days from spraying"))
    assert fact.standing == "12 (14)"
    assert "Willow quarter, east, 2025: only 12 days from the product to the first cut" in fact.caution


@pytest.mark.parametrize("reader", list(Reader))
def test_the_sheet_names_it_first_with_the_caution(demo_sheets: dict[Reader, PrintedSheet], reader: Reader) -> None:
    (cautions,) = (one for page in demo_sheets[reader].pages for one in page.bottom if one.heading == "Cautions")
    assert "Willow quarter, east, 2025 (12 days, label 14)" in cautions.bullets[0]
    assert cautions.bullets[1] == LABEL


# --- the rule itself, in Python while typing and in the view plot_timing for what is on record

AUGUST = [None, *(date(2024, 8, day) for day in (10, 12, 24, 31))]


def test_the_view_and_the_function_agree(connection: duckdb.DuckDBPyConnection) -> None:
    """On every order of three days, blank ones among them, and labels around them."""
    cases = product((True, False), AUGUST[:2], AUGUST, AUGUST, (None, 0.0, 2.0, 14.0, 14.5))
    rows = [
        {
            "crop_year": 2024,
            "field": "Home",
            "plot": str(number),
            "method": "windrowed" if is_windrowed else "standing",
            "preharvest_on": sprayed,
            "windrowed_on": windrowed if is_windrowed else None,
            "harvested_on": harvested,
            "preharvest_interval_days": label,
        }
        for number, (is_windrowed, sprayed, windrowed, harvested, label) in enumerate(cases)
    ]
    frame = pl.DataFrame(rows, schema=PLOTS.polars_schema())  # noqa: F841  # the statement reads it by this name
    connection.execute("insert into plots by name select * from frame")
    seen = {row["plot"]: row for row in read_table(connection, "plot_timing").iter_rows(named=True)}
    for row in rows:
        timed, doubt = seen[str(row["plot"])], interval_doubt(row)
        assert timed["days_after_product"] == days_to_first_cut(row)
        assert bool(timed["is_interval_short"]) == (doubt is not None and doubt.is_short)
    assert any(row["is_interval_short"] for row in seen.values())
