"""Files by themselves: every fault at once, what is unlikely asked, nothing lost, nothing guessed."""

from datetime import date
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from analytics.errors import BadInput
from analytics.files import import_plan
from analytics.files.import_plan import plan_import
from analytics.records.faults import LISTED
from analytics.records.tables import TABLES
from tests.files.given import FARM, farm, incoming, incoming_of, loads, on_record, one_load, only_fault, sentences

SAMPLE_RECORDS = Path(__file__).resolve().parents[2] / "sample_records"


def test_the_demo_farm_has_no_fault():
    found = import_plan.read_incoming(SAMPLE_RECORDS)
    assert sentences(plan_import(found, {})) == []
    assert set(import_plan.REQUIRED_FILES) < set(found.tables)


def test_a_clean_farm_has_no_fault_and_its_types_are_those_of_the_records():
    found = farm()
    assert (found.faults, found.questions) == ((), ())
    for name, frame in found.tables.items():
        assert frame.schema == pl.Schema(TABLES[name].polars_schema())
    assert found.tables["loads"].row(0) == (
        *(2024, "Home", "north", "1187", date(2024, 9, 14), 18620.0, 8.9, 1.2),
        "certified scale",
    )


def test_a_row_that_names_a_plot_and_nothing_else_waits_to_be_filled_in() -> None:
    found = farm(loads=FARM["loads"] + "2024,Home,north,,,,,,\n2024,Home,south,,,,,,\n")
    assert not found.fault_count
    assert found.tables["loads"].height == 2
    assert "loads.csv: 2 row(s) name a plot and nothing else, and were passed over." in found.remarks


def test_a_row_with_a_weight_and_no_ticket_is_a_fault_still() -> None:
    found = farm(loads=FARM["loads"] + "2024,Home,north,,,18620,,,\n")
    assert [(fault.row, fault.column) for fault in found.faults] == [(4, "ticket")]


def test_every_fault_of_every_file_is_listed_at_once():
    found = farm(
        fields="field,acres\nHome,abc\n",
        loads=loads("2024,Home,north,1,2024-13-01,18620,95,1.2,eye", "2024,Home,north,2,2024-09-14,x,8.9,1.2,eye"),
    )
    assert [fault.partition(":")[0] for fault in sentences(found)] == [
        "fields.csv, row 2, acres",
        "loads.csv, row 2, delivered_on",
        "loads.csv, row 2, weighed_by",
        "loads.csv, row 2, moisture_pct",
        "loads.csv, row 3, weight_kg",
        "loads.csv, row 3, weighed_by",
    ]


def test_a_row_that_could_not_be_cut_does_not_shift_the_rows_after_it():
    found = farm(loads=loads("2024,Home,north", "2024,Home,north,2,2024-09-14,x,8.9,1.2,grain cart"))
    assert [fault.partition(":")[0] for fault in sentences(found)] == [
        "loads.csv, row 2",
        "loads.csv, row 3, weight_kg",
    ]


@pytest.mark.parametrize(
    ("table", "header", "row", "message"),
    [
        (
            "samples",
            "crop_year,field,plot,sample,seeds_crushed,green_seeds",
            "2024,Home,north,1,12,13",
            "green_seeds and seeds_crushed: 13 and 12 given; allowed no more green seeds than were crushed. "
            "Were the two numbers exchanged?",
        ),
        (
            "samples",
            "crop_year,field,plot,sample,seeds_crushed,green_seeds",
            "2024,Home,north,1,,13",
            "green_seeds and seeds_crushed: 13 and (blank) given",
        ),
        (
            "samples",
            "crop_year,field,plot,sample,thousand_seed_g",
            "2024,Home,north,1,36",
            "36 given; allowed a number from 1 to 10. Was a decimal mark left out?",
        ),
        (
            "loss_checks",
            "crop_year,field,plot,checked_on,place,spot,seeds,grams,area_m2,cut_width_m,discharge_width_m",
            "2024,Home,north,2024-09-14,pan behind combine,1,50,,0.25,3,9",
            "allowed a discharge no wider than the cut. Were the two widths exchanged?",
        ),
        (
            "loss_checks",
            "crop_year,field,plot,checked_on,place,spot,seeds,grams,area_m2,cut_width_m,discharge_width_m,loss_pct",
            "2024,Home,north,2024-09-14,pan behind combine,1,,,0.25,9,3,",
            "seeds and grams and loss_pct: (blank) and (blank) and (blank) given; allowed seeds counted, grams weighed",
        ),
        (
            "plots",
            "crop_year,field,plot,method,windrowed_on,harvested_on",
            "2024,Home,south,windrowed,2024-09-10,2024-08-28",
            "harvested_on and windrowed_on: 2024-08-28 and 2024-09-10 given; allowed combined on the day of windrowing",
        ),
        (
            "plots",
            "crop_year,field,plot,method,windrowed_on",
            "2024,Home,south,standing,2024-08-28",
            "allowed no windrowing day for a standing plot.",
        ),
    ],
)
def test_rules_between_columns_are_told_in_words(table, header, row, message):
    fault = only_fault(incoming(**{table: f"{header}\n{row}\n"}))
    assert fault.startswith(f"{table}.csv, row 2, ")
    assert message in fault


def test_a_rule_is_not_named_when_one_of_its_cells_could_not_be_read():
    header = "crop_year,field,plot,checked_on,place,spot,seeds,grams,area_m2"
    row = "2024,Home,north,2024-09-14,ground behind header,1,fifty,,0.25"
    assert "seeds: fifty given" in only_fault(incoming(loss_checks=f"{header}\n{row}\n"))


