"""The entry screen without a browser: understood at once, refused, unlikely, saved, drafted, and two who type."""

import threading
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import duckdb
import polars as pl
import pytest
from streamlit.testing.v1 import AppTest

from analytics.records.papers import FORMER_KEYS, PAPERS
from analytics.records.tables import TABLES
from analytics.settings import change_settings
from analytics.storage import database
from analytics.storage.checkpoints import log_of
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from analytics.storage.transactions import transaction
from dashboard.after_harvest import entry_acts, entry_pad, entry_sheet, first_place
from tests.prepared import begun, lent
from tests.screens.told_pad import ToldPad

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
SCREEN = "screens/enter_records.py"
EAST = {"crop_year": 2026, "field": "North half", "plot": "east"}
EAST_BY_LINK = {"crop_year": "2026", "field": "North half", "plot": "east", "paper": "loads"}
Screens = Callable[..., AppTest]
Ask = Callable[[duckdb.DuckDBPyConnection], duckdb.DuckDBPyRelation]


def put(path: Path, **tables: list[dict[str, object]]) -> None:
    frames = {name: pl.DataFrame(rows, schema=TABLES[name].polars_schema()) for name, rows in tables.items()}
    saves = [TableSave(table=TABLES[name], saved=frame, removed=frame.clear()) for name, frame in frames.items()]
    with begun(path) as connection:
        save(connection, saves, done_by="Neighbour", source="import")


