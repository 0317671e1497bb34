"""The entry screen without a browser: understood at once, refused, unlikely, saved, drafted, and two who type."""

import threading
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import duckdb
import polars as pl
import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from analytics.records.papers import FORMER_KEYS, PAPERS
from analytics.records.tables import TABLES
from analytics.settings import change_settings
from analytics.storage import database
from analytics.storage.database import open_records, read_table, transaction
from analytics.storage.history import TableSave, save
from dashboard.after_harvest import entry_sheet, first_place
from tests.prepared import begun

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
SCREEN = "screens/enter_records.py"
EAST = {"crop_year": 2026, "field": "North half", "plot": "east"}
EAST_BY_LINK = {"crop_year": "2026", "field": "North half", "plot": "east", "paper": "loads"}
Screens = Callable[..., AppTest]


def put(path: Path, **tables: list[dict[str, object]]) -> None:
    frames = {name: pl.DataFrame(rows, schema=TABLES[name].polars_schema()) for name, rows in tables.items()}
    saves = [TableSave(table=TABLES[name], saved=frame, removed=frame.clear()) for name, frame in frames.items()]
    with begun(path) as connection:
        save(connection, saves, done_by="Neighbour", source="import")


def stored(path: Path, name: str = "loads") -> pl.DataFrame:
    with open_records(path) as connection:
        return read_table(connection, name)


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    plots = [
        EAST | {"method": "standing", "acres": 40.0},
        EAST | {"plot": "west", "method": "windrowed", "acres": 40.0},
    ]
    put(tmp_path / "records.duckdb", fields=[{"field": "North half"}], plots=plots)
    return tmp_path / "records.duckdb"


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch) -> Screens:
    st.cache_data.clear()

    def run(
        path: Path, paper: str = "loads", *, one_by_one: bool = True, link: dict[str, str] | None = None
    ) -> AppTest:
        monkeypatch.setenv("STANDROW_RECORDS", str(path))
        app = AppTest.from_file(APP, default_timeout=60).switch_page(SCREEN)
        app.query_params.update(link or {})
        app.run()
        if link:
            return app
        if app.selectbox(key="paper").value != paper:
            app.selectbox(key="paper").set_value(paper).run()
        if not one_by_one:
            app.toggle(key="one_by_one").set_value(False).run()
        return app

    return run


def field(app: AppTest, label: str) -> object:
    return next(box for box in app.main.text_input if box.label == label)


def type_in(app: AppTest, **texts: str) -> AppTest:
    for label, text in texts.items():
        next(box for box in app.main.text_input if box.label.lower().startswith(label)).set_value(text)
    app.run()
    assert not app.exception
    return app


def lines(app: AppTest) -> str:
    """Everything the screen says, markup and its guards taken out."""
    assert not app.exception
    parts = [
        element.value for part in (app.caption, app.info, app.success, app.error, app.markdown) for element in part
    ]
    pieces = [element.proto.body for element in app.get("html")]
    return "\n".join([*parts, *pieces]).replace("\\", "")


def save_button(app: AppTest) -> object:
    return app.button(key="save_entry")


def test_a_ticket_is_understood_and_saved_and_the_line_says_so(screen: Screens, farm: Path) -> None:
    app = type_in(screen(farm), your="A", ticket="1187", weight="18620 kg", dockage="2,5", moisture="9.1")
    assert "1187 = 18.15 t clean, 20.01 bu/ac so far" in lines(app)
    assert save_button(app).label == "Save 1 ticket for North half, east, 2026"
    app = save_button(app).click().run()
    assert "1 ticket added, 0 changed, 0 left." in lines(app)
    assert stored(farm).select("ticket", "weight_kg", "dockage_pct").rows() == [("1187", 18620.0, 2.5)]
    assert stored(farm, "acts")["source"].to_list()[-1] == "screen"
    assert stored(farm, "drafts").is_empty()


