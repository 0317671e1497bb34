"""Somebody else's columns: guessed by name, read in their own unit and to the same records as ours, kept by name."""

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.errors import BadInput
from analytics.files import import_plan
from analytics.files.column_matches import (
    Match,
    as_matched,
    constant_problem,
    guess_match,
    guess_table,
    in_words_of_the_file,
    is_ours,
    keep_match,
    kept_matches,
)
from analytics.files.column_words import unit_choices
from analytics.files.text_tables import TextTable, read_all
from analytics.records.grown_tables import PRICES
from analytics.records.harvest_tables import LOADS
from analytics.records.own_tables import COLUMN_MATCHES
from analytics.records.tables import TABLES
from analytics.storage.database import failed_checks, read_table
from analytics.storage.history import TableSave, save
from analytics.storage.undoing import plan_undo, undo
from tests.files.given import incoming_of

OURS = (
    "crop_year,field,plot,ticket,delivered_on,weight_kg,moisture_pct,dockage_pct,weighed_by\n"
    "2024,Home,north,1187,2024-09-14,18619.9667885,8.9,1.2,certified scale\n"
    "2024,Home,south,1188,2024-09-10,20310.2787553,9.4,,certified scale\n"
)
THEIRS = (
    "Scale ticket;Date;Land;Strip;Net lb;Gross lb;Moisture %;Dockage %\n"
    "1187;14 Sep 2024;Home;north;41050;60000;8,9;1,2\n"
    "1188;10 Sep 2024;Home;south;44776,5 lb;60000;9,4;\n"
)
CONSTANTS = {"crop_year": "2024", "weighed_by": "certified scale"}


def text_of(content: str, name: str = "tickets.csv") -> TextTable:
    return read_all([(name, content.encode())]).tables[0]


def read_by(match: Match, content: str) -> import_plan.Incoming:
    found = read_all([("tickets.csv", content.encode())])
    return import_plan.check_incoming(found, [as_matched(found.tables[0], match)])


def guessed(content: str, **constants: str) -> Match:
    match = guess_match(LOADS, text_of(content).cells.columns)
    return Match(table=LOADS, columns=match.columns, units=match.units, constants=constants)


def faults(incoming: import_plan.Incoming, match: Match) -> list[str]:
    return [str(in_words_of_the_file(fault, match)) for fault in incoming.faults]


def test_a_file_in_pounds_with_decimal_commas_gives_the_same_records_as_ours():
    ours = incoming_of([("loads.csv", OURS.encode())]).tables["loads"]
    theirs = read_by(guessed(THEIRS, **CONSTANTS), THEIRS)
    assert theirs.fault_count == 0
    assert theirs.tables["loads"].drop("weight_kg").equals(ours.drop("weight_kg"))
    # 41050 lb and 44776.5 lb at 0.45359237 kg
    assert theirs.tables["loads"]["weight_kg"].to_list() == pytest.approx([18619.9667885, 20310.278755305], rel=1e-12)
    assert theirs.tables["loads"]["weight_kg"].to_list() == pytest.approx(ours["weight_kg"].to_list(), rel=1e-9)


@pytest.mark.parametrize(
    ("column", "unit", "given", "kept"),
    [
        ("weight_kg", "t", "18,62", 18620.0),
        ("weight_kg", "bu", "1000", 22679.6185),  # 50 lb of 0.45359237 kg
        ("weight_kg", "kg", "18 620 kg", 18620.0),
        ("acres", "ha", "64.75", 160.0),  # 2.4710538 ac a hectare
        ("area_m2", "sq ft", "1", 0.09290304),
        ("cut_width_m", "ft", "30", 9.144),
        ("dollars_per_acre", "per hectare", "24.7105", 10.0),
        ("dollars_per_tonne", "per bushel of 50 lb", "10", 440.92),  # Alberta Agriculture prints 44.092 bu/t
        ("dollars_per_tonne", "per bushel of 48 lb", "10", 459.30),  # and 45.930 for barley
        ("test_weight_kg_hl", "lb per Avery bushel", "52", 64.844),
    ],
)
def test_each_unit_becomes_that_of_the_record(column, unit, given, kept):
    table = next(table for table in TABLES.values() if column in table.column_names)
    match = Match(table=table, columns={column: "number"}, units={} if unit == "kg" else {column: unit})
    text = text_of(f"number;other\n{given};x\n")
    found = read_all([("a.csv", b"a,b\n1,2\n")])
    read = import_plan.check_incoming(found, [as_matched(text, match)]).tables[table.name]
    assert read[column].to_list() == pytest.approx([kept], rel=2e-5)


def test_a_unit_behind_the_number_other_than_the_chosen_one_is_refused():
    match = guessed(THEIRS, **CONSTANTS)
    incoming = read_by(match, THEIRS.replace("44776,5 lb", "44776,5 kg"))
    assert faults(incoming, match) == [
        "tickets.csv, row 3, net lb (weight_kg): 44776,5 kg lb given; allowed a number from 1 to 5000000 kg. "
        "Not a number."
    ]


