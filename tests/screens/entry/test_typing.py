"""The entry screen without a browser: what is typed is understood at once, refused, unlikely, saved."""

from collections import Counter
from collections.abc import Callable
from pathlib import Path

import duckdb
import polars as pl
import pytest
from streamlit.testing.v1 import AppTest

from analytics.records.papers import PAPERS
from analytics.settings import change_settings
from analytics.storage import database
from analytics.storage.database import open_records
from tests.screens.entry.farm import APP, Screens, lines, stored
from tests.screens.told_pad import ToldPad

Ask = Callable[[duckdb.DuckDBPyConnection], duckdb.DuckDBPyRelation]


def test_a_ticket_is_understood_and_saved_and_the_line_says_so(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm, who="A")
    pad.type_in(app, ticket="1187", weight_kg="18620 kg", dockage_pct="2,5", moisture_pct="9.1")
    assert "= 18.15 t clean, 20.01 bu/ac so far" in pad.words
    assert pad.save_words == "Save 1 ticket for North half, east, 2026"
    pad.press(app)
    assert pad.data["done"] == "1 ticket added, 0 changed, 0 left."
    assert stored(farm).select("ticket", "weight_kg", "dockage_pct").rows() == [("1187", 18620.0, 2.5)]
    assert stored(farm, "acts").select("done_by", "source").rows()[-1] == ("A", "screen")
    assert stored(farm, "drafts").is_empty()


def test_two_tickets_in_two_units_are_saved_together(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm)
    pad.type_in(app, row=0, ticket="1", weight_kg="18620")
    pad.type_in(app, row=1, ticket="2", weight_kg="18,62 t")
    assert pad.save_words == "Save 2 tickets for North half, east, 2026"
    pad.press(app)
    assert stored(farm).sort("ticket")["weight_kg"].to_list() == [18620.0, 18620.0]


def test_an_impossible_value_is_refused_beside_its_cell_with_what_is_allowed(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm, "samples")
    pad.type_in(app, sample="1", thousand_seed_g="36")
    ((columns, words),) = pad.data["answers"][0]["refused"]
    assert columns == "thousand_seed_g"
    assert "36 given; allowed a number from 1 to 10" in words
    assert pad.is_save_off


def test_an_unlikely_value_waits_for_a_word_why(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm)
    pad.type_in(app, row=0, ticket="9", weight_kg="75 t")
    assert "weight, kg: 75 t (75000 kg) given; usual is 500 to 70000 kg" in pad.words
    assert pad.is_save_off
    pad.type_in(app, row=0, why="two trailers")
    pad.press(app)
    assert stored(farm, "acts")["why"].to_list()[-1] == "9: two trailers"


def test_plots_are_copied_from_last_year_in_one_step(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm, "plots")
    app.selectbox(key="crop_year").set_value(2027).run()
    app.button(key="put_in-0").click().run()
    assert pad.save_words == "Save 2 plots for 2027"
    pad.press(app)
    assert stored(farm, "plots").filter(pl.col("crop_year") == 2027)["plot"].sort().to_list() == ["east", "west"]


def test_names_on_record_and_a_pair_are_offered_and_a_pair_is_only_put_in_when_asked(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm, "pairs")
    options = {column["name"]: column["options"] for column in pad.data["columns"]}
    assert options["standing_field"] == ["North half"]
    assert options["standing_plot"] == ["east", "west"]
    assert options["layout"][:2] == ["split field", "strips"]
    offer = app.button(key="put_in-0")
    assert "North half, east (standing) with North half, west (windrowed): same field" in offer.label
    assert pad.is_save_off
    offer.click().run()
    pad.press(app)
    assert stored(farm, "pairs")["layout"].to_list() == ["split field"]


def test_every_paper_opens_empty_without_an_error(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm)
    for paper in PAPERS:
        app.selectbox(key="paper").set_value(paper).run()
        assert not app.exception
        assert not app.error
        assert pad.is_save_off


def test_a_refused_row_is_left_for_later_and_the_rest_is_saved(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm)
    pad.type_in(app, row=0, ticket="1", weight_kg="18000", moisture_pct="95")
    pad.type_in(app, row=1, ticket="2", weight_kg="18000")
    assert "moisture_pct: moisture, %: 95 given" in pad.words
    pad.press(app)
    assert pad.data["done"] == "1 ticket added, 0 changed, 1 left (1)."
    assert pad.data["rows"][-1]["moisture_pct"] == "95"