@pytest.mark.parametrize(
    ("column", "text", "usual"),
    [("moisture_pct", "3.9", "4 to 16"), ("moisture_pct", "16.1", "4 to 16"), ("dockage_pct", "8.5", "up to 8")],
)
def test_a_value_that_is_possible_but_unlikely_is_a_question_and_no_fault(column, text, usual):
    found = one_load(**{column: text})
    assert found.faults == ()
    (question,) = found.questions
    assert str(question).startswith(f"loads.csv, row 2, {column}: {text} given; usual is {usual}.")
    assert (found.question_count, one_load(moisture_pct="16").question_count) == (1, 0)


def test_a_blank_label_interval_is_a_question():
    header = "crop_year,field,plot,method,preharvest_on"
    found = incoming(plots=f"{header}\n2024,Home,north,standing,2024-09-01\n")
    assert (found.fault_count, found.question_count) == (0, 1)
    assert "Type the interval from the label" in str(found.questions[0])


def test_a_key_given_twice_is_a_fault_that_names_both_rows():
    load = "2024,Home,north,1187,2024-09-14,18620,8.9,1.2,certified scale"
    fault = only_fault(farm(loads=loads(load, load.replace("8.9", "9.0"))))
    assert fault.startswith("loads.csv, row 3, crop_year / field / plot / ticket: 2024 / Home / north / 1187 given")
    assert "Row 2 has the same" in fault


def test_weather_of_the_whole_farm_has_a_blank_field_in_its_key():
    day = "2024-09-12,,wind,70\n"
    assert incoming(weather=f"happened_on,field,event,reading\n{day}2024-09-12,Home,wind,70\n").fault_count == 0
    assert incoming(weather=f"happened_on,field,event,reading\n{day}{day}").fault_count == 1


def test_weather_in_a_file_without_a_field_is_of_the_whole_farm():
    plan = plan_import(incoming(weather="happened_on,event\n2024-09-11,wind\n"), {}, needs_all=False)
    assert plan.faults == ()
    assert plan.tables["weather"].new.select("field", "event").rows() == [(None, "wind")]


def test_unknown_columns_are_named_with_the_one_that_may_be_meant():
    found = farm(loads=loads(header="crop_year,field,plot,ticket,moisture,colour"))
    remarks = " ".join(found.remarks)
    assert "loads.csv: column moisture is not one of loads and was left out; is moisture_pct meant?" in remarks
    assert "loads.csv: column colour is not one of loads and was left out." in remarks
    assert "loads.csv has no delivered_on, weight_kg, moisture_pct, dockage_pct, weighed_by: blank in new" in remarks


def test_a_missing_column_that_is_needed_is_one_fault():
    fault = only_fault(farm(loads="crop_year,field,ticket\n2024,Home,1\n2024,Home,2\n"))
    assert fault.startswith("loads.csv, row 1, plot: no such column given")


def test_a_million_faults_are_counted_and_the_first_listed():
    found = farm(loads=loads(*(f"2024,Home,north,{number},x,x,8.9,1,eye" for number in range(1000))))
    assert (len(found.faults), found.fault_count) == (LISTED, 3000)


def test_a_single_csv_needs_the_name_of_a_table(tmp_path):
    (tmp_path / "tickets.csv").write_text(FARM["loads"])
    with pytest.raises(BadInput, match=r"tickets\.csv; allowed fields, plantings"):
        import_plan.read_incoming(tmp_path / "tickets.csv")
    (tmp_path / "loads.csv").write_text(FARM["loads"])
    assert list(import_plan.read_incoming(tmp_path / "loads.csv").tables) == ["loads"]


def test_a_workbook_holds_the_same_as_the_folder(tmp_path):
    with xlsxwriter.Workbook(str(tmp_path / "farm.xlsx")) as book:
        for name, text in FARM.items():
            sheet = book.add_worksheet(name)
            for row, line in enumerate(text.splitlines()):
                for column, cell in enumerate(line.split(",")):
                    sheet.write_number(row, column, float(cell)) if cell.isdigit() else sheet.write(row, column, cell)
    for name, frame in import_plan.read_incoming(tmp_path / "farm.xlsx").tables.items():
        assert frame.equals(on_record()[name]), name


def test_a_day_far_from_its_crop_year_is_asked_about():
    files = [
        ("fields.csv", b"field,acres\nNorth,160\n"),
        ("plots.csv", b"crop_year,field,plot,method,acres\n2024,North,whole,standing,160\n"),
        (
            "loads.csv",
            b"crop_year,field,plot,ticket,delivered_on,weight_kg\n"
            b"2024,North,whole,1,2025-12-31,18000\n2024,North,whole,2,2026-01-01,18000\n",
        ),
    ]
    incoming = incoming_of(files)
    assert incoming.faults == ()
    assert [(question.row, question.remedy) for question in incoming.questions] == [(3, "Check the year.")]


def test_seeds_and_grams_of_one_spot_are_asked_about():
    header = b"crop_year,field,plot,checked_on,place,spot,seeds,grams,area_m2\n"
    incoming = incoming_of(
        [("loss_checks.csv", header + b"2024,North,whole,2024-09-01,ground before harvest,1,120,0.4,0.25\n")]
    )
    assert [question.remedy for question in incoming.questions] == ["With both, the grams are used."]