def test_a_point_that_could_be_thousands_is_refused_beside_decimal_commas_in_any_unit():
    match = guessed(THEIRS, **CONSTANTS)
    incoming = read_by(match, THEIRS.replace("41050;60000;8,9", "41.050;60000;8,9"))
    assert "could be 41050 or 41.050" in faults(incoming, match)[0].lower()


@pytest.mark.parametrize(("pounds", "count"), [("11023113", 0), ("11023114", 1)])  # 5 000 000 kg are 11 023 113.1 lb
def test_the_largest_weight_is_judged_in_kilograms_and_told_in_the_unit_of_the_file(pounds, count):
    match = guessed(THEIRS, **CONSTANTS)
    incoming = read_by(match, THEIRS.replace("41050", pounds))
    assert len(incoming.faults) == count
    assert all("11023114 lb given; allowed a number from 1 to 5000000 kg" in line for line in faults(incoming, match))


def test_a_doubt_shows_the_value_as_it_would_be_kept():
    match = guessed(THEIRS, **CONSTANTS)
    (doubt,) = read_by(match, THEIRS.replace("41050", "900")).questions
    assert "408.233133 kg given; usual is 500 to 70000 kg" in str(in_words_of_the_file(doubt, match))


def test_gross_and_tare_are_never_taken_for_the_net_weight():
    assert "weight_kg" not in guess_match(LOADS, ["gross weight", "tare weight"]).columns
    assert guess_match(LOADS, ["gross weight", "net weight"]).columns == {"weight_kg": "net weight"}


@pytest.mark.parametrize(
    ("name", "headers", "table"),
    [
        ("x", ["scale ticket no", "date", "net lbs", "moisture %", "dockage %"], "loads"),
        ("x", ["field", "acres"], "fields"),
        ("x", ["year", "field", "strip", "cut", "harvest date"], "plots"),
        ("x", ["sample id", "grade", "green count", "seeds counted"], "samples"),
        ("x", ["year", "crop", "grade", "price per bushel"], "prices"),
        ("x", ["field", "side", "method", "tkt", "date", "net kg"], "loads"),
        ("x", ["field", "side", "method", "tkt", "date", "gross less tare", "remarks"], "loads"),
        ("x", ["field", "side", "method", "date windrowed", "combining date", "acres"], "plots"),
        ("pan drops", ["field", "plot", "date", "where", "spot", "seed grams", "pan area sq ft"], "loss_checks"),
        ("x", ["to do", "who"], None),
    ],
)
def test_the_table_is_guessed_from_the_names_of_the_columns(name, headers, table):
    found = guess_table(name, headers)
    assert (found.name if found else None) == table


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_our_own_columns_are_guessed_as_what_they_are(table):
    headers = list(table.column_names)
    match = guess_match(table, headers)
    assert guess_table("pasted block", headers) is table
    assert match.columns == {name: name for name in headers}
    assert match.units == {}
    assert match.not_read(headers) == []


@pytest.mark.parametrize(
    ("header", "column"),
    [("moistur", "moisture_pct"), ("weigth", "weight_kg"), ("dockege", "dockage_pct"), ("tic", ""), ("mortgage", "")],
)
def test_a_misspelt_name_of_a_column_is_guessed_and_one_that_is_only_a_little_like_it_is_not(header, column):
    assert list(guess_match(LOADS, [header]).columns) == ([column] if column else [])


def test_a_unit_in_the_name_of_a_column_is_guessed():
    assert guess_match(PRICES, ["price per bushel"]).units == {"dollars_per_tonne": "per bushel of 50 lb"}
    assert guess_match(LOADS, ["net weight (t)"]).units == {"weight_kg": "t"}
    assert guess_match(LOADS, ["net weight, kg"]).units == {}


def test_every_guessed_unit_is_one_that_can_be_chosen():
    for table in TABLES.values():
        for column in table.column_names:
            for unit in unit_choices(column)[1:]:
                match = Match(table=table, columns={column: "a"}, units={column: unit})
                assert as_matched(text_of("a,b\n1,2\n"), match).units[column].usual.name == unit


def test_what_is_needed_and_comes_from_nowhere_is_named_and_a_blank_constant_is_nothing():
    assert [column.name for column in guessed(THEIRS).missing] == ["crop_year"]
    assert [column.name for column in guessed(THEIRS, crop_year="  ").missing] == ["crop_year"]
    assert guessed(THEIRS, crop_year="2024").missing == []


def test_a_constant_is_read_by_our_own_parser():
    assert constant_problem(LOADS.column("crop_year"), "2024") == ""
    assert "20x4 given; not a number" in constant_problem(LOADS.column("crop_year"), "20x4")
    assert "is grain cart meant?" in constant_problem(LOADS.column("weighed_by"), "grain card")


def test_rows_that_hold_nothing_in_the_matched_columns_are_left_out_and_the_others_keep_their_number():
    lines = THEIRS.splitlines()
    content = "\n".join([lines[0], lines[1], ";;;;;60000;;", lines[2]]) + "\n"
    text = as_matched(text_of(content), guessed(content, **CONSTANTS))
    assert text.rows.to_list() == [2, 4]


