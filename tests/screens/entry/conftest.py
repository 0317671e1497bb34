"""The entry screen on a farm of one field and two plots, with the pad told what somebody types."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from analytics.storage.database import open_records
from tests.prepared import lent
from tests.screens.entry.farm import APP, EAST, SCREEN, Screens, put
from tests.screens.told_pad import ToldPad


@pytest.fixture(scope="session")
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
