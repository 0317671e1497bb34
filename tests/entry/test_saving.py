"""Drafts come back as typed; saving says what it did; a row changed by somebody else is shown with both values."""

import polars as pl
import pytest

from analytics.entry.saving import came_in_words, read_entry, save_button_words, save_entry
from analytics.entry.typed_rows import as_typed
from analytics.records.grown_tables import PLOTS
from analytics.records.harvest_tables import LOADS
from analytics.records.papers import PAPERS
from analytics.records.tables import TABLES
from analytics.storage.database import open_records, read_table
from analytics.storage.drafts import (
    DraftPlace,
    all_drafts,
    bring_back,
    drafts_at,
    drop_draft,
    keep_draft,
    last_place,
    throw_away,
    thrown_away,
)
from analytics.storage.tables_now import TablesNow
from tests.conftest import write
from tests.prepared import begun, copied

TICKETS = PAPERS[LOADS.name]
EAST = {"crop_year": 2026, "field": "North half", "plot": "east"}
PLACE = DraftPlace(paper="loads", crop_year=2026, field="North half", plot="east", typed_by="A")


def load(ticket, kg, **more):
    return EAST | {"ticket": ticket, "weight_kg": kg, "moisture_pct": 9.0, "dockage_pct": 2.0} | more


def typed(ticket, weight, **more):
    return {"ticket": ticket, "weight_kg": weight, "moisture_pct": "9", "dockage_pct": "2"} | more


