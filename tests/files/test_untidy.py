"""Files as people lay them out: made here after the habits of farm spreadsheets, each ends in the right records."""

from dataclasses import replace

import polars as pl
import pytest

from analytics.files import import_plan
from analytics.files.column_matches import (
    Match,
    as_matched,
    each_once,
    guess_match,
    guess_others,
    guess_table,
    usual_column,
    usual_constant,
)
from analytics.files.near_names import odd_fields, odd_plots, respelt
from analytics.files.table_columns import dates_of_numbers
from analytics.files.text_tables import TextTable, read_all
from analytics.files.untidy import (
    head_at,
    laid_out,
    named_once,
    rows_aside,
    said_method,
    with_names_carried_down,
    without_rows,
    years_said,
)
from analytics.records.tables import TABLES
from analytics.trade.typed_text import MONTH_FIRST, THOUSANDS


def tables_of(name: str, text: str) -> list[TextTable]:
    return [laid_out(table) for table in read_all([(name, text.encode())], head_at=head_at).tables]


def chosen_as_guessed(text: TextTable, **more: str) -> list[TextTable]:
    """The tables of ours that a person gets who accepts everything that the screen has put in; `more` is typed."""
    text = with_names_carried_down(without_rows(text, rows_aside(text)))
    table = guess_table(text.name, text.cells.columns)
    assert table is not None, text.cells.columns
    main = completed(guess_match(table, text.cells.columns), text, more)
    others = [completed(match, text, more) for match in guess_others(main, text)]
    return [as_matched(text, main), *(each_once(as_matched(text, other), other.table) for other in others)]


def completed(match: Match, text: TextTable, more: dict[str, str]) -> Match:
    columns, constants = dict(match.columns), dict(match.constants)
    for column in match.table.columns:
        if column.required and column.name not in columns:
            if header := usual_column(match, column, text.cells.columns):
                columns[column.name] = header
            else:
                constants[column.name] = more.get(column.name) or usual_constant(column, text)
    return Match(table=match.table, columns=columns, units=match.units, constants=constants)


def records_of(*files: tuple[str, str], comma: str = "", **more: str) -> dict[str, pl.DataFrame]:
    """What the files would put on record of an empty farm, where every guess is accepted."""
    texts = [
        text
        for name, content in files
        for table in tables_of(name, content)
        for text in chosen_as_guessed(table, **more)
    ]
    incoming = import_plan.check_incoming(
        read_all([(name, content.encode()) for name, content in files], head_at=head_at), texts, comma=comma
    )
    plan = import_plan.plan_import(incoming, {}, needs_all=False)
    assert [str(fault) for fault in plan.faults] == []
    return {name: table.new for name, table in plan.tables.items()}


def rows(frame: pl.DataFrame, *names: str) -> list[tuple[object, ...]]:
    return frame.select(names).rows()


TITLED = """Harvest 2024 canola,,,,,,
kept by hand in the truck,,,,,,
,,,,,,
Field,Side,How cut,Ticket #,Date,Net,MC
,,,,,lb,%
Mailbox,E,straight,1187,Oct 3,41050,8.9
Mailbox,W,swathed,1188,3-Oct,43210,9.4
,,,,,,
Mailbox,W,swathed,1190,4-Oct-24,40000,9.1
TOTAL,,,,,124260,
"""


def test_a_head_below_titles_a_line_of_units_a_blank_row_and_a_total():
    found = records_of(("tickets.csv", TITLED))
    assert rows(found["loads"], "crop_year", "field", "plot", "ticket", "moisture_pct") == [
        (2024, "Mailbox", "E", "1187", 8.9),
        (2024, "Mailbox", "W", "1188", 9.4),
        (2024, "Mailbox", "W", "1190", 9.1),
    ]
    assert found["loads"]["weight_kg"].round(2).to_list() == [18619.97, 19599.73, 18143.69]
    assert [str(day) for day in found["loads"]["delivered_on"]] == ["2024-10-03", "2024-10-03", "2024-10-04"]
    assert rows(found["plots"], "field", "plot", "method") == [
        ("Mailbox", "E", "standing"),
        ("Mailbox", "W", "windrowed"),
    ]
    assert rows(found["fields"], "field") == [("Mailbox",)]


def test_the_rows_left_out_are_told_with_their_number_and_the_reason():
    (text,) = tables_of("tickets.csv", TITLED)
    assert [str(aside) for aside in rows_aside(text)] == ["row 10, TOTAL, 124260: a total or an average"]
    assert text.above == ("Harvest 2024 canola", "kept by hand in the truck")


