"""The door of a dashboard that other machines can open: who is let in, and what he may do there."""

import ast
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import streamlit as st
from streamlit import config
from streamlit.testing.v1 import AppTest

from analytics.serving import passphrases
from analytics.serving.passphrases import FIRST_WAIT_SECONDS, Tries, set_passphrases
from analytics.settings import change_settings, read_settings
from analytics.storage.backups import list_backups
from analytics.storage.database import open_records, read_table
from dashboard.frame import door
from tests.prepared import copied, only_read
from tests.screens.told_pad import ToldPad

ROOT = Path(__file__).resolve().parents[2]
APP = str(ROOT / "dashboard" / "app.py")
A_LIGHT_SCREEN = "screens/settings.py"
CROP_YEAR = 2025  # the demo farm's last
FARM, LOOKING, WRITING = "Hillside", "grey owl on the east gate", "rain again before the lentils"


@pytest.fixture(scope="module")
def looked_at(tmp_path_factory: pytest.TempPathFactory, demo_records: Path) -> Path:
    """The demo farm with a name of its own, which nobody changes."""
    path = copied(demo_records, tmp_path_factory.mktemp("looked at") / "records.duckdb")
    with open_records(path) as connection:
        change_settings(connection, {"farm_name": FARM}, done_by="test", why=None)
    return path


@pytest.fixture
def records(tmp_path: Path, looked_at: Path) -> Path:
    """A copy of it, to be changed."""
    return copied(looked_at, tmp_path / "records.duckdb")


@pytest.fixture
def clock() -> list[float]:
    """The time of the door, to be set."""
    return [1000.0]


@contextmanager
def for_others(records: Path, clock: list[float], monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., AppTest]]:
    """come(page): a new browser before a dashboard that other machines can reach."""
    monkeypatch.setenv("STANDROW_RECORDS", str(records))
    monkeypatch.setattr(passphrases, "N", 2)
    monkeypatch.setattr(door, "TRIES", Tries(lambda: clock[0]))
    set_passphrases(records, looking=LOOKING, writing=WRITING)
    config.set_option("server.address", "0.0.0.0")

    def run(page: str | None = None) -> AppTest:
        app = AppTest.from_file(APP, default_timeout=60)
        return (app.switch_page(page) if page else app).run()

    yield run
    config.set_option("server.address", "127.0.0.1")


@pytest.fixture
def come(records: Path, clock: list[float], monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., AppTest]]:
    st.cache_resource.clear()
    with for_others(records, clock, monkeypatch) as run:
        yield run


@pytest.fixture
def come_to_look(
    looked_at: Path, clock: list[float], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[..., AppTest]]:
    """The same where nothing is changed, backups neither: what screens keep of the records serves the next test too."""
    backups = list_backups(looked_at)
    with only_read(looked_at), for_others(looked_at, clock, monkeypatch) as run:
        yield run
    assert list_backups(looked_at) == backups


def give(app: AppTest, passphrase: str) -> AppTest:
    app.text_input(key="passphrase").input(passphrase)
    return app.button[0].click().run()


def drawn(app: AppTest) -> str:
    """All that the browser was given to draw."""
    assert not app.exception
    return "\n".join(str(node.proto) for part in (app.main, app.sidebar) for node in part if node.proto is not None)


def test_before_the_passphrase_nothing_of_the_records_is_drawn(
    come_to_look: Callable[..., AppTest], looked_at: Path
) -> None:
    with open_records(looked_at) as connection:
        fields = read_table(connection, "fields")["field"].to_list()
    for app in (come_to_look(), come_to_look("screens/one_measure.py"), give(come_to_look(), "wrong")):
        assert [title.value for title in app.title] == ["What is the passphrase?"]
        assert app.sidebar.children == {}
        assert not any(name in drawn(app) for name in (FARM, str(looked_at), *fields))
    assert FARM in drawn(give(come_to_look(), LOOKING))


def test_the_passphrase_is_not_shown_while_it_is_typed(come_to_look: Callable[..., AppTest]) -> None:
    field = come_to_look().text_input(key="passphrase")
    assert field.proto.type == field.proto.PASSWORD


def test_who_may_look_sees_the_answer_and_is_told_once_that_he_may_only_look(
    come_to_look: Callable[..., AppTest],
) -> None:
    app = give(come_to_look(), LOOKING)
    assert app.title[0].value == "What do these records say?"
    told = [caption.value for caption in app.main.caption if "You may look" in caption.value]
    assert told == [f"{door.LOOKING_ONLY} {door.HOW_TO_WRITE}"]


def test_without_a_second_passphrase_he_is_told_where_changes_are_made(
    come: Callable[..., AppTest], records: Path
) -> None:
    set_passphrases(records, looking=LOOKING, writing=None)
    told = [caption.value for caption in give(come(A_LIGHT_SCREEN), LOOKING).main.caption]
    assert f"{door.LOOKING_ONLY} {door.NONE_FOR_WRITING}" in told


def test_who_may_write_is_told_nothing_and_changes_a_setting(come: Callable[..., AppTest], records: Path) -> None:
    app = give(come(A_LIGHT_SCREEN), WRITING)
    assert "You may look" not in drawn(app)
    app.selectbox(key="yield_unit").select("kg/ha").run()
    with open_records(records) as connection:
        assert read_settings(connection).yield_unit == "kg/ha"


