"""The screen that tells whether the records are safe: history, undo, backups, everything as files."""

from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import polars as pl
import pytest
from duckdb import DuckDBPyConnection
from streamlit.testing.v1 import AppTest

from analytics.errors import Refused
from analytics.files.exporting import export_workbook, export_zip
from analytics.health import Health, examine
from analytics.records.grown_tables import FIELDS, PLANTINGS
from analytics.serving.passphrases import Right
from analytics.storage import database
from analytics.storage.backups import list_backups, make_backup
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from analytics.storage.restoring import Restore
from dashboard.frame import door
from dashboard.the_records import acts_and_backups, damaged_file
from tests.prepared import begun, lent
from tests.screens.shown_tables import column, shown_tables
from tests.screens.unfolding import unfolded

APP = str(Path(__file__).resolve().parents[2] / "dashboard" / "app.py")
SCREEN = "screens/record_keeping.py"

Screen = Callable[[Path], AppTest]


@pytest.fixture(scope="module")
def health(made: Path) -> Health:
    """What the farm's first line says, found once: to read every row takes longer than what most tests look at."""
    return examine(made)


@pytest.fixture
def screen(whole_screen: Screen, health: Health, monkeypatch: pytest.MonkeyPatch) -> Screen:
    """The screen on the records at a path, with the first line of the farm as it was made."""
    monkeypatch.setattr(acts_and_backups, "read_health", lambda: health)
    return whole_screen