def test_the_next_ticket_is_typed_in_empty_fields_and_both_are_saved(screen: Screens, farm: Path) -> None:
    app = type_in(screen(farm), ticket="1", weight="18620")
    app.button(key="next_row").click().run()
    assert field(app, "Ticket").value == ""
    app = type_in(app, ticket="2", weight="18,62 t")
    assert save_button(app).label == "Save 2 tickets for North half, east, 2026"
    save_button(app).click().run()
    assert stored(farm).sort("ticket")["weight_kg"].to_list() == [18620.0, 18620.0]


def test_an_impossible_value_is_refused_with_what_is_allowed(screen: Screens, farm: Path) -> None:
    app = type_in(screen(farm, "samples"), sample="1", **{"thousand seed": "36"})
    assert "36 given; allowed a number from 1 to 10" in lines(app)
    assert save_button(app).disabled


def test_an_unlikely_value_waits_for_a_word_why(screen: Screens, farm: Path) -> None:
    app = type_in(screen(farm), ticket="9", weight="75 t")
    assert "Row 1 (9), unlikely: weight, kg: 75 t (75000 kg) given; usual is 500 to 70000 kg" in lines(app)
    assert save_button(app).disabled
    app = type_in(app, keep="two trailers")
    save_button(app).click().run()
    assert stored(farm, "acts")["why"].to_list()[-1] == "9: two trailers"


def test_what_was_typed_comes_back_in_another_browser_and_says_from_when(screen: Screens, farm: Path) -> None:
    type_in(screen(farm), ticket="1187", weight="18,62 t")
    again = screen(farm)
    assert "This is your draft of 20" in lines(again)
    assert field(again, "Ticket").value == "1187"
    assert field(again, "Weight, kg").value == "18,62 t"
    assert stored(farm).is_empty()


def test_a_draft_can_be_thrown_away(screen: Screens, farm: Path) -> None:
    app = type_in(screen(farm), ticket="1187")
    app.button(key="throw_away").click().run()
    assert stored(farm, "drafts").is_empty()
    assert field(app, "Ticket").value == ""


@pytest.mark.parametrize(("press", "weight"), [("mine-1", 19_000.0), ("theirs-1", 17_000.0)])
def test_the_second_of_two_sees_both_values_and_chooses(screen: Screens, farm: Path, press: str, weight: float) -> None:
    app = type_in(screen(farm), ticket="1187", weight="19000")
    put(farm, loads=[EAST | {"ticket": "1187", "weight_kg": 17_000.0}])
    app.run()
    assert "1187 was typed by Neighbour as well. weight, kg: 19000 here, 17000 by Neighbour." in lines(app)
    assert save_button(app).disabled
    app.button(key=press).click().run()
    if not save_button(app).disabled:
        save_button(app).click().run()
    assert stored(farm)["weight_kg"].to_list() == [weight]


def test_plots_are_copied_from_last_year_in_one_step(screen: Screens, farm: Path) -> None:
    app = screen(farm, "plots", one_by_one=False)
    app.selectbox(key="crop_year").set_value(2027).run()
    app.button(key="put_in").click().run()
    assert save_button(app).label == "Save 2 plots for 2027"
    save_button(app).click().run()
    assert stored(farm, "plots").filter(pl.col("crop_year") == 2027)["plot"].sort().to_list() == ["east", "west"]


def test_a_pair_is_offered_and_only_put_in_when_asked(screen: Screens, farm: Path) -> None:
    app = screen(farm, "pairs", one_by_one=False)
    assert "North half, east (standing) with North half, west (windrowed): same field" in lines(app)
    assert save_button(app).disabled
    app.button(key="put_in").click().run()
    save_button(app).click().run()
    assert stored(farm, "pairs")["layout"].to_list() == ["split field"]


def test_typed_markup_is_shown_as_text(screen: Screens, farm: Path) -> None:
    app = type_in(screen(farm), ticket="<img src=x onerror=alert(1)>", weight="x")
    assert "<img" not in lines(app)
    assert "&lt;img" in lines(app)


def test_every_paper_opens_empty_without_an_error(screen: Screens, farm: Path) -> None:
    app = screen(farm, one_by_one=False)
    for paper in PAPERS:
        app.selectbox(key="paper").set_value(paper).run()
        assert not app.exception
        assert not app.error
        assert save_button(app).disabled


