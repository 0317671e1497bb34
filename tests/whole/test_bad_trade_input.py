"""Slips of the trade, refused or questioned in plain words with the row; each beside the value that is just allowed."""

from functools import cache
from pathlib import Path

import polars as pl
import pytest

from analytics.entry.checked_rows import read_rows
from analytics.files.import_plan import Incoming, plan_import
from analytics.files.importing import bring_in, import_lines
from analytics.pairs.losses import questions_about
from analytics.pairs.work_names import work_questions
from analytics.records.tables import TABLES
from tests.files.given import incoming_of
from tests.prepared import begun

PLOT = "2024,Home,east"
FILES = {
    "fields": ("field,acres", "Home,100"),
    "plots": (
        "crop_year,field,plot,method,acres,windrowed_on,preharvest_on,preharvest_interval_days,harvested_on",
        f"{PLOT},windrowed,50,2024-08-20,,,2024-09-01",
    ),
    "loads": ("crop_year,field,plot,ticket,weight_kg,moisture_pct,dockage_pct", f"{PLOT},1,20000,9.5,1.5"),
    "samples": ("crop_year,field,plot,sample,seeds_crushed,green_seeds,thousand_seed_g", f"{PLOT},1,500,3,3.6"),
    "operations": ("crop_year,field,plot,done_on,operation,dollars_per_acre", f"{PLOT},2024-08-20,windrowing,13"),
    "loss_checks": (
        "crop_year,field,plot,checked_on,place,spot,grams,area_m2,cut_width_m,discharge_width_m",
        f"{PLOT},2024-09-01,pan behind combine,1,3.0,0.0929,9.0,1.5",
    ),
}


def files(**changed: str) -> list[tuple[str, bytes]]:
    """The files of one plot, all well, with the one row of some table changed."""
    return [(f"{name}.csv", f"{header}\n{changed.get(name, row)}\n".encode()) for name, (header, row) in FILES.items()]


@cache
def all_well() -> Incoming:
    return incoming_of(files())


def with_one_file(**changed: str) -> Incoming:
    """The file of the table that is changed, alone; the rest of the plot is on record."""
    return incoming_of([(name, content) for name, content in files(**changed) if Path(name).stem in changed])


def faults(**changed: str) -> list[str]:
    return [str(fault) for fault in plan_import(with_one_file(**changed), all_well().tables).faults]


def questions(**changed: str) -> list[str]:
    return [str(question) for question in with_one_file(**changed).questions]


def test_a_plot_that_is_all_well_raises_nothing() -> None:
    assert (plan_import(all_well(), {}).faults, all_well().questions) == ((), ())


@pytest.mark.parametrize(
    ("moisture", "likely"),
    [
        ("0", "If it is not known, leave it blank."),
        ("1.9", "Was a decimal mark left out?"),
        ("30.1", "Was a decimal mark left out?"),
        ("85", "Was a decimal mark left out?"),
    ],
)
def test_moisture_that_cannot_be_is_refused(moisture: str, likely: str) -> None:
    assert faults(loads=f"{PLOT},1,20000,{moisture},1.5") == [
        f"loads.csv, row 2, moisture_pct: {moisture} given; allowed a number from 2 to 30. {likely}"
    ]


@pytest.mark.parametrize("moisture", ["2", "30"])
def test_moisture_at_the_edge_is_questioned_only(moisture: str) -> None:
    row = f"{PLOT},1,20000,{moisture},1.5"
    assert faults(loads=row) == []
    assert questions(loads=row)[0].startswith(f"loads.csv, row 2, moisture_pct: {moisture} given; usual is ")


@pytest.mark.parametrize("dockage", ["100", "50.1", "-0.1"])
def test_dockage_that_cannot_be_is_refused(dockage: str) -> None:
    assert faults(loads=f"{PLOT},1,20000,9.5,{dockage}") == [
        f"loads.csv, row 2, dockage_pct: {dockage} given; allowed a number from 0 to 50. Was a decimal mark left out?"
    ]