@pytest.fixture
def whole_screen(monkeypatch: pytest.MonkeyPatch) -> Screen:
    """The screen on the records at a path, with the first line that is so."""

    def run(path: Path) -> AppTest:
        monkeypatch.setenv("STANDROW_RECORDS", str(path))
        return AppTest.from_file(APP, default_timeout=60).switch_page(SCREEN).run()

    return run


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two acts: a field, then its acres corrected; and the backup of the day."""
    path = tmp_path_factory.mktemp("made") / "records.duckdb"
    with begun(path) as connection:
        keep(connection, {"field": "North", "acres": 160.0})
        keep(connection, {"field": "North", "acres": 158.5}, done_by="A daughter", why="measured again")
    with open_records(path):
        return path


@pytest.fixture
def farm(made: Path) -> Iterator[Path]:
    with lent(made) as path:
        yield path


def keep(connection, *rows, done_by="A grower", why=None) -> int:
    frame = pl.DataFrame(list(rows), schema=FIELDS.polars_schema())
    change = TableSave(table=FIELDS, saved=frame, removed=frame.clear())
    return save(connection, [change], done_by=done_by, source="screen", why=why)


def shown(app: AppTest) -> str:
    """All that is written on the screen, without the backslashes that keep it from being read as markup."""
    assert not app.exception
    parts = (app.title, app.header, app.markdown, app.caption, app.info, app.error, app.success, app.warning)
    return "\n".join(element.value.replace("\\", "") for part in parts for element in part)


def fields(path: Path) -> list[tuple[object, ...]]:
    with open_records(path) as connection:
        return read_table(connection, "fields").select("field", "acres").sort("field").rows()


def unfold(app: AppTest, act: int) -> AppTest:
    app.session_state[f"act {act}"] = True
    return app.run()


def look_at_undo(app: AppTest, act: int) -> AppTest:
    return unfold(app, act).button(key=f"look {act}").click().run()


def undo(app: AppTest, *, name: str = "A grower", why: str = "typed twice") -> AppTest:
    app.text_input(key="undo_name").set_value(name)
    app.text_input(key="undo_why").set_value(why)
    return app.button(key="undo").click().run()


def test_the_first_line_says_that_everything_is_safe(whole_screen: Screen, farm: Path) -> None:
    said = shown(whole_screen(farm))
    assert (
        f"Your records are safe: the last backup was made today {list_backups(farm)[0].made_at:%H:%M}, and all" in said
    )


def test_the_first_line_says_what_is_wrong_and_what_to_do(whole_screen: Screen, farm: Path) -> None:
    with open_records(farm) as connection:
        plantings = pl.DataFrame([{"crop_year": 2025, "field": "Nowhere"}], schema=PLANTINGS.polars_schema())
        change = TableSave(table=PLANTINGS, saved=plantings, removed=plantings.clear())
        save(connection, [change], done_by="test", source="screen")
    said = shown(whole_screen(farm))
    assert "Something is wrong: plantings: Nowhere is not among the fields. Undo the act that did it" in said


def test_new_records_have_nothing_to_show_and_say_so(whole_screen: Screen, tmp_path: Path) -> None:
    with begun(tmp_path / "records.duckdb"):
        pass
    said = shown(whole_screen(tmp_path / "records.duckdb"))
    assert "there is nothing to back up yet" in said
    assert "Nothing has been changed yet." in said
    assert "There is no backup yet." in said


def test_an_act_unfolds_to_before_and_after_by_column(screen: Screen, farm: Path) -> None:
    app = screen(farm)
    assert [one.label.partition(",")[0] for one in app.expander][2:4] == ["Act 2", "Act 1"]
    assert "158.5" not in shown(app)
    said = shown(unfold(app, 2))
    assert "Why: measured again." in said
    assert "fields, North: acres 160 -> 158.5" in said


def test_acts_are_found_by_person(screen: Screen, farm: Path) -> None:
    app = unfolded(screen(farm), "search")
    app.selectbox(key="acts Person").set_value("A daughter").run()
    assert [one.label.partition(",")[0] for one in app.expander][2:] == ["Act 2"]
    app.selectbox(key="acts Table").set_value("fields").run()
    app.selectbox(key="acts Field").set_value("North").run()
    assert "1 act found" in shown(app)


def test_many_acts_are_shown_page_by_page(screen: Screen, farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(acts_and_backups, "ACTS_SHOWN", 2)
    with open_records(farm) as connection:
        for number in range(2):
            keep(connection, {"field": f"Field {number}"})
    app = screen(farm)
    assert app.expander[2].label.startswith("Act 4,")
    app.session_state["acts_page"] = 2
    app.run()
    assert [one.label.partition(",")[0] for one in app.expander][2:] == ["Act 2", "Act 1"]
    unfolded(app, "search").selectbox(key="acts Person").set_value("A daughter").run()
    assert [one.label.partition(",")[0] for one in app.expander][2:] == ["Act 2"]


def test_an_undo_is_shown_first_kept_with_name_and_reason_and_can_be_undone(screen: Screen, farm: Path) -> None:
    app = look_at_undo(screen(farm), 2)
    assert "fields, North: acres 158.5 -> 160" in shown(app)
    assert fields(farm) == [("North", 158.5)]
    app = undo(app, name="A neighbour", why="the old one was right")
    assert "Act 2 is undone, by act 3. Undo act 3 to take that back." in shown(app)
    assert fields(farm) == [("North", 160.0)]
    with open_records(farm) as connection:
        act = read_table(connection, "acts").filter(act_id=3).row(0, named=True)
    assert (act["done_by"], act["why"]) == ("A neighbour", "act 2 undone: the old one was right")
    undo(look_at_undo(app, 3))
    assert fields(farm) == [("North", 158.5)]


def test_a_later_change_is_named_and_goes_only_with_a_reason_and_when_that_is_said(screen: Screen, farm: Path) -> None:
    app = look_at_undo(screen(farm), 1)
    assert "fields, North: goes (changed by act 2 by A daughter)" in shown(app)
    app = undo(app, why=" ")
    assert "Why: nothing given." in shown(app)
    app = undo(app)
    assert "Nothing was undone: 1 record of act 1 changed since." in shown(app)
    assert fields(farm) == [("North", 158.5)]
    app.checkbox(key="over_later").check()
    undo(app)
    assert fields(farm) == []


def test_an_undo_overtaken_by_another_change_is_refused(screen: Screen, farm: Path) -> None:
    app = look_at_undo(screen(farm), 2)
    with open_records(farm) as connection:
        keep(connection, {"field": "North", "acres": 157.0})
    app = undo(app)
    assert "changed since act 2 was looked at. Nothing was undone." in shown(app)
    assert fields(farm) == [("North", 157.0)]
    app = look_at_undo(app.button(key="leave_undo").click().run(), 2)
    assert "fields, North: acres 157 -> 160 (changed by act 3 by A grower)" in shown(app)


def test_a_backup_is_made_listed_as_read_whole_and_restored(screen: Screen, farm: Path) -> None:
    app = screen(farm).button(key="make_backup").click().run()
    backup = list_backups(farm)[0]
    assert backup.reason == "asked for"
    assert f"A backup was made and read: {acts_and_backups.backup_name(backup)}." in shown(app)
    assert set(column(shown_tables(app)[0], "opened and read")) == {"whole"}
    with open_records(farm) as connection:
        keep(connection, {"field": "North", "acres": 99.0}, {"field": "South"})
    app = app.run().button(key="look_restore").click().run()
    said = shown(app)
    assert "fields: 0 rows would come, 1 change, 1 go" in said
    assert "fields, North: acres 99 -> 158.5" in said
    assert "fields, South: removed" in said
    app = app.button(key="restore").click().run()
    assert "is restored, by act 4." in shown(app)
    assert fields(farm) == [("North", 158.5)]
    assert list_backups(farm)[0].reason == "before restore"
    undo(look_at_undo(app, 4))
    assert fields(farm) == [("North", 99.0), ("South", None)]


def test_a_damaged_backup_is_marked_and_not_restored(screen: Screen, farm: Path) -> None:
    with open_records(farm) as connection:
        backup = make_backup(connection, "asked for")
        make_backup(connection, "asked for")
    backup.path.write_bytes(backup.path.read_bytes()[:30_000])
    app = screen(farm)
    assert sorted(column(shown_tables(app)[0], "opened and read")) == ["damaged", "whole", "whole"]
    chosen = next(one for one in list_backups(farm) if one.path == backup.path)
    app = app.selectbox(key="backup").set_value(chosen).run()
    assert "this backup is damaged itself" in shown(app.button(key="look_restore").click().run())


@pytest.fixture
def damaged(made: Path) -> Iterator[Path]:
    """The farm with a backup of both acts, damaged after a third."""
    with lent(made, is_kept_open=False) as path:
        with open_records(path) as connection:
            make_backup(connection, "asked for")
            keep(connection, {"field": "South"})
        path.write_bytes(path.read_bytes()[:30_000])
        yield path


def test_a_damaged_file_is_said_first_and_a_backup_put_in_its_place(screen: Screen, damaged: Path) -> None:
    app = screen(damaged)
    assert app.title[0].value == "The records cannot be read"
    assert "the file is damaged" in app.error[0].value
    app = app.button(key="put_backup").click().run()
    newest = acts_and_backups.backup_name(list_backups(damaged)[0])
    assert app.title[0].value == "Are the records safe?"
    assert f"The backup of {newest} is in its place. The damaged file is kept as records.duckdb.damaged-" in shown(app)
    assert fields(damaged) == [("North", 158.5)]
    (aside,) = damaged.parent.glob("records.duckdb.damaged-*")
    assert aside.stat().st_size == 30_000


def test_damage_that_only_a_comparison_meets_leads_to_the_same_choice(
    screen: Screen, farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A damaged block shows when it is read, and not every screen reads every block."""
    app = screen(farm)
    with monkeypatch.context() as patched:
        met = Restore(backup=list_backups(farm)[0], differences=(), lines=(), damage="the file is damaged")
        patched.setattr(acts_and_backups, "plan_restore", lambda *_: met)
        app = app.button(key="look_restore").click().run()
        assert "The records cannot be read" in [title.value for title in app.title]
        assert not app.button(key="put_backup").disabled
    assert "The records cannot be read" not in [title.value for title in app.run().title]


