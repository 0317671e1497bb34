"""From files to what would change in the records: every fault at once, nothing lost, nothing guessed."""

import io
import re
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.errors import BadInput, StandrowError
from analytics.files import import_plan
from analytics.files.import_plan import ImportPlan, Incoming, plan_import
from analytics.records.cell_text import as_text
from analytics.records.faults import LISTED
from analytics.records.tables import TABLES
from tests.files.given import incoming_of

SAMPLE_RECORDS = Path(__file__).resolve().parents[2] / "sample_records"

FARM = {
    "fields": "field,acres\nHome,160\nEast,80\n",
    "plots": "crop_year,field,plot,method,acres,windrowed_on,harvested_on\n"
    "2024,Home,north,standing,80,,2024-09-14\n"
    "2024,Home,south,windrowed,80,2024-08-28,2024-09-10\n",
    "pairs": "crop_year,pair,standing_field,standing_plot,windrowed_field,windrowed_plot,layout\n"
    "2024,H1,Home,north,Home,south,split field\n",
    "loads": "crop_year,field,plot,ticket,delivered_on,weight_kg,moisture_pct,dockage_pct,weighed_by\n"
    "2024,Home,north,1187,2024-09-14,18620,8.9,1.2,certified scale\n"
    "2024,Home,south,1188,2024-09-10,20310,9.4,1.0,certified scale\n",
}


def incoming(**files: str) -> Incoming:
    return incoming_of([(f"{name}.csv", text.encode()) for name, text in files.items()])


def farm(**changed: str) -> Incoming:
    """The farm of two plots with some files changed."""
    return incoming(**{**FARM, **changed})


@cache
def on_record() -> dict[str, pl.DataFrame]:
    return farm().tables


def sentences(found: Incoming | ImportPlan) -> list[str]:
    return [str(fault) for fault in found.faults]


def loads(*rows: str, header: str = FARM["loads"].splitlines()[0]) -> str:
    return "\n".join([header, *rows]) + "\n"


def one_load(**cells: str) -> Incoming:
    """The farm with one load in which some cells are changed."""
    row = {
        "crop_year": "2024",
        "field": "Home",
        "plot": "north",
        "ticket": "1187",
        "delivered_on": "2024-09-14",
        "weight_kg": "18620",
        "moisture_pct": "8.9",
        "dockage_pct": "1.2",
        "weighed_by": "certified scale",
    } | cells
    return farm(loads="\t".join(row) + "\n" + "\t".join(row.values()) + "\n")


def load_value(column: str, text: str) -> object:
    found = one_load(**{column: text})
    assert sentences(found) == []
    return found.tables["loads"][column][0]


def only_fault(found: Incoming | ImportPlan) -> str:
    (fault,) = sentences(found)
    return fault


# Reading


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


def test_the_demo_farm_has_no_fault():
    found = import_plan.read_incoming(SAMPLE_RECORDS)
    assert sentences(plan_import(found, {})) == []
    assert set(import_plan.REQUIRED_FILES) < set(found.tables)


@pytest.mark.parametrize(
    ("column", "text", "value"),
    [
        ("moisture_pct", "8,9", 8.9),
        ("moisture_pct", "8.9%", 8.9),
        ("weight_kg", "18 620", 18620.0),
        ("weight_kg", "18,620.5", 18620.5),
        ("weight_kg", "", None),
        ("delivered_on", "14 Sep 2024", date(2024, 9, 14)),
        ("delivered_on", "14 Sep", date(2024, 9, 14)),
        ("delivered_on", "2024-09-14 13:30", date(2024, 9, 14)),
        ("weighed_by", "Certified SCALE", "certified scale"),
        ("ticket", "=1187", "=1187"),
        ("ticket", "'=1187", "=1187"),
        ("ticket", "0417", "0417"),
    ],
)
def test_a_cell_is_read_as_it_was_meant(column, text, value):
    assert load_value(column, text) == value