def test_a_sum_without_a_word_and_a_line_of_text_are_told_apart_from_records():
    (text,) = tables_of(
        "a.csv",
        "Field,Plot,Ticket,Net kg,Moist,Dkg\nHome,e,1,18000,9,2\nHome,e,2,19000,9,2\n,,,37000,,\nsecond week,,,,,\n"
        "Field,Plot,Ticket,Net kg,Moist,Dkg\nHome,e,3,18500,9,\n,,,18500.5,,\n",
    )
    assert [(one.row, one.why) for one in rows_aside(text)] == [
        (4, "the sum of the rows above it"),
        (5, "a line of text"),
        (6, "the column names again"),
    ]


def test_a_record_with_blanks_is_no_total():
    (text,) = tables_of("fields.csv", "field name,acres,soil,notes\nHome,80,loam,flat\nTotal eighty,,,\nMailbox,,,\n")
    assert rows_aside(text) == []
    (text,) = tables_of("a.csv", "Field,Plot,Ticket,Net kg,MC\nHome,e,1,18000,9\nHome,e,2,19000,\n")
    assert rows_aside(text) == []


ONCE = """Field,Side,Method,Tkt,Date,Net kg,Remarks
Home,east,straight,1,2024-09-14,18620,wet
,,,2,2024-09-14,18340,
,west,swath,3,2024-09-10,17990,
,,,4,2024-09-10,18100,
River,east,straight,5,2024-09-15,17000,
,,,6,2024-09-15,17200,
"""


def test_a_field_and_a_side_that_are_named_once_hold_for_the_rows_below_them():
    (table,) = tables_of("tickets.csv", ONCE)
    assert named_once(table) == {"field": 4, "side": 3, "method": 3}
    records = records_of(("tickets.csv", ONCE), crop_year="2024")
    assert records["loads"].sort("ticket").select("field", "plot").rows() == [
        *[("Home", "east")] * 2,
        *[("Home", "west")] * 2,
        *[("River", "east")] * 2,
    ]
    assert records["plots"].sort("field", "plot").select("field", "plot", "method").rows() == [
        ("Home", "east", "standing"),
        ("Home", "west", "windrowed"),
        ("River", "east", "standing"),
    ]


def test_no_name_is_carried_into_another_field_nor_over_what_is_no_name():
    (table,) = tables_of("tickets.csv", ONCE.replace("River,east,straight", "River,,").replace("18340,", "18340,dry"))
    carried = with_names_carried_down(table).cells
    assert carried["field"].to_list()[4:] == ["River", "River"]
    assert carried["side"].to_list()[4:] == [None, None]
    assert carried["remarks"].to_list() == ["wet", "dry", None, None, None, None]
    assert named_once(replace(table, cells=table.cells.fill_null("x"))) == {}


def test_gross_less_tare_is_the_net_weight_with_thousands_set_apart():
    text = (
        "Field,Strip,Cut,Load,Gross (lb),Tare (lb),Moist\n"
        'North,1,straight-cut,1,"62,450","21,300",9.0\nNorth,2,laid down,2,"61,020","21,280",9.5\n'
    )
    found = records_of(("Harvest 2023.csv", text))
    assert found["loads"]["weight_kg"].round(2).to_list() == [18665.33, 18025.76]
    assert found["loads"]["crop_year"].to_list() == [2023, 2023]


def test_loads_without_a_ticket_have_the_number_of_their_row():
    found = records_of(
        ("2024 loads.csv", "Field,Side,Method,Net kg,Moist\nHome,e,straight,18000,9\nHome,w,swath,19000,9\n")
    )
    assert rows(found["loads"], "plot", "ticket") == [("e", "2"), ("w", "3")]


def test_a_plot_without_a_name_is_called_by_how_it_was_cut():
    found = records_of(("2024.csv", "Field,Method,Ticket,Net kg,MC\nHome,Straight,1,18000,9\nHome,Swathed,2,19000,9\n"))
    assert rows(found["plots"], "plot", "method") == [("Straight", "standing"), ("Swathed", "windrowed")]