def test_a_file_that_can_be_read_again_is_not_replaced(screen: Screen, farm: Path) -> None:
    screen(farm)
    assert "no backup was put in their place" in damaged_file.put(list_backups(farm)[0])


def test_a_file_that_is_gone_is_put_back_from_its_backup(screen: Screen, made: Path) -> None:
    with lent(made, is_kept_open=False) as farm:
        app = screen(farm)
        farm.unlink()
        app = app.run()
        assert "the file of the records is gone" in app.error[0].value
        app = app.button(key="put_backup").click().run()
        assert "is in its place." in shown(app)
        assert fields(farm) == [("North", 158.5)]


def test_a_damaged_file_without_a_backup_says_what_is_left_to_do(screen: Screen, damaged: Path) -> None:
    for backup in list_backups(damaged):
        backup.path.unlink()
    assert "There is no backup beside the file." in shown(screen(damaged))


def test_a_damaged_file_is_not_replaced_while_another_window_has_it_open_or_may_only_look(
    screen: Screen, damaged: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = screen(damaged)
    with monkeypatch.context() as patched:
        patched.setattr(database, "_open_now", Counter({damaged.resolve(): 1}))
        app = app.button(key="put_backup").click().run()
        assert "open in another window just now" in shown(app)
    monkeypatch.setattr(door, "right", lambda: Right.LOOKING)
    assert app.run().button(key="put_backup").disabled
    with pytest.raises(Refused, match="Nothing was changed"):
        damaged_file.put(list_backups(damaged)[0])
    assert damaged.stat().st_size == 30_000


def test_a_session_that_may_only_look_changes_nothing(
    screen: Screen, farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = look_at_undo(screen(farm), 2)
    monkeypatch.setattr(door, "right", lambda: Right.LOOKING)
    app.run()
    for key in ("undo", "make_backup"):
        assert app.button(key=key).disabled
    app.button(key="look_restore").click().run()
    assert "Nothing differs" in shown(app)
    with pytest.raises(Refused, match="Nothing was changed"):
        acts_and_backups.make_one()
    assert fields(farm) == [("North", 158.5)]


def test_everything_is_offered_as_files(screen: Screen, farm: Path) -> None:
    assert [button.label for button in screen(farm).download_button] == ["CSV files in a ZIP", "One workbook (XLSX)"]


@pytest.mark.slow
@pytest.mark.parametrize(("name", "packed"), [("taken.zip", export_zip), ("taken.xlsx", export_workbook)])
def test_what_was_taken_along_is_brought_in_on_the_screen_for_files(
    screen: Screen, made: Path, tmp_path: Path, name: str, packed: Callable[[DuckDBPyConnection], bytes]
) -> None:
    """By default tests/files brings the same back (test_exporting, test_zipped), and the screen takes a whole farm."""
    with open_records(made) as connection:
        taken = packed(connection)
    path = tmp_path / "records.duckdb"
    with begun(path):
        pass
    app = screen(path).switch_page("screens/bring_in_files.py").run()
    app.file_uploader[0].upload(name, taken, "application/octet-stream").run()
    app.button(key="bring_in").click().run()
    assert not app.exception
    with open_records(path) as connection:
        assert packed(connection) == taken