def test_a_year_without_plots_says_what_to_type_first(screen: Screens, farm: Path) -> None:
    app = screen(farm, one_by_one=False)
    app.selectbox(key="crop_year").set_value(2027).run()
    assert "There is no plot on record for 2027" in lines(app)


def test_the_place_of_the_last_save_is_remembered(screen: Screens, farm: Path) -> None:
    app = screen(farm)
    app.selectbox(key="plot-2026").set_value("North half, west").run()
    type_in(app, your="A", ticket="5", weight="18620")
    save_button(app).click().run()
    assert screen(farm).selectbox(key="plot-2026").value == "North half, west"


# --- arriving by a link, choosing a row again, whose name it is


def test_a_link_opens_its_crop_year_plot_paper_and_ticket(screen: Screens, farm: Path) -> None:
    put(farm, loads=[EAST | {"plot": "west", "ticket": ticket, "weight_kg": 18_000.0} for ticket in ("1", "2", "3")])
    app = screen(farm, link=EAST_BY_LINK | {"plot": "west", "row": "2"})
    assert app.selectbox(key="plot-2026").value == "North half, west"
    assert field(app, "Ticket").value == "2"
    app = type_in(app, moisture="9,1")
    assert save_button(app).label == "Save 1 ticket for North half, west, 2026"
    save_button(app).click().run()
    assert stored(farm).sort("ticket")["moisture_pct"].to_list() == [None, 9.1, None]


def test_a_link_leads_to_a_plot_by_its_dates(screen: Screens, farm: Path) -> None:
    app = screen(farm, link={"crop_year": "2026", "paper": "plots", "row": "North half / west"})
    assert (field(app, "Field").value, field(app, "Plot").value) == ("North half", "west")


def test_an_address_with_the_name_of_a_paper_leads_to_it_as_before(screen: Screens, farm: Path) -> None:
    assert {former: first_place.place_of({"paper": former})["paper"] for former in FORMER_KEYS} == FORMER_KEYS
    app = screen(farm, link={"crop_year": "2026", "paper": "Loss checks"})
    assert app.selectbox(key="paper").value == "loss_checks"


def test_another_plot_than_the_one_in_the_link_can_be_chosen(screen: Screens, farm: Path) -> None:
    app = screen(farm, link=EAST_BY_LINK | {"plot": "west"})
    app.selectbox(key="plot-2026").set_value("North half, east").run()
    assert app.selectbox(key="plot-2026").value == "North half, east"
    assert "plot" not in app.query_params


def test_a_garbled_link_opens_the_screen_all_the_same(screen: Screens, farm: Path) -> None:
    app = screen(farm, link=EAST_BY_LINK | {"crop_year": "soon", "paper": "Napkins"})
    assert app.selectbox(key="paper").value == "loads"
    assert field(app, "Ticket").value == ""


def test_looking_at_a_row_on_record_makes_no_draft(screen: Screens, farm: Path) -> None:
    put(farm, loads=[EAST | {"ticket": "1", "weight_kg": 18_000.0}])
    screen(farm, link=EAST_BY_LINK | {"row": "1"})
    screen(farm, one_by_one=False)
    assert stored(farm, "drafts").is_empty()


def test_a_row_not_saved_yet_can_be_chosen_again_and_corrected(screen: Screens, farm: Path) -> None:
    app = screen(farm)
    for ticket in ("1", "2", "3"):
        app = type_in(app, ticket=ticket, weight="18000")
        app.button(key="next_row").click().run()
    row = next(box for box in app.main.selectbox if box.label == "Which ticket")
    assert row.options == ["A new ticket", "3, not saved yet", "2, not saved yet", "1, not saved yet"]
    row.set_value(0).run()
    assert field(app, "Ticket").value == "1"
    app = type_in(app, weight="19000")
    assert save_button(app).label == "Save 3 tickets for North half, east, 2026"
    save_button(app).click().run()
    assert stored(farm).sort("ticket")["weight_kg"].to_list() == [19_000.0, 18_000.0, 18_000.0]