ROWS = {
    "fields": [{"field": "North half"}],
    "plots": [EAST | {"method": "standing", "acres": 40.0}],
    "loads": [load("1", 18_000.0)],
}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Records with a plot and a ticket of it."""
    path = tmp_path_factory.mktemp("made") / "records.duckdb"
    with begun(path) as connection:
        write(
            connection, {name: pl.DataFrame(rows, schema=TABLES[name].polars_schema()) for name, rows in ROWS.items()}
        )
    with open_records(path):  # with the backup of the day
        return path


@pytest.fixture(scope="module")
def looked_at(made):
    """A connection to them, for those who change nothing."""
    with open_records(made) as connection:
        yield connection


@pytest.fixture
def farm(made, tmp_path):
    """A connection to a copy of them."""
    with open_records(copied(made, tmp_path / "records.duckdb"), leaves_log=True) as connection:
        yield connection


def loaded(connection):
    rows = read_table(connection, "loads").sort("ticket").iter_rows(named=True)
    return [as_typed(row, LOADS, EAST) for row in rows]


def entry(connection, *rows, before=None, mine=()):
    before = loaded(connection) if before is None else before
    records = TablesNow(connection)
    return read_entry(connection, TICKETS, rows, records=records, fixed=EAST, units={}, loaded=before, mine=mine)


def test_a_save_says_what_was_added_changed_and_left(farm):
    one = entry(farm, typed("1", "19000"), typed("2", "18500"), typed("3", "185000"), typed("4", "18,6,2"))
    assert save_button_words(one, "North half, east, 2026") == "Save 2 tickets for North half, east, 2026"
    words = came_in_words(one, "North half, east, 2026", on_record=1)
    on_record, waiting = words.split("; ")
    assert on_record == "One ticket on record for North half, east, 2026"
    assert waiting == "4 typed here wait to be saved, 2 of them for a correction or a word why."
    assert save_entry(farm, one, done_by="A") == "1 ticket added, 1 changed, 2 left (3, 4)."
    saved = read_table(farm, "loads").sort("ticket")
    assert saved["ticket"].to_list() == ["1", "2"]
    assert saved["weight_kg"].to_list() == [19000, 18500]


def test_the_word_why_of_an_unlikely_row_is_kept_in_the_act(farm):
    save_entry(farm, entry(farm, typed("1", "18000"), typed("2", "75000", why="two trailers")), done_by="A")
    act = read_table(farm, "acts").sort("act_id").row(-1, named=True)
    assert (act["done_by"], act["source"], act["why"]) == ("A", "screen", "2: two trailers")


@pytest.mark.parametrize(
    ("operation", "asked"),
    [
        ("spraying", ""),
        ("harrowing", ""),
        ("custom spray job", '"custom spray job" counts as work of its own, besides application.'),
    ],
)
def test_field_work_that_only_sounds_like_a_job_is_asked_about(looked_at, operation, asked):
    rows = [{"done_on": "2026-08-20", "operation": operation, "dollars_per_acre": "9.50"}]
    one = read_entry(
        looked_at, PAPERS["operations"], rows, records=TablesNow(looked_at), fixed=EAST, units={}, loaded=(), mine=()
    )
    said = " ".join(one.rows[0].unlikely)
    assert said.startswith(asked)
    assert bool(said) == bool(asked)
    assert one.rows[0].is_kept == (not asked)


def test_a_row_no_longer_typed_is_taken_out_but_not_while_another_is_refused(farm):
    assert entry(farm, typed("2", "18500"), typed("", "18500")).removed == ()
    one = entry(farm, typed("2", "18500"))
    assert save_button_words(one, "here") == "Save 1 ticket and take out 1 for here"
    assert save_entry(farm, one, done_by="A") == "1 ticket added, 0 changed, 1 taken out, 0 left."
    assert read_table(farm, "loads")["ticket"].to_list() == ["2"]


def test_a_plot_is_never_taken_out_for_its_tickets_rest_on_it(looked_at):
    plots = PAPERS[PLOTS.name]
    before = [as_typed(read_table(looked_at, "plots").row(0, named=True), PLOTS, {"crop_year": 2026})]
    records = TablesNow(looked_at)
    one = read_entry(looked_at, plots, [], records=records, fixed={"crop_year": 2026}, units={}, loaded=before)
    assert one.touches == 0


def test_decimal_commas_typed_beside_a_row_on_record_leave_it_as_it_is(farm, add):
    add(farm, LOADS, load("12.345", 18_001.125, moisture_pct=10.125))
    before = loaded(farm)
    one = entry(farm, *before, typed("2", "18,62 t", moisture_pct="9,5"), typed("3", "17.950 t", moisture_pct="9,1"))
    assert [row.name for row in one.rows if row.refused] == ["3"]
    assert [row.is_as_before for row in one.rows] == [True, True, False, False]
    assert one.removed == ()


def test_a_row_changed_by_somebody_else_shows_both_values_and_who(farm, add):
    before = loaded(farm)
    add(farm, LOADS, load("1", 17_000.0))
    one = entry(farm, typed("1", "19000"), before=before)
    assert one.touches == 0
    (conflict,) = one.conflicts
    assert conflict.words == "1 was typed by test as well. weight, kg: 19000 here, 17000 by test."
    save_entry(farm, entry(farm, typed("1", "19000"), before=before, mine=["1"]), done_by="A")
    assert read_table(farm, "loads")["weight_kg"].to_list() == [19000]


def test_a_row_that_only_somebody_else_changed_stays_as_they_left_it(farm, add):
    before = loaded(farm)
    add(farm, LOADS, load("1", 17_000.0))
    one = entry(farm, *before, typed("2", "18500"), before=before)
    assert (one.conflicts, one.left) == ((), [])
    save_entry(farm, one, done_by="A")
    assert sorted(read_table(farm, "loads")["weight_kg"]) == [17_000, 18_500]


def test_the_same_new_ticket_typed_by_two_is_a_conflict_unless_they_agree(farm, add):
    before = loaded(farm)
    add(farm, LOADS, load("2", 17_000.0))
    assert len(entry(farm, typed("1", "18000"), typed("2", "19000"), before=before).conflicts) == 1
    assert entry(farm, typed("1", "18000"), typed("2", "17000"), before=before).conflicts == ()


def test_a_row_added_by_somebody_else_is_not_taken_out(farm, add):
    before = loaded(farm)
    add(farm, LOADS, load("2", 17_000.0))
    assert entry(farm, typed("1", "18000"), before=before).removed == ()


def test_a_row_changed_by_somebody_else_is_not_taken_out(farm, add):
    before = loaded(farm)
    add(farm, LOADS, load("1", 17_000.0))
    assert entry(farm, typed("2", "18500"), before=before).removed == ()


def test_nothing_ready_writes_no_act(looked_at):
    acts = read_table(looked_at, "acts").height
    assert (
        save_entry(looked_at, entry(looked_at, typed("1", "18000")), done_by="A")
        == "0 tickets added, 0 changed, 0 left."
    )
    assert read_table(looked_at, "acts").height == acts


def test_a_draft_comes_back_as_typed_after_the_file_was_closed(tmp_path):
    path = tmp_path / "records.duckdb"
    rows = [{"ticket": "=1+1", "weight_kg": "18,62"}, {"ticket": "<b>'"}]
    with begun(path) as connection:
        keep_draft(connection, PLACE, rows=[{}], loaded=[], units={})
        keep_draft(connection, PLACE, rows=rows, loaded=[{"ticket": "0"}], units={"weight_kg": "t"})
    with open_records(path) as connection:
        (draft,) = drafts_at(connection, PLACE)
        assert list(draft.rows) == rows
        assert (list(draft.loaded), draft.units) == ([{"ticket": "0"}], {"weight_kg": "t"})
        assert last_place(connection, "A") == PLACE
        assert last_place(connection, "B") is None
        drop_draft(connection, draft)
        assert drafts_at(connection, PLACE) == []


def kept(connection, *tickets, mark, onto=()):
    rows = [{"ticket": ticket} for ticket in tickets]
    keep_draft(connection, PLACE, rows=rows, loaded=[], units={}, mark=mark, onto=onto)
    return [[row["ticket"] for row in draft.rows] for draft in drafts_at(connection, PLACE)]


def test_a_window_goes_on_from_its_own_draft_and_never_writes_over_that_of_another(connection):
    assert kept(connection, "1", mark="pc:1") == [["1"]]
    assert kept(connection, "1", "2", mark="pc:2") == [["1", "2"]]
    assert kept(connection, "9", mark="phone:1") == [["9"], ["1", "2"]]
    assert kept(connection, "1", "2", "3", mark="pc:3", onto=["pc:2"]) == [["1", "2", "3"], ["9"]]


def test_a_page_loaded_anew_goes_on_from_what_it_had_and_not_from_what_came_after(connection):
    kept(connection, "1", mark="pc:1")
    assert kept(connection, "1", "2", mark="pc again:1", onto=["pc:2"]) == [["1", "2"]]
    assert kept(connection, "3", mark="copied tab:1", onto=["pc again:0"]) == [["3"], ["1", "2"]]


def test_a_draft_thrown_away_is_out_of_sight_and_comes_back_as_it_was(connection):
    kept(connection, "1", mark="pc:1")
    (before,) = drafts_at(connection, PLACE)
    throw_away(connection, before)
    assert (drafts_at(connection, PLACE), last_place(connection, "A")) == ([], None)
    bring_back(connection, thrown_away(connection, PLACE))
    (after,) = drafts_at(connection, PLACE)
    assert (after.rows, after.loaded, after.units, after.mark) == (before.rows, (), {}, "pc:1")
    assert thrown_away(connection, PLACE) is None


def test_a_draft_counts_the_rows_that_wait_typed_changed_or_to_be_taken_out(connection):
    loaded = [{"ticket": "1", "grade": ""}, {"ticket": "2"}]
    rows = [{"ticket": "1"}, {"ticket": "3"}]
    keep_draft(connection, PLACE, rows=rows, loaded=loaded, units={})
    assert [draft.waiting for draft in all_drafts(connection)] == [1]
    keep_draft(connection, PLACE, rows=[], loaded=loaded, units={})
    assert [draft.waiting for draft in all_drafts(connection)] == [2]