def test_nobody_is_named_until_a_person_has_typed(screen: Screens, farm: Path, pad: ToldPad) -> None:
    with open_records(farm) as connection:
        change_settings(connection, {"farm_name": "Demo farm"}, done_by="demo", why=None)
    assert screen(farm).text_input(key="who").value == ""
    app = screen(farm, who="Aunt")
    pad.type_in(app, ticket="1", weight_kg="18000")
    pad.press(app)
    assert screen(farm).text_input(key="who").value == "Aunt"


def test_a_save_opens_the_file_at_most_three_times_and_reads_at_most_fifteen_tables_whole(
    screen: Screens, farm: Path, pad: ToldPad, monkeypatch: pytest.MonkeyPatch
) -> None:
    counts: Counter[str] = Counter()
    connect, frame = database.connect, database._frame

    def counted_connect(path: Path) -> duckdb.DuckDBPyConnection:
        counts["openings"] += 1
        return connect(path)

    def counted_frame(connection: duckdb.DuckDBPyConnection, text: str, ask: Ask) -> pl.DataFrame:
        counts["tables"] += text.isidentifier()  # a name alone
        return frame(connection, text, ask)

    monkeypatch.setattr(database, "connect", counted_connect)
    monkeypatch.setattr(database, "_frame", counted_frame)
    app = screen(farm)
    pad.type_in(app, ticket="1187", weight_kg="18,62 t")
    assert counts["tables"]  # so that what is counted below is counted at all
    counts.clear()
    pad.press(app)
    assert pad.data["done"] == "1 ticket added, 0 changed, 0 left."
    print(f"\na save: {counts['openings']} openings, {counts['tables']} whole tables")
    assert counts["openings"] <= 3
    assert counts["tables"] <= 15


def test_a_comma_that_could_be_either_is_asked_about_once_and_the_answer_is_kept(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm)
    pad.type_in(app, row=0, ticket="1", weight_kg="18,620")
    assert "Is 18,620 on your papers 18620, or is it 18.620?" in lines(app)
    assert pad.is_save_off
    app.button(key="comma thousands entry").click().run()
    assert "= 18.62 t" in pad.words
    pad.type_in(app, row=1, ticket="2", weight_kg="19,640")
    assert "on your papers" not in lines(app)
    pad.press(app)
    assert stored(farm).sort("ticket")["weight_kg"].to_list() == [18_620.0, 19_640.0]


def test_the_first_hour_leads_from_nothing_to_an_answer_that_says_what_would_make_it_better(
    screen: Screens, tmp_path: Path, pad: ToldPad, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "records.duckdb"
    monkeypatch.setenv("STANDROW_RECORDS", str(path))
    app = AppTest.from_file(APP, default_timeout=60).run()
    app.button(key="begin screens/enter_records.py").click().run()
    app.selectbox(key="crop_year").set_value(2026).run()
    for plot, method in (("east", "standing"), ("west", "windrowed")):
        app.text_input(key="new_field").input("North half")
        app.text_input(key="new_plot_name").input(plot)
        app.text_input(key="new_acres").input("40")
        app.selectbox(key="new_method").set_value(method)
        next(button for button in app.button if button.label.startswith("Make this plot")).click().run()
        pad.type_in(app, ticket=f"{plot} 1", weight_kg="18620", moisture_pct="9", dockage_pct="2")
        pad.press(app)
        assert pad.data["done"] == "1 ticket added, 0 changed, 0 left."
    assert "North half, east (standing) with North half, west (windrowed): same field." in lines(app)
    app.button(key="make_pair-2026-0").click().run()
    app.switch_page("screens/answer.py").run()
    assert "Too few to judge" in lines(app)
    assert app.header[0].value == "What would make it better"
    assert "Two more field-years would make 3" in lines(app)


def test_a_plot_that_is_on_record_or_cannot_be_is_not_made(screen: Screens, farm: Path) -> None:
    app = screen(farm)
    for plot, acres, said in (("east", "40", "is on record already"), ("north", "-3", "-3 given")):
        app.text_input(key="new_field").input("North half")
        app.text_input(key="new_plot_name").input(plot)
        app.text_input(key="new_acres").input(acres)
        next(button for button in app.button if button.label.startswith("Make this plot")).click().run()
        assert said in lines(app)
    assert stored(farm, "plots").height == 2