@pytest.mark.parametrize(
    ("column", "text", "message"),
    [
        ("moisture_pct", "95", "95 given; allowed a number from 2 to 30. Was a decimal mark left out?"),
        ("moisture_pct", "85", "85 given; allowed a number from 2 to 30."),
        ("moisture_pct", "0", "0 given; allowed a number from 2 to 30."),
        ("moisture_pct", "1.9", "1.9 given; allowed"),
        ("moisture_pct", "30.1", "30.1 given; allowed"),
        ("dockage_pct", "100", "100 given; allowed a number from 0 to 50."),
        ("weight_kg", "1,23,4", "1,23,4 given; allowed a number from 1 to"),
        ("weight_kg", "1,234,5", "More than one decimal mark."),
        ("weight_kg", "eighteen", "Not a number."),
        ("weight_kg", "nan", "Not a number."),
        ("weight_kg", "inf", "Not a number."),
        ("weight_kg", "1e", "Not a number."),
        ("weight_kg", "2147483648000000", "Larger than any number on a farm."),
        ("weight_kg", "-18620", "-18620 given; allowed a number from 1 to"),
        ("crop_year", "2024.5", "Not a whole number."),
        ("crop_year", "1979", "1979 given; allowed a whole number from 1980 to 2100."),
        ("crop_year", "2101", "2101 given; allowed a whole number from 1980 to 2100."),
        ("delivered_on", "04/05/2024", "Could be 2024-04-05 or 2024-05-04; type year-month-day."),
        ("delivered_on", "2024-02-30", "There is no such day."),
        ("weighed_by", "certifed scale", "Is certified scale meant?"),
        ("weighed_by", "eye", "allowed certified scale, grain cart, bin measure, yield monitor."),
        ("ticket", "", "nothing given; allowed up to 100 letters. Fill it in."),
        ("ticket", "x" * 101, "allowed up to 100 letters."),
    ],
)
def test_a_cell_that_cannot_stand_is_a_fault_with_its_row_and_column(column, text, message):
    fault = only_fault(one_load(**{column: text}))
    assert fault.startswith(f"loads.csv, row 2, {column}: ")
    assert message in fault


@pytest.mark.parametrize("text", ["2", "30"])
def test_the_limits_themselves_are_allowed(text):
    assert load_value("moisture_pct", text) == float(text)


@pytest.mark.parametrize(
    ("text", "value"),
    [("yes", True), ("Y", True), ("TRUE", True), ("no", False), ("n", False), ("False", False), ("", None)],
)
def test_yes_and_no_may_be_typed_in_several_ways(text, value):
    found = incoming(plantings=f"crop_year,field,shatter_tolerant\n2024,Home,{text}\n")
    assert sentences(found) == []
    assert found.tables["plantings"]["shatter_tolerant"].to_list() == [value]


def test_a_point_before_three_digits_is_refused_beside_decimal_commas():
    """18.620 is a decimal in most files, eighteen thousand in a file that writes 8,9."""
    assert load_value("weight_kg", "18.620") == 18.62
    fault = only_fault(one_load(weight_kg="18.620", moisture_pct="8,9"))
    assert "Could be 18620 or 18.620, as this file has decimal commas." in fault


def test_one_comma_before_three_digits_is_refused_where_nothing_settles_it():
    fault = only_fault(one_load(weight_kg="22,910", moisture_pct="9", dockage_pct="1"))
    assert "22,910 given" in fault
    assert "Could be 22910 or 22.910; type it without the comma." in fault
    fault = only_fault(one_load(weight_kg="22,910", moisture_pct="8,9", dockage_pct="1"))
    assert "Could be 22910 or 22.910" in fault


def test_a_comma_is_thousands_where_the_numbers_of_the_file_have_points_and_that_is_said():
    found = one_load(weight_kg="22,910", moisture_pct="8.9")
    assert found.tables["loads"]["weight_kg"][0] == 22910
    assert (
        "loads.csv: 1 number(s) in weight_kg, 22,910 the first, were read as thousands, as the other numbers say."
        in found.remarks
    )


def test_what_the_farm_said_of_the_comma_counts_only_where_nothing_in_the_file_says_otherwise(tmp_path):
    file = tmp_path / "loads.csv"

    def read_with(moisture: str) -> Incoming:
        head = "crop_year,field,plot,ticket,weight_kg,moisture_pct"
        file.write_text(f"{head}\n2024,Home,north,1,'22,910',{moisture}\n".replace("'", '"'))
        return import_plan.read_incoming(file, comma="thousands")

    assert read_with("9").tables["loads"]["weight_kg"].to_list() == [22_910]
    assert "Could be 22910 or 22.910" in only_fault(read_with('"8,9"'))