def stored(path: Path, name: str = "loads") -> pl.DataFrame:
    with open_records(path) as connection:
        return read_table(connection, name)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A field of two plots, with the backup of the day."""
    path = tmp_path_factory.mktemp("made") / "records.duckdb"
    plots = [
        EAST | {"method": "standing", "acres": 40.0},
        EAST | {"plot": "west", "method": "windrowed", "acres": 40.0},
    ]
    put(path, fields=[{"field": "North half"}], plots=plots)
    with open_records(path):
        return path


@pytest.fixture
def farm(made: Path) -> Iterator[Path]:
    with lent(made) as path:
        yield path


@pytest.fixture
def pad(monkeypatch: pytest.MonkeyPatch) -> ToldPad:
    return ToldPad(monkeypatch)


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch, pad: ToldPad) -> Screens:
    def run(path: Path, paper: str = "loads", *, who: str = "", link: dict[str, str] | None = None) -> AppTest:
        monkeypatch.setenv("STANDROW_RECORDS", str(path))
        app = AppTest.from_file(APP, default_timeout=60).switch_page(SCREEN)
        app.query_params.update(link or {})
        if who:
            app.session_state["who"] = who
        if not link:
            app.session_state["paper"] = paper
        return app.run()

    return run


def lines(app: AppTest) -> str:
    """Everything the screen says around the pad, guards against markup taken out."""
    assert not app.exception
    parts = [
        element.value
        for part in (app.caption, app.info, app.success, app.error, app.warning, app.markdown)
        for element in part
    ]
    return "\n".join(parts).replace("\\", "")


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


def test_what_was_typed_comes_back_in_another_browser_and_says_from_when(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    pad.type_in(screen(farm), ticket="1187", weight_kg="18,62 t")
    again = screen(farm)
    assert "This is your draft of 20" in lines(again)
    assert pad.row == {"ticket": "1187", "weight_kg": "18,62 t"}
    assert stored(farm).is_empty()


def test_a_key_costs_no_rewriting_of_the_file_and_a_save_puts_all_of_it_in(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm)
    at_first = farm.read_bytes()
    pad.type_in(app, ticket="1041")
    pad.type_in(app, weight_kg="18120")
    assert farm.read_bytes() == at_first
    pad.press(app)
    assert not log_of(farm).exists()
    assert stored(farm)["ticket"].to_list() == ["1041"]


def test_a_draft_is_thrown_away_when_asked_twice_and_can_be_brought_back(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm)
    pad.type_in(app, ticket="1187")
    app.button(key="throw_away").click().run()
    assert "Throw away 1 ticket typed here and not saved?" in lines(app)
    app.button(key="throw_away_yes").click().run()
    assert pad.data["rows"] == []
    assert "wait" not in "".join(link.label for link in app.get("page_link"))
    app.button(key="bring_back").click().run()
    assert pad.row == {"ticket": "1187"}


@pytest.mark.parametrize(("press", "weight"), [("mine-1", 19_000.0), ("theirs-1", 17_000.0)])
def test_the_second_of_two_sees_both_values_and_chooses(
    screen: Screens, farm: Path, pad: ToldPad, press: str, weight: float
) -> None:
    app = screen(farm)
    pad.type_in(app, ticket="1187", weight_kg="19000")
    put(farm, loads=[EAST | {"ticket": "1187", "weight_kg": 17_000.0}])
    app.run()
    assert "1187 was typed by Neighbour as well. weight, kg: 19000 here, 17000 by Neighbour." in lines(app)
    assert pad.is_save_off
    app.button(key=press).click().run()
    if not pad.is_save_off:
        pad.press(app)
    assert stored(farm)["weight_kg"].to_list() == [weight]


def test_a_row_typed_by_two_is_still_asked_about_after_the_others_were_saved(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    put(farm, loads=[EAST | {"ticket": "1187", "weight_kg": 18_000.0}])
    app = screen(farm)
    pad.type_in(app, row=0, weight_kg="19000")
    pad.type_in(app, row=1, ticket="2", weight_kg="18500")
    put(farm, loads=[EAST | {"ticket": "1187", "weight_kg": 17_000.0}])
    pad.press(app)
    assert pad.data["done"] == "1 ticket added, 0 changed, 1 left (1187)."
    assert "1187 was typed by Neighbour as well. weight, kg: 19000 here, 17000 by Neighbour." in lines(app)
    assert pad.is_save_off
    assert stored(farm).sort("ticket")["weight_kg"].to_list() == [17_000.0, 18_500.0]


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


def test_a_year_without_plots_says_what_to_type_first_and_leads_there(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm)
    app.selectbox(key="crop_year").set_value(2027).run()
    assert "There is no plot on record for 2027" in lines(app)
    links = [link.label for link in app.get("page_link")]
    assert "Or type or copy all plots of 2027" in links


# --- where the screen opens


def test_the_place_of_the_last_save_is_remembered(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm, who="A")
    app.selectbox(key="plot-2026").set_value("North half, west").run()
    pad.type_in(app, ticket="5", weight_kg="18620")
    pad.press(app)
    assert screen(farm).selectbox(key="plot-2026").value == "North half, west"


def test_the_address_names_the_place_so_that_a_page_loaded_anew_opens_it(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm, "samples")
    app.selectbox(key="plot-2026").set_value("North half, west").run()
    address = {name: texts[0] if isinstance(texts, list) else texts for name, texts in app.query_params.items()}
    again = screen(farm, link=address)
    assert (again.selectbox(key="paper").value, again.selectbox(key="plot-2026").value) == (
        "samples",
        "North half, west",
    )


def test_a_link_opens_its_crop_year_plot_paper_and_ticket_and_makes_no_draft_and_another_plot_can_be_chosen(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    put(farm, loads=[EAST | {"plot": "west", "ticket": ticket, "weight_kg": 18_000.0} for ticket in ("1", "2", "3")])
    app = screen(farm, link=EAST_BY_LINK | {"plot": "west", "row": "2"})
    assert app.selectbox(key="plot-2026").value == "North half, west"
    assert pad.row["ticket"] == "2"
    assert stored(farm, "drafts").is_empty()
    pad.type_in(app, moisture_pct="9,1")
    assert pad.save_words == "Save 1 ticket for North half, west, 2026"
    pad.press(app)
    assert stored(farm).sort("ticket")["moisture_pct"].to_list() == [None, 9.1, None]
    app.selectbox(key="plot-2026").set_value("North half, east").run()
    assert app.selectbox(key="plot-2026").value == "North half, east"


def test_a_link_leads_to_a_plot_by_its_dates(screen: Screens, farm: Path, pad: ToldPad) -> None:
    screen(farm, link={"crop_year": "2026", "paper": "plots", "row": "North half / west"})
    assert (pad.row["field"], pad.row["plot"]) == ("North half", "west")


def test_an_address_with_the_name_of_a_paper_leads_to_it_as_before(screen: Screens, farm: Path, pad: ToldPad) -> None:
    assert {former: first_place.place_in_link({"paper": former})["paper"] for former in FORMER_KEYS} == FORMER_KEYS
    app = screen(farm, link={"crop_year": "2026", "paper": "Loss checks"})
    assert app.selectbox(key="paper").value == "loss_checks"


@pytest.mark.parametrize(
    ("box", "chosen", "opened"),
    [
        ("paper", "samples", ("samples", "North half, west")),
        ("plot-2026", "All plots", ("loads", "All plots")),
    ],
)
def test_what_is_chosen_while_the_next_plot_opens_stays_chosen(
    screen: Screens, farm: Path, pad: ToldPad, box: str, chosen: str, opened: tuple[str, str]
) -> None:
    """On a slow machine there is a second between the press and the next plot."""
    app = screen(farm)
    app.session_state[first_place.ONWARD] = {"field": "North half", "plot": "west"}
    app.selectbox(key=box).set_value(chosen).run()
    assert (app.selectbox(key="paper").value, app.selectbox(key="plot-2026").value) == opened


def test_a_garbled_link_opens_the_screen_all_the_same_and_says_what_is_wrong(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm, link=EAST_BY_LINK | {"crop_year": "soon", "paper": "Napkins"})
    assert app.selectbox(key="paper").value == "loads"
    assert "Crop year soon given in the address; allowed 1990 to" in lines(app)
    assert pad.row == {}


def test_any_crop_year_back_to_1990_can_be_typed_and_opened_by_a_link(
    screen: Screens, farm: Path, pad: ToldPad
) -> None:
    app = screen(farm, link={"crop_year": "1990", "paper": "fields"})
    assert app.selectbox(key="crop_year").value == 1990
    assert pad.data["noun"] == "field"


def test_a_draft_that_a_broken_off_run_kept_goes_with_the_save(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm)
    pad.type_in(app, ticket="1187", weight_kg="18620")
    assert stored(farm, "drafts").height == 1
    app.session_state["entry_sheet"].draft = None  # the run ended after the draft was written, before it was noted
    pad.press(app)
    assert stored(farm)["ticket"].to_list() == ["1187"]
    assert stored(farm, "drafts").is_empty()


def test_what_waits_is_named_on_every_screen_with_a_link_to_it(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm, who="Ann")
    app.selectbox(key="plot-2026").set_value("All plots").run()
    pad.type_in(app, field="North half", plot="east", ticket="1", weight_kg="18000")
    app.switch_page("screens/gaps.py").run()
    (link,) = [link for link in app.get("page_link") if "wait" in link.label]
    assert link.label == "1 ticket for 2026 waits to be saved, typed by Ann"
    again = screen(farm, link={"paper": "loads", "crop_year": "2026", "who": "Ann"})
    assert again.selectbox(key="plot-2026").value == "All plots"
    assert pad.row["ticket"] == "1"


def test_two_windows_without_a_name_keep_a_draft_each_and_both_are_offered(
    screen: Screens, farm: Path, pad: ToldPad, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = screen(farm)
    other_pad = ToldPad(monkeypatch)
    other = screen(farm)
    other_pad._show(data=[pad.data])
    pad.type_in(one, ticket="50001")
    number = other.session_state[entry_sheet.SHEET].number
    other_pad.data = other_pad.data | {"sheet": number, "rows": []}
    other.session_state[entry_pad.KEY] = {
        "draft": {"sheet": number, "pad": "phone", "seq": 1, "rows": [{"ticket": "50002"}], "units": {}}
    }
    other.run()
    assert stored(farm, "drafts").height == 2
    assert "Another window typed here as well: 1 ticket" in lines(other)
    other.button(key="take_in-0").click().run()
    assert {row["ticket"] for row in other_pad.data["rows"]} == {"50001", "50002"}
    assert stored(farm, "drafts").height == 1


def test_what_a_window_tells_that_is_no_text_of_a_row_is_passed_over(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm)
    for told in ({"draft": 7}, {"draft": {"sheet": pad.data["sheet"], "seq": "x", "rows": [7, {"ticket": {}}]}}, 7):
        app.session_state[entry_pad.KEY] = told
        app.run()
        assert not app.exception
    assert stored(farm, "drafts").is_empty()


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


def test_a_name_typed_in_the_middle_takes_the_draft_along(screen: Screens, farm: Path, pad: ToldPad) -> None:
    app = screen(farm)
    pad.type_in(app, ticket="1")
    app.text_input(key="who").input("Ann").run()
    assert stored(farm, "drafts")["typed_by"].to_list() == ["Ann"]
    assert pad.row == {} or pad.data["rows"] == [{"ticket": "1"}]


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
    screen: Screens, farm: Path, pad: ToldPad, monkeypatch: pytest.MonkeyPatch
) -> None:
    saved, theirs = entry_acts.save_entry, {"loads": [EAST | {"ticket": "1", "weight_kg": 17_000.0}]}
    other = threading.Thread(target=put, args=(farm,), kwargs=theirs)

    def save_while_another_tries(*given: object, **named: object) -> str:
        other.start()
        other.join(timeout=1)
        assert other.is_alive()
        return saved(*given, **named)

    app = screen(farm)
    pad.type_in(app, ticket="1", weight_kg="19000")
    monkeypatch.setattr(entry_acts, "save_entry", save_while_another_tries)
    pad.press(app)
    other.join()
    assert pad.data["done"] == "1 ticket added, 0 changed, 0 left."
    assert stored(farm, "acts").sort("act_id")["done_by"].to_list()[-2:] == ["at the screen", "Neighbour"]


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