def test_a_grade_for_each_load_is_a_sample_of_its_ticket():
    found = records_of(
        (
            "2024.csv",
            "Field,Side,Method,Date,Ticket,Net kg,Grade,TW,Green %\n"
            "Home,e,straight,Oct 3,1,18000,1,52,0.4\n"
            "Home,w,swath,Oct 4,2,19000,2,51,1.2\n",
        ),
    )
    assert rows(found["samples"], "plot", "sample", "grade", "test_weight_kg_hl", "green_pct") == [
        ("e", "1", "1", 52.0, 0.4),
        ("w", "2", "2", 51.0, 1.2),
    ]
    assert found["samples"]["taken_on"].to_list() == found["loads"]["delivered_on"].to_list()


def test_one_row_a_plot_with_its_total_weight_is_a_plot_and_a_load():
    found = records_of(
        (
            "summary 2022.csv",
            "Field,Side,Method,Acres,Variety,Total net bu,MC,Dock\nHome,e,straight,40,early,1500,9,2\n"
            "Home,w,swath,39,early,1450,9,2\n",
        ),
        ticket="total",
    )
    assert rows(found["plots"], "plot", "method", "acres") == [("e", "standing", 40.0), ("w", "windrowed", 39.0)]
    assert found["loads"]["weight_kg"].round(0).to_list() == [34019.0, 32885.0]
    assert rows(found["plantings"], "field", "variety") == [("Home", "early")]


def test_a_sheet_a_year_and_a_sheet_for_each_method_come_together():
    first = "Field,Ticket,Net kg,MC\nHome,1,18000,9\nMailbox,2,17000,9\n"
    second = "Field,Ticket,Net kg,Dkg\nHome,8,19000,2\n"
    found = records_of(("Straight 2024.csv", first), ("Straight 2025.csv", second))
    assert rows(found["loads"], "crop_year", "field", "ticket", "moisture_pct", "dockage_pct") == [
        (2024, "Home", "1", 9.0, None),
        (2024, "Mailbox", "2", 9.0, None),
        (2025, "Home", "8", None, 2.0),
    ]


def test_a_row_that_stands_in_two_files_is_taken_once_and_another_one_of_its_key_is_a_fault():
    one, other = (
        "ticket,field,plot,weight_kg\n1,Home,e,18000\n",
        "ticket,field,plot,weight_kg\n1,Home,e,18000\n2,Home,e,1900\n",
    )
    texts = [text for name, content in (("a.csv", one), ("b.csv", other)) for text in tables_of(name, content)]
    loads = [
        as_matched(text, completed(guess_match(TABLES["loads"], text.cells.columns), text, {"crop_year": "2024"}))
        for text in texts
    ]
    found = import_plan.check_incoming(read_all([("a.csv", one.encode())]), loads)
    assert found.tables["loads"]["ticket"].to_list() == ["1", "2"]
    assert any("b.csv: 1 row of loads said elsewhere too" in remark for remark in found.remarks)
    loads[1] = as_matched(
        tables_of("b.csv", other.replace("18000", "18500"))[0],
        completed(guess_match(TABLES["loads"], texts[1].cells.columns), texts[1], {"crop_year": "2024"}),
    )
    found = import_plan.check_incoming(read_all([("a.csv", one.encode())]), loads)
    assert [str(fault) for fault in found.faults] == [
        "b.csv, row 2, crop_year / field / plot / ticket: 2024 / Home / e / 1 given; allowed each once. "
        "Row 2 of a.csv has the same; keep one, or give it a name of its own."
    ]


def test_dates_of_numbers_are_read_as_one_of_them_has_to_be():
    text = "Field,Side,Method,Ticket,Date,Net kg\nHome,e,straight,1,10/3/24,18000\nHome,w,swath,2,9/28/24,19000\n"
    found = records_of(("2024.csv", text))
    assert [str(day) for day in found["loads"]["delivered_on"]] == ["2024-10-03", "2024-09-28"]


def test_dates_of_numbers_that_nothing_settles_wait_for_the_order_that_is_asked():
    (text,) = tables_of("2024.csv", "Field,Side,Ticket,Date,Net kg\nHome,e,1,10/3/24,18000\n")
    (loads, *_) = chosen_as_guessed(text)
    contents = read_all([("a.csv", b"a,b\n1,2\n")])
    assert (
        "which is the day, the month and the year?"
        in str(import_plan.check_incoming(contents, [loads]).faults[0]).lower()
    )
    found = import_plan.check_incoming(contents, [replace(loads, date_order=MONTH_FIRST)])
    assert str(found.tables["loads"]["delivered_on"][0]) == "2024-10-03"