@pytest.mark.parametrize(
    ("texts", "numbers"),
    [
        (["22,910", "1,022,910"], [22910, 1022910]),
        (["22,910", "950", "1,234.5"], [22910, 950, 1234.5]),
        (["22.910", "1.022.910"], [22910, 1022910]),
        (["22.910", "1.234,5"], [22910, 1234.5]),
        (["22,910", "8,5"], None),
        (["22,910", "1.022.910"], None),
        (["22.910", "950.5"], [22.91, 950.5]),
    ],
)
def test_thousands_are_settled_once_for_a_column_as_a_whole(texts, numbers):
    rows = "".join(f"2024\tHome\tnorth\t{place}\t{text}\n" for place, text in enumerate(texts))
    found = incoming(loads="crop_year\tfield\tplot\tticket\tweight_kg\n" + rows)
    if numbers is None:
        assert found.fault_count >= 1
    else:
        assert sentences(found) == []
        assert found.tables["loads"]["weight_kg"].to_list() == numbers


def test_whole_numbers_obey_the_decimal_mark_of_the_file():
    """Stored as 2 seeds before, without a question."""
    head = "crop_year;field;plot;checked_on;place;spot;seeds;area_m2\n"
    row = "2024;Home;north;2024-09-14;pan behind combine;1;2.000;"
    assert "Could be 2000 or 2.000, as this file has decimal commas." in only_fault(
        incoming(loss_checks=f"{head}{row}0,25\n")
    )
    assert "Could be 2000 or 2.000, as only whole numbers stand here." in only_fault(
        incoming(loss_checks=f"{head}{row}1\n")
    )
    found = incoming(loss_checks=f"{head}{row}0.25\n")
    assert found.tables["loss_checks"]["seeds"][0] == 2


@pytest.mark.parametrize(("text", "number"), [("1e+05", 100000), ("1.862E4", 18620), ("4.82e+03", 4820)])
def test_exponents_are_read_as_statistics_programs_write_them(text, number):
    assert load_value("weight_kg", text) == number


def test_na_is_a_blank_where_a_number_or_day_should_stand_and_then_everywhere():
    found = one_load(moisture_pct="NA", delivered_on="NA", weighed_by="NA")
    assert found.tables["loads"].select("moisture_pct", "delivered_on", "weighed_by").row(0) == (None, None, None)
    assert "loads.csv: NA was read as blank in 3 cell(s)." in found.remarks
    assert load_value("ticket", "NA") == "NA"
    assert "nothing given" in only_fault(one_load(moisture_pct="NA", ticket="NA"))


def test_a_sign_that_says_no_more_than_the_column_is_left_out():
    assert load_value("dockage_pct", "1.2 %") == 1.2
    found = incoming(operations="crop_year,field,plot,done_on,operation,dollars_per_acre\n2024,Home,,,swath,$22.50\n")
    assert found.tables["operations"]["dollars_per_acre"][0] == 22.5


def test_dates_without_a_year_are_read_in_the_crop_year_and_that_is_said():
    found = one_load(delivered_on="14 Sep")
    assert "loads.csv: 1 date(s) without a year were read as in the crop year of the row." in found.remarks
    weather = incoming(weather="happened_on,event\n14 Sep,wind\n")
    assert "The year is missing." in only_fault(weather)


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


# Comparing with the records


def test_into_empty_records_everything_is_new():
    planned = plan_import(farm(), {})
    assert (planned.new_count, planned.changed_count, planned.unchanged_count) == (7, 0, 0)
    assert not planned.is_empty
    assert planned.tables["loads"].saved.equals(on_record()["loads"])


def test_the_same_files_twice_change_nothing():
    planned = plan_import(farm(), on_record())
    assert planned.is_empty
    assert (planned.faults, planned.unchanged_count) == ((), 7)


def test_a_changed_cell_is_told_from_old_to_new_and_a_blank_counts():
    changed = FARM["loads"].replace("18620,8.9", "18640,").replace("1188", "1189")
    planned = plan_import(farm(loads=changed), on_record())
    assert [str(change) for change in planned.changes] == [
        "loads, 2024 / Home / north / 1187, weight_kg: 18620 -> 18640",
        "loads, 2024 / Home / north / 1187, moisture_pct: 8.9 -> (blank)",
    ]
    found = planned.tables["loads"]
    assert (found.new["ticket"].to_list(), found.changed["ticket"].to_list(), found.unchanged_count) == (
        ["1189"],
        ["1187"],
        0,
    )
    assert planned.faults == ()