def test_dockage_of_8_is_believed_and_a_little_more_questioned() -> None:
    assert questions(loads=f"{PLOT},1,20000,9.5,8") == []
    assert "dockage_pct: 8.1 given" in questions(loads=f"{PLOT},1,20000,9.5,8.1")[0]


def test_13_green_of_12_crushed_is_refused_and_12_of_12_is_not() -> None:
    (fault,) = faults(samples=f"{PLOT},1,12,13,3.6")
    assert fault.startswith("samples.csv, row 2, green_seeds and seeds_crushed: 13 and 12 given; ")
    assert "no more green seeds than were crushed. Were the two numbers exchanged?" in fault
    assert faults(samples=f"{PLOT},1,12,12,3.6") == []


def test_a_green_count_without_the_number_crushed_is_refused() -> None:
    (fault,) = faults(samples=f"{PLOT},1,,3,3.6")
    assert "a count without it is no percent" in fault


@pytest.mark.parametrize("seed_weight", ["36", "0.36", "10.1"])
def test_a_seed_weight_with_a_slipped_decimal_is_refused(seed_weight: str) -> None:
    assert faults(samples=f"{PLOT},1,500,3,{seed_weight}") == [
        f"samples.csv, row 2, thousand_seed_g: {seed_weight} given; allowed a number from 1 to 10. "
        "Was a decimal mark left out?"
    ]


def test_a_discharge_wider_than_the_cut_is_refused_and_as_wide_is_not() -> None:
    pan = f"{PLOT},2024-09-01,pan behind combine,1,3.0,0.0929"
    (fault,) = faults(loss_checks=f"{pan},9.0,9.1")
    assert fault.startswith("loss_checks.csv, row 2, discharge_width_m and cut_width_m: 9.1 and 9 given; ")
    assert "a discharge no wider than the cut. Were the two widths exchanged?" in fault
    assert faults(loss_checks=f"{pan},9.0,9.0") == []


def test_a_pan_without_its_widths_is_refused() -> None:
    (fault,) = faults(loss_checks=f"{PLOT},2024-09-01,pan behind combine,1,3.0,0.0929,,")
    assert "A pan sees concentrated loss; without both widths it says nothing." in fault


def test_combined_before_windrowed_is_refused_and_on_the_day_is_not() -> None:
    (fault,) = faults(plots=f"{PLOT},windrowed,50,2024-08-20,,,2024-08-19")
    assert fault.startswith("plots.csv, row 2, harvested_on and windrowed_on: ")
    assert "combined on the day of windrowing or later. Were the two dates exchanged?" in fault
    assert faults(plots=f"{PLOT},windrowed,50,2024-08-20,,,2024-08-20") == []


def test_a_blank_label_interval_beside_a_product_is_questioned_and_not_refused() -> None:
    row = f"{PLOT},windrowed,50,2024-08-20,2024-08-12,,2024-09-01"
    assert faults(plots=row) == []
    (question,) = questions(plots=row)
    assert question.startswith("plots.csv, row 2, preharvest_on and preharvest_interval_days: ")
    assert "Type the interval from the label; without it the days cannot be checked." in question
    assert questions(plots=f"{PLOT},windrowed,50,2024-08-20,2024-08-12,7,2024-09-01") == []


def brought(folder: Path, **changed: str) -> list[str]:
    """What an import of the files, with rows changed, says."""
    for name, content in files(**changed):
        (folder / name).write_bytes(content)
    with begun(folder / "records.duckdb", thrown_away=True) as connection:
        done = bring_in(connection, folder, done_by="test")
        return import_lines(done, questions_about(connection, done.plots), work_questions(connection, done.work))