def test_a_match_whose_column_the_file_lacks_is_refused_and_so_is_a_foreign_unit():
    with pytest.raises(BadInput, match="no column net kg"):
        as_matched(text_of(THEIRS), Match(table=LOADS, columns={"weight_kg": "net kg"}))
    with pytest.raises(BadInput, match="unit 'ft' given; allowed kg, t, lb, bu"):
        as_matched(text_of(THEIRS), Match(table=LOADS, columns={"weight_kg": "net lb"}, units={"weight_kg": "ft"}))


def test_a_table_is_ours_by_its_name_its_needed_columns_and_no_other():
    assert is_ours(text_of(OURS, "loads.csv"))
    assert not is_ours(text_of(OURS, "tickets.csv"))
    assert not is_ours(text_of(OURS.replace("plot", "strip"), "loads.csv"))
    assert not is_ours(text_of(OURS.replace("weighed_by", "colour"), "loads.csv"))


# Kept for next year


def test_a_kept_match_comes_back_without_its_constants(connection):
    match = guessed(THEIRS, **CONSTANTS)
    keep_match(connection, "  buyer's   list ", match, done_by="A grower")
    assert kept_matches(connection) == {
        ("buyer's list", "loads"): Match(table=LOADS, columns=match.columns, units=match.units)
    }
    assert failed_checks(connection) == []


def test_keeping_again_under_the_same_name_takes_the_place_of_the_first_and_can_be_undone(connection):
    first = guessed(THEIRS)
    keep_match(connection, "buyer", first, done_by="A grower")
    keep_match(connection, "buyer", Match(table=PRICES, columns={"crop": "what"}), done_by="A grower")
    act = keep_match(connection, "buyer", Match(table=LOADS, columns={"ticket": "no"}), done_by="A grower")
    assert kept_matches(connection)["buyer", "loads"].columns == {"ticket": "no"}
    assert kept_matches(connection)["buyer", "prices"].columns == {"crop": "what"}
    undo(connection, plan_undo(connection, act), done_by="A grower")
    assert kept_matches(connection)["buyer", "loads"] == first


@pytest.mark.parametrize("name", ["", "   ", "x" * 101])
def test_a_name_of_no_or_too_many_letters_is_refused(connection, name):
    with pytest.raises(BadInput, match="allowed 1 to 100 letters"):
        keep_match(connection, name, guessed(THEIRS), done_by="A grower")
    assert read_table(connection, "acts").is_empty()


def test_a_kept_column_or_unit_that_is_not_known_is_passed_over(connection):
    rows = [
        ("buyer", "loads", "weight_kg", "net", "stone"),
        ("buyer", "loads", "colour", "hue", None),
        ("buyer", "barns", "name", "barn", None),
    ]
    frame = pl.DataFrame(rows, schema=COLUMN_MATCHES.polars_schema(), orient="row")
    change = TableSave(table=COLUMN_MATCHES, saved=frame, removed=frame.clear())
    save(connection, [change], done_by="A grower", source="import")
    assert kept_matches(connection) == {("buyer", "loads"): Match(table=LOADS, columns={"weight_kg": "net"})}


def test_a_match_of_no_column_is_not_kept(connection):
    with pytest.raises(BadInput, match="no column is matched"):
        keep_match(connection, "buyer", Match(table=LOADS), done_by="A grower")


# However the columns are called and ordered

HEADER = st.from_regex(r"[$^a-z]([a-z0-9%$^().'] ?){0,8}[a-z$]", fullmatch=True)
CELLS = st.sampled_from(
    ["", "8,9", "9.4", "18 620", "x", "1,234", "41.050", "2024-09-14", "14 Sep", "grain cart", "'=1"]
)
ROWS = st.lists(st.lists(CELLS, min_size=9, max_size=9), min_size=1, max_size=6)


@settings(max_examples=10)
@given(
    ROWS,
    st.lists(HEADER, min_size=9, max_size=9, unique=True),
    st.permutations(range(9)),
    st.sampled_from(["kg", "lb", "t"]),
)
def test_renaming_and_reordering_columns_never_changes_what_is_read(rows, headers, order, unit):
    names = list(LOADS.column_names)
    units = {} if unit == "kg" else {"weight_kg": unit}
    plain = Match(table=LOADS, columns=dict(zip(names, names, strict=True)), units=units)
    renamed = Match(table=LOADS, columns=dict(zip(names, headers, strict=True)), units=units)
    first = read_by(plain, sheet(names, rows))
    second = read_by(renamed, sheet([headers[at] for at in order], [[row[at] for at in order] for row in rows]))
    assert first.tables["loads"].equals(second.tables["loads"])
    assert [(fault.row, fault.column, fault.given) for fault in first.faults] == [
        (fault.row, fault.column, fault.given) for fault in second.faults
    ]


def sheet(headers: list[str], rows: list[list[str]]) -> str:
    return pl.DataFrame(rows, schema=headers, orient="row").write_csv(separator=";", quote_style="always")