def test_very_many_changes_are_counted_and_the_first_of_them_told():
    rows = [f"2024,Home,north,{ticket},2024-09-14,{{}},8.9,1.2,certified scale" for ticket in range(LISTED + 50)]
    before = farm(loads=loads(*(row.format(18620) for row in rows))).tables
    planned = plan_import(farm(loads=loads(*(row.format(18640) for row in rows))), before)
    assert (planned.changed_count, planned.change_count) == (LISTED + 50, LISTED + 50)
    assert len(planned.changes) == LISTED
    assert str(planned.changes[-1]) == f"loads, 2024 / Home / north / {LISTED - 1}, weight_kg: 18620 -> 18640"


def test_rows_that_the_file_does_not_have_stay_and_are_not_in_the_plan():
    planned = plan_import(farm(loads=loads()), on_record())
    assert planned.is_empty
    assert planned.tables["loads"].unchanged_count == 0


def test_a_column_that_the_file_does_not_have_is_left_as_it_is():
    found = farm(loads="crop_year,field,plot,ticket,moisture_pct\n2024,Home,north,1187,9.1\n2024,Home,north,1200,9\n")
    planned = plan_import(found, on_record())
    assert [str(change) for change in planned.changes] == [
        "loads, 2024 / Home / north / 1187, moisture_pct: 8.9 -> 9.1"
    ]
    assert planned.tables["loads"].changed["weight_kg"].to_list() == [18620]
    assert planned.tables["loads"].new["weight_kg"].to_list() == [None]


def test_rules_hold_for_the_row_as_it_will_be_with_the_columns_that_the_file_lacks():
    plots = "crop_year,field,plot,method,harvested_on\n2024,Home,south,windrowed,2024-08-20\n"
    found = farm(plots=plots)
    assert found.faults == ()
    assert "harvested_on and windrowed_on: 2024-08-20 and 2024-08-28 given" in only_fault(
        plan_import(found, on_record())
    )


def test_a_load_for_a_plot_that_does_not_exist_names_the_row_and_a_near_name():
    load = "2024,Hoem,north,1187,2024-09-14,18620,8.9,1.2,certified scale"
    fault = only_fault(plan_import(farm(loads=loads(load)), {}))
    assert fault == (
        "loads.csv, row 2, crop_year / field / plot: 2024 / Hoem / north given; allowed a row of plots. "
        "Is 2024 / Home / north meant?"
    )
    far = only_fault(plan_import(farm(loads=loads(load.replace("Hoem", "Riverbank"))), {}))
    assert far.endswith("Add it to plots, or correct the name.")


def test_a_reference_may_be_on_record_already():
    found = incoming(loads=FARM["loads"])
    assert plan_import(found, {name: frame for name, frame in on_record().items() if name != "loads"}).faults == ()


def test_files_needed_to_begin_are_asked_for_until_the_records_hold_them():
    found = incoming(fields=FARM["fields"])
    assert [fault.partition(":")[0] for fault in sentences(plan_import(found, {}))] == ["plots.csv", "loads.csv"]
    assert plan_import(found, on_record()).faults == ()
    assert (
        plan_import(farm(plots=FARM["plots"].splitlines()[0], pairs="", loads=loads()), {}).fault_count == 1
    )  # pairs is empty


def test_one_unreadable_key_does_not_make_faults_elsewhere():
    assert "crop_year: 2O24 given" in only_fault(
        plan_import(farm(plots=FARM["plots"].replace("2024,Home,n", "2O24,Home,n")), {})
    )
    assert "NUL" in only_fault(plan_import(farm(plots="\0"), {}))


def test_a_side_of_a_pair_has_to_be_harvested_its_way():
    exchanged = FARM["pairs"].replace("Home,north,Home,south", "Home,south,Home,north")
    found = sentences(plan_import(farm(pairs=exchanged), {}))
    assert [fault.partition(":")[0] for fault in found] == [
        "pairs.csv, row 2, standing_plot",
        "pairs.csv, row 2, windrowed_plot",
    ]
    assert "2024 / Home / south, windrowed, given; allowed a standing plot as the standing side of pair H1" in found[0]


def test_a_plot_on_record_in_a_pair_may_not_change_its_method():
    plots = FARM["plots"].replace("north,standing", "north,windrowed")
    fault = only_fault(plan_import(incoming(plots=plots), on_record()))
    assert fault.startswith("plots.csv, row 2, method: 2024 / Home / north, windrowed, given")


