"""A cell of a file is read as it was meant, or refused with its row, its column and what is allowed."""

from datetime import date

import pytest

from analytics.files import import_plan
from analytics.files.import_plan import Incoming
from analytics.records.cell_text import as_text
from tests.files.given import incoming, load_value, one_load, only_fault, sentences


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
