"""Files beside the records: what is new, changed or as before, and what does not fit together."""

import polars as pl
import pytest

from analytics.files.import_plan import plan_import
from analytics.records.faults import LISTED
from analytics.records.tables import TABLES
from tests.files.given import FARM, farm, incoming, incoming_of, loads, on_record, only_fault, sentences


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