def test_a_plot_is_in_one_pair_only_whether_the_other_is_in_the_file_or_on_record():
    second = "2024,H2,Home,north,,,split field\n"
    both = only_fault(plan_import(farm(pairs=FARM["pairs"] + second), {}))
    header = FARM["pairs"].splitlines()[0]
    added = only_fault(plan_import(farm(pairs=f"{header}\n{second}"), on_record()))
    assert both.startswith(
        "pairs.csv, row 3, pair: 2024 / Home / north in pair H2 given; allowed each plot in one pair."
    )
    assert added.startswith("pairs.csv, row 2, pair: 2024 / Home / north in pair H2 given")
    assert both.endswith("It is in pair H1 already.")
    assert plan_import(farm(pairs=FARM["pairs"].replace("H1,Home,north", "H1,,")), on_record()).faults == ()


def test_a_pair_may_move_a_plot_that_another_pair_gives_up_in_the_same_file():
    header, first = FARM["pairs"].splitlines()
    moved = f"{header}\n{first.replace('Home,north', ',')}\n2024,H2,Home,north,,,split field\n"
    assert plan_import(farm(pairs=moved), on_record()).faults == ()


def test_faults_of_the_files_come_with_those_against_the_records():
    found = farm(loads=loads("2024,Hoem,north,1187,2024-09-14,18620,95,1.2,certified scale"))
    assert (found.fault_count, plan_import(found, {}).fault_count) == (1, 2)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (5e6, "5000000"),
        (18.62, "18.62"),
        (0.1 + 0.2, "0.3"),
        (None, "(blank)"),
        (False, "no"),
        (date(2024, 9, 1), "2024-09-01"),
    ],
)
def test_values_are_told_as_they_would_be_typed(value, text):
    assert as_text(value) == text


# Any text at all

CELL = st.one_of(
    st.text(alphabet="0123456789.,- %e", max_size=9),
    st.text(max_size=12),
    st.sampled_from(
        ["8.9", "8,9", "18 620", "1.234.567,8", "1.234", "2024-09-14", "14 Sep", "nan", "certified scale", "9" * 30]
    ),
)
LOAD = st.fixed_dictionaries(
    dict.fromkeys(("weight_kg", "moisture_pct", "dockage_pct", "delivered_on", "ticket"), CELL)
)


def meant(typed: str) -> Decimal:
    """What the text says: the last mark is the decimal mark, unless the same mark stands there more than once."""
    kept = re.sub(r"[\s\u2019']", "", typed).replace("\u2212", "-")
    if "e" in kept.lower():
        return Decimal(kept)
    marks = re.findall("[.,]", kept)
    digits = Decimal(re.sub("[.,]", "", kept))
    is_thousands = len(marks) > 1 and len(set(marks)) == 1
    return digits if is_thousands or not marks else digits.scaleb(-len(re.split("[.,]", kept)[-1]))


def check_load(cells: dict[str, str]) -> None:
    """Never anything but a message, and no number other than what its text says."""
    quoted = {name: '"' + text.replace('"', '""') + '"' for name, text in cells.items()}
    content = f"crop_year,field,plot,{','.join(cells)}\n2024,Home,north,{','.join(quoted.values())}\n"
    try:
        found = incoming(loads=content)
    except StandrowError:
        return
    if found.fault_count or "loads" not in found.tables:
        return
    if found.tables["loads"].is_empty():  # nothing was typed behind the name of the plot
        assert not any(text.strip() for text in cells.values())
        return
    for name in ("weight_kg", "moisture_pct", "dockage_pct"):
        value = found.tables["loads"][name][0]
        typed = cells[name].strip().removesuffix("%").strip()
        assert (value is None) == (typed in ("", "NA"))
        assert value is None or value == float(meant(typed)) or (value == is_said_to_be_thousands(name, typed, found))


def is_said_to_be_thousands(name: str, typed: str, found: Incoming) -> float | None:
    """The number with its comma or point taken for thousands, where the reader is told so."""
    said = [remark for remark in found.remarks if f" in {name}, " in remark and "read as thousands" in remark]
    return float(re.sub("[.,]", "", typed)) if said and re.fullmatch(r"[+-]?\d{1,3}[.,]\d{3}", typed) else None


@given(LOAD)
def test_any_load_is_refused_or_read_exactly(cells):
    check_load(cells)


