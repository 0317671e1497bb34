"""The screen for files without a browser: looked at, matched, told apart, written by one button, kept for next year."""

from collections.abc import Callable, Iterator
from pathlib import Path

import polars as pl
import pytest
from streamlit.testing.v1 import AppTest

from analytics.files.templates import WORKBOOK, season_rows, template_files
from analytics.files.text_tables import LARGEST_BYTES
from analytics.records.tables import TABLES
from analytics.serving.passphrases import Right
from analytics.serving.server import OPTIONS
from analytics.storage.backups import list_backups
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from analytics.trade.cautions import LABEL
from analytics.trade.typed_text import MONTH_FIRST
from dashboard.after_harvest import files_in_hand
from dashboard.frame import door
from tests.files.given import incoming_of
from tests.prepared import begun, lent
from tests.screens.unfolding import unfolded

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
SCREEN = "screens/bring_in_files.py"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FARM = {
    "fields.csv": "field,acres\nNorth half,80\n",
    "plots.csv": "crop_year,field,plot,method,acres\n2026,North half,east,standing,40\n"
    "2026,North half,west,windrowed,40\n",
    "loads.csv": "crop_year,field,plot,ticket,weight_kg,moisture_pct,dockage_pct\n"
    "2026,North half,east,1187,18620,8.9,1.2\n2026,North half,west,1188,20310,9.4,1.0\n",
}
TICKETS = "Ticket\tStrip\tNet lb\tMoisture\n1189\teast\t41050\t8,8\n1190\twest\t39000\t9,1\n"
Screens = Callable[..., AppTest]


def stored(path: Path, name: str = "loads") -> pl.DataFrame:
    with open_records(path) as connection:
        return read_table(connection, name)