def test_dates_with_the_year_first_are_not_asked_about():
    (text,) = tables_of("2024.csv", "Field,Side,Ticket,Date,Net kg\nHome,e,1,2024-10-03,18000\n")
    assert dates_of_numbers(TABLES["loads"], chosen_as_guessed(text)[0].cells) == []


def test_a_comma_that_the_farm_has_settled_holds_for_gross_less_tare_too():
    text = 'Field,Side,Method,Ticket,Gross,Tare\nHome,e,straight,1,"38,100","19,500"\n'
    found = records_of(("2024.csv", text), comma=THOUSANDS)
    assert found["loads"]["weight_kg"].to_list() == [18600.0]


def test_tabs_pasted_below_a_title_and_semicolons_with_decimal_commas():
    pasted = (
        "Our canola 2024\n\nField\tSide\tMethod\tTkt\tNet t\tMoist\n"
        "Home\te\tStraight\t1\t18.62\t8.9\nHome\tw\tSwath\t2\t19.1\t9\n"
    )
    assert records_of(("pasted.csv", pasted))["loads"]["weight_kg"].to_list() == [18620.0, 19100.0]
    european = (
        "Harvest, canola;;;;;\nField;Side;Method;Tkt;Net t;Moist\nHome;e;Straight;1;18,62;8,9\nHome;w;Swath;2;19,1;9\n"
    )
    assert records_of(("2024.csv", european))["loads"]["weight_kg"].to_list() == [18620.0, 19100.0]


def test_two_columns_of_one_name_are_told_apart_by_a_number():
    (text,) = tables_of("a.csv", "Field,Net,Net,Date\nHome,18000,792,Oct 3\n")
    assert text.cells.columns[:4] == ["field", "net", "net 2", "date"]


@pytest.mark.parametrize("said", ["straight", "Straight-cut", "combined standing", "STRAIGHT CUT", "direct_cut"])
def test_words_for_cutting_standing(said):
    found = records_of(("2024.csv", f"Field,Side,Method,Ticket,Net kg\nHome,e,{said},1,18000\n"))
    assert found["plots"]["method"].to_list() == ["standing"]


def test_one_letter_is_no_method():
    (text,) = tables_of("2024.csv", "Field,Side,Method,Ticket,Net kg\nHome,e,S,1,18000\n")
    found = import_plan.check_incoming(read_all([("a.csv", b"a,b\n1,2\n")]), chosen_as_guessed(text))
    assert [fault.given for fault in found.faults] == ["S"]


def test_a_misspelt_field_is_offered_the_likely_one_and_all_its_rows_take_it():
    (text,) = tables_of(
        "2024.csv", "Field,Side,Ticket,Net kg\nMail box,E,1,18000\nMialbox,east,2,19000\nField 2,e,3,18000\n"
    )
    (loads, *_) = chosen_as_guessed(text)
    odd = odd_fields([loads], ["Mailbox", "Field 1"])
    assert [(one.given, one.meant, one.is_the_same) for one in odd] == [
        ("Mail box", ("Mailbox",), True),
        ("Mialbox", ("Mailbox",), False),
    ]
    fields = {"Mail box": "Mailbox", "Mialbox": "Mailbox"}
    plots = odd_plots([loads], [(2024, "Mailbox", "west half"), (2024, "Mailbox", "east")], fields)
    assert [(one.field, one.given, one.meant[0]) for one in plots] == [("Mail box", "E", "east")]
    read = respelt(loads, fields, {("Mail box", "E"): "east"})
    assert read.cells.select("field", "plot").rows() == [("Mailbox", "east"), ("Mailbox", "east"), ("Field 2", "e")]


def test_the_year_and_the_method_are_taken_from_the_sheet_before_the_title_and_the_file():
    (text,) = tables_of("swathed 2023.csv", "Harvest 2024\nField,Side,Ticket,Net kg\nHome,e,1,18000\n")
    assert (years_said(text), said_method(text)) == (["2023"], "windrowed")
    (text,) = tables_of("straight or swathed.csv", "Harvest 2024\nField,Side,Ticket,Net kg\nHome,e,1,18000\n")
    assert (years_said(text), said_method(text)) == (["2024"], "")


def test_our_own_names_on_top_stay_where_they_are():
    assert head_at([["ticket", "weight_kg"], ["1187", "18620"]]) == 0
    assert head_at([["Title"], ["", ""], ["a", "b", "c"], ["1", "2", "3"]]) == 2