@pytest.mark.slow
@settings(max_examples=10_000)
@given(LOAD)
def test_any_load_is_refused_or_read_exactly_10_000_times(cells):
    check_load(cells)


SHEET_CELL = st.one_of(CELL, st.floats(0, 1e6), st.integers(-5, 100_000))
SHEET_ROWS = st.lists(
    st.fixed_dictionaries(
        dict.fromkeys(("weight_kg", "moisture_pct", "dockage_pct"), SHEET_CELL) | {"delivered_on": CELL, "ticket": CELL}
    ),
    min_size=1,
    max_size=4,
)


def check_sheet(rows: list[dict[str, object]]) -> None:
    """A plan or a message; a number of the plan is what its cell says, to the 15 digits that a spreadsheet shows."""
    stream = io.BytesIO()
    with xlsxwriter.Workbook(
        stream, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    ) as book:
        sheet = book.add_worksheet("loads")
        sheet.write_row(0, 0, ["crop_year", "field", "plot", *rows[0]])
        for number, row in enumerate(rows, 1):
            sheet.write_row(number, 0, [2024, "Home", "north", *row.values()])
    try:
        found = incoming_of([("farm.xlsx", stream.getvalue())])
    except StandrowError:
        return
    planned = plan_import(found, on_record())
    assert planned.fault_count >= found.fault_count
    if planned.fault_count:
        return
    begun = [row for row in rows if any(str(cell).strip() for cell in row.values())]
    assert planned.new_count + planned.changed_count + planned.unchanged_count == len(begun)
    for name in ("weight_kg", "moisture_pct", "dockage_pct"):
        for value, row in zip(found.tables["loads"][name], begun, strict=True):
            cell = row[name] if isinstance(row[name], str) else f"{row[name]:.15g}"
            typed = cell.strip().removesuffix("%").strip()
            assert (value is None) == (typed in ("", "NA"))
            wanted = (float(meant(typed)) if isinstance(row[name], str) else float(cell)) if value is not None else None
            assert value == wanted or value == is_said_to_be_thousands(name, typed, found)


@settings(max_examples=40)
@given(SHEET_ROWS)
def test_any_sheet_is_a_plan_or_a_message(rows):
    check_sheet(rows)


@pytest.mark.slow
@settings(max_examples=10_000)
@given(SHEET_ROWS)
def test_any_sheet_is_a_plan_or_a_message_10_000_times(rows):
    check_sheet(rows)


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


FIELDS_AND = [
    ("fields.csv", b"field\nNorth\nSouth\n"),
    ("plots.csv", b"crop_year,field,plot,method\n"),
    ("loads.csv", b"crop_year,field,plot,ticket\n"),
]


@pytest.mark.parametrize(
    ("rows", "remedy"),
    [
        ("North,North,1.2", "A field has no distance to itself; leave the row out."),
        ("North,South,1.2\nSouth,North,1.2", "Their distance is on record as North / South already; correct that one."),
        ("North,Suoth,1.2", "Is South meant?"),
    ],
)
def test_a_distance_is_between_two_fields_on_record_and_said_once(rows, remedy):
    files = [*FIELDS_AND, ("field_distances.csv", f"field,other_field,distance_km\n{rows}\n".encode())]
    [fault] = plan_import(incoming_of(files), {}).faults
    assert (fault.row, fault.remedy) == (2 + rows.count("\n"), remedy)


def test_a_distance_on_record_is_refused_the_other_way_round_and_corrected_the_same_way_round():
    rows = {
        "fields": [{"field": "North"}, {"field": "South"}],
        "plots": [{"crop_year": 2024, "field": "North", "plot": "whole", "method": "standing"}],
        "loads": [{"crop_year": 2024, "field": "North", "plot": "whole", "ticket": "1"}],
        "field_distances": [{"field": "North", "other_field": "South", "distance_km": 1.2}],
    }
    known = {name: pl.DataFrame(some, schema=TABLES[name].polars_schema()) for name, some in rows.items()}
    header = b"field,other_field,distance_km\n"
    [fault] = plan_import(incoming_of([("field_distances.csv", header + b"South,North,1.3\n")]), known).faults
    assert (fault.row, fault.allowed) == (2, "one row for each two fields")
    corrected = plan_import(incoming_of([("field_distances.csv", header + b"North,South,1.3\n")]), known)
    assert corrected.faults == ()
    assert [str(change) for change in corrected.changes] == ["field_distances, North / South, distance_km: 1.2 -> 1.3"]