def put(path: Path, **tables: list[dict[str, object]]) -> None:
    frames = {name: pl.DataFrame(rows, schema=TABLES[name].polars_schema()) for name, rows in tables.items()}
    saves = [TableSave(table=TABLES[name], saved=frame, removed=frame.clear()) for name, frame in frames.items()]
    with begun(path) as connection:
        save(connection, saves, done_by="Neighbour", source="import")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The farm on record, with the backup of the day."""
    path = tmp_path_factory.mktemp("made") / "records.duckdb"
    found = incoming_of([(name, text.encode()) for name, text in FARM.items()])
    put(path, **{name: rows.to_dicts() for name, rows in found.tables.items()})
    with open_records(path):
        return path


@pytest.fixture
def farm(made: Path) -> Iterator[Path]:
    with lent(made) as path:
        yield path


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch) -> Screens:
    def run(path: Path) -> AppTest:
        monkeypatch.setenv("STANDROW_RECORDS", str(path))
        return AppTest.from_file(APP, default_timeout=60).switch_page(SCREEN).run()

    return run


def upload(app: AppTest, **changed: str) -> AppTest:
    files = {f"{name}.csv": text for name, text in changed.items()}
    app.file_uploader[0].set_value([(name, text.encode(), "text/csv") for name, text in files.items()]).run()
    assert not app.exception
    return app


def paste(app: AppTest, text: str) -> AppTest:
    app.text_area[0].set_value(text).run()
    assert not app.exception
    return app


def words(app: AppTest) -> str:
    """Everything the screen says, the guards of markup taken out."""
    assert not app.exception
    parts = (app.info, app.success, app.error, app.warning, app.markdown, app.caption, app.header)
    return "\n".join(element.value for part in parts for element in part).replace("\\", "").replace("\u202f", " ")


def field(app: AppTest, label: str) -> object:
    return next(box for box in [*app.main.text_input, *app.main.selectbox] if box.label == label)


def button(app: AppTest) -> object:
    return app.button(key="bring_in")


def rows(app: AppTest, at: int = 0) -> list[tuple[str, ...]]:
    return [tuple(row) for row in pl.DataFrame(app.dataframe[at].value).select("row", "mark", "what").iter_rows()]


def test_nothing_given_asks_for_a_file_and_shows_no_button(screen: Screens, farm: Path) -> None:
    app = screen(farm)
    assert "Nothing is written until you press the button" in words(app)
    assert [one.key for one in app.main.button] == []


def test_rows_are_marked_new_changed_and_as_before_and_written_by_one_button(screen: Screens, farm: Path) -> None:
    loads = FARM["loads.csv"].replace("18620", "18640") + "2026,North half,east,1191,19000,8,8,1\n".replace(
        "8,8", "8.8"
    )
    app = upload(screen(farm), loads=loads)
    assert "1 row is new, 1 changes, 1 is as before." in words(app)
    assert rows(app) == [("2", "changed", "weight_kg: 18620 → 18640"), ("4", "new", ""), ("3", "as before", "")]
    assert button(app).label == "Add 1 row and change 1"
    assert stored(farm)["weight_kg"].sort().to_list() == [18620.0, 20310.0]
    field(app, "Your name").set_value("A grower").run()
    button(app).click().run()
    assert "1 row added, 1 changed, 1 as before." in words(app)
    assert stored(farm)["weight_kg"].sort().to_list() == [18640.0, 19000.0, 20310.0]
    act = stored(farm, "acts").sort("act_id").tail(1).select("done_by", "source", "why").row(0)
    assert act == ("A grower", "import", "from loads.csv")
    assert list_backups(farm)[0].reason == "before import"
    assert [one.key for one in app.main.button] == []  # the files are let go


def test_a_short_interval_is_asked_about_before_and_after_it_is_brought_in(screen: Screens, farm: Path) -> None:
    days = "preharvest_on,preharvest_interval_days,windrowed_on,harvested_on"
    plot = "2026,North half,west,windrowed,40,2026-08-20,14,2026-08-22,2026-09-05"
    app = upload(screen(farm), plots=f"crop_year,field,plot,method,acres,{days}\n{plot}\n")
    short = "North half, west, 2026: only 2 days from the product to the first cut"
    assert short in words(app)
    assert LABEL in words(app)
    button(app).click().run()
    assert "0 rows added, 1 changed" in words(app)
    assert short in words(app)
    assert LABEL in words(app)


def test_the_same_files_again_leave_nothing_to_do(screen: Screens, farm: Path) -> None:
    app = upload(screen(farm), **{name.removesuffix(".csv"): text for name, text in FARM.items()})
    assert "0 rows are new, 0 change, 5 are as before." in words(app)
    assert (button(app).label, button(app).disabled) == ("Nothing to bring in", True)


def test_faults_are_named_with_row_and_column_and_do_not_hide_the_other_rows(screen: Screens, farm: Path) -> None:
    loads = FARM["loads.csv"].replace("9.4", "94") + "2026,North half,middle,1191,19000,8.8,1\n"
    app = upload(screen(farm), loads=loads)
    assert "2 faults to put right first. Of the other rows: 0 rows are new, 0 change, 1 is as before." in words(app)
    assert "loads.csv, row 3, moisture_pct: 94 given; allowed a number from 2 to 30. Was a decimal mark" in words(app)
    assert "loads.csv, row 4, crop_year / field / plot: 2026 / North half / middle given" in words(app)
    assert [row[:2] for row in rows(app)] == [("3", "faulty"), ("4", "faulty"), ("2", "as before")]
    assert (button(app).label, button(app).disabled) == ("Nothing can be brought in yet", True)


def test_with_more_faults_than_are_named_the_other_rows_are_not_called_sound(screen: Screens, farm: Path) -> None:
    bad = "".join(f"2026,North half,east,{number},x,8.8,1\n" for number in range(201))
    app = upload(screen(farm), loads=FARM["loads.csv"] + bad)
    assert "201 faults to put right first; the first 200 are named." in words(app)
    assert "too many faults to tell the other rows apart" in words(app)
    assert {row[1] for row in rows(app)} == {"faulty"}


def test_a_pasted_block_is_matched_and_the_match_is_picked_again_for_next_years_file(
    screen: Screens, farm: Path
) -> None:
    app = paste(screen(farm), TICKETS)
    assert "Still needed: crop year, field." in words(app)
    assert field(app, "Weight in").value == "lb"
    field(app, "Weight in").set_value("bu")
    for label, typed in (("Crop year in every row", "2026"), ("Field in every row", "North half")):
        field(app, label).set_value(typed)
    field(app, "Keep this match for next year as").set_value("buyer").run()
    assert button(app).label == "Add 2 rows and change 0"
    next(one for one in app.main.button if one.label == "Keep this match").click().run()
    assert "The match is kept as buyer." in words(app)
    button(app).click().run()
    assert "2 rows added, 0 changed, 0 as before." in words(app)
    saved = stored(farm).filter(pl.col("ticket") == "1189").select("weight_kg", "moisture_pct").row(0)
    assert saved == (pytest.approx(41050 * 50 * 0.45359237), 8.8)
    app = upload(app, list="Truck,Net lb,Moisture,Ticket,Strip\nred,900,8.8,7,east\n")
    assert field(app, "As kept before").value == ("buyer", "loads")
    assert field(app, "Weight in").value == "bu"
    for label in ("Crop year in every row", "Field in every row"):
        assert field(app, label).value == ""  # what was typed for one year is not taken for the next


def test_a_constant_that_cannot_be_read_is_named_once(screen: Screens, farm: Path) -> None:
    app = paste(screen(farm), TICKETS)
    field(app, "Field in every row").set_value("North half").run()
    field(app, "Crop year in every row").set_value("20x6").run()
    assert words(app).count("20x6 given; not a number") == 1
    assert "bring_in" not in [one.key for one in app.main.button]


def test_columns_that_nothing_is_taken_from_are_named(screen: Screens, farm: Path) -> None:
    app = paste(screen(farm), TICKETS.replace("Strip", "Truck"))
    assert "Not read: truck." in words(app)


def test_a_table_can_be_left_out(screen: Screens, farm: Path) -> None:
    app = upload(
        screen(farm),
        **{"loads": FARM["loads.csv"] + "2026,North half,east,1191,19000,8.8,1\n", "to do": "what,who\na,b\n"},
    )
    assert field(app, "These rows are").value is None
    assert button(app).label == "Add 1 row and change 0"


def test_records_changed_meanwhile_are_looked_at_again_before_anything_is_written(screen: Screens, farm: Path) -> None:
    app = upload(screen(farm), loads=FARM["loads.csv"].replace("18620", "18640"))
    put(farm, fields=[{"field": "South half"}])
    button(app).click().run()
    assert "changed since you looked. Nothing was written." in words(app)
    assert 18640.0 not in stored(farm)["weight_kg"].to_list()
    button(app).click().run()
    assert 18640.0 in stored(farm)["weight_kg"].to_list()


def test_a_file_given_again_takes_the_place_of_the_first(screen: Screens, farm: Path) -> None:
    app = screen(farm)
    wrong, right = (FARM["loads.csv"].replace("18620", weight).encode() for weight in ("x", "18640"))
    app.file_uploader[0].set_value([("loads.csv", wrong, "text/csv"), ("loads.csv", right, "text/csv")]).run()
    assert button(app).label == "Add 0 rows and change 1"


def test_a_filled_workbook_says_how_many_rows_wait_to_be_filled_in(screen: Screens, farm: Path) -> None:
    app = screen(farm)
    with open_records(farm) as connection:
        records = {name: read_table(connection, name) for name in TABLES}
    book = template_files(season_rows(records, crop_year=2026))[WORKBOOK]
    app.file_uploader[0].set_value([(WORKBOOK, book, XLSX)]).run()
    assert "records.xlsx, sheet loads: 2 row(s) name a plot and nothing else, and were passed over." in words(app)
    assert "0 rows are new, 0 change, 3 are as before" in words(app)  # the field and its two plots


def test_a_file_of_another_kind_gives_one_plain_message(screen: Screens, farm: Path) -> None:
    app = screen(farm)
    app.file_uploader[0].set_value([("farm.xlsx", b"no workbook", "application/zip")]).run()
    assert not app.exception
    assert "is not a .xlsx workbook" in words(app)


def test_a_block_too_long_to_paste_is_a_file(screen: Screens, farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files_in_hand, "LONGEST_PASTE", len(TICKETS))
    assert "Still needed" in words(paste(screen(farm), TICKETS))
    assert "Save it as a CSV file instead" in words(paste(screen(farm), TICKETS + " "))


def test_the_browser_refuses_what_the_reader_would_refuse() -> None:
    assert LARGEST_BYTES - 2**20 < OPTIONS["server.maxUploadSize"] * 2**20 <= LARGEST_BYTES


def test_text_and_file_names_are_shown_as_text(screen: Screens, farm: Path) -> None:
    app = upload(screen(farm), **{"**bold** $x$ list": "ticket,field,plot,crop_year\n1,<b>North</b>,east,2026\n"})
    headings = "\n".join(element.value for element in app.main.header)
    assert r"\*\*bold\*\* \$x\$ list.csv" in headings
    faults = "\n".join(element.value for element in app.markdown)
    assert r"\<b\>North\</b\>" in faults


def test_who_may_only_look_sees_the_rows_and_cannot_bring_them_in(
    screen: Screens, farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(door, "right", lambda: Right.LOOKING)
    app = upload(screen(farm), loads=FARM["loads.csv"].replace("18620", "18640"))
    assert "0 rows are new, 1 changes, 1 is as before." in words(app)
    assert button(app).disabled


def test_who_may_only_look_begins_no_records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(door, "right", lambda: Right.LOOKING)
    monkeypatch.setenv("STANDROW_RECORDS", str(tmp_path / "records.duckdb"))
    app = AppTest.from_file(APP, default_timeout=60).run()
    app.button(key="begin screens/bring_in_files.py").click().run()
    assert "Nothing was changed." in words(app)
    assert not (tmp_path / "records.duckdb").exists()


def test_first_use_begins_the_records_and_leads_to_this_screen_which_takes_a_whole_farm(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "records.duckdb"
    monkeypatch.setenv("STANDROW_RECORDS", str(path))
    app = AppTest.from_file(APP, default_timeout=60).run()
    assert not path.exists()
    app.button(key="begin screens/bring_in_files.py").click().run()
    assert [title.value for title in app.title] == ["What is in this file?"]
    app = upload(app, **{name.removesuffix(".csv"): text for name, text in FARM.items()})
    assert button(app).label == "Add 5 rows and change 0"
    button(app).click().run()
    assert "loads: 2 rows added, 0 changed, 0 as before." in words(app)
    assert stored(path, "fields").rows() == [("North half", 80.0, None, None, None)]


def test_templates_are_offered_empty_and_filled_for_a_crop_year(screen: Screens, farm: Path) -> None:
    app = unfolded(screen(farm), "files_to_fill_in")
    app.selectbox(key="template_year").set_value(2026).run()
    assert [one.proto.label for one in app.get("download_button")] == [
        "Empty: CSV files in a ZIP",
        "Empty: workbook",
        "Filled for 2026: CSV files in a ZIP",
        "Filled for 2026: workbook",
    ]


UNTIDY = (
    "Canola 2024\n\nField\tSide\tHow\tTkt\tDate\tGross kg\tTare kg\tMC\n"
    "Home\te\tstraight-cut\t1\t10/3/24\t38100\t19500\t9\nHom\tw\tswathed\t2\t10/4/24\t38300\t19500\t9\n"
    "Total\t\t\t\t\t76400\t39000\t\n"
)


def test_an_untidy_sheet_begins_a_farm_once_the_order_of_its_dates_and_a_name_are_said(
    screen: Screens, tmp_path: Path
) -> None:
    with begun(tmp_path / "records.duckdb"):
        pass
    app = paste(screen(tmp_path / "records.duckdb"), UNTIDY)
    assert "row 6, Total, 76400, 39000: a total or an average" in words(app)
    assert "Above the column names, passed over: Canola 2024." in words(app)
    app.radio(key="match-0-0-order").set_value(MONTH_FIRST)
    app.checkbox(key="match-0-0-aside").uncheck().run()
    assert button(app).disabled  # the total is read too, and has no plot
    app.checkbox(key="match-0-0-aside").check().run()
    assert button(app).label == "Add 6 rows and change 0"
    button(app).click().run()
    loads = stored(tmp_path / "records.duckdb").sort("ticket")
    assert loads["weight_kg"].to_list() == [18600.0, 18800.0]
    assert [str(day) for day in loads["delivered_on"]] == ["2024-10-03", "2024-10-04"]
    assert stored(tmp_path / "records.duckdb", "plots").sort("plot")["method"].to_list() == ["standing", "windrowed"]


def test_a_field_that_is_named_once_holds_for_the_rows_below_it(screen: Screens, tmp_path: Path) -> None:
    with begun(tmp_path / "records.duckdb"):
        pass
    sheet = (
        "Canola 2024\nField,Side,Method,Tkt,Date,Net kg\nHome,e,straight,1,2024-10-03,18600\n,,,2,2024-10-04,18800\n"
    )
    app = paste(screen(tmp_path / "records.duckdb"), sheet)
    box = app.checkbox(key="match-0-0-carried")
    assert box.label == "Fill blanks with the name above them: 1 cell of field, 1 cell of side, 1 cell of method"
    (loads,) = [rows for one in app.dataframe if "ticket" in (rows := pl.DataFrame(one.value)).columns]
    assert loads.select("field", "plot").rows() == [("Home", "e"), ("Home", "e")]
    box.uncheck().run()
    assert "row 4, field: nothing given" in words(app)


def test_weather_without_a_field_is_the_whole_farms_until_somebody_says_otherwise(
    screen: Screens, tmp_path: Path
) -> None:
    with begun(tmp_path / "records.duckdb"):
        pass
    rows = "Home,wind,2024-09-03,70\n,wind,2024-09-04,80\n"
    app = paste(screen(tmp_path / "records.duckdb"), f"Field,Weather event,Happened on,Wind km/h\n{rows}")
    assert app.checkbox(key="match-0-0-carried").value is False


def test_a_misspelt_field_is_put_right_in_all_its_rows_and_pairs_are_offered(screen: Screens, tmp_path: Path) -> None:
    with begun(tmp_path / "records.duckdb"):
        pass
    text = (
        UNTIDY.replace("10/3/24", "3-Oct")
        .replace("10/4/24", "Oct 4")
        .replace("Home", "Mailbox")
        .replace("Hom\t", "Mail box\t")
    )
    app = paste(screen(tmp_path / "records.duckdb"), text + "Mailbox\tw\tswathed\t3\tOct 4\t38300\t19500\t9\n")
    assert app.selectbox(key="name-0--Mail box").value == "Mailbox"
    button(app).click().run()
    assert stored(tmp_path / "records.duckdb")["field"].to_list() == ["Mailbox"] * 3
    app.button(key="make_pair-2024-0").click().run()
    assert stored(tmp_path / "records.duckdb", "pairs").select("standing_plot", "windrowed_plot").rows() == [("e", "w")]