def test_who_may_only_look_changes_no_setting(come: Callable[..., AppTest], records: Path) -> None:
    app = give(come("screens/settings.py"), LOOKING)
    assert app.selectbox(key="yield_unit").disabled
    app.text_input(key="farm_name").input("Another farm")
    app.button(key="keep_settings").click().run()
    assert "Nothing was changed. You may look" in app.error[0].value
    assert app.text_input(key="farm_name").value == "Another farm"
    with open_records(records) as connection:
        assert read_settings(connection).farm_name == FARM


def test_who_may_only_look_keeps_no_draft_and_what_he_typed_still_stands(
    come: Callable[..., AppTest], records: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pad = ToldPad(monkeypatch)
    app = give(come("screens/enter_records.py"), LOOKING)
    app.selectbox(key="paper").set_value("loads").run()
    app.selectbox(key="crop_year").set_value(CROP_YEAR).run()
    pad.type_in(app, ticket="9001")
    assert app.error.len == 0
    assert pad.data["rows"][-1] == {"ticket": "9001"}
    assert pad.is_save_off
    assert not pad.data["mayWrite"]
    with open_records(records) as connection:
        assert read_table(connection, "drafts").is_empty()


def test_who_may_only_look_makes_no_backup_and_takes_the_sheet_along(
    come_to_look: Callable[..., AppTest],
) -> None:
    app = give(come_to_look(), LOOKING)
    app.switch_page("screens/record_keeping.py").run()
    assert app.button(key="make_backup").disabled
    app.switch_page("screens/summary_sheet.py").run()
    assert app.error.len == 0
    assert len(app.get("download_button")) == 3


@pytest.mark.parametrize("screen", sorted(file.name for file in (ROOT / "dashboard" / "screens").glob("[a-z]*.py")))
def test_no_button_of_any_screen_changes_anything_for_who_may_only_look(
    come_to_look: Callable[..., AppTest], screen: str
) -> None:
    """That nothing changed is looked at when the records are given back."""
    app = give(come_to_look(f"screens/{screen}"), LOOKING)
    pressed: set[str] = set()
    while left := [button.key for button in app.main.button if button.key not in pressed and not button.disabled]:
        pressed.add(left[0])
        app.button(key=left[0]).click().run()
        assert not app.exception


def test_the_records_are_opened_in_one_place_and_begun_in_another() -> None:
    """What opens them elsewhere would not ask whether this session may write."""
    calls = {
        (file.name, node.func.id)
        for file in (ROOT / "dashboard").rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in ("open_records", "connect")
    }
    assert calls == {("on_file.py", "open_records"), ("files_in_hand.py", "open_records")}


def test_five_wrong_tries_make_a_new_browser_wait_too(come_to_look: Callable[..., AppTest], clock: list[float]) -> None:
    app = come_to_look()
    for left in ("4 more tries", "3 more tries", "2 more tries", "1 more try"):
        assert left in give(app, "wrong").error[0].value
    assert "Wait 10 seconds, then try again." in give(app, "wrong").error[0].value
    another = come_to_look()
    assert "Wait 10 seconds, then try again." in give(another, WRITING).error[0].value
    assert another.title[0].value == "What is the passphrase?"
    clock[0] += FIRST_WAIT_SECONDS
    assert give(another, WRITING).title[0].value == "What do these records say?"


def test_an_empty_passphrase_is_no_try(come_to_look: Callable[..., AppTest]) -> None:
    app = come_to_look()
    for _ in range(6):
        give(app, "  ")
    assert app.error.len == 0
    assert give(app, LOOKING).title[0].value == "What do these records say?"


def test_a_changed_passphrase_closes_what_the_old_one_opened(come: Callable[..., AppTest], records: Path) -> None:
    app = give(come(A_LIGHT_SCREEN), WRITING)
    assert FARM in drawn(app)
    set_passphrases(records, looking=LOOKING, writing="another one than before")
    assert app.run().title[0].value == "What is the passphrase?"
    assert FARM not in drawn(app)


def test_without_any_passphrase_nobody_is_let_in(come: Callable[..., AppTest], records: Path) -> None:
    passphrases.remove_passphrases(records)
    for address in ("0.0.0.0", "192.0.2.9", None):  # Streamlit by itself listens on every address
        config.set_option("server.address", address)
        app = come()
        assert app.text_input.len == 0
        assert "Set it first: standrow passphrase" in app.error[0].value
        assert FARM not in drawn(app)


def test_a_damaged_file_of_passphrases_lets_nobody_in(come: Callable[..., AppTest], records: Path) -> None:
    passphrases.passphrases_path(records).write_text("{", encoding="utf-8")
    app = come()
    assert "the passphrases cannot be read" in app.error[0].value
    assert app.title.len == 0


def test_on_this_machine_alone_nothing_is_asked_even_if_passphrases_are_set(
    come_to_look: Callable[..., AppTest],
) -> None:
    config.set_option("server.address", "127.0.0.1")
    app = come_to_look()
    assert app.title[0].value == "What do these records say?"
    assert "You may look" not in drawn(app)