def test_an_emptied_row_does_not_move_the_choice_to_its_neighbour(screen: Screens, farm: Path) -> None:
    app = screen(farm)
    for ticket in ("1", "2", "3"):
        app = type_in(app, ticket=ticket, weight="18000")
        app.button(key="next_row").click().run()
    next(box for box in app.main.selectbox if box.label == "Which ticket").set_value(0).run()
    for box in app.main.text_input:
        if box.label in ("Ticket", "Weight, kg"):
            box.set_value("")
    next(box for box in app.main.selectbox if box.label == "Which ticket").set_value(2).run()
    assert field(app, "Ticket").value == "3"
    assert save_button(app).label == "Save 2 tickets for North half, east, 2026"


def test_a_refused_row_can_be_left_for_the_next_one(screen: Screens, farm: Path) -> None:
    app = type_in(screen(farm), ticket="1", weight="18000", moisture="95")
    app.button(key="next_row").click().run()
    app = type_in(app, ticket="2", weight="18000")
    assert "Row 1 (1), refused: moisture, %: 95 given" in lines(app)
    save_button(app).click().run()
    assert "1 ticket added, 0 changed, 1 left (1)." in lines(app)


def test_nobody_is_named_until_a_person_has_typed(screen: Screens, farm: Path) -> None:
    with open_records(farm) as connection:
        change_settings(connection, {"farm_name": "Demo farm"}, done_by="demo", why=None)
    assert field(screen(farm), "Your name").value == ""
    app = type_in(screen(farm), your="Aunt", ticket="1", weight="18000")
    save_button(app).click().run()
    assert field(screen(farm), "Your name").value == "Aunt"


# --- looking for conflicts and saving are one


def test_a_transaction_inside_another_is_part_of_it(farm: Path) -> None:
    with open_records(farm) as connection:
        with pytest.raises(ZeroDivisionError), transaction(connection):
            with transaction(connection):
                connection.execute("delete from plots")
            raise ZeroDivisionError
        with transaction(connection):
            connection.execute("delete from fields")
    assert (stored(farm, "plots").height, stored(farm, "fields").height) == (2, 0)


def test_nobody_writes_between_the_look_for_conflicts_and_the_save(
    screen: Screens, farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    saved, theirs = entry_sheet.save_entry, {"loads": [EAST | {"ticket": "1", "weight_kg": 17_000.0}]}
    other = threading.Thread(target=put, args=(farm,), kwargs=theirs)

    def save_while_another_tries(*given: object, **named: object) -> str:
        other.start()
        other.join(timeout=1)
        assert other.is_alive()
        return saved(*given, **named)

    app = type_in(screen(farm), ticket="1", weight="19000")
    monkeypatch.setattr(entry_sheet, "save_entry", save_while_another_tries)
    app = save_button(app).click().run()
    other.join()
    assert "1 ticket added, 0 changed, 0 left." in lines(app)
    assert stored(farm, "acts").sort("act_id")["done_by"].to_list()[-2:] == ["at the screen", "Neighbour"]


def test_a_save_opens_the_file_at_most_three_times_and_reads_at_most_fifteen_tables_whole(
    screen: Screens, farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    counts: Counter[str] = Counter()
    connect, frame = database.connect, database._frame

    def counted_connect(path: Path) -> duckdb.DuckDBPyConnection:
        counts["openings"] += 1
        return connect(path)

    def counted_frame(relation: duckdb.DuckDBPyRelation) -> pl.DataFrame:
        counts["tables"] += relation.type == "TABLE_RELATION"
        return frame(relation)

    monkeypatch.setattr(database, "connect", counted_connect)
    monkeypatch.setattr(database, "_frame", counted_frame)
    app = type_in(screen(farm), ticket="1187", weight="18,62 t")
    assert counts["tables"]  # so that what is counted below is counted at all
    counts.clear()
    app = save_button(app).click().run()
    assert "1 ticket added, 0 changed, 0 left." in lines(app)
    print(f"\na save: {counts['openings']} openings, {counts['tables']} whole tables")
    assert counts["openings"] <= 3
    assert counts["tables"] <= 15