@pytest.fixture(scope="module")
def said_after_slips(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """What is said after an import with a pan too full, too little seed behind the header, and a job of its own."""
    measured = f"{PLOT},2024-09-01"
    pan = f"{measured},pan behind combine,1,300,0.0929,9.0,1.5"
    ground = f"{measured},ground after windrower,1,2.0,1.0,,\n{measured},ground behind header,1,1.0,1.0,,"
    work = f"{PLOT},2024-08-12,custom spray job,9.50\n{PLOT},2024-08-20,swath,14.50"
    return brought(tmp_path_factory.mktemp("slips"), loss_checks=f"{pan}\n{ground}", operations=work)


def test_a_pan_that_holds_more_than_the_yield_is_questioned_after_the_import(said_after_slips: list[str]) -> None:
    harvested = "more than the 17.4 that were harvested. Check grams, area and widths."
    assert any(harvested in line for line in said_after_slips)


def test_less_seed_behind_the_header_than_before_is_questioned_after_the_import(said_after_slips: list[str]) -> None:
    less = "less seed lay on the ground behind the header than before it"
    assert any(less in line for line in said_after_slips)


def test_field_work_that_sounds_like_a_job_with_a_rate_is_questioned_after_the_import(
    said_after_slips: list[str],
) -> None:
    at = said_after_slips.index("Field work that may be charged twice:")
    assert said_after_slips[at + 1].startswith('  "custom spray job" counts as work of its own, besides application.')
    assert not any("swath" in line for line in said_after_slips)


def test_an_import_that_is_all_well_asks_nothing(tmp_path: Path) -> None:
    assert not [line for line in brought(tmp_path) if line.endswith(":")]  # every heading of questions does


OF_A_PLOT = {"crop_year": 2024, "field": "Home", "plot": "east"}
OF_A_YEAR = {"crop_year": 2024}
ON_RECORD = {name: table.empty() for name, table in TABLES.items()} | {
    "fields": pl.DataFrame([{"field": "Home"}], schema=TABLES["fields"].polars_schema()),
    "plots": pl.DataFrame([OF_A_PLOT | {"method": "windrowed"}], schema=TABLES["plots"].polars_schema()),
}
PAN = {"checked_on": "2024-09-01", "place": "pan behind combine", "spot": "1", "grams": "3", "area_m2": "0.0929"}
PRODUCT = {"field": "Home", "plot": "east", "method": "windrowed", "preharvest_on": "2024-08-12"}


@pytest.mark.parametrize(
    ("table", "typed", "fixed", "said"),
    [
        ("loads", {"ticket": "1", "moisture_pct": "0"}, OF_A_PLOT, "a number from 2 to 30"),
        ("loads", {"ticket": "1", "moisture_pct": "85"}, OF_A_PLOT, "a number from 2 to 30"),
        ("loads", {"ticket": "1", "dockage_pct": "100"}, OF_A_PLOT, "a number from 0 to 50"),
        (
            "samples",
            {"sample": "1", "seeds_crushed": "12", "green_seeds": "13"},
            OF_A_PLOT,
            "no more green seeds than were crushed",
        ),
        ("samples", {"sample": "1", "thousand_seed_g": "36"}, OF_A_PLOT, "a number from 1 to 10"),
        (
            "loss_checks",
            PAN | {"cut_width_m": "1.5", "discharge_width_m": "9"},
            OF_A_PLOT,
            "a discharge no wider than the cut",
        ),
        (
            "plots",
            PRODUCT | {"preharvest_on": "", "windrowed_on": "2024-08-20", "harvested_on": "2024-08-19"},
            OF_A_YEAR,
            "combined on the day of windrowing or later",
        ),
    ],
)
def test_the_same_slips_typed_on_the_screen_are_refused(
    table: str, typed: dict[str, str], fixed: dict[str, object], said: str
) -> None:
    (row,) = read_rows(TABLES[table], [typed], fixed=fixed, units={}, records=ON_RECORD)
    assert any(said in refusal for refusal in row.refused)
    assert not row.is_kept


def test_a_blank_label_interval_typed_on_the_screen_is_questioned() -> None:
    (row,) = read_rows(TABLES["plots"], [PRODUCT], fixed=OF_A_YEAR, units={}, records=ON_RECORD)
    assert row.refused == ()
    assert any("Type the interval from the label" in doubt for doubt in row.unlikely)
